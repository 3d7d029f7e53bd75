"""Working days of a place: its working week less its public holidays, counted and walked in both directions.

Public holidays come from the `holidays` package: governments' own rules by country and subdivision, kept by many
hands. It is imported only where a date is asked for in a place that names a calendar.
"""

from __future__ import annotations

import datetime
import re
from dataclasses import dataclass
from functools import lru_cache

WEEK = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
USUAL_WEEK = frozenset(range(5))  # Monday to Friday
DAY = datetime.timedelta(days=1)
_COUNTRY, _PART = re.compile("[A-Z]{2}"), re.compile("[A-Z0-9]{1,3}")  # ISO 3166-1 alpha-2; ISO 3166-2


@lru_cache(maxsize=256)
def public_holidays(country: str, subdivision: str, year: int) -> frozenset[datetime.date]:
    """The days of a year on which a country (ISO 3166-1 alpha-2), and a part of it, rests; observed days too.

    Raises NotImplementedError for a country or a subdivision that the package does not know.

    >>> sorted(public_holidays("US", "", 2026))[-2].isoformat()  # 5 U.S.C. 6103(a): the fourth Thursday in November
    '2026-11-26'
    """
    import holidays

    found = holidays.country_holidays(country, subdiv=subdivision or None, years=year, expand=False)
    return frozenset(day for day in found if day.year == year)


@dataclass(frozen=True, slots=True)
class WorkCalendar:
    """On which days a crew works. Without a country every day of the working week is a working day."""

    weekdays: frozenset[int] = USUAL_WEEK  # 0 is Monday; never empty
    country: str = ""
    subdivision: str = ""

    def works_on(self, day: datetime.date) -> bool:
        """Whether the crew works on that day."""
        if day.weekday() not in self.weekdays:
            return False
        return not self.country or day not in public_holidays(self.country, self.subdivision, day.year)

    def on_or_after(self, day: datetime.date) -> datetime.date:
        """That day, or the next working day."""
        while not self.works_on(day):
            day += DAY
        return day

    def moved(self, day: datetime.date, workdays: int) -> datetime.date:
        """So many working days after a working day; before it where negative."""
        step = DAY if workdays >= 0 else -DAY
        for _ in range(abs(workdays)):
            day += step
            while not self.works_on(day):
                day += step
        return day

    def workdays_to(self, start: datetime.date, day: datetime.date) -> int:
        """How many working days lie from a start, itself left out, up to a later day."""
        count = 0
        while start < day:
            start += DAY
            count += self.works_on(start)
        return count


def read_week(text: str) -> frozenset[int] | None:
    """A working week as it is typed, such as "Mon, Tue, Wed, Thu, Fri" or "Mon-Fri"; None where it is none.

    >>> sorted(read_week("Mon-Wed, Sat") or ())
    [0, 1, 2, 5]
    """
    days: set[int] = set()
    for part in text.split(","):
        ends = [WEEK.index(name) if (name := end.strip().title()) in WEEK else -1 for end in part.split("-")]
        if -1 in ends or len(ends) > 2 or ends[-1] < ends[0]:
            return None
        days.update(range(ends[0], ends[-1] + 1))
    return frozenset(days)


def is_known(country: str, subdivision: str) -> bool:
    """Whether the package keeps the calendar of a country and of a part of it, both in the letters of ISO 3166."""
    if not _COUNTRY.fullmatch(country) or (subdivision and not _PART.fullmatch(subdivision)):
        return False
    try:
        public_holidays(country, subdivision, 2026)  # one country is loaded; a list of all would load them all
    except NotImplementedError:
        return False
    return True

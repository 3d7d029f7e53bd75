"""Working days of a place: its working week less its public holidays, counted and walked in both directions.

Public holidays come from the `holidays` package: governments' own rules by country and subdivision, kept by many
hands. The catalogue's free_days.csv keeps those of the next years beside the firm's own days off, because the package
loads every country to answer for one, which would take a fifth of a build; it is imported only for a year that the
table does not hold. To add a year to the table:

    python -m quoting.workdays US-CA 2032
"""

from __future__ import annotations

import datetime
import re
import sys
from collections.abc import Iterable, Mapping
from functools import lru_cache

from msgspec import Struct, field

WEEK = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
USUAL_WEEK = frozenset(range(5))  # Monday to Friday
DAY = datetime.timedelta(days=1)
_COUNTRY, _PART = re.compile("[A-Z]{2}"), re.compile("[A-Z0-9]{1,3}")  # ISO 3166-1 alpha-2; ISO 3166-2


class FreeDay(Struct, frozen=True, kw_only=True):
    """A row of free_days.csv: a day on which nobody works. `calendar` "US-CA"; "" for the firm's own day off."""

    calendar: str
    date: datetime.date
    name: str


@lru_cache(maxsize=256)
def public_holidays(country: str, subdivision: str, year: int) -> frozenset[datetime.date]:
    """The days of a year on which a country (ISO 3166-1 alpha-2), and a part of it, rests; observed days too.

    Raises NotImplementedError for a country or a subdivision that the package does not know.

    >>> sorted(public_holidays("US", "", 2026))[-2].isoformat()  # 5 U.S.C. 6103(a): the fourth Thursday in November
    '2026-11-26'
    """
    return frozenset(_named(country, subdivision, year))


def _named(country: str, subdivision: str, year: int) -> dict[datetime.date, str]:
    import holidays

    found = holidays.country_holidays(country, subdiv=subdivision or None, years=year, expand=False)
    return {day: name for day, name in sorted(found.items()) if day.year == year}


class WorkCalendar(Struct, frozen=True):
    """On which days a crew works. Without a country every day of the working week is a working day."""

    weekdays: frozenset[int] = USUAL_WEEK  # 0 is Monday; never empty
    country: str = ""
    subdivision: str = ""
    known: Mapping[int, frozenset[datetime.date]] = field(default_factory=dict)  # by year: looked up nowhere else
    closed: frozenset[datetime.date] = frozenset()  # the firm's own days off

    def works_on(self, day: datetime.date) -> bool:
        """Whether the crew works on that day."""
        if day.weekday() not in self.weekdays or day in self.closed:
            return False
        if not self.country:
            return True
        free = self.known.get(day.year)
        return day not in (public_holidays(self.country, self.subdivision, day.year) if free is None else free)

    def on_or_after(self, day: datetime.date) -> datetime.date:
        """That day, or the next working day."""
        while not self.works_on(day):
            day += DAY
        return day

    def on_or_before(self, day: datetime.date) -> datetime.date:
        """That day, or the working day before."""
        while not self.works_on(day):
            day -= DAY
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


def work_calendar(weekdays: frozenset[int], name: str, free_days: Iterable[FreeDay]) -> WorkCalendar:
    """The calendar of a name such as "US-CA", "" for none: years of which the table has a row are the table's."""
    known: dict[int, set[datetime.date]] = {}
    closed = set()
    for free in free_days:
        if not free.calendar:
            closed.add(free.date)
        elif free.calendar == name:
            known.setdefault(free.date.year, set()).add(free.date)
    country, _, subdivision = name.partition("-")
    return WorkCalendar(weekdays, country, subdivision, {year: frozenset(days) for year, days in known.items()},
                        frozenset(closed))


def office_calendar(name: str, free_days: Iterable[FreeDay]) -> WorkCalendar:
    """The days on which an office takes an order: weekdays that are no holiday of the calendar and no day off, also
    where a crew works on Saturdays."""
    return work_calendar(USUAL_WEEK, name, free_days)


def order_day(need_by: datetime.date, lead_days: int, office: WorkCalendar) -> datetime.date:
    """The last day to order: the lead time, which suppliers state in calendar days, before the parts are needed; the
    working day before where nobody takes an order on it.

    >>> order_day(datetime.date(2027, 1, 13), 10, WorkCalendar()).isoformat()  # the 3rd is a Sunday
    '2027-01-01'
    """
    return office.on_or_before(need_by - lead_days * DAY)


def day_before_rise(rise: datetime.date, office: WorkCalendar) -> datetime.date:
    """The last day on which an order is taken at the old price.

    >>> day_before_rise(datetime.date(2028, 1, 1), WorkCalendar()).isoformat()  # a Saturday
    '2027-12-31'
    """
    return office.on_or_before(rise - DAY)


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


def main(name: str, *years: str) -> None:
    """Prints rows of free_days.csv, calendar,date,name, for a calendar such as US-CA and some years."""
    country, _, subdivision = name.partition("-")
    for year in years:
        for day, says in _named(country, subdivision, int(year)).items():
            print(f'{name},{day.isoformat()},"{says}"' if "," in says else f"{name},{day.isoformat()},{says}")


if __name__ == "__main__":
    main(*sys.argv[1:])

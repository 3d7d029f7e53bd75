"""Reads one typed value as a date or a time span; what may be read two ways is a problem, not a guess."""

from __future__ import annotations

import datetime
import re

from quoting.problems import Cell, Problem, stop
from quoting.sheets.fields import shown
from quoting.sheets.grid import Value

FIRST_YEAR = 1990
LAST_YEAR = 2100

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_YEAR_FIRST = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})$")
_SLASHES = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4})$")
_DOTS = re.compile(r"(\d{1,2})\. ?(\d{1,2})\. ?(\d{4})$")
_DAY_WORD = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[ .-]+([a-z]{3,9})\.?,?[ -]+(\d{4})$")
_WORD_DAY = re.compile(r"([a-z]{3,9})\.? (\d{1,2})(?:st|nd|rd|th)?,? (\d{4})$")
_HOW = "Type year-month-day, for example 2026-03-31."


def read_date(value: Value, where: Cell, heading: str) -> datetime.date | Problem:
    """A date between 1990 and 2100.

    A date cell, 2026-03-31, 31.3.2026 (dots: the day first), 31 March 2026, March 31, 2026; with slashes only where
    one of the two numbers cannot be a month.
    """
    if isinstance(value, datetime.datetime):
        found: datetime.date | str = value.date()
    elif isinstance(value, datetime.date):
        found = value
    else:
        found = _parse(value.lower()) if isinstance(value, str) else ""
    if isinstance(found, str):
        if found:
            return stop(where, "day-or-month", f"{heading} '{shown(value)}' may be read as two dates.",
                        f"Type {found}.")
        return stop(where, "not-a-date", f"{heading} '{shown(value)}' is not a date.", _HOW)
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        return stop(where, "out-of-range",
                    f"{heading} '{found.isoformat()}' is not between {FIRST_YEAR} and {LAST_YEAR}.", _HOW)
    return found


def _parse(text: str) -> datetime.date | str:
    """A date; "" for no date; the two readings where there are two."""
    if found := _YEAR_FIRST.match(text):
        return _date(found[1], found[2], found[3])
    if found := _DOTS.match(text):
        return _date(found[3], found[2], found[1])
    if found := _DAY_WORD.match(text):
        return _date(found[3], _month(found[2]), found[1])
    if found := _WORD_DAY.match(text):
        return _date(found[3], _month(found[1]), found[2])
    found = _SLASHES.match(text)
    return _either(found[3], found[1], found[2]) if found else ""


def _either(year: str, first: str, second: str) -> datetime.date | str:
    month_first, day_first = _date(year, first, second), _date(year, second, first)
    if isinstance(month_first, str) or isinstance(day_first, str) or month_first == day_first:
        return day_first if isinstance(month_first, str) else month_first
    return f"{month_first.isoformat()} or {day_first.isoformat()}"


def _month(word: str) -> str:
    return str(_MONTHS.index(word[:3]) + 1) if word[:3] in _MONTHS else "0"


def _date(year: str, month: str, day: str) -> datetime.date | str:
    try:
        return datetime.date(int(year), int(month), int(day))
    except ValueError:
        return ""


_HOURS = re.compile(r"(?:(\d{1,3}(?:[.,]\d{1,3})?) ?(?:h|hours?|hrs?|std)\.?)? ?(?:(\d{1,3}) ?(?:min|minutes?|m)\.?)?$")
_CLOCK = re.compile(r"(\d{1,2}):([0-5]\d)(?::00)?$")


def read_hours(value: Value, where: Cell, heading: str, most: float) -> float | Problem:
    """A time span in hours: 0.75, 45 min, 1 h 30 min, 1:30 (also as a clock cell). [hours]"""
    hours: float | None = None
    if isinstance(value, datetime.timedelta):
        hours = value.total_seconds() / 3600
    elif isinstance(value, datetime.time):
        hours = value.hour + value.minute / 60
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        hours = float(value)
    elif isinstance(value, str):
        hours = _parse_hours(value.lower())
    if hours is None:
        return stop(where, "not-a-time-span", f"{heading} '{shown(value)}' is not a time span.",
                    "Type hours, for example 0.75, 45 min or 1:30.")
    if not 0 <= hours <= most:
        return stop(where, "out-of-range", f"{heading} '{shown(value)}' is not between 0 and {most:g} hours.",
                    "Type hours, for example 0.75, 45 min or 1:30.")
    return hours


def _parse_hours(text: str) -> float | None:
    if found := _CLOCK.match(text):
        return int(found[1]) + int(found[2]) / 60
    if re.fullmatch(r"\d{0,3}[.,]?\d{1,3}", text):
        return float(text.replace(",", "."))
    found = _HOURS.match(text)
    if not found or not (found[1] or found[2]):
        return None
    return float((found[1] or "0").replace(",", ".")) + int(found[2] or 0) / 60

"""When the work happens: phases or visits as bars over a calendar of weeks and months, and the same as a table.

Our own work is a filled bar; where others work in between, the bar is empty and dashed. Dates come in; no clock here.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING

from msgspec import Struct

from quoting.documents.drawing import (
    CAPITAL,
    LEADING,
    Svg,
    drawing,
    group,
    line,
    rect,
    text,
    text_lines,
    text_width_mm,
    wrap,
)
from quoting.documents.formats import Formats, find_locale
from quoting.documents.language import Language
from quoting.documents.proposal_words import isolate

if TYPE_CHECKING:
    from babel import Locale

NARROW_MM, WIDE_MM = 92.0, 174.0  # as wide as a small phone or half a page; as wide as a page
EDGE_MM, GROWS_TO_MM = 1.5, 160.0
NAME_MM, DATE_MM, MONTH_MM, MONDAY_MM = 3.0, 2.7, 2.7, 2.2
NAMES_MM = 45.0  # that names beside their bars take at most; longer ones go on below
BAR_MM, LEAST_MM = 3.2, 0.8  # height of a bar; width of the shortest
AIR_MM, ROW_AIR_MM = 0.6, 1.6  # over and under a bar; between rows
WEEK_MM = 1.0  # narrower weeks are not ticked
GAP_DAYS = 7  # from how many days between our work a gap is shown
DASH = "1 0.7"
DAY = datetime.timedelta(days=1)


class TimelineBar(Struct, frozen=True, kw_only=True):
    """One phase, visit or gap: its first and its last day."""

    name: str  # in the reader's words
    start: datetime.date
    end: datetime.date
    half_days: int = 0  # that we are on site (or at work); 0: not said
    others: bool = False  # other trades at work, a delivery awaited: not our work


class TimelineDrawing(Struct, frozen=True, kw_only=True):
    """A finished drawing and its table."""

    title: str
    svg: Svg
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def timeline_drawing(
    key: str, bars: Iterable[TimelineBar], locale: str, formats: Formats, language: Language,
    width_mm: float = NARROW_MM,
) -> TimelineDrawing:
    """The drawing of these bars, in the order of their days; `key` is unique on its page. At least one bar."""
    shown = with_gaps(bars, language.gettext("Others at work, deliveries"))
    found = find_locale(locale)
    when = [_interval(bar, "MMMd", found) for bar in shown]
    frame = _frame(shown, when, width_mm)
    rows, bands = _rows(shown, when, frame, width_mm)
    title = language.gettext("When the work happens")
    table = tuple((isolate(bar.name), _interval(bar, "yMMMd", found), work_days(bar.half_days, formats, language))
                  for bar in shown)
    words = " ".join(f"{': '.join(filter(None, (name, ', '.join(filter(None, said)))))}." for name, *said in table)
    svg = drawing(key, title, words, width_mm, bands[-1][1] + EDGE_MM,
                  (*_axis(frame, found), *_ticks(frame, bands), *rows), mm_per_day=frame.scale,
                  grows_to_mm=GROWS_TO_MM if width_mm < WIDE_MM else 0.0)
    headings = (language.gettext("Work"), language.gettext("When"), language.gettext("Days of ours"))
    return TimelineDrawing(title=title, svg=svg, headings=headings, rows=table)


def with_gaps(bars: Iterable[TimelineBar], name: str) -> tuple[TimelineBar, ...]:
    """The bars by their days, and a bar of others wherever nothing happens for a week or more.

    Raises ValueError where there is no bar, or one ends before it starts.
    """
    ordered = sorted(bars, key=lambda bar: (bar.start, bar.end, bar.name))
    if not ordered:
        raise ValueError("a timeline needs a bar")
    shown: list[TimelineBar] = []
    until = ordered[0].start - DAY
    for bar in ordered:
        if bar.end < bar.start:
            raise ValueError(f"'{bar.name}' ends before it starts")
        if (bar.start - until).days > GAP_DAYS:
            shown.append(TimelineBar(name=name, start=until + DAY, end=bar.start - DAY, others=True))
        shown.append(bar)
        until = max(until, bar.end)
    return tuple(shown)


class _Frame(Struct, frozen=True):
    """The calendar on the paper: its days, where the first begins, and how wide one is. [mm]"""

    first: datetime.date
    last: datetime.date
    left_mm: float
    scale: float
    beside: bool  # names and dates stand beside their bars, where the paper is wide; else above them

    def at(self, day: datetime.date) -> float:
        """Where a day begins."""
        return self.left_mm + (day - self.first).days * self.scale


def _frame(bars: Sequence[TimelineBar], when: Sequence[str], width_mm: float) -> _Frame:
    """Whole weeks about the bars, Monday to Sunday (ISO 8601)."""
    start, end = min(bar.start for bar in bars), max(bar.end for bar in bars)
    first, last = start - start.weekday() * DAY, end + (6 - end.weekday()) * DAY
    beside = width_mm >= WIDE_MM
    names_mm = min(max(text_width_mm(bar.name, NAME_MM) for bar in bars), NAMES_MM) + 3 if beside else 0.0
    dates_mm = max(text_width_mm(dates, DATE_MM) for dates in when) + 2 if beside else 0.0
    left_mm = EDGE_MM + names_mm
    return _Frame(first, last, left_mm, (width_mm - EDGE_MM - dates_mm - left_mm) / ((last - first).days + 1), beside)


# ---------------------------------------------------------------- words

def _interval(bar: TimelineBar, skeleton: str, locale: Locale) -> str:
    from babel.dates import format_interval

    return str(format_interval(bar.start, bar.end, skeleton, locale=locale))


def work_days(half_days: int, formats: Formats, language: Language) -> str:
    """Days of work, counted in halves; "" for none."""
    if not half_days:
        return ""
    whole = max(1, (half_days + 1) // 2)
    days = formats.quantity(Decimal(half_days) / 2)
    return language.ngettext("%(days)s day", "%(days)s days", whole, days=days)


# ---------------------------------------------------------------- the calendar

def _axis(frame: _Frame, locale: Locale) -> Iterator[Svg]:
    """The months over the calendar, each named as fully as it has room for; below them the days of the Mondays, or of
    every second, third ... where a week is too narrow for a number."""
    first, last, top = frame.first, frame.last, EDGE_MM + MONTH_MM * LEADING
    marks: list[Svg] = [line(frame.left_mm, top, frame.at(last + DAY), top, 0.25)]
    for start, end in _months(first, last):
        left, right = frame.at(start), frame.at(end + DAY)
        if start.day == 1:
            marks.append(line(left, EDGE_MM, left, top, 0.25))
        words = next((words for words in _month_names(start, start == first or start.month == 1, locale)
                      if text_width_mm(words, MONTH_MM) <= right - left - 1), "")
        if words:
            marks.append(text(left + 0.8, EDGE_MM + CAPITAL * MONTH_MM, words, MONTH_MM))
    yield group(marks, class_="months")
    base = top + 0.8 + CAPITAL * MONDAY_MM
    every = int(-(-(text_width_mm("30", MONDAY_MM) + 1) // (7 * frame.scale)))
    last_mm = frame.at(last + DAY) - text_width_mm("30", MONDAY_MM)
    yield group((text(frame.at(day), base, str(day.day), MONDAY_MM) for day in list(_mondays(first, last))[::every]
                 if frame.at(day) <= last_mm), class_="mondays")


def _ticks(frame: _Frame, bands: Sequence[tuple[float, float]]) -> Iterator[Svg]:
    """Behind each bar a faint line every Monday and a stronger one every month, never through a name."""
    mondays = [frame.at(day) for day in _mondays(frame.first, frame.last) if 7 * frame.scale >= WEEK_MM]
    months = [frame.at(start) for start, _ in _months(frame.first, frame.last) if start.day == 1]
    yield group((line(x, low, x, high, 0.12) for low, high in bands for x in mondays), class_="weeks", opacity=0.6)
    yield group((line(x, low, x, high, 0.25) for low, high in bands for x in months), class_="month-starts")


def _mondays(first: datetime.date, last: datetime.date) -> Iterator[datetime.date]:
    day = first
    while day <= last:
        yield day
        day += 7 * DAY


def _months(first: datetime.date, last: datetime.date) -> Iterator[tuple[datetime.date, datetime.date]]:
    """The months that the calendar touches, each as far as it is shown."""
    start = first
    while start <= last:
        following = (start.replace(day=1) + 32 * DAY).replace(day=1)
        yield start, min(last, following - DAY)
        start = following


def _month_names(day: datetime.date, with_year: bool, locale: Locale) -> Iterator[str]:
    """What a month is called, from the longest: "January 2027", "Jan 2027", "Jan", "J"."""
    from babel.dates import format_skeleton, get_month_names

    if with_year:
        yield str(format_skeleton("yMMMM", day, locale=locale))
        yield str(format_skeleton("yMMM", day, locale=locale))
    for width in ("wide", "abbreviated", "narrow"):
        yield str(get_month_names(width, "stand-alone", locale)[day.month])


# ---------------------------------------------------------------- the bars

def _rows(
    bars: Sequence[TimelineBar], when: Sequence[str], frame: _Frame, width_mm: float
) -> tuple[list[Svg], list[tuple[float, float]]]:
    """Each bar under its name and dates, or between them; and the band of the paper that each bar has. [mm]"""
    parts: list[Svg] = []
    bands: list[tuple[float, float]] = []
    y = EDGE_MM + (MONTH_MM + MONDAY_MM) * LEADING + 2.0
    inside = width_mm - 2 * EDGE_MM
    for bar, dates in zip(bars, when, strict=True):
        beside_mm = frame.left_mm - EDGE_MM - 2
        lines = wrap(bar.name, beside_mm if frame.beside else max(
            inside - text_width_mm(dates, DATE_MM) - 3, inside / 3), NAME_MM)
        base = y + CAPITAL * NAME_MM + (AIR_MM + 0.5 if frame.beside else 0.0)
        parts += text_lines(EDGE_MM, base, lines, NAME_MM)
        parts.append(text(width_mm - EDGE_MM, base, dates, DATE_MM, "end"))
        under = base + (len(lines) - 1) * NAME_MM * LEADING + 1.0
        top = y if frame.beside else under
        left, wide = frame.at(bar.start), ((bar.end - bar.start).days + 1) * frame.scale
        parts.append(group((rect(
            left, top + AIR_MM, max(wide, LEAST_MM), BAR_MM, line_mm=0.25 if bar.others else 0.0,
            dash=DASH if bar.others else "", shade=0.0 if bar.others else 1.0, round_mm=min(0.6, wide / 2)),),
            class_="bar others" if bar.others else "bar ours", data_start=bar.start.isoformat()))
        bands.append((top, top + BAR_MM + 2 * AIR_MM))
        y = max(bands[-1][1], under) + (ROW_AIR_MM / 2 if frame.beside else ROW_AIR_MM)
    return parts, bands

"""The timeline: bars as long as their days, months by locale, gaps seen, everything in the table."""

from __future__ import annotations

import datetime
from itertools import combinations
from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import Element

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.documents.formats import formats_for
from quoting.documents.language import language_for
from quoting.documents.timeline import NARROW_MM, WIDE_MM, TimelineBar, TimelineDrawing, timeline_drawing, with_gaps
from tests.documents.svg_reader import COLOURS, colours, measured, read_svg, texts, words_for_the_blind

if TYPE_CHECKING:
    from playwright.sync_api import Browser

ROUNDED_MM = 0.011
THIN = "\u2009"  # about the dash of an interval, by the Unicode CLDR
DAY = datetime.timedelta(days=1)


def make_bar(name: str = "Cabling", start: tuple[int, int, int] = (2027, 1, 18), days: int = 11,
             **changes: Any) -> TimelineBar:
    """Eleven days from Monday, 18 January 2027."""
    first = datetime.date(*start)
    values: dict[str, Any] = {"name": name, "start": first, "end": first + (days - 1) * DAY, "half_days": 17}
    return TimelineBar(**{**values, **changes})


def drawn(*bars: TimelineBar, locale: str = "en_GB", width_mm: float = NARROW_MM) -> TimelineDrawing:
    """A timeline as a reader of the locale sees it."""
    return timeline_drawing("t", bars, locale, formats_for(locale, "EUR", "metric"), language_for(locale, {}), width_mm)


def bars_of(root: Element) -> list[Element]:
    """The rectangles of the bars, in their order."""
    return [found[0] for found in root.iter("g") if found.get("class", "").startswith("bar ")]


JOB = (make_bar(), make_bar("Drywall", (2027, 1, 29), 50, others=True, half_days=0),
       make_bar("Fitting", (2027, 3, 22), 4, half_days=7), make_bar("Handover", (2027, 4, 6), 1, half_days=2))


@settings(deadline=None, max_examples=40)
@given(st.lists(st.tuples(st.integers(0, 400), st.integers(1, 90)), min_size=1, max_size=8))
def test_every_bar_starts_and_ends_on_its_days(spans: list[tuple[int, int]]) -> None:
    start = datetime.date(2027, 1, 1)
    bars = [TimelineBar(name=f"B{at}", start=start + at * DAY, end=start + (at + days - 1) * DAY)
            for at, days in spans]
    root = read_svg(drawn(*bars).svg)
    scale = float(root.get("data-mm-per-day", ""))
    monday = min(bar.start for bar in bars)
    monday -= monday.weekday() * DAY
    shown = with_gaps(bars, "gap")

    assert [float(found.get("x", "")) for found in bars_of(root)] == pytest.approx(
        [1.5 + (bar.start - monday).days * scale for bar in shown], abs=ROUNDED_MM)
    assert [float(found.get("width", "")) for found in bars_of(root)] == pytest.approx(
        [max(0.8, ((bar.end - bar.start).days + 1) * scale) for bar in shown], abs=ROUNDED_MM)


def test_weeks_are_ticked_on_mondays() -> None:
    root = read_svg(drawn(make_bar()).svg)
    weeks = next(found for found in root.iter("g") if found.get("class") == "weeks")
    scale = float(root.get("data-mm-per-day", ""))

    assert [float(found.get("x1", "")) for found in weeks] == pytest.approx([1.5, 1.5 + 7 * scale], abs=ROUNDED_MM)


def mondays_of(*bars: TimelineBar, width_mm: float = NARROW_MM) -> list[str]:
    root = read_svg(drawn(*bars, width_mm=width_mm).svg)
    found = next(group for group in root.iter("g") if group.get("class") == "mondays")
    return ["".join(number.itertext()) for number in found]


def test_a_monday_bears_its_date() -> None:
    # 18 January 2027 is a Monday (1 January a Friday)
    assert mondays_of(make_bar(days=12)) == ["18", "25"]


def test_weeks_too_narrow_for_a_number_are_numbered_at_even_steps() -> None:
    # forty weeks on 89 mm are 2.2 mm each, a number is wider
    assert mondays_of(make_bar(days=280))[:3] == ["18", "1", "15"]


# 1 January 2027 is a Friday; month names by the Unicode CLDR.
@pytest.mark.parametrize(("locale", "month"), [("en_US", "March"), ("de_DE", "März"), ("fr_FR", "mars"),
                                               ("es_ES", "marzo")])
def test_months_are_named_in_the_readers_language(locale: str, month: str) -> None:
    assert month in texts(read_svg(drawn(*JOB, locale=locale).svg))


def test_the_year_is_told_where_it_begins_to_count() -> None:
    assert any("2027" in words for words in texts(read_svg(drawn(*JOB).svg)))


def test_the_table_has_every_bar_with_its_dates_and_days() -> None:
    rows = tuple(tuple(cell.replace(THIN, " ") for cell in row) for row in drawn(*JOB).rows)

    assert rows == (
        ("Cabling", "18 – 28 Jan 2027", "8.5 days"), ("Drywall", "29 Jan – 19 Mar 2027", ""),
        ("Fitting", "22 – 25 Mar 2027", "3.5 days"), ("Others at work, deliveries", "26 Mar – 5 Apr 2027", ""),
        ("Handover", "6 Apr 2027", "1 day"))


def test_a_week_in_which_nothing_happens_is_a_gap() -> None:
    shown = with_gaps((make_bar(days=5), make_bar("Fitting", (2027, 2, 1), 2)), "gap")

    assert [(bar.name, bar.start.day, bar.end.day, bar.others) for bar in shown] == [
        ("Cabling", 18, 22, False), ("gap", 23, 31, True), ("Fitting", 1, 2, False)]


def test_a_weekend_is_no_gap() -> None:
    shown = with_gaps((make_bar(days=5), make_bar("Fitting", (2027, 1, 25), 2)), "gap")

    assert [bar.name for bar in shown] == ["Cabling", "Fitting"]


def test_other_trades_are_dashed_and_empty_and_our_work_is_filled() -> None:
    root = read_svg(drawn(*JOB).svg)
    ours, others = bars_of(root)[:2]

    assert (ours.get("fill"), others.get("fill")) == ("currentColor", "none") and others.get("stroke-dasharray")
    assert colours(root) <= COLOURS


def test_the_order_of_the_bars_changes_no_byte() -> None:
    assert drawn(*JOB).svg == drawn(*JOB[::-1]).svg


def test_every_bar_is_told_in_the_words_for_the_blind() -> None:
    told = words_for_the_blind(read_svg(drawn(*JOB).svg)).replace(THIN, " ")

    assert "Cabling: 18 – 28 Jan 2027, 8.5 days." in told and "Drywall: 29 Jan – 19 Mar 2027." in told


def test_a_name_is_escaped() -> None:
    assert "<b>Paint</b>" in texts(read_svg(drawn(make_bar("<b>Paint</b>")).svg))


def test_a_bar_that_ends_before_it_starts_is_refused() -> None:
    with pytest.raises(ValueError, match="'Cabling' ends before it starts"):
        with_gaps((make_bar(days=0),), "gap")


@pytest.mark.parametrize("width_mm", [NARROW_MM, WIDE_MM])
def test_no_text_of_a_timeline_lies_over_another_or_outside(width_mm: float, browser: Browser) -> None:
    long = make_bar("Trockenbau, Putz und Malerarbeiten durch den Generalunternehmer", (2027, 2, 1), 40, others=True)
    pictures = [drawn(*JOB, long, locale=locale, width_mm=width_mm).svg for locale in ("en_US", "de_DE", "fr_FR")]
    body = "".join(f"<div style='width:{width_mm}mm'>{svg}</div>" for svg in pictures)
    drawings = measured(browser, body, """() => [...document.querySelectorAll('svg')].map(svg =>
        [svg, ...svg.querySelectorAll('text')].map(node => {
            const r = node.getBoundingClientRect(); return [r.left, r.top, r.right, r.bottom]; }))""")

    wrong = []
    for whole, *found in drawings:
        wrong += [box for box in found if box[0] < whole[0] - 0.5 or box[2] > whole[2] + 0.5 or box[3] > whole[3] + 0.5]
        wrong += [(one, other) for one, other in combinations(found, 2)
                  if min(one[2], other[2]) - max(one[0], other[0]) > 1
                  and min(one[3], other[3]) - max(one[1], other[1]) > 2.5]
    assert wrong == []

"""The site survey sheet: every room once, and a mark on what nobody typed."""

from __future__ import annotations

import pytest

from quoting.documents.crew_sheet import CrewTable
from quoting.documents.formats import formats_for
from quoting.documents.survey_paper import ASSUMED, ROOM_COLUMNS, survey_sheets
from quoting.intake.columns import JOB, ROOMS
from quoting.quote import Quote


def _tables(quote: Quote) -> tuple[CrewTable, ...]:
    formats = formats_for("en_US", quote.pricing.currency, quote.job.unit_system, "en")
    return next(iter(survey_sheets(quote, formats))).tables


def _cell(quote: Quote, code: str, column: str) -> str:
    row = next(row for row in _tables(quote)[0].rows if row[1].endswith(f"({code})"))
    return row[ROOM_COLUMNS.index(column)]


def test_every_room_is_on_the_sheet_once(quotes: dict[str, Quote]) -> None:
    for quote in quotes.values():
        said = sorted(row[1].rsplit("(", 1)[1].removesuffix(")") for row in _tables(quote)[0].rows)
        assert said == sorted(room.code for room in quote.job.rooms)


def test_a_ceiling_typed_for_the_room_has_no_mark_but_its_low_wall_has(quotes: dict[str, Quote]) -> None:
    # the example types both heights, and not which wall is under the low one
    assert _cell(quotes["1"], "FROO", "Ceiling") == f"9' to 16', low at the {ASSUMED} wall"


def test_the_head_end_stands_on_the_sheet_as_typed(quotes: dict[str, Quote]) -> None:
    row, = _tables(quotes["1"])[-1].rows
    assert row[:3] == ("Basement closet, floor -1", "Basement, its east side", "6' x 5'")


def test_a_wall_state_typed_for_the_job_has_no_mark_in_a_room(quotes: dict[str, Quote]) -> None:
    assert _cell(quotes["1"], "OFF", "Walls") == "open"


def test_what_the_floor_itself_did_not_say_is_marked_in_a_room(quotes: dict[str, Quote]) -> None:
    # nothing was typed of what lies above floor 1, nor of ways into its ceiling
    assert _cell(quotes["1"], "OFF", "Above, reached") == f"room {ASSUMED}; none {ASSUMED}"


def test_what_an_open_question_asks_is_marked_in_its_room(quotes: dict[str, Quote]) -> None:
    # example 2 types "?" for what lies above the kitchen
    assert _cell(quotes["2"], "KUC", "Above, reached").startswith(f"room {ASSUMED}; ")


def test_what_came_from_the_kind_of_room_is_marked(quotes: dict[str, Quote]) -> None:
    assert _cell(quotes["1"], "OFF", "Listening") == f"background {ASSUMED}"


@pytest.mark.parametrize(
    "field", ["Ceiling height", "Wall state", "Above the ceiling", "Access", "Setting", "Listening"])
def test_a_mark_goes_by_a_heading_of_the_workbook(field: str) -> None:
    assert field in {column.heading for column in (*ROOMS, *JOB)}


def test_questions_are_asked_in_english_of_a_german_job(quotes: dict[str, Quote]) -> None:
    questions = _tables(quotes["2"])[1].rows
    assert any(row[1].startswith("What is above this ceiling") for row in questions)

"""Each kind of field: good, empty, wrong, formula."""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.problems import Cell, Problem
from quoting.sheets import fields
from quoting.sheets.dates import read_date, read_hours
from quoting.sheets.fields import (
    read_choice,
    read_length,
    read_money,
    read_rate,
    read_text,
    read_whole,
    read_yes_no,
    settle,
)
from quoting.sheets.grid import Formula, Value

AT = Cell("job.xlsx", "Rooms", "D5")
WALLS = ("open", "open remodel", "finished")
D = Decimal


def code(found: object) -> str:
    """The code of a problem; "" for a value."""
    return found.code if isinstance(found, Problem) else ""


# ---------------------------------------------------------------- what counts as typed

@pytest.mark.parametrize("blank", [None, "", "   ", "\xa0", "​", "-", "—", "\t\n", Formula("=\"\"", "")])
def test_a_cell_that_shows_nothing_is_blank(blank: Value) -> None:
    assert settle(blank, AT, "Width") is None


@pytest.mark.parametrize(("typed", "text"), [
    ("  Main\xa0 bath ", "Main bath"), ("Kit​chen﻿", "Kitchen"), ("a\x07b", "ab"), ("two\r\nlines", "two\nlines"),
])
def test_stray_and_invisible_characters_go(typed: str, text: str) -> None:
    assert settle(typed, AT, "Name") == text


@pytest.mark.parametrize("text", ["👩‍👩‍👧 room", "غرفة", "{{ x }}", "<script>", "=1+1", "{=A1}"])
def test_text_that_looks_odd_arrives_whole(text: str) -> None:
    assert settle(text, AT, "Name") == text


def test_a_formula_counts_with_its_stored_value() -> None:
    assert settle(Formula("=6*3", 18), AT, "Length") == 18


def test_a_formula_without_a_stored_value_is_a_problem() -> None:
    assert code(settle(Formula("=6*3", None), AT, "Length")) == "formula-without-value"


@pytest.mark.parametrize("error", ["#REF!", "#DIV/0!", "#VALUE!", "#N/A"])
def test_an_error_value_is_a_problem(error: str) -> None:
    assert code(settle(Formula("=A1/0", error), AT, "Length")) == "cell-error"


@pytest.mark.parametrize("typed", ["?", " ? ", "？"])
def test_a_question_mark_is_not_known_yet(typed: str) -> None:
    assert fields.is_unknown(settle(typed, AT, "Mount"))


# ---------------------------------------------------------------- text

def test_text_at_its_limit_is_read() -> None:
    assert read_text("x" * 60, AT, "Name") == "x" * 60


def test_text_over_its_limit_is_a_problem() -> None:
    assert code(read_text("x" * 61, AT, "Name")) == "text-too-long"


def test_a_note_may_have_2000_characters() -> None:
    assert code(read_text("x" * 2000, AT, "Note", fields.NOTE_LIMIT)) == ""


def test_a_number_in_a_text_field_is_text_as_it_shows() -> None:
    assert read_text(101.0, AT, "Name") == "101"


def test_a_date_in_a_text_field_is_a_problem() -> None:
    assert code(read_text(datetime.datetime(2026, 12, 6), AT, "Name")) == "turned-into-date"


# ---------------------------------------------------------------- choice, yes or no

@pytest.mark.parametrize("typed", ["open remodel", "Open  Remodel", " OPEN-REMODEL ", "open_remodel", "Open remodel."])
def test_a_choice_is_read_in_any_case_and_spacing(typed: str) -> None:
    assert read_choice(typed, AT, "Wall state", WALLS) == "open remodel"


def test_a_close_slip_is_suggested() -> None:
    found = read_choice("finnished", AT, "Wall state", WALLS)
    assert isinstance(found, Problem) and found.remedy == "Type finished."


def test_every_choice_is_named_where_nothing_is_close() -> None:
    found = read_choice("brick", AT, "Wall state", WALLS)
    assert isinstance(found, Problem) and "open, open remodel, finished" in found.message


@pytest.mark.parametrize("typed", ["yes", "Y", "TRUE", True, 1, "x", "✓"])
def test_yes_has_many_spellings(typed: Value) -> None:
    assert read_yes_no(typed, AT, "Mono") is True


@pytest.mark.parametrize("typed", ["no", "N", "false", False, 0])
def test_no_has_many_spellings(typed: Value) -> None:
    assert read_yes_no(typed, AT, "Mono") is False


@pytest.mark.parametrize("typed", ["maybe", 2, datetime.date(2026, 1, 1)])
def test_anything_else_is_neither_yes_nor_no(typed: Value) -> None:
    assert code(read_yes_no(typed, AT, "Mono")) == "not-yes-or-no"


# ---------------------------------------------------------------- numbers, money, rates

@pytest.mark.parametrize("typed", [3, 3.0, "3", "3.0", "3,0"])
def test_a_whole_number_may_be_typed_as_text(typed: Value) -> None:
    assert read_whole(typed, AT, "Pairs", 0, 20) == 3


@pytest.mark.parametrize(("typed", "expected"), [
    (1.5, "not-whole"), ("two", "not-a-number"), (-1, "out-of-range"), (21, "out-of-range"), (True, "not-a-number"),
    ("2,500", "unclear-number"), (float("nan"), "not-a-number"), (datetime.date(2026, 1, 1), "not-a-number"),
])
def test_what_is_no_count_is_a_problem(typed: Value, expected: str) -> None:
    assert code(read_whole(typed, AT, "Pairs", 0, 20)) == expected


@pytest.mark.parametrize(("typed", "amount"), [
    (1250, "1250"), (1250.5, "1250.5"), ("1250.50", "1250.50"), ("$1,250.50", "1250.50"), ("1 250,50", "1250.50"),
    ("1250.50 USD", "1250.50"), ("USD 1250", "1250"), (0.1 + 0.2, "0.3"),
])
def test_an_amount_is_exactly_what_was_typed(typed: Value, amount: str) -> None:
    assert read_money(typed, AT, "Budget", "USD") == D(amount)


@pytest.mark.parametrize(("typed", "expected"), [
    ("€ 500", "other-currency"), ("500 EUR", "other-currency"), ("1,250", "unclear-number"),
    ("1.250", "unclear-number"), ("15k", "not-a-number"), (-5, "out-of-range"), (10**10, "out-of-range"),
    (datetime.date(2026, 1, 1), "not-a-number"),
])
def test_what_is_no_clear_amount_is_a_problem(typed: Value, expected: str) -> None:
    assert code(read_money(typed, AT, "Budget", "USD")) == expected


@pytest.mark.parametrize("typed", ["8 %", "8%", "8,0 %", 0.08, "0.08", "0,08"])
def test_eight_percent_is_a_ratio_of_0_08(typed: Value) -> None:
    assert read_rate(typed, AT, "Discount") == D("0.08")


@pytest.mark.parametrize(("typed", "expected"), [
    (8, "unclear-rate"), ("8", "unclear-rate"), ("800 %", "out-of-range"), ("-5 %", "out-of-range"),
    ("a little", "not-a-number"),
])
def test_what_is_no_clear_rate_is_a_problem(typed: Value, expected: str) -> None:
    assert code(read_rate(typed, AT, "Discount", D("0.9"))) == expected


# ---------------------------------------------------------------- lengths, dates, time spans

@pytest.mark.parametrize(("system", "metres"), [("imperial", 3.6576), ("metric", 12.0)])
def test_a_bare_number_is_in_the_jobs_unit(system: str, metres: float) -> None:
    assert read_length(12, AT, "Length", system) == pytest.approx(metres)  # type: ignore[arg-type]


def test_a_heading_may_name_the_unit_of_a_bare_number() -> None:
    assert read_length(381, AT, "Length", "imperial", "cm") == pytest.approx(3.81)


@pytest.mark.parametrize(("typed", "expected"), [
    ("long", "not-a-length"), (True, "not-a-length"), (float("nan"), "not-a-length"),
    (datetime.datetime(2026, 12, 6), "turned-into-date"),
    (datetime.time(12, 6), "turned-into-date"), ("1,250", "unclear-number"), (99, "out-of-range"), (0, "out-of-range"),
])
def test_what_is_no_length_is_a_problem(typed: Value, expected: str) -> None:
    assert code(read_length(typed, AT, "Length", "metric", least_m=0.5, most_m=60)) == expected


@pytest.mark.parametrize("typed", [
    datetime.date(2026, 3, 31), datetime.datetime(2026, 3, 31), "2026-03-31", "31.3.2026", "31. 3. 2026",
    "31 March 2026", "31st Mar 2026", "March 31, 2026", "Mar 31 2026", "31/03/2026", "03/31/2026", "2026/3/31",
])
def test_a_date_is_read_in_every_clear_spelling(typed: Value) -> None:
    assert read_date(typed, AT, "Start date") == datetime.date(2026, 3, 31)


@pytest.mark.parametrize(("typed", "expected"), [
    ("03/04/2026", "day-or-month"), ("soon", "not-a-date"), (46112, "not-a-date"), ("31.2.2026", "not-a-date"),
    ("31.3.26", "not-a-date"), ("1826-03-31", "out-of-range"), (datetime.time(1), "not-a-date"),
])
def test_what_is_no_clear_date_is_a_problem(typed: Value, expected: str) -> None:
    assert code(read_date(typed, AT, "Start date")) == expected


@pytest.mark.parametrize("typed", [
    0.75, "0.75", "0,75", "45 min", "0:45", "0 h 45 min", datetime.time(0, 45), datetime.timedelta(minutes=45),
])
def test_three_quarters_of_an_hour_is_read_in_every_spelling(typed: Value) -> None:
    assert read_hours(typed, AT, "Travel time one way", 24) == pytest.approx(0.75)


@pytest.mark.parametrize(("typed", "expected"), [
    ("far", "not-a-time-span"), (25, "out-of-range"), (True, "not-a-time-span"),
])
def test_what_is_no_time_span_is_a_problem(typed: Value, expected: str) -> None:
    assert code(read_hours(typed, AT, "Travel time one way", 24)) == expected


# ---------------------------------------------------------------- laws

VALUES = st.one_of(
    st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=80), st.dates().map(lambda day: day),
    st.datetimes(), st.times(), st.timedeltas(),
    st.from_regex(r"[-+]?[0-9., ]{0,12}['\"]?[ ft0-9in/m]{0,8}%?", fullmatch=True),
)


@settings(max_examples=300, deadline=None)
@given(VALUES)
def test_no_value_makes_any_reader_raise(value: Value) -> None:
    settled = settle(value, AT, "Length")
    if settled is None or isinstance(settled, Problem):
        return
    found: list[object] = [
        read_text(settled, AT, "Name"), read_choice(settled, AT, "Wall state", WALLS),
        read_yes_no(settled, AT, "Mono"), read_whole(settled, AT, "Pairs", 0, 20),
        read_money(settled, AT, "Budget", "USD"), read_rate(settled, AT, "Rate"),
        read_length(settled, AT, "Length", "imperial"), read_date(settled, AT, "Date"),
        read_hours(settled, AT, "Time", 24),
    ]
    assert all(item is not None for item in found)


@given(st.integers(0, 300), st.integers(0, 11))
def test_feet_and_inches_and_their_inches_are_one_length(feet: int, inches: int) -> None:
    typed = read_length(f"{feet}'{inches}\"", AT, "Length", "metric")
    assert typed == pytest.approx(read_length(f"{feet * 12 + inches} in", AT, "Length", "metric"))  # type: ignore[arg-type]

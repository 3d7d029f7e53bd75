"""Quantity cells: arithmetic, dimensions, rounding, and what a wrong one says."""

from __future__ import annotations

from decimal import Decimal
from types import SimpleNamespace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.rules.quantities import Quantity, parse_quantity
from quoting.tables.conditions import FieldKind

KINDS: dict[str, FieldKind] = {
    "length_m": "number", "plan_m": "number", "area_m2": "number", "hours": "number", "travel_hours": "number",
    "pairs": "number", "spare": "yes/no", "mount": "text",
}
FACT = SimpleNamespace(length_m=30 * 0.3048, plan_m=0.0, area_m2=20.0, hours=2.5, travel_hours=0.5, pairs=3, spare=True)


def amount(text: str, unit: str | None = "", fact: object = FACT) -> Decimal | str:
    quantity = parse_quantity(text, KINDS, unit)
    assert isinstance(quantity, Quantity), quantity
    return quantity.amount(fact)


@pytest.mark.parametrize(("text", "unit", "value"), [
    ("", "", "1"),
    ("2", "", "2"),
    ("pairs * 2", "", "6"),
    ("pairs - 1 - 1", "", "1"),  # from the left
    ("12 / pairs / 2", "", "2"),
    ("2 + 3 * 4", "", "14"),
    ("(2 + 3) * 4", "", "20"),
    ("-pairs + 5", "", "2"),
    ("ceil(pairs / 2)", "", "2"),
    ("max(pairs, 5)", "", "5"),
    ("min(pairs, 5, 1)", "", "1"),
    ("pairs * spare", "", "3"),
    ("length_m", "m", "9.144"),  # 30 ft: exact by the definition of the foot
    ("length_m / 1ft", "", "30"),
    ("ceil(length_m / 4.5ft)", "", "7"),  # 30 / 4.5 = 6.67
    ("ceil(length_m / 10ft)", "", "3"),  # exactly 3, and never a fourth
    ("hours + travel_hours * 2", "hours", "3.5"),
    ("pairs * 0.25hours", "hours", "0.75"),
    ("pairs * 15min", "hours", "0.75"),
    ("area_m2 / 10", "", "2"),
])
def test_arithmetic_comes_to(text: str, unit: str, value: str) -> None:
    found = amount(text, unit)

    assert isinstance(found, Decimal) and round(found, 9) == Decimal(value)


@pytest.mark.parametrize(("text", "unit", "says"), [
    ("length_m", "", "'length_m' comes to metres or feet, and this is counted in pieces"),
    ("pairs", "m", "'pairs' comes to pieces, and this is counted in metres or feet"),
    ("", "m", "an empty quantity is 1 piece, and this is counted in metres or feet; write how much"),
    ("length_m * plan_m", "m",
     "'length_m * plan_m' comes to length times length, and this is counted in metres or feet"),
    ("length_m + pairs", "m", "'+' joins metres or feet and pieces; give both the same unit, such as 0m or 4.5ft"),
    ("max(0, length_m)", "m", "'max()' joins pieces and metres or feet; give both the same unit, such as 0m or 4.5ft"),
    ("ceil(length_m)", "",
     "ceil() counts whole pieces, and its value is in metres or feet; divide it first, as in ceil(length_m / 4.5ft)"),
    ("mount", "", "'mount' holds words, not a number"),
    ("lenght_m", "m", "'lenght_m' is not a field of this fact; its numbers are length_m, plan_m, area_m2, hours, "
                      "travel_hours, pairs, spare"),
    ("3 +", "", "the quantity ends where a value should follow"),
    ("(3", "", "the quantity ends where ')' should follow"),
    ("3 4", "", "'4' stands where the quantity should end"),
    ("4.5yd", "m", "'4.5yd' has a unit that is not one of m, ft, in, cm, hours, min, mm, hour"),
    ("2 ** 9", "", "'*' stands where a value should"),
    ("ceil(1, 2)", "", "ceil() takes one value, not 2"),
    ("max(1)", "", "max() takes two values or more"),
    ("__import__('os')", "", "'__import__('os')' is not arithmetic from ''os')' on; "
                             "write numbers, fields, + - * / ( ), ceil() max() min()"),
])
def test_a_wrong_cell_says_what_is_wrong(text: str, unit: str, says: str) -> None:
    assert parse_quantity(text, KINDS, unit) == says


@pytest.mark.parametrize(("text", "says"), [
    ("1 / (pairs - 3)", "divides by zero"),
    ("999999999 * 999999999", "comes to more than any job can use"),
])
def test_an_amount_that_cannot_be_says_so(text: str, says: str) -> None:
    assert amount(text) == says


def test_the_seventh_place_of_a_length_never_buys_another_piece() -> None:
    fact = SimpleNamespace(length_m=9.1440001)

    assert amount("ceil(length_m / 10ft)", "", fact) == 3


def test_parentheses_without_end_are_refused() -> None:
    assert parse_quantity("(" * 90 + "1" + ")" * 90, KINDS, "") == "the quantity nests more than 20 deep"


@given(st.text(max_size=60))
def test_no_text_breaks_the_grammar(text: str) -> None:
    assert isinstance(parse_quantity(text, KINDS, None), Quantity | str)


@given(st.text(alphabet="0123456789.+-*/(),pairsceilmax ", max_size=30))
def test_whatever_is_accepted_comes_to_an_amount_or_says_why_not(text: str) -> None:
    quantity = parse_quantity(text, KINDS, None)

    assert isinstance(quantity, str) or isinstance(quantity.amount(FACT), Decimal | str)

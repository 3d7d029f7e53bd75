"""Numbers and lengths as people type them."""

from __future__ import annotations

from decimal import Decimal

import pytest

from quoting.sheets.numbers import Unclear, parse_length, parse_number

FOOT = 0.3048  # exact: international foot, 1959 agreement (NIST SP 811, appendix B)


@pytest.mark.parametrize(("text", "number"), [
    ("12", "12"), ("-3", "-3"), ("12.50", "12.50"), ("12,5", "12.5"), (".5", "0.5"), ("1 250", "1250"),
    ("1 250,75", "1250.75"), ("1,250.75", "1250.75"), ("1.250,75", "1250.75"), ("1,250,000", "1250000"), ("−4", "-4"),
])
def test_a_number_is_read_in_every_common_spelling(text: str, number: str) -> None:
    assert parse_number(text) == Decimal(number)


@pytest.mark.parametrize("text", ["", "-", "twelve", "1e5", "0x10", "1_000", "12 5", "1.2.3", "nan", "inf", "4..5"])
def test_anything_else_is_no_number(text: str) -> None:
    assert parse_number(text) is None


@pytest.mark.parametrize(("text", "readings"), [("1,250", "1250 or 1.25"), ("3,810", "3810 or 3.81")])
def test_a_comma_before_exactly_three_digits_is_unclear(text: str, readings: str) -> None:
    with pytest.raises(Unclear, match=readings):
        parse_number(text)


@pytest.mark.parametrize("text", [
    "12'6\"", "12' 6\"", "12'-6\"", "12'6", "12 ft 6 in", "12ft 6in", "12 FT. 6 IN.", "12 feet 6 inches", "12.5 ft",
    "12,5 ft", "12.5'", "150 in", "150\"", "12’6”", "12′6″", "3.81 m", "3,81 m", "381 cm", "3810 mm", "3 810 mm",
    "3 m 81 cm",
])
def test_twelve_feet_six_is_read_in_every_spelling(text: str) -> None:
    assert parse_length(text, FOOT) == pytest.approx(3.81, abs=1e-12)


@pytest.mark.parametrize(("text", "inches"), [
    ("6 1/2 in", 6.5), ("6-1/2\"", 6.5), ("1/2 in", 0.5), ("1' 0 3/4\"", 12.75),
])
def test_fractions_of_an_inch_are_read(text: str, inches: float) -> None:
    assert parse_length(text, FOOT) == pytest.approx(inches * 0.0254, abs=1e-12)


@pytest.mark.parametrize(("bare_m", "metres"), [(FOOT, 3.6576), (1.0, 12.0), (0.0254, 0.3048)])
def test_a_bare_number_is_in_the_unit_that_is_asked_for(bare_m: float, metres: float) -> None:
    assert parse_length("12", bare_m) == pytest.approx(metres, abs=1e-12)


@pytest.mark.parametrize("text", [
    "", "'", "ft", "about 12 ft", "12 6", "12'13\"", "6\" 12'", "12 ft 30 cm", "3.81 m 2", "12 yd", "12 ft 6 in 3 in",
    "1/0 in", "12 ft 5 2/2 in", "12''6''", "1 2 3 4",
])
def test_anything_else_is_no_length(text: str) -> None:
    assert parse_length(text, FOOT) is None


def test_a_comma_before_three_digits_is_unclear_in_a_length_too() -> None:
    with pytest.raises(Unclear, match=r"12500 or 12\.5"):
        parse_length("12,500 mm", FOOT)

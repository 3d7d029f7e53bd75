"""The quantities and amounts of checked.md, which a person worked by hand, against the quote."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from quoting.quote import PricedOption, Quote

PAGE = Path(__file__).with_name("checked.md")
FT = Decimal("0.3048")


def checked_rows() -> list[tuple[str, str, str]]:
    rows = [line.strip("|\n ").split("|") for line in PAGE.read_text(encoding="utf-8").splitlines()
            if line.startswith("| ") and "---" not in line]
    return [(row[0].strip(), row[1].strip(), row[2].strip()) for row in rows[1:]]


def _need(quote: Quote, option: PricedOption, key: str) -> Decimal:
    return sum((row.need for row in option.materials if row.part == key), Decimal(0))


def _hours(quote: Quote, option: PricedOption, key: str) -> Decimal:
    return next(row.hours for row in option.labour if row.id == key)


def _price(quote: Quote, option: PricedOption, key: str) -> Decimal:
    return next(row.price for row in (*option.materials, *option.labour) if row.id == key)


def _length_ft(quote: Quote, option: PricedOption, key: str) -> Decimal:
    run = next(run for run in quote.facts["cable_run"] if run["id"] == key)
    return (Decimal(repr(run["length_m"])) / FT).quantize(Decimal("0.01"))


MEASURES: dict[str, Callable[[Quote, PricedOption, str], Decimal]] = {
    "channels": lambda quote, option, key: Decimal(sum(zone["channels"] for zone in option.facts["zone"])),
    "speakers": lambda quote, option, key: Decimal(len(option.facts["speaker"])),
    "runs": lambda quote, option, key: Decimal(len(quote.facts["cable_run"])),
    "need": _need, "hours": _hours, "price": _price, "length_ft": _length_ft,
    "tax": lambda quote, option, key: next(
        tax.amount for tax in option.totals.taxes if f"{tax.name} {tax.category}" == key),
    "payment": lambda quote, option, key: next(row.amount for row in option.plan if row.name == key),
}


def test_at_least_ten_rows_were_worked() -> None:
    assert len(checked_rows()) >= 10


@pytest.mark.parametrize(("what", "key", "value"), checked_rows())
def test_a_value_worked_by_hand_is_the_quotes(quotes: dict[str, Quote], what: str, key: str, value: str) -> None:
    better = quotes["1"].options[1]
    assert MEASURES[what](quotes["1"], better, key) == Decimal(value)

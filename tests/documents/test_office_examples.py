"""Each example's workbook: every kind of input cell moved, all money cells recalculated by independent engines.

What the cells must come to is a fresh pricing of the same quote under the changed inputs; stored values are made wrong
first, so that none can be read back.
"""

from __future__ import annotations

import io
import os
from collections.abc import Callable, Mapping
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from msgspec.structs import replace

from quoting import quote as q
from quoting.documents.office import input_cells, money_cells, workbook_bytes
from quoting.documents.office_inputs import InputCells
from quoting.documents.sheet_writer import MoneyCell
from tests.documents.office_sample import reprice
from tests.documents.recalculate import (
    Values,
    differences,
    each_with_ironcalc,
    each_with_libreoffice,
    has_libreoffice,
    spoil,
)

D = Decimal
EXAMPLES = ("1", "2", "3")
KINDS = (
    "price of an hour", "burdened cost", "cost per sold hour", "category's rate", "freight", "discount", "tax",
    "contingency rate", "contingency method", "cost basis", "whole units", "cap as a sum", "cap as a rate", "shares",
    "part's cost", "part's floor", "part's own markup", "case of what if",
)
Typed = Mapping[str, float | str]


def _row(rows: tuple[Any, ...], at: int, **changes: Any) -> tuple[Any, ...]:
    return tuple(replace(row, **changes) if index == at else row for index, row in enumerate(rows))


def move(pricing: q.Pricing, cells: InputCells, kind: str) -> tuple[Typed, dict[str, Any]]:
    """What is typed for one kind of input, and the same change to the pricing's own record."""
    role, category, part = pricing.roles[-1], pricing.categories[0], pricing.parts[len(pricing.parts) // 2]
    at = len(pricing.roles) - 1, len(pricing.parts) // 2
    job, price = cells.job, part.unit_cost * 3
    moves: dict[str, tuple[Typed, dict[str, Any]]] = {
        "price of an hour": ({cells.roles[role.role].price: 133.35},
                             {"roles": _row(pricing.roles, at[0], price=D("133.35"))}),
        "burdened cost": ({cells.roles[role.role].burdened: 61.17},
                          {"roles": _row(pricing.roles, at[0], burdened=D("61.17"))}),
        "cost per sold hour": ({cells.roles[role.role].sold_hour: 88.88},
                               {"roles": _row(pricing.roles, at[0], sold_hour=D("88.88"))}),
        "category's rate": ({cells.categories[category.category].rate: 0.3725},
                            {"categories": _row(pricing.categories, 0, rate=D("0.3725"))}),
        "freight": ({cells.categories[category.category].freight: 0.0415},
                    {"categories": _row(pricing.categories, 0, freight_rate=D("0.0415"))}),
        "discount": ({job["discount"]: 0.0325}, {"discount_rate": D("0.0325")}),
        "contingency rate": ({job["contingency"]: 0.0915}, {"contingency_rate": D("0.0915")}),
        "contingency method": ({job["method"]: "P80"}, {"contingency_method": "P80"}),
        "cost basis": ({job["basis"]: "burdened"}, {"cost_basis": "burdened"}),
        "whole units": ({job["whole"]: "yes"}, {"whole_units": True}),
        "cap as a sum": ({job["cap_amount"]: 777.77}, {"deposit_cap_amount": D("777.77")}),
        "cap as a rate": ({job["cap_rate"]: 0.0065}, {"deposit_cap_rate": D("0.0065")}),
        "part's cost": ({cells.parts[part.part].cost: 12.3456},
                        {"parts": _row(pricing.parts, at[1], unit_cost=D("12.3456"))}),
        "part's floor": ({cells.parts[part.part].floor: float(price)},
                         {"parts": _row(pricing.parts, at[1], floor_price=price)}),
        "part's own markup": ({cells.parts[part.part].own_markup: 1.75},
                              {"parts": _row(pricing.parts, at[1], own_markup=D("1.75"))}),
    }
    if kind == "tax" and pricing.taxes:
        tax = pricing.taxes[0]
        return ({cells.taxes[tax.name, tax.category]: 0.0715},
                {"taxes": _row(pricing.taxes, 0, rate=D("0.0715"))})
    if kind == "shares" and len(pricing.plan) > 1:
        first, second = pricing.plan[:2]
        rows = _row(_row(pricing.plan, 0, share=second.share), 1, share=first.share)
        return {cells.shares[0]: float(second.share), cells.shares[1]: float(first.share)}, {"plan": rows}
    if kind == "case of what if" and pricing.what_if:
        case = pricing.what_if[0]
        return {cells.what_if[case.name]: 0.0775}, {"what_if": _row(pricing.what_if, 0, change_rate=D("0.0775"))}
    return moves.get(kind, ({}, {}))


def _addresses(typed: Typed) -> dict[tuple[str, str], float | str]:
    """ "'Part prices'!$G$8" -> ("Part prices", "G8")."""
    return {(where.split("!")[0].strip("'"), where.split("!")[1].replace("$", "")): value
            for where, value in typed.items()}


TRIED = KINDS if os.environ.get("CI") else KINDS[::3]
Expected = tuple[Typed, tuple[MoneyCell, ...]]
Expect = Callable[[str, str], Expected]
Followed = tuple[bytes, Mapping[str, Expected]]


@pytest.fixture(scope="module")
def expect(quotes: dict[str, q.Quote]) -> Expect:
    """What is typed for a kind of input of an example ("": nothing), and what the money cells must then come to."""

    cells = cache(lambda number: input_cells(quotes[number]))

    @cache
    def found(number: str, kind: str) -> Expected:
        quote = quotes[number]
        typed, changes = move(quote.pricing, cells(number), kind)
        return typed, money_cells(reprice(quote, replace(quote.pricing, **changes)) if kind else quote)

    return found


@pytest.fixture(scope="module", params=EXAMPLES)
def followed(request: pytest.FixtureRequest, quotes: dict[str, q.Quote], expect: Expect) -> Followed:
    """An example's workbook, its stored values made wrong, and each kind of input with what it must come to."""
    number = request.param
    return spoil(workbook_bytes(quotes[number])), {kind: expect(number, kind) for kind in ("", *TRIED)}


def _wrong(followed: Followed, engine: Callable[..., list[Values]], folder: Path) -> dict[str, list[str]]:
    """For each kind of input that an engine does not follow: the cells."""
    workbook, moves = followed
    typed = [_addresses(typed) for typed, _ in moves.values()]
    found = engine(workbook, moves[""][1], typed, folder)
    return {kind: wrong for (kind, (_, expected)), values in zip(moves.items(), found, strict=True)
            if (wrong := differences(expected, values))}


def test_every_cell_that_is_typed_into_is_an_input_cell(followed: Followed) -> None:
    workbook, moves = followed
    book = openpyxl.load_workbook(io.BytesIO(workbook))

    assert [cell for typed, _ in moves.values() for cell in _addresses(typed)
            if book[cell[0]][cell[1]].protection.locked] == []


def test_every_kind_of_input_moves_some_amount(followed: Followed) -> None:
    _, moves = followed
    assert {kind for kind, (typed, expected) in moves.items() if typed and expected == moves[""][1]} == set()


def test_ironcalc_comes_to_an_examples_own_amounts_and_follows_each_input_alone(
    followed: Followed, tmp_path: Path
) -> None:
    assert _wrong(followed, each_with_ironcalc, tmp_path) == {}


@pytest.mark.skipif(not has_libreoffice(), reason="LibreOffice is not installed")
def test_libreoffice_comes_to_an_examples_own_amounts_and_follows_each_input_alone(
    followed: Followed, tmp_path: Path
) -> None:
    assert _wrong(followed, each_with_libreoffice, tmp_path) == {}

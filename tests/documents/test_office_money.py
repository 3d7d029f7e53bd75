"""The office workbook's money: recalculated by engines that are not ours, before and after an input is changed."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from quoting import quote as q
from quoting.documents.office import input_cells, money_cells, workbook_bytes
from quoting.documents.office_inputs import InputCells
from tests.documents.office_sample import reprice, sample_pricing, sample_quote
from tests.documents.recalculate import (
    change,
    differences,
    has_libreoffice,
    spoil,
    with_formualizer,
    with_ironcalc,
    with_libreoffice,
)

D = Decimal
SAMPLE = sample_quote()
USE_TAX = (
    q.TaxRule(name="Use tax", category="-", rate=D("0.0725"), payer="contractor"),
    q.TaxRule(name="Use surtax", category="electronics", rate=D("0.0125"), payer="contractor"),
)
SETTINGS: dict[str, dict[str, Any]] = {
    "as it is": {},
    "taxes by line": {"tax_basis": "line"},
    "contingency to P80": {"contingency_method": "P80"},
    "whole units": {"whole_units": True},
    "burdened cost": {"cost_basis": "burdened"},
    "no deposit cap": {"deposit_cap_rate": None, "deposit_cap_amount": None},
    "one payment": {"plan": (q.PlanRow(name="Payment", trigger="on completion", share=D(1)),)},
    "contractor pays tax": {"taxes": USE_TAX},
    "no tax": {"taxes": ()},
    "no discount": {"discount_rate": D(0)},
    "no minor unit": {"currency": "JPY"},
    "three places": {"currency": "KWD"},
}
every_setting = pytest.mark.parametrize("changes", SETTINGS.values(), ids=SETTINGS)


def _tables(pricing: q.Pricing, table: str, name: str, **changes: Any) -> dict[str, Any]:
    """A row of one of the pricing's tables, changed; the row's first field is its name."""
    rows = tuple(
        replace(row, **changes) if getattr(row, row.__struct_fields__[0]) == name else row
        for row in getattr(pricing, table))
    return {table: rows}


def _tax(pricing: q.Pricing, category: str, rate: Decimal) -> dict[str, Any]:
    return {"taxes": tuple(replace(tax, rate=rate) if tax.category == category else tax for tax in pricing.taxes)}


def _plan(pricing: q.Pricing, *shares: str) -> dict[str, Any]:
    return {"plan": tuple(replace(row, share=D(share)) for row, share in zip(pricing.plan, shares, strict=True))}


P, CELLS = SAMPLE.pricing, input_cells(SAMPLE)
# What is typed into which cells, and the same change to the pricing's own record.
CHANGES: dict[str, tuple[dict[str, float | str | None], dict[str, Any]]] = {
    "a role's price": ({CELLS.roles["installer"].price: 91.35}, _tables(P, "roles", "installer", price=D("91.35"))),
    "a role's burdened cost": (
        {CELLS.roles["technician"].burdened: 47.9},
        _tables(P, "roles", "technician", burdened=D("47.9")),
    ),
    "a role's cost per sold hour": (
        {CELLS.roles["installer"].sold_hour: 55.55},
        _tables(P, "roles", "installer", sold_hour=D("55.55")),
    ),
    "a margin": ({CELLS.categories["speakers"].rate: 0.415}, _tables(P, "categories", "speakers", rate=D("0.415"))),
    "a margin turned into a markup": (
        {CELLS.categories["cable"].basis: "markup", CELLS.categories["cable"].rate: 1.35},
        _tables(P, "categories", "cable", basis="markup", rate=D("1.35")),
    ),
    "a list turned into a margin": (
        {CELLS.categories["controls"].basis: "margin", CELLS.categories["controls"].rate: 0.4},
        _tables(P, "categories", "controls", basis="margin", rate=D("0.4")),
    ),
    "more off the list": (
        {CELLS.categories["controls"].rate: 0.125},
        _tables(P, "categories", "controls", rate=D("0.125")),
    ),
    "a freight rate": (
        {CELLS.categories["racks"].freight: 0.0775},
        _tables(P, "categories", "racks", freight_rate=D("0.0775")),
    ),
    "the discount": ({CELLS.job["discount"]: 0.0475}, {"discount_rate": D("0.0475")}),
    "a tax on everything": ({CELLS.taxes["State sales tax", "-"]: 0.07125}, _tax(P, "-", D("0.07125"))),
    "a tax on one category": ({CELLS.taxes["County tax", "speakers"]: 0.0215}, _tax(P, "speakers", D("0.0215"))),
    "a tax on freight": ({CELLS.taxes["County tax", "freight"]: 0.1}, _tax(P, "freight", D("0.1"))),
    "the contingency": ({CELLS.job["contingency"]: 0.115}, {"contingency_rate": D("0.115")}),
    "contingency to P80": ({CELLS.job["method"]: "P80"}, {"contingency_method": "P80"}),
    "the cost that floors use": ({CELLS.job["basis"]: "burdened"}, {"cost_basis": "burdened"}),
    "whole units": ({CELLS.job["whole"]: "yes"}, {"whole_units": True}),
    "a lower cap on the deposit": ({CELLS.job["cap_amount"]: 650}, {"deposit_cap_amount": D(650)}),
    "no cap on the deposit": (
        {CELLS.job["cap_amount"]: "-", CELLS.job["cap_rate"]: "-"},
        {"deposit_cap_amount": None, "deposit_cap_rate": None},
    ),
    "the payment shares": (
        dict(zip(CELLS.shares, (0.15, 0.25, 0.5, 0.1), strict=True)),
        _plan(P, "0.15", "0.25", "0.5", "0.1"),
    ),
    "a part's cost": ({CELLS.parts["SPK-6"].cost: 71.2345}, _tables(P, "parts", "SPK-6", unit_cost=D("71.2345"))),
    "a part's floor": ({CELLS.parts["RCK-20"].floor: 777.5}, _tables(P, "parts", "RCK-20", floor_price=D("777.5"))),
    "a floor taken away": ({CELLS.parts["SPK-8"].floor: "-"}, _tables(P, "parts", "SPK-8", floor_price=None)),
    "a markup of a part's own": (
        {CELLS.parts["AMP-12"].own_markup: 0.4},
        _tables(P, "parts", "AMP-12", own_markup=D("0.4")),
    ),
    "a discount that the owner tries": (
        {CELLS.what_if["A discount on top"]: 0.0825},
        _tables(P, "what_if", "A discount on top", change_rate=D("0.0825")),
    ),
    "an overrun that the owner tries": (
        {CELLS.what_if["More hours"]: 0.45},
        _tables(P, "what_if", "More hours", change_rate=D("0.45")),
    ),
    "copper that the owner tries": (
        {CELLS.what_if["Dearer copper"]: 0.3333},
        _tables(P, "what_if", "Dearer copper", change_rate=D("0.3333")),
    ),
    "a list price": ({CELLS.parts["KEY-1"].list_price: 189.99}, _tables(P, "parts", "KEY-1", list_price=D("189.99"))),
}


def _typed(cells: dict[str, float | str | None]) -> dict[tuple[str, str], float | str | None]:
    """ "'Part prices'!$G$8" -> ("Part prices", "G8")."""
    return {
        (where.split("!")[0].strip("'"), where.split("!")[1].replace("$", "")): value for where, value in cells.items()
    }


@every_setting
def test_ironcalc_comes_to_the_quotes_own_amounts(changes: dict[str, Any], tmp_path: Path) -> None:
    quote = sample_quote(sample_pricing(**changes))
    cells = money_cells(quote)
    assert differences(cells, with_ironcalc(spoil(workbook_bytes(quote)), cells, tmp_path)) == []


@every_setting
def test_formualizer_comes_to_the_quotes_own_amounts(changes: dict[str, Any], tmp_path: Path) -> None:
    quote = sample_quote(sample_pricing(**changes))
    cells = money_cells(quote)
    assert differences(cells, with_formualizer(spoil(workbook_bytes(quote)), cells, tmp_path)) == []


@pytest.mark.skipif(not has_libreoffice(), reason="LibreOffice is not installed")
@pytest.mark.parametrize("basis", ["invoice", "line"])
def test_libreoffice_comes_to_the_quotes_own_amounts(basis: str, tmp_path: Path) -> None:
    quote = sample_quote(sample_pricing(tax_basis=basis))
    cells = money_cells(quote)
    assert differences(cells, with_libreoffice(spoil(workbook_bytes(quote)), cells, tmp_path)) == []


@pytest.mark.parametrize("number", ["1", "2", "3"])
def test_the_examples_recalculate_to_their_quotes(number: str, quotes: dict[str, q.Quote], tmp_path: Path) -> None:
    cells = money_cells(quotes[number])
    assert differences(cells, with_ironcalc(spoil(workbook_bytes(quotes[number])), cells, tmp_path)) == []


@pytest.mark.parametrize("typed, changes", CHANGES.values(), ids=CHANGES)
def test_a_changed_input_moves_every_amount_as_the_engine_would(
    typed: dict[str, float | str | None], changes: dict[str, Any], tmp_path: Path
) -> None:
    expected = money_cells(reprice(SAMPLE, replace(P, **changes)))
    changed = change(workbook_bytes(SAMPLE), _typed(typed))
    assert differences(expected, with_ironcalc(changed, expected, tmp_path)) == []


@pytest.mark.parametrize("typed, changes", CHANGES.values(), ids=CHANGES)
def test_a_changed_input_changes_some_amount(typed: dict[str, float | str | None], changes: dict[str, Any]) -> None:
    assert typed
    assert money_cells(reprice(SAMPLE, replace(P, **changes))) != money_cells(SAMPLE)


@pytest.mark.parametrize("number", ["1", "2", "3"])
def test_a_rate_and_the_discount_changed_in_an_example_come_to_a_fresh_run(
    number: str, quotes: dict[str, q.Quote], tmp_path: Path
) -> None:
    quote = quotes[number]
    where: InputCells = input_cells(quote)
    role = quote.pricing.roles[-1].role
    changes = {**_tables(quote.pricing, "roles", role, price=D("133.35")), "discount_rate": D("0.0325")}
    expected = money_cells(reprice(quote, replace(quote.pricing, **changes)))
    typed = _typed({where.roles[role].price: 133.35, where.job["discount"]: 0.0325})
    assert differences(expected, with_ironcalc(change(workbook_bytes(quote), typed), expected, tmp_path)) == []


def test_every_line_of_every_options_totals_stands_in_a_money_cell() -> None:
    values = {cell.value for cell in money_cells(SAMPLE) if cell.sheet == "Summary"}
    for option in SAMPLE.options:
        totals = option.totals
        assert {
            totals.materials,
            totals.labour,
            totals.freight,
            totals.discount,
            totals.total,
            totals.cost,
            totals.gross_profit,
            totals.contingency,
            totals.outlay,
            *(row.amount for row in option.plan),
        } <= values


def test_every_row_of_the_quote_has_its_cost_and_price_in_a_money_cell() -> None:
    bill = [cell.value for cell in money_cells(SAMPLE) if cell.sheet in ("Bill", "Labour")]
    for option in SAMPLE.options:
        for row in (*option.materials, *option.labour):
            assert row.price in bill and row.cost in bill


def test_the_spoiling_is_noticed_where_an_engine_does_not_recalculate() -> None:
    """Guards the guard: read without recalculation, the spoiled workbook differs in every money cell."""
    import io

    import openpyxl

    cells = money_cells(SAMPLE)
    book = openpyxl.load_workbook(io.BytesIO(spoil(workbook_bytes(SAMPLE))), data_only=True)
    found = {(cell.sheet, cell.address): D(repr(book[cell.sheet][cell.address].value)) for cell in cells}
    assert len(differences(cells, found)) == len(cells)

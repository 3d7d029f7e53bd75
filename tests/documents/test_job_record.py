"""The job record: what it starts from is the quote; what is typed into it is reckoned as by hand, by another engine."""

from __future__ import annotations

import io
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest

from quoting.documents.job_record import record_bytes, record_cells
from quoting.documents.sheet_writer import MoneyCell
from tests.documents.office_sample import sample_quote
from tests.documents.recalculate import change, differences, spoil, with_ironcalc

D = Decimal
QUOTE = sample_quote()
OPTION = QUOTE.options[-1]
BOOK = record_bytes(QUOTE, OPTION)
SHEETS = openpyxl.load_workbook(io.BytesIO(BOOK), data_only=True)


def _row(sheet: str, first: str) -> int:
    """The row whose first cell begins so."""
    return next(row[0].row for row in SHEETS[sheet].iter_rows() if str(row[0].value or "").startswith(first))


def _typed(cells: dict[tuple[str, str], float | str | None], folder: Path, *wanted: tuple[str, str]) -> list[Decimal]:
    asked = [MoneyCell(sheet, at, D(0)) for sheet, at in wanted]
    found = with_ironcalc(change(BOOK, cells), asked, folder)
    return [round(found[(sheet, at)], 4) for sheet, at in wanted]


def test_every_money_formula_comes_to_its_stored_value(tmp_path: Path) -> None:
    cells = record_cells(QUOTE, OPTION)
    assert not differences(cells, with_ironcalc(spoil(BOOK), cells, tmp_path))


def test_the_budget_is_the_cost_that_the_quote_was_priced_on() -> None:
    total = SHEETS["Cost"].cell(_row("Cost", "All costs"), 2).value
    assert D(str(total)) == OPTION.totals.cost


def test_the_payments_and_their_tax_are_the_contract_to_the_cent() -> None:
    rows = range(_row("Billing", "Payment") + 1, _row("Billing", "Payment") + 1 + len(OPTION.plan))
    amounts, taxes = ([D(str(SHEETS["Billing"].cell(row, column).value)) for row in rows] for column in (4, 5))
    assert (sum(amounts), sum(taxes)) == (OPTION.totals.total, OPTION.totals.tax)


def test_every_hour_of_the_option_has_a_row_under_its_own_id() -> None:
    hours = SHEETS["Hours"]
    rows = range(_row("Hours", "Line") + 1, _row("Hours", "All tasks"))
    listed = sorted((hours.cell(row, 1).value, D(str(hours.cell(row, 7).value))) for row in rows)
    assert listed == sorted((row.id, row.hours) for row in OPTION.labour if row.hours)


def test_what_is_spent_and_nothing_more_said_leaves_the_rest_of_the_plan_to_go(tmp_path: Path) -> None:
    at = _row("Cost", "Parts")
    budget = D(str(SHEETS["Cost"].cell(at, 2).value))
    typed: dict[tuple[str, str], float | str | None] = {("Cost", f"D{at}"): 10.0, ("Cost", f"E{at}"): 5.5}
    assert _typed(typed, tmp_path, ("Cost", f"G{at}"), ("Cost", f"H{at}")) == [budget, D(0)]


def test_a_row_that_is_done_comes_to_what_was_booked(tmp_path: Path) -> None:
    at = _row("Cost", "Parts")
    budget = D(str(SHEETS["Cost"].cell(at, 2).value))
    typed: dict[tuple[str, str], float | str | None] = {("Cost", f"E{at}"): float(budget) + 12.5, ("Cost", f"F{at}"): 0}
    assert _typed(typed, tmp_path, ("Cost", f"G{at}"), ("Cost", f"H{at}")) == [budget + D("12.5"), D("12.5")]


def test_hours_worked_beyond_the_estimate_cost_their_rate_and_take_it_from_the_margin(tmp_path: Path) -> None:
    at, total, profit = _row("Hours", "Line") + 1, _row("Cost", "All costs"), _row("Cost", "Gross profit")
    row = next(row for row in OPTION.labour if row.id == SHEETS["Hours"].cell(at, 1).value)
    rate = D(str(SHEETS["Hours"].cell(at, 14).value))
    typed: dict[tuple[str, str], float | str | None] = {("Hours", f"H{at}"): float(row.hours) + 2}
    found = _typed(typed, tmp_path, ("Cost", f"G{total}"), ("Cost", f"C{profit}"))
    assert found == [OPTION.totals.cost + 2 * rate, OPTION.totals.gross_profit - 2 * rate]


def test_a_change_order_adds_to_the_contract_and_before_tax_to_the_price(tmp_path: Path) -> None:
    at = _row("Billing", "Payment") + 1 + len(OPTION.plan)
    typed: dict[tuple[str, str], float | str | None] = {("Billing", f"D{at}"): 110.0, ("Billing", f"E{at}"): 10.0}
    found = _typed(typed, tmp_path, ("Billing", f"D{_row('Billing', 'Contract')}"),
                   ("Cost", f"C{_row('Cost', 'Price before tax')}"))
    assert found == [OPTION.totals.total + 110, OPTION.totals.total - OPTION.totals.tax + 100]


@pytest.mark.parametrize(("billed", "paid", "kept", "still_open"), [(100, 0, 0, 100), (100, 60, 40, 0), (0, 0, 0, 0)])
def test_what_is_open_is_billed_less_paid_less_kept_back(
    billed: float, paid: float, kept: float, still_open: int, tmp_path: Path
) -> None:
    at = _row("Billing", "Payment") + 1
    typed: dict[tuple[str, str], float | str | None] = {
        ("Billing", f"I{at}"): billed, ("Billing", f"K{at}"): paid, ("Billing", f"L{at}"): kept}
    assert _typed(typed, tmp_path, ("Billing", f"M{at}")) == [D(still_open)]

"""The owner's questions that one job can answer: each names the cell of the workbook that answers it, and reads it.

The questions: trade practice, "the owner's questions" (common practice, no source). What a cell must come to is worked
out here from the quote's own rows and totals by the arithmetic that the question names.
"""

from __future__ import annotations

import io
from decimal import ROUND_HALF_UP, Decimal

import openpyxl
import pytest
from openpyxl.worksheet.worksheet import Worksheet

from quoting import quote as q
from quoting.documents.office import workbook_bytes
from tests.documents.office_sample import sample_quote

D = Decimal
SAMPLE = sample_quote()
BOOK = openpyxl.load_workbook(io.BytesIO(workbook_bytes(SAMPLE)), data_only=True)
BEST = SAMPLE.options[-1]
CENT = D("0.01")


def _row(sheet: Worksheet, label: str, after: str = "") -> int:
    """The first row whose label column reads so, below the row that reads `after`."""
    seen = not after
    for row in range(1, sheet.max_row + 1):
        texts = [sheet.cell(row, column).value for column in range(1, 8)]
        if seen and label in texts:
            return row
        seen = seen or after in texts
    raise AssertionError(f"no line '{label}' on {sheet.title}")


def _answer(where: str, label: str, after: str = "", option: q.PricedOption = BEST) -> object:
    """The figure of an option on the line of a sheet with this label, in the block after this heading."""
    sheet = BOOK[where]
    row = _row(sheet, label, after)
    start = next(column for column in range(1, 8) if sheet.cell(row, column).value == label)
    heads = (column for column in range(start, sheet.max_column + 1) for above in range(1, row)
             if sheet.cell(above, column).value == option.name)
    return sheet.cell(row, next(heads)).value


def _money(value: object) -> Decimal:
    return D(repr(value)).quantize(CENT, ROUND_HALF_UP)


TOTALS = BEST.totals
NET = TOTALS.total - TOTALS.tax


@pytest.mark.parametrize("label, expected", [
    ("Total", TOTALS.total),
    ("Cost", TOTALS.cost),
    ("Gross profit", NET - TOTALS.cost),
    ("Gross profit per crew-hour", (NET - TOTALS.cost) / TOTALS.hours),
])
def test_what_does_an_option_cost_and_leave(label: str, expected: Decimal) -> None:
    above = "Price" if label == "Total" else "Contingency"

    assert _money(_answer("Summary", label, after=above)) == expected.quantize(CENT, ROUND_HALF_UP)


def test_what_margin_does_an_option_leave_against_the_floor() -> None:
    margin = (NET - TOTALS.cost) / NET

    assert abs(D(repr(_answer("Summary", "Margin of the total less tax"))) - margin) < D("0.0001")
    verdict = "reached" if margin >= SAMPLE.pricing.margin_floor else "below floor"
    assert _answer("Summary", "Against the floor") == verdict


def test_which_labour_cost_do_the_floors_use() -> None:
    assert _answer("Summary", "Cost and floor use") == SAMPLE.pricing.cost_basis


@pytest.mark.parametrize("phase", ["rough-in", "commissioning"])
def test_how_many_hours_does_a_phase_take(phase: str) -> None:
    hours = sum((row.hours for row in BEST.labour if row.phase == phase), D(0))

    assert _money(_answer("Summary", phase, after="Hours expected by phase (P50)")) == hours


def test_how_often_is_the_firm_in_the_house(quotes: dict[str, q.Quote]) -> None:
    """Example 1, option better: 7 half-days of rough-in, 3 of trim-out, 5 of commissioning, 2 of handover and 1 of the
    second training, none at the desk or in the shop: 18; a trip for each day that is begun, 4 + 2 + 3 + 1 + 1 = 11;
    each phase on days in a row and the second training by itself, five visits."""
    sheet = openpyxl.load_workbook(io.BytesIO(workbook_bytes(quotes["1"])), data_only=True)["Summary"]
    labels = ("Half-days in the house", "Trips to the house, one a day", "Visits in the house")
    rows = [next(row for row in sheet.iter_rows(values_only=True) if label in row) for label in labels]
    assert [row[row.index(label) + 2] for row, label in zip(rows, labels, strict=True)] == ["18", "11", "5"]


def _group(heading: str, name: str, what: int) -> Decimal:
    sheet = BOOK["Groups"]
    row = _row(sheet, name, after=heading)
    return _money(sheet.cell(row, 3 + 5 * (len(SAMPLE.options) - 1) + what).value)


def test_what_does_each_category_leave() -> None:
    for category in {info.category for part, info in SAMPLE.parts.items()
                     if any(row.part == part for row in BEST.materials)}:
        left = sum((row.price - row.cost for row in BEST.materials
                    if SAMPLE.parts[row.part].category == category), D(0))
        assert _group("By category", category, 3) == left, category


@pytest.mark.parametrize("heading", ["By category", "By phase", "By room", "By zone", "By supplier"])
def test_each_grouping_adds_up_to_the_job(heading: str) -> None:
    assert _group(heading, "All", 0) == TOTALS.materials
    assert _group(heading, "All", 1) == TOTALS.labour
    assert _group(heading, "All", 2) == TOTALS.material_cost + TOTALS.labour_cost


def test_which_lines_drag_the_margin() -> None:
    floor = SAMPLE.pricing.margin_floor
    rows = (*BEST.materials, *BEST.labour)
    short = sorted((floor * row.price - (row.price - row.cost) for row in rows), reverse=True)
    sheet = BOOK["Groups"]
    row = _row(sheet, "What")
    listed = [sheet.cell(at, 4 + len(SAMPLE.options)).value for at in range(row + 1, row + 11)]
    shown = sorted((_money(value) for value in listed if value is not None), reverse=True)

    assert shown and shown[0] == short[0].quantize(CENT, ROUND_HALF_UP)


def test_what_does_five_percent_off_cost() -> None:
    lost = ((TOTALS.materials + TOTALS.labour) * D("0.05")).quantize(CENT, ROUND_HALF_UP)

    assert _money(_answer("What if", "Profit lost", after="A discount on top")) == lost
    assert _money(_answer("What if", "Gross profit then", after="A discount on top")) == TOTALS.gross_profit - lost


def test_what_do_ten_percent_more_hours_cost() -> None:
    more = (TOTALS.labour_cost * D("0.1")).quantize(CENT, ROUND_HALF_UP)

    assert _money(_answer("What if", "Profit lost", after="More hours")) == max(D(0), more - TOTALS.contingency)


def test_what_does_dearer_copper_cost() -> None:
    cable = sum((row.cost for row in BEST.materials if SAMPLE.parts[row.part].category == "cable"), D(0))

    assert _money(_answer("What if", "Profit lost", after="Dearer copper")) == (
        cable * D("0.15")).quantize(CENT, ROUND_HALF_UP)


def test_at_which_discount_does_the_margin_reach_the_floor() -> None:
    rate = D(repr(_answer("What if", "Discount in all at which the margin is the floor")))
    net = TOTALS.materials + TOTALS.labour + TOTALS.freight - rate * (TOTALS.materials + TOTALS.labour)

    assert abs((net - TOTALS.cost) / net - SAMPLE.pricing.margin_floor) < D("0.0001")


def test_which_overrun_of_hours_eats_the_profit() -> None:
    rate = D(repr(_answer("What if", "Overrun of hours that eats contingency and profit")))

    assert abs(rate * TOTALS.labour_cost - TOTALS.contingency - TOTALS.gross_profit) < TOTALS.labour_cost * D("0.0001")


def test_what_is_left_at_p80_hours() -> None:
    cost = (TOTALS.labour_cost * TOTALS.p80_hours / TOTALS.hours).quantize(CENT, ROUND_HALF_UP)
    over = max(D(0), cost - TOTALS.labour_cost - TOTALS.contingency)

    assert _money(_answer("What if", "Gross profit at P80 hours")) == TOTALS.gross_profit - over


def test_where_is_the_lowest_point_of_cash() -> None:
    """Worked phase by phase: payments so far, less goods, freight and burdened wages so far, surplus packs first."""
    order = ["survey and design", "rough-in", "trim-out", "rack build", "commissioning", "handover"]
    balance, lows = -(TOTALS.outlay - TOTALS.material_cost), []
    for phase in order:
        balance += sum((paid.amount for step, paid in zip(SAMPLE.pricing.plan, BEST.plan, strict=True)
                        if step.before == phase), D(0))
        for row in (*BEST.materials, *BEST.labour):
            if row.phase == phase or (phase == order[0] and row.phase == "whole job"):
                balance -= (row.direct_cost if isinstance(row, q.PricedLabour)
                            else row.cost + row.freight + row.contractor_tax)
        lows.append(balance)

    assert _money(_answer("What if", "Lowest point")) == min(lows)


def test_how_much_stock_is_left_over() -> None:
    sheet = BOOK["Purchases"]
    heads = {str(sheet.cell(5, column).value): column for column in range(1, sheet.max_column + 1)}
    listed = sum((D(repr(sheet.cell(row, heads["To stock"]).value)) for row in range(6, sheet.max_row + 1)
                  if sheet.cell(row, heads["Option"]).value == BEST.name
                  and isinstance(sheet.cell(row, heads["To stock"]).value, int | float)), D(0))

    assert listed == sum((purchase.to_stock for purchase in BEST.purchases), D(0))

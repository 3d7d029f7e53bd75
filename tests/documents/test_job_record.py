"""The job record: what it starts from is the quote; what is typed into it is reckoned as by hand, by another engine."""

from __future__ import annotations

import io
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest

from quoting.documents.changes_record import cost_changes, order_changes
from quoting.documents.job_record import record_bytes, record_cells
from quoting.documents.sheet_writer import MoneyCell
from quoting.quote import Quote
from tests.documents.office_sample import sample_quote
from tests.documents.recalculate import change, differences, spoil, with_ironcalc
from tests.stages.test_compare import quoted, with_room

D = Decimal
Typed = dict[tuple[str, str], float | str | None]
QUOTE = sample_quote()
OPTION = QUOTE.options[-1]
BOOK = record_bytes(QUOTE, OPTION)


class Record:
    """A job record as bytes, its cells found by the words of row and column, and what it says once something is
    typed."""

    def __init__(self, book: bytes, folder: Path) -> None:
        self._book, self._folder = book, folder
        self._sheets = openpyxl.load_workbook(io.BytesIO(book), data_only=True)

    def at(self, sheet: str, row: str | int, heading: str, skip: int = 0) -> tuple[str, str]:
        """The cell under a heading in the row whose first cell begins so, or that many rows under the headings."""
        cells = self._sheets[sheet]
        head = next(r for r in cells.iter_rows() if sum(c.value is not None for c in r) > 3)
        column = next(c.column_letter for c in head if c.value == heading)
        if isinstance(row, int):
            return sheet, f"{column}{head[0].row + row}"
        rows = [r[0].row for r in cells.iter_rows() if str(r[0].value or "").startswith(row)]
        return sheet, f"{column}{rows[skip]}"

    def stored(self, cell: tuple[str, str]) -> object:
        """What the file itself says."""
        return self._sheets[cell[0]][cell[1]].value

    def number(self, cell: tuple[str, str]) -> Decimal:
        """The same as a number."""
        return D(str(self.stored(cell)))

    def typed(self, cells: Typed, *wanted: tuple[str, str]) -> list[Decimal]:
        """What cells come to once others are typed."""
        found = with_ironcalc(change(self._book, cells), [MoneyCell(*at, D(0)) for at in wanted], self._folder)
        return [round(found[at], 4) for at in wanted]

    def state(self, cells: Typed, wanted: tuple[str, str]) -> str:
        """A word that a cell then says."""
        import ironcalc

        path = self._folder / "state.xlsx"
        path.write_bytes(change(self._book, cells))
        model = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")
        model.evaluate()
        names = [each["name"] if isinstance(each, dict) else each.name for each in model.get_worksheets_properties()]
        place = self._sheets[wanted[0]][wanted[1]]
        return str(model.get_formatted_cell_value(names.index(wanted[0]), place.row, place.column))

    def rows(self, sheet: str, heading: str) -> Iterator[int]:
        """How far under the headings the rows stand whose cell under this one holds more than 0."""
        head = int(self.at(sheet, 0, heading)[1].lstrip("ABCDEFGHIJKLMNOPQRSTUVWXYZ"))
        last = self._sheets[sheet].max_row
        for row in range(1, last - head):
            value = self.stored(self.at(sheet, row, heading))
            if isinstance(value, int | float) and value and self.stored(self.at(sheet, row, "Cost of")):
                yield row


@pytest.fixture
def record(tmp_path: Path) -> Record:
    return Record(BOOK, tmp_path)


@pytest.fixture
def example(quotes: dict[str, Quote], tmp_path: Path) -> Record:
    """The record of the first example's option better."""
    option = next(each for each in quotes["1"].options if each.name == "better")
    return Record(record_bytes(quotes["1"], option), tmp_path)


def booked(record: Record, *headings: str) -> Typed:
    """Every order booked exactly as it is printed."""
    return {record.at("Orders", row, heading): float(record.number(record.at("Orders", row, "Order")))
            for row in record.rows("Orders", "Order") for heading in headings}


def test_every_money_formula_comes_to_its_stored_value(tmp_path: Path) -> None:
    cells = record_cells(QUOTE, OPTION)
    assert not differences(cells, with_ironcalc(spoil(BOOK), cells, tmp_path))


def test_the_budget_is_the_cost_that_the_quote_was_priced_on(record: Record) -> None:
    assert record.number(record.at("Cost", "All costs", "Budget")) == OPTION.totals.cost


def test_all_that_is_planned_is_to_go_before_anything_is_typed(record: Record) -> None:
    said = [record.number(record.at("Cost", "All costs", "To go")),
            record.number(record.at("Hours", "All tasks", "To go"))]
    assert said == [OPTION.totals.cost, OPTION.totals.hours]


def test_the_payments_and_their_tax_are_the_contract_to_the_cent(record: Record) -> None:
    sums = [sum(record.number(record.at("Billing", row, heading)) for row in range(1, len(OPTION.plan) + 1))
            for heading in ("Amount", "Tax in it")]
    assert sums == [OPTION.totals.total, OPTION.totals.tax]


def test_every_hour_of_the_option_has_a_row_under_its_own_id(record: Record) -> None:
    rows = range(1, sum(1 for row in OPTION.labour if row.hours) + 1)
    listed = sorted((str(record.stored(record.at("Hours", row, "Line"))),
                     record.number(record.at("Hours", row, "Estimated"))) for row in rows)
    assert listed == sorted((row.id, row.hours) for row in OPTION.labour if row.hours)


# ---------------------------------------------------------------- orders

@pytest.mark.parametrize("headings", [("Ordered",), ("Ordered", "Invoiced"), ("Invoiced",)])
def test_orders_booked_as_they_are_printed_cost_what_was_paid_for_what_the_job_used(
    example: Record, headings: tuple[str, ...]
) -> None:
    """Cable: what its spools cost less what of them goes into stock, 781.52, where the quote reckons 720.49. Of
    electronics and speakers nothing is left over; what a quantity break saves shows once nothing is to go."""
    kinds = ("Parts: cable", "Parts: electronics", "Parts: speakers")
    assert example.typed(booked(example, *headings), *(example.at("Cost", kind, "Over") for kind in kinds)) == [
        D("61.03"), 0, 0]


def test_the_budget_of_cable_holds_the_tails_that_its_spools_leave(example: Record) -> None:
    """693.26 of cable used; 39 ft of data cable at 0.168 = 6.55 and 44 ft of 14/4 at 0.47 = 20.68 thrown away."""
    assert example.number(example.at("Cost", "Parts: cable", "Budget")) == D("693.26") + D("6.55") + D("20.68")


def test_what_is_left_of_cable_goes_into_stock_at_the_price_paid_for_its_spool(example: Record) -> None:
    """Never above what was paid (IAS 2, paragraph 9: the lower of cost and net realisable value): 435 ft of 168.00 for
    1,000 = 73.08 and 89 of 90.00 for 500 = 16.02, 223 of 104.00 for 250 = 92.77, 243 of 128.00 for 500 = 62.21, 137 of
    191.00 for 250 = 104.67, 224 of 235.00 for 500 = 105.28, 64 of 48.50 for 250 = 12.42, 97 of 89.00 for 250 = 34.53;
    the job bears the rest of 1,282.50."""
    sums = [sum(example.number(example.at("Orders", row, heading)) for row in example.rows("Orders", "Order")
                if example.stored(example.at("Orders", row, "Cost of")) == "Parts: cable")
            for heading in ("Order", "For this job", "Into stock")]
    assert sums == [D("1282.50"), D("781.52"), D("500.98")]


def test_a_change_typed_into_its_order_leaves_the_rest_where_it_was(example: Record) -> None:
    """A change takes 45.84 of cable out: its order comes to 1,100.00, of which the job bears 735.68. Booked whole, it
    is over by what it was over before, 61.03, and the 364.32 that are left are stock."""
    row = next(row for row in example.rows("Orders", "Order")
               if example.stored(example.at("Orders", row, "Cost of")) == "Parts: cable")
    cells: Typed = {example.at("Orders", row, "Order"): 1100.0, example.at("Orders", row, "For this job"): 735.68,
                    example.at("Orders", row, "Ordered"): 1100.0, example.at("Orders", row, "Invoiced"): 1100.0,
                    example.at("Cost", "Parts: cable", "Changes"): -45.84}
    wanted = (example.at("Cost", "Parts: cable", "Over"), example.at("Orders", row, "Into stock"),
              example.at("Orders", row, "To stock"))
    assert example.typed(cells, *wanted) == [D("61.03"), D("364.32"), D("364.32")]


def test_a_change_typed_as_the_offices_page_says_makes_the_old_record_the_new_one(
    quotes: dict[str, Quote], tmp_path: Path
) -> None:
    """The dining room is dropped: orders and changes typed into the record of revision 0, and everything booked, come
    to what the record of revision 1 comes to."""
    new = quoted("1", with_room("DROO", plays_from="never"))
    sides = [(quote, next(each for each in quote.options if each.name == "better")) for quote in (quotes["1"], new)]
    (tmp_path / "0").mkdir(), (tmp_path / "1").mkdir()
    old, fresh = (Record(record_bytes(*side), tmp_path / str(at)) for at, side in enumerate(sides))
    rows = {(old.stored((sheet, f"A{at[1:]}")), str(old.stored((sheet, f"C{at[1:]}"))).rpartition("-")[0],
             old.stored((sheet, f"B{at[1:]}"))): row
            for row in old.rows("Orders", "Order") for sheet, at in [old.at("Orders", row, "Order")]}
    cells = booked(old, "Ordered", "Invoiced")
    for moved in order_changes(*sides):
        row = rows[moved.supplier, moved.number.rpartition("-")[0], moved.kind]
        cells |= {old.at("Orders", row, "Order"): float(moved.new_order),
                  old.at("Orders", row, "For this job"): float(moved.new_of_job)}
        cells |= {old.at("Orders", row, heading): float(moved.new_order) for heading in ("Ordered", "Invoiced")}
    cells |= {old.at("Cost", each.label, "Changes"): float(each.difference) for each in cost_changes(*sides)}
    kinds = [f"Parts: {kind}" for kind in ("cable", "electronics", "small parts", "speakers")]
    assert old.typed(cells, *(old.at("Cost", kind, "Over") for kind in kinds)) == fresh.typed(
        booked(fresh, "Ordered", "Invoiced"), *(fresh.at("Cost", kind, "Over") for kind in kinds))


def test_an_order_of_ones_own_bears_all_of_it_or_the_share_that_is_typed(record: Record) -> None:
    row = max(record.rows("Orders", "Order"), default=0) + 1
    cells: Typed = {record.at("Orders", row, "Cost of"): "Freight", record.at("Orders", row, "Order"): 80.0,
                    record.at("Orders", row, "Invoiced"): 80.0}
    wanted = record.at("Orders", row, "Actual"), record.at("Orders", row, "Into stock")
    shared: Typed = {**cells, record.at("Orders", row, "For this job"): 20.0}
    assert (record.typed(cells, *wanted), record.typed(shared, *wanted)) == ([80, 0], [20, 60])


def test_the_orders_are_the_outlay_of_the_quote(example: Record, quotes: dict[str, Quote]) -> None:
    option = next(each for each in quotes["1"].options if each.name == "better")
    assert example.number(example.at("Orders", "All orders", "Order")) == option.totals.outlay


def test_an_invoice_that_is_a_tenth_dearer_costs_the_job_a_tenth_of_its_share(example: Record) -> None:
    """1.1 x 781.52 = 859.672."""
    cells = {at: (value or 0) * 1.1 if example.stored((at[0], f"B{at[1][1:]}")) == "Parts: cable" else value
             for at, value in booked(example, "Invoiced").items() if isinstance(value, float)}
    assert example.typed(cells, example.at("Cost", "Parts: cable", "Actual")) == [D("859.67")]


def test_a_quantity_break_is_a_saving_once_the_row_is_done(example: Record) -> None:
    """Five keypads at 141.00 instead of 148.00: 5 x 7.00."""
    cells = {**booked(example, "Invoiced"), example.at("Cost", "Parts: controls", "To go"): 0}
    assert example.typed(cells, example.at("Cost", "Parts: controls", "Over")) == [D("-35.00")]


def test_an_invoice_that_nobody_planned_goes_to_the_cost_that_is_chosen_for_it(record: Record) -> None:
    free, unplanned = record.at("Cost", "Labour", "Cost of"), "Parking"
    name = (free[0], f"A{int(free[1][1:]) - 1}")  # the yellow rows stand before the labour
    row = max(record.rows("Orders", "Order"), default=0) + 1
    cells: Typed = {name: unplanned, record.at("Orders", row, "Cost of"): unplanned,
                    record.at("Orders", row, "Invoiced"): 40.0}
    wanted = (name[0], f"E{name[1][1:]}"), record.at("Cost", "All costs", "Over")
    assert record.typed(cells, *wanted) == [40, 40]


# ---------------------------------------------------------------- hours

def test_hours_worked_beyond_the_estimate_cost_their_rate_and_take_it_from_the_margin(record: Record) -> None:
    row = next(row for row in OPTION.labour if row.id == record.stored(record.at("Hours", 1, "Line")))
    rate = record.number(record.at("Hours", 1, "Cost an hour"))
    cells: Typed = {record.at("Hours", 1, "Worked"): float(row.hours) + 2}
    profit = record.at("Cost", "Gross profit", "Budget")[0], f"C{record.at('Cost', 'Gross profit', 'Budget')[1][1:]}"
    found = record.typed(cells, record.at("Cost", "All costs", "Forecast"), profit)
    assert found == [OPTION.totals.cost + 2 * rate, OPTION.totals.gross_profit - 2 * rate]


def test_hours_worked_as_they_were_estimated_cost_what_the_quote_says(
    example: Record, quotes: dict[str, Quote]
) -> None:
    """Also those that no task sells, which cost the burdened rate."""
    option = next(each for each in quotes["1"].options if each.name == "better")
    hours = [row for row in option.labour if row.hours]
    cells: Typed = {example.at("Hours", at, "Worked"): float(example.number(example.at("Hours", at, "Estimated")))
                    for at in range(1, len(hours) + 1)}
    found = example.typed(cells, *(example.at("Hours", "All tasks", each) for each in ("Cost worked", "Forecast cost")))
    assert found == [option.totals.labour_cost] * 2


def test_hours_of_a_change_order_are_planned_and_count_once(record: Record) -> None:
    row = next(row for row in OPTION.labour if row.id == record.stored(record.at("Hours", 1, "Line")))
    rate = record.number(record.at("Hours", 1, "Cost an hour"))
    cells: Typed = {record.at("Hours", 1, "Changes"): 3, record.at("Hours", 1, "Worked"): float(row.hours) + 3}
    found = record.typed(cells, record.at("Cost", "All costs", "Changes"), record.at("Cost", "All costs", "Forecast"),
                         record.at("Cost", "All costs", "Over"))
    assert found == [3 * rate, OPTION.totals.cost + 3 * rate, 0]


@pytest.mark.parametrize("hours", [4, -4])
def test_work_that_only_a_change_order_brings_has_a_row_of_its_own(record: Record, hours: int) -> None:
    first = sum(1 for row in OPTION.labour if row.hours) + 1
    role = OPTION.labour[0].role
    rate = next(each.sold_hour if QUOTE.pricing.cost_basis == "sold hour" else each.burdened
                for each in QUOTE.pricing.roles if each.role == role)
    cells: Typed = {record.at("Hours", first, "Phase"): "rough-in", record.at("Hours", first, "Role"): role,
                    record.at("Hours", first, "Changes"): hours}
    found = record.typed(cells, record.at("Cost", "Labour: rough-in", "Changes"),
                         record.at("Cost", "All costs", "Forecast"))
    assert found == [hours * rate, OPTION.totals.cost + hours * rate]


# ---------------------------------------------------------------- billing

def test_a_payment_that_orders_wait_for_says_by_when_it_must_be_there(example: Record) -> None:
    """Equipment is ordered from Wednesday 3 March 2027 on."""
    said = str(example.stored(example.at("Billing", "Before equipment", "When")))
    assert said == "order date of the equipment; paid by Mar 3, 2027: orders wait for it"


def test_a_change_order_adds_to_the_contract_and_before_tax_to_the_price(record: Record) -> None:
    at = len(OPTION.plan) + 1
    cells: Typed = {record.at("Billing", at, "Amount"): 110.0, record.at("Billing", at, "Tax in it"): 10.0}
    price = record.at("Cost", "Price before tax", "Budget")
    found = record.typed(cells, record.at("Billing", "Contract", "Amount"), (price[0], f"C{price[1][1:]}"))
    assert found == [OPTION.totals.total + 110, OPTION.totals.total - OPTION.totals.tax + 100]


def test_the_margin_booked_is_of_what_is_billed_less_its_tax(record: Record) -> None:
    """A change order of 110 with 10 of tax in it, half of it billed: 55 less 5."""
    at = len(OPTION.plan) + 1
    cells: Typed = {record.at("Billing", at, "Amount"): 110.0, record.at("Billing", at, "Tax in it"): 10.0,
                    record.at("Billing", at, "Billed"): 55.0}
    price = record.at("Cost", "Price before tax", "Budget")
    assert record.typed(cells, (price[0], f"D{price[1][1:]}")) == [50]


@pytest.mark.parametrize(("billed", "paid", "kept", "still_open"), [(100, 0, 0, 100), (100, 60, 40, 0), (0, 0, 0, 0)])
def test_what_is_open_is_billed_less_paid_less_kept_back(
    billed: float, paid: float, kept: float, still_open: int, record: Record
) -> None:
    cells: Typed = {record.at("Billing", 1, "Billed"): billed, record.at("Billing", 1, "Paid"): paid,
                    record.at("Billing", 1, "Retainage"): kept}
    assert record.typed(cells, record.at("Billing", 1, "Still open")) == [still_open]


def test_what_is_reached_and_not_billed_sums_to_what_is_to_bill(record: Record) -> None:
    cells: Typed = {record.at("Billing", 1, "Reached on"): "2026-10-01", record.at("Billing", 2, "Reached on"): "today",
                    record.at("Billing", 1, "Billed"): 100.0}
    due = OPTION.plan[0].amount + OPTION.plan[1].amount - 100
    assert record.typed(cells, record.at("Billing", "Contract", "To bill")) == [due]


@pytest.mark.parametrize(("amount", "reached", "billed", "paid", "said"), [
    (110.0, "", None, None, ""), (110.0, "signed", None, None, "to bill"), (110.0, "signed", 110.0, None, "open"),
    (110.0, "signed", 110.0, 110.0, "paid"), (-110.0, "signed", None, None, "to credit"),
    (-110.0, "signed", -110.0, None, "to pay back"), (-110.0, "signed", -110.0, -110.0, "paid"),
    (0.0, "signed", None, None, "no charge")])
def test_a_change_order_says_what_is_to_be_done_with_it(
    amount: float, reached: str, billed: float | None, paid: float | None, said: str, record: Record
) -> None:
    at = len(OPTION.plan) + 1
    cells: Typed = {record.at("Billing", at, "Amount"): amount, record.at("Billing", at, "Reached on"): reached or None,
                    record.at("Billing", at, "Billed"): billed, record.at("Billing", at, "Paid"): paid}
    assert record.state(cells, record.at("Billing", at, "State")) == said

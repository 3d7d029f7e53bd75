"""The sheet Purchases: what to buy for each option, by supplier, in whole packs and spools."""

from __future__ import annotations

from msgspec import Struct

from quoting.buying import purchase_list
from quoting.documents.office_inputs import InputCells
from quoting.documents.office_look import page, protect, table_head, title_block
from quoting.documents.office_rows import OfficeRows
from quoting.documents.sheet_writer import Sheet, address
from quoting.lines import Purchase, PutUp
from quoting.money import ZERO, minor_units, r2

HEADINGS = (
    "Option",
    "Supplier",
    "Part",
    "Description",
    "Unit",
    "Need",
    "Pack or spool",
    "How many",
    "Cost of a pack",
    "Outlay",
    "Buy",
    "To stock",
    "Scrap",
    "Scrap at cost",
    "Lead days",
    "Costs at least",
    "Cutting plan",
    "On site at once",
    "Decided by",
    "On hand",
    "From stock",
    "Quantity break from",
    "Breaks save",
    "Colour",
    "Hired for",
)
OPTION, NEED, SIZE, PACKS, EACH, OUTLAY, BUY, STOCK, SCRAP, LOST, LEAD = 0, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14
BOUND, PROOF, CARTONS, DECIDED = 15, 16, 17, 18
ON_HAND, TAKEN, BREAK, SAVED, COLOUR, HIRE, KEY = 19, 20, 21, 22, 23, 24, 25
ALL_IN_STOCK = PutUp(ZERO, 0, ZERO)  # the row of a part of which nothing is bought


class PurchaseSheet(Struct, frozen=True):
    """Where the purchases stand."""

    sheet: Sheet
    first: int
    last: int

    def column(self, column: int) -> str:
        """A whole column of rows."""
        return self.sheet.down(column, self.first, self.last)


def write_purchases(sheet: Sheet, rows: OfficeRows, inputs: InputCells) -> PurchaseSheet:
    """Writes the sheet: one row for each size of pack of each part of each option; filter by option, then supplier."""
    top = title_block(
        sheet,
        rows.quote,
        "Purchases",
        "Filter one option, then a supplier. Need is what the job uses; buy is whole packs and spools, and cash: price "
        "and cost use need, and stock and quantity breaks change neither. No choice of spools costs less than \"costs "
        "at least\"; cuts stand on the sheet Spools.",
    )
    table_head(sheet, top, 0, HEADINGS, (*range(NEED, BOUND + 1), CARTONS, *range(ON_HAND, COLOUR)))
    row = top + 1
    for number, option in enumerate(rows.options, 1):
        cut = {spool.part for spool in option.spools}
        lead_days: dict[str, int] = {}
        for line in purchase_list(rows.quote, option):
            lead_days[line.part] = max(line.lead_days, lead_days.get(line.part, 0))
        for purchase in option.purchases:
            first, row = row, _purchase(sheet, rows, inputs, row, (number, option.name), purchase,
                                   lead_days.get(purchase.part, 0))
            _plan(sheet, first, row, purchase, cut=purchase.part in cut)
    sheet.worksheet.autofilter(top, 0, max(row - 1, top + 1), HIRE)
    sheet.worksheet.freeze_panes(top + 1, 3)
    sheet.set_widths(at_least=8, at_most=58)
    sheet.worksheet.set_column(KEY, KEY, 4)
    page(sheet, rows.quote, row - 1, HIRE, (top, top), keys=3)
    protect(sheet)
    return PurchaseSheet(sheet, top + 1, max(row - 1, top + 1))


def _purchase(
    sheet: Sheet, rows: OfficeRows, inputs: InputCells, row: int, option: tuple[int, str], purchase: Purchase,
    lead_days: int,
) -> int:
    places = minor_units(rows.quote.pricing.currency)
    for offset, put_up in enumerate(purchase.put_ups or (ALL_IN_STOCK,)):
        sheet.row_of_text(
            row, 0, (option[1], purchase.supplier, purchase.part, rows.describe(purchase.part), purchase.unit)
        )
        sheet.number(row, SIZE, put_up.size, "quantity")
        sheet.number(row, PACKS, put_up.count, "count")
        sheet.number(row, EACH, put_up.cost, "money.input")
        if put_up.from_count:
            sheet.number(row, BREAK, put_up.from_count, "count")
        else:
            sheet.blank(row, BREAK, "text")
        sheet.money(
            row,
            OUTLAY,
            f"=ROUND({address(row, PACKS)}*{address(row, EACH)},{places})",
            r2(put_up.count * put_up.cost, rows.quote.pricing.currency),
        )
        sheet.text(row, COLOUR, put_up.colour)
        sheet.text(row, HIRE, put_up.phase)
        sheet.number(row, KEY, option[0], "key")
        if offset:
            for column in (NEED, BUY, STOCK, SCRAP, LOST, LEAD, ON_HAND, TAKEN, SAVED):
                sheet.blank(row, column, "text")
        else:
            _once(sheet, rows, inputs, row, purchase, lead_days)
        row += 1
    return row


def _once(sheet: Sheet, rows: OfficeRows, inputs: InputCells, row: int, purchase: Purchase, lead_days: int) -> None:
    """What is said of the part, not of the pack: on its first row only, so that columns may be summed."""
    currency = rows.quote.pricing.currency
    sheet.number(row, NEED, purchase.need, "quantity")
    for column, amount in ((BUY, purchase.buy), (STOCK, purchase.to_stock), (SCRAP, purchase.scrap)):
        sheet.number(row, column, amount, "quantity")
    lost = r2(purchase.scrap * rows.unit_costs.get(purchase.part, ZERO), currency)
    cell = inputs.parts[purchase.part].cost if purchase.part in inputs.parts else "0"
    sheet.money(row, LOST, f"=ROUND({address(row, SCRAP)}*{cell},{minor_units(currency)})", lost)
    sheet.number(row, LEAD, lead_days, "count")
    for column, amount in ((ON_HAND, purchase.on_hand), (TAKEN, purchase.from_stock)):
        if amount:
            sheet.number(row, column, amount, "quantity")
        else:
            sheet.blank(row, column, "text")
    if purchase.saved:
        sheet.number(row, SAVED, purchase.saved, "money")
    else:
        sheet.blank(row, SAVED, "text")


def _plan(sheet: Sheet, first: int, after: int, purchase: Purchase, *, cut: bool) -> None:
    """How good the choice of spools is, which of them the crew needs at once, and the standards behind it."""
    for row in range(first, after):
        sheet.blanks(row, range(BOUND, ON_HAND))
    if not cut:
        return
    sheet.number(first, BOUND, purchase.lower_bound, "money")
    sheet.text(first, PROOF, plan_words(purchase))
    if purchase.cartons:
        sheet.number(first, CARTONS, purchase.cartons, "count")
    sheet.text(first, DECIDED, ", ".join(purchase.decided))


def plan_words(purchase: Purchase) -> str:
    """Whether the spools are proved to be the cheapest, or by how much they may be dearer."""
    return "proved: none cheaper" if purchase.proved else f"at most {100 * purchase.gap_rate:.2f} % over"

"""The sheet Tax lines, for places that round every line's tax by itself: each line's share of the discount, its taxes.

Lines stand in the order in which the discount is shared over them: materials, then labour. One group of columns an
option: price, running price, discount up to here, left to tax, then each tax on the line and on its freight.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from msgspec import Struct

from quoting.documents.office_bill import BillSheet
from quoting.documents.office_inputs import InputCells
from quoting.documents.office_labour import LabourSheet
from quoting.documents.office_ledger import Ledger
from quoting.documents.office_look import group_head, page, protect, table_head, title_block
from quoting.documents.office_rows import ALL, FREIGHT, LABOUR, OfficeRows
from quoting.documents.sheet_writer import Sheet, address, letters
from quoting.money import ZERO, minor_units, r2
from quoting.quote import PricedLabour, PricedMaterial, TaxRule

LABOUR_KEY = 0  # labour's number in the key column; categories of parts count from 1
FIXED = ("Line", "Category", "No.")
PRICE, RUNNING, UP_TO, LEFT, FREIGHT_PRICE, TAXES = range(6)


class TaxLines(Struct, frozen=True):
    """Where the columns stand."""

    sheet: Sheet
    first: int
    last: int
    names: tuple[str, ...]  # of the customer's taxes

    @property
    def width(self) -> int:
        """Columns of one option's group: each tax stands once for the line and once for its freight."""
        return TAXES + 2 * len(self.names)

    def column(self, option: int, what: int) -> int:
        """A column of one option's group."""
        return len(FIXED) + option * self.width + what

    def tax(self, option: int, name: str, *, freight: bool) -> int:
        """The column of one tax."""
        return self.column(option, TAXES + 2 * self.names.index(name) + freight)

    def cells(self, column: int) -> str:
        """A whole column of lines."""
        return self.sheet.down(column, self.first, self.last)

    def sum(self, column: int, key: int | None) -> str:
        """The sum of a column over the lines with a key; over all lines for None."""
        return f"SUM({self.cells(column)})" if key is None else f"SUMIFS({self.cells(column)},{self.cells(2)},{key})"


class Line(Struct, frozen=True):
    """One line of the bill or of the labour: its row there, and what each option has."""

    id: str
    category: str
    key: int
    at: int
    by_option: dict[int, PricedMaterial] | dict[int, PricedLabour]


def write_tax_lines(
    sheet: Sheet, rows: OfficeRows, inputs: InputCells, bill: BillSheet, labour: LabourSheet, ledger: Ledger
) -> TaxLines:
    """Writes the sheet; the ledger has its sums and its discount already."""
    top = title_block(
        sheet,
        rows.quote,
        "Tax lines",
        "This place rounds each line's tax by itself. The discount is shared over the "
        "lines so that the shares sum to it.",
    )
    lines = tuple(_lines(rows, bill, labour))
    names = tuple(dict.fromkeys(tax.name for tax in rows.customer_taxes))
    place = TaxLines(sheet, top + 2, top + 1 + max(len(lines), 1), names)
    group_head(sheet, top, 0, "", len(FIXED))
    table_head(sheet, top + 1, 0, FIXED, (2,))
    for at, line in enumerate(lines, place.first):
        sheet.row_of_text(at, 0, (line.id, line.category))
        sheet.number(at, 2, line.key, "key")
    for index, option in enumerate(rows.options):
        group_head(sheet, top, place.column(index, 0), option.name, place.width)
        taxes = [word for name in names for word in (name, f"{name} on freight")]
        headings = ("Price", "Running", "Discount up to here", "Left to tax", "Freight", *taxes)
        table_head(sheet, top + 1, place.column(index, 0), headings, tuple(range(place.width)))
        _option(place, rows, inputs, ledger, index, lines, (bill, labour))
    sheet.worksheet.freeze_panes(place.first, 1)
    sheet.set_widths(at_least=9, at_most=40)
    page(sheet, rows.quote, place.last, place.column(len(rows.options), 0) - 1, (top, top + 1))
    protect(sheet)
    return place


def _lines(rows: OfficeRows, bill: BillSheet, labour: LabourSheet) -> Iterator[Line]:
    for offset, material in enumerate(rows.bill):
        category = rows.category(material.first.part)
        yield Line(material.first.id, category, rows.categories[category], bill.first + offset, material.by_option)
    for offset, work in enumerate(rows.work):
        yield Line(work.first.id, LABOUR, LABOUR_KEY, labour.first + offset, work.by_option)


def _option(
    place: TaxLines,
    rows: OfficeRows,
    inputs: InputCells,
    ledger: Ledger,
    index: int,
    lines: tuple[Line, ...],
    sheets: tuple[BillSheet, LabourSheet],
) -> None:
    """One option's columns, down the sheet: the running price carries over the lines that it does not have."""
    currency, places = rows.quote.pricing.currency, ledger.places
    discount, totals = ledger.at("discount", index), rows.options[index].totals
    whole = f"ROUND({ledger.at('materials', index)}+{ledger.at('labour', index)},{places})"
    everything, running, given = totals.materials + totals.labour, ZERO, ZERO
    columns = [letters(place.column(index, what)) for what in range(TAXES)]
    for at, line in enumerate(lines, place.first):
        row, priced = at + 1, line.by_option.get(index)
        price = priced.price if priced else ZERO
        running += price
        upto = r2(totals.discount * running / everything, currency) if everything else ZERO
        before = at > place.first
        _if_priced(place, index, at, line, priced, sheets)
        sheet = place.sheet
        sheet.money(
            at,
            place.column(index, RUNNING),
            f"=ROUND({f'{columns[RUNNING]}{row - 1}+' if before else ''}{columns[PRICE]}{row},{places})",
            running,
        )
        sheet.money(
            at,
            place.column(index, UP_TO),
            f"=IF({whole}=0,0,ROUND({discount}*{columns[RUNNING]}{row}/{whole},{places}))",
            upto,
        )
        left = price - (upto - given)
        sheet.money(
            at,
            place.column(index, LEFT),
            f"=ROUND({columns[PRICE]}{row}-{columns[UP_TO]}{row}"
            f"{f'+{columns[UP_TO]}{row - 1}' if before else ''},{places})",
            left,
        )
        given = upto
        _taxes(place, rows, inputs, index, at, line, (left, getattr(priced, "freight", ZERO)))


def _if_priced(
    place: TaxLines,
    index: int,
    at: int,
    line: Line,
    priced: PricedMaterial | PricedLabour | None,
    sheets: tuple[BillSheet, LabourSheet],
) -> None:
    """The line's price and freight, from its own sheet."""
    bill, labour = sheets
    if isinstance(priced, PricedMaterial):
        place.sheet.money(
            at, place.column(index, PRICE), f"={bill.sheet.at(line.at, bill.price + index)}", priced.price
        )
        place.sheet.money(
            at, place.column(index, FREIGHT_PRICE), f"={bill.sheet.at(line.at, bill.freight + index)}", priced.freight
        )
    elif priced:
        place.sheet.money(
            at, place.column(index, PRICE), f"={labour.sheet.at(line.at, labour.price + index)}", priced.price
        )


def _taxes(
    place: TaxLines,
    rows: OfficeRows,
    inputs: InputCells,
    index: int,
    at: int,
    line: Line,
    amounts: tuple[Decimal, Decimal],
) -> None:
    currency = rows.quote.pricing.currency
    for tax in rows.customer_taxes:
        for freight, what in ((False, LEFT), (True, FREIGHT_PRICE)):
            if not _covers(tax, FREIGHT if freight else line.category) or index not in line.by_option:
                continue
            if freight and line.key == LABOUR_KEY:
                continue
            base = address(at, place.column(index, what))
            place.sheet.money(
                at,
                place.tax(index, tax.name, freight=freight),
                f"=ROUND({base}*{inputs.taxes[tax.name, tax.category]},{minor_units(currency)})",
                r2(amounts[freight] * tax.rate, currency),
            )


def _covers(tax: TaxRule, category: str) -> bool:
    return tax.category in (ALL, category)

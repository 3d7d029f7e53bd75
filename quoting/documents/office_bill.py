"""The sheet Bill: every part in every room and phase, what each option needs of it, at cost and at price."""

from __future__ import annotations

from decimal import Decimal

from msgspec import Struct

from quoting.documents.office_inputs import InputCells
from quoting.documents.office_look import (
    group_head,
    if_none,
    optional,
    page,
    protect,
    red_under,
    table_head,
    title_block,
)
from quoting.documents.office_rows import BillRow, OfficeRows
from quoting.documents.sheet_writer import Sheet, address, letters
from quoting.lines import Reason
from quoting.money import ZERO, minor_units, round_to

FIXED = ("Part", "Description", "Room", "Zone", "Phase", "Category", "Supplier", "Unit")


class BillSheet(Struct, frozen=True):
    """Where the bill's columns stand: `need[0]` is the first option's."""

    sheet: Sheet
    first: int
    last: int
    need: int
    unit_cost: int
    override: int
    unit_price: int
    margin: int
    cost: int
    price: int
    freight: int
    contractor_tax: int  # -1 where the firm pays no tax on cost
    why: int
    keys: int  # category, room, phase, zone, supplier
    sums: int  # the row of sums

    def sum_of(self, column: int) -> str:
        """The cell that sums a column."""
        return self.sheet.at(self.sums, column)

    def column(self, column: int) -> str:
        """A whole column of rows."""
        return self.sheet.down(column, self.first, self.last)


def write_bill(sheet: Sheet, rows: OfficeRows, inputs: InputCells, why: dict[str, int]) -> BillSheet:
    """Writes the sheet; `why` gives each line id's row on the sheet Why."""
    top = title_block(
        sheet,
        rows.quote,
        "Bill",
        "One row for a part in a room and phase; an option that leaves a row empty "
        "does not have it. Price = need x unit price, rounded; type a price of your own over a dash.",
    )
    place = _places(sheet, rows, top)
    _head(sheet, rows, place, top)
    for offset, row in enumerate(rows.bill):
        _row(place, rows, inputs, place.first + offset, row, why)
    _sums(place, rows)
    sheet.worksheet.autofilter(top + 2, 0, place.last, place.why)
    red_under(sheet, place.first, place.last, place.margin, inputs.job["floor"])
    sheet.worksheet.freeze_panes(place.first, 2)
    sheet.set_widths(at_least=7, at_most=58, **{letters(place.why): 34.0})
    sheet.worksheet.set_column(place.keys, place.keys + 4, 5)
    page(sheet, rows.quote, place.last, place.why, (top + 1, top + 2), keys=2)
    protect(sheet)
    return place


def _places(sheet: Sheet, rows: OfficeRows, top: int) -> BillSheet:
    count, first = len(rows.options), top + 3
    need = len(FIXED)
    unit_cost = need + count
    cost = unit_cost + 4
    tax = cost + 3 * count if rows.has_contractor_tax else -1
    why = cost + (4 if rows.has_contractor_tax else 3) * count
    return BillSheet(
        sheet=sheet,
        first=first,
        last=max(first + len(rows.bill) - 1, first),
        need=need,
        unit_cost=unit_cost,
        override=unit_cost + 1,
        unit_price=unit_cost + 2,
        margin=unit_cost + 3,
        cost=cost,
        price=cost + count,
        freight=cost + 2 * count,
        contractor_tax=tax,
        why=why,
        keys=why + 1,
        sums=top,
    )


def _head(sheet: Sheet, rows: OfficeRows, place: BillSheet, top: int) -> None:
    names = tuple(option.name for option in rows.options)
    right = tuple(range(len(names)))
    group_head(sheet, top + 1, 0, "", len(FIXED))
    table_head(sheet, top + 2, 0, FIXED)
    groups = [("Need", place.need), ("Cost", place.cost), ("Price", place.price), ("Freight", place.freight)]
    if place.contractor_tax >= 0:
        groups.append(("Tax on cost", place.contractor_tax))
    for heading, column in groups:
        group_head(sheet, top + 1, column, heading, len(names))
        table_head(sheet, top + 2, column, names, right)
    group_head(sheet, top + 1, place.unit_cost, "One unit", 4)
    table_head(sheet, top + 2, place.unit_cost, ("Cost", "Price of your own", "Price", "Margin"), (0, 1, 2, 3))
    group_head(sheet, top + 1, place.why, "", 1)
    table_head(sheet, top + 2, place.why, ("Why",))
    group_head(sheet, top + 1, place.keys, "Keys", 5)
    table_head(sheet, top + 2, place.keys, ("cat.", "room", "phase", "zone", "supp."), (0, 1, 2, 3, 4))


def _row(
    place: BillSheet,
    rows: OfficeRows,
    inputs: InputCells,
    at: int,
    row: BillRow,
    why: dict[str, int],
) -> None:
    sheet, first = place.sheet, row.first
    info = rows.quote.parts.get(first.part)
    category = rows.category(first.part)
    sheet.row_of_text(at, 0, (first.part, rows.describe(first.part), first.room or "job"))
    sheet.text(at, 3, str(first.zone) if first.zone else "", "text.centre")
    sheet.row_of_text(at, 4, (first.phase, category, info.supplier if info else "", first.unit))
    _unit(place, inputs, at, row)
    groups = (place.need, place.cost, place.price, place.freight)
    for index in range(len(rows.options)):
        priced = row.by_option.get(index)
        if priced:
            sheet.number(at, place.need + index, priced.need, "quantity")
            _amounts(place, rows, inputs, at, index, row, category)
        else:
            sheet.blanks(at, [start + index for start in (*groups, place.contractor_tax) if start >= 0])
    sheet.text(at, place.why, reasons_in_short(first.because, why.get(first.id)), "quiet")
    keys = (rows.categories[category], rows.rooms[first.room], rows.phases[first.phase], first.zone,
            rows.suppliers[rows.supplier(first.part)])
    for offset, key in enumerate(keys):
        sheet.number(at, place.keys + offset, key, "key")


def _unit(place: BillSheet, inputs: InputCells, at: int, row: BillRow) -> None:
    sheet, cells, first = place.sheet, inputs.parts[row.first.part], row.first
    sheet.formula(at, place.unit_cost, f"={cells.cost}", first.unit_cost, "price4")
    own = address(at, place.override)
    optional(sheet, at, place.override, row.override, "price4.input")
    price_now = f"={if_none(own, cells.price, f'ROUND({own},4)')}"
    sheet.formula(at, place.unit_price, price_now, first.unit_price, "price4")
    cost, price = address(at, place.unit_cost), address(at, place.unit_price)
    margin = round_to((first.unit_price - first.unit_cost) / first.unit_price, 4) if first.unit_price else ZERO
    sheet.formula(at, place.margin, f"=IF({price}=0,0,ROUND(({price}-{cost})/{price},4))", margin, "rate")


def _amounts(
    place: BillSheet, rows: OfficeRows, inputs: InputCells, at: int, index: int, row: BillRow, category: str
) -> None:
    sheet, priced = place.sheet, row.by_option[index]
    places = minor_units(rows.quote.pricing.currency)
    need = address(at, place.need + index)
    cost = address(at, place.cost + index)
    sheet.money(at, place.cost + index, f"=ROUND({need}*{address(at, place.unit_cost)},{places})", priced.cost)
    sheet.money(at, place.price + index, f"=ROUND({need}*{address(at, place.unit_price)},{places})", priced.price)
    sheet.money(
        at, place.freight + index, f"=ROUND({cost}*{inputs.categories[category].freight},{places})", priced.freight
    )
    if place.contractor_tax >= 0:
        taxes = [
            f"ROUND({cost}*{inputs.taxes[tax.name, tax.category]},{places})" for tax in rows.contractor_taxes(category)
        ]
        sheet.money(
            at, place.contractor_tax + index, f"=ROUND({'+'.join(taxes) or '0'},{places})", priced.contractor_tax
        )


def _sums(place: BillSheet, rows: OfficeRows) -> None:
    sheet, places = place.sheet, minor_units(rows.quote.pricing.currency)
    sheet.text(place.sums, 0, "All rows", "label.total")
    for column in range(1, place.cost):
        sheet.blank(place.sums, column, "label.total")
    for index, option in enumerate(rows.options):
        totals = option.totals
        amounts: list[tuple[int, Decimal]] = [
            (place.cost, totals.material_cost),
            (place.price, totals.materials),
            (place.freight, totals.freight),
        ]
        if place.contractor_tax >= 0:
            amounts.append((place.contractor_tax, totals.contractor_tax))
        for start, value in amounts:
            column = start + index
            here = f"{letters(column)}{place.first + 1}:{letters(column)}{place.last + 1}"
            sheet.money(place.sums, column, f"=ROUND(SUM({here}),{places})", value, "money.total")


def reasons_in_short(because: tuple[Reason, ...], row: int | None) -> str:
    """The rules that made a line, and where the sheet Why tells the rest."""
    rules = list(dict.fromkeys(reason.rule for reason in because))
    shown = ", ".join(rules[:4]) + (f" and {len(rules) - 4} more" if len(rules) > 4 else "")
    return f"{shown} · Why row {row}" if row is not None else shown

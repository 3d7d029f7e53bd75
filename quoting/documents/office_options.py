"""The sheet Options: what each option gives each room, and each step from one option to the next, room by room."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from msgspec import Struct

from quoting.documents.language import in_english
from quoting.documents.office_bill import BillSheet
from quoting.documents.office_labour import LabourSheet
from quoting.documents.office_ledger import Ledger
from quoting.documents.office_look import group_head, page, protect, section, table_head, title_block
from quoting.documents.office_rows import OfficeRows
from quoting.documents.sheet_writer import Sheet, address, letters
from quoting.money import ZERO, minor_units
from quoting.quote import PricedLabour, PricedMaterial, RoomPromise, Step

GIVES, MATERIALS, LABOUR, WIDTH = 0, 1, 2, 3  # inside one option's group
KEY, CODE, NAME, FIRST = 0, 1, 2, 3


class RoomTable(Struct, frozen=True):
    """Where each room's row of the first table stands."""

    sheet: Sheet
    first: int
    last: int
    row_of: dict[str, int]

    def cell(self, room: str, option: int, what: int) -> str:
        """One figure of one room in one option, on this sheet."""
        return address(self.row_of[room], FIRST + option * WIDTH + what)

    def span(self, option: int, what: int) -> str:
        """All the rooms' figures in one option."""
        column = letters(FIRST + option * WIDTH + what)
        return f"{column}{self.first + 1}:{column}{self.last + 1}"


def write_options(sheet: Sheet, rows: OfficeRows, bill: BillSheet, labour: LabourSheet, totals: Ledger) -> None:
    """Writes the sheet."""
    top = title_block(
        sheet,
        rows.quote,
        "Options",
        "Prices before discount and tax, as the rooms' own materials and labour; each step adds up to the cent.",
    )
    table = _rooms(sheet, rows, bill, labour, top)
    row = table.last + 3
    for step in rows.quote.steps:
        row = _step(table, rows, totals, row, step)
    last = FIRST + WIDTH * len(rows.options) - 1
    sheet.worksheet.freeze_panes(top + 2, 3)
    sheet.set_widths(at_least=11, at_most=40, A=5.0, B=8.0, C=28.0)
    page(sheet, rows.quote, row, last, keys=3)
    protect(sheet)


def _rooms(sheet: Sheet, rows: OfficeRows, bill: BillSheet, labour: LabourSheet, top: int) -> RoomTable:
    group_head(sheet, top, 0, "Room", 3)
    table_head(sheet, top + 1, 0, ("No.", "Code", "Name"))
    for index, option in enumerate(rows.options):
        group_head(sheet, top, FIRST + index * WIDTH, in_english(rows.quote, option.title) or option.name, WIDTH)
        table_head(sheet, top + 1, FIRST + index * WIDTH, ("Gives", "Materials", "Labour"), (1, 2))
    first = top + 2
    table = RoomTable(sheet, first, first + len(rows.rooms) - 1, {code: first + n for n, code in enumerate(rows.rooms)})
    sums = [_by_room(option.materials) for option in rows.options]
    hours = [_by_room(option.labour) for option in rows.options]
    promises = [{promise.room: promise for promise in option.rooms} for option in rows.options]
    for code, number in rows.rooms.items():
        at = table.row_of[code]
        sheet.number(at, KEY, number, "key")
        sheet.row_of_text(at, CODE, (code, rows.room_names[code]))
        for index in range(len(rows.options)):
            _gives(
                table,
                rows,
                bill,
                labour,
                code,
                index,
                promises[index].get(code),
                (sums[index].get(code, ZERO), hours[index].get(code, ZERO)),
            )
    _all_rooms(table, rows)
    return table


def _by_room(priced: Sequence[PricedMaterial] | Sequence[PricedLabour]) -> dict[str, Decimal]:
    found: dict[str, Decimal] = {}
    for row in priced:
        found[row.room] = found.get(row.room, ZERO) + row.price
    return found


def _gives(
    table: RoomTable,
    rows: OfficeRows,
    bill: BillSheet,
    labour: LabourSheet,
    code: str,
    index: int,
    promise: RoomPromise | None,
    values: tuple[Decimal, Decimal],
) -> None:
    sheet, at = table.sheet, table.row_of[code]
    column = FIRST + index * WIDTH
    key, places = f"$A{at + 1}", minor_units(rows.quote.pricing.currency)
    sheet.text(at, column + GIVES, in_words(promise) if promise else "")
    sheet.money(
        at,
        column + MATERIALS,
        f"=ROUND(SUMIFS({bill.column(bill.price + index)},{bill.column(bill.keys + 1)},{key}),{places})",
        values[0],
    )
    sheet.money(
        at,
        column + LABOUR,
        f"=ROUND(SUMIFS({labour.column(labour.price + index)},{labour.column(labour.keys)},{key}),{places})",
        values[1],
    )


def in_words(promise: RoomPromise) -> str:
    """ "live, 4 speakers, keypad"."""
    if promise.state != "live":
        return promise.state
    speakers = f"{promise.speakers} speaker{'s' if promise.speakers != 1 else ''}"
    return ", ".join(word for word in (promise.state, speakers, promise.control) if word)


def _all_rooms(table: RoomTable, rows: OfficeRows) -> None:
    sheet, at = table.sheet, table.last + 1
    places = minor_units(rows.quote.pricing.currency)
    sheet.row_of_text(at, 0, ("", "", "All rooms"), "label.total")
    for index, option in enumerate(rows.options):
        column = FIRST + index * WIDTH
        sheet.blank(at, column, "label.total")
        for what, value in ((MATERIALS, option.totals.materials), (LABOUR, option.totals.labour)):
            sheet.money(at, column + what, f"=ROUND(SUM({table.span(index, what)}),{places})", value, "money.total")


def _step(table: RoomTable, rows: OfficeRows, totals: Ledger, row: int, step: Step) -> int:
    sheet, places = table.sheet, minor_units(rows.quote.pricing.currency)
    names = [option.name for option in rows.options]
    start, end = names.index(step.start), names.index(step.end)
    section(sheet, row, f"From {step.start} to {step.end}")
    table_head(sheet, row + 1, 0, ("", "Code", "Room", "Materials", "Labour", "Sum"), (3, 4, 5))
    first = row = row + 2
    for found in step.rows:
        sheet.row_of_text(row, 0, ("", found.room, rows.room_names.get(found.room, found.name)))
        for offset, (what, value) in enumerate(((MATERIALS, found.materials), (LABOUR, found.labour))):
            sheet.money(
                row,
                FIRST + offset,
                f"=ROUND({table.cell(found.room, end, what)}-{table.cell(found.room, start, what)},{places})",
                value,
            )
        sheet.money(
            row,
            FIRST + 2,
            f"=ROUND({address(row, FIRST)}+{address(row, FIRST + 1)},{places})",
            found.materials + found.labour,
        )
        row += 1
    return _step_end(table, rows, totals, (first, row), (start, end), step)


def _step_end(
    table: RoomTable, rows: OfficeRows, totals: Ledger, span: tuple[int, int], ends: tuple[int, int], step: Step
) -> int:
    """Freight, discount, tax, rounding, then the sum of the step."""
    sheet, places, column = table.sheet, minor_units(rows.quote.pricing.currency), FIRST + 2
    first, row = span
    for key, label, value in (
        ("freight", "Freight", step.freight),
        ("discount", "Discount, subtracted", step.discount),
        ("tax", "Taxes", step.tax),
        ("rounding", "Rounding", step.rounding),
    ):
        sheet.row_of_text(row, 0, ("", "", label, "", ""))
        sheet.money(row, column, f"=ROUND({totals.at(key, ends[1])}-{totals.at(key, ends[0])},{places})", value)
        row += 1
    sheet.row_of_text(row, 0, ("", "", f"What {step.end} costs more than {step.start}", "", ""), "label.total")
    name = letters(column)
    rooms = f"SUM({name}{first + 1}:{name}{row - 4})+" if row - 4 > first else ""
    sheet.money(
        row,
        column,
        f"=ROUND({rooms}{name}{row - 3}-{name}{row - 2}+{name}{row - 1}+{name}{row},{places})",
        step.total,
        "money.total",
    )
    return row + 2

"""The sheet Groups: the same money by category, phase, room, zone and supplier, and the lines that earn least.

Each block adds up to the job. Sums go by the number in a key column of Bill and Labour, never by the text.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal

from msgspec import Struct

from quoting.documents.office_bill import BillSheet
from quoting.documents.office_inputs import InputCells
from quoting.documents.office_labour import LabourSheet
from quoting.documents.office_look import NONE, group_head, page, protect, red_under, section, table_head, title_block
from quoting.documents.office_rows import OfficeRows
from quoting.documents.sheet_writer import Sheet, address, letters
from quoting.money import ZERO, minor_units, r2, round_to
from quoting.quote import PricedLabour, PricedMaterial, PricedOption

COLUMNS = ("Materials", "Labour", "Cost", "Left", "Margin")
MATERIALS, LABOUR, COST, LEFT, MARGIN = range(5)
FIRST = 2  # the first option's column: a name and its number stand before it
WORST = 10  # lines under the floor that are listed
LABOUR_LINE = "labour"


class Grouping(Struct, frozen=True):
    """One way to group: its names and numbers, what a row belongs to, and the key column in each sheet (-1: none)."""

    heading: str
    names: Mapping[str | int, tuple[int, str]]  # key -> number and words
    material: Callable[[PricedMaterial], str | int]
    labour: Callable[[PricedLabour], str | int] | None
    bill_key: int
    labour_key: int


class GroupSheet(Struct, frozen=True):
    """Where each group's row stands: (heading, key) -> row."""

    sheet: Sheet
    row_of: dict[tuple[str, str | int], int]

    def cell(self, heading: str, key: str | int, option: int, what: int) -> str:
        """The address of one figure, on the sheet itself."""
        return address(self.row_of[heading, key], FIRST + option * len(COLUMNS) + what)


def write_groups(
    sheet: Sheet, rows: OfficeRows, inputs: InputCells, bill: BillSheet, labour: LabourSheet
) -> GroupSheet:
    """Writes the sheet."""
    row = title_block(
        sheet, rows.quote, "Groups",
        "Before discount, tax and contingency. Left is price less cost, freight apart; red is under the owner's floor.")
    place = GroupSheet(sheet, {})
    for grouping in _groupings(rows):
        row = _block(place, rows, inputs, bill, labour, grouping, row)
    row = _worst(sheet, rows, inputs, bill, labour, row)
    sheet.worksheet.freeze_panes(4, 2)
    sheet.set_widths(at_least=9, at_most=34, A=34.0, B=5.0)
    page(sheet, rows.quote, row, FIRST + len(COLUMNS) * len(rows.options) - 1, keys=2)
    protect(sheet)
    return place


def _groupings(rows: OfficeRows) -> tuple[Grouping, ...]:
    categories: dict[str | int, tuple[int, str]] = {
        name: (number, name or "no category") for name, number in rows.categories.items()}
    rooms: dict[str | int, tuple[int, str]] = {
        code: (number, rows.room_names[code]) for code, number in rows.rooms.items()}
    used = {row.first.phase for row in rows.bill} | {row.first.phase for row in rows.work}
    phases: dict[str | int, tuple[int, str]] = {
        name: (number, name) for name, number in rows.phases.items() if name in used}
    zone_names = {zone.number: zone.name for zone in rows.quote.job.zones}
    numbers = {row.first.zone for row in rows.bill} | {row.first.zone for row in rows.work}
    zones: dict[str | int, tuple[int, str]] = {
        number: (number, f"{number} {zone_names.get(number, '')}".strip() if number else "no zone")
        for number in sorted(numbers, key=lambda number: (number == 0, number))}
    suppliers: dict[str | int, tuple[int, str]] = {
        name: (number, name or "no supplier") for name, number in rows.suppliers.items()}
    return (
        Grouping("By category", categories, lambda row: rows.category(row.part), None, 0, -1),
        Grouping("By phase", phases, lambda row: row.phase, lambda row: row.phase, 2, 1),
        Grouping("By room", rooms, lambda row: row.room, lambda row: row.room, 1, 0),
        Grouping("By zone", zones, lambda row: row.zone, lambda row: row.zone, 3, 3),
        Grouping("By supplier", suppliers, lambda row: rows.supplier(row.part), None, 4, -1),
    )


def _block(
    place: GroupSheet, rows: OfficeRows, inputs: InputCells, bill: BillSheet, labour: LabourSheet,
    grouping: Grouping, row: int,
) -> int:
    """One block with its sum; where labour is of no group, it stands on a line of its own."""
    sheet = place.sheet
    section(sheet, row, grouping.heading)
    group_head(sheet, row + 1, 0, "", FIRST)
    table_head(sheet, row + 2, 0, (grouping.heading.removeprefix("By ").capitalize(), "No."), (1,))
    for index, option in enumerate(rows.options):
        column = FIRST + index * len(COLUMNS)
        group_head(sheet, row + 1, column, option.name, len(COLUMNS))
        table_head(sheet, row + 2, column, COLUMNS, tuple(range(len(COLUMNS))))
    first = row = row + 3
    for key, (number, words) in grouping.names.items():
        place.row_of[grouping.heading, key] = row
        sheet.text(row, 0, words)
        sheet.number(row, 1, number, "key")
        for index, option in enumerate(rows.options):
            _figures(sheet, rows, row, index, _formulas(rows, bill, labour, grouping, index, row),
                     _values(option, grouping, key))
        row += 1
    if grouping.labour is None:
        place.row_of[grouping.heading, LABOUR_LINE] = row
        sheet.row_of_text(row, 0, ("Labour", ""))
        for index, option in enumerate(rows.options):
            formulas = "0", labour.sum_of(labour.price + index), labour.sum_of(labour.cost + index)
            _figures(sheet, rows, row, index, formulas, (ZERO, option.totals.labour, option.totals.labour_cost))
        row += 1
    _sum(sheet, rows, first, row)
    for index in range(len(rows.options)):
        red_under(sheet, first, row, FIRST + index * len(COLUMNS) + MARGIN, inputs.job["floor"])
    return row + 2


def _values(option: PricedOption, grouping: Grouping, key: str | int) -> tuple[Decimal, Decimal, Decimal]:
    """Materials, labour and cost of one group in one option."""
    goods = [row for row in option.materials if grouping.material(row) == key]
    work = [row for row in option.labour if grouping.labour is not None and grouping.labour(row) == key]
    return (sum((row.price for row in goods), ZERO), sum((row.price for row in work), ZERO),
            sum((row.cost for row in goods), ZERO) + sum((row.cost for row in work), ZERO))


def _formulas(
    rows: OfficeRows, bill: BillSheet, labour: LabourSheet, grouping: Grouping, index: int, row: int
) -> tuple[str, str, str]:
    places, key = minor_units(rows.quote.pricing.currency), f"$B{row + 1}"

    def goods(start: int) -> str:
        return f"SUMIFS({bill.column(start + index)},{bill.column(bill.keys + grouping.bill_key)},{key})"

    def work(start: int) -> str:
        return f"SUMIFS({labour.column(start + index)},{labour.column(labour.keys + grouping.labour_key)},{key})"

    both = f"{goods(bill.cost)}+{work(labour.cost)}" if grouping.labour else goods(bill.cost)
    labour_price = f"ROUND({work(labour.price)},{places})" if grouping.labour else "0"
    return f"ROUND({goods(bill.price)},{places})", labour_price, f"ROUND({both},{places})"


def _figures(
    sheet: Sheet, rows: OfficeRows, row: int, index: int, formulas: tuple[str, str, str],
    values: tuple[Decimal, Decimal, Decimal], total: bool = False,
) -> None:
    places, column = minor_units(rows.quote.pricing.currency), FIRST + index * len(COLUMNS)
    ending = ".total" if total else ""
    for offset, (formula, value) in enumerate(zip(formulas, values, strict=True)):
        sheet.money(row, column + offset, f"={formula}", value, f"money{ending}")
    goods, work, cost, left = (address(row, column + what) for what in (MATERIALS, LABOUR, COST, LEFT))
    price, profit = values[0] + values[1], values[0] + values[1] - values[2]
    sheet.money(row, column + LEFT, f"=ROUND({goods}+{work}-{cost},{places})", profit, f"money{ending}")
    whole, none = f"({goods}+{work})", f'"{NONE}"'
    sheet.formula(row, column + MARGIN, f"=IF(ROUND({whole},{places})=0,{none},ROUND({left}/{whole},4))",
                  round_to(profit / price, 4) if price else NONE, f"rate{ending}")


def _sum(sheet: Sheet, rows: OfficeRows, first: int, row: int) -> None:
    places = minor_units(rows.quote.pricing.currency)
    sheet.row_of_text(row, 0, ("All", ""), "label.total")
    for index, option in enumerate(rows.options):
        names = [letters(FIRST + index * len(COLUMNS) + what) for what in (MATERIALS, LABOUR, COST)]
        sums = [f"ROUND(SUM({name}{first + 1}:{name}{row}),{places})" for name in names]
        found = option.totals
        _figures(sheet, rows, row, index, (sums[0], sums[1], sums[2]),
                 (found.materials, found.labour, found.material_cost + found.labour_cost), total=True)


# ------------------------------------------------------------------------------------------------ what earns least

def _worst(
    sheet: Sheet, rows: OfficeRows, inputs: InputCells, bill: BillSheet, labour: LabourSheet, row: int
) -> int:
    """The lines that fall furthest short of the owner's floor, worst first as quoted; the figures stay live."""
    section(sheet, row, "Lines that are furthest under the owner's floor")
    note = "What each line would have to earn more, in money; worst first when this workbook was written."
    sheet.text(row + 1, 0, note, "beside")
    names = tuple(option.name for option in rows.options)
    table_head(sheet, row + 2, 0, ("What", "", "Where", "Phase", *names), tuple(range(4, 4 + len(names))))
    floor, currency = inputs.job["floor"], rows.quote.pricing.currency
    row += 3
    found = _short(rows, bill, labour)[:WORST]
    for _, words, where, phase, cells, amounts in found:
        sheet.row_of_text(row, 0, (words, "", where, phase))
        for index in range(len(names)):
            if index not in amounts:
                sheet.blank(row, 4 + index, "text")
                continue
            price, cost = cells[index]
            sheet.formula(row, 4 + index, f"=ROUND({floor}*{price}-({price}-{cost}),{minor_units(currency)})",
                          amounts[index], "money")
        row += 1
    if not found:
        sheet.text(row, 0, "Every line reaches the floor.", "beside")
        row += 1
    return row


Short = tuple[Decimal, str, str, str, dict[int, tuple[str, str]], dict[int, Decimal]]


def _short(rows: OfficeRows, bill: BillSheet, labour: LabourSheet) -> list[Short]:
    """(worst shortfall, words, room, phase, cells of price and cost, shortfalls) of each line, the worst first."""
    found: list[Short] = []
    for offset, row in enumerate(rows.bill):
        at, first = bill.first + offset, row.first
        cells = {index: (bill.sheet.at(at, bill.price + index), bill.sheet.at(at, bill.cost + index))
                 for index in row.by_option}
        found.append(_one(rows, rows.describe(first.part), first.room, first.phase, cells,
                          {index: (one.price, one.cost) for index, one in row.by_option.items()}))
    for offset, work in enumerate(rows.work):
        at, task = labour.first + offset, work.first
        cells = {index: (labour.sheet.at(at, labour.price + index), labour.sheet.at(at, labour.cost + index))
                 for index in work.by_option}
        info = rows.quote.tasks.get(task.task)
        found.append(_one(rows, info.description if info else task.task, task.room, task.phase, cells,
                          {index: (one.price, one.cost) for index, one in work.by_option.items()}))
    return sorted((short for short in found if short[0] > 0), key=lambda short: (-short[0], short[1], short[2]))


def _one(
    rows: OfficeRows, words: str, room: str, phase: str, cells: dict[int, tuple[str, str]],
    amounts: Mapping[int, tuple[Decimal, Decimal]],
) -> Short:
    floor, currency = rows.quote.pricing.margin_floor, rows.quote.pricing.currency
    short = {index: r2(floor * price - (price - cost), currency) for index, (price, cost) in amounts.items()}
    return max(short.values(), default=ZERO), words, room or "job", phase, cells, short

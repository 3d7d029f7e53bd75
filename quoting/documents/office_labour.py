"""The sheet Labour: every task in every room and phase, its hours in each option, at cost and at price."""

from __future__ import annotations

from decimal import Decimal

from msgspec import Struct

from quoting.documents.office_bill import reasons_in_short
from quoting.documents.office_inputs import InputCells
from quoting.documents.office_look import group_head, page, protect, show_number, table_head, title_block
from quoting.documents.office_rows import OfficeRows, WorkRow
from quoting.documents.sheet_writer import Sheet, address, letters
from quoting.lines import Factor
from quoting.money import ZERO, minor_units, r2
from quoting.quote import PricedLabour, RoleRate

FIXED = ("Task", "Description", "Room", "Zone", "Phase", "Role", "Walls", "Units", "Sold")
RATES = ("Cost", "Price")


class LabourSheet(Struct, frozen=True):
    """Where the labour columns stand; each of hours ... high is the first option's."""

    sheet: Sheet
    first: int
    last: int
    hours: int
    rates: int
    price: int
    cost: int
    burdened: int
    sold_hour: int
    low: int
    likely: int
    high: int
    why: int
    factors: int
    keys: int  # room, phase, spread group, zone
    sums: int

    def sum_of(self, column: int) -> str:
        """The cell that sums a column."""
        return self.sheet.at(self.sums, column)

    def column(self, column: int) -> str:
        """A whole column of rows."""
        return self.sheet.down(column, self.first, self.last)


def write_labour(sheet: Sheet, rows: OfficeRows, inputs: InputCells, why: dict[str, int]) -> LabourSheet:
    """Writes the sheet; `why` gives each line id's row on the sheet Why."""
    top = title_block(
        sheet,
        rows.quote,
        "Labour",
        "Person-hours expected, factors included. Price = hours x the role's price; "
        "hours that no task sells cost and are not priced. Rates stand on Inputs.",
    )
    place = _places(sheet, rows, top)
    _head(sheet, rows, place, top)
    rates = {role.role: role for role in rows.quote.pricing.roles}
    for offset, row in enumerate(rows.work):
        _row(place, rows, inputs, rates.get(row.first.role), place.first + offset, row, why)
    _sums(place, rows, rates)
    sheet.worksheet.autofilter(top + 2, 0, place.last, place.factors)
    sheet.worksheet.freeze_panes(place.first, 2)
    sheet.set_widths(at_least=7, at_most=58, **{letters(place.why): 34.0, letters(place.factors): 38.0})
    sheet.worksheet.set_column(place.keys, place.keys + 3, 5)
    page(sheet, rows.quote, place.last, place.why, (top + 1, top + 2), keys=2)
    protect(sheet)
    return place


def _places(sheet: Sheet, rows: OfficeRows, top: int) -> LabourSheet:
    count, first, hours = len(rows.options), top + 3, len(FIXED)
    price = hours + count + len(RATES)
    why = price + 2 * count
    burdened = why + 1
    return LabourSheet(
        sheet=sheet,
        first=first,
        last=max(first + len(rows.work) - 1, first),
        hours=hours,
        rates=hours + count,
        price=price,
        cost=price + count,
        why=why,
        burdened=burdened,
        sold_hour=burdened + count,
        low=burdened + 2 * count,
        likely=burdened + 3 * count,
        high=burdened + 4 * count,
        factors=burdened + 5 * count,
        keys=burdened + 5 * count + 1,
        sums=top,
    )


def _head(sheet: Sheet, rows: OfficeRows, place: LabourSheet, top: int) -> None:
    names = tuple(option.name for option in rows.options)
    group_head(sheet, top + 1, 0, "", len(FIXED))
    table_head(sheet, top + 2, 0, FIXED, (7,))
    for heading, column in (
        ("Hours", place.hours),
        ("Price", place.price),
        ("Cost, as the floors use it", place.cost),
        ("Cost, burdened", place.burdened),
        ("Cost, per sold hour", place.sold_hour),
        ("Low hours", place.low),
        ("Likely hours", place.likely),
        ("High hours", place.high),
    ):
        group_head(sheet, top + 1, column, heading, len(names))
        table_head(sheet, top + 2, column, names, tuple(range(len(names))))
    group_head(sheet, top + 1, place.rates, "Rate per hour", 2)
    table_head(sheet, top + 2, place.rates, RATES, (0, 1))
    for column, heading in ((place.why, "Why"), (place.factors, "Factors")):
        group_head(sheet, top + 1, column, "", 1)
        table_head(sheet, top + 2, column, (heading,))
    group_head(sheet, top + 1, place.keys, "Keys", 4)
    table_head(sheet, top + 2, place.keys, ("room", "phase", "risk", "zone"), (0, 1, 2, 3))


def _row(
    place: LabourSheet,
    rows: OfficeRows,
    inputs: InputCells,
    rate: RoleRate | None,
    at: int,
    row: WorkRow,
    why: dict[str, int],
) -> None:
    sheet, first = place.sheet, row.first
    info = rows.quote.tasks.get(first.task)
    sheet.row_of_text(at, 0, (first.task, info.description if info else first.task, first.room or "job"))
    sheet.text(at, 3, str(first.zone) if first.zone else "", "text.centre")
    sheet.row_of_text(at, 4, (first.phase, first.role, first.wall_state))
    sheet.number(at, 7, max(priced.units for priced in row.by_option.values()), "quantity")
    sheet.text(at, 8, "yes" if rows.sold(first) else "no", "text.centre")
    cells = inputs.roles[first.role]
    for offset, (cell, value) in enumerate(
        ((cells.used, _used(rate, rows)), (cells.price, rate.price if rate else ZERO))
    ):
        sheet.formula(at, place.rates + offset, f"={cell}", value, "money")
    groups = (
        place.hours,
        place.price,
        place.cost,
        place.burdened,
        place.sold_hour,
        place.low,
        place.likely,
        place.high,
    )
    for index in range(len(rows.options)):
        priced = row.by_option.get(index)
        if priced:
            _amounts(place, rows, inputs, rate, at, index, priced)
        else:
            sheet.blanks(at, [start + index for start in groups])
    sheet.text(at, place.why, reasons_in_short(first.because, why.get(first.id)), "quiet")
    sheet.text(at, place.factors, factors_in_words(first.factors), "quiet")
    group = rows.spreads[first.phase, first.wall_state]
    for offset, key in enumerate((rows.rooms[first.room], rows.phases[first.phase], group, first.zone)):
        sheet.number(at, place.keys + offset, key, "key")


def _used(rate: RoleRate | None, rows: OfficeRows) -> Decimal:
    if rate is None:
        return ZERO
    return rate.burdened if rows.quote.pricing.cost_basis == "burdened" else rate.sold_hour


def _amounts(
    place: LabourSheet,
    rows: OfficeRows,
    inputs: InputCells,
    rate: RoleRate | None,
    at: int,
    index: int,
    priced: PricedLabour,
) -> None:
    sheet, currency = place.sheet, rows.quote.pricing.currency
    places, cells = minor_units(currency), inputs.roles[priced.role]
    sheet.number(at, place.hours + index, priced.hours, "hours")
    for start, value in ((place.low, priced.low), (place.likely, priced.likely), (place.high, priced.high)):
        sheet.number(at, start + index, value, "hours")
    hours = address(at, place.hours + index)
    cost, price = (address(at, place.rates + offset) for offset in (0, 1))
    sold = address(at, 8)
    sheet.money(at, place.price + index, f'=IF({sold}="yes",ROUND({hours}*{price},{places}),0)', priced.price)
    burdened = address(at, place.burdened + index)
    sheet.money(at, place.cost + index, f'=IF({sold}="yes",ROUND({hours}*{cost},{places}),{burdened})', priced.cost)
    sheet.money(at, place.burdened + index, f"=ROUND({hours}*{cells.burdened},{places})", priced.direct_cost)
    sheet.money(
        at,
        place.sold_hour + index,
        f'=IF({sold}="yes",ROUND({hours}*{cells.sold_hour},{places}),{burdened})',
        sold_hour_cost((priced,), {priced.role: rate} if rate else {}, rows),
    )


def _sums(place: LabourSheet, rows: OfficeRows, rates: dict[str, RoleRate]) -> None:
    sheet, currency = place.sheet, rows.quote.pricing.currency
    sheet.text(place.sums, 0, "All rows", "label.total")
    for column in (*range(1, place.hours), place.rates, place.rates + 1):
        sheet.blank(place.sums, column, "label.total")
    for index, option in enumerate(rows.options):
        labour = option.labour
        for start, value in (
            (place.price, option.totals.labour),
            (place.cost, option.totals.labour_cost),
            (place.burdened, sum((row.direct_cost for row in labour), ZERO)),
            (place.sold_hour, sold_hour_cost(labour, rates, rows)),
        ):
            sheet.money(
                place.sums, start + index, _sum(place, start + index, minor_units(currency)), value, "money.total"
            )
        for start, hours in (
            (place.hours, option.totals.hours),
            (place.low, sum((row.low for row in labour), ZERO)),
            (place.likely, sum((row.likely for row in labour), ZERO)),
            (place.high, sum((row.high for row in labour), ZERO)),
        ):
            sheet.formula(place.sums, start + index, _sum(place, start + index, 2), hours, "hours.total")


def _sum(place: LabourSheet, column: int, places: int) -> str:
    name = letters(column)
    return f"=ROUND(SUM({name}{place.first + 1}:{name}{place.last + 1}),{places})"


def sold_hour_cost(labour: tuple[PricedLabour, ...], rates: dict[str, RoleRate], rows: OfficeRows) -> Decimal:
    """What labour costs per sold hour, whichever cost the floors use.

    Hours that no task sells cost what they cost: the rate per sold hour of the others already carries them.
    """
    currency = rows.quote.pricing.currency
    return sum(
        (
            r2(row.hours * rates[row.role].sold_hour, currency)
            if rows.sold(row) and row.role in rates
            else row.direct_cost
            for row in labour
        ),
        ZERO,
    )


def factors_in_words(factors: tuple[Factor, ...]) -> str:
    """ "ladder x 1.15 (FAC-020), occupied x 1.1 (FAC-040)"."""
    return ", ".join(f"{factor.name} x {show_number(factor.multiplier)} ({factor.row})" for factor in factors)

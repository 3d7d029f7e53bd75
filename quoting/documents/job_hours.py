"""The sheet Hours of a job record: each task of each room and phase, as estimated and as worked."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal

from quoting.documents.job_row import amount, cause, forecast, over, to_go
from quoting.documents.office_look import page, protect, table_head, title_block
from quoting.documents.sheet_writer import Sheet, address
from quoting.lines import PHASES
from quoting.money import minor_units
from quoting.quote import PricedLabour, PricedOption, Quote

HEADINGS = ("Line", "Task", "Room", "Phase", "Role", "Walls", "Estimated", "Worked", "To go", "Forecast", "Over",
            "Over, %", "Cause", "Cost an hour", "Estimated cost", "Cost worked", "Forecast cost")
LINE, TASK, ROOM, PHASE, ROLE, WALLS, ESTIMATED, WORKED, TO_GO, FORECAST, OVER, RATE, CAUSE = range(13)
COST_RATE, COST, COST_WORKED, COST_FORECAST, KEY = 13, 14, 15, 16, 17
NOTE = ("Yellow is typed: hours worked, from the day sheets (same line ids), and hours to go; a dash is the rest of "
        "the estimate. Hours of overhead tasks cost and are not sold.")


@dataclass(frozen=True, slots=True)
class HoursSheet:
    """Where the hours stand."""

    sheet: Sheet
    first: int
    last: int

    def of_phase(self, column: int, phase: str) -> str:
        """A formula's part: the sum of a column over one phase."""
        keys = self.sheet.down(KEY, self.first, self.last)
        return f"SUMIF({keys},{PHASES.index(phase)},{self.sheet.down(column, self.first, self.last)})"


def write_hours(sheet: Sheet, quote: Quote, option: PricedOption) -> HoursSheet:
    """Writes the sheet: rows in the order of the work."""
    rows = sorted((row for row in option.labour if row.hours),
                  key=lambda row: (PHASES.index(row.phase), row.room, row.task, row.wall_state, row.role))
    top = title_block(sheet, quote, f"Hours: {option.name}", NOTE)
    first = top + 1
    table_head(sheet, top, 0, HEADINGS, (*range(ESTIMATED, CAUSE), *range(COST_RATE, KEY)))
    for offset, row in enumerate(rows):
        _row(sheet, quote, first + offset, row)
    last = max(first + len(rows) - 1, first)
    _sums(sheet, quote, rows, first, last)
    sheet.worksheet.autofilter(top, 0, last, COST_FORECAST)
    sheet.worksheet.freeze_panes(first, TASK + 1)
    sheet.set_widths(at_least=8, at_most=46, M=11.0)
    sheet.worksheet.set_column(KEY, KEY, 4)
    page(sheet, quote, last + 1, COST_FORECAST, (top, top), keys=TASK + 1)
    protect(sheet)
    return HoursSheet(sheet, first, last)


def _row(sheet: Sheet, quote: Quote, at: int, row: PricedLabour) -> None:
    places = minor_units(quote.pricing.currency)
    sheet.row_of_text(at, 0, (row.id, quote.tasks[row.task].description, row.room, row.phase, row.role, row.wall_state))
    sheet.number(at, ESTIMATED, row.hours, "hours")
    amount(sheet, at, (WORKED,), "hours.input")
    to_go(sheet, at, TO_GO, "hours.input")
    estimated, worked = address(at, ESTIMATED), address(at, WORKED)
    rest = forecast(estimated, (worked,), address(at, TO_GO))
    sheet.formula(at, FORECAST, f"={rest}", row.hours, "hours")
    over(sheet, at, OVER, estimated, 2, "hours")
    cause(sheet, at, CAUSE)
    rate = _cost_of_an_hour(quote, row.role)
    sheet.number(at, COST_RATE, rate, "money")
    sheet.number(at, COST, row.cost, "money")
    sheet.money(at, COST_WORKED, f"=ROUND({worked}*{address(at, COST_RATE)},{places})", Decimal(0))
    sheet.money(at, COST_FORECAST, f"=ROUND({address(at, COST)}+({address(at, FORECAST)}-{estimated})*"
                f"{address(at, COST_RATE)},{places})", row.cost)
    sheet.number(at, KEY, PHASES.index(row.phase), "key")


def _sums(sheet: Sheet, quote: Quote, rows: list[PricedLabour], first: int, last: int) -> None:
    at, places = last + 1, minor_units(quote.pricing.currency)
    hours, cost = sum((row.hours for row in rows), Decimal(0)), sum((row.cost for row in rows), Decimal(0))
    sheet.text(at, 0, "All tasks", "label.total")
    sheet.blanks(at, range(1, ESTIMATED), "label.total")
    for column, value in ((ESTIMATED, hours), (WORKED, Decimal(0)), (TO_GO, Decimal(0)), (FORECAST, hours)):
        span = f"{address(first, column)}:{address(last, column)}"
        sheet.formula(at, column, f"=SUM({span})", value, "hours.total")
    over(sheet, at, OVER, address(at, ESTIMATED), 2, "hours.total")
    sheet.blanks(at, (CAUSE, COST_RATE), "label.total")
    for column, value in ((COST, cost), (COST_WORKED, Decimal(0)), (COST_FORECAST, cost)):
        span = f"{address(first, column)}:{address(last, column)}"
        sheet.money(at, column, f"=ROUND(SUM({span}),{places})", value, "money.total")


def _cost_of_an_hour(quote: Quote, role: str) -> Decimal:
    """By the rate that the floors use."""
    for rates in quote.pricing.roles:
        if rates.role == role:
            return rates.burdened if quote.pricing.cost_basis == "burdened" else rates.sold_hour
    return Decimal(0)

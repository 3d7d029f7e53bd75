"""The sheet Hours of a job record: each task of each room and phase, as estimated and as worked."""

from __future__ import annotations

from decimal import Decimal

from msgspec import Struct

from quoting.documents.job_row import amount, cause, forecast, over, to_go
from quoting.documents.office_look import page, protect, table_head, title_block
from quoting.documents.sheet_writer import Sheet, address
from quoting.lines import PHASES
from quoting.money import ZERO, minor_units
from quoting.quote import PricedLabour, PricedOption, Quote, RoleRate

HEADINGS = ("Line", "Task", "Room", "Phase", "Role", "Walls", "Estimated", "Changes", "Worked", "To go", "Forecast",
            "Over", "Over, %", "Cause", "Cost an hour", "Estimated cost", "Cost of changes", "Cost worked",
            "Forecast cost")
LINE, TASK, ROOM, PHASE, ROLE, WALLS, ESTIMATED, CHANGES, WORKED, TO_GO, FORECAST, OVER, RATE, CAUSE = range(14)
COST_RATE, COST, COST_CHANGES, COST_WORKED, COST_FORECAST = range(14, 19)
FREE_ROWS = 12  # for work that only a change order brings
NOTE = ("Yellow is typed: hours worked, from the day sheets (same line ids); hours to go, a dash is the rest of the "
        "plan; hours that a signed change order adds, less is negative: at their line, else in a row at the end.")


class HoursSheet(Struct, frozen=True):
    """Where the hours stand."""

    sheet: Sheet
    first: int
    last: int

    def of_phase(self, column: int, phase: str) -> str:
        """A formula's part: the sum of a column over one phase."""
        phases, amounts = (self.sheet.down(each, self.first, self.last) for each in (PHASE, column))
        return f'SUMIF({phases},"{phase}",{amounts})'


def write_hours(sheet: Sheet, quote: Quote, option: PricedOption) -> HoursSheet:
    """Writes the sheet: rows in the order of the work, then rows for the work of change orders, then what an hour of
    each role costs."""
    rows = sorted((row for row in option.labour if row.hours),
                  key=lambda row: (PHASES.index(row.phase), row.room, row.task, row.wall_state, row.role))
    top = title_block(sheet, quote, f"Hours: {option.name}", NOTE)
    first = top + 1
    table_head(sheet, top, 0, HEADINGS, (*range(ESTIMATED, CAUSE), *range(COST_RATE, COST_FORECAST + 1)))
    last = first + len(rows) + FREE_ROWS - 1
    roles = _rates(sheet, quote, last + 3)
    for at, row in enumerate(rows, first):
        sheet.row_of_text(at, LINE, (row.id, quote.tasks[row.task].description, row.room, row.phase, row.role,
                                     row.wall_state))
        sheet.number(at, COST_RATE, _cost_of_an_hour(quote, row), "money")
        _amounts(sheet, quote, at, row.hours, row.cost)
    for at in range(first + len(rows), last + 1):
        _free(sheet, at, roles)
        _amounts(sheet, quote, at, ZERO, ZERO)
    _sums(sheet, quote, rows, first, last)
    sheet.worksheet.autofilter(top, 0, last, COST_FORECAST)
    sheet.worksheet.freeze_panes(first, TASK + 1)
    sheet.set_widths(at_least=8, at_most=46, N=11.0)
    page(sheet, quote, last + 3 + len(quote.pricing.roles), COST_FORECAST, (top, top), keys=TASK + 1)
    protect(sheet)
    return HoursSheet(sheet, first, last)


def _amounts(sheet: Sheet, quote: Quote, at: int, hours: Decimal, cost: Decimal) -> None:
    """Hours and what they cost. The cost of the estimate is the quote's, to the cent: hours as estimated cost that."""
    places = minor_units(quote.pricing.currency)
    sheet.number(at, ESTIMATED, hours, "hours")
    amount(sheet, at, (CHANGES, WORKED), "hours.input")
    to_go(sheet, at, TO_GO, "hours.input")
    estimated, changed, worked, whole, rate, planned = (
        address(at, column) for column in (ESTIMATED, CHANGES, WORKED, FORECAST, COST_RATE, COST))
    plan = f"{estimated}+{changed}"
    sheet.formula(at, FORECAST, f"={forecast(f'({plan})', (worked,), address(at, TO_GO))}", hours, "hours")
    over(sheet, at, OVER, plan, 2, "hours")
    cause(sheet, at, CAUSE)
    sheet.number(at, COST, cost, "money")
    sheet.money(at, COST_CHANGES, f"=ROUND({changed}*{rate},{places})", ZERO)
    for column, what, value in ((COST_WORKED, worked, ZERO), (COST_FORECAST, whole, cost)):
        sheet.money(at, column, f"=IF({what}=0,0,ROUND({planned}+({what}-{estimated})*{rate},{places}))", value)


def _free(sheet: Sheet, at: int, roles: tuple[str, str]) -> None:
    """A row that a change order may need: its phase and role are chosen, an hour costs what it costs in that role."""
    sheet.row_of_text(at, LINE, ("",) * ESTIMATED, "text.input")
    for column, source in ((PHASE, list(PHASES)), (ROLE, f"={roles[0]}")):
        sheet.worksheet.data_validation(at, column, at, column, {
            "validate": "list", "source": source, "error_title": "Not in the list",
            "error_message": "Choose one of the list."})
    role = address(at, ROLE)
    found = f"INDEX({roles[1]},MATCH({role},{roles[0]},0))"
    sheet.formula(at, COST_RATE, f"=IF({role}=0,0,{found})", ZERO, "money")


def _rates(sheet: Sheet, quote: Quote, at: int) -> tuple[str, str]:
    """What an hour of each role costs, under the table; where the roles and where the rates stand."""
    table_head(sheet, at, TASK, ("Cost an hour, by role", ""), (1,))
    for offset, rates in enumerate(quote.pricing.roles, at + 1):
        sheet.text(offset, TASK, rates.role, "label")
        sheet.number(offset, ROOM, _rate(quote, rates), "money")
    last = at + len(quote.pricing.roles)
    return sheet.down(TASK, at + 1, last), sheet.down(ROOM, at + 1, last)


def _sums(sheet: Sheet, quote: Quote, rows: list[PricedLabour], first: int, last: int) -> None:
    """The last row. What is to go in all is what the forecast holds beyond what is worked: a dash has no hours."""
    at, places = last + 1, minor_units(quote.pricing.currency)
    hours, cost = sum((row.hours for row in rows), ZERO), sum((row.cost for row in rows), ZERO)
    sheet.text(at, LINE, "All tasks", "label.total")
    sheet.blanks(at, range(TASK, ESTIMATED), "label.total")
    for column, value in ((ESTIMATED, hours), (CHANGES, ZERO), (WORKED, ZERO), (FORECAST, hours)):
        span = f"{address(first, column)}:{address(last, column)}"
        sheet.formula(at, column, f"=SUM({span})", value, "hours.total")
    whole, worked = address(at, FORECAST), address(at, WORKED)
    sheet.formula(at, TO_GO, f"=ROUND({whole}-{worked},2)", hours, "hours.total")
    over(sheet, at, OVER, f"{address(at, ESTIMATED)}+{address(at, CHANGES)}", 2, "hours.total")
    sheet.blanks(at, (CAUSE, COST_RATE), "label.total")
    for column, value in ((COST, cost), (COST_CHANGES, ZERO), (COST_WORKED, ZERO), (COST_FORECAST, cost)):
        span = f"{address(first, column)}:{address(last, column)}"
        sheet.money(at, column, f"=ROUND(SUM({span}),{places})", value, "money.total")


def _cost_of_an_hour(quote: Quote, row: PricedLabour) -> Decimal:
    """By the rate that the floors use; an hour that no task sells costs the burdened rate, as in the quote."""
    rates = next((each for each in quote.pricing.roles if each.role == row.role), None)
    if rates is None:
        return ZERO
    return _rate(quote, rates) if quote.tasks[row.task].sold else rates.burdened


def _rate(quote: Quote, rates: RoleRate) -> Decimal:
    return rates.burdened if quote.pricing.cost_basis == "burdened" else rates.sold_hour

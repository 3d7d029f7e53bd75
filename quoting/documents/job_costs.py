"""The sheet Cost of a job record: what each kind of cost was planned at, came to, will come to; and what is earned."""

from __future__ import annotations

from decimal import Decimal

from msgspec import Struct

from quoting.documents.job_billing import BillingSheet
from quoting.documents.job_hours import COST_CHANGES, COST_FORECAST, COST_WORKED, HoursSheet
from quoting.documents.job_orders import ACTUAL as ORDERS_ACTUAL
from quoting.documents.job_orders import COMMITTED as ORDERS_COMMITTED
from quoting.documents.job_orders import CONTRACTOR_TAX, OrdersSheet, order_lines, parts_of, tails
from quoting.documents.job_row import amount, cause, forecast, over, to_go
from quoting.documents.office_look import page, protect, red_under, section, table_head, title_block
from quoting.documents.sheet_writer import Sheet, address
from quoting.lines import PHASES
from quoting.money import ZERO, minor_units, round_to
from quoting.quote import PricedOption, Quote

HEADINGS = ("Cost of", "Budget", "Changes", "Committed", "Actual", "To go", "Forecast", "Over", "Over, %", "Cause",
            "Note")
NAME, BUDGET, CHANGES, COMMITTED, ACTUAL, TO_GO, FORECAST, OVER, RATE, CAUSE, REMARK = range(11)
NOTE = ("Yellow is typed. Changes: cost of signed change orders. Committed and Actual: ordered and invoiced, from "
        "Orders, without what goes into stock. To go: a dash is the rest of budget and changes. Labour: from Hours.")
EARNED = ("Margin", "As sold", "Forecast", "Booked")
TOP = 4  # the row of the headings, under the title and its note
FREE_ROWS = 4  # for costs that nobody planned


class CostRow(Struct, frozen=True):
    """A kind of cost that is not labour; `remark` is where its note begins."""

    name: str
    budget: Decimal
    remark: str = ""


def names_of_costs(sheet: Sheet, quote: Quote, option: PricedOption) -> str:
    """The cells that name what an order can be the cost of: kinds that are not labour, and those typed in."""
    return sheet.down(NAME, TOP + 1, TOP + len(planned_costs(quote, option)) + FREE_ROWS)


def write_costs(
    sheet: Sheet, quote: Quote, option: PricedOption, orders: OrdersSheet, worked: HoursSheet, billed: BillingSheet
) -> None:
    """Writes the sheet. The budget is the cost that the quote was priced on, to the cent."""
    title_block(sheet, quote, f"Job cost: {option.name}", NOTE)
    first = at = TOP + 1
    table_head(sheet, TOP, 0, HEADINGS, tuple(range(BUDGET, CAUSE)))
    for row in (*planned_costs(quote, option), *[None] * FREE_ROWS):
        _bought(sheet, quote, at, row, orders)
        at += 1
    for phase in PHASES:
        _worked(sheet, quote, at, phase, sum((row.cost for row in option.labour if row.phase == phase), ZERO), worked)
        at += 1
    _sums(sheet, quote, option, first, at - 1)
    _earned(sheet, quote, option, at, billed)
    sheet.worksheet.freeze_panes(first, BUDGET)
    sheet.set_widths(at_least=9.5, A=28.0, **dict.fromkeys("BCDEFGH", 10.5), I=8.0, J=9.5, K=27.0)
    page(sheet, quote, at + 8, REMARK, (TOP, TOP), keys=1)
    protect(sheet)


def planned_costs(quote: Quote, option: PricedOption) -> tuple[CostRow, ...]:
    """Kinds of cost that are not labour, in the order of the price rules; none that costs nothing. A tail too short to
    keep is paid with the spool that it is cut from, so it stands with its cable."""
    totals, found = option.totals, {rule.category: ZERO for rule in quote.pricing.categories}
    thrown: dict[str, Decimal] = {}
    for row in option.materials:
        category = quote.parts[row.part].category
        found[category] = found.get(category, ZERO) + row.cost
    for part, cost in tails(quote, option).items():
        category = quote.parts[part].category
        thrown[category] = thrown.get(category, ZERO) + cost
    borne: dict[str, Decimal] = {}
    for line in order_lines(quote, option):
        borne[line.kind] = borne.get(line.kind, ZERO) + line.of_job
    rows = []
    for category, cost in found.items():
        budget, waste = cost + thrown.get(category, ZERO), thrown.get(category, ZERO)
        saved = budget - borne.get(parts_of(category), budget)
        differing = f"{saved} less: breaks, packs" if saved > 0 else f"{-saved} more: pack sizes"
        said = (f"{waste} of it tails thrown away" if waste else "", f"orders {differing}" if saved else "")
        rows.append(CostRow(parts_of(category), budget, "; ".join(filter(None, said))))
    rows += [CostRow("Freight", totals.freight), CostRow(CONTRACTOR_TAX, totals.contractor_tax),
             CostRow("Contingency", totals.contingency, "0 to go once not needed")]
    return tuple(row for row in rows if row.budget)


def _bought(sheet: Sheet, quote: Quote, at: int, row: CostRow | None, orders: OrdersSheet) -> None:
    """A kind of cost that orders bring; without a row one that has no budget, whose name is typed."""
    name, budget, places = address(at, NAME), row.budget if row else ZERO, minor_units(quote.pricing.currency)
    sheet.text(at, NAME, row.name if row else "", "label" if row else "text.input")
    sheet.number(at, BUDGET, budget, "money")
    amount(sheet, at, (CHANGES,), "money.input")
    for column, source in ((COMMITTED, ORDERS_COMMITTED), (ACTUAL, ORDERS_ACTUAL)):
        sheet.money(at, column, f"=ROUND({orders.of_kind(source, name)},{places})", ZERO)
    to_go(sheet, at, TO_GO, "money.input")
    spent = (address(at, COMMITTED), address(at, ACTUAL))
    rest = forecast(f"({_plan(at)})", spent, address(at, TO_GO))
    _ends(sheet, quote, at, rest, budget, row.remark if row else "")


def _worked(sheet: Sheet, quote: Quote, at: int, phase: str, cost: Decimal, worked: HoursSheet) -> None:
    """The labour of a phase. What a change order adds stands in Hours, and is in its forecast."""
    places = minor_units(quote.pricing.currency)
    sheet.text(at, NAME, f"Labour: {phase}", "label")
    sheet.number(at, BUDGET, cost, "money")
    for column, source in ((CHANGES, COST_CHANGES), (ACTUAL, COST_WORKED)):
        sheet.money(at, column, f"=ROUND({worked.of_phase(source, phase)},{places})", ZERO)
    sheet.blanks(at, (COMMITTED,))
    sheet.money(at, TO_GO, f"=ROUND({address(at, FORECAST)}-{address(at, ACTUAL)},{places})", cost)
    _ends(sheet, quote, at, worked.of_phase(COST_FORECAST, phase), cost, "from the sheet Hours")


def _ends(sheet: Sheet, quote: Quote, at: int, rest: str, cost: Decimal, remark: str) -> None:
    places = minor_units(quote.pricing.currency)
    sheet.money(at, FORECAST, f"=ROUND({rest},{places})", cost)
    over(sheet, at, OVER, _plan(at), places, "money")
    cause(sheet, at, CAUSE)
    sheet.text(at, REMARK, remark, "text.input")


def _plan(at: int) -> str:
    return f"{address(at, BUDGET)}+{address(at, CHANGES)}"


def _sums(sheet: Sheet, quote: Quote, option: PricedOption, first: int, last: int) -> None:
    """The last row. What is to go in all is what the forecast holds beyond what is spent: a dash has no amount."""
    at, places = last + 1, minor_units(quote.pricing.currency)
    sheet.text(at, NAME, "All costs", "label.total")
    for column in (BUDGET, CHANGES, COMMITTED, ACTUAL, FORECAST):
        value = option.totals.cost if column in (BUDGET, FORECAST) else ZERO
        span = f"{address(first, column)}:{address(last, column)}"
        sheet.money(at, column, f"=ROUND(SUM({span}),{places})", value, "money.total")
    whole, committed, actual = (address(at, column) for column in (FORECAST, COMMITTED, ACTUAL))
    sheet.money(at, TO_GO, f"=ROUND({whole}-{committed}-{actual},{places})", option.totals.cost, "money.total")
    over(sheet, at, OVER, _plan(at), places, "money.total")
    sheet.blanks(at, (CAUSE, REMARK), "label.total")


def _earned(sheet: Sheet, quote: Quote, option: PricedOption, costs: int, billed: BillingSheet) -> None:
    """Price before tax, less cost: as sold, as it looks, and as booked so far: billed, invoiced and worked."""
    totals, top, places = option.totals, costs + 2, minor_units(quote.pricing.currency)
    section(sheet, top, "What the job earns")
    table_head(sheet, top + 1, 0, EARNED, (1, 2, 3))
    price, cost = totals.total - totals.tax, totals.cost
    sheet.text(top + 2, NAME, "Price before tax", "label")
    sheet.number(top + 2, 1, price, "money")
    sheet.money(top + 2, 2, f"=ROUND({address(top + 2, 1)}+{billed.change_before_tax(places)},{places})", price)
    sheet.money(top + 2, 3, f"=ROUND({billed.billed_before_tax},{places})", ZERO)
    columns = ((1, BUDGET, price, cost), (2, FORECAST, price, cost), (3, ACTUAL, ZERO, ZERO))
    for offset, label in enumerate(("Cost", "Gross profit", "Margin"), top + 3):
        sheet.text(offset, NAME, label, "label.total" if label == "Margin" else "label")
    for column, source, sold, value in columns:
        under, less, profit = (address(top + row, column) for row in (2, 3, 4))
        sheet.money(top + 3, column, f"=ROUND({address(costs, source)},{places})", value)
        sheet.money(top + 4, column, f"=ROUND({under}-{less},{places})", sold - value)
        rate = round_to((sold - value) / sold, 4) if sold and value else ""
        sheet.formula(top + 5, column, f'=IF({under}=0,"",IF({less}=0,"",ROUND({profit}/{under},4)))', rate,
                      "rate.total")
    sheet.text(top + 6, NAME, "Lowest margin the owner accepts", "label")
    sheet.number(top + 6, 1, quote.pricing.margin_floor, "rate")
    red_under(sheet, top + 5, top + 5, 2, sheet.at(top + 6, 1))

"""The sheet Cost of a job record: what each kind of cost was planned at, came to, will come to; and what is earned."""

from __future__ import annotations

from decimal import Decimal

from quoting.documents.job_billing import BillingSheet
from quoting.documents.job_hours import COST_FORECAST, COST_WORKED, HoursSheet
from quoting.documents.job_row import amount, cause, forecast, over, to_go
from quoting.documents.office_look import page, protect, red_under, section, table_head, title_block
from quoting.documents.sheet_writer import Sheet, address
from quoting.lines import PHASES
from quoting.money import ZERO, minor_units, round_to
from quoting.quote import PricedOption, Quote

HEADINGS = ("Cost of", "Budget", "Changes", "Committed", "Actual", "To go", "Forecast", "Over", "Over, %", "Cause",
            "Note")
NAME, BUDGET, CHANGES, COMMITTED, ACTUAL, TO_GO, FORECAST, OVER, RATE, CAUSE, REMARK = range(11)
NOTE = ("Yellow is typed. Changes: cost of signed change orders. Committed: ordered, not yet invoiced. Actual: "
        "invoiced. To go: what else is expected; a dash is the rest of budget and changes. Labour: from Hours.")
EARNED = ("Margin", "As sold", "Forecast", "Booked")


def write_costs(sheet: Sheet, quote: Quote, option: PricedOption, worked: HoursSheet, billed: BillingSheet) -> None:
    """Writes the sheet. The budget is the cost that the quote was priced on, to the cent."""
    top = title_block(sheet, quote, f"Job cost: {option.name}", NOTE)
    first = at = top + 1
    table_head(sheet, top, 0, HEADINGS, tuple(range(BUDGET, CAUSE)))
    for name, cost, remark in _budget(quote, option):
        _bought(sheet, quote, at, name, cost, remark)
        at += 1
    for phase in PHASES:
        cost = sum((row.cost for row in option.labour if row.phase == phase), ZERO)
        if cost:
            _worked(sheet, quote, at, phase, cost, worked)
            at += 1
    _sums(sheet, quote, option, first, at - 1)
    _earned(sheet, quote, option, at, billed)
    sheet.worksheet.freeze_panes(first, BUDGET)
    sheet.set_widths(at_least=9.5, A=30.0, **dict.fromkeys("BCDEFGH", 10.5), I=8.0, J=9.5, K=22.0)
    page(sheet, quote, at + 8, REMARK, (top, top), keys=1)
    protect(sheet)


def _budget(quote: Quote, option: PricedOption) -> list[tuple[str, Decimal, str]]:
    """Kinds of cost that are not labour, in the order of the price rules; none that costs nothing."""
    totals, found = option.totals, {rule.category: ZERO for rule in quote.pricing.categories}
    for row in option.materials:
        category = quote.parts[row.part].category
        found[category] = found.get(category, ZERO) + row.cost
    rows = [(f"Parts: {category}", cost, "") for category, cost in found.items()]
    rows += [
        ("Tails of spools too short to keep", totals.scrap_cost, "thrown away, at cost"),
        ("Freight", totals.freight, ""),
        ("Tax that the firm pays on parts", totals.contractor_tax, ""),
        ("Contingency", totals.contingency, "0 to go once not needed"),
    ]
    return [row for row in rows if row[1]]


def _bought(sheet: Sheet, quote: Quote, at: int, name: str, cost: Decimal, remark: str) -> None:
    sheet.text(at, NAME, name, "label")
    sheet.number(at, BUDGET, cost, "money")
    amount(sheet, at, (CHANGES, COMMITTED, ACTUAL), "money.input")
    to_go(sheet, at, TO_GO, "money.input")
    spent = (address(at, COMMITTED), address(at, ACTUAL))
    rest = forecast(f"({_plan(at)})", spent, address(at, TO_GO))
    _ends(sheet, quote, at, rest, cost, remark)


def _worked(sheet: Sheet, quote: Quote, at: int, phase: str, cost: Decimal, worked: HoursSheet) -> None:
    places = minor_units(quote.pricing.currency)
    sheet.text(at, NAME, f"Labour: {phase}", "label")
    sheet.number(at, BUDGET, cost, "money")
    amount(sheet, at, (CHANGES,), "money.input")
    sheet.blanks(at, (COMMITTED, TO_GO))
    sheet.money(at, ACTUAL, f"=ROUND({worked.of_phase(COST_WORKED, phase)},{places})", ZERO)
    rest = f"{worked.of_phase(COST_FORECAST, phase)}+{address(at, CHANGES)}"
    _ends(sheet, quote, at, rest, cost, "from the sheet Hours")


def _ends(sheet: Sheet, quote: Quote, at: int, rest: str, cost: Decimal, remark: str) -> None:
    places = minor_units(quote.pricing.currency)
    sheet.money(at, FORECAST, f"=ROUND({rest},{places})", cost)
    over(sheet, at, OVER, _plan(at), places, "money")
    cause(sheet, at, CAUSE)
    sheet.text(at, REMARK, remark, "text.input")


def _plan(at: int) -> str:
    return f"{address(at, BUDGET)}+{address(at, CHANGES)}"


def _sums(sheet: Sheet, quote: Quote, option: PricedOption, first: int, last: int) -> None:
    at, places = last + 1, minor_units(quote.pricing.currency)
    sheet.text(at, NAME, "All costs", "label.total")
    for column in (BUDGET, CHANGES, COMMITTED, ACTUAL, TO_GO, FORECAST):
        value = option.totals.cost if column in (BUDGET, FORECAST) else ZERO
        span = f"{address(first, column)}:{address(last, column)}"
        sheet.money(at, column, f"=ROUND(SUM({span}),{places})", value, "money.total")
    over(sheet, at, OVER, _plan(at), places, "money.total")
    sheet.blanks(at, (CAUSE, REMARK), "label.total")


def _earned(sheet: Sheet, quote: Quote, option: PricedOption, costs: int, billed: BillingSheet) -> None:
    """Price before tax, less cost: as sold, as it looks, and as booked, which is final once nothing is to go."""
    totals, top, places = option.totals, costs + 2, minor_units(quote.pricing.currency)
    section(sheet, top, "What the job earns")
    table_head(sheet, top + 1, 0, EARNED, (1, 2, 3))
    price, cost = totals.total - totals.tax, totals.cost
    sheet.text(top + 2, NAME, "Price before tax", "label")
    sheet.number(top + 2, 1, price, "money")
    changed = f"=ROUND({address(top + 2, 1)}+{billed.change_before_tax(places)},{places})"
    for column in (2, 3):
        sheet.money(top + 2, column, changed, price)
    columns = ((1, BUDGET, cost), (2, FORECAST, cost), (3, ACTUAL, ZERO))
    for offset, label in enumerate(("Cost", "Gross profit", "Margin"), top + 3):
        sheet.text(offset, NAME, label, "label.total" if label == "Margin" else "label")
    for column, source, value in columns:
        under, less, profit = (address(top + row, column) for row in (2, 3, 4))
        sheet.money(top + 3, column, f"=ROUND({address(costs, source)},{places})", value)
        sheet.money(top + 4, column, f"=ROUND({under}-{less},{places})", price - value)
        rate = round_to((price - value) / price, 4) if price and value else ""
        sheet.formula(top + 5, column, f'=IF({under}=0,"",IF({less}=0,"",ROUND({profit}/{under},4)))', rate,
                      "rate.total")
    sheet.text(top + 6, NAME, "Lowest margin the owner accepts", "label")
    sheet.number(top + 6, 1, quote.pricing.margin_floor, "rate")
    red_under(sheet, top + 5, top + 5, 2, sheet.at(top + 6, 1))

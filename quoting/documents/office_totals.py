"""The sheet Totals: every step from materials and labour to the total, the cost, what is left, and the payments."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal

from quoting.documents.office_bill import BillSheet
from quoting.documents.office_inputs import InputCells
from quoting.documents.office_labour import LabourSheet, sold_hour_cost
from quoting.documents.office_ledger import Ledger
from quoting.documents.office_look import if_none, page, protect, title_block
from quoting.documents.office_purchases import KEY, LOST, OUTLAY, PurchaseSheet
from quoting.documents.office_risk import write_risk
from quoting.documents.office_rows import OfficeRows
from quoting.documents.office_tax import write_line_taxes, write_split, write_taxes
from quoting.documents.office_tax_lines import write_tax_lines
from quoting.documents.sheet_writer import Sheet
from quoting.money import ZERO, r2, share
from quoting.quote import Totals


def write_totals(
    sheet: Sheet,
    rows: OfficeRows,
    inputs: InputCells,
    bill: BillSheet,
    labour: LabourSheet,
    purchases: PurchaseSheet,
    line_sheet: Sheet | None,
) -> Ledger:
    """Writes the sheet (and, where taxes are rounded line by line, Tax lines) and tells where each line stands."""
    top = title_block(
        sheet,
        rows.quote,
        "Totals",
        "The whole arithmetic, one step a line, in the order in which it is done. "
        "Every amount is rounded where it arises; a sum is a sum of rounded amounts.",
    )
    ledger = Ledger(sheet, rows, top - 1)
    _sums(ledger, inputs, bill, labour)
    if line_sheet:
        write_line_taxes(ledger, write_tax_lines(line_sheet, rows, inputs, bill, labour, ledger))
    else:
        write_split(ledger, bill, labour)
        write_taxes(ledger, inputs)
    _total(ledger, inputs)
    write_risk(ledger, inputs, labour)
    _cost(ledger, bill, labour, purchases)
    _left(ledger, labour)
    _plan(ledger, inputs)
    sheet.worksheet.freeze_panes(top, 1)
    sheet.set_widths(at_least=14, at_most=40, A=40.0, B=40.0)
    page(sheet, rows.quote, ledger.row, ledger.last)
    protect(sheet)
    return ledger


def _totals(ledger: Ledger) -> list[Totals]:
    return [option.totals for option in ledger.rows.options]


def _sums(ledger: Ledger, inputs: InputCells, bill: BillSheet, labour: LabourSheet) -> None:
    totals = _totals(ledger)
    ledger.section("Sums")
    ledger.line(
        "materials",
        "Materials",
        "sheet Bill",
        lambda index: bill.sum_of(bill.price + index),
        [found.materials for found in totals],
    )
    ledger.line(
        "labour",
        "Labour",
        "sheet Labour",
        lambda index: labour.sum_of(labour.price + index),
        [found.labour for found in totals],
    )
    ledger.line(
        "freight",
        "Freight",
        "sheet Bill",
        lambda index: bill.sum_of(bill.freight + index),
        [found.freight for found in totals],
    )
    ledger.line(
        "discount",
        "Discount, subtracted",
        "rate x (materials + labour)",
        lambda index: ledger.rounded(f"{inputs.job['discount']}*{ledger.sum(('materials', 'labour'), index)}"),
        [found.discount for found in totals],
    )


def _total(ledger: Ledger, inputs: InputCells) -> None:
    totals = _totals(ledger)

    def before(index: int) -> str:
        parts = ledger.here("materials", index), ledger.here("labour", index), ledger.here("freight", index)
        return ledger.rounded(f"{'+'.join(parts)}-{ledger.here('discount', index)}+{ledger.here('tax', index)}")

    def rounding(index: int) -> str:
        here = ledger.here("before", index)
        return f'IF({inputs.job["whole"]}="yes",{ledger.rounded(f"ROUND({here},0)-{here}")},0)'

    ledger.section("Total")
    ledger.line(
        "before",
        "Before rounding",
        "materials + labour + freight - discount + taxes",
        before,
        [found.total - found.rounding for found in totals],
    )
    ledger.line(
        "rounding",
        "Rounding",
        "to whole currency units, where asked for",
        rounding,
        [found.rounding for found in totals],
    )
    ledger.total(
        "total",
        "Total",
        "what the customer pays",
        lambda index: ledger.sum(("before", "rounding"), index),
        [found.total for found in totals],
    )


def _cost(ledger: Ledger, bill: BillSheet, labour: LabourSheet, purchases: PurchaseSheet) -> None:
    totals = _totals(ledger)

    def of_option(column: str, index: int) -> str:
        return ledger.rounded(f"SUMIFS({column},{purchases.column(KEY)},{index + 1})")

    ledger.section("Cost")
    ledger.line(
        "material cost",
        "Materials",
        "sheet Bill: need at unit cost",
        lambda index: bill.sum_of(bill.cost + index),
        [found.material_cost for found in totals],
    )
    ledger.line(
        "labour cost",
        "Labour",
        "sheet Labour: at the cost chosen on Inputs",
        lambda index: labour.sum_of(labour.cost + index),
        [found.labour_cost for found in totals],
    )
    ledger.line(
        "freight cost",
        "Freight",
        "as charged",
        lambda index: ledger.here("freight", index),
        [found.freight for found in totals],
    )
    ledger.line(
        "contractor tax",
        "Tax that the firm pays",
        "where the contractor is the consumer of the goods",
        lambda index: bill.sum_of(bill.contractor_tax + index) if bill.contractor_tax >= 0 else "0",
        [found.contractor_tax for found in totals],
    )
    ledger.line(
        "scrap",
        "Tails too short to keep",
        "sheet Purchases",
        lambda index: of_option(purchases.column(LOST), index),
        [found.scrap_cost for found in totals],
    )
    ledger.line(
        "contingency cost",
        "Contingency",
        "above",
        lambda index: ledger.here("contingency", index),
        [found.contingency for found in totals],
    )
    keys = ("material cost", "labour cost", "freight cost", "contractor tax", "scrap", "contingency cost")
    ledger.total(
        "cost", "Cost", "all of these", lambda index: ledger.sum(keys, index), [found.cost for found in totals]
    )
    ledger.line(
        "outlay",
        "Cash for purchases",
        "whole packs and spools: not the job's cost",
        lambda index: of_option(purchases.column(OUTLAY), index),
        [found.outlay for found in totals],
    )


def _left(ledger: Ledger, labour: LabourSheet) -> None:
    totals, currency = _totals(ledger), ledger.rows.quote.pricing.currency
    ledger.section("What is left")
    net = [found.total - found.tax for found in totals]
    profit = [found.gross_profit for found in totals]
    per_hour = [r2(found.gross_profit / found.hours, currency) if found.hours else ZERO for found in totals]
    ledger.line("net", "Total less tax", "what margins are measured on", _less(ledger, "total", "tax"), net)
    ledger.total("gross profit", "Gross profit", "total less tax - cost", _less(ledger, "net", "cost"), profit)
    note = "gross profit / total less tax"
    _rate(ledger, "margin", "Margin", note, "gross profit", "net", [found.margin for found in totals])
    ledger.line("per hour", "Gross profit per hour of work", "all hours expected", _per_hour(ledger), per_hour)
    rates = {role.role: role for role in ledger.rows.quote.pricing.roles}
    burdened = [sum((row.direct_cost for row in option.labour), ZERO) for option in ledger.rows.options]
    _labour_left(ledger, labour, "burdened", "burdened cost", labour.burdened, burdened)
    sold = [sold_hour_cost(option.labour, rates, ledger.rows) for option in ledger.rows.options]
    _labour_left(ledger, labour, "sold hour", "cost per sold hour", labour.sold_hour, sold)


def _labour_left(
    ledger: Ledger, labour: LabourSheet, key: str, words: str, column: int, costs: Sequence[Decimal]
) -> None:
    """Labour's margin on one of its two costs."""
    totals = _totals(ledger)
    left = [found.labour - cost for found, cost in zip(totals, costs, strict=True)]
    margins = [found.labour_margin_direct if key == "burdened" else found.labour_margin_sold for found in totals]
    ledger.line(key, f"Labour at {words}", "sheet Labour", lambda index: labour.sum_of(column + index), costs)
    ledger.line(f"{key} left", "Labour price less this", "before the discount", _less(ledger, "labour", key), left)
    _rate(ledger, f"{key} margin", f"Labour margin on {words}", "of the labour price", f"{key} left", "labour", margins)


def _less(ledger: Ledger, whole: str, part: str) -> Callable[[int], str]:
    """One named line less another."""
    return lambda index: ledger.rounded(f"{ledger.here(whole, index)}-{ledger.here(part, index)}")


def _per_hour(ledger: Ledger) -> Callable[[int], str]:
    def formula(index: int) -> str:
        hours = ledger.here("hours", index)
        return f"IF({hours}=0,0,{ledger.rounded(ledger.here('gross profit', index) + '/' + hours)})"

    return formula


def _rate(ledger: Ledger, key: str, label: str, note: str, part: str, whole: str, values: Sequence[Decimal]) -> None:
    def formula(index: int) -> str:
        bottom = ledger.here(whole, index)
        return f"IF({bottom}=0,0,ROUND({ledger.here(part, index)}/{bottom},4))"

    ledger.line(key, label, note, formula, values, kind="other", style="rate")


def _plan(ledger: Ledger, inputs: InputCells) -> None:
    """Each payment: cumulative shares first, then the cap on the first one moves its excess to the second."""
    plan, options = ledger.rows.quote.pricing.plan, ledger.rows.options
    if not plan:
        return
    weights = [step.share for step in plan]
    parts = [share(option.totals.total, weights, ledger.rows.quote.pricing.currency) for option in options]
    whole = f"ROUND(SUM({_span(inputs.shares, len(plan))}),6)"
    ledger.section("Payments up to and with this one", "total x running share")
    for number, step in enumerate(plan):

        def up_to(index: int, number: int = number) -> str:
            total = ledger.here("total", index)
            if number == len(plan) - 1:
                return total
            running = f"ROUND(SUM({_span(inputs.shares, number + 1)}),6)"
            return f"IF({whole}=0,0,{ledger.rounded(f'{total}*{running}/{whole}')})"

        ledger.line(f"paid {number}", step.name, "", up_to, [sum(found[: number + 1], ZERO) for found in parts])
    ledger.section("Payments as the plan has them")
    for number, step in enumerate(plan):

        def part(index: int, number: int = number) -> str:
            here = ledger.here(f"paid {number}", index)
            return ledger.rounded(f"{here}-{ledger.here(f'paid {number - 1}', index)}" if number else here)

        ledger.line(f"part {number}", step.name, step.trigger, part, [found[number] for found in parts])
    _capped(ledger, inputs)


def _capped(ledger: Ledger, inputs: InputCells) -> None:
    options = ledger.rows.options
    rate, amount = inputs.job["cap_rate"], inputs.job["cap_amount"]

    def first(index: int) -> str:
        due, total = ledger.here("part 0", index), ledger.here("total", index)
        by_rate = if_none(rate, due, ledger.rounded(f"{rate}*{total}"))
        return ledger.rounded(f"MIN({due},{by_rate},{if_none(amount, due, amount)})")

    ledger.section("Payments", "after the cap on the deposit")
    plan = ledger.rows.quote.pricing.plan
    for number, step in enumerate(plan):

        def due(index: int, number: int = number) -> str:
            if len(plan) == 1:
                return ledger.here("part 0", index)
            if number == 0:
                return first(index)
            here = ledger.here(f"part {number}", index)
            moved = f"+{ledger.here('part 0', index)}-{ledger.here('pay 0', index)}" if number == 1 else ""
            return ledger.rounded(f"{here}{moved}")

        ledger.line(f"pay {number}", step.name, step.trigger, due, [option.plan[number].amount for option in options])


def _span(shares: list[str], count: int) -> str:
    """The first `count` shares, which stand under each other on Inputs."""
    return f"{shares[0]}:{shares[count - 1].split('!')[1]}"

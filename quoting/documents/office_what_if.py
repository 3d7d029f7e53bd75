"""The sheet What if: what a discount, an overrun, dearer goods do to the profit, where the limits are, and the cash.

The price of a signed quote stays; only a discount moves it. Amounts before rounding to whole currency units.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal

from quoting.documents.office_bill import BillSheet
from quoting.documents.office_cash import write_cash
from quoting.documents.office_inputs import InputCells
from quoting.documents.office_labour import LabourSheet
from quoting.documents.office_ledger import Ledger
from quoting.documents.office_look import page, protect, title_block, verdict_colours
from quoting.documents.office_rows import OfficeRows
from quoting.documents.sheet_writer import Sheet
from quoting.money import ZERO, r2, round_to
from quoting.quote import PricedOption, Totals, WhatIf

REACHED, MISSED = "reached", "below floor"
WORDS = {
    "discount": "so much more off materials and labour",
    "hours": "labour costs so much more, the contingency is used up first",
    "material cost": "all materials cost so much more, the price stays",
    "category cost": "{} costs so much more, the price stays",
}


def write_what_if(
    sheet: Sheet, rows: OfficeRows, inputs: InputCells, bill: BillSheet, labour: LabourSheet, totals: Ledger
) -> Ledger:
    """Writes the sheet and tells where each line stands."""
    top = title_block(
        sheet,
        rows.quote,
        "What if",
        "Change a yellow rate. Each block starts from the quote as it stands on Totals and changes one thing alone.",
    )
    ledger = Ledger(sheet, rows, top - 1)
    _as_quoted(ledger, inputs, totals)
    for number, case in enumerate(rows.quote.pricing.what_if):
        _case(ledger, inputs, bill, totals, number, case)
    limits = ledger.row + 1
    _limits(ledger, inputs, totals)
    write_cash(ledger, bill, labour, totals)
    sheet.worksheet.freeze_panes(top, 1)
    sheet.set_widths(at_least=14, at_most=46, A=44.0, B=54.0)
    page(sheet, rows.quote, ledger.row, ledger.last, (0, 2), breaks=(limits,))
    protect(sheet)
    return ledger


def _each(ledger: Ledger) -> list[Totals]:
    return [option.totals for option in ledger.rows.options]


def _as_quoted(ledger: Ledger, inputs: InputCells, totals: Ledger) -> None:
    each = _each(ledger)
    ledger.section("As quoted", "from the sheet Totals")
    net = [found.total - found.tax for found in each]
    ledger.line("net", "Total less tax", "", lambda index: totals.at("net", index), net)
    ledger.line("cost", "Cost", "contingency included", lambda index: totals.at("cost", index),
                [found.cost for found in each])
    ledger.total("profit", "Gross profit", "", lambda index: totals.at("gross profit", index),
                 [found.gross_profit for found in each])
    ledger.line("margin", "Margin", "", lambda index: totals.at("margin", index), [found.margin for found in each],
                kind="other", style="rate")
    ledger.line("floor", "Lowest margin the owner accepts", "sheet Inputs", lambda _: inputs.job["floor"],
                [ledger.rows.quote.pricing.margin_floor] * len(each), kind="other", style="rate")


# ------------------------------------------------------------------------------------------------ one thing alone

def _case(
    ledger: Ledger, inputs: InputCells, bill: BillSheet, totals: Ledger, number: int, case: WhatIf
) -> None:
    """One change: what is lost, and what is left."""
    key, sheet = f"case {number}", ledger.sheet
    ledger.section(case.name, WORDS[case.kind].format(case.category))
    sheet.text(ledger.row, 0, "Change by", "label")
    sheet.number(ledger.row, 1, case.change_rate, "rate.input")
    sheet.blanks(ledger.row, range(2, ledger.last + 1))
    inputs.what_if[case.name] = sheet.at(ledger.row, 1)
    rate = f"$B${ledger.row + 1}"
    ledger.row += 1
    lost = [_lost(ledger.rows, option, case) for option in ledger.rows.options]
    ledger.line(f"{key} lost", "Profit lost", "", _lost_formula(ledger, bill, totals, case, rate), lost)
    _left(ledger, key, case, lost)


def _left(ledger: Ledger, key: str, case: WhatIf, lost: Sequence[Decimal]) -> None:
    """What is left, its margin, and whether the floor is reached."""
    each, floor = _each(ledger), ledger.rows.quote.pricing.margin_floor
    profit = [found.gross_profit - less for found, less in zip(each, lost, strict=True)]
    nets = [found.total - found.tax - (less if case.kind == "discount" else ZERO)
            for found, less in zip(each, lost, strict=True)]
    margins = [round_to(left / net, 4) if net else ZERO for left, net in zip(profit, nets, strict=True)]

    def net(index: int) -> str:
        here = ledger.here("net", index)
        return f"({here}-{ledger.here(f'{key} lost', index)})" if case.kind == "discount" else here

    ledger.total(f"{key} profit", "Gross profit then", "", lambda index: ledger.rounded(
        f"{ledger.here('profit', index)}-{ledger.here(f'{key} lost', index)}"), profit)
    ledger.line(f"{key} margin", "Margin then", "", lambda index: (
        f"IF({net(index)}=0,0,ROUND({ledger.here(f'{key} profit', index)}/{net(index)},4))"), margins,
        kind="other", style="rate")
    at = ledger.row
    ledger.line(f"{key} verdict", "Against the floor", "", lambda index: (
        f'IF({ledger.here(f"{key} margin", index)}<{ledger.here("floor", index)},"{MISSED}","{REACHED}")'),
        [MISSED if margin < floor else REACHED for margin in margins], kind="other", style="verdict")
    verdict_colours(ledger.sheet, at, 2, ledger.last, REACHED, MISSED)


def _lost(rows: OfficeRows, option: PricedOption, case: WhatIf) -> Decimal:
    """What a change takes from the profit of one option."""
    found, currency = option.totals, rows.quote.pricing.currency
    if case.kind == "discount":
        return r2(case.change_rate * (found.materials + found.labour), currency)
    if case.kind == "hours":
        return max(ZERO, r2(case.change_rate * found.labour_cost, currency) - found.contingency)
    cost = found.material_cost if case.kind == "material cost" else sum(
        (row.cost for row in option.materials if rows.category(row.part) == case.category), ZERO)
    return r2(case.change_rate * cost, currency)


def _lost_formula(
    ledger: Ledger, bill: BillSheet, totals: Ledger, case: WhatIf, rate: str
) -> Callable[[int], str]:
    def formula(index: int) -> str:
        if case.kind == "discount":
            return ledger.rounded(f"{rate}*ROUND({totals.at('materials', index)}+{totals.at('labour', index)},"
                                  f"{ledger.places})")
        if case.kind == "hours":
            more = ledger.rounded(f"{rate}*{totals.at('labour cost', index)}")
            return ledger.rounded(f"MAX(0,{more}-{totals.at('contingency cost', index)})")
        if case.kind == "material cost":
            return ledger.rounded(f"{rate}*{totals.at('material cost', index)}")
        number = ledger.rows.categories.get(case.category, 0)
        cost = f"SUMIFS({bill.column(bill.cost + index)},{bill.column(bill.keys)},{number})"
        return ledger.rounded(f"{rate}*{ledger.rounded(cost)}")

    return formula


# ------------------------------------------------------------------------------------------------ limits

def _limits(ledger: Ledger, inputs: InputCells, totals: Ledger) -> None:
    """Where the profit ends: solved, not tried."""
    each, floor = _each(ledger), ledger.rows.quote.pricing.margin_floor

    def gross(index: int) -> str:
        return "+".join(totals.at(key, index) for key in ("materials", "labour", "freight"))

    def base(index: int) -> str:
        return f"({totals.at('materials', index)}+{totals.at('labour', index)})"

    def discount(least: str) -> Callable[[int], str]:
        """The whole discount, in all, at which what is left is `least` of the price."""
        return lambda index: (f"IF({base(index)}=0,0,ROUND(({gross(index)}-{totals.at('cost', index)}/(1-{least}))"
                              f"/{base(index)},4))")

    def overrun(index: int) -> str:
        cost = totals.at("labour cost", index)
        spare = f"({ledger.here('profit', index)}+{totals.at('contingency cost', index)})"
        return f"IF({cost}=0,0,ROUND({spare}/{cost},4))"

    ledger.section("Limits", "solved for, whatever the yellow cells above say")
    ledger.line("discount to floor", "Discount in all at which the margin is the floor", "below 0: it is there already",
                discount(inputs.job["floor"]), [_discount_at(found, floor) for found in each], kind="other",
                style="rate")
    ledger.line("discount to nothing", "Discount in all at which nothing is left", "", discount("0"),
                [_discount_at(found, ZERO) for found in each], kind="other", style="rate")
    ledger.line("overrun", "Overrun of hours that eats contingency and profit", "of the labour cost", overrun,
                [_overrun(found) for found in each], kind="other", style="rate")
    _at_p80(ledger, totals)


def _at_p80(ledger: Ledger, totals: Ledger) -> None:
    """What is left where the hours come to P80."""
    each, currency = _each(ledger), ledger.rows.quote.pricing.currency
    costs = [r2(found.labour_cost * found.p80_hours / found.hours, currency) if found.hours else ZERO for found in each]
    left = [found.gross_profit - max(ZERO, cost - found.labour_cost - found.contingency)
            for found, cost in zip(each, costs, strict=True)]

    def cost(index: int) -> str:
        hours = totals.at("hours", index)
        whole = f"{totals.at('labour cost', index)}*{totals.at('p80', index)}/{hours}"
        return f"IF({hours}=0,0,{ledger.rounded(whole)})"

    def profit(index: int) -> str:
        over = f"{ledger.here('p80 cost', index)}-{totals.at('labour cost', index)}"
        return ledger.rounded(f"{ledger.here('profit', index)}-MAX(0,{over}-{totals.at('contingency cost', index)})")

    ledger.line("p80 cost", "Labour cost at P80 hours", "four jobs of five stay within", cost, costs)
    ledger.total("p80 profit", "Gross profit at P80 hours", "the contingency is used up first", profit, left)


def _discount_at(found: Totals, least: Decimal) -> Decimal:
    base = found.materials + found.labour
    return round_to((base + found.freight - found.cost / (1 - least)) / base, 4) if base else ZERO


def _overrun(found: Totals) -> Decimal:
    spare = found.gross_profit + found.contingency
    return round_to(spare / found.labour_cost, 4) if found.labour_cost else ZERO

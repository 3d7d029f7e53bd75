"""The block Cash on the sheet What if: payments against what each phase costs, and the lowest point between them.

Labour at its burdened cost, for wages are paid whether hours are sold or not. What whole packs cost beyond the need
is paid with the first phase, and so are planning and travel: the careful reading. Tax collected is handed on last.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from decimal import Decimal

from quoting.documents.office_bill import BillSheet
from quoting.documents.office_labour import LabourSheet
from quoting.documents.office_ledger import Ledger
from quoting.lines import PHASES
from quoting.money import ZERO
from quoting.quote import PricedOption

SPREAD = "whole job"  # planning and travel: no phase of their own


def write_cash(ledger: Ledger, bill: BillSheet, labour: LabourSheet, totals: Ledger) -> None:
    """Writes the block: what has come in less what has gone out, at the end of each phase."""
    phases = _phases(ledger)
    if not phases:
        return
    ledger.section("Cash at the end of each phase", "payments in, less goods, wages, freight out")
    for number, phase in enumerate(phases):
        ledger.line(f"cash {number}", phase, _comes_in(ledger, phase),
                    _balance(ledger, bill, labour, totals, phases, number),
                    [_held(ledger, option, phases[: number + 1]) for option in ledger.rows.options])
    lows = [min(_held(ledger, option, phases[: number + 1]) for number in range(len(phases)))
            for option in ledger.rows.options]
    span = range(len(phases))
    ledger.total("lowest cash", "Lowest point", "below 0: the firm lends the job money", lambda index: (
        f"MIN({','.join(ledger.here(f'cash {number}', index) for number in span)})"), lows)
    first = [option.plan[0].amount for option in ledger.rows.options]
    ledger.line("deposit needed", "First payment at which it never falls below 0", "", lambda index: ledger.rounded(
        f"{totals.at('pay 0', index)}+MAX(0,0-{ledger.here('lowest cash', index)})"),
        [paid + max(ZERO, -low) for paid, low in zip(first, lows, strict=True)])
    ledger.total("last cash", "After the last payment and the tax", "gross profit with the contingency unspent, "
                 "less stock", _end(ledger, labour, totals), [_at_end(option) for option in ledger.rows.options])


def _phases(ledger: Ledger) -> list[str]:
    """Phases that cost something, in their order; the whole job's cost goes with the first."""
    used = {row.first.phase for row in ledger.rows.bill} | {row.first.phase for row in ledger.rows.work}
    return [phase for phase in PHASES if phase in used and phase != SPREAD] if ledger.rows.quote.pricing.plan else []


def _due(ledger: Ledger, phase: str) -> list[int]:
    """The payments that have come in by the end of a phase."""
    order: list[str] = list(PHASES)
    return [number for number, step in enumerate(ledger.rows.quote.pricing.plan)
            if step.before and order.index(step.before) <= order.index(phase)]


def _comes_in(ledger: Ledger, phase: str) -> str:
    names = [step.name for step in ledger.rows.quote.pricing.plan if step.before == phase]
    return f"comes in: {', '.join(names)}" if names else ""


def _balance(
    ledger: Ledger, bill: BillSheet, labour: LabourSheet, totals: Ledger, phases: Sequence[str], number: int
) -> Callable[[int], str]:
    def formula(index: int) -> str:
        paid = "+".join(totals.at(f"pay {step}", index) for step in _due(ledger, phases[number]))
        spent = [_spent(ledger, bill, labour, index, phase) for phase in (*phases[: number + 1], SPREAD)]
        surplus = f"({totals.at('outlay', index)}-{totals.at('material cost', index)})"
        return ledger.rounded(f"{paid or '0'}-{surplus}-{'-'.join(spent)}")

    return formula


def _spent(ledger: Ledger, bill: BillSheet, labour: LabourSheet, index: int, phase: str) -> str:
    """What one phase costs in cash."""
    number = ledger.rows.phases[phase]
    goods = [bill.cost, bill.freight] + ([bill.contractor_tax] if bill.contractor_tax >= 0 else [])
    sums = [f"SUMIFS({bill.column(start + index)},{bill.column(bill.keys + 2)},{number})" for start in goods]
    sums.append(f"SUMIFS({labour.column(labour.burdened + index)},{labour.column(labour.keys + 1)},{number})")
    return ledger.rounded("+".join(sums))


def _held(ledger: Ledger, option: PricedOption, phases: Sequence[str]) -> Decimal:
    paid = sum((option.plan[step].amount for step in _due(ledger, phases[-1])), ZERO)
    return paid - _surplus(option) - _cost(option, (*phases, SPREAD))


def _cost(option: PricedOption, phases: Sequence[str]) -> Decimal:
    goods = sum((row.cost + row.freight + row.contractor_tax for row in option.materials if row.phase in phases), ZERO)
    return goods + sum((row.direct_cost for row in option.labour if row.phase in phases), ZERO)


def _surplus(option: PricedOption) -> Decimal:
    return option.totals.outlay - option.totals.material_cost


def _end(ledger: Ledger, labour: LabourSheet, totals: Ledger) -> Callable[[int], str]:
    goods = ("outlay", "freight cost", "contractor tax")

    def formula(index: int) -> str:
        out = "-".join(totals.at(key, index) for key in goods)
        return ledger.rounded(f"{totals.at('total', index)}-{totals.at('tax', index)}-{out}"
                              f"-{labour.sum_of(labour.burdened + index)}")

    return formula


def _at_end(option: PricedOption) -> Decimal:
    found = option.totals
    wages = sum((row.direct_cost for row in option.labour), ZERO)
    return found.total - found.tax - found.outlay - found.freight - found.contractor_tax - wages

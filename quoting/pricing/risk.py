"""The risk of hours: how far they may stray, what four jobs of five stay within, and what that may cost.

The model: an hour figure is normal with the PERT mean (low + 4 likely + high) / 6 and sigma (high - low) / 6. What
makes one task of a phase and wall state go wrong makes its others go wrong too, so inside such a group tasks move
together and sigmas add; groups are independent, so between them squares add.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Literal, cast

from quoting.catalog.records import Catalog
from quoting.job import WallState
from quoting.lines import Phase
from quoting.money import ZERO, r2, round_to
from quoting.problems import Problem, stop
from quoting.quote import PricedLabour

ContingencyMethod = Literal["rate", "P80"]
P80_SIGMAS = Decimal("0.8416")  # the normal distribution's 80 % point


def sigma_hours(rows: Iterable[PricedLabour]) -> Decimal:
    """How far the hours may stray, one standard deviation. [h]

    A task's is (high - low) / 6. Tasks of one phase and wall state go wrong together, so theirs add; the groups go
    wrong apart, so theirs add in squares. Reference: PERT, (b - a) / 6; the grouping is this project's.
    """
    groups: dict[tuple[str, str], Decimal] = {}
    for row in rows:
        key = (row.phase, row.wall_state)
        groups[key] = groups.get(key, ZERO) + (row.high - row.low) / 6
    return sum((sigma * sigma for sigma in groups.values()), ZERO).sqrt()


def p80_hours(rows: Sequence[PricedLabour]) -> Decimal:
    """Hours that four jobs of five stay within: mean + 0.8416 sigma, 2 places. [h]"""
    return round_to(sum((row.hours for row in rows), ZERO) + P80_SIGMAS * sigma_hours(rows), 2)


def p80_by_phase(rows: Iterable[PricedLabour]) -> dict[Phase, Decimal]:
    """`p80_hours` of each phase alone. They sum to more than the job's: not every phase goes wrong in one job. [h]"""
    groups: dict[Phase, list[PricedLabour]] = {}
    for row in rows:
        groups.setdefault(row.phase, []).append(row)
    return {phase: p80_hours(its) for phase, its in groups.items()}


def contingency_inputs(wall_state: WallState, catalog: Catalog
                       ) -> tuple[ContingencyMethod, Decimal, tuple[Problem, ...]]:
    """How the job's wall state asks for risk to be covered: a rate of labour cost, or the step to P80; never both."""
    answer = catalog.standards.ask("contingency", wall_state=wall_state)
    method, rate = answer.text("method"), answer.decimal("contingency_rate")
    if method in ("rate", "P80"):
        return cast(ContingencyMethod, method), rate, ()
    return "rate", rate, (stop(answer.where, "contingency-method", f"Row '{answer.row}' has the method '{method}'; "
                               "allowed are rate, P80.", "Type one of them."),)


def contingency(
    method: ContingencyMethod, rate: Decimal, labour_cost: Decimal, hours: Decimal, p80: Decimal, currency: str,
) -> Decimal:
    """What the risk may cost. The step to P80 costs what an average hour of this job costs. It never moves a price."""
    if method == "rate":
        return r2(labour_cost * rate, currency)
    return r2(labour_cost * (p80 - hours) / hours, currency) if hours else r2(ZERO, currency)

"""The risk of hours: what four jobs of five stay within, by phase and job, and what that may cost."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import Literal, cast

from quoting.catalog.records import Catalog
from quoting.hours import spread_hours, within_p80
from quoting.job import WallState
from quoting.lines import Phase
from quoting.money import ZERO, r2
from quoting.problems import Problem, stop
from quoting.quote import PricedLabour

ContingencyMethod = Literal["rate", "P80"]


def sigma_hours(rows: Iterable[PricedLabour]) -> Decimal:
    """How far the hours may stray, one standard deviation: tasks of one phase and wall state go wrong together. [h]"""
    return spread_hours(((row.phase, row.wall_state), row.low, row.high) for row in rows)


def p80_hours(rows: Sequence[PricedLabour]) -> Decimal:
    """Hours that four jobs of five stay within, 2 places. [h]"""
    return within_p80(sum((row.hours for row in rows), ZERO), sigma_hours(rows))


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

"""Labour rows get a price and a cost, and the job's risk in hours becomes a contingency."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Literal, cast

from quoting.catalog.records import Catalog
from quoting.job import WallState
from quoting.lines import LabourRow
from quoting.money import ZERO, r2, round_to
from quoting.problems import Problem, stop
from quoting.quote import PricedLabour, RoleRate

ContingencyMethod = Literal["rate", "P80"]
P80_SIGMAS = Decimal("0.8416")  # the normal distribution's 80 % point


def role_rates(rows: Iterable[LabourRow], currency: str, catalog: Catalog
               ) -> tuple[dict[str, RoleRate], tuple[Problem, ...]]:
    """The rates of every role that works here. A role without rates in the currency is a stop."""
    found: dict[str, RoleRate] = {}
    problems: list[Problem] = []
    for role, task in sorted({row.role: row.task for row in reversed(tuple(rows))}.items()):
        rate = catalog.rates.get((role, currency))
        if rate is None:
            problems.append(stop(
                catalog.tasks[task].where, "no-rate", f"Task '{task}' is done by '{role}', who has no rates in "
                f"{currency}.", f"Add a row for '{role}' in {currency} to rates.csv."))
        else:
            found[role] = RoleRate(role=role, pay=rate.pay, burdened=rate.burdened, sold_hour=rate.sold_hour,
                                   price=rate.price)
    return found, tuple(problems)


def price_labour(rows: Iterable[LabourRow], rates: Mapping[str, RoleRate], catalog: Catalog, currency: str
                 ) -> tuple[PricedLabour, ...]:
    """Every row priced: price = r2(hours x the role's price), 0 where the task is not sold.

    Cost is on the firm's basis; hours that no task sells cost the burdened rate, since the cost per sold hour
    already carries them. Rows of a role without rates are left out (`role_rates` stopped on them).
    """
    priced: list[PricedLabour] = []
    nothing = r2(ZERO, currency)
    by_sold_hour = catalog.firm.cost_basis == "sold hour"
    for row in rows:
        rate = rates.get(row.role)
        if rate is None:
            continue
        sold = catalog.tasks[row.task].sold
        direct = r2(row.hours * rate.burdened, currency)
        priced.append(PricedLabour(
            id=row.id, task=row.task, role=row.role, phase=row.phase, room=row.room, zone=row.zone,
            wall_state=row.wall_state, units=row.units, low=row.low, likely=row.likely, high=row.high,
            hours=row.hours, price=r2(row.hours * rate.price, currency) if sold else nothing,
            cost=r2(row.hours * rate.sold_hour, currency) if sold and by_sold_hour else direct, direct_cost=direct,
            factors=row.factors, because=row.because, ruled_hours=row.ruled_hours,
        ))
    return tuple(priced)


def sold_hour_cost(rows: Iterable[PricedLabour], rates: Mapping[str, RoleRate], catalog: Catalog, currency: str
                   ) -> Decimal:
    """What the rows cost at the rates per sold hour, whichever basis the firm uses; unsold hours as burdened."""
    return sum((
        r2(row.hours * rates[row.role].sold_hour, currency) if catalog.tasks[row.task].sold else row.direct_cost
        for row in rows
    ), ZERO)


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

"""Labour rows get a price and a cost at their roles' rates."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

from quoting.catalog.records import Catalog
from quoting.lines import LabourRow
from quoting.money import ZERO, r2
from quoting.problems import Problem, stop
from quoting.quote import PricedLabour, RoleRate


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

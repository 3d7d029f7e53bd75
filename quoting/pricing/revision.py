"""What the next revision of the proposal costs: the labour that the rules then charge and do not charge now."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from quoting.catalog.records import Catalog
from quoting.lines import LabourRow
from quoting.money import ZERO, r2
from quoting.pricing.labour import price_labour, role_rates
from quoting.pricing.tax import LABOUR, customer_taxes
from quoting.problems import Problem
from quoting.quote import Pricing


def revision_price(
    now: Sequence[LabourRow], then: Sequence[LabourRow], pricing: Pricing, catalog: Catalog
) -> tuple[Decimal | None, tuple[Problem, ...]]:
    """`now` and `then`: the labour of the job as a whole, as it is and one revision later. With the job's discount and
    what the customer pays of tax; None where a revision is free. A role that works only then has its rates too."""
    money = pricing.currency
    gone, added = ([row for row in rows if row not in others] for rows, others in ((now, then), (then, now)))
    rates, problems = role_rates((*gone, *added), money, catalog)
    before, after = (sum((row.price for row in price_labour(rows, rates, catalog, money)), ZERO)
                     for rows in (gone, added))
    net = after - before
    net -= r2(pricing.discount_rate * net, money)
    taxes = customer_taxes(pricing.taxes, {LABOUR: (net,)}, pricing.tax_basis == "line", money)
    price = net + sum((tax.amount for tax in taxes), ZERO)
    return (price if price > ZERO else None), problems

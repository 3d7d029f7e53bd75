"""What the next revision of the proposal costs: the labour that the rules then charge and do not charge now."""

from __future__ import annotations

from decimal import Decimal

from quoting.catalog.records import Catalog
from quoting.lines import Rows
from quoting.money import ZERO, r2
from quoting.pricing.labour import price_labour
from quoting.pricing.tax import LABOUR, customer_taxes
from quoting.quote import Pricing


def revision_price(now: Rows, then: Rows, pricing: Pricing, catalog: Catalog) -> Decimal | None:
    """`now` and `then`: the rows of the job as a whole, as it is and one revision later. With the job's discount and
    what the customer pays of tax; None where a revision is free."""
    money, rates = pricing.currency, {role.role: role for role in pricing.roles}
    before, after = (sum((row.price for row in price_labour(rows.labour, rates, catalog, money)), ZERO)
                     for rows in (now, then))
    net = after - before
    net -= r2(pricing.discount_rate * net, money)
    taxes = customer_taxes(pricing.taxes, {LABOUR: (net,)}, pricing.tax_basis == "line", money)
    price = net + sum((tax.amount for tax in taxes), ZERO)
    return price if price > ZERO else None

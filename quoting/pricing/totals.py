"""One option's totals, in the order of the money rules: discount, taxes, rounding, costs, margins."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from quoting.catalog.records import Catalog
from quoting.job import Job
from quoting.lines import Purchase
from quoting.money import ZERO, r2, round_to, share
from quoting.pricing.labour import sold_hour_cost
from quoting.pricing.markup import margin_of
from quoting.pricing.risk import contingency, p80_hours
from quoting.pricing.tax import FREIGHT, LABOUR, customer_taxes
from quoting.problems import Problem, stop
from quoting.quote import PricedLabour, PricedMaterial, Pricing, Totals

Materials = Sequence[PricedMaterial]
Labours = Sequence[PricedLabour]


def grand_total(
    materials: Decimal, labour: Decimal, freight: Decimal, discount: Decimal, tax: Decimal, whole_units: bool,
) -> tuple[Decimal, Decimal]:
    """The total, and the rounding that it holds: total = materials + labour + freight - discount + tax + rounding."""
    exact = materials + labour + freight - discount + tax
    rounding = round_to(exact, 0) - exact if whole_units else exact - exact
    return exact + rounding, rounding


def price_totals(
    materials: Materials, labour: Labours, purchases: Sequence[Purchase], pricing: Pricing, catalog: Catalog,
) -> Totals:
    """Everything that one option comes to, for the customer and for the owner. Margins are of the total less tax.

    The two labour margins are before the discount, one on the burdened rate, one on the cost per sold hour.
    """
    money = pricing.currency
    goods, work = _sum(row.price for row in materials), _sum(row.price for row in labour)
    freight = r2(_sum(row.freight for row in materials), money)
    discount = r2(pricing.discount_rate * (goods + work), money)
    by_line = pricing.tax_basis == "line"
    amounts = (_by_line if by_line else _by_category)(materials, labour, discount, freight, pricing, catalog)
    taxes = customer_taxes(pricing.taxes, amounts, by_line, money)
    tax = r2(_sum(each.amount for each in taxes), money)
    total, rounding = grand_total(r2(goods, money), r2(work, money), freight, discount, tax, pricing.whole_units)
    hours, p80 = _sum(row.hours for row in labour), p80_hours(labour)
    labour_cost = r2(_sum(row.cost for row in labour), money)
    costs = {
        "material_cost": r2(_sum(row.cost for row in materials), money), "labour_cost": labour_cost,
        "contractor_tax": r2(_sum(row.contractor_tax for row in materials), money),
        "scrap_cost": _scrap_cost(purchases, pricing),
        "contingency": contingency(pricing.contingency_method, pricing.contingency_rate, labour_cost, hours, p80,
                                   money),
    }
    cost = _sum(costs.values()) + freight
    rates = {role.role: role for role in pricing.roles}
    return Totals(
        materials=r2(goods, money), labour=r2(work, money), freight=freight, discount=discount, taxes=taxes, tax=tax,
        rounding=rounding, total=total, **costs, cost=cost, gross_profit=total - tax - cost,
        margin=margin_of(cost, total - tax), hours=round_to(hours, 2), p80_hours=p80,
        labour_margin_direct=margin_of(_sum(row.direct_cost for row in labour), work),
        labour_margin_sold=margin_of(sold_hour_cost(labour, rates, catalog, money), work),
        outlay=r2(_sum(purchase.outlay for purchase in purchases), money),
    )


def _sum(amounts: Iterable[Decimal]) -> Decimal:
    return sum(amounts, ZERO)


def _by_category(materials: Materials, labour: Labours, discount: Decimal, freight: Decimal, pricing: Pricing,
                 catalog: Catalog) -> dict[str, tuple[Decimal, ...]]:
    """Invoice basis: what each category comes to after its share of the discount. Freight has none."""
    gross = dict.fromkeys([category.category for category in pricing.categories], ZERO)
    for material in materials:
        gross[catalog.parts[material.part].category] += material.price
    gross[LABOUR] = _sum(row.price for row in labour)
    off = share(discount, list(gross.values()), pricing.currency)
    return {**{name: (amount - less,) for (name, amount), less in zip(gross.items(), off, strict=True)},
            FREIGHT: (freight,)}


def _by_line(materials: Materials, labour: Labours, discount: Decimal, _: Decimal, pricing: Pricing, catalog: Catalog
             ) -> dict[str, list[Decimal]]:
    """Line basis: the discount is shared over the rows, materials then labour, in the bill's order."""
    prices = [row.price for row in materials] + [row.price for row in labour]
    nets = [price - less for price, less in zip(prices, share(discount, prices, pricing.currency), strict=True)]
    amounts: dict[str, list[Decimal]] = {category.category: [] for category in pricing.categories}
    for row, net in zip(materials, nets, strict=False):
        amounts[catalog.parts[row.part].category].append(net)
    return {**amounts, LABOUR: nets[len(materials):], FREIGHT: [row.freight for row in materials]}


def _scrap_cost(purchases: Sequence[Purchase], pricing: Pricing) -> Decimal:
    """Tails too short to keep, at unit cost."""
    unit_costs: Mapping[str, Decimal] = {part.part: part.unit_cost for part in pricing.parts}
    return r2(_sum(
        r2(purchase.scrap * unit_costs.get(purchase.part, ZERO), pricing.currency) for purchase in purchases
    ), pricing.currency)


def check_approval(job: Job, pricing: Pricing, totals: Mapping[str, Totals]) -> tuple[Problem, ...]:
    """A discount wants a reason; beyond the free discount, or below the owner's margin floor, it wants a name."""
    rate, problems = pricing.discount_rate, []
    if rate > 0 and not pricing.discount_reason:
        problems.append(stop(
            job.where("discount_rate")[0], "discount-without-reason", f"The discount of '{_percent(rate)}' has no "
            "reason; every discount needs one.", "Type the reason in 'Discount reason', or clear the discount."))
    if pricing.approved_by:
        return tuple(problems)
    if rate > pricing.free_discount:
        problems.append(stop(
            job.where("discount_rate")[0], "discount-not-approved", f"The discount of '{_percent(rate)}' is above the "
            f"{_percent(pricing.free_discount)} that needs no approval.",
            "Type who approved it in 'Approved by', or give less."))
    low = [f"'{name}' {_percent(total.margin)}" for name, total in totals.items()
           if total.margin < pricing.margin_floor]
    if low:
        problems.append(stop(
            job.where("approved_by")[0], "margin-under-floor", f"The margin of {', '.join(low)} is below the owner's "
            f"floor of {_percent(pricing.margin_floor)}.",
            "Type who approved it in 'Approved by', or raise prices or lower the discount."))
    return tuple(problems)


def _percent(rate: Decimal) -> str:
    return f"{round_to(rate * 100, 2).normalize():f} %"

"""Material rows get a cost, a price, freight and the tax that the firm pays on them."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import cast

from quoting.catalog.records import Catalog, Price
from quoting.lines import Bill, MaterialRow
from quoting.money import ONE, ZERO, r2, round_to
from quoting.pricing.markup import PRICE_PLACES, unit_price
from quoting.problems import Problem, stop, warning
from quoting.quote import CategoryPricing, MarkupBasis, PartInfo, PartPricing, PricedMaterial

BASES = ("markup", "margin", "list")


def costing_price(part: str, currency: str, catalog: Catalog) -> Price | None:
    """The put-up that sets a part's unit cost, whatever is bought: the one marked so, else the smallest."""
    prices = catalog.prices.get((part, currency), ())
    return next((price for price in prices if price.costing), prices[-1] if prices else None)


def part_inputs(parts: Iterable[str], currency: str, catalog: Catalog) -> dict[str, PartPricing]:
    """Cost and price inputs of the parts that have a price in the currency. (The bill stops on the others.)"""
    found: dict[str, PartPricing] = {}
    for part in sorted(parts):
        price = costing_price(part, currency, catalog)
        if price is not None:
            found[part] = PartPricing(
                part=part, unit_cost=round_to(price.unit_cost, PRICE_PLACES), list_price=price.list_price,
                floor_price=price.floor_price, own_markup=catalog.parts[part].own_markup,
            )
    return found


def part_infos(parts: Iterable[str], currency: str, catalog: Catalog) -> dict[str, PartInfo]:
    """What documents say of these parts; a part without a price is left out."""
    found: dict[str, PartInfo] = {}
    for name in sorted(parts):
        part, price = catalog.parts.get(name), costing_price(name, currency, catalog)
        if part is not None and price is not None:
            found[name] = PartInfo(
                description=part.description, words=part.words, category=part.category, supplier=part.supplier,
                unit=part.unit, lead_days=part.lead_days, price_date=price.from_date,
            )
    return found


def category_inputs(parts: Iterable[PartPricing], catalog: Catalog
                    ) -> tuple[tuple[CategoryPricing, ...], tuple[Problem, ...]]:
    """How the categories of these parts are priced, by name. Unanswered where the standard markup has no row."""
    its: dict[str, list[PartPricing]] = {}
    for part in parts:
        its.setdefault(catalog.parts[part.part].category, []).append(part)
    found: list[CategoryPricing] = []
    problems: list[Problem] = []
    for category in sorted(its):
        answer = catalog.standards.ask("markup", category=category)
        basis, rate = answer.text("basis"), answer.decimal("markup_rate")
        if basis not in BASES:
            problems.append(stop(answer.where, "markup-basis", f"Row '{answer.row}' prices by '{basis}'; allowed are "
                                 "markup, margin, list.", "Type one of them."))
            basis = "markup"
        if basis == "margin" and rate >= ONE:
            problems.append(stop(answer.where, "margin-rate", f"Row '{answer.row}' asks for a margin of '{rate:f}'; a "
                                 "margin is a share of the price and stays below 1.", "Type 0.45 for 45 %."))
            basis = "markup"
        if basis == "list":
            problems.extend(_without_list(its[category], catalog))
        found.append(CategoryPricing(
            category=category, words=answer.text("words"), basis=cast(MarkupBasis, basis), rate=rate,
            freight_rate=answer.decimal("freight_rate"), warn_days=int(answer.decimal("warn_days")), row=answer.row,
        ))
    return tuple(found), tuple(problems)


def _without_list(parts: Iterable[PartPricing], catalog: Catalog) -> list[Problem]:
    return [
        stop(catalog.parts[part.part].where, "no-list-price", f"Part '{part.part}' is sold by list, and it has no "
             "list price.", "Type one in prices.csv, or give the part a markup of its own in parts.csv.")
        for part in parts if part.list_price is None and part.own_markup is None
    ]


def price_materials(
    bill: Bill, parts: Mapping[str, PartPricing], categories: Sequence[CategoryPricing],
    contractor_rates: Mapping[str, Sequence[Decimal]], catalog: Catalog, currency: str,
) -> tuple[tuple[PricedMaterial, ...], tuple[Problem, ...]]:
    """Every row priced: price = r2(need x unit_price), cost = r2(need x unit_cost), freight = r2(cost x its rate).

    `contractor_rates`: the taxes on cost by category; each is rounded by itself.
    """
    by_name = {category.category: category for category in categories}
    prices = {name: unit_price(part, by_name[catalog.parts[name].category]) for name, part in parts.items()}
    priced: list[PricedMaterial] = []
    problems: list[Problem] = []
    for row in bill.materials:
        part = parts.get(row.part)
        if part is None:
            continue  # no price in the currency: dropped by the estimator, or the bill has stopped on it
        price, rule = prices[row.part]
        if row.override_price is not None:
            price, rule = row.override_price, "override"
            problems.extend(_under_floor(row, part, price))
        category = by_name[catalog.parts[row.part].category]
        cost = r2(row.need * part.unit_cost, currency)
        priced.append(PricedMaterial(
            id=row.id, part=row.part, room=row.room, zone=row.zone, phase=row.phase, need=row.need, unit=row.unit,
            unit_cost=part.unit_cost, unit_price=price, price_rule=rule, cost=cost,
            price=r2(row.need * price, currency), freight=r2(cost * category.freight_rate, currency),
            contractor_tax=r2(sum((r2(cost * rate, currency) for rate in contractor_rates[category.category]), ZERO),
                              currency),
            because=row.because, ruled_need=row.ruled_need,
        ))
    return tuple(priced), tuple(problems)


def _under_floor(row: MaterialRow, part: PartPricing, price: Decimal) -> list[Problem]:
    if part.floor_price is None or price >= part.floor_price:
        return []
    where = next(reason.rule_cell for reason in reversed(row.because) if reason.rule == "override")
    return [warning(where, "under-floor-price", f"The price '{price:f}' for '{row.part}' is below its floor of "
                    f"{part.floor_price:f}.", "Type the floor or more, or ask the owner.")]


def below_cost(parts: Iterable[PartPricing], categories: Sequence[CategoryPricing], catalog: Catalog
               ) -> tuple[Problem, ...]:
    """A warning for each part that the catalogue's own rules sell for less than it costs."""
    by_name = {category.category: category for category in categories}
    sold = ((part, *unit_price(part, by_name[catalog.parts[part.part].category])) for part in parts)
    return tuple(
        warning(catalog.parts[part.part].where, "sold-below-cost", f"Part '{part.part}' sells at {price:f} by its "
                f"{rule} and costs {part.unit_cost:f}.", "Correct its cost or list price in prices.csv, or its markup.")
        for part, price, rule in sold if price < part.unit_cost
    )


def old_prices(parts: Iterable[str], categories: Sequence[CategoryPricing], currency: str, on: datetime.date,
               catalog: Catalog) -> tuple[Problem, ...]:
    """One problem for each category with prices older than its days: a warning, or a stop where the firm says so."""
    limits = {category.category: category.warn_days for category in categories}
    old: dict[str, list[Price]] = {}
    for part in sorted(parts):
        price, category = costing_price(part, currency, catalog), catalog.parts[part].category
        if price is not None and limits.get(category) and (on - price.from_date).days > limits[category]:
            old.setdefault(category, []).append(price)
    report = stop if catalog.firm.stop_on_old_prices else warning
    problems: list[Problem] = []
    for category, prices in old.items():
        oldest = min(prices, key=lambda price: price.from_date)
        many = f"{len(prices)} prices" if len(prices) > 1 else "A price"
        problems.append(report(
            oldest.where, "old-price", f"{many} of category '{category}' are more than {limits[category]} days old "
            f"on {on.isoformat()}; the oldest, of '{oldest.part}', is from {oldest.from_date.isoformat()}."
            if len(prices) > 1 else
            f"The price of '{oldest.part}' (category '{category}') from {oldest.from_date.isoformat()} is more than "
            f"{limits[category]} days old on {on.isoformat()}.", "Ask the supplier, and add rows with today's date."))
    return tuple(problems)

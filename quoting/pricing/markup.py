"""Cost, markup and margin: what a part sells for under each basis. Never a bare "percent"."""

from __future__ import annotations

from decimal import Decimal

from quoting.money import ONE, round_to
from quoting.quote import CategoryPricing, PartPricing

PRICE_PLACES = 4  # of a unit price and a unit cost


def at_markup(cost: Decimal, markup: Decimal) -> Decimal:
    """Price at a markup on cost: cost x (1 + markup), 4 places.

    Reference: bookkeeping handout, markup and gross profit (cost 3.00 at a markup of 50 %).

    >>> at_markup(Decimal("3.00"), Decimal("0.50"))
    Decimal('4.5000')
    """
    return round_to(cost * (ONE + markup), PRICE_PLACES)


def at_margin(cost: Decimal, margin: Decimal) -> Decimal:
    """Price that leaves a margin, as a share of the price: cost / (1 - margin), 4 places. Margin below 1.

    Reference: price = cost / (1 - gross margin); a margin of 20 % is a markup of 25 %.

    >>> at_margin(Decimal("40"), Decimal("0.20"))
    Decimal('50.0000')
    """
    return round_to(cost / (ONE - margin), PRICE_PLACES)


def margin_of(cost: Decimal, price: Decimal) -> Decimal:
    """The margin, (price - cost) / price, 4 places; 0 where nothing is asked."""
    return round_to((price - cost) / price, 4) if price else Decimal("0.0000")


def unit_price(part: PartPricing, category: CategoryPricing) -> tuple[Decimal, str]:
    """What one unit sells for, 4 places, and what set it: markup, margin, list, part markup, floor.

    A part's own markup stands before its category's basis; `list` takes the category's rate off the list price, and
    never goes above it; the floor is the least in any case. A list basis needs a list price, a margin stays below 1.
    """
    if part.own_markup is not None:
        price, rule = at_markup(part.unit_cost, part.own_markup), "part markup"
    elif category.basis == "list" and part.list_price is not None:
        off = round_to(part.list_price * (ONE - category.rate), PRICE_PLACES)
        price, rule = min(off, part.list_price), "list"
    elif category.basis == "margin":
        price, rule = at_margin(part.unit_cost, category.rate), "margin"
    else:
        price, rule = at_markup(part.unit_cost, category.rate), "markup"
    if part.floor_price is not None and price < part.floor_price:
        return round_to(part.floor_price, PRICE_PLACES), "floor"
    return price, rule

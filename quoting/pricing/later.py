"""What a room that is only wired now costs about once it is equipped: today's prices, tax, delivery and a visit in it.

An estimate, told as one: what the room's own lines cost in the smallest option that lets it play, less what they cost
in the option chosen, with that option's share of delivery and tax, and the visit that fits it.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.money import ONE, ZERO, ceil, r2
from quoting.pricing.options import sums_by_room
from quoting.quote import LaterRoom, PricedOption, RoleRate

STEP = Decimal(10)  # an estimate pretends to no cents: the next ten units


def with_later_rooms(
    options: Sequence[PricedOption], house: PricedOption | None, catalog: Catalog, roles: Sequence[RoleRate],
    currency: str,
) -> tuple[PricedOption, ...]:
    """Each option with the price of what it leaves for later. `house`: everything plays, for rooms that no option
    equips; None where there is no such room. Unanswered where a standard does not say what the visit takes."""
    visit = _visit(catalog, roles, currency)
    return tuple(
        replace(option, later=_later(option, (*options[index + 1:], *([house] if house else [])), visit, currency))
        for index, option in enumerate(options))


def hour_of(item: str, catalog: Catalog, roles: Sequence[RoleRate]) -> tuple[Decimal, Decimal]:
    """(price of an hour, hours) of extra work; a role without a rate costs nothing."""
    answer = catalog.standards.ask("extra_work", item=item)
    price = next((role.price for role in roles if role.role == answer.text("role")), ZERO)
    return price, answer.decimal("hours")


def _visit(catalog: Catalog, roles: Sequence[RoleRate], currency: str) -> Decimal:
    price, hours = hour_of("later visit", catalog, roles)
    return r2(price * hours, currency)


def _later(
    option: PricedOption, fuller: Sequence[PricedOption], visit: Decimal, currency: str
) -> tuple[LaterRoom, ...]:
    now = sums_by_room(option)
    found: list[LaterRoom] = []
    for promise in option.rooms:
        if promise.state != "wired-only":
            continue
        then = next((other for other in fuller
                     if any(room.room == promise.room and room.state == "live" for room in other.rooms)), None)
        if then is None:
            continue
        more = sum(sums_by_room(then).get(promise.room, (ZERO, ZERO))) - sum(now.get(promise.room, (ZERO, ZERO)))
        with_tax = r2((max(more, ZERO) + visit) * (ONE + _on_top(then)), currency)
        found.append(LaterRoom(room=promise.room, name=promise.name, amount=ceil(with_tax / STEP) * STEP))
    return tuple(found)


def _on_top(option: PricedOption) -> Decimal:
    """Delivery and tax as a share of materials and labour."""
    base = option.totals.materials + option.totals.labour
    return (option.totals.freight + option.totals.tax) / base if base else ZERO

"""What to buy and what to cancel: the packs and spools that two quotes of one job buy otherwise."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from decimal import Decimal

from msgspec import Struct

from quoting.buying import PackKey, pack_key, purchase_list
from quoting.changes import PurchaseChange
from quoting.money import ZERO
from quoting.quote import PricedOption, Quote


class _Bought(Struct, frozen=True):
    packs: int = 0
    outlay: Decimal = ZERO
    cost: Decimal = ZERO  # of a pack
    colour: str = ""  # as it is ordered; keys take no notice of its capitals


def purchase_changes(
    old: Quote, new: Quote, sides: tuple[PricedOption, PricedOption]
) -> tuple[PurchaseChange, ...]:
    """By supplier, then part: what of it is bought in another number, or costs another amount."""
    said = {part: (info.description, info.unit) for quote in (old, new) for part, info in quote.parts.items()}
    was, now = (_bought(quote, option) for quote, option in zip((old, new), sides, strict=True))
    return tuple(_changes(was, now, said))


def _bought(quote: Quote, option: PricedOption) -> dict[PackKey, _Bought]:
    found: dict[PackKey, _Bought] = {}
    for line in purchase_list(quote, option):
        if line.put_up is not None:
            before = found.get(pack_key(line), _Bought())
            found[pack_key(line)] = _Bought(before.packs + line.put_up.count, before.outlay + line.outlay,
                                            line.put_up.cost, line.colour)
    return found


def _changes(
    was: Mapping[PackKey, _Bought], now: Mapping[PackKey, _Bought], said: Mapping[str, tuple[str, str]]
) -> Iterator[PurchaseChange]:
    for key in sorted({*was, *now}):
        before, after = was.get(key, _Bought()), now.get(key, _Bought())
        if (before.packs, before.outlay) != (after.packs, after.outlay):
            description, unit = said.get(key.part, ("", ""))
            yield PurchaseChange(
                supplier=key.supplier, part=key.part, description=description, unit=unit, size=key.size,
                colour=after.colour or before.colour, hired_for=key.hired_for, old_packs=before.packs,
                new_packs=after.packs, old_outlay=before.outlay, new_outlay=after.outlay, old_cost=before.cost,
                new_cost=after.cost)

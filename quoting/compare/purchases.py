"""What to buy and what to cancel: the packs and spools that two quotes of one job buy otherwise."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from quoting.buying import purchase_list
from quoting.changes import PurchaseChange
from quoting.money import ZERO
from quoting.quote import PricedOption, Quote

Key = tuple[str, str, Decimal]  # supplier, part, size of the pack


def purchase_changes(
    old: Quote, new: Quote, sides: tuple[PricedOption, PricedOption]
) -> tuple[PurchaseChange, ...]:
    """By supplier, then part: sizes of pack of which another number is bought, or that cost another amount."""
    said = {quote_part: (info.description, info.unit) for quote in (old, new)
            for quote_part, info in quote.parts.items()}
    was, now = (_bought(quote, option) for quote, option in zip((old, new), sides, strict=True))
    return tuple(_changes(was, now, said))


def _bought(quote: Quote, option: PricedOption) -> dict[Key, tuple[int, Decimal]]:
    found: dict[Key, tuple[int, Decimal]] = {}
    for line in purchase_list(quote, option):
        if line.put_up is not None:
            key = (line.supplier, line.part, line.put_up.size)
            packs, outlay = found.get(key, (0, ZERO))
            found[key] = (packs + line.put_up.count, outlay + line.outlay)
    return found


def _changes(
    was: dict[Key, tuple[int, Decimal]], now: dict[Key, tuple[int, Decimal]], said: dict[str, tuple[str, str]]
) -> Iterator[PurchaseChange]:
    for key in sorted({*was, *now}):
        before, after = was.get(key, (0, ZERO)), now.get(key, (0, ZERO))
        if before != after:
            supplier, part, size = key
            description, unit = said.get(part, ("", ""))
            yield PurchaseChange(
                supplier=supplier, part=part, description=description, unit=unit, size=size, old_packs=before[0],
                new_packs=after[0], old_outlay=before[1], new_outlay=after[1])

"""The cheapest packs that cover a need, quantity breaks and all: an exact search."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from itertools import product

from msgspec.structs import replace

from quoting import lines as ln
from quoting.catalog.records import Price
from quoting.money import ONE, ZERO, ceil

Counts = tuple[int, ...]  # of each price, in the prices' order


def cheapest_packs(need: Decimal, prices: Sequence[Price]) -> tuple[ln.PutUp, ...]:
    """The cheapest put-ups that cover a need; of equal cost the fewest packs, then the least left over.

    Quantity breaks count: more packs than the need asks for are bought where all of them cost less. A break only
    lowers the cost of one, so the cheapest choice stands on some step of each size: at least so many, each at the
    step's cost.
    """
    sizes = sorted(prices, key=lambda price: (price.unit_cost, -price.put_up))
    best: tuple[Decimal, int, Decimal, Counts] | None = None
    for steps in product(*(((0, price.cost), *price.breaks) for price in sizes)):
        least = [count for count, _ in steps]
        covered = sum((count * price.put_up for count, price in zip(least, sizes, strict=True)), ZERO)
        plain = [replace(price, cost=cost, breaks=()) for price, (_, cost) in zip(sizes, steps, strict=True)]
        more = _cheapest_counts(max(need - covered, ZERO), plain)
        counts = tuple(first + further for first, further in zip(least, more, strict=True))
        found = _judged(need, sizes, counts)
        best = found if best is None else min(best, found)
    return put_ups(sizes, best[3]) if best else ()


def put_ups(prices: Sequence[Price], counts: Sequence[int]) -> tuple[ln.PutUp, ...]:
    """So many put-ups of each price, at the cost that so many reach."""
    found = []
    for price, count in zip(prices, counts, strict=True):
        if count:
            from_count, cost = price.reached(count)
            dearer_from, dearer_cost = price.rise or (None, None)
            found.append(ln.PutUp(price.put_up, count, cost, from_count, price.supplier, price.from_date,
                                  dearer_from=dearer_from, dearer_cost=dearer_cost))
    return tuple(found)


def cost_of(bought: Sequence[ln.PutUp]) -> Decimal:
    """What put-ups cost together, not rounded."""
    return sum((put_up.cost * put_up.count for put_up in bought), ZERO)


def _judged(need: Decimal, prices: Sequence[Price], counts: Counts) -> tuple[Decimal, int, Decimal, Counts]:
    """Cost, packs, what is left over: the less, the better, in this order."""
    cost = sum((price.reached(count)[1] * count for price, count in zip(prices, counts, strict=True)), ZERO)
    covered = sum((price.put_up * count for price, count in zip(prices, counts, strict=True)), ZERO)
    return cost, sum(counts), covered - need, counts


def _cheapest_counts(need: Decimal, prices: Sequence[Price]) -> Counts:
    """The search without breaks. The dearer sizes are only tried as far as they could still cost less."""
    sizes = sorted(prices, key=lambda price: (price.unit_cost, -price.put_up))
    best: list[tuple[Decimal, int, Decimal, Counts]] = []

    def search(index: int, rest: Decimal, so_far: Decimal, counts: Counts) -> None:
        size = sizes[index]
        whole = int(ceil(max(rest, ZERO) / size.put_up))
        last = index == len(sizes) - 1
        for count in (whole,) if last else range(whole, -1, -1):
            left, cost = rest - count * size.put_up, so_far + count * size.cost
            if left <= 0 or last:
                more = (0,) * (len(sizes) - index - 1)
                found = cost, sum(counts) + count, -left, (*counts, count, *more)
                best[:] = [min([*best, found])]
                continue
            after = sizes[index + 1:]
            # What the rest costs at least, against the best so far; times a size, so that equal is exactly equal.
            over = (cost - best[0][0]) * after[0].put_up + left * after[0].cost if best else -ONE
            if over > 0:
                return
            packs = sum(counts) + count + int(ceil(left / max(price.put_up for price in after)))
            if over < 0 or packs <= best[0][1]:
                search(index + 1, left, cost, (*counts, count))

    search(0, need, ZERO, ())
    order = [prices.index(size) for size in sizes]
    return tuple(best[0][3][order.index(place)] for place in range(len(prices)))

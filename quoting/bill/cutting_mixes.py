"""Mixes of spools in order of price, and the proofs that a mix cannot hold the runs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from heapq import heappop, heappush

from msgspec import Struct

MOST_STATES = 20_000  # partial mixes looked at; the price of the next one is still a lower bound


class Kind(Struct, frozen=True):
    """One put-up in whole numbers: what it holds beside its reserve, and its cost."""

    holds: int
    cost: int


Mix = tuple[int, ...]  # how many spools of each kind


def worth_buying(kinds: Sequence[Kind]) -> tuple[int, ...]:
    """The places of the kinds that no other kind beats in both price and room, best price for its room first.

    A beaten kind can always be exchanged for the one that beats it, so least cost never needs it.
    """
    kept: list[int] = []
    most = 0
    for index in sorted(range(len(kinds)), key=lambda i: (kinds[i].cost, -kinds[i].holds, i)):
        if kinds[index].holds > most:
            most = kinds[index].holds
            kept.append(index)
    return tuple(sorted(kept, key=lambda i: (kinds[i].cost / kinds[i].holds, i)))


class Limit(Struct, frozen=True):
    """What a mix must give at least, and what one spool of each kind gives of it at most."""

    need: int
    gives: tuple[int, ...]

    def lets(self, mix: Mix) -> bool:
        """Whether the mix may give enough."""
        return sum(n * given for n, given in zip(mix, self.gives, strict=True)) >= self.need


def mixes_by_price(
    families: Sequence[Sequence[Limit]], costs: Sequence[int], below: int
) -> Iterator[tuple[int, Mix | None]]:
    """(price, mix) of every mix that keeps the limits, cheapest first.

    Only mixes cheaper than `below`; of equal price the one with fewest spools first. Every price is a lower bound of
    all later ones. A last (price, None) says that the search gave up there. Best first: what a partial mix lacks of a
    limit costs at least its best price among the kinds that may still be added. That is asked of one limit of each
    family, the one that costs most to keep; whole mixes keep all.
    """
    def lacks(limit: Limit, given: int, first: int) -> int:
        if given >= limit.need:
            return 0
        return min((-(-(limit.need - given) * cost // gives)
                    for cost, gives in zip(costs[first:], limit.gives[first:], strict=True) if gives), default=below)

    guides = [max(family, key=lambda limit: lacks(limit, 0, 0)) for family in families]
    empty = (0,) * len(costs)
    start = max(lacks(limit, 0, 0) for limit in guides)
    heap: list[tuple[int, int, int, int, Mix, tuple[int, ...]]] = [(start, 0, 0, 0, empty, (0,) * len(guides))]
    seen = 0
    while heap:
        price, count, first, cost, mix, given = heappop(heap)
        if seen == MOST_STATES:
            yield price, None
            return
        seen += 1
        if all(limit.lets(mix) for family in (guides, *families) for limit in family):
            yield cost, mix
        for index in range(first, len(costs)):
            more = tuple(had + limit.gives[index] for had, limit in zip(given, guides, strict=True))
            dearer = cost + costs[index]
            bound = dearer + max(lacks(limit, had, index) for limit, had in zip(guides, more, strict=True))
            if bound < below:
                grown = (*mix[:index], mix[index] + 1, *mix[index + 1:])
                heappush(heap, (bound, count + 1, index, dearer, grown, more))


def limits_of(lengths: Sequence[int], kinds: Sequence[Kind], at_least: int) -> tuple[tuple[Limit, ...], ...]:
    """Limits that every mix keeps that holds the runs, which stand longest first, and has so many spools.

    Four families: how many spools, the total length, the number and the sum of the j longest runs, j = 1, 2 ... One
    spool takes of these at most as many as its shortest ones that fit together, and at most the largest sum of any of
    them that fits: exact, from all sums that are possible. This is the bound of Martello and Toth (L2) with the exact
    fill in place of the half-bin argument, and for spools of several sizes.
    """
    masks = [(1 << (kind.holds + 1)) - 1 for kind in kinds]
    largest = max(masks)
    most_together = [_most_together(lengths, kind.holds) for kind in kinds]
    counts, sums = [], []
    reachable, total = 1, 0
    for index, length in enumerate(lengths):
        total += length
        reachable = (reachable | reachable << length) & largest  # bit k: some runs so far add up to k
        counts.append(Limit(index + 1, tuple(most[index] for most in most_together)))
        sums.append(Limit(total, tuple((reachable & mask).bit_length() - 1 for mask in masks)))
    spools = (Limit(at_least, (1,) * len(kinds)),)
    return (spools, tuple(sums[-1:]), tuple(counts), tuple(sums)) if lengths else (spools,)


def _most_together(lengths: Sequence[int], holds: int) -> list[int]:
    """For each j, how many of the j longest fit one spool: the shortest of them, counted from the end."""
    counts: list[int] = []
    start, inside = 0, 0
    for end, length in enumerate(lengths):
        inside += length
        while inside > holds:
            inside -= lengths[start]
            start += 1
        counts.append(end - start + 1)
    return counts

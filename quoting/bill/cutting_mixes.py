"""Mixes of spools in order of price, and the proofs that a mix cannot hold the runs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush

MOST_STATES = 20_000  # partial mixes looked at; the price of the next one is still a lower bound


@dataclass(frozen=True, slots=True)
class Kind:
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


def mixes_by_price(total: int, kinds: Sequence[Kind], at_least: int, below: int) -> Iterator[tuple[int, Mix | None]]:
    """(price, mix) of every mix with room for the total length and at least so many spools, cheapest first.

    Only mixes cheaper than `below`; of equal price the one with fewest spools first. Every price is a lower bound of
    all later ones. A last (price, None) says that the search gave up there. Best first: what a partial mix lacks
    costs at least the best price for room among the kinds that may still be added.
    """
    cheapest = [min(kind.cost for kind in kinds[first:]) for first in range(len(kinds))]

    def at_best(cost: int, count: int, room: int, first: int) -> int:
        lacking = max(total - room, 0)
        length = min(-(-lacking * kind.cost // kind.holds) for kind in kinds[first:])
        return cost + max(length, (at_least - count) * cheapest[first])

    heap: list[tuple[int, int, int, int, int, Mix]] = []
    empty = (0,) * len(kinds)
    heappush(heap, (at_best(0, 0, 0, 0), 0, 0, 0, 0, empty))
    seen = 0
    while heap:
        price, count, negative_room, first, cost, mix = heappop(heap)
        if seen == MOST_STATES:
            yield price, None
            return
        seen += 1
        room = -negative_room
        if room >= total and count >= at_least:
            yield cost, mix
        for index in range(first, len(kinds)):
            kind = kinds[index]
            new_cost, new_room = cost + kind.cost, room + kind.holds
            bound = at_best(new_cost, count + 1, new_room, index)
            if bound < below:
                grown = (*mix[:index], mix[index] + 1, *mix[index + 1:])
                heappush(heap, (bound, count + 1, -new_room, index, new_cost, grown))


@dataclass(frozen=True, slots=True)
class Limits:
    """For the j longest runs, j = 1, 2 ...: their number and sum, and how much of it one spool of each kind can take.

    A spool takes of the j longest at most as many as its shortest ones that fit together, and at most the largest sum
    of any of them that fits: exact, from all sums that are possible. Where the spools of a mix together take less
    than there is, the mix cannot hold the runs. This is the bound of Martello and Toth (L2) with the exact fill in
    place of the half-bin argument, and for spools of several sizes.
    """

    sums: tuple[int, ...]
    counts_by_kind: tuple[tuple[int, ...], ...]
    fills_by_kind: tuple[tuple[int, ...], ...]

    def exclude(self, mix: Mix) -> bool:
        """Whether the mix surely cannot hold the runs."""
        for index, total in enumerate(self.sums):
            if sum(n * limit for n, limit in zip(mix, self.counts_by_kind[index], strict=True)) <= index:
                return True
            if sum(n * limit for n, limit in zip(mix, self.fills_by_kind[index], strict=True)) < total:
                return True
        return False


def limits_of(lengths: Sequence[int], kinds: Sequence[Kind]) -> Limits:
    """The limits of runs that stand longest first."""
    masks = [(1 << (kind.holds + 1)) - 1 for kind in kinds]
    largest = max(masks)
    reachable, total = 1, 0
    sums: list[int] = []
    fills: list[tuple[int, ...]] = []
    for length in lengths:
        total += length
        reachable = (reachable | reachable << length) & largest  # bit k: some runs so far add up to k
        sums.append(total)
        fills.append(tuple((reachable & mask).bit_length() - 1 for mask in masks))
    by_kind = [_most_together(lengths, kind.holds) for kind in kinds]
    return Limits(tuple(sums), tuple(zip(*by_kind, strict=True)), tuple(fills))


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

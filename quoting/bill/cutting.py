"""Runs are cut from whole spools at least cost: no splices, each spool keeps a reserve, and a lower bound is told.

Mixes of spools are tried in order of price. The first that holds the runs is the cheapest there is, if each cheaper
mix was proved too small. Best fit packs nearly all jobs; a search by spools packs or excludes the tight ones; where
that gives up, an integer program goes on from the bound.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from functools import lru_cache
from math import gcd

from msgspec import Struct

from quoting.bill.cutting_mixes import Kind, Mix, limits_of, mixes_by_price, worth_buying
from quoting.bill.cutting_packing import GaveUp, Packing, Search, best_fit
from quoting.bill.cutting_pulls import pull_apart
from quoting.bill.cutting_solver import OpenPrices, solve
from quoting.money import ZERO

FINEST = Decimal(1000)  # lengths come to 3 places, costs to 4: whole numbers inside
FINEST_COST = Decimal(10_000)
FIRST_STEPS, LATER_STEPS = 50_000, 5_000  # of the search: for the first mix that best fit leaves open, for each other
MOST_OPEN = 40  # mixes left open before the solver is asked


class Run(Struct, frozen=True):
    """A run to cut: its id, its planned length, the cables that it is pulled with ("" for none)."""

    id: str
    room: str
    length: Decimal
    pull_group: str = ""


class PutUp(Struct, frozen=True):
    """A spool that may be bought: its size, the part of it that may be planned, what it costs."""

    size: Decimal
    holds: Decimal
    cost: Decimal


class Filled(Struct, frozen=True):
    """A spool and its runs, longest first."""

    put_up: PutUp
    runs: tuple[Run, ...]


class Cutting(Struct, frozen=True):
    """The spools, largest first; what they cost, and what any choice of spools costs at least."""

    spools: tuple[Filled, ...]
    cost: Decimal
    lower_bound: Decimal

    @property
    def proved(self) -> bool:
        """Whether nothing cheaper exists."""
        return self.cost == self.lower_bound


def cut_runs(runs: Sequence[Run], put_ups: Sequence[PutUp], cartons: int = 1) -> Cutting:
    """The cheapest spools that hold the runs, at least so many, and which run comes from which.

    A run longer than any put-up may give is cut from one of the longest put-up, by itself and without the reserve. The
    order of runs and put-ups is of no matter. ValueError where a run is longer than the longest put-up.
    """
    ordered = tuple(sorted(runs, key=lambda run: (-run.length, run.id)))
    return _cut(ordered, tuple(sorted(put_ups, key=lambda put_up: (-put_up.size, put_up.cost))), cartons)


@lru_cache(maxsize=256)  # options share the runs behind open walls
def _cut(runs: tuple[Run, ...], put_ups: tuple[PutUp, ...], cartons: int) -> Cutting:
    most = max(put_up.holds for put_up in put_ups)
    alone = [Filled(_longest_for(run, put_ups), (run,)) for run in runs if run.length > most]
    rest = runs[len(alone):]
    usable = [put_up for put_up in put_ups if put_up.holds > 0]
    spools, bound = alone, sum((spool.put_up.cost for spool in alone), ZERO)
    if rest or (usable and cartons > len(alone)):
        filled, rest_bound = _cheapest(rest, usable, cartons - len(alone))
        spools, bound = alone + filled, bound + rest_bound
    spools = sorted(spools, key=lambda spool: (
        -spool.put_up.size, *(-run.length for run in spool.runs[:1]), *(run.id for run in spool.runs[:1])))
    return Cutting(tuple(spools), sum((spool.put_up.cost for spool in spools), ZERO), bound)


def _longest_for(run: Run, put_ups: Sequence[PutUp]) -> PutUp:
    longest = put_ups[0]  # they stand longest first, the cheapest of equal ones before the others
    if run.length > longest.size:
        raise ValueError(f"run {run.id} of {run.length} is longer than any put-up")
    return longest


def _cheapest(runs: Sequence[Run], put_ups: Sequence[PutUp], at_least: int) -> tuple[list[Filled], Decimal]:
    """In whole numbers, and back: the filled spools, and the lower bound of their cost."""
    whole = [int(run.length * FINEST) for run in runs]
    holds = [int(put_up.holds * FINEST) for put_up in put_ups]
    costs = [int(put_up.cost * FINEST_COST) for put_up in put_ups]
    step, coin = gcd(*whole) or 1, gcd(*costs) or 1
    kinds = [Kind(each // step, cost // coin) for each, cost in zip(holds, costs, strict=True)]
    kept = worth_buying(kinds)
    task = _Task([length // step for length in whole], [run.pull_group for run in runs], [kinds[i] for i in kept],
                 at_least)
    packing, bound = task.cheapest()
    filled = [Filled(put_ups[kept[kind]], tuple(runs[place] for place in sorted(places)))
              for kind, places in packing]
    cost = sum((spool.put_up.cost for spool in filled), ZERO)
    return filled, cost if task.price(packing) == bound else bound * coin / FINEST_COST


class _Task:
    """One cutting in whole numbers, runs longest first."""

    __slots__ = ("_at_least", "_groups", "_lengths", "kinds")

    def __init__(self, lengths: Sequence[int], groups: Sequence[str], kinds: Sequence[Kind], at_least: int) -> None:
        self._lengths, self._groups, self._at_least = lengths, groups, at_least
        self.kinds = kinds

    def cheapest(self) -> tuple[Packing, int]:
        """The cheapest packing found, cables of one pull group apart, and the lower bound of its price."""
        packing, still_open = self._by_price()
        bound = still_open.after
        if still_open.prices:
            solved = solve(self._lengths, self.kinds, self._at_least, still_open)
            packing, bound = solved.packing or packing, solved.bound
        return pull_apart(packing, self._lengths, self._groups, self.kinds), bound

    def price(self, packing: Packing) -> int:
        """What the spools of a packing cost."""
        return sum(self.kinds[kind].cost for kind, _ in packing)

    def _by_price(self) -> tuple[Packing, OpenPrices]:
        """The first packing found, and the prices below it that stay open."""
        packing, left_open = self._generous(), list[int]()
        after: int | None = None
        limits = limits_of(self._lengths, self.kinds, self._at_least)
        for price, mix in mixes_by_price(limits, [kind.cost for kind in self.kinds], self.price(packing) + 1):
            if after is None and (mix is None or len(left_open) == MOST_OPEN):
                after = price
            if mix is None:
                break
            steps = 0 if after is not None else LATER_STEPS if left_open else FIRST_STEPS
            try:
                found = self._pack(mix, steps)
            except GaveUp:
                left_open += [] if after is not None else [price]
                continue
            if found is not None:
                packing = found
                break
        least = self.price(packing)
        prices = sorted({price for price in left_open if price < least})
        return packing, OpenPrices(tuple(prices), least if after is None else after, least)

    def _pack(self, mix: Mix, steps: int) -> Packing | None:
        """A packing, or None where there surely is none. GaveUp where the steps do not suffice."""
        for apart in (True, False):
            packing = best_fit(self._lengths, self._groups, self.kinds, mix, apart=apart)
            if packing is not None:
                return packing
        return Search(self._lengths, self.kinds, mix, steps).find()

    def _generous(self) -> Packing:
        """First fit into the largest spools, each then exchanged for the cheapest that still holds its runs."""
        holds = max(kind.holds for kind in self.kinds)
        filled: list[tuple[int, list[int]]] = []
        for place, length in enumerate(self._lengths):
            spool = next((i for i, (used, _) in enumerate(filled) if used + length <= holds), len(filled))
            if spool == len(filled):
                filled.append((0, []))
            filled[spool] = filled[spool][0] + length, [*filled[spool][1], place]
        filled += [(0, [])] * (self._at_least - len(filled))
        return [(self._cheapest_for(used), places) for used, places in filled]

    def _cheapest_for(self, used: int) -> int:
        return min((kind.cost, index) for index, kind in enumerate(self.kinds) if kind.holds >= used)[1]

"""The integer program for the few jobs that best fit and the search leave open; highspy is imported only then."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import islice
from math import ceil, inf
from typing import Any

from msgspec import Struct

from quoting.bill.cutting_mixes import Kind
from quoting.bill.cutting_packing import GaveUp, Packing, by_place, fillings

MOST_PATTERNS = 60_000  # ways to fill one spool; a job with more stays open
MOST_STEPS = 1_000_000  # of the search for them
FEW_PATTERNS = 1_000  # tried first
MOST_AT_ONCE = 3_000  # tried at last; a price that would need more stays open
NODES_AT_ONCE, MOST_NODES = 60, 120  # of the branching, in one program and in all
NEARLY = 1e-6  # what the solver's floats may be off by, of a cost

Pattern = tuple[int, tuple[int, ...], int]  # a kind, how many of each length one spool of it gives, the room lost


class Solved(Struct, frozen=True):
    """The cheapest packing found (None for none), and what any packing costs at least."""

    packing: Packing | None
    bound: int


class OpenPrices(Struct, frozen=True):
    """The prices that a packing may still have, lowest first; else it costs `after` or more, and one costs `below`."""

    prices: tuple[int, ...]
    after: int
    below: int

    def first_from(self, least: float) -> int:
        """The first price that is not less; after the listed ones it may be any."""
        return next((price for price in (*self.prices, self.after) if price >= least), ceil(min(least, self.below)))


def solve(lengths: Sequence[int], kinds: Sequence[Kind], at_least: int, open_prices: OpenPrices) -> Solved:
    """A packing cheaper than the one in hand, if there is one, and the first price that was not proved too low.

    The program counts how often each way to fill a spool is used (Gilmore and Gomory 1961). Its linear relaxation
    with all of them is a lower bound; ways whose reduced cost goes beyond a price are left out, which loses no packing
    of that price. First anything cheaper is asked for; where that stays open, one price after the other from below.
    Single thread, fixed seed, limited by nodes and never by time.
    """
    counts = Counter(lengths)
    values = sorted(counts, reverse=True)
    demand = [counts[value] for value in values]
    patterns = _patterns(values, demand, kinds)
    if patterns is None:
        return Solved(None, open_prices.prices[0])
    program = _Program(demand, kinds, at_least, patterns)
    best: _Found | None = None
    below, bound = open_prices.below, open_prices.first_from(program.least)
    price, from_below = below - 1, iter(open_prices.prices)
    while bound <= price < below:
        tried = price
        found, least = program.within(price, open_prices.prices[0])
        if found is not None:
            best, below = found, found.cost
        bound = max(bound, open_prices.first_from(least))
        price = below - 1 if found else next((price for price in from_below if bound <= price < tried), below)
    spools = [(kind, counts) for kind, counts, _ in best.spools] if best else []
    return Solved(by_place(lengths, values, spools) if best else None, min(bound, below))


class _Found(Struct, frozen=True):
    """Spools that hold the runs, and what they cost."""

    cost: int
    spools: list[Pattern]


class _Program:
    """The relaxation, solved once, and integer programs of some of its patterns."""

    __slots__ = ("_at_least", "_costs", "_demand", "_in_turn", "_nodes", "_patterns", "_reduced", "least")

    def __init__(self, demand: Sequence[int], kinds: Sequence[Kind], at_least: int, patterns: Sequence[Pattern]
                 ) -> None:
        self._demand, self._at_least, self._patterns = demand, at_least, patterns
        self._costs = [kinds[kind].cost for kind, _, _ in patterns]
        self._nodes = MOST_NODES
        solver = self._solver(range(len(patterns)), inf)
        solver.run()
        self.least: float = solver.getInfo().objective_function_value * (1 - NEARLY)
        self._reduced = [round(cost, 6) for cost in solver.getSolution().col_dual]
        self._in_turn = _in_turn(patterns, self._reduced)

    def within(self, price: int, enough: int) -> tuple[_Found | None, float]:
        """Spools that cost at most the price, if any are found, and what any spools cost at least.

        First of the few ways of least reduced cost, which mostly suffice; then of all that may be part of it. No less
        is asked for than `enough`.
        """
        slack = price * (1 + NEARLY) - self.least
        kept = [index for index in self._in_turn if self._reduced[index] <= slack]
        for most in (FEW_PATTERNS, MOST_AT_ONCE):
            found, least = self._whole(kept[:most], price, enough)
            if len(kept) <= most:
                return found, min(least, price + 1)
            if found is not None:
                break
        return found, self.least

    def _whole(self, kept: Sequence[int], price: int, enough: int) -> tuple[_Found | None, float]:
        """Spools of these patterns that cost at most the price, and what any such spools cost at least."""
        import highspy

        if not kept:
            return None, inf
        if self._nodes <= 0:
            return None, self.least
        solver = self._solver(kept, price, mip_max_nodes=min(self._nodes, NODES_AT_ONCE), mip_rel_gap=0.0,
                              objective_target=enough + 0.5)
        solver.run()
        info = solver.getInfo()
        self._nodes -= max(int(info.mip_node_count), 1)
        if solver.getModelStatus() == highspy.HighsModelStatus.kInfeasible:
            return None, inf
        if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
            return None, info.mip_dual_bound * (1 - NEARLY)
        times = zip(kept, (round(value) for value in solver.getSolution().col_value), strict=True)
        used = [index for index, n in times for _ in range(n)]
        found = _Found(sum(self._costs[index] for index in used), [self._patterns[index] for index in used])
        return found, info.mip_dual_bound * (1 - NEARLY)

    def _solver(self, kept: Sequence[int], most: float, **options: float) -> Any:
        """The program of these patterns at a cost of at most `most`; relaxed where no options are set."""
        import highspy
        import numpy as np

        # Without annotations. highspy.Highs() would greet on standard output before it can be told to be silent.
        solver: Any = vars(highspy)["_Highs"]()
        for name, value in {"output_flag": False, "threads": 1, "random_seed": 0, **options}.items():
            solver.setOptionValue(name, value)
        size = len(kept)
        columns = [(*self._patterns[index][1], self._costs[index], 1) for index in kept]
        table = np.array(columns, dtype=np.float64).T.copy()
        solver.addVars(size, np.zeros(size), np.full(size, float(sum(self._demand) + self._at_least)))
        solver.changeColsCost(size, np.arange(size, dtype=np.int32), table[-2])
        if options:
            kinds = np.full(size, highspy.HighsVarType.kInteger.value, dtype=np.uint8)
            solver.changeColsIntegrality(size, np.arange(size, dtype=np.int32), kinds)
        least, highest = [*self._demand, 0, self._at_least], [*(inf for _ in self._demand), most, inf]
        for row, low, high in zip(table, least, highest, strict=True):
            used = np.flatnonzero(row).astype(np.int32)
            solver.addRow(low, high, len(used), used, row[used])
        return solver


def _in_turn(patterns: Sequence[Pattern], reduced: Sequence[float]) -> list[int]:
    """Ways by reduced cost, then by the room lost, the best of each kind first, then the second best: a few of them
    serve every mix.
    """
    ranks: Counter[int] = Counter()
    keyed: list[tuple[int, int, int]] = []
    for index in sorted(range(len(patterns)), key=lambda index: (reduced[index], patterns[index][2], index)):
        kind = patterns[index][0]
        keyed.append((ranks[kind], kind, index))
        ranks[kind] += 1
    return [index for _, _, index in sorted(keyed)]


def _patterns(values: Sequence[int], demand: Sequence[int], kinds: Sequence[Kind]) -> list[Pattern] | None:
    """Every way to fill a spool to which no further run can be added; None where there are too many."""
    steps = iter(range(MOST_STEPS))
    ways = ((kind, counts, lost) for kind, each in enumerate(kinds)
            for counts, lost in fillings(values, demand, each.holds, each.holds, steps))
    try:
        found = list(islice(ways, MOST_PATTERNS + 1))
    except GaveUp:
        return None
    return found if len(found) <= MOST_PATTERNS else None

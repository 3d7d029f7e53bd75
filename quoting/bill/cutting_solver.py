"""The integer program for the few jobs that best fit and the search leave open; highspy is imported only then."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from quoting.bill.cutting_mixes import Kind
from quoting.bill.cutting_packing import Packing

MOST_PATTERNS = 60_000  # ways to fill one spool; a job with more stays open
FEW_PATTERNS = 1_000  # tried first
MOST_AT_ONCE = 3_000  # tried at last; a price that would need more stays open
MOST_NODES = 100  # of the branching, for each price
MOST_PRICES = 6
NEARLY = 1e-6  # what the solver's floats may be off by, of a cost

Pattern = tuple[int, tuple[int, ...]]  # a kind, and how many of each length are cut from one spool of it


@dataclass(frozen=True, slots=True)
class Solved:
    """The cheapest packing found (None for none), and what any packing costs at least."""

    packing: Packing | None
    bound: int


def solve(lengths: Sequence[int], kinds: Sequence[Kind], at_least: int, prices: Sequence[int]) -> Solved:
    """The cheapest packing at one of the prices, lowest first, and the first price that was not proved too low.

    The program counts how often each way to fill a spool is used (Gilmore and Gomory 1961). Its linear relaxation
    with all of them is a lower bound; ways whose reduced cost goes beyond the price in hand are left out, which loses
    no packing of that price. Single thread, fixed seed, limited by nodes and never by time.
    """
    counts = Counter(lengths)
    values = sorted(counts, reverse=True)
    demand = [counts[value] for value in values]
    patterns = _patterns(values, demand, kinds)
    if patterns is None:
        return Solved(None, prices[0])
    program = _Program(demand, kinds, at_least, patterns)
    open_from = 0
    for price in prices[:MOST_PRICES]:
        found, sure = program.at(price)
        if found is not None:
            cost = sum(kinds[kind].cost for kind, _ in found)
            return Solved(_packing(lengths, values, found), open_from or cost)
        if not sure:
            open_from = open_from or price
    return Solved(None, open_from or (prices[MOST_PRICES] if len(prices) > MOST_PRICES else prices[-1] + 1))


class _Program:
    """The relaxation, solved once, and the integer program of one price after the other."""

    __slots__ = ("_at_least", "_bound", "_costs", "_demand", "_order", "_patterns", "_reduced")

    def __init__(self, demand: Sequence[int], kinds: Sequence[Kind], at_least: int, patterns: Sequence[Pattern]
                 ) -> None:
        self._demand, self._at_least, self._patterns = demand, at_least, patterns
        self._costs = [kinds[kind].cost for kind, _ in patterns]
        solver = self._solver(range(len(patterns)), whole=False)
        solver.run()
        solution = solver.getSolution()
        self._bound: float = solver.getInfo().objective_function_value
        self._reduced: list[float] = list(solution.col_dual)
        self._order = _in_turn([kind for kind, _ in patterns], [round(cost, 6) for cost in self._reduced])

    def at(self, price: int) -> tuple[list[Pattern] | None, bool]:
        """Spools that cost at most the price; without any, whether there surely are none.

        First with the few ways of least reduced cost, which mostly suffice; then with all that may be part of it.
        """
        slack = price * (1 + NEARLY) - self._bound
        kept = [index for index in self._order if self._reduced[index] <= slack]
        if slack < 0 or not kept:
            return None, True
        for some in (kept[:FEW_PATTERNS], kept[:MOST_AT_ONCE]):
            found, sure = self._at(price, some)
            if found is not None or len(some) == len(kept):
                return found, sure
        return None, False

    def _at(self, price: int, kept: Sequence[int]) -> tuple[list[Pattern] | None, bool]:
        import highspy

        solver = self._solver(kept, whole=True, most=price)
        solver.run()
        status, info = solver.getModelStatus(), solver.getInfo()
        if info.primal_solution_status == highspy.SolutionStatus.kSolutionStatusFeasible:
            times = [round(value) for value in solver.getSolution().col_value]
            return [self._patterns[index] for index, n in zip(kept, times, strict=True) for _ in range(n)], True
        return None, status == highspy.HighsModelStatus.kInfeasible

    def _solver(self, kept: Sequence[int], *, whole: bool, most: float = float("inf")) -> Any:
        import highspy
        import numpy as np

        make: Any = highspy.Highs  # its own annotations are partial
        solver = make()
        solver.silent()
        options: dict[str, Any] = {"output_flag": False, "threads": 1, "random_seed": 0, "mip_max_nodes": MOST_NODES,
                                   "mip_max_improving_sols": 1}
        for name, value in options.items():
            solver.setOptionValue(name, value)
        rows = [*zip(*(self._patterns[index][1] for index in kept), strict=True),
                [self._costs[index] for index in kept], [1] * len(kept)]
        least = [*self._demand, 0, self._at_least]
        highest = [float("inf")] * len(self._demand) + [most, float("inf")]
        table = np.array(rows, dtype=np.float64)
        size = len(kept)
        solver.addVars(size, np.zeros(size), np.full(size, float(sum(self._demand) + self._at_least)))
        solver.changeColsCost(size, np.arange(size, dtype=np.int32), table[-2])
        if whole:
            kinds = np.full(size, highspy.HighsVarType.kInteger.value, dtype=np.uint8)
            solver.changeColsIntegrality(size, np.arange(size, dtype=np.int32), kinds)
        for row, low, high in zip(table, least, highest, strict=True):
            used = np.flatnonzero(row).astype(np.int32)
            solver.addRow(low, high, len(used), used, row[used])
        return solver


def _in_turn(kinds: Sequence[int], reduced: Sequence[float]) -> list[int]:
    """Ways by reduced cost, the best of each kind first, then the second best: a few of them serve every mix."""
    ranks: Counter[int] = Counter()
    keyed: list[tuple[int, int, int]] = []
    for index in sorted(range(len(kinds)), key=lambda index: (reduced[index], index)):
        keyed.append((ranks[kinds[index]], kinds[index], index))
        ranks[kinds[index]] += 1
    return [index for _, _, index in sorted(keyed)]


def _patterns(values: Sequence[int], demand: Sequence[int], kinds: Sequence[Kind]) -> list[Pattern] | None:
    """Every way to fill a spool to which no further run can be added; None where there are too many."""
    found: list[Pattern] = []
    for kind, each in enumerate(kinds):
        for pattern in _fill(values, demand, 0, each.holds, ()):
            room = each.holds - sum(n * value for n, value in zip(pattern, values, strict=True))
            if any(n < most and value <= room for n, most, value in zip(pattern, demand, values, strict=True)):
                continue
            found.append((kind, pattern))
            if len(found) > MOST_PATTERNS:
                return None
    return found


def _fill(values: Sequence[int], demand: Sequence[int], index: int, room: int, so_far: tuple[int, ...]
          ) -> Iterator[tuple[int, ...]]:
    if index == len(values) or room < values[-1]:
        yield (*so_far, *(0,) * (len(values) - index))
        return
    for count in range(min(demand[index], room // values[index]), -1, -1):
        yield from _fill(values, demand, index + 1, room - count * values[index], (*so_far, count))


def _packing(lengths: Sequence[int], values: Sequence[int], spools: Sequence[Pattern]) -> Packing:
    """Counts of lengths as places of runs; what a pattern gives beyond the need is left on the spool."""
    places: dict[int, list[int]] = {}
    for place in range(len(lengths) - 1, -1, -1):
        places.setdefault(lengths[place], []).append(place)
    return [(kind, [places[value].pop() for value, count in zip(values, counts, strict=True)
                    for _ in range(min(count, len(places[value])))]) for kind, counts in spools]

"""Runs into the spools of one mix: best fit for nearly all jobs, a search spool by spool for tight ones."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from quoting.bill.cutting_mixes import Kind, Mix

MOST_BITS = 20_000  # of a table of sums; longer spools are told in larger units

Packing = list[tuple[int, list[int]]]  # (kind, places of its runs), one entry a spool


def best_fit(lengths: Sequence[int], groups: Sequence[str], kinds: Sequence[Kind], mix: Mix, *, apart: bool
             ) -> Packing | None:
    """Longest first, each run into the spool that it leaves least room in; None where a run finds no room.

    `apart`: spools without a cable of the run's pull group come first, then those with the fewest.
    """
    packing: Packing = [(index, []) for index, count in enumerate(mix) for _ in range(count)]
    room = [kinds[index].holds for index, _ in packing]
    together: list[Counter[str]] = [Counter() for _ in packing]
    for place, length in enumerate(lengths):
        group = groups[place]
        best, found = (len(lengths) + 1, 0), -1
        for spool, left in enumerate(room):
            if left >= length:
                this = (together[spool][group] if apart and group else 0, left)
                if this < best or found < 0:
                    best, found = this, spool
        if found < 0:
            return None
        room[found] -= length
        packing[found][1].append(place)
        together[found][group] += 1
    return packing


class GaveUp(Exception):
    """The search took more steps than it may."""


def fillings(values: Sequence[int], left: Sequence[int], holds: int, most_lost: int, steps: Iterator[int],
             forced: int = -1) -> Iterator[tuple[tuple[int, ...], int]]:
    """Each way to fill a spool to which nothing that is left can be added: (how many of each length, room lost).

    `values` longest first, `left` how many there are of each; at most `most_lost` of the room is lost, and at least
    one of `forced` is taken. GaveUp when the steps come to an end.
    """
    unit = holds // MOST_BITS + 1
    rounded = 0 if unit == 1 else holds // values[-1]  # what the lengths on one spool lose at most by rounding
    sums = [1]  # bit k: some of those from here on add up to k units
    for value, count in zip(reversed(values), reversed(left), strict=True):
        reachable = sums[-1]
        for _ in range(min(count, holds // value)):
            reachable |= reachable << value // unit
        sums.append(reachable & ((1 << (holds // unit + 1)) - 1))
    sums.reverse()
    counts = [0] * len(values)

    def choose(index: int, room: int, lost: int) -> Iterator[tuple[tuple[int, ...], int]]:
        if next(steps, None) is None:
            raise GaveUp
        while index < len(values) and (not left[index] or values[index] > room):
            index += 1
        if index == len(values):
            if room <= lost:
                yield tuple(counts), room
            return
        least = max((room - lost) // unit - rounded, 0)
        if not sums[index] >> least & ((1 << (room // unit - least + 1)) - 1):
            return
        most = min(left[index], room // values[index])
        for count in range(most, 0 if index == forced else -1, -1):
            counts[index] = count
            # One that could have been added is left out only if the room that stays is too small for it.
            allowed = lost if count == most else min(lost, values[index] - 1)
            yield from choose(index + 1, room - count * values[index], allowed)
        counts[index] = 0

    return choose(max(forced, 0), holds, most_lost)


def by_place(lengths: Sequence[int], values: Sequence[int], spools: Sequence[tuple[int, Sequence[int]]]) -> Packing:
    """Spools that count their lengths as spools that name their runs; counted beyond the need is left out."""
    places: dict[int, list[int]] = {}
    for place in range(len(lengths) - 1, -1, -1):
        places.setdefault(lengths[place], []).append(place)
    return [(kind, [places[value].pop() for value, count in zip(values, counts, strict=True)
                    for _ in range(min(count, len(places[value])))]) for kind, counts in spools]


class Search:
    """Fills one spool after the other with the longest run left and what goes best with it, and turns back.

    Only sets of runs are tried to which no further run could be added, and only while the room lost in all spools so
    far stays within what the mix has to spare: so a search that ends without a packing proves that there is none.
    """

    __slots__ = ("_kinds", "_left", "_lengths", "_spools", "_steps", "_taken", "_values")

    def __init__(self, lengths: Sequence[int], kinds: Sequence[Kind], mix: Mix, steps: int) -> None:
        counts = Counter(lengths)
        self._lengths, self._kinds = lengths, kinds
        self._values = sorted(counts, reverse=True)
        self._left = [counts[value] for value in self._values]
        self._spools = list(mix)
        self._taken: list[tuple[int, tuple[int, ...]]] = []
        self._steps = iter(range(steps))

    def find(self) -> Packing | None:
        """A packing, or None where there surely is none. GaveUp where the steps do not suffice."""
        room = sum(count * kind.holds for count, kind in zip(self._spools, self._kinds, strict=True))
        if not self._fill(room - sum(self._lengths)):
            return None
        empty: Packing = [(kind, []) for kind, count in enumerate(self._spools) for _ in range(count)]
        return [*by_place(self._lengths, self._values, self._taken), *empty]

    def _fill(self, spare: int) -> bool:
        first = next((index for index, count in enumerate(self._left) if count), -1)
        if first < 0:
            return True
        fair = spare // max(sum(self._spools), 1)
        for low, high in ((-1, fair), (fair, spare)):  # sets that lose little first
            for kind, each in enumerate(self._kinds):
                if not self._spools[kind] or each.holds < self._values[first]:
                    continue
                self._spools[kind] -= 1
                for counts, lost in fillings(self._values, tuple(self._left), each.holds, high, self._steps, first):
                    if lost > low and self._with(kind, counts, spare - lost):
                        return True
                self._spools[kind] += 1
        return False

    def _with(self, kind: int, counts: tuple[int, ...], spare: int) -> bool:
        for index, count in enumerate(counts):
            self._left[index] -= count
        self._taken.append((kind, counts))
        if self._fill(spare):
            return True
        self._taken.pop()
        for index, count in enumerate(counts):
            self._left[index] += count
        return False

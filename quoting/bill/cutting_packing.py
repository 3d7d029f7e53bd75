"""Runs into the spools of one mix: best fit for nearly all jobs, a search spool by spool for tight ones."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from quoting.bill.cutting_mixes import Kind, Mix

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
        self._steps = steps

    def find(self) -> Packing | None:
        """A packing, or None where there surely is none. GaveUp where the steps do not suffice."""
        room = sum(count * kind.holds for count, kind in zip(self._spools, self._kinds, strict=True))
        if not self._fill(room - sum(self._lengths)):
            return None
        places: dict[int, list[int]] = {}
        for place in range(len(self._lengths) - 1, -1, -1):
            places.setdefault(self._lengths[place], []).append(place)
        packing: Packing = []
        for kind, counts in self._taken:
            inside = [places[self._values[i]].pop() for i, count in enumerate(counts) for _ in range(count)]
            packing.append((kind, inside))
        empty: Packing = [(kind, []) for kind, count in enumerate(self._spools) for _ in range(count)]
        return [*packing, *empty]

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
                for counts, waste in self._sets(first, each.holds, high):
                    if waste > low and self._with(kind, counts, spare - waste):
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

    def _sets(self, first: int, holds: int, most_waste: int) -> Iterator[tuple[tuple[int, ...], int]]:
        """Counts of each length that go in one spool with the longest left, and the room that they lose."""
        values, left = self._values, tuple(self._left)
        behind = [0] * (len(values) + 1)
        for index in range(len(values) - 1, -1, -1):
            behind[index] = behind[index + 1] + values[index] * left[index]
        counts = [0] * len(values)

        def choose(index: int, room: int) -> Iterator[tuple[tuple[int, ...], int]]:
            self._steps -= 1
            if self._steps < 0:
                raise GaveUp
            if room - behind[index] > most_waste:
                return
            while index < len(values) and (not left[index] or values[index] > room):
                index += 1
            if index == len(values):
                if room <= most_waste and not any(
                        n > counts[i] and values[i] <= room for i, n in enumerate(left)):
                    yield tuple(counts), room
                return
            most = min(left[index], room // values[index])
            for count in range(most, 0 if index == first else -1, -1):
                counts[index] = count
                yield from choose(index + 1, room - count * values[index])
            counts[index] = 0

        yield from choose(first, holds)

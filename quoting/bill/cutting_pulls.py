"""Cables of one pull group onto different spools, as far as the spools have room: they are pulled at the same time."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence

from quoting.bill.cutting_mixes import Kind
from quoting.bill.cutting_packing import Packing


class _Spools:
    """A packing that may be changed, with the room left and the pull groups on each spool."""

    __slots__ = ("_groups", "_lengths", "on", "packing", "room")

    def __init__(self, packing: Packing, lengths: Sequence[int], groups: Sequence[str], kinds: Sequence[Kind]) -> None:
        self._lengths, self._groups = lengths, groups
        self.packing = [(kind, list(places)) for kind, places in packing]
        self.room = [kinds[kind].holds - sum(lengths[place] for place in places) for kind, places in packing]
        self.on = [Counter(groups[place] for place in places if groups[place]) for _, places in packing]

    def improve(self, spool: int, place: int) -> bool:
        """Takes a run whose group is on its spool more than once to another spool, alone or for another run."""
        length, group = self._lengths[place], self._groups[place]
        gain = self.on[spool][group] - 1
        others = [other for other in range(len(self.packing)) if other != spool and self.on[other][group] < gain]
        for other in sorted(others, key=lambda other: (self.on[other][group], self.room[other], other)):
            if self.room[other] >= length:
                self._move(place, spool, other)
                return True
        for other in sorted(others, key=lambda other: (self.on[other][group], other)):
            better = gain - self.on[other][group]
            for back in self.packing[other][1]:
                difference, theirs = length - self._lengths[back], self._groups[back]
                if theirs == group or -self.room[spool] > difference or difference > self.room[other]:
                    continue
                if not theirs or self.on[spool][theirs] - (self.on[other][theirs] - 1) < better:
                    self._move(place, spool, other)
                    self._move(back, other, spool)
                    return True
        return False

    def _move(self, place: int, start: int, end: int) -> None:
        length, group = self._lengths[place], self._groups[place]
        self.packing[start][1].remove(place)
        self.packing[end][1].append(place)
        self.room[start] += length
        self.room[end] -= length
        if group:
            self.on[start][group] -= 1
            self.on[end][group] += 1


def pull_apart(packing: Packing, lengths: Sequence[int], groups: Sequence[str], kinds: Sequence[Kind]) -> Packing:
    """The packing with fewer cables of one pull group on one spool, by moves and exchanges; the spools stay the same.

    Each change lessens the number of pairs of one group on one spool, so it ends; it may end before the least.
    """
    if len(packing) < 2:
        return packing
    spools = _Spools(packing, lengths, groups, kinds)
    changed = True
    while changed:
        changed = False
        for spool, (_, places) in enumerate(spools.packing):
            for place in sorted(places):
                if spools.on[spool][groups[place]] > 1:
                    changed = spools.improve(spool, place) or changed
    return spools.packing

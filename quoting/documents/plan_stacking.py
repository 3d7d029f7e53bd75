"""Symbols of a plan that would lie over each other: what hangs on a wall keeps its distance along it, the later one
stands farther off it. Both the house plan and a room's placement plan draw a place by this one rule.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec import Struct

from quoting.documents.plan_labels import Box
from quoting.documents.plan_symbols import SymbolKind, Wall, reach

APART_MM = 0.3
_OFF: dict[Wall, tuple[int, int]] = {"west": (1, 0), "east": (-1, 0), "north": (0, 1), "south": (0, -1), "": (0, 0)}


class Standing(Struct, frozen=True, kw_only=True):
    """A symbol that wants a point of the paper; `wall` is the one that it hangs on, "" for none. [mm]"""

    place: str
    kind: SymbolKind
    wall: Wall
    x_mm: float
    y_mm: float
    size: float = 1.0

    def box(self) -> Box:
        """The paper that it takes."""
        left, up, right, down = reach(self.kind, self.wall, self.size)
        return Box(self.x_mm - left, self.y_mm - up, self.x_mm + right, self.y_mm + down)


def stood_off(wanted: Iterable[Standing]) -> Iterator[tuple[Standing, Box]]:
    """Each symbol where it is drawn, and the paper that it takes, in their order."""
    taken: list[Box] = []
    for one in wanted:
        while one.wall and (met := next((box for box in taken if one.box().meets(box)), None)):
            one = _off(one, met)
        box = one.box()
        if one.wall:
            taken.append(box)
        yield one, box


def _off(one: Standing, met: Box) -> Standing:
    """The symbol a little farther off its wall than what it meets."""
    box, (east, south) = one.box(), _OFF[one.wall]
    by = {"west": met.right_mm - box.left_mm, "east": box.right_mm - met.left_mm,
          "north": met.bottom_mm - box.top_mm, "south": box.bottom_mm - met.top_mm, "": 0.0}[one.wall] + APART_MM
    return Standing(place=one.place, kind=one.kind, wall=one.wall, x_mm=one.x_mm + east * by,
                    y_mm=one.y_mm + south * by, size=one.size)

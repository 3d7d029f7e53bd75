"""Where rooms stand on a floor's drawing: where the plan says, else in neat rows to scale, never one over another.

Metres, x to the east and y to the north, as the intake has them. Nothing here depends on the order of the rows.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from msgspec import Struct
from msgspec.structs import replace

GAP_M = 0.4  # between rooms that are only set side by side: it must not look like a wall
SLACK_M = 0.05  # rooms measured inside their walls may overlap by as much on a plan
WIDEST_SHAPE, TALLEST_SHAPE = 1.6, 0.85  # width over height that an arrangement is looked for in
LOWNESS = 0.08  # how much scale a lower drawing is worth


class Outline(Struct, frozen=True, kw_only=True):
    """A room seen from above: its south-west corner, how far it reaches east and north. [m]"""

    code: str
    length_m: float
    width_m: float
    outdoor: bool = False
    x_m: float = 0.0
    y_m: float = 0.0

    @property
    def east_m(self) -> float:
        """Its east wall. [m]"""
        return self.x_m + self.length_m

    @property
    def north_m(self) -> float:
        """Its north wall. [m]"""
        return self.y_m + self.width_m


def at_middle(outline: Outline, x_m: float, y_m: float) -> Outline:
    """The outline with its middle at a plan position."""
    return replace(outline, x_m=x_m - outline.length_m / 2, y_m=y_m - outline.width_m / 2)


def overlapping(outlines: Sequence[Outline]) -> tuple[tuple[str, str], ...]:
    """The pairs of rooms of which a plan puts one over the other."""
    ordered = sorted(outlines, key=lambda one: one.code)
    return tuple((one.code, other.code) for index, one in enumerate(ordered) for other in ordered[index + 1:]
                 if _shared(one.x_m, one.east_m, other.x_m, other.east_m) > SLACK_M
                 and _shared(one.y_m, one.north_m, other.y_m, other.north_m) > SLACK_M)


def _shared(low: float, high: float, other_low: float, other_high: float) -> float:
    return min(high, other_high) - max(low, other_low)


def below(outlines: Sequence[Outline], others: Sequence[Outline]) -> tuple[Outline, ...]:
    """An arrangement moved to stand south of others, its west edge on theirs."""
    if not outlines or not others:
        return tuple(outlines)
    east = min(one.x_m for one in others) - min(one.x_m for one in outlines)
    north = min(one.y_m for one in others) - 2 * GAP_M - max(one.north_m for one in outlines)
    return tuple(replace(one, x_m=one.x_m + east, y_m=one.y_m + north) for one in outlines)


def beside(host: Outline, closet: Outline, side: str) -> Outline:
    """A room and the closet at its side as one outline, to be arranged together."""
    if side in ("north", "south"):
        return replace(host, length_m=max(host.length_m, closet.length_m), width_m=host.width_m + closet.width_m)
    return replace(host, length_m=host.length_m + closet.length_m, width_m=max(host.width_m, closet.width_m))


def parted(both: Outline, host: Outline, closet: Outline, side: str) -> tuple[Outline, Outline]:
    """The room and its closet where the one outline of both was put, their middles in line."""
    x, y = both.x_m + both.length_m / 2, both.y_m + both.width_m / 2
    room = {"north": (x, both.y_m + host.width_m / 2), "south": (x, both.north_m - host.width_m / 2),
            "east": (both.x_m + host.length_m / 2, y), "west": (both.east_m - host.length_m / 2, y)}[side]
    other = {"north": (x, both.north_m - closet.width_m / 2), "south": (x, both.y_m + closet.width_m / 2),
             "east": (both.east_m - closet.length_m / 2, y), "west": (both.x_m + closet.length_m / 2, y)}[side]
    return at_middle(host, *room), at_middle(closet, *other)


def arrange(outlines: Iterable[Outline], within_m: float = 0.0) -> tuple[Outline, ...]:
    """Rooms without a plan position in rows, to scale: what is indoors, and south of it what is outdoors.

    Of the widths that are tried, the one whose drawing is largest on a sheet a little taller than wide; where a width
    is given, the lowest that stays within it.
    """
    rooms = sorted(outlines, key=lambda one: (-one.width_m, -one.length_m, one.code))
    if not rooms:
        return ()
    found = [_stacked(rooms, width) for width in _widths(rooms)]
    largest = min(found, key=lambda plan: (round(_asked_m(plan), 6), round(extent_m(plan)[0], 6)))
    found += [_stacked(rooms, within_m)] if within_m else []
    fits = [plan for plan in found if extent_m(plan)[0] <= within_m + 1e-6]
    return min(fits, key=lambda plan: tuple(round(side, 6) for side in reversed(extent_m(plan))), default=largest)


def _widths(rooms: Sequence[Outline]) -> list[float]:
    """Widths worth a try: the widest room's, and what sums of the first rooms give up to a wide sheet."""
    widest = max(room.length_m for room in rooms)
    area = sum((room.length_m + GAP_M) * (room.width_m + GAP_M) for room in rooms)
    most = max(widest, math.sqrt(area * WIDEST_SHAPE) * 1.15)
    least = max(widest, math.sqrt(area * TALLEST_SHAPE) * 0.85)
    return [widest, *(least + (most - least) * step / 24 for step in range(25))]


def _stacked(rooms: Sequence[Outline], width_m: float) -> tuple[Outline, ...]:
    indoors = _rows([room for room in rooms if not room.outdoor], width_m)
    outdoors = _rows([room for room in rooms if room.outdoor], width_m)
    return (*indoors, *below(outdoors, indoors))


def _asked_m(plan: Sequence[Outline]) -> float:
    """How much of a sheet it asks for: its width, or its height where that limits the scale, and a little of it. [m]"""
    width, height = extent_m(plan)
    return max(width, height * TALLEST_SHAPE) + LOWNESS * height


def extent_m(plan: Sequence[Outline]) -> tuple[float, float]:
    """How wide and how high a plan is. [m]"""
    return (max(one.east_m for one in plan) - min(one.x_m for one in plan),
            max(one.north_m for one in plan) - min(one.y_m for one in plan))


def _rows(rooms: Sequence[Outline], width_m: float) -> list[Outline]:
    """Rows from north to south. A row is as deep as its deepest room; shallower rooms share a column.

    A room wider than `width_m` has a row of its own: each row takes at least one room.
    """
    left = list(rooms)
    placed: list[Outline] = []
    north = 0.0
    while left:
        depth = left[0].width_m
        east = 0.0
        first: Outline | None = _first_that_fits(left, width_m, depth) or left[0]
        while first is not None:
            column = _column(left, first, depth)
            south = north
            for room in column:
                left.remove(room)
                placed.append(replace(room, x_m=east, y_m=south - room.width_m))
                south -= room.width_m + GAP_M
            east += first.length_m + GAP_M
            first = _first_that_fits(left, width_m - east, depth)
        north -= depth + GAP_M
    return placed


def _first_that_fits(rooms: Sequence[Outline], width_m: float, depth_m: float) -> Outline | None:
    return next((room for room in rooms if room.length_m <= width_m + 1e-9 and room.width_m <= depth_m + 1e-9), None)


def _column(rooms: Sequence[Outline], first: Outline, depth_m: float) -> list[Outline]:
    """The room, and under it what is no longer than it and still fits the row's depth: the longest first."""
    column, room_left = [first], depth_m - first.width_m
    for room in sorted(rooms, key=lambda one: (-one.length_m, -one.width_m, one.code)):
        if room not in column and room.length_m <= first.length_m + 1e-9 and room.width_m + GAP_M <= room_left + 1e-9:
            column.append(room)
            room_left -= room.width_m + GAP_M
    return column

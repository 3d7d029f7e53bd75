"""Where the loudspeakers of an empty room stand: pairs, fields, lines and walls; in the middle of joist bays.

x runs along the room's length from its west wall, y along its width from its south wall. Everything is metres.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import combinations
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from quoting.engineering.brief import Brief, outdoor
from quoting.job import Joists, Room

Side = Literal["L", "R", "both", ""]  # "": a single one of a mono zone
MOST_CHOICES = 2_000  # of groups for a smaller option that are weighed; beyond, the ones nearest to the middle


class Limits(Struct, frozen=True, kw_only=True):
    """How far apart: standards/speaker_placing.csv. Metres."""

    off_wall_m: float
    pair_least_m: float
    pair_most_m: float
    farthest_m: float  # 0: the counting standard decides
    keep_clear_m: float
    nearest_m: float  # closer together they crowd


class Spot(Struct, frozen=True, kw_only=True):
    """One loudspeaker's place on the plan. `bay` counts joist bays from 1; 0 where joists bind nothing."""

    x_m: float
    y_m: float
    side: Side
    bay: int = 0
    moved_m: float = 0.0


class Bays(Struct, frozen=True, kw_only=True):
    """Joist bays: which way they step, how wide from middle to middle. The first joist lies at the wall."""

    axis: Literal["x", "y"]
    spacing_m: float


def limits_of(brief: Brief, room: Room) -> tuple[Limits, str]:
    """The room's limits and the standards row that gave them."""
    answer = brief.catalog.standards.ask("speaker_placing", outdoor=outdoor(room))
    return Limits(**{name: answer.number(name) for name in Limits.__struct_fields__}), answer.decided


def spots(
    room: Room, pairs: int, single: bool, limits: Limits, smaller: Iterable[int] = (), alone: Side = "both"
) -> list[Spot]:
    """Every spot before obstacles; on a ceiling in the middle of joist bays. A pair is two neighbours, L first.

    The pair (or single loudspeaker, whose side is `alone`) nearest to the room's middle comes first; with the counts
    of `smaller` options, the first so many of each spread over the room as evenly as they can.
    """
    if pairs == 0:  # typed: a room that plays nothing of its own
        return []
    along = room.length_m >= room.width_m
    longer, shorter = max(room.length_m, room.width_m), min(room.length_m, room.width_m)
    if single:
        groups: list[Group] = [[(far, shorter / 2, alone)] for far in _spread(longer, pairs, limits)]
    elif room.mount == "surface" and outdoor(room):
        groups = _line(longer, shorter if along else 0.0, pairs, limits)
    elif room.mount in ("wall", "surface"):
        groups = _walls(longer, shorter, pairs, limits, along)
    else:
        groups = _field(longer, shorter, pairs, limits)
    if room.mount not in ("wall", "surface"):
        groups = sorted(groups, key=lambda group: _from_middle(group, longer, shorter))
    if room.mount != "wall" and (outdoor(room) or room.mount != "surface"):
        groups = _spread_first(groups, smaller, longer, shorter)
    turned = [(far, near, side) if along else (near, far, side) for group in groups for far, near, side in group]
    bays = bays_of(room)
    return [_snapped(Spot(x_m=round(x, 3), y_m=round(y, 3), side=side), room, bays, limits) for x, y, side in turned]


Group = list[tuple[float, float, Side]]  # along the longer side, across it, side


def _field(longer: float, shorter: float, pairs: int, limits: Limits) -> list[Group]:
    """One pair along the longer side; more as a grid of nearly square cells, left and right by turns."""
    if pairs == 1:
        gap = _pair_gap(longer, limits)
        return [[((longer - gap) / 2, shorter / 2, "L"), ((longer + gap) / 2, shorter / 2, "R")]]
    columns, rows = grid_of(2 * pairs, longer, shorter)
    far, near = _spread(longer, columns, limits), _spread(shorter, rows, limits)
    if rows % 2 == 0:
        couples = [((i, j), (i, j + 1)) for i in range(columns) for j in range(0, rows, 2)]
    else:
        couples = [((i, j), (i + 1, j)) for j in range(rows) for i in range(0, columns, 2)]
    return [_left_first((far[i], near[j], _turn_about(i + j)) for i, j in couple) for couple in couples]


def _line(longer: float, across: float, pairs: int, limits: Limits) -> list[Group]:
    """Along one wall of the house, left and right by turns."""
    if pairs == 1:
        gap = _pair_gap(longer, limits)
        return [[((longer - gap) / 2, across, "L"), ((longer + gap) / 2, across, "R")]]
    far = _spread(longer, 2 * pairs, limits)
    return [[(far[2 * k], across, "L"), (far[2 * k + 1], across, "R")] for k in range(pairs)]


def _walls(longer: float, shorter: float, pairs: int, limits: Limits, along: bool) -> list[Group]:
    """Pairs on the two longer walls by turns. Facing the first wall, left is where x (or y) is small."""
    first, second = (shorter, 0.0) if along else (0.0, shorter)
    groups = []
    for index in range(pairs):
        facing = index % 2 == 0
        on_wall = (pairs + 1) // 2 if facing else pairs // 2
        part = longer / on_wall
        gap, middle = _pair_gap(part, limits), part * (index // 2 + 0.5)
        low, high = (middle - gap / 2, middle + gap / 2)
        left, right = (low, high) if facing else (high, low)
        wall = first if facing else second
        groups.append([(left, wall, _LEFT), (right, wall, _RIGHT)])
    return groups


_LEFT: Side = "L"
_RIGHT: Side = "R"


def _turn_about(number: int) -> Side:
    return _RIGHT if number % 2 else _LEFT


def _left_first(group: Iterable[tuple[float, float, Side]]) -> Group:
    return sorted(group, key=lambda spot: spot[2])


def grid_of(count: int, longer: float, shorter: float) -> tuple[int, int]:
    """Columns along the longer side and rows across it whose cells are nearest to squares.

    >>> grid_of(4, 5.0, 5.0), grid_of(4, 12.0, 2.0), grid_of(8, 12.0, 7.0)
    ((2, 2), (4, 1), (4, 2))
    """
    shapes = [(count // rows, rows) for rows in range(1, math.isqrt(count) + 1) if count % rows == 0]
    return min(shapes, key=lambda shape: abs(math.log(longer / shape[0] / (shorter / shape[1]))))


def _pair_gap(extent: float, limits: Limits) -> float:
    """Between the two of a pair: a quarter in from the sides (common practice, no source), within the limits."""
    gap = min(max(extent / 2, limits.pair_least_m), limits.pair_most_m)
    room_for = extent - 2 * limits.off_wall_m
    return min(gap, room_for) if room_for > extent / 4 else extent / 2


def _spread(extent: float, count: int, limits: Limits) -> list[float]:
    """Evenly over a side, half a step from its walls; as far apart as a pair at least, where the walls allow."""
    if count == 1:
        return [extent / 2]
    step = max(extent / count, limits.pair_least_m)
    room_for = (extent - 2 * limits.off_wall_m) / (count - 1)
    step = min(step, room_for) if room_for > extent / count / 2 else extent / count
    return [extent / 2 + (index - (count - 1) / 2) * step for index in range(count)]


def _spread_first(groups: list[Group], smaller: Iterable[int], longer: float, shorter: float) -> list[Group]:
    """Those first that a smaller option equips: of so many, the ones that leave nobody far from all of them."""
    chosen: list[Group] = []
    for count in sorted(set(smaller)):
        rest = [group for group in groups if group not in chosen]
        more = count - len(chosen)
        if 0 < more < len(rest) and math.comb(len(rest), more) <= MOST_CHOICES:
            chosen += min(combinations(rest, more), key=lambda made: _farness([*chosen, *made], longer, shorter))
    return [*chosen, *(group for group in groups if group not in chosen)]


def _farness(groups: Sequence[Group], longer: float, shorter: float) -> float:
    """How far from the nearest loudspeaker people are, over a grid of the room. [m2]"""
    at = [(far, near) for group in groups for far, near, _ in group]
    return round(sum(min((x - far) ** 2 + (y - near) ** 2 for far, near in at)
                     for x in _tenths(longer) for y in _tenths(shorter)), 6)


def _tenths(extent: float) -> list[float]:
    return [extent * (step + 0.5) / 10 for step in range(10)]


def _from_middle(group: Group, longer: float, shorter: float) -> tuple[float, float, float]:
    far = sum(spot[0] for spot in group) / len(group)
    near = sum(spot[1] for spot in group) / len(group)
    return round(math.hypot(far - longer / 2, near - shorter / 2), 3), far, near


# ---------------------------------------------------------------- joists

def bays_of(room: Room) -> Bays | None:
    """Joists that run across the length are passed one by one along it, and the other way round."""
    if room.mount != "ceiling" or room.joists is None or room.joist_spacing_m is None:
        return None
    steps: dict[Joists, Literal["x", "y"]] = {"across": "x", "along": "y"}
    return Bays(axis=steps[room.joists], spacing_m=room.joist_spacing_m)


def bay_centres(extent_m: float, spacing_m: float, off_wall_m: float) -> list[float]:
    """The middles of the bays that lie off the walls; of all whole bays where none does. [m]"""
    centres = [(bay + 0.5) * spacing_m for bay in range(int(extent_m / spacing_m + 1e-9))]
    allowed = [at for at in centres if off_wall_m - 1e-9 <= at <= extent_m - off_wall_m + 1e-9]
    return allowed or centres


def _snapped(spot: Spot, room: Room, bays: Bays | None, limits: Limits) -> Spot:
    """In the middle of the nearest bay; of two as near, the outer one, so that both halves of a room match."""
    if bays is None:
        return spot
    extent, at = (room.length_m, spot.x_m) if bays.axis == "x" else (room.width_m, spot.y_m)
    centres = bay_centres(extent, bays.spacing_m, limits.off_wall_m)
    if not centres:
        return spot
    best = min(centres, key=lambda centre: (round(abs(centre - at), 4), round(-abs(centre - extent / 2), 4)))
    best = round(best, 3)
    return in_bay(replace(spot, x_m=best) if bays.axis == "x" else replace(spot, y_m=best), bays)


def in_bay(spot: Spot, bays: Bays | None) -> Spot:
    """The spot with the number of the bay that it is in."""
    if bays is None:
        return spot
    at = spot.x_m if bays.axis == "x" else spot.y_m
    return replace(spot, bay=int(at / bays.spacing_m) + 1)


# ---------------------------------------------------------------- how far apart

def nearest_m(spot: Spot, found: Sequence[Spot]) -> float:
    """How far the next speaker of the room stands; 0 where there is none. [m]"""
    return min((math.hypot(spot.x_m - one.x_m, spot.y_m - one.y_m) for one in found if one is not spot), default=0.0)


def farthest_m(found: Sequence[Spot]) -> float:
    """The longest way from any speaker to the next one; 0 for a lone one. [m]"""
    return max((nearest_m(spot, found) for spot in found), default=0.0)

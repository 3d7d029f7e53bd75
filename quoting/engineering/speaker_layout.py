"""Where the loudspeakers of a room stand: pairs, fields, lines and walls; joist bays; clear of what is in the way.

x runs along the room's length from its west wall, y along its width from its south wall. Everything is metres.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from quoting.engineering.brief import Brief, outdoor
from quoting.job import Joists, Room
from quoting.problems import Problem, warning
from quoting.sheets.obstacles import Obstacle, read_obstacles
from quoting.units import M_PER_FT, show_length

Side = Literal["L", "R", "both"]
SEARCH_STEP_M = 0.0762  # 3 in: how finely a clear spot is looked for where no joists bind it
OUT_OF_LINE_M = 0.3  # leaving the line costs as much as this much of further moving


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """How far apart: standards/speaker_placing.csv. Metres."""

    off_wall_m: float
    pair_least_m: float
    pair_most_m: float
    farthest_m: float  # 0: the counting standard decides
    keep_clear_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """One loudspeaker's place on the plan. `bay` counts joist bays from 1; 0 where joists bind nothing."""

    x_m: float
    y_m: float
    side: Side
    bay: int = 0
    moved_m: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Bays:
    """Joist bays: which way they step, how wide from middle to middle. The first joist lies at the wall."""

    axis: Literal["x", "y"]
    spacing_m: float


def lay_out(brief: Brief, room: Room, pairs: int, single: bool) -> tuple[list[Spot], list[Problem], str]:
    """The room's spots in the order of their numbers, what is wrong with them, the standards row that decided."""
    answer = brief.catalog.standards.ask("speaker_placing", outdoor=outdoor(room))
    limits = Limits(**{name: answer.number(name) for name in Limits.__dataclass_fields__})
    found = spots(room, pairs, single, limits)
    problems: list[Problem] = []
    if room.mount == "ceiling":
        obstacles, problems = _obstacles(brief, room)
        found, more = clear_of(room, found, obstacles, limits)
        problems += more
    return found, problems + _too_far(brief, room, found, limits), answer.decided


def spots(room: Room, pairs: int, single: bool, limits: Limits) -> list[Spot]:
    """Every spot before obstacles; on a ceiling in the middle of joist bays. A pair is two neighbours, L first.

    The pair (or single-stereo speaker) nearest to the room's middle comes first: a smaller option takes the first ones.
    """
    if pairs == 0:  # typed: a room that plays nothing of its own
        return []
    along = room.length_m >= room.width_m
    longer, shorter = max(room.length_m, room.width_m), min(room.length_m, room.width_m)
    if single:
        groups = [[(far, shorter / 2, side)] for far in _spread(longer, pairs, limits) for side in _BOTH]
    elif room.mount == "surface" and outdoor(room):
        groups = _line(longer, shorter if along else 0.0, pairs, limits)
    elif room.mount in ("wall", "surface"):
        groups = _walls(longer, shorter, pairs, limits, along)
    else:
        groups = _field(longer, shorter, pairs, limits)
    if room.mount not in ("wall", "surface"):
        groups = sorted(groups, key=lambda group: _from_middle(group, longer, shorter))
    turned = [(far, near, side) if along else (near, far, side) for group in groups for far, near, side in group]
    bays = _bays(room)
    return [_snapped(Spot(x_m=round(x, 3), y_m=round(y, 3), side=side), room, bays, limits) for x, y, side in turned]


Group = list[tuple[float, float, Side]]  # along the longer side, across it, side
_BOTH: tuple[Side, ...] = ("both",)


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


def _from_middle(group: Group, longer: float, shorter: float) -> tuple[float, float, float]:
    far = sum(spot[0] for spot in group) / len(group)
    near = sum(spot[1] for spot in group) / len(group)
    return round(math.hypot(far - longer / 2, near - shorter / 2), 3), far, near


# ---------------------------------------------------------------- joists

def _bays(room: Room) -> Bays | None:
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
    return _in_bay(replace(spot, x_m=best) if bays.axis == "x" else replace(spot, y_m=best), bays)


def _in_bay(spot: Spot, bays: Bays | None) -> Spot:
    if bays is None:
        return spot
    at = spot.x_m if bays.axis == "x" else spot.y_m
    return replace(spot, bay=int(at / bays.spacing_m) + 1)


# ---------------------------------------------------------------- obstacles

def _obstacles(brief: Brief, room: Room) -> tuple[tuple[Obstacle, ...], list[Problem]]:
    """What stands in the room's cell, with a warning for what cannot be checked."""
    placed, unplaced = read_obstacles(room.obstacles, M_PER_FT if brief.job.unit_system == "imperial" else 1.0)
    where = room.where("obstacles")[0]
    problems = [warning(
        where, "obstacle-without-position",
        f"'{words}' on the ceiling of '{room.name}' has no position, so that speakers cannot be kept clear of it.",
        "Type how far it is from the west and the south wall: fan at 6,7.") for words in unplaced]
    inside = []
    for one in placed:
        if one.x_m <= room.length_m and one.y_m <= room.width_m:
            inside.append(one)
            continue
        system = brief.job.unit_system
        problems.append(warning(
            where, "obstacle-outside-room",
            f"'{one.name}' at {show_length(one.x_m, system)}, {show_length(one.y_m, system)} lies outside "
            f"'{room.name}', which is {show_length(room.length_m, system)} by {show_length(room.width_m, system)}.",
            "Type how far it is from the west wall, along the length, then from the south wall."))
    return tuple(inside), problems


def clear_of(
    room: Room, found: Sequence[Spot], obstacles: Sequence[Obstacle], limits: Limits
) -> tuple[list[Spot], list[Problem]]:
    """Spots too near an obstacle on the nearest allowed one, in bay steps; a warning where there is none."""
    bays = _bays(room)
    result = list(found)
    problems: list[Problem] = []
    for index, spot in enumerate(found):
        near = [one for one in obstacles if _apart(spot, one) < limits.keep_clear_m - 1e-6]
        if not near:
            continue
        others = result[:index] + result[index + 1:]
        best = min(_candidates(room, spot, bays, obstacles, others, limits), default=None)
        if best is not None:
            moved = Spot(x_m=best[1], y_m=best[2], side=spot.side,
                         moved_m=round(math.hypot(best[1] - spot.x_m, best[2] - spot.y_m), 3))
            result[index] = _in_bay(moved, bays)
            continue
        problems.append(warning(
            room.where("obstacles")[0], "no-clear-spot",
            f"Speaker {index + 1} of '{room.name}' finds no spot off the walls and clear of "
            f"'{', '.join(one.name for one in near)}'.",
            "Move the obstacle, type fewer under 'Pairs', or place the speaker on site."))
    return result, problems


def _candidates(
    room: Room, spot: Spot, bays: Bays | None, obstacles: Sequence[Obstacle], others: Sequence[Spot], limits: Limits
) -> Iterator[tuple[float, float, float]]:
    """How dear each allowed spot is, and where it lies: near is cheap, and so is staying in line."""
    for x in _steps(room.length_m, spot.x_m, bays if bays and bays.axis == "x" else None, limits):
        for y in _steps(room.width_m, spot.y_m, bays if bays and bays.axis == "y" else None, limits):
            at = replace(spot, x_m=x, y_m=y)
            if (all(_apart(at, one) >= limits.keep_clear_m - 1e-6 for one in obstacles)
                    and all(math.hypot(x - one.x_m, y - one.y_m) >= limits.off_wall_m for one in others)):
                in_line = x == spot.x_m or y == spot.y_m
                moved = math.hypot(x - spot.x_m, y - spot.y_m)
                yield round(moved + (0.0 if in_line else OUT_OF_LINE_M), 3), x, y


def _steps(extent: float, at: float, bays: Bays | None, limits: Limits) -> list[float]:
    """Where a speaker may stand along one side: in bay steps, else finely; its own place always."""
    if bays is not None:
        return [round(centre, 3) for centre in bay_centres(extent, bays.spacing_m, limits.off_wall_m)] or [at]
    step = max(SEARCH_STEP_M, extent / 100)
    low, high = math.ceil((limits.off_wall_m - at) / step), math.floor((extent - limits.off_wall_m - at) / step)
    return sorted({at, *(round(at + count * step, 3) for count in range(low, high + 1))})


def _apart(spot: Spot, obstacle: Obstacle) -> float:
    return math.hypot(spot.x_m - obstacle.x_m, spot.y_m - obstacle.y_m)


def nearest_m(spot: Spot, found: Sequence[Spot]) -> float:
    """How far the next speaker of the room stands; 0 where there is none. [m]"""
    return min((math.hypot(spot.x_m - one.x_m, spot.y_m - one.y_m) for one in found if one is not spot), default=0.0)


def _too_far(brief: Brief, room: Room, found: Sequence[Spot], limits: Limits) -> list[Problem]:
    farthest = max((nearest_m(spot, found) for spot in found), default=0.0)
    if not limits.farthest_m or farthest <= limits.farthest_m + 1e-6:
        return []
    system = brief.job.unit_system
    return [warning(
        room.where("pairs", "length_m")[0], "speakers-far-apart",
        f"The speakers of '{room.name}' stand {show_length(farthest, system)} apart; outdoors "
        f"{show_length(limits.pair_least_m, system)} to {show_length(limits.pair_most_m, system)} is ideal and "
        f"{show_length(limits.farthest_m, system)} the most.", "Type more under 'Pairs'.")]

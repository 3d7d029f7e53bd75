"""A room's final spots: the layout of the empty room, clear of what is in the way, and what an estimator typed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec.structs import replace

from quoting.engineering.brief import Brief, outdoor
from quoting.engineering.speaker_layout import (
    Bays,
    Limits,
    Side,
    Spot,
    bay_centres,
    bays_of,
    farthest_m,
    in_bay,
    limits_of,
    nearest_m,
    spots,
)
from quoting.facts import RoomUse
from quoting.job import Override, Room
from quoting.problems import Problem, stop, warning
from quoting.sheets.obstacles import Obstacle, read_obstacles
from quoting.units import M_PER_FT, show_length

SEARCH_STEP_M = 0.0762  # 3 in: how finely a clear spot is looked for where no joists bind it
OUT_OF_LINE_M = 0.3  # leaving the line of the others costs as much as this much of further moving
OFF_BAY_M = 0.02  # as near to the middle of a bay counts as in it


def lay_out(brief: Brief, room: Room, uses: Sequence[RoomUse]) -> tuple[list[Spot], list[Problem], str]:
    """The room's spots in the order of their numbers, what is wrong with them, the standards row that decided.

    `uses` are those of every option that plays or wires the room: the largest lays out, smaller ones take the first.
    """
    limits, decided = limits_of(brief, room)
    pairs, single = max(use.pairs for use in uses), uses[0].single
    alone: Side = "both" if uses[0].single_stereo else ""
    found = spots(room, pairs, single, limits, (use.pairs for use in uses if use.state == "live"), alone)
    obstacles: tuple[Obstacle, ...] = ()
    problems: list[Problem] = []
    if room.mount == "ceiling":
        obstacles, problems = _obstacles(brief, room)
        found, more = clear_of(room, found, obstacles, limits, single)
        problems += more
    found, typed = _as_typed(brief, room, found, obstacles, limits)
    return found, [*problems, *typed, *_distances(brief, room, found, limits)], decided


# ---------------------------------------------------------------- obstacles

def _obstacles(brief: Brief, room: Room) -> tuple[tuple[Obstacle, ...], list[Problem]]:
    """What stands in the room's cell, with a warning for what cannot be checked."""
    placed, unplaced = read_obstacles(room.obstacles, bare_m(brief))
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


def bare_m(brief: Brief) -> float:
    """What a number without a unit means. [m]"""
    return M_PER_FT if brief.job.unit_system == "imperial" else 1.0


def clear_of(
    room: Room, found: Sequence[Spot], obstacles: Sequence[Obstacle], limits: Limits, single: bool = False
) -> tuple[list[Spot], list[Problem]]:
    """Spots too near an obstacle on the nearest allowed one, in bay steps; a warning where there is none."""
    bays = bays_of(room)
    result = list(found)
    problems: list[Problem] = []
    for index, spot in enumerate(found):
        near = _too_near(spot, obstacles, limits)
        if not near:
            continue
        mate = None if single else result[index ^ 1]
        others = result[:index] + result[index + 1:]
        best = min(_candidates(room, spot, bays, obstacles, others, mate, limits), default=None)
        if best is not None:
            result[index] = _moved(spot, best[1], best[2], bays)
            continue
        problems.append(warning(
            room.where("obstacles")[0], "no-clear-spot",
            f"Speaker {index + 1} of '{room.name}' finds no spot off the walls and clear of "
            f"'{', '.join(one.name for one in near)}'.",
            "Move the obstacle, type fewer under 'Pairs', or place the speaker on site."))
    return result if problems else _in_one_line(found, result, obstacles, bays, limits), problems


def _candidates(
    room: Room, spot: Spot, bays: Bays | None, obstacles: Sequence[Obstacle], others: Sequence[Spot],
    mate: Spot | None, limits: Limits,
) -> Iterator[tuple[float, float, float]]:
    """How dear each allowed spot is, and where it lies: near is cheap, so is the others' line, crowding is dear."""
    apart_m = min(limits.pair_least_m, nearest_m(spot, [spot, *others]))
    for x in _steps(room.length_m, spot.x_m, bays if bays and bays.axis == "x" else None, limits):
        for y in _steps(room.width_m, spot.y_m, bays if bays and bays.axis == "y" else None, limits):
            if any(math.hypot(x - one.x_m, y - one.y_m) < limits.keep_clear_m - 1e-6 for one in obstacles):
                continue
            next_m = min((math.hypot(x - one.x_m, y - one.y_m) for one in others), default=apart_m)
            if (others and next_m < limits.off_wall_m) or (mate is not None and _passes(spot, x, y, mate)):
                continue
            in_line = not others or any(x == one.x_m or y == one.y_m for one in others)
            crowded_m = max(0.0, apart_m - next_m)
            moved_m = math.hypot(x - spot.x_m, y - spot.y_m)
            yield round(moved_m + crowded_m + (0.0 if in_line else OUT_OF_LINE_M), 3), x, y


def _passes(spot: Spot, x_m: float, y_m: float, mate: Spot) -> bool:
    """Whether a speaker that moves there stands on the other side of its mate: left and right would be changed."""
    across, along = mate.x_m - spot.x_m, mate.y_m - spot.y_m
    return across * (mate.x_m - x_m) <= 0 if abs(across) >= abs(along) else along * (mate.y_m - y_m) <= 0


def _in_one_line(
    before: Sequence[Spot], after: list[Spot], obstacles: Sequence[Obstacle], bays: Bays | None, limits: Limits
) -> list[Spot]:
    """Where the speakers stood in one line and some had to leave it: the whole line goes along, if it can."""
    for field in ("x_m", "y_m"):
        lines = {getattr(spot, field) for spot in before}
        if len(before) < 2 or len(lines) > 1:
            continue
        for at in sorted({getattr(spot, field) for spot in after} - lines, key=lambda at: abs(at - min(lines))):
            whole = [_moved(first, at if field == "x_m" else spot.x_m, at if field == "y_m" else spot.y_m, bays)
                     for first, spot in zip(before, after, strict=True)]
            if not any(_too_near(spot, obstacles, limits) for spot in whole) and all(
                    nearest_m(spot, whole) >= limits.off_wall_m for spot in whole):
                return whole
    return after


def _moved(spot: Spot, x_m: float, y_m: float, bays: Bays | None) -> Spot:
    moved_m = round(math.hypot(x_m - spot.x_m, y_m - spot.y_m), 3)
    return in_bay(replace(spot, x_m=x_m, y_m=y_m, moved_m=moved_m), bays)


def _steps(extent: float, at: float, bays: Bays | None, limits: Limits) -> list[float]:
    """Where a speaker may stand along one side: in bay steps, else finely; its own place always."""
    if bays is not None:
        return [round(centre, 3) for centre in bay_centres(extent, bays.spacing_m, limits.off_wall_m)] or [at]
    step = max(SEARCH_STEP_M, extent / 100)
    low, high = math.ceil((limits.off_wall_m - at) / step), math.floor((extent - limits.off_wall_m - at) / step)
    return sorted({at, *(round(at + count * step, 3) for count in range(low, high + 1))})


def _too_near(spot: Spot, obstacles: Sequence[Obstacle], limits: Limits) -> list[Obstacle]:
    return [one for one in obstacles
            if math.hypot(spot.x_m - one.x_m, spot.y_m - one.y_m) < limits.keep_clear_m - 1e-6]


# ---------------------------------------------------------------- what was typed

def _as_typed(
    brief: Brief, room: Room, found: Sequence[Spot], obstacles: Sequence[Obstacle], limits: Limits
) -> tuple[list[Spot], list[Problem]]:
    """Spots where an override puts them, with a warning where that misses the standards."""
    result = list(found)
    problems: list[Problem] = []
    for index, spot in enumerate(found):
        override = brief.override(f"{room.code}-S{index + 1}", "position")
        if override is None:
            continue
        at, refused = typed_position(brief, room, override)
        problems += refused
        if at is None:
            continue
        bays = bays_of(room)
        result[index] = _moved(spot, *at, bays)
        if bays is not None and not _mid_bay(result[index], bays):
            result[index] = replace(result[index], bay=0)
        problems += _misses(brief, room, override, result[index], obstacles, limits)
    return result, problems


def typed_position(
    brief: Brief, room: Room, override: Override
) -> tuple[tuple[float, float] | None, list[Problem]]:
    """Where an override puts a place: from the room's west and south walls [m]; a stop where it says no position."""
    placed, rest = read_obstacles(override.value, bare_m(brief))
    if len(placed) != 1 or rest or placed[0].x_m > room.length_m or placed[0].y_m > room.width_m:
        return None, [_no_position(brief, room, override)]
    return (round(placed[0].x_m, 3), round(placed[0].y_m, 3)), []


def _no_position(brief: Brief, room: Room, override: Override) -> Problem:
    system = brief.job.unit_system
    return stop(
        override.where, "not-a-position",
        f"'{override.value}' is no position in '{room.name}', which is {show_length(room.length_m, system)} by "
        f"{show_length(room.width_m, system)}.",
        "Type how far it is from the west wall, along the length, then from the south wall: 6, 7.")


def _misses(
    brief: Brief, room: Room, override: Override, spot: Spot, obstacles: Sequence[Obstacle], limits: Limits
) -> list[Problem]:
    system, bays = brief.job.unit_system, bays_of(room)
    off_wall_m = min(spot.x_m, spot.y_m, room.length_m - spot.x_m, room.width_m - spot.y_m)
    said = []
    if room.mount in ("ceiling", "garden") and off_wall_m < limits.off_wall_m - 1e-6:
        said.append(f"nearer to a wall than {show_length(limits.off_wall_m, system)}")
    if near := _too_near(spot, obstacles, limits):
        said.append(f"nearer than {show_length(limits.keep_clear_m, system)} to '{near[0].name}'")
    if bays is not None and not spot.bay:
        said.append("not in the middle of a joist bay")
    return [warning(
        override.where, "position-misses-standard",
        f"'{override.value}' puts {override.id} {' and '.join(said)}.",
        "Keep it if it was seen on site, or type another position.")] if said else []


def _mid_bay(spot: Spot, bays: Bays) -> bool:
    at = spot.x_m if bays.axis == "x" else spot.y_m
    return abs(at - (spot.bay - 0.5) * bays.spacing_m) <= OFF_BAY_M


# ---------------------------------------------------------------- how far apart

def _distances(brief: Brief, room: Room, found: Sequence[Spot], limits: Limits) -> Iterator[Problem]:
    """A warning where the speakers stand too far apart outdoors, or crowd."""
    system, where = brief.job.unit_system, room.where("pairs", "length_m")[0]
    farthest = farthest_m(found)
    if limits.farthest_m and farthest > limits.farthest_m + 1e-6:
        yield warning(
            where, "speakers-far-apart",
            f"The speakers of '{room.name}' stand {show_length(farthest, system)} apart; "
            f"{'outdoors ' if outdoor(room) else ''}{show_length(limits.pair_least_m, system)} to "
            f"{show_length(limits.pair_most_m, system)} is ideal, {show_length(limits.farthest_m, system)} the most.",
            "Type more under 'Pairs'.")
    nearest = min((nearest_m(spot, found) for spot in found), default=0.0)
    if len(found) > 1 and nearest < limits.nearest_m - 1e-6:
        yield warning(
            where, "speakers-crowded",
            f"{len(found)} speakers do not fit in '{room.name}': some stand {show_length(nearest, system)} apart, and "
            f"{show_length(limits.nearest_m, system)} is the least.", "Type fewer under 'Pairs'.")

"""How loud each room gets over its listening plane: every loudspeaker's distance, direction, power, added up.

Direct sound alone: in a furnished room the walls add some, so that what is short here may be enough there, never the
other way round. Office only; no level is promised to a customer.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from quoting.engineering.acoustics import QUIETEST_DB, directivity_exponent
from quoting.engineering.brief import Brief, Result, outdoor, rows_of, site
from quoting.facts import AmplifierOutput, CableRun, Fact, Place, RoomLevel, Speaker
from quoting.job import Room
from quoting.problems import Problem, warning

NEAREST_M = 0.5  # nearer than this a loudspeaker is no point, and the level rises no more


@dataclass(frozen=True, slots=True, kw_only=True)
class Emitter:
    """One loudspeaker that plays: where it stands, where it points, what it makes of what power."""

    x_m: float
    y_m: float
    z_m: float
    aim: tuple[float, float, float]  # of length 1
    coverage_deg: float
    sensitivity_db: float
    power_w: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Plane:
    """Where ears are: a grid at one height. Metres."""

    length_m: float
    width_m: float
    ear_m: float
    grid_m: float
    margin_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Levels:
    """Over a listening plane. dB."""

    points: int
    average_db: float  # of energy
    worst_db: float
    best_db: float


def room_levels(brief: Brief) -> Result:
    """A RoomLevel for each room that plays in this option."""
    speakers: dict[str, list[Speaker]] = {}
    for speaker in brief.of(Speaker):
        speakers.setdefault(speaker.room, []).append(speaker)
    places = {place.id: place for place in brief.of(Place)}
    losses = {run.end: abs(run.loss_db) for run in brief.of(CableRun) if run.circuits}
    volts = _square_volts(brief.of(AmplifierOutput))
    facts: list[Fact] = []
    problems: list[Problem] = []
    for room in brief.job.rooms:
        members = [one for one in speakers.get(room.code, ()) if one.place in places]
        powers = [_power(one, losses.get(one.place, 0.0), volts) for one in members]
        if any(power.available_w for power in powers):
            level, worries = _room_level(brief, room, members, [places[one.place] for one in members], powers)
            facts.append(level)
            problems.extend(worries)
    return tuple(facts), tuple(problems)


# ---------------------------------------------------------------- the sum

def level_grid_db(emitters: Sequence[Emitter], points: Iterable[tuple[float, float, float]]) -> Any:
    """The level of all loudspeakers together at each point, as unlike signals. [dB SPL]

    10 log10 of the sum of 10^(L/10), L = S + 10 log10 P - 20 log10 d + directivity; a numpy array, one a point. At
    least one emitter with power above 0.
    """
    import numpy as np

    at = np.asarray(list(points), dtype=float).reshape(-1, 3)
    rows = np.array([(one.x_m, one.y_m, one.z_m, *one.aim, one.sensitivity_db + 10 * math.log10(one.power_w),
                      directivity_exponent(one.coverage_deg)) for one in emitters])
    away = at[:, None, :] - rows[None, :, :3]
    distance = np.sqrt((away ** 2).sum(axis=2))
    on_axis = (away * rows[None, :, 3:6]).sum(axis=2) / np.maximum(distance, 1e-9)
    # cos(angle / 2) squared is (1 + cos angle) / 2: acoustics.directivity_db, over arrays.
    squared = np.clip((1 + on_axis) / 2, 1e-12, 1)
    beside = np.maximum(10 * rows[None, :, 7] * np.log10(squared), QUIETEST_DB)
    level = rows[None, :, 6] - 20 * np.log10(np.maximum(distance, NEAREST_M)) + beside
    return 10 * np.log10((10 ** (level / 10)).sum(axis=1))


def plane_points(plane: Plane) -> list[tuple[float, float, float]]:
    """The grid's points: evenly between the margins, and in the middle of a side that is too short for two."""
    return [(x, y, plane.ear_m) for x in _along(plane.length_m, plane) for y in _along(plane.width_m, plane)]


def levels_over(emitters: Sequence[Emitter], plane: Plane) -> Levels:
    """Average, worst and best over the plane."""
    import numpy as np

    grid = level_grid_db(emitters, plane_points(plane))
    return Levels(points=int(grid.size), average_db=float(10 * np.log10(np.mean(10 ** (grid / 10)))),
                  worst_db=float(grid.min()), best_db=float(grid.max()))


def _along(extent: float, plane: Plane) -> list[float]:
    inner = extent - 2 * plane.margin_m
    if inner <= 0:
        return [extent / 2]
    steps = max(1, math.ceil(inner / plane.grid_m - 1e-9))
    return [plane.margin_m + inner * step / steps for step in range(steps + 1)]


# ---------------------------------------------------------------- power

@dataclass(frozen=True, slots=True, kw_only=True)
class Power:
    """What one loudspeaker gets. Watts."""

    amplifier_w: float
    available_w: float
    loss_db: float


def _square_volts(outputs: Iterable[AmplifierOutput]) -> dict[tuple[int, str], float]:
    """(zone, side) -> V^2 of its weakest output at full power. [V^2]

    P = V^2 / R: what is wired to one output shares its voltage. A bridged output's loudspeakers are twice the load
    that each of its channels sees.
    """
    found: dict[tuple[int, str], float] = {}
    for one in outputs:
        square = one.output_w * one.load_ohm * (2 if one.bridged else 1)
        key = (one.zone, one.side)
        found[key] = min(square, found.get(key, square))
    return found


def _power(speaker: Speaker, loss_db: float, volts: dict[tuple[int, str], float]) -> Power:
    """Each voice coil's share of its output; both coils of a single-stereo speaker; its tap on a line."""
    if speaker.tap_w:
        given = speaker.tap_w
    else:
        sides = ("L", "R") if speaker.single_stereo else (speaker.side or "L",)
        given = sum(volts.get((speaker.zone, side), volts.get((speaker.zone, "M"), 0.0)) / speaker.nominal_ohm
                    for side in sides)
    after = given * 10 ** (-loss_db / 10)
    return Power(amplifier_w=given, available_w=min(after, speaker.power_w), loss_db=loss_db)


# ---------------------------------------------------------------- one room

def _room_level(
    brief: Brief, room: Room, speakers: Sequence[Speaker], places: Sequence[Place], powers: Sequence[Power]
) -> tuple[RoomLevel, list[Problem]]:
    ask = brief.catalog.standards.ask
    listening = ask("listening_level", listening=room.listening)
    answer, hearing = ask("listening_plane", outdoor=outdoor(room)), ask("hearing", item="caution")
    plane = Plane(length_m=room.length_m, width_m=room.width_m,
                  **{name: answer.number(name) for name in ("ear_m", "grid_m", "margin_m")})
    aims = [ask("speaker_aim", mount=one.mount, angled=one.angled) for one in speakers]
    emitters = [_emitter(room, one, place, aim.number("tilt_deg"), power.available_w) for one, place, aim, power in zip(
        speakers, places, aims, powers, strict=True)]
    levels = levels_over(emitters, plane)
    target, peak = listening.number("target_db"), listening.number("peak_db")
    average = levels.average_db - peak
    available = sum(power.available_w for power in powers) / len(powers)
    wanted = float(brief.number("headroom_db"))
    headroom = round(average - target, 1)
    level = RoomLevel(
        id=f"{room.code}-LVL", **site(room, brief.job), where=room.where("", "listening", "pairs"),
        basis=(f"{room.code}-USE", *(one.id for one in speakers)),
        decided=rows_of((listening.decided, answer.decided, hearing.decided, *(aim.decided for aim in aims))),
        listening=room.listening, speakers=len(speakers), points=levels.points, average_db=round(average, 1),
        worst_db=round(levels.worst_db - peak, 1), best_db=round(levels.best_db - peak, 1),
        spread_db=round(levels.best_db - levels.worst_db, 1), target_db=target, peak_db=peak,
        asked_w=round(available / 10 ** ((average - target) / 10), 2), available_w=round(available, 2),
        amplifier_w=round(sum(power.amplifier_w for power in powers) / len(powers), 2),
        cable_loss_db=round(max(power.loss_db for power in powers), 3), headroom_db=headroom,
        headroom_wanted_db=wanted, short=headroom < wanted, caution=average > hearing.number("level_db"))
    return level, [_short(brief, room, level)] if level.short else []


def _emitter(room: Room, speaker: Speaker, place: Place, tilt_deg: float, power_w: float) -> Emitter:
    """Pointing down, or tilted: square to its wall where it is built into one, else towards the room's middle."""
    across, along = room.length_m / 2 - place.x_m, room.width_m / 2 - place.y_m
    if speaker.mount == "wall":  # off the wall that it stands in
        on_long_wall = min(place.y_m, room.width_m - place.y_m) <= min(place.x_m, room.length_m - place.x_m)
        across, along = (0.0, along) if on_long_wall else (across, 0.0)
    level = math.hypot(across, along)
    sideways = math.sin(math.radians(tilt_deg)) if level > 1e-6 else 0.0
    aim = (sideways * across / (level or 1), sideways * along / (level or 1), -math.sqrt(1 - sideways ** 2))
    return Emitter(x_m=place.x_m, y_m=place.y_m, z_m=place.height_m, aim=aim,
                   coverage_deg=min(speaker.coverage_deg or 90.0, 360.0), sensitivity_db=speaker.sensitivity_db,
                   power_w=max(power_w, 1e-6))


def _short(brief: Brief, room: Room, level: RoomLevel) -> Problem:
    wanted = f" and {level.headroom_wanted_db:g} dB in hand" if level.headroom_wanted_db else ""
    return warning(
        room.where("listening", "pairs")[0], "level-short-of-target",
        f"Option '{brief.option}' reaches {level.average_db:.0f} dB on average in '{room.name}' with {level.peak_db:g} "
        f"dB kept for peaks; '{room.listening}' listening asks {level.target_db:g} dB{wanted}, {level.asked_w:.0f} W "
        f"at each speaker where {level.available_w:.0f} W are there.",
        "Type more under 'Pairs', a quieter 'Listening', or name stronger speakers or amplifiers in options.csv.")

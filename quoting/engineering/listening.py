"""What a room's listening asks: its plane, its loudspeakers as they stand and point, the power for its level."""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from quoting.engineering.acoustics import power_w_for_level
from quoting.engineering.brief import Brief, outdoor
from quoting.engineering.level_grid import Emitter, Plane, levels_over
from quoting.facts import Place
from quoting.job import Listening, Room


class Voice(Struct, frozen=True, kw_only=True):
    """One loudspeaker as the room hears it, whatever model it is."""

    place: Place
    angled: bool
    coverage_deg: float
    sensitivity_db: float


def plane_of(brief: Brief, room: Room) -> tuple[Plane, str]:
    """Where the room's ears are, and the standards row that says so."""
    answer = brief.catalog.standards.ask("listening_plane", outdoor=outdoor(room))
    plane = Plane(length_m=room.length_m, width_m=room.width_m,
                  **{name: answer.number(name) for name in ("ear_m", "grid_m", "margin_m")})
    return plane, answer.decided


def emitter_of(
    brief: Brief, room: Room, voice: Voice, power_w: float, away_m: tuple[float, float] = (0.0, 0.0)
) -> tuple[Emitter, str]:
    """The loudspeaker on the plan, and the row that aims it; `away_m` is how far the plan's corner is shifted.

    Pointing down, or tilted: square to its wall where it is built into one, else towards its room's middle.
    """
    place = voice.place
    aim_by = brief.catalog.standards.ask("speaker_aim", mount=place.mount, angled=voice.angled)
    across, along = room.length_m / 2 - place.x_m, room.width_m / 2 - place.y_m
    if place.mount == "wall":  # off the wall that it stands in
        on_long_wall = min(place.y_m, room.width_m - place.y_m) <= min(place.x_m, room.length_m - place.x_m)
        across, along = (0.0, along) if on_long_wall else (across, 0.0)
    level = math.hypot(across, along)
    sideways = math.sin(math.radians(aim_by.number("tilt_deg"))) if level > 1e-6 else 0.0
    aim = (sideways * across / (level or 1), sideways * along / (level or 1), -math.sqrt(1 - sideways ** 2))
    return Emitter(
        x_m=place.x_m + away_m[0], y_m=place.y_m + away_m[1], z_m=place.height_m, aim=aim,
        coverage_deg=min(voice.coverage_deg or 90.0, 360.0), sensitivity_db=voice.sensitivity_db,
        power_w=max(power_w, 1e-6)), aim_by.decided


def asked_w_each(
    brief: Brief, room: Room, listening: Listening, voices: Sequence[Voice]
) -> tuple[float, tuple[str, ...]]:
    """Power that target and peaks ask of each of the room's loudspeakers, and the rows that decided. [W]

    The plane's average with 1 W at each of them stands for the sensitivity of all together.
    """
    level = brief.catalog.standards.ask("listening_level", listening=listening)
    plane, plane_by = plane_of(brief, room)
    made = [emitter_of(brief, room, voice, 1.0) for voice in voices]
    average_db = levels_over([emitter for emitter, _ in made], plane).average_db
    asked_w = power_w_for_level(level.number("target_db"), level.number("peak_db"), average_db, 1.0)
    return asked_w, (level.decided, plane_by, *(aim_by for _, aim_by in made))

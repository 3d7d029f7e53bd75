"""A ceiling that slopes: which wall is under its low side, how steep it is, how high it is over a spot."""

from __future__ import annotations

import math

from quoting.engineering.brief import Brief, outdoor
from quoting.engineering.wall_places import compass, walls_of
from quoting.facts import Place
from quoting.job import Compass, Room


def low_wall(brief: Brief, room: Room) -> tuple[Compass | None, str]:
    """The wall under the low side, and the standards row that chose it; None under a flat ceiling.

    Typed, else the wall that the standard names: the slope is taken to rise across the room's shorter side.
    """
    if room.ceiling_high_m <= room.ceiling_height_m:
        return None, ""
    if room.low_wall is not None:
        return room.low_wall, ""
    answer = brief.catalog.standards.ask("low_wall", outdoor=outdoor(room))
    return compass(walls_of(room), answer.text("wall")), answer.decided


def ceiling_at_m(room: Room, low: Compass | None, x_m: float, y_m: float) -> float:
    """How high the ceiling is over a spot [m]: on the straight line from its low wall up to the wall across."""
    if low is None:
        return room.ceiling_height_m
    share = {"west": x_m / room.length_m, "east": 1 - x_m / room.length_m, "south": y_m / room.width_m,
             "north": 1 - y_m / room.width_m}[low]
    return round(room.ceiling_height_m + share * (room.ceiling_high_m - room.ceiling_height_m), 4)


def over_m(brief: Brief, room: Room, place: Place | None) -> tuple[float, str]:
    """How high the ceiling is over a place of the room [m], its low side where nobody knows the place; and the
    standards row that chose the low wall."""
    low, low_by = low_wall(brief, room) if place is not None and place.room == room.code else (None, "")
    return (ceiling_at_m(room, low, place.x_m, place.y_m) if place is not None else room.ceiling_height_m), low_by


def steepest_deg(room: Room) -> float:
    """The slope [degrees]; where nobody typed the low wall the steepest that the two heights allow: up to a ridge
    over the middle of the shorter side."""
    across = {"west": room.length_m, "east": room.length_m, "south": room.width_m, "north": room.width_m,
              None: min(room.length_m, room.width_m) / 2}[room.low_wall]
    return round(math.degrees(math.atan2(room.ceiling_high_m - room.ceiling_height_m, across)), 3)

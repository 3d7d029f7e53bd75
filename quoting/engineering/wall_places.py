"""Where on the walls controls, player sockets and television plates go: by the standard, each clear of the others.

The front wall is the one that people face: left and right loudspeakers are left and right as seen facing it. Where a
spot is taken, the device moves along its wall, then to the next wall; in a small room things stand closer together.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from msgspec import Struct

from quoting.engineering.brief import Brief, outdoor
from quoting.engineering.speaker_placing import typed_position
from quoting.job import Compass, Override, Room
from quoting.problems import Problem, warning
from quoting.units import show_length

Point = tuple[float, float]  # metres from the room's west and south walls
WALLS = ("front", "right", "back", "left")  # in the order in which a device looks for a free one
HALVINGS = 12  # of the distance between two devices, until they fit: 1 ft becomes a hair
ON_WALL_M = 0.01
LETTERS = {"tv": "T1", "input": "I1", "control": "K1", "second control": "K2"}  # in the order in which they choose


class WallSpot(Struct, frozen=True, kw_only=True):
    """A device's place on the plan, and what decided it."""

    x_m: float
    y_m: float
    decided: str  # the standards row; "" where it was typed
    typed: Override | None


class Walls(Struct, frozen=True):
    """The walls of a room or a closet. `one_wall`: outdoors there is the house wall alone, the front one."""

    length_m: float  # west to east
    width_m: float  # south to north
    one_wall: bool = False

    @property
    def front_is_north(self) -> bool:
        """Whether the wall that people face is the north one (the length is the longer side), else the west one."""
        return self.length_m >= self.width_m


def walls_of(room: Room) -> Walls:
    """A room's walls."""
    return Walls(room.length_m, room.width_m, outdoor(room))


def wall_spots(
    brief: Brief, room: Room, devices: Sequence[str], speakers: Sequence[tuple[str, Point]]
) -> tuple[dict[str, WallSpot], list[Problem]]:
    """A spot for each device ("tv", "input", "control", "second control"); `speakers` hang on the walls, by id.

    Typed positions stand first, whatever they meet (a warning says so); the others keep clear of them.
    """
    found: dict[str, WallSpot] = {}
    problems: list[Problem] = []
    ordered = [device for device in LETTERS if device in devices]
    for device in ordered:
        override = brief.override(f"{room.code}-{LETTERS[device]}", "position")
        if override is not None:
            at, worries = typed_position(brief, room, override)
            problems += [*worries, *_off_wall(room, override, at)]
            if at is not None:
                found[device] = WallSpot(x_m=at[0], y_m=at[1], decided="", typed=override)
    for device in ordered:
        if device not in found:
            taken = [*(at for _, at in speakers), *((spot.x_m, spot.y_m) for spot in found.values())]
            found[device] = _by_standard(brief, room, device, taken)
    return found, [*problems, *_collisions(brief, room, found, speakers)]


def _by_standard(brief: Brief, room: Room, device: str, taken: Sequence[Point]) -> WallSpot:
    answer = brief.catalog.standards.ask("wall_place", device=device, outdoor=outdoor(room))
    x, y = free_spot(walls_of(room), answer.text("wall"), answer.text("start"), answer.number("along_m"),
                     answer.number("apart_m"), taken)
    return WallSpot(x_m=round(x, 3), y_m=round(y, 3), decided=answer.decided, typed=None)


def free_spot(
    room: Walls, wall: str, start: str, along_m: float, apart_m: float, taken: Sequence[Point]
) -> Point:
    """The spot nearest to the wanted one that is clear of what is taken: on its wall, else on the next.

    Outdoors there is one wall alone. Where no wall has room, things may stand half as far apart, and so on.
    """
    first = WALLS.index(wall)
    walls = (wall,) if room.one_wall else (*WALLS[first:], *WALLS[:first])
    for halved in range(HALVINGS):
        gap = apart_m / 2 ** halved
        for number, name in enumerate(walls):
            wanted = _wanted_m(room, name, start, along_m) if number == 0 else _extent_m(room, name) / 2
            for along in _steps(wanted, _extent_m(room, name), gap):
                at = on_wall(room, name, along)
                if all(math.dist(at, other) >= gap - 1e-3 for other in taken):
                    return at
    return on_wall(room, wall, _wanted_m(room, wall, start, along_m))


def _wanted_m(room: Walls, wall: str, start: str, along_m: float) -> float:
    """How far along its wall a device is wanted; on a short wall not past its middle. [m]"""
    extent = _extent_m(room, wall)
    if start == "middle":
        return min(extent / 2 + along_m, extent * 0.75) if along_m else extent / 2
    along = min(along_m, extent / 2)
    return along if start in ("left corner", "back corner") else extent - along


def _steps(wanted_m: float, extent_m: float, gap_m: float) -> Iterator[float]:
    """The wanted spot, then spots a half gap apart to both sides by turns, none nearer to a corner than half a gap."""
    least, most = min(gap_m / 2, extent_m / 2), max(extent_m - gap_m / 2, extent_m / 2)
    step = gap_m / 2
    for count in range(math.ceil(extent_m / step) + 1):
        for along in dict.fromkeys((wanted_m + count * step, wanted_m - count * step)):
            if least - 1e-9 <= along <= most + 1e-9:
                yield along


def _extent_m(room: Walls, wall: str) -> float:
    longer, shorter = max(room.length_m, room.width_m), min(room.length_m, room.width_m)
    return longer if wall in ("front", "back") else shorter


def on_wall(room: Walls, wall: str, along_m: float) -> Point:
    """A point of a wall: along the front and the back wall from the left, along the others from the back. [m]"""
    if room.front_is_north:
        return {"front": (along_m, room.width_m), "back": (along_m, 0.0), "left": (0.0, along_m),
                "right": (room.length_m, along_m)}[wall]
    back_to_front = room.length_m - along_m
    return {"front": (0.0, along_m), "back": (room.length_m, along_m), "left": (back_to_front, 0.0),
            "right": (back_to_front, room.width_m)}[wall]


def compass(room: Walls, wall: str) -> Compass:
    """The wall's name on the plan."""
    names: tuple[Compass, ...] = ("north", "east", "south", "west")  # in the order of WALLS
    return names[(WALLS.index(wall) + (0 if room.front_is_north else 3)) % 4]


# ---------------------------------------------------------------- what was typed

def _off_wall(room: Room, override: Override, at: Point | None) -> Iterator[Problem]:
    if at is None:
        return
    x, y = at
    if min(x, y, room.length_m - x, room.width_m - y) > ON_WALL_M:
        yield warning(override.where, "position-misses-standard",
                      f"'{override.value}' puts {override.id} on no wall of '{room.name}'.",
                      "Keep it if something stands there that carries it, or type a position on a wall: 0, 6.")


def _collisions(
    brief: Brief, room: Room, found: dict[str, WallSpot], speakers: Sequence[tuple[str, Point]]
) -> Iterator[Problem]:
    """Typed positions that leave no room for what hangs beside them."""
    placed: list[tuple[str, Point]] = list(speakers)
    for device, spot in found.items():
        name, at = f"{room.code}-{LETTERS[device]}", (spot.x_m, spot.y_m)
        if spot.typed is not None:
            answer = brief.catalog.standards.ask("wall_place", device=device, outdoor=outdoor(room))
            apart_m = answer.number("apart_m")
            met = [other for other, there in placed if math.dist(at, there) < apart_m - 1e-3]
            if met:
                yield warning(
                    spot.typed.where, "places-collide",
                    f"'{spot.typed.value}' puts {name} nearer than {show_length(apart_m, brief.job.unit_system)} to "
                    f"{', '.join(met)}.",
                    "Keep it if both fit there one above the other, or type another position.")
        placed.append((name, at))

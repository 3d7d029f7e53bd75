"""Where the head end is: its room or closet, the spot of a wall where the cables come out, the racks before it."""

from __future__ import annotations

from typing import get_args

from msgspec import Struct

from quoting.catalog.records import RackSpec
from quoting.engineering.brief import Brief, Result, rows_of
from quoting.engineering.speaker_placing import bare_m
from quoting.engineering.wall_places import Walls, free_spot, walls_of
from quoting.facts import HeadEndPlace, Place
from quoting.job import Compass, HeadEnd, Room
from quoting.problems import Problem, stop, warning
from quoting.sheets.obstacles import read_obstacles
from quoting.units import show_length

Point = tuple[float, float]
TIGHT_M = 0.01


def head_end_place(brief: Brief) -> Result:
    """The one place where all runs end."""
    job, said = brief.job, brief.job.head_end
    room = _room(brief)
    wanted = brief.catalog.standards.ask("wall_place", device="head end", outdoor=False)
    walls, sizes_by = (walls_of(room), ()) if room is not None else _closet(brief)
    taken = [(place.x_m, place.y_m) for place in brief.of(Place) if room is not None and place.room == room.code
             and place.mount in ("wall", "surface")]
    x, y = free_spot(walls, wanted.text("wall"), wanted.text("start"), wanted.number("along_m"),
                     wanted.number("apart_m"), taken)
    if room is None and said.side is not None:
        x, y = _middle_of(walls, said.side)
    if room is not None and (inside := _typed_in(said, room)) is not None:
        x, y = inside
    (x, y), problems = _corrected(brief, walls, (x, y))
    wall, (x, y) = _nearest_wall(walls, (x, y))
    ceiling_m = room.ceiling_height_m if room is not None else next(
        (floor.ceiling_height_m for floor in job.floors if floor.number == said.floor), 0.0)
    rise, least = (brief.catalog.standards.ask("vertical", item="head-end rise"),
                   brief.catalog.standards.ask("head_end_room", item="entry least"))
    at = _on_plan(brief, room, walls, (x, y))
    return (HeadEndPlace(
        id="HE", room=room.code if room is not None else "", name=said.place, floor=said.floor,
        where=job.where("head_end", "head_end_x_m", "head_end_beside"),
        decided=rows_of((wanted.decided, *sizes_by, rise.decided, least.decided)), beside=said.beside,
        side=said.side or "", length_m=walls.length_m, width_m=walls.width_m,
        size_said=room is not None or None not in (said.length_m, said.width_m), ceiling_height_m=ceiling_m, wall=wall,
        x_m=round(x, 3), y_m=round(y, 3),
        height_m=round(max(least.number("length_m"), ceiling_m - rise.number("length_m")), 3), on_plan=at is not None,
        plan_x_m=round(at[0], 3) if at else 0.0, plan_y_m=round(at[1], 3) if at else 0.0),), tuple(problems)


def _room(brief: Brief) -> Room | None:
    """The room of the workbook that bears the head end's name."""
    said = brief.job.head_end.place.strip().casefold()
    return next((room for room in brief.job.rooms if room.floor == brief.job.head_end.floor
                 and said in (room.name.casefold(), room.code.casefold())), None)


def _closet(brief: Brief) -> tuple[Walls, tuple[str, ...]]:
    said, ask = brief.job.head_end, brief.catalog.standards.ask
    length, width = ask("head_end_room", item="closet length"), ask("head_end_room", item="closet width")
    walls = Walls(said.length_m or length.number("length_m"), said.width_m or width.number("length_m"))
    return walls, rows_of((length.decided if said.length_m is None else "", width.decided if said.width_m is None
                           else ""))


def _middle_of(walls: Walls, side: Compass) -> Point:
    return {"north": (walls.length_m / 2, walls.width_m), "south": (walls.length_m / 2, 0.0),
            "west": (0.0, walls.width_m / 2), "east": (walls.length_m, walls.width_m / 2)}[side]


def _typed_in(said: HeadEnd, room: Room) -> Point | None:
    """The typed plan position as the room's own, where it lies in it."""
    if said.x_m is None or said.y_m is None or room.x_m is None or room.y_m is None:
        return None
    x, y = said.x_m - room.x_m + room.length_m / 2, said.y_m - room.y_m + room.width_m / 2
    return (x, y) if 0 <= x <= room.length_m and 0 <= y <= room.width_m else None


def _corrected(brief: Brief, walls: Walls, at: Point) -> tuple[Point, list[Problem]]:
    """Where an override puts it."""
    override = brief.override("HE", "position")
    if override is None:
        return at, []
    placed, rest = read_obstacles(override.value, bare_m(brief))
    if len(placed) == 1 and not rest and placed[0].x_m <= walls.length_m and placed[0].y_m <= walls.width_m:
        return (placed[0].x_m, placed[0].y_m), []
    system = brief.job.unit_system
    return at, [stop(
        override.where, "not-a-position",
        f"'{override.value}' is no position in '{brief.job.head_end.place}', which is "
        f"{show_length(walls.length_m, system)} by {show_length(walls.width_m, system)}.",
        "Type how far the cables come out from its west wall, then from its south wall: 0, 3.")]


def _nearest_wall(walls: Walls, at: Point) -> tuple[Compass, Point]:
    """The wall that a point is nearest to, and the point on it."""
    x, y = at
    off: dict[Compass, float] = {"west": x, "east": walls.length_m - x, "south": y, "north": walls.width_m - y}
    wall = min(get_args(Compass), key=lambda one: round(off[one], 6))
    spots: dict[Compass, Point] = {"west": (0.0, y), "east": (walls.length_m, y), "south": (x, 0.0),
                                   "north": (x, walls.width_m)}
    return wall, spots[wall]


def _on_plan(brief: Brief, room: Room | None, walls: Walls, at: Point) -> Point | None:
    """The spot on the plan: typed, else where its room or its neighbour lies."""
    said = brief.job.head_end
    if said.x_m is not None and said.y_m is not None:
        return said.x_m, said.y_m
    host = room or brief.rooms.get(said.beside)
    if host is None or host.x_m is None or host.y_m is None or (room is None and said.side is None):
        return None
    x, y = host.x_m, host.y_m
    if room is None:
        east, north = _aside(said.side or "", host, walls.length_m, walls.width_m)
        x, y = x + east, y + north
    return x - walls.length_m / 2 + at[0], y - walls.width_m / 2 + at[1]


def _aside(side: str, host: Room, length_m: float, width_m: float) -> Point:
    """From a room's middle to the middle of a closet on that side of it, wall to wall. [m]"""
    east, north = {"north": (0, 1), "east": (1, 0), "south": (0, -1), "west": (-1, 0), "": (0, 0)}[side]
    return east * (host.length_m + length_m) / 2, north * (host.width_m + width_m) / 2


def in_room(place: HeadEndPlace, room: Room) -> Point | None:
    """Where the cables come out, from a room's west and south walls: of the room that they come out in, or that the
    closet is drawn beside; None where it is not known. [m]"""
    if place.room == room.code:
        return place.x_m, place.y_m
    if place.room or place.beside != room.code or not place.side or place.floor != room.floor:
        return None
    east, north = _aside(place.side, room, place.length_m, place.width_m)
    return (room.length_m / 2 + east - place.length_m / 2 + place.x_m,
            room.width_m / 2 + north - place.width_m / 2 + place.y_m)


# ---------------------------------------------------------------- the racks before it

class Footprint(Struct, frozen=True, kw_only=True):
    """A rack's footprint and what is kept free about it. Metres; x and y as in a place."""

    x_m: float
    y_m: float
    wide_m: float
    deep_m: float
    front_clear_m: float
    rear_clear_m: float
    decided: str


def stand_of(brief: Brief, spec: RackSpec, shelf: bool, number: int, count: int) -> Footprint:
    """The place of rack `number` of `count`, side by side, their backs to the wall where the cables come out."""
    answer = brief.catalog.standards.ask("head_end_stand", stand=_kind(spec, shelf))
    wide_m, deep_m = answer.number("wide_m"), spec.depth_mm / 1000
    rear_m = answer.number("rear_clear_m")
    place = brief.of(HeadEndPlace)[0]
    along_x = place.wall in ("north", "south")
    extent, at = (place.length_m, place.x_m) if along_x else (place.width_m, place.y_m)
    half = min(count * wide_m, extent) / 2
    first = min(max(at, half), extent - half) - half
    along, off = first + (number - 0.5) * wide_m, rear_m + deep_m / 2
    spots = {"south": (along, off), "north": (along, place.width_m - off), "west": (off, along),
             "east": (place.length_m - off, along)}
    x, y = spots[place.wall]
    return Footprint(x_m=round(x, 3), y_m=round(y, 3), wide_m=wide_m, deep_m=deep_m,
                 front_clear_m=answer.number("front_clear_m"), rear_clear_m=rear_m, decided=answer.decided)


def _kind(spec: RackSpec, shelf: bool) -> str:
    return "shelf" if shelf else "wall rack" if spec.wall else "rack"


def stand_worries(brief: Brief, stands: list[Footprint]) -> list[Problem]:
    """A warning where the racks and the room to work about them ask for more than the room has."""
    place, system = brief.of(HeadEndPlace)[0], brief.job.unit_system
    if not place.size_said or not stands:
        return []
    side_m = brief.catalog.standards.ask("head_end_stand", stand="rack").number("side_clear_m")
    along = sum(stand.wide_m for stand in stands) + 2 * side_m
    off = max(stand.rear_clear_m + stand.deep_m + stand.front_clear_m for stand in stands)
    has_along, has_off = ((place.length_m, place.width_m) if place.wall in ("north", "south")
                          else (place.width_m, place.length_m))
    if along <= has_along + TIGHT_M and off <= has_off + TIGHT_M:
        return []
    where = brief.rooms[place.room].where("length_m")[0] if place.room else brief.job.where("head_end_length_m")[0]
    return [warning(
        where, "head-end-too-small",
        f"The head end of option '{brief.option}' asks for {show_length(along, system)} along the {place.wall} wall of "
        f"'{place.name}' and {show_length(off, system)} off it with room to work, and there are "
        f"{show_length(has_along, system)} and {show_length(has_off, system)}.",
        "Choose a larger place for the head end, or another wall: override HE, position.")]

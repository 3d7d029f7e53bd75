"""Where cables leave the house for an outdoor room: each hole by its spot, to be sleeved and sealed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Literal, get_args

from quoting.engineering.brief import Brief, Result, outdoor, site
from quoting.engineering.drilling import bit_for_mm
from quoting.engineering.run_plan import spot_on_plan
from quoting.facts import CableRun, Fact, HouseExit, Place
from quoting.job import Compass, Room


def open_exits(brief: Brief) -> Result:
    """The exits of the shared plan."""
    return _exits(brief, finished=False)


def finished_exits(brief: Brief) -> Result:
    """One option's exits through finished walls."""
    return _exits(brief, finished=True)


def _exits(brief: Brief, finished: bool) -> Result:
    """One for each place under the eaves that a cable from the house ends at, one for all cables into the ground."""
    places = {place.id: place for place in brief.of(Place)}
    spots: dict[tuple[str, str], list[CableRun]] = {}
    for run in brief.of(CableRun):
        if (run.wall_state == "finished") == finished and leaves_house(brief, run, places) and not run.reused:
            spots.setdefault((run.room, run.end if run.way == "eaves" else ""), []).append(run)
    facts: list[Fact] = []
    counts: dict[str, int] = {}
    for (code, at), runs in spots.items():
        counts[code] = counts.get(code, 0) + 1
        facts.append(_exit(brief, brief.rooms[code], counts[code], places.get(at), runs))
    return tuple(facts), ()


def leaves_house(brief: Brief, run: CableRun, places: dict[str, Place]) -> bool:
    """Whether a run starts in the house and goes on along the eaves or in the ground."""
    start = places.get(run.start)
    return run.way != "inside" and (start is None or not outdoor(brief.rooms[start.room]))


def _exit(brief: Brief, room: Room, number: int, place: Place | None, runs: Iterable[CableRun]) -> HouseExit:
    runs = tuple(runs)
    behind = _behind(brief, room)
    sleeve = brief.catalog.tubes.get(brief.part_for("wall sleeve"))
    wall, x_m, y_m = _inside(brief, room, place, behind)
    return HouseExit(
        id=f"{room.code}-E{number}", **site(room, brief.job), basis=tuple(run.id for run in runs),
        decided=tuple(row for row in runs[0].decided if row.startswith("cable_way ")),
        where=room.where("", "mount", "beside"), way=runs[0].way, place=place.id if place else "",
        height_m=place.height_m if place else room.ceiling_height_m, beside=behind, cables=len(runs),
        sleeve=brief.part_for("wall sleeve"), sleeve_mm=sleeve.inside_mm if sleeve else 0.0,
        sleeve_outside_mm=sleeve.outside_mm if sleeve else 0.0,
        hole_mm=bit_for_mm(sleeve.outside_mm, brief.job.unit_system) if sleeve else 0.0,
        taken_wall=_taken(brief, room, place, behind), inside_wall=wall, inside_x_m=round(x_m, 3),
        inside_y_m=round(y_m, 3))


def _inside(brief: Brief, room: Room, place: Place | None, behind: str) -> tuple[Compass | Literal[""], float, float]:
    """The wall of the room indoors that an exit leads through, and where on it from its west and south wall [m]; ""
    where the plan does not know the place, or it lies past that wall's ends."""
    indoors, at = brief.rooms.get(behind), spot_on_plan(room, place)
    if indoors is None or indoors.x_m is None or indoors.y_m is None or at is None or place is None:
        return "", 0.0, 0.0
    x, y = at[0] - indoors.x_m + indoors.length_m / 2, at[1] - indoors.y_m + indoors.width_m / 2
    wall = _facing(room, place)
    along, extent = (x, indoors.length_m) if wall in ("north", "south") else (y, indoors.width_m)
    if not 0 <= along <= extent:
        return "", 0.0, 0.0
    return wall, min(max(x, 0.0), indoors.length_m), min(max(y, 0.0), indoors.width_m)


def _facing(room: Room, place: Place) -> Compass:
    """The wall indoors that faces the side of an area outdoors that a place hangs on."""
    off: dict[Compass, float] = {
        "south": room.width_m - place.y_m, "west": room.length_m - place.x_m, "north": place.y_m, "east": place.x_m}
    return min(get_args(Compass), key=lambda one: round(off[one], 6))


def _taken(brief: Brief, room: Room, place: Place | None, behind: str) -> Compass | Literal[""]:
    """The wall indoors that a way out is taken to lead through, where the plan does not know how the rooms lie."""
    indoors = brief.rooms.get(behind)
    known = None not in (room.x_m, room.y_m) and indoors is not None and None not in (indoors.x_m, indoors.y_m)
    return "" if known or indoors is None or place is None else _facing(room, place)


def _behind(brief: Brief, room: Room) -> str:
    """The room indoors that somebody said, else the nearest of that floor, where both were measured; else ""."""
    if room.beside:
        return room.beside
    near = sorted((gap_m, other.code) for other in brief.job.rooms for gap_m in _gap_m(room, other)
                  if other.floor == room.floor and not outdoor(other))
    return near[0][1] if near else ""


def _gap_m(room: Room, other: Room) -> Iterator[float]:
    """How far two rooms lie apart, wall to wall, right angles; nothing where one was not measured. [m]"""
    if room.x_m is None or room.y_m is None or other.x_m is None or other.y_m is None:
        return
    across = abs(room.x_m - other.x_m) - (room.length_m + other.length_m) / 2
    along = abs(room.y_m - other.y_m) - (room.width_m + other.width_m) / 2
    yield round(max(0.0, across) + max(0.0, along), 3)

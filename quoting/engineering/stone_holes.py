"""Holes in walls of stone besides those that pulls share: through each inside wall on the way across a floor, and where
cables pass between a chase and the space above a ceiling, a ceiling's own hollow or the space below a floor.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from quoting.engineering.brief import Brief, Result, outdoor, rows_of, site
from quoting.engineering.drilling import BIT_MM, FRAMED, bored, diameters_mm
from quoting.engineering.head_end_place import in_room
from quoting.facts import CableRun, Fact, HeadEndPlace, Place, StoneHole, StonePassage
from quoting.job import Room

LIFTED = "above", "both"  # access: from the space above the storey


def open_holes(brief: Brief) -> Result:
    """The holes of the shared plan."""
    return _holes(brief, finished=False)


def finished_holes(brief: Brief) -> Result:
    """One option's holes in finished walls."""
    return _holes(brief, finished=True)


def _holes(brief: Brief, finished: bool) -> Result:
    places = {place.id: place for place in brief.of(Place)}
    rooms: dict[str, dict[tuple[StonePassage, str], list[CableRun]]] = {}
    for run in brief.of(CableRun):
        if (run.wall_state == "finished") == finished and not run.reused and run.construction not in FRAMED:
            for passage in _passages(brief, run, places):
                rooms.setdefault(run.room, {}).setdefault(passage, []).append(run)
    return tuple(fact for code, passages in rooms.items() for fact in _of_room(brief, brief.rooms[code], passages)), ()


def _of_room(
    brief: Brief, room: Room, passages: dict[tuple[StonePassage, str], list[CableRun]]
) -> Iterator[Fact]:
    for number, ((through, place), runs) in enumerate(passages.items(), start=1):
        holes, hole_mm = hole_for(brief, runs)
        yield StoneHole(id=f"{room.code}-H{number}", **site(room, brief.job), basis=tuple(run.id for run in runs),
                        where=runs[0].where, decided=hole_row(brief, runs), through=through, place=place,
                        cables=len(runs), holes=holes, hole_mm=hole_mm)


def hole_for(brief: Brief, runs: Sequence[CableRun]) -> tuple[int, float]:
    """How many holes side by side, of which bit [mm], take some cables together."""
    if not runs:
        return 0, 0.0
    answer = brief.catalog.standards.ask("pull", wall_state=runs[0].wall_state)
    return bored(diameters_mm(runs), answer.number("fill_rate"), answer.number("largest_hole_mm"),
                 BIT_MM[brief.job.unit_system])


def hole_row(brief: Brief, runs: Sequence[CableRun]) -> tuple[str, ...]:
    """The row that says how cables are pulled and how far a hole is filled."""
    return rows_of((brief.catalog.standards.ask("pull", wall_state=runs[0].wall_state).decided,))


def _passages(brief: Brief, run: CableRun, places: dict[str, Place]) -> Iterable[tuple[StonePassage, str]]:
    """What a cable passes through besides the shared ways, and at which place of its room; "" where nobody knows."""
    room, start, end = brief.rooms[run.room], places.get(run.start), places.get(run.end)
    other_room = start is not None and start.room != room.code
    if room.access == "none" and (other_room or (run.start == "HE" and not _next_to_head_end(brief, room))):
        yield "wall", ""
    if outdoor(room) or run.way != "inside":
        return
    on_walls = tuple(place for place in (start, end) if place is not None and place.mount != "ceiling")
    if room.access in LIFTED:
        yield from (("ceiling", place.id) for place in on_walls)
        return
    to_ceiling = any(place is not None and place.mount == "ceiling" for place in (start, end))
    if room.access == "below" and (run.start == "HE" or not to_ceiling):
        yield from (("floor", id) for id in tuple(place.id for place in on_walls) or ("",))
    if to_ceiling and (on_walls or run.start == "HE"):
        yield "hollow", on_walls[0].id if on_walls else ""


def _next_to_head_end(brief: Brief, room: Room) -> bool:
    """Whether the hole out of the head end's room leads straight into this one."""
    head_end = next(iter(brief.of(HeadEndPlace)), None)
    return head_end is not None and in_room(head_end, room) is not None

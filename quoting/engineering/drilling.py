"""What is drilled for each pull: only what its way really passes, how wide, how many holes.

A cable above a ceiling or below a floor lies over or under the framing and passes nothing but plates. Between two
storeys it runs in a joist bay as far as that goes, and crosses joists on the rest. Walls of stone have no studs: what
their pulls share, a hole through a floor and the chase that leads to it, is a SharedWay. The hole through the house
wall is a HouseExit.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import groupby, pairwise

from quoting.engineering.brief import Brief, Result, outdoor, rows_of, site
from quoting.engineering.run_plan import head_end_on_plan, spot_on_plan
from quoting.engineering.slope import over_m
from quoting.facts import CableRun, Fact, FramingLimits, Place, Pull
from quoting.job import Room
from quoting.units import MM_PER_IN, UnitSystem

FRAMED = ("wood frame", "steel frame", "plaster and lath")
WOODEN = ("wood frame", "plaster and lath")
BIT_MM: dict[UnitSystem, float] = {"imperial": MM_PER_IN / 8, "metric": 2.0}  # from one bit to the next (from memory)


def open_pulls(brief: Brief) -> Result:
    """Each pull behind open walls."""
    return _pulls(brief, finished=False)


def finished_pulls(brief: Brief) -> Result:
    """Each pull through finished walls, in this option."""
    return _pulls(brief, finished=True)


def framing_limits(brief: Brief) -> Result:
    """What wood framing bears without an engineer, where a room has some."""
    if not any(room.construction in WOODEN for room in brief.job.rooms):
        return (), ()
    stud, plate, strap, apart = (brief.catalog.standards.ask("framing_limit", item=item) for item in (
        "stud bored share", "plate cut share", "strap width in", "holes apart"))
    return (FramingLimits(
        id="FRAMING", decided=rows_of(answer.decided for answer in (stud, plate, strap, apart)),
        stud_rate=stud.number("value"), plate_rate=plate.number("value"),
        strap_mm=strap.number("value") * MM_PER_IN, apart_rate=apart.number("value")),), ()


def _pulls(brief: Brief, finished: bool) -> Result:
    places = {place.id: place for place in brief.of(Place)}
    runs = sorted((run for run in brief.of(CableRun) if (run.wall_state == "finished") == finished and not run.reused),
                  key=lambda run: run.pull_group)
    facts: list[Fact] = []
    for group, together in groupby(runs, key=lambda run: run.pull_group):
        facts.append(_pull(brief, group, tuple(together), places))
    return tuple(facts), ()


def _pull(brief: Brief, group: str, runs: Sequence[CableRun], places: dict[str, Place]) -> Pull:
    room = brief.rooms[runs[0].room]
    answer = brief.catalog.standards.ask("pull", wall_state=room.wall_state)
    spacing_m, rate = room.joist_spacing_m or answer.number("stud_spacing_m"), answer.number("crossing_rate")
    crossed = [studs_on_way(way_across_m(brief, run, places, rate), spacing_m) if _drills(room, run) else 0
               for run in runs]
    home = runs[0].start == "HE"  # cables from the head end share their holes; those inside the room have their own
    diameters = diameters_mm(runs)
    alone = diameters if home else [max(diameters, default=0.0)]
    holes, hole_mm = bored(alone, answer.number("fill_rate"), answer.number("largest_hole_mm"),
                           BIT_MM[brief.job.unit_system])
    return Pull(
        id=group, **site(room, brief.job), basis=tuple(run.id for run in runs), where=runs[0].where,
        decided=rows_of((answer.decided,)), cables=len(runs),
        studs_crossed=max(crossed) if home else sum(crossed), plates_crossed=_plates(brief, room, runs, places, home),
        holes=holes, hole_mm=hole_mm, largest_mm=answer.number("largest_hole_mm"),
        fill_rate=answer.number("fill_rate"), chase_m=round(chase_m(brief, room, runs, places), 3),
        chase_mm=round(_chase_mm(brief, room, runs), 1),
        shares_with=_begins_in(room, runs, places))


def diameters_mm(runs: Iterable[CableRun]) -> list[float]:
    """The outsides of cables whose diameter the catalogue knows."""
    return [run.diameter_mm for run in runs if run.diameter_mm]


def _drills(room: Room, run: CableRun) -> bool:
    """Whether a run goes through framing at all."""
    outside = outdoor(room) and run.start != "HE"
    return room.construction in FRAMED and room.access == "none" and not outside


def way_across_m(brief: Brief, run: CableRun, places: dict[str, Place], rate: float) -> float:
    """How much of a run's way crosses the joists: the part along the axis that they bar; a share where nobody knows
    which way they run. [m]"""
    room = brief.rooms[run.room]
    start, end = places.get(run.start), places.get(run.end)
    at: tuple[tuple[float, float] | None, tuple[float, float] | None] = (None, None)
    if room.joists is not None and start is not None and end is not None and start.room == end.room:
        at = (start.x_m, start.y_m), (end.x_m, end.y_m)
    elif room.joists is not None and run.start == "HE" and run.length_basis == "plan":
        at = head_end_on_plan(brief), spot_on_plan(room, end)
    one, other = at
    if one is None or other is None:
        return run.plan_m * rate
    return abs(one[0] - other[0]) if room.joists == "across" else abs(one[1] - other[1])


def studs_on_way(across_m: float, spacing_m: float) -> int:
    """Studs or joists that a straight way across them passes, one a spacing.

    >>> studs_on_way(12 * 0.3048, 16 * 0.0254)  # 12 ft at 16 in
    9
    """
    return math.floor(across_m / spacing_m + 1e-9) if spacing_m else 0


def _plates(brief: Brief, room: Room, runs: Sequence[CableRun], places: dict[str, Place], home: bool) -> int:
    """Out of the wall at the start, the sole plate and the top plate of each storey passed, into the wall of each end,
    and into the outside wall where cables leave the house.

    A pull shares its holes; inside a room each cable has its own, out of its wall and into the next. From below a floor
    the storey of the room itself is not passed. In stone: out of the head end's wall, a floor each, and on into the
    space above or below; all pulls share those.
    """
    floors = max(run.floors_crossed for run in runs)
    if room.construction not in FRAMED:
        return 1 + floors + (room.access != "none") if home else 0
    if not home:
        ends = [places[at] for run in runs for at in (run.start, run.end) if at in places]
        out = sum(run.way != "inside" and _indoors(brief, places.get(run.start)) for run in runs)
        return out + sum(place.mount != "ceiling" and _indoors(brief, place) for place in ends)
    inside = [run for run in runs if run.way == "inside"]  # the hole through the house wall is a HouseExit
    spots = {(place.room, place.x_m, place.y_m) for place in _ends(inside, places) if place.mount != "ceiling"}
    up_from_below = room.access == "below" and room.floor > brief.job.head_end.floor
    exits = {run.end if run.way == "eaves" else "" for run in runs if run.way != "inside"}  # into the outside wall
    return 1 + 2 * (floors - up_from_below) + len(spots) + len(exits)


def _indoors(brief: Brief, place: Place | None) -> bool:
    return place is not None and not outdoor(brief.rooms[place.room])


def chase_m(brief: Brief, room: Room, runs: Sequence[CableRun], places: dict[str, Place]) -> float:
    """How much of its way a pull is chased into stone, what its cables share counted once: down (from below up) to each
    box, and across where no ceiling or floor is reached; nothing to a loudspeaker in the ceiling. [m]

    Inside a room the way across lies high on its walls, all round as far as it goes, and begins in the chase that
    leads to its start.
    """
    if room.construction in FRAMED or outdoor(room):
        return 0.0
    ends = {(place.x_m, place.y_m): place for place in _ends(runs, places) if place.mount != "ceiling"}
    starts = {place.id: place for run in runs if (place := places.get(run.start)) is not None}
    cut_m = sum(_to_box_m(brief, room, place, room.access == "below") for place in ends.values())
    if _up_anew(room, runs, places):
        cut_m += sum(_to_box_m(brief, room, place, False) for place in starts.values() if place.mount != "ceiling")
    if room.access != "none":
        return cut_m
    if runs[0].start == "HE":
        return cut_m + max(run.plan_m * run.route_factor for run in runs)
    spots = [(place.x_m, place.y_m) for place in starts.values()]
    return cut_m + (round_walls_m((*ends, *spots), room.length_m, room.width_m) if ends else 0.0)


def _chase_mm(brief: Brief, room: Room, runs: Sequence[CableRun]) -> float:
    """How wide a pull's chase is where it is widest: its cables side by side, with those of the room that begin in
    it. [mm]"""
    if room.construction in FRAMED or outdoor(room):
        return 0.0
    across = room.access == "none"
    at = {run.end for run in runs}
    begin = [run for run in brief.of(CableRun) if run.start in at and run.start != "HE" and not run.reused]
    spots = [sum(diameters_mm(run for run in (*runs, *begin) if spot in (run.start, run.end))) for spot in at]
    return max(*spots, sum(diameters_mm(runs)) if across else 0.0)


def _to_box_m(brief: Brief, room: Room, place: Place, from_below: bool) -> float:
    """From the floor up to a box, else from the ceiling over it down to it. [m]"""
    return place.height_m if from_below else max(0.0, over_m(brief, room, place)[0] - place.height_m)


def _up_anew(room: Room, runs: Iterable[CableRun], places: dict[str, Place]) -> bool:
    """Whether cables go up to the ceiling from boxes that others reach from below."""
    return room.access == "below" and any(
        run.start in places and run.end in places and places[run.end].mount == "ceiling" for run in runs)


def _begins_in(room: Room, runs: Sequence[CableRun], places: dict[str, Place]) -> str:
    """The pull in whose chase a room's own cables begin, in walls of stone; "" where they need none, or a new one."""
    on_walls = any(run.start in places and places[run.start].mount != "ceiling" for run in runs)
    anew = room.construction in FRAMED or outdoor(room) or _up_anew(room, runs, places)
    return f"{room.code}-P1" if on_walls and not anew else ""


def round_walls_m(spots: Iterable[tuple[float, float]], length_m: float, width_m: float) -> float:
    """How long a way along the walls joins all spots, round the room without its largest gap. [m]

    >>> round_walls_m([(0, 1), (2, 4), (5, 4)], 6, 4)  # 3 up the west wall, 5 along the north one
    8.0
    """
    round_m = 2.0 * (length_m + width_m)
    along = sorted({round(_along_walls_m(x, y, length_m, width_m), 6) for x, y in spots})
    if len(along) < 2:
        return 0.0
    gaps = [later - earlier for earlier, later in pairwise(along)]
    return round(round_m - max(*gaps, round_m - along[-1] + along[0]), 6)


def _along_walls_m(x_m: float, y_m: float, length_m: float, width_m: float) -> float:
    """How far round the room a spot lies: up the west wall, along the north, down the east, back along the south."""
    off = {"west": x_m, "north": width_m - y_m, "east": length_m - x_m, "south": y_m}
    return {"west": y_m, "north": width_m + x_m, "east": width_m + length_m + width_m - y_m,
            "south": 2 * width_m + length_m + length_m - x_m}[min(off, key=lambda wall: round(off[wall], 6))]


def _ends(runs: Iterable[CableRun], places: dict[str, Place]) -> Iterable[Place]:
    return (places[run.end] for run in runs if run.end in places)


def bit_for_mm(outside_mm: float, system: UnitSystem) -> float:
    """The next bit that a tube of that outside goes through; 0 where nobody knows it. [mm]

    >>> bit_for_mm(28.6, "metric"), round(bit_for_mm(28.6, "imperial") / 25.4, 3)
    (30.0, 1.25)
    """
    step_mm = BIT_MM[system]
    return round(math.ceil(outside_mm / step_mm - 1e-9) * step_mm, 4)


def bored(diameters_mm: Sequence[float], fill_rate: float, largest_mm: float, step_mm: float) -> tuple[int, float]:
    """How many holes side by side, of which bit [mm], take cables that are whole: the largest first into the emptiest
    hole, the bit for the fullest; one hole more while that bit is over the largest, to a hole for each cable at most.

    A hole of diameter D holds cables as long as the sum of d^2 is at most rate x D^2 (their areas against its own).

    >>> bored([8.0], 0.4, 25.4, 2.0)  # 8 / sqrt(0.4) = 12.65, the next bit is 14
    (1, 14.0)
    >>> bored([10.2, 10.2, 10.2], 0.4, 25.4, 2.0)  # three: 27.93, too wide; two and one: 10.2 x sqrt(2 / 0.4) = 22.81
    (2, 24.0)
    """
    if not diameters_mm:
        return 0, 0.0
    squares = sorted((diameter ** 2 for diameter in diameters_mm), reverse=True)
    bit_mm = 0.0
    for holes in range(1, len(squares) + 1):
        inside = [0.0] * holes
        for square in squares:
            inside[inside.index(min(inside))] += square
        bit_mm = round(math.ceil(math.sqrt(max(inside) / fill_rate) / step_mm - 1e-9) * step_mm, 4)
        if bit_mm <= largest_mm + 1e-6:
            return holes, bit_mm
    return len(squares), bit_mm

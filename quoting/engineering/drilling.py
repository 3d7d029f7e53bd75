"""What is drilled for each pull: only what its way really passes, how wide, how many holes.

A cable above a ceiling or below a floor lies over or under the framing and passes nothing but plates. Between two
storeys it runs in a joist bay as far as that goes, and crosses joists on the rest. Walls of stone have no studs.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import groupby

from quoting.engineering.brief import Brief, Result, outdoor, rows_of, site
from quoting.facts import CableRun, Fact, Place, Pull
from quoting.job import Room
from quoting.units import MM_PER_IN, UnitSystem

FRAMED = ("wood frame", "steel frame", "plaster and lath")
BIT_MM: dict[UnitSystem, float] = {"imperial": MM_PER_IN / 8, "metric": 2.0}  # from one bit to the next (from memory)


def open_pulls(brief: Brief) -> Result:
    """Each pull behind open walls."""
    return _pulls(brief, finished=False)


def finished_pulls(brief: Brief) -> Result:
    """Each pull through finished walls, in this option."""
    return _pulls(brief, finished=True)


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
    diameters = [spec.diameter_mm for run in runs if (spec := brief.catalog.cables.get(run.part)) is not None]
    alone = diameters if home else [max(diameters, default=0.0)]
    holes, hole_mm = bored(alone, answer.number("fill_rate"), answer.number("largest_hole_mm"),
                           BIT_MM[brief.job.unit_system])
    return Pull(
        id=group, **site(room, brief.job), basis=tuple(run.id for run in runs), where=runs[0].where,
        decided=rows_of((answer.decided,)), cables=len(runs),
        studs_crossed=max(crossed) if home else sum(crossed), plates_crossed=_plates(room, runs, places, home),
        holes=holes, hole_mm=hole_mm, chase_m=round(_chase_m(room, runs, places), 3))


def _drills(room: Room, run: CableRun) -> bool:
    """Whether a run goes through framing at all."""
    outside = outdoor(room) and run.start != "HE"
    return room.construction in FRAMED and room.access == "none" and not outside


def way_across_m(brief: Brief, run: CableRun, places: dict[str, Place], rate: float) -> float:
    """How much of a run's way crosses the joists: the part along the axis that they bar; a share where nobody knows
    which way they run. [m]"""
    room, head_end = brief.rooms[run.room], brief.job.head_end
    start, end = places.get(run.start), places.get(run.end)
    if room.joists is not None and start is not None and end is not None and start.room == end.room:
        return abs(start.x_m - end.x_m) if room.joists == "across" else abs(start.y_m - end.y_m)
    if room.joists is not None and run.start == "HE" and run.length_basis == "plan":
        across, along = (room.x_m, head_end.x_m), (room.y_m, head_end.y_m)
        far, near = across if room.joists == "across" else along
        if far is not None and near is not None:
            return abs(far - near)
    return run.plan_m * rate


def studs_on_way(across_m: float, spacing_m: float) -> int:
    """Studs or joists that a straight way across them passes, one a spacing.

    >>> studs_on_way(12 * 0.3048, 16 * 0.0254)  # 12 ft at 16 in
    9
    """
    return math.floor(across_m / spacing_m + 1e-9) if spacing_m else 0


def _plates(room: Room, runs: Sequence[CableRun], places: dict[str, Place], home: bool) -> int:
    """Out of the wall at the start, the sole plate and the top plate of each storey passed, into the wall of each end;
    in stone a hole through each wall and floor."""
    floors = max(run.floors_crossed for run in runs)
    if room.construction not in FRAMED:
        return 1 + floors if home else 0
    spots = {(place.room, place.x_m, place.y_m) for place in _ends(runs, places) if place.mount != "ceiling"}
    starts = {run.start for run in runs}
    from_walls = 1 if home else sum(places[start].mount != "ceiling" for start in starts if start in places)
    return from_walls + 2 * floors + len(spots) if not outdoor(room) or home else 0


def _chase_m(room: Room, runs: Sequence[CableRun], places: dict[str, Place]) -> float:
    """How much of its way a pull is chased into stone: down to each box, and across where no ceiling or floor is
    reached; nothing to a loudspeaker in the ceiling. At most, for what goes to one wall shares one. [m]"""
    if room.construction in FRAMED or outdoor(room):
        return 0.0
    spots = {(place.x_m, place.y_m): place for place in _ends(runs, places) if place.mount != "ceiling"}
    drops_m = sum(max(0.0, room.ceiling_height_m - place.height_m) for place in spots.values())
    if room.access != "none":
        return drops_m
    ways_m = [run.plan_m * run.route_factor for run in runs if run.start == "HE" or (
        run.end in places and places[run.end].mount != "ceiling")]
    return drops_m + (max(ways_m, default=0.0) if runs[0].start == "HE" else sum(ways_m))


def _ends(runs: Iterable[CableRun], places: dict[str, Place]) -> Iterable[Place]:
    return (places[run.end] for run in runs if run.end in places)


def bored(diameters_mm: Sequence[float], fill_rate: float, largest_mm: float, step_mm: float) -> tuple[int, float]:
    """How many holes side by side, of which diameter [mm], cables fill to a rate at most.

    A hole of diameter D holds cables as long as the sum of d^2 is at most rate x D^2 (their areas against its own).

    >>> bored([8.0], 0.4, 25.4, 2.0)  # 8 / sqrt(0.4) = 12.65, the next bit is 14
    (1, 14.0)
    """
    if not diameters_mm:
        return 0, 0.0
    whole_mm = math.sqrt(sum(diameter ** 2 for diameter in diameters_mm) / fill_rate)
    holes = max(1, math.ceil((whole_mm / largest_mm) ** 2 - 1e-9))
    each_mm = max(whole_mm / math.sqrt(holes), max(diameters_mm) / math.sqrt(fill_rate))
    return holes, round(math.ceil(each_mm / step_mm - 1e-9) * step_mm, 4)

"""How long a run is: measured, else by plan coordinates, else by a distance band; each run says which."""

from __future__ import annotations

import math
import re
from typing import cast

from msgspec import Struct

from quoting.engineering.brief import Brief, outdoor, rows_of
from quoting.engineering.head_end_place import in_room
from quoting.engineering.run_plan import Leg, head_end_on_plan, spot_on_plan
from quoting.engineering.slope import over_m
from quoting.facts import CableWay, HeadEndPlace, Place
from quoting.job import Room
from quoting.problems import Cell, Problem, stop
from quoting.tables.decision import Answer
from quoting.units import M_PER_FT, UnitSystem

_TYPED = re.compile(r"^\s*([0-9]+(?:\.[0-9]+)?)\s*(m|ft|)\s*$", re.IGNORECASE)
STEP_M: dict[UnitSystem, float] = {"imperial": M_PER_FT, "metric": 0.5}  # every run is rounded up to this


class Length(Struct, frozen=True, kw_only=True):
    """A run's length and how it came about. Metres."""

    basis: str  # measured, plan, band, override
    plan_m: float
    route_factor: float
    vertical_m: float
    measured_to: str
    slack_m: float
    slack_start_m: float
    slack_end_m: float
    planned_m: float  # the way and its slack, before waste and rounding
    waste_rate: float
    length_m: float  # what is cut
    floors_crossed: int
    way: CableWay
    via: str
    decided: tuple[str, ...]
    where: tuple[Cell, ...]


def run_length(brief: Brief, leg: Leg, places: dict[str, Place]) -> tuple[Length, tuple[Problem, ...]]:
    """(plan x route factor + vertical + slack) x (1 + waste), rounded up to 1 ft or 0.5 m.

    Right angles on the plan, rises, drops and floors: the accepted take-off method (trade-practice 3.3).
    """
    room = brief.rooms[leg.room]
    ask = brief.catalog.standards.ask
    from_head_end = leg.start == "HE"
    before = _room_before(brief, leg, places)
    factor = ask("route_factor", wall_state=room.wall_state, joists=room.joists or "")
    if from_head_end:
        basis, plan, where, band_by = _plan(brief, room, leg, places, factor.number("route_factor"))
    elif before is not room:
        basis, plan, where, band_by = _between(brief, leg, places, before, room)
    else:
        basis, plan, where, band_by = _inside(leg, places, room)
    way = _way(brief, room, leg, places)
    via = _via(brief, room, before, leg, places, way.text("way") != "inside")
    underground = way.text("way") == "ground"
    vertical, crossed, vertical_by = _vertical(brief, room, before, leg, places, underground)
    way_by = (*band_by, factor.decided, *vertical_by)
    if basis == "measured":  # rises and drops included, as far as one place of the room
        vertical, way_by = _beyond_measure(brief, room, leg, places)
        vertical = max(vertical, -plan)
    slacks = [ask("slack", end=end, outdoor=outdoor(room)) for end in (leg.start_device, leg.device)]
    slack = sum(answer.number("slack_m") for answer in slacks)
    waste = ask("cable_waste", cable="category" if leg.circuits == 0 else "speaker", wall_state=room.wall_state)
    route = plan * (1.0 if basis == "measured" else factor.number("route_factor"))
    planned = route + vertical + slack
    length = planned * (1 + waste.number("waste_rate"))
    override, problems = _override(brief, leg)
    if override is not None:
        basis, planned, length = "override", override, override
        corrected = brief.override(leg.id, "length")
        where = (*where, corrected.where) if corrected else where
    step = STEP_M[brief.job.unit_system]
    return Length(
        basis=basis, plan_m=round(plan, 3), route_factor=factor.number("route_factor") if basis != "measured" else 1.0,
        vertical_m=round(vertical, 3), measured_to=f"{room.code}-{_told_to(room)}1" if basis == "measured" else "",
        slack_m=round(slack, 3), slack_start_m=round(slacks[0].number("slack_m"), 3),
        slack_end_m=round(slacks[1].number("slack_m"), 3), planned_m=round(planned, 3),
        waste_rate=waste.number("waste_rate"), length_m=round(math.ceil(length / step - 1e-6) * step, 4),
        floors_crossed=crossed, way=cast("CableWay", way.text("way")), via=via.text("via"),
        decided=rows_of((*way_by, way.decided, via.decided, *(answer.decided for answer in slacks), waste.decided)),
        where=where,
    ), problems


def _plan(
    brief: Brief, room: Room, leg: Leg, places: dict[str, Place], route_factor: float
) -> tuple[str, float, tuple[Cell, ...], tuple[str, ...]]:
    """From the head end to the run's own end: measured, drawn, on the plan, else by the room's distance."""
    start, end = head_end_on_plan(brief), places.get(leg.end)
    further = _further_m(room, end, places)
    if room.measured_m is not None:
        on = further if outdoor(room) else further * route_factor
        return "measured", room.measured_m + on, room.where("", "measured_m"), ()
    drawn, spot = _drawn_m(brief, room, end), spot_on_plan(room, end)
    if spot is not None and start is not None:
        across = _across_m(spot, start)
        return "plan", max(across, drawn or 0.0), room.where("", "x_m", "y_m"), ()
    if drawn is not None:
        return "plan", drawn, (*brief.job.where("head_end_beside"), *room.where("", "length_m", "width_m")), ()
    band = brief.catalog.standards.ask("distance_band", distance=room.distance)
    on = further if outdoor(room) else 0.0  # indoors the room's distance is an average of its places
    return "band", band.number("plan_m") + on, room.where("", "distance"), (band.decided,)


def _across_m(one: tuple[float, float], other: tuple[float, float]) -> float:
    """Right angles from point to point. [m]"""
    return abs(one[0] - other[0]) + abs(one[1] - other[1])


def _drawn_m(brief: Brief, room: Room, end: Place | None) -> float | None:
    """Right angles from where the cables come out to a place of the room that the head end is in, or that its closet
    shares a wall with; None where the drawings do not show it. [m]"""
    head_end = next(iter(brief.of(HeadEndPlace)), None)
    at = in_room(head_end, room) if head_end is not None else None
    if at is None or end is None or end.room != room.code:
        return None
    return _across_m((end.x_m, end.y_m), at)


def _further_m(room: Room, end: Place | None, places: dict[str, Place]) -> float:
    """From the place that the room's distance is told to, on to the run's end, right angles. [m]"""
    first = places.get(f"{room.code}-{_told_to(room)}1")
    if first is None or end is None or end.room != room.code:
        return 0.0
    return _across_m((end.x_m, end.y_m), (first.x_m, first.y_m))


def _told_to(room: Room) -> str:
    """The letter of what a room is measured to: its control; where that is a phone, its first loudspeaker."""
    return "S" if room.control == "phone" else "K"


def _inside(leg: Leg, places: dict[str, Place], room: Room) -> tuple[str, float, tuple[Cell, ...], tuple[str, ...]]:
    """From place to place inside the room: right angles between the two."""
    start, end = places.get(leg.start), places.get(leg.end)
    if start is None or end is None:
        return "plan", room.length_m / 2 + room.width_m / 2, room.where(""), ()
    return "plan", _across_m((start.x_m, start.y_m), (end.x_m, end.y_m)), room.where("", "length_m", "width_m"), ()


def _room_before(brief: Brief, leg: Leg, places: dict[str, Place]) -> Room:
    """The room where a leg starts: its own, or on a line the one that the line comes from."""
    start = places.get(leg.start)
    return brief.rooms[start.room if start is not None else leg.room]


def _between(
    brief: Brief, leg: Leg, places: dict[str, Place], before: Room, room: Room
) -> tuple[str, float, tuple[Cell, ...], tuple[str, ...]]:
    """From a line's last speaker in one room to its first in the next: on the plan, else a usual hop."""
    start, end = spot_on_plan(before, places.get(leg.start)), spot_on_plan(room, places.get(leg.end))
    if start is not None and end is not None:
        return "plan", _across_m(start, end), room.where("", "x_m", "y_m"), ()
    hop = brief.catalog.standards.ask("cable_design", item="hop between rooms m")
    return "band", hop.number("value"), room.where("", "distance"), (hop.decided,)


def _way(brief: Brief, room: Room, leg: Leg, places: dict[str, Place]) -> Answer:
    """Inside, along the eaves or in the ground: by what the end hangs on."""
    place = places.get(leg.end)
    mount = place.mount if place is not None else "wall"
    return brief.catalog.standards.ask("cable_way", outdoor=outdoor(room), mount=mount)


def _via(
    brief: Brief, room: Room, before: Room, leg: Leg, places: dict[str, Place], leaves: bool
) -> Answer:
    """What the way indoors is called: through hollow walls and ceilings, or in chases of walls of stone."""
    start = "head end" if leg.start == "HE" else _on(places.get(leg.start))
    end = "outside" if leaves else _on(places.get(leg.end))
    return brief.catalog.standards.ask(
        "run_way", start=start, end=end, construction=before.construction if start != "head end" else room.construction,
        wall_state=room.wall_state, access=room.access)


def _on(place: Place | None) -> str:
    return "ceiling" if place is not None and place.mount == "ceiling" else "wall"


def _vertical(
    brief: Brief, room: Room, before: Room, leg: Leg, places: dict[str, Place], underground: bool
) -> tuple[float, int, tuple[str, ...]]:
    """Rise at the head end, floors crossed, drops at the devices, slopes climbed [m]; how many floors; the rows that
    decided it. From elsewhere a way comes to a room's ceiling at its low side."""
    ask = brief.catalog.standards.ask
    end = _hangs(brief, room, leg.device, places.get(leg.end))
    floor = brief.job.head_end.floor if leg.start == "HE" else before.floor
    storeys, crossed = storeys_m(brief, floor, room)
    thick_by = (ask("vertical", item="floor thickness").decided,) if crossed else ()
    if underground:
        depth = ask("vertical", item="burial depth")
        deep_m = depth.number("length_m")
        drop, by = _above_m(brief, room, leg.device, places.get(leg.end)) + deep_m, (
            *end.decided, *thick_by, depth.decided)
        if leg.start != "HE" and outdoor(before):
            first = _above_m(brief, before, leg.start_device, places.get(leg.start)) + deep_m
            return drop + first + storeys, crossed, by
        drop += room.ceiling_height_m + deep_m  # out of the house at the top, down its wall and into the ground
    else:
        drop, by = end.down_m + end.over_m - room.ceiling_height_m, (*end.decided, *thick_by)
    if leg.start == "HE":
        rise = ask("vertical", item="head-end rise")
        return rise.number("length_m") + storeys + drop, crossed, (rise.decided, *by)
    start = _hangs(brief, before, leg.start_device, places.get(leg.start))
    if before is room and not underground:
        return start.down_m + abs(end.over_m - start.over_m) + end.down_m, crossed, (*start.decided, *by)
    climbed = start.over_m - before.ceiling_height_m
    return drop + start.down_m + climbed + storeys, crossed, (*start.decided, *by)


def _beyond_measure(
    brief: Brief, room: Room, leg: Leg, places: dict[str, Place]
) -> tuple[float, tuple[str, ...]]:
    """How much longer than to the place that was measured to a way is up and down, along the ceiling and its slope:
    negative where the device hangs higher [m]; the rows.

    A room is measured to its control; where that is a phone, to its first loudspeaker.
    """
    letter = _told_to(room)
    measured_to = "speaker" if letter == "S" else "control"
    if leg.device == measured_to:
        return 0.0, ()
    first = _hangs(brief, room, measured_to, places.get(f"{room.code}-{letter}1"))
    end = _hangs(brief, room, leg.device, places.get(leg.end))
    return abs(end.over_m - first.over_m) + end.down_m - first.down_m, (*first.decided, *end.decided)


def storeys_m(brief: Brief, floor: int, room: Room) -> tuple[float, int]:
    """Height between a floor and a room's floor, and how many floors that crosses. [m]"""
    heights = {plan.number: plan.ceiling_height_m for plan in brief.job.floors}
    low, high = sorted((floor, room.floor))
    between = [number for number in heights if low <= number < high]  # drawings may number -1, 1, 2
    thick = brief.catalog.standards.ask("vertical", item="floor thickness").number("length_m")
    return sum(heights.get(number, room.ceiling_height_m) + thick for number in between), len(between)


class _Hangs(Struct, frozen=True, kw_only=True):
    """How high the ceiling is over a device, how far down from there it hangs [m], and the rows that say so."""

    over_m: float
    down_m: float
    decided: tuple[str, ...]


def _hangs(brief: Brief, room: Room, device: str, place: Place | None) -> _Hangs:
    answer = _height(brief, device, place)
    over, low_by = over_m(brief, room, place)
    down = answer.number("drop_m")
    if above := answer.number("above_floor_m"):
        down += max(0.0, over - above)
    elif place is not None:
        down = max(down, over - place.height_m)
    return _Hangs(over_m=over, down_m=down, decided=rows_of((answer.decided, low_by)))


def _above_m(brief: Brief, room: Room, device: str, place: Place | None) -> float:
    """How high over the ground a device is. [m]"""
    if place is not None:
        return place.height_m
    return _height(brief, device, place).number("above_floor_m") or room.ceiling_height_m


def _height(brief: Brief, device: str, place: Place | None) -> Answer:
    mount = place.mount if place is not None else "wall"
    return brief.catalog.standards.ask("device_height", device=device, mount=mount)


def _override(brief: Brief, leg: Leg) -> tuple[float | None, tuple[Problem, ...]]:
    override = brief.override(leg.id, "length")
    if override is None:
        return None, ()
    found = _TYPED.match(override.value)
    if not found or float(found.group(1)) <= 0:
        return None, (stop(override.where, "bad-override", f"'{override.value}' is not a length for run {leg.id}.",
                           "Type a number in the job's unit, or with ft or m: 82 ft."),)
    unit = found.group(2).lower() or ("ft" if brief.job.unit_system == "imperial" else "m")
    return float(found.group(1)) * (M_PER_FT if unit == "ft" else 1.0), ()

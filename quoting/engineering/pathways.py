"""Ways for later cables and away from mains: empty conduits with pull strings, and how far audio cable keeps off."""

from __future__ import annotations

import math
from collections.abc import Sequence

from msgspec import Struct

from quoting.engineering.brief import Brief, Result, is_open, outdoor, rows_of
from quoting.engineering.drilling import FRAMED, bit_for_mm
from quoting.engineering.run_length import STEP_M, storeys_m
from quoting.engineering.run_plan import head_end_on_plan, way_m
from quoting.facts import Conduit, Fact, Separation
from quoting.job import Room

PLAN = "x_m", "y_m"  # the answers that say where a room lies


def conduits(brief: Brief) -> Result:
    """Conduits from the head end to attic, basement and outside, as many as the standard says; only in open walls."""
    if brief.job.wall_state == "finished":
        return (), ()
    facts: list[Fact] = []
    for way in _ways(brief):
        answer = brief.catalog.standards.ask("conduit", to=way.to, unit_system=brief.job.unit_system)
        diameter_mm = answer.number("diameter_mm")
        step = STEP_M[brief.job.unit_system]
        for _ in range(int(answer.number("count"))):
            facts.append(Conduit(
                id=f"CND-{len(facts) + 1}", where=(*brief.job.where("head_end"), *way.room.where(*way.read)),
                decided=rows_of((answer.decided,)), to=way.to, diameter_mm=diameter_mm,
                length_m=round(math.ceil(way.length_m / step - 1e-3) * step, 4), length_basis=way.basis,
                wall_state=way.room.wall_state, plates_crossed=way.plates,
                towards="" if way.basis == "straight" else way.room.code,
                hole_mm=bit_for_mm(_outside_mm(brief, diameter_mm), brief.job.unit_system)))
    return tuple(facts), ()


def _outside_mm(brief: Brief, diameter_mm: float) -> float:
    """Of the conduit of that size: the narrowest of the catalogue's that is as wide; 0 where it does not say. [mm]"""
    wide = [spec.outside_mm for role in ("sleeve conduit", "wide conduit")
            if (spec := brief.catalog.tubes.get(brief.part_for(role))) is not None and (
                max(spec.inside_mm, spec.outside_mm) >= diameter_mm)]
    return min(wide, default=0.0)


class _Way(Struct, frozen=True, kw_only=True):
    """Where a conduit can go, how far that is and how it is known, a room there, plates and floors on the way, and the
    answers of the room that were read."""

    to: str
    length_m: float
    basis: str
    room: Room
    plates: int
    read: tuple[str, ...]


def _ways(brief: Brief) -> list[_Way]:
    job = brief.job
    rise_m = brief.catalog.standards.ask("vertical", item="head-end rise").number("length_m")
    ways: list[_Way] = []
    open_rooms = [room for room in job.rooms if is_open(room)]
    attic = [room for room in open_rooms if room.above == "insulated attic" and not outdoor(room)]
    if attic:
        highest = max(room.floor for room in attic)
        top, across_m = _over_or_under(brief, [room for room in attic if room.floor == highest])
        storeys, crossed = storeys_m(brief, job.head_end.floor, top)
        ways.append(_Way(to="attic", length_m=storeys + top.ceiling_height_m + (across_m or 0.0),
                         basis=_basis(across_m), room=top, plates=_plates(top, crossed),
                         read=("", "above", "ceiling_height_m", *PLAN)))
    below = [room for room in open_rooms if room.floor < 0 and room.floor < job.head_end.floor]
    if below:
        deepest = min(room.floor for room in below)
        lowest, across_m = _over_or_under(brief, [room for room in below if room.floor == deepest])
        storeys, crossed = storeys_m(brief, job.head_end.floor, lowest)
        ways.append(_Way(to="basement", length_m=storeys + (across_m or 0.0), basis=_basis(across_m), room=lowest,
                         plates=_plates(lowest, crossed - 1), read=("", *PLAN)))
    outside = [room for room in open_rooms if outdoor(room)]
    if outside:
        nearest = min(outside, key=lambda room: (way_m(brief, room), room.code))
        known = nearest.measured_m is not None or (nearest.x_m is not None and head_end_on_plan(brief) is not None)
        _, crossed = storeys_m(brief, job.head_end.floor, nearest)
        ways.append(_Way(to="outside", length_m=way_m(brief, nearest) + rise_m, basis="plan" if known else "band",
                         room=nearest, plates=_plates(nearest, crossed),
                         read=("", "measured_m", "x_m", "y_m", "distance")))
    return ways


def _over_or_under(brief: Brief, rooms: Sequence[Room]) -> tuple[Room, float | None]:
    """The room of a storey that lies nearest over or under the head end, and how far across to it, right angles; where
    the plan does not know that, a room of the storey and None. [m]"""
    start = head_end_on_plan(brief)
    known = sorted((_off_m(start, room), room.code, room) for room in rooms
                   if start is not None and room.x_m is not None and room.y_m is not None)
    if not known:
        return min(rooms, key=lambda room: room.code), None
    across_m, _, nearest = known[0]
    return nearest, across_m


def _off_m(spot: tuple[float, float], room: Room) -> float:
    """How far a spot on the plan lies off a room, right angles; 0 over or under it. [m]"""
    return max(0.0, abs(spot[0] - (room.x_m or 0.0)) - room.length_m / 2) + max(
        0.0, abs(spot[1] - (room.y_m or 0.0)) - room.width_m / 2)


def _basis(across_m: float | None) -> str:
    return "straight" if across_m is None else "plan"


def _plates(room: Room, storeys: int) -> int:
    """As a pull counts them: out of the head end's wall, the sole plate and the top plate of each storey passed; in
    stone a hole for each floor."""
    return 1 + (2 if room.construction in FRAMED else 1) * storeys


def separations(brief: Brief) -> Result:
    """How far each regime that holds here keeps audio and data cable from mains: several, never one number."""
    facts: list[Fact] = []
    for row in brief.catalog.standards.rows("separation"):
        if row.text("used_in") in (brief.job.unit_system, "both"):
            facts.append(Separation(
                id=f"SEP-{len(facts) + 1}", where=brief.job.where("unit_system"), decided=(row.decided,),
                regime=row.text("regime"), power=row.text("power"), signal=row.text("signal"),
                divider=row.text("divider"), apart_mm=row.number("apart_mm"), advice=row.text("advice"),
                reference=row.reference))
    return tuple(facts), ()

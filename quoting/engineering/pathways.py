"""Ways for later cables and away from mains: empty conduits with pull strings, and how far audio cable keeps off."""

from __future__ import annotations

import math

from quoting.engineering.brief import Brief, Result, is_open, outdoor, rows_of
from quoting.engineering.run_length import STEP_M, storeys_m
from quoting.engineering.run_plan import head_end_on_plan, way_m
from quoting.facts import Conduit, Fact, Separation
from quoting.job import Room


def conduits(brief: Brief) -> Result:
    """Conduits from the head end to attic, basement and outside, as many as the standard says; only in open walls."""
    if brief.job.wall_state == "finished":
        return (), ()
    facts: list[Fact] = []
    for to, length_m, basis, room in _ways(brief):
        answer = brief.catalog.standards.ask("conduit", to=to, unit_system=brief.job.unit_system)
        step = STEP_M[brief.job.unit_system]
        for _ in range(int(answer.number("count"))):
            facts.append(Conduit(
                id=f"CND-{len(facts) + 1}", where=(*brief.job.where("head_end"), *room.where("")),
                decided=rows_of((answer.decided,)), to=to, diameter_mm=answer.number("diameter_mm"),
                length_m=round(math.ceil(length_m / step - 1e-3) * step, 4), length_basis=basis,
                wall_state=room.wall_state, towards=room.code))
    return tuple(facts), ()


def _ways(brief: Brief) -> list[tuple[str, float, str, Room]]:
    """Where a conduit can go, how far that is, how the length is known, and a room there. Lengths in metres."""
    job = brief.job
    rise_m = brief.catalog.standards.ask("vertical", item="head-end rise").number("length_m")
    ways: list[tuple[str, float, str, Room]] = []
    open_rooms = [room for room in job.rooms if is_open(room)]
    attic = [room for room in open_rooms if room.above == "insulated attic" and not outdoor(room)]
    if attic:
        top = max(attic, key=lambda room: (room.floor, room.code))
        storeys, _ = storeys_m(brief, job.head_end.floor, top)
        ways.append(("attic", storeys + top.ceiling_height_m, "plan", top))
    below = [room for room in open_rooms if room.floor < 0 and room.floor < job.head_end.floor]
    if below:
        lowest = min(below, key=lambda room: (room.floor, room.code))
        ways.append(("basement", storeys_m(brief, job.head_end.floor, lowest)[0], "plan", lowest))
    outside = [room for room in open_rooms if outdoor(room)]
    if outside:
        nearest = min(outside, key=lambda room: (way_m(brief, room), room.code))
        known = nearest.measured_m is not None or (nearest.x_m is not None and head_end_on_plan(brief) is not None)
        ways.append(("outside", way_m(brief, nearest) + rise_m, "plan" if known else "band", nearest))
    return ways


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

"""What the cables of several pulls share: the stretch at the head end, the ways from storey to storey, the opening
where all of them come out. Each is counted once.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from quoting.engineering.brief import Brief, Result, rows_of
from quoting.engineering.drilling import BIT_MM, FRAMED, diameters_mm
from quoting.engineering.rack_items import item, item_rows
from quoting.engineering.stone_holes import LIFTED, hole_for, hole_row
from quoting.facts import CableRun, Fact, HeadEndOpening, HeadEndPlace, RackFact, SharedWay


def shared_ways(brief: Brief) -> Result:
    """At the head end, then storey by storey away from it; in stone with holes and chases, in framing for its spot."""
    homes = [run for run in brief.of(CableRun) if run.start == "HE" and not run.reused]
    facts: list[Fact] = []
    stone = [run for run in homes if run.construction not in FRAMED]
    if stone:
        facts.append(_at_head_end(brief, stone))
    from_floor = brief.job.head_end.floor
    numbers = {plan.number for plan in brief.job.floors} | {run.floor for run in homes} | {from_floor}
    for ladder in (sorted(number for number in numbers if number > from_floor),
                   sorted((number for number in numbers if number < from_floor), reverse=True)):
        before = from_floor
        for number in ladder:
            if passing := [run for run in homes if _passes(run, number, from_floor)]:
                facts.append(_storey(brief, passing, before, number))
            before = number
    return tuple(facts), ()


def _passes(run: CableRun, number: int, from_floor: int) -> bool:
    """Whether a run goes to a storey or beyond it."""
    return run.floor >= number if number > from_floor else run.floor <= number


def _at_head_end(brief: Brief, runs: Sequence[CableRun]) -> SharedWay:
    """Up (or down) from where the cables come out, and one hole out of the head end's room for those that stay on its
    storey."""
    place = brief.of(HeadEndPlace)[0]
    staying = [run for run in runs if run.floor == place.floor]
    holes, hole_mm = hole_for(brief, staying)
    down = all(run.floor < place.floor for run in runs)
    return SharedWay(
        id="WAY-HE", where=place.where, basis=tuple(run.id for run in runs), decided=hole_row(brief, runs),
        floor=place.floor, start=place.floor, stone=True, cables=len(runs), holes=holes, hole_mm=hole_mm,
        through=len(staying), chase_mm=round(sum(diameters_mm(runs)), 1),
        chase_m=round(place.height_m if down else max(0.0, place.ceiling_height_m - place.height_m), 3))


def _storey(brief: Brief, runs: Sequence[CableRun], before: int, number: int) -> SharedWay:
    """One hole through the floor between; in stone up that storey too, where cables go on above it or beyond it."""
    stone = [run for run in runs if run.construction not in FRAMED]
    holes, hole_mm = hole_for(brief, stone)
    up = number > before
    heights = {plan.number: plan.ceiling_height_m for plan in brief.job.floors}
    high_m = heights.get(number, max(run.ceiling_height_m for run in runs))
    over = [run for run in stone if up and run.floor == number and run.access in LIFTED]
    ceiling_holes, ceiling_mm = hole_for(brief, over)
    beyond = any(run.floor != number for run in stone)
    rises = stone and (up or beyond)
    return SharedWay(
        id=f"WAY-{number}", where=runs[0].where, basis=tuple(run.id for run in runs), decided=hole_row(brief, runs),
        floor=number, start=before, stone=bool(stone), cables=len(runs), holes=holes, hole_mm=hole_mm,
        through=len(stone), ceiling_holes=ceiling_holes, ceiling_mm=ceiling_mm, over=len(over),
        chase_m=round(high_m, 3) if rises else 0.0, chase_mm=round(sum(diameters_mm(stone)), 1) if rises else 0.0)


def head_end_opening(brief: Brief) -> Result:
    """The opening at the head end, as large as all its cables ask for, and where their slack hangs."""
    homes = [run for run in brief.of(CableRun) if run.start == "HE"]
    if not homes:
        return (), ()
    rate = item(brief, "opening fill rate")
    step_mm = BIT_MM[brief.job.unit_system]
    across_mm = math.sqrt(sum(diameter ** 2 for diameter in diameters_mm(homes)) / rate)
    racks = brief.of(RackFact)
    stand = "shelf" if not racks or racks[0].shelf_only else "wall rack" if racks[0].on_wall else "rack"
    hangs = brief.catalog.standards.ask("slack_place", stand=stand)
    return (HeadEndOpening(
        id="HE-IN", where=brief.job.where("head_end"), basis=tuple(run.id for run in homes),
        decided=rows_of((*item_rows(brief, "opening fill rate"), hangs.decided)), cables=len(homes),
        opening_mm=round(math.ceil(across_mm / step_mm - 1e-9) * step_mm, 4),
        slack_m=max(run.slack_start_m for run in homes), slack_words=hangs.text("words")),), ()

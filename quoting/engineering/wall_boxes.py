"""The ring or box at each place of a wall: which sort by the wall, which size by what goes into it and lands there."""

from __future__ import annotations

import math
from collections.abc import Sequence

from quoting.catalog.fittings import BoxSpec
from quoting.engineering.brief import Brief, Result, outdoor, rows_of, site
from quoting.engineering.cable_gauge import design_number
from quoting.facts import CableRun, Fact, Place, WallBox


def _unmeasured(part: str = "") -> BoxSpec:
    """A part that parts/boxes.csv does not hold: as if open at its back."""
    return BoxSpec(part=part, volume_cm3=0.0, core_mm=0.0, cores=0, wide_mm=0.0, high_mm=0.0, deep_mm=0.0)


def open_boxes(brief: Brief) -> Result:
    """The boxes of the shared plan."""
    return _boxes(brief, finished=False)


def finished_boxes(brief: Brief) -> Result:
    """One option's boxes in finished walls."""
    return _boxes(brief, finished=True)


def _boxes(brief: Brief, finished: bool) -> Result:
    landing: dict[str, list[CableRun]] = {}
    for run in brief.of(CableRun):
        if run.circuits:
            landing.setdefault(run.start, []).append(run)
            landing.setdefault(run.end, []).append(run)
    facts: list[Fact] = [
        _box(brief, place, landing.get(place.id, ()))
        for place in brief.of(Place) if place.ring and (place.wall_state == "finished") == finished]
    return tuple(facts), ()


def _box(brief: Brief, place: Place, runs: Sequence[CableRun]) -> WallBox:
    """As many conductors as land there ask for so much room, as boxes for mains are counted; the device comes besides.

    Of the role's parts the smallest that holds both and is as deep as the device; where none does, several of the
    largest. A ring is open to the hollow of its wall and holds whatever lies there.
    """
    room, ask = brief.rooms[place.room], brief.catalog.standards.ask
    kind = ask("wall_box", outdoor=outdoor(room), construction=room.construction, wall_state=room.wall_state,
               deep=place.deep_ring)
    each = [ask("box_room", area_mm2=run.area_mm2) for run in runs]
    asked_cm3 = sum(run.conductors * answer.number("volume_cm3") for run, answer in zip(runs, each, strict=True))
    inside = place.depth_mm if place.device != "speaker" else 0.0
    device_cm3 = inside / 10 * design_number(brief, "device section cm2")
    spec, boxes = fitting_box(_specs(brief, kind.text("role")), asked_cm3 + device_cm3, inside)
    return WallBox(
        id=f"{place.id}-B", **site(room, brief.job), basis=(place.id, *(run.id for run in runs)), where=place.where,
        decided=rows_of((kind.decided, *(answer.decided for answer in each))), place=place.id,
        words=kind.text("words"), part=spec.part, boxes=boxes, conductors=sum(run.conductors for run in runs),
        asked_cm3=round(asked_cm3, 1), device_cm3=round(device_cm3, 1), holds_cm3=boxes * spec.volume_cm3,
        core_mm=spec.core_mm, cores=spec.cores, wide_mm=spec.wide_mm, high_mm=spec.high_mm, deep_mm=spec.deep_mm)


def _specs(brief: Brief, role: str) -> list[BoxSpec]:
    """The role's parts, the smallest first."""
    parts = brief.catalog.parts_for(role, brief.option, brief.job.gauge_system)
    specs = (brief.catalog.boxes.get(part) or _unmeasured(part) for part in parts)
    return sorted(specs, key=lambda spec: spec.volume_cm3)


def fitting_box(specs: Sequence[BoxSpec], asked_cm3: float, deep_mm: float) -> tuple[BoxSpec, int]:
    """The smallest box that holds so much and is so deep; else how many of the largest do."""
    if not specs:
        return _unmeasured(), 1
    deep = [spec for spec in specs if not spec.deep_mm or spec.deep_mm >= deep_mm] or [specs[-1]]
    for spec in deep:
        if not spec.volume_cm3 or spec.volume_cm3 >= asked_cm3 - 1e-6:
            return spec, 1
    return deep[-1], math.ceil(asked_cm3 / deep[-1].volume_cm3 - 1e-9)

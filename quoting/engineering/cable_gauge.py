"""The thinnest stocked conductor whose loop stays within the limit for the listening, and the part that has it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from quoting.catalog.records import CableSpec
from quoting.engineering.brief import Brief, rows_of
from quoting.engineering.conductors import (
    ConductorClass,
    area_to_awg,
    awg_area_mm2,
    copper_ohm_per_m,
    iec_max_ohm_per_km,
    level_change_db,
    loop_ohm,
)
from quoting.job import Room
from quoting.problems import Problem, stop, warning

RATING_ORDER = ("in wall", "riser", "plenum")  # each may stand in for those before it; burial is its own


@dataclass(frozen=True, slots=True, kw_only=True)
class Circuit:
    """One pair's way from head end to speaker: the home run and its longest leg, of one gauge. Metres."""

    room: str
    pair: int
    length_m: float
    load_ohm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Gauge:
    """What a circuit got."""

    area_mm2: float
    loop_ohm: float
    loop_rate: float
    loss_db: float
    limit_rate: float
    decided: tuple[str, ...]


def area_of(spec: CableSpec) -> float:
    """The conductor's cross-section, from its gauge where it is an AWG cable. [mm2]"""
    return spec.area_mm2 or round(awg_area_mm2(spec.gauge_awg), 4)


def gauge_of(spec: CableSpec) -> float:
    """The equivalent American gauge: smaller is thicker."""
    return spec.gauge_awg or round(area_to_awg(spec.area_mm2), 1)


def ohm_per_m(spec: CableSpec) -> float:
    """Resistance of one conductor at 20 C: nominal for AWG, the IEC 60228 maximum for metric sizes. [ohm/m]"""
    if spec.area_mm2:
        conductor_class: ConductorClass = 5 if spec.stranding == "flexible" else 2
        return iec_max_ohm_per_km(spec.area_mm2, conductor_class) / 1000
    return copper_ohm_per_m(awg_area_mm2(spec.gauge_awg), "solid" if spec.stranding == "solid" else "stranded")


def choose_gauges(
    brief: Brief, circuits: Sequence[Circuit], role: str, taken: Iterable[float]
) -> tuple[Mapping[tuple[str, int], Gauge], tuple[Problem, ...]]:
    """A gauge for each circuit, at most two gauges over `taken` and these together; keys (room, pair)."""
    stock = _stock(brief, role)
    problems: list[Problem] = []
    if not stock:
        if circuits:
            problems.append(stop(brief.job.where()[0], "no-part-for-role",
                                 f"Option '{brief.option}' has no cable for the role '{role}'.",
                                 "Name at least one in options.csv."))
        return {}, tuple(problems)
    smallest = [_smallest(brief, circuit, stock) for circuit in circuits]
    merged = _two_gauges(circuits, [spec for spec, _ in smallest], stock, set(taken))
    result = {}
    for circuit, spec, (_, worries) in zip(circuits, merged, smallest, strict=True):
        result[(circuit.room, circuit.pair)] = _gauge(brief, circuit, spec)
        problems.extend(worries)
    return result, tuple(problems)


def part_with(brief: Brief, role: str, area_mm2: float, rating: str) -> str:
    """The part of a role with this conductor (0: any) and a rating that may serve; the least strict first."""
    allowed = RATING_ORDER[RATING_ORDER.index(rating):] if rating in RATING_ORDER else (rating,)
    parts = brief.catalog.parts_for(role, brief.option, brief.job.gauge_system)
    specs = [brief.catalog.cables[part] for part in parts if part in brief.catalog.cables]
    for grade in allowed:
        for spec in specs:
            if spec.rating == grade and (not area_mm2 or abs(area_of(spec) - area_mm2) < 0.01):
                return spec.part
    return ""


def _stock(brief: Brief, role: str) -> list[CableSpec]:
    """One cable a gauge, thin to thick, none thinner than the standard's thinnest."""
    thinnest = brief.catalog.standards.ask("thinnest_gauge", gauge_system=brief.job.gauge_system).number("area_mm2")
    by_area: dict[float, CableSpec] = {}
    for part in brief.catalog.parts_for(role, brief.option, brief.job.gauge_system):
        spec = brief.catalog.cables.get(part)
        if spec is not None and area_of(spec) >= thinnest - 0.01:
            by_area.setdefault(area_of(spec), spec)
    return [by_area[area] for area in sorted(by_area)]


def _limits(brief: Brief, room: Room) -> tuple[float, float, str]:
    answer = brief.catalog.standards.ask("gauge_limit", listening=room.listening)
    return answer.number("limit_rate"), answer.number("stop_rate"), answer.decided


def _smallest(brief: Brief, circuit: Circuit, stock: Sequence[CableSpec]) -> tuple[CableSpec, list[Problem]]:
    room = brief.rooms[circuit.room]
    limit, stop_rate, _ = _limits(brief, room)
    for spec in stock:
        if loop_ohm(circuit.length_m, ohm_per_m(spec)) / circuit.load_ohm <= limit:
            return spec, []
    rate = loop_ohm(circuit.length_m, ohm_per_m(stock[-1])) / circuit.load_ohm
    where = room.where("measured_m", "distance")[0]
    said = (f"The cable to '{room.name}' ({circuit.length_m:.1f} m) loses {rate:.1%} of a {circuit.load_ohm:g} ohm "
            f"load in loop resistance even with the thickest stocked conductor")
    if rate <= stop_rate:
        return stock[-1], [warning(where, "cable-over-limit", f"{said}; the limit for {room.listening} listening is "
                                   f"{limit:.0%}.", "Move the head end nearer, or stock a thicker cable.")]
    return stock[-1], [stop(where, "cable-too-long", f"{said}; more than {stop_rate:.0%} is not allowed.",
                            "Move the head end nearer, stock a thicker cable, or put an amplifier near the room.")]


def _two_gauges(
    circuits: Sequence[Circuit], chosen: Sequence[CableSpec], stock: Sequence[CableSpec], taken: set[float]
) -> list[CableSpec]:
    """Thicken the fewest metres so that at most two gauges remain in the job."""
    result = list(chosen)
    while len(areas := sorted(taken | {area_of(spec) for spec in result})) > 2:
        metres = {area: sum(circuit.length_m for circuit, spec in zip(circuits, result, strict=True)
                            if area_of(spec) == area) for area in areas}
        movable = [area for area in areas[:-1] if area not in taken and metres[area] > 0]
        if not movable:
            break  # two or more were taken by the shared plan: nothing here can change that
        thin = min(movable, key=lambda area: metres[area])
        thicker = next(area for area in areas if area > thin)
        by_area = {area_of(spec): spec for spec in stock}
        result = [by_area[thicker] if area_of(spec) == thin and thicker in by_area else spec for spec in result]
        if thicker not in by_area:
            break
    return result


def _gauge(brief: Brief, circuit: Circuit, spec: CableSpec) -> Gauge:
    limit, _, limit_by = _limits(brief, brief.rooms[circuit.room])
    loop = loop_ohm(circuit.length_m, ohm_per_m(spec))
    return Gauge(area_mm2=area_of(spec), loop_ohm=round(loop, 4), loop_rate=round(loop / circuit.load_ohm, 5),
                 loss_db=round(level_change_db(loop, circuit.load_ohm), 3), limit_rate=limit,
                 decided=rows_of((limit_by,)))

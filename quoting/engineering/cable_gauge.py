"""The thinnest stocked conductor whose loop stays within the limit for the circuit, and the part that has it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from msgspec import Struct

from quoting.catalog.records import CableSpec
from quoting.engineering.brief import Brief, rows_of
from quoting.engineering.conductors import (
    IEC_SIZES_MM2,
    ConductorClass,
    area_to_awg,
    awg_area_mm2,
    copper_ohm_per_m,
    copper_temperature_factor,
    damping_factor,
    iec_max_ohm_per_km,
    level_change_db,
    loop_ohm,
    power_lost_rate,
)
from quoting.engineering.loads import bridged_channel_ohm
from quoting.problems import Cell, Problem, stop, warning
from quoting.units import UnitSystem, show_length

Key = tuple[str, int]  # a room and its (first) pair, or a zone's line
RATED_OHM = 8.0  # the load at which amplifiers' damping factors are printed


class Stretch(Struct, frozen=True):
    """A length of cable and the load that it really sees: one pair's, or that of all pairs joined behind it."""

    length_m: float
    load_ohm: float


class Circuit(Struct, frozen=True, kw_only=True):
    """The way from head end to the farthest speaker, of one gauge."""

    key: Key
    role: str
    stretches: tuple[Stretch, ...]
    load_ohm: float  # what the cable sees at the head end: all pairs joined behind it
    bridged: bool
    damping_factor: float  # of the amplifier, at 8 ohm; 0: not asked (a constant-voltage line)
    limit_rate: float  # loop resistance over load
    stop_rate: float
    decided: tuple[str, ...]
    name: str  # of the room or the line, for problems
    limit_words: str
    where: Cell

    @property
    def length_m(self) -> float:
        """End to end. [m]"""
        return sum(stretch.length_m for stretch in self.stretches)

    def loop_rate(self, ohm_per_m: float) -> float:
        """Loop resistance over load, each stretch against what it sees. [ratio]"""
        return sum(loop_ohm(stretch.length_m, ohm_per_m) / stretch.load_ohm for stretch in self.stretches)


class Gauge(Struct, frozen=True, kw_only=True):
    """What a circuit got."""

    area_mm2: float
    stranding: str
    temperature_c: float
    loop_ohm: float
    loop_rate: float
    loss_db: float
    power_lost_rate: float
    damping_factor: float
    load_ohm: float
    channel_ohm: float
    limit_rate: float
    decided: tuple[str, ...]


def area_of(spec: CableSpec) -> float:
    """The conductor's cross-section, from its gauge where it is an AWG cable. [mm2]"""
    return spec.area_mm2 or round(awg_area_mm2(spec.gauge_awg), 4)


def gauge_of(spec: CableSpec) -> float:
    """The equivalent American gauge: smaller is thicker."""
    return spec.gauge_awg or round(area_to_awg(spec.area_mm2), 1)


def design_number(brief: Brief, item: str) -> float:
    """A number of standards/cable_design.csv."""
    return brief.catalog.standards.ask("cable_design", item=item).number("value")


def ohm_per_m(brief: Brief, spec: CableSpec) -> float:
    """Resistance of one conductor at the design temperature. [ohm/m]

    The IEC 60228 maximum, which holds the stranding, for its metric sizes; nominal copper and its stranding for AWG
    and for a size that the standard lacks.
    """
    temperature_c = design_number(brief, "conductor temperature c")
    if spec.area_mm2 in IEC_SIZES_MM2:
        conductor_class: ConductorClass = {"solid": 1, "flexible": 5}.get(spec.stranding, 2)  # type: ignore[assignment]
        return iec_max_ohm_per_km(spec.area_mm2, conductor_class) / 1000 * copper_temperature_factor(temperature_c)
    strands = brief.catalog.standards.ask("stranding", stranding=spec.stranding).number("length_rate")
    return copper_ohm_per_m(spec.area_mm2 or awg_area_mm2(spec.gauge_awg), strands, temperature_c)


def choose_gauges(
    brief: Brief, circuits: Sequence[Circuit], taken: Iterable[float], later: Iterable[Circuit] = ()
) -> tuple[Mapping[Key, Gauge], tuple[Problem, ...]]:
    """A gauge for each circuit, at most the standard's number of gauges over `taken`, these and `later` together.

    `taken`: areas that the shared plan has already. `later`: circuits that an option will size after these.
    """
    later = tuple(later)
    stocks = {role: stock_of(brief, role) for role in sorted({circuit.role for circuit in (*circuits, *later)})}
    missing = [role for role, stock in stocks.items() if not stock]
    if missing:
        return {}, tuple(stop(brief.job.where()[0], "no-part-for-role",
                              f"Option '{brief.option}' has no cable for the role '{role}'.",
                              "Name at least one in options.csv.") for role in missing)
    resistances = {id(spec): ohm_per_m(brief, spec) for stock in stocks.values() for spec in stock}
    found = [_smallest(circuit, stocks[circuit.role], resistances, brief.job.unit_system)
             for circuit in (*circuits, *later)]
    kept = _kept(set(taken), {area_of(spec) for spec, _ in found}, int(design_number(brief, "speaker gauges a job")))
    gauges, problems = {}, []
    for circuit, (thinnest, worries) in zip(circuits, found, strict=False):  # `later` comes last, and only counts
        spec = _of_kept(stocks[circuit.role], thinnest, kept)
        gauges[circuit.key] = _gauge(brief, circuit, spec, resistances[id(spec)])
        problems += worries
    return gauges, tuple(problems)


def thinnest_serves(brief: Brief, circuit: Circuit) -> bool:
    """Whether the thinnest stocked conductor keeps a circuit within its limit."""
    stock = stock_of(brief, circuit.role)
    return not stock or circuit.loop_rate(ohm_per_m(brief, stock[0])) <= circuit.limit_rate


def stock_of(brief: Brief, role: str) -> list[CableSpec]:
    """One cable a gauge, thin to thick, none thinner than the standard's thinnest."""
    thinnest = brief.catalog.standards.ask("thinnest_gauge", gauge_system=brief.job.gauge_system).number("area_mm2")
    by_area: dict[float, CableSpec] = {}
    for part in brief.catalog.parts_for(role, brief.option, brief.job.gauge_system):
        spec = brief.catalog.cables.get(part)
        if spec is not None and area_of(spec) >= thinnest - 0.01:
            by_area.setdefault(area_of(spec), spec)
    return [by_area[area] for area in sorted(by_area)]


def _smallest(
    circuit: Circuit, stock: Sequence[CableSpec], resistances: Mapping[int, float], system: UnitSystem
) -> tuple[CableSpec, list[Problem]]:
    for spec in stock:
        if circuit.loop_rate(resistances[id(spec)]) <= circuit.limit_rate:
            return spec, []
    if not circuit.damping_factor:
        return stock[-1], []  # a constant-voltage line is judged by what each option's taps lose on it
    rate = circuit.loop_rate(resistances[id(stock[-1])])
    said = (f"The cable to '{circuit.name}' ({show_length(circuit.length_m, system)}) loses {rate:.1%} of a load of "
            f"{circuit.load_ohm:.4g} ohm in loop resistance even with the thickest stocked conductor")
    if rate <= circuit.stop_rate:
        return stock[-1], [warning(circuit.where, "cable-over-limit",
                                   f"{said}; the limit for {circuit.limit_words} is {circuit.limit_rate:.0%}.",
                                   "Move the head end nearer, or stock a thicker cable.")]
    return stock[-1], [stop(circuit.where, "cable-too-long",
                            f"{said}; more than {circuit.stop_rate:.0%} is not allowed.",
                            "Move the head end nearer, stock a thicker cable, or put an amplifier near the room.")]


def _kept(taken: set[float], needs: set[float], most: int) -> set[float]:
    """The areas that a job has: those taken, the largest that is needed, then from the smallest on, up to so many.

    Lengths have no say in which areas are kept: so a longer run is never thinner, whatever the other runs are.
    """
    kept = set(taken)
    if needs and max(needs) > max(kept, default=0.0):
        kept.add(max(needs))
    for area_mm2 in sorted(needs):
        if len(kept) < most:
            kept.add(area_mm2)
    return kept


def _of_kept(stock: Iterable[CableSpec], needed: CableSpec, kept: set[float]) -> CableSpec:
    """The thinnest cable of a kept area that is no thinner than the one needed; that one where none is stocked."""
    able = [spec for spec in stock if area_of(spec) in kept and area_of(spec) >= area_of(needed)]
    return min(able, key=area_of, default=needed)


def _gauge(brief: Brief, circuit: Circuit, spec: CableSpec, resistance: float) -> Gauge:
    rate = circuit.loop_rate(resistance)
    loop = rate * circuit.load_ohm
    # A bridge puts two outputs in series with the load, and each of its channels sees half of it.
    outputs = 2 if circuit.bridged else 1
    damping = damping_factor(circuit.load_ohm, loop, outputs * RATED_OHM / circuit.damping_factor) \
        if circuit.damping_factor else 0.0
    ask = brief.catalog.standards.ask
    copper = (ask("stranding", stranding=spec.stranding).decided,
              ask("cable_design", item="conductor temperature c").decided)
    return Gauge(
        area_mm2=area_of(spec), stranding=spec.stranding,
        temperature_c=design_number(brief, "conductor temperature c"), loop_ohm=round(loop, 4),
        loop_rate=round(rate, 5), loss_db=round(level_change_db(loop, circuit.load_ohm), 3),
        power_lost_rate=round(power_lost_rate(loop, circuit.load_ohm), 5), damping_factor=round(damping, 1),
        load_ohm=round(circuit.load_ohm, 3),
        channel_ohm=round(bridged_channel_ohm(circuit.load_ohm) if circuit.bridged else circuit.load_ohm, 3),
        limit_rate=round(circuit.limit_rate, 5), decided=rows_of((*circuit.decided, *copper)))

"""What the head end takes from the mains: strips, outlets, circuits, and the battery behind the controls."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from msgspec import Struct

from quoting.catalog.records import RackSpec
from quoting.engineering.brief import Brief
from quoting.engineering.heat import circuit_continuous_w
from quoting.engineering.rack_items import Item, item
from quoting.problems import Problem, warning
from quoting.tables.decision import Answer


@dataclass(slots=True)
class Strip:
    """A row of outlets and what is plugged into it, in order."""

    name: str  # "surge strip 1"
    what: str  # a row of standards/rack_order.csv
    part: str
    height_u: float
    depth_mm: float
    outlets: int
    limit_w: float
    circuit: int = 0
    used: int = 0
    load_w: float = 0.0
    items: list[Item] = field(default_factory=list)

    def takes(self, thing: Item) -> bool:
        """Whether its plugs and its watts still fit; one thing alone always does."""
        fits = self.used + thing.plugs <= self.outlets and self.load_w + thing.working_w <= self.limit_w
        return fits or not self.items


class Plug(Struct, frozen=True):
    """Where one thing is plugged in."""

    strip: str
    outlet: int  # the first of them
    circuit: int


NOWHERE = Plug("", 0, 0)


class Backup(Struct, frozen=True, kw_only=True):
    """The UPS of an option: what is asked of it and what it gives. Empty where the option has none."""

    part: str = ""
    height_u: float = 0.0
    depth_mm: float = 0.0
    asked_w: float = 0.0
    asked_va: float = 0.0
    limit_w: float = 0.0
    limit_va: float = 0.0

    @property
    def short(self) -> bool:
        """Whether it cannot carry its devices."""
        return bool(self.part) and (self.asked_w > self.limit_w or self.asked_va > self.limit_va)


def circuit_limit_w(brief: Brief) -> float:
    """What one circuit of the place carries for hours: 80 % of it by the standard. [W]"""
    found = mains(brief)
    return circuit_continuous_w(found.number("line_v"), found.number("circuit_a"), item(brief, "circuit load rate"))


def mains(brief: Brief) -> Answer:
    """Volts and amps of a circuit of its own where the house stands."""
    return brief.catalog.standards.ask("mains", place=brief.job.terms.tax_place, unit_system=brief.job.unit_system)


def backup(brief: Brief, items: Iterable[Item]) -> Backup:
    """The smallest UPS that carries what it feeds; where none does, the largest. VA = W / (W per VA of the devices)."""
    specs = _racks(brief, "ups") if brief.yes("ups") else []
    if not specs:
        return Backup()
    watts = sum(thing.working_w for thing in items if thing.backed)
    rate = item(brief, "ups load rate")
    made = [Backup(
        part=spec.part, height_u=spec.height_u, depth_mm=spec.depth_mm, asked_w=watts,
        asked_va=watts / item(brief, "device w per va"), limit_w=spec.capacity_va * item(brief, "ups w per va") * rate,
        limit_va=spec.capacity_va * rate) for spec in specs]
    enough = [one for one in made if not one.short]
    return min(enough, key=lambda one: one.limit_va) if enough else max(made, key=lambda one: one.limit_va)


def plug_in(brief: Brief, items: Sequence[Item], has_backup: bool, first: int) -> tuple[Strip, ...]:
    """Strips with everything plugged in: controls behind the battery, the rest on surge strips in order.

    `first` is the number of the first surge strip. What the strips behind the battery cannot take goes on the others.
    """
    backed: list[Strip] = []
    if has_backup and any(thing.backed for thing in items):
        names = (["remote power unit"] if brief.yes("remote_power") else []) + ["power strip"]
        backed = [strip for name in names if (strip := _strip(brief, name, name)) is not None]
    surge: list[Strip] = []
    for thing in items:
        if not thing.plugs:
            continue
        strip = next((one for one in backed if one.takes(thing)), None) if thing.backed else None
        if strip is None:
            strip = next((one for one in surge if one.takes(thing)), None)
        if strip is None:
            strip = _surge(brief, first + len(surge))
            surge.append(strip)
        strip.items.append(thing)
        strip.used += thing.plugs
        strip.load_w += thing.working_w
    return (*backed, *surge)


def assign_circuits(brief: Brief, strips: Iterable[Strip]) -> int:
    """Numbers the circuit of each strip, first fit by watts; the number of circuits that are needed."""
    loads: list[float] = []
    limit = circuit_limit_w(brief)
    for strip in strips:
        at = next((index for index, load in enumerate(loads) if load + strip.load_w <= limit), len(loads))
        if at == len(loads):
            loads.append(0.0)
        loads[at] += strip.load_w
        strip.circuit = at + 1
    return max(1, len(loads))


def plugs(strips: Iterable[Strip]) -> dict[int, Plug]:
    """Where each thing is plugged in, by the thing's identity."""
    found: dict[int, Plug] = {}
    for strip in strips:
        outlet = 1
        for thing in strip.items:
            found[id(thing)] = Plug(strip.name, outlet, strip.circuit)
            outlet += thing.plugs
    return found


def power_worries(brief: Brief, circuits: int, strips: Sequence[Strip], battery: Backup) -> list[Problem]:
    """More circuits than are planned, a device too hungry for its strip, a battery that does not carry its devices."""
    where, limit = brief.job.where("head_end")[0], circuit_limit_w(brief)
    planned, load_w = int(item(brief, "circuits planned")), sum(strip.load_w for strip in strips)
    worries = [warning(
        where, "strip-overloaded",
        f"'{strip.items[0].device}' of option '{brief.option}' draws {strip.load_w:.0f} W, and "
        f"'{strip.part or strip.name}' on a circuit of its own carries {strip.limit_w:.0f} W for hours.",
        "Have the electrician bring a stronger circuit and plug it in there, or name smaller amplifiers in "
        "options.csv.")
        for strip in strips if strip.load_w > strip.limit_w + 1e-9]
    if circuits > planned:
        worries.append(warning(
            where, "circuit-overloaded",
            f"Option '{brief.option}' draws {load_w:.0f} W at the head end and asks for {circuits} circuits; "
            f"{planned} {'is' if planned == 1 else 'are'} planned, and one carries {limit:.0f} W for hours.",
            "Have the electrician bring more circuits, and type their number under 'circuits planned' in "
            "standards/head_end.csv."))
    if battery.short:
        worries.append(warning(
            where, "ups-too-small",
            f"The UPS '{battery.part}' of option '{brief.option}' gives {battery.limit_w:.0f} W "
            f"({battery.limit_va:.0f} VA) and its devices ask {battery.asked_w:.0f} W ({battery.asked_va:.0f} VA).",
            "Name a larger one for the role 'ups' in options.csv."))
    return worries


def _surge(brief: Brief, number: int) -> Strip:
    return _strip(brief, "surge strip", f"surge strip {number}") or Strip(
        f"surge strip {number}", "surge strip", "", item(brief, "power strip u"), 0.0,
        int(item(brief, "outlets per strip")), circuit_limit_w(brief))


def _strip(brief: Brief, role: str, name: str) -> Strip | None:
    spec = next(iter(_racks(brief, role)), None)
    if spec is None:
        return None
    limit = circuit_limit_w(brief)  # a strip is plugged into one circuit
    if spec.capacity_va:
        limit = min(limit, spec.capacity_va * item(brief, "strip load rate"))
    return Strip(name, role, spec.part, spec.height_u, spec.depth_mm,
                 spec.outlets or int(item(brief, "outlets per strip")), limit)


def _racks(brief: Brief, role: str) -> list[RackSpec]:
    parts = brief.catalog.parts_for(role, brief.option, brief.job.gauge_system)
    return [brief.catalog.racks[part] for part in parts if part in brief.catalog.racks]

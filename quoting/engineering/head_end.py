"""The head end of one option: network ports, rack units, heat, circuits."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from quoting.catalog.records import RackSpec, SourceSpec
from quoting.engineering.brief import Brief, Result
from quoting.engineering.heat import amplifier_heat_w, btu_per_hour
from quoting.facts import (
    AmplifierFact,
    AmplifierOutput,
    AudioSource,
    CableRun,
    ControllerFact,
    Doorbell,
    Fact,
    KeypadFact,
    NetworkDevice,
    OwnedItem,
    Paging,
    RackFact,
    RoomInput,
)
from quoting.problems import Problem, stop, warning


@dataclass(frozen=True, slots=True, kw_only=True)
class _Load:
    """Everything that stands at the head end, added up."""

    own_u: float  # things with ears
    loose_items: int  # things that share shelves
    devices: int
    components: int
    weight_kg: float
    depth_mm: float
    idle_w: float
    working_w: float
    plugs: int


def network(brief: Brief) -> Result:
    """The switch that the option's network devices ask for."""
    ports = ports_needed(brief)
    asked = sum(1 for keypad in brief.of(KeypadFact) if keypad.control == "keypad" and not keypad.owned)
    role_parts = brief.catalog.parts_for("network switch", brief.option, brief.job.gauge_system)
    switches = [brief.catalog.sources[part] for part in role_parts if part in brief.catalog.sources]
    if not switches or ports == 0:
        return (), ()
    wanted = math.ceil(ports * (1 + _item(brief, "port spare rate")) - 1e-9)
    fitting = [switch for switch in switches if switch.ports >= wanted]
    switch = min(fitting, key=lambda one: one.ports) if fitting else max(switches, key=lambda one: one.ports)
    units = max(1, math.ceil(ports / switch.ports))
    return tuple(_switch(brief, switch, number, ports) for number in range(1, units + 1)), tuple(
        _poe_worries(brief, switch, units, asked))


def _switch(brief: Brief, switch: SourceSpec, number: int, ports: int) -> Fact:
    used = min(switch.ports, ports - (number - 1) * switch.ports)
    return NetworkDevice(
        id=f"NET-{number}", where=brief.job.where("head_end"), basis=tuple(fact.id for fact in _on_network(brief)),
        part=switch.part, ports=switch.ports, used_ports=used, poe_w=switch.poe_w, rack_units=switch.rack_units,
        rack_mountable=switch.rack_mountable)


def _poe_worries(brief: Brief, switch: SourceSpec, units: int, keypads: int) -> list[Problem]:
    asked = poe_asked_w(brief)
    given = switch.poe_w * units
    if asked <= given or not keypads:
        return []
    return [warning(brief.job.where()[0], "too-little-poe",
                    f"Option '{brief.option}' asks {asked:.0f} W over its network cables and the switch gives "
                    f"{given:.0f} W.", "Name a switch with more power in options.csv.")]


def poe_asked_w(brief: Brief) -> float:
    """Power that keypads take from the network, where no controller bus feeds them. [W]"""
    bus = any(controller.keypad_ports for controller in brief.of(ControllerFact))
    watts = _item(brief, "keypad poe w") if not bus else 0.0
    return watts * sum(1 for keypad in brief.of(KeypadFact) if keypad.control == "keypad")


def ports_needed(brief: Brief) -> int:
    """Network ports that the option's own devices take."""
    return len(_on_network(brief))


def _on_network(brief: Brief) -> list[Fact]:
    """What takes a network port; keypads only where no controller has a bus for them."""
    bus = any(controller.keypad_ports for controller in brief.of(ControllerFact))
    keypads = [keypad for keypad in brief.of(KeypadFact) if keypad.control == "keypad" and not bus]
    devices: list[ControllerFact | AmplifierFact | AudioSource] = [
        *brief.of(ControllerFact), *brief.of(AmplifierFact), *brief.of(AudioSource)]
    return [*keypads, *(device for device in devices if device.network_port)]


def _item(brief: Brief, item: str) -> float:
    return brief.catalog.standards.ask("head_end", item=item).number("value")


def rack(brief: Brief) -> Result:
    """The rack (or the shelf that stands in for one), what fills it, and what it takes from the mains."""
    load = _add_up(brief)
    amplifiers = brief.of(AmplifierFact)
    cool = sum(1 for amplifier in amplifiers if not amplifier.vents)
    vents = sum(amplifier.vents for amplifier in amplifiers) * int(_item(brief, "vent per amplifier class AB"))
    vents += math.ceil(cool / 2) * int(_item(brief, "vent per two amplifiers class D"))
    shelves = math.ceil(load.loose_items / _item(brief, "items per shelf"))
    patch_ports = sum(1 for run in brief.of(CableRun) if not run.circuits and run.start == "HE"
                      and run.purpose != "doorbell")
    panels = math.ceil(patch_ports / _item(brief, "patch panel ports"))
    outlets = math.ceil(load.plugs / _item(brief, "outlets per strip"))
    used = load.own_u + shelves * _item(brief, "shelf u") + vents + panels + outlets
    wanted = used * (1 + _item(brief, "spare rack rate"))
    shelf_only = brief.catalog.setting("rack", brief.option) == "shelf"
    spec, problems = _frame(brief, wanted, load.depth_mm + _item(brief, "depth for plugs mm"), shelf_only)
    if spec is None:
        return (), tuple(problems)
    height = 0.0 if shelf_only else spec.height_u
    heat = _heat_w(brief, load.working_w)
    facts = RackFact(
        id="RACK-1", where=brief.job.where("head_end"), part=spec.part, shelf_only=shelf_only, height_u=height,
        used_u=round(used, 2), spare_u=round(max(0.0, height - used), 2), vents=0 if shelf_only else vents,
        shelves=0 if shelf_only else shelves, blanks=0 if shelf_only else math.floor(max(0.0, height - used)),
        components=load.components, rack_devices=load.devices + (0 if shelf_only else shelves + vents + panels),
        lacing_bars=0 if shelf_only else math.ceil(height / _item(brief, "lacing bar every u")),
        brush_plates=0 if shelf_only else 1, patch_ports=patch_ports, patch_panels=panels,
        working_w=round(load.working_w, 1), idle_w=round(load.idle_w, 1), heat_w=round(heat, 1),
        heat_btu_h=round(btu_per_hour(heat), 1), weight_kg=round(load.weight_kg, 1), depth_mm=load.depth_mm,
        plugs=load.plugs, outlets=outlets * int(_item(brief, "outlets per strip")), power_strips=outlets,
        circuits=max(1, math.ceil(load.working_w / (_item(brief, "circuit w") * _item(brief, "circuit load rate")))),
        ups=brief.yes("ups"), fan=heat > _item(brief, "fan above w"), wall_entries=1,
        owned_space_u=sum(item.rack_units for item in brief.of(OwnedItem)))
    return (facts,), tuple(problems)


def _frame(
    brief: Brief, wanted_u: float, depth_mm: float, shelf_only: bool
) -> tuple[RackSpec | None, list[Problem]]:
    """The smallest rack that holds it; where none does, the tallest with a warning."""
    role = "equipment shelf" if shelf_only else "rack"
    parts = brief.catalog.parts_for(role, brief.option, brief.job.gauge_system)
    specs = [brief.catalog.racks[part] for part in parts if part in brief.catalog.racks]
    where = brief.job.where("head_end")[0]
    if not specs:
        return None, [stop(where, "no-part-for-role", f"Option '{brief.option}' has no '{role}'.",
                           "Name one in options.csv.")]
    if shelf_only:
        return specs[0], []
    fitting = [spec for spec in specs if spec.height_u >= wanted_u]
    chosen = min(fitting, key=lambda spec: spec.height_u) if fitting else max(specs, key=lambda spec: spec.height_u)
    problems = []
    if not fitting:
        problems.append(warning(where, "rack-too-low",
                                f"Option '{brief.option}' asks {wanted_u:.0f} rack units with room to spare and the "
                                f"tallest rack has {chosen.height_u:.0f}.", "Name a taller rack, or plan two."))
    if chosen.depth_mm and depth_mm > chosen.depth_mm:
        problems.append(warning(where, "rack-too-shallow",
                                f"The deepest device needs {depth_mm:.0f} mm with its plugs and the rack of option "
                                f"'{brief.option}' has {chosen.depth_mm:.0f} mm.", "Name a deeper rack."))
    return chosen, problems


def _heat_w(brief: Brief, working_w: float) -> float:
    """Mains in less what goes out to the loudspeakers at 1/8 power. [W]"""
    duty = _item(brief, "duty rate")
    watts = {amplifier.id: amplifier.channel_w for amplifier in brief.of(AmplifierFact)}
    out = sum(watts.get(output.amplifier, 0.0) for output in brief.of(AmplifierOutput)) * duty
    return amplifier_heat_w(working_w, min(out, working_w))


def _add_up(brief: Brief) -> _Load:
    mounted: list[tuple[float, bool]] = [(owned.rack_units, owned.rack_mountable) for owned in brief.of(OwnedItem)]
    mounted += [(source.rack_units, source.rack_mountable) for source in brief.of(AudioSource)]
    boxes: tuple[AmplifierFact | ControllerFact, ...] = (*brief.of(AmplifierFact), *brief.of(ControllerFact))
    mounted += [(box.rack_units, box.rack_mountable) for box in boxes]
    mounted += [(device.rack_units, device.rack_mountable) for device in brief.of(NetworkDevice)]
    loose = len(brief.of(Doorbell)) + len(brief.of(Paging)) + len(brief.of(RoomInput))
    loose += sum(1 for source in brief.of(AudioSource) if source.converter)
    switches = brief.of(NetworkDevice)
    weights = [box.weight_kg for box in boxes] + _spec(brief, "weight_kg")
    source_w = sum(source.watts for source in brief.of(AudioSource))
    return _Load(
        own_u=sum(units for units, ears in mounted if ears),
        loose_items=sum(1 for _, ears in mounted if not ears) + loose,
        devices=sum(1 for _, ears in mounted if ears), components=len(mounted) + loose,
        weight_kg=sum(weights), depth_mm=max([box.depth_mm for box in boxes] + _spec(brief, "depth_mm"), default=0.0),
        idle_w=sum(box.idle_w for box in boxes) + source_w, working_w=sum(box.working_w for box in boxes) + source_w,
        plugs=sum(box.plugs for box in boxes) + sum(source.plugs for source in brief.of(AudioSource))
        + len(switches) + 2 * loose + len(brief.of(OwnedItem)))


def _spec(brief: Brief, attribute: str) -> list[float]:
    parts: Iterable[str] = [source.part for source in brief.of(AudioSource)]
    parts = [*parts, *(device.part for device in brief.of(NetworkDevice))]
    return [getattr(brief.catalog.sources[part], attribute) for part in parts if part in brief.catalog.sources]

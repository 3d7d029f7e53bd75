"""What stands at the head end of one option, a row a device: its size, weight, watts, plugs and network port."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from quoting.catalog.records import AmplifierSpec, ControllerSpec, SourceSpec
from quoting.engineering.brief import Brief
from quoting.engineering.heat import amplifier_heat_w, amplifier_mains_w, eighth_power_w
from quoting.engineering.line_inputs import head_end_shape
from quoting.facts import (
    AmplifierFact,
    AmplifierOutput,
    AudioSource,
    ControllerFact,
    Doorbell,
    KeypadFact,
    NetworkDevice,
    OwnedItem,
    Paging,
    RoomInput,
)

AmplifierClass = Literal["", "D", "AB"]


class Item(Struct, frozen=True, kw_only=True):
    """One device at the head end. Weights, depths and watts that nobody knows (owned equipment) are 0."""

    what: str  # a row of standards/rack_order.csv
    device: str  # fact id
    part: str = ""
    height_u: float = 0.0
    ears: bool = False  # False: it stands on a shelf
    lid: bool = False  # opens upward: no shelf of a rack has the height for it, it stands on the rack or beside it
    weight_kg: float = 0.0
    depth_mm: float = 0.0
    idle_w: float = 0.0
    working_w: float = 0.0
    out_w: float = 0.0  # to loudspeakers, at 1/8 power
    plugs: int = 0  # outlets that it takes: a wall transformer takes two
    network: bool = False
    backed: bool = False  # by the UPS: controller, players, network, never an amplifier
    vented: AmplifierClass = ""  # wants air above and below

    @property
    def heat_w(self) -> float:
        """Mains in less what leaves for the loudspeakers. [W]"""
        return amplifier_heat_w(self.working_w, self.out_w)


def item(brief: Brief, name: str) -> float:
    """A number of standards/head_end.csv."""
    return brief.catalog.standards.ask("head_end", item=name).number("value")


def item_rows(brief: Brief, *names: str) -> tuple[str, ...]:
    """The rows of standards/head_end.csv that hold these numbers, as facts name them."""
    return tuple(brief.catalog.standards.ask("head_end", item=name).decided for name in names)


def rack_items(brief: Brief) -> tuple[Item, ...]:
    """Everything that stands at the head end, in the order of its facts; the switch comes last, when it is known."""
    duty = item(brief, "duty rate")
    out: dict[str, float] = {}
    for output in brief.of(AmplifierOutput):
        out[output.amplifier] = out.get(output.amplifier, 0.0) + output.output_w * duty
    boxes = (*_amplifiers(brief), *_controllers(brief))
    return (*(_playing(brief, box, out.get(box.device, 0.0)) for box in boxes), *_sources(brief),
            *_inputs(brief), *_owned(brief), *_hubs(brief), *_switches(brief))


def _playing(brief: Brief, box: Item, out_w: float) -> Item:
    """An amplifier as it plays: what its own loads take at the duty, and the mains for it.

    Its data sheet states the mains with every channel at 1/8 of its power into 8 ohm (or with every line at 1/8).
    """
    spec = brief.catalog.amplifiers.get(box.part) if box.what == "amplifier" else None
    if spec is None:
        return box
    rated_w = spec.w_8ohm * spec.all_driven_rate * spec.channels or (spec.line_w or 0.0) * (spec.lines or 0)
    mains_w = amplifier_mains_w(box.idle_w, box.working_w, out_w, eighth_power_w(rated_w))
    return replace(box, working_w=mains_w, out_w=min(out_w, mains_w))


def on_network(brief: Brief) -> tuple[str, ...]:
    """The ids of what takes a port of the switch, SYS for each keypad hub and for the remote power unit."""
    remote = ["SYS"] if brief.yes("remote_power") else []
    devices = [thing.device for thing in rack_items(brief) if thing.network and thing.what != "network switch"]
    return (*networked_keypads(brief), *devices, *remote)


def keypad_hubs(brief: Brief) -> int:
    """Hubs that feed the keypads: network amplifiers have no bus for them."""
    if head_end_shape(brief) != "network amplifiers":
        return 0
    keypads = sum(1 for keypad in brief.of(KeypadFact) if keypad.control == "keypad")
    return math.ceil(keypads / item(brief, "keypads per hub"))


def networked_keypads(brief: Brief) -> tuple[str, ...]:
    """Keypads that hang on the switch and are fed by it: those that neither a controller's bus nor a hub feeds."""
    if head_end_shape(brief) == "network amplifiers" or any(box.keypad_ports for box in brief.of(ControllerFact)):
        return ()
    return tuple(keypad.id for keypad in brief.of(KeypadFact) if keypad.control == "keypad")


def _amplifiers(brief: Brief) -> Iterator[Item]:
    for amplifier in brief.of(AmplifierFact):
        yield Item(
            what="amplifier", device=amplifier.id, part=amplifier.part, height_u=amplifier.rack_units,
            ears=amplifier.rack_mountable, weight_kg=amplifier.weight_kg, depth_mm=amplifier.depth_mm,
            idle_w=amplifier.idle_w, working_w=amplifier.working_w, plugs=amplifier.plugs,
            network=amplifier.network_port, vented="AB" if amplifier.vents else "D")


def _controllers(brief: Brief) -> Iterator[Item]:
    for box in brief.of(ControllerFact):
        amplifies = box.shape == "controller-amplifier"
        spec: AmplifierSpec | ControllerSpec | None = brief.catalog.amplifiers.get(box.part) if amplifies else None
        vented: AmplifierClass = "AB" if spec is not None and getattr(spec, "amplifier_class", "") == "AB" else "D"
        yield Item(
            what="amplifier" if amplifies else "controller", device=box.id, part=box.part, height_u=box.rack_units,
            ears=box.rack_mountable, weight_kg=box.weight_kg, depth_mm=box.depth_mm, idle_w=box.idle_w,
            working_w=box.working_w, plugs=box.plugs, network=box.network_port, backed=not amplifies,
            vented=vented if amplifies else "")


def _sources(brief: Brief) -> Iterator[Item]:
    for source in brief.of(AudioSource):
        if not source.at_head_end:
            continue
        spec = brief.catalog.sources.get(source.part)
        yield Item(
            what="source", device=source.id, part=source.part, height_u=source.rack_units, ears=source.rack_mountable,
            weight_kg=spec.weight_kg if spec else 0.0, depth_mm=spec.depth_mm if spec else 0.0, idle_w=source.watts,
            working_w=source.watts, plugs=source.plugs, lid=source.phono and not source.rack_mountable,
            network=source.network_port, backed=source.kind == "streamer")
        if source.converter:
            yield from (_small(brief, source.converter, source.id) for _ in range(max(1, source.inputs)))
        if source.phono:
            yield _small(brief, brief.part_for("phono preamplifier"), source.id)


def _inputs(brief: Brief) -> Iterator[Item]:
    """Receivers of room inputs, doorbell triggers, the chime, page interfaces."""
    for entry in brief.of(RoomInput):
        if entry.receiver:
            yield _small(brief, entry.receiver, entry.id)
    for bell in brief.of(Doorbell):
        yield _small(brief, brief.part_for("doorbell trigger"), bell.id)
        if bell.first:
            yield _small(brief, brief.part_for("chime source"), bell.id)
    for page in brief.of(Paging):
        yield _small(brief, brief.part_for("page interface"), page.id)


def _owned(brief: Brief) -> Iterator[Item]:
    for owned in brief.of(OwnedItem):
        yield Item(what="owned equipment", device=owned.id, height_u=owned.rack_units, ears=owned.rack_mountable,
                   plugs=1)


def _hubs(brief: Brief) -> Iterator[Item]:
    for _ in range(keypad_hubs(brief)):
        yield _small(brief, brief.part_for("keypad hub"), "SYS", what="keypad hub")


def _switches(brief: Brief) -> Iterator[Item]:
    for device in brief.of(NetworkDevice):
        switch = _small(brief, device.part, device.id, what="network switch")
        yield replace(switch, working_w=device.watts, network=False)


def _small(brief: Brief, part: str, device: str, what: str = "source") -> Item:
    """A device of parts/sources.csv; two plugs (a wall transformer) where the catalogue does not know it."""
    spec: SourceSpec | None = brief.catalog.sources.get(part)
    if spec is None:
        return Item(what=what, device=device, part=part, plugs=2)
    return Item(
        what=what, device=device, part=part, height_u=spec.rack_units, ears=spec.rack_mountable,
        weight_kg=spec.weight_kg, depth_mm=spec.depth_mm, idle_w=spec.watts, working_w=spec.watts, plugs=spec.plugs,
        network=spec.network_port, backed=what in ("network switch", "keypad hub"))

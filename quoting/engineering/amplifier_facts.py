"""A seating as facts: zones, amplifier outputs, amplifiers (or controller-amplifiers)."""

from __future__ import annotations

import math
from collections.abc import Iterator

from msgspec import Struct

from quoting.catalog.records import AmplifierSpec
from quoting.engineering.brief import Brief, settings_of
from quoting.engineering.channel_offers import Offer
from quoting.engineering.controllers import contacts_used, upgrade
from quoting.engineering.line_inputs import contacts, inputs_needed, line_inputs
from quoting.engineering.zones import ZoneNeed
from quoting.facts import AmplifierFact, AmplifierOutput, CableRun, ControllerFact, Fact, ZoneFact
from quoting.job import HeadEndShape

ROLES: dict[HeadEndShape, str] = {
    "controller and amplifiers": "amplifier", "controller-amplifier": "controller-amplifier",
    "network amplifiers": "network amplifier"}


class Seat(Struct, frozen=True, kw_only=True):
    """A zone's channels on one box (an amplifier, a controller-amplifier)."""

    need: ZoneNeed
    spec: AmplifierSpec
    box: int
    first_channel: int
    offer: Offer

    @property
    def zone_id(self) -> str:
        """The id of the zone's fact."""
        return f"Z{self.need.zone.number}"


class Seating(Struct, frozen=True, kw_only=True):
    """All zones on boxes, in zone order; a box is its zones' seats."""

    shape: HeadEndShape
    boxes: tuple[tuple[Seat, ...], ...]

    @property
    def seats(self) -> tuple[Seat, ...]:
        """Every zone's seat, in zone order."""
        return tuple(seat for box in self.boxes for seat in box)

    def box_id(self, number: int) -> str:
        """The id of a box's fact."""
        return f"{'CTL' if self.shape == 'controller-amplifier' else 'AMP'}-{number}"


def amplifier_facts(brief: Brief, seating: Seating) -> tuple[Fact, ...]:
    """The facts of a seating; what wakes the amplifiers is not known yet."""
    feeds = _feeds(brief, seating)
    zones = [_zone(seating, seat, *feed) for seat, feed in zip(seating.seats, feeds, strict=True)]
    homes = _living_homes(brief)
    outputs = [output for seat in seating.seats
               for output in _outputs(seat, seating.box_id(seat.box), homes.get(seat.need.zone.number, []),
                                      settings_of(ROLES[seating.shape], "headroom_db"))]
    if seating.shape == "controller-amplifier":
        inputs = inputs_needed(brief)
        boxes: list[Fact] = [_combined(brief, seating, number, inputs) for number in range(1, len(seating.boxes) + 1)]
        return (*zones, *outputs, *boxes)
    return (*zones, *outputs, *(_amplifier(seating, number, box) for number, box in enumerate(seating.boxes, 1)))


def _living_homes(brief: Brief) -> dict[int, list[str]]:
    """The home runs of pairs that play, by zone: those of later options' rooms and pairs are tails.

    A mono zone deals voice coils, not pairs: a home run is named once for each circuit in it.
    """
    homes: dict[int, list[str]] = {}
    pairs_before: dict[str, int] = {}  # of the room, on its home runs so far
    for run in brief.of(CableRun):
        if run.purpose == "home run":
            before = pairs_before.get(run.room, 0)
            pairs_before[run.room] = before + max(1, run.joined_pairs)
            use = brief.uses[run.room]
            if use.state == "live" and before < use.pairs:
                mono = brief.zones[run.zone].mono
                homes.setdefault(run.zone, []).extend([run.id] * (run.circuits if mono else 1))
    return homes


def _feeds(brief: Brief, seating: Seating) -> list[tuple[str, int]]:
    """The controller that feeds each zone, and which of its outputs: outputs are filled in zone order."""
    if seating.shape == "controller-amplifier":
        return [(seating.box_id(number), output) for number, box in enumerate(seating.boxes, 1)
                for output in range(1, len(box) + 1)]
    free = [(unit.id, output) for unit in brief.of(ControllerFact) for output in range(1, unit.outputs + 1)]
    return [*free, *[("", 0)] * len(seating.seats)][:len(seating.seats)]


def _zone(seating: Seating, seat: Seat, controller: str, output: int) -> ZoneFact:
    need, zone, apart = seat.need, seat.need.zone, seating.shape == "controller and amplifiers"
    return ZoneFact(
        id=seat.zone_id, zone=zone.number, basis=need.basis, where=(zone.where,), decided=need.decided,
        name=zone.name, wall_state=need.wall_state, rooms=need.rooms, pairs=need.pairs, speakers=need.speakers,
        channels=seat.offer.channels, outputs=0 if seating.shape == "network amplifiers" else 1, mono=zone.mono,
        bridged=seat.offer.bridged, control=need.control, load_ohm=seat.offer.load_ohm, asked_w=seat.offer.asked_w,
        amplifier=seating.box_id(seat.box), first_channel=seat.first_channel, controller=controller,
        controller_output=output, sub_zones=need.sub_zones, paged=zone.paged, max_volume=zone.max_volume or 0,
        line_lead=apart, line_leads=math.ceil(seat.offer.groups / (2 if zone.mono else 1)) if apart else 0,
        summing=zone.mono and apart, line_splitters=seat.offer.groups - 1 if apart else 0)


def _outputs(seat: Seat, box: str, homes: list[str], decided: tuple[str, ...]) -> Iterator[AmplifierOutput]:
    """One output a side and channel pair; a bridged one spans two channels. Pairs are dealt over them in order."""
    zone, offer = seat.need.zone, seat.offer
    sides = ("M",) if zone.mono else ("L", "R")
    step = 2 if offer.bridged else 1
    for group in range(offer.groups):
        coils = seat.need.coil_sides[group::offer.groups]
        for index, side in enumerate(sides):
            channel = seat.first_channel + (group * len(sides) + index) * step
            yield AmplifierOutput(
                id=f"{box}.{channel:02d}", zone=zone.number, basis=(seat.zone_id,), where=(zone.where,),
                decided=decided, amplifier=box, channel=channel, side=side, bridged=offer.bridged,
                voice_coils=sum(side in there for there in coils), circuits=len(coils),
                load_ohm=offer.loads_ohm[group], terminal=seat.spec.terminal,
                runs=", ".join(dict.fromkeys(homes[group::offer.groups])), asked_w=offer.asked_each_w[group],
                output_w=round(offer.watts_each[group], 1), output_class=seat.spec.output_class,
                least_ohm=seat.spec.bridge_minimum_ohm if offer.bridged else seat.spec.minimum_ohm)


def _amplifier(seating: Seating, number: int, box: tuple[Seat, ...]) -> AmplifierFact:
    spec = box[0].spec
    used = sum(seat.offer.channels for seat in box)
    zones = ", ".join(seat.zone_id for seat in box)
    return AmplifierFact(
        id=seating.box_id(number), zone=box[0].need.zone.number if seating.shape == "network amplifiers" else 0,
        basis=tuple(seat.zone_id for seat in box), where=tuple(seat.need.zone.where for seat in box),
        decided=settings_of(ROLES[seating.shape], "headroom_db"), part=spec.part, shape=seating.shape,
        channels=spec.channels, used_channels=used, spare_channels=spec.channels - used,
        bridged_outputs=sum(seat.offer.channels // 2 for seat in box if seat.offer.bridged),
        lowest_load_ohm=min(seat.offer.load_ohm for seat in box),
        channel_w=round(min(seat.offer.watts for seat in box), 1), rack_units=spec.rack_units,
        depth_mm=spec.depth_mm, weight_kg=spec.weight_kg, idle_w=spec.idle_w, working_w=spec.working_w,
        vents=1 if spec.amplifier_class == "AB" else 0, plugs=1, trigger_ma=spec.trigger_ma,
        trigger_lead=False, network_port=spec.network_port, rack_mountable=spec.rack_units > 0, wakes_with=zones,
        shares_inputs=bool(spec.shares_inputs))


def _combined(brief: Brief, seating: Seating, number: int, needed: int) -> ControllerFact:
    box = seating.boxes[number - 1]
    spec, last = box[0].spec, number == len(seating.boxes)
    full = last and len(seating.seats) >= len(seating.boxes) * spec.zones
    inputs = line_inputs(brief, spec.part)
    return ControllerFact(
        id=seating.box_id(number), basis=tuple(seat.zone_id for seat in box),
        where=tuple(seat.need.zone.where for seat in box),
        decided=settings_of("controller-amplifier", "headroom_db", "spare_zones"), part=spec.part,
        shape="controller-amplifier",
        outputs=spec.zones, used_outputs=len(box), spare_outputs=spec.zones - len(box), inputs=inputs,
        used_inputs=needed if number == 1 else 0, linked=number > 1, rack_units=spec.rack_units, depth_mm=spec.depth_mm,
        weight_kg=spec.weight_kg, idle_w=spec.idle_w, working_w=spec.working_w, plugs=1, keypad_ports=spec.zones,
        network_port=spec.network_port, rack_mountable=spec.rack_units > 0,
        contacts=contacts(brief, spec.part), used_contacts=contacts_used(brief, spec.part, number), full=full,
        upgrade=upgrade(brief, "controller-amplifier", spec.part, len(seating.boxes), len(seating.seats)) if full
        else "", streams=brief.catalog.controllers[spec.part].streams if spec.part in brief.catalog.controllers else 0)

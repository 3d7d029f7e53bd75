"""Zones onto amplifier channels in zone order, in each head-end shape."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from quoting.catalog.records import AmplifierSpec
from quoting.engineering.brief import Brief, Result
from quoting.engineering.controllers import head_end_shape, input_worries, inputs_needed, line_inputs
from quoting.engineering.zones import ZoneNeed, zone_needs
from quoting.facts import AmplifierFact, AmplifierOutput, CableRun, ControllerFact, Fact, ZoneFact
from quoting.job import HeadEndShape
from quoting.problems import Problem, stop, warning


@dataclass(frozen=True, slots=True, kw_only=True)
class Seat:
    """A zone's channels on one box (an amplifier, a controller-amplifier)."""

    need: ZoneNeed
    box: int
    first_channel: int
    groups: int  # channel pairs
    bridged: bool
    channels: int
    load_ohm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Seating:
    """All zones on boxes of one model, in zone order."""

    spec: AmplifierSpec
    seats: tuple[Seat, ...]
    boxes: int
    cost: Decimal | None  # None: no price in the job's currency
    heard: bool  # its inputs take every source (a controller-amplifier's own; else always true)
    strong: bool  # every zone gets the power it asks


def amplify(brief: Brief) -> Result:
    """Zone, output and amplifier facts; controller facts where one box is both."""
    shape = head_end_shape(brief)
    role = {"controller and amplifiers": "amplifier", "controller-amplifier": "controller-amplifier",
            "network amplifiers": "network amplifier"}[shape]
    needs = zone_needs(brief)
    if not needs:
        return (), (stop(brief.job.where()[0], "no-live-zone", f"Option '{brief.option}' plays nowhere.",
                         "Give at least one room 'Plays from' with the first option's name."),)
    specs = [brief.catalog.amplifiers[part] for part in brief.catalog.parts_for(
        role, brief.option, brief.job.gauge_system) if part in brief.catalog.amplifiers]
    seatings = [seating for spec in specs if (seating := _seat(brief, spec, needs, shape)) is not None]
    if not seatings:
        return (), (_nothing_fits(brief, role, specs, needs),)
    best = min(seatings, key=lambda one: (
        not one.heard, not one.strong, one.cost is None, one.cost or 0, one.spec.part))
    worries = _worries(brief, best)
    if shape == "controller-amplifier":
        worries += input_worries(brief, best.spec.part)
    return _facts(brief, best, shape), tuple(worries)


def _seat(brief: Brief, spec: AmplifierSpec, needs: Sequence[ZoneNeed], shape: HeadEndShape) -> Seating | None:
    """Zones in order; the next box when the channels of this one (or its zone outputs) are used up."""
    seats: list[Seat] = []
    box, channel, outputs = 1, 1, 0
    for need in needs:
        bridged = need.zone.bridged and spec.bridge_minimum_ohm > 0 and shape == "controller and amplifiers"
        groups = need.splits(spec.bridge_minimum_ohm / 2 if bridged else spec.minimum_ohm, bridged)
        sides = 1 if need.zone.mono else 2
        channels = groups * sides * (2 if bridged else 1)
        if not groups or channels > spec.channels or (groups > 1 and shape != "controller and amplifiers"):
            return None
        full = outputs + 1 > spec.zones if spec.zones else False
        alone = shape == "network amplifiers"
        if seats and (channel + channels - 1 > spec.channels or full or alone):
            box, channel, outputs = box + 1, 1, 0
        if bridged and channel % 2 == 0:
            channel += 1  # a bridge joins an odd channel and the even one after it
        seats.append(Seat(need=need, box=box, first_channel=channel, groups=groups, bridged=bridged,
                          channels=channels, load_ohm=round(need.load_ohm(groups, bridged), 3)))
        channel, outputs = channel + channels, outputs + 1
    if shape == "controller-amplifier" and box > _linkable(brief, spec.part):
        return None
    cost = _unit_cost(brief, spec.part)
    heard = shape != "controller-amplifier" or line_inputs(brief, spec.part) >= inputs_needed(brief)
    return Seating(spec=spec, seats=tuple(seats), boxes=box, cost=None if cost is None else cost * box, heard=heard,
                   strong=all(watts_at(spec, seat) >= seat.need.asked_w for seat in seats))


def _linkable(brief: Brief, part: str) -> int:
    """How many of a controller-amplifier may be joined."""
    spec = brief.catalog.controllers.get(part)
    return max(1, spec.linkable) if spec is not None else 1


def watts_at(spec: AmplifierSpec, seat: Seat) -> float:
    """What one output gives with all channels driven, at the load it sees. [W]

    Between 8 and 4 ohm by straight line; above 8 ohm in inverse proportion.
    """
    if seat.bridged:
        return spec.bridge_w_8ohm * spec.all_driven_rate
    load = seat.load_ohm
    if load >= 8:
        return spec.w_8ohm * 8 / load * spec.all_driven_rate
    share = (8 - load) / 4
    return (spec.w_8ohm + (spec.w_4ohm - spec.w_8ohm) * min(1.0, share)) * spec.all_driven_rate


def _unit_cost(brief: Brief, part: str) -> Decimal | None:
    prices = brief.catalog.prices.get((part, brief.job.terms.currency), ())
    return next((price.unit_cost for price in prices if price.costing), None)


def _nothing_fits(brief: Brief, role: str, specs: Sequence[AmplifierSpec], needs: Sequence[ZoneNeed]) -> Problem:
    if not specs:
        return stop(brief.job.where("head_end_shape")[0], "no-part-for-role",
                    f"Option '{brief.option}' has no '{role}'.", "Name one in options.csv.")
    zones = {spec.part: spec.zones * _linkable(brief, spec.part) for spec in specs if spec.zones}
    if zones and max(zones.values()) < len(needs):
        return stop(
            brief.job.where("head_end_shape")[0], "too-few-zone-outputs",
            f"Option '{brief.option}' plays {len(needs)} zones and no '{role}' of it (linked units included) has more "
            f"than {max(zones.values())}.",
            "Type 'controller and amplifiers' under 'Head-end shape', let fewer rooms play in this option, or name a "
            "larger one in options.csv.")
    hardest = min(needs, key=lambda need: need.load_ohm(1, need.zone.bridged))
    return stop(
        hardest.zone.where, "load-below-minimum",
        f"No '{role}' of option '{brief.option}' carries zone {hardest.zone.number} '{hardest.zone.name}': its "
        f"{hardest.pairs} pairs make {hardest.load_ohm(1, False):.2f} ohm and need channels of their own.",
        f"Type fewer under 'Pairs {brief.option}', split the zone, type 'controller and amplifiers' under 'Head-end "
        "shape', or name an amplifier with a lower minimum load in options.csv.")


def _worries(brief: Brief, seating: Seating) -> list[Problem]:
    worries = []
    for seat in seating.seats:
        zone, asked, given = seat.need.zone, seat.need.asked_w, watts_at(seating.spec, seat)
        if given < asked:
            worries.append(warning(
                zone.where, "amplifier-short-of-power",
                f"Zone {zone.number} '{zone.name}' asks {asked:.0f} W a channel and '{seating.spec.part}' of option "
                f"'{brief.option}' gives {given:.0f} W.", "Lower the listening level, add pairs, or bridge the zone."))
        if zone.bridged and not seat.bridged:
            worries.append(warning(
                zone.where, "no-bridge",
                f"Zone {zone.number} '{zone.name}' asks for bridged channels and '{seating.spec.part}' of option "
                f"'{brief.option}' does not bridge here.", "Accept single channels in this option."))
    return worries


def _facts(brief: Brief, seating: Seating, shape: HeadEndShape) -> tuple[Fact, ...]:
    spec = seating.spec
    prefix = "CTL" if shape == "controller-amplifier" else "AMP"
    zones = []
    for index, seat in enumerate(seating.seats):
        box = f"{prefix}-{seat.box}"
        controller, output = _controller_of(brief, index, box, seating, seat, shape)
        zones.append(_zone(seat, box, shape, controller, output))
    outputs = [output for seat in seating.seats for output in _outputs(brief, seat, f"{prefix}-{seat.box}", spec)]
    if shape == "controller-amplifier":
        inputs, needed = line_inputs(brief, spec.part), inputs_needed(brief)
        return (*zones, *outputs,
                *(_combined(spec, seating, box, inputs, needed) for box in range(1, seating.boxes + 1)))
    boxes = [_amplifier(spec, seating, box, shape) for box in range(1, seating.boxes + 1)]
    return (*zones, *outputs, *boxes)


def _controller_of(
    brief: Brief, index: int, box: str, seating: Seating, seat: Seat, shape: HeadEndShape
) -> tuple[str, int]:
    """The controller that feeds the zone, and which of its outputs: outputs are filled in zone order."""
    if shape == "controller-amplifier":
        return box, 1 + sum(1 for other in seating.seats[:index] if other.box == seat.box)
    for controller in brief.of(ControllerFact):
        if index < controller.outputs:
            return controller.id, index + 1
        index -= controller.outputs
    return "", 0


def _zone(seat: Seat, box: str, shape: HeadEndShape, controller: str, output: int) -> ZoneFact:
    need, zone = seat.need, seat.need.zone
    return ZoneFact(
        id=f"Z{zone.number}", zone=zone.number, basis=need.basis, where=(zone.where,), decided=need.decided,
        name=zone.name, wall_state=need.wall_state, rooms=need.rooms, pairs=need.pairs, speakers=need.speakers,
        channels=seat.channels, outputs=0 if shape == "network amplifiers" else 1, mono=zone.mono,
        bridged=seat.bridged, control=need.control, load_ohm=seat.load_ohm, asked_w=need.asked_w, amplifier=box,
        first_channel=seat.first_channel, controller=controller,
        controller_output=output, sub_zones=need.sub_zones, paged=zone.paged,
        max_volume=zone.max_volume or 0,
        line_lead=shape == "controller and amplifiers", summing=zone.mono and shape == "controller and amplifiers")


def _outputs(brief: Brief, seat: Seat, box: str, spec: AmplifierSpec) -> list[AmplifierOutput]:
    """One output a side and channel pair; a bridged one spans two channels. Pairs are dealt over them in order."""
    zone = seat.need.zone.number
    homes = [run.id for run in brief.of(CableRun) if run.zone == zone and run.purpose == "home run"]
    sides = ("M",) if seat.need.zone.mono else ("L", "R")
    step = 2 if seat.bridged else 1
    outputs = []
    for group in range(seat.groups):
        coils = len(seat.need.coil_ohm[group::seat.groups])
        for index, side in enumerate(sides):
            channel = seat.first_channel + (group * len(sides) + index) * step
            outputs.append(AmplifierOutput(
                id=f"{box}.{channel:02d}", zone=zone, basis=(f"Z{zone}",), where=(seat.need.zone.where,),
                amplifier=box, channel=channel, side=side, bridged=seat.bridged,
                voice_coils=coils, circuits=coils,
                load_ohm=seat.load_ohm, terminal=spec.terminal, runs=", ".join(homes[group::seat.groups])))
    return outputs


def _amplifier(spec: AmplifierSpec, seating: Seating, box: int, shape: HeadEndShape) -> AmplifierFact:
    seats = [seat for seat in seating.seats if seat.box == box]
    used = sum(seat.channels for seat in seats)
    return AmplifierFact(
        id=f"AMP-{box}", zone=seats[0].need.zone.number if shape == "network amplifiers" else 0,
        basis=tuple(f"Z{seat.need.zone.number}" for seat in seats),
        where=tuple(seat.need.zone.where for seat in seats), part=spec.part, shape=shape, channels=spec.channels,
        used_channels=used, spare_channels=spec.channels - used,
        bridged_outputs=sum(seat.groups * (1 if seat.need.zone.mono else 2) for seat in seats if seat.bridged),
        lowest_load_ohm=min(seat.load_ohm for seat in seats),
        channel_w=round(min(watts_at(spec, seat) for seat in seats), 1), rack_units=spec.rack_units,
        depth_mm=spec.depth_mm, weight_kg=spec.weight_kg, idle_w=spec.idle_w, working_w=spec.working_w,
        vents=1 if spec.amplifier_class == "AB" else 0, plugs=1, trigger_ma=spec.trigger_ma,
        trigger_lead=spec.trigger_ma > 0 and shape == "controller and amplifiers", network_port=spec.network_port,
        rack_mountable=spec.rack_units > 0)


def _combined(spec: AmplifierSpec, seating: Seating, box: int, inputs: int, needed: int) -> ControllerFact:
    seats = [seat for seat in seating.seats if seat.box == box]
    return ControllerFact(
        id=f"CTL-{box}", basis=tuple(f"Z{seat.need.zone.number}" for seat in seats),
        where=tuple(seat.need.zone.where for seat in seats), part=spec.part, shape="controller-amplifier",
        outputs=spec.zones, used_outputs=len(seats), spare_outputs=spec.zones - len(seats), inputs=inputs,
        used_inputs=min(needed, inputs), linked=box > 1, rack_units=spec.rack_units, depth_mm=spec.depth_mm,
        weight_kg=spec.weight_kg,
        idle_w=spec.idle_w, working_w=spec.working_w, plugs=1, keypad_ports=spec.zones,
        network_port=spec.network_port, rack_mountable=spec.rack_units > 0)

"""The controller of one option: zones, inputs, linked units."""

from __future__ import annotations

import math
from decimal import Decimal

from quoting.catalog.records import ControllerSpec
from quoting.engineering.brief import Brief, Result
from quoting.engineering.zones import zone_needs
from quoting.facts import AudioSource, ControllerFact, Doorbell, Fact, Paging, RoomInput
from quoting.job import HeadEndShape
from quoting.problems import Problem, stop


def head_end_shape(brief: Brief) -> HeadEndShape:
    """The job's, else the option's."""
    shape: HeadEndShape = brief.job.head_end_shape or brief.catalog.setting(  # type: ignore[assignment]
        "head_end_shape", brief.option)
    return shape


def line_inputs(brief: Brief, part: str) -> int:
    """Audio inputs of a part, by its sockets."""
    return sum(socket.count for socket in brief.catalog.sockets.get(part, ())
               if socket.direction == "in" and socket.signal in ("line", "digital"))


def inputs_needed(brief: Brief) -> int:
    """Inputs that the option's sources, room inputs, doorbells and paging take."""
    bells = 1 if brief.of(Doorbell) else 0
    return (sum(1 for source in brief.of(AudioSource) if source.at_head_end) + len(brief.of(RoomInput)) + bells
            + len(brief.of(Paging)))


def input_worries(brief: Brief, part: str) -> list[Problem]:
    """A stop where the sources need more inputs than the part has."""
    have, need = line_inputs(brief, part), inputs_needed(brief)
    if need <= have:
        return []
    where = brief.job.sources[0].where if brief.job.sources else brief.job.where()[0]
    return [stop(where, "too-few-inputs",
                 f"Option '{brief.option}' needs {need} audio inputs and '{part}' has {have}.",
                 "Leave a source out of this option (its 'Plays from'), or name a larger controller in options.csv.")]


def controllers(brief: Brief) -> Result:
    """The cheapest controller (or linked units of one model) with outputs and inputs enough; none in other shapes."""
    if head_end_shape(brief) != "controller and amplifiers":
        return (), ()
    needs = zone_needs(brief)
    wanted = len(needs) + brief.number("spare_zones")
    found: list[tuple[Decimal, int, str, ControllerSpec]] = []
    parts = brief.catalog.parts_for("controller", brief.option, brief.job.gauge_system)
    for part in parts:
        spec = brief.catalog.controllers.get(part)
        if spec is None:
            continue
        units = math.ceil(max(1, wanted) / spec.zones)
        if units > max(1, spec.linkable) and math.ceil(max(1, len(needs)) / spec.zones) <= max(1, spec.linkable):
            units = math.ceil(max(1, len(needs)) / spec.zones)  # a spare zone is a wish, not a need
        if units <= max(1, spec.linkable) and line_inputs(brief, part) >= inputs_needed(brief):
            found.append((_cost(brief, part) * units, units, part, spec))
    if not found:
        return (), (_none_fits(brief, parts, len(needs)),)
    _, units, _, spec = min(found, key=lambda one: one[:3])
    return tuple(_controller(brief, spec, number, len(needs)) for number in range(1, units + 1)), ()


def _cost(brief: Brief, part: str) -> Decimal:
    prices = brief.catalog.prices.get((part, brief.job.terms.currency), ())
    return next((price.unit_cost for price in prices if price.costing), Decimal("Infinity"))


def _none_fits(brief: Brief, parts: tuple[str, ...], zones: int) -> Problem:
    known = [part for part in parts if part in brief.catalog.controllers]
    if not known:
        return stop(brief.job.where("head_end_shape")[0], "no-part-for-role",
                    f"Option '{brief.option}' has no 'controller'.", "Name one in options.csv.")
    most = max(line_inputs(brief, part) for part in known)
    if inputs_needed(brief) > most:
        best = max(known, key=lambda part: line_inputs(brief, part))
        return input_worries(brief, best)[0]
    return stop(
        brief.job.where()[0], "too-few-zone-outputs",
        f"Option '{brief.option}' plays {zones} zones and no controller of it (linked units included) has so many "
        f"outputs.", "Name a larger controller in options.csv, or join zones.")


def _controller(brief: Brief, spec: ControllerSpec, number: int, zones: int) -> Fact:
    used = min(spec.zones, max(0, zones - (number - 1) * spec.zones))
    inputs = line_inputs(brief, spec.part)
    return ControllerFact(
        id=f"CTL-{number}", where=brief.job.where("head_end_shape"), part=spec.part, shape="controller and amplifiers",
        outputs=spec.zones, used_outputs=used, spare_outputs=spec.zones - used, inputs=inputs,
        used_inputs=min(inputs_needed(brief), inputs), linked=number > 1, rack_units=spec.rack_units,
        depth_mm=spec.depth_mm, weight_kg=spec.weight_kg, idle_w=spec.idle_w, working_w=spec.working_w, plugs=1,
        keypad_ports=spec.keypad_ports, network_port=spec.network_port, rack_mountable=spec.rack_units > 0)

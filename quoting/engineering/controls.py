"""Keypads, knobs, inputs that one option equips, and the places that it wires and leaves for later."""

from __future__ import annotations

import math

from quoting.catalog.records import KeypadSpec
from quoting.engineering.brief import Brief, Result, is_open, site
from quoting.engineering.cable_gauge import design_number
from quoting.engineering.line_taps import line_of, stands_in_line
from quoting.engineering.run_plan import conductors_used, second_shares
from quoting.facts import Fact, IdlePlace, KeypadFact, Place, RoomInput, RoomUse, Speaker
from quoting.job import Control, Room
from quoting.problems import Problem, stop, warning


def keypads(brief: Brief) -> Result:
    """A keypad or knob at each control place that this option equips."""
    facts: list[Fact] = []
    problems: list[Problem] = []
    for place in brief.of(Place):
        if place.device != "control":
            continue
        use, room = brief.uses[place.room], brief.rooms[place.room]
        second = place.id.endswith("K2")
        if use.state != "live" or use.control == "phone":
            continue
        control: Control = use.control
        if second and stands_in_line(brief, room, control):
            problems.append(warning(
                room.where("second_control")[0], "second-knob",
                f"Room '{room.name}' has a second control, and a volume knob in option '{brief.option}': a knob stands "
                "in the loudspeakers' line, which goes through one only. The second place stays empty there.",
                "Type keypad under 'Control' with an option that gives one, or tell the customer."))
            continue
        if control == "knob" and not stands_in_line(brief, room, control):
            control = "keypad"
            problems.append(warning(
                room.where("control", "sub_zone")[0], "knob-on-a-line",
                f"Room '{room.name}' has a volume knob in option '{brief.option}', and its zone is a "
                f"{line_of(brief, room)} line, which a loudspeaker's knob must not stand in: it gets a keypad.",
                "Type keypad or phone under 'Control', or low impedance under 'Line' on Zones."))
        role = _role(control, use, second)
        part = _wide_enough(brief, role, use.pairs)
        spec = brief.catalog.keypads.get(part)
        if spec is None:
            problems.append(stop(
                room.where("control")[0], "no-part-for-role",
                f"Room '{room.name}' needs a '{role}', and option '{brief.option}' has none.",
                "Name one in options.csv."))
            continue
        if control == "knob" and 0 < spec.pairs < use.pairs:
            problems.append(warning(
                room.where("control", "pairs")[0], "knob-carries-fewer-pairs",
                f"Room '{room.name}' has {use.pairs} pairs on one knob and '{part}' of option '{brief.option}' carries "
                f"{spec.pairs}.", "Type a keypad or the phone as its control, or name a larger knob in options.csv."))
        facts.append(KeypadFact(
            id=place.id.replace("-K", "-KP"), **site(room, brief.job), basis=(place.id, use.id),
            where=room.where("", "control", "second_control"), decided=use.decided[-1:],
            part="" if room.reuse_control else part, place=place.id, control=control, second=second,
            chained=second and control == "keypad" and second_shares(brief, room), sub_zone=use.sub_zone,
            pairs_controlled=use.pairs,
            bus_ma=spec.bus_ma, plate="" if room.reuse_control else spec.plate,
            custom_colour=use.custom_colour, engraved=spec.engraved and not room.reuse_control,
            owned=room.reuse_control, conductors=conductors_used(brief, spec) if control == "keypad" else 0,
            spare_conductors=_conductors_left(brief, spec) if control == "keypad" else 0,
            buttons=spec.buttons or 0 if control == "keypad" and not room.reuse_control else 0))
    return tuple(facts), tuple(problems)


def _role(control: Control, use: RoomUse, second: bool) -> str:
    if control == "knob":
        return "sub-zone knob" if use.sub_zone else "volume knob"
    return "second keypad" if second else "keypad"


def control_spec(brief: Brief, room: Room, use: RoomUse, second: bool) -> KeypadSpec | None:
    """The model that an option has at a room's control place; None where it has none."""
    in_line = stands_in_line(brief, room, use.control)
    if use.state != "live" or use.control == "phone" or (second and in_line):
        return None
    role = _role("knob" if in_line else "keypad", use, second)
    return brief.catalog.keypads.get(_wide_enough(brief, role, use.pairs))


def _conductors_left(brief: Brief, spec: KeypadSpec) -> int:
    """Conductors that the keypad's category cables leave over."""
    have, used = int(design_number(brief, "category conductors")), conductors_used(brief, spec)
    return math.ceil(used / have) * have - used


def _wide_enough(brief: Brief, role: str, pairs: int) -> str:
    """The role's first part that carries the room's pairs (0: any number), else its last; "" where it has none."""
    parts = brief.catalog.parts_for(role, brief.option, brief.job.gauge_system)
    specs = [brief.catalog.keypads[part] for part in parts if part in brief.catalog.keypads]
    enough = [spec.part for spec in specs if spec.pairs == 0 or spec.pairs >= pairs]
    return enough[0] if enough else specs[-1].part if specs else ""


def room_inputs(brief: Brief) -> Result:
    """A socket for a player, or a television's return, in each live room that has one."""
    facts: list[Fact] = []
    for place in brief.of(Place):
        use = brief.uses[place.room]
        if place.device not in ("input", "tv") or use.state != "live":
            continue
        room = brief.rooms[place.room]
        tv = place.device == "tv"
        facts.append(RoomInput(
            id=place.id.replace("-I", "-IN").replace("-T", "-TV"), **site(room, brief.job), basis=(place.id, use.id),
            where=room.where("", "tv" if tv else "room_input"), decided=use.decided[:1], what="tv" if tv else "player",
            part=brief.part_for("tv sender" if tv else "room input plate"),
            receiver=brief.part_for("tv receiver" if tv else "room input receiver"), digital=tv,
            plate=brief.part_for("jack plate") if tv else ""))
    return tuple(facts), ()


def idle_places(brief: Brief) -> Result:
    """Each place behind open walls that this option wires and does not equip."""
    used = {fact.place for fact in brief.of(Speaker)} | {fact.place for fact in brief.of(KeypadFact)}
    used |= {fact.basis[0] for fact in brief.of(RoomInput)}
    facts: list[Fact] = []
    for place in brief.of(Place):
        room: Room = brief.rooms[place.room]
        if place.id in used or not is_open(room):
            continue
        facts.append(IdlePlace(
            id=f"{place.id}-W", **site(room, brief.job), basis=(place.id, f"{place.room}-USE"),
            where=room.where("", "plays_from"), decided=brief.uses[place.room].decided[:1], device=place.device,
            mount=place.mount, plate=place.ring))
    return tuple(facts), ()

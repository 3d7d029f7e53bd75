"""Keypads, infrared, serial, triggers, links and the network as connections."""

from __future__ import annotations

from itertools import pairwise

from quoting.engineering.rack_items import keypad_hubs
from quoting.engineering.rack_slots import network_ports
from quoting.engineering.socket_ledger import Box, End, Ledger
from quoting.engineering.trigger import longest_branch, split
from quoting.facts import (
    AmplifierFact,
    AudioSource,
    CableEnd,
    CableRun,
    ControllerFact,
    KeypadFact,
    NetworkDevice,
    Paging,
    RackSlot,
    Trigger,
    ZoneFact,
)
from quoting.facts.connection import ROUTER, WINDOW


def keypad_connections(ledger: Ledger) -> None:
    """Each keypad's cable to the patch panel, and on to a port of the bus, a hub or the network."""
    brief = ledger.brief
    live = {end.run for end in brief.of(CableEnd) if end.live}
    keypads = {fact.place: fact for fact in brief.of(KeypadFact) if fact.control == "keypad"}
    ports = network_ports(brief)
    for run in brief.of(CableRun):
        keypad = keypads.get(run.end)
        if keypad is None or run.purpose != "control" or run.spare or run.id not in live:
            continue
        end = ledger.end(_box(keypad), "out", ("control",), "RJ45")
        first = keypads.get(run.start)
        if first is not None:
            start = ledger.end(_box(first), "out", ("control",), "RJ45")
            ledger.join("control", f"C{run.id}", start, end, keypad, first, run, run=run.id, powered="bus")
            continue
        at, powered = _keypad_port(ledger, keypad, ports.get(keypad.id, []))
        ledger.land(run, end, "control", keypad, powered)
        ledger.patch(run, at, "control", keypad, powered)


def _box(fact: KeypadFact | ControllerFact | AmplifierFact | AudioSource) -> Box:
    return Box(fact.id, fact.part, fact.where)


def _keypad_port(ledger: Ledger, keypad: KeypadFact, ports: list[tuple[str, int]]) -> tuple[End, str]:
    """Where a keypad's patch lead goes, and what feeds the keypad through it."""
    brief = ledger.brief
    if ports:
        switch, port = ports.pop(0)
        return ledger.end(_switch(ledger, switch), "in", ("network",), index=port), "poe"
    hubs = [ledger.box("SYS", brief.part_for("keypad hub"), number) for number in range(keypad_hubs(brief))]
    if hubs:
        at = next((hub for hub in hubs if ledger.free(hub, "in", ("control",), "RJ45") > 0), hubs[-1])
        return ledger.end(at, "in", ("control",), "RJ45"), "bus"
    feeds = {zone.zone: zone.controller for zone in brief.of(ZoneFact)}
    units = sorted(brief.of(ControllerFact), key=lambda unit: (unit.id != feeds.get(keypad.zone), unit.id))
    boxes = [_box(unit) for unit in units if unit.keypad_ports]
    if not boxes:
        return End("", "", "", 0), ""
    at = next((box for box in boxes if ledger.free(box, "in", ("control",), "RJ45") > 0), boxes[0])
    return ledger.end(at, "in", ("control",), "RJ45", quiet=True), "bus"  # the keypad bus has warned of its ports


def _switch(ledger: Ledger, id: str) -> Box:
    parts = {device.id: device.part for device in ledger.brief.of(NetworkDevice)}
    return Box(id, parts.get(id, ""))


def source_control(ledger: Ledger) -> None:
    """Infrared emitters and serial leads from the first controller to the sources that are run by them."""
    brief = ledger.brief
    units = brief.of(ControllerFact)
    for source in brief.of(AudioSource):
        if not source.at_head_end or source.control not in ("infrared", "serial") or not units:
            continue
        if source.control == "infrared":
            start = ledger.end(_box(units[0]), "out", ("control",), "3.5 mm")
            ledger.join("control", f"{source.id}-IR", start, End(source.id, source.part, WINDOW, 1), source, units[0],
                        lead=brief.part_for("infrared emitter"))
        else:
            start = ledger.end(_box(units[0]), "out", ("control",), "serial")
            end = ledger.end(_box(source), "in", ("control",), "serial")
            ledger.join("control", f"{source.id}-SER", start, end, source, units[0],
                        lead=brief.part_for("serial adapter"))


def trigger_connections(ledger: Ledger) -> None:
    """Each trigger output to the first amplifier of each branch, and from amplifier to amplifier along it."""
    brief = ledger.brief
    boxes = {fact.id: fact for fact in brief.of(AmplifierFact)}
    units = {fact.id: fact for fact in brief.of(ControllerFact)}
    lead, splitter = brief.part_for("trigger lead"), brief.part_for("trigger splitter")
    for trigger in brief.of(Trigger):
        unit = units.get(trigger.controller)
        if unit is None:
            continue
        woken = [boxes[id] for id in trigger.amplifiers.split(", ") if id in boxes]
        passes = [ledger.socket(_box(box), "out", ("trigger",)) is not None for box in woken]
        branches = split(passes, longest_branch(brief))
        for branch in branches:
            for place, number in enumerate(branch):
                before = _box(woken[branch[place - 1]]) if place else _box(unit)
                start = ledger.end(before, "out", ("trigger",), index=1 if place else trigger.output)
                end = ledger.end(_box(woken[number]), "in", ("trigger",), index=1)
                ledger.join("trigger", f"{woken[number].id}-T", start, end, woken[number], trigger, lead=lead,
                            through=splitter if len(branches) > 1 and not place else "", powered="trigger")
    ledger.name_joints("trigger")


def links(ledger: Ledger) -> None:
    """Each controller after the first to the one before."""
    units = ledger.brief.of(ControllerFact)
    for before, unit in pairwise(units):
        if unit.linked:
            start = ledger.end(_box(before), "out", ("control",), "link")
            end = ledger.end(_box(unit), "in", ("control",), "link")
            ledger.join("link", f"{unit.id}-LNK", start, end, unit, before,
                        lead=ledger.brief.part_for("controller link lead"))


def network_connections(ledger: Ledger) -> None:
    """Every device on the switches by its port, the first switch to the router, each further one to the one before."""
    brief = ledger.brief
    lead, paging = brief.part_for("network lead"), {page.id for page in brief.of(Paging)}
    for slot in brief.of(RackSlot):
        if slot.network_port:
            switch = _switch(ledger, slot.switch)
            ledger.join("network", f"{slot.switch}.{slot.network_port}",
                        ledger.end(switch, "out", ("network",), index=slot.network_port),
                        ledger.end(ledger.slots[slot.id], "in", ("network",), index=1), slot, lead=lead,
                        powered="poe" if slot.device in paging else "")
    before: Box | None = None
    for device in brief.of(NetworkDevice):
        switch = Box(device.id, device.part, device.where)
        port = device.ports - device.link_ports + 1
        start = End("ROUTER", "", ROUTER, 1)
        if before is not None:
            start = ledger.end(before, "out", ("network",))
        end = ledger.end(switch, "in", ("network",), index=port)
        ledger.join("network", f"{device.id}.UP", start, end, device, lead=lead)
        before = switch

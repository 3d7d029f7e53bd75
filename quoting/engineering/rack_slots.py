"""Each place in a rack as a fact: unit, device, weight, watts, outlet, circuit, network port."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import count

from quoting.engineering.brief import Brief
from quoting.engineering.power import NOWHERE, Plug
from quoting.engineering.rack_items import Item, item_rows, on_network
from quoting.engineering.rack_order import Stack, Stand, level
from quoting.facts import NetworkDevice, RackSlot

Ports = Mapping[str, list[tuple[str, int]]]  # device -> switch and port of each of its plugs, taken as they are met
_LETTERS = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def rack_slots(
    brief: Brief, one: Stack, height_u: int, plugs: Mapping[int, Plug], ports: Ports
) -> tuple[RackSlot, ...]:
    """From the bottom up, unused units as blanks; without a rack (height 0) the things in their order."""
    if height_u == 0:
        return tuple(_on_open_shelf(brief, one, plugs, ports))
    slots: list[RackSlot] = []
    position = 1
    tops = count(1)
    for stand in _with_blank(brief, one, height_u - one.used_u):
        if not stand.height_u:
            name = f"{'' if one.number == 1 else f'R{one.number}-'}TOP-{next(tops)}"
            slots.append(_slot(brief, one, stand, name, height_u + 1, 0.0, stand.items[0], plugs, ports))
            continue
        slots.extend(_placed(brief, one, stand, position, plugs, ports))
        position += stand.height_u
    return tuple(slots)


def _with_blank(brief: Brief, one: Stack, spare_u: int) -> tuple[Stand, ...]:
    """The stack with its unused units in one piece, where the order has the blanks."""
    if spare_u <= 0:
        return one.stands
    at = level(brief, "blank panel")
    blank = Stand(what="blank panel", part=brief.part_for("blank panel"), height_u=spare_u)
    below = tuple(stand for stand in one.stands if _level(brief, stand) <= at)
    return (*below, blank, *one.stands[len(below):])


def _level(brief: Brief, stand: Stand) -> float:
    return level(brief, "amplifier" if stand.what == "vent panel" else stand.what)


def _placed(
    brief: Brief, one: Stack, stand: Stand, position: int, plugs: Mapping[int, Plug], ports: Ports
) -> Iterator[RackSlot]:
    name = f"U{position}" if one.number == 1 else f"R{one.number}-U{position}"
    shelf = stand.what == "shelf"
    thing = stand.items[0] if stand.items and not shelf else None
    yield _slot(brief, one, stand, name, position, float(stand.height_u), thing, plugs, ports)
    if shelf:
        for letter, loose in zip(_LETTERS, stand.items, strict=False):
            yield _slot(brief, one, stand, f"{name}{letter}", position, 0.0, loose, plugs, ports)


def _on_open_shelf(
    brief: Brief, one: Stack, plugs: Mapping[int, Plug], ports: Ports
) -> Iterator[RackSlot]:
    number = count(1)
    for stand in one.stands:
        if stand.what in ("vent panel", "brush plate", "fan panel"):
            continue
        things: tuple[Item | None, ...] = stand.items or (None,)
        for thing in things:
            yield _slot(brief, one, stand, f"SHELF-{next(number):02}", 0, 0.0, thing, plugs, ports)


def _slot(
    brief: Brief, one: Stack, stand: Stand, name: str, position: int, height_u: float, thing: Item | None,
    plugs: Mapping[int, Plug], ports: Ports,
) -> RackSlot:
    plug = plugs.get(id(thing), NOWHERE)
    if stand.strip or stand.what == "ups":  # into the wall, the UPS with the first strip that it feeds
        circuit = next((strip.circuit for strip in one.strips if strip.name == stand.strip or not stand.strip), 0)
        plug = Plug(stand.strip, 0, circuit)
    networked = thing.network if thing is not None else stand.what == "remote power unit"
    free = ports.get(thing.device if thing else "SYS") if networked else None
    switch, port = free.pop(0) if free else ("", 0)
    return RackSlot(
        id=name, where=brief.job.where("head_end"),
        basis=(thing.device if thing and thing.device else f"RACK-{one.number}",),
        decided=(brief.catalog.standards.ask("rack_order", what=stand.what).decided,
                 *(item_rows(brief, "duty rate") if thing and thing.what == "amplifier" else ())),
        rack=f"RACK-{one.number}", position_u=position, height_u=height_u, what=thing.what if thing else stand.what,
        device=thing.device if thing else "", part=thing.part if thing else stand.part,
        on_shelf=position > 0 and height_u == 0 and stand.height_u > 0, weight_kg=thing.weight_kg if thing else 0.0,
        depth_mm=thing.depth_mm if thing else stand.depth_mm, watts=round(thing.working_w, 1) if thing else 0.0,
        heat_w=round(thing.heat_w, 1) if thing else 0.0, strip=plug.strip, outlet=plug.outlet,
        outlets=thing.plugs if thing else 0, circuit=plug.circuit, switch=switch, network_port=port)


def network_ports(brief: Brief) -> Ports:
    """The switch and the port of each device on the network, in the order of the devices; links take the last."""
    free = iter([(switch.id, port) for switch in brief.of(NetworkDevice)
                 for port in range(1, switch.ports - switch.link_ports + 1)])
    found: dict[str, list[tuple[str, int]]] = {}
    for device, port in zip(on_network(brief), free, strict=False):
        found.setdefault(device, []).append(port)
    return found

"""The head end of one option: the network switch, and the racks (or the shelf) with everything in its place."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from quoting.catalog.records import RackSpec, SourceSpec
from quoting.engineering.brief import Brief, Result, settings_of
from quoting.engineering.head_end_place import Footprint, stand_of, stand_worries
from quoting.engineering.heat import btu_per_hour, rack_height_mm
from quoting.engineering.power import assign_circuits, backup, circuit_limit_w, mains, plugs, power_worries
from quoting.engineering.rack_items import item, item_rows, networked_keypads, on_network, rack_items
from quoting.engineering.rack_order import Stack, Stand, device_stands, holding, stack, stacks, wanted_u
from quoting.engineering.rack_slots import network_ports, rack_slots
from quoting.facts import (
    CableRun,
    Fact,
    NetworkDevice,
    OwnedItem,
    Paging,
    RackFact,
)
from quoting.problems import Problem, stop, warning
from quoting.units import MM_PER_IN

# The rows of standards/head_end.csv that a shelf, and a rack, rest on.
SHELF_ROWS = ("items per shelf", "patch panel ports", "outlets per strip", "circuit load rate",
              "strip load rate", "duty rate", "shelf heat w", "device w per va", "ups w per va",
              "ups load rate")
RACK_ROWS = (*SHELF_ROWS[:6], "closet heat w", *SHELF_ROWS[7:], "amplifiers per vent class AB",
             "amplifiers per vent class D", "spare rack rate", "depth for plugs mm", "fan above w", "fan panel cfm",
             "closet rise f", "lacing bar every u", "racks at most")


def network(brief: Brief) -> Result:
    """The switches that the option's network devices ask for: ports with spare ones, and power over the cables."""
    ports = ports_needed(brief)
    if ports == 0:
        return (), ()
    role_parts = brief.catalog.parts_for("network switch", brief.option, brief.job.gauge_system)
    switches = [brief.catalog.sources[part] for part in role_parts if part in brief.catalog.sources]
    if not switches:
        return (), (warning(
            brief.job.where("head_end")[0], "too-few-ports",
            f"Option '{brief.option}' takes {ports} network ports and has no switch for them.",
            "Name one for the role 'network switch' in options.csv."),)
    wanted = math.ceil(ports * (1 + item(brief, "port spare rate")) - 1e-9)
    asked, up = poe_asked_w(brief), int(item(brief, "uplink ports"))
    switch = min(switches, key=lambda one: (one.ports < wanted + up, one.poe_w < asked, abs(one.ports - wanted - up)))
    # Each switch hangs on the one before, the first on the router: a link takes a port at both ends.
    units = 1
    while sum(_device_ports(switch, number, units, up) for number in range(1, units + 1)) < wanted:
        units += 1
    facts: list[Fact] = []
    for number in range(1, units + 1):
        free = _device_ports(switch, number, units, up)
        facts.append(_switch(brief, switch, number, min(ports, free), switch.ports - free, asked / units))
        ports -= min(ports, free)
    return tuple(facts), tuple(_poe_worries(brief, switch, units))


def _device_ports(switch: SourceSpec, number: int, units: int, up: int) -> int:
    """Ports that a switch has for devices: one less for the way up, and one less for the switch that hangs on it."""
    return max(1, switch.ports - up * (1 + (number < units)))


def _switch(
    brief: Brief, switch: SourceSpec, number: int, devices: int, links: int, poe_each_w: float
) -> Fact:
    rows = item_rows(brief, "port spare rate", "uplink ports", "keypad poe w", "page interface poe w")
    return NetworkDevice(
        id=f"NET-{number}", where=brief.job.where("head_end"), basis=tuple(dict.fromkeys(on_network(brief))),
        decided=(*settings_of("network switch"), *rows), part=switch.part, ports=switch.ports,
        used_ports=devices + links,
        link_ports=links, poe_w=switch.poe_w, rack_units=switch.rack_units, rack_mountable=switch.rack_mountable,
        poe_asked_w=poe_asked_w(brief), watts=round(switch.watts + poe_each_w, 1))


def _poe_worries(brief: Brief, switch: SourceSpec, units: int) -> list[Problem]:
    asked, given = poe_asked_w(brief), switch.poe_w * units
    if asked <= given:
        return []
    return [warning(brief.job.where("head_end")[0], "too-little-poe",
                    f"Option '{brief.option}' asks {asked:.0f} W over its network cables and the switch gives "
                    f"{given:.0f} W.", "Name a switch with more power for the role 'network switch' "
                    "in options.csv.")]


def poe_asked_w(brief: Brief) -> float:
    """Power that keypads (where neither bus nor hub feeds them) and page interfaces take from the network. [W]"""
    keypads = len(networked_keypads(brief))
    return item(brief, "keypad poe w") * keypads + item(brief, "page interface poe w") * len(brief.of(Paging))


def ports_needed(brief: Brief) -> int:
    """Network ports that the option's own devices take."""
    return len(on_network(brief))


def rack(brief: Brief) -> Result:
    """The racks (or the shelf that stands in for one), each place in them, and what they take from the mains."""
    shelf_only = brief.catalog.setting("rack", brief.option) == "shelf"
    role = "equipment shelf" if shelf_only else "rack"
    parts = brief.catalog.parts_for(role, brief.option, brief.job.gauge_system)
    sizes = [brief.catalog.racks[part] for part in parts if part in brief.catalog.racks]
    if not sizes:
        return (), (stop(brief.job.where("head_end")[0], "no-part-for-role",
                         f"Option '{brief.option}' has no '{role}'.", "Name one in options.csv."),)
    items = rack_items(brief)
    battery = backup(brief, items)
    devices = device_stands(brief, items, math.ceil(_patch_ports(brief) / item(brief, "patch panel ports")))
    on_shelf = (stack(brief, devices, battery, 1, 0, framed=False),)
    made = on_shelf if shelf_only else stacks(brief, devices, battery, sizes)
    circuits = assign_circuits(brief, [strip for one in made for strip in one.strips])
    chosen = [_size(brief, one, sizes, shelf_only) for one in made]
    places = plugs(strip for one in made for strip in one.strips)
    ports = network_ports(brief)
    stands = [stand_of(brief, size, shelf_only, number, len(chosen)) for number, size in enumerate(chosen, 1)]
    facts: list[Fact] = []
    problems: list[Problem] = stand_worries(brief, stands)
    for one, size, stand in zip(made, chosen, stands, strict=True):
        facts.append(_rack(brief, one, size, stand, shelf_only, last=one is made[-1]))
        facts.extend(rack_slots(brief, one, 0 if shelf_only else int(size.height_u), places, ports))
        problems.extend(_frame_worries(brief, one, size, shelf_only))
    problems += power_worries(brief, circuits, [strip for one in made for strip in one.strips], battery)
    problems += _heat_worries(brief, sum(one.heat_w for one in made), shelf_only)
    return tuple(facts), tuple(problems)


def _patch_ports(brief: Brief) -> int:
    return sum(1 for run in brief.of(CableRun)
               if not run.circuits and run.start == "HE" and run.purpose not in ("doorbell", "line"))


def _size(brief: Brief, one: Stack, sizes: Sequence[RackSpec], shelf_only: bool) -> RackSpec:
    """The smallest rack that holds it, deep enough where one is; where none holds it, the tallest."""
    if shelf_only:
        return sizes[0]
    deep = _depth_wanted_mm(brief, one)
    fitting = holding(brief, one, sizes)
    if fitting:
        return min(fitting, key=lambda size: (0 < size.depth_mm < deep, size.height_u))
    return max(sizes, key=lambda size: (size.height_u, size.load_kg))


def _depth_wanted_mm(brief: Brief, one: Stack) -> float:
    return one.depth_mm + item(brief, "depth for plugs mm")


def _rack(brief: Brief, one: Stack, size: RackSpec, stand: Footprint, shelf_only: bool, last: bool) -> RackFact:
    height = 0 if shelf_only else int(size.height_u)
    vents, shelves, panels = one.count("vent panel"), one.count("shelf"), one.count("patch panel")
    screwed = sum(stand.what not in ("surge strip", "brush plate") and stand.height_u > 0 for stand in one.stands)
    idle = sum(thing.idle_w for thing in one.items)
    return RackFact(
        id=f"RACK-{one.number}", where=brief.job.where("head_end"),
        basis=tuple(dict.fromkeys(thing.device for thing in one.items)),
        decided=(*settings_of("equipment shelf" if shelf_only else "rack", "ups"),
                 *item_rows(brief, *(SHELF_ROWS if shelf_only else RACK_ROWS)), mains(brief).decided, stand.decided),
        x_m=stand.x_m, y_m=stand.y_m, wide_m=round(stand.wide_m, 4), deep_m=stand.deep_m,
        front_clear_m=round(stand.front_clear_m, 4), rear_clear_m=round(stand.rear_clear_m, 4),
        part=size.part, shelf_only=shelf_only, on_wall=size.wall and not shelf_only,
        height_mm=round(rack_height_mm(height), 1), unweighed=sum(thing.weight_kg == 0 for thing in one.items),
        height_u=float(height), used_u=float(one.used_u), spare_u=float(max(0, height - one.used_u)),
        vents=0 if shelf_only else vents, shelves=0 if shelf_only else shelves,
        blanks=max(0, height - one.used_u), components=len(one.items),
        rack_devices=sum(thing.ears for thing in one.items) if shelf_only else screwed,
        lacing_bars=math.ceil(height / item(brief, "lacing bar every u")), brush_plates=0 if shelf_only else 1,
        patch_ports=_patch_ports(brief) if last else 0, patch_panels=panels,
        working_w=round(sum(thing.working_w for thing in one.items), 1), idle_w=round(idle, 1),
        heat_w=round(one.heat_w, 1), heat_btu_h=round(btu_per_hour(one.heat_w), 1),
        idle_btu_h=round(btu_per_hour(idle), 1), weight_kg=round(one.weight_kg, 1), load_kg=size.load_kg,
        depth_mm=one.depth_mm, plugs=sum(thing.plugs for thing in one.items),
        outlets=sum(strip.outlets for strip in one.strips), power_strips=one.count("surge strip"),
        circuits=len({strip.circuit for strip in one.strips} or {1}), circuit_limit_w=circuit_limit_w(brief),
        ups=bool(one.battery.part), fan=one.fan_panels > 0, fan_panels=one.fan_panels,
        fan_cfm=round(one.air_cfm, 1), wall_entries=1,
        owned_space_u=sum(owned.rack_units for owned in brief.of(OwnedItem) if owned.id in _devices(one.stands)),
        ups_part=one.battery.part, ups_w=round(one.battery.asked_w, 1), ups_va=round(one.battery.asked_va, 1),
        ups_limit_w=round(one.battery.limit_w, 1), ups_limit_va=round(one.battery.limit_va, 1))


def _devices(stands: Iterable[Stand]) -> set[str]:
    return {thing.device for stand in stands for thing in stand.items}


def _frame_worries(brief: Brief, one: Stack, size: RackSpec, shelf_only: bool) -> list[Problem]:
    """Height, weight and depth against the rack that was chosen."""
    role = "equipment shelf" if shelf_only else "rack"
    where, name = brief.job.where("head_end")[0], f"RACK-{one.number} of option '{brief.option}'"
    worries = []
    if not shelf_only and wanted_u(brief, one) > size.height_u + 1e-9:
        worries.append(warning(where, "rack-too-low",
                               f"{name} asks {wanted_u(brief, one):.0f} rack units with room to spare and the tallest "
                               f"rack has {size.height_u:.0f}.", "Name a taller rack for the role 'rack' in "
                               "options.csv, or allow more racks in standards/head_end.csv."))
    if size.load_kg and one.weight_kg > size.load_kg:
        worries.append(warning(where, "rack-too-heavy",
                               f"{name} holds {one.weight_kg:.0f} kg and '{size.part}' carries {size.load_kg:.0f} kg.",
                               f"Name a stronger one for the role '{role}' in options.csv."))
    deep = one.depth_mm if shelf_only else _depth_wanted_mm(brief, one)  # an open shelf's plugs hang behind it
    if size.depth_mm and deep > size.depth_mm:
        worries.append(warning(where, "rack-too-shallow",
                               f"The deepest device in {name} needs {_depth(brief, deep)} with its plugs and "
                               f"'{size.part}' has {_depth(brief, size.depth_mm)}.",
                               f"Name a deeper one for the role '{role}' in options.csv."))
    return worries


def _depth(brief: Brief, depth_mm: float) -> str:
    return f"{depth_mm / MM_PER_IN:.1f} in" if brief.job.unit_system == "imperial" else f"{depth_mm:.0f} mm"


def _heat_worries(brief: Brief, heat_w: float, shelf_only: bool) -> list[Problem]:
    limit = item(brief, "shelf heat w" if shelf_only else "closet heat w")
    if heat_w <= limit:
        return []
    stand = "an open shelf" if shelf_only else "racks with fans"
    return [warning(brief.job.where("head_end")[0], "head-end-too-hot",
                    f"Option '{brief.option}' gives off {heat_w:.0f} W ({btu_per_hour(heat_w):.0f} BTU/h) at the head "
                    f"end; a closet with {stand} takes {limit:.0f} W.",
                    "Have the warm air led out of the closet or cooled, or choose a larger place for the head end.")]

"""The order in a rack from the bottom up: heavy low, air around what is warm, power low and signal high."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from quoting.catalog.records import RackSpec
from quoting.engineering.brief import Brief
from quoting.engineering.heat import fan_cfm
from quoting.engineering.power import Backup, Strip, plug_in
from quoting.engineering.rack_items import AmplifierClass, Item, item


class Stand(Struct, frozen=True, kw_only=True):
    """One thing screwed into a rack, and what it is or carries; on top of the rack where it takes no units."""

    what: str  # a row of standards/rack_order.csv
    part: str
    height_u: int
    items: tuple[Item, ...] = ()
    depth_mm: float = 0.0
    strip: str = ""  # the strip that it is
    vented: AmplifierClass = ""

    @property
    def weight_kg(self) -> float:
        """Of what is known. [kg]"""
        return sum(thing.weight_kg for thing in self.items)

    @property
    def plugs(self) -> int:
        """Outlets that it takes."""
        return sum(thing.plugs for thing in self.items)

    @property
    def backed(self) -> bool:
        """Whether the UPS feeds something of it."""
        return any(thing.backed for thing in self.items)


class Stack(Struct, frozen=True, kw_only=True):
    """What one rack holds, from the bottom up, without the blanks."""

    number: int
    stands: tuple[Stand, ...]
    strips: tuple[Strip, ...]
    battery: Backup
    fan_panels: int
    air_cfm: float
    weight_kg: float

    @property
    def items(self) -> tuple[Item, ...]:
        """Its devices, fans left out."""
        return tuple(thing for stand in self.stands for thing in stand.items if thing.device)

    @property
    def used_u(self) -> int:
        """Rack units that are taken."""
        return sum(stand.height_u for stand in self.stands)

    @property
    def depth_mm(self) -> float:
        """Of the deepest thing. [mm]"""
        return max((stand.depth_mm for stand in self.stands), default=0.0)

    @property
    def heat_w(self) -> float:
        """With music at 1/8 power. [W]"""
        return sum(thing.heat_w for thing in self.items)

    def count(self, what: str) -> int:
        """How many things of a kind stand in it."""
        return sum(stand.what == what for stand in self.stands)


def level(brief: Brief, what: str) -> float:
    """Where a kind of thing stands, from the bottom."""
    return brief.catalog.standards.ask("rack_order", what=what).number("level")


def device_stands(brief: Brief, items: Iterable[Item], patch_panels: int) -> tuple[Stand, ...]:
    """Devices with ears, shelves with those that have none, patch panels: in their order, the heaviest lowest."""
    things = tuple(items)
    stands = [Stand(what=thing.what, part=thing.part, height_u=max(1, math.ceil(thing.height_u)), items=(thing,),
                    depth_mm=thing.depth_mm, vented=thing.vented) for thing in things if thing.ears]
    loose = sorted((thing for thing in things if not thing.ears and not thing.lid), key=lambda thing: -thing.weight_kg)
    each = max(1, int(item(brief, "items per shelf")))
    for start in range(0, len(loose), each):
        on_it = tuple(loose[start:start + each])
        stands.append(Stand(what="shelf", part=brief.part_for("rack shelf"), height_u=int(item(brief, "shelf u")),
                            items=on_it, depth_mm=max(thing.depth_mm for thing in on_it)))
    stands += [Stand(what=thing.what, part=thing.part, height_u=0, items=(thing,)) for thing in things if thing.lid]
    stands += [Stand(what="patch panel", part=brief.part_for("patch panel"), height_u=int(item(brief, "patch panel u")))
               for _ in range(patch_panels)]
    # what stands on top goes into the rack of the shelves, where its leads lead to
    return tuple(sorted(stands, key=lambda stand: (
        level(brief, stand.what if stand.height_u else "shelf"), -stand.weight_kg)))


def stack(brief: Brief, devices: Sequence[Stand], battery: Backup, number: int, strips_before: int,
          framed: bool = True) -> Stack:
    """One rack's stack: its devices with battery, strips, vents, fans and brush plate added.

    What stands on an open shelf (not `framed`) has air enough without fans."""
    things = [thing for stand in devices for thing in stand.items]
    fans, air = fans_for(brief, sum(thing.heat_w for thing in things)) if framed else (0, 0.0)
    panels = [Stand(what="fan panel", part=part, height_u=int(item(brief, "fan panel u")),
                    items=(Item(what="fan panel", device="", part=part, ears=True, plugs=1),))
              for part in [brief.part_for("fan panel")] * fans]
    strips = plug_in(brief, [*things, *(thing for panel in panels for thing in panel.items)], bool(battery.part),
                     strips_before + 1)
    kilos = sum(stand.weight_kg for stand in devices) + (item(brief, "ups kg") if battery.part else 0.0)
    stands = [*_vented(brief, devices), *_power(strips, battery), _brush_plate(brief), *panels]
    ordered = sorted(stands, key=lambda stand: level(brief, "amplifier" if stand.what == "vent panel" else stand.what))
    return Stack(number=number, stands=tuple(ordered), strips=strips, battery=battery, fan_panels=fans, air_cfm=air,
                 weight_kg=kilos)


def fans_for(brief: Brief, heat_w: float) -> tuple[int, float]:
    """Fan panels, and the air that they must move; none where a closed closet takes the heat."""
    if heat_w <= item(brief, "fan above w"):
        return 0, 0.0
    air = fan_cfm(heat_w, item(brief, "closet rise f"))
    return math.ceil(air / item(brief, "fan panel cfm")), air


def stacks(brief: Brief, devices: Sequence[Stand], battery: Backup, sizes: Sequence[RackSpec]) -> tuple[Stack, ...]:
    """As few racks as hold everything; as many as the standard allows where even these do not.

    The bottom of the order goes into the first rack, the top into the last.
    """
    most = max(1, int(item(brief, "racks at most")))
    made: tuple[Stack, ...] = ()
    for racks in range(1, most + 1):
        made = _stacked(brief, _shares(brief, devices, racks), battery)
        if all(holding(brief, one, sizes) for one in made):
            return made
    return made


def wanted_u(brief: Brief, one: Stack) -> float:
    """Rack units with the spare ones."""
    return one.used_u * (1 + item(brief, "spare rack rate"))


def holding(brief: Brief, one: Stack, sizes: Iterable[RackSpec]) -> list[RackSpec]:
    """The racks that are high and strong enough for a stack."""
    high = wanted_u(brief, one)
    return [size for size in sizes
            if size.height_u >= high - 1e-9 and not (size.load_kg and one.weight_kg > size.load_kg)]


def _stacked(brief: Brief, shares: Sequence[Sequence[Stand]], battery: Backup) -> tuple[Stack, ...]:
    """Everything that the battery feeds comes into one rack, the one that has most of it."""
    backed = [sum(stand.backed for stand in share) for share in shares]
    keeper = max(range(len(shares)), key=lambda index: (backed[index], index))
    made: list[Stack] = []
    for index, share in enumerate(shares):
        its = list(share)
        if battery.part:
            its = [stand for one in shares for stand in one if stand.backed or one is share] if index == keeper else [
                stand for stand in share if not stand.backed]
        before = sum(one.count("surge strip") for one in made)
        made.append(stack(brief, its, battery if index == keeper else Backup(), index + 1, before))
    return tuple(made)


def _shares(brief: Brief, devices: Sequence[Stand], racks: int) -> list[list[Stand]]:
    """The devices in their order, cut into so many groups of about one height."""
    heights = [_height_with_share(brief, stand) for stand in devices]
    total, done = sum(heights), 0.0
    shares: list[list[Stand]] = [[] for _ in range(racks)]
    for stand, height in zip(devices, heights, strict=True):
        middle = done + height / 2  # a thing goes where its middle falls
        shares[min(racks - 1, int(middle * racks / total)) if total else 0].append(stand)
        done += height
    return [share for share in shares if share] or [[]]


def _height_with_share(brief: Brief, stand: Stand) -> float:
    """Its own units and its share of vents and strips."""
    vents = {"AB": 1.0, "D": 0.5, "": 0.0}[stand.vented]
    return stand.height_u + vents + stand.plugs / item(brief, "outlets per strip")


def _vented(brief: Brief, devices: Sequence[Stand]) -> Iterator[Stand]:
    """The devices with a vent below the lowest amplifier and above each group: one class AB, or two class D."""
    vent = Stand(what="vent panel", part=brief.part_for("vent panel"), height_u=int(item(brief, "vent panel u")))
    open_group: AmplifierClass = ""
    room = 0  # how many more may join the group
    for stand in devices:
        if room and stand.vented != open_group:
            yield vent
            room = 0
        if stand.vented and not room:
            if not open_group:
                yield vent
            open_group, room = stand.vented, int(item(brief, f"amplifiers per vent class {stand.vented}"))
        yield stand
        if stand.vented:
            room -= 1
            if room == 0:
                yield vent
    if room:
        yield vent


def _power(strips: Iterable[Strip], battery: Backup) -> Iterator[Stand]:
    if battery.part:
        yield Stand(what="ups", part=battery.part, height_u=math.ceil(battery.height_u), depth_mm=battery.depth_mm)
    for strip in strips:
        yield Stand(what=strip.what, part=strip.part, height_u=math.ceil(strip.height_u), depth_mm=strip.depth_mm,
                    strip=strip.name)


def _brush_plate(brief: Brief) -> Stand:
    return Stand(what="brush plate", part=brief.part_for("brush plate"), height_u=int(item(brief, "brush plate u")))

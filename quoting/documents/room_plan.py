"""What the crew needs of a room: its size, joists, what is in the way, and everything that goes in, for one option."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from quoting.documents.floor_plan import CLOSET, equipped, idle_kind, rack_reach_m, rows_of_kind
from quoting.documents.plan_symbols import SymbolKind
from quoting.facts import CableRun, HeadEndPlace, IdlePlace, KeypadFact, Place, RackFact, RoomInput, RoomUse, Speaker
from quoting.job import Joists, Room
from quoting.quote import PricedOption, Quote
from quoting.sheets.obstacles import Obstacle, read_obstacles
from quoting.units import M_PER_FT, show_length

FactRow = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """What a rack takes of the floor about its middle, and what is kept free before and behind it. Metres."""

    wide_m: float  # along the wall behind it
    deep_m: float
    east_m: float  # the same as the plan has it: west to east, south to north
    north_m: float
    free: tuple[float, float, float, float]  # west, south, east, north edge of what is kept free with it


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomThing:
    """One place of a room and what goes there. Metres from the west and the south wall, height above the floor."""

    id: str  # of the place: KIT-S1
    kind: SymbolKind
    live: bool  # False: wired, with a coiled tail; equipped later
    device: str  # id of what is mounted there, KIT-SP1; "" for what is wired only
    part: str  # what is mounted; "" for what is wired only or the customer's own
    x_m: float
    y_m: float
    height_m: float
    side: str
    bay: str
    cut_out_mm: float  # 0: no hole of its own
    depth_mm: float
    bracket: str
    ring: str  # "", ring, deep ring, old-work ring, flush box, weather box; what closes it and what is joined in it
    back_box: str
    paint: str  # a colour that it does not come in
    angled: bool  # leans towards the room's middle
    moved_m: float  # how far an obstacle pushed it aside
    ground: Ground | None = None  # what a rack takes of the floor


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomPlan:
    """One room of one option, with the things in the order of their ids."""

    option: str
    code: str
    name: str
    floor: int
    zone: int
    outdoor: bool
    length_m: float  # west to east
    width_m: float  # south to north
    ceiling_height_m: float
    ceiling_high_m: float
    joists: Joists | None
    joist_spacing_m: float | None
    obstacles: tuple[Obstacle, ...]
    unplaced: tuple[str, ...]  # obstacles that nobody gave a position
    things: tuple[RoomThing, ...]
    said: tuple[str, ...] = ()  # what else the crew must know of it
    low_wall: str = ""  # under the low side of a slope
    low_wall_said: bool = False


def room_plans(quote: Quote, option: PricedOption) -> tuple[RoomPlan, ...]:
    """Every room in which an option mounts or wires something, floor by floor, in zone order; the head end's too."""
    things = _things(quote, option)
    bare_m = M_PER_FT if quote.job.unit_system == "imperial" else 1.0
    stands = [head_end(quote, option, row) for row in rows_of_kind(quote, option, HeadEndPlace)]
    for stand in stands:
        if stand.room:
            things.setdefault(stand.room, []).extend(stand.things)
    said = {stand.room: stand.said for stand in stands}
    uses = {row["room"]: row for row in rows_of_kind(quote, option, RoomUse)}
    plans = [_room(option, room, tuple(things[room.code]), bare_m, said.get(room.code, ()), uses.get(room.code, {}))
             for room in quote.job.rooms if room.code in things]
    plans += [_closet(option, stand) for stand in stands if not stand.room]
    return tuple(sorted(plans, key=lambda plan: (plan.floor, plan.zone, plan.code)))


def _closet(option: PricedOption, stand: HeadEndStand) -> RoomPlan:
    """The head end's own closet as a room of zone 0."""
    row = stand.row
    return RoomPlan(
        option=option.name, code=CLOSET, name=row["name"], floor=row["floor"], zone=0, outdoor=False,
        length_m=row["length_m"], width_m=row["width_m"], ceiling_height_m=row["ceiling_height_m"],
        ceiling_high_m=row["ceiling_height_m"], joists=None, joist_spacing_m=None, obstacles=(), unplaced=(),
        things=stand.things, said=stand.said)


@dataclass(frozen=True, slots=True, kw_only=True)
class HeadEndStand:
    """The head end as a room's plan needs it: its fact, what stands there, what is said of it."""

    row: FactRow
    room: str  # code; "" for a closet of its own
    things: tuple[RoomThing, ...]
    said: tuple[str, ...]


def head_end(quote: Quote, option: PricedOption, row: FactRow) -> HeadEndStand:
    """Where the cables come out, and the racks before it."""
    racks = rows_of_kind(quote, option, RackFact)
    plate = replace(BARE, id="HE", kind="cables", x_m=row["x_m"], y_m=row["y_m"], height_m=row["height_m"])
    stands = (replace(BARE, id=rack["id"], device=rack["id"], kind="head end", part=rack["part"], x_m=rack["x_m"],
                      y_m=rack["y_m"], ground=_ground(row, rack)) for rack in racks)
    return HeadEndStand(row=row, room=row["room"], things=(plate, *stands), said=_said(quote, row, racks))


BARE = RoomThing(id="", device="", kind="head end", live=True, part="", x_m=0.0, y_m=0.0, height_m=0.0, side="",
                  bay="", cut_out_mm=0.0, depth_mm=0.0, bracket="", ring="", back_box="", paint="", angled=False,
                  moved_m=0.0)


def _ground(place: FactRow, rack: FactRow) -> Ground:
    east, north = rack_reach_m(place, rack)
    before, behind, wall = rack["front_clear_m"], rack["rear_clear_m"], place["wall"]
    free = {"north": before if wall == "south" else behind, "south": before if wall == "north" else behind,
            "east": before if wall == "west" else behind, "west": before if wall == "east" else behind}
    side_ns, side_ew = (0.0, 1.0) if wall in ("east", "west") else (1.0, 0.0)
    x, y = rack["x_m"], rack["y_m"]
    return Ground(wide_m=rack["wide_m"], deep_m=rack["deep_m"], east_m=east, north_m=north, free=(
        x - east / 2 - free["west"] * side_ew, y - north / 2 - free["south"] * side_ns,
        x + east / 2 + free["east"] * side_ew, y + north / 2 + free["north"] * side_ns))


def _said(quote: Quote, row: FactRow, racks: tuple[FactRow, ...]) -> tuple[str, ...]:
    system = quote.job.unit_system
    said = [head_end_words(quote)]
    if not row["room"] and not row["side"]:
        said.append("Nobody typed which room it lies beside: ask before the first cable is pulled.")
    if not row["size_said"]:
        said.append("Nobody typed its size: it is drawn as usual closets are. Measure it before the rack is ordered.")
    if racks:
        before, behind = (show_length(racks[0][name], system) for name in ("front_clear_m", "rear_clear_m"))
        said.append(f"Dashed: kept free, {before} before the rack to work and draw a device"
                    + (f", {behind} behind it; to work there two people loosen it and pull it out."
                       if racks[0]["rear_clear_m"] else "."))
    return tuple(said)


def head_end_words(quote: Quote) -> str:
    """What HE stands for, where it is planned, and its floor."""
    said = quote.job.head_end
    names = {room.code: room.name for room in quote.job.rooms}
    at = ""
    if said.beside in names:
        side = f"{said.side} side" if said.side else "side"
        at = f", at the {side} of {said.beside} {names[said.beside]}"
    return f"HE is the head end: {said.place or 'its place is open'}{at}, floor {said.floor}."


def _room(
    option: PricedOption, room: Room, things: tuple[RoomThing, ...], bare_m: float, said: tuple[str, ...], use: FactRow
) -> RoomPlan:
    placed, unplaced = read_obstacles(room.obstacles, bare_m)
    inside = tuple(one for one in placed if one.x_m <= room.length_m and one.y_m <= room.width_m)
    outside = tuple(one.name for one in placed if one not in inside)
    return RoomPlan(
        option=option.name, code=room.code, name=room.name, floor=room.floor, zone=room.zone,
        outdoor=room.setting == "outdoor", length_m=room.length_m, width_m=room.width_m,
        ceiling_height_m=room.ceiling_height_m, ceiling_high_m=room.ceiling_high_m, joists=room.joists,
        joist_spacing_m=room.joist_spacing_m, obstacles=inside, unplaced=(*unplaced, *outside), things=things,
        said=said, low_wall=use.get("low_wall", ""), low_wall_said=use.get("low_wall_said", False))


def _things(quote: Quote, option: PricedOption) -> dict[str, list[RoomThing]]:
    kinds = dict(equipped(quote, option))
    mounted = dict(_mounted(quote, option))
    idle = {row["basis"][0] for row in rows_of_kind(quote, option, IdlePlace)}
    uses = {row["room"]: row for row in rows_of_kind(quote, option, RoomUse)}
    joints = {run["start"] for run in rows_of_kind(quote, option, CableRun) if run["circuits"]}
    found: dict[str, list[RoomThing]] = {}
    for place in rows_of_kind(quote, option, Place):
        if place["id"] in kinds or place["id"] in idle:
            kind = kinds.get(place["id"]) or idle_kind(place)
            use = uses.get(place["room"], {})
            thing = _thing(place, kind, mounted.get(place["id"]), use, place["id"] in joints)
            found.setdefault(place["room"], []).append(thing)
    return found


def _mounted(quote: Quote, option: PricedOption) -> Iterator[tuple[str, FactRow]]:
    """What an option mounts, by the id of its place."""
    for kind in (Speaker, KeypadFact):
        yield from ((row["place"], row) for row in rows_of_kind(quote, option, kind))
    yield from ((row["basis"][0], row) for row in rows_of_kind(quote, option, RoomInput))


def _thing(
    place: FactRow, kind: SymbolKind, mounted: FactRow | None, use: FactRow, joint: bool
) -> RoomThing:
    painted = mounted is not None and mounted.get("custom_colour", False)
    return RoomThing(
        id=place["id"], kind=kind, live=mounted is not None, device=mounted["id"] if mounted else "",
        part=mounted["part"] if mounted else "",
        x_m=place["x_m"], y_m=place["y_m"], height_m=place["height_m"], side=place["side"], bay=place["bay"],
        cut_out_mm=place["cut_out_mm"], depth_mm=place["depth_mm"], bracket=place["bracket"],
        ring=_ring(place, mounted is not None, joint), back_box=place["back_box"],
        paint=use.get("colour", "") if painted else "", angled=mounted is not None and mounted.get("angled", False),
        moved_m=place["moved_m"])


def _ring(place: FactRow, live: bool, joint: bool) -> str:
    """The ring or box in the wall; behind a loudspeaker also what closes it, and whether cables are joined in it."""
    if not place["ring"]:
        return ""
    if place["setting"] == "outdoor":
        box = "weather box"
    elif place["construction"] in ("masonry", "concrete"):
        box = "flush box"
    elif place["wall_state"] == "finished":
        box = "old-work ring"
    else:
        box = "deep ring" if place["deep_ring"] else "ring"
    if place["device"] != "speaker":
        return box
    lid = "its lid" if box == "weather box" else "cable plate" if live else "blank plate"
    return f"{box}, {lid}{', joint in it' if joint else ''}"

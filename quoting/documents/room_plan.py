"""What the crew needs of a room: its size, joists, what is in the way, and everything that goes in, for one option."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from quoting.documents.crew_cautions import STONE
from quoting.documents.crew_measures import bit_size, plain_length, small_length, unit_word
from quoting.documents.floor_plan import CLOSET, equipped, idle_kind, rack_reach_m, rows_of_kind
from quoting.documents.plan_symbols import SymbolKind
from quoting.facts import (
    CableEnd,
    CableRun,
    Conduit,
    HeadEndOpening,
    HeadEndPlace,
    HouseExit,
    IdlePlace,
    KeypadFact,
    Place,
    RackFact,
    RoomInput,
    RoomUse,
    Speaker,
    WallBox,
)
from quoting.job import Joists, Room
from quoting.quote import PricedOption, Quote
from quoting.sheets.obstacles import Obstacle, read_obstacles
from quoting.units import M_PER_FT, show_length

FactRow = Mapping[str, Any]


class Ground(Struct, frozen=True, kw_only=True):
    """What a rack takes of the floor about its middle, and what is kept free before and behind it. Metres."""

    wide_m: float  # along the wall behind it
    deep_m: float
    east_m: float  # the same as the plan has it: west to east, south to north
    north_m: float
    free: tuple[float, float, float, float]  # west, south, east, north edge of what is kept free with it


class RoomBox(Struct, frozen=True, kw_only=True):
    """The ring or box in the wall at a place: how it is cut in, and whether it holds what lands there."""

    part: str
    boxes: int
    conductors: int
    asked_cm3: float  # by the conductors
    device_cm3: float
    holds_cm3: float  # 0: open at its back
    core_mm: float
    cores: int
    wide_mm: float
    high_mm: float
    deep_mm: float

    @property
    def lie(self) -> str:
        """How several cores lie."""
        return "one over the other" if self.high_mm > self.wide_mm else "side by side"

    @property
    def apart_mm(self) -> float:
        """From middle to middle of one box's cores; 0 where it has one."""
        return (max(self.wide_mm, self.high_mm) - self.core_mm) / (self.cores - 1) if self.cores > 1 else 0.0


class RoomThing(Struct, frozen=True, kw_only=True):
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
    cut_out_mm: float  # of a round hole across, of another its height; 0: no hole of its own
    depth_mm: float
    bracket: str
    ring: str  # "", ring, deep ring, old-work ring, flush box, weather box; what closes it and what is joined in it
    back_box: str
    paint: str  # a colour that it does not come in
    angled: bool  # leans towards the room's middle
    moved_m: float  # how far an obstacle pushed it aside
    cut_out_width_mm: float = 0.0  # 0: a round hole
    ground: Ground | None = None  # what a rack takes of the floor
    box: RoomBox | None = None
    taken: bool = False  # on a wall at a spot that nobody typed
    joints: bool = False  # loudspeakers that play are joined here
    plate: str = ""  # what goes into its ring instead of the part, which stands elsewhere
    weight_kg: float = 0.0  # 0: nobody knows it
    back_box_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)  # outside: wide, high, deep; 0: not known
    back_box_from: str = ""  # open framing, above, its hole


class RoomExit(Struct, frozen=True, kw_only=True):
    """A way out of the house through a wall of this room, drilled from in here."""

    id: str
    words: str
    bit: str


class RoomPlan(Struct, frozen=True, kw_only=True):
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
    stone: bool = False  # walls of stone: no studs, nothing to nail to
    finished: bool = False
    caution: str = ""  # of water
    exits: tuple[RoomExit, ...] = ()  # whose wall and spot the plan does not know


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
    for row in rows_of_kind(quote, option, HouseExit):
        if row["inside_wall"] and row["beside"] in things:
            things[row["beside"]].append(_exit_thing(row))
    plans = [replace(_room(option, room, tuple(things[room.code]), bare_m, said.get(room.code, ()),
                           uses.get(room.code, {})), exits=_exits(quote, option, room))
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


class HeadEndStand(Struct, frozen=True, kw_only=True):
    """The head end as a room's plan needs it: its fact, what stands there, what is said of it."""

    row: FactRow
    room: str  # code; "" for a closet of its own
    things: tuple[RoomThing, ...]
    said: tuple[str, ...]


def head_end(quote: Quote, option: PricedOption, row: FactRow) -> HeadEndStand:
    """Where the cables come out, and the racks before it."""
    racks = rows_of_kind(quote, option, RackFact)
    opening = next(iter(rows_of_kind(quote, option, HeadEndOpening)), None)
    plate = replace(BARE, id="HE", kind="cables", x_m=row["x_m"], y_m=row["y_m"], height_m=row["height_m"],
                    cut_out_mm=opening["opening_mm"] if opening is not None else 0.0)
    stands = (replace(BARE, id=rack["id"], device=rack["id"], kind="head end", part=rack["part"], x_m=rack["x_m"],
                      y_m=rack["y_m"], ground=_ground(row, rack)) for rack in racks)
    return HeadEndStand(row=row, room=row["room"], things=(plate, *stands),
                        said=_said(quote, option, row, racks))


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


def _exits(quote: Quote, option: PricedOption, room: Room) -> tuple[RoomExit, ...]:
    """The ways out through walls of a room that the plan does not know."""
    names = {one.code: one.name for one in quote.job.rooms}
    return tuple(RoomExit(id=row["id"], words=f"way out through the house wall to {names[row['room']]}" + (
                     f": {row['taken_wall']} wall, taken so" if row["taken_wall"] else ""),
                          bit=bit_size(row["hole_mm"], quote.job.unit_system))
                 for row in rows_of_kind(quote, option, HouseExit)
                 if row["beside"] == room.code and not row["inside_wall"])


def _exit_thing(row: FactRow) -> RoomThing:
    """A way out whose spot on this room's wall the plan knows."""
    return replace(BARE, id=row["id"], kind="exit", x_m=row["inside_x_m"], y_m=row["inside_y_m"],
                   height_m=row["height_m"], cut_out_mm=row["hole_mm"])


def _said(quote: Quote, option: PricedOption, row: FactRow, racks: tuple[FactRow, ...]) -> tuple[str, ...]:
    system = quote.job.unit_system
    said = [head_end_words(quote)]
    if not row["room"] and not row["side"]:
        said.append("Nobody has said which room it lies beside: ask before the first cable is pulled.")
    if not row["size_said"]:
        said.append("Nobody has said its size: it is drawn as usual closets are. Measure it before the rack comes.")
    if racks:
        before, behind = (show_length(racks[0][name], system) for name in ("front_clear_m", "rear_clear_m"))
        said.append(f"Dashed: kept free, {before} before the rack to work and draw a device"
                    + (f", {behind} behind it; to work there two people loosen it and pull it out."
                       if racks[0]["rear_clear_m"] else "."))
    for opening in rows_of_kind(quote, option, HeadEndOpening):
        said.append(f"The opening at HE, {small_length(opening['opening_mm'], system)} across or a square as wide, is "
                    f"for {opening['cables']} cables, filled as a drilled hole is. Of each "
                    f"{plain_length(opening['slack_m'], system)} {unit_word(system)} are left there: they hang "
                    f"{opening['slack_words']}.")
    if conduits := [one["id"] for one in rows_of_kind(quote, option, Conduit)]:
        said.append(f"{', '.join(conduits)}: empty, with their strings, end beside the opening, capped and labelled.")
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
        said=said, low_wall=use.get("low_wall", ""), low_wall_said=use.get("low_wall_said", False),
        stone=room.construction in STONE, finished=room.wall_state == "finished", caution=use.get("caution", ""))


def _things(quote: Quote, option: PricedOption) -> dict[str, list[RoomThing]]:
    kinds = dict(equipped(quote, option))
    mounted = dict(_mounted(quote, option))
    idle = {row["basis"][0] for row in rows_of_kind(quote, option, IdlePlace)}
    uses = {row["room"]: row for row in rows_of_kind(quote, option, RoomUse)}
    runs = {run["id"]: run for run in rows_of_kind(quote, option, CableRun) if run["circuits"]}
    joints = {run["start"] for run in runs.values()}
    playing = {runs[end["run"]]["end"] for end in rows_of_kind(quote, option, CableEnd)
               if end["terminal"] == "joint" and end["live"] and end["run"] in runs and end["id"].endswith("B")}
    boxes = {row["place"]: row for row in rows_of_kind(quote, option, WallBox)}
    found: dict[str, list[RoomThing]] = {}
    for place in rows_of_kind(quote, option, Place):
        if place["id"] in kinds or place["id"] in idle:
            kind = kinds.get(place["id"]) or idle_kind(place)
            use = uses.get(place["room"], {})
            thing = _thing(place, kind, mounted.get(place["id"]), use, boxes.get(place["id"]), place["id"] in joints)
            thing = replace(thing, joints=place["id"] in playing)
            found.setdefault(place["room"], []).append(thing)
    return found


def _mounted(quote: Quote, option: PricedOption) -> Iterator[tuple[str, FactRow]]:
    """What an option mounts, by the id of its place."""
    for kind in (Speaker, KeypadFact):
        yield from ((row["place"], row) for row in rows_of_kind(quote, option, kind))
    yield from ((row["basis"][0], row) for row in rows_of_kind(quote, option, RoomInput))


def _thing(
    place: FactRow, kind: SymbolKind, mounted: FactRow | None, use: FactRow, box: FactRow | None, joint: bool
) -> RoomThing:
    mount = mounted if mounted is not None else {}
    return RoomThing(
        id=place["id"], kind=kind, live=mounted is not None, device=mount.get("id", ""), part=mount.get("part", ""),
        x_m=place["x_m"], y_m=place["y_m"], height_m=place["height_m"], side=place["side"], bay=place["bay"],
        cut_out_mm=place["cut_out_mm"], cut_out_width_mm=place["cut_out_width_mm"], depth_mm=place["depth_mm"],
        bracket=place["bracket"],
        ring=_ring(place, box, mounted is not None, joint), back_box=place["back_box"],
        paint=use.get("colour", "") if mount.get("custom_colour", False) else "", angled=mount.get("angled", False),
        moved_m=place["moved_m"], box=_box(box) if box is not None else None,
        taken=place["device"] != "speaker" and not place["typed"], plate=mount.get("plate", "") if (
            kind == "tv") else "", weight_kg=mount.get("weight_kg", 0.0),
        back_box_mm=(place["back_box_wide_mm"], place["back_box_high_mm"], place["back_box_deep_mm"]),
        back_box_from=place["back_box_from"])


def _box(row: FactRow) -> RoomBox:
    return RoomBox(**{name: row[name] for name in (
        "part", "boxes", "conductors", "asked_cm3", "device_cm3", "holds_cm3", "core_mm", "cores", "wide_mm", "high_mm",
        "deep_mm")})


def _ring(place: FactRow, box: FactRow | None, live: bool, joint: bool) -> str:
    """The ring or box in the wall; behind a loudspeaker also what closes it, and whether cables are joined in it."""
    if box is None:
        return ""
    if place["device"] != "speaker":
        return str(box["words"])
    lid = "its lid" if place["setting"] == "outdoor" else "cable plate" if live else "blank plate"
    return f"{box['words']}, {lid}{', joint in it' if joint else ''}"

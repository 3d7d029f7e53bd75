"""What the crew needs of a room: its size, joists, what is in the way, and everything that goes in, for one option."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from quoting.documents.floor_plan import equipped, idle_kind, rows_of_kind
from quoting.documents.plan_symbols import SymbolKind
from quoting.facts import CableRun, IdlePlace, KeypadFact, Place, RoomInput, RoomUse, Speaker
from quoting.job import Joists, Room
from quoting.quote import PricedOption, Quote
from quoting.sheets.obstacles import Obstacle, read_obstacles
from quoting.units import M_PER_FT

FactRow = Mapping[str, Any]


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
    ring: str  # "", ring, deep ring, old-work ring, weather box; what closes it and what is joined in it
    back_box: str
    paint: str  # a colour that it does not come in
    angled: bool  # leans towards the room's middle
    moved_m: float  # how far an obstacle pushed it aside


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


def room_plans(quote: Quote, option: PricedOption) -> tuple[RoomPlan, ...]:
    """Every room in which an option mounts or wires something, floor by floor, in zone order."""
    things = _things(quote, option)
    bare_m = M_PER_FT if quote.job.unit_system == "imperial" else 1.0
    ordered = sorted(quote.job.rooms, key=lambda room: (room.floor, room.zone, room.code))
    return tuple(_room(option, room, tuple(things[room.code]), bare_m) for room in ordered if room.code in things)


def _room(option: PricedOption, room: Room, things: tuple[RoomThing, ...], bare_m: float) -> RoomPlan:
    placed, unplaced = read_obstacles(room.obstacles, bare_m)
    inside = tuple(one for one in placed if one.x_m <= room.length_m and one.y_m <= room.width_m)
    outside = tuple(one.name for one in placed if one not in inside)
    return RoomPlan(
        option=option.name, code=room.code, name=room.name, floor=room.floor, zone=room.zone,
        outdoor=room.setting == "outdoor", length_m=room.length_m, width_m=room.width_m,
        ceiling_height_m=room.ceiling_height_m, ceiling_high_m=room.ceiling_high_m, joists=room.joists,
        joist_spacing_m=room.joist_spacing_m, obstacles=inside, unplaced=(*unplaced, *outside), things=things)


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
    elif place["wall_state"] == "finished":
        box = "old-work ring"
    else:
        box = "deep ring" if place["deep_ring"] else "ring"
    if place["device"] != "speaker":
        return box
    lid = "its lid" if box == "weather box" else "cable plate" if live else "blank plate"
    return f"{box}, {lid}{', joint in it' if joint else ''}"

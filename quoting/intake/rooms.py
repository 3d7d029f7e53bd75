"""Rooms, floors and zones with every blank filled in: typed, zone's row, floor's block, room kind, job's, usual."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.intake.codes import derive_codes, number_zones
from quoting.intake.columns import PAIRS_PREFIX
from quoting.intake.defaults import CEILING_M, CONSTRUCTION, ROOM_CONSTANTS, USUAL, Fallback, Ledger
from quoting.intake.entries import Entry
from quoting.intake.filled import Filled
from quoting.job import FloorPlan, Room, WallState, Zone
from quoting.problems import Cell, Problem, stop
from quoting.sheets.fields import NAME_LIMIT, closest, key, shown
from quoting.tables.decision import Answer


class House(Struct, frozen=True):
    """The rooms' own part of a job."""

    floors: tuple[FloorPlan, ...]
    rooms: tuple[Room, ...]  # sorted by code
    zones: tuple[Zone, ...]  # sorted by number


class _Context(Struct, frozen=True):
    filled: Filled
    ledger: Ledger
    wall_state: Fallback
    floors: Mapping[int, FloorPlan]
    floor_rows: Mapping[int, Entry]
    zone_rows: Mapping[int, Entry]
    kinds: Mapping[str, Answer]
    first_option: str


def read_house(
    filled: Filled, catalog: Catalog, ledger: Ledger, wall_state: Fallback, head_end_floor: int,
) -> tuple[House, tuple[Problem, ...]]:
    """Resolves floors, rooms and zones. Rooms without a readable required cell get a stand-in for it."""
    floor_rows = {number: row for row in reversed(filled.floors) if (number := row.get("number", int)) is not None}
    floors = _floors(filled, ledger, wall_state, floor_rows, head_end_floor)
    zone_rows = {number: row for row in reversed(filled.zones) if (number := row.get("number", int)) is not None}
    kinds, problems = _kinds(filled, catalog)
    context = _Context(
        filled=filled, ledger=ledger, wall_state=wall_state, floors=floors, floor_rows=floor_rows, zone_rows=zone_rows,
        kinds=kinds, first_option=next(iter(catalog.options), ""),
    )
    coded = room_codes(filled.rooms)
    zones = number_zones({code: zone_number(row, filled.zones) for code, row in coded.items()}, zone_rows)
    rooms = tuple(_room(code, coded[code], zones[code], context) for code in sorted(coded))
    rooms = _something_plays(rooms, catalog.options, ledger)
    rooms, strangers = _beside_rooms(rooms)
    house = House(tuple(floors[number] for number in sorted(floors)), rooms, _zones(rooms, context))
    return house, (*problems, *strangers)


def _beside_rooms(rooms: tuple[Room, ...]) -> tuple[tuple[Room, ...], list[Problem]]:
    """The rooms with the code of the indoor room that each outdoor one lies at; a stop where no such room is there."""
    indoors = {key(word): room for room in rooms if room.setting != "outdoor" for word in (room.name, room.code)}
    problems: list[Problem] = []
    found = []
    for room in rooms:
        at = indoors.get(key(room.beside))
        if room.beside and at is None:
            close = closest(room.beside, tuple(one.name for one in indoors.values()))
            problems.append(stop(
                room.where("beside")[0], "unknown-room",
                f"Beside room '{shown(room.beside)}' is neither the name nor the code of a room indoors.",
                f"Type {close}." if close else "Type a name or code of an indoor room, or leave it blank."))
        found.append(replace(room, beside=at.code if at else ""))
    return tuple(found), problems


def _something_plays(rooms: tuple[Room, ...], options: tuple[str, ...], ledger: Ledger) -> tuple[Room, ...]:
    """Where no room plays in the smallest option, those that come first and were left blank play from it."""
    blank = [room for room in rooms if "plays_from" not in room.cells and room.plays_from in options]
    if not blank or any(room.plays_from == options[0] for room in rooms):
        return rooms
    first = min((room.plays_from for room in blank), key=options.index)
    moved = {f"Rooms {room.code}" for room in blank if room.plays_from == first}
    ledger.defaults[:] = [
        replace(default, value=options[0], source=f"nothing else plays in {options[0]}")
        if default.of in moved and default.field == "Plays from" else default for default in ledger.defaults]
    return tuple(replace(room, plays_from=options[0]) if f"Rooms {room.code}" in moved else room for room in rooms)


def room_codes(rows: Iterable[Entry]) -> dict[str, Entry]:
    """Each room row by its typed or derived code; rows that clash (a stop says so) stay apart by a number."""
    rows = list(rows)
    coded: dict[str, Entry] = {}
    blank: dict[str, Entry] = {}
    for row in rows:
        code, name = row.text("code"), row.text("name") or "Room"
        known = coded if code else blank
        wanted = code or name
        for again in range(1, len(rows) + 1):
            label = wanted if again == 1 else f"{wanted} {again}"
            if label not in known:
                known[label] = row
                break
    codes = derive_codes(blank, coded)
    return coded | {codes[name]: row for name, row in blank.items()}


def zone_number(room: Entry, zones: Iterable[Entry]) -> int | None:
    """The zone that a room row names by number or by a name on Zones; None where blank or not there."""
    number = room.get("zone", int)
    name = room.text("zone")
    if number is not None or not name:
        return number
    return next((zone.get("number", int) for zone in zones if key(zone.text("name")) == key(name)), None)


def _kinds(filled: Filled, catalog: Catalog) -> tuple[dict[str, Answer], tuple[Problem, ...]]:
    """The standard's answer for each room kind in use. A value in it that is no choice is a stop at its row."""
    kinds: dict[str, Answer] = {}
    problems: list[Problem] = []
    for kind in dict.fromkeys(row.text("kind") for row in filled.rooms):
        try:
            answer = catalog.standards.ask("room_kinds", kind=kind) if kind else None
        except LookupError:
            continue  # the catalogue's own check says which rows clash; blanks fall through to the usual values
        if answer is None:
            continue
        kinds[kind] = answer
        for attribute in ("plays_from", *ROOM_CONSTANTS):
            column = filled.form.rooms.column(attribute)
            word = answer.text(attribute)
            if word and word not in column.choices:
                problems.append(stop(
                    answer.where, "bad-room-kind",
                    f"Room kind '{kind}' has {attribute} '{word}', which is not one of: {', '.join(column.choices)}.",
                    "Type one of them in standards/room_kinds.csv.",
                ))
    return kinds, tuple(problems)


def _floors(
    filled: Filled, ledger: Ledger, wall_state: Fallback, rows: Mapping[int, Entry], head_end_floor: int,
) -> dict[int, FloorPlan]:
    """Every floor that is listed, has a room or has the head end."""
    used = {number for room in filled.rooms if (number := room.get("floor", int)) is not None}
    numbers = sorted(used | rows.keys() | {head_end_floor})
    system = filled.measures.system
    plans = {}
    for number in numbers:
        row = rows.get(number) or Entry(filled.form.floors, cells={"": filled.job.where()})
        top = number == numbers[-1]
        fallbacks = {
            "ceiling_height_m": Fallback(CEILING_M[system], USUAL), "wall_state": wall_state,
            "above": Fallback("insulated attic", "the top floor") if top else Fallback("room", "the floor above"),
            "construction": Fallback(CONSTRUCTION[system], USUAL),
        }
        # a floor's `?` is asked once for each room that rests on it, not for the floor
        values: dict[str, Any] = {
            name: usual.value if name in row.asked else ledger.settle(row, name, f"Floor {number}", usual)
            for name, usual in fallbacks.items()
        }
        plans[number] = FloorPlan(number, **values)
    return plans


def _room(code: str, row: Entry, zone: int, context: _Context) -> Room:
    cells = {"": row.where(), **{name: row.where(name) for name in row.values}}
    of = f"Rooms {code}"
    ledger = context.ledger
    if not row.text("code"):
        ledger.note(row, "code", of, code, "the room's name")
    if "zone" in row.asked:
        ledger.ask(row, "zone", of, zone)
    elif row.values.get("zone") is None and "zone" not in row.bad:
        ledger.note(row, "zone", of, zone, "a zone of its own")

    def kind(attribute: str) -> tuple[Fallback, ...]:
        return _from_kind(row, attribute, context)

    def settle(attribute: str, *fallbacks: Fallback) -> str:
        return str(ledger.settle(row, attribute, of, *fallbacks, cells=cells))

    def plain(attribute: str, blank: object) -> object:
        return ledger.plain(row, attribute, of, blank, cells)

    setting = settle("setting", *kind("setting"))
    shared = {name: settle(name, *_from_zone(zone, name, kind(name), context))
              for name in ("plays_from", "listening", "control")}
    words = {name: settle(name, *kind(name)) for name in ("mount", "distance")}
    site = _site(row, of, setting, cells, context)
    flags = {name: plain(name, False) for name in (
        "sub_zone", "second_control", "room_input", "tv", "reuse_cable", "reuse_speakers", "reuse_control",
        "near_water", "moves_air",
    )}
    given = {name: plain(name, None) for name in ("joists", "joist_spacing_m", "low_wall", "pairs", "x_m", "y_m",
                                                        "measured_m")}
    values: dict[str, object] = {
        "code": code, "name": row.text("name"), "kind": row.text("kind"), "floor": row.get("floor", int) or 0,
        "length_m": row.get("length_m", float) or 0.0, "width_m": row.get("width_m", float) or 0.0, "zone": zone,
        "setting": setting, "obstacles": plain("obstacles", ""), "note": plain("note", ""),
        "beside": plain("beside", ""),
        "colour": settle("colour", Fallback("white", USUAL)),
        "pairs_by_option": _pairs_by_option(row, of, cells, context), "cells": cells,
        **shared, **words, **site, **flags, **given,
    }
    return Room(**values)  # type: ignore[arg-type]  # each value was read by its column's kind


def _site(row: Entry, of: str, setting: str, cells: dict[str, Cell], context: _Context) -> dict[str, object]:
    """Height, walls and ceiling: typed, else the floor's, else what the place suggests."""
    ledger = context.ledger
    number = row.get("floor", int)
    plan = context.floors[number if number is not None else min(context.floors)]

    def settle(attribute: str, *fallbacks: Fallback) -> object:
        found: object = ledger.settle(row, attribute, of, *fallbacks, cells=cells)
        return found

    def floor(attribute: str) -> Fallback:
        value = getattr(plan, attribute)
        listed = context.floor_rows.get(plan.number)
        if listed and (attribute in listed.values or attribute in listed.asked):
            return Fallback(value, f"floor {plan.number}", listed.where(attribute), attribute in listed.asked)
        return context.wall_state if attribute == "wall_state" else Fallback(value, f"floor {plan.number}")

    low = settle("ceiling_height_m", floor("ceiling_height_m"))
    above = settle("above", Fallback("roof", "an outdoor place") if setting == "outdoor" else floor("above"))
    reach = Fallback("above", "an attic above") if above == "insulated attic" else Fallback("none", USUAL)
    return {
        "ceiling_height_m": low, "ceiling_high_m": ledger.plain(row, "ceiling_high_m", of, low, cells),
        "wall_state": settle("wall_state", floor("wall_state")), "above": above,
        "construction": settle("construction", floor("construction")), "access": settle("access", reach),
    }


def _from_zone(
    zone: int, attribute: str, kind: tuple[Fallback, ...], context: _Context,
) -> tuple[Fallback, ...]:
    """The zone's row before the kind's fallbacks; a `?` in that row makes the kind's value a question."""
    row = context.zone_rows.get(zone)
    if row and attribute in row.values:
        return (Fallback(row.values[attribute], f"zone {zone}", row.where(attribute)), *kind)
    if row and attribute in row.asked:
        return (replace(kind[0], where=row.where(attribute), asked=True),)
    return kind


def _from_kind(row: Entry, attribute: str, context: _Context) -> tuple[Fallback, ...]:
    usual = Fallback(ROOM_CONSTANTS.get(attribute, context.first_option), USUAL)
    kind = row.text("kind")
    word = context.kinds[kind].text(attribute) if kind in context.kinds else ""
    return (Fallback(word, f"room kind {kind}", row.where("kind")), usual) if word else (usual,)


def _pairs_by_option(row: Entry, of: str, cells: dict[str, Cell], context: _Context) -> dict[str, int]:
    pairs = {}
    for column in context.filled.form.rooms.columns:
        if column.attribute.startswith(PAIRS_PREFIX):
            count = context.ledger.plain(row, column.attribute, of, None, cells)
            if count is not None:
                pairs[column.attribute.removeprefix(PAIRS_PREFIX)] = count
    return pairs


def _zones(rooms: Iterable[Room], context: _Context) -> tuple[Zone, ...]:
    """A zone for each number that a room has."""
    members: dict[int, list[Room]] = {}
    for room in rooms:
        members.setdefault(room.zone, []).append(room)
    return tuple(_zone(number, members[number], context) for number in sorted(members))


def _zone(number: int, rooms: list[Room], context: _Context) -> Zone:
    nobody = Entry(context.filled.form.zones, cells={"": rooms[0].where("zone")[0]})
    row = context.zone_rows.get(number, nobody)
    of = f"Zone {number}"
    ledger = context.ledger
    return Zone(
        number=number,
        name=ledger.settle(row, "name", of, Fallback(_joined([room.name for room in rooms]), "its rooms")),
        mono=ledger.plain(row, "mono", of, False),
        bridged=ledger.plain(row, "bridged", of, False),
        paged=ledger.settle(row, "paged", of, Fallback(True, USUAL)),
        max_volume=ledger.plain(row, "max_volume", of, None),
        where=row.where(),
        line=ledger.plain(row, "line", of, "low impedance"),
    )


def _joined(names: list[str]) -> str:
    """Names in one line, within a name's limit."""
    text = " + ".join(names)
    return text if len(text) <= NAME_LIMIT else f"{names[0][:40]} and {len(names) - 1} more"


def usual_wall_state(filled: Filled) -> tuple[WallState, Fallback]:
    """The job's wall state (open stands in where it is unreadable), and the fallback that rooms take from it."""
    typed = filled.job.text("wall_state")
    state: WallState = "finished" if typed == "finished" else "open remodel" if typed == "open remodel" else "open"
    return state, Fallback(state, "job", filled.job.where("wall_state"))

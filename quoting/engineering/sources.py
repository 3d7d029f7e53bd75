"""What plays at the head end of one option: sources, owned equipment, doorbells, paging; and the extras asked for."""

from __future__ import annotations

import math

from msgspec.structs import replace

from quoting.engineering.brief import Brief, Result, rows_of, settings_of
from quoting.engineering.line_inputs import NETWORK, head_end_shape, lands_directly
from quoting.engineering.run_plan import door_room
from quoting.facts import AudioSource, Doorbell, ExtraPart, Fact, OwnedItem, Paging, Trench
from quoting.job import Extra, SourceWish
from quoting.problems import Problem, stop, warning

ROLES = {
    "streamer": "streamer", "tuner": "tuner", "disc": "disc player", "turntable": "turntable",
    "computer": "computer source", "microphone": "page microphone", "TV": "other source", "other": "other source",
}


def _in_option(brief: Brief, plays_from: str) -> bool:
    options = brief.catalog.options
    return plays_from in options and options.index(plays_from) <= options.index(brief.option)


def sources(brief: Brief) -> Result:
    """An AudioSource each, streamers enough for the option's streams."""
    facts: list[Fact] = []
    problems: list[Problem] = []
    network = head_end_shape(brief) == "network amplifiers"
    for wish in brief.job.sources:
        if not _in_option(brief, wish.plays_from):
            continue
        if network and wish.kind == "streamer" and not wish.owned:
            continue  # each network amplifier plays its own stream
        if wish.location:
            problems.extend(_room_source(brief, wish))
            if wish.kind == "TV":
                continue  # the television's return is a room input of its own
        part = "" if wish.owned else brief.part_for(ROLES[wish.kind])
        if not part and not wish.owned:
            problems.append(stop(
                wish.where, "no-part-for-role",
                f"Option '{brief.option}' has no '{ROLES[wish.kind]}' for the source '{wish.name}'.",
                "Name one in options.csv, or mark the source as owned."))
            continue
        for streams in [1] * wish.count if wish.location else _streams_of_each(brief, wish, part):
            source = _source(brief, wish, part, len(facts) + 1, streams)
            facts.append(_in_its_room(brief, source, wish.location) if wish.location else source)
            problems.extend(_unconverted(brief, wish, source))
    return tuple(facts), tuple(problems)


def _streams_of_each(brief: Brief, wish: SourceWish, part: str) -> list[int]:
    """How many streams each unit of a wish plays: the first bought streamer comes in units enough for the option's."""
    first = next((one for one in brief.job.sources if one.kind == "streamer" and not one.owned and not one.location),
                 None)
    if wish is not first:
        return [1] * wish.count
    wanted = brief.job.streams or brief.number("streams", 1)
    spec = brief.catalog.sources.get(part)
    most = max(1, spec.streams if spec else 1)
    units = max(wish.count, math.ceil(wanted / most))
    return [min(most, max(1, wanted - most * unit)) for unit in range(units)]


def _room_source(brief: Brief, wish: SourceWish) -> list[Problem]:
    """A player in a room needs a way back: a room input, or the TV's."""
    room = brief.rooms.get(wish.location)
    if room is not None and (room.room_input or (room.tv and wish.kind == "TV")):
        return []
    place = room.name if room is not None else wish.location
    return [stop(wish.where, "source-without-return",
                 f"The source '{wish.name}' stands in '{place}', which has no cable back to the head end.",
                 "Type yes under 'Room input' (or 'TV into the system') for that room.")]


def _source(brief: Brief, wish: SourceWish, part: str, number: int, streams: int) -> AudioSource:
    landing = brief.catalog.standards.ask("source_landing", connector=wish.connector)
    spec = brief.catalog.sources.get(part)
    # A box that takes the connector as it is needs no converter, whatever the standard provides.
    direct = lands_directly(brief, wish.connector)
    lands_on = wish.connector if direct else landing.text("input_connector")
    converter = "" if direct else landing.text("converter_role")
    shelf_u = brief.catalog.standards.ask("head_end", item="shelf u").number("value")
    by_option = () if wish.owned else settings_of(ROLES[wish.kind], *(
        ("streams",) if wish.kind == "streamer" and not brief.job.streams else ()))
    return AudioSource(
        id=f"SRC-{number}", where=(wish.where,), decided=rows_of((landing.decided, *by_option)), name=wish.name,
        part=part, kind=wish.kind, owned=wish.owned, at_head_end=True, connector=wish.connector,
        input_connector=lands_on, converter=brief.part_for(converter) if converter else "",
        lead=landing.text("lead_role"), phono=wish.kind == "turntable", control=wish.control,
        rack_units=spec.rack_units if spec else shelf_u / 2, rack_mountable=spec.rack_mountable if spec else False,
        network_port=(spec.network_port if spec else wish.control == "network") or lands_on == NETWORK,
        plugs=spec.plugs if spec else 1,
        watts=spec.watts if spec else 0.0, inputs=0 if lands_on == NETWORK else streams)


def _unconverted(brief: Brief, wish: SourceWish, source: AudioSource) -> list[Problem]:
    """A connector that no input takes needs a converter, and the option must have one."""
    role = brief.catalog.standards.ask("source_landing", connector=wish.connector).text("converter_role")
    if wish.location or not role or source.converter or source.input_connector == wish.connector:
        return []
    return [stop(wish.where, "wrong-connector",
                 f"'{wish.name}' comes with '{wish.connector}', its input in option '{brief.option}' takes "
                 f"'{source.input_connector}', and the option has no '{role}' to go between.",
                 f"Name a part for the role '{role}' in options.csv, or type another of its connectors under "
                 "'Connector'.")]


def _in_its_room(brief: Brief, source: AudioSource, location: str) -> AudioSource:
    """A player that stands in a room plugs into the room's input: no place in the rack, no converter there."""
    zone = brief.rooms[location].zone if location in brief.rooms else 0
    return replace(source, room=location, zone=zone, at_head_end=False, converter="", rack_units=0.0,
                   rack_mountable=False)


def extras(brief: Brief) -> Result:
    """Doorbells door by door, paging, owned equipment, trenches, parts asked for by number."""
    facts: list[Fact] = []
    problems: list[Problem] = []
    for extra in brief.job.extras:
        if not _in_option(brief, extra.plays_from):
            continue
        if extra.kind == "part" and extra.part not in brief.catalog.parts:
            problems.append(stop(extra.where, "unknown-part", f"'{extra.part}' is not a part of the catalogue.",
                                 "Type a part number of parts.csv."))
            continue
        if extra.kind == "spare cable" and extra.room not in brief.rooms:
            problems.append(stop(extra.where, "extra-without-room",
                                 f"The spare cable '{extra.name}' names no room to end in.",
                                 "Type the room's code."))
            continue
        if extra.kind == "doorbell" and not extra.room:
            room = brief.rooms[door_room(brief.job)]
            problems.append(warning(extra.where, "doorbell-room-assumed",
                                    f"Nobody said where the doorbell '{extra.name}' is; its wire ends in "
                                    f"'{room.name}'.",
                                    "Type the room on Extras."))
        facts.extend(_extra(brief, extra, facts))
    return tuple(facts), tuple(problems)


def _count_of(facts: list[Fact], kind: type[Fact]) -> int:
    return sum(isinstance(fact, kind) for fact in facts)


def _extra(brief: Brief, extra: Extra, made: list[Fact]) -> list[Fact]:
    where = (extra.where,)
    shelf_u = brief.catalog.standards.ask("head_end", item="shelf u").number("value")
    if extra.kind == "doorbell":
        first = _count_of(made, Doorbell)
        return [Doorbell(id=f"BELL-{first + door + 1}", where=where, name=extra.name, first=first + door == 0,
                         decided=settings_of("doorbell trigger", *(("chime source",) if first + door == 0 else ())))
                for door in range(int(extra.quantity))]
    if extra.kind == "paging":
        return [Paging(id=f"PAGE-{_count_of(made, Paging) + number + 1}", where=where, name=extra.name,
                       decided=settings_of("page interface"))
                for number in range(int(extra.quantity))]
    if extra.kind == "owned equipment":
        by_shelf = () if extra.rack_mountable else (
            brief.catalog.standards.ask("head_end", item="shelf u").decided,)
        return [OwnedItem(id=f"OWN-{_count_of(made, OwnedItem) + number + 1}", where=where, decided=by_shelf,
                          name=extra.name,
                          rack_mountable=extra.rack_mountable, rack_units=2.0 if extra.rack_mountable else shelf_u / 2)
                for number in range(int(extra.quantity))]
    if extra.kind in ("trench", "conduit"):
        deep = brief.catalog.standards.ask("vertical", item="burial depth")
        return [Trench(id=f"TRN-{_count_of(made, Trench) + 1}", room=extra.room, where=where, what=extra.kind,
                       length_m=float(extra.quantity), buried=extra.kind == "trench", decided=(deep.decided,),
                       depth_m=deep.number("length_m"))]
    if extra.kind == "allowance":  # a sum at price: so many currency units of a part that costs one
        return [ExtraPart(id=f"EXT-{_count_of(made, ExtraPart) + 1}", room=extra.room, where=where,
                          part=brief.part_for("allowance"), quantity=float(extra.amount or 0),
                          wall_state=brief.job.wall_state)]
    if extra.kind == "part":
        return [ExtraPart(id=f"EXT-{_count_of(made, ExtraPart) + 1}", room=extra.room, where=where, part=extra.part,
                          quantity=float(extra.quantity), wall_state=brief.job.wall_state)]
    return []

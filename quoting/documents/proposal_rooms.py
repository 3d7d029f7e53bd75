"""What each option does, in words: room by room, and side by side."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

from quoting.documents.formats import formats_for
from quoting.documents.proposal_view import CompareRow, FloorRooms, RoomRow
from quoting.documents.proposal_words import (
    NOTHING,
    control_words,
    count_words,
    floor_title,
    isolate,
    listed,
    speaker_words,
)
from quoting.facts import (
    FACT_KINDS,
    AmplifierFact,
    AudioSource,
    ControllerFact,
    Doorbell,
    Fact,
    Paging,
    RackFact,
    RoomUse,
    SystemFact,
    Trench,
)
from quoting.job import Job, Room
from quoting.quote import PricedOption, Quote, RoomPromise

FactRow = dict[str, Any]
Lines = tuple[str, ...]


def fact_rows(quote: Quote, option: PricedOption, kind: type[Fact]) -> tuple[FactRow, ...]:
    """The facts of a kind that hold in an option: the shared plan's and its own."""
    name = next(name for name, cls in FACT_KINDS.items() if cls is kind)
    return quote.facts.get(name, ()) + option.facts.get(name, ())


def live_rooms(option: PricedOption) -> tuple[RoomPromise, ...]:
    """The rooms that play in an option."""
    return tuple(room for room in option.rooms if room.state == "live")


def in_house_order(quote: Quote) -> Quote:
    """The quote with every option's rooms floor by floor and in zone order, as the tables list them."""
    order = {room.code: (room.floor, room.zone, room.code) for room in quote.job.rooms}
    last = (10**6, 0, "")
    options = tuple(replace(option, rooms=tuple(sorted(option.rooms, key=lambda room: order.get(room.room, last))))
                    for option in quote.options)
    return replace(quote, options=options)


# ------------------------------------------------------------------------------------------------ room by room

def floors(quote: Quote) -> tuple[FloorRooms, ...]:
    """Every room, floor by floor, in zone order, and what each option does there."""
    uses = tuple({row["room"]: row for row in fact_rows(quote, option, RoomUse)} for option in quote.options)
    promises = tuple({room.room: room for room in option.rooms} for option in quote.options)
    promised = {code for rooms in promises for code in rooms}
    by_floor: dict[int, list[RoomRow]] = {}
    for room in sorted(quote.job.rooms, key=lambda r: (r.floor, r.zone, r.code)):
        if room.code not in promised:
            continue
        given = tuple((rooms.get(room.code), rows.get(room.code, {})) for rooms, rows in
                      zip(promises, uses, strict=True))
        by_floor.setdefault(room.floor, []).append(RoomRow(
            name=room.name, note=_plays_with(room, quote.job),
            gives=tuple(_room_lines(promise, use, room) for promise, use in given),
            states=tuple(promise.state if promise else "out" for promise, _ in given)))
    titled = len(by_floor) > 1
    return tuple(FloorRooms(title=floor_title(number) if titled else "", rooms=tuple(rows))
                 for number, rows in by_floor.items())


def _room_lines(promise: RoomPromise | None, use: FactRow, room: Room) -> Lines:
    if promise is None or promise.state == "out":
        return ("Not in this option",)
    if promise.state != "live":
        return ("Cable in the wall now, music can follow later",)
    lines = [speaker_words(promise.speakers, use.get("mount") or room.mount, room.setting == "outdoor",
                           use.get("single_stereo", False), use.get("reuse_speakers", False))]
    lines.append(control_words(promise.control or "phone"))
    if use.get("tv"):
        lines.append("The television is heard here")
    if use.get("room_input"):
        lines.append("A socket for a player in the room")
    return tuple(lines)


def _plays_with(room: Room, job: Job) -> str:
    others = [other.name for other in job.rooms if other.zone == room.zone and other.code != room.code]
    if not others:
        return ""
    own = ", at its own volume" if room.sub_zone else ""
    return f"plays together with {listed(others)}{own}"


# ------------------------------------------------------------------------------------------------ side by side

MOST_NAMES = 7  # in one cell of the comparison; the table of rooms names every one

def compare(quote: Quote) -> tuple[CompareRow, ...]:
    """The same rows for every option; a row that says nothing in any of them is left out."""
    makers: tuple[tuple[str, Callable[[Quote, PricedOption], Lines]], ...] = (
        ("Rooms with music", _rooms_with_music),
        ("Wired now, music later", _wired),
        ("Different things playing at once", _streams),
        ("Speakers", _speakers),
        ("How each room is controlled", _controls),
        ("Televisions heard", _televisions),
        ("Music comes from", _sources),
        ("Also heard", _bells),
        ("Outdoors, dug or laid by us", _trenches),
        ("Where the equipment stands", _head_end),
        ("What can be added later", _later),
        ("What it gives up", _gives_up),
        ("Service included", _service),
    )
    rows = []
    for label, make in makers:
        cells = tuple(make(quote, option) for option in quote.options)
        if any(cells):
            shown = tuple(cell or (NOTHING,) for cell in cells)
            rows.append(CompareRow(label=label, cells=shown, differs=len(set(shown)) > 1))
    return tuple(rows)


def _system(quote: Quote, option: PricedOption) -> FactRow:
    return next(iter(fact_rows(quote, option, SystemFact)), {})


def _rooms_with_music(_: Quote, option: PricedOption) -> Lines:
    rooms = live_rooms(option)
    names = listed((room.name for room in rooms), MOST_NAMES)
    return (count_words(len(rooms), "room"), names) if rooms else ()


def _wired(_: Quote, option: PricedOption) -> Lines:
    names = [room.name for room in option.rooms if room.state == "wired-only"]
    return (listed(names, MOST_NAMES),) if names else ()


def _streams(quote: Quote, option: PricedOption) -> Lines:
    streams = _system(quote, option).get("streams", 0)
    return (str(streams),) if streams else ()


def _speakers(_: Quote, option: PricedOption) -> Lines:
    count = sum(room.speakers for room in live_rooms(option))
    return (str(count),) if count else ()


def _controls(quote: Quote, option: PricedOption) -> Lines:
    by_control: dict[str, list[str]] = {}
    for room in live_rooms(option):
        by_control.setdefault(room.control or "phone", []).append(room.name)
    lines = [f"{control_words(control)}: {listed(names, MOST_NAMES)}" for control, names in by_control.items()]
    phones = _system(quote, option).get("phones", 0)
    if phones:
        lines.append(f"We set up {count_words(phones, 'phone or tablet', 'phones or tablets')} with you")
    return tuple(lines)


def _televisions(quote: Quote, option: PricedOption) -> Lines:
    live = {room.room: room.name for room in live_rooms(option)}
    names = [live[row["room"]] for row in fact_rows(quote, option, RoomUse) if row.get("tv") and row["room"] in live]
    return (listed(names),) if names else ()


def _sources(quote: Quote, option: PricedOption) -> Lines:
    names = [isolate(row.get("name", "")) + (" (yours)" if row.get("owned") else "")
             for row in fact_rows(quote, option, AudioSource)]
    if any(row["shape"] == "network amplifiers" for row in fact_rows(quote, option, SystemFact)):
        names.insert(0, "Streaming in every zone by itself")
    return tuple(dict.fromkeys(names))


def _trenches(quote: Quote, option: PricedOption) -> Lines:
    lengths = formats_for(quote.job.terms.locale, quote.pricing.currency, quote.job.unit_system)
    words = {"trench": "trench", "conduit": "sleeve"}
    return tuple(f"{words[row['what']]}, {lengths.length(row['length_m'])}"
                 for row in fact_rows(quote, option, Trench) if row["what"] in words)


def _bells(quote: Quote, option: PricedOption) -> Lines:
    found = [(kind, row["name"]) for kind, record in (("Doorbell", Doorbell), ("Paging", Paging))
             for row in fact_rows(quote, option, record)]
    return tuple(dict.fromkeys(
        kind if name.strip().casefold() in ("", kind.casefold()) else f"{kind}: {isolate(name)}"
        for kind, name in found))


def _head_end(quote: Quote, option: PricedOption) -> Lines:
    rack = next(iter(fact_rows(quote, option, RackFact)), None)
    place = isolate(quote.job.head_end.place)
    if rack is None:
        return (place,) if place else ()
    stand = "On a shelf" if rack.get("shelf_only") else "In a rack"
    return (f"{stand}: {place}" if place else stand,)


def _later(quote: Quote, option: PricedOption) -> Lines:
    wired = [room.name for room in option.rooms if room.state == "wired-only"]
    names = listed(wired) if len(wired) <= MOST_NAMES else f"{len(wired)} more rooms"
    lines = [f"Music in {names}, on the cable that is there"] if wired else []
    spare = _spare_zones(quote, option)
    if spare:
        lines.append(f"{count_words(spare, 'more zone')} on the same equipment")
    return tuple(lines)


def _spare_zones(quote: Quote, option: PricedOption) -> int:
    """Zones that both the controllers and the amplifiers have room for; stereo, two channels each."""
    outputs = [row.get("spare_outputs", 0) for row in fact_rows(quote, option, ControllerFact)]
    channels = [row.get("spare_channels", 0) // 2 for row in fact_rows(quote, option, AmplifierFact)]
    limits = [sum(spare) for spare in (outputs, channels) if spare]
    return min(limits, default=0)


def _gives_up(quote: Quote, option: PricedOption) -> Lines:
    missing = _missing(option, quote.options)
    said = [option.gives_up] if option.gives_up else []
    names = listed(missing) if len(missing) <= MOST_NAMES else f"{len(missing)} of the rooms"
    without = [f"No music yet in {names}"] if missing else []
    return tuple(said + without)


def _missing(option: PricedOption, options: Iterable[PricedOption]) -> list[str]:
    """Rooms that play in some option and not in this one."""
    live = {room.room for room in live_rooms(option)}
    names = {room.room: room.name for other in options for room in live_rooms(other)}
    return [name for code, name in names.items() if code not in live]


def _service(quote: Quote, option: PricedOption) -> Lines:
    years = _system(quote, option).get("service_years", 0)
    return (count_words(years, "year"),) if years else ()

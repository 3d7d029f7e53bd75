"""What each option does, in words: room by room, and side by side."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from msgspec.structs import replace

from quoting.documents.formats import formats_for
from quoting.documents.language import N_, Language
from quoting.documents.proposal_view import CompareRow, FloorRooms, RoomRow
from quoting.documents.proposal_words import (
    NOTHING,
    control_words,
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
    order = {room.code: place for place, room in enumerate(quote.job.rooms_in_house_order())}
    options = tuple(replace(option, rooms=tuple(sorted(
        option.rooms, key=lambda room: order.get(room.room, len(order))))) for option in quote.options)
    return replace(quote, options=options)


# ------------------------------------------------------------------------------------------------ room by room

def floors(quote: Quote, language: Language) -> tuple[FloorRooms, ...]:
    """Every room, floor by floor, in zone order, and what each option does there."""
    uses = tuple({row["room"]: row for row in fact_rows(quote, option, RoomUse)} for option in quote.options)
    promises = tuple({room.room: room for room in option.rooms} for option in quote.options)
    promised = {code for rooms in promises for code in rooms}
    by_floor: dict[int, list[RoomRow]] = {}
    for room in quote.job.rooms_in_house_order():
        if room.code not in promised:
            continue
        given = tuple((rooms.get(room.code), rows.get(room.code, {})) for rooms, rows in
                      zip(promises, uses, strict=True))
        by_floor.setdefault(room.floor, []).append(RoomRow(
            name=room.name, note=_plays_with(room, quote.job, language),
            gives=tuple(_room_lines(promise, use, room, language) for promise, use in given),
            states=tuple(promise.state if promise else "out" for promise, _ in given)))
    titled = len(by_floor) > 1
    return tuple(FloorRooms(title=floor_title(number, language) if titled else "", rooms=tuple(rows))
                 for number, rows in by_floor.items())


def room_lines(quote: Quote, option: PricedOption, language: Language) -> dict[str, Lines]:
    """What one option gives each room that it plays in or wires, by the room's code; with whom it plays comes last."""
    uses = {row["room"]: row for row in fact_rows(quote, option, RoomUse)}
    promises = {promise.room: promise for promise in option.rooms}
    found = {}
    for room in quote.job.rooms_in_house_order():
        if room.code in promises and promises[room.code].state != "out":
            lines = _room_lines(promises[room.code], uses.get(room.code, {}), room, language)
            together = _plays_with(room, quote.job, language) if promises[room.code].state == "live" else ""
            found[room.code] = (*lines, together) if together else lines
    return found


def _room_lines(promise: RoomPromise | None, use: FactRow, room: Room, language: Language) -> Lines:
    if promise is None or promise.state == "out":
        return (language.gettext("Not in this option"),)
    if promise.state != "live":
        return (language.gettext("Cable in the wall now, music can follow later"),)
    lines = [speaker_words(promise.speakers, use.get("mount") or room.mount, room.setting == "outdoor",
                           use.get("single_stereo", False), use.get("reuse_speakers", False), language)]
    lines.append(control_words(promise.control or "phone", language))
    if use.get("tv"):
        lines.append(language.gettext("The television is heard here"))
    if use.get("room_input"):
        lines.append(language.gettext("A socket for a player in the room"))
    return tuple(lines)


def _plays_with(room: Room, job: Job, language: Language) -> str:
    others = [other.name for other in job.rooms if other.zone == room.zone and other.code != room.code]
    if not others:
        return ""
    rooms = listed(others, language)
    if room.sub_zone:
        return language.gettext("plays together with %(rooms)s, at its own volume", rooms=rooms)
    return language.gettext("plays together with %(rooms)s", rooms=rooms)


# ------------------------------------------------------------------------------------------------ side by side

MOST_NAMES = 7  # in one cell of the comparison; the table of rooms names every one


def compare(quote: Quote, language: Language) -> tuple[CompareRow, ...]:
    """The same rows for every option; a row that says nothing in any of them is left out."""
    makers: tuple[tuple[str, Callable[[Quote, PricedOption, Language], Lines]], ...] = (
        (N_("Rooms with music"), _rooms_with_music),
        (N_("Wired now, music later"), _wired),
        (N_("Different things playing at once"), _streams),
        (N_("Speakers"), _speakers),
        (N_("How each room is controlled"), _controls),
        (N_("Televisions heard"), _televisions),
        (N_("Music comes from"), source_names),
        (N_("Also heard"), _bells),
        (N_("Outdoors, dug or laid by us"), _trenches),
        (N_("Where the equipment stands"), _head_end),
        (N_("What can be added later"), _later),
        (N_("What it gives up"), _gives_up),
        (N_("Service included"), _service),
    )
    rows = []
    for label, make in makers:
        cells = tuple(make(quote, option, language) for option in quote.options)
        if any(cells):
            shown = tuple(cell or (NOTHING,) for cell in cells)
            rows.append(CompareRow(label=language.gettext(label), cells=shown, differs=len(set(shown)) > 1))
    return tuple(rows)


def _system(quote: Quote, option: PricedOption) -> FactRow:
    return next(iter(fact_rows(quote, option, SystemFact)), {})


def _rooms_with_music(_: Quote, option: PricedOption, language: Language) -> Lines:
    rooms = live_rooms(option)
    names = listed((room.name for room in rooms), language, MOST_NAMES)
    return (language.ngettext("%(num)s room", "%(num)s rooms", len(rooms)), names) if rooms else ()


def _wired(_: Quote, option: PricedOption, language: Language) -> Lines:
    names = [room.name for room in option.rooms if room.state == "wired-only"]
    return (listed(names, language, MOST_NAMES),) if names else ()


def _streams(quote: Quote, option: PricedOption, _: Language) -> Lines:
    streams = _system(quote, option).get("streams", 0)
    return (str(streams),) if streams else ()


def _speakers(_: Quote, option: PricedOption, __: Language) -> Lines:
    count = sum(room.speakers for room in live_rooms(option))
    return (str(count),) if count else ()


def _controls(quote: Quote, option: PricedOption, language: Language) -> Lines:
    by_control: dict[str, list[str]] = {}
    for room in live_rooms(option):
        by_control.setdefault(room.control or "phone", []).append(room.name)
    lines = [language.gettext("%(control)s: %(rooms)s", control=control_words(control, language),
                              rooms=listed(names, language, MOST_NAMES)) for control, names in by_control.items()]
    return (*lines, *phone_lines(quote, option, language))


def phone_lines(quote: Quote, option: PricedOption, language: Language) -> Lines:
    """How many phones are set up; nothing where none is."""
    phones = _system(quote, option).get("phones", 0)
    return (language.ngettext("We set up %(num)s phone or tablet with you",
                              "We set up %(num)s phones or tablets with you", phones),) if phones else ()


def _televisions(quote: Quote, option: PricedOption, language: Language) -> Lines:
    live = {room.room: room.name for room in live_rooms(option)}
    names = [live[row["room"]] for row in fact_rows(quote, option, RoomUse) if row.get("tv") and row["room"] in live]
    return (listed(names, language),) if names else ()


def source_names(quote: Quote, option: PricedOption, language: Language) -> Lines:
    """What the music comes from, by name."""
    names = [language.gettext("%(name)s (yours)", name=name) if owned else name
             for name, owned in ((isolate(row.get("name", "")), row.get("owned")) for row in
                                 fact_rows(quote, option, AudioSource))]
    if any(row["shape"] == "network amplifiers" for row in fact_rows(quote, option, SystemFact)):
        names.insert(0, language.gettext("Streaming in every zone by itself"))
    return tuple(dict.fromkeys(names))


def _trenches(quote: Quote, option: PricedOption, language: Language) -> Lines:
    formats = formats_for(quote.job.terms.locale, quote.pricing.currency, quote.job.unit_system)
    words = {"trench": N_("trench, %(length)s"), "conduit": N_("sleeve, %(length)s")}
    found = [(words[row["what"]], row["length_m"]) for row in fact_rows(quote, option, Trench) if row["what"] in words]
    return tuple(language.gettext(laid, length=formats.length(length_m)) for laid, length_m in found)


def _bells(quote: Quote, option: PricedOption, language: Language) -> Lines:
    kinds = ((Doorbell, N_("Doorbell"), N_("Doorbell: %(name)s")), (Paging, N_("Paging"), N_("Paging: %(name)s")))
    return tuple(dict.fromkeys(
        language.gettext(plain) if _says_no_more(row["name"], plain, language) else
        language.gettext(named, name=isolate(row["name"]))
        for record, plain, named in kinds for row in fact_rows(quote, option, record)))


def _says_no_more(name: str, kind: str, language: Language) -> bool:
    """Whether a typed name is empty or only the word for its kind."""
    return name.strip().casefold() in ("", kind.casefold(), language.gettext(kind).casefold())


def _head_end(quote: Quote, option: PricedOption, language: Language) -> Lines:
    rack = next(iter(fact_rows(quote, option, RackFact)), None)
    place = isolate(quote.job.head_end.place)
    if rack is None:
        return (place,) if place else ()
    if rack.get("shelf_only"):
        return (language.gettext("On a shelf: %(place)s", place=place) if place else language.gettext("On a shelf"),)
    return (language.gettext("In a rack: %(place)s", place=place) if place else language.gettext("In a rack"),)


def _later(quote: Quote, option: PricedOption, language: Language) -> Lines:
    wired = [room.name for room in option.rooms if room.state == "wired-only"]
    lines = []
    if len(wired) > MOST_NAMES:
        lines.append(language.ngettext("Music in %(num)s more room, on the cable that is there",
                                       "Music in %(num)s more rooms, on the cable that is there", len(wired)))
    elif wired:
        lines.append(language.gettext("Music in %(rooms)s, on the cable that is there",
                                      rooms=listed(wired, language)))
    spare = _spare_zones(quote, option)
    if spare:
        lines.append(language.ngettext("%(num)s more zone on the same equipment",
                                       "%(num)s more zones on the same equipment", spare))
    return tuple(lines)


def _spare_zones(quote: Quote, option: PricedOption) -> int:
    """Zones that both the controllers and the amplifiers have room for; stereo, two channels each."""
    outputs = [row.get("spare_outputs", 0) for row in fact_rows(quote, option, ControllerFact)]
    channels = [row.get("spare_channels", 0) // 2 for row in fact_rows(quote, option, AmplifierFact)]
    limits = [sum(spare) for spare in (outputs, channels) if spare]
    return min(limits, default=0)


def _gives_up(quote: Quote, option: PricedOption, language: Language) -> Lines:
    missing = _missing(option, quote.options)
    lines = [option.gives_up] if option.gives_up else []
    if len(missing) > MOST_NAMES:
        lines.append(language.ngettext("No music yet in %(num)s of the rooms", "No music yet in %(num)s of the rooms",
                                       len(missing)))
    elif missing:
        lines.append(language.gettext("No music yet in %(rooms)s", rooms=listed(missing, language)))
    return tuple(lines)


def _missing(option: PricedOption, options: Iterable[PricedOption]) -> list[str]:
    """Rooms that play in some option and not in this one."""
    live = {room.room for room in live_rooms(option)}
    names = {room.room: room.name for other in options for room in live_rooms(other)}
    return [name for code, name in names.items() if code not in live]


def _service(quote: Quote, option: PricedOption, language: Language) -> Lines:
    years = _system(quote, option).get("service_years", 0)
    return (language.ngettext("%(num)s year", "%(num)s years", years),) if years else ()

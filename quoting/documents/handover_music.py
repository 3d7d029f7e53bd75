"""What the home-owner can listen to and where it is heard, and how the system is started again."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from quoting.documents.handover_view import RestartStep
from quoting.documents.language import N_, Language
from quoting.documents.proposal_rooms import FactRow, fact_rows, source_names
from quoting.documents.proposal_words import isolate, listed
from quoting.documents.streams import stream_names
from quoting.facts import (
    AmplifierFact,
    AmplifierOutput,
    AudioSource,
    Connection,
    ControllerFact,
    KeypadFact,
    NetworkDevice,
    RackSlot,
    RoomInput,
    SystemFact,
    ZoneFact,
)
from quoting.quote import PricedOption, Quote

ROUTER = N_("The router: off, half a minute later on again; wait until the internet is back.")


# ---------------------------------------------------------------- what plays

def sources_heard(quote: Quote, option: PricedOption, language: Language) -> tuple[str, ...]:
    """Everything that a zone can choose: players, and what comes back from the rooms, by the names to choose it by."""
    rooms = {room.code: isolate(room.name) for room in quote.job.rooms}
    sources = fact_rows(quote, option, AudioSource)
    in_rooms = {row["room"]: row for row in sources if not row["at_head_end"]}
    there = {isolate(row["name"]) for row in in_rooms.values()}
    names = stream_names(row for row in sources if row["at_head_end"])
    numbered: dict[str, list[str]] = {}
    for row in sources:
        numbered.setdefault(_plain(row, language), []).extend(
            _plain(row, language, name) for name in names.get(row["id"], ()))
    said = [one for name in source_names(quote, option, language)
            if not any(name in (plain, language.gettext("%(name)s (yours)", name=plain)) for plain in there)
            for one in numbered.get(name) or [name]]
    for entry in fact_rows(quote, option, RoomInput):
        room = rooms.get(entry["room"], entry["room"])
        player = in_rooms.get(entry["room"])
        if entry["what"] == "tv":
            said.append(language.gettext("the television in %(room)s", room=room))
        elif player is not None:
            said.append(language.gettext("%(name)s, at the socket in %(room)s", name=isolate(player["name"]),
                                         room=room))
        else:
            said.append(language.gettext("a player of your own, at the socket in %(room)s", room=room))
    return tuple(said)


def _plain(row: FactRow, language: Language, name: str = "") -> str:
    """A source, or one of its streams, as the owner reads its name."""
    said = isolate(name or row["name"])
    return language.gettext("%(name)s (yours)", name=said) if row["owned"] else said


def _at_once(quote: Quote, option: PricedOption, language: Language) -> Iterator[str]:
    """How many different pieces a player plays at once, where more zones may choose it."""
    if any(row["shape"] == "network amplifiers" for row in fact_rows(quote, option, SystemFact)):
        return  # each zone has a player of its own
    zones = len(fact_rows(quote, option, ZoneFact))
    most: dict[str, int] = {}
    for row in fact_rows(quote, option, AudioSource):
        if row["kind"] == "streamer":
            most[row["name"]] = most.get(row["name"], 0) + max(1, row["inputs"])
    for named, pieces in most.items():
        if pieces < zones:
            name = isolate(named)
            yield language.gettext("From %(name)s one piece plays in the house at a time: every zone that chooses it "
                                   "plays the same.", name=name) if pieces == 1 else language.gettext(
                "From %(name)s at most %(pieces)s different pieces play in the house at once: zones that choose the "
                "same number play the same piece.", name=name, pieces=pieces)


def _through_amplifiers(quote: Quote, option: PricedOption, language: Language) -> Iterator[str]:
    """What is heard nowhere while the amplifier that passes it on is off."""
    passing = {row["id"] for row in fact_rows(quote, option, AmplifierFact) if row["shares_inputs"]}
    names = {row["id"]: isolate(row["name"]) for row in fact_rows(quote, option, AudioSource)}
    rooms = {room.code: isolate(room.name) for room in quote.job.rooms}
    for row in fact_rows(quote, option, RoomInput):
        room = rooms.get(row["room"], row["room"])
        names[row["id"]] = language.gettext("the television in %(room)s", room=room) if row["what"] == "tv" else \
            language.gettext("a player of your own, at the socket in %(room)s", room=room)
    plugged: dict[str, list[str]] = {}
    for row in fact_rows(quote, option, Connection):
        if row["group"] == "source" and row["to_device"] in passing and row["basis"][0] in names:
            plugged.setdefault(row["to_device"], []).append(names[row["basis"][0]])
    for box, its in plugged.items():
        yield language.gettext("Plugged into the amplifier %(device)s: %(names)s. While that amplifier is off, this is "
                               "heard in no zone.", device=box, names=listed(dict.fromkeys(its), language))


def heard_everywhere(quote: Quote, option: PricedOption) -> bool:
    """Whether what is plugged in anywhere is heard in every zone: an amplifier may keep its inputs to itself."""
    boxes = {row["id"]: row for row in fact_rows(quote, option, AmplifierFact)}
    plugged = {row["to_device"] for row in fact_rows(quote, option, Connection) if row["group"] == "source"}
    return all(boxes[id]["shares_inputs"] or boxes[id]["shape"] != "network amplifiers"
               for id in plugged if id in boxes)


def source_notes(quote: Quote, option: PricedOption, language: Language) -> Iterator[str]:
    """How many pieces play at once, and how what stands in a room or is plugged in somewhere is heard in the others."""
    yield from _at_once(quote, option, language)
    in_rooms = bool(fact_rows(quote, option, RoomInput))
    if not in_rooms and not any(row["group"] == "source" for row in fact_rows(quote, option, Connection)):
        return
    if heard_everywhere(quote, option):
        yield language.gettext("Each of these is heard in every zone: choose it there by its name, as you choose "
                               "music.")
    else:
        yield language.gettext("What is plugged in is heard in its own zone; streaming is heard in every zone.")
    yield from _through_amplifiers(quote, option, language)
    if in_rooms:
        yield language.gettext("A television, or a player at a socket, is first switched on in its own room.")


# ---------------------------------------------------------------- starting again

def restart(quote: Quote, option: PricedOption, language: Language) -> Iterator[RestartStep]:
    """Amplifiers off first and on last, in between what they wait for; no device twice."""
    names = {room.code: room.name for room in quote.job.rooms}
    knobs = [names[row["room"]] for row in fact_rows(quote, option, KeypadFact)
             if row["control"] == "knob"]
    if knobs:
        yield _step(language.ngettext(
            "First turn up the knob on the wall: %(rooms)s.", "First turn up the knobs on the walls: %(rooms)s.",
            len(knobs), rooms=listed(dict.fromkeys(knobs), language)), switched=False)
    driving = {row["amplifier"] for row in fact_rows(quote, option, AmplifierOutput)}
    amplifiers = tuple(row["id"] for kind in (AmplifierFact, ControllerFact) for row in fact_rows(quote, option, kind)
                       if row["id"] in driving)
    playing = any(row["shape"] == "network amplifiers" for row in fact_rows(quote, option, AmplifierFact))
    if amplifiers:
        said = language.ngettext("The amplifier off: %(devices)s.", "The amplifiers off: %(devices)s.", len(amplifiers),
                                 devices=language.listed(amplifiers))
        also = language.ngettext("It is the player too.", "They are the players too.", len(amplifiers))
        yield _step(f"{said} {also}" if playing else said)
    yield _step(language.gettext(ROUTER))
    yield from _between(quote, option, language, amplifiers)
    if amplifiers:
        yield _step(language.ngettext(
            "Last of all the amplifier on again: %(devices)s. If its protection light stays on: off again, leave it "
            "off, and call us.",
            "Last of all the amplifiers on again, one after the other: %(devices)s. Where a protection light stays on: "
            "that one off again, leave it off, and call us.", len(amplifiers),
            devices=language.listed(amplifiers)), switched=False)


def _between(
    quote: Quote, option: PricedOption, language: Language, amplifiers: Iterable[str]
) -> Iterator[RestartStep]:
    """Network, controllers and players, each in its turn."""
    switches = [row["id"] for row in fact_rows(quote, option, NetworkDevice)]
    if switches:
        yield _step(language.ngettext(
            "The network switch %(devices)s: off, half a minute later on again; wait two minutes.",
            "The network switches %(devices)s: off, half a minute later on again; wait two minutes.", len(switches),
            devices=language.listed(switches)))
    controllers = [row["id"] for row in fact_rows(quote, option, ControllerFact) if row["id"] not in set(amplifiers)]
    if controllers:
        yield _step(language.ngettext(
            "The controller %(devices)s: off, half a minute later on again; wait until its lights are steady.",
            "The controllers %(devices)s: off, half a minute later on again; wait until their lights are steady.",
            len(controllers), devices=language.listed(controllers)))
    players = [_labelled(row) for row in fact_rows(quote, option, AudioSource)
               if row["at_head_end"]]
    if players:
        yield _step(language.ngettext(
            "What plays: %(devices)s. Off, half a minute later on again.",
            "What plays, one after the other: %(devices)s. Off, half a minute later on again.", len(players),
            devices=language.listed(players)))
    passed = _passed(quote, option)
    if passed:
        yield _step(language.ngettext(
            "What the sound passes on its way to the amplifiers: %(devices)s. Off, half a minute later on again.",
            "What the sound passes on its way to the amplifiers, one after the other: %(devices)s. Off, half a minute "
            "later on again.", len(passed), devices=language.listed(passed)))


def _passed(quote: Quote, option: PricedOption) -> list[str]:
    """What stands between a source and its input and has a cord: receivers of rooms, converters, by their places."""
    ends = [row for row in fact_rows(quote, option, Connection) if row["group"] == "source"]
    carrying = {row[end] for row in ends for end in ("from_device", "to_device")}
    corded = {row["to_device"] for row in fact_rows(quote, option, Connection) if row["group"] == "mains"}
    return [slot["id"] for slot in fact_rows(quote, option, RackSlot) if slot["id"] in carrying & corded]


def _labelled(row: FactRow) -> str:
    """A device as its label and its owner call it."""
    return f"{row['id']} {isolate(row['name'])}".strip()


def _step(text: str, switched: bool = True) -> RestartStep:
    return RestartStep(text=text, switched=switched)

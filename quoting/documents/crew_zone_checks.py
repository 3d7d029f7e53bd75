"""What is checked of one zone once it plays: limit, sources, sides, level, controls; and what then."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from quoting.documents.crew_readings import level_most, level_wanted
from quoting.documents.crew_wiring import FactRow, Wiring
from quoting.documents.crew_words import socket_words
from quoting.documents.floor_plan import rows_of_kind
from quoting.documents.streams import stream_names
from quoting.facts import Doorbell, KeypadFact, Paging, RoomInput, RoomLevel, RoomUse, SystemFact
from quoting.quote import PricedOption, Quote

ZoneCheck = tuple[str, str, str, str]  # what, how, expect, if not


def zone_checks(quote: Quote, option: PricedOption, wiring: Wiring, zone: FactRow) -> Iterator[ZoneCheck]:
    """The rows of one zone, its limit before anything is loud."""
    number = zone["zone"]

    def here(kind: type[Any]) -> list[FactRow]:
        return [row for row in rows_of_kind(quote, option, kind) if row["zone"] == number]

    yield _limit(zone)
    yield from _heard(quote, option, wiring, zone)
    if not zone["mono"]:
        yield ("Polarity", "a voice in mono between the pair, then a polarity tester where there is one",
               "the voice stands in the middle; bass is full", "one side's + and -: at the loudspeaker, then at the "
               "head end")
    levels = here(RoomLevel)
    for level in levels:
        wanted = level_wanted(level, wiring.limits["meter_db"])
        yield (f"Level at the seat, {level['room']}", "sound level meter, A-weighted, slow, full-range noise, by the "
               "volume alone", f"{wanted}. Volume then: ____", "the volume, not the gain; too low at the limit: a pair "
               "is silent, or one side's polarity")
    loudest = "".join(f", {level['room']} {level_most(level)}" for level in levels)
    yield ("Up to the limit", "turn up to the end; gain as the hook-up sheet has it",
           f"stops at the limit, nothing distorts{loudest}", "a lower limit, here and on the handover; the gain stays")
    yield ("Tone", "listen at low and at usual volume", "flat unless the family asks; write what was set",
           "the other zones' tone, the source's own")
    for keypad in here(KeypadFact):
        yield _control(wiring.words.device(keypad["id"]), keypad["control"])
    if any(room["control"] in ("phone", "knob") for room in here(RoomUse) if room["state"] == "live"):
        # a knob only turns down what a phone starts
        yield ("Phone", "the family's own phone, in each room of the zone", "finds the zone and plays at once",
               "wireless coverage there, the phone on the house's own network")
    for entry in here(RoomInput):
        yield (wiring.words.device(entry["id"]), f"play into it, listen here and in {_another(wiring, zone)}",
               "heard left and right, no hum", "its leads, its receiver at the head end; hum: an isolator")
    if zone["paged"] and rows_of_kind(quote, option, Paging):
        yield ("Page", "call once", "heard over the music, which comes back by itself",
               "its contact, the zone's page setting")
    if zone["paged"] and rows_of_kind(quote, option, Doorbell):
        yield ("Doorbell", "ring each door", "heard over the music, which comes back by itself",
               "its wire and contact, the zone's page setting")
    yield _off(wiring, zone)


def _off(wiring: Wiring, zone: FactRow) -> ZoneCheck:
    """What keeps the amplifier awake besides this zone, and what lets it sleep, as far as there is any."""
    id = zone["amplifier"]
    woken = any(box["id"] == id and box["trigger"] for box in wiring.amplifiers)
    passed = list(dict.fromkeys(wiring.words.device(row["basis"][0]) for row in wiring.words.group("source")
                                if row["to_device"] == id)) if id in wiring.passing else []
    shared = any(other["amplifier"] == id for other in wiring.zones if other is not zone)
    sleeps = f"{id} goes to sleep{' if no other zone keeps it awake' if shared else ''}"
    awake = f", or stays awake while another zone hears {' or '.join(passed)}" if passed else ""
    return ("Off", "zone off, then all off", f"silent; {sleeps}{awake}",
            f"stays awake: {'its trigger' if woken else 'its own sleep setting'}")


def _limit(zone: FactRow) -> ZoneCheck:
    if zone["max_volume"]:
        return ("Volume limit", "set before anything is loud", f"{zone['max_volume']} %",
                "set it again; try it from each control")
    return ("Volume limit", "ask the family; set before anything is loud", "____ %, here and on the handover",
            "until they say: where nothing distorts")


def _heard(quote: Quote, option: PricedOption, wiring: Wiring, zone: FactRow) -> Iterator[ZoneCheck]:
    """Each source; what is wrong with the first of them is told of at length."""
    sides = "mono from every loudspeaker" if zone["mono"] else "left from the left, right from the right"
    woken = any(box["id"] == zone["amplifier"] and box["trigger"] for box in wiring.amplifiers)
    at = f"{zone['controller']} output {zone['controller_output']}, " if zone["controller_output"] else ""
    swapped = "" if zone["mono"] else "; sides swapped: its plugs, or L and R at the terminals"
    if_not = (f"nothing: {zone['amplifier']} asleep ({'its trigger' if woken else 'its wake setting'}), volume, mute; "
              f"one side silent: its leads ({at}{zone['amplifier']}), its circuit{swapped}")
    heard = [(name, "a known piece, left and right by turns", id)
             for id, names in stream_names(wiring.sources.values()).items() for name in names]
    if any(row["shape"] == "network amplifiers" for row in rows_of_kind(quote, option, SystemFact)):
        heard.insert(0, ("Streaming", "started from the phone, left and right by turns", ""))
    for number, (name, how, source) in enumerate(heard):
        yield (f"{name} is heard", how, sides,
               f"{_way_of(wiring, source, zone)}; then as for {heard[0][0]}" if number else if_not)


def _way_of(wiring: Wiring, source: str, zone: FactRow) -> str:
    """What a source comes by: through another amplifier, over the network, where it is plugged in there."""
    for row in wiring.words.group("source"):
        box = wiring.passing.get(row["to_device"])
        if row["basis"][0] == source and box is not None:
            socket = socket_words(row["to_socket"], row["to_index"], False)
            if box["id"] == zone["amplifier"]:
                return f"its own lead, {box['id']} {socket}"
            return (f"{box['id']} on, its {socket} shared; the network ports of {box['id']} and {zone['amplifier']}; "
                    "its own lead")
    return "its own lead and input"


def _control(called: str, control: str) -> ZoneCheck:
    if control == "keypad":
        return (f"{called}, every button", "press each, by the schedule of keypad functions",
                "does what is written there, and its label says the same",
                "its programme; nothing at all: its cable's test")
    return (f"{called}, whole turn", "turn from end to end", "silent at one end, no crackle",
            "all off: IN and OUT, its jumper")


def _another(wiring: Wiring, zone: FactRow) -> str:
    """A zone to listen in besides: on another controller where there is one, so that the link is heard too."""
    others = [other for other in wiring.zones if other["zone"] != zone["zone"]]
    apart = [other for other in others if other["controller"] != zone["controller"]]
    other = next(iter(apart or others), None)
    return f"zone {other['zone']} {other['name']}" if other is not None else "each of its rooms"

"""The commissioning checklist of one option: item, when, metric, what to expect, result; by circuit, zone, system."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from quoting.documents.crew_hookup_wires import no_value
from quoting.documents.crew_sheet import CrewTable
from quoting.documents.crew_words import SIDES, CrewWords, listed
from quoting.documents.floor_plan import rows_of_kind
from quoting.documents.rack_elevation import printed_w
from quoting.facts import (
    AmplifierFact,
    AmplifierOutput,
    AudioSource,
    CableRun,
    Doorbell,
    KeypadFact,
    NetworkDevice,
    Paging,
    RackFact,
    RackSlot,
    RoomInput,
    RoomLevel,
    RoomUse,
    SystemFact,
    Trigger,
    VoltageLine,
    ZoneFact,
)
from quoting.quote import PricedOption, Quote

FactRow = Mapping[str, Any]
COLUMNS = ("Item", "When", "Metric", "Expect", "Result, initials, date")
LEVEL_TOLERANCE_DB = 4  # common practice, no source: a meter in a lived-in room repeats no better
RACK_MOST_F, RACK_MOST_C = 85, 29  # a rack cooling paper of the trade: keep the rack under 85 F
TRIM, LAST = "trim-out", "commissioning"
HEARING = "Hearing: set limits before the family plays; levels above 85 dB(A) for hours harm."


def commissioning(quote: Quote, option: PricedOption) -> tuple[CrewTable, ...]:
    """Speaker circuits, then a table a zone, then the system."""
    words = CrewWords(quote, option)
    outputs = rows_of_kind(quote, option, AmplifierOutput)
    zones = sorted(rows_of_kind(quote, option, ZoneFact), key=lambda zone: int(zone["zone"]))
    circuits = (*_circuits(quote, option, words, outputs), *_unused_circuits(quote, option, words))
    tables = [_table("Speaker circuits", circuits, (
        "Every amplifier off and its cord out while a meter is on a speaker circuit.",))]
    if category := tuple(_category_cables(quote, option, words)):
        tables.append(_table("Category cables", category, (
            "Power over the leads is off while a tester is on a cable.",)))
    tables += [_table(f"Zone {zone['zone']} {zone['name']}", _zone(quote, option, words, zone), (HEARING,))
               for zone in zones]
    tables.append(_table("The system", _system(quote, option), (
        "Mains circuits and breakers: a licensed electrician only. Local rules decide.",)))
    return tuple(tables)


def _table(title: str, rows: Iterable[tuple[str, str, str, str]], cautions: tuple[str, ...]) -> CrewTable:
    return CrewTable(title=title, columns=COLUMNS, rows=tuple((*row, "") for row in rows), cautions=cautions)


def _circuits(
    quote: Quote, option: PricedOption, words: CrewWords, outputs: tuple[FactRow, ...]
) -> Iterator[tuple[str, str, str, str]]:
    """A row a leg behind a knob and a circuit, as the hook-up sheet meters them; one for each output with several."""
    lines = {run["id"] for run in rows_of_kind(quote, option, CableRun) if run["purpose"] == "line"}

    def reading(row: FactRow) -> str:
        return _reading([row]) or no_value(row["to_device"] in words.knobs, row["run"] in lines)

    homes: dict[tuple[str, int], list[FactRow]] = {}
    for row in words.group("speaker"):
        homes.setdefault((row["from_device"], row["from_index"]), []).append(row)
        if row["from_device"] in words.knobs:
            yield (f"Cable {row['run']}A, {SIDES[row['from_side']]}", TRIM,
                   f"ohmmeter at {words.device(row['from_device'])}, before landing there", reading(row))
    for output in outputs:
        circuits = homes.get((output["amplifier"], output["channel"]), [])
        for row in circuits:
            yield (f"Cable {row['run']}A, {SIDES[row['from_side']]}", LAST, "ohmmeter at the rack, before landing",
                   reading(row))
        if len(circuits) > 1:
            yield (f"{output['id']}: {listed(row['id'] for row in circuits)} together", LAST,
                   "ohmmeter at the terminal, plug off the amplifier",
                   _reading(circuits) or "closed, not a short: no value told")


def _unused_circuits(quote: Quote, option: PricedOption, words: CrewWords) -> Iterator[tuple[str, str, str, str]]:
    """Speaker cables for later: nothing hangs on them yet, so that a meter at one end tells cuts from shorts."""
    landed = {row["run"] for row in words.connections if row["run"]}
    for run in rows_of_kind(quote, option, CableRun):
        if run["circuits"] and run["id"] not in landed:
            yield (f"Cable {run['id']}, not in use", TRIM, "ohmmeter, far end open, then its conductors held together",
                   "open, then closed, each pair by itself; both ends capped, coiled and tagged")


def _category_cables(quote: Quote, option: PricedOption, words: CrewWords) -> Iterator[tuple[str, str, str, str]]:
    """A row a cable: what it is landed on, or that both ends are coiled and tagged."""
    landed = {row["run"] for row in words.connections if row["run"]}
    for run in rows_of_kind(quote, option, CableRun):
        if run["role"].startswith("category"):
            ends = "" if run["id"] in landed else "; not in use: both ends capped, coiled and tagged"
            yield (f"Cable {run['id']}", TRIM, "cable tester, end to end",
                   f"eight conductors in order, no split pair{ends}")


def _reading(rows: list[FactRow]) -> str:
    """What the meter shows of circuits side by side; "" where nobody can tell. [ohm]"""
    if not all(row["meter_low_ohm"] for row in rows):
        return ""
    low, high = (1 / sum(1 / row[name] for row in rows) for name in ("meter_low_ohm", "meter_high_ohm"))
    return f"{low:.1f} to {high:.1f} ohm"


def _zone(quote: Quote, option: PricedOption, words: CrewWords, zone: FactRow) -> Iterator[tuple[str, str, str, str]]:
    number = zone["zone"]

    def here(kind: type[Any]) -> list[FactRow]:
        return [row for row in rows_of_kind(quote, option, kind) if row["zone"] == number]

    rooms = [row for row in here(RoomUse) if row["state"] == "live"]
    sides = "mono from every loudspeaker" if zone["mono"] else "left from the left, right from the right"
    for source in rows_of_kind(quote, option, AudioSource):
        yield (f"{source['name']} is heard", LAST, "a known piece, left and right by turns", sides)
    if _plays_itself(quote, option):
        yield ("Streaming is heard", LAST, "started from the phone, left and right by turns", sides)
    if not zone["mono"]:
        yield ("Polarity", LAST, "a voice in mono between the pair, then a polarity tester where there is one",
               "the voice stands in the middle; bass is full")
    for level in here(RoomLevel):
        low, high = level["target_db"] - LEVEL_TOLERANCE_DB, level["target_db"] + LEVEL_TOLERANCE_DB
        yield (f"Level at the seat, {level['room']}", LAST, "sound level meter, A-weighted, slow, full-range noise",
               f"{level['target_db']:.0f} dB, {low:.0f} to {high:.0f}; by design no louder than "
               f"{level['average_db']:.0f} dB. Write the volume setting")
    limit = (f"stops at {zone['max_volume']} %" if zone["max_volume"] else
             "stops where the family wants it: ask, set it, write it here and on the handover")
    yield ("Volume limit", LAST, "turn up to the end", f"{limit}; nothing distorts")
    yield ("Tone", LAST, "listen at low and at usual volume", "flat unless the family asks; write what was set")
    for keypad in here(KeypadFact):
        called = words.device(keypad["id"])
        yield (f"{called}, every button" if keypad["control"] == "keypad" else f"{called}, whole turn",
               LAST, "press each" if keypad["control"] == "keypad" else "turn from end to end",
               "does what its label says" if keypad["control"] == "keypad" else "silent at one end, no crackle")
    if any(room["control"] in ("phone", "knob") for room in rooms):  # a knob only turns down what a phone starts
        yield ("Phone", LAST, "the family's own phone, in each room of the zone", "finds the zone and plays at once")
    for entry in here(RoomInput):
        yield (words.device(entry["id"]), LAST, "play into it, listen here and in another zone",
               "heard left and right, no hum")
    if zone["paged"] and rows_of_kind(quote, option, Paging):
        yield ("Page", LAST, "call once", "heard over the music, which comes back by itself")
    if rows_of_kind(quote, option, Doorbell):
        yield ("Doorbell", LAST, "ring each door", "heard over the music, which comes back by itself")
    yield ("Off", LAST, "zone off, then all off", "silent; the amplifier goes to sleep if no other zone keeps it awake")
    yield ("After a power cut", LAST, "mains off for a minute, on again", "silent until asked, then as before")


def _plays_itself(quote: Quote, option: PricedOption) -> bool:
    """Whether each zone's amplifier is a player of its own."""
    return any(row["shape"] == "network amplifiers" for row in rows_of_kind(quote, option, SystemFact))


def _players(quote: Quote, option: PricedOption) -> int:
    """How many zones can stream something of their own at once."""
    if _plays_itself(quote, option):
        return len(rows_of_kind(quote, option, ZoneFact))
    return sum(max(1, row["inputs"]) for row in rows_of_kind(quote, option, AudioSource) if row["kind"] == "streamer")


def _system(quote: Quote, option: PricedOption) -> Iterator[tuple[str, str, str, str]]:
    players = _players(quote, option)
    yield ("Updates", LAST, "every device's version", "the newest; written down")
    yield ("Backup of settings", LAST, "made, and opened again from where it is kept", "complete; the owner has a copy")
    yield ("Passwords", LAST, "none is the maker's", "handed over in person, on no sheet")
    yield ("Clock and time zone", LAST, "on each device that shows one", "right, and right after a power cut")
    if players > 1:
        yield ("Streams", LAST, "as many at once as there are players, each another piece",
               f"{players} play, none stutters")
    for trigger in rows_of_kind(quote, option, Trigger):
        yield (f"Trigger {trigger['id']}", LAST, f"wake {trigger['wakes']} one by one",
               f"{trigger['amplifiers']} wake; no other does")
    for box in rows_of_kind(quote, option, AmplifierFact):
        if not box["trigger"]:
            yield (f"{box['id']} wakes", LAST, "play quietly from silence", "plays from the first note")
    for line in rows_of_kind(quote, option, VoltageLine):
        yield (f"Line {line['id']}, {line['line_v']:g} V", LAST, "impedance meter (not an ohmmeter), amplifier off",
               f"about {line['load_ohm']:.0f} ohm at 1 kHz for {line['taps']}")
    yield from _rack(quote, option)
    for switch in rows_of_kind(quote, option, NetworkDevice):
        yield (f"{switch['id']} ports", LAST, "lights and port list",
               f"{switch['used_ports']} in use as scheduled, the way to the router among them")
    yield ("Hum", LAST, "every zone on, volume at usual, nothing playing; then each source by turns",
           "nothing heard at the seat")
    yield ("All zones on one source", LAST, "an hour at usual volume", "no zone drops out; see heat")
    yield ("Labels", LAST, "both ends of five cables drawn by lot", "as on the pull list")


def _rack(quote: Quote, option: PricedOption) -> Iterator[tuple[str, str, str, str]]:
    """Heat after an hour, what the mains carries, and what the battery holds."""
    slots = rows_of_kind(quote, option, RackSlot)
    for rack in rows_of_kind(quote, option, RackFact):
        yield (f"{rack['id']} heat", LAST, "thermometer in the air at the top, door shut, after an hour of music",
               f"at most {RACK_MOST_F} F ({RACK_MOST_C} C){'; fans turn' if rack['fan_panels'] else ''}; "
               f"{rack['heat_w']:.0f} W by design")
        yield (f"{rack['id']} mains", LAST, "clamp or plug-in power meter at the strips, all zones playing",
               f"about {printed_w(slots, rack['id']):.0f} W, idle {rack['idle_w']:.0f} W; a circuit carries "
               f"{rack['circuit_limit_w']:.0f} W for hours")
        if rack["ups_part"]:
            yield (f"{rack['id']} UPS", LAST, "its cord out for two minutes, music playing",
                   f"controls and players stay on; {rack['ups_w']:.0f} of {rack['ups_limit_w']:.0f} W")

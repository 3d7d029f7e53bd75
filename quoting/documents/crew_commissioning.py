"""The commissioning checklist of one option: what, when, how, what to expect, what then; by circuit, zone, system."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from quoting.documents.crew_hookup_rooms import bare_cables, room_words
from quoting.documents.crew_readings import (
    PINS,
    PINS_IF_NOT,
    TERMINALS_DEAD,
    TOGETHER_IF_NOT,
    TOGETHER_UNKNOWN,
    WIRE_IF_NOT,
    reading,
    together,
    wires_alone,
)
from quoting.documents.crew_sheet import CrewTable
from quoting.documents.crew_wiring import HEAD_END, Wiring
from quoting.documents.crew_words import SIDES, listed
from quoting.documents.crew_zone_checks import zone_checks
from quoting.documents.floor_plan import rows_of_kind
from quoting.documents.rack_elevation import printed_w
from quoting.documents.work_limits import rack_air_words, work_limits
from quoting.facts import (
    NetworkDevice,
    RackFact,
    RackSlot,
    SystemFact,
    Trigger,
    VoltageLine,
)
from quoting.lines import Phase
from quoting.quote import PricedOption, Quote

FactRow = Mapping[str, Any]
COLUMNS = ("What to check", "When", "How", "Expect", "If not", "Result, initials, date")
TRIM: Phase = "trim-out"
LAST: Phase = "commissioning"
HEARING = "Hearing: set limits before the family plays; levels above {level_db:g} dB(A) for hours harm."


class Check(NamedTuple):
    """One row of the list; the result is written by hand."""

    what: str
    when: Phase
    how: str
    expect: str
    if_not: str


def commissioning(quote: Quote, option: PricedOption) -> tuple[CrewTable, ...]:
    """Speaker circuits, then a table a zone, then the system."""
    wiring = Wiring(quote, option)
    visits = {phase: ", ".join(option.timetable.visits_of(phase)) or phase for phase in (TRIM, LAST)}

    def table(title: str, rows: Iterable[Check], *cautions: str, whole: bool = False) -> CrewTable:
        return CrewTable(title=title, columns=COLUMNS, cautions=cautions, whole=whole,
                         rows=tuple((row.what, visits[row.when], row.how, row.expect, row.if_not, "") for row in rows))

    tables = [table("Speaker cables by themselves", (*_bare_cables(wiring), *_unused_circuits(wiring))),
              table("Speaker circuits", _circuits(wiring), TERMINALS_DEAD)]
    if category := tuple(_category_cables(wiring)):
        tables.append(table("Category cables", category, "Power over the leads is off while a tester is on a cable."))
    tables += [table(f"Zone {zone['zone']} {zone['name']}", (
        Check(what, LAST, *rest) for what, *rest in zone_checks(quote, option, wiring, zone))) for zone in wiring.zones]
    tables.append(table("The system", _system(quote, option, wiring),
                        "Mains circuits and breakers: a licensed electrician only. Local rules decide.", whole=True))
    return tuple(tables)


# ---------------------------------------------------------------- cables

def _circuits(wiring: Wiring) -> Iterator[Check]:
    """A row a test and a reading as the hook-up sheet takes them; one for each output with several circuits."""
    homes: dict[tuple[str, int], list[FactRow]] = {}
    for row in wiring.words.group("speaker"):
        home = wiring.runs[row["run"]]["start"] == HEAD_END
        if home:
            homes.setdefault((row["from_device"], row["from_index"]), []).append(row)
    for row in wiring.words.group("speaker"):
        if row["from_device"] in wiring.knobs:
            yield Check(f"Cable {row['run']}A, {SIDES[row['from_side']]}", TRIM,
                        f"ohmmeter at {wiring.words.device(row['from_device'])}, before landing there",
                        *reading(row, wiring.knobs, line=False))
    for output in wiring.outputs:
        circuits = homes.get((output["amplifier"], output["channel"]), [])
        for row in circuits:
            line = wiring.runs[row["run"]]["purpose"] == "line"
            yield Check(f"Cable {row['run']}A, {SIDES[row['from_side']]}", LAST,
                        "ohmmeter at the head end, before landing", *reading(row, wiring.knobs, line))
        if len(circuits) > 1:
            yield Check(f"{output['id']}: {listed(row['id'] for row in circuits)} together", LAST,
                        "ohmmeter at the terminal, all of them off the amplifier",
                        together(circuits) or TOGETHER_UNKNOWN, TOGETHER_IF_NOT)


def _bare_cables(wiring: Wiring) -> Iterator[Check]:
    """A row a room, of each of its cables before any end of it is landed."""
    for place, rows in bare_cables(wiring).items():
        yield Check(f"{room_words(wiring, place)}: {listed(row['run'] for row in rows)}", TRIM,
                    "ohmmeter, each pair, both ends free: open, then twisted together at the far end",
                    wires_alone(rows), WIRE_IF_NOT)


def _unused_circuits(wiring: Wiring) -> Iterator[Check]:
    """Speaker cables for later: nothing hangs on them yet, so that a meter at one end tells cuts from shorts."""
    for run in wiring.waiting:
        if wiring.purpose(run) != "category":
            yield Check(f"Cable {run}, not in use", TRIM, "ohmmeter, far end open, then its conductors held together",
                        "open, then closed, each pair by itself; both ends capped, coiled and tagged", WIRE_IF_NOT)


def _category_cables(wiring: Wiring) -> Iterator[Check]:
    """Each twice where it is landed: by itself, then from the panel; both ends off every device."""
    waiting = set(wiring.waiting)
    landed = {row["run"] for row in wiring.words.connections if row["run"]}
    for run in wiring.runs:
        if wiring.purpose(run) != "category":
            continue
        ends = "; not in use: both ends capped, coiled and tagged" if run in waiting else ""
        yield Check(f"Cable {run}", TRIM, "cable tester, temporary plug at the head end, before the room's end is "
                    "plugged in",
                    f"{PINS}{ends}", PINS_IF_NOT)
        if run in landed and wiring.runs[run]["start"] == HEAD_END:
            yield Check(f"Cable {run}", LAST, "cable tester from the panel's port, patch lead out, the room's end "
                        "unplugged",
                        PINS, PINS_IF_NOT)


# ---------------------------------------------------------------- the system

def _plays_itself(quote: Quote, option: PricedOption) -> bool:
    """Whether each zone's amplifier is a player of its own."""
    return any(row["shape"] == "network amplifiers" for row in rows_of_kind(quote, option, SystemFact))


def _streams(quote: Quote, option: PricedOption, wiring: Wiring) -> Iterator[Check]:
    """How many pieces can play at once, and by which players; what controllers could play besides, and does not."""
    if _plays_itself(quote, option):
        players, named = len(wiring.zones), "one from each zone's amplifier"
    else:
        used = [row for row in wiring.sources.values() if row["kind"] == "streamer"]
        players = sum(max(1, row["inputs"]) for row in used)
        named = ", ".join(f"{max(1, row['inputs'])} from {wiring.words.device(row['id'])}" for row in used)
        into = sum(not row["inputs"] for row in used)
        idle = [f"{box['streams']} in {box['id']}" for box in wiring.controllers if box["streams"]]
        if idle and not into:
            named += f"; those built in ({', '.join(idle)}) are not set up"
    if players > 1:
        yield Check("Streams", LAST, f"as many at once as there are players, each another piece: {named}",
                    f"{players} pieces play at once, none stutters", "the network's speed at the head end, then the "
                    "account's limit of streams")


def _system(quote: Quote, option: PricedOption, wiring: Wiring) -> Iterator[Check]:
    yield Check("Updates", LAST, "every device's version", "the newest; written down",
                "update it, then check its settings")
    yield Check("Backup of settings", LAST, "made, and opened again from where it is kept",
                "complete; the owner has a copy",
                "make it again before anybody leaves")
    yield Check("Passwords", LAST, "none is the maker's", "handed over in person, on no sheet",
                "change it with the owner")
    yield Check("Clock and time zone", LAST, "on each device that shows one", "right, and right after a power cut",
                "its time server, its time zone")
    yield from _streams(quote, option, wiring)
    for trigger in rows_of_kind(quote, option, Trigger):
        wake = "wakes" if trigger["amplifier_count"] == 1 else "wake"
        yield Check(f"Trigger {trigger['id']}", LAST, f"wake {trigger['wakes']} one by one",
                    f"{trigger['amplifiers']} {wake}, no other does", "its lead, its output's setting, the amplifier's "
                    "switch")
    for box in wiring.amplifiers:
        if not box["trigger"]:
            yield Check(f"{box['id']} wakes by itself", LAST, "play quietly from silence", "plays from the first note",
                        "its switch or setting for waking")
    for line in rows_of_kind(quote, option, VoltageLine):
        yield Check(f"Line {line['id']}, {line['line_v']:g} V", LAST,
                    "impedance meter (not an ohmmeter), amplifier off",
                    f"about {line['load_ohm']:.0f} ohm at 1 kHz for {line['taps']}",
                    "lower: a tap too high, or a loudspeaker too many; higher: one is missing. Not on before it is "
                    "found")
    yield from _rack(quote, option)
    for switch in rows_of_kind(quote, option, NetworkDevice):
        yield Check(f"{switch['id']} ports", LAST, "lights and port list",
                    f"{switch['used_ports']} in use as scheduled, the way to the router among them",
                    "the lead of the port that is dark, then its cable's test")
    yield Check("Hum", LAST, "every zone on, volume at usual, nothing playing; then each source by turns",
                "nothing heard at the seat", "with one source: its lead, an isolator; with all: mains and signal leads "
                "apart; in one zone: its input lead")
    yield Check("All zones on one source", LAST, "an hour at usual volume", "no zone drops out; see heat",
                "protection light: its circuits and its load; else its air")
    yield Check("After a power cut", LAST, f"every cord from the wall out for a minute, in again ({_cords(wiring)}): "
                "not by the breaker", "every zone silent until asked, then as before",
                "the setting of the device that stays off, or plays by itself")
    yield Check("Restart list of the owner's handover", LAST, "each switch or outlet of it, in its order",
                "reached from the front, labelled, written into the handover; all plays again after it",
                "a switch or an outlet that can be reached, with its label: nobody pulls anything out to restart")
    yield Check("Labels", LAST, "both ends of five cables drawn by lot", "as on the pull list",
                "all of that room's, then the rest")


def _cords(wiring: Wiring) -> str:
    """What is plugged into the wall at the rack."""
    return listed(row["to_device"] for row in wiring.words.group("mains") if row["from_device"] == "WALL")


def _rack(quote: Quote, option: PricedOption) -> Iterator[Check]:
    """Heat after an hour, what the mains carries, and what the battery holds."""
    slots = rows_of_kind(quote, option, RackSlot)
    for rack in rows_of_kind(quote, option, RackFact):
        yield _fixed(rack)
        yield Check(f"{rack['id']} heat", LAST, "thermometer in the air at the top, door shut, after an hour of music",
                    f"at most {rack_air_words(work_limits(quote))}{'; fans turn' if rack['fan_panels'] else ''}; "
                    f"{rack['heat_w']:.0f} W by design", "vents free, blanks in; then a way for the heat out of the "
                    "room")
        yield Check(f"{rack['id']} mains", LAST, "clamp or plug-in power meter at the strips, all zones playing",
                    f"about {printed_w(slots, rack['id']):.0f} W, idle {rack['idle_w']:.0f} W; a circuit carries "
                    f"{rack['circuit_limit_w']:.0f} W for hours", "far more: which device, strip by strip; near the "
                    "circuit's limit: all off, ask the electrician")
        if rack["ups_part"]:
            yield Check(f"{rack['id']} UPS", LAST, "its cord out for two minutes, music playing",
                        f"controls and players stay on; {rack['ups_w']:.0f} of {rack['ups_limit_w']:.0f} W",
                        "what is plugged into it, against the rack sheet; then its battery")


def _fixed(rack: FactRow) -> Check:
    """Whether a rack can tip, or come off its wall."""
    if rack["shelf_only"]:
        return Check(f"{rack['id']} stands", LAST, "push at its top, look behind it", "firm; no lead pinched",
                     "level it, free the lead")
    to = "wall" if rack["on_wall"] else "wall or floor"
    return Check(f"{rack['id']} is fixed", LAST, "pull at its top, look behind it",
                 f"to the {to}, and does not move; no lead pinched. Fixed to: ____", "fix it before anybody leaves")

"""The schedules of one option: zones and channels, sources, network ports, keypads and their bus, doorbells."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from quoting.documents.crew_controls import keypad_functions, knob_schedule
from quoting.documents.crew_pull import whole_length
from quoting.documents.crew_readings import PIN_SCHEME, level_words
from quoting.documents.crew_sheet import NONE, CrewTable
from quoting.documents.crew_words import CrewWords, listed, socket_words
from quoting.documents.floor_plan import rows_of_kind
from quoting.documents.streams import stream_names
from quoting.documents.work_limits import work_limits
from quoting.facts import (
    AmplifierFact,
    AmplifierOutput,
    AudioSource,
    CableRun,
    Doorbell,
    KeypadBus,
    KeypadFact,
    NetworkDevice,
    Paging,
    RoomLevel,
    RoomUse,
    ZoneFact,
)
from quoting.facts.connection import NO_SOCKET, WALL_JACK
from quoting.quote import PricedOption, Quote

FactRow = Mapping[str, Any]
PAGE = "Page"  # what a zone hears of calls: the heading names those that the house has
ZONE_COLUMNS = ("Zone", "Rooms", "Controller output", "Amplifier", "Channels L", "Channels R", "Bridged", "Pairs",
                "Load at one channel", "Least allowed", "Speaker cables", "Level at the seat, gain as set",
                "Keypads and ports", "Trigger", "Sources", PAGE, "Loudest volume")
SOURCE_COLUMNS = ("Input", "Source", "Comes from", "Cable or lead", "Converter", "Control", "Gain trim",
                  "Account owner")
NETWORK_COLUMNS = ("Switch", "Port", "Device", "Its socket", "Lead", "Power over the cable", "Fixed address")
DOORBELL_COLUMNS = ("Doorbell", "Cable", "Lands on", "Its socket", "Chime heard, volume set")
PANEL_COLUMNS = ("Panel, port", "Cable", "From", "Room", "Goes on to", "Carries")
KEYPAD_COLUMNS = ("Keypad", "Room", "Cable", "Patch port", "Port", "Draws")
HAND = ""  # filled in by hand


def schedules(quote: Quote, option: PricedOption) -> tuple[CrewTable, ...]:
    """Every schedule that has a row in this option."""
    words = CrewWords(quote, option)
    tables = (zone_schedule(quote, option, words), source_schedule(quote, option, words),
              network_schedule(quote, option, words), panel_schedule(quote, option, words),
              keypad_schedule(quote, option, words), keypad_functions(quote, option),
              knob_schedule(quote, option, words), doorbell_schedule(words))
    return tuple(table for table in tables if table.rows)


def zone_schedule(quote: Quote, option: PricedOption, words: CrewWords) -> CrewTable:
    """Zone and channel schedule: a row a zone, in zone order."""
    outputs: dict[int, list[FactRow]] = {}
    for output in rows_of_kind(quote, option, AmplifierOutput):
        outputs.setdefault(output["zone"], []).append(output)
    rooms: dict[int, list[str]] = {}
    for use in rows_of_kind(quote, option, RoomUse):
        if use["state"] == "live":
            rooms.setdefault(use["zone"], []).append(use["room"])
    keypads: dict[int, list[str]] = {}
    for row in _keypad_rows(quote, option, words):
        keypads.setdefault(row[1], []).append(f"{row[0]} {row[5]}")
    levels: dict[int, list[str]] = {}
    for level in rows_of_kind(quote, option, RoomLevel):
        levels.setdefault(level["zone"], []).append(level_words(level, work_limits(quote)["meter_db"]))
    heard = _sources_heard(quote, option, words)
    woken = {box["id"]: box["trigger"] for box in rows_of_kind(quote, option, AmplifierFact)}
    zones = sorted(rows_of_kind(quote, option, ZoneFact), key=lambda zone: int(zone["zone"]))
    rows = tuple(_zone_row(zone, outputs.get(zone["zone"], []), listed(rooms.get(zone["zone"], ())),
                           listed(keypads.get(zone["zone"], ())), woken.get(zone["amplifier"], ""),
                           "; ".join((*levels.get(zone["zone"], ()), "gain ____")), heard[zone["zone"]])
                 for zone in zones)
    calls = [heading for heading, kind in ((PAGE, Paging), ("Doorbell", Doorbell)) if rows_of_kind(quote, option, kind)]
    said = [at for at, column in enumerate(ZONE_COLUMNS) if column != PAGE or calls]
    return CrewTable(
        title="Zone and channel schedule", rows=tuple(tuple(row[at] for at in said) for row in rows),
        columns=tuple(", ".join(calls) if ZONE_COLUMNS[at] == PAGE else ZONE_COLUMNS[at] for at in said),
        cautions=("Land cables only with every amplifier off and its cord out: the hook-up sheet has the order.",
                  *(("Lines of 70 V and more are a shock risk: off before touching.",)
                    if any(row["line_v"] for rows in outputs.values() for row in rows) else ())))


def _zone_row(
    zone: FactRow, outputs: list[FactRow], rooms: str, keypads: str, trigger: str, level: str, sources: str
) -> tuple[str, ...]:
    def channels(*sides: str) -> str:
        return listed(f"{row['channel']}+{row['channel'] + 1}" if row["bridged"] else str(row["channel"])
                      for row in outputs if row["side"] in sides)

    fed = f"{zone['controller']} output {zone['controller_output']}" if zone["controller_output"] else NONE
    runs = listed(run for row in outputs for run in row["runs"].split(", ") if run)
    line = next((row["line_v"] for row in outputs if row["line_v"]), 0)
    across = f", half of the {2 * zone['load_ohm']:g} ohm across the bridge" if zone["bridged"] else ""
    load = f"{zone['load_ohm']:g} ohm" + (f", {line:g} V line" if line else across)
    least = max((row["least_ohm"] for row in outputs), default=0)
    allowed = f"{least:g} ohm{' across the bridge' if zone['bridged'] else ''}" if least else NONE
    return (f"{zone['zone']} {zone['name']}", rooms, fed, zone["amplifier"],
            f"{channels('M')} mono" if zone["mono"] else channels("L"), NONE if zone["mono"] else channels("R"),
            "yes" if zone["bridged"] else "no", str(zone["pairs"]), load, allowed, runs, level, keypads,
            trigger or NONE,
            sources,
            "yes" if zone["paged"] else "no",
            f"{zone['max_volume']} %" if zone["max_volume"] else "set with the family: ____ %")


def source_schedule(quote: Quote, option: PricedOption, words: CrewWords) -> CrewTable:
    """Source schedule: a row an input in use, and one for each player that needs none."""
    sources = {row["id"]: row for row in rows_of_kind(quote, option, AudioSource)}
    boxes = {row["to_device"] for row in words.group("zone lead", "speaker")}
    boxes |= {row["from_device"] for row in words.group("zone lead", "speaker")}
    runs = {row["basis"][0]: row["run"] for row in words.group("source") if row["run"]}
    rows, streams = [], {id: iter(names) for id, names in stream_names(sources.values()).items()}
    for row in words.group("source"):
        if row["to_device"] in boxes:
            by = row["basis"][0]
            called = f"{by} {next(streams[by])}" if by in streams else words.device(by)
            rows.append(_source_row(row, called, sources, runs, words))
    rows += [(NONE, words.device(source["id"]), "network", "network lead", NONE, source["control"], HAND, HAND)
             for source in sources.values() if source["at_head_end"] and not source["inputs"]]
    return CrewTable(title="Source schedule", columns=SOURCE_COLUMNS,
                     rows=tuple(sorted(rows, key=lambda row: (row[0] == NONE, _natural(row[0])))),
                     notes=("Gain trim: every source as loud as the first one; write the setting.",
                            *_ways_on(quote, option, words)))


def _sources_heard(quote: Quote, option: PricedOption, words: CrewWords) -> dict[int, str]:
    """By zone, what is heard in it: all that is plugged in, unless an amplifier keeps its inputs to itself."""
    zones = rows_of_kind(quote, option, ZoneFact)
    if not any(box["shape"] == "network amplifiers" for box in rows_of_kind(quote, option, AmplifierFact)):
        return {zone["zone"]: "all" for zone in zones}
    sharing = {box["id"] for box in rows_of_kind(quote, option, AmplifierFact) if box["shares_inputs"]}
    plugged = [(words.place(row["basis"][0]), row["to_device"]) for row in words.group("source")]
    boxes = {zone["amplifier"] for zone in zones}
    return {zone["zone"]: ", ".join(("its own stream", *dict.fromkeys(
        id for id, box in plugged if box == zone["amplifier"] or (box in boxes and box in sharing))))
        for zone in zones}


def _ways_on(quote: Quote, option: PricedOption, words: CrewWords) -> Iterator[str]:
    """How what is plugged into one box is heard in the zones of the others."""
    zones = sorted(rows_of_kind(quote, option, ZoneFact), key=lambda zone: int(zone["zone"]))
    for row in words.group("link"):
        fed = [str(zone["zone"]) for zone in zones if zone["controller"] == row["to_device"]]
        yield (f"{row['to_device']} has no leads from sources of its own: the link lead from {row['from_device']} "
               f"carries the inputs to it, for zone{'' if len(fed) == 1 else 's'} {', '.join(fed)}.")
    for box in rows_of_kind(quote, option, AmplifierFact):
        taken = listed(words.device(row["basis"][0]) for row in words.group("source") if row["to_device"] == box["id"])
        if box["shape"] == "network amplifiers" and taken != NONE:
            yield (f"{taken}: plugged into {box['id']}, which passes it on over the network; every zone chooses it "
                   "there."
                   if box["shares_inputs"] else f"{taken}: heard in the zone of {box['id']} alone.")


def _source_row(
    row: FactRow, called: str, sources: Mapping[str, FactRow], runs: Mapping[str, str], words: CrewWords
) -> tuple[str, ...]:
    by = row["basis"][0]
    source, run = sources.get(by), runs.get(by, "")
    comes = source["connector"] if source else socket_words(row["from_socket"], row["from_index"], True)
    between = row["from_device"] != by and row["from_device"] in words.slots
    return (f"{row['to_device']} {socket_words(row['to_socket'], row['to_index'], False)}", called, comes,
            f"cable {run}, then {words.by(row)}" if run else words.by(row),
            words.device(row["from_device"]) if between else NONE, source["control"] if source else NONE, HAND, HAND)


def network_schedule(quote: Quote, option: PricedOption, words: CrewWords) -> CrewTable:
    """Network schedule: a row a port in use, by switch and port, the way up named."""
    switches = {row["id"] for row in rows_of_kind(quote, option, NetworkDevice)}
    rows: list[tuple[str, int, tuple[str, ...]]] = []
    for row in words.connections:
        for near, far in (("from", "to"), ("to", "from")):
            if row[f"{near}_device"] in switches and row[f"{near}_socket"].startswith("network"):
                socket = socket_words(row[f"{far}_socket"], row[f"{far}_index"], far == "from")
                rows.append((row[f"{near}_device"], row[f"{near}_index"], (
                    row[f"{near}_device"], str(row[f"{near}_index"]), words.device(row[f"{far}_device"]), socket,
                    words.by(row), "yes" if row["powered"] == "poe" else "no",
                    NONE if row[f"{far}_device"] in switches else HAND)))
    return CrewTable(title="Network schedule", columns=NETWORK_COLUMNS,
                     rows=tuple(cells for _, _, cells in sorted(rows, key=lambda row: (_natural(row[0]), row[1]))),
                     notes=("Reserve an address for each device and write it here; keep passwords elsewhere.",))


def panel_schedule(quote: Quote, option: PricedOption, words: CrewWords) -> CrewTable:
    """Patch panel port by port: which cable of the walls, and what may never go into the network switch."""
    by_id, runs = {row["id"]: row for row in words.connections}, rows_of_kind(quote, option, CableRun)
    landed = [row for row in words.connections if row["to_socket"] == "network punch-down"]
    ports: dict[str, list[int]] = {}
    rows = []
    for row in sorted(landed, key=lambda row: (_natural(row["to_device"]), row["to_index"])):
        patch = by_id.get(f"P{row['run']}")
        if patch is not None and not patch["to_socket"].startswith("network"):
            ports.setdefault(row["to_device"], []).append(row["to_index"])
        rows.append((f"{row['to_device']} port {row['to_index']}", row["run"],
                     words.start(row) if row["from_socket"] == WALL_JACK else words.device(row["from_device"]),
                     row["room"],
                     words.end(patch) if patch is not None else NONE, _carried(row, by_id.get(f"W{row['run']}", row))))
    on_a_port = {row["run"] for row in landed}
    waiting = [run["id"] for run in runs if run["start"] == "HE" and run["role"].startswith("category")
               and run["id"] not in on_a_port]
    notes = [f"{panel}: {_counted(found)} {'carries' if len(found) == 1 else 'carry'} audio, a feed or bus power: "
             "never into the network switch." for panel, found in ports.items()]
    if waiting:
        notes.append(f"Beside the panel, coiled and tagged, on no port yet: {listed(waiting)}.")
    return CrewTable(title="Patch panel", columns=PANEL_COLUMNS, rows=tuple(rows), notes=(*notes, PIN_SCHEME))


def _carried(row: FactRow, jack: FactRow) -> str:
    """What goes over a cable of the walls. `jack`: what is plugged into its wall jack; itself where it has none."""
    if row["group"] == "control":
        return {"bus": "keypad bus, with its power", "poe": "network, with power"}.get(row["powered"], "keypad")
    return "audio, and the sender's feed" if jack["note"] else "audio"


def _counted(numbers: Sequence[int]) -> str:
    """Ports as a person says them.

    >>> _counted([1, 2, 3, 7]), _counted([4])
    ('ports 1 to 3, 7', 'port 4')
    """
    spans: list[list[int]] = []
    for number in numbers:
        if spans and spans[-1][-1] == number - 1:
            spans[-1].append(number)
        else:
            spans.append([number])
    said = ", ".join(str(span[0]) if len(span) == 1 else f"{span[0]} to {span[-1]}" for span in spans)
    return f"port{'' if len(numbers) == 1 else 's'} {said}"


def keypad_schedule(quote: Quote, option: PricedOption, words: CrewWords) -> CrewTable:
    """Keypads by cable, patch port and bus port, with what the bus gives."""
    rows = tuple((keypad, room, cable, patch, port, draws)
                 for keypad, _, room, cable, patch, port, draws in _keypad_rows(quote, option, words))
    system = quote.job.unit_system
    notes = tuple(f"Bus: {bus['asked_ma']:.0f} of {bus['given_ma']:.0f} mA, {whole_length(bus['run_m'], system)} of "
                  f"{whole_length(bus['limit_m'], system)} of cable."
                  for bus in rows_of_kind(quote, option, KeypadBus))
    return CrewTable(title="Keypad schedule", columns=KEYPAD_COLUMNS, rows=rows, notes=notes,
                     cautions=("The keypad bus carries power: plug keypads with the controller off.",) if rows else ())


def _keypad_rows(
    quote: Quote, option: PricedOption, words: CrewWords
) -> tuple[tuple[str, int, str, str, str, str, str], ...]:
    """Keypad, zone, room, cable, patch port, port, current; a row for each of its cables."""
    by_id = {row["id"]: row for row in words.connections}
    cables: dict[str, list[FactRow]] = {}
    for row in words.group("control"):
        if row["run"]:
            for device in (row["from_device"], row["to_device"]):
                cables.setdefault(device, []).append(row)
    found = []
    for keypad in rows_of_kind(quote, option, KeypadFact):
        if keypad["control"] != "keypad":
            continue
        for row in cables.get(keypad["id"], ({},)):
            patch = by_id.get(f"P{row.get('run', '')}")
            at = f"{patch['from_device']} port {patch['from_index']}" if patch else NONE
            port = _port(patch) if patch else f"on from {words.place(row['from_device'])}" if row else NONE
            if row and not patch and row["from_device"] == keypad["id"]:
                continue  # its second socket, where the next keypad goes on
            draws = f"{keypad['bus_ma']:.0f} mA" if keypad["bus_ma"] else NONE
            found.append((keypad["place"], keypad["zone"], keypad["room"], row.get("run", NONE), at, port, draws))
    return tuple(found)


def doorbell_schedule(words: CrewWords) -> CrewTable:
    """Doorbells by cable, and where each lands."""
    rows = tuple((words.device(row["from_device"]), row["run"], words.device(row["to_device"]),
                  socket_words(row["to_socket"], row["to_index"], False), HAND)
                 for row in words.group("control") if row["run"] and row["from_device"].startswith("BELL-"))
    return CrewTable(title="Doorbell schedule", columns=DOORBELL_COLUMNS, rows=rows)


def _port(patch: FactRow) -> str:
    if patch["to_socket"] in ("", NO_SOCKET):
        return "no port free"
    return f"{patch['to_device']} {socket_words(patch['to_socket'], patch['to_index'], False)}"


def _natural(text: str) -> tuple[tuple[int, str], ...]:
    """Words and numbers in the order that a person counts."""
    return tuple((int(word), "") if word.isdigit() else (0, word) for word in text.replace("-", " ").split())

"""The part of the hook-up that is done at the rack with everything off: switches, leads, meter, terminals, tester."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from quoting.documents.crew_hookup_rooms import HELD, landed_words, meter, stow
from quoting.documents.crew_readings import PINS, PINS_IF_NOT, TOGETHER_IF_NOT, TOGETHER_UNKNOWN, together
from quoting.documents.crew_steps import HookUpStep
from quoting.documents.crew_wiring import HEAD_END, STRIPS, FactRow, Wiring, ends_in
from quoting.documents.crew_words import SIDES, listed
from quoting.facts.connection import WALL_OUTLET

BRIDGED = ("across the bridge: loudspeaker + on the terminal marked bridge +, loudspeaker - on the one marked bridge "
           "-; the minus terminals of the single channels stay empty, as the amplifier's own sheet shows")


def switches(wiring: Wiring) -> Iterator[HookUpStep]:
    """Every amplifier's switches as scheduled, its gains at minimum."""
    bridged: dict[str, list[str]] = {}
    volts: dict[str, list[str]] = {}
    for output in wiring.outputs:
        channel = output["channel"]
        if output["bridged"]:
            bridged.setdefault(output["amplifier"], []).append(f"{channel}+{channel + 1}")
        if output["line_v"]:
            volts.setdefault(output["amplifier"], []).append(f"output {channel} to {output['line_v']:g} V")
    for box in wiring.amplifiers:
        said = [f"bridge channels {', '.join(bridged[box['id']])} and no others"] if box["id"] in bridged else []
        if box["channels"] > 2 and box["id"] not in volts:
            said = ["every channel pair to its own input, none to a shared input", *(said or ["bridge nothing"])]
        said += volts.get(box["id"], [])
        said.append("wake by trigger" if box["trigger"] else "wake as its maker says: no trigger is scheduled")
        yield HookUpStep(action="set", what=f"Set: {'; '.join(said)}.", end=wiring.words.device(box["id"]),
                         devices=(box["id"],), if_not="compare with the zone and channel schedule")
    for id in wiring.amplifying:
        yield HookUpStep(action="set", what="Every gain to minimum.", end=wiring.words.device(id), devices=(id,),
                         if_not="where it has none: lowest volume before it plays")


# ---------------------------------------------------------------- speaker circuits

def metering(wiring: Wiring) -> Iterator[HookUpStep]:
    """Each circuit at the rack, before its cable touches a terminal."""
    for row in _home_circuits(wiring):
        yield meter(wiring, row, "the head end", f"{row['run']}A")


def at_rack(wiring: Wiring) -> Iterator[HookUpStep]:
    """Every circuit onto its channel, by cable id; what shares a terminal by design is metered together."""
    left = Counter((row["from_device"], row["from_index"]) for row in _home_circuits(wiring))
    landed: dict[tuple[str, int], list[FactRow]] = {}
    for row in _home_circuits(wiring):
        channel = (row["from_device"], row["from_index"])
        landed.setdefault(channel, []).append(row)
        others = [id for id in row["joint"].split(", ") if id and id != row["id"]
                  and wiring.rows[id]["from_device"] == row["from_device"]]
        fitted = wiring.fitted(f"{row['run']}A")
        pair = f"{SIDES[row['from_side']]} pair of conductors; " if wiring.runs[row["run"]]["circuits"] > 1 else ""
        shows, if_not = landed_words(fitted)
        yield HookUpStep(
            action="connect",
            what="Land the speaker circuit" + (f", each conductor in a {fitted}" if fitted else "") + (
                f", side by side with {listed(others)}" if others else ""),
            start=wiring.words.start(row), end=wiring.words.end(row), by=f"cable {row['run']}",
            polarity=f"{pair}the same colour at both ends; {BRIDGED}" if row["bridged"] else wiring.polarity(row),
            shows=shows, if_not=if_not, devices=(row["from_device"],), connections=(row["id"],),
            cable_ends=(wiring.ends(row)[0][1],))
        if left[channel] == len(landed[channel]) > 1:
            yield _metered_together(wiring, landed[channel])


_OFF = {"speaker plug-in": "its plug off the amplifier", "speaker binding post": "their plugs out of the posts"}


def _metered_together(wiring: Wiring, rows: list[FactRow]) -> HookUpStep:
    """Circuits side by side on one output, off the amplifier: its output stage would be metered with them."""
    off = _OFF.get(rows[0]["from_socket"], "all of them out of the terminal, held together")
    return HookUpStep(
        action="meter", what=f"Meter {listed(row['id'] for row in rows)} together, {off}; then back in",
        start=wiring.words.start(rows[0]), by=f"cables {listed(row['run'] for row in rows)}",
        shows=together(rows) or TOGETHER_UNKNOWN, if_not=TOGETHER_IF_NOT, devices=(rows[0]["from_device"],),
        connections=tuple(row["id"] for row in rows))


def _home_circuits(wiring: Wiring) -> Iterator[FactRow]:
    return (row for row in wiring.words.group("speaker") if wiring.runs[row["run"]]["start"] == HEAD_END)


# ---------------------------------------------------------------- leads

def leads(wiring: Wiring, *groups: str) -> Iterator[HookUpStep]:
    """Leads of these groups between devices that we bring: made where the rack is built. Mains cords come at power-on.

    Only strips behind a UPS are plugged in while all is off: the UPS itself brings them up. What goes on from a cable
    of the walls waits until that cable is proved.
    """
    for row in wiring.words.group(*groups):
        if row["group"] == "mains":
            if row["from_socket"] != WALL_OUTLET and row["to_device"] in strips(wiring):
                yield _lead(wiring, row)
        elif not row["run"] and not wiring.is_patch(row) and ends_in(row) <= wiring.racked - wiring.owned:
            yield _lead(wiring, row)


def wall_cables(wiring: Wiring) -> Iterator[HookUpStep]:
    """The rack ends of the walls' cables, each proved once both its ends are on, then what goes on from its port."""
    rows = [row for row in wiring.words.group("source", "link", "control", "trigger", "network") if row["run"]]
    for row in rows:
        for way, (device, cable_end) in wiring.cable_ends_of(row):
            if device in wiring.racked:
                punched = row[f"{way}_socket"] == "network punch-down"
                yield HookUpStep(
                    action="connect", what="Punch the head end down, the same pin scheme as in the room" if punched else
                    "Land the head end of the cable",
                    end=wiring.words.end(row) if way == "to" else wiring.words.start(row), by=f"cable {row['run']}",
                    polarity=row["note"], shows="eight conductors down, none cut" if punched else HELD,
                    if_not="cut and punch it again" if punched else "cut, strip and land it again", devices=(device,),
                    connections=(row["id"],), cable_ends=(cable_end,))
    for row in rows:
        if wiring.purpose(row["run"]) == "category" and wiring.runs[row["run"]]["start"] == HEAD_END:
            yield _proved_again(wiring, row)
    for row in wiring.words.group("source", "control"):
        if wiring.is_patch(row) and ends_in(row) <= wiring.racked - wiring.owned:
            yield _lead(wiring, row)


def _proved_again(wiring: Wiring, row: FactRow) -> HookUpStep:
    room, end = row["from_device"], wiring.words.start(row)
    jack = room == f"{row['run']}B"
    return HookUpStep(
        action="test", what="Cable tester from the panel's front port to the room, "
        + ("nothing else in the wall jack" if jack else "end B unplugged there; then plug it in again"),
        start=wiring.words.end(row).replace("rear port", "port").replace(" (punched down)", ""), end=end,
        by=f"cable {row['run']}", shows=PINS, if_not=PINS_IF_NOT, devices=(room,), connections=(row["id"],),
        cables=(row["run"],))


def family_leads(wiring: Wiring) -> Iterator[HookUpStep]:
    """What joins the family's own devices, at the rack and in the rooms, and leads between things of a room."""
    for row in wiring.words.group("source", "link", "control", "trigger", "network"):
        for way, (device, cable_end) in wiring.cable_ends_of(row):
            if wiring.is_family_s(device):
                yield HookUpStep(
                    action="connect", what=f"Land end {cable_end[-1]} of the cable",
                    end=wiring.words.end(row) if way == "to" else wiring.words.start(row), by=f"cable {row['run']}",
                    polarity=row["note"], shows=HELD, if_not="cut, strip and land it again", devices=(device,),
                    connections=(row["id"],), cable_ends=(cable_end,))
        if not row["run"] and not ends_in(row) <= wiring.racked - wiring.owned:
            yield _lead(wiring, row)
            if row["from_device"] in wiring.sources and wiring.sources[row["from_device"]]["phono"]:
                yield HookUpStep(
                    action="set", what="The record player's earth wire, where it has one, under the earth screw of the "
                    "phono preamplifier", start=wiring.words.device(row["from_device"]),
                    end=wiring.words.device(row["to_device"]), devices=(row["to_device"],), shows="held when tugged",
                    if_not="without it records hum")


def waiting_ends(wiring: Wiring) -> Iterator[HookUpStep]:
    """The head end's side of the cables that nothing is landed on."""
    ends = tuple(f"{run}A" for run in wiring.waiting if wiring.runs[run]["start"] == HEAD_END)
    if ends:
        yield stow(wiring, ends, "where they come out at the head end")


def strips(wiring: Wiring) -> set[str]:
    """Power strips and the like: what others are plugged into, the UPS left out."""
    return {id for id, slot in wiring.words.slots.items() if slot["what"] in STRIPS}


def _lead(wiring: Wiring, row: FactRow) -> HookUpStep:
    shared = f"shares its socket by design with {row['joint']}" if row["joint"] else ""
    half = _HALF.get(row["from_side"], "") if row["group"] == "zone lead" else ""
    return HookUpStep(
        action="connect", what="Plug in" if row["lead"] or row["group"] == "mains" else "Connect",
        start=wiring.words.start(row), end=wiring.words.end(row), by=wiring.words.by(row),
        polarity="; ".join(filter(None, (row["note"], half, shared))), devices=(row["from_device"], row["to_device"]),
        connections=(row["id"],))


_HALF = {"L": "the left plugs of the zone's lead", "R": "the right plugs of the same lead"}

"""The part of the hook-up that is done with everything off: rooms, switches, meter, terminals, leads."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from quoting.documents.crew_steps import HookUpStep
from quoting.documents.crew_words import SIDES, CrewWords, listed
from quoting.documents.floor_plan import rows_of_kind
from quoting.facts import (
    AmplifierFact,
    AmplifierOutput,
    AudioSource,
    CableEnd,
    CableRun,
    ControllerFact,
    KeypadFact,
    Place,
    ZoneFact,
)
from quoting.facts.connection import JOINT, WALL_OUTLET
from quoting.quote import PricedOption, Quote

FactRow = Mapping[str, Any]
SAME_COLOUR = "+ to +, - to -: the same conductor colour at both ends"
STRIPS = ("surge strip", "power strip", "remote power unit")  # of standards/rack_order.csv


class Wiring:
    """One option's connections with what the sheet asks of them."""

    def __init__(self, quote: Quote, option: PricedOption) -> None:
        self.words = CrewWords(quote, option)
        self.rows = {row["id"]: row for row in self.words.connections}
        self.runs = {run["id"]: run for run in rows_of_kind(quote, option, CableRun)}
        self.places = {place["id"]: place for place in rows_of_kind(quote, option, Place)}
        self.amplifiers = rows_of_kind(quote, option, AmplifierFact)
        self.controllers = rows_of_kind(quote, option, ControllerFact)
        self.outputs = rows_of_kind(quote, option, AmplifierOutput)
        self.knobs = tuple(row for row in rows_of_kind(quote, option, KeypadFact) if row["id"] in self.words.knobs)
        self.phono = {row["id"] for row in rows_of_kind(quote, option, AudioSource) if row["phono"]}
        self.terminals = {end["id"]: end["terminal"] for end in rows_of_kind(quote, option, CableEnd)}
        self.zones = sorted(rows_of_kind(quote, option, ZoneFact), key=lambda zone: int(zone["zone"]))
        self.line_zones = {output["zone"]: output["line_v"] for output in self.outputs if output["line_v"]}
        self.racked = {row["to_device"] for row in self.words.group("mains")} | set(self.words.slots)
        self.racked |= {box["id"] for box in (*self.amplifiers, *self.controllers)}
        self.owned = {slot["device"] for slot in self.words.slots.values() if slot["device"] and not slot["part"]}

    @property
    def amplifying(self) -> tuple[str, ...]:
        """The boxes that drive loudspeakers, in their order."""
        return tuple(dict.fromkeys(output["amplifier"] for output in self.outputs))

    def holds(self, place: str) -> str:
        """Where wires are joined at a place: never loose in a wall."""
        at = self.places.get(place)
        if at is None or at["device"] != "speaker":
            return "the box"
        if at["setting"] == "outdoor" and (at["ring"] or at["mount"] == "garden"):
            return "the weather box, with gel splices"
        return "the ring behind the loudspeaker" if at["ring"] else "the loudspeaker's opening"

    def ends(self, row: FactRow) -> tuple[tuple[str, str], tuple[str, str]]:
        """The devices at the two ends of a cable's connection, each with its cable end: from, to."""
        run = self.runs[row["run"]]
        near, far = f"{run['id']}A", f"{run['id']}B"
        side = f" {row['from_side']}" if row["group"] == "speaker" else ""
        far_first = row["group"] != "speaker" and row["from_device"] in (
            far, run["end"], run["end"].replace("-K", "-KP"), run["end"].replace("-I", "-IN"))
        first, last = (far, near) if far_first else (near, far)
        return (row["from_device"], first + side), (row["to_device"], last + side)


def in_rooms(wiring: Wiring) -> Iterator[HookUpStep]:
    """Joints, loudspeakers, knobs, keypads and plates, room by room as the cables go.

    What lies behind a knob is metered there, once its far end is landed: from the rack a meter sees only the knob.
    """
    joints: dict[tuple[str, int, str], list[tuple[str, str]]] = {}
    loose, metered, at_knobs = [], [], []  # leads between things of a room are plugged in where its cables are landed
    for row in wiring.words.connections:
        for way, (device, cable_end) in _cable_ends(wiring, row):
            if row[f"{way}_socket"] == JOINT and row["group"] == "speaker":
                joints.setdefault((device, row[f"{way}_index"], row[f"{way}_side"]), []).append((row["id"], cable_end))
            elif device in wiring.words.knobs:
                at_knobs.append(_room_end(wiring, row, way, device, cable_end))
                if way == "from":
                    metered.append(_meter(wiring, row, "the knob's end, before it is landed there", cable_end))
            elif device not in wiring.racked:
                yield _room_end(wiring, row, way, device, cable_end)
        if not row["run"] and row["group"] != "mains" and {row["from_device"], row["to_device"]}.isdisjoint(
                wiring.racked):
            loose.append(_lead(wiring, row))
    for (place, index, side), ends in joints.items():
        yield _join(wiring, place, index, side, ends)
    yield from metered
    yield from at_knobs
    for knob in wiring.knobs:
        yield HookUpStep(
            action="set", what=f"Set its jumper or switch for {knob['pairs_controlled']} "
            f"{'pair' if knob['pairs_controlled'] == 1 else 'pairs'} of loudspeakers, as its own sheet says where it "
            "has one; turn it full up and leave it so until the rack has played.", end=wiring.words.device(knob["id"]),
            devices=(knob["id"],), if_not="compare IN and OUT with its own sheet")
    yield from loose


def _join(wiring: Wiring, place: str, index: int, side: str, ends: list[tuple[str, str]]) -> HookUpStep:
    where = f"{wiring.words.device(place)}{f', joint {index}' if index else ''}"
    return HookUpStep(
        action="connect", what=f"Join in {wiring.holds(place)}: {listed(end for _, end in ends)}", start=where,
        by=listed(f"cable {end.split()[0][:-1]}" for _, end in ends),
        polarity=f"{SIDES[side]} circuit: + with +, - with -", shows="each conductor held when tugged",
        if_not="make the joint again", devices=(place,), connections=tuple(id for id, _ in ends),
        cable_ends=tuple(end for _, end in ends))


def _cable_ends(wiring: Wiring, row: FactRow) -> Iterator[tuple[str, tuple[str, str]]]:
    if row["run"]:
        yield from zip(("from", "to"), wiring.ends(row), strict=True)


def _room_end(wiring: Wiring, row: FactRow, way: str, device: str, cable_end: str) -> HookUpStep:
    speaker = row["group"] == "speaker"
    place = wiring.words.end(row) if way == "to" else wiring.words.start(row)
    end = cable_end.split()[0]
    what = _LANDED.get("" if speaker else wiring.terminals.get(end, ""), "Land end {end} of the cable")
    return HookUpStep(
        action="connect", what=what.format(end=end[-1]), end=place,
        by=f"cable {row['run']}", polarity=_polarity(wiring, row) if speaker else row["note"], devices=(device,),
        connections=(row["id"],), cable_ends=(cable_end,))


_LANDED = {"plug": "Put a network plug on end {end} of the cable and plug it in",
           "jack": "Punch end {end} of the cable down on a network jack and click it into its plate"}


def _polarity(wiring: Wiring, row: FactRow) -> str:
    pair = f"{SIDES[row['from_side']]} pair of conductors; " if wiring.runs[row["run"]]["circuits"] > 1 else ""
    return pair + SAME_COLOUR


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
        said = ["every channel pair to its own input, none to a shared input"]
        said.append(f"bridge channels {', '.join(bridged[box['id']])} and no others" if box["id"] in bridged
                    else "bridge nothing")
        said += volts.get(box["id"], [])
        said.append("wake by trigger" if box["trigger"] else "wake as its maker says: no trigger is scheduled")
        yield HookUpStep(action="set", what=f"Set: {'; '.join(said)}.", end=wiring.words.device(box["id"]),
                         devices=(box["id"],), if_not="compare with the zone and channel schedule")
    for id in wiring.amplifying:
        yield HookUpStep(action="set", what="Every gain to minimum.", end=wiring.words.device(id), devices=(id,),
                         if_not="where it has none: lowest volume before it plays")


def metering(wiring: Wiring) -> Iterator[HookUpStep]:
    """Each circuit at the rack, before its cable touches a terminal."""
    for row in _home_circuits(wiring):
        yield _meter(wiring, row, "the rack end", f"{row['run']}A")


def _meter(wiring: Wiring, row: FactRow, where: str, start: str) -> HookUpStep:
    low, high = row["meter_low_ohm"], row["meter_high_ohm"]
    if low:
        shows = f"{low:.1f} to {high:.1f} ohm"
        if_not = "near 0: a short; far above: a joint or terminal is open; half: two pairs are joined on the way"
    else:
        shows = no_value(row["to_device"] in wiring.words.knobs, wiring.runs[row["run"]]["purpose"] == "line")
        if_not = "open, or below 0.5 ohm: look for a cut or a short before landing it"
    return HookUpStep(action="meter", what=f"Meter across the two conductors at {where}", start=start.split()[0],
                      by=f"cable {row['run']}", polarity=f"{SIDES[row['from_side']]} circuit", shows=shows,
                      if_not=if_not, connections=(row["id"],))


def no_value(knob: bool, line: bool) -> str:
    """What a meter says of a circuit whose reading nobody can tell beforehand."""
    if knob:
        return "closed, not a short, the knob full up: the meter sees its winding; what is behind it was metered there"
    if line:
        return "closed, not a short: the meter sees windings of transformers"
    return "closed, not a short: a cable of unknown length, or a knob behind a joint, is on the way"


def at_rack(wiring: Wiring) -> Iterator[HookUpStep]:
    """Every circuit onto its channel, by cable id; what shares a terminal by design says so."""
    for row in _home_circuits(wiring):
        together = [id for id in row["joint"].split(", ") if id and id != row["id"]
                    and wiring.rows[id]["from_device"] == row["from_device"]]
        bridge = ("bridged: across the two terminals marked for it, never to a - terminal of its own; "
                  if row["bridged"] else "")
        yield HookUpStep(
            action="connect", what="Land the speaker circuit" + (
                f", side by side with {listed(together)}" if together else ""),
            start=wiring.words.start(row), end=wiring.words.end(row), by=f"cable {row['run']}",
            polarity=bridge + _polarity(wiring, row), shows="no strand beside the terminal",
            if_not="cut, strip and land it again", devices=(row["from_device"],), connections=(row["id"],),
            cable_ends=(wiring.ends(row)[0][1],))


def _home_circuits(wiring: Wiring) -> Iterator[FactRow]:
    return (row for row in wiring.words.group("speaker") if wiring.runs[row["run"]]["start"] == "HE")


def leads(wiring: Wiring, *groups: str) -> Iterator[HookUpStep]:
    """Leads of these groups between devices that we bring: made where the rack is built. Mains cords come at power-on.

    Only strips behind a UPS are plugged in while all is off: the UPS itself brings them up.
    """
    for row in wiring.words.group(*groups):
        if row["group"] == "mains":
            if row["from_socket"] != WALL_OUTLET and row["to_device"] in strips(wiring):
                yield _lead(wiring, row)
        elif not row["run"] and _ends(row) <= wiring.racked - wiring.owned:
            yield _lead(wiring, row)


def house_leads(wiring: Wiring) -> Iterator[HookUpStep]:
    """The rack ends of the walls' cables, and leads to what is the family's own: made where the rack stands."""
    for row in wiring.words.group("source", "link", "control", "trigger", "network"):
        for way, (device, cable_end) in _cable_ends(wiring, row):
            if device in wiring.racked:
                place = wiring.words.end(row) if way == "to" else wiring.words.start(row)
                yield HookUpStep(action="connect", what="Land the rack end of the cable", end=place,
                                 by=f"cable {row['run']}", polarity=row["note"], devices=(device,),
                                 connections=(row["id"],), cable_ends=(cable_end,))
        if not row["run"] and _ends(row) & wiring.racked and not _ends(row) <= wiring.racked - wiring.owned:
            yield _lead(wiring, row)
            if row["from_device"] in wiring.phono:
                yield HookUpStep(
                    action="set", what="The record player's earth wire, where it has one, under the earth screw of the "
                    "phono preamplifier", start=wiring.words.device(row["from_device"]),
                    end=wiring.words.device(row["to_device"]), devices=(row["to_device"],), shows="held when tugged",
                    if_not="without it records hum")


def _ends(row: FactRow) -> set[str]:
    return {row["from_device"], row["to_device"]}


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

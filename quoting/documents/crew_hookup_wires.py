"""The part of the hook-up that is done with everything off: rooms, switches, meter, terminals, leads."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from quoting.documents.crew_steps import HookUpStep
from quoting.documents.crew_words import SIDES, CrewWords, listed
from quoting.documents.floor_plan import rows_of_kind
from quoting.facts import AmplifierFact, AmplifierOutput, CableRun, ControllerFact, Place, ZoneFact
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
        self.zones = sorted(rows_of_kind(quote, option, ZoneFact), key=lambda zone: int(zone["zone"]))
        self.line_zones = {output["zone"]: output["line_v"] for output in self.outputs if output["line_v"]}
        self.racked = {row["to_device"] for row in self.words.group("mains")} | set(self.words.slots)
        self.racked |= {box["id"] for box in (*self.amplifiers, *self.controllers)}

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
    """Joints, loudspeakers, knobs, keypads and plates, room by room as the cables go."""
    joints: dict[tuple[str, int, str], list[tuple[str, str]]] = {}
    loose = []  # leads between things of a room: plugged in where its cables are landed
    for row in wiring.words.connections:
        for way, (device, cable_end) in _cable_ends(wiring, row):
            if row[f"{way}_socket"] == JOINT and row["group"] == "speaker":
                joints.setdefault((device, row[f"{way}_index"], row[f"{way}_side"]), []).append((row["id"], cable_end))
            elif device not in wiring.racked:
                yield _room_end(wiring, row, way, device, cable_end)
        if not row["run"] and row["group"] != "mains" and {row["from_device"], row["to_device"]}.isdisjoint(
                wiring.racked):
            loose.append(_lead(wiring, row))
    for (place, index, side), ends in joints.items():
        where = f"{wiring.words.device(place)}{f', joint {index}' if index else ''}"
        yield HookUpStep(
            action="connect", what=f"Join in {wiring.holds(place)}: {listed(end for _, end in ends)}", start=where,
            by=listed(f"cable {end.split()[0][:-1]}" for _, end in ends),
            polarity=f"{SIDES[side]} circuit: + with +, - with -", shows="each conductor held when tugged",
            if_not="make the joint again", devices=(place,), connections=tuple(id for id, _ in ends),
            cable_ends=tuple(end for _, end in ends))
    yield from loose


def _cable_ends(wiring: Wiring, row: FactRow) -> Iterator[tuple[str, tuple[str, str]]]:
    if row["run"]:
        yield from zip(("from", "to"), wiring.ends(row), strict=True)


def _room_end(wiring: Wiring, row: FactRow, way: str, device: str, cable_end: str) -> HookUpStep:
    speaker = row["group"] == "speaker"
    place = wiring.words.end(row) if way == "to" else wiring.words.start(row)
    return HookUpStep(
        action="connect", what=f"Land end {cable_end.split()[0][-1]} of the cable", end=place,
        by=f"cable {row['run']}", polarity=_polarity(wiring, row) if speaker else row["note"], devices=(device,),
        connections=(row["id"],), cable_ends=(cable_end,))


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
        low, high = row["meter_low_ohm"], row["meter_high_ohm"]
        if low:
            shows = f"{low:.1f} to {high:.1f} ohm"
            if_not = "near 0: a short; far above: a joint or terminal is open; half: two pairs are joined on the way"
        else:
            shows = "no value told: a volume knob, a transformer or an old cable of unknown length is on the way"
            if_not = "open, or below 0.5 ohm: look for a cut or a short before landing it"
        yield HookUpStep(action="meter", what="Meter across the two conductors at the rack end", start=f"{row['run']}A",
                         by=f"cable {row['run']}", polarity=f"{SIDES[row['from_side']]} circuit", shows=shows,
                         if_not=if_not, connections=(row["id"],))


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
    """Leads of these groups at the rack, and the rack ends of the walls' cables. Mains cords come at power-on.

    Only strips behind a UPS are plugged in while all is off: the UPS itself brings them up.
    """
    for row in wiring.words.group(*groups):
        if row["run"]:
            for way, (device, cable_end) in _cable_ends(wiring, row):
                if device in wiring.racked:
                    place = wiring.words.end(row) if way == "to" else wiring.words.start(row)
                    yield HookUpStep(action="connect", what="Land the rack end of the cable", end=place,
                                     by=f"cable {row['run']}", polarity=row["note"], devices=(device,),
                                     connections=(row["id"],), cable_ends=(cable_end,))
        elif row["group"] == "mains":
            if row["from_socket"] != WALL_OUTLET and row["to_device"] in strips(wiring):
                yield _lead(wiring, row)
        elif {row["from_device"], row["to_device"]} & wiring.racked:
            yield _lead(wiring, row)


def strips(wiring: Wiring) -> set[str]:
    """Power strips and the like: what others are plugged into, the UPS left out."""
    return {id for id, slot in wiring.words.slots.items() if slot["what"] in STRIPS}


def _lead(wiring: Wiring, row: FactRow) -> HookUpStep:
    shared = f"shares its socket by design with {row['joint']}" if row["joint"] else ""
    return HookUpStep(
        action="connect", what="Plug in" if row["lead"] or row["group"] == "mains" else "Connect",
        start=wiring.words.start(row), end=wiring.words.end(row), by=wiring.words.by(row),
        polarity="; ".join(filter(None, (row["note"], shared))), devices=(row["from_device"], row["to_device"]),
        connections=(row["id"],))

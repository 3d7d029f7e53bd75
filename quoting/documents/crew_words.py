"""The crew's words for devices, sockets and cables of a connection: trade words, never a maker's."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from quoting.documents.crew_places import device_places, place_words
from quoting.documents.floor_plan import rows_of_kind
from quoting.facts import (
    AudioSource,
    CableRun,
    Connection,
    Doorbell,
    KeypadFact,
    OwnedItem,
    Paging,
    RackSlot,
    RoomInput,
)
from quoting.facts.connection import JOINT, NO_SOCKET, ROUTER, WALL_JACK, WALL_OUTLET, WINDOW
from quoting.quote import PricedOption, Quote

FactRow = Mapping[str, Any]
SIDES = {"L": "left", "R": "right", "LR": "left and right", "M": "mono"}
_OF_THE_HOUSE = {
    WALL_JACK: "wall jack", ROUTER: "a free port, or a live socket of it at the head end", WINDOW: "infrared window",
    NO_SOCKET: "no socket: ask",
}
_KNOB = {"to": "IN, from the amplifier", "from": "OUT, to the loudspeaker"}
_NAMED = {"ROUTER": "router of the house", "WALL": "wall outlet"}


class CrewWords:
    """One option's connections, and what its devices are called."""

    def __init__(self, quote: Quote, option: PricedOption) -> None:
        self.connections = rows_of_kind(quote, option, Connection)
        self._called = {row["id"]: row["name"] for kind in (AudioSource, OwnedItem, Doorbell, Paging)
                        for row in rows_of_kind(quote, option, kind)}
        self.senders = {row["id"] for row in rows_of_kind(quote, option, RoomInput) if row["what"] == "tv"}
        self._hangs_at, self._places = device_places(quote, option), place_words(quote, option)
        self.televisions = {self._hangs_at[row["id"]] for row in rows_of_kind(quote, option, RoomInput)
                             if row["what"] == "tv"}
        self.knobs = {row["id"] for row in rows_of_kind(quote, option, KeypadFact) if row["control"] == "knob"}
        slots = rows_of_kind(quote, option, RackSlot)
        self._stands = {slot["device"]: slot["id"] for slot in reversed(slots) if slot["device"]}
        self._jacks = {f"{run['id']}B": run["end"] for run in rows_of_kind(quote, option, CableRun)}
        self.slots = {slot["id"]: slot for slot in slots}
        self._parts = quote.parts

    def group(self, *names: str) -> tuple[FactRow, ...]:
        """The connections of some groups."""
        return tuple(row for row in self.connections if row["group"] in names)

    def device(self, id: str) -> str:
        """What a device is called: its id, that of its place where it hangs at one, and what somebody who does not know
        the id would look for."""
        slot = self.slots.get(id)
        if slot is not None:
            words = self.part(slot["part"]) if slot["part"] else slot["what"]
            return f"{id} {words.partition(',')[0]}"
        if id in _NAMED:
            return _NAMED[id]
        if id in self._called:
            return f"{id} {self._called[id]}"
        if id.startswith("BELL-"):
            return f"{id} door bell"
        if id in self.senders:
            return f"television sender {id}"  # it stands with the set: at the place is the plate
        if id in self.televisions:
            return f"television at {id}"  # the family's own; what hangs at the place is its plate
        return self._places.get(self._hangs_at.get(id, id), id)

    def spot(self, place: str) -> str:
        """What a place is called, whatever hangs there or is plugged in there."""
        return self._places.get(place, place)

    def place(self, id: str) -> str:
        """The id of the place where a device hangs; its own where it hangs at none."""
        return self._hangs_at.get(id, id)

    def part(self, part: str) -> str:
        """The office's description of a part; its number where the bill has none of it."""
        found = self._parts.get(part)
        return found.description if found else part

    def stands(self, id: str) -> str:
        """Where in the rack a device stands, "" where it does not."""
        return id if id in self.slots else self._stands.get(id, "")

    def start(self, row: FactRow) -> str:
        """Where a connection comes from."""
        return self._end(row, "from")

    def end(self, row: FactRow) -> str:
        """Where it goes."""
        return self._end(row, "to")

    def _end(self, row: FactRow, way: str) -> str:
        device, socket, index, side = (row[f"{way}_{name}"] for name in ("device", "socket", "index", "side"))
        if socket == WALL_OUTLET:
            return f"wall outlet, circuit {index}"
        if socket == WALL_JACK:
            return f"wall jack at {self.spot(self._jacks[device])}, {device}"
        if socket == JOINT:
            return f"{self.device(device)}, {'joint' if not index else f'joint {index}'}{_and_side(side)}"
        if device in self.knobs:  # with its sides turned round it plays at one volume, or not at all
            return f"{self.device(device)}, {_KNOB[way]}{_and_side(side)}"
        words = socket_words(socket, index, way == "from")
        if row["bridged"] and way == "from" and row["group"] == "speaker":
            words = words.replace(f"channel {index}", f"channels {index}+{index + 1} bridged")
        return f"{self.device(device)}, {words}{_and_side(side)}"

    def by(self, row: FactRow) -> str:
        """The cable or lead, and what sits in the middle of it."""
        own = {"control": "a piece of bell wire", "mains": "its own cord"}.get(row["group"], "its own lead")
        lead = f"cable {row['run']}" if row["run"] else self.part(row["lead"]) if row["lead"] else own
        middle = " and ".join(self.part(part) for part in row["through"].split(", ") if part)
        return f"{lead} with {middle}" if middle else lead


def _and_side(side: str) -> str:
    return f", {SIDES[side]}" if side else ""


def socket_words(socket: str, index: int, out: bool) -> str:
    """A socket as a person at the rack reads it.

    >>> socket_words("line RCA", 3, False), socket_words("speaker plug-in", 5, True)
    ('RCA input 3', 'channel 5 (plug-in)')
    """
    if socket in _OF_THE_HOUSE:
        return _OF_THE_HOUSE[socket]
    signal, _, plug = socket.partition(" ")
    way = "output" if out else "input"
    if signal == "speaker":
        return f"channel {index} ({plug})" if out else f"terminal {index} ({plug})"
    if signal in ("line", "digital"):
        return f"{plug or signal} {way} {index}"
    if signal == "trigger":
        return f"trigger {way} {index}"
    if signal == "network":
        return f"port {index}" if plug != "punch-down" else f"rear port {index} (punched down)"
    if signal == "mains":
        return f"outlet {index}" if plug == "mains outlet" else plug or "mains cord"
    names = {"RJ45": "keypad port", "link": "link socket", "screw": "contact", "3.5 mm": "emitter socket",
             "serial": "serial port"}
    return f"{names.get(plug, plug or signal)} {index}"


def listed(ids: Iterable[str]) -> str:
    """Ids in their order, each once, or a dash."""
    return ", ".join(dict.fromkeys(ids)) or "–"

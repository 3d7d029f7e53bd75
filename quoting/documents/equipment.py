"""The pieces of equipment of one option that have a serial number and a warranty of their own."""

from __future__ import annotations

from msgspec import Struct

from quoting.documents.floor_plan import rows_of_kind
from quoting.facts import (
    AmplifierFact,
    AudioSource,
    ControllerFact,
    KeypadFact,
    NetworkDevice,
    RackFact,
    RackSlot,
    RoomInput,
    Speaker,
)
from quoting.quote import PricedOption, Quote

KINDS = (ControllerFact, AmplifierFact, AudioSource, NetworkDevice, KeypadFact, RoomInput, Speaker)
IN_THE_RACK = ("electronics", "sources", "network", "controls")  # part categories: panels and shelves have no serial
ON_MAINS = ("ups", "surge strip", "power strip", "remote power unit", "fan panel")


class Piece(Struct, frozen=True, kw_only=True):
    """One piece: the id of its fact, the part, the code of its room ("" at the head end)."""

    id: str
    part: str
    room: str


def pieces(quote: Quote, option: PricedOption) -> tuple[Piece, ...]:
    """Every piece that the firm brings, the head end first; what the customer owns keeps its own papers."""
    found = {row["id"]: Piece(id=row["id"], part=row["part"], room=row["room"])
             for kind in KINDS for row in rows_of_kind(quote, option, kind)
             if row["part"] and not row.get("owned", False)}
    for slot in rows_of_kind(quote, option, RackSlot):  # what stands with a device has its place in the rack for a name
        info = quote.parts.get(slot["part"])
        its_own = slot["device"] in found and found[slot["device"]].part == slot["part"]
        if info is not None and not its_own and (info.category in IN_THE_RACK or slot["what"] in ON_MAINS):
            found[slot["id"]] = Piece(id=slot["id"], part=slot["part"], room="")
    for rack in rows_of_kind(quote, option, RackFact):
        found[rack["id"]] = Piece(id=rack["id"], part=rack["part"], room="")
    return tuple(sorted(found.values(), key=lambda piece: bool(piece.room)))

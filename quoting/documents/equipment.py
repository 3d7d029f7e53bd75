"""The pieces of equipment of one option that have a serial number and a warranty of their own."""

from __future__ import annotations

from dataclasses import dataclass

from quoting.documents.floor_plan import rows_of_kind
from quoting.facts import (
    AmplifierFact,
    AudioSource,
    ControllerFact,
    KeypadFact,
    NetworkDevice,
    RackSlot,
    Speaker,
)
from quoting.quote import PricedOption, Quote

KINDS = (ControllerFact, AmplifierFact, AudioSource, NetworkDevice, KeypadFact, Speaker)
IN_THE_RACK = ("electronics", "sources", "network", "controls")  # part categories: panels and shelves have no serial


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One piece: the id of its fact, the part, the code of its room ("" at the head end)."""

    id: str
    part: str
    room: str


def pieces(quote: Quote, option: PricedOption) -> tuple[Piece, ...]:
    """Every piece that the firm brings, the head end first; what the customer owns keeps its own papers."""
    found = {row["id"]: Piece(id=row["id"], part=row["part"], room=row["room"])
             for kind in KINDS for row in rows_of_kind(quote, option, kind)
             if row["part"] and not row.get("owned", False)}
    others = {row["id"] for kind in KINDS for row in rows_of_kind(quote, option, kind)}
    for slot in rows_of_kind(quote, option, RackSlot):
        info = quote.parts.get(slot["part"])
        if slot["device"] not in others and info is not None and info.category in IN_THE_RACK:
            name = slot["device"] or slot["id"]
            found.setdefault(name, Piece(id=name, part=slot["part"], room=""))
    return tuple(sorted(found.values(), key=lambda piece: bool(piece.room)))

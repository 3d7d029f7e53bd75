"""Mains as connections: wall outlet, UPS, strips, devices, outlet by outlet."""

from __future__ import annotations

from quoting.engineering.socket_ledger import Box, End, Ledger
from quoting.facts import RackSlot
from quoting.facts.connection import WALL_OUTLET

STRIPS = ("surge strip", "power strip", "remote power unit")
BACKED = ("power strip", "remote power unit")  # the UPS feeds these
INLET = "mains inlet"  # takes a cord of ours; a wall transformer or a plug brings its own


def mains_connections(ledger: Ledger) -> None:
    """UPS and surge strips into the wall by circuit, the strips that the UPS feeds into it, devices into outlets."""
    slots = ledger.brief.of(RackSlot)
    battery = next((slot for slot in slots if slot.what == "ups"), None)
    strips = {slot.strip: slot for slot in slots if slot.what in STRIPS}
    for slot in slots:
        if slot.what == "ups" or slot.what in STRIPS:
            backed = battery is not None and slot.what in BACKED
            start = (ledger.end(ledger.slots[battery.id], "out", ("mains",)) if backed and battery else
                     End("WALL", "", WALL_OUTLET, slot.circuit))
            _plug(ledger, slot, start, "ups" if backed else "mains")
        elif slot.outlet and slot.strip in strips:
            strip = strips[slot.strip]
            box = ledger.slots[strip.id]
            start = ledger.end(box, "out", ("mains",), index=slot.outlet) if box.part else End(
                box.id, "", "mains outlet", slot.outlet)
            _plug(ledger, slot, start, "ups" if battery and strip.what in BACKED else "mains")


def _plug(ledger: Ledger, slot: RackSlot, start: End, powered: str) -> None:
    box = ledger.slots[slot.id]
    end = ledger.end(Box(box.id, box.part, slot.where), "in", ("mains",), index=1)
    own = not end.socket.endswith(INLET)
    ledger.join("mains", f"{slot.id}-P", start, end, slot, powered=powered,
                lead="" if own else ledger.brief.part_for("short power cord"),
                note="covers the outlet beside it" if slot.outlets > 1 else "")

"""Small houses in the demo catalogue's words, for tests that run the real tables."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from quoting.job import FloorPlan, Job, Zone
from tests.builders import cell, make_client, make_job, make_source, make_terms

FT = 0.3048


def make_zone(number: int, **changes: Any) -> Zone:
    """A stereo zone that hears paging."""
    values: dict[str, Any] = {"number": number, "name": f"Zone {number}", "mono": False, "bridged": False,
                              "paged": True, "max_volume": None, "where": cell("Zones", f"A{number + 1}")}
    return Zone(**{**values, **changes})


def house(*rooms: Any, **changes: Any) -> Job:
    """A job of these rooms in Northmark, a zone for each zone number used, no discount, nothing unknown."""
    zones = tuple(make_zone(number) for number in sorted({room.zone for room in rooms}))
    values: dict[str, Any] = {
        "rooms": tuple(sorted(rooms, key=lambda room: room.code)), "zones": zones, "sources": (make_source(),),
        "counting_standard": "area by listening", "unknowns": (), "defaults": (),
        "terms": make_terms(tax_place="Northmark", discount_rate=Decimal(0), discount_reason="", quote_date=None),
        "client": make_client(priorities=("sound",), budget=None),
        "floors": (FloorPlan(0, 9 * FT, "open", "room", "wood frame"),)}
    return make_job(**{**values, **changes})

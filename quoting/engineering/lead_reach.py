"""Whether the leads of a rack reach: the way from unit to unit against the length of the lead."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from quoting.engineering.brief import Brief
from quoting.engineering.rack_items import item
from quoting.facts import Connection, RackSlot
from quoting.problems import Problem, warning
from quoting.units import show_length

MM_PER_M = 1000
ROWS = ("rack unit mm", "lead across mm", "lead spare mm", "next rack mm")


def with_ways(brief: Brief, made: Sequence[Connection]) -> tuple[list[Connection], list[Problem]]:
    """The connections, those by a lead between two places of racks with its way; a warning for each that is too short.

    A way goes up or down by units (EIA-310, IEC 60297: 44.45 mm each), across a panel, and bends at both plugs.
    """
    slots = brief.of(RackSlot)
    stands = {slot.device: slot for slot in reversed(slots) if slot.device} | {slot.id: slot for slot in slots}
    unit, across, spare, beside = (item(brief, name) for name in ROWS)
    leads = brief.catalog.leads
    found, problems = [], []
    for one in made:
        start, end = stands.get(one.from_device), stands.get(one.to_device)
        if one.lead and start and end and start.position_u and end.position_u:
            units = abs(start.position_u - end.position_u)
            racks = abs(int(start.rack.rpartition("-")[2]) - int(end.rack.rpartition("-")[2]))
            one = replace(one, way_m=round((units * unit + across + spare + racks * beside) / MM_PER_M, 2))
            lead = leads.get(one.lead)
            if lead is not None and lead.length_m < one.way_m:
                system = brief.job.unit_system
                problems.append(warning(
                    one.where[0], "lead-too-short",
                    f"'{one.lead}' of option '{brief.option}' is {show_length(lead.length_m, system)} long, and its "
                    f"way from '{one.from_device}' at '{start.id}' to '{one.to_device}' at '{end.id}' takes "
                    f"{show_length(one.way_m, system)}.",
                    "Name a longer one in options.csv, or type its true length in parts/leads.csv."))
        found.append(one)
    return found, problems

"""The sheet Head end: controllers, inputs, amplifiers, triggers, network, racks, crews, visits. Office only."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from quoting.documents.office_look import page, section, title_block
from quoting.documents.office_rows import OfficeRows
from quoting.documents.office_system import Field, fact_rows, fact_table, number_of, text_of, whole_of, yes_of
from quoting.documents.sheet_writer import Sheet
from quoting.units import KG_PER_LB, MM_PER_IN, UnitSystem

Row = Mapping[str, Any]


def _depth(name: str, system: UnitSystem) -> Callable[[Row], str]:
    def show(row: Row) -> str:
        size_mm = float(row.get(name) or 0)
        return "" if not size_mm else f"{size_mm / MM_PER_IN:.1f} in" if system == "imperial" else f"{size_mm:.0f} mm"
    return show


def _weight(name: str, system: UnitSystem) -> Callable[[Row], str]:
    def show(row: Row) -> str:
        kilos = float(row.get(name) or 0)
        return "" if not kilos else f"{kilos / KG_PER_LB:.1f} lb" if system == "imperial" else f"{kilos:.1f} kg"
    return show


def _controllers() -> tuple[Field, ...]:
    return (
        Field("Controller", text_of("id")),
        Field("Part", text_of("part")),
        Field("Zone outputs", number_of("outputs"), "count"),
        Field("Used", number_of("used_outputs"), "count"),
        Field("Kept free", number_of("spare_outputs"), "count"),
        Field("Inputs", number_of("inputs"), "count"),
        Field("Inputs used", number_of("used_inputs"), "count"),
        Field("Contacts", number_of("contacts"), "count"),
        Field("Contacts used", number_of("used_contacts"), "count"),
        Field("Linked", yes_of("linked"), "text.centre"),
        Field("One zone more takes", text_of("upgrade")),
    )


def _sources() -> tuple[Field, ...]:
    return (
        Field("Source", text_of("id")),
        Field("Name", text_of("name")),
        Field("Part", lambda row: str(row.get("part") or "owned")),
        Field("Comes with", text_of("connector")),
        Field("Lands on", text_of("input_connector")),
        Field("Converter", text_of("converter")),
        Field("Lead", text_of("lead")),
        Field("Inputs", number_of("inputs"), "count"),
        Field("Room", text_of("room")),
        Field("Phono", yes_of("phono"), "text.centre"),
    )


def _amplifiers() -> tuple[Field, ...]:
    return (
        Field("Amplifier", text_of("id")),
        Field("Part", text_of("part")),
        Field("Channels", number_of("channels"), "count"),
        Field("Used", number_of("used_channels"), "count"),
        Field("Spare", number_of("spare_channels"), "count"),
        Field("Bridged outputs", number_of("bridged_outputs"), "count"),
        Field("Lowest load ohm", number_of("lowest_load_ohm"), "hours"),
        Field("Watts at it", number_of("channel_w"), "number"),
        Field("Woken by", text_of("trigger")),
        Field("Wakes with", text_of("wakes_with")),
    )


def _triggers() -> tuple[Field, ...]:
    return (
        Field("Trigger", text_of("id")),
        Field("Amplifiers", text_of("amplifiers")),
        Field("Branches", number_of("branches"), "count"),
        Field("Splitters", number_of("splitters"), "count"),
        Field("Draws mA", number_of("draw_ma"), "count"),
        Field("All outputs mA", number_of("unit_ma"), "count"),
        Field("Given mA", number_of("limit_ma"), "count"),
        Field("Wakes", text_of("wakes")),
    )


def _network() -> tuple[Field, ...]:
    return (
        Field("Switch", text_of("id")),
        Field("Part", text_of("part")),
        Field("Ports", number_of("ports"), "count"),
        Field("Used", number_of("used_ports"), "count"),
        Field("Of them links", number_of("link_ports"), "count"),
        Field("PoE asked W", number_of("poe_asked_w"), "number"),
        Field("PoE given W", number_of("poe_w"), "number"),
        Field("Mains W", number_of("watts"), "number"),
    )


def _racks(system: UnitSystem) -> tuple[Field, ...]:
    return (
        Field("Rack", text_of("id")),
        Field("Part", text_of("part")),
        Field("Height U", number_of("height_u"), "count"),
        Field("Used U", number_of("used_u"), "count"),
        Field("Spare U", number_of("spare_u"), "count"),
        Field("Vents", number_of("vents"), "count"),
        Field("Shelves", number_of("shelves"), "count"),
        Field("Deepest", _depth("depth_mm", system), "text.right"),
        Field("Weight", _weight("weight_kg", system), "text.right"),
        Field("Not weighed", number_of("unweighed"), "count"),
        Field("Carries", _weight("load_kg", system), "text.right"),
        Field("Music W", number_of("working_w"), "number"),
        Field("Idle W", number_of("idle_w"), "number"),
        Field("Heat W", number_of("heat_w"), "number"),
        Field("Heat BTU/h", number_of("heat_btu_h"), "number"),
        Field("Idle BTU/h", number_of("idle_btu_h"), "number"),
        Field("Fans", number_of("fan_panels"), "count"),
        Field("Air cfm", number_of("fan_cfm"), "number"),
        Field("Plugs", number_of("plugs"), "count"),
        Field("Outlets", number_of("outlets"), "count"),
        Field("Circuits", number_of("circuits"), "count"),
        Field("Circuit W", number_of("circuit_limit_w"), "number"),
        Field("UPS", text_of("ups_part")),
        Field("UPS asked W", number_of("ups_w"), "number"),
        Field("UPS gives W", number_of("ups_limit_w"), "number"),
    )


def _places(system: UnitSystem) -> tuple[Field, ...]:
    return (
        Field("Place", text_of("id")),
        Field("Rack", text_of("rack")),
        Field("Units", number_of("height_u"), "count"),
        Field("What", text_of("what")),
        Field("Device", text_of("device")),
        Field("Part", text_of("part")),
        Field("Weight", _weight("weight_kg", system), "text.right"),
        Field("Depth", _depth("depth_mm", system), "text.right"),
        Field("Music W", number_of("watts"), "number"),
        Field("Heat W", number_of("heat_w"), "number"),
        Field("Strip", text_of("strip")),
        Field("Outlet", whole_of("outlet"), "text.centre"),
        Field("Outlets", number_of("outlets"), "count"),
        Field("Circuit", whole_of("circuit"), "text.centre"),
        Field("Switch", text_of("switch")),
        Field("Port", whole_of("network_port"), "text.centre"),
    )


def _crews() -> tuple[Field, ...]:
    return (
        Field("Phase", text_of("phase")),
        Field("Crew", number_of("crew"), "count"),
        Field("Hours P50", number_of("hours"), "hours"),
        Field("Spread", number_of("spread_hours"), "hours"),
        Field("Hours P80", number_of("p80_hours"), "hours"),
        Field("Half-days", number_of("half_days"), "count"),
        Field("Trips", number_of("trips"), "count"),
        Field("Travel hours", number_of("travel_hours"), "hours"),
        Field("Unfilled hours", number_of("remainder_hours"), "hours"),
    )


def _visits() -> tuple[Field, ...]:
    return (
        Field("Visit", text_of("id")),
        Field("Phase", text_of("phase")),
        Field("Where", text_of("where")),
        Field("First day", text_of("first")),
        Field("Last day", text_of("last")),
        Field("Half-days", number_of("half_days"), "count"),
        Field("People", number_of("crew"), "count"),
    )


def _visit_rows(rows: OfficeRows) -> Iterator[tuple[str, Row]]:
    for option in rows.options:
        gaps = {phase.phase: phase.gap for phase in option.timetable.phases}
        for visit in option.timetable.visits:
            yield option.name, {
                "id": visit.id, "phase": visit.phase, "where": "house" if visit.on_site else "desk or shop",
                "first": visit.first_date.isoformat() if visit.first_date else f"day {visit.first_day}",
                "last": visit.last_date.isoformat() if visit.last_date else f"day {visit.last_day}",
                "half_days": visit.half_days, "crew": visit.crew, "decided": (f"phase_gap {gaps[visit.phase]}",)}
        for later in option.timetable.agreed:
            yield option.name, {"id": later.id, "phase": later.phase, "where": "house", "first": "to be agreed",
                                "last": "–", "half_days": later.half_days, "crew": later.crew, "decided": later.decided}


def write_head_end(sheet: Sheet, rows: OfficeRows) -> None:
    """Each kind of fact in a table of its own, every option below the other."""
    system = rows.quote.job.unit_system
    top = title_block(
        sheet, rows.quote, "Head end",
        "What stands where the runs end. Music: mains with every output at 1/8 of its power; heat is mains less "
        "what leaves for the loudspeakers.")
    tables = (
        ("Controllers", _controllers(), "controller"),
        ("Sources and what they land on", _sources(), "audio_source"),
        ("Amplifiers", _amplifiers(), "amplifier"),
        ("Triggers: what wakes together", _triggers(), "trigger"),
        ("Network switches", _network(), "network_device"),
        ("Racks and shelves", _racks(system), "rack"),
        ("Places, from the bottom up", _places(system), "rack_slot"),
        ("Crews, before travel and management are added", _crews(), "phase_effort"),
    )
    at = top
    for heading, fields, kind in tables:
        section(sheet, at, heading)
        at = fact_table(sheet, at + 1, fields, fact_rows(rows, kind)) + 2
    section(sheet, at, "Visits on working days; day 1 is the first in the house")
    at = fact_table(sheet, at + 1, _visits(), _visit_rows(rows)) + 2
    sheet.set_widths(at_least=8, at_most=26)
    sheet.worksheet.freeze_panes(top, 2)
    page(sheet, rows.quote, at - 2, len(_racks(system)), (top, top), keys=2)

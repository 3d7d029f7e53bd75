"""The sheets Runs and Zones: the cables and the zones as designed, from the facts."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from quoting.documents.office_look import page, section, table_head, title_block
from quoting.documents.office_rows import OfficeRows
from quoting.documents.sheet_writer import Sheet, Style
from quoting.units import UnitSystem, show_length

Row = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Field:
    """One column: its heading, what it shows of a fact, its look."""

    heading: str
    show: Callable[[Row], Any]
    style: Style = "text"
    detail: bool = False  # folded away at first


def _text(name: str) -> Callable[[Row], str]:
    return lambda row: str(row.get(name, ""))


def _number(name: str) -> Callable[[Row], float | str]:
    """A measure; "" where it does not apply."""
    return lambda row: float(row[name]) if row.get(name) else ""


def _yes(name: str) -> Callable[[Row], str]:
    return lambda row: "yes" if row.get(name) else ""


def _nonzero(name: str) -> Callable[[Row], str]:
    """A whole number as text; "" for none."""
    return lambda row: str(row[name]) if row.get(name) else ""


def _run_fields(system: UnitSystem) -> tuple[Field, ...]:
    def length(name: str) -> Callable[[Row], str]:
        return lambda row: show_length(float(row.get(name) or 0), system)

    def gauge(row: Row) -> str:
        if system == "imperial" and row.get("gauge_awg"):
            return f"{row['gauge_awg']:g} AWG"
        return f"{row['area_mm2']:g} mm2" if row.get("area_mm2") else ""

    def copper(row: Row) -> str:
        return f"{row['stranding']}, {row['temperature_c']:g} C" if row.get("stranding") else ""

    return (
        Field("Run", _text("id")),
        Field("Purpose", _text("purpose")),
        Field("From", _text("start")),
        Field("To", _text("end")),
        Field("Room", _text("room")),
        Field("Zone", _nonzero("zone"), "text.centre"),
        Field("Part", _text("part")),
        Field("Conductors", _nonzero("conductors"), "text.centre"),
        Field("Gauge", gauge),
        Field("Length", length("length_m"), "text.right"),
        Field("Known by", _text("length_basis")),
        Field("Plan", length("plan_m"), "text.right", True),
        Field("Route factor", _number("route_factor"), "number", True),
        Field("Up and down", length("vertical_m"), "text.right", True),
        Field("Slack", length("slack_m"), "text.right", True),
        Field("Waste", _number("waste_rate"), "rate", True),
        Field("Load ohm", _number("load_ohm"), "hours"),
        Field("Loop ohm", _number("loop_ohm"), "measure"),
        Field("Loop of load", _number("loop_rate"), "rate"),
        Field("Limit", _number("limit_rate"), "rate"),
        Field("Loss dB", _number("loss_db"), "hours"),
        Field("Power lost", _number("power_lost_rate"), "rate"),
        Field("Damping", _number("damping_factor"), "number"),
        Field("Channel ohm", _number("channel_ohm"), "hours"),
        Field("Copper", copper),
        Field("Rating", _text("rating")),
        Field("Walls", _text("wall_state")),
        Field("Floor", _text("floor"), "text.centre"),
        Field("Pull group", _text("pull_group")),
        Field("Spare", _yes("spare"), "text.centre"),
        Field("Reused", _yes("reused"), "text.centre"),
    )


def _zone_fields() -> tuple[Field, ...]:
    return (
        Field("Zone", _nonzero("zone"), "text.centre"),
        Field("Name", _text("name")),
        Field("Rooms", _number("rooms"), "count"),
        Field("Speakers", _number("speakers"), "count"),
        Field("Control", _text("control")),
        Field("Load ohm", _number("load_ohm"), "hours"),
        Field("Power asked W", _number("asked_w"), "number"),
        Field("Channels", _number("channels"), "count"),
        Field("Amplifier", _text("amplifier")),
        Field("First channel", _nonzero("first_channel"), "text.centre"),
        Field("Controller", _text("controller")),
        Field("Output", _nonzero("controller_output"), "text.centre"),
        Field("Mono", _yes("mono"), "text.centre"),
        Field("Bridged", _yes("bridged"), "text.centre"),
        Field("Paged", _yes("paged"), "text.centre"),
        Field("Loudest %", _nonzero("max_volume"), "text.centre"),
    )


def _output_fields() -> tuple[Field, ...]:
    return (
        Field("Output", _text("id")),
        Field("Amplifier", _text("amplifier")),
        Field("Channel", _nonzero("channel"), "text.centre"),
        Field("Zone", _nonzero("zone"), "text.centre"),
        Field("Side", _text("side")),
        Field("Bridged", _yes("bridged"), "text.centre"),
        Field("Voice coils", _number("voice_coils"), "count"),
        Field("Load ohm", _number("load_ohm"), "hours"),
        Field("Terminal", _text("terminal")),
        Field("Class as marked", _text("output_class")),
        Field("Runs", _text("runs")),
    )


def write_runs(sheet: Sheet, rows: OfficeRows) -> None:
    """Every cable: first the shared ones, then each option's own."""
    fields = _run_fields(rows.quote.job.unit_system)
    top = title_block(
        sheet,
        rows.quote,
        "Runs",
        "One row a cable, end to end, never spliced. 'all' is buried once and serves "
        "every option. Route details are folded away: open them above the columns.",
    )
    last = fact_table(sheet, top, fields, fact_rows(rows, "cable_run"))
    widths = sheet.set_widths(at_least=7, at_most=24)
    details = [column for column, field in enumerate(fields, 1) if field.detail]
    for column in details:
        sheet.worksheet.set_column(column, column, widths.get(column, 10), None, {"level": 1, "hidden": True})
    after = max(details) + 1
    sheet.worksheet.set_column(after, after, widths.get(after, 10), None, {"collapsed": True})
    sheet.worksheet.autofilter(top, 0, max(last, top + 1), len(fields))
    sheet.worksheet.freeze_panes(top + 1, 2)
    page(sheet, rows.quote, last, len(fields), (top, top))


def write_zones(sheet: Sheet, rows: OfficeRows) -> None:
    """Each option's zones, then its amplifier outputs."""
    top = title_block(
        sheet, rows.quote, "Zones", "What shares a source and a volume, and the amplifier channels that drive it."
    )
    last = fact_table(sheet, top, _zone_fields(), fact_rows(rows, "zone"))
    section(sheet, last + 2, "Amplifier channels")
    last = fact_table(sheet, last + 3, _output_fields(), fact_rows(rows, "output"))
    sheet.set_widths(at_least=8, at_most=30)
    sheet.worksheet.freeze_panes(top + 1, 3)
    page(sheet, rows.quote, last, len(_zone_fields()), (top, top))


def fact_rows(rows: OfficeRows, kind: str) -> Iterator[tuple[str, Row]]:
    """Every fact of a kind with the option that it belongs to: "all" for the shared plan."""
    for fact in rows.quote.facts.get(kind, ()):
        yield "all", fact
    for option in rows.options:
        for fact in option.facts.get(kind, ()):
            yield option.name, fact


def fact_table(sheet: Sheet, top: int, fields: tuple[Field, ...], facts: Iterator[tuple[str, Row]]) -> int:
    """A heading row and a row a fact; gives the last row."""
    right = tuple(offset for offset, field in enumerate(fields, 1) if field.style not in ("text", "text.centre"))
    table_head(sheet, top, 0, ("Option", *(field.heading for field in fields)), right)
    row = top
    for row, (option, fact) in enumerate(facts, top + 1):
        sheet.text(row, 0, option)
        for column, field in enumerate(fields, 1):
            value = field.show(fact)
            if isinstance(value, str):
                sheet.text(row, column, value, field.style)
            else:
                sheet.number(row, column, value, field.style)
    if row == top:
        row = top + 1
        sheet.text(row, 0, "none", "quiet")
    return row

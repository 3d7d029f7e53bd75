"""The sheets Runs and Zones: the cables and the zones as designed; and how any kind of fact becomes a table."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any

from msgspec import Struct

from quoting.documents.office_look import page, section, table_head, title_block
from quoting.documents.office_rows import OfficeRows
from quoting.documents.sheet_writer import Sheet, Style
from quoting.units import UnitSystem, show_length

Row = Mapping[str, Any]


class Field(Struct, frozen=True):
    """One column: its heading, what it shows of a fact, its look."""

    heading: str
    show: Callable[[Row], Any]
    style: Style = "text"
    detail: bool = False  # folded away at first


# Standards rows and option settings, last in every table: it runs over the empty columns beside it.
DECIDED = Field("Decided by", lambda row: ", ".join(row.get("decided") or ()), "beside")


def text_of(name: str) -> Callable[[Row], str]:
    """A text field as it is."""
    return lambda row: str(row.get(name, ""))


def number_of(name: str) -> Callable[[Row], float | str]:
    """A measure; "" where it does not apply."""
    return lambda row: float(row[name]) if row.get(name) else ""


def yes_of(name: str) -> Callable[[Row], str]:
    """"yes", or "" for no."""
    return lambda row: "yes" if row.get(name) else ""


def whole_of(name: str) -> Callable[[Row], str]:
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
        Field("Run", text_of("id")),
        Field("Purpose", text_of("purpose")),
        Field("From", text_of("start")),
        Field("To", text_of("end")),
        Field("Room", text_of("room")),
        Field("Zone", whole_of("zone"), "text.centre"),
        Field("Part", text_of("part")),
        Field("Conductors", whole_of("conductors"), "text.centre"),
        Field("Gauge", gauge),
        Field("Length", length("length_m"), "text.right"),
        Field("Known by", text_of("length_basis")),
        Field("Plan", length("plan_m"), "text.right", True),
        Field("Route factor", number_of("route_factor"), "number", True),
        Field("Up and down", length("vertical_m"), "text.right", True),
        Field("Slack", length("slack_m"), "text.right", True),
        Field("Waste", number_of("waste_rate"), "rate", True),
        Field("Load ohm", number_of("load_ohm"), "hours"),
        Field("Loop ohm", number_of("loop_ohm"), "measure"),
        Field("Loop of load", number_of("loop_rate"), "rate"),
        Field("Limit", number_of("limit_rate"), "rate"),
        Field("Loss dB", number_of("loss_db"), "hours"),
        Field("Power lost", number_of("power_lost_rate"), "rate"),
        Field("Damping", number_of("damping_factor"), "number"),
        Field("Channel ohm", number_of("channel_ohm"), "hours"),
        Field("Copper", copper),
        Field("Rating", text_of("rating")),
        Field("Walls", text_of("wall_state")),
        Field("Floor", text_of("floor"), "text.centre"),
        Field("Pull group", text_of("pull_group")),
        Field("Spare", yes_of("spare"), "text.centre"),
        Field("Reused", yes_of("reused"), "text.centre"),
    )


def _zone_fields() -> tuple[Field, ...]:
    return (
        Field("Zone", whole_of("zone"), "text.centre"),
        Field("Name", text_of("name")),
        Field("Rooms", number_of("rooms"), "count"),
        Field("Speakers", number_of("speakers"), "count"),
        Field("Control", text_of("control")),
        Field("Load ohm", number_of("load_ohm"), "hours"),
        Field("Power asked W", number_of("asked_w"), "number"),
        Field("Channels", number_of("channels"), "count"),
        Field("Amplifier", text_of("amplifier")),
        Field("First channel", whole_of("first_channel"), "text.centre"),
        Field("Controller", text_of("controller")),
        Field("Output", whole_of("controller_output"), "text.centre"),
        Field("Mono", yes_of("mono"), "text.centre"),
        Field("Bridged", yes_of("bridged"), "text.centre"),
        Field("Paged", yes_of("paged"), "text.centre"),
        Field("Loudest %", whole_of("max_volume"), "text.centre"),
    )


def _output_fields() -> tuple[Field, ...]:
    return (
        Field("Output", text_of("id")),
        Field("Amplifier", text_of("amplifier")),
        Field("Channel", whole_of("channel"), "text.centre"),
        Field("Zone", whole_of("zone"), "text.centre"),
        Field("Side", text_of("side")),
        Field("Bridged", yes_of("bridged"), "text.centre"),
        Field("Voice coils", number_of("voice_coils"), "count"),
        Field("Load ohm", number_of("load_ohm"), "hours"),
        Field("Terminal", text_of("terminal")),
        Field("Class as marked", text_of("output_class")),
        Field("Asked W", number_of("asked_w"), "number"),
        Field("Given W", number_of("output_w"), "number"),
        Field("Runs", text_of("runs")),
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
    page(sheet, rows.quote, last, len(fields), (top, top), keys=2)


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
    page(sheet, rows.quote, last, len(_zone_fields()), (top, top), keys=2)


def fact_rows(rows: OfficeRows, kind: str) -> Iterator[tuple[str, Row]]:
    """Every fact of a kind with the option that it belongs to: "all" for the shared plan."""
    for fact in rows.quote.facts.get(kind, ()):
        yield "all", fact
    for option in rows.options:
        for fact in option.facts.get(kind, ()):
            yield option.name, fact


def fact_table(sheet: Sheet, top: int, fields: tuple[Field, ...], facts: Iterator[tuple[str, Row]]) -> int:
    """A heading row and a row a fact, with the rows that decided it in a last column; gives the last row."""
    fields = (*fields, DECIDED)
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

"""The sheet Wiring: constant-voltage lines, the keypads' bus, conduits, and distances from mains. Office only."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from quoting.documents.office_look import page, section, title_block
from quoting.documents.office_rows import OfficeRows
from quoting.documents.office_system import Field, fact_rows, fact_table
from quoting.documents.sheet_writer import Sheet
from quoting.units import MM_PER_IN, UnitSystem, show_length

Row = Mapping[str, Any]


def _text(name: str) -> Callable[[Row], str]:
    return lambda row: str(row.get(name, ""))


def _number(name: str) -> Callable[[Row], float | str]:
    return lambda row: float(row.get(name) or 0)


def _length(name: str, system: UnitSystem) -> Callable[[Row], str]:
    return lambda row: show_length(float(row.get(name) or 0), system)


def _size(name: str, system: UnitSystem) -> Callable[[Row], str]:
    """A diameter or a distance in inches or millimetres."""
    if system == "metric":
        return lambda row: f"{float(row.get(name) or 0):g} mm"
    return lambda row: f"{float(row.get(name) or 0) / MM_PER_IN:.3g} in"


def _lines(system: UnitSystem) -> tuple[Field, ...]:
    return (
        Field("Line", _text("id")),
        Field("Zone", _text("name")),
        Field("Volts", _number("line_v"), "number"),
        Field("Taps", _text("taps")),
        Field("Taps W", _number("tap_total_w"), "number"),
        Field("Load ohm", _number("load_ohm"), "hours"),
        Field("Output", _text("output")),
        Field("Output W", _number("amplifier_w"), "number"),
        Field("Used", _number("share_rate"), "rate"),
        Field("Keep to", _number("share_limit_rate"), "rate"),
        Field("Class as marked", lambda row: str(row.get("output_class") or "not said")),
        Field("Farthest", _length("longest_m", system), "text.right"),
        Field("Voltage lost", _number("voltage_lost_rate"), "rate"),
        Field("Power lost", _number("power_lost_rate"), "rate"),
        Field("Loss dB", _number("loss_db"), "hours"),
        Field("Runs", _text("runs")),
    )


def _bus(system: UnitSystem) -> tuple[Field, ...]:
    return (
        Field("Controller", _text("controller")),
        Field("Units", _number("units"), "count"),
        Field("Keypads", _number("keypads"), "count"),
        Field("Ports", _number("ports"), "count"),
        Field("Asked mA", _number("asked_ma"), "count"),
        Field("Given mA", _number("given_ma"), "count"),
        Field("Cable", _length("run_m", system), "text.right"),
        Field("Allowed", _length("limit_m", system), "text.right"),
    )


def _conduits(system: UnitSystem) -> tuple[Field, ...]:
    return (
        Field("Conduit", _text("id")),
        Field("To", _text("to")),
        Field("Diameter", _size("diameter_mm", system), "text.right"),
        Field("Length", _length("length_m", system), "text.right"),
        Field("Known by", _text("length_basis")),
    )


def _exits(system: UnitSystem) -> tuple[Field, ...]:
    return (
        Field("Way out", _text("id")),
        Field("On from it", _text("way")),
        Field("Behind", _text("place")),
        Field("At room", _text("beside")),
        Field("Height", _length("height_m", system), "text.right"),
        Field("Cables", _number("cables"), "count"),
    )


def _separations(system: UnitSystem) -> tuple[Field, ...]:
    return (
        Field("Regime", _text("regime")),
        Field("Mains", _text("power")),
        Field("Our cable", _text("signal")),
        Field("Divider", _text("divider")),
        Field("Apart", _size("apart_mm", system), "text.right"),
        Field("Advice", _text("advice")),
        Field("Reference", _text("reference")),
    )


def write_wiring(sheet: Sheet, rows: OfficeRows) -> None:
    """Lines, bus, conduits, ways out, separation: each a table of its own."""
    system = rows.quote.job.unit_system
    top = title_block(
        sheet, rows.quote, "Wiring",
        "What cable carries besides lengths. Regimes differ about mains: the authority on site decides which holds.")
    section(sheet, top, "Constant-voltage lines")
    last = fact_table(sheet, top + 1, _lines(system), fact_rows(rows, "line"))
    section(sheet, last + 2, "Keypad bus")
    last = fact_table(sheet, last + 3, _bus(system), fact_rows(rows, "keypad_bus"))
    section(sheet, last + 2, "Empty conduits with a pull string")
    last = fact_table(sheet, last + 3, _conduits(system), fact_rows(rows, "conduit"))
    section(sheet, last + 2, "Ways out through the house wall")
    last = fact_table(sheet, last + 3, _exits(system), fact_rows(rows, "house_exit"))
    section(sheet, last + 2, "Apart from mains, by regime")
    last = fact_table(sheet, last + 3, _separations(system), fact_rows(rows, "separation"))
    sheet.set_widths(at_least=8, at_most=28)
    sheet.worksheet.freeze_panes(top, 1)
    page(sheet, rows.quote, last, len(_lines(system)), (top, top), keys=1)

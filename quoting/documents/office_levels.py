"""The sheet Levels: how loud each room gets in each option, and where every loudspeaker goes. Office only."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
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


def _yes(name: str) -> Callable[[Row], str]:
    return lambda row: "yes" if row.get(name) else ""


LEVELS = (
    Field("Room", _text("room")),
    Field("Listening", _text("listening")),
    Field("Speakers", _number("speakers"), "count"),
    Field("Average dB", _number("average_db"), "number"),
    Field("Worst dB", _number("worst_db"), "number"),
    Field("Best dB", _number("best_db"), "number"),
    Field("Spread dB", _number("spread_db"), "number"),
    Field("Target dB", _number("target_db"), "number"),
    Field("Peaks dB", _number("peak_db"), "number"),
    Field("Asked W", _number("asked_w"), "number"),
    Field("Available W", _number("available_w"), "number"),
    Field("Cable loss dB", _number("cable_loss_db"), "measure"),
    Field("Headroom dB", _number("headroom_db"), "number"),
    Field("Short", _yes("short"), "text.centre"),
    Field("Caution", _yes("caution"), "text.centre"),
    Field("Hours at work", _number("exposure_hours"), "number"),
)


def write_levels(sheet: Sheet, rows: OfficeRows) -> None:
    """Levels by option and room, then the coverage that each room's pattern asks for, then placement."""
    system = rows.quote.job.unit_system
    top = title_block(
        sheet, rows.quote, "Levels",
        "The loudest that each room holds, peaks kept back: direct sound at seated ears, no promise, never for the "
        "customer. Caution: above the workplace limit, and the hours a day that it lets one work; no advice for homes.")
    last = fact_table(sheet, top, LEVELS, fact_rows(rows, "room_level"))
    section(sheet, last + 2, "Coverage on the ceiling")
    last = fact_table(sheet, last + 3, _coverage(system), _covered(rows))
    section(sheet, last + 2, "Placement: from the west wall along the length, from the south wall along the width")
    last = fact_table(sheet, last + 3, _placement(system), _speaker_places(rows))
    sheet.set_widths(at_least=8, at_most=24)
    sheet.worksheet.freeze_panes(top + 1, 2)
    page(sheet, rows.quote, last, len(LEVELS), (top, top), keys=2)


def _coverage(system: UnitSystem) -> tuple[Field, ...]:
    return (
        Field("Room", _text("room")),
        Field("Pairs", _number("pairs"), "count"),
        Field("Speakers", _number("speakers"), "count"),
        Field("Each covers", _length("coverage_diameter_m", system), "text.right"),
        Field("Pattern", _text("pattern")),
        Field("Grid", _text("grid")),
        Field("Spacing", _length("spacing_m", system), "text.right"),
        Field("Pattern asks", _number("pattern_speakers"), "count"),
        Field("Varies dB", _number("pattern_variation_db"), "number"),
    )


def _placement(system: UnitSystem) -> tuple[Field, ...]:
    return (
        Field("Room", _text("room")),
        Field("Place", _text("id")),
        Field("Mount", _text("mount")),
        Field("Side", _text("side"), "text.centre"),
        Field("From west", _length("x_m", system, True), "text.right"),
        Field("From south", _length("y_m", system, True), "text.right"),
        Field("Height", _length("height_m", system), "text.right"),
        Field("Joist bay", _text("bay")),
        Field("To the next", _length("beside_m", system), "text.right"),
        Field("Moved", _length("moved_m", system), "text.right"),
        Field("Cut-out", _small("cut_out_mm", system), "text.right"),
        Field("Depth", _small("depth_mm", system), "text.right"),
    )


def _length(name: str, system: UnitSystem, zero: bool = False) -> Callable[[Row], str]:
    """A length in the job's units; "" for none, unless 0 is a place too."""
    return lambda row: show_length(float(row[name]), system) if row.get(name) or (zero and name in row) else ""


def _small(name: str, system: UnitSystem) -> Callable[[Row], str]:
    def show(row: Row) -> str:
        size = float(row.get(name) or 0)
        if not size:
            return ""
        return f"{size / MM_PER_IN:.2f} in" if system == "imperial" else f"{size:.0f} mm"
    return show


def _covered(rows: OfficeRows) -> Iterator[tuple[str, Row]]:
    return ((option, row) for option, row in fact_rows(rows, "room_use")
            if row["state"] == "live" and row.get("pattern"))


def _speaker_places(rows: OfficeRows) -> Iterator[tuple[str, Row]]:
    return ((option, row) for option, row in fact_rows(rows, "place") if row["device"] == "speaker")

"""A rack from the front, to scale 1:10: an inline SVG with units, panels, outlets, circuits and ports, and its table.

A rack unit is 44.45 mm high and a panel 482.6 mm wide (IEC 60297, EIA-310: the 19-inch rack).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from quoting.documents.drawing import (
    CAPITAL,
    LEADING,
    Svg,
    drawing,
    group,
    line,
    path,
    rect,
    text,
    text_lines,
    text_width_mm,
    wrap,
)
from quoting.documents.plan_symbols import box, disc
from quoting.documents.rack_elevation import HEADINGS, RackElevation, RackThing, cautions, table_rows, unit_words
from quoting.units import UnitSystem

UNIT_MM, PANEL_MM = 44.45, 482.6
SCALE = 0.1
ROW_MM, WIDE_MM = UNIT_MM * SCALE, PANEL_MM * SCALE
LEFT_MM, TOP_MM, EDGE_MM = 9.0, 7.0, 1.0  # the column of unit numbers; the headings; the frame over and under
TEXT_MM, NUMBER_MM = 2.3, 2.0
COLUMNS = (("What", 46.0), ("Strip: outlet", 36.0), ("Circuit", 12.0), ("Network port", 20.0))  # right of the rack
ON_TOP_MM = 9.0  # of what stands on a rack, not to scale
SHELF_ROW_MM = 9.0  # of a thing on an open shelf, which has no units
PANELS = {"blank panel": "", "vent panel": "vents", "fan panel": "fans", "brush plate": "brush", "patch panel": "ports",
          "surge strip": "outlets", "power strip": "outlets", "remote power unit": "outlets"}


class RackDrawing(Struct, frozen=True, kw_only=True):
    """A finished drawing, its table and its cautions."""

    title: str
    svg: Svg
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...]


def rack_drawing(elevation: RackElevation, system: UnitSystem) -> RackDrawing:
    """The drawing of one rack, or of the shelf that stands in for one."""
    high = ROW_MM * elevation.height_u if elevation.height_u else SHELF_ROW_MM * len(elevation.things)
    bottom = TOP_MM + EDGE_MM + high + (ON_TOP_MM if any(thing.on_top for thing in elevation.things) else 0.0)
    parts = [*_headings("U" if elevation.height_u else ""),
             *(_rack(elevation, bottom) if elevation.height_u else _open_shelf(elevation))]
    wide = LEFT_MM + WIDE_MM + 3.0 + sum(column for _, column in COLUMNS)
    title = _title(elevation)
    words = " ".join(f"{unit_words(thing)}: {_named(thing)}{_plugged(thing)}." for thing in elevation.things)
    key = f"{elevation.id}-{elevation.option}".replace(" ", "-").lower()
    svg = drawing(key, title, words, wide, bottom + EDGE_MM + 1.0, parts, mm_per_m=1000 * SCALE)
    return RackDrawing(title=title, svg=svg, headings=HEADINGS, rows=table_rows(elevation, system),
                       notes=cautions(elevation, system))


def _title(elevation: RackElevation) -> str:
    power = f"{elevation.working_w:.0f} W with music, {elevation.heat_w:.0f} W of heat"
    circuits = f"{elevation.circuits} circuit{'' if elevation.circuits == 1 else 's'}"
    if not elevation.height_u:
        return f"{elevation.id}, {elevation.words}: {power}, {circuits}"
    free = elevation.height_u - elevation.used_u
    return (f"{elevation.id}, {elevation.words}: {elevation.used_u} of {elevation.height_u} units used, {free} free, "
            f"{power}, {circuits}")


def _plugged(thing: RackThing) -> str:
    said = [words for words in (thing.outlet, f"circuit {thing.circuit}" if thing.circuit else "", thing.port) if words]
    return f" ({', '.join(said)})" if said else ""


def _named(thing: RackThing) -> str:
    return f"{thing.device}, {thing.words}" if thing.device else thing.words


# ---------------------------------------------------------------- the frame and its units

def _headings(units: str) -> Iterator[Svg]:
    x = LEFT_MM + WIDE_MM + 3.0
    yield text(LEFT_MM - 1.5, TOP_MM - 2.0, units, TEXT_MM, "end")
    for words, wide in COLUMNS:
        yield text(x, TOP_MM - 2.0, words, TEXT_MM)
        x += wide


def _rack(elevation: RackElevation, bottom_mm: float) -> Iterator[Svg]:
    """Units numbered from the bottom, panels in them, what is plugged in where beside them."""
    top = bottom_mm - ROW_MM * elevation.height_u
    yield rect(LEFT_MM - EDGE_MM, top - EDGE_MM, WIDE_MM + 2 * EDGE_MM, bottom_mm - top + 2 * EDGE_MM, line_mm=0.5,
               class_="frame")
    if on_top := [thing for thing in elevation.things if thing.on_top]:
        yield from _standing(on_top, top - EDGE_MM - ON_TOP_MM, ON_TOP_MM)
        yield from _columns(on_top, top - EDGE_MM - ON_TOP_MM, ON_TOP_MM)
    right = LEFT_MM + WIDE_MM + 3.0 + sum(wide for _, wide in COLUMNS)
    for unit in range(1, elevation.height_u + 1):
        y = bottom_mm - ROW_MM * (unit - 0.5)
        yield text(LEFT_MM - 1.5, y + CAPITAL * NUMBER_MM / 2, str(unit), NUMBER_MM, "end")
    for thing in elevation.things:
        if not thing.height_u:
            continue  # on a shelf: drawn with it; on top: drawn over the frame
        y = bottom_mm - ROW_MM * (thing.position_u - 1 + thing.height_u)
        high = ROW_MM * thing.height_u
        on_it = [other for other in elevation.things if other.on_shelf and other.position_u == thing.position_u]
        yield _panel(thing, y, high)
        yield from _standing(on_it, y, high)
        yield line(LEFT_MM + WIDE_MM + 2.0, y + high, right, y + high, 0.1)
        yield from _columns(on_it or [thing], y, high)


def _panel(thing: RackThing, y_mm: float, high_mm: float) -> Svg:
    """A front panel: what it is shows in its pattern, which device it is in its words."""
    parts = [rect(LEFT_MM, y_mm, WIDE_MM, high_mm, line_mm=0.25, shade=0.06 if thing.device else 0.0)]
    if thing.what == "shelf":
        parts.append(rect(LEFT_MM, y_mm + high_mm - 0.9, WIDE_MM, 0.9, line_mm=0.0, shade=1.0))
    elif thing.what in PANELS:
        parts += _pattern(PANELS[thing.what], y_mm, high_mm)
    words = thing.device or ("" if thing.what == "shelf" else thing.what)
    if thing.device and text_width_mm(f"{thing.device}  {thing.part}", TEXT_MM) < WIDE_MM - 4:
        words = f"{thing.device}  {thing.part}"
    parts.append(text(LEFT_MM + 2.0, y_mm + high_mm / 2 + CAPITAL * TEXT_MM / 2, words, TEXT_MM))
    return group(parts, class_="panel", data_slot=thing.id, data_position_u=thing.position_u,
                 data_height_u=thing.height_u)


def _pattern(kind: str, y_mm: float, high_mm: float) -> list[Svg]:
    """Vents, fans, brush, ports, outlets: drawn at the right, where the words leave room."""
    x, middle = LEFT_MM + WIDE_MM - 18.0, y_mm + high_mm / 2
    shapes = {
        "vents": "".join(box(x + step * 2.0, middle - 1.3, 0.7, 2.6) for step in range(8)),
        "fans": "".join(disc(x + 2.0 + step * 6.0, middle, 1.6) + disc(x + 2.0 + step * 6.0, middle, 0.6)
                        for step in range(3)),
        "brush": "".join(box(x + step * 0.8, middle - 1.1, 0.25, 2.2) for step in range(20)),
        "ports": "".join(box(x + step * 2.0, middle - 0.7, 1.3, 1.4) for step in range(8)),
        "outlets": "".join(disc(x + 0.8 + step * 2.2, middle, 0.8) + disc(x + 0.8 + step * 2.2, middle, 0.35)
                           for step in range(8)),
    }
    return [path(shapes[kind], shade=1.0)] if kind else []


def _standing(on_it: Sequence[RackThing], y_mm: float, high_mm: float) -> Iterator[Svg]:
    """What stands on a shelf, side by side; its widths are not known, so that they share the shelf."""
    if not on_it:
        return
    wide = (WIDE_MM - 3.0) / len(on_it)
    for index, thing in enumerate(on_it):
        x = LEFT_MM + 1.5 + index * wide
        words = thing.device or thing.what
        size = min(TEXT_MM, TEXT_MM * (wide - 2.0) / max(text_width_mm(words, TEXT_MM), 0.1))
        yield group((
            rect(x + 0.4, y_mm + 1.2, wide - 0.8, high_mm - 2.1, line_mm=0.25, shade=0.06),
            text(x + wide / 2, y_mm + high_mm / 2 + CAPITAL * size / 2, words, size, "middle")),
            class_="panel", data_slot=thing.id)


def _columns(things: Sequence[RackThing], y_mm: float, high_mm: float) -> Iterator[Svg]:
    """What a panel (or each thing of a shelf) is, its outlet, circuit and port, on lines that share its height."""
    pitch = high_mm / len(things)
    size = min(TEXT_MM, pitch * 0.8)
    most = max(1, int(pitch / (size * LEADING)))
    for index, thing in enumerate(things):
        x = LEFT_MM + WIDE_MM + 3.0
        what = f"{thing.device} {thing.words}" if len(things) > 1 and thing.device else thing.words
        if thing.what == "blank panel":
            what = f"{thing.height_u} free, {what}"
        cells = (what, thing.outlet, str(thing.circuit) if thing.circuit else "", thing.port)
        for (_, wide), words in zip(COLUMNS, cells, strict=True):
            lines = _fitted(words, wide - 1.5, size, most)
            middle = y_mm + (index + 0.5) * pitch - (len(lines) - 1) * size * LEADING / 2
            yield from text_lines(x, middle + CAPITAL * size / 2, lines, size)
            x += wide


def _fitted(words: str, wide_mm: float, size_mm: float, most: int) -> list[str]:
    """The words in as many lines as there is height for, without their last parts where that is too few; cut at a word
    where even the first part is too long: the table is whole."""
    parts = words.split(", ")
    lines = wrap(words, wide_mm, size_mm)
    while len(lines) > most and len(parts) > 1:
        parts.pop()
        lines = wrap(", ".join(parts), wide_mm, size_mm)
    if len(lines) <= most:
        return lines
    last = wrap(lines[most - 1], wide_mm - text_width_mm("…", size_mm), size_mm)[0]
    return [*lines[:most - 1], f"{last.rstrip(',')}…"]


# ---------------------------------------------------------------- without a rack

def _open_shelf(elevation: RackElevation) -> Iterator[Svg]:
    """Things one over the other in their order, not to scale."""
    for index, thing in enumerate(elevation.things):
        y = TOP_MM + EDGE_MM + index * SHELF_ROW_MM
        yield text(LEFT_MM - 1.5, y + SHELF_ROW_MM / 2, unit_words(thing), NUMBER_MM, "end")
        yield group((
            rect(LEFT_MM, y + 0.6, WIDE_MM, SHELF_ROW_MM - 1.6, line_mm=0.25, shade=0.06 if thing.device else 0.0),
            text(LEFT_MM + 2.0, y + SHELF_ROW_MM / 2, f"{thing.device or thing.what}  {thing.part or ''}".strip(),
                 TEXT_MM)), class_="panel", data_slot=thing.id)
        yield from _columns([thing], y, SHELF_ROW_MM - 1.0)
        yield line(LEFT_MM - 2.0, y + SHELF_ROW_MM - 0.6, LEFT_MM + WIDE_MM + 2.0, y + SHELF_ROW_MM - 0.6, 0.4)

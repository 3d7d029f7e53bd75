"""Dimensions of a plan: running ones from a datum, each label off its neighbours; and whole ones from wall to wall."""

from __future__ import annotations

from collections.abc import Sequence

from quoting.documents.drawing import CAPITAL, Svg, group, line, path, text, text_width_mm
from quoting.documents.plan_symbols import disc

SIZE_MM = 2.4
ROW_MM = 3.4  # from one row of labels to the next
THIN_MM = 0.13
TICK_MM = 1.2
GAP_MM = 0.9  # between a tick and its figure


def rows_apart(spans: Sequence[tuple[float, float]], air_mm: float) -> list[int]:
    """For labels from the datum on, the row of each: the first in which it keeps clear of the one before."""
    ends: list[float] = []
    rows = []
    for start, end in spans:
        row = next((index for index, last in enumerate(ends) if start >= last + air_mm), len(ends))
        if row == len(ends):
            ends.append(end)
        ends[row] = end
        rows.append(row)
    return rows


def along_x(values: Sequence[tuple[float, str]], left_mm: float, y_mm: float, title: str) -> tuple[Svg, float]:
    """Running dimensions under a plan: (distance on the paper, words) from the west wall. Also their height. [mm]"""
    halves = [text_width_mm(words, SIZE_MM) / 2 for _, words in values]
    rows = rows_apart([(at - half, at + half) for (at, _), half in zip(values, halves, strict=True)], 1.2)
    parts = [line(left_mm, y_mm, left_mm + max((at for at, _ in values), default=0.0), y_mm, THIN_MM * 2),
             _datum(left_mm, y_mm)]
    for (at, words), row in zip(values, rows, strict=True):
        x = left_mm + at
        foot = y_mm + TICK_MM + row * ROW_MM
        parts += [line(x, y_mm - TICK_MM, x, foot, THIN_MM * 2),
                  text(x, foot + GAP_MM + CAPITAL * SIZE_MM, words, SIZE_MM, "middle")]
    low = y_mm + TICK_MM + (max(rows, default=0) + 1) * ROW_MM + GAP_MM - 0.5
    parts.append(text(left_mm, low + CAPITAL * SIZE_MM, title, SIZE_MM))
    return group(parts, class_="dimensions", paint_order="stroke"), low + ROW_MM - y_mm


def along_y(values: Sequence[tuple[float, str]], x_mm: float, bottom_mm: float, title: str) -> tuple[Svg, float]:
    """Running dimensions left of a plan: (distance on the paper, words) from the south wall. Also their width. [mm]"""
    rows = rows_apart([(at - SIZE_MM / 2, at + SIZE_MM / 2) for at, _ in values], 0.6)
    wide = max((text_width_mm(words, SIZE_MM) for _, words in values), default=0.0) + GAP_MM + 0.9
    parts = [line(x_mm, bottom_mm, x_mm, bottom_mm - max((at for at, _ in values), default=0.0), THIN_MM * 2),
             _datum(x_mm, bottom_mm)]
    for (at, words), row in zip(values, rows, strict=True):
        y = bottom_mm - at
        foot = x_mm - TICK_MM - row * wide
        parts += [line(x_mm + TICK_MM, y, foot, y, THIN_MM * 2),
                  text(foot - GAP_MM, y + CAPITAL * SIZE_MM / 2, words, SIZE_MM, "end")]
    far = TICK_MM + (max(rows, default=0) + 1) * wide
    parts.append(text(x_mm - far - 0.8, bottom_mm, title, SIZE_MM, turn_deg=-90))
    return group(parts, class_="dimensions", paint_order="stroke"), far + ROW_MM


def _datum(x_mm: float, y_mm: float) -> Svg:
    """Where running dimensions begin."""
    return path(disc(x_mm, y_mm, 0.7), shade=1.0)


def whole_x(left_mm: float, right_mm: float, y_mm: float, words: str) -> Svg:
    """A dimension from wall to wall over a plan, its words above the line."""
    return group((
        line(left_mm, y_mm, right_mm, y_mm, THIN_MM * 2), line(left_mm, y_mm - 1, left_mm, y_mm + 1, THIN_MM * 2),
        line(right_mm, y_mm - 1, right_mm, y_mm + 1, THIN_MM * 2),
        text((left_mm + right_mm) / 2, y_mm - 0.8, words, SIZE_MM, "middle")), class_="dimensions",
        paint_order="stroke")


def whole_y(x_mm: float, top_mm: float, bottom_mm: float, words: str) -> Svg:
    """A dimension from wall to wall right of a plan, its words along the line."""
    return group((
        line(x_mm, top_mm, x_mm, bottom_mm, THIN_MM * 2), line(x_mm - 1, top_mm, x_mm + 1, top_mm, THIN_MM * 2),
        line(x_mm - 1, bottom_mm, x_mm + 1, bottom_mm, THIN_MM * 2),
        text(x_mm + 0.8 + CAPITAL * SIZE_MM, (top_mm + bottom_mm) / 2, words, SIZE_MM, "middle", turn_deg=-90)),
        class_="dimensions", paint_order="stroke")


def extension(x1_mm: float, y1_mm: float, x2_mm: float, y2_mm: float) -> Svg:
    """A thin dotted line from a thing to its dimension."""
    return line(x1_mm, y1_mm, x2_mm, y2_mm, THIN_MM, "0.4 0.8")

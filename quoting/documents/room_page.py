"""How high a room's drawing may be, so that it shares its page with the sheet's words and its table.

Reckoned for the lower page of A4 and Letter and the narrower one, with the sizes of crew.css and the widest usual face.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from quoting.documents.crew_sheet import CrewTable
from quoting.documents.drawing import text_width_mm, wrap

PAGE_MM, WIDE_MM = 250.0, 184.0  # within the margins: of Letter down, of A4 across
PT_MM = 25.4 / 72
TITLE_MM, NOTE_MM, CELL_MM, HEAD_MM = 12 * PT_MM, 7.5 * PT_MM, 7 * PT_MM, 9.5 * PT_MM  # of their letters
LINE, CELL_LINE = 1.3, 1.2  # from line to line
NOTE_GAP_MM, ROW_GAP_MM, COLUMN_GAP_MM = 1.1, 1.3, 2.1
CAUTION_EDGE_MM, TITLE_EDGE_MM, HEAD_EDGE_MM = 5.2, 1.5, 3.4
SPARE_MM = 5.0  # what this reckoning may be off
LEAST_MM = 95.0  # a drawing lower than this has a page to itself and its words, and the table follows


def drawing_high_mm(title: str, cautions: Iterable[str], notes: Iterable[str], table: CrewTable) -> float:
    """What a page leaves for the drawing between words and table; without the table where that is too little. [mm]"""
    left_mm = PAGE_MM - SPARE_MM - _words_mm(title, cautions, notes)
    shared_mm = left_mm - _table_mm(table)
    return shared_mm if shared_mm >= LEAST_MM else left_mm


def _words_mm(title: str, cautions: Iterable[str], notes: Iterable[str]) -> float:
    half_mm = WIDE_MM / 2 - 10.0  # cautions stand in two columns
    lines = sum(len(wrap(caution, half_mm, NOTE_MM)) for caution in cautions)
    said = [len(wrap(note, WIDE_MM, NOTE_MM)) for note in notes]
    return (len(wrap(title, WIDE_MM * 0.9, TITLE_MM)) * TITLE_MM * LINE + TITLE_EDGE_MM
            + (math.ceil(lines / 2) + 1) * NOTE_MM * LINE + CAUTION_EDGE_MM
            + sum(said) * NOTE_MM * LINE + len(said) * NOTE_GAP_MM)


def _table_mm(table: CrewTable) -> float:
    """Columns share the width by what their longest cell asks for, as a browser deals it."""
    columns = [[table.columns[at], *(row[at] for row in table.rows)] for at in range(len(table.columns))]
    most = [max(text_width_mm(cell, CELL_MM) for cell in column) + COLUMN_GAP_MM for column in columns]
    least = [max(text_width_mm(word, CELL_MM) for cell in column for word in cell.split() or [""]) + COLUMN_GAP_MM
             for column in columns]
    spare_mm = WIDE_MM - sum(least)
    wishes = sum(most) - sum(least) or 1.0
    wide = [low + max(0.0, spare_mm) * (high - low) / wishes for low, high in zip(least, most, strict=True)]
    rows = [table.columns, *table.rows]
    lines = [max(len(wrap(cell, width - COLUMN_GAP_MM + 0.1, CELL_MM)) for cell, width in zip(row, wide, strict=True))
             for row in rows]
    return HEAD_MM * LINE + HEAD_EDGE_MM + sum(lines) * CELL_MM * CELL_LINE + len(rows) * ROW_GAP_MM

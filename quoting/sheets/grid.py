"""A sheet as rows of raw values, with the address of each."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from pathlib import Path

from msgspec import Struct

from quoting.problems import Cell, Problem, stop

Value = object  # str, int, float, bool, datetime, time, timedelta, None; or Formula


class Formula(Struct, frozen=True):
    """A spreadsheet formula found in a cell: its text, and the value that was stored with it (None: never stored)."""

    text: str
    stored: Value


class Grid(Struct, frozen=True):
    """One sheet. `rows[0]` is row 1. Rows may have different lengths; a missing cell is empty."""

    file: str
    sheet: str  # "" for a .csv file
    rows: Sequence[Sequence[Value]]
    decimal_comma: bool = False  # a .csv file whose numbers have a comma for the point

    def value(self, row: int, column: int) -> Value:
        """The value at 0-based row and column; None outside the sheet."""
        cells = self.rows[row] if 0 <= row < len(self.rows) else ()
        return cells[column] if 0 <= column < len(cells) else None

    def cell(self, row: int, column: int) -> Cell:
        """The address of 0-based row and column."""
        return Cell(self.file, self.sheet, f"{column_letters(column)}{row + 1}")


def column_letters(column: int) -> str:
    """"A" for 0, "AA" for 26."""
    letters = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        letters = chr(65 + rest) + letters
    return letters


def read_csv(path: Path, file: str) -> tuple[Grid, tuple[Problem, ...]]:
    """A .csv file as a grid of text; `file` is the name that problems show. UTF-8, byte-order mark accepted.

    Commas part the cells, or semicolons where the headings have those alone, as spreadsheets write them where the comma
    is the decimal sign; the grid says so. Cells are stripped; an empty cell is None. Never raises for what a file has.
    """
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        return Grid(file, "", ()), (stop(Cell(file), "missing-file", f"The file '{file}' is not there.",
                                         "Put it back, or copy it from the starter catalogue."),)
    except (OSError, UnicodeDecodeError):
        return Grid(file, "", ()), (stop(Cell(file), "unreadable-file", f"The file '{file}' is not UTF-8 text.",
                                         "Save it as CSV UTF-8."),)
    try:
        semicolons = parted_by_semicolons(text)
        parted = csv.reader(io.StringIO(text, newline=""), delimiter=";" if semicolons else ",")
        rows = tuple(tuple(cell.strip() or None for cell in row) for row in parted)
    except csv.Error:
        return Grid(file, "", ()), (stop(Cell(file), "unreadable-file", f"The file '{file}' is not a table of commas.",
                                         "Save it as CSV UTF-8."),)
    return Grid(file, "", rows, semicolons), ()


def parted_by_semicolons(text: str) -> bool:
    """Whether a table's headings have semicolons alone between them."""
    head = text.partition("\n")[0]
    return ";" in head and "," not in head

"""An .xlsx workbook as grids of raw values: guarded, loaded once, merged headings resolved."""

from __future__ import annotations

import io
import warnings
from pathlib import Path
from typing import TYPE_CHECKING

from quoting.problems import Cell, Problem, stop, warning
from quoting.sheets.grid import Formula, Grid, Value, column_letters
from quoting.sheets.guard import damaged, survey

if TYPE_CHECKING:
    from openpyxl.workbook.workbook import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

LAST_ROW = 20_000
LAST_COLUMN = 500
HEADING_ROWS = 15  # a heading may stand in any of these


def read_workbook(path: Path) -> tuple[tuple[Grid, ...], tuple[Problem, ...]]:
    """All sheets in their order, hidden ones too. No grids where the file must not or cannot be loaded.

    Never raises for what a file holds. A formula cell becomes a Formula with the value stored beside it. Problems:
    missing-file, unreadable-file, not-a-workbook, damaged-workbook, macro-workbook, workbook-too-large,
    unsafe-workbook, merge-too-large (all stops) and far-cell (a warning).
    """
    file = path.name
    data = _read_bytes(path)
    if isinstance(data, Problem):
        return (), (data,)
    found = survey(data, file)
    if isinstance(found, Problem):
        return (), (found,)
    try:
        return _load(data, file, found.sheets)
    except Exception:  # the loader raises KeyError, ValueError, IndexError, TypeError ... for damaged workbooks
        return (), (damaged(file),)


def _read_bytes(path: Path) -> bytes | Problem:
    where = Cell(path.name)
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return stop(where, "missing-file", f"The file '{path.name}' is not there.", "Check the name and the folder.")
    except (OSError, ValueError):
        return stop(where, "unreadable-file", f"The file '{path.name}' cannot be opened.",
                    "Close it in other programs and check that you may read it.")


def _load(data: bytes, file: str, declared: int) -> tuple[tuple[Grid, ...], tuple[Problem, ...]]:
    book = _open(data, stored=False)
    if len(book.sheetnames) != declared:  # a missing sheet part loads without an error
        return (), (damaged(file),)
    formulas = any(cell.data_type == "f" for sheet in book.worksheets for cell in sheet._cells.values())
    stored = _open(data, stored=True) if formulas else None
    problems: list[Problem] = []
    grids = tuple(
        _grid(sheet, stored[sheet.title] if stored else None, file, problems) for sheet in book.worksheets
    )
    return grids, tuple(problems)


def _open(data: bytes, stored: bool) -> Workbook:
    from openpyxl import load_workbook

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # about styles and extensions that nobody reads here
        return load_workbook(io.BytesIO(data), data_only=stored, keep_links=False, keep_vba=False)


def _grid(sheet: Worksheet, stored: Worksheet | None, file: str, problems: list[Problem]) -> Grid:
    rows: list[list[Value]] = []
    far: Cell | None = None
    # Not iter_rows: that walks, and makes, every cell of the used rectangle, which one far cell makes huge.
    for (row, column), cell in sheet._cells.items():
        value: Value = cell.value
        if value is None:
            continue
        if row > LAST_ROW or column > LAST_COLUMN:
            far = far or Cell(file, sheet.title, f"{column_letters(column - 1)}{row}")
            continue
        if cell.data_type == "f":
            value = Formula(_formula_text(value), stored._cells[row, column].value if stored else None)
        _put(rows, row - 1, column - 1, value)
    if far:
        problems.append(warning(
            far, "far-cell", f"Something is typed in {far.ref}, far outside the form; it was not read.",
            "Delete it, or move it into the form.",
        ))
    _fill_merged(sheet, rows)
    return Grid(file, sheet.title, tuple(tuple(row) for row in rows))


def _formula_text(value: object) -> str:
    text = getattr(value, "text", value)  # array formulas keep their text in an attribute
    return str(text or "")


def _put(rows: list[list[Value]], row: int, column: int, value: Value) -> None:
    while len(rows) <= row:
        rows.append([])
    cells = rows[row]
    while len(cells) <= column:
        cells.append(None)
    cells[column] = value


def _fill_merged(sheet: Worksheet, rows: list[list[Value]]) -> None:
    """Gives every cell of a merged range its value: headings in any direction, typed values only downwards.

    One zone merged over three rooms means that zone for all three; one number merged over two columns is a slip.
    """
    for merged in sheet.merged_cells.ranges:
        top, left = merged.min_row - 1, merged.min_col - 1
        value = rows[top][left] if top < len(rows) and left < len(rows[top]) else None
        heading = isinstance(value, str) and top < HEADING_ROWS
        if value is None or (merged.max_col - 1 > left and not heading):
            continue
        for row in range(top, merged.max_row):
            for column in range(left, merged.max_col):
                _put(rows, row, column, value)

"""A small good intake workbook for tests, and the same with some cells changed."""

from __future__ import annotations

import csv
import datetime
from collections.abc import Iterable
from pathlib import Path
from typing import Any, NamedTuple

from openpyxl import Workbook
from openpyxl.worksheet.worksheet import Worksheet

from quoting.catalog.records import Catalog
from quoting.intake.blank import everyday_first
from quoting.intake.columns import SheetForm, intake_form

FLOORS_ROW = 60  # where the small workbook has its floors block, when it has one


class Change(NamedTuple):
    """One cell. Job: `row` is empty and `column` a label. Other sheets: `row` counts from 1 below the headings,
    "heading" is the heading itself, "sheet" the whole sheet; "Floors" is the block on Job."""

    sheet: str
    row: str
    column: str
    value: Any


GOOD = (
    Change("Job", "", "Client", "Ada Brandt"), Change("Job", "", "Site address", "12 Lindenhof Lane"),
    Change("Job", "", "Wall state", "open"), Change("Job", "", "Head-end place", "closet"),
    Change("Job", "", "Start date", datetime.date(2027, 4, 12)), Change("Job", "", "Who pays", "owner"),
    *(Change("Rooms", str(row), column, value)
      for row, values in enumerate((("Kitchen", "kitchen", 1, "20 ft", "15 ft"), ("Living room", "living", 1, 24, 18),
                                    ("Patio", "patio", 1, "30 ft", "12'6\"")), 1)
      for column, value in zip(("Name", "Kind", "Floor", "Length", "Width"), values, strict=True)),
    Change("Sources", "1", "Kind", "streamer"),
)


def plain_book(catalog: Catalog, changes: Iterable[Change] = ()) -> Workbook:
    """Headings without looks, the good cells, then the changes in their order."""
    form = intake_form(catalog)
    book = Workbook()
    book.remove(book.worksheets[0])
    for sheet in form.sheets:
        made: Worksheet = book.create_sheet(sheet.name)
        if sheet.name == "Job":
            for row, column in enumerate(sheet.columns, 1):
                made.cell(row, 1).value = column.heading
        else:
            _head(made, sheet, 1)
    for change in (*GOOD, *changes):
        apply_change(book, form.floors, change)
    return book


def apply_change(book: Workbook, floors: SheetForm, change: Change) -> None:
    """Types, renames or removes one thing, wherever the form has it."""
    if change.row == "sheet":
        del book[change.sheet]
        return
    sheet = book["Job" if change.sheet == "Floors" else change.sheet]
    if change.sheet == "Job":
        sheet.cell(_row_of(sheet, change.column), 2).value = change.value
        return
    if change.sheet == "Floors" and _row_of(sheet, "Floor") == 0:
        _head(sheet, floors, FLOORS_ROW)
    first = floors.columns[0].heading if change.sheet == "Floors" else None
    heading_row = _row_of(sheet, first) if first else _heading_row(sheet, change.column)
    column = next(cell.column for cell in sheet[heading_row] if cell.value == change.column)
    below = 0 if change.row == "heading" else int(change.row)
    sheet.cell(heading_row + below, column).value = change.value


def _row_of(sheet: Worksheet, label: str) -> int:
    """The row with this label in column A; 0 for none."""
    return next((row[0].row for row in sheet.iter_rows(max_col=1) if row[0].value == label), 0)


def _heading_row(sheet: Worksheet, heading: str) -> int:
    return next(row[0].row for row in sheet.iter_rows(max_row=15) if any(cell.value == heading for cell in row))


def _head(sheet: Worksheet, form: SheetForm, row: int) -> None:
    for at, column in enumerate(everyday_first(form), 1):
        sheet.cell(row, at).value = column.heading


def read_changes(path: Path) -> tuple[Change, ...]:
    """Changes as a .csv file keeps them: sheet, row, column, value. "date:2027-01-31" is a date cell."""
    with path.open(encoding="utf-8", newline="") as lines:
        return tuple(
            Change(row["sheet"], row["row"], row["column"], _value(row["value"])) for row in csv.DictReader(lines)
        )


def _value(text: str) -> Any:
    if text.startswith("date:"):
        return datetime.datetime.fromisoformat(text.removeprefix("date:"))
    return text or None


def save(path: Path, catalog: Catalog, *changes: Change) -> Path:
    """The small workbook with these changes, on disk."""
    plain_book(catalog, changes).save(path)
    return path

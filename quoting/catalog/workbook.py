"""A whole catalogue as one workbook, a sheet a table, and back: every cell is text, so that nothing is lost."""

from __future__ import annotations

import csv
import datetime
import io
import os
import re
from collections.abc import Iterator, Sequence
from decimal import Decimal
from pathlib import Path

from quoting.catalog.questions import QUESTIONS
from quoting.catalog.tables import FILES, PART_FIELDS, SPECS
from quoting.facts import FACT_KINDS
from quoting.problems import Cell, Problem, has_stop, in_order, stop, warning
from quoting.sheets.grid import Formula, Grid, Value, parted_by_semicolons
from quoting.sheets.workbook import read_workbook

_FOLDERS = ("parts", "rules", "standards")
_LONGEST_SHEET = 31  # the file format's limit for a sheet's name
_WIDEST = 60  # of a column, in characters
_DIGITS = 15  # that a spreadsheet keeps of a number
_MADE = datetime.datetime(2000, 1, 1)  # a fixed date, so that the same catalogue makes the same bytes


def to_workbook(folder: Path, out: Path) -> tuple[Problem, ...]:
    """Writes every table of a catalogue's folder to a workbook. With a stop nothing is written."""
    problems: list[Problem] = []
    tables = {_sheet_name(file): _read_raw(folder, file, problems) for file in _table_files(folder)}
    if not tables:
        problems.append(stop(Cell(folder.name), "missing-catalogue", f"'{folder.name}' holds no table of a catalogue.",
                             "Name the folder that holds parts.csv."))
    if not has_stop(problems):
        try:
            out.write_bytes(_workbook_bytes(tables))
        except OSError:
            problems.append(_unwritable(out))
    return in_order(problems)


def from_workbook(xlsx: Path, folder: Path) -> tuple[Problem, ...]:
    """Writes each sheet's table to its .csv file, as text. A table whose cells have not changed is left as it is.

    Numbers and dates that an estimator typed become plain text without a spreadsheet's noise; formulas, and part
    numbers that a spreadsheet made numbers, are refused. With a stop nothing is written.
    """
    grids, found = read_workbook(xlsx)
    problems = list(found)
    tables: dict[str, list[list[str]]] = {}
    for grid in grids:
        file = _file_name(grid.sheet)
        if file is None:
            problems.append(warning(Cell(grid.file, grid.sheet), "unknown-sheet",
                                    f"'{grid.sheet}' is no table of a catalogue; it was left out.",
                                    "Name the sheet as the table is, such as parts.speakers."))
        else:
            tables[file] = _as_text(grid, problems)
    if grids and not tables:
        problems.append(stop(Cell(xlsx.name), "no-table", f"'{xlsx.name}' holds no table of a catalogue.",
                             "Use a workbook that `quoting rules to-workbook` wrote."))
    if not has_stop(problems):
        problems.extend(_write_tables(tables, folder))
        problems.extend(_left_behind(tables, folder))
    return in_order(problems)


# Names --------------------------------------------------------------------------------------------------------------

def _known_files() -> dict[str, tuple[str, ...]]:
    return {"": tuple(name.removesuffix(".csv") for name in FILES), "parts": tuple(SPECS),
            "rules": tuple(FACT_KINDS), "standards": tuple(QUESTIONS)}


def _table_files(folder: Path) -> list[str]:
    """The tables that the folder holds, the top ones first."""
    return [
        f"{inside}/{name}.csv" if inside else f"{name}.csv"
        for inside, names in _known_files().items() for name in names
        if (folder / inside / f"{name}.csv").is_file()
    ]


def _sheet_name(file: str) -> str:
    name = file.removesuffix(".csv").replace("/", ".")
    assert len(name) <= _LONGEST_SHEET, name  # names come from QUESTIONS, FACT_KINDS and the lists above
    return name


def _file_name(sheet: str) -> str | None:
    """The table that a sheet holds; None where it is none."""
    inside, dot, name = sheet.strip().lower().partition(".")
    if not dot:
        inside, name = "", inside
    if name not in _known_files().get(inside, ()):
        return None
    return f"{inside}/{name}.csv" if inside else f"{name}.csv"


# To a workbook ------------------------------------------------------------------------------------------------------

def _read_raw(folder: Path, file: str, problems: list[Problem]) -> list[list[str]]:
    """A table's cells exactly as stored."""
    try:
        text = (folder / file).read_bytes().decode("utf-8-sig")
        rows = list(csv.reader(io.StringIO(text, newline="")))
    except (OSError, UnicodeDecodeError, csv.Error):
        problems.append(stop(Cell(file), "unreadable-file", f"The file '{file}' is not UTF-8 text in columns.",
                             "Save it as CSV UTF-8."))
        return []
    if parted_by_semicolons(text):
        problems.append(stop(Cell(file), "semicolon-table", f"Semicolons part the cells of '{file}'; a workbook is "
                             "made from tables that commas part, whose numbers have a point.",
                             "Save it as CSV UTF-8 with commas, and numbers like 12.5."))
        return []
    grid = Grid(file, "", rows)
    for row, cells in enumerate(rows):
        for column, cell in enumerate(cells):
            if cell.lstrip().startswith("="):
                problems.append(_formula(grid.cell(row, column), cell))
    return rows


def _formula(where: Cell, text: str) -> Problem:
    return stop(where, "formula-cell", f"'{text[:60]}' is a formula; a catalogue holds values only.",
                "Type the value that it stands for.")


def _unwritable(path: Path) -> Problem:
    return stop(Cell(path.name), "unwritable-file", f"'{path.name}' cannot be written.",
                "Close it in other programs, and check the folder.")


def _workbook_bytes(tables: dict[str, list[list[str]]]) -> bytes:
    import pandas

    stream = io.BytesIO()
    options = {"strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False}
    with pandas.ExcelWriter(stream, engine="xlsxwriter", engine_kwargs={"options": options}) as writer:
        writer.book.set_properties({"created": _MADE})
        text = writer.book.add_format({"num_format": "@", "valign": "top"})
        heading = writer.book.add_format({"num_format": "@", "bold": True, "bottom": 1})
        for name, rows in tables.items():
            width = max(map(len, rows), default=0)
            frame = pandas.DataFrame([row + [""] * (width - len(row)) for row in rows], dtype=object)
            frame.to_excel(writer, sheet_name=name, header=False, index=False)
            sheet = writer.sheets[name]
            sheet.freeze_panes(1, 1)
            sheet.set_row(0, None, heading)
            for column in range(frame.shape[1]):
                widest = int(frame[column].str.len().max())
                sheet.set_column(column, column, min(widest + 2, _WIDEST), text)
    return stream.getvalue()


# From a workbook ----------------------------------------------------------------------------------------------------

def _as_text(grid: Grid, problems: list[Problem]) -> list[list[str]]:
    """The sheet's cells as a .csv file holds them, without the empty edge."""
    headings = [str(value).strip().lower() if isinstance(value, str) else "" for value in (grid.rows or ((),))[0]]
    rows = [
        [_cell_text(grid, row, column, headings, problems) for column in range(len(cells))]
        for row, cells in enumerate(grid.rows)
    ]
    return _squared(rows)


def _squared(rows: Sequence[list[str]]) -> list[list[str]]:
    """Rows of one width, without empty columns and rows at the edge; an empty row between others stays empty."""
    width = max((len(_trimmed(row)) for row in rows), default=0)
    padded = [(row + [""] * width)[:width] if any(row) else [] for row in rows]
    while padded and not padded[-1]:
        padded.pop()
    return padded


def _trimmed(row: Sequence[str]) -> Sequence[str]:
    end = len(row)
    while end and not row[end - 1]:
        end -= 1
    return row[:end]


def _cell_text(grid: Grid, row: int, column: int, headings: list[str], problems: list[Problem]) -> str:
    value = grid.value(row, column)
    if isinstance(value, Formula):
        problems.append(_formula(grid.cell(row, column), value.text))
        return ""
    if isinstance(value, str) and value.lstrip().startswith("="):
        problems.append(_formula(grid.cell(row, column), value))
    heading = headings[column] if column < len(headings) else ""
    names_part = heading in (*PART_FIELDS, "add") or (
        grid.sheet.lower() == "options" and grid.value(row, 0) == "role")
    if names_part and isinstance(value, int | float) and not isinstance(value, bool):
        problems.append(stop(grid.cell(row, column), "number-for-part",
                             f"'{plain_text(value)}' stands as a number where a part is named; leading zeros may be "
                             "gone.", "Format the cell as text and type the part number again."))
    return plain_text(value)


def plain_text(value: Value) -> str:
    """A spreadsheet's value as the text of a .csv cell: 15 digits of a number and no exponent, dates by the calendar
    standard, yes and no.

    >>> plain_text(0.1 + 0.2), plain_text(12.0), plain_text(True), plain_text(None)
    ('0.3', '12', 'yes', '')
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        text = f"{Decimal(f'{value:.{_DIGITS}g}'):f}"
        return text.rstrip("0").rstrip(".") if "." in text else text
    if isinstance(value, datetime.datetime):
        return value.date().isoformat() if value.time() == datetime.time() else value.isoformat(sep=" ")
    if isinstance(value, datetime.date | datetime.time):
        return value.isoformat()
    return re.sub(r"\r\n?", "\n", str(value))


def _write_tables(tables: dict[str, list[list[str]]], folder: Path) -> Iterator[Problem]:
    for file, rows in tables.items():
        path = folder / file
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            before = path.read_bytes() if path.exists() else b""
            if not before or _rows_of(before) != rows:
                _replace(path, _csv_bytes(rows, before))
        except OSError:
            yield _unwritable(path)


def _left_behind(tables: dict[str, list[list[str]]], folder: Path) -> Iterator[Problem]:
    """A warning where the firm's logo, which a workbook does not carry, is not in the folder."""
    for number, row in enumerate(tables.get("firm.csv", ()), start=1):
        if row[:1] == ["logo"] and row[1] and not (folder / row[1]).is_file():
            yield warning(Cell("firm.csv", "", f"B{number}"), "logo-missing", "A workbook carries tables and no "
                          f"pictures: there is no file '{row[1]}' in '{folder.name}'.", "Copy it beside firm.csv.")


def _rows_of(data: bytes) -> list[list[str]] | None:
    """A stored table in the same form as a sheet's; None where it cannot be read."""
    try:
        rows = [list(row) for row in csv.reader(io.StringIO(data.decode("utf-8-sig"), newline=""))]
    except (UnicodeDecodeError, csv.Error):
        return None
    return _squared([[re.sub(r"\r\n?", "\n", cell) for cell in row] for row in rows])


def _csv_bytes(rows: list[list[str]], before: bytes) -> bytes:
    """The table in the line ends and the byte-order mark of the file that it replaces."""
    stream = io.StringIO(newline="")
    ends = "\r\n" if before.partition(b"\n")[0].endswith(b"\r") else "\n"
    csv.writer(stream, lineterminator=ends).writerows(rows)
    return stream.getvalue().encode("utf-8-sig" if before.startswith(b"\xef\xbb\xbf") else "utf-8")


def _replace(path: Path, data: bytes) -> None:
    """The file is whole before and after."""
    beside = path.with_name(f".{path.name}.new")
    beside.write_bytes(data)
    os.replace(beside, path)

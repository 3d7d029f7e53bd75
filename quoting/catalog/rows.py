"""A catalogue file as rows of text under known headings, and a record filled from a row by its field types."""

from __future__ import annotations

import functools
import re
import types
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from pathlib import Path
from typing import Any, Literal, TypeVar, Union, get_args, get_origin

from msgspec import Struct

from quoting.catalog.cells import READERS, Reader, Wrong, choice_reader, with_point
from quoting.problems import Cell, Problem, stop
from quoting.sheets.grid import Grid, column_letters, read_csv
from quoting.tables.headings import match_heading, type_hints

T = TypeVar("T")
NAME_LIMIT = 60
TEXT_LIMIT = 2000

# Fields that a sheet heads otherwise than the record calls them.
_HEADED = {("Price", "list_price"): "list", ("Price", "floor_price"): "floor", ("TaxRule", "name"): "tax"}
_UNPRINTABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]")


class Column(Struct, frozen=True):
    """A known column: where it stands, and the factor from its heading's unit to the field's."""

    index: int
    factor: float


class Row(Struct, frozen=True):
    """One row: its 0-based number and its filled cells under known headings."""

    number: int
    cells: Mapping[str, str]

    def __getitem__(self, name: str) -> str:
        return self.cells.get(name, "")


class TableFile(Struct, frozen=True):
    """A file's rows, without the empty ones and without those that hold a formula."""

    file: str
    columns: Mapping[str, Column]
    rows: tuple[Row, ...]
    decimal_comma: bool = False

    def number(self, text: str) -> str:
        """The text of a cell of numbers, with a point where the file's numbers have a comma."""
        return with_point(text) if self.decimal_comma else text

    def cell(self, row: Row, name: str = "") -> Cell:
        """A cell's address; the row's first cell where the column is not there."""
        column = self.columns.get(name)
        return Cell(self.file, "", f"{column_letters(column.index if column else 0)}{row.number + 1}")


def read_table(
    folder: Path, file: str, names: Iterable[str], optional: Iterable[str], problems: list[Problem],
    free: list[str] | None = None,
) -> TableFile:
    """A file of the catalogue under known headings. Everything that is wrong with its form joins `problems`.

    `optional` headings may be missing. `free`, where given, gains the headings that are not among the names
    (the option names of options.csv) instead of their being refused.
    """
    grid, found = read_csv(folder / file, file)
    problems.extend(found)
    if found:
        return TableFile(file, {}, ())
    columns = _columns(grid, tuple(names), frozenset(optional), problems, free)
    width = len(grid.rows[0]) if grid.rows else 0
    known: dict[int, str] = {column.index: name for name, column in columns.items()}
    names_in_order = tuple(known.get(index, "") for index in range(width))
    rows: list[Row] = []
    for number, cells in enumerate(grid.rows):
        if number and any(cells) and (_plainly_sound(cells, width) or _in_form(grid, number, problems)):
            row = {name: cell for name, cell in zip(names_in_order, cells, strict=False) if cell is not None}
            rows.append(Row(number, row))  # type: ignore[arg-type]  # a .csv file's cells are text
    return TableFile(file, columns, tuple(rows), grid.decimal_comma)


def _columns(
    grid: Grid, names: tuple[str, ...], optional: frozenset[str], problems: list[Problem], free: list[str] | None
) -> dict[str, Column]:
    columns: dict[str, Column] = {}
    for index, heading in enumerate(grid.rows[0] if grid.rows else ()):
        if heading is None:
            continue
        match = match_heading(str(heading), names)
        if match is None and free is not None:
            match = (str(heading), 1.0)
            free.append(str(heading))
        if match is None:
            problems.append(stop(grid.cell(0, index), "unknown-heading",
                                 f"'{heading}' is not a heading of this sheet; it has {', '.join(names)}.",
                                 "Correct the heading, or remove the column."))
        elif match[0] in columns:
            problems.append(stop(grid.cell(0, index), "heading-twice",
                                 f"'{heading}' heads a second column for {match[0]}.", "Remove one of the two."))
        else:
            columns[match[0]] = Column(index, match[1])
    missing = [name for name in names if name not in columns and name not in optional]
    if missing:
        problems.append(stop(Cell(grid.file, "", "A1"), "missing-column",
                             f"The sheet has no column {', '.join(missing)}.", "Add it to the heading row."))
    return columns


def _plainly_sound(cells: Sequence[object], width: int) -> bool:
    """Whether a row holds nothing that a closer look could find wrong: one test for all of its cells."""
    text = "\n".join(filter(None, cells))  # type: ignore[arg-type]  # a .csv file's cells are text
    return (
        len(cells) <= width and len(text) <= TEXT_LIMIT and text[0] != "=" and "\n=" not in text
        and not _UNPRINTABLE.search(text)
    )


def _in_form(grid: Grid, number: int, problems: list[Problem]) -> bool:
    """Whether a row holds no formula and nothing that no document can carry."""
    cells = grid.rows[number]
    width = len(grid.rows[0])
    for index, cell in enumerate(cells):
        if cell is None:
            continue
        text = str(cell)
        wrong = _wrong_form(text) if index < width else Wrong(
            "no-heading", f"'{text[:NAME_LIMIT]}' stands outside the headed columns; was a comma meant to be quoted?",
            "Quote the text that holds a comma, or remove the cell.")
        if wrong:
            problems.append(stop(grid.cell(number, index), wrong.code, wrong.message, wrong.remedy))
            return False
    return True


def _wrong_form(text: str) -> Wrong | None:
    if text[0] == "=":
        return Wrong("formula-cell", f"'{text[:NAME_LIMIT]}' looks like a formula; a catalogue holds values only.",
                     "Type the value that it stands for.")
    if len(text) > TEXT_LIMIT:
        return Wrong("text-too-long", f"'{text[:NAME_LIMIT]}...' has {len(text)} characters; {TEXT_LIMIT} are allowed.",
                     "Shorten it.")
    if _UNPRINTABLE.search(text):
        return Wrong("strange-character", f"{text[:NAME_LIMIT]!r} holds a character that cannot be printed.",
                     "Type the text again.")
    return None


class FieldReader(Struct, frozen=True):
    """How one field of a record is read from its column."""

    name: str
    column: str
    read: Reader
    empty_ok: bool  # an empty cell is the type's own empty value
    empty: object
    number: bool = False
    choices: tuple[str, ...] = ()


def field_readers(cls: type) -> tuple[FieldReader, ...]:
    """The fields of a record that columns fill: every one whose type a cell can hold."""
    return _field_readers(cls)


@functools.cache
def _field_readers(cls: type) -> tuple[FieldReader, ...]:
    hints = type_hints(cls).items()
    made = (_field_reader(name, _HEADED.get((cls.__name__, name), name), hint) for name, hint in hints)
    return tuple(reader for reader in made if reader is not None)


def _field_reader(name: str, column: str, hint: object) -> FieldReader | None:
    optional = get_origin(hint) in (Union, types.UnionType)
    if optional:
        hint = next((part for part in get_args(hint) if part is not type(None)), hint)
    if get_origin(hint) is Literal:
        choices = tuple(str(choice) for choice in get_args(hint))
        empty_ok = optional or "" in choices
        return FieldReader(name, column, choice_reader(choices), empty_ok, None if optional else "", choices=choices)
    reader = READERS.get(hint)
    if reader is None:
        return None
    empty = {str: "", bool: False}.get(hint) if not optional else None  # type: ignore[call-overload]
    return FieldReader(name, column, reader, optional or hint in (str, bool), empty, hint in (int, float, Decimal))


def columns_of(cls: type) -> tuple[str, ...]:
    """The headings that a record's fields ask for."""
    return tuple(reader.column for reader in field_readers(cls))


def optional_columns(cls: type) -> frozenset[str]:
    """Headings that a sheet may do without: notes, references, and fields that may be None."""
    return frozenset(
        reader.column for reader in field_readers(cls)
        if reader.column in ("note", "reference") or (reader.empty_ok and reader.empty is None)
    )


def fill(
    cls: type[T], table: TableFile, row: Row, problems: list[Problem], required: Iterable[str] = (), **given: Any
) -> T | None:
    """A record from a row; None, with a problem for each cell, where a cell holds no value of its field's type.

    `given` are fields that no column fills; `where`, if the record has it and it is not given, is the row's cell.
    """
    record: type = cls
    values: dict[str, Any] = dict(given)
    cells, columns = row.cells, table.columns
    sound = True
    for reader in field_readers(record):
        name, column = reader.name, reader.column
        if name in given:
            continue
        text = cells.get(column)
        if text is None:
            if reader.empty_ok and column not in required:
                values[name] = reader.empty
                continue
            value: object = Wrong("missing-value", f"'{column}' is empty.",
                                  "Type its value (0 where a number does not apply).")
        else:
            value = reader.read(table.number(text) if reader.number else text, columns[column].factor)
        if isinstance(value, Wrong):
            sound = False
            if column in columns:  # a missing column has been told of once
                problems.append(stop(table.cell(row, column), value.code, value.message, value.remedy))
        values[name] = value
    if not sound:
        return None
    if "where" in type_hints(record):
        values.setdefault("where", table.cell(row))
    return cls(**values)

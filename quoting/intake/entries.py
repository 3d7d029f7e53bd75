"""One row of the intake workbook, cell by cell, as typed values by attribute."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from decimal import Decimal
from typing import TypeVar

from msgspec import Struct, field

from quoting.intake.columns import Column, SheetForm, rate_limit
from quoting.problems import Cell, Problem, stop
from quoting.sheets import fields
from quoting.sheets.dates import read_date, read_hours
from quoting.sheets.grid import Grid, Value
from quoting.sheets.numbers import Unclear, parse_number
from quoting.sheets.table import HEADING_ROWS, find_table, heading_key, is_blank_row
from quoting.units import UnitSystem

T = TypeVar("T")

_FLOOR_WORDS = {"basement": -1, "cellar": -1, "b": -1, "ground": 0, "ground floor": 0, "g": 0}
_FLOOR = re.compile(r"(?:floor |level )?(-?\d)(?:st|nd|rd|th)?(?: floor)?$")


class Measures(Struct, frozen=True):
    """What bare numbers mean in this job."""

    system: UnitSystem
    currency: str


class Raw(Struct, frozen=True):
    """A cell as it stands: its value, its address, and the unit that its heading names ("" for the job's)."""

    value: Value
    where: Cell
    unit: str = ""


class Line(Struct, frozen=True):
    """A row of a sheet, and the 0-based column of each attribute that has one."""

    grid: Grid
    row: int
    columns: Mapping[str, int]

    def cell(self, attribute: str) -> Cell:
        """The address of an attribute's cell."""
        return self.grid.cell(self.row, self.columns[attribute])


class Entry(Struct, frozen=True):
    """What one row holds: the values that could be read, and which cells hold a `?` or something unreadable.

    `cells` has the cells that hold something; "" is the row's first. `line` says where the others would be.
    """

    form: SheetForm
    values: Mapping[str, object] = field(default_factory=dict)
    cells: Mapping[str, Cell] = field(default_factory=dict)
    asked: frozenset[str] = frozenset()
    bad: frozenset[str] = frozenset()
    line: Line | None = None

    def get(self, attribute: str, kind: type[T]) -> T | None:
        """A typed value, None where blank, asked or unreadable."""
        value = self.values.get(attribute)
        return value if isinstance(value, kind) else None

    def text(self, attribute: str) -> str:
        """A typed word, "" where there is none."""
        return self.get(attribute, str) or ""

    def yes(self, attribute: str) -> bool:
        """A typed yes."""
        return self.get(attribute, bool) is True

    def where(self, attribute: str = "") -> Cell:
        """Where an attribute is typed or would be: its cell, else the row's."""
        found = self.cells.get(attribute)
        if found is None and self.line and attribute in self.line.columns:
            return self.line.cell(attribute)
        return found or self.cells[""]


def heading_names(columns: Iterable[Column]) -> dict[str, str]:
    """Every heading that means a column, as the sheet may spell it, with the column's attribute."""
    names: dict[str, str] = {}
    for column in columns:
        for heading in (column.heading, *column.also):
            names.setdefault(heading_key(heading), column.attribute)
    return names


def read_table(
    grid: Grid, form: SheetForm, measures: Measures, first: int = 0, last: int = HEADING_ROWS,
) -> tuple[tuple[Entry, ...], tuple[Problem, ...]]:
    """A sheet's rows below its headings; empty rows are skipped, unknown columns left alone.

    Problems: no-headings, missing-heading, heading-twice, and whatever the cells have.
    """
    table, problems = find_table(grid, heading_names(form.columns), first, last, least=2)
    if table is None:
        return (), _no_headings(grid, form)
    found = [*problems]
    for column in form.columns:
        if column.required and column.attribute not in table.columns:
            found.append(stop(
                grid.cell(table.row, 0), "missing-heading",
                f"Sheet '{grid.sheet}' has no column headed '{column.heading}', which every {form.row_word} needs.",
                f"Add a column headed {column.heading}.",
            ))
    entries: list[Entry] = []
    first_column = min(table.columns.values())
    for row in range(table.row + 1, len(grid.rows)):
        if is_blank_row(grid, row, table.columns):
            continue
        line = Line(grid, row, table.columns)
        raw = {
            name: Raw(grid.value(row, at), grid.cell(row, at), table.units.get(name, ""))
            for name, at in table.columns.items() if grid.value(row, at) is not None
        }
        entry, slips = read_entry(form, raw, grid.cell(row, first_column), measures, line)
        entries.append(entry)
        found.extend(slips)
    return tuple(entries), tuple(found)


def _no_headings(grid: Grid, form: SheetForm) -> tuple[Problem, ...]:
    """An empty sheet says nothing; a sheet with something on it and no known heading is a slip."""
    if not any(fields.settle(value, Cell(""), "") is not None for row in grid.rows for value in row):
        return ()
    needed = ", ".join(column.heading for column in form.columns if column.required)
    return (stop(
        Cell(grid.file, grid.sheet), "no-headings",
        f"Sheet '{grid.sheet}' has no row of headings among its first {HEADING_ROWS} rows.",
        f"Put the headings back, at least: {needed}.",
    ),)


def read_entry(
    form: SheetForm, raw: Mapping[str, Raw], where: Cell, measures: Measures, line: Line | None = None,
) -> tuple[Entry, tuple[Problem, ...]]:
    """Reads the cells that hold something; a required one is missed where it is blank, not where it has no column.

    A required column without a heading counts as unreadable: that problem already stands.
    """
    values: dict[str, object] = {}
    cells: dict[str, Cell] = {"": where}
    asked: set[str] = set()
    bad: set[str] = set()
    problems: list[Problem] = []
    for column in form.columns:
        cell = raw.get(column.attribute)
        if cell is None:
            if not column.required:
                continue
            if line is None or column.attribute not in line.columns:
                bad.add(column.attribute)
                continue
            cell = Raw(None, line.cell(column.attribute))
        cells[column.attribute] = cell.where
        found = _read_cell(form, column, cell, measures)
        if isinstance(found, Problem):
            bad.add(column.attribute)
            problems.append(found)
        elif fields.is_unknown(found):
            asked.add(column.attribute)
        elif found is not None:
            values[column.attribute] = found
    return Entry(form, values, cells, frozenset(asked), frozenset(bad), line), tuple(problems)


def _read_cell(form: SheetForm, column: Column, cell: Raw, measures: Measures) -> object | Problem:
    """The value; "?" where not known yet; None where blank."""
    settled = fields.settle(cell.value, cell.where, column.heading)
    if isinstance(settled, Problem):
        return settled
    example = f", for example {column.example}" if column.example else ""
    how = f"Type {column.heading.lower()}{example}."
    if settled is None:
        if not column.required:
            return None
        need = "the job" if form.row_word == "job" else f"every {form.row_word}"
        return stop(cell.where, "missing-value", f"{column.heading} is '' (empty); {need} needs it.", how)
    if fields.is_unknown(settled):
        if not column.required:
            return "?"
        return stop(cell.where, "unknown-required", f"{column.heading} is '?'; no quote can be made without it.",
                    f"Type your best estimate{example}.")
    return read_value(column, settled, cell, measures)


def read_value(column: Column, value: Value, cell: Raw, measures: Measures) -> object | Problem:
    """One settled value by its column's kind."""
    return _READERS[column.kind](column, value, cell, measures)


def _name(column: Column, value: Value, cell: Raw, _: Measures) -> object:
    return fields.read_text(value, cell.where, column.heading)


def _note(column: Column, value: Value, cell: Raw, _: Measures) -> object:
    return fields.read_text(value, cell.where, column.heading, fields.NOTE_LIMIT)


def _code(column: Column, value: Value, cell: Raw, _: Measures) -> object:
    text = fields.read_text(value, cell.where, column.heading)
    if isinstance(text, Problem) or re.fullmatch(r"[A-Z][A-Z0-9]{0,3}", text.upper()):
        return text if isinstance(text, Problem) else text.upper()
    return stop(cell.where, "bad-code", f"{column.heading} '{fields.shown(text)}' is not a letter followed by at most "
                "3 letters and digits.", "Type a code like KIT or BED2, or leave it blank.")


def _zone(column: Column, value: Value, cell: Raw, _: Measures) -> object:
    """A number, or a name that a later check looks up on Zones."""
    try:
        number = parse_number(value) if isinstance(value, str) else 0
    except Unclear:
        number = 0
    if number is None:
        return fields.read_text(value, cell.where, column.heading)
    return fields.read_whole(value, cell.where, column.heading, *_whole_limits(column))


def _choice(column: Column, value: Value, cell: Raw, _: Measures) -> object:
    return fields.read_choice(value, cell.where, column.heading, column.choices)


def _choices(column: Column, value: Value, cell: Raw, _: Measures) -> object:
    found: list[str] = []
    for word in re.split(r"[,;\n]", fields.shown(value) if not isinstance(value, str) else value):
        if word.strip():
            choice = fields.read_choice(word.strip(), cell.where, column.heading, column.choices)
            if isinstance(choice, Problem):
                return choice
            found.append(choice)
    return tuple(dict.fromkeys(found))


def _yes_no(column: Column, value: Value, cell: Raw, _: Measures) -> object:
    return fields.read_yes_no(value, cell.where, column.heading)


def _whole(column: Column, value: Value, cell: Raw, _: Measures) -> object:
    return fields.read_whole(value, cell.where, column.heading, *_whole_limits(column))


def _number(column: Column, value: Value, cell: Raw, _: Measures) -> object:
    return fields.read_number(value, cell.where, column.heading, *_whole_limits(column))


def _money(column: Column, value: Value, cell: Raw, measures: Measures) -> object:
    return fields.read_money(value, cell.where, column.heading, measures.currency)


def _rate(column: Column, value: Value, cell: Raw, _: Measures) -> object:
    return fields.read_rate(value, cell.where, column.heading, rate_limit(column))


def _date(column: Column, value: Value, cell: Raw, _: Measures) -> object:
    return read_date(value, cell.where, column.heading)


def _hours(column: Column, value: Value, cell: Raw, _: Measures) -> object:
    return read_hours(value, cell.where, column.heading, column.most or 24)


def _floor(column: Column, value: Value, cell: Raw, measures: Measures) -> object:
    """A number, or a word that names one; 1st and floor 1 are 1."""
    if isinstance(value, str):
        word = value.casefold()
        found = _FLOOR.match(word)
        value = _FLOOR_WORDS.get(word, int(found[1]) if found else value)
    return _whole(column, value, cell, measures)


def _length(column: Column, value: Value, cell: Raw, measures: Measures) -> object:
    return fields.read_length(value, cell.where, column.heading, measures.system, cell.unit, column.least, column.most)


def _short_length(column: Column, value: Value, cell: Raw, measures: Measures) -> object:
    """A bare number is inches or centimetres: nobody says a third of a foot of a joist."""
    unit = cell.unit or ("in" if measures.system == "imperial" else "cm")
    return fields.read_length(value, cell.where, column.heading, measures.system, unit, column.least, column.most)


def _amount(_column: Column, value: Value, _cell: Raw, _: Measures) -> object:
    """Left as typed: another cell of the row says whether it is a count or a length."""
    return value


_READERS: dict[str, Callable[[Column, Value, Raw, Measures], object]] = {
    "name": _name, "note": _note, "code": _code, "zone": _zone, "choice": _choice, "choices": _choices,
    "yes/no": _yes_no, "whole": _whole, "number": _number, "money": _money, "rate": _rate, "date": _date,
    "hours": _hours, "floor": _floor, "length": _length, "short length": _short_length, "amount": _amount,
}


def _whole_limits(column: Column) -> tuple[int | None, int | None]:
    return (
        None if column.least is None else int(column.least),
        None if column.most is None else int(column.most),
    )


def decimals(entries: Iterable[Entry], attribute: str) -> Iterator[tuple[Entry, Decimal]]:
    """The entries that have an amount or a number in an attribute."""
    for entry in entries:
        value = entry.get(attribute, Decimal)
        if value is not None:
            yield entry, value

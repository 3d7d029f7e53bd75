"""Writes cells of an .xlsx file: text as text, formulas with their values, every refusal raised. Knows no quote.

xlsxwriter reports a cell that it dropped by a negative return code and goes on; here every code is looked at. It
also takes three kinds of text for something else: "=1+1" (a formula, switched off), "http..." (a link, switched
off) and "<r>...</r>" (ready-made rich text, written without escaping: see `_plain`).
"""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from functools import lru_cache
from html import escape
from pathlib import Path
from textwrap import wrap
from typing import IO, Any

from msgspec import Struct
from xlsxwriter import Workbook
from xlsxwriter.worksheet import Worksheet

from quoting.problems import column_number
from quoting.sheets.grid import column_letters

Style = str
WIDEST = 255.0  # characters: the widest column that the format knows
LINE_HEIGHT = 13.0  # points, of the plain text size
PLAIN = {"font_name": "Calibri", "font_size": 10, "valign": "top"}  # what every style starts from


class Unwritten(Exception):
    """A cell that the library refused: the sheet would silently lack it. `code` is the library's own."""

    def __init__(self, sheet: str, where: str, code: int) -> None:
        super().__init__(f"the cell {sheet}!{where} was refused with code {code}")
        self.code = code


class PlainFormulaSheet(Worksheet):  # type: ignore[misc]
    """A worksheet whose formulas are written as they are given.

    The library searches every formula for 29 groups of newer functions to prefix; this workbook uses none of them,
    and the search is half of the writing time. Overrides a private method: the version is pinned, and a test
    compares the file with the plain one, byte for byte.
    """

    def _prepare_formula(self, formula: str, expand_future_functions: bool = False) -> str:  # noqa: ARG002
        return formula.removeprefix("=")


class MoneyCell(Struct, frozen=True):
    """A money cell as written: where, and the value that its formula must come to."""

    sheet: str
    address: str
    value: Decimal


@lru_cache(maxsize=1024)
def letters(column: int) -> str:
    """ "A" for 0."""
    return column_letters(column)


def address(row: int, column: int) -> str:
    """ "C5" for 4, 2."""
    return f"{letters(column)}{row + 1}"


@dataclass(slots=True)
class Sheet:
    """One sheet being written. Rows and columns count from 0; styles are names of the book's style list."""

    book: Book
    name: str
    worksheet: Any
    widths: dict[int, float] = field(default_factory=dict)
    wrapped: list[tuple[int, int, str]] = field(default_factory=list)  # row, column, text of cells that wrap
    folded: set[int] = field(default_factory=set)  # rows that belong under the one above
    columns: dict[int, float] = field(default_factory=dict)  # their widths in characters, once they are set

    def text(self, row: int, column: int, text: str, style: Style = "text") -> None:
        """Text as text, whole, whatever it looks like."""
        found = self.book.formats[style]
        code = (
            self.worksheet.write_string(row, column, _plain(text), found)
            if text
            else self.worksheet.write_blank(row, column, None, found)
        )
        self._check(code, row, column)
        if style in self.book.fitted:
            self._fit(column, len(text))
        elif style in self.book.wrapping:
            self.wrapped.append((row, column, text))
            self._fit(column, max(map(len, text.split()), default=0))

    def number(self, row: int, column: int, value: Decimal | float, style: Style = "number") -> None:
        """A number that is data. A whole quantity is shown as a count: "2", not "2.0"."""
        if style == "quantity" and value == int(value):
            style = "count"
        self._check(self.worksheet.write_number(row, column, value, self.book.formats[style]), row, column)
        self._fit(column, len(f"{value:.2f}") + 2)

    def formula(self, row: int, column: int, formula: str, value: Decimal | int | str, style: Style = "number") -> None:
        """A live formula with the value that it has now."""
        code = self.worksheet.write_formula(row, column, formula, self.book.formats[style], value)
        self._check(code, row, column)
        self._fit(column, len(value) if isinstance(value, str) else len(f"{value:.2f}") + 2)

    def money(self, row: int, column: int, formula: str, value: Decimal, style: Style = "money") -> None:
        """A live formula that is money: remembered, so that tests can recalculate every one."""
        self.formula(row, column, formula, value, style)
        self.book.money.append(MoneyCell(self.name, address(row, column), value))

    def blank(self, row: int, column: int, style: Style) -> None:
        """An empty cell with a look."""
        self._check(self.worksheet.write_blank(row, column, None, self.book.formats[style]), row, column)

    def blanks(self, row: int, columns: Sequence[int], style: Style = "text") -> None:
        """Empty cells with a look, so that a row's line runs through."""
        for column in columns:
            self.blank(row, column, style)

    def row_of_text(self, row: int, column: int, texts: Sequence[str], style: Style = "text") -> None:
        """Texts side by side."""
        for offset, text in enumerate(texts):
            self.text(row, column + offset, text, style)

    def at(self, row: int, column: int) -> str:
        """The fixed address of a cell, with its sheet: `Bill!$C$5`."""
        return f"{self._quoted()}!${letters(column)}${row + 1}"

    def down(self, column: int, first: int, last: int) -> str:
        """The fixed address of a column of cells, with its sheet; of one cell at least."""
        return f"{self._quoted()}!${letters(column)}${first + 1}:${letters(column)}${max(first, last) + 1}"

    def set_widths(self, at_least: float = 6.0, at_most: float = 40.0, **fixed: float) -> dict[int, float]:
        """Column widths that fit what was written, in characters (`fixed` by column letter: B=30), then the heights
        of the rows that wrap: no program but the big one works them out by itself. Gives the widths by column."""
        found = {column: min(max(width * 1.08 + 1.6, at_least), at_most) for column, width in self.widths.items()}
        found.update({column_number(name) - 1: min(width, WIDEST) for name, width in fixed.items()})
        for column, width in found.items():
            self.worksheet.set_column(column, column, width)
        self.columns.update(found)
        lines: dict[int, int] = {}
        for row, column, text in self.wrapped:
            lines[row] = max(lines.get(row, 1), _lines(text, found.get(column, at_least)))
        for row in lines.keys() | self.folded:
            height = LINE_HEIGHT * lines[row] + 3 if lines.get(row, 1) > 1 else None
            self.worksheet.set_row(row, height, None, {"level": 1} if row in self.folded else None)
        return found

    def _quoted(self) -> str:
        return f"'{self.name}'" if " " in self.name else self.name

    def _fit(self, column: int, length: int) -> None:
        if length > self.widths.get(column, 0.0):
            self.widths[column] = float(length)

    def _check(self, code: int, row: int, column: int) -> None:
        if code < 0:
            raise Unwritten(self.name, address(row, column), code)


@dataclass(slots=True)
class Book:
    """A workbook being written: its sheets, its styles by name, and every money cell so far."""

    workbook: Any
    formats: dict[Style, Any]
    fitted: frozenset[Style]  # styles whose text a column must be wide enough for
    wrapping: frozenset[Style]  # styles whose text wraps: the row must be high enough
    sheets: dict[str, Sheet] = field(default_factory=dict)
    money: list[MoneyCell] = field(default_factory=list)

    def add(self, name: str, worksheet_class: type[Any]) -> Sheet:
        """A new sheet after the others."""
        self.sheets[name] = Sheet(self, name, self.workbook.add_worksheet(name, worksheet_class=worksheet_class))
        return self.sheets[name]

    def close(self) -> None:
        """Writes the file."""
        self.workbook.close()


def open_book(
    target: Path | IO[bytes],
    created: datetime.date,
    styles: Mapping[Style, Mapping[str, Any]],
    fitted: frozenset[Style],
    wrapping: frozenset[Style],
    properties: Mapping[str, str],
) -> Book:
    """A new workbook whose bytes depend on nothing but what is written: no clock, no temporary files."""
    workbook = Workbook(
        str(target) if isinstance(target, Path) else target,
        {
            "in_memory": True,
            "strings_to_formulas": False,
            "strings_to_urls": False,
            "strings_to_numbers": False,
        },
    )
    noon = datetime.datetime.combine(created, datetime.time(12))
    workbook.set_properties({**properties, "created": noon})
    return Book(
        workbook, {name: workbook.add_format({**PLAIN, **style}) for name, style in styles.items()}, fitted, wrapping
    )


@lru_cache(maxsize=4096)  # a quote says the same sentence in many rows
def _lines(text: str, width: float) -> int:
    """How many lines a text takes in a column so many digits wide: letters are a little narrower than digits."""
    room = max(int(width * 1.12), 1)
    return sum(len(wrap(paragraph, room)) or 1 for paragraph in text.split("\n"))


def _plain(text: str) -> str:
    """The text, or (where the library would take it for its own rich text) one rich run that holds it, escaped."""
    if text.startswith("<r>") and text.endswith("</r>"):
        return f'<r><t xml:space="preserve">{escape(text, quote=False)}</t></r>'
    return text

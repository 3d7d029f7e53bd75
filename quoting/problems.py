"""Where a value was typed, and what is wrong with it: the one way every stage reports."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Literal

from msgspec import Struct

Severity = Literal["stop", "warning"]

_REF = re.compile(r"^([A-Za-z]*)(\d*)")


class Cell(Struct, frozen=True):
    """Where a value was typed: bare file name (catalogue files: path inside the catalogue), sheet, address.

    `sheet` is empty for a .csv file; `ref` is empty when the whole sheet or file is meant.
    """

    file: str
    sheet: str = ""
    ref: str = ""

    def __str__(self) -> str:
        return f"{self.file} {self.place}".rstrip()

    @property
    def place(self) -> str:
        """Where it is inside its file: "Rooms!B10"."""
        return f"{self.sheet}!{self.ref}" if self.sheet and self.ref else self.sheet or self.ref


class Problem(Struct, frozen=True):
    """One thing that is wrong. `code` is a stable word; `message` says what is wrong with the value in quotes
    and what is allowed; `remedy` says what to type."""

    where: Cell
    severity: Severity
    code: str
    message: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.where} {self.severity} {self.code}: {self.message} {self.remedy}".rstrip()


def stop(where: Cell, code: str, message: str, remedy: str) -> Problem:
    """A problem that forbids a quote."""
    return Problem(where, "stop", code, message, remedy)


def warning(where: Cell, code: str, message: str, remedy: str) -> Problem:
    """A problem that a person should look at; the quote still comes out."""
    return Problem(where, "warning", code, message, remedy)


def has_stop(problems: Iterable[Problem]) -> bool:
    """Whether any of them forbids a quote."""
    return any(p.severity == "stop" for p in problems)


def in_order(problems: Iterable[Problem]) -> tuple[Problem, ...]:
    """Sorted by file, sheet, row, column; each slip once."""
    return tuple(sorted(dict.fromkeys(problems), key=_order))


def column_number(letters: str) -> int:
    """1 for A, 27 for AA; 0 for none."""
    number = 0
    for letter in letters.upper():
        number = number * 26 + ord(letter) - 64
    return number


def _order(problem: Problem) -> tuple[str, str, int, int, str, str]:
    found = _REF.match(problem.where.ref)
    letters, row = (found.group(1), found.group(2)) if found else ("", "")
    where = problem.where
    return where.file, where.sheet, int(row or 0), column_number(letters), problem.code, problem.message

"""Finds a table's headings on a sheet, wherever they stand, and the rows below them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from msgspec import Struct

from quoting.problems import Cell, Problem, stop
from quoting.sheets.fields import key, settle, shown
from quoting.sheets.grid import Grid

HEADING_ROWS = 15  # a heading may stand in any of these

_NOWHERE = Cell("")
_UNIT = re.compile(r"\(\s*(ft|feet|foot|in|inch|inches|m|met(?:re|er)s?|cm|mm)\s*\)\s*\*?$", re.IGNORECASE)
_BRACKETS = re.compile(r"\s*[(\[][^)\]]*[)\]]|[*†]")
_UNIT_NAMES = {"feet": "ft", "foot": "ft", "inch": "in", "inches": "in", "metre": "m", "metres": "m", "meter": "m",
               "meters": "m"}


class Table(Struct, frozen=True):
    """Where a table's headings are: 0-based row, and the 0-based column and the unit of each name that was found."""

    row: int
    columns: Mapping[str, int]
    units: Mapping[str, str]  # only where the heading itself says one: "Length (m)"


def heading_key(text: str) -> str:
    """What two spellings of one heading have in common; units and remarks in brackets do not count.

    >>> heading_key(" Ceiling  HEIGHT (ft) * ")
    'ceiling height'
    """
    return key(_BRACKETS.sub(" ", text))


def find_table(
    grid: Grid, names: Mapping[str, str], first: int = 0, last: int = HEADING_ROWS, least: int = 1,
) -> tuple[Table | None, tuple[Problem, ...]]:
    """The row among `first` to `last` with the most known headings, the lowest such row where several have as many
    (a heading merged over two rows is in both). `names` maps heading keys to names.

    Nothing where no row has at least `least` of them. Problem: heading-twice, where two columns have one heading.
    """
    best: list[tuple[int, str, str]] = []
    at = -1
    for row in range(first, min(last, len(grid.rows))):
        found = list(_headings(grid, row, names))
        distinct = len({name for _, name, _ in found})
        if distinct >= least and distinct >= len({name for _, name, _ in best}):
            best, at = found, row
    if at < 0:
        return None, ()
    columns: dict[str, int] = {}
    units: dict[str, str] = {}
    problems: list[Problem] = []
    for column, name, unit in best:
        if name in columns:
            if not _same(grid, at, columns[name], column):
                problems.append(stop(
                    grid.cell(at, column), "heading-twice",
                    f"Heading '{shown(grid.value(at, column))}' stands over two columns that differ.",
                    "Rename or delete one of the two columns.",
                ))
            continue
        columns[name] = column
        if unit:
            units[name] = unit
    return Table(at, columns, units), tuple(problems)


def _headings(grid: Grid, row: int, names: Mapping[str, str]) -> Iterator[tuple[int, str, str]]:
    for column, value in enumerate(grid.rows[row]):
        if not isinstance(value, str) or len(value) > 100:
            continue
        name = names.get(heading_key(value))
        if name:
            unit = _UNIT.search(value.strip())
            word = unit.group(1).lower() if unit else ""
            yield column, name, _UNIT_NAMES.get(word, word)


def _same(grid: Grid, heading_row: int, one: int, other: int) -> bool:
    """Whether the second column holds nothing, or the same as the first: a merged heading, or a copied column."""
    return all(
        grid.value(row, other) in (None, grid.value(row, one)) for row in range(heading_row + 1, len(grid.rows))
    )


def is_blank_row(grid: Grid, row: int, columns: Mapping[str, int]) -> bool:
    """Whether nothing is typed under any known heading. A formula that shows nothing is nothing."""
    values = (grid.value(row, column) for column in columns.values())
    return all(value is None or settle(value, _NOWHERE, "") is None for value in values)

"""What a crew sheet is before it is laid out: a title, columns, rows of text, and the cautions in place."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby

NONE = "–"


@dataclass(frozen=True, slots=True, kw_only=True)
class CrewTable:
    """One table of a crew sheet; every row has as many cells as there are columns, none of them empty by mistake.

    A cell that somebody fills in by hand is "".
    """

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    grouped: bool = False  # the first column heads the rows that share it
    known_by: tuple[str, ...] = ()  # a name a row that holds in another revision; its first cell is then a count

    @property
    def named_rows(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Rows by what they are known by in another revision; a mere count of them is left out."""
        at = 1 if self.grouped else 0
        if not self.known_by:
            return tuple((row[at], row) for row in self.rows)
        return tuple((name, row[:at] + row[at + 1:]) for name, row in zip(self.known_by, self.rows, strict=True))

    @property
    def groups(self) -> tuple[tuple[str, tuple[tuple[str, ...], ...]], ...]:
        """Rows under what heads them, that cell left out; all rows under "" where nothing does."""
        if not self.grouped:
            return (("", self.rows),)
        return tuple((name, tuple(row[1:] for row in rows))
                     for name, rows in groupby(self.rows, key=lambda row: row[0]))

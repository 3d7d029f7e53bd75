"""What a crew sheet is before it is laid out: a title, columns, rows of text, and the cautions in place."""

from __future__ import annotations

from dataclasses import dataclass

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

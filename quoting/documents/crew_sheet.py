"""What a crew sheet is before it is laid out: a title, columns, rows of text, and the cautions in place."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import lru_cache
from itertools import groupby

from msgspec import Struct
from msgspec.structs import replace

from quoting.units import UnitSystem

NONE = "–"
LEAST_ROWS = 8  # fewer rows share their sheet with a neighbour's: they would leave the page bare
AMERICAN = {  # what a crew that measures in feet calls it
    "mains cord": "power cord", "mains outlet": "power outlet", "mains boxes": "line-voltage boxes",
    "mains circuit": "line-voltage circuit", "mains circuits": "line-voltage circuits",
    "mains": "line voltage", "licence": "license", "licences": "licenses",
    "the board": "the drywall", "new board": "new drywall", "colour": "color", "colours": "colors",
    "labelled": "labeled", "storey": "story", "storeys": "stories",
}
_AMERICAN = re.compile(rf"\b(?:{'|'.join(sorted(AMERICAN, key=len, reverse=True))})\b", re.IGNORECASE)
_BOTH = re.compile(r"\d[\d ./]* (?:ft|in|lb|F) \((\d[\d.,]* (?:m|mm|kg|C))\)")


class CrewTable(Struct, frozen=True, kw_only=True):
    """One table of a crew sheet; every row has as many cells as there are columns, none of them empty by mistake.

    A cell that somebody fills in by hand is "".
    """

    title: str
    about: str = ""  # what it is known by in another revision, where its title says what may change
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    grouped: bool = False  # the first column heads the rows that share it
    whole: bool = False  # never torn: it starts a page rather than leave its last rows on the next
    known_by: tuple[str, ...] = ()  # a name a row that holds in another revision; () where its first cell does
    counted: bool = False  # the first cell of a row is a mere count, which moves as soon as another row comes

    @property
    def named_rows(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Rows by what they are known by in another revision; a mere count of them is left out."""
        at = 1 if self.grouped else 0
        names = self.known_by or tuple(row[at] for row in self.rows)
        rows = tuple(row[:at] + row[at + 1:] for row in self.rows) if self.counted else self.rows
        return tuple(zip(names, rows, strict=True))

    @property
    def groups(self) -> tuple[tuple[str, tuple[tuple[str, ...], ...]], ...]:
        """Rows under what heads them, that cell left out; all rows under "" where nothing does."""
        if not self.grouped:
            return (("", self.rows),)
        return tuple((name, tuple(row[1:] for row in rows))
                     for name, rows in groupby(self.rows, key=lambda row: row[0]))


def in_units(table: CrewTable, system: UnitSystem) -> CrewTable:
    """A table whose texts say measures in the job's units, feet before metres or metres alone, in the words of a crew
    that measures so."""
    return replace(table, cautions=said_in(table.cautions, system), notes=said_in(filter(None, table.notes), system),
                   rows=tuple(said_in(row, system) for row in table.rows))


def said_in(texts: Iterable[str], system: UnitSystem) -> tuple[str, ...]:
    """Sentences that give a measure in both systems; a metric job reads its own alone, the other in its own words.

    >>> said_in(["Edges more than 6 ft (1.8 m) up are guarded."], "metric")
    ('Edges more than 1.8 m up are guarded.',)
    >>> said_in(["Mains: a licensed electrician.", "No mains cord before the board."], "imperial")
    ('Line voltage: a licensed electrician.', 'No power cord before the drywall.')
    """
    return tuple(_said(text, system) for text in texts)


@lru_cache(maxsize=65536)  # the sets of a house's options say much the same
def _said(text: str, system: UnitSystem) -> str:
    return _BOTH.sub(r"\1", text) if system == "metric" else _AMERICAN.sub(_in_american, text)


def _in_american(found: re.Match[str]) -> str:
    said = AMERICAN[found[0].lower()]
    return said[0].upper() + said[1:] if found[0][0].isupper() else said


def said_columns(table: CrewTable) -> CrewTable:
    """A table without the columns that say nothing in any row; there is more room for the others."""
    kept = [at for at in range(len(table.columns)) if any(row[at] != NONE for row in table.rows)]
    return replace(table, columns=tuple(table.columns[at] for at in kept),
                   rows=tuple(tuple(row[at] for at in kept) for row in table.rows))


def gathered(tables: Iterable[CrewTable]) -> Iterator[tuple[CrewTable, ...]]:
    """Tables in their order, those with few rows together with the ones after them, the last with those before it."""
    groups: list[tuple[CrewTable, ...]] = []
    held: tuple[CrewTable, ...] = ()
    for table in tables:
        held = (*held, table)
        if sum(len(each.rows) for each in held) >= LEAST_ROWS:
            groups.append(held)
            held = ()
    if held and groups:
        groups[-1] = (*groups[-1], *held)
    elif held:
        groups.append(held)
    return iter(groups)

"""The sheet Design: every fact of the engineering, field by field, and which row of which table decided it.

The other engineering sheets show what a person reads a job by; this one holds all of it, named as rule sheets name
it, so that an estimator sees what a rule could test.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from quoting.documents.office_look import page, table_head, title_block
from quoting.documents.office_rows import OfficeRows
from quoting.documents.office_system import fact_rows
from quoting.documents.office_why import show_cells
from quoting.documents.sheet_writer import Sheet
from quoting.facts import EFFORT_KINDS, FACT_KINDS, Fact, SiteFact
from quoting.problems import Cell

Row = Mapping[str, Any]

HEADINGS = ("Kind", "Fact", "Options", "Room", "Zone", "What it says", "Decided by", "Rests on", "Typed in")
EVERY_FACT = set(Fact.__struct_fields__)  # what has a column of its own
SITE = set(SiteFact.__struct_fields__) - EVERY_FACT
SITED = ("room", "room_use")  # where a room's own conditions are shown; whatever stands in it has the same
SHOWN = {  # the fields of each kind, in the order of its record: a file that was read back has lost it
    kind: tuple(name for name in record.__struct_fields__
                if name not in EVERY_FACT and (kind in SITED or name not in SITE))
    for kind, record in FACT_KINDS.items()
}
KINDS = tuple(kind for kind in FACT_KINDS if kind not in EFFORT_KINDS)


def write_design(sheet: Sheet, rows: OfficeRows) -> None:
    """One row a fact; facts that are the same in several options once."""
    top = title_block(
        sheet, rows.quote, "Design",
        "Every fact that rules can test, in metres, watts and ohms, named as rule sheets name them; what is empty, "
        "zero or no is left out. Filter by kind or room.")
    table_head(sheet, top, 0, HEADINGS)
    row = top
    for row, (kind, fact, options) in enumerate(_facts(rows), top + 1):
        said = (kind, fact["id"], options, fact["room"], str(fact["zone"] or ""), tell(kind, fact),
                ", ".join(fact["decided"]), ", ".join(fact["basis"]), show_cells(_cells(fact)))
        for column, text in enumerate(said):
            sheet.text(row, column, text)
    sheet.worksheet.autofilter(top, 0, max(row, top + 1), len(HEADINGS) - 1)
    sheet.worksheet.freeze_panes(top + 1, 2)
    sheet.set_widths(at_least=7, at_most=20, F=90.0, G=34.0, H=34.0, I=34.0)
    page(sheet, rows.quote, row, len(HEADINGS) - 1, (top, top), keys=2)


def tell(kind: str, fact: Row) -> str:
    """The fields that say something, "name value" each; a yes is its name alone."""
    said = ((name, fact[name]) for name in SHOWN[kind] if fact[name] not in ("", 0, False, None))
    return "; ".join(name if value is True else f"{name} {_show(value)}" for name, value in said)


def _show(value: object) -> str:
    return f"{round(value, 5):.10g}" if isinstance(value, float) else str(value)


def _facts(rows: OfficeRows) -> Iterator[tuple[str, Row, str]]:
    for kind in KINDS:
        met: list[tuple[Row, list[str]]] = []
        by_id: dict[str, list[tuple[Row, list[str]]]] = {}
        for option, fact in fact_rows(rows, kind):
            same = next((names for known, names in by_id.get(fact["id"], ()) if known == fact), None)
            if same is not None:
                same.append(option)
                continue
            entry = (fact, [option])
            by_id.setdefault(fact["id"], []).append(entry)
            met.append(entry)
        everywhere = len(rows.options)
        for fact, names in met:
            yield kind, fact, "all" if len(names) == everywhere else ", ".join(names)


def _cells(fact: Row) -> tuple[Cell, ...]:
    return tuple(Cell(cell["file"], cell.get("sheet", ""), cell.get("ref", "")) for cell in fact["where"])

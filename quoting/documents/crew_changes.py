"""Which crew sheets of an older revision are superseded: those of which anything is printed otherwise now."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from quoting.documents.crew_papers import CrewSheet, crew_set
from quoting.quote import Quote

MOST_ROWS = 6  # named for one sheet; the rest is counted


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetChange:
    """One sheet of the old set that must not be worked from, or one that is new. `number`: in its own set."""

    number: int
    title: str
    change: str  # superseded, no longer needed, new
    rows: str  # the first cells of rows that differ


def sheet_changes(old: Quote, new: Quote, option: str) -> tuple[SheetChange, ...]:
    """Sheets of one option that differ; nothing where both revisions print the same."""
    before, after = ({sheet.key: sheet for sheet in crew_set(
        quote, next(one for one in quote.options if one.name == option), draft=False).sheets} for quote in (old, new))
    found = []
    for key, sheet in before.items():
        if key not in after:
            found.append(SheetChange(number=sheet.number, title=sheet.title, change="no longer needed", rows=""))
        elif _printed(sheet) != _printed(after[key]):
            found.append(SheetChange(number=sheet.number, title=sheet.title, change="superseded",
                                     rows=_differing(sheet, after[key])))
    found += [SheetChange(number=sheet.number, title=sheet.title, change="new", rows="")
              for key, sheet in after.items() if key not in before]
    return tuple(found)


def _printed(sheet: CrewSheet) -> tuple[object, ...]:
    return sheet.title, str(sheet.drawing), sheet.cautions, sheet.notes, sheet.tables


def _differing(before: CrewSheet, after: CrewSheet) -> str:
    """The rows of either sheet that the other has not, by what they are known by: never by a count that moves."""
    old, new = _rows(before), _rows(after)
    names = list(dict.fromkeys(name for name, _ in (*(old - new), *(new - old))))
    if not names:
        return "drawing or notes"
    more = f" and {len(names) - MOST_ROWS} more" if len(names) > MOST_ROWS else ""
    return f"{', '.join(sorted(names)[:MOST_ROWS])}{more}"


def _rows(sheet: CrewSheet) -> Counter[tuple[str, tuple[str, ...]]]:
    return Counter(row for table in sheet.tables for row in table.named_rows)

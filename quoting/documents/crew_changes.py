"""Which sheets of an older revision are superseded: those of crew, warehouse, purchaser that say anything otherwise."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from msgspec import Struct
from msgspec.structs import replace

from quoting.buying import orders, purchase_list
from quoting.documents.buying_papers import buying_sheets
from quoting.documents.crew_labels import cable_labels
from quoting.documents.crew_papers import CrewSet, CrewSheet, apart, crew_set, set_of
from quoting.documents.crew_sheet import CrewTable
from quoting.documents.formats import english_locale, formats_for
from quoting.documents.pick_papers import pick_sheets
from quoting.quote import PricedOption, Quote

MOST_ROWS = 6  # named for one sheet; the rest is counted
PAPERS = (CREW, PICKS, PURCHASES, LABELS) = ("Crew sheets", "Pick list", "Purchase list", "Cable labels")


class SheetChange(Struct, frozen=True, kw_only=True):
    """One paper of the old set that must not be worked from, or one that is new: a sheet, or a short table that shares
    one. `number`: of its sheet, in its own set."""

    paper: str  # the set that it belongs to
    number: int
    title: str
    change: str  # superseded, no longer needed, new
    rows: str  # the first cells of rows that differ


def sheet_changes(old: Quote, new: Quote, option: str) -> tuple[SheetChange, ...]:
    """Sheets of one option that differ; nothing where both revisions print the same. The number of the revision itself,
    which stands in the number of an order, makes no difference."""
    terms = replace(new.job.terms, revision=old.job.terms.revision, quote_number=old.job.terms.quote_number)
    alike = replace(new, job=replace(new.job, terms=terms))
    before, after = ({(paper, sheet.key): sheet for paper, sheet in _papers(quote, next(
        one for one in quote.options if one.name == option))} for quote in (old, alike))
    found = []
    for (paper, key), sheet in before.items():
        now = after.get((paper, key))
        if now is None:
            found.append(_change(paper, sheet, "no longer needed"))
        elif _printed(sheet) != _printed(now):
            found.append(_change(paper, sheet, "superseded", _differing(sheet, now)))
    found += [_change(paper, sheet, "new") for (paper, key), sheet in after.items() if (paper, key) not in before]
    return tuple(sorted(found, key=lambda change: PAPERS.index(change.paper)))


def _papers(quote: Quote, option: PricedOption) -> Iterator[tuple[str, CrewSheet]]:
    """Every paper that somebody works from, with the name of its set."""
    formats = formats_for(english_locale(quote.job.terms.locale), quote.pricing.currency, quote.job.unit_system)
    lines = purchase_list(quote, option)
    yield from _of_set(CREW, crew_set(quote, option, draft=False))
    others = (
        (PICKS, pick_sheets(quote, option, formats)),
        (PURCHASES, buying_sheets(quote, option, lines, orders(quote, lines), formats)),
        (LABELS, (_labels(quote, option),)),
    )
    for paper, sheets in others:
        yield from _of_set(paper, set_of(quote, option, False, sheets, paper=paper, advice=""))


def _of_set(paper: str, made: CrewSet) -> Iterator[tuple[str, CrewSheet]]:
    yield from ((paper, each) for sheet in made.sheets for each in apart(sheet))


def _labels(quote: Quote, option: PricedOption) -> CrewSheet:
    """The labels as one sheet: how many fit on one depends on what is in the printer."""
    rows = tuple((label.run, label.end) for label in cable_labels(quote, option))
    return CrewSheet(title="Labels", tables=(CrewTable(title="Labels", columns=("Cable", "End"), rows=rows),))


def _change(paper: str, sheet: CrewSheet, change: str, rows: str = "") -> SheetChange:
    return SheetChange(paper=paper, number=sheet.number, title=sheet.title, change=change, rows=rows)


def _printed(sheet: CrewSheet) -> tuple[object, ...]:
    return sheet.title, str(sheet.drawing), sheet.cautions, sheet.notes, sheet.tables


def _differing(before: CrewSheet, after: CrewSheet) -> str:
    """The rows of either sheet that the other has not, by what they are known by: never by a count that moves. Those
    that came or went stand before those that changed."""
    old, new = _rows(before), _rows(after)
    names = list(dict.fromkeys(name for name, _ in (*(old - new), *(new - old))))
    stay = {name for name, _ in old} & {name for name, _ in new}
    if not names:
        return "drawing or notes"
    more = f" and {len(names) - MOST_ROWS} more" if len(names) > MOST_ROWS else ""
    return f"{'; '.join(sorted(names, key=lambda name: (name in stay, name))[:MOST_ROWS])}{more}"


def _rows(sheet: CrewSheet) -> Counter[tuple[str, tuple[str, ...]]]:
    return Counter(row for table in sheet.tables for row in table.named_rows)

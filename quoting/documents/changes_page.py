"""The office's page of what changed: price, cost, hours and why, for one option."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path

from quoting.changes import Changes, RowChange
from quoting.colours import readable_accents
from quoting.documents.crew_changes import SheetChange, sheet_changes
from quoting.documents.formats import formats_for
from quoting.documents.language import ENGLISH, language_for
from quoting.documents.templates import render_page
from quoting.quote import Quote

PAGE = "changes.html"
_FOLDED = ("output", "rack_slot", "connection")
_TITLES = {"material": "Parts", "labour": "Labour", "cable_run": "Cable runs"}


@dataclass(frozen=True, slots=True, kw_only=True)
class RowGroup:
    """The changed rows of one kind. `priced`: parts and labour, whose amounts differ."""

    title: str
    priced: bool
    timed: bool  # labour: hours differ too
    folded: bool  # opened by who needs it: sockets, channels, places in the rack
    rows: tuple[RowChange, ...]
    price: Decimal
    cost: Decimal
    hours: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class ChangesView:
    """What the page prints."""

    changes: Changes
    groups: tuple[RowGroup, ...]
    sheets: tuple[SheetChange, ...]  # of the crew
    firm: str
    client: str
    site: str
    reason: str
    requested_by: str
    minimum: Decimal | None  # the firm's least charge, where this change is priced below it
    accent: str
    accent_dark: str


def write_changes_page(
    changes: Changes, old: Quote, new: Quote, reason: str, requested_by: str, path: Path, templates: tuple[Path, ...]
) -> None:
    """Write the page, in the office's English with the job's numbers.

    Raises OSError where the file cannot be written, BadTemplate where a template of the firm's own fails.
    """
    formats = formats_for(new.job.terms.locale, changes.currency, new.job.unit_system, ENGLISH)
    accent, accent_dark = readable_accents(new.firm.accent)
    least = new.firm.minimum_change
    below = least is not None and not changes.nothing and 0 <= changes.total.difference < least
    kinds = dict.fromkeys(row.kind for row in changes.facts)
    groups = (_group(changes.materials), _group(changes.labour), _group(changes.runs),
              *(_group(tuple(row for row in changes.facts if row.kind == kind)) for kind in kinds))
    view = ChangesView(
        changes=changes, groups=tuple(group for group in groups if group), firm=new.firm.name,
        sheets=sheet_changes(old, new, changes.option),
        client=new.job.client.name, site=new.job.client.site, reason=reason, requested_by=requested_by,
        minimum=least if below else None, accent=accent, accent_dark=accent_dark)
    page = render_page(templates, PAGE, view=view, formats=formats, language=language_for(ENGLISH, {}))
    path.write_bytes(page.encode("utf-8"))


def _group(rows: tuple[RowChange, ...]) -> RowGroup | None:
    if not rows:
        return None
    kind = rows[0].kind
    priced = kind in ("material", "labour")
    return RowGroup(
        title=_TITLES.get(kind, kind.replace("_", " ").capitalize()), priced=priced,
        timed=kind == "labour", folded=kind in _FOLDED, rows=rows,
        price=sum((row.difference.price for row in rows), Decimal(0)),
        cost=sum((row.difference.cost for row in rows), Decimal(0)),
        hours=sum((row.difference.hours for row in rows), Decimal(0)))

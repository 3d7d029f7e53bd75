"""The office's page of what changed: price, cost, hours and why, for one option."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby
from pathlib import Path
from typing import TypeVar

from quoting.changes import Changes, PurchaseChange, RowChange, SumChange
from quoting.colours import readable_accents
from quoting.documents.crew_changes import SheetChange, sheet_changes
from quoting.documents.formats import formats_for
from quoting.documents.job_costs import planned_costs
from quoting.documents.language import ENGLISH, language_for
from quoting.documents.templates import render_page
from quoting.money import ZERO
from quoting.quote import PricedOption, Quote

T = TypeVar("T")
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
    buying: tuple[tuple[str, tuple[PurchaseChange, ...]], ...]  # by supplier
    sheets: tuple[tuple[str, tuple[SheetChange, ...]], ...]  # by paper: of crew, warehouse and purchaser
    record: tuple[SumChange, ...]  # what the job record's sheet Cost takes as changes: kinds that are not labour
    tax: Decimal  # how much of the change is tax
    stock: tuple[str, str] | None  # the stock lists of both sides, where they are two
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
    sides = [(quote, next(one for one in quote.options if one.name == changes.option)) for quote in (old, new)]
    tax = sides[1][1].totals.tax - sides[0][1].totals.tax
    lists = (old.buying.stock_file, new.buying.stock_file)
    stock = lists if lists[0] != lists[1] else None
    groups = (_group(changes.materials), _group(changes.labour), _group(changes.runs),
              *(_group(tuple(row for row in changes.facts if row.kind == kind)) for kind in kinds))
    view = ChangesView(
        changes=changes, groups=tuple(group for group in groups if group), firm=new.firm.name,
        buying=_by(changes.purchases, lambda one: one.supplier),
        sheets=_by(sheet_changes(old, new, changes.option), lambda sheet: sheet.paper),
        record=_record(*sides), tax=tax, stock=stock,
        client=new.job.client.name, site=new.job.client.site, reason=reason, requested_by=requested_by,
        minimum=least if below else None, accent=accent, accent_dark=accent_dark)
    page = render_page(templates, PAGE, view=view, formats=formats, language=language_for(ENGLISH, {}))
    path.write_bytes(page.encode("utf-8"))


def _by(rows: Iterable[T], name: Callable[[T], str]) -> tuple[tuple[str, tuple[T, ...]], ...]:
    """Rows that stand together under one name."""
    return tuple((key, tuple(its)) for key, its in groupby(rows, key=name))


def _record(old: tuple[Quote, PricedOption], new: tuple[Quote, PricedOption]) -> tuple[SumChange, ...]:
    """By how much each kind of cost of the job record differs, under the name that it has there."""
    was, now = ({row.name: row.budget for row in planned_costs(*side)} for side in (old, new))
    return tuple(SumChange(label=name, old=was.get(name, ZERO), new=now.get(name, ZERO))
                 for name in dict.fromkeys((*was, *now)) if was.get(name) != now.get(name))


def _group(rows: tuple[RowChange, ...]) -> RowGroup | None:
    if not rows:
        return None
    kind = rows[0].kind
    priced = kind in ("material", "labour")
    return RowGroup(
        title=_TITLES.get(kind, kind.replace("_", " ").capitalize()), priced=priced,
        timed=kind == "labour", folded=kind in _FOLDED, rows=rows,
        price=sum((row.difference.price for row in rows), ZERO),
        cost=sum((row.difference.cost for row in rows), ZERO),
        hours=sum((row.difference.hours for row in rows), ZERO))

"""The office's page of what changed: price, cost, hours and why, for one option."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from decimal import Decimal
from itertools import groupby
from pathlib import Path
from typing import TypeVar

from msgspec import Struct

from quoting.changes import Changes, SumChange, TypedChange
from quoting.colours import readable_accents
from quoting.documents.change_order import change_order_number
from quoting.documents.changes_detail import RowGroup, numbered_reasons, row_groups
from quoting.documents.changes_orders import OrderChange, OrderedPack, OrdersCompared, VisitChange, visit_changes
from quoting.documents.changes_record import HoursChange, OrderAmounts, cost_changes, hours_changes, order_changes
from quoting.documents.crew_changes import SheetChange, sheet_changes
from quoting.documents.formats import formats_for
from quoting.documents.language import ENGLISH, language_for
from quoting.documents.templates import render_page
from quoting.quote import Quote

T = TypeVar("T")
PAGE = "changes.html"


class ChangesView(Struct, frozen=True, kw_only=True):
    """What the page prints."""

    changes: Changes
    number: str  # of the change order
    typed: tuple[TypedChange, ...]  # answers that differ, but those that only name the paper
    visits: tuple[VisitChange, ...]
    orders: tuple[OrderChange, ...]
    buying: tuple[tuple[str, tuple[OrderedPack, ...]], ...]  # by supplier
    sheets: tuple[tuple[str, tuple[SheetChange, ...]], ...]  # by paper: of crew, warehouse and purchaser
    record: tuple[SumChange, ...]  # what the job record's sheet Cost takes as changes: kinds that are not labour
    record_orders: tuple[OrderAmounts, ...]
    record_hours: tuple[HoursChange, ...]
    reasons: tuple[str, ...]  # each once; rows name them by their numbers
    groups: tuple[RowGroup, ...]
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
    sides = [(quote, next(one for one in quote.options if one.name == changes.option)) for quote in (old, new)]
    lists = (old.buying.stock_file, new.buying.stock_file)
    compared, reasons = OrdersCompared(sides[0], sides[1], formats), numbered_reasons(changes)
    view = ChangesView(
        changes=changes, number=change_order_number(new), firm=new.firm.name,
        typed=tuple(one for one in changes.typed if not one.of_paper),
        visits=tuple(visit_changes(sides[0][1], sides[1][1], formats)), orders=tuple(compared.changes()),
        buying=_by(compared.packs(changes.purchases), lambda one: one.pack.supplier),
        sheets=_by(sheet_changes(old, new, changes.option), lambda sheet: sheet.paper),
        record=cost_changes(sides[0], sides[1]), record_orders=tuple(order_changes(sides[0], sides[1])),
        record_hours=tuple(hours_changes(sides[0], sides[1])), reasons=tuple(reasons),
        groups=tuple(row_groups(changes, reasons, new.job.unit_system)),
        tax=sides[1][1].totals.tax - sides[0][1].totals.tax, stock=lists if lists[0] != lists[1] else None,
        client=new.job.client.name, site=new.job.client.site, reason=reason, requested_by=requested_by,
        minimum=least if below else None, accent=accent, accent_dark=accent_dark)
    page = render_page(templates, PAGE, view=view, formats=formats, language=language_for(ENGLISH, {}))
    path.write_bytes(page.encode("utf-8"))


def _by(rows: Iterable[T], name: Callable[[T], str]) -> tuple[tuple[str, tuple[T, ...]], ...]:
    """Rows that stand together under one name."""
    return tuple((key, tuple(its)) for key, its in groupby(rows, key=name))

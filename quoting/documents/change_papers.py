"""The set of files that one comparison leaves: office/, and customer/ where there is something to sign."""

from __future__ import annotations

from pathlib import Path

from quoting.changes import Changes
from quoting.documents.change_order import write_change_order
from quoting.documents.change_order_view import ChangeRequest
from quoting.documents.changes_page import write_changes_page
from quoting.quote import Quote


def write_change_papers(
    old: Quote, new: Quote, changes: Changes, request: ChangeRequest, folder: Path, templates: tuple[Path, ...]
) -> None:
    """Write what changed into an empty folder: for the office, and for the customer to sign where the new quote is a
    later revision. OSError where the disk refuses."""
    (folder / "office").mkdir()
    office, customer = folder / "office" / "changes.html", folder / "customer" / "change-order.html"
    write_changes_page(changes, old, new, request.reason, request.requested_by, office, templates)
    if changes.superseding:
        customer.parent.mkdir()
        write_change_order(old, new, changes.option, request, customer, templates)

"""The allow-list of the customer's change order: what it may print, as records of their own.

Like proposal_view.py: nothing here comes from a cost, a margin, a supplier, a part number, an internal note or hours.
"""

from __future__ import annotations

import datetime
from decimal import Decimal

from msgspec import Struct

from quoting.documents.proposal_view import FirmFace


class ChangeRequest(Struct, frozen=True, kw_only=True):
    """Who asked for the change and why; "" is left open, to be written on the paper. `reason`: a key of REASONS."""

    reason: str = ""
    requested_by: str = ""


class BeforeAfter(Struct, frozen=True, kw_only=True):
    """What something was, and what it becomes: lines of text."""

    name: str
    before: tuple[str, ...]
    after: tuple[str, ...]


class AmountChange(Struct, frozen=True, kw_only=True):
    """One part of the price, before and with the change."""

    label: str
    before: Decimal
    after: Decimal
    difference: Decimal
    total: bool = False


class SaidChange(Struct, frozen=True, kw_only=True):
    """A sentence of the proposal that applies from now on, or no longer."""

    text: str
    applies: bool


class ChangeOrderView(Struct, frozen=True, kw_only=True):
    """The whole change order."""

    firm: FirmFace
    client: str
    site: str
    number: str
    order_number: str  # of the change order itself, as the bookkeeper books it
    old_revision: int
    old_date: datetime.date
    new_revision: int
    new_date: datetime.date
    valid_until: datetime.date
    option: str  # its title
    request: ChangeRequest
    reason: str  # in words
    rooms: tuple[BeforeAfter, ...]
    house: tuple[BeforeAfter, ...]
    said: tuple[SaidChange, ...]
    price: tuple[AmountChange, ...]  # rows that differ, and the total last; they sum to it
    monthly: tuple[AmountChange, ...]
    before: Decimal  # the contract's total
    difference: Decimal
    after: Decimal
    days_before: Decimal  # on site
    days_after: Decimal
    start_before: datetime.date | None
    start_after: datetime.date | None
    end_before: datetime.date | None  # the last day of the work that has a date
    end_after: datetime.date | None
    tax_note: str
    only_revised: bool  # nothing is charged but the revision of the proposal

    @property
    def size(self) -> Decimal:
        """The difference without its sign."""
        return abs(self.difference)

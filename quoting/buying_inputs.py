"""What buying rests on beside the bill: substitutes, days and codes, and what stands in stock; as records."""

from __future__ import annotations

import datetime
from decimal import Decimal

from msgspec import Struct, field

from quoting.problems import Cell


class StockItem(Struct, frozen=True, kw_only=True):
    """A row of a stock list: how much of a part is on hand, and where it lies."""

    part: str
    on_hand: Decimal  # in the part's unit
    bin: str  # "" where the list does not say
    spools: tuple[Decimal, ...]  # cable only: what is left on each spool, in the part's unit; they sum to `on_hand`
    where: Cell


class Substitute(Struct, frozen=True, kw_only=True):
    """A part that may be bought instead of another."""

    part: str
    substitute: str
    description: str  # of the substitute
    lead_days: int
    note: str


class PartBuying(Struct, frozen=True, kw_only=True):
    """How a part is bought that is not bought like others."""

    coloured: bool = False  # in the colour of its room
    colour_days: int = 0  # its lead time in another colour than it comes in
    ordered_with: str = ""  # the part that it is ordered with, for the longer lead time of the two; "" for none
    on_the_day: bool = False  # hired: wanted on the first day of its phase, not before
    enclose: str = ""  # what goes with the order for each thing that the part is for; "" for nothing


class BuyingInputs(Struct, frozen=True, kw_only=True):
    """Every input of the purchase list and of the files for other programs that the bill does not hold."""

    long_lead_days: int = 0  # from so many lead days on a part is told of first; 0: never
    substitutes: tuple[Substitute, ...] = ()
    one_order_days: int = 0  # what one supplier sends for days so near to each other goes into one order
    parts: dict[str, PartBuying] = field(default_factory=dict)
    gates: dict[str, int] = field(default_factory=dict)  # phase -> number of the payment that its orders wait for
    not_carried: tuple[str, ...] = ()  # categories of which nothing is loaded: hire, services
    codes: dict[str, str] = field(default_factory=dict)  # "unit each" -> its code in exchanged documents
    closed: tuple[datetime.date, ...] = ()  # weekdays on which nobody takes an order, over the days that orders fall on
    stock_file: str = ""  # the bare name of the stock list that was taken off; "" for none

"""The allow-list: every field that a customer's document may print, as records of their own.

Nothing here comes from a cost, a margin, a supplier, a part number, an internal note, hours or a rate per hour.
`proposal_customer.py` makes these records from a Quote; the templates see nothing else.
"""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Literal

from msgspec import Struct

from quoting.documents.drawing import Svg
from quoting.documents.floor_drawing import FloorDrawing


class PaperFacts(Struct, frozen=True, kw_only=True):
    """Which paper this is."""

    number: str
    revision: int
    supersedes: str
    currency: str  # ISO 4217, for machines
    date: datetime.date
    valid_until: datetime.date
    start: datetime.date | None


class FirmFace(Struct, frozen=True, kw_only=True):
    """Who proposes. `accent` and `accent_dark` are the firm's colour, made readable on light and on dark paper."""

    name: str
    address: str
    phone: str
    email: str
    licence: str
    logo: str  # a data: address
    greeting: str
    letter: str
    closing: str
    warranty: str
    terms: tuple[str, ...]  # paragraphs
    change_terms: str
    smallest_change: Decimal | None
    revised_for_change: bool  # the smallest change costs what it costs to revise the proposal
    notice: str
    accent: str
    accent_dark: str


class OptionCard(Struct, frozen=True, kw_only=True):
    """One option at a glance."""

    title: str
    subtitle: str
    summary: str
    total: Decimal
    plain_total: str  # for machines: digits and a point
    first_payment: Decimal
    taxed: bool  # the total holds a tax
    recommended: bool


class CompareRow(Struct, frozen=True, kw_only=True):
    """One row of the comparison: lines of text for each option."""

    label: str
    cells: tuple[tuple[str, ...], ...]
    differs: bool


class AmountRow(Struct, frozen=True, kw_only=True):
    """A label and one amount for each option; None where the option has none."""

    label: str
    words: str
    amounts: tuple[Decimal | None, ...]
    total: bool = False


class StepLine(Struct, frozen=True, kw_only=True):
    """One room of a step."""

    name: str
    materials: Decimal
    labour: Decimal
    both: Decimal


class StepView(Struct, frozen=True, kw_only=True):
    """From one option to the next: the rooms' `both` and the other amounts sum to the total."""

    start: str
    end: str
    lines: tuple[StepLine, ...]
    others: tuple[tuple[str, Decimal], ...]  # freight, discount (negative where it grows), tax, rounding
    total: Decimal


class RoomRow(Struct, frozen=True, kw_only=True):
    """A room in the customer's words, and what each option does there."""

    name: str
    note: str
    gives: tuple[tuple[str, ...], ...]
    states: tuple[str, ...]  # live, wired-only, out: how each cell looks


class FloorRooms(Struct, frozen=True, kw_only=True):
    """The rooms of one floor; `title` is empty where the house has one floor."""

    title: str
    rooms: tuple[RoomRow, ...]


class LaterRow(Struct, frozen=True, kw_only=True):
    """A room that some option only wires now: about what equipping it later costs, by option; None where it plays
    or is not wired."""

    name: str
    amounts: tuple[Decimal | None, ...]


class FeeRow(Struct, frozen=True, kw_only=True):
    """What is paid every month while the system plays, by option; never in a total."""

    words: str
    payee: str
    amounts: tuple[Decimal | None, ...]


class TimelineView(Struct, frozen=True, kw_only=True):
    """When the work happens: the drawing, the same in words, and when the other options end."""

    title: str
    svg: Svg | None  # None where the first day is not known yet
    rows: tuple[tuple[str, ...], ...]  # what, when, days in the house ("" where none)
    ends: tuple[str, ...]


class DetailCell(Struct, frozen=True, kw_only=True):
    """An amount, and how many of what where the row is one item."""

    amount: Decimal
    quantity: Decimal | None = None
    unit: str = ""


class DetailRow(Struct, frozen=True, kw_only=True):
    """One line of the price detail; None where an option has none of it."""

    label: str
    cells: tuple[DetailCell | None, ...]


class DetailGroup(Struct, frozen=True, kw_only=True):
    """One room of the price detail, or all rooms where a room is one line (then `title` is empty)."""

    title: str
    rows: tuple[DetailRow, ...]
    sums: tuple[Decimal, ...]  # () where there is no title


class DetailTable(Struct, frozen=True, kw_only=True):
    """The price in the detail that the job asks for; `closing` takes the sums to the totals."""

    title: str
    groups: tuple[DetailGroup, ...]
    closing: tuple[AmountRow, ...]


class Said(Struct, frozen=True, kw_only=True):
    """A generated sentence, and the options that it is about, listed (empty: all of them)."""

    text: str
    only: str
    needed_by: datetime.date | None = None  # the day by which others must have done it


class SaidGroup(Struct, frozen=True, kw_only=True):
    """The sentences of one kind."""

    kind: Literal["exclusion", "assumption", "caution", "needed from others"]
    title: str
    sentences: tuple[Said, ...]


class QuestionView(Struct, frozen=True, kw_only=True):
    """Something not known yet, and what the worse answer adds to each option's total."""

    place: str
    question: str
    used: str
    worse: str
    who: str
    before: str
    adds: tuple[Decimal, ...]


class PlaceNotes(Struct, frozen=True, kw_only=True):
    """What the place asks of the paper."""

    name: str
    found: bool
    tax_note: str
    tax_exempt: str
    withdrawal: str
    permit: str


class CustomerView(Struct, frozen=True, kw_only=True):
    """The whole proposal."""

    paper: PaperFacts
    firm: FirmFace
    client: str
    site: str
    headline: str
    promise: str
    options: tuple[OptionCard, ...]
    recommended: str  # the option's title
    reason: str
    compare: tuple[CompareRow, ...]
    steps: tuple[StepView, ...]
    floors: tuple[FloorRooms, ...]
    drawn: tuple[FloorDrawing, ...]  # of the recommended option, else of the fullest
    drawn_option: str  # its title
    timeline: TimelineView | None  # of the same option; None where no day is known
    later: tuple[LaterRow, ...]
    fees: tuple[FeeRow, ...]
    change_rate: Decimal | None
    row_width: int  # columns of a table that has one for its labels and one for each option
    prices: tuple[AmountRow, ...]
    phases: tuple[AmountRow, ...]
    detail: DetailTable | None
    plan: tuple[AmountRow, ...]
    said: tuple[SaidGroup, ...]
    questions: tuple[QuestionView, ...]
    place: PlaceNotes

"""The allow-list: every field that a customer's document may print, as records of their own.

Nothing here comes from a cost, a margin, a supplier, a part number, an internal note, hours or a rate per hour.
`proposal_customer.py` makes these records from a Quote; the templates see nothing else.
"""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from quoting.documents.drawing import Svg
from quoting.documents.floor_drawing import FloorDrawing


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperFacts:
    """Which paper this is."""

    number: str
    revision: int
    supersedes: str
    currency: str  # ISO 4217, for machines
    date: datetime.date
    valid_until: datetime.date
    start: datetime.date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FirmFace:
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


@dataclass(frozen=True, slots=True, kw_only=True)
class OptionCard:
    """One option at a glance."""

    title: str
    subtitle: str
    summary: str
    total: Decimal
    plain_total: str  # for machines: digits and a point
    first_payment: Decimal
    taxed: bool  # the total holds a tax
    recommended: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CompareRow:
    """One row of the comparison: lines of text for each option."""

    label: str
    cells: tuple[tuple[str, ...], ...]
    differs: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class AmountRow:
    """A label and one amount for each option; None where the option has none."""

    label: str
    words: str
    amounts: tuple[Decimal | None, ...]
    total: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class StepLine:
    """One room of a step."""

    name: str
    materials: Decimal
    labour: Decimal
    both: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class StepView:
    """From one option to the next: the rooms' `both` and the other amounts sum to the total."""

    start: str
    end: str
    lines: tuple[StepLine, ...]
    others: tuple[tuple[str, Decimal], ...]  # freight, discount (negative where it grows), tax, rounding
    total: Decimal


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomRow:
    """A room in the customer's words, and what each option does there."""

    name: str
    note: str
    gives: tuple[tuple[str, ...], ...]
    states: tuple[str, ...]  # live, wired-only, out: how each cell looks


@dataclass(frozen=True, slots=True, kw_only=True)
class FloorRooms:
    """The rooms of one floor; `title` is empty where the house has one floor."""

    title: str
    rooms: tuple[RoomRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LaterRow:
    """A room that some option only wires now: about what equipping it later costs, by option; None where it plays
    or is not wired."""

    name: str
    amounts: tuple[Decimal | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FeeRow:
    """What is paid every month while the system plays, by option; never in a total."""

    words: str
    payee: str
    amounts: tuple[Decimal | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TimelineView:
    """When the work happens: the drawing, the same in words, and when the other options end."""

    title: str
    svg: Svg | None  # None where the first day is not known yet
    rows: tuple[tuple[str, ...], ...]  # what, when, days in the house ("" where none)
    ends: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DetailCell:
    """An amount, and how many of what where the row is one item."""

    amount: Decimal
    quantity: Decimal | None = None
    unit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DetailRow:
    """One line of the price detail; None where an option has none of it."""

    label: str
    cells: tuple[DetailCell | None, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DetailGroup:
    """One room of the price detail, or all rooms where a room is one line (then `title` is empty)."""

    title: str
    rows: tuple[DetailRow, ...]
    sums: tuple[Decimal, ...]  # () where there is no title


@dataclass(frozen=True, slots=True, kw_only=True)
class DetailTable:
    """The price in the detail that the job asks for; `closing` takes the sums to the totals."""

    title: str
    groups: tuple[DetailGroup, ...]
    closing: tuple[AmountRow, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """A generated sentence, and the options that it is about, listed (empty: all of them)."""

    text: str
    only: str
    needed_by: datetime.date | None = None  # the day by which others must have done it


@dataclass(frozen=True, slots=True, kw_only=True)
class SaidGroup:
    """The sentences of one kind."""

    kind: Literal["exclusion", "assumption", "caution", "needed from others"]
    title: str
    sentences: tuple[Said, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class QuestionView:
    """Something not known yet, and what the worse answer adds to each option's total."""

    place: str
    question: str
    used: str
    worse: str
    who: str
    before: str
    adds: tuple[Decimal, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlaceNotes:
    """What the place asks of the paper."""

    name: str
    found: bool
    tax_note: str
    tax_exempt: str
    withdrawal: str
    permit: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CustomerView:
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

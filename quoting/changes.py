"""What differs between two quotes of one job, by id: the records that `compare` makes and the office's page prints."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from decimal import Decimal
from typing import Literal, TypeVar

from msgspec import Struct

from quoting.lines import Phase, pack_words
from quoting.money import ZERO
from quoting.problems import Cell

T = TypeVar("T")
Change = Literal["added", "removed", "changed"]


class Revision(Struct, frozen=True, kw_only=True):
    """Which paper one side is. `file` is the bare name of its intake workbook."""

    file: str
    number: str
    revision: int
    date: datetime.date


class FieldChange(Struct, frozen=True, kw_only=True):
    """One field of a row or a fact: "" where that side has none."""

    name: str
    old: str
    new: str


class TypedChange(Struct, frozen=True, kw_only=True):
    """One answer of the intake that differs. `old_cell` and `new_cell`: where each side has it, None where it has not.

    `field` is "" where the whole room, zone, source ... was added or taken out. `of_paper`: it only names the paper.
    """

    of: str  # "Rooms KIT", "Job", "Overrides KIT-S1 drop"
    room: str
    field: str
    old: str
    new: str
    old_cell: Cell | None
    new_cell: Cell | None
    of_paper: bool = False

    @property
    def where(self) -> str:
        """The cell to open: the new workbook's where it has one. The page names both files once."""
        if self.new_cell is not None:
            return self.new_cell.place
        return f"old workbook, {self.old_cell.place}" if self.old_cell is not None else ""


class Amounts(Struct, frozen=True):
    """What one row brings."""

    price: Decimal = ZERO
    cost: Decimal = ZERO
    hours: Decimal = ZERO


class RowChange(Struct, frozen=True, kw_only=True):
    """A part, a task, a run or another fact that came, went or changed. `kind`: material, labour, or the fact's.

    A fact has no amounts: what it costs stands in the rows that it makes.
    """

    kind: str
    id: str
    change: Change
    what: str  # in the office's words
    room: str
    fields: tuple[FieldChange, ...]
    old: Amounts
    new: Amounts
    why: tuple[str, ...]  # sentences: the cell that was typed differently, the override, the rule

    @property
    def difference(self) -> Amounts:
        """new - old."""
        return Amounts(self.new.price - self.old.price, self.new.cost - self.old.cost, self.new.hours - self.old.hours)


class SumChange(Struct, frozen=True, kw_only=True):
    """One sum of the quote on both sides."""

    label: str
    old: Decimal
    new: Decimal

    @property
    def difference(self) -> Decimal:
        """new - old."""
        return self.new - self.old


class PurchaseChange(Struct, frozen=True, kw_only=True):
    """One size of pack of one part from one supplier, in one colour and for one hire, of which more or fewer are
    bought, or at another price."""

    supplier: str
    part: str
    description: str
    unit: str
    size: Decimal
    colour: str  # that it is ordered in; "" where it comes in one
    hired_for: str  # the phase; "" where it is kept
    old_packs: int
    new_packs: int
    old_outlay: Decimal
    new_outlay: Decimal
    old_cost: Decimal  # of a pack; 0 where none is bought
    new_cost: Decimal

    @property
    def packs(self) -> int:
        """To buy where it is above 0, to cancel where it is below."""
        return self.new_packs - self.old_packs

    @property
    def described(self) -> str:
        """What the part is; in which colour, for which hire."""
        return pack_words(self.description, self.colour, self.hired_for)

    @property
    def to_do(self) -> str:
        """The same in words."""
        if self.packs:
            return f"{'buy' if self.packs > 0 else 'cancel'} {abs(self.packs)}"
        return "another price"

    @property
    def difference(self) -> Decimal:
        """new - old."""
        return self.new_outlay - self.old_outlay


class PhaseChange(Struct, frozen=True, kw_only=True):
    """One phase on both sides; nothing where a side has none of it."""

    phase: Phase
    old: Amounts
    new: Amounts
    old_half_days: int
    new_half_days: int


class StatementChange(Struct, frozen=True, kw_only=True):
    """A sentence of the proposal that came, went or was worded anew."""

    code: str
    change: Change
    old: str
    new: str


class Changes(Struct, frozen=True, kw_only=True):
    """old + changes = new, for one option, by id and to the cent.

    Rows that are the same on both sides are not held. `price` ends with the contract's total, `cost` with the cost; the
    rows before it sum to it. Materials and labour sum to their rows of `price` and `cost`, labour to `hours`,
    purchases to `outlay`.
    """

    option: str
    currency: str
    old: Revision
    new: Revision
    same_tables: bool  # both quotes were made with the same catalogue
    typed: tuple[TypedChange, ...]
    materials: tuple[RowChange, ...]
    labour: tuple[RowChange, ...]
    runs: tuple[RowChange, ...]
    facts: tuple[RowChange, ...]
    statements: tuple[StatementChange, ...]
    phases: tuple[PhaseChange, ...]
    purchases: tuple[PurchaseChange, ...]
    price: tuple[SumChange, ...]
    cost: tuple[SumChange, ...]
    hours: SumChange
    half_days: SumChange  # in the house
    outlay: SumChange  # what suppliers are paid

    @property
    def total(self) -> SumChange:
        """The contract's running total: before, and with the change."""
        return self.price[-1]

    @property
    def superseding(self) -> bool:
        """Whether the new quote is a later revision, which can take the old one's place once it is signed."""
        return self.new.revision > self.old.revision

    @property
    def nothing(self) -> bool:
        """Whether the two quotes say the same of this option."""
        sums = (*self.price, *self.cost, self.hours, self.half_days, self.outlay)
        rows = (self.typed, self.materials, self.labour, self.runs, self.facts, self.statements, self.phases,
                self.purchases)
        return not any(rows) and not any(one.difference for one in sums)


def numbered(rows: Iterable[tuple[str, T]]) -> dict[str, T]:
    """Typed rows by what they name, so that both revisions' meet; a second one of the same name gets a number.

    >>> numbered([("Streamer", "kitchen"), ("Tuner", "rack"), ("Streamer", "office")])
    {'Streamer': 'kitchen', 'Tuner': 'rack', 'Streamer (2)': 'office'}
    """
    found: dict[str, T] = {}
    counts: dict[str, int] = {}
    for key, row in rows:
        counts[key] = counts.get(key, 0) + 1
        found[key if counts[key] == 1 else f"{key} ({counts[key]})"] = row
    return found

"""The entries that rules make: a part or a task, how much, for which room and phase, and because of what;
then the bill, in which lines of one part meet."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Literal

from msgspec import Struct

from quoting.job import WallState
from quoting.problems import Cell

Phase = Literal[
    "survey and design", "rough-in", "trim-out", "rack build", "commissioning", "handover", "whole job"
]
# When a task is done that is not the crew's on the visits of its phase.
TaskTime = Literal["before the order", "beside the crew", "a visit of its own"]


class Reason(Struct, frozen=True):
    """Why a line is there. `rule` is a rule id, "waste CNT-010", or "override"."""

    rule: str
    rule_cell: Cell
    fact: str
    cells: tuple[Cell, ...]  # the intake cells that the fact rests on
    amount: Decimal = Decimal(0)  # what this reason brings to the row: units of the part, units of the task


class Factor(Struct, frozen=True):
    """A named labour factor that a line's conditions brought."""

    name: str
    multiplier: Decimal
    row: str  # the row of factors.csv


class MaterialLine(Struct, frozen=True, kw_only=True):
    """So much of a part. `quantity` is in the unit that the part is sold in, 3 places."""

    part: str
    quantity: Decimal
    room: str
    zone: int
    phase: Phase
    because: Reason


class LabourLine(Struct, frozen=True, kw_only=True):
    """So many units of a task. Hours are person-hours for all the units, factors applied, not yet rounded."""

    task: str
    units: Decimal
    room: str
    zone: int
    phase: Phase
    wall_state: WallState
    low: Decimal
    likely: Decimal
    high: Decimal
    factors: tuple[Factor, ...]
    because: Reason


class StatementLine(Struct, frozen=True, kw_only=True):
    """A sentence that the design asks for: an exclusion, an assumption, a caution, something needed from others."""

    statement: str  # a code of statements.csv
    because: Reason


Line = MaterialLine | LabourLine | StatementLine


class MaterialRow(Struct, frozen=True, kw_only=True):
    """Lines of one part in one room and phase, met. Id part/room/phase, "JOB" for the whole job's room."""

    id: str
    part: str
    need: Decimal  # in the part's unit, 3 places
    unit: str
    room: str
    zone: int
    phase: Phase
    because: tuple[Reason, ...]
    ruled_need: Decimal  # what the rules said, where an override says otherwise; else the need
    override_price: Decimal | None  # an overridden unit price


class LabourRow(Struct, frozen=True, kw_only=True):
    """Lines of one task in one room and phase, met. `hours` is the expected person-hours, 2 places."""

    id: str
    task: str
    role: str
    phase: Phase
    room: str
    zone: int
    wall_state: WallState
    units: Decimal
    low: Decimal  # 2 places, like the next two
    likely: Decimal
    high: Decimal
    hours: Decimal
    factors: tuple[Factor, ...]
    because: tuple[Reason, ...]
    ruled_hours: Decimal


class Rows(Struct, frozen=True):
    """One option's rows, before anything is bought."""

    materials: tuple[MaterialRow, ...]  # sorted by phase, room, part
    labour: tuple[LabourRow, ...]  # sorted by phase, room, task
    statements: tuple[StatementLine, ...]


class PutUp(Struct, frozen=True):
    """So many packs or spools of one size. `size` in the part's unit, `cost` of one of them at this count."""

    size: Decimal
    count: int
    cost: Decimal
    from_count: int = 0  # the quantity break that sets the cost: from so many on; 0: none
    supplier: str = ""  # whose price it is
    price_date: datetime.date | None = None  # since when; None: not a price of the catalogue
    colour: str = ""  # that it is ordered in; "" where the part comes in one
    phase: Phase | Literal[""] = ""  # that it is hired for; "" where it is kept
    dearer_from: datetime.date | None = None  # the day of the next price that is known, where that is higher
    dearer_cost: Decimal | None = None  # of one of them, from then on


def pack_words(description: str, colour: str, hired_for: str) -> str:
    """What is bought, in the office's words: the part; in which colour, for which hire."""
    return ", ".join(filter(None, (description, colour, f"for {hired_for}" if hired_for else "")))


class Cut(Struct, frozen=True):
    """A cable run taken from a spool."""

    run: str  # the run's fact id
    room: str
    length: Decimal
    pull_group: str = ""  # cables that are pulled at the same time


class Spool(Struct, frozen=True, kw_only=True):
    """One spool or carton and what is cut from it, in order."""

    part: str
    number: int
    size: Decimal
    cuts: tuple[Cut, ...]
    tail: Decimal
    tail_to: Literal["stock", "job"]  # a tail under the keep length is waste, and job cost
    from_stock: bool = False  # it is on hand and not bought


class Purchase(Struct, frozen=True, kw_only=True):
    """What must be bought of one part: from_stock + buy = need + to_stock + scrap."""

    part: str
    unit: str
    need: Decimal
    buy: Decimal
    put_ups: tuple[PutUp, ...]
    outlay: Decimal
    to_stock: Decimal
    scrap: Decimal  # tails too short to keep
    supplier: str
    lower_bound: Decimal = Decimal(0)  # what any packs or spools that cover the need cost at least
    proved: bool = True  # nothing cheaper covers the need
    gap_rate: Decimal = Decimal(0)  # (outlay - lower bound) / lower bound, 4 places
    cartons: int = 0  # spools that must be on site for cables pulled at the same time; 0: no such need
    decided: tuple[str, ...] = ()  # the standards behind it, as "spool SPL-010"
    on_hand: Decimal = Decimal(0)  # what the stock list has
    from_stock: Decimal = Decimal(0)  # what is taken of it: of cable whole spools
    bin: str = ""  # where it lies
    saved: Decimal = Decimal(0)  # by quantity breaks: the same packs at the cost of one, less the outlay


class Bill(Struct, frozen=True):
    """One option's rows, and what they make the firm buy."""

    materials: tuple[MaterialRow, ...]  # sorted by phase, room, part
    labour: tuple[LabourRow, ...]  # sorted by phase, room, task
    statements: tuple[StatementLine, ...]
    purchases: tuple[Purchase, ...]  # sorted by supplier, part
    spools: tuple[Spool, ...]


PHASES: tuple[Phase, ...] = (
    "survey and design", "rough-in", "trim-out", "rack build", "commissioning", "handover", "whole job",
)


def row_id(what: str, room: str, phase: str) -> str:
    """The id that two revisions compare by."""
    return f"{what}/{room or 'JOB'}/{phase}"

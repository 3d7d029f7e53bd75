"""The priced quote: everything that a document prints, and nothing that it would have to look up."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Any, Literal

from msgspec import Struct, field

from quoting.buying_inputs import (  # part of the quote: found here too
    BuyingInputs as BuyingInputs,
)
from quoting.buying_inputs import (
    StockItem as StockItem,
)
from quoting.buying_inputs import (
    Substitute as Substitute,
)
from quoting.job import Default, Job
from quoting.lines import Factor, Phase, Purchase, Reason, Spool
from quoting.paper import LabelSheet
from quoting.pricing_inputs import (  # part of the quote: found here too
    CategoryPricing as CategoryPricing,
)
from quoting.pricing_inputs import (
    MarkupBasis as MarkupBasis,
)
from quoting.pricing_inputs import (
    PartPricing as PartPricing,
)
from quoting.pricing_inputs import (
    PlanRow as PlanRow,
)
from quoting.pricing_inputs import (
    Pricing as Pricing,
)
from quoting.pricing_inputs import (
    RoleRate as RoleRate,
)
from quoting.pricing_inputs import (
    TaxRule as TaxRule,
)
from quoting.pricing_inputs import (
    WhatIf as WhatIf,
)
from quoting.pricing_inputs import (
    WhatIfKind as WhatIfKind,
)
from quoting.problems import Problem
from quoting.timetable import NO_TIMETABLE, Timetable

SCHEMA_VERSION = 2  # counted up where a quote says something more: an older quote.json is not read then

RecommendationBasis = Literal["priority", "budget", "fullest", "enough", "closest"]
StatementKind = Literal["exclusion", "assumption", "caution", "needed from others"]


class PartInfo(Struct, frozen=True, kw_only=True):
    """What documents say of a part."""

    description: str  # the office's words
    words: str  # the customer's words
    category: str
    supplier: str
    unit: str
    lead_days: int
    price_date: datetime.date


class TaskInfo(Struct, frozen=True, kw_only=True):
    """What documents say of a task."""

    description: str
    labour_class: str
    sold: bool  # False: hours that cost and are not sold
    place: int = 0  # in labour.csv, which follows the work


class PricedMaterial(Struct, frozen=True, kw_only=True):
    """One part in one room and phase. price = r2(need x unit_price), cost = r2(need x unit_cost)."""

    id: str
    part: str
    room: str
    zone: int
    phase: Phase
    need: Decimal
    unit: str
    unit_cost: Decimal  # 4 places, of the costing put-up
    unit_price: Decimal  # 4 places
    price_rule: str  # markup, margin, list, part markup, floor, override: what set the unit price
    cost: Decimal
    price: Decimal
    freight: Decimal
    contractor_tax: Decimal  # tax that the firm pays on cost
    because: tuple[Reason, ...]
    ruled_need: Decimal


class PricedLabour(Struct, frozen=True, kw_only=True):
    """One task in one room and phase. price = r2(hours x the role's price rate); 0 where the task is not sold."""

    id: str
    task: str
    role: str
    phase: Phase
    room: str
    zone: int
    wall_state: str
    units: Decimal
    low: Decimal
    likely: Decimal
    high: Decimal
    hours: Decimal  # expected
    price: Decimal
    cost: Decimal  # on the cost rate that floors use
    direct_cost: Decimal  # on the burdened rate
    factors: tuple[Factor, ...]
    because: tuple[Reason, ...]
    ruled_hours: Decimal


class TaxAmount(Struct, frozen=True, kw_only=True):
    """One tax at one rate on one base."""

    name: str
    category: str  # materials category, "labour", "freight", or "all" where one rate covers everything
    rate: Decimal
    base: Decimal  # after the discount's share
    amount: Decimal


class Totals(Struct, frozen=True, kw_only=True):
    """total = materials + labour + freight - discount + tax + rounding. `margin` is of the total less tax."""

    materials: Decimal
    labour: Decimal
    freight: Decimal
    discount: Decimal  # positive, subtracted
    taxes: tuple[TaxAmount, ...]
    tax: Decimal
    rounding: Decimal
    total: Decimal
    material_cost: Decimal
    labour_cost: Decimal
    contractor_tax: Decimal
    scrap_cost: Decimal  # tails too short to keep, at unit cost
    contingency: Decimal
    cost: Decimal  # all five and freight
    gross_profit: Decimal  # total - tax - cost
    margin: Decimal  # 4 places
    hours: Decimal
    p80_hours: Decimal
    labour_margin_direct: Decimal  # labour on the burdened rate, 4 places
    labour_margin_sold: Decimal  # labour on the cost per sold hour, 4 places
    outlay: Decimal  # what purchases cost in cash


class Instalment(Struct, frozen=True, kw_only=True):
    """One payment: `share` of the total as the plan has it, `amount` after caps."""

    name: str
    trigger: str
    share: Decimal
    amount: Decimal


class PhaseTotal(Struct, frozen=True, kw_only=True):
    """One phase of one option: for the customer a fixed price, for the office hours."""

    phase: Phase
    words: str  # what happens, in the customer's words
    price: Decimal
    cost: Decimal
    hours: Decimal
    half_days: int
    trips: int
    crew: int
    p80_hours: Decimal = Decimal(0)  # what four jobs of five stay within, in this phase alone


class StepRow(Struct, frozen=True, kw_only=True):
    """One room's part of the difference between two options; room "" is the head end and the whole job."""

    room: str
    name: str
    materials: Decimal
    labour: Decimal


class Step(Struct, frozen=True, kw_only=True):
    """From one option to the next: rows + freight - discount + tax + rounding = total."""

    start: str
    end: str
    rows: tuple[StepRow, ...]
    freight: Decimal
    discount: Decimal  # the difference of the discounts: positive where the dearer option gets more off
    tax: Decimal
    rounding: Decimal
    total: Decimal


class RoomPromise(Struct, frozen=True, kw_only=True):
    """What one option gives one room, in the customer's terms."""

    room: str
    name: str
    state: str  # live, wired-only, out
    speakers: int
    control: str
    materials: Decimal
    labour: Decimal


class MonthlyFee(Struct, frozen=True, kw_only=True):
    """What is paid every month while the system plays; never part of a total."""

    words: str  # for the customer
    to_us: bool  # else to somebody else, at their price
    amount: Decimal


class LaterRoom(Struct, frozen=True, kw_only=True):
    """About what a room that is only wired now costs once it is equipped: today's prices, tax and visit in it."""

    room: str
    name: str
    amount: Decimal  # whole currency units


class PricedOption(Struct, frozen=True, kw_only=True):
    """One option, whole."""

    name: str
    title: str
    summary: str  # what the house will do, in the customer's words
    gives_up: str  # against the next option, in a line
    facts: dict[str, tuple[dict[str, Any], ...]]  # its own facts by kind, effort kinds included
    materials: tuple[PricedMaterial, ...]
    labour: tuple[PricedLabour, ...]
    purchases: tuple[Purchase, ...]
    spools: tuple[Spool, ...]
    statements: tuple[str, ...]  # codes of the statements that this option's design brings
    rooms: tuple[RoomPromise, ...]
    phases: tuple[PhaseTotal, ...]
    totals: Totals
    plan: tuple[Instalment, ...]
    timetable: Timetable = NO_TIMETABLE  # when each phase happens, and its visits
    fees: tuple[MonthlyFee, ...] = ()
    later: tuple[LaterRoom, ...] = ()  # rooms that this option wires and does not equip

    @property
    def half_days(self) -> int:
        """In the house: what is done at the desk or in the shop takes nobody's day there."""
        return sum(phase.half_days for phase in self.phases if phase.trips)


class Statement(Struct, frozen=True, kw_only=True):
    """A generated sentence, in the customer's language."""

    code: str
    kind: StatementKind
    text: str
    options: tuple[str, ...]  # the options that it belongs to
    because: tuple[Reason, ...]
    needed_by: datetime.date | None = None  # the first day of the phase that waits, or that `ordered` is ordered on
    ordered: str = ""  # the part whose order waits for it; "" for none


class OpenQuestion(Struct, frozen=True, kw_only=True):
    """Something not known yet: who answers by when, and what the worse answer would add to each option's total."""

    of: str
    attribute: str  # field name of Room, Job ...: its suffix tells the unit of `used` and `worse`
    field: str
    question: str
    used: str
    worse: str
    who: str
    by_phase: str
    cost: dict[str, Decimal]


class ChangeAnswer(Struct, frozen=True, kw_only=True):
    """An answer that shows in the house: `sheet` and field name of the intake, and what the customer calls it."""

    sheet: str
    answer: str
    words: str


class Firm(Struct, frozen=True, kw_only=True):
    """The firm's own face."""

    name: str
    address: str
    phone: str
    email: str
    licence: str
    accent: str  # colour, #rrggbb
    logo: str  # the picture itself, as a data: address; empty where the firm has none
    greeting: str  # above the letter; %(client)s is the customer's name
    letter: str  # opening words of the proposal
    closing: str  # below the letter
    warranty: str
    terms: str  # general terms; an empty line parts paragraphs
    change_terms: str
    minimum_change: Decimal | None
    notice: str  # printed at the foot of customer pages
    wording: dict[str, dict[str, str]] = field(default_factory=dict)  # language -> the program's phrase -> the firm's


class PlaceTerms(Struct, frozen=True, kw_only=True):
    """What the place's row of terms.csv says; empty texts where it has no row."""

    place: str
    tax_note: str
    withdrawal: str
    labour_apart: bool
    permit: str
    found: bool


class Recommendation(Struct, frozen=True, kw_only=True):
    """The option that the interview points at, and why. `basis`: what decided among the options.

    priority: the interview, in the words of `reason`; budget: the only one with that reason to be within it; fullest:
    the most that the budget pays for; enough: all that was asked for, at the least cost; closest: all cost more.
    """

    option: str
    basis: RecommendationBasis
    reason: str  # a sentence of standards/recommendation.csv, "" where something else decided
    over_budget: tuple[str, ...]  # options that cost more than the budget, where others do not
    scores: dict[str, Decimal]


class Quote(Struct, frozen=True, kw_only=True):
    """The whole quote; quote.json is this record and nothing else."""

    schema_version: int  # SCHEMA_VERSION when it was written
    job: Job
    firm: Firm
    place: PlaceTerms
    facts: dict[str, tuple[dict[str, Any], ...]]  # the shared plan, by kind
    options: tuple[PricedOption, ...]  # smallest first
    steps: tuple[Step, ...]
    recommendation: Recommendation
    pricing: Pricing
    parts: dict[str, PartInfo]
    tasks: dict[str, TaskInfo]
    statements: tuple[Statement, ...]
    open_questions: tuple[OpenQuestion, ...]
    defaults: tuple[Default, ...]
    change_rate: Decimal | None  # price of an hour of extra work; None: the firm prices each change
    problems: tuple[Problem, ...]
    workbook_fingerprint: str  # sha256
    catalog_name: str
    catalog_fingerprint: str
    label_sheets: tuple[LabelSheet, ...] = ()
    label_parts: tuple[str, ...] = ()  # parts that label a cable, whatever option buys them
    buying: BuyingInputs = BuyingInputs()
    revision_price: Decimal | None = None  # of the next revision of the proposal, tax in it; None: it is free
    change_answers: tuple[ChangeAnswer, ...] = ()  # answers that a change order tells the customer of
    rules: dict[str, tuple[str, ...]] = field(default_factory=dict)  # a rule -> the fields of its fact that it reads
    english: dict[str, str] = field(default_factory=dict)  # a text of the catalogue in the job's language -> in English

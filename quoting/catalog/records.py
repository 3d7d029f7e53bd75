"""The catalogue as records: what a row of each file becomes."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal
from typing import Literal

from msgspec import Struct, field

from quoting.catalog.fittings import BoxSpec, TubeSpec
from quoting.catalog.supply import SubstituteRow
from quoting.catalog.texts import NO_WORDING, Fee, StatementText, Wording
from quoting.job import HeadEndShape, WallState
from quoting.paper import LabelSheet
from quoting.problems import Cell
from quoting.quote import Firm, TaxRule
from quoting.tables.decision import Standards
from quoting.workdays import FreeDay

GaugeSystem = Literal["AWG", "mm2", ""]


class Part(Struct, frozen=True, kw_only=True):
    """A row of parts.csv."""

    part: str
    description: str  # the office's words
    words: str  # the customer's words
    category: str
    unit: Literal["each", "ft", "m"]
    labour_class: str  # none, or what fits it: a part of another class must be covered by a labour rule
    gauge_system: GaugeSystem
    supplier: str
    lead_days: int
    leftover: Literal["stock", "job"]  # job: whole packs belong to the job
    keep: Decimal | None  # shortest tail worth keeping, in the part's unit; cables only
    own_markup: Decimal | None
    discontinued: bool
    note: str
    where: Cell


class SpeakerSpec(Struct, frozen=True, kw_only=True):
    """parts/speakers.csv."""

    part: str
    mount: str  # ceiling, wall, surface, garden
    size_in: float
    single_stereo: bool
    angled: bool
    nominal_ohm: float
    sensitivity_db: float  # 1 W, 1 m
    power_w: float
    coverage_deg: float
    cut_out_mm: float  # hole diameter, or height of a wall speaker's; 0 for surface and garden
    cut_out_width_mm: float  # 0 for round
    depth_mm: float
    bracket: str  # part, "" for none
    back_box: str  # sealed back box part, "" for none
    rated_box: str  # fire-rated back box part, "" for none
    terminal: str  # spring clip, binding post, plug-in, wires
    thickest_awg: float  # the thickest conductor its terminal takes
    damp_class: str  # dry, damp, wet, outdoor
    anchors: int  # fixings each, for surface models
    taps_w: str | None = None  # "1; 2.5; 5; 10": transformer taps on each of its line voltages; empty: none
    line_volts: str | None = None  # "70.7; 100"
    weight_kg: float | None = None  # empty: not said


class CableSpec(Struct, frozen=True, kw_only=True):
    """parts/cables.csv."""

    part: str
    conductors: int  # 8 for a category cable
    gauge_awg: float  # 0 for metric sizes
    area_mm2: float  # 0 for AWG sizes
    stranding: str  # stranded, solid, flexible
    rating: str  # in wall, riser, plenum, burial, riser and burial
    diameter_mm: float
    category: str  # "" for speaker cable; "6" for Cat 6
    marks: str | None = None  # what is printed on it, in an inspector's words: CL3, CL3R; empty: not said


class AmplifierSpec(Struct, frozen=True, kw_only=True):
    """parts/amplifiers.csv; a controller-amplifier and a network amplifier stand here too."""

    part: str
    shape: HeadEndShape
    channels: int
    zones: int  # controller-amplifier: its zone outputs; else 0
    w_8ohm: float  # per channel, one driven
    w_4ohm: float
    all_driven_rate: float  # of that with every channel driven
    minimum_ohm: float
    bridge_minimum_ohm: float  # 0: does not bridge
    bridge_w_8ohm: float
    rack_units: float
    depth_mm: float
    weight_kg: float
    idle_w: float
    working_w: float  # mains, at 1/8 power
    amplifier_class: str  # D, AB
    trigger_ma: float  # drawn by its trigger input; 0: no trigger input
    network_port: bool
    terminal: str
    output_class: str  # the wiring class marked on it
    damping_factor: float | None = None  # at 8 ohm; empty: standards/cable_design.csv says
    lines: int | None = None  # constant-voltage line outputs; empty: none
    line_w: float | None = None  # of each of them
    line_volts: str | None = None  # "70.7; 100"
    shares_inputs: bool | None = None  # what is plugged into it is heard on the others of its kind, over the network


class ControllerSpec(Struct, frozen=True, kw_only=True):
    """parts/controllers.csv."""

    part: str
    zones: int
    inputs: int
    streams: int  # built in
    linkable: int  # how many may be joined
    trigger_out_ma: float
    keypad_ports: int
    bus_ma: float  # what the keypad bus supplies
    rack_units: float
    depth_mm: float
    weight_kg: float
    idle_w: float
    working_w: float
    network_port: bool
    bus_m: float | None = None  # keypad cable that one unit's bus may have in all; empty: cable_design.csv says


class KeypadSpec(Struct, frozen=True, kw_only=True):
    """parts/keypads.csv; volume knobs too."""

    part: str
    control: str  # keypad, knob
    bus_ma: float
    chainable: bool
    depth_mm: float
    deep_ring: bool
    plate: str  # part, "" where it brings its own
    engraved: bool
    pairs: int  # knob: pairs it may carry
    damp_class: str
    conductors: int | None = None  # of its category cable that it uses; empty: all eight
    shielded_pair: bool | None = None  # wants a shielded audio pair beside its category cable
    input_conductors: int | None = None  # that a room input needs on the keypad's cable; empty: it may not share it
    per_home_run: int | None = None  # keypads that one home run may feed; empty: two where chainable, else one
    buttons: int | None = None  # whose function somebody writes down; empty: nobody has counted them


class SourceSpec(Struct, frozen=True, kw_only=True):
    """parts/sources.csv: sources, converters, senders, networks: whatever else stands at the head end."""

    part: str
    connector: str
    streams: int
    rack_units: float
    rack_mountable: bool
    depth_mm: float
    weight_kg: float
    watts: float
    plugs: int  # a wall transformer counts two outlets
    network_port: bool
    ports: int  # a switch's
    poe_w: float  # given (switch) or asked (device)


class RackSpec(Struct, frozen=True, kw_only=True):
    """parts/racks.csv: racks, shelves, strips, UPS."""

    part: str
    height_u: float
    wall: bool
    depth_mm: float
    load_kg: float
    outlets: int
    capacity_va: float


class LeadSpec(Struct, frozen=True, kw_only=True):
    """parts/leads.csv: leads and cords with a plug at both ends."""

    part: str
    length_m: float


class Socket(Struct, frozen=True, kw_only=True):
    """A row of sockets.csv: one kind of socket of one part."""

    part: str
    direction: Literal["in", "out", "both"]
    signal: str  # speaker, line, digital, trigger, network, mains, control
    connector: str
    count: int
    note: str


class Price(Struct, frozen=True, kw_only=True):
    """A row of prices.csv. `cost` is for the whole put-up; list and floor are per unit."""

    part: str
    put_up: Decimal  # how many of the unit in one pack or spool
    unit: str
    currency: str
    cost: Decimal
    list_price: Decimal | None
    floor_price: Decimal | None
    supplier: str
    from_date: datetime.date
    costing: bool  # this put-up sets unit cost, whatever is bought
    where: Cell
    breaks: tuple[tuple[int, Decimal], ...] = ()  # of price_breaks.csv: from so many put-ups, cost of one; rising
    rise: tuple[datetime.date, Decimal] | None = None  # the next row's day and cost, where that is higher

    @property
    def unit_cost(self) -> Decimal:
        """Cost of one unit, not rounded, however many are bought."""
        return self.cost / self.put_up

    def reached(self, count: int) -> tuple[int, Decimal]:
        """The quantity break that so many put-ups reach (0 for none), and what one of them costs then."""
        return max((step for step in self.breaks if step[0] <= count), default=(0, self.cost))


class Task(Struct, frozen=True, kw_only=True):
    """A row of labour.csv per task: who does it and in what units."""

    task: str
    description: str
    unit: Literal["each", "ft", "m", "hour"]
    role: str
    labour_class: str  # what factors apply to: design, cabling, cutting, fixing, rack, setting up, management, travel
    sold: bool
    where: Cell


class UnitHours(Struct, frozen=True, kw_only=True):
    """Person-hours of one unit of a task in one wall state."""

    low: Decimal
    likely: Decimal
    high: Decimal
    where: Cell


class Rate(Struct, frozen=True, kw_only=True):
    """A row of rates.csv."""

    role: str
    currency: str
    pay: Decimal
    burdened: Decimal
    sold_hour: Decimal
    price: Decimal
    from_date: datetime.date
    where: Cell


class OptionRole(Struct, frozen=True, kw_only=True):
    """A row of options.csv: a role, and the part (or parts to choose among) that each option uses for it."""

    role: str
    gauge_system: GaugeSystem
    parts: Mapping[str, tuple[str, ...]]  # option -> parts
    where: Cell


class OptionSetting(Struct, frozen=True, kw_only=True):
    """A row of options.csv: a setting, and each option's value."""

    name: str
    values: Mapping[str, str]
    where: Cell


class Place(Struct, frozen=True, kw_only=True):
    """A row of terms.csv: what a place asks of a contract."""

    place: str
    title: str
    currency: str
    tax_basis: Literal["invoice", "line"]
    tax_note: str
    deposit_cap_rate: Decimal | None
    deposit_cap_amount: Decimal | None
    withdrawal: str
    labour_apart: bool
    permit: str
    plan: str  # which instalments: a group of standards/payment_plan.csv
    reference: str
    where: Cell
    holidays: str | None = None  # whose public holidays: US, DE-BY; empty: none
    work_week: str | None = None  # Mon-Fri where empty


class TaxRow(Struct, frozen=True, kw_only=True):
    """A row of taxes.csv."""

    place: str
    rule: TaxRule
    dwelling_over_years: int  # applies to dwellings older than this; 0: to all
    dwelling_up_to_years: int  # applies to dwellings up to this age; 0: no upper limit
    resale_exempt: bool  # not charged where a builder pays and resells
    from_date: datetime.date
    where: Cell


class FirmSettings(Struct, frozen=True, kw_only=True):
    """firm.csv: the firm's face, and what the owner set."""

    firm: Firm
    cost_basis: Literal["burdened", "sold hour"]
    margin_floor: Decimal
    free_discount: Decimal
    valid_days: int
    stop_on_old_prices: bool
    factor_cap: Decimal
    counting_standard: str
    where: Cell
    cells: Mapping[str, Cell] = field(default_factory=dict)  # of each key's value


class Catalog(Struct, frozen=True, kw_only=True):
    """Everything that is looked up. Dates are resolved: one price list and one rate card as of the quote date."""

    name: str
    fingerprint: str
    parts: Mapping[str, Part]
    speakers: Mapping[str, SpeakerSpec]
    cables: Mapping[str, CableSpec]
    amplifiers: Mapping[str, AmplifierSpec]
    controllers: Mapping[str, ControllerSpec]
    keypads: Mapping[str, KeypadSpec]
    sources: Mapping[str, SourceSpec]
    racks: Mapping[str, RackSpec]
    leads: Mapping[str, LeadSpec]
    boxes: Mapping[str, BoxSpec]
    tubes: Mapping[str, TubeSpec]
    sockets: Mapping[str, tuple[Socket, ...]]
    prices: Mapping[tuple[str, str], tuple[Price, ...]]  # (part, currency) -> put-ups in force, largest first
    tasks: Mapping[str, Task]
    hours: Mapping[tuple[str, WallState], UnitHours]
    rates: Mapping[tuple[str, str], Rate]  # (role, currency)
    options: tuple[str, ...]  # names, smallest first
    roles: Mapping[tuple[str, GaugeSystem], OptionRole]
    settings: Mapping[str, OptionSetting]
    taxes: tuple[TaxRow, ...]
    places: Mapping[str, Place]
    statements: Mapping[str, StatementText]
    fees: tuple[Fee, ...]
    label_sheets: tuple[LabelSheet, ...]
    free_days: tuple[FreeDay, ...]
    firm: FirmSettings
    standards: Standards
    wording: Wording = NO_WORDING
    substitutes: tuple[SubstituteRow, ...] = ()

    def parts_for(self, role: str, option: str, gauge_system: str) -> tuple[str, ...]:
        """The parts that an option may use for a role; () where the role has none."""
        for system in (gauge_system, ""):
            row = self.roles.get((role, system))  # type: ignore[arg-type]
            if row:
                return row.parts.get(option, ())
        return ()

    def setting(self, name: str, option: str) -> str:
        """An option's setting, "" where the row or the value is missing."""
        row = self.settings.get(name)
        return row.values.get(option, "") if row else ""



"""What was asked for: the filled-in intake workbook as records, with every default that was used marked as one."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal
from typing import Literal

from msgspec import Struct, field

from quoting.problems import Cell
from quoting.units import UnitSystem

WallState = Literal["open", "open remodel", "finished"]
Setting = Literal["dry", "damp", "wet", "outdoor"]
Above = Literal["room", "quiet room", "insulated attic", "roof", "rated"]
Construction = Literal["wood frame", "steel frame", "masonry", "concrete", "plaster and lath"]
Mount = Literal["ceiling", "wall", "surface", "garden"]
Listening = Literal["background", "foreground", "party"]
Control = Literal["phone", "knob", "keypad"]
Access = Literal["above", "below", "both", "none"]
Distance = Literal["near", "middle", "far"]
SpeakerLine = Literal["low impedance", "70.7 V", "100 V"]
Compass = Literal["north", "east", "south", "west"]  # of the plan: its top, right, bottom and left edge
Joists = Literal["along", "across"]
SourceKind = Literal["streamer", "tuner", "disc", "turntable", "TV", "computer", "microphone", "other"]
Connector = Literal["RCA", "3.5 mm", "optical", "coaxial", "HDMI", "balanced", "network"]
SourceControl = Literal["network", "infrared", "serial", "none"]
Payer = Literal["owner", "builder"]
HeadEndShape = Literal["controller and amplifiers", "controller-amplifier", "network amplifiers"]
Dwelling = Literal["house", "several families"]  # a house is for one or two families
Topology = Literal["through the keypad place", "direct"]
Detail = Literal["total", "by room", "by room and category", "itemised"]
OverrideWhat = Literal["quantity", "part", "hours", "price", "length", "position", "drop"]
ExtraKind = Literal["doorbell", "paging", "owned equipment", "spare cable", "conduit", "trench", "part", "allowance"]


class Default(Struct, frozen=True):
    """A value that nobody typed: which field of which room (or "Job"), the value used, where it came from."""

    of: str  # "Rooms KIT", "Zones 3", "Job"
    field: str  # the column's heading, in the salesperson's words
    value: str
    source: str  # "room kind kitchen", "floor 1", "job", "standards/distance_band.csv A4"
    where: Cell


class Unknown(Struct, frozen=True):
    """A `?` in an optional cell: the default is used, and somebody must answer."""

    of: str  # room code, or "Job"
    attribute: str  # field name of Room or Site: what a rerun replaces
    field: str  # the column's heading
    used: str  # the default that was used
    where: Cell


class FloorPlan(Struct, frozen=True):
    """One floor. Heights and states here are the defaults of its rooms."""

    number: int  # -1 basement, 0, 1, 2 ... as the drawings number them
    ceiling_height_m: float
    wall_state: WallState
    above: Above
    construction: Construction


class Room(Struct, frozen=True, kw_only=True):
    """A space with walls (or a patio): dimensions in metres, every optional value resolved."""

    code: str  # at most 4 characters, unique
    name: str
    kind: str  # a row of standards/room_kinds.csv
    floor: int
    length_m: float
    width_m: float
    ceiling_height_m: float  # the low side of a slope; an eave's height outdoors
    ceiling_high_m: float  # the high side; the same where the ceiling is flat
    zone: int
    sub_zone: bool  # plays what its zone plays, with a volume of its own
    plays_from: str  # an option's name, "later" or "never"
    mount: Mount
    listening: Listening
    wall_state: WallState
    setting: Setting
    above: Above
    construction: Construction
    access: Access
    joists: Joists | None  # which way they run, along or across the room's length
    joist_spacing_m: float | None
    obstacles: str  # free text; plan positions "x,y" are read by speaker layout
    control: Control
    second_control: bool
    pairs: int | None  # typed count, whatever the standard says
    pairs_by_option: Mapping[str, int]  # typed per option
    room_input: bool
    tv: bool  # the television's sound into the system
    reuse_cable: bool
    reuse_speakers: bool
    reuse_control: bool
    colour: str  # of grilles and plates; "white" is what parts come in
    x_m: float | None  # plan position of the room's middle
    y_m: float | None
    measured_m: float | None  # a measured route from the head end, rises and drops included
    distance: Distance  # the band that stands in for a measured route or a plan position
    near_water: bool  # near a pool or a shower
    moves_air: bool = False  # cables there lie in a bay or ceiling space that moves air
    low_wall: Compass | None = None  # under the low side of a slope; None: not said
    beside: str = ""  # outdoors: code of the indoor room whose outside wall its cables come out of; "": not said
    note: str
    cells: Mapping[str, Cell] = field(default_factory=dict)  # attribute -> where it was typed; "" = the row

    @property
    def area_m2(self) -> float:
        """Floor area. [m2]"""
        return self.length_m * self.width_m

    def where(self, *attributes: str) -> tuple[Cell, ...]:
        """The cells that gave these attributes (the row's own cell where one was not typed)."""
        cells = [self.cells.get(name, self.cells[""]) for name in attributes] or [self.cells[""]]
        return tuple(dict.fromkeys(cells))


class Zone(Struct, frozen=True, kw_only=True):
    """What shares a source and a volume."""

    number: int
    name: str
    mono: bool
    bridged: bool  # two amplifier channels for one speaker output (outdoors, subwoofers)
    paged: bool  # hears paging and doorbells
    max_volume: int | None  # percent, a limit the family asked for
    where: Cell
    line: SpeakerLine = "low impedance"  # else constant voltage: taps on one line, from an amplifier of its own


class SourceWish(Struct, frozen=True, kw_only=True):
    """A thing that plays audio, bought or owned."""

    name: str
    kind: SourceKind
    count: int
    owned: bool
    connector: Connector
    control: SourceControl
    location: str  # "" = head end, else a room code
    plays_from: str  # an option's name: the first option that has it
    where: Cell


class Extra(Struct, frozen=True, kw_only=True):
    """Everything else that the salesperson asks for: doorbells, paging, owned equipment, spares, trenches, parts."""

    kind: ExtraKind
    name: str
    room: str  # code, or "" for the head end
    quantity: Decimal  # doorbell: doors; spare cable: cables; part: pieces; trench, conduit: metres; allowance: 1
    part: str  # kind "part" only
    amount: Decimal | None  # kind "allowance" only: the sum allowed, in the job's currency, at price
    rack_mountable: bool  # owned equipment
    plays_from: str
    note: str
    where: Cell


class Override(Struct, frozen=True, kw_only=True):
    """The estimator's correction of one line or fact; applied last, with a reason."""

    id: str
    what: OverrideWhat
    value: str  # as typed; "" for drop
    reason: str
    who: str
    where: Cell


class HeadEnd(Struct, frozen=True, kw_only=True):
    """Where the runs end: a room of the workbook, or a closet that bears only a name."""

    place: str
    floor: int
    x_m: float | None  # plan position, where somebody typed it
    y_m: float | None
    beside: str = ""  # code of the room that a closet is planned beside
    side: Compass | None = None  # of that room; None: not said
    length_m: float | None = None  # of the closet, west to east; None: not said
    width_m: float | None = None


class Client(Struct, frozen=True, kw_only=True):
    """Who asks, where, who pays, who said what."""

    name: str
    site: str  # the address, free text
    payer: Payer
    budget: Decimal | None
    budget_said_by: str
    priorities: tuple[str, ...]  # from the interview, most wanted first: rows of standards/recommendation.csv


class Terms(Struct, frozen=True, kw_only=True):
    """Everything about money and paper that the salesperson may type."""

    currency: str
    locale: str
    tax_place: str
    tax_exempt: str  # certificate number, or ""
    dwelling_years: int  # age of the dwelling; 0 where new or not said
    discount_rate: Decimal  # of materials and labour, 0..1
    discount_reason: str
    approved_by: str
    whole_units: bool  # round the total to whole currency units, with a visible line
    detail: Detail
    quote_number: str
    revision: int
    supersedes: str
    quote_date: datetime.date | None


class Job(Struct, frozen=True, kw_only=True):
    """One customer's house and wishes. Everything later is computed from this and a catalogue."""

    file: str  # the workbook's bare name
    client: Client
    terms: Terms
    unit_system: UnitSystem
    gauge_system: Literal["AWG", "mm2"]
    wall_state: WallState
    start_date: datetime.date | None  # first day on site; None: not known yet
    dwelling: Dwelling
    storeys: int
    occupied: bool
    year_built: int  # 0 = not said
    travel_hours: float  # one way
    internet_live: datetime.date | None
    trim_date: datetime.date | None = None  # from when fitting can begin; None: counted from the cabling
    router_owner: str
    counting_standard: str  # how speakers are counted: a row group of standards/speaker_count.csv
    topology: Topology
    head_end_shape: HeadEndShape | None  # None: the option decides
    streams: int | None  # different things playing at once; None: the option decides
    phones: int  # phones and tablets to set up
    head_end: HeadEnd
    floors: tuple[FloorPlan, ...]
    rooms: tuple[Room, ...]  # sorted by code
    zones: tuple[Zone, ...]  # sorted by number
    sources: tuple[SourceWish, ...]
    extras: tuple[Extra, ...]
    overrides: tuple[Override, ...]
    defaults: tuple[Default, ...]
    unknowns: tuple[Unknown, ...]
    cells: Mapping[str, Cell]  # job attribute -> where it was typed; "" = the Job sheet

    def where(self, *attributes: str) -> tuple[Cell, ...]:
        """The cells that gave these attributes (the Job sheet where one was not typed)."""
        cells = [self.cells.get(name, self.cells[""]) for name in attributes] or [self.cells[""]]
        return tuple(dict.fromkeys(cells))

    def rooms_in_house_order(self) -> tuple[Room, ...]:
        """Floor by floor and zone by zone: as the house is cabled, and as its papers list it."""
        return tuple(sorted(self.rooms, key=lambda room: (room.floor, room.zone, room.code)))

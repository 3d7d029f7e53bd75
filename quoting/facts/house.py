"""The house as facts: the job, floors, rooms, places, and what else was asked for."""

from __future__ import annotations

from quoting.facts.fact import Fact, SiteFact
from quoting.job import Control, HeadEndShape, Listening, Mount, WallState


class JobFact(Fact, frozen=True, kw_only=True):
    """The whole job, the same in every option. Id JOB."""

    wall_state: WallState
    occupied: bool
    storeys: int
    floors: int
    rooms: int
    area_m2: float
    old_paint: bool  # built before the place's year for lead in paint, or not said for a finished house
    old_asbestos: bool  # the same for asbestos
    payer: str
    permit: bool  # the place asks for one
    internet_said: bool  # somebody said from when the router works
    travel_hours: float  # one way
    revision: int
    options: int
    drywall_follows: bool  # some walls are open: test again after drywall, walk with the builder
    garden: bool


class WorkLimits(Fact, frozen=True, kw_only=True):
    """What the crew and the family keep to, whatever is designed. Id LIMITS."""

    two_lift_kg: float  # what is heavier two people lift
    rack_air_f: float  # the warmest air at the top of a rack
    meter_db: float  # how far from its target a level at the seat still is right
    plated_mm: float  # a hole nearer than that to the face of a stud gets a steel plate
    uncounted_buttons: int  # lines for the functions of a keypad whose buttons nobody has counted
    caution_db: float  # from there on hearing is protected
    caution_hours: float  # how long a person may hear that in a day
    all_day_db: float  # what ears bear as long as they like


class SystemFact(Fact, frozen=True, kw_only=True):
    """One option's system as a whole. Id SYS."""

    option: str
    wall_state: WallState
    shape: HeadEndShape
    live_rooms: int
    wired_rooms: int
    zones: int
    speakers: int
    keypads: int
    knobs: int
    phones: int
    streams: int
    service_years: int
    network_ports: int
    poe_w: float
    ups: bool
    remote_power: bool
    stays_on_shelf: bool  # no rack in this option: a shelf carries it
    trigger_leads: int
    trigger_ma: float
    loudest_w: float  # power asked of one channel, the zone that asks most
    keypad_hubs: int = 0  # that feed the keypads where network amplifiers have no bus for them


class FloorFact(Fact, frozen=True, kw_only=True):
    """One floor's worth of pulling: its open part (shared plan, id F1) or its finished part (per option, id F1-FIN)."""

    floor: int
    wall_state: WallState
    rooms: int
    runs: int
    cable_m: float  # planned length of the runs that end on this floor
    studs_crossed: int  # studs and joists that its pulls drill
    plates_crossed: int
    chase_m: float = 0.0  # cut into walls of stone for its pulls


class Pull(SiteFact, frozen=True, kw_only=True):
    """Cables that share their holes, from the head end to one room, id KIT-P1; or a room's own, one by one, KIT-L."""

    cables: int
    studs_crossed: int  # studs and joists on its way that are drilled
    plates_crossed: int  # top and sole plates; walls and floors of stone, whose holes all pulls share: see SharedWay
    holes: int  # side by side at each crossing
    hole_mm: float
    largest_mm: float = 0.0  # the largest hole that the standard allows
    fill_rate: float = 0.0  # how much of a hole's area cables may fill
    chase_m: float = 0.0  # in walls of stone, what its cables share counted once
    chase_mm: float = 0.0  # how wide: its cables side by side
    shares_with: str = ""  # the pull in whose chase it begins, where it has none of its own


class RoomFact(SiteFact, frozen=True, kw_only=True):
    """A room that somebody works in. Its id is its code."""

    kind: str
    area_m2: float
    cables: int


class RoomUse(SiteFact, frozen=True, kw_only=True):
    """What one option does in one room. Id KIT-USE."""

    state: str  # live, wired-only, out
    kind: str
    listening: Listening
    mount: Mount
    pairs: int
    speakers: int
    single_stereo: bool
    control: Control
    keypads: int
    sub_zone: bool
    room_input: bool
    tv: bool
    colour: str
    custom_colour: bool
    area_m2: float
    reuse_speakers: bool
    reuse_cable: bool
    near_water: bool  # within reach of a pool, a spa or a shower
    coverage_diameter_m: float = 0.0  # of the circle that one ceiling speaker covers at the ears; 0: not on a ceiling
    pattern: str = ""  # edge-to-edge, minimum, full: how such circles overlap
    grid: str = ""  # square, hexagonal
    spacing_m: float = 0.0  # that the pattern asks for
    pattern_variation_db: float = 0.0  # how much the level varies over such a pattern, as published
    single: bool = False  # one loudspeaker a place: single-stereo, or a lone one of a mono zone
    caution: str = ""  # what its crew is told of water; "" in a dry room
    low_wall: str = ""  # north, east, south, west: under the low side of a slope; "" under a flat ceiling
    low_wall_said: bool = False
    pattern_speakers: int = 0  # that the pattern asks for: the count of mono zones, advice for stereo rooms


class Place(SiteFact, frozen=True, kw_only=True):
    """Where a speaker, keypad or input may go, whether or not an option uses it. Ids KIT-S1, KIT-K1, KIT-I1, KIT-T1."""

    device: str  # speaker, control, input, tv
    mount: Mount
    bracket: str  # part, for a speaker in an open ceiling or wall that takes one; else ""
    back_box: str  # part, where noise, insulation or a rating asks for one; else ""
    back_box_kind: str  # none, sealed, rated; left out: it does not pass the hole in a ceiling that stays closed
    ring: bool  # a single-gang ring for a plate or a cable; outdoors a weather box
    deep_ring: bool
    side: str  # L, R, both (single-stereo), or ""
    x_m: float  # from the room's west wall (along its length)
    y_m: float  # from its south wall
    height_m: float
    cut_out_mm: float  # of a round hole across, of another its height
    depth_mm: float
    cut_out_width_mm: float = 0.0  # 0: a round hole
    bay: str = ""  # "centre of bay 3": joist bays from the west wall (joists across) or the south wall (along)
    moved_m: float = 0.0  # how far an obstacle, or an override, moved it
    beside_m: float = 0.0  # to the next speaker of the room; 0: it is alone
    typed: bool = False  # somebody typed where it goes
    back_box_wide_mm: float = 0.0  # of its back box, outside; 0 where the catalogue does not say
    back_box_high_mm: float = 0.0
    back_box_deep_mm: float = 0.0
    back_box_from: str = ""  # open framing, above, its hole: which way it comes there; "" without one


class WallBox(SiteFact, frozen=True, kw_only=True):
    """The ring or box that is set into a wall at a place, for a plate, a control or a joint. Id KIT-K1-B."""

    place: str
    words: str  # ring, deep ring, old-work ring, flush box, weather box
    part: str
    boxes: int  # side by side, where one does not hold what lands there
    conductors: int  # of loudspeaker cables, that end or are joined in it
    asked_cm3: float  # by those conductors
    device_cm3: float  # by what goes into it
    holds_cm3: float  # all its boxes together; 0: open at its back
    core_mm: float  # of the hole for it; 0: none, or a square one
    cores: int
    wide_mm: float
    high_mm: float
    deep_mm: float  # 0: as deep as the hollow of the wall


class HeadEndPlace(Fact, frozen=True, kw_only=True):
    """Where the cables come out of the wall behind the racks, in the room `room` or a closet of its own (""). Id HE."""

    name: str
    floor: int
    beside: str  # code of the room that a closet is planned beside; "" where nobody said
    side: str  # north, east, south, west of that room; "" where nobody said
    length_m: float  # of the room or the closet, west to east
    width_m: float
    size_said: bool  # else what a closet is taken for
    ceiling_height_m: float
    wall: str  # north, east, south, west: the racks stand with their backs to it
    x_m: float  # from its west wall
    y_m: float  # from its south wall
    height_m: float
    on_plan: bool  # whether the plan position below is known
    plan_x_m: float
    plan_y_m: float


class IdlePlace(SiteFact, frozen=True, kw_only=True):
    """A place that this option wires and does not equip. Id KIT-S1-W."""

    device: str
    mount: Mount
    plate: bool  # a blank plate closes the ring


class OwnedItem(Fact, frozen=True, kw_only=True):
    """Equipment of the customer's that stays. Id OWN-1."""

    name: str
    rack_mountable: bool
    rack_units: float


class Doorbell(Fact, frozen=True, kw_only=True):
    """One door whose bell is heard in the music. Id BELL-1."""

    name: str
    first: bool  # the first door also needs the chime source and the input


class Paging(Fact, frozen=True, kw_only=True):
    """A paging microphone or telephone page. Id PAGE-1."""

    name: str


class Trench(Fact, frozen=True, kw_only=True):
    """A trench or a sleeve outdoors. Id TRN-1."""

    what: str  # trench, conduit
    length_m: float
    buried: bool
    depth_m: float = 0.0  # that the cables' lengths count on


class ExtraPart(Fact, frozen=True, kw_only=True):
    """A part that the salesperson asked for by number. Id EXT-1."""

    part: str
    quantity: float
    wall_state: WallState


class RoomLevel(SiteFact, frozen=True, kw_only=True):
    """How loud one option plays in one room, for the office alone. Id KIT-LVL.

    Levels are the loudest that the room holds with the peak allowance kept back: music at that level does not clip.
    """

    listening: Listening
    speakers: int
    points: int  # of the listening plane
    average_db: float  # of energy over the plane
    worst_db: float
    best_db: float
    spread_db: float
    target_db: float
    peak_db: float  # allowed above the average
    asked_w: float  # of one loudspeaker: what target and peaks ask for at the plane's average
    available_w: float  # at one loudspeaker: after the cable, never above what its maker allows
    amplifier_w: float  # that the channel has for one loudspeaker, before the cable
    cable_loss_db: float  # the worst of the room
    headroom_db: float  # of the power available over the power asked
    headroom_wanted_db: float  # by the option
    short: bool  # less headroom than the option wants
    caution: bool  # can play louder than ears bear all day
    beside: int = 0  # further speakers of the zone that are heard here: outdoor areas with plan positions
    exposure_hours: float = 0.0  # a day at that average by the workplace limit; 0 without caution. No advice for homes

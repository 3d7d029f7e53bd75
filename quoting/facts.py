"""The designed system as flat rows: one frozen dataclass a kind, and the dict that names the kinds.

A rule column tests one scalar field of one kind; what a rule needs and a fact lacks, engineering computes as a
field. Units end every numeric name; lengths are metres. Text fields that name a part hold a part number or "".
To add a kind: a dataclass here with its entry in FACT_KINDS, the engineering step that makes it, its rule sheet.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TypeVar

from quoting.job import Above, Access, Construction, Control, HeadEndShape, Listening, Mount, Setting, WallState
from quoting.problems import Cell


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """What every fact has. `id` is readable and at most 10 characters; `room` is a code, "" for the whole job."""

    id: str
    room: str = ""
    zone: int = 0
    basis: tuple[str, ...] = ()  # ids of the facts that this one rests on
    where: tuple[Cell, ...] = ()  # the intake cells that it rests on
    decided: tuple[str, ...] = ()  # standards rows that decided it: "slack SLK-030"


@dataclass(frozen=True, slots=True, kw_only=True)
class SiteFact(Fact):
    """What every fact that stands in a room has: the conditions that labour factors test."""

    floor: int
    storeys: int
    occupied: bool
    wall_state: WallState
    setting: Setting
    above: Above
    construction: Construction
    access: Access
    ceiling_height_m: float  # the high side of a slope: what a ladder must reach


@dataclass(frozen=True, slots=True, kw_only=True)
class JobFact(Fact):
    """The whole job, the same in every option. Id JOB."""

    wall_state: WallState
    occupied: bool
    storeys: int
    floors: int
    rooms: int
    area_m2: float
    old_paint: bool  # built before 1978, or not said for a finished house
    payer: str
    permit: bool  # the place asks for one
    travel_hours: float  # one way
    revision: int
    options: int
    drywall_follows: bool  # some walls are open: test again after drywall, walk with the builder
    garden: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SystemFact(Fact):
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


@dataclass(frozen=True, slots=True, kw_only=True)
class FloorFact(Fact):
    """One floor's worth of pulling: its open part (shared plan, id F1) or its finished part (per option, id F1-FIN)."""

    floor: int
    wall_state: WallState
    rooms: int
    runs: int
    cable_m: float  # planned length of the runs that end on this floor
    studs_crossed: int
    plates_crossed: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomFact(SiteFact):
    """A room that somebody works in. Its id is its code."""

    kind: str
    area_m2: float
    cables: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomUse(SiteFact):
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Place(SiteFact):
    """Where a speaker, keypad or input may go, whether or not an option uses it. Ids KIT-S1, KIT-K1, KIT-I1, KIT-T1."""

    device: str  # speaker, control, input, tv
    mount: Mount
    bracket: str  # part, for a speaker in an open ceiling or wall that takes one; else ""
    back_box: str  # part, where noise, insulation or a rating asks for one; else ""
    back_box_kind: str  # none, sealed, rated
    ring: bool  # a single-gang ring for a plate
    deep_ring: bool
    side: str  # L, R, both (single-stereo), or ""
    x_m: float  # from the room's west wall (along its length)
    y_m: float  # from its south wall
    height_m: float
    cut_out_mm: float
    depth_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class IdlePlace(SiteFact):
    """A place that this option wires and does not equip. Id KIT-S1-W."""

    device: str
    mount: Mount
    plate: bool  # a blank plate closes the ring


@dataclass(frozen=True, slots=True, kw_only=True)
class Speaker(SiteFact):
    """One loudspeaker that plays in this option. Id KIT-SP1."""

    part: str
    place: str
    mount: Mount
    role: str
    side: str
    size_in: float
    single_stereo: bool
    nominal_ohm: float
    sensitivity_db: float
    power_w: float  # what the maker allows
    terminal: str
    cut: bool  # the hole is cut at trim-out: finished walls, or no bracket went in
    prepared: bool  # a bracket went in before the board
    bracket: str  # what this model wants; "" for none
    custom_colour: bool
    owned: bool
    anchors: int
    tee: bool  # two gel splices in a weather box
    distance_m: float  # listener to the nearest speaker
    asked_w: float  # power that target plus peak allowance asks of it


@dataclass(frozen=True, slots=True, kw_only=True)
class CableRun(SiteFact):
    """One cable, end to end, never spliced. A bare id: floor digit, zone, number."""

    part: str
    role: str  # the cable's role in options.csv: "speaker cable 4-conductor", "category cable" ...
    purpose: str  # home run, speaker leg, control, room input, tv return, spare, doorbell, network, line
    start: str  # HE, or a place id
    end: str
    conductors: int
    circuits: int  # speaker circuits carried (pair-runs); 0 for other cables
    gauge_awg: float  # equivalent gauge; smaller is thicker; 0 where gauge does not matter
    area_mm2: float
    length_basis: str  # measured, plan, band, override
    plan_m: float
    route_factor: float
    vertical_m: float
    slack_m: float
    waste_rate: float
    length_m: float  # planned: rounded up to 1 ft or 0.5 m
    floors_crossed: int
    load_ohm: float  # what the circuit sees: worst option
    loop_ohm: float
    loop_rate: float  # loop resistance over load
    loss_db: float  # level at the speaker against no cable: 20 log
    limit_rate: float
    pull_group: str
    first_of_pull: bool
    rating: str  # in wall, riser, plenum, burial
    buried: bool
    spare: bool
    reused: bool
    digital: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class CableEnd(SiteFact):
    """One end of one run in one option. Ids 1084A (head-end side), 1084B (device side)."""

    run: str
    purpose: str
    end: str  # head end, device
    device: str  # amplifier, keypad, knob, speaker, input, controller, switch, none
    terminal: str  # binding post, spring clip, plug-in, wires, jack, plug, screw, joint, tail
    circuits: int
    conductors: int
    live: bool
    tagged: bool  # an unused tail, tagged for later
    pigtail: bool  # the conductor is thicker than the terminal takes
    shelf: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class KeypadFact(SiteFact):
    """A keypad, or a volume knob, on a wall. Id KIT-KP1."""

    part: str
    place: str
    control: Control  # keypad or knob
    second: bool
    chained: bool  # shares the first one's cable
    sub_zone: bool
    pairs_controlled: int
    bus_ma: float
    plate: str  # part
    custom_colour: bool
    engraved: bool
    owned: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomInput(SiteFact):
    """A socket in a room for a player there, or a television's sound coming back. Id KIT-IN1."""

    what: str  # player, tv
    part: str  # plate with its sender
    receiver: str  # part at the head end; "" where the sender needs none
    digital: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class AudioSource(Fact):
    """A thing that plays audio in this option. Id SRC-1."""

    name: str
    part: str  # "" where the customer owns it
    kind: str
    owned: bool
    at_head_end: bool
    connector: str
    input_connector: str  # what it lands on, after a converter
    converter: str  # part, "" where none is needed
    lead: str  # role of the lead it needs
    phono: bool
    control: str
    rack_units: float
    rack_mountable: bool
    network_port: bool
    plugs: int
    watts: float


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnedItem(Fact):
    """Equipment of the customer's that stays. Id OWN-1."""

    name: str
    rack_mountable: bool
    rack_units: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ZoneFact(Fact):
    """One zone that plays in this option. Id Z1."""

    name: str
    wall_state: WallState
    rooms: int
    pairs: int
    speakers: int
    channels: int
    outputs: int  # controller outputs used
    mono: bool
    bridged: bool
    control: str  # the best control that any room of it has
    load_ohm: float  # what one channel sees
    asked_w: float  # per channel
    amplifier: str
    first_channel: int
    controller: str
    controller_output: int
    sub_zones: int
    paged: bool
    line_lead: bool  # a stereo lead from the controller to the amplifier
    summing: bool  # a mono sum before the amplifier


@dataclass(frozen=True, slots=True, kw_only=True)
class AmplifierFact(Fact):
    """One amplifier of this option. Id AMP-1."""

    part: str
    shape: HeadEndShape
    channels: int
    used_channels: int
    spare_channels: int
    bridged_outputs: int
    lowest_load_ohm: float
    channel_w: float  # at the load, all channels driven
    rack_units: float
    depth_mm: float
    weight_kg: float
    idle_w: float
    working_w: float
    vents: int
    plugs: int
    trigger_ma: float
    trigger_lead: bool
    network_port: bool
    rack_mountable: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class AmplifierOutput(Fact):
    """One amplifier channel (or bridged pair of channels) that drives something. Id AMP-1.03."""

    amplifier: str
    channel: int
    side: str
    bridged: bool
    voice_coils: int
    circuits: int
    load_ohm: float
    terminal: str
    runs: str  # cable ids, by comma


@dataclass(frozen=True, slots=True, kw_only=True)
class ControllerFact(Fact):
    """One controller (or controller-amplifier) of this option. Id CTL-1."""

    part: str
    shape: HeadEndShape
    outputs: int
    used_outputs: int
    spare_outputs: int
    inputs: int
    used_inputs: int
    linked: bool  # joined to the one before
    rack_units: float
    depth_mm: float
    weight_kg: float
    idle_w: float
    working_w: float
    plugs: int
    keypad_ports: int
    network_port: bool
    rack_mountable: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class NetworkDevice(Fact):
    """A switch that this option adds. Id NET-1."""

    part: str
    ports: int
    used_ports: int
    poe_w: float
    rack_units: float
    rack_mountable: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class RackFact(Fact):
    """The rack, or the shelf that stands in for one. Id RACK-1."""

    part: str
    shelf_only: bool
    height_u: float
    used_u: float
    spare_u: float
    vents: int
    shelves: int
    blanks: int
    components: int
    rack_devices: int  # things with ears that take screws
    lacing_bars: int
    brush_plates: int
    patch_ports: int
    patch_panels: int
    working_w: float
    idle_w: float
    heat_w: float
    heat_btu_h: float
    weight_kg: float
    depth_mm: float
    plugs: int
    outlets: int
    power_strips: int
    circuits: int
    ups: bool
    fan: bool
    wall_entries: int
    owned_space_u: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Doorbell(Fact):
    """One door whose bell is heard in the music. Id BELL-1."""

    name: str
    first: bool  # the first door also needs the chime source and the input


@dataclass(frozen=True, slots=True, kw_only=True)
class Paging(Fact):
    """A paging microphone or telephone page. Id PAGE-1."""

    name: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Trench(Fact):
    """A trench or a sleeve outdoors. Id TRN-1."""

    what: str  # trench, conduit
    length_m: float
    buried: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class ExtraPart(Fact):
    """A part that the salesperson asked for by number. Id EXT-1."""

    part: str
    quantity: float
    wall_state: WallState


@dataclass(frozen=True, slots=True, kw_only=True)
class PhaseEffort(Fact):
    """One phase's hours in one option, after the first pass of the rules. Id rough-in, trim-out ..."""

    phase: str
    wall_state: WallState
    hours: float
    on_site: bool
    crew: int
    productive_hours: float  # of one person in one full day
    half_days: int
    trips: int
    crew_days: float  # person-days
    travel_hours: float  # person-hours on the road
    remainder_hours: float  # person-hours of the half-days that nothing fills


@dataclass(frozen=True, slots=True, kw_only=True)
class JobEffort(Fact):
    """The whole job's hours in one option, after the first pass of the rules. Id EFFORT."""

    wall_state: WallState
    hours: float
    field_hours: float  # on site and in the shop, without design
    trips: int
    crew_days: float
    material_rows: int
    parts: int


# The kind's name is its rule sheet's name and its key in quote.json.
FACT_KINDS: dict[str, type[Fact]] = {
    "job": JobFact, "system": SystemFact, "floor": FloorFact, "room": RoomFact, "room_use": RoomUse,
    "place": Place, "idle_place": IdlePlace, "speaker": Speaker, "cable_run": CableRun, "cable_end": CableEnd,
    "keypad": KeypadFact, "room_input": RoomInput, "audio_source": AudioSource, "owned_item": OwnedItem,
    "zone": ZoneFact, "amplifier": AmplifierFact, "output": AmplifierOutput, "controller": ControllerFact,
    "network_device": NetworkDevice, "rack": RackFact, "doorbell": Doorbell, "paging": Paging, "trench": Trench,
    "extra_part": ExtraPart, "phase_effort": PhaseEffort, "job_effort": JobEffort,
}
EFFORT_KINDS = ("phase_effort", "job_effort")  # made by effort.py from the first lines, ruled in the second pass

F = TypeVar("F", bound=Fact)


def kind_of(fact: Fact) -> str:
    """The name of a fact's kind."""
    return next(name for name, cls in FACT_KINDS.items() if type(fact) is cls)


def of(facts: Iterable[Fact], kind: type[F]) -> tuple[F, ...]:
    """The facts of one kind, in their order."""
    return tuple(fact for fact in facts if isinstance(fact, kind))


@dataclass(frozen=True, slots=True)
class OptionDesign:
    """One option's own facts: everything that is not in the shared plan."""

    name: str
    facts: tuple[Fact, ...]


@dataclass(frozen=True, slots=True)
class Design:
    """The engineering result: the shared plan (everything buried at rough-in behind open walls), then each option."""

    shared: tuple[Fact, ...]
    options: tuple[OptionDesign, ...]

"""Loudspeakers, controls, sources and everything at the head end as facts."""

from __future__ import annotations

from quoting.facts.fact import Fact, SiteFact
from quoting.job import Control, HeadEndShape, Mount, WallState


class Speaker(SiteFact, frozen=True, kw_only=True):
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
    cut: bool  # no bracket or box waits: the hole is cut, in finished walls at rough-in, else in the new board
    prepared: bool  # a bracket went in before the board
    bracket: str  # what this model wants; "" for none
    custom_colour: bool
    owned: bool
    anchors: int
    asked_w: float  # power that target plus peak allowance asks of it
    line_v: float = 0.0  # constant-voltage line that feeds it; 0: low impedance
    tap_w: float = 0.0  # transformer tap to set; 0: low impedance
    coverage_deg: float = 0.0  # between its -6 dB edges
    angled: bool = False  # leans towards the room's middle
    plate: bool = False  # its cable comes out of a ring indoors, through a plate
    early_piece: str = ""  # what the rough-in needs out of its box: a template, a bracket; "" for nothing
    weight_kg: float = 0.0  # 0 where the catalogue does not say
    back_box: str = "none"  # its place's: none, sealed, rated, left out


class KeypadFact(SiteFact, frozen=True, kw_only=True):
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
    conductors: int = 0  # of its category cable that it uses
    spare_conductors: int = 0  # left on that cable, for a room input where the keypad allows it
    buttons: int = 0  # of a keypad of ours; 0: nobody has counted them


class RoomInput(SiteFact, frozen=True, kw_only=True):
    """A socket in a room for a player there, or a television's sound coming back. Id KIT-IN1."""

    what: str  # player, tv
    part: str  # plate with its sender
    receiver: str  # part at the head end; "" where the sender needs none
    digital: bool
    plate: str = ""  # what goes into the ring instead, where the sender stands elsewhere: a jack plate


class AudioSource(Fact, frozen=True, kw_only=True):
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
    inputs: int = 1  # of the controller that it takes: one for each stream; 0 where it plays over the network


class ZoneFact(Fact, frozen=True, kw_only=True):
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
    max_volume: int  # percent, a limit the family asked for; 0: none
    line_lead: bool  # a stereo lead from the controller to the amplifier
    summing: bool  # a mono sum before the amplifier
    line_leads: int = 0  # stereo leads: one for each channel pair (or bridged two) that it is dealt over
    line_splitters: int = 0  # one output of the controller to two inputs: for each group of channels after the first


class AmplifierFact(Fact, frozen=True, kw_only=True):
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
    working_w: float  # from the mains by its data sheet, every channel at 1/8 power
    vents: int
    plugs: int
    trigger_ma: float
    trigger_lead: bool
    network_port: bool
    rack_mountable: bool
    trigger: str = ""  # the Trigger that wakes it
    wakes_with: str = ""  # zones that are awake whenever one of its zones is: "Z1, Z2, Z3"
    shares_inputs: bool = False  # what is plugged into it is heard on the others of its kind, over the network


class AmplifierOutput(Fact, frozen=True, kw_only=True):
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
    asked_w: float = 0.0  # by the level, its peaks and the option's headroom, of all its loudspeakers together
    output_w: float = 0.0  # given at this load, all channels driven
    output_class: str = ""  # wiring class as marked on the amplifier
    line_v: float = 0.0  # of a constant-voltage line; 0: low impedance
    least_ohm: float = 0.0  # the lowest load that its maker allows, of a bridged one across both; 0: a line


class ControllerFact(Fact, frozen=True, kw_only=True):
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
    contacts: int = 0  # doorbell and page contacts
    used_contacts: int = 0
    full: bool = False  # the last unit, and no zone output is left on any
    upgrade: str = ""  # part that a further zone would take, where full; "" where none of the option holds it
    streams: int = 0  # built in: what plays over the network into it, without an input


class Trigger(Fact, frozen=True, kw_only=True):
    """One trigger output of a controller and the amplifiers that it wakes together. Id CTL-1.T1."""

    controller: str
    output: int
    amplifiers: str  # ids, by comma
    amplifier_count: int
    branches: int
    splitters: int
    draw_ma: float
    unit_ma: float  # drawn from all outputs of that controller together
    limit_ma: float  # what that controller gives, all outputs together
    wakes: str  # zones: "Z1, Z2"


class NetworkDevice(Fact, frozen=True, kw_only=True):
    """A switch that this option adds. Id NET-1."""

    part: str
    ports: int
    used_ports: int
    poe_w: float
    rack_units: float
    rack_mountable: bool
    link_ports: int = 0  # of those used: up to the router or the switch before, down to the next
    poe_asked_w: float = 0.0  # over all switches of the option together
    watts: float = 0.0  # from the mains, what it passes on over its cables included


class RackFact(Fact, frozen=True, kw_only=True):
    """A rack, or the shelf that stands in for one. Ids RACK-1, RACK-2."""

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
    working_w: float  # from the mains with music at 1/8 power into the loads that are there
    idle_w: float
    heat_w: float  # what of it stays in the rack
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
    idle_btu_h: float = 0.0
    load_kg: float = 0.0  # what the rack carries; 0: not said
    fan_panels: int = 0
    fan_cfm: float = 0.0  # air that carries the heat away
    ups_part: str = ""
    ups_w: float = 0.0  # asked of the UPS by what it feeds
    ups_va: float = 0.0
    ups_limit_w: float = 0.0
    ups_limit_va: float = 0.0
    circuit_limit_w: float = 0.0  # what one circuit carries for hours
    height_mm: float = 0.0  # of its units, without frame and feet
    unweighed: int = 0  # devices whose weight nobody knows: owned ones
    x_m: float = 0.0  # middle of its footprint, from the west and the south wall of the head end
    y_m: float = 0.0
    wide_m: float = 0.0  # its footprint: along the wall behind it, and off it
    deep_m: float = 0.0
    front_clear_m: float = 0.0  # kept free to work before it and behind it
    rear_clear_m: float = 0.0
    on_wall: bool = False  # hangs on its wall: it stands on no floor


class RackSlot(Fact, frozen=True, kw_only=True):
    """One place in a rack and what stands there. Ids U12, R2-U12; on a shelf U12A; on top TOP-1; no rack SHELF-01."""

    rack: str
    position_u: int  # the lowest unit that it takes, from the bottom; 0: an open shelf; one over the highest: on top
    height_u: float  # 0 for what stands on a shelf of the rack, or on top of it
    what: str  # a row of standards/rack_order.csv
    device: str  # id of the fact that stands here; "" for panels, strips and the like
    part: str
    on_shelf: bool
    weight_kg: float
    depth_mm: float
    watts: float  # from the mains, with music at 1/8 power
    heat_w: float
    strip: str  # "surge strip 1"; "" where nothing is plugged in
    outlet: int  # the first one, counted along its strip
    outlets: int
    circuit: int
    switch: str  # NET-1
    network_port: int  # counted along its switch; 0: none

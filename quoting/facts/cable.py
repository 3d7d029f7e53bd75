"""Cable runs and their ends as facts."""

from __future__ import annotations

from typing import Literal

from quoting.facts.fact import SiteFact

CableWay = Literal["inside", "eaves", "ground"]


class CableRun(SiteFact, frozen=True, kw_only=True):
    """One cable, end to end, never spliced. A bare id, 103211: floor, zone, room, what for, which."""

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
    rating: str  # that it needs: in wall, riser, plenum, burial; in wall and burial, riser and burial out of the house
    buried: bool  # its way is the ground
    spare: bool
    reused: bool
    digital: bool
    channel_ohm: float = 0.0  # what the amplifier's channel sees of it: half where bridged
    power_lost_rate: float = 0.0  # share of the amplifier's power that warms the cable; loss_db is level at the speaker
    damping_factor: float = 0.0  # load over amplifier and cable; 0 where there is no low-impedance load
    stranding: str = ""  # solid, stranded, flexible: what the resistance was reckoned with
    temperature_c: float = 0.0
    joined_pairs: int = 0  # speaker pairs that this one cable feeds
    slack_start_m: float = 0.0  # of slack_m, at its start
    slack_end_m: float = 0.0
    way: CableWay = "inside"  # where it goes in or outside the room of its end
    via: str = ""  # its way indoors in words, as walls and ceiling allow
    planned_m: float = 0.0  # the way and its slack; length_m is what is cut: with waste, rounded up
    measured_to: str = ""  # the place of its room that somebody measured the way to; "" where nobody did
    diameter_mm: float = 0.0  # its outside; 0 where the catalogue does not say
    marks: str = ""  # what the cable has: what is printed on it, else its rating


class HouseExit(SiteFact, frozen=True, kw_only=True):
    """A spot of the house wall where cables go out to an outdoor room: a sleeve for each, sealed. Id PAT-E1."""

    way: CableWay  # on from here: along the eaves, in the ground
    place: str  # whose box or loudspeaker hides it; "" for a spot of its own, above the way into the ground
    height_m: float  # over the ground
    beside: str  # the indoor room behind it; "" where nobody said, nor measured how the rooms lie
    cables: int
    sleeve: str = ""  # part
    sleeve_mm: float = 0.0  # its inside; 0 where the catalogue does not say
    sleeve_outside_mm: float = 0.0
    hole_mm: float = 0.0  # the bit that its outside asks for
    inside_wall: str = ""  # of the indoor room: north, east, south, west; "" where the plan does not know
    inside_x_m: float = 0.0  # from that room's west and south wall
    inside_y_m: float = 0.0
    taken_wall: str = ""  # of that room, where the plan does not know it: it faces the side that the house is taken on


class CableEnd(SiteFact, frozen=True, kw_only=True):
    """One end of one run in one option. Ids 103211A (head-end side), 103211B (device side)."""

    run: str
    purpose: str
    end: str  # head end, device
    device: str  # amplifier, keypad, knob, speaker, input, controller, switch, none
    terminal: str  # binding post, spring clip, plug-in, wires, jack, plug, screw, joint, tail
    circuits: int  # that land here; what goes on from a loudspeaker's opening to the next is on the next cable's end
    conductors: int
    live: bool
    tagged: bool  # an unused tail, tagged for later
    pigtail: bool  # the conductor, or those that meet there, are thicker than the terminal takes
    shelf: bool

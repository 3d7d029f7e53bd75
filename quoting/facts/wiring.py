"""Constant-voltage lines, keypad buses, conduits and separation from mains as facts."""

from __future__ import annotations

from typing import Literal

from quoting.facts.fact import Fact, SiteFact
from quoting.job import WallState

StonePassage = Literal["wall", "ceiling", "floor", "hollow"]  # each inside wall on the way; into a ceiling's hollow


class VoltageLine(Fact, frozen=True, kw_only=True):
    """One zone's constant-voltage line in one option. Id LIN-3."""

    name: str
    wall_state: WallState
    line_v: float
    speakers: int
    taps: str  # "4 x 5 W, 6 x 1 W"
    tap_total_w: float
    load_ohm: float  # of all taps together
    amplifier: str
    output: str
    amplifier_w: float  # of the line output
    share_rate: float  # taps over the line output's power
    share_limit_rate: float
    output_class: str  # wiring class as marked on the amplifier, never inferred from volts or watts
    area_mm2: float
    gauge_awg: float
    run_m: float  # all its cable together
    longest_m: float  # from the head end to the farthest speaker along the line
    voltage_lost_rate: float  # at the farthest speaker
    power_lost_rate: float  # of that speaker's power, by the same loss
    loss_db: float  # level at the farthest speaker
    loss_limit_rate: float  # of voltage
    runs: str  # cable ids, by comma


class KeypadBus(Fact, frozen=True, kw_only=True):
    """What one option's keypads ask of the controller's bus. Id BUS."""

    controller: str  # part
    units: int
    keypads: int
    ports: int
    asked_ma: float
    given_ma: float
    run_m: float  # all keypad cable together
    limit_m: float


class Conduit(Fact, frozen=True, kw_only=True):
    """An empty conduit with a pull string, from the head end to where later cables will want to go. Id CND-1."""

    to: str  # attic, basement, outside
    diameter_mm: float
    length_m: float
    length_basis: str  # plan, band; straight: up or down from the head end, nobody knows what lies there
    wall_state: WallState
    towards: str = ""  # the room that it ends at or beside; "" where nobody knows
    hole_mm: float = 0.0  # the bit that its outside asks for; 0 where the catalogue does not say
    plates_crossed: int = 0  # top and sole plates; floors of stone


class SharedWay(Fact, frozen=True, kw_only=True):
    """A stretch that the cables of several pulls go together. Ids WAY-HE (at the head end), WAY-1 (on to floor 1)."""

    floor: int  # the storey that it leads up or down
    start: int  # the storey that it comes from; the same at the head end
    stone: bool  # else each pull drills its own holes in the framing
    cables: int
    holes: int  # through the floor, at the head end out of its wall; 0 in framing
    hole_mm: float
    through: int = 0  # cables that go through those
    ceiling_holes: int = 0  # on into the space above that storey, in stone
    ceiling_mm: float = 0.0
    over: int = 0  # cables that go through those
    chase_m: float = 0.0
    chase_mm: float = 0.0  # how wide: its cables side by side


class FramingLimits(Fact, frozen=True, kw_only=True):
    """How far wood framing is drilled without asking. Id FRAMING."""

    stud_rate: float  # of a stud's depth, in an outside or load-bearing wall
    plate_rate: float  # of a top plate's width there; a wider cut gets a strap
    strap_mm: float  # how wide that is
    apart_rate: float  # clear between holes side by side, times the wider one


class StoneHole(SiteFact, frozen=True, kw_only=True):
    """A hole in a house of stone that one room's cables go through, where no shared way has it. Id SCH-H1."""

    through: StonePassage
    place: str  # at which place of the room; "" where nobody knows
    cables: int
    holes: int  # side by side; through each inside wall
    hole_mm: float


class HeadEndOpening(Fact, frozen=True, kw_only=True):
    """The opening where all cables come out at the head end, and where their slack hangs. Id HE-IN."""

    cables: int
    opening_mm: float  # a round one that they fill to the standard's rate
    slack_m: float  # of each cable there
    slack_words: str  # where it hangs


class Separation(Fact, frozen=True, kw_only=True):
    """How far one regime keeps audio and data cable from mains cable. Id SEP-1."""

    regime: str
    power: str
    signal: str
    divider: str
    apart_mm: float
    advice: str
    reference: str

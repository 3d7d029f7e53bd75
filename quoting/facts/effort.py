"""Hours by phase and job as facts: made from the first lines, ruled in the second pass."""

from __future__ import annotations

from quoting.facts.fact import Fact
from quoting.job import WallState


class PhaseEffort(Fact, frozen=True, kw_only=True):
    """One phase's hours in one option, after the first pass of the rules. Id rough-in, trim-out ..."""

    phase: str
    wall_state: WallState
    hours: float  # expected; the model is normal, so this is P50 too
    on_site: bool
    crew: int
    productive_hours: float  # of one person in one full day
    half_days: int
    trips: int
    crew_days: float  # person-days
    travel_hours: float  # person-hours on the road
    remainder_hours: float  # person-hours of the half-days that nothing fills
    spread_hours: float = 0.0  # one standard deviation of the hours
    p80_hours: float = 0.0  # four jobs of five stay within
    before_hours: float = 0.0  # of the hours, those that came before anybody ordered: no day is planned for them
    beside_hours: float = 0.0  # of the hours, those of a second person who comes for them alone
    agreed_hours: float = 0.0  # of the hours, those of a later visit on a day to be agreed
    agreed_half_days: int = 0  # of the half-days, those of that visit
    before: str = ""  # the tasks that came before anybody ordered
    beside: str = ""  # the second person's tasks
    agreed: str = ""  # that visit's tasks


class JobEffort(Fact, frozen=True, kw_only=True):
    """The whole job's hours in one option, after the first pass of the rules. Id EFFORT."""

    wall_state: WallState
    hours: float  # expected: P50
    field_hours: float  # on site and in the shop, without design
    trips: int
    crew_days: float
    material_rows: int
    parts: int
    spread_hours: float = 0.0  # one standard deviation of the hours
    p80_hours: float = 0.0  # four jobs of five stay within; less than the phases' own together

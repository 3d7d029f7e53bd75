"""What every fact has, and what every fact in a room has."""

from __future__ import annotations

from msgspec import Struct

from quoting.job import Above, Access, Construction, Setting, WallState
from quoting.problems import Cell


class Fact(Struct, frozen=True, kw_only=True):
    """What every fact has. `id` is readable and at most 10 characters; `room` is a code, "" for the whole job."""

    id: str
    room: str = ""
    zone: int = 0
    basis: tuple[str, ...] = ()  # ids of the facts that this one rests on
    where: tuple[Cell, ...] = ()  # the intake cells that it rests on
    decided: tuple[str, ...] = ()  # standards rows that decided it: "slack SLK-030"


class SiteFact(Fact, frozen=True, kw_only=True):
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

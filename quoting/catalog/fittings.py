"""What is set into walls: boxes, rings, sleeves and conduits by their measures."""

from __future__ import annotations

from msgspec import Struct


class BoxSpec(Struct, frozen=True, kw_only=True):
    """parts/boxes.csv: rings and boxes in walls, back boxes behind loudspeakers. 0 where a measure does not apply."""

    part: str
    volume_cm3: float  # inside; 0: open at its back, to the hollow of the wall
    core_mm: float  # diameter of the hole that it is set into; 0: none, or a square one
    cores: int
    wide_mm: float  # outside; of an old-work ring the opening
    high_mm: float
    deep_mm: float


class TubeSpec(Struct, frozen=True, kw_only=True):
    """parts/tubes.csv: sleeves and conduits."""

    part: str
    inside_mm: float
    outside_mm: float

"""The level that loudspeakers make together over a listening plane: distance, direction, power, added up.

Direct sound alone. numpy is imported inside the functions: only a design that has levels pays for it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

from msgspec import Struct

from quoting.engineering.acoustics import QUIETEST_DB, directivity_exponent

NEAREST_M = 0.5  # nearer than this a loudspeaker is no point, and the level rises no more


class Emitter(Struct, frozen=True, kw_only=True):
    """One loudspeaker that plays: where it stands, where it points, what it makes of what power."""

    x_m: float
    y_m: float
    z_m: float
    aim: tuple[float, float, float]  # of length 1
    coverage_deg: float
    sensitivity_db: float
    power_w: float


class Plane(Struct, frozen=True, kw_only=True):
    """Where ears are: a grid at one height. Metres."""

    length_m: float
    width_m: float
    ear_m: float
    grid_m: float
    margin_m: float


class Levels(Struct, frozen=True, kw_only=True):
    """Over a listening plane. dB."""

    points: int
    average_db: float  # of energy
    worst_db: float
    best_db: float


def level_grid_db(emitters: Sequence[Emitter], points: Iterable[tuple[float, float, float]]) -> Any:
    """The level of all loudspeakers together at each point, as unlike signals. [dB SPL]

    10 log10 of the sum of 10^(L/10), L = S + 10 log10 P - 20 log10 d + directivity; a numpy array, one a point. At
    least one emitter with power above 0.
    """
    import numpy as np

    at = np.asarray(list(points), dtype=float).reshape(-1, 3)
    rows = np.array([(one.x_m, one.y_m, one.z_m, *one.aim, one.sensitivity_db + 10 * math.log10(one.power_w),
                      directivity_exponent(one.coverage_deg)) for one in emitters])
    away = at[:, None, :] - rows[None, :, :3]
    distance = np.sqrt((away ** 2).sum(axis=2))
    on_axis = (away * rows[None, :, 3:6]).sum(axis=2) / np.maximum(distance, 1e-9)
    # cos(angle / 2) squared is (1 + cos angle) / 2: acoustics.directivity_db, over arrays.
    squared = np.clip((1 + on_axis) / 2, 1e-12, 1)
    beside = np.maximum(10 * rows[None, :, 7] * np.log10(squared), QUIETEST_DB)
    level = rows[None, :, 6] - 20 * np.log10(np.maximum(distance, NEAREST_M)) + beside
    return 10 * np.log10((10 ** (level / 10)).sum(axis=1))


def plane_points(plane: Plane) -> list[tuple[float, float, float]]:
    """The grid's points: evenly between the margins, and in the middle of a side that is too short for two."""
    return [(x, y, plane.ear_m) for x in _along(plane.length_m, plane) for y in _along(plane.width_m, plane)]


def levels_over(emitters: Sequence[Emitter], plane: Plane) -> Levels:
    """Average, worst and best over the plane."""
    import numpy as np

    grid = level_grid_db(emitters, plane_points(plane))
    return Levels(points=int(grid.size), average_db=float(10 * np.log10(np.mean(10 ** (grid / 10)))),
                  worst_db=float(grid.min()), best_db=float(grid.max()))


def _along(extent: float, plane: Plane) -> list[float]:
    inner = extent - 2 * plane.margin_m
    if inner <= 0:
        return [extent / 2]
    steps = max(1, math.ceil(inner / plane.grid_m - 1e-9))
    return [plane.margin_m + inner * step / steps for step in range(steps + 1)]

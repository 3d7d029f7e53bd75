"""Sound levels: what a loudspeaker makes of a power at a distance, how levels add, what a cone of sound covers.

Direct sound in the open. In a furnished room the level falls by only 3 to 4 dB for each doubling of the distance,
so indoors these formulas are on the safe side.
"""

from __future__ import annotations

import math
from typing import Literal

Pattern = Literal["edge-to-edge", "minimum", "full"]
Grid = Literal["square", "hexagonal"]

# How far apart loudspeakers stand, in widths of the circle that each covers: circles that touch; no point outside a
# circle; each circle reaches its neighbour's axis. Reference: trade series on distributed systems, part 3.
_SPACING: dict[tuple[Grid, Pattern], float] = {
    ("square", "edge-to-edge"): 1.0, ("square", "minimum"): 1 / math.sqrt(2), ("square", "full"): 0.5,
    ("hexagonal", "edge-to-edge"): 1.0, ("hexagonal", "minimum"): math.sqrt(3) / 2, ("hexagonal", "full"): 0.5,
}
QUIETEST_DB = -30.0  # behind a loudspeaker: what a box and a room leave of it (common practice, no source)


def level_db(sensitivity_db: float, power_w: float, distance_m: float) -> float:
    """Level of one loudspeaker's direct sound. [dB SPL]

    S + 10 log10 P - 20 log10 d, sensitivity at 1 W and 1 m. Power and distance above 0, else ValueError; from about
    0.5 m on. Reference: public-address primer: 99 dB at 1 W and 1 m is 79 dB at 10 m.

    >>> level_db(99, 1, 10)
    79.0
    """
    if power_w <= 0 or distance_m <= 0:
        raise ValueError(f"power and distance are above 0, not {power_w} W and {distance_m} m")
    return sensitivity_db + 10 * math.log10(power_w) - 20 * math.log10(distance_m)


def power_w_for_level(
    target_db: float, peak_db: float, sensitivity_db: float, distance_m: float, speakers: int = 1
) -> float:
    """Power that each of so many loudspeakers needs for a level with room for peaks above it. [W]

    10 log10 P = target + peak - S + 20 log10 d - 10 log10 n: the levels of n loudspeakers add as unlike signals.
    Distance above 0 and at least one loudspeaker, else ValueError. Reference: the primer's formula turned round;
    90 dB with 32 W is 105 dB at 1 m.

    >>> round(power_w_for_level(105.05, 0, 90, 1))
    32
    """
    if distance_m <= 0 or speakers < 1:
        raise ValueError(f"distance is above 0 and speakers at least 1, not {distance_m} m and {speakers}")
    level_w_db = target_db + peak_db - sensitivity_db + 20 * math.log10(distance_m) - 10 * math.log10(speakers)
    return float(10 ** (level_w_db / 10))


def sum_levels_db(*levels_db: float) -> float:
    """Level of unlike signals together. [dB]

    10 log10 of the sum of 10^(L/10); at least one, else ValueError. Reference: 60 dB and 60 dB are 63 dB.

    >>> round(sum_levels_db(60, 60), 1)
    63.0
    """
    if not levels_db:
        raise ValueError("at least one level is needed to add levels")
    return 10 * math.log10(sum(10 ** (level / 10) for level in levels_db))


def coverage_diameter_m(ceiling_m: float, ear_m: float, angle_deg: float) -> float:
    """Width of the circle that a ceiling loudspeaker covers at the height of the ears. [m]

    2 (H - h) tan(C / 2), C the angle between its -6 dB edges, below 180; 0 where the ears are at the ceiling.
    Reference: audiovisual trade exam notes; 90 degrees, 2.8 m ceiling, 1.5 m ears is 2.6 m.

    >>> round(coverage_diameter_m(2.8, 1.5, 90), 3)
    2.6
    """
    return 2 * max(ceiling_m - ear_m, 0.0) * math.tan(math.radians(angle_deg) / 2)


def directivity_db(off_axis_deg: float, coverage_deg: float) -> float:
    """How much quieter a loudspeaker is beside its axis than on it, at one distance. [dB]

    A power of the cosine of half the angle, -6 dB at half the coverage angle and never below -30 dB; 360 degrees
    sounds alike all round. Angle 0 to 180, coverage above 0 to 360, else ValueError. Reference: the coverage angle's
    own definition, between the -6 dB edges; the shape between is a model.

    >>> round(directivity_db(45, 90), 6), directivity_db(120, 360)
    (-6.0, 0.0)
    """
    if not 0 <= off_axis_deg <= 180 or not 0 < coverage_deg <= 360:
        raise ValueError(f"no loudspeaker has {coverage_deg} degrees of coverage, or sound at {off_axis_deg}")
    exponent = directivity_exponent(coverage_deg)
    half_cosine = math.cos(math.radians(off_axis_deg) / 2)
    if not exponent or half_cosine >= 1:
        return 0.0
    return max(QUIETEST_DB, 20 * exponent * math.log10(half_cosine)) if half_cosine > 1e-9 else QUIETEST_DB


def directivity_exponent(coverage_deg: float) -> float:
    """The power of cos(angle / 2) that is -6 dB at half the coverage angle; 0 for all round. [number]

    Reference: the definition of coverage; cos(90 / 2) is 0.7071, so that 180 degrees takes 6 / 3.0103 of it.

    >>> round(directivity_exponent(180), 4) == round(6 / 3.0103, 4), directivity_exponent(360)
    (True, 0.0)
    """
    if coverage_deg >= 360:
        return 0.0
    return -6 / (20 * math.log10(math.cos(math.radians(coverage_deg) / 4)))


def pattern_spacing_m(coverage_diameter_m: float, pattern: Pattern, grid: Grid = "square") -> float:
    """How far apart ceiling loudspeakers stand in an overlap pattern. [m]

    Edge-to-edge S = D; minimum overlap S = D / sqrt 2 (square), D sqrt 3 / 2 (hexagonal); full overlap S = D / 2.
    Reference: trade series on distributed systems, part 3: edges touch; no point outside a circle; edge reaches the
    neighbour's axis.

    >>> [round(pattern_spacing_m(2.0, pattern), 3) for pattern in ("edge-to-edge", "minimum", "full")]
    [2.0, 1.414, 1.0]
    """
    return coverage_diameter_m * _SPACING[grid, pattern]


def pattern_count(length_m: float, width_m: float, spacing_m: float, grid: Grid = "square") -> int:
    """Loudspeakers of a pattern in a rectangular room. [number]

    Rows times columns, each rounded up; hexagonal rows stand closer by sqrt 3 / 2. Spacing above 0, else ValueError.
    Reference: the same series: a square grid's counts go as 1 : 2 : 4 in a large room.

    >>> [pattern_count(40, 40, pattern_spacing_m(2.0, pattern)) for pattern in ("edge-to-edge", "full")]
    [400, 1600]
    """
    if spacing_m <= 0:
        raise ValueError(f"a spacing is above 0 m, not {spacing_m}")
    between_rows = spacing_m * (math.sqrt(3) / 2 if grid == "hexagonal" else 1.0)
    longer, shorter = max(length_m, width_m), min(length_m, width_m)
    return max(1, math.ceil(longer / spacing_m - 1e-9)) * max(1, math.ceil(shorter / between_rows - 1e-9))


def exposure_minutes(level_dba: float) -> float:
    """How long a person may work in that level in a day. [min]

    480 / 2^((L - 85) / 3): 85 dBA for 8 h, half the time for each 3 dB. A workplace limit, not advice for music at
    home. Reference: NIOSH 98-126: 100 dBA for 15 minutes.

    >>> exposure_minutes(100)
    15.0
    """
    return float(480 / 2 ** ((level_dba - 85) / 3))

"""Sound levels: what a loudspeaker makes of a power at a distance, how levels add, what a cone of sound covers.

Direct sound in the open. In a furnished room the level falls by only 3 to 4 dB for each doubling of the distance,
so indoors these formulas are on the safe side.
"""

from __future__ import annotations

import math


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


def exposure_minutes(level_dba: float) -> float:
    """How long a person may work in that level in a day. [min]

    480 / 2^((L - 85) / 3): 85 dBA for 8 h, half the time for each 3 dB. A workplace limit, not advice for music at
    home. Reference: NIOSH 98-126: 100 dBA for 15 minutes.

    >>> exposure_minutes(100)
    15.0
    """
    return float(480 / 2 ** ((level_dba - 85) / 3))

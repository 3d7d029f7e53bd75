"""Copper conductors: gauge, area, resistance, and what a cable of some length does to a loudspeaker.

Plain floats, unit in every name. Resistances are for direct current, which is what loudspeaker cable is sized by:
inductance and skin effect change nothing that a listener notices below 20 kHz at the lengths of a house.
"""

from __future__ import annotations

import math
from typing import Literal

ConductorClass = Literal[1, 2, 5]

COPPER_M_PER_OHM_MM2 = 58.0  # 58 MS/m exactly at 20 C: IEC 60028, 100 % IACS
COPPER_PER_C = 0.00393  # change of resistance per degree C from 20 C: IEC 60028

# IEC 60228:2004, largest resistance at 20 C of plain copper: area_mm2 -> ohm_per_km.
_IEC_SOLID_STRANDED = {0.5: 36.0, 0.75: 24.5, 1.0: 18.1, 1.5: 12.1, 2.5: 7.41, 4.0: 4.61, 6.0: 3.08}  # tables 1, 2
_IEC_FLEXIBLE = {0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.30}  # table 3
IEC_SIZES_MM2 = frozenset(_IEC_FLEXIBLE)


def awg_diameter_mm(awg: float) -> float:
    """Diameter of a solid round wire of that gauge. [mm]

    0.127 x 92^((36 - n) / 39). Sizes 00, 000, 0000 are -1, -2, -3; valid from 0000 to 40. A stranded conductor of
    the gauge has the same area, not the same diameter. Reference: ASTM B258-18.

    >>> round(awg_diameter_mm(36), 3)
    0.127
    """
    return float(0.127 * 92 ** ((36 - awg) / 39))


def awg_area_mm2(awg: float) -> float:
    """Copper cross-section of that gauge, solid or stranded. [mm2]

    0.012668 x 92^((36 - n) / 19.5), from the diameter so that nothing is rounded on the way. Valid from 0000 (-3)
    to 40. Reference: ASTM B258-18; the value below is in every published wire table.

    >>> round(awg_area_mm2(16), 2)
    1.31
    """
    return math.pi / 4 * awg_diameter_mm(awg) ** 2


def area_to_awg(area_mm2: float) -> float:
    """The gauge that has that cross-section; broken for metric sizes. [AWG]

    The inverse of `awg_area_mm2`; area above 0, else ValueError. Reference: ASTM B258-18, wire tables.

    >>> round(area_to_awg(2.08))
    14
    """
    if area_mm2 <= 0:
        raise ValueError(f"a conductor's area is above 0 mm2, not {area_mm2}")
    diameter_mm = math.sqrt(4 * area_mm2 / math.pi)
    return 36 - 39 * math.log(diameter_mm / 0.127, 92)


def copper_temperature_factor(temperature_c: float) -> float:
    """Resistance of copper at a temperature, over its resistance at 20 C. [ratio]

    1 + 0.00393 x (t - 20); valid from about -40 to 100 C. Reference: IEC 60028. The value below: note to NEC
    chapter 9 table 8, "at 20 C expect about 82 % of the tabulated (75 C) value".

    >>> round(1 / copper_temperature_factor(75), 2)
    0.82
    """
    return 1 + COPPER_PER_C * (temperature_c - 20)


def copper_ohm_per_m(area_mm2: float, strand_length_rate: float = 1.0, temperature_c: float = 20) -> float:
    """Resistance of one copper conductor. [ohm/m]

    1 / (58 x area) x length of the strands over the cable's (1 for solid) x temperature factor. For uncoated copper
    of full conductivity; copper-clad aluminium has about half as much again. Reference: IEC 60028; wire tables give
    16 AWG as 4.016 ohm per 1000 ft.

    >>> round(copper_ohm_per_m(awg_area_mm2(16)) * 304.8, 2)
    4.02
    """
    if area_mm2 <= 0:
        raise ValueError(f"a conductor's area is above 0 mm2, not {area_mm2}")
    at_20_c = 1 / (COPPER_M_PER_OHM_MM2 * area_mm2)
    return at_20_c * strand_length_rate * copper_temperature_factor(temperature_c)


def iec_max_ohm_per_km(area_mm2: float, conductor_class: ConductorClass) -> float:
    """The largest resistance that a metric conductor of plain copper may have at 20 C. [ohm/km]

    Class 1 solid, 2 stranded, 5 flexible (loudspeaker cable). A maximum, not a nominal: 5 to 16 % over pure copper
    of that area. ValueError for an area that the table lacks. Reference: IEC 60228:2004 tables 1, 2 and 3.

    >>> iec_max_ohm_per_km(2.5, 5)
    7.98
    """
    table = _IEC_FLEXIBLE if conductor_class == 5 else _IEC_SOLID_STRANDED
    if area_mm2 not in table:
        raise ValueError(f"{area_mm2} mm2 is not a size of the table: {', '.join(f'{size:g}' for size in table)}")
    return table[area_mm2]


def loop_ohm(length_m: float, ohm_per_m: float) -> float:
    """Resistance of a cable there and back, two conductors in series. [ohm]

    Reference: 100 ft of 18 AWG (6.385 ohm per 1000 ft) is 1.277 ohm; net.audio, 24 March 1983.

    >>> round(loop_ohm(100 * 0.3048, 6.385 / 304.8), 3)
    1.277
    """
    return 2 * length_m * ohm_per_m


def longest_run_m(load_ohm: float, limit_rate: float, ohm_per_m: float) -> float:
    """The longest cable, one way, whose loop stays within a share of the load. [m]

    limit x load / (2 x ohm_per_m). Reference: the 5 % rule of the published loudspeaker wire table (8 ohm, 16 AWG:
    48 ft; that table is rounded by hand, up to 6 % either way).

    >>> round(longest_run_m(8, 0.05, 4.016 / 304.8) / 0.3048)
    50
    """
    return limit_rate * load_ohm / (2 * ohm_per_m)


def level_change_db(cable_ohm: float, load_ohm: float) -> float:
    """Level at the loudspeaker against no cable at all; zero or negative. [dB]

    20 log10 of load / (load + loop), for a resistive load. Twice as many dB as `delivered_power_change_db`: some
    calculators print the one, some the other. Reference: system damping factor 25 with an amplifier of 400 goes
    with about 0.3 dB at 8 ohm (length chart for public address).

    >>> round(level_change_db(0.32 - 0.02, 8), 1)
    -0.3
    """
    return 20 * math.log10(load_ohm / (load_ohm + cable_ohm))


def delivered_power_change_db(cable_ohm: float, load_ohm: float) -> float:
    """Of the power that leaves the amplifier, the part that reaches the loudspeaker; zero or negative. [dB]

    10 log10 of load / (load + loop), for a resistive load. Half of `level_change_db`. Reference: loudspeaker cable
    calculators of this family give 0.212 dB where the loop is 5 % of the load.

    >>> round(delivered_power_change_db(0.4, 8), 3)
    -0.212
    """
    return 10 * math.log10(load_ohm / (load_ohm + cable_ohm))


def power_lost_rate(cable_ohm: float, load_ohm: float) -> float:
    """Share of the amplifier's power that warms the cable. [ratio]

    loop / (load + loop), for a resistive load. Reference: 1.277 / 9.277 = 14 %; net.audio, 24 March 1983.

    >>> round(power_lost_rate(1.277, 8), 2)
    0.14
    """
    return cable_ohm / (load_ohm + cable_ohm)


def damping_factor(load_ohm: float, cable_ohm: float, output_ohm: float) -> float:
    """Load over everything that stands in series with it. [ratio]

    load / (output + loop). Reference: 8 ohm, amplifier 0.01 ohm, cable 0.19 ohm gives 40 (forum worked example).

    >>> round(damping_factor(8, 0.19, 0.01), 6)
    40.0
    """
    return load_ohm / (output_ohm + cable_ohm)

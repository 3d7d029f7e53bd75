"""Racks, mains and heat: how high a rack is, what a circuit carries, how much warmth must leave the closet."""

from __future__ import annotations

RACK_UNIT_MM = 44.45  # 1.75 in exactly: EIA-310-E, IEC 60297-3-100
_BTU_PER_H_PER_W = 3600 / 1055.056  # joules in an hour of one watt, over joules in a BTU: 3.412142
_BTU_PER_H_PER_CFM_F = 1.08  # heat that a cubic foot of room air a minute carries away for each degree F (from memory)


def btu_per_hour(heat_w: float) -> float:
    """Heat in the unit that air conditioning is sold in. [BTU/h]

    3.412142 x W. Reference: 3.517 kW is 12 000 BTU/h, one ton of cooling.

    >>> round(btu_per_hour(3517), -1)
    12000.0
    """
    return heat_w * _BTU_PER_H_PER_W


def eighth_power_w(rated_w: float) -> float:
    """Output of an amplifier that plays music as loud as it can without clipping. [W]

    One eighth of the power that it can give without clipping, pink noise: normal operation in the safety tests.
    Reference: IEC 60065 4.2, decision 23/36 (1999): 9 dB below full power.

    >>> eighth_power_w(100)
    12.5
    """
    return rated_w / 8


def amplifier_heat_w(mains_w: float, output_w: float) -> float:
    """What of an amplifier's mains power stays in the rack. [W]

    Mains input less what leaves for the loudspeakers, never below 0; not the rated watts. Reference: amplifier heat
    guides (heat = input - output); no published numbers, the example is the subtraction itself.

    >>> amplifier_heat_w(200, 75)
    125
    """
    return max(mains_w - output_w, 0)


def amplifier_mains_w(idle_w: float, stated_w: float, output_w: float, stated_output_w: float) -> float:
    """What an amplifier takes from the mains while it gives so much to the loudspeakers. [W]

    On the straight line through the two points of its data sheet: idle, and `stated_w` at `stated_output_w`. A part of
    its channels takes less, loads of 4 ohm take more. Where no output is stated, `stated_w`. Valid from idle to twice
    the stated output. Reference: common practice, no source; the example is the data sheet's own second point.

    >>> amplifier_mains_w(18, 140, 52.5, 52.5)
    140.0
    """
    if stated_output_w <= 0:
        return stated_w
    return idle_w + (stated_w - idle_w) * output_w / stated_output_w


def circuit_continuous_w(volts: float, amps: float, load_rate: float = 0.8) -> float:
    """What a circuit may carry for three hours or more. [W]

    80 % of volts x amps. Reference: NFPA 70 (NEC) 210.20(A), article 100: 20 A at 120 V carries 1920 W.

    >>> circuit_continuous_w(120, 20)
    1920.0
    """
    return volts * amps * load_rate


def rack_height_mm(units_u: float) -> float:
    """Height of so many rack units. [mm]

    44.45 x U. Reference: EIA-310-E, IEC 60297-3-100: 2 U is 88.90 mm.

    >>> rack_height_mm(2)
    88.9
    """
    return units_u * RACK_UNIT_MM


def fan_cfm(heat_w: float, rise_f: float) -> float:
    """Air that carries the heat away if it may warm by so many degrees F. [cubic feet a minute]

    3.16 x W / rise, for air at sea level; rise above 0, else ValueError. Reference: common practice, no source:
    500 W at a rise of 15 F needs 105 cubic feet a minute.

    >>> round(fan_cfm(500, 15))
    105
    """
    if rise_f <= 0:
        raise ValueError(f"air that carries heat away warms by more than 0 F, not {rise_f}")
    return btu_per_hour(heat_w) / (_BTU_PER_H_PER_CFM_F * rise_f)

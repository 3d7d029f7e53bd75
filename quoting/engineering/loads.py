"""Loads: what an amplifier channel or a constant-voltage line sees when loudspeakers are wired together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def parallel_ohm(*loads_ohm: float) -> float:
    """Loads wired side by side. [ohm]

    1 / (1/a + 1/b + ...); every load above 0 and at least one, else ValueError. Ohm's law. Reference: two 8 ohm
    loudspeakers in parallel load a channel with 4 ohm (from memory: in every installer's guide).

    >>> parallel_ohm(8, 8)
    4.0
    """
    if not loads_ohm or min(loads_ohm) <= 0:
        raise ValueError(f"loads in parallel are one or more above 0 ohm, not {loads_ohm}")
    return 1 / sum(1 / load_ohm for load_ohm in loads_ohm)


def wired_load_ohm(speaker_ohm: float, pairs: int) -> float:
    """What one channel of a stereo zone sees of so many equal pairs, left with left and right with right. [ohm]

    speaker / pairs; at least one pair, else ValueError. Reference: three pairs of 8 ohm make 2.67 ohm (from memory).

    >>> round(wired_load_ohm(8, 3), 2)
    2.67
    """
    if pairs < 1:
        raise ValueError(f"a zone that plays has at least 1 pair, not {pairs}")
    return speaker_ohm / pairs


def bridged_channel_ohm(load_ohm: float) -> float:
    """What each of two bridged channels sees of a load across both. [ohm]

    Half: the two channels pull in opposite directions on the one load. Reference: an amplifier bridged into 8 ohm
    works as at 4 ohm a channel (from memory: in every amplifier's manual).

    >>> bridged_channel_ohm(8)
    4.0
    """
    return load_ohm / 2


def tap_ohm(line_v: float, tap_w: float) -> float:
    """Impedance of one transformer tap, or of a whole line of taps, on a constant-voltage line. [ohm]

    V^2 / W; tap above 0, else ValueError. Reference: EIA 70.7 V practice, 5000 / W: a 10 W tap is 500 ohm.

    >>> round(tap_ohm(70.7, 10))
    500
    """
    if tap_w <= 0:
        raise ValueError(f"a tap takes more than 0 W, not {tap_w}")
    return line_v**2 / tap_w


def tap_at_other_voltage_w(tap_w: float, rated_v: float, line_v: float) -> float:
    """What a tap draws on a line of another voltage than it is marked for. [W]

    tap x (line / rated)^2. Reference: a 70 V tap on a 25 V line gives an eighth (a maker's design page).

    >>> round(tap_at_other_voltage_w(10, 70.7, 25), 2)
    1.25
    """
    return tap_w * (line_v / rated_v) ** 2


def tap_total_w(taps: Iterable[tuple[float, int]]) -> float:
    """All the taps of one line together, as (watts, how many). [W]

    Reference: sum of tap x quantity, the load that a line's amplifier is chosen by (70.7 V line calculator page,
    whose load of 26 W is reproduced here from 4 taps of 5 W and 6 of 1 W).

    >>> tap_total_w([(5, 4), (1, 6)])
    26
    """
    return sum(tap_w * count for tap_w, count in taps)


def amplifier_share(total_w: float, amplifier_w: float) -> float:
    """How much of an amplifier a constant-voltage line uses; keep to 0.8. [ratio]

    Reference: 26 W on a 30 W amplifier is 86.7 %, over the 80 % rule (70.7 V line calculator page).

    >>> round(amplifier_share(26, 30), 3)
    0.867
    """
    return total_w / amplifier_w


def voltage_share_rate(loops_ohm: Sequence[float], loads_ohm: Sequence[float]) -> float:
    """Share of the line's voltage that reaches the last load of a chain, each load behind one more cable. [ratio]

    A ladder worked from its far end: loads in parallel, cables in series. One cable loop for each load, in order from
    the amplifier; as many of one as of the other and at least one, else ValueError. A load may be infinite (a place
    that takes nothing). Reference: a 100 V line of 300 m for 100 W at 0.945 mm2 loses a tenth of its voltage (a worked
    example of line sizing).

    >>> round(voltage_share_rate([2 * 300 / 58 / 0.945], [100.0]), 1)
    0.9
    """
    if not loads_ohm or len(loops_ohm) != len(loads_ohm):
        raise ValueError(f"a line has a cable for each load, not {len(loops_ohm)} for {len(loads_ohm)}")
    siemens, share = 0.0, 1.0  # of everything beyond
    for cable_ohm, load_ohm in zip(reversed(loops_ohm), reversed(loads_ohm), strict=True):
        siemens += 1 / load_ohm
        share /= 1 + cable_ohm * siemens
        siemens /= 1 + cable_ohm * siemens
    return share


def line_area_mm2(line_v: float, length_m: float, total_w: float, loss_rate: float) -> float:
    """Conductor that a line with all its load at the far end needs for a share of voltage lost. [mm2]

    0.035 x (100 - n) x length x watts / (n x V^2), n in percent: copper at 1/57 ohm mm2/m. Loss above 0 and below 1,
    else ValueError. Reference: 100 V, 300 m, 100 W, 10 % ("1 dB"; really 0.915 dB) is 0.945 mm2 (a worked example).

    >>> round(line_area_mm2(100, 300, 100, 0.10), 3)
    0.945
    """
    if not 0 < loss_rate < 1:
        raise ValueError(f"a loss lies between 0 and 1, not {loss_rate}")
    percent = 100 * loss_rate
    return 0.035 * (100 - percent) * length_m * total_w / (percent * line_v**2)


def smallest_tap_w(taps_w: Iterable[float], asked_w: float) -> float:
    """The smallest tap that gives the power asked; the largest where none does. [W]

    At least one tap, else ValueError. Reference: trade practice, taps are set to the power that the place asks (common
    practice, no source): 3 W asked of taps 1, 2.5, 5, 10 is the 5 W tap.

    >>> smallest_tap_w([10, 1, 2.5, 5], 3)
    5
    """
    taps = sorted(taps_w)
    if not taps:
        raise ValueError("a transformer has at least one tap")
    return next((tap_w for tap_w in taps if tap_w >= asked_w - 1e-9), taps[-1])

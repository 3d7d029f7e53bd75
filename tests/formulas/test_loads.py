"""Parallel loads and constant-voltage lines against published worked examples."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.engineering.loads import (
    amplifier_share,
    bridged_channel_ohm,
    line_area_mm2,
    parallel_ohm,
    smallest_tap_w,
    tap_at_other_voltage_w,
    tap_ohm,
    tap_total_w,
    voltage_share_rate,
    wired_load_ohm,
)


# Ohm's law; the installer's table of equal loads in parallel (from memory): 8 and 8 is 4, three 8s 2.67, four 8s 2,
# 4 and 4 is 2, 8 and 4 is 2.67, 6 and 6 is 3.
@pytest.mark.parametrize(("loads_ohm", "together_ohm"), [
    ((8,), 8), ((8, 8), 4), ((8, 8, 8), 2.67), ((8, 8, 8, 8), 2), ((4, 4), 2), ((8, 4), 2.67), ((6, 6), 3),
])
def test_loads_in_parallel_are_the_installers_table(loads_ohm: tuple[float, ...], together_ohm: float) -> None:
    assert parallel_ohm(*loads_ohm) == pytest.approx(together_ohm, abs=0.005)


@pytest.mark.parametrize("pairs", [1, 2, 3, 4])
def test_equal_pairs_load_a_channel_as_loads_in_parallel_do(pairs: int) -> None:
    assert wired_load_ohm(8, pairs) == pytest.approx(parallel_ohm(*[8.0] * pairs))


def test_a_second_pair_halves_the_load() -> None:
    assert wired_load_ohm(8, 2) == 4  # Ohm's law


def test_another_load_never_raises_what_the_channel_sees() -> None:
    assert parallel_ohm(8, 1000) < 8


def test_bridging_makes_each_channel_see_half() -> None:
    assert bridged_channel_ohm(8) == 4  # from memory: in every amplifier's manual


def test_a_load_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="above 0 ohm"):
        parallel_ohm(8, 0)


def test_no_load_at_all_is_refused() -> None:
    with pytest.raises(ValueError, match="one or more"):
        parallel_ohm()


def test_a_zone_without_a_pair_is_refused() -> None:
    with pytest.raises(ValueError, match="at least 1 pair, not 0"):
        wired_load_ohm(8, 0)


# cmuse.org/70v-speaker-calculator, its exact table (70.7 V), four figures at most.
@pytest.mark.outside(3)
@pytest.mark.parametrize(("tap_w", "ohm"), [(0.5, 9998), (1, 4998), (2, 2499), (5, 1000), (10, 500), (15, 333)])
def test_a_tap_has_the_impedance_of_the_line_table(tap_w: float, ohm: float) -> None:
    assert tap_ohm(70.7, tap_w) == pytest.approx(ohm, abs=1.5)


# EIA practice writes 5000 / W (qsl.net/wa7zcz/area2/page11.html): within a thousandth of the exact figure.
@pytest.mark.outside(3)
@pytest.mark.parametrize(("tap_w", "ohm"), [(1, 5000), (2, 2500), (5, 1000), (10, 500)])
def test_a_tap_is_five_thousand_over_its_watts(tap_w: float, ohm: float) -> None:
    assert tap_ohm(70.7, tap_w) == pytest.approx(ohm, rel=0.001)


# Worked examples (scribd.com/document/508578307): 100 W is 100 ohm on a 100 V line, 50 ohm on a 70.7 V line.
@pytest.mark.outside(3)
@pytest.mark.parametrize(("line_v", "ohm"), [(100, 100), (70.7, 50)])
def test_a_hundred_watts_load_a_line_as_in_the_worked_example(line_v: float, ohm: float) -> None:
    assert tap_ohm(line_v, 100) == pytest.approx(ohm, rel=0.001)


def test_a_tap_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="more than 0 W"):
        tap_ohm(70.7, 0)


# Published ratio for a 70 V tap on a 25 V line: one eighth.
@pytest.mark.outside(3)
def test_a_70_volt_tap_on_a_25_volt_line_gives_an_eighth() -> None:
    assert tap_at_other_voltage_w(8, 70.7, 25) == pytest.approx(1, abs=0.01)


# redzilla.aiscnet.com/en/linea-70v: 26 W needs 32.5 W at 80 %; on 30 W it is 86.7 %, "tight".
@pytest.mark.outside(3)
def test_a_line_of_26_watts_fills_32_5_watts_to_the_80_percent_rule() -> None:
    assert amplifier_share(26, 32.5) == pytest.approx(0.8)


# Source: as of the test before.
@pytest.mark.outside(3)
def test_a_line_of_26_watts_is_tight_on_30_watts() -> None:
    assert amplifier_share(26, 30) == pytest.approx(0.867, abs=0.0005)


def test_taps_add_by_their_number() -> None:
    assert tap_total_w([(5, 4), (1, 6)]) == 26  # 20 + 6


def test_a_line_without_taps_takes_nothing() -> None:
    assert tap_total_w([]) == 0


# --- what a line's conductors lose ------------------------------------------------------------------------------------

# A worked example of line sizing (scribd.com/document/508578307): 100 V, 300 m, 100 W, 10 % asks 0.945 mm2.
@pytest.mark.outside(3)
def test_the_worked_line_asks_the_printed_conductor() -> None:
    assert line_area_mm2(100, 300, 100, 0.10) == pytest.approx(0.945, abs=0.0005)


# The same example from the other side: that conductor really loses a tenth of the voltage, which it calls "1 dB" and
# which is 0.915 dB and 19 % of the power. Its copper is 1/57, ours 1/58 ohm mm2/m, hence 2 %.
@pytest.mark.outside(3)
@pytest.mark.parametrize(("quantity", "value"), [("voltage", 0.10), ("level_db", 0.915), ("power", 0.19)])
def test_a_tenth_of_the_voltage_is_0_915_db_and_19_percent_of_the_power(quantity: str, value: float) -> None:
    share = voltage_share_rate([2 * 300 / 58 / 0.945], [tap_ohm(100, 100)])
    lost = {"voltage": 1 - share, "level_db": -20 * math.log10(share), "power": 1 - share**2}

    assert lost[quantity] == pytest.approx(value, rel=0.02)


# "5 % power loss is about 0.45 dB" of one calculator page is 5 % of voltage; 5 % of power is 0.223 dB.
@pytest.mark.outside(3)
@pytest.mark.parametrize(("share", "loss_db"), [(0.95, 0.45), (math.sqrt(0.95), 0.223)])
def test_five_percent_of_voltage_and_of_power_are_told_apart(share: float, loss_db: float) -> None:
    assert -20 * math.log10(share) == pytest.approx(loss_db, abs=0.005)


# Trade practice (5,000 / P, 16 AWG): a 100 W line of 70.7 V is 50 ohm and stays within 5 % of loop to about 300 ft.
@pytest.mark.outside(3)
def test_a_hundred_watt_line_reaches_three_hundred_feet_on_16_awg() -> None:
    loop_ohm = 2 * 300 * 4.016 / 1000

    assert loop_ohm / tap_ohm(70.7, 100) == pytest.approx(0.05, abs=0.003)


# The 80 % rule and "load plus 20 %" are not the same (26 W: 32.5 W against 31.2 W); the stricter one holds here.
@pytest.mark.outside(3)
def test_eighty_percent_of_the_amplifier_is_stricter_than_load_plus_20_percent() -> None:
    assert amplifier_share(26, 31.2) > 0.8


def test_a_chain_of_one_is_a_plain_divider() -> None:
    assert voltage_share_rate([2.0], [8.0]) == pytest.approx(0.8)  # 8 / (8 + 2)


def test_a_chain_is_worked_from_its_far_end() -> None:
    # 1 ohm, then 2 ohm to ground; 1 ohm, then 1 ohm to ground. Beyond: 1 + 1 = 2; 2 || 2 = 1; 1/(1+1) = 1/2; then 1/2
    assert voltage_share_rate([1.0, 1.0], [2.0, 1.0]) == pytest.approx(0.25)


def test_a_place_that_takes_nothing_loses_nothing() -> None:
    assert voltage_share_rate([5.0, 5.0], [math.inf, math.inf]) == 1


def test_a_line_without_a_load_is_refused() -> None:
    with pytest.raises(ValueError, match="a cable for each load"):
        voltage_share_rate([1.0], [])


@pytest.mark.parametrize("loss_rate", [0, 1])
def test_a_loss_of_nothing_or_all_sizes_no_line(loss_rate: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        line_area_mm2(100, 300, 100, loss_rate)


@given(st.lists(st.tuples(st.floats(0.01, 5), st.floats(50, 5000)), min_size=1, max_size=8), st.floats(0.01, 5))
def test_a_longer_line_never_loses_less(chain: list[tuple[float, float]], more_ohm: float) -> None:
    loops, loads = [loop for loop, _ in chain], [load for _, load in chain]

    assert voltage_share_rate([loops[0] + more_ohm, *loops[1:]], loads) <= voltage_share_rate(loops, loads) + 1e-12


@given(st.lists(st.floats(0.5, 60), min_size=1, max_size=6), st.floats(0.1, 80))
def test_a_tap_gives_what_is_asked_where_one_does(taps_w: list[float], asked_w: float) -> None:
    tap_w = smallest_tap_w(taps_w, asked_w)

    assert tap_w in taps_w
    assert tap_w >= asked_w - 1e-9 or tap_w == max(taps_w)


def test_a_transformer_without_taps_is_refused() -> None:
    with pytest.raises(ValueError, match="at least one tap"):
        smallest_tap_w([], 3)

"""Parallel loads and constant-voltage lines against published worked examples."""

from __future__ import annotations

import pytest

from quoting.engineering.loads import (
    amplifier_share,
    bridged_channel_ohm,
    parallel_ohm,
    tap_at_other_voltage_w,
    tap_ohm,
    tap_total_w,
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
@pytest.mark.parametrize(("tap_w", "ohm"), [(0.5, 9998), (1, 4998), (2, 2499), (5, 1000), (10, 500), (15, 333)])
def test_a_tap_has_the_impedance_of_the_line_table(tap_w: float, ohm: float) -> None:
    assert tap_ohm(70.7, tap_w) == pytest.approx(ohm, abs=1.5)


# EIA practice writes 5000 / W (qsl.net/wa7zcz/area2/page11.html): within a thousandth of the exact figure.
@pytest.mark.parametrize(("tap_w", "ohm"), [(1, 5000), (2, 2500), (5, 1000), (10, 500)])
def test_a_tap_is_five_thousand_over_its_watts(tap_w: float, ohm: float) -> None:
    assert tap_ohm(70.7, tap_w) == pytest.approx(ohm, rel=0.001)


# Worked examples (scribd.com/document/508578307): 100 W is 100 ohm on a 100 V line, 50 ohm on a 70.7 V line.
@pytest.mark.parametrize(("line_v", "ohm"), [(100, 100), (70.7, 50)])
def test_a_hundred_watts_load_a_line_as_in_the_worked_example(line_v: float, ohm: float) -> None:
    assert tap_ohm(line_v, 100) == pytest.approx(ohm, rel=0.001)


def test_a_tap_of_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="more than 0 W"):
        tap_ohm(70.7, 0)


# Published ratio for a 70 V tap on a 25 V line: one eighth.
def test_a_70_volt_tap_on_a_25_volt_line_gives_an_eighth() -> None:
    assert tap_at_other_voltage_w(8, 70.7, 25) == pytest.approx(1, abs=0.01)


# redzilla.aiscnet.com/en/linea-70v: 26 W needs 32.5 W at 80 %; on 30 W it is 86.7 %, "tight".
def test_a_line_of_26_watts_fills_32_5_watts_to_the_80_percent_rule() -> None:
    assert amplifier_share(26, 32.5) == pytest.approx(0.8)


def test_a_line_of_26_watts_is_tight_on_30_watts() -> None:
    assert amplifier_share(26, 30) == pytest.approx(0.867, abs=0.0005)


def test_taps_add_by_their_number() -> None:
    assert tap_total_w([(5, 4), (1, 6)]) == 26  # 20 + 6


def test_a_line_without_taps_takes_nothing() -> None:
    assert tap_total_w([]) == 0

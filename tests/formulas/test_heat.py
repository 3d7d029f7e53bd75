"""Racks, circuits and heat against published figures."""

from __future__ import annotations

import math

import pytest

from quoting.engineering.heat import (
    RACK_UNIT_MM,
    amplifier_heat_w,
    amplifier_mains_w,
    btu_per_hour,
    circuit_continuous_w,
    eighth_power_w,
    fan_cfm,
    rack_height_mm,
)


# ownersrepny.com and others: 1 W is 3.412 BTU/h; facilitiesnet.com: a ton of 12 000 BTU/h is 3.517 kW; 500 W is
# 1706.1 (one page prints 1709.6 from a wrong factor).
@pytest.mark.outside(6)
@pytest.mark.parametrize(("heat_w", "btu_h", "within"), [(1, 3.412, 0.0005), (3517, 12000, 1), (500, 1706.1, 0.05)])
def test_watts_are_the_published_btu_an_hour(heat_w: float, btu_h: float, within: float) -> None:
    assert btu_per_hour(heat_w) == pytest.approx(btu_h, abs=within)


# IEC 60065 4.2, decision 23/36 (1999): one eighth of the power without clipping; 9 dB below full power.
@pytest.mark.outside(6)
def test_music_at_an_eighth_is_nine_db_below_full_power() -> None:
    assert 10 * math.log10(eighth_power_w(100) / 100) == pytest.approx(-9.03, abs=0.005)


# fuzion.co.uk/support/tech001.html: heat is what comes from the mains less what goes to the loudspeakers.
def test_an_amplifier_heats_with_what_does_not_leave_for_the_loudspeakers() -> None:
    assert amplifier_heat_w(250, 75) == 175


def test_an_amplifier_never_cools_the_rack() -> None:
    assert amplifier_heat_w(10, 20) == 0


# NFPA 70 (NEC) 210.20(A), article 100: 80 % of the circuit for three hours or more.
@pytest.mark.outside(6)
@pytest.mark.parametrize(("volts", "amps", "watts"), [(120, 15, 1440), (120, 20, 1920), (240, 20, 3840)])
def test_a_circuit_carries_80_percent_for_long(volts: float, amps: float, watts: float) -> None:
    assert circuit_continuous_w(volts, amps) == pytest.approx(watts)


# NEC 210.23: one thing on a cord and plug takes no more than 80 % either, 12 A of 15 A, 16 A of 20 A.
@pytest.mark.outside(6)
@pytest.mark.parametrize(("amps", "plugged_a"), [(15, 12), (20, 16)])
def test_one_plug_takes_no_more_than_80_percent_of_a_circuit(amps: float, plugged_a: float) -> None:
    assert circuit_continuous_w(120, amps) / 120 == pytest.approx(plugged_a)


# interfacebus.com rack page: 1 U is 44.45 mm, 2 U 88.90 mm; EIA-310 hole pattern 15.875 + 15.875 + 12.7 mm to a unit.
@pytest.mark.outside(6)
@pytest.mark.parametrize(("units_u", "height_mm"), [(1, 44.45), (2, 88.90), (1, 15.875 + 15.875 + 12.7)])
def test_rack_units_are_as_high_as_the_standard_says(units_u: float, height_mm: float) -> None:
    assert rack_height_mm(units_u) == pytest.approx(height_mm)


# Source: as of the test before.
@pytest.mark.outside(6)
def test_a_rack_unit_is_an_inch_and_three_quarters() -> None:
    assert pytest.approx(1.75 * 25.4) == RACK_UNIT_MM


def test_an_amplifier_takes_from_the_mains_what_its_data_sheet_says_at_both_ends() -> None:
    # no source: the two points of the line are the data sheet's own
    assert [amplifier_mains_w(18, 140, out_w, 52.5) for out_w in (0, 52.5)] == [18, 140]


def test_an_amplifier_whose_data_sheet_states_no_output_takes_what_it_states() -> None:
    assert amplifier_mains_w(18, 140, 30, 0) == 140


# Common practice, no source: 3.16 x W / rise in F; 500 W at 15 F is 105 cubic feet a minute.
def test_five_hundred_watts_at_fifteen_degrees_need_105_cubic_feet_a_minute() -> None:
    assert fan_cfm(500, 15) == pytest.approx(105, abs=0.5)


def test_air_that_may_not_warm_is_refused() -> None:
    with pytest.raises(ValueError, match="more than 0 F"):
        fan_cfm(500, 0)

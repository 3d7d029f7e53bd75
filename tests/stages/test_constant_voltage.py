"""Constant-voltage zones: taps, one line a zone, the amplifier's share, the loss; each check with what provokes it."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.engineering.design import design_system
from quoting.facts import (
    AmplifierFact,
    AmplifierOutput,
    CableEnd,
    CableRun,
    Design,
    KeypadFact,
    Speaker,
    VoltageLine,
    ZoneFact,
    of,
)
from quoting.job import Job
from quoting.lines import Line
from quoting.rules.apply import apply_rules
from quoting.rules.book import RuleBook
from tests.builders import cell, make_room
from tests.demo_jobs import FT, house, make_zone


def garden(**changes: Any) -> Any:
    """A patio with three pairs of loudspeakers."""
    values: dict[str, Any] = {
        "name": "Patio", "kind": "patio", "zone": 1, "pairs": 3, "setting": "outdoor", "mount": "surface",
        "control": "phone", "listening": "background",
        "cells": {"": cell("Rooms", "A2"), "listening": cell("Rooms", "G2"), "control": cell("Rooms", "K2")}}
    return make_room("PAT", **{**values, **changes})


def on_line(*rooms: Any, line: str = "70.7 V", **changes: Any) -> Job:
    job = house(*rooms, head_end_shape="controller and amplifiers", **changes)
    zones = tuple(make_zone(zone.number, line=line if zone.number == 1 else "low impedance") for zone in job.zones)
    return replace(job, zones=zones)


def designed(job: Job, catalog: Catalog) -> Design:
    design, problems = design_system(job, catalog)
    assert design is not None, "\n".join(str(problem) for problem in problems)
    return design


def option(design: Design, name: str = "best") -> Any:
    return next(one.facts for one in design.options if one.name == name)


def line_of(job: Job, catalog: Catalog, name: str = "best") -> VoltageLine:
    return of(option(designed(job, catalog), name), VoltageLine)[0]


def codes(job: Job, catalog: Catalog) -> set[tuple[str, str, str]]:
    return {(problem.severity, problem.code, problem.where.ref) for problem in design_system(job, catalog)[1]}


def with_speaker(catalog: Catalog, **changes: Any) -> Catalog:
    """The catalogue with the line speakers changed."""
    changed = {part: replace(spec, **changes) for part, spec in catalog.speakers.items() if spec.taps_w}
    return replace(catalog, speakers={**catalog.speakers, **changed})


def with_amplifiers(catalog: Catalog, **changes: Any) -> Catalog:
    """The catalogue with the line amplifiers changed."""
    changed = {part: replace(spec, **changes) for part, spec in catalog.amplifiers.items() if spec.lines}
    return replace(catalog, amplifiers={**catalog.amplifiers, **changed})


# ---------------------------------------------------------------- speakers and taps

def test_a_room_of_a_line_takes_transformer_speakers(demo: Catalog) -> None:
    speakers = of(option(designed(on_line(garden()), demo)), Speaker)
    assert {(one.role, one.part, one.line_v) for one in speakers} == {("line outdoor speaker", "LO65-30", 70.7)}


def test_an_indoor_room_of_a_line_takes_ceiling_speakers_with_taps(demo: Catalog) -> None:
    speakers = of(option(designed(on_line(make_room(control="phone")), demo)), Speaker)
    assert {one.role for one in speakers} == {"line ceiling speaker"}


def test_a_tap_is_the_smallest_that_gives_the_power_asked(demo: Catalog) -> None:
    for listening in ("background", "foreground"):
        speakers = of(option(designed(on_line(garden(listening=listening)), demo)), Speaker)
        taps = [2.5, 5, 10, 20, 40]  # LO65: parts/speakers.csv
        asked_w = speakers[0].asked_w * 10 ** (3 / 10)  # option best keeps 3 dB in hand: options.csv
        fitting = [tap for tap in taps if tap >= asked_w]
        assert {one.tap_w for one in speakers} == {fitting[0]}


def test_low_impedance_speakers_have_no_tap(demo: Catalog) -> None:
    assert {one.tap_w for one in of(option(designed(on_line(garden(zone=2), make_room()), demo)), Speaker)
            if one.zone == 2} == {0}


def test_a_tap_that_is_too_small_warns_where_the_level_was_typed(demo: Catalog) -> None:
    found = codes(on_line(garden(listening="foreground", pairs=1)), with_speaker(demo, taps_w="0.5; 1"))
    assert ("warning", "tap-below-asked", "G2") in found


def test_a_speaker_without_a_tap_for_the_voltage_stops_at_the_zone(demo: Catalog) -> None:
    found = codes(on_line(garden(), line="100 V"), with_speaker(demo, line_volts="70.7"))
    assert ("stop", "no-tap-for-line", "A2") in found


def test_owned_speakers_stop_on_a_line(demo: Catalog) -> None:
    assert ("stop", "no-tap-for-line", "A2") in codes(on_line(garden(reuse_speakers=True)), demo)


def test_a_knob_on_a_line_gives_way_to_a_keypad_and_says_so(demo: Catalog) -> None:
    job = on_line(garden(control="knob"))
    assert ("warning", "knob-on-a-line", "K2") in codes(job, demo)
    assert {one.control for one in of(option(designed(job, demo)), KeypadFact)} == {"keypad"}


# ---------------------------------------------------------------- the line

def test_one_two_conductor_cable_loops_from_speaker_to_speaker(demo: Catalog) -> None:
    runs = [run for run in of(designed(on_line(garden()), demo).shared, CableRun) if run.purpose == "line"]
    assert [(run.start, run.end) for run in runs] == [
        ("HE", "PAT-S1"), *((f"PAT-S{n}", f"PAT-S{n + 1}") for n in range(1, 6))]
    assert {(run.conductors, run.circuits) for run in runs} == {(2, 1)}


def test_a_line_goes_on_from_the_nearer_room_to_the_next(demo: Catalog) -> None:
    far = garden(measured_m=40.0)
    near = make_room("DEN", name="Den", zone=1, pairs=1, control="phone", measured_m=10.0)
    runs = [run for run in of(designed(on_line(far, near), demo).shared, CableRun) if run.purpose == "line"]
    assert [run.end for run in runs[:3]] == ["DEN-S1", "DEN-S2", "PAT-S1"]
    assert runs[2].start == "DEN-S2"


def test_known_positions_give_the_way_between_two_rooms_of_a_line(demo: Catalog) -> None:
    # Both rooms are 20 by 15 ft (6.096 by 4.572 m), their middles at (3, 2) and (10, 8). The den's second loudspeaker
    # is 4.674 m from its west wall, half-way up: at (4.626, 2). The patio's first is 0.457 m from the west end of the
    # north side: at (7.409, 10.286). 2.783 + 8.286 = 11.069 m
    den = make_room("DEN", name="Den", zone=1, pairs=1, control="phone", x_m=3.0, y_m=2.0)
    job = on_line(den, garden(x_m=10.0, y_m=8.0))
    job = replace(job, head_end=replace(job.head_end, x_m=0.0, y_m=0.0))
    run = next(run for run in of(designed(job, demo).shared, CableRun) if run.start == "DEN-S2")
    assert (run.end, run.length_basis, run.plan_m) == ("PAT-S1", "plan", 11.069)


def test_a_finished_house_wires_only_what_an_option_plays(demo: Catalog) -> None:
    room = garden(wall_state="finished", pairs=None, pairs_by_option={"good": 1, "better": 2, "best": 3})
    design = designed(on_line(room, wall_state="finished"), demo)
    ends = {one.name: [run.end for run in of(one.facts, CableRun) if run.purpose == "line"] for one in design.options}
    assert {name: len(found) for name, found in ends.items()} == {"good": 2, "better": 4, "best": 6}


def test_a_line_is_alive_as_far_as_its_last_playing_speaker(demo: Catalog) -> None:
    room = garden(pairs=None, pairs_by_option={"good": 1, "better": 2, "best": 3})
    design = designed(on_line(room), demo)
    live = [end.id[:-1] for end in of(option(design, "good"), CableEnd)
            if end.purpose == "line" and end.id.endswith("A") and end.live]
    assert len(live) == 2


def test_taps_add_up_as_the_line_does(demo: Catalog) -> None:
    line = line_of(on_line(garden()), demo)
    speakers = of(option(designed(on_line(garden()), demo)), Speaker)
    assert line.tap_total_w == sum(one.tap_w for one in speakers)
    assert line.taps == f"6 x {speakers[0].tap_w:g} W"


@pytest.mark.outside(3)
@pytest.mark.parametrize(("line", "line_v"), [("70.7 V", 70.7), ("100 V", 100.0)])
def test_a_lines_load_is_its_voltage_squared_over_its_taps(demo: Catalog, line: str, line_v: float) -> None:
    # EIA 70.7 V practice (qsl.net/wa7zcz): Z = V^2 / P
    fact = line_of(on_line(garden(), line=line), demo)
    assert fact.load_ohm == pytest.approx(line_v**2 / fact.tap_total_w, rel=1e-3)


@pytest.mark.outside(3)
def test_a_line_names_voltage_power_and_level_lost_apart(demo: Catalog) -> None:
    # 10 % of the voltage is 0.915 dB and 19 % of the power: the same identities at this line's own loss
    fact = line_of(on_line(garden(measured_m=150.0)), demo)
    assert 0 < fact.voltage_lost_rate < 0.1
    assert fact.power_lost_rate == pytest.approx(1 - (1 - fact.voltage_lost_rate) ** 2, abs=1e-4)
    assert fact.loss_db == pytest.approx(20 * math.log10(1 - fact.voltage_lost_rate), abs=0.001)


def test_the_loss_is_that_of_the_ladder_worked_by_hand(demo: Catalog) -> None:
    # one pair: two speakers; currents 2 P / V then P / V over the two runs, nearly constant over a short line
    job = on_line(garden(pairs=1, measured_m=60.0))
    line = line_of(job, demo)
    first, second = (run for run in of(designed(job, demo).shared, CableRun) if run.purpose == "line")
    tap = line.tap_total_w / 2
    ohm_per_m = 4.016 / 304.8 * 1.02  # 16 AWG stranded, wire tables
    drop = 2 * ohm_per_m * (first.length_m * 2 * tap + second.length_m * tap) / 70.7
    assert line.gauge_awg == 16
    assert line.voltage_lost_rate == pytest.approx(drop / 70.7, rel=0.02)


def test_a_hundred_volt_line_loses_less_than_a_70_volt_line(demo: Catalog) -> None:
    losses = [line_of(on_line(garden(measured_m=200.0), line=line), demo).voltage_lost_rate
              for line in ("70.7 V", "100 V")]
    assert losses[1] < losses[0]


def test_a_line_that_loses_too_much_stops(demo: Catalog) -> None:
    found = codes(on_line(garden(measured_m=299.0, pairs=6)), with_speaker(demo, taps_w="40"))
    assert ("stop", "line-loses-too-much", "A2") in found


def test_a_line_that_loses_more_than_a_tenth_warns_once(demo: Catalog) -> None:
    found = codes(on_line(garden(measured_m=299.0)), with_speaker(demo, taps_w="40"))
    assert {one for one in found if one[1] in ("line-loses-much", "cable-over-limit", "line-loses-too-much")} == {
        ("warning", "line-loses-much", "A2")}


# ---------------------------------------------------------------- the amplifier

def test_a_line_has_an_amplifier_of_its_own_with_at_most_80_percent_used(demo: Catalog) -> None:
    design = designed(on_line(garden(), make_room(zone=2)), demo)
    facts = option(design)
    line = of(facts, VoltageLine)[0]
    assert line.share_rate == pytest.approx(line.tap_total_w / line.amplifier_w, abs=1e-4)
    assert line.share_rate <= 0.8  # redzilla.aiscnet.com/en/linea-70v
    assert {one.id for one in of(facts, AmplifierFact)} == {"AMP-1", "LA-1"}


def test_a_line_zone_is_mono_on_one_output(demo: Catalog) -> None:
    facts = option(designed(on_line(garden(), make_room(zone=2)), demo))
    zone = next(one for one in of(facts, ZoneFact) if one.zone == 1)
    outputs = [one for one in of(facts, AmplifierOutput) if one.zone == 1]
    assert (zone.mono, zone.channels, zone.amplifier, zone.controller_output) == (True, 1, "LA-1", 2)
    assert [(one.side, one.line_v) for one in outputs] == [("M", 70.7)]


def test_the_output_class_is_the_one_marked_on_the_amplifier(demo: Catalog) -> None:
    line = line_of(on_line(garden()), demo)
    facts = option(designed(on_line(garden()), demo))
    part = of(facts, AmplifierFact)[0].part
    assert line.output_class == demo.amplifiers[part].output_class


def test_an_unmarked_class_is_asked_for_and_never_inferred(demo: Catalog) -> None:
    unmarked = with_amplifiers(demo, output_class="")
    assert line_of(on_line(garden()), unmarked).output_class == ""
    assert ("warning", "output-class-unknown", "A2") in codes(on_line(garden()), unmarked)


def test_taps_over_80_percent_warn_at_the_zone(demo: Catalog) -> None:
    total_w = line_of(on_line(garden()), demo).tap_total_w
    tight = with_amplifiers(demo, line_w=total_w / 0.9)
    assert ("warning", "line-amplifier-tight", "A2") in codes(on_line(garden()), tight)


def test_taps_over_the_whole_amplifier_stop_at_the_zone(demo: Catalog) -> None:
    total_w = line_of(on_line(garden()), demo).tap_total_w
    small = with_amplifiers(demo, line_w=total_w / 2.1)
    assert ("stop", "line-overloaded", "A2") in codes(on_line(garden()), small)


def test_an_amplifier_without_the_voltage_stops_at_the_zone(demo: Catalog) -> None:
    found = codes(on_line(garden(), line="100 V"), with_amplifiers(demo, line_volts="70.7"))
    assert ("stop", "no-amplifier-for-line", "A2") in found


def test_an_option_without_a_line_amplifier_stops_at_the_zone(demo: Catalog) -> None:
    none = replace(demo, roles={key: row for key, row in demo.roles.items() if key[0] != "line amplifier"})
    assert ("stop", "no-part-for-role", "A2") in codes(on_line(garden()), none)


def test_a_bridged_line_zone_is_told_that_it_is_none(demo: Catalog) -> None:
    job = on_line(garden())
    job = replace(job, zones=(replace(job.zones[0], bridged=True),))
    assert ("warning", "bridged-line", "A2") in codes(job, demo)


def test_a_job_of_lines_alone_needs_no_other_amplifier(demo: Catalog) -> None:
    facts = option(designed(on_line(garden()), demo))
    assert [one.id for one in of(facts, AmplifierFact)] == ["LA-1"]


@pytest.mark.parametrize("shape", ["controller-amplifier", "network amplifiers"])
def test_without_a_controller_the_line_amplifier_plays_by_itself(demo: Catalog, shape: Any) -> None:
    facts = option(designed(replace(on_line(garden(), make_room(zone=2)), head_end_shape=shape), demo))
    zone = next(one for one in of(facts, ZoneFact) if one.zone == 1)
    assert (zone.controller, zone.line_lead) == ("", False)
    assert next(one for one in of(facts, AmplifierFact) if one.id == "LA-1").network_port


def test_two_lines_share_an_amplifier_with_two_outputs(demo: Catalog) -> None:
    only = replace(demo, amplifiers={part: spec for part, spec in demo.amplifiers.items()
                                     if not spec.lines or spec.lines == 2})
    job = on_line(garden(), make_room("DEK", name="Deck", zone=2, pairs=1, control="phone"))
    job = replace(job, zones=tuple(make_zone(number, line="70.7 V") for number in (1, 2)))
    facts = option(designed(job, only))
    assert [one.id for one in of(facts, AmplifierOutput)] == ["LA-1.01", "LA-1.02"]


# ---------------------------------------------------------------- laws

@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.integers(1, 5), st.sampled_from(["background", "foreground"])), min_size=1, max_size=3),
       st.sampled_from(["70.7 V", "100 V"]))
def test_taps_are_conserved_by_law(demo: Catalog, wishes: list[tuple[int, str]], line: str) -> None:
    rooms = [garden(pairs=pairs, listening=listening) for pairs, listening in wishes]
    rooms = [replace(room, code=f"PA{n}", name=f"Patio {n}") for n, room in enumerate(rooms)]
    # as many watts leave the amplifier as the speakers' taps take, counted by speaker, by size and by ohm
    for one in designed(on_line(*rooms, line=line), wide_amplifiers(demo)).options:
        for fact in of(one.facts, VoltageLine):
            speakers = of(one.facts, Speaker)
            counted = [text.removesuffix(" W").split(" x ") for text in fact.taps.split(", ")]
            assert fact.tap_total_w == pytest.approx(sum(speaker.tap_w for speaker in speakers))
            assert fact.tap_total_w == pytest.approx(sum(int(count) * float(tap_w) for count, tap_w in counted))
            assert sum(int(count) for count, _ in counted) == len(speakers) == fact.speakers
            assert fact.line_v**2 / fact.load_ohm == pytest.approx(fact.tap_total_w, rel=1e-3)


def wide_amplifiers(catalog: Catalog) -> Catalog:
    """The catalogue with line amplifiers that no taps here overload."""
    return with_amplifiers(catalog, line_w=5000.0)


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.floats(10, 200), st.floats(0, 90))
def test_a_longer_line_is_never_thinner_by_law(demo: Catalog, first_m: float, more_m: float) -> None:
    short, long = (line_of(on_line(garden(measured_m=length_m)), wide_amplifiers(demo)).area_mm2
                   for length_m in (first_m, first_m + more_m))
    assert long >= short


# ---------------------------------------------------------------- its lines in the bill

def test_a_line_is_measured_and_cautioned(demo: Catalog, book: RuleBook) -> None:
    facts = option(designed(on_line(garden()), demo))
    lines, problems = apply_rules(facts, book, demo, "best", "AWG", "open")
    made: dict[str, Line] = {line.because.rule: line for line in lines if line.because.rule.startswith("LIN-")}
    assert set(made) >= {"LIN-010", "LIN-020"}
    assert not [problem for problem in problems if problem.severity == "stop"]


def test_a_longer_zone_never_has_a_quieter_total(demo: Catalog) -> None:
    totals = [line_of(on_line(garden(pairs=pairs)), with_speaker(demo, taps_w="5")).tap_total_w for pairs in (1, 2, 4)]
    assert totals == sorted(totals)


def test_a_line_zone_keeps_its_length_in_the_jobs_unit(demo: Catalog) -> None:
    line = line_of(on_line(garden()), demo)
    assert line.longest_m / FT == pytest.approx(round(line.longest_m / FT), abs=0.01)

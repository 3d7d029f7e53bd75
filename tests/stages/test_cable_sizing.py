"""Conductors of whole jobs: the load that the cable really sees, gauges, remedies in order, ends; worked by hand."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.engineering.brief import Brief
from quoting.engineering.cable_circuits import least_damping
from quoting.engineering.cable_gauge import ohm_per_m
from quoting.engineering.design import design_system
from quoting.facts import AmplifierOutput, CableEnd, CableRun, Design, of
from quoting.job import Control, Job
from quoting.tables.decision import Row, Standards, Table
from tests.builders import cell, make_room
from tests.demo_jobs import FT, house, make_zone


def designed(job: Job, catalog: Catalog) -> Design:
    design, problems = design_system(job, catalog)
    assert design is not None, "\n".join(str(problem) for problem in problems)
    return design


def runs(job: Job, catalog: Catalog, purpose: str = "home run") -> list[CableRun]:
    return [run for run in of(designed(job, catalog).shared, CableRun) if run.purpose == purpose]


def worries(job: Job, catalog: Catalog) -> set[tuple[str, str, str]]:
    return {(problem.severity, problem.code, problem.where.ref) for problem in design_system(job, catalog)[1]}


def with_number(catalog: Catalog, item: str, value: float) -> Catalog:
    """The catalogue with another number in standards/cable_design.csv."""
    table = catalog.standards.tables["cable_design"]

    def changed(row: Row) -> Row:
        if row.answer.text("item") != item:
            return row
        return replace(row, answer=replace(row.answer, values={**row.answer.values, "value": value}))

    made = Table(table.question, tuple(changed(row) for row in table.rows), table.where)
    others = {name: kept for name, kept in catalog.standards.tables.items() if name != "cable_design"}
    return replace(catalog, standards=Standards((*others.values(), made)))


# ---------------------------------------------------------------- what the conductor does

def test_a_run_says_level_lost_power_lost_and_damping_apart(demo: Catalog) -> None:
    # one circuit, worked from its own loop: R of an 8 ohm load
    run = runs(house(make_room(pairs=1, measured_m=60 * FT)), demo)[0]
    rate = run.loop_ohm / 8
    assert run.power_lost_rate == pytest.approx(rate / (1 + rate), abs=1e-4)  # share of the amplifier's power
    assert 10 ** (run.loss_db / 20) == pytest.approx(1 / (1 + rate), abs=1e-4)  # level at the speaker, 20 log
    assert run.damping_factor == pytest.approx(8 / (run.loop_ohm + 8 / least_damping(_brief(demo))), rel=0.01)


def _brief(demo: Catalog) -> Brief:
    return Brief(house(make_room()), demo, "best", (), {})


@pytest.mark.outside(2)
def test_the_home_run_resistance_is_that_of_the_wire_table_and_its_stranding(demo: Catalog) -> None:
    # 16 AWG 4.016, 14 AWG 2.525 ohm per 1000 ft (wire tables, 20 C); stranded 2 % more (NEC chapter 9 table 8)
    facts = [run for run in of(designed(house(make_room(pairs=1, measured_m=30 * FT)), demo).shared, CableRun)
             if run.circuits]
    home, legs = facts[0], facts[1:]
    ohm_per_ft = {16.0: 4.016, 14.0: 2.525}[home.gauge_awg] / 1000 * 1.02
    longest_ft = (home.length_m + max(leg.length_m for leg in legs)) / FT
    assert home.loop_ohm == pytest.approx(2 * longest_ft * ohm_per_ft, rel=0.003)
    assert (home.stranding, home.temperature_c) == ("stranded", 20)


@pytest.mark.outside(1)
def test_a_metric_run_has_the_maximum_of_its_standard(demo: Catalog) -> None:
    # IEC 60228:2004 table 3: 1.5 mm2 flexible 13.3, 2.5 mm2 7.98 ohm/km at 20 C
    facts = [run for run in of(designed(_metric(make_room(pairs=1, measured_m=9.0)), demo).shared, CableRun)
             if run.circuits]
    ohm_per_m = {1.5: 0.0133, 2.5: 0.00798}[facts[0].area_mm2]
    length_m = facts[0].length_m + max(leg.length_m for leg in facts[1:])
    assert facts[0].loop_ohm == pytest.approx(2 * length_m * ohm_per_m, rel=0.001)


@pytest.mark.outside(1)
def test_warm_copper_loses_what_copper_gains(demo: Catalog) -> None:
    # IEC 60228 annex: at 40 C a resistance is 1/0.926 of that at 20 C
    job = house(make_room(pairs=1, measured_m=30 * FT))
    cool, warm = runs(job, demo)[0], runs(job, with_number(demo, "conductor temperature c", 40))[0]
    assert warm.area_mm2 == cool.area_mm2
    assert warm.loop_ohm / cool.loop_ohm == pytest.approx(1 / 0.926, rel=0.003)


def _metric(*rooms: Any, **changes: Any) -> Job:
    job = house(*rooms, unit_system="metric", gauge_system="mm2", **changes)
    return replace(job, terms=replace(job.terms, currency="EUR", tax_place="Germany", locale="de_DE"))


# ---------------------------------------------------------------- the load that it sees

def test_pairs_joined_at_the_amplifier_each_see_their_own_load(demo: Catalog) -> None:
    assert [(run.load_ohm, run.joined_pairs) for run in runs(house(make_room(pairs=2)), demo)] == [(8, 1), (8, 1)]


def test_a_bridged_channel_sees_half_and_the_cable_the_speaker(demo: Catalog) -> None:
    job = replace(house(make_room(pairs=1)), zones=(make_zone(1, bridged=True),))
    run = runs(job, demo)[0]
    assert (run.load_ohm, run.channel_ohm) == (8, 4)  # each of two channels sees half (every amplifier's manual)


def test_a_bridge_halves_what_the_amplifier_adds_to_damping(demo: Catalog) -> None:
    plain = runs(house(make_room(pairs=1)), demo)[0]
    bridged = runs(replace(house(make_room(pairs=1)), zones=(make_zone(1, bridged=True),)), demo)[0]
    output_ohm = 8 / plain.damping_factor - plain.loop_ohm
    assert 8 / bridged.damping_factor - bridged.loop_ohm == pytest.approx(2 * output_ohm, abs=0.03)  # two in series


# ---------------------------------------------------------------- remedies, in order

def shared_run_job(feet: float, pairs: int = 2, control: Control = "keypad", **changes: Any) -> Job:
    room = make_room(pairs=pairs, control=control, measured_m=feet * FT, cells={"": cell("Rooms", "A2"), "measured_m":
                                                              cell("Rooms", "Z2")})
    return house(room, head_end_shape="controller and amplifiers", **changes)


def test_pairs_that_share_a_home_run_see_their_loads_in_parallel(demo: Catalog) -> None:
    # 8 ohm || 8 ohm = 4 ohm on the shared part (trade practice 3.2: halve the lengths for the shared part)
    shared = runs(shared_run_job(8), with_number(demo, "pairs per home run", 2))
    assert [(run.load_ohm, run.joined_pairs, run.end) for run in shared] == [(4, 2, "KIT-K1")]


def test_the_shared_part_counts_twice_against_the_limit(demo: Catalog) -> None:
    shared = runs(shared_run_job(8), with_number(demo, "pairs per home run", 2))[0]
    design = designed(shared_run_job(8), with_number(demo, "pairs per home run", 2))
    leg_m = max(run.length_m for run in of(design.shared, CableRun) if run.purpose == "speaker leg")
    ohm_per_m = 4.016 / 304.8 * 1.02  # 16 AWG stranded
    assert shared.gauge_awg == 16
    assert shared.loop_rate == pytest.approx(2 * ohm_per_m * (shared.length_m / 4 + leg_m / 8), rel=0.005)


def test_a_long_shared_run_becomes_a_home_run_a_pair_before_it_becomes_thicker(demo: Catalog) -> None:
    catalog = with_number(demo, "pairs per home run", 2)
    found = runs(shared_run_job(35), catalog)
    assert [(run.joined_pairs, run.load_ohm, run.gauge_awg) for run in found] == [(1, 8, 16), (1, 8, 16)]


def test_pairs_that_no_amplifier_takes_together_are_wired_apart(demo: Catalog) -> None:
    # three 8 ohm pairs in parallel are 2.67 ohm, below the 4 ohm that the amplifiers take
    found = runs(shared_run_job(8, pairs=3), with_number(demo, "pairs per home run", 3))
    assert [run.joined_pairs for run in found] == [1, 1, 1]


def test_each_pair_apart_can_have_channels_of_its_own(demo: Catalog) -> None:
    design = designed(shared_run_job(8, pairs=3), demo)
    outputs = of(design.options[-1].facts, AmplifierOutput)
    homes = {run.id for run in of(design.shared, CableRun) if run.purpose == "home run"}
    assert {name for output in outputs for name in output.runs.split(", ")} == homes


def test_a_run_that_is_too_long_apart_becomes_thicker(demo: Catalog) -> None:
    assert {run.gauge_awg for run in runs(shared_run_job(90), demo)} == {14}


def test_a_run_between_the_limits_warns_at_the_measured_cell(demo: Catalog) -> None:
    assert ("warning", "cable-over-limit", "Z2") in worries(shared_run_job(220), demo)


def test_a_run_beyond_the_looser_limit_stops_at_the_measured_cell(demo: Catalog) -> None:
    assert ("stop", "cable-too-long", "Z2") in worries(shared_run_job(390), demo)


def test_direct_pairs_that_share_go_on_from_the_first_ones_place(demo: Catalog) -> None:
    design = designed(shared_run_job(8, control="phone", topology="direct"), with_number(demo, "pairs per home run", 2))
    ways = [(run.start, run.end, run.circuits) for run in of(design.shared, CableRun) if run.circuits]
    assert ways == [("HE", "KIT-S1", 2), ("KIT-S1", "KIT-S2", 1), ("KIT-S1", "KIT-S3", 2), ("KIT-S3", "KIT-S4", 1)]


# ---------------------------------------------------------------- laws

@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.floats(8, 200), st.floats(0, 60))
def test_a_longer_run_is_never_thinner_by_law(demo: Catalog, feet: float, more: float) -> None:
    short, long = (runs(shared_run_job(length), demo)[0] for length in (feet, feet + more))
    assert long.area_mm2 >= short.area_mm2


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.floats(5, 190), min_size=2, max_size=5))
def test_a_job_has_at_most_two_speaker_gauges_and_none_under_16_awg(demo: Catalog, feet: list[float]) -> None:
    rooms = [make_room(f"R{n}", name=f"Room {n}", zone=n, pairs=1, measured_m=length * FT)
             for n, length in enumerate(feet, 1)]
    gauges = {run.gauge_awg for run in of(designed(house(*rooms), demo).shared, CableRun) if run.circuits}
    assert len(gauges) <= 2
    assert max(gauges) <= 16


def gauges_by_room(feet: list[float], demo: Catalog, finished: frozenset[int] = frozenset()) -> list[dict[str, float]]:
    """The area of each room's home run, for each option; rooms R0, R1 ... of these measured lengths."""
    rooms = [make_room(f"R{n}", name=f"Room {n}", zone=n + 1, pairs=1, measured_m=length * FT,
                       wall_state="finished" if n in finished else "open") for n, length in enumerate(feet)]
    design = designed(house(*rooms), demo)
    return [{run.room: run.area_mm2 for run in of((*design.shared, *one.facts), CableRun) if run.purpose == "home run"}
            for one in design.options]


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.floats(8, 180), min_size=2, max_size=6), st.integers(0, 5), st.floats(0, 60))
def test_a_longer_run_among_others_is_never_thinner_by_law(
    demo: Catalog, feet: list[float], which: int, more: float
) -> None:
    which %= len(feet)
    longer = [length + more * (n == which) for n, length in enumerate(feet)]
    for short, long in zip(gauges_by_room(feet, demo), gauges_by_room(longer, demo), strict=True):
        assert long[f"R{which}"] >= short[f"R{which}"]


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.floats(5, 170), min_size=2, max_size=6), st.frozensets(st.integers(0, 5)))
def test_open_and_finished_rooms_have_two_speaker_gauges_together(
    demo: Catalog, feet: list[float], finished: frozenset[int]
) -> None:
    assert all(len(set(areas.values())) <= 2 for areas in gauges_by_room(feet, demo, finished))


def test_a_long_finished_room_thickens_the_shared_plan_rather_than_add_a_third_gauge(demo: Catalog) -> None:
    # 16 AWG to 100 ft, 14 AWG to 158 ft, 12 AWG beyond at 8 ohm and 10 % (trade practice 3.2): 20, 75 and 150 ft with
    # slack, waste and the legs need 16, 14 and 12
    together = gauges_by_room([20, 75, 150], demo)[-1]
    assert sorted(set(together.values())) == pytest.approx([1.309, 3.309], abs=0.001)
    assert gauges_by_room([20, 75, 150], demo, frozenset({2}))[-1] == together


@pytest.mark.parametrize(("pairs", "bridged"), [*((pairs, False) for pairs in range(1, 7)), (1, True), (2, True)])
def test_more_pairs_never_load_the_amplifier_with_more_ohms_by_law(demo: Catalog, pairs: int, bridged: bool) -> None:
    def together_ohm(count: int) -> float:
        job = shared_run_job(8, pairs=count)
        job = replace(job, zones=(replace(job.zones[0], bridged=bridged),))
        return 1 / sum(1 / output.load_ohm for output in of(designed(job, demo).options[-1].facts, AmplifierOutput))

    assert together_ohm(pairs + 1) <= together_ohm(pairs) + 1e-9


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(1, 3), st.integers(1, 4))
def test_more_pairs_on_one_cable_are_never_a_higher_load_by_law(demo: Catalog, pairs: int, sharing: int) -> None:
    catalog = with_number(demo, "pairs per home run", sharing)
    fewer, more = (runs(shared_run_job(8, pairs=count), catalog)[0] for count in (pairs, pairs + 1))
    assert more.load_ohm <= fewer.load_ohm or more.joined_pairs < fewer.joined_pairs


@pytest.mark.outside(1)
def test_a_metric_size_that_iec_60228_lacks_is_reckoned_from_copper(demo: Catalog) -> None:
    # 2.08 mm2 is 14 AWG: 8.286 ohm/km solid at 20 C (wire tables), flexible 5 % more at most
    odd = replace(demo.cables["SM25-4R"], area_mm2=2.08)
    assert ohm_per_m(_brief(demo), odd) * 1000 == pytest.approx(8.286 * 1.05, rel=0.002)


# ---------------------------------------------------------------- ends

def pigtails(design: Design, option: str) -> set[tuple[str, str]]:
    facts = next(one.facts for one in design.options if one.name == option)
    return {(end.device, end.terminal) for end in of(facts, CableEnd) if end.pigtail}


def test_16_awg_goes_into_every_terminal(demo: Catalog) -> None:
    assert pigtails(designed(house(make_room(pairs=1, measured_m=30 * FT)), demo), "good") == set()


def test_each_loudspeaker_of_a_chained_pair_takes_one_circuit(demo: Catalog) -> None:
    # two terminals, two conductors a loudspeaker: the right circuit goes on from the first one's opening (closed form)
    design = designed(house(make_room(pairs=1, control="phone")), demo)
    ends = of(design.options[0].facts, CableEnd)
    assert [end.circuits for end in ends if end.device == "speaker" and end.terminal not in ("joint", "tail")] == [1, 1]


def test_12_awg_needs_a_pigtail_at_a_spring_clip(demo: Catalog) -> None:
    # installation tips: 14 AWG is the thickest that most terminals take
    job = house(make_room(pairs=1, measured_m=190 * FT))
    assert {run.gauge_awg for run in runs(job, demo)} == {12}
    assert ("amplifier", "spring clip") in pigtails(designed(job, demo), "good")


@pytest.mark.parametrize(("terminal", "pairs", "mono", "wanted"), [
    ("spring clip", 1, False, False), ("spring clip", 2, False, True), ("plug-in", 2, False, False),
    ("spring clip", 1, True, True), ("plug-in", 2, True, False)])
def test_conductors_that_meet_in_one_terminal_count_together(
    demo: Catalog, terminal: str, pairs: int, mono: bool, wanted: bool
) -> None:
    # 16 AWG is 1.31 mm2, two make 2.62: 14 AWG (2.08) is the thickest for a spring clip, 12 AWG (3.31) for a plug. In
    # mono both sides of a pair meet; two mono pairs of 8 ohm go on two channels, for four coils would be 2 ohm
    amplifiers = {part: replace(spec, terminal=terminal) for part, spec in demo.amplifiers.items()}
    job = shared_run_job(8, pairs=pairs)
    job = replace(job, zones=(replace(job.zones[0], mono=mono),))
    found = pigtails(designed(job, replace(demo, amplifiers=amplifiers)), "good")
    assert (("amplifier", terminal) in found) == wanted


def test_a_metric_conductor_is_held_against_the_terminal_by_its_area(demo: Catalog) -> None:
    # 2.5 mm2 is thicker than 14 AWG (2.08 mm2) and thinner than 12 AWG (3.31 mm2): IEC and AWG sizes
    job = _metric(make_room(pairs=1, measured_m=24.0))
    assert {run.area_mm2 for run in runs(job, demo)} == {2.5}
    design = designed(job, demo)
    assert ("speaker", "spring clip") in pigtails(design, "good")
    assert pigtails(design, "better") == set()

"""Hours become crews, half-days, trips and travel, by phase."""

from __future__ import annotations

from pathlib import Path

import pytest

from quoting.bill import merge_lines
from quoting.effort import PHASE_IDS, measure_effort
from quoting.facts import JobEffort, PhaseEffort, of
from quoting.lines import PHASES, LabourLine
from quoting.problems import Problem
from quoting.rules.apply import apply_rules
from quoting.tables.decision import Unanswered
from tests.builders import make_job, make_room
from tests.rules.small_catalog import read_small_rules
from tests.stages.pricing_stubs import TASKS, labour, make_catalog, make_task, material, standard

CATALOG = make_catalog()


def _measured(*lines: LabourLine, travel_hours: float = 0.5, **changes: object) -> tuple[PhaseEffort, ...]:
    catalog = make_catalog(**changes)  # type: ignore[arg-type]
    rows, _ = merge_lines(lines, (), catalog, final=False)
    facts, problems = measure_effort(rows, make_job(travel_hours=travel_hours), catalog)
    assert problems == ()
    return of(facts, PhaseEffort)


def _hours(hours: str, phase: str = "rough-in") -> LabourLine:
    return labour("rough.pull", hours, hours, hours, phase=phase)


def _job(*lines: LabourLine) -> JobEffort:
    rows, _ = merge_lines([*lines, material("SPK"), material("SPK", room="LIV")], (), CATALOG, final=False)
    return of(measure_effort(rows, make_job(), CATALOG)[0], JobEffort)[0]


def test_a_crew_of_two_does_a_worked_rough_in_in_two_days() -> None:
    # trade-practice 6.7: rough-in of 24.4 h, crew of 2; 6.5: 6.25 productive hours of a paid 8 (common practice)
    phase, = _measured(_hours("24.4"))

    assert (phase.half_days, phase.trips) == (4, 2)


@pytest.mark.parametrize(("hours", "half_days"), [("6.25", 1), ("6.26", 2), ("12.5", 2), ("0.01", 1)])
def test_half_days_are_rounded_up(hours: str, half_days: int) -> None:
    # half a day of two people is 6.25 h
    assert _measured(_hours(hours))[0].half_days == half_days


@pytest.mark.parametrize(("hours", "trips"), [("6", 1), ("12.5", 1), ("12.6", 2)])
def test_two_half_days_are_one_trip(hours: str, trips: int) -> None:
    assert _measured(_hours(hours))[0].trips == trips


def test_travel_is_both_ways_for_the_whole_crew() -> None:
    # 2 trips x 2 ways x 0.75 h x 2 people
    assert _measured(_hours("20"), travel_hours=0.75)[0].travel_hours == 6.0


def test_the_remainder_is_what_nothing_fills_in_the_half_days() -> None:
    # 4 half-days of two people are 25 h
    assert _measured(_hours("24.4"))[0].remainder_hours == pytest.approx(0.6, abs=1e-9)


def test_crew_days_are_person_days() -> None:
    # 3 half-days of two people
    assert _measured(_hours("18"))[0].crew_days == 3.0


def test_in_the_office_nobody_travels_and_other_work_fills_the_rest() -> None:
    phase, = _measured(_hours("3", "survey and design"))

    assert (phase.on_site, phase.trips, phase.travel_hours, phase.remainder_hours) == (False, 0, 0.0, 0.0)


def test_phases_without_hours_have_no_fact() -> None:
    phases = _measured(_hours("3", "trim-out"), _hours("2"))

    assert [phase.phase for phase in phases] == ["rough-in", "trim-out"]


def test_every_phase_has_an_id_of_at_most_ten_characters() -> None:
    assert set(PHASE_IDS) == set(PHASES)
    assert [name for name in PHASE_IDS.values() if len(name) > 10] == []
    assert len(set(PHASE_IDS.values())) == len(PHASES)


def test_a_phase_names_the_row_that_gave_its_crew() -> None:
    assert "crew CRE-010" in _measured(_hours("3"))[0].decided


def test_a_large_house_may_have_a_larger_crew() -> None:
    # trade-practice 6.5: 3 on houses over 6,000 sq ft (557 m2)
    table = standard("crew", {"area_m2": "<= 557", "crew": "2", "productive_hours": "6.25", "on_site": "yes"},
                     {"area_m2": "> 557", "crew": "3", "productive_hours": "6.25", "on_site": "yes"})
    catalog = make_catalog(tables=[table])
    rows, _ = merge_lines([_hours("24.4")], (), catalog, final=False)
    job = make_job(rooms=(make_room(length_m=30.0, width_m=20.0),))

    assert of(measure_effort(rows, job, catalog)[0], PhaseEffort)[0].crew == 3


@pytest.mark.parametrize("wrong", [{"crew": "0"}, {"crew": "1.5"}, {"productive_hours": "0"}])
def test_a_crew_that_cannot_work_is_a_stop_at_its_row(wrong: dict[str, str]) -> None:
    table = standard("crew", {"crew": "2", "productive_hours": "6.25", "on_site": "yes", **wrong})
    catalog = make_catalog(tables=[table])
    rows, _ = merge_lines([_hours("3")], (), catalog, final=False)

    problems: tuple[Problem, ...] = measure_effort(rows, make_job(), catalog)[1]

    assert [(p.severity, p.code, str(p.where)) for p in problems] == [("stop", "crew-row", "standards/crew.csv A2")]


def test_a_phase_that_the_crew_standard_forgot_is_reported_as_unanswered() -> None:
    catalog = make_catalog(tables=[standard("crew", {"phase": "trim-out", "crew": "1", "productive_hours": "6"})])

    with pytest.raises(Unanswered, match="rough-in"):
        measure_effort(merge_lines([_hours("3")], (), catalog, final=False)[0], make_job(), catalog)


def test_the_job_counts_all_hours_and_those_in_the_field_apart() -> None:
    job = _job(_hours("10"), _hours("4", "survey and design"), _hours("2", "whole job"))

    assert (job.hours, job.field_hours) == (16.0, 10.0)


def test_the_job_counts_the_person_days_in_the_house() -> None:
    # rough-in: 2 half-days x 2 people; the design's half-days are spent at a desk
    assert _job(_hours("10"), _hours("4", "survey and design")).crew_days == 2.0


def test_the_job_sums_the_trips_and_counts_rows_and_parts() -> None:
    job = _job(_hours("20"), _hours("3", "trim-out"))

    assert (job.trips, job.material_rows, job.parts) == (3, 2, 1)


def test_a_job_without_labour_still_has_its_fact() -> None:
    assert (_job().hours, _job().trips) == (0.0, 0)


# ---------------------------------------------------------------- risk

def test_a_phase_tells_its_expected_hours_their_spread_and_p80() -> None:
    # (0 + 4 x 9 + 18) / 6 = 9; (18 - 0) / 6 = 3; 9 + 0.8416 x 3 = 11.52
    phase, = _measured(labour("rough.pull", "0", "9", "18"))

    assert (phase.hours, phase.spread_hours, phase.p80_hours) == (9.0, 3.0, 11.52)


def test_the_job_spreads_in_squares_over_its_phases() -> None:
    # 9 and 10 hours, spreads 3 and 4: 19 + 0.8416 x 5 = 23.21
    job = _job(labour("rough.pull", "0", "9", "18"), labour("trim.mount", "0", "9", "24", phase="trim-out"))

    assert (job.hours, job.spread_hours, job.p80_hours) == (19.0, 5.0, 23.21)


def test_a_job_names_the_rows_that_its_phases_rest_on() -> None:
    assert _job(_hours("10")).decided == ("crew CRE-010",)


def test_travel_of_fifty_minutes_comes_to_whole_hundredths() -> None:
    # 2 trips x 2 ways x 5/6 h x 2 people = 6.67 h
    assert _measured(_hours("20"), travel_hours=0.833333)[0].travel_hours == 6.67


def test_a_rule_may_ask_for_the_risk_of_a_phase(tmp_path: Path) -> None:
    sheet = "rule,p80_hours,add,add_from,quantity,phase\nPHE-010,> 11.5,trim.speaker,,1,trim-out\n"
    catalog, book, problems = read_small_rules(tmp_path, {"rules/phase_effort.csv": sheet})
    assert problems == (), [str(problem) for problem in problems]
    calm, risky = (_measured(labour("rough.pull", "0", "9", high))[0] for high in ("17", "18"))

    lines = apply_rules([calm, risky], book, catalog, "good", "AWG", "open")[0]

    assert [line.because.rule for line in lines] == ["PHE-010"]


# ---------------------------------------------------------------- hours that are not the crew's on its visits

TIMES = standard("task_time", {"task": "rough.talk", "time": "before the order"},
                 {"task": "rough.hold", "time": "beside the crew"},
                 {"task": "rough.again", "time": "a visit of its own"})
TALK, HOLD, AGAIN = (make_task(f"rough.{name}") for name in ("talk", "hold", "again"))


def _timed(*lines: tuple[str, str]) -> PhaseEffort:
    """One phase of a crew of two, from its tasks and their hours."""
    catalog = make_catalog(tables=[TIMES], tasks=[*TASKS, TALK, HOLD, AGAIN])
    rows, _ = merge_lines([labour(f"rough.{name}", hours, hours, hours) for name, hours in lines], (), catalog,
                          final=False)
    return of(measure_effort(rows, make_job(travel_hours=0.5), catalog)[0], PhaseEffort)[0]


def test_hours_before_the_order_take_no_day() -> None:
    # 6.25 h are half a day of two people; the talk's 5 h are not planned
    assert (_timed(("pull", "6.25"), ("talk", "5")).half_days, _timed(("talk", "5")).half_days) == (1, 0)


def test_a_phase_names_its_tasks_before_the_order_that_have_hours() -> None:
    assert (_timed(("pull", "6.25"), ("talk", "5")).before, _timed(("pull", "6.25"), ("talk", "0")).before) == (
        "rough.talk", "")


def test_a_second_person_makes_no_visit_longer_and_drives_for_the_hours() -> None:
    # one trip of two people and one of the third: 1 trip x 2 ways x 0.5 h x 3 people
    phase = _timed(("pull", "6.25"), ("hold", "2"))

    assert (phase.half_days, phase.trips, phase.travel_hours, phase.beside_hours) == (1, 1, 3.0, 2.0)


def test_a_later_visit_has_half_days_and_a_trip_of_its_own() -> None:
    # 6.25 h are one half-day of two people, 3 h less than one; 2 trips x 2 ways x 0.5 h x 2 people
    phase = _timed(("pull", "6.25"), ("again", "3"))

    assert (phase.half_days, phase.agreed_half_days, phase.trips, phase.travel_hours) == (2, 1, 2, 4.0)


def test_what_nobody_fills_of_the_half_days_counts_the_second_person_s_too() -> None:
    # crew: 6.25 - 6 = 0.25; the second person's half-day: 3.125 - 2 = 1.125
    assert _timed(("pull", "6"), ("hold", "2")).remainder_hours == 1.375

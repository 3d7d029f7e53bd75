"""Phases become visits on working days: in their order, with their gaps, never on a free day."""

from __future__ import annotations

import datetime
import itertools
from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.catalog.records import Catalog
from quoting.catalog.texts import StatementText
from quoting.facts import PhaseEffort
from quoting.lines import PHASES
from quoting.problems import Cell
from quoting.timetable import Timetable
from quoting.visits import AHEAD_OF, IN_THE_HOUSE, late_dates, plan_visits, work_dates
from tests.builders import make_fact, make_job, make_terms
from tests.stages.pricing_stubs import make_catalog, make_place, standard, statement

D = datetime.date
TUESDAY = D(2027, 1, 19)
OFF_SITE = {"survey and design", "rack build", "whole job"}
GAPS = {"trim-out": 10, "rack build": 1, "commissioning": 2, "handover": 1, "survey and design": 2}
HALF_DAYS = st.dictionaries(st.sampled_from(PHASES), st.integers(1, 30))


def catalog_of(gaps: Mapping[str, object] = GAPS, **place: Any) -> Catalog:
    rows = [{"phase": phase, "gap_days": str(gaps.get(phase, 0)), "parts_days": "3"} for phase in PHASES]
    return make_catalog(tables=[standard("phase_gap", *rows)],
                        places=[make_place(**{"holidays": "US", "work_week": "Mon-Fri", **place})])


def effort(phase: str, half_days: int) -> PhaseEffort:
    return make_fact("phase_effort", phase, phase=phase, half_days=half_days, crew=2,  # type: ignore[return-value]
                     on_site=phase not in OFF_SITE)


def planned(
    half_days: Mapping[str, int], start: datetime.date = TUESDAY, catalog: Catalog | None = None,
    dated: bool = True, statements: tuple[str, ...] = (), fitting: datetime.date | None = None,
) -> Timetable:
    catalog = catalog or catalog_of()
    job = make_job(start_date=start, trim_date=fitting, terms=make_terms(tax_place="Sampleton"))
    dates, _ = work_dates(job, catalog)
    return plan_visits([effort(phase, count) for phase, count in half_days.items()],
                       [statement(code) for code in statements], job, catalog, dates if dated else None)


def days_of(table: Timetable, phase: str) -> tuple[int, int]:
    return next((one.first_day, one.last_day) for one in table.phases if one.phase == phase)


def test_a_weekend_parts_a_phase_into_two_visits() -> None:
    # seven half-days from Thursday 21 January 2027: Thursday, Friday; Monday, and Tuesday's morning
    first, second = planned({"rough-in": 7}, D(2027, 1, 21)).visits

    assert [(first.id, first.first_date, first.last_date, first.half_days),
            (second.id, second.first_date, second.last_date, second.half_days)] == [
        ("RI1", D(2027, 1, 21), D(2027, 1, 22), 4), ("RI2", D(2027, 1, 25), D(2027, 1, 26), 3)]


def test_a_holiday_in_the_week_parts_a_visit_too() -> None:
    # Thanksgiving is Thursday 26 November 2026 (5 U.S.C. 6103(a))
    visits = planned({"rough-in": 6}, D(2026, 11, 25)).visits

    assert [(visit.first_date, visit.last_date) for visit in visits] == [
        (D(2026, 11, 25),) * 2, (D(2026, 11, 27),) * 2, (D(2026, 11, 30),) * 2]


def test_the_crew_comes_back_so_many_working_days_after_the_last_cable() -> None:
    # rough-in on days 1 to 3, ten working days for the others, trim-out from day 14
    assert days_of(planned({"rough-in": 6, "trim-out": 4}), "trim-out") == (14, 15)


def test_a_typed_fitting_date_stands_in_for_the_gap() -> None:
    # typed for a Saturday: the crew comes on the Monday after
    table = planned({"rough-in": 6, "trim-out": 4}, fitting=D(2027, 3, 27))

    assert [visit.first_date for visit in table.visits if visit.phase == "trim-out"] == [D(2027, 3, 29)]


def test_a_fitting_date_before_the_cabling_ends_gives_the_next_working_day_and_is_told() -> None:
    # cabling on Tuesday to Thursday, 19 to 21 January 2027; fitting typed for the Wednesday
    wednesday = D(2027, 1, 20)
    table = planned({"rough-in": 6, "trim-out": 2}, fitting=wednesday)
    said, = late_dates(make_job(start_date=TUESDAY, trim_date=wednesday), [table])

    assert table.visits[-1].first_date == D(2027, 1, 22)
    assert "ends on 2027-01-21. The fitting is planned from 2027-01-22." in str(said)


def test_a_fitting_date_after_the_cabling_is_not_told_of() -> None:
    table = planned({"rough-in": 6, "trim-out": 2}, fitting=D(2027, 1, 22))

    assert late_dates(make_job(start_date=TUESDAY, trim_date=D(2027, 1, 22)), [table]) == ()


@pytest.mark.parametrize(("live", "told"), [(D(2027, 1, 20), 0), (D(2027, 1, 21), 1)])
def test_internet_that_works_only_after_setting_up_has_begun_is_told_of(live: datetime.date, told: int) -> None:
    # cabling on Tuesday, setting up on the Wednesday, 20 January 2027
    job = make_job(start_date=TUESDAY, internet_live=live)
    said = late_dates(job, [planned({"rough-in": 2, "commissioning": 2}, catalog=catalog_of({}))])

    assert [(problem.code, problem.severity) for problem in said] == [("internet-too-late", "warning")] * told


def test_late_internet_is_told_with_both_ways_out() -> None:
    job = make_job(start_date=TUESDAY, internet_live=D(2027, 5, 3))
    said, = late_dates(job, [planned({"commissioning": 2}, catalog=catalog_of({}))])

    assert "type a day up to 2027-01-19" in str(said) and "type a later Fitting date" in str(said)


def test_chases_and_openings_that_others_close_ask_for_their_own_gap() -> None:
    # trim-out waits 4 days where a wall is chased, 2 where a finished room has no other way in, else not at all
    rows = [{"phase": "trim-out", "chase_m": chase, "opened_rooms": opened, "gap_days": days, "parts_days": "3"}
            for chase, opened, days in (("<= 0", "<= 0", "0"), ("<= 0", ">= 1", "2"), ("> 0", "-", "4"))]
    table = standard("phase_gap", *rows, {"phase": "not trim-out", "gap_days": "0", "parts_days": "3"})
    catalog = make_catalog(tables=[table])
    chased = make_fact("pull", "KIT-P1", chase_m=9.5)
    opened = make_fact("room", "KIT", wall_state="finished", access="none", cables=2)
    efforts = [effort("rough-in", 2), effort("trim-out", 2)]

    assert [days_of(plan_visits([*facts, *efforts], (), make_job(), catalog, None), "trim-out")[0]
            for facts in ((), (opened,), (opened, chased))] == [2, 4, 6]


def test_the_rack_is_ready_a_day_before_it_is_set_up() -> None:
    # trim-out 14 to 15, two days between, commissioning on 18: the rack on 15 and 16, a day to spare
    table = planned({"rough-in": 6, "trim-out": 4, "rack build": 4, "commissioning": 2})

    assert (days_of(table, "commissioning"), days_of(table, "rack build")) == ((18, 18), (15, 16))


def test_a_long_rack_build_begins_on_the_first_day_and_commissioning_waits_for_it() -> None:
    table = planned({"trim-out": 2, "rack build": 20, "commissioning": 2})

    assert (days_of(table, "rack build"), days_of(table, "commissioning")) == ((1, 10), (12, 12))


def test_the_design_is_done_before_the_first_day() -> None:
    # 3 half-days are two days, two days between: on the 4th and 3rd working day before day 1
    assert days_of(planned({"survey and design": 3, "rough-in": 2}), "survey and design") == (-3, -2)


def test_in_a_finished_house_fitting_begins_on_day_one() -> None:
    assert days_of(planned({"trim-out": 4}), "trim-out") == (1, 2)


def test_a_phase_without_hours_waits_with_the_next_that_has_some() -> None:
    assert days_of(planned({"rough-in": 2, "commissioning": 2}), "trim-out") == (4, 4)


def test_parts_come_three_working_days_before_their_phase() -> None:
    # before Tuesday 19 January 2027: Friday, Thursday, Wednesday, as Monday is a holiday
    assert planned({"rough-in": 2}).phases[1].parts_date == D(2027, 1, 13)


def test_without_dates_a_phase_is_one_visit_by_its_days() -> None:
    visit, = planned({"rough-in": 30}, dated=False).visits

    assert (visit.first_day, visit.last_day, visit.first_date, visit.half_days) == (1, 15, None, 30)


def test_a_visit_names_what_others_must_have_done_before_it() -> None:
    sleeves = StatementText(code="say.sleeves", kind="needed from others", text="Sleeves.", before="rough-in",
                            where=Cell("statements.csv"))
    catalog = make_catalog(statements={"say.sleeves": sleeves})
    visit = planned({"rough-in": 2}, catalog=catalog, statements=("say.sleeves",)).visits[0]

    assert visit.needs == ("say.sleeves",)


@given(half_days=HALF_DAYS, start=st.dates(D(2026, 1, 1), D(2029, 12, 31)))
def test_no_visit_holds_a_weekend_or_a_holiday(half_days: dict[str, int], start: datetime.date) -> None:
    catalog = catalog_of()
    dates, _ = work_dates(make_job(start_date=start, terms=make_terms(tax_place="Sampleton")), catalog)
    assert dates is not None
    found = [visit.first_date + datetime.timedelta(days=step) for visit in planned(half_days, start).visits
             if visit.first_date and visit.last_date
             for step in range((visit.last_date - visit.first_date).days + 1)]

    assert all(dates.calendar.works_on(day) for day in found)


@given(half_days=HALF_DAYS, start=st.dates(D(2026, 1, 1), D(2029, 12, 31)))
def test_the_visits_of_a_phase_hold_all_its_half_days(half_days: dict[str, int], start: datetime.date) -> None:
    sums: dict[str, int] = {}
    for visit in planned(half_days, start).visits:
        sums[visit.phase] = sums.get(visit.phase, 0) + visit.half_days

    assert sums == {phase: count for phase, count in half_days.items() if phase != "whole job"}


@given(half_days=HALF_DAYS, start=st.dates(D(2026, 1, 1), D(2029, 12, 31)))
def test_a_crew_works_at_most_two_halves_of_a_day_and_never_none(
    half_days: dict[str, int], start: datetime.date
) -> None:
    for visit in planned(half_days, start).visits:
        days = visit.last_day - visit.first_day + 1
        assert 2 * days - 1 <= visit.half_days <= 2 * days


@given(half_days=HALF_DAYS)
def test_phases_in_the_house_follow_each_other_with_their_gaps(half_days: dict[str, int]) -> None:
    table = planned(half_days, dated=False)
    worked = [phase for phase in IN_THE_HOUSE if phase in half_days]

    for before, after in itertools.pairwise(worked):
        assert days_of(table, after)[0] > days_of(table, before)[1] + GAPS[after]


@given(half_days=HALF_DAYS)
def test_desk_and_shop_are_done_before_the_phase_that_waits_for_them(half_days: dict[str, int]) -> None:
    table = planned(half_days, dated=False)

    for phase, waits in AHEAD_OF.items():
        if phase in half_days and waits in half_days:
            assert days_of(table, phase)[1] == days_of(table, waits)[0] - 1 - GAPS[phase]


@given(half_days=HALF_DAYS)
def test_the_first_work_in_the_house_is_on_day_one(half_days: dict[str, int]) -> None:
    waits = ("commissioning" in half_days and "rack build" in half_days
             and not {"rough-in", "trim-out"} & set(half_days))
    on_site = [visit.first_day for visit in planned(half_days).visits if visit.on_site]

    assert waits or not on_site or min(on_site) == 1


# ---------------------------------------------------------------- what is told

def told(start: datetime.date, **place: Any) -> list[str]:
    job = make_job(start_date=start, terms=make_terms(tax_place="Sampleton"))
    return [str(problem) for problem in work_dates(job, catalog_of(**place))[1]]


def test_a_start_on_a_holiday_is_told_with_the_next_working_day() -> None:
    said, = told(D(2027, 1, 18))  # the third Monday of January (5 U.S.C. 6103(a))

    assert "is a Monday and a holiday" in said and "planned from 2027-01-19" in said


def test_a_start_on_a_sunday_is_told_with_the_next_working_day() -> None:
    said, = told(D(2027, 1, 24))

    assert "is a Sunday: nobody works" in said and "Type 2027-01-25" in said


def test_a_start_on_a_working_day_is_not_told_of() -> None:
    assert told(D(2027, 1, 19)) == []


def test_without_a_start_date_there_are_no_dates_and_nothing_is_told() -> None:
    assert work_dates(make_job(start_date=None, terms=make_terms(tax_place="Sampleton")), catalog_of()) == (None, ())


def test_a_place_without_a_calendar_has_no_holidays() -> None:
    assert told(D(2027, 1, 18), holidays=None, work_week=None) == []


@pytest.mark.parametrize(("place", "code"), [
    ({"holidays": "QQ"}, "unknown-calendar"), ({"holidays": "DE-QQ"}, "unknown-calendar"),
    ({"work_week": "always"}, "work-week"),
])
def test_a_calendar_that_nobody_keeps_stops_with_what_to_type(place: dict[str, str], code: str) -> None:
    job = make_job(terms=make_terms(tax_place="Sampleton"))
    dates, problems = work_dates(job, catalog_of(**place))

    assert dates is None and [(problem.code, problem.severity) for problem in problems] == [(code, "stop")]


@pytest.mark.parametrize("typed", ["-1", "2.5"])
def test_a_gap_is_whole_days(typed: str) -> None:
    _, problems = work_dates(make_job(start_date=D(2027, 1, 19)), catalog_of(gaps={"trim-out": typed}))

    assert [problem.code for problem in problems] == ["gap-row"]

"""The timetable on paper: every visit once for the crew, every phase with its days for the customer."""

from __future__ import annotations

import datetime
import re

import pytest
from msgspec.structs import replace

from quoting.documents.crew_papers import crew_set
from quoting.documents.formats import Formats, english_locale, formats_for
from quoting.documents.language import in_english, language_for
from quoting.documents.proposal import render_proposal
from quoting.documents.visit_days import crew_timeline, customer_timeline, phase_bars, visit_table
from quoting.quote import PricedOption, Quote
from quoting.timetable import NO_TIMETABLE, Timetable
from tests.documents.papers import TEMPLATES

Options = list[tuple[Quote, PricedOption]]


@pytest.fixture(scope="module")
def options(quotes: dict[str, Quote]) -> Options:
    return [(quote, option) for quote in quotes.values() for option in quote.options]


def formats_of(quote: Quote) -> Formats:
    return formats_for(english_locale(quote.job.terms.locale), quote.pricing.currency, quote.job.unit_system)


def undated(option: PricedOption) -> PricedOption:
    table = option.timetable
    return replace(option, timetable=Timetable(
        phases=table.phases, visits=tuple(replace(visit, first_date=None, last_date=None) for visit in table.visits)))


def test_the_crew_reads_every_visit_once(options: Options) -> None:
    for quote, option in options:
        rows = visit_table(quote, option, formats_of(quote)).rows
        table = option.timetable
        assert [row[0] for row in rows] == [visit.id for visit in (*table.visits, *table.agreed)]


def test_the_crew_reads_the_weekday_of_a_visit(options: Options) -> None:
    weekdays = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
    for quote, option in options:
        rows = {row[0]: row for row in visit_table(quote, option, formats_of(quote)).rows}
        for visit in option.timetable.visits:
            assert visit.first_date is not None
            assert rows[visit.id][3].startswith(f"{weekdays[visit.first_date.weekday()]},\u00a0"), rows[visit.id]


def test_the_second_training_is_a_visit_whose_day_is_agreed(options: Options) -> None:
    for quote, option in options:
        found = [row for row in visit_table(quote, option, formats_of(quote)).rows if row[3] == "to be agreed"]
        assert [(row[0], "Training, second session" in row[1]) for row in found] == [("HO2", True)]


def test_without_dates_the_crew_reads_numbered_days(options: Options) -> None:
    quote, option = options[0]
    first = visit_table(quote, undated(option), formats_of(quote)).rows[0]

    assert first[3:5] == (f"day {option.timetable.visits[0].first_day}", f"day {option.timetable.visits[0].last_day}")


def test_what_others_must_have_done_stands_with_each_visit_that_waits_for_it(options: Options) -> None:
    for quote, option in options:
        said = {statement.code: in_english(quote, statement.text) for statement in quote.statements}
        rows = {row[0]: row[8] for row in visit_table(quote, option, formats_of(quote)).rows}
        for visit in option.timetable.visits:
            assert [text for code, text in said.items() if text in rows[visit.id]] == [
                said[code] for code in visit.needs], visit.id


def test_the_wording_is_asked_for_by_the_day_on_which_the_engraving_is_ordered(options: Options) -> None:
    # example 1, better: engraving takes 15 days and has come by Thursday 18 March 2027, so by Wednesday the 3rd
    quote, option = options[1]
    rows = {row[0]: row[8] for row in visit_table(quote, option, formats_of(quote)).rows}

    assert "they are ordered then. By Mar 3, 2027." in rows["TO1"]


def test_the_day_of_the_internet_stands_beside_the_visit_that_needs_it(options: Options) -> None:
    quote, option = options[1]
    late = replace(quote, job=replace(quote.job, internet_live=datetime.date(2027, 5, 3)))
    said = [{row[0]: row[8] for row in visit_table(one, option, formats_of(one)).rows}["CO1"] for one in (quote, late)]

    assert ["The internet is said to work from Mar 15, 2027." in said[0],
            "from May 3, 2027, after this visit begins: ask." in said[1]] == [True, True]


def test_chased_walls_are_whole_again_before_the_fitting(quotes: dict[str, Quote]) -> None:
    # example 2: cabling ends on Monday 15 February 2027; fifteen working days later (standards/phase_gap.csv PHG-054,
    # no German holiday among them) are the 16th to Monday 8 March: Tuesday is free for us
    quote, option = quotes["2"], quotes["2"].options[1]
    visit = next(visit for visit in option.timetable.visits if visit.phase == "trim-out")
    view = customer_timeline(quote, option, formats_of(quote), language_for("de_DE", {}))

    assert (visit.first_date, "say.chases closed" in visit.needs) == (datetime.date(2027, 3, 9), True)
    assert view is not None and view.svg is not None and 'class="bar others"' in view.svg


def test_the_hours_of_a_phase_s_visits_are_those_that_are_still_to_be_worked(options: Options) -> None:
    for _, option in options:
        for effort in option.facts["phase_effort"]:
            visits = [visit for visit in option.timetable.visits if visit.phase == effort["phase"]]
            elsewhere = effort["before_hours"] + effort["beside_hours"] + effort["agreed_hours"]
            if visits:
                assert sum(visit.hours for visit in visits) == pytest.approx(effort["hours"] - elsewhere, abs=0.005)


def test_a_second_person_comes_for_the_rack_and_its_check(options: Options) -> None:
    # hours by standards/task_time.csv beside the crew: those of the two tasks, and of nothing else
    for quote, option in options:
        hours = sum(line.hours for line in option.labour if line.task in ("rack.second lift", "rack.second check"))
        assert sum(visit.beside_hours for visit in option.timetable.visits) == pytest.approx(float(hours)), quote


def test_the_visits_are_the_first_sheet_of_the_crew(options: Options) -> None:
    for quote, option in options:
        assert crew_set(quote, option, draft=True).sheets[0].title == "Visits"


def test_every_bar_spans_the_visits_of_its_phase(options: Options) -> None:
    for _, option in options:
        visits = option.timetable.visits
        assert {bar.name: (bar.start, bar.end) for bar in phase_bars(option, str)} == {
            phase: (min(dates)[0], max(dates)[1]) for phase in {visit.phase for visit in visits}
            for dates in [[(visit.first_date, visit.last_date) for visit in visits if visit.phase == phase]]}


def test_the_days_that_the_customer_reads_are_the_days_of_the_price(options: Options) -> None:
    # the labour table says "3 days on site" of the same phases
    for _, option in options:
        priced = {phase.phase: phase.half_days for phase in option.phases if phase.trips}
        shown = {bar.name: bar.half_days for bar in phase_bars(option, str) if bar.half_days}
        for visit in option.timetable.agreed:
            shown[visit.phase] = shown.get(visit.phase, 0) + visit.half_days
        assert shown == priced


def test_without_dates_the_customer_reads_working_days_and_nothing_is_drawn(options: Options) -> None:
    quote, option = options[0]
    language = language_for("en_US", {})
    view = customer_timeline(quote, undated(option), formats_of(quote), language)
    first, last = ({phase.phase: getattr(phase, field) for phase in option.timetable.phases}["rough-in"]
                   for field in ("first_day", "last_day"))

    assert view is not None and view.svg is None
    assert ("Cabling and preparation", f"working days {first} to {last}") in [row[:2] for row in view.rows]
    assert crew_timeline(undated(option), formats_of(quote), language) is None


def test_a_proposal_without_a_timetable_has_no_empty_section(options: Options) -> None:
    quote, _ = options[0]
    bare = replace(quote, options=tuple(replace(option, timetable=NO_TIMETABLE) for option in quote.options))

    assert 'id="when"' not in render_proposal(bare, TEMPLATES)


def test_the_proposal_says_when_the_other_options_end(options: Options) -> None:
    quote = options[0][0]
    page = render_proposal(quote, TEMPLATES)
    others = [option for option in quote.options if option.name != quote.recommendation.option]

    for option in others:
        last = option.timetable.visits[-1].last_date
        assert last is not None and f"the last day is {formats_of(quote).date(last)}." in page


def test_the_others_work_while_the_crew_is_away(options: Options) -> None:
    # open walls: forty working days are eight weeks, holidays not counted (standards/phase_gap.csv PHG-030)
    quote, option = options[0]
    view = customer_timeline(quote, option, formats_of(quote), language_for("en_US", {}))
    cabling, fitting = (next(bar for bar in phase_bars(option, str) if bar.name == phase)
                        for phase in ("rough-in", "trim-out"))

    assert view is not None and (fitting.start - cabling.end) >= datetime.timedelta(weeks=8)
    assert re.search("class=\"bar others\" data-start=\"" + str(cabling.end + datetime.timedelta(days=1)), view.svg)

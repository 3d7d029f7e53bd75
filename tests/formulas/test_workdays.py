"""Working days against published public holidays, and against the holiday package's own counting."""

from __future__ import annotations

import csv
import datetime

import holidays
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.catalog.read import read_catalog
from quoting.workdays import (
    USUAL_WEEK,
    FreeDay,
    WorkCalendar,
    is_known,
    public_holidays,
    read_week,
    work_calendar,
)
from quoting.workdays import main as print_rows
from tests.conftest import DEMO, PRICED_ON

D = datetime.date
DATES = st.dates(D(2020, 1, 1), D(2040, 12, 31))
PLACES = st.sampled_from([("US", ""), ("US", "CA"), ("DE", ""), ("DE", "BY"), ("ES", ""), ("ES", "CT"), ("FR", "")])


def days(*texts: str) -> set[datetime.date]:
    return {D.fromisoformat(text) for text in texts}


def free_weekdays(country: str, subdivision: str, year: int) -> set[datetime.date]:
    return {day for day in public_holidays(country, subdivision, year) if day.weekday() in USUAL_WEEK}


# 5 U.S.C. 6103(a): third Monday of January and February, last of May, first of September, second of October, fourth
# Thursday of November, and fixed days; (b): a Saturday's is kept on the Friday before; Executive Order 11582: a
# Sunday's on the Monday after (as quoted by federal courts' and agencies' pages). Worked out by hand for the two years.
US_2026 = days("2026-01-01", "2026-01-19", "2026-02-16", "2026-05-25", "2026-06-19", "2026-07-03", "2026-09-07",
               "2026-10-12", "2026-11-11", "2026-11-26", "2026-12-25")
US_2027 = days("2027-01-01", "2027-01-18", "2027-02-15", "2027-05-31", "2027-06-18", "2027-07-05", "2027-09-06",
               "2027-10-11", "2027-11-11", "2027-11-25", "2027-12-24", "2027-12-31")
# The nine of the whole country; Easter Sunday of 2026 is 5 April (from memory)
DE_2026 = days("2026-01-01", "2026-04-03", "2026-04-06", "2026-05-01", "2026-05-14", "2026-05-25", "2026-12-25")
# The labour calendar of 2026 in the official gazette, as a news agency printed it (europapress.es, 28 October 2025):
# nine in all Spain, two of them on a weekend (15 August and 1 November)
ES_2026 = days("2026-01-01", "2026-01-06", "2026-04-03", "2026-05-01", "2026-10-12", "2026-12-08", "2026-12-25")
# Code du travail, L3133-1: eleven days, two of them on a weekend in 2026 (from memory)
FR_2026 = days("2026-01-01", "2026-04-06", "2026-05-01", "2026-05-08", "2026-05-14", "2026-05-25", "2026-07-14",
               "2026-11-11", "2026-12-25")


@pytest.mark.parametrize(("country", "year", "published"), [
    ("US", 2026, US_2026), ("US", 2027, US_2027), ("DE", 2026, DE_2026), ("ES", 2026, ES_2026), ("FR", 2026, FR_2026),
])
def test_the_free_weekdays_of_a_year_are_those_published(
    country: str, year: int, published: set[datetime.date]
) -> None:
    assert free_weekdays(country, "", year) == published


def test_bavaria_rests_on_epiphany_and_the_north_does_not() -> None:
    # Feiertagsgesetz of Bavaria, article 1: 6 January (from memory)
    assert D(2026, 1, 6) in public_holidays("DE", "BY", 2026) and D(2026, 1, 6) not in public_holidays("DE", "HH", 2026)


def test_thanksgiving_and_a_weekend_lie_between_two_working_days() -> None:
    assert WorkCalendar(country="US").moved(D(2026, 11, 25), 2) == D(2026, 11, 30)


def test_the_working_day_before_new_years_day_is_kept_free_where_it_falls_on_a_saturday() -> None:
    assert WorkCalendar(country="US").moved(D(2028, 1, 3), -1) == D(2027, 12, 30)


@given(start=DATES, count=st.integers(1, 60), place=PLACES)
def test_working_days_are_walked_as_the_package_walks_them(
    start: datetime.date, count: int, place: tuple[str, str]
) -> None:
    calendar, package = WorkCalendar(USUAL_WEEK, *place), holidays.country_holidays(place[0], subdiv=place[1] or None)

    assert calendar.moved(calendar.on_or_after(start), count) == package.get_nth_working_day(
        calendar.on_or_after(start), count)


@given(start=DATES, count=st.integers(0, 60), place=PLACES)
def test_going_back_is_the_reverse_of_going_on(start: datetime.date, count: int, place: tuple[str, str]) -> None:
    calendar = WorkCalendar(USUAL_WEEK, *place)
    first = calendar.on_or_after(start)

    assert calendar.moved(calendar.moved(first, count), -count) == first


@given(start=DATES, count=st.integers(0, 60), place=PLACES)
def test_so_many_days_on_are_so_many_days_counted(start: datetime.date, count: int, place: tuple[str, str]) -> None:
    calendar = WorkCalendar(USUAL_WEEK, *place)
    first = calendar.on_or_after(start)

    assert calendar.workdays_to(first, calendar.moved(first, count)) == count


@given(day=DATES, place=PLACES)
def test_a_working_day_is_no_weekend_and_no_holiday_of_the_package(
    day: datetime.date, place: tuple[str, str]
) -> None:
    package = holidays.country_holidays(place[0], subdiv=place[1] or None)

    assert WorkCalendar(USUAL_WEEK, *place).works_on(day) == (day.weekday() < 5 and day not in package)


@pytest.mark.parametrize(("typed", "read"), [
    ("Mon-Fri", USUAL_WEEK), ("Mon, Tue, Thu", {0, 1, 3}), ("sun-thu", None), ("", None), ("Mon-Fri-Sat", None),
    ("Mondays", None), ("Sat", {5}),
])
def test_a_working_week_is_a_list_of_days_or_nothing(typed: str, read: set[int] | None) -> None:
    assert read_week(typed) == read


@pytest.mark.parametrize(("country", "subdivision", "known"), [
    ("US", "", True), ("US", "CA", True), ("US", "QQ", False), ("QQ", "", False), ("us", "", False),
])
def test_a_calendar_is_known_by_country_and_part(country: str, subdivision: str, known: bool) -> None:
    assert is_known(country, subdivision) is known


def test_the_demo_table_holds_the_packages_days_of_its_years() -> None:
    catalog, _ = read_catalog(DEMO, PRICED_ON)
    assert catalog is not None
    years = {(free.calendar, free.date.year) for free in catalog.free_days if free.calendar}
    for calendar, year in years:
        country, _, part = calendar.partition("-")
        table = {free.date for free in catalog.free_days if (free.calendar, free.date.year) == (calendar, year)}
        assert table == public_holidays(country, part, year), (calendar, year)
    assert len(years) == 20


def test_a_year_of_the_table_is_not_looked_up_and_another_is() -> None:
    only = (FreeDay(calendar="US", date=D(2026, 11, 25), name="invented"),)
    calendar = work_calendar(USUAL_WEEK, "US", only)
    assert [calendar.works_on(day) for day in (D(2026, 11, 25), D(2026, 11, 26), D(2027, 11, 25))] == [
        False, True, False]


def test_the_firms_own_days_off_hold_everywhere() -> None:
    free = (FreeDay(calendar="", date=D(2026, 12, 28), name="closed"),)
    assert not any(work_calendar(USUAL_WEEK, name, free).works_on(D(2026, 12, 28)) for name in ("", "US", "DE"))


def test_rows_for_the_table_are_printed_by_the_module(capsys: pytest.CaptureFixture[str]) -> None:
    print_rows("US-CA", "2031")
    rows = list(csv.reader(capsys.readouterr().out.splitlines()))
    assert {D.fromisoformat(day) for _, day, _ in rows} == public_holidays("US", "CA", 2031)
    assert {name for name, _, _ in rows} == {"US-CA"}

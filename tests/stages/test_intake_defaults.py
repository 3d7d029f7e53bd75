"""Blanks are filled in a fixed order, every default is on record, and a `?` is a question."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.intake.codes import derive_codes, is_reserved, number_zones
from quoting.intake.read import read_job
from quoting.job import Default, Job, Room, Unknown
from quoting.tables.decision import Standards
from tests.problems.forms import Change, plain_book

Read = Callable[..., Job]


@pytest.fixture
def read(demo: Catalog, tmp_path: Path) -> Read:
    """Reads the small good workbook with changes; fails on a stop."""
    def reading(*changes: Change) -> Job:
        plain_book(demo, changes).save(tmp_path / "job.xlsx")
        job, problems = read_job(tmp_path / "job.xlsx", demo)
        assert job is not None, "\n".join(map(str, problems))
        return job
    return reading


def kitchen(job: Job) -> Room:
    """The first room."""
    return next(room for room in job.rooms if room.name == "Kitchen")


def default(job: Job, of: str, heading: str) -> Default | None:
    """The record of one default."""
    return next((found for found in job.defaults if (found.of, found.field) == (of, heading)), None)


KITCHEN_IN_ZONE_1 = (Change("Rooms", "1", "Zone", 1), Change("Zones", "1", "Zone", 1))


# ---------------------------------------------------------------- the order

def test_a_typed_value_comes_first(read: Read) -> None:
    job = read(*KITCHEN_IN_ZONE_1, Change("Zones", "1", "Listening", "party"), Change("Rooms", "1", "Listening",
               "background"))
    assert kitchen(job).listening == "background"


def test_the_zones_row_comes_before_the_room_kind(read: Read) -> None:
    job = read(*KITCHEN_IN_ZONE_1, Change("Zones", "1", "Listening", "party"))
    assert (kitchen(job).listening, default(job, "Rooms KIT", "Listening").source) == ("party", "zone 1")  # type: ignore[union-attr]


def test_the_room_kind_comes_before_the_usual(read: Read, demo: Catalog) -> None:
    said = demo.standards.ask("room_kinds", kind="kitchen").text("listening")
    assert kitchen(read()).listening == said


def test_the_floors_block_comes_before_the_job(read: Read) -> None:
    job = read(Change("Floors", "1", "Floor", 1), Change("Floors", "1", "Wall state", "finished"))
    assert (kitchen(job).wall_state, job.wall_state) == ("finished", "open")


def test_the_jobs_wall_state_reaches_every_room(read: Read) -> None:
    job = read(Change("Job", "", "Wall state", "open remodel"))
    assert {room.wall_state for room in job.rooms} == {"open remodel"}


def test_an_outdoor_place_has_no_room_above_it(read: Read) -> None:
    job = read(Change("Rooms", "2", "Floor", 2))
    assert {room.name: room.above for room in job.rooms} == {
        "Kitchen": "room", "Living room": "insulated attic", "Patio": "roof"}


def test_the_head_end_may_be_in_a_room(read: Read) -> None:
    job = read(Change("Job", "", "Head-end place", "living room"), Change("Rooms", "2", "Floor", 2))
    assert job.head_end.floor == 2


def test_a_head_end_in_the_basement_makes_a_basement(read: Read) -> None:
    job = read(Change("Job", "", "Head-end place", "basement closet"))
    assert [floor.number for floor in job.floors] == [-1, 1]


def test_the_dwellings_age_follows_from_the_year_built(read: Read) -> None:
    assert read(Change("Job", "", "Year built", 1994)).terms.dwelling_years == 33


def test_no_source_typed_means_one_streamer(read: Read) -> None:
    job = read(Change("Sources", "1", "Kind", None))
    assert [(source.kind, source.count) for source in job.sources] == [("streamer", 1)]


# ---------------------------------------------------------------- the record

def test_every_default_says_where_it_came_from(read: Read) -> None:
    assert default(read(), "Rooms KIT", "Mount") == Default(
        "Rooms KIT", "Mount", "ceiling", "room kind kitchen", kitchen_cell("G2"))


def kitchen_cell(ref: str) -> object:
    """A cell of the small workbook's Rooms."""
    from quoting.problems import Cell
    return Cell("job.xlsx", "Rooms", ref)


@pytest.mark.parametrize("heading", [
    "Zone", "Code", "Mount", "Plays from", "Listening", "Control", "Ceiling height", "Wall state", "Setting",
    "Above the ceiling", "Construction", "Access", "Colour", "Distance",
])
def test_a_room_of_five_cells_lists_each_default(read: Read, heading: str) -> None:
    assert default(read(), "Rooms KIT", heading) is not None


def test_a_typed_value_is_no_default(read: Read) -> None:
    assert default(read(Change("Rooms", "1", "Mount", "wall")), "Rooms KIT", "Mount") is None


def test_an_unreadable_value_is_no_default(demo: Catalog, tmp_path: Path) -> None:
    from quoting.intake.filled import read_filled
    from quoting.intake.read import make_job
    from quoting.sheets.workbook import read_workbook
    plain_book(demo, [Change("Rooms", "1", "Mount", "sky")]).save(tmp_path / "job.xlsx")
    filled, _ = read_filled("job.xlsx", read_workbook(tmp_path / "job.xlsx")[0], demo)
    assert filled is not None and default(make_job(filled, demo)[0], "Rooms KIT", "Mount") is None


# ---------------------------------------------------------------- not known yet

def test_a_question_mark_uses_the_default_and_asks(read: Read) -> None:
    job = read(Change("Rooms", "1", "Above the ceiling", "?"))
    assert job.unknowns == (Unknown("KIT", "above", "Above the ceiling", "insulated attic", kitchen_cell("R2")),)  # type: ignore[arg-type]


def test_a_question_mark_is_not_also_a_default(read: Read) -> None:
    assert default(read(Change("Rooms", "1", "Above the ceiling", "?")), "Rooms KIT", "Above the ceiling") is None


def test_a_question_mark_in_a_floors_row_asks_for_each_room_on_it(read: Read) -> None:
    job = read(Change("Floors", "1", "Floor", 1), Change("Floors", "1", "Construction", "?"))
    assert [(unknown.of, unknown.attribute) for unknown in job.unknowns] == [
        ("KIT", "construction"), ("LROO", "construction"), ("PAT", "construction")]


def test_a_question_mark_in_a_zones_row_asks_for_its_rooms(read: Read) -> None:
    job = read(*KITCHEN_IN_ZONE_1, Change("Zones", "1", "Control", "?"))
    assert [(unknown.of, unknown.attribute, unknown.used) for unknown in job.unknowns] == [("KIT", "control", "keypad")]


def test_a_question_mark_on_job_asks_of_the_job(read: Read) -> None:
    job = read(Change("Job", "", "Year built", "?"))
    assert [(unknown.of, unknown.attribute) for unknown in job.unknowns] == [("Job", "year_built")]


def test_every_optional_cell_of_rooms_takes_a_question_mark(read: Read, demo: Catalog) -> None:
    from quoting.intake.columns import intake_form
    optional = [column for column in intake_form(demo).rooms.columns if not column.required]
    job = read(*(Change("Rooms", "1", column.heading, "?") for column in optional))
    # a code is nobody's question: it is made from the name
    assert {unknown.field for unknown in job.unknowns} == {column.heading for column in optional} - {"Code"}


# ---------------------------------------------------------------- codes and zones

def test_moving_rows_changes_nothing(demo: Catalog, tmp_path: Path) -> None:
    book = plain_book(demo)
    book.save(tmp_path / "job.xlsx")
    sheet = book["Rooms"]
    rows = [[cell.value for cell in row] for row in sheet.iter_rows(min_row=2, max_row=4)]
    for at, values in enumerate(reversed(rows), 2):
        for column, value in enumerate(values, 1):
            sheet.cell(at, column).value = value
    (tmp_path / "moved").mkdir()
    book.save(tmp_path / "moved" / "job.xlsx")
    one, other = (read_job(path, demo)[0] for path in (tmp_path / "job.xlsx", tmp_path / "moved" / "job.xlsx"))
    assert one is not None and other is not None
    assert [replace(room, cells={}) for room in one.rooms] == [replace(room, cells={}) for room in other.rooms]


@pytest.mark.parametrize(("name", "code"), [
    ("Kitchen", "KIT"), ("Main bedroom", "MBED"), ("Bedroom 2", "BED2"), ("Bedroom 12", "BE12"), ("Küche", "KUC"),
    ("Main guest bath", "MGB"), ("客厅", "R"), ("101", "R10"), ("Wc", "WC"),
])
def test_a_code_comes_from_the_name(name: str, code: str) -> None:
    assert derive_codes([name], [])[name] == code


def test_codes_of_a_hundred_rooms_of_like_names_differ() -> None:
    codes = derive_codes([f"Guest room {letter}{number}" for letter in "abcdefghij" for number in range(40)], ["GUE"])
    assert len(set(codes.values())) == 400 and "GUE" not in codes.values()


@pytest.mark.parametrize("name", ["Job", "System", "Rack", "Network closet", "Hey", "Amp", "F 1", "Z 2"])
def test_no_code_is_one_that_names_something_else(name: str) -> None:
    assert not is_reserved(derive_codes([name], [])[name])


def test_blank_zones_are_numbered_after_the_typed_ones_by_code() -> None:
    assert number_zones({"PAT": None, "BED": None, "KIT": 4, "DIN": 1}, [2]) == {"BED": 5, "DIN": 1, "KIT": 4, "PAT": 6}


def test_a_zone_may_be_named_by_its_name(read: Read) -> None:
    job = read(Change("Zones", "1", "Zone", 7), Change("Zones", "1", "Name", "Ground floor"),
               Change("Rooms", "1", "Zone", "ground floor"))
    assert kitchen(job).zone == 7


def test_a_zone_without_a_row_is_called_after_its_rooms(read: Read) -> None:
    job = read(Change("Rooms", "1", "Zone", 1), Change("Rooms", "2", "Zone", 1))
    assert job.zones[0].name == "Kitchen + Living room"


def test_two_rooms_without_a_zone_have_a_zone_each(read: Read) -> None:
    assert [zone.number for zone in read().zones] == [1, 2, 3]


# ---------------------------------------------------------------- a slip in the catalogue

def test_a_room_kind_that_says_what_is_no_choice_is_a_stop_at_its_row(demo: Catalog, tmp_path: Path) -> None:
    tables = []
    for table in demo.standards.tables.values():
        rows = tuple(
            replace(row, answer=replace(row.answer, values={**row.answer.values, "mount": "cieling"}))
            if row.answer.question == "room_kinds" and row.answer.text("kind") == "kitchen" else row
            for row in table.rows)
        tables.append(replace(table, rows=rows))
    broken = replace(demo, standards=Standards(tables))
    plain_book(broken).save(tmp_path / "job.xlsx")
    _, problems = read_job(tmp_path / "job.xlsx", broken)
    assert [(problem.code, problem.where.file) for problem in problems] == [
        ("bad-room-kind", "standards/room_kinds.csv")]

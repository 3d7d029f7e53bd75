"""The reader is forgiving in form: where headings stand, how values are spelled, what stands beside them."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import openpyxl
import pytest

from quoting.catalog.records import Catalog
from quoting.intake.read import read_job
from quoting.job import Job, Room
from tests.problems.forms import Change, plain_book

Edit = Callable[[openpyxl.Workbook], object]


@pytest.fixture
def read(demo: Catalog, tmp_path: Path) -> Callable[..., Job]:
    """Reads the small good workbook with changes and an edit; fails on any problem."""
    def reading(*changes: Change, edit: Edit = lambda _: None) -> Job:
        book = plain_book(demo, changes)
        edit(book)
        book.save(tmp_path / "job.xlsx")
        job, problems = read_job(tmp_path / "job.xlsx", demo)
        assert job is not None, "\n".join(map(str, problems))
        return job
    return reading


def room(job: Job, name: str) -> Room:
    """The room of that name."""
    return next(found for found in job.rooms if found.name == name)


def rooms(row: int, **values: object) -> tuple[Change, ...]:
    """Changes on one row of Rooms; headings with _ for spaces."""
    return tuple(Change("Rooms", str(row), name.replace("_", " "), value) for name, value in values.items())


# ---------------------------------------------------------------- where things stand

def test_headings_may_stand_in_the_fifteenth_row(read: Callable[..., Job]) -> None:
    assert len(read(edit=lambda book: book["Rooms"].insert_rows(1, 14)).rooms) == 3


def test_columns_may_be_reordered(read: Callable[..., Job]) -> None:
    def swap(book: openpyxl.Workbook) -> None:
        for row in book["Rooms"].iter_rows(max_col=2):
            row[0].value, row[1].value = row[1].value, row[0].value
    assert room(read(edit=swap), "Kitchen").kind == "kitchen"


def test_columns_of_ones_own_are_left_alone(read: Callable[..., Job]) -> None:
    def add(book: openpyxl.Workbook) -> None:
        book["Rooms"].insert_cols(2)
        book["Rooms"]["B1"], book["Rooms"]["B2"] = "Painter's remark", "ask about the beam"
    assert read(edit=add) == read(edit=add) and len(read(edit=add).rooms) == 3


def test_empty_rows_are_skipped(read: Callable[..., Job]) -> None:
    assert len(read(edit=lambda book: book["Rooms"].insert_rows(3, 4)).rooms) == 3


def test_a_heading_merged_over_two_rows_is_one_heading(read: Callable[..., Job]) -> None:
    def merge(book: openpyxl.Workbook) -> None:
        sheet = book["Rooms"]
        sheet.insert_rows(2)
        for column in range(1, sheet.max_column + 1):
            sheet.merge_cells(start_row=1, end_row=2, start_column=column, end_column=column)
    assert len(read(edit=merge).rooms) == 3


def test_headings_and_sheet_names_are_read_in_any_case(read: Callable[..., Job]) -> None:
    def shout(book: openpyxl.Workbook) -> None:
        book["Rooms"].title = " ROOMS "
        for cell in book[" ROOMS "][1]:
            cell.value = f" {str(cell.value).upper()} *"
    assert len(read(edit=shout).rooms) == 3


def test_sheets_other_than_job_and_rooms_may_be_missing(read: Callable[..., Job]) -> None:
    def drop(book: openpyxl.Workbook) -> None:
        for name in ("Zones", "Sources", "Extras", "Overrides"):
            del book[name]
    assert len(read(edit=drop).rooms) == 3


def test_the_jobs_labels_may_stand_in_another_column(read: Callable[..., Job]) -> None:
    assert read(edit=lambda book: book["Job"].insert_cols(1, 2)).client.name == "Ada Brandt"


def test_the_jobs_lines_may_stand_in_any_order_below_the_floors(read: Callable[..., Job]) -> None:
    def move(book: openpyxl.Workbook) -> None:
        sheet = book["Job"]
        lines = [(row[0].value, row[1].value) for row in sheet.iter_rows(max_row=59, max_col=2) if row[0].value]
        sheet.delete_rows(1, 59)
        for at, (label, value) in enumerate(reversed(lines), 20):
            sheet.cell(at, 1).value, sheet.cell(at, 2).value = label, value
    job = read(Change("Floors", "1", "Floor", 1), Change("Floors", "1", "Ceiling height", "10 ft"), edit=move)
    assert (job.client.name, job.floors[0].ceiling_height_m) == ("Ada Brandt", pytest.approx(3.048))


# ---------------------------------------------------------------- how values are spelled

def test_mixed_units_are_read_side_by_side(read: Callable[..., Job]) -> None:
    job = read(*rooms(1, Length="6.1 m", Width="15'6\""), *rooms(2, Length="610 cm", Width=18))
    assert [room(job, "Kitchen").length_m, room(job, "Living room").length_m] == pytest.approx([6.1, 6.1])


def test_bare_numbers_are_metres_in_a_metric_job(read: Callable[..., Job]) -> None:
    job = read(Change("Job", "", "Unit system", "metric"), *rooms(1, Length="6,1", Width=4),
               *rooms(2, Length=7, Width="5"))
    assert (room(job, "Kitchen").length_m, room(job, "Living room").width_m) == pytest.approx((6.1, 5.0))


def test_bare_joist_spacings_are_inches_or_centimetres(read: Callable[..., Job]) -> None:
    assert room(read(*rooms(1, Joist_spacing=16)), "Kitchen").joist_spacing_m == pytest.approx(0.4064)


def test_a_unit_in_the_heading_counts_for_bare_numbers(read: Callable[..., Job]) -> None:
    job = read(*rooms(1, Length=6), *rooms(2, Length=7), *rooms(3, Length=8), Change("Rooms", "heading", "Length",
               "Length (m)"))
    assert room(job, "Kitchen").length_m == pytest.approx(6.0)


def test_numbers_typed_as_text_are_numbers(read: Callable[..., Job]) -> None:
    assert room(read(*rooms(1, Floor="1", Pairs="2")), "Kitchen").pairs == 2


@pytest.mark.parametrize(("typed", "floor"), [("basement", -1), ("ground floor", 0), ("2nd", 2), ("Floor 2", 2)])
def test_floors_have_names_too(read: Callable[..., Job], typed: str, floor: int) -> None:
    assert room(read(*rooms(1, Floor=typed)), "Kitchen").floor == floor


def test_stray_spaces_and_case_in_choices_are_read(read: Callable[..., Job]) -> None:
    assert room(read(*rooms(1, Kind=" KITCHEN ", Mount="Wall")), "Kitchen").mount == "wall"


# ---------------------------------------------------------------- what it becomes

def test_the_jobs_money_is_exact(read: Callable[..., Job]) -> None:
    job = read(Change("Job", "", "Budget", "$16,000.10"), Change("Job", "", "Budget said by", "Ada"))
    assert job.client.budget == Decimal("16000.10")


def test_a_job_in_germany_is_metric_and_german(read: Callable[..., Job]) -> None:
    job = read(Change("Job", "", "Tax place", "Germany"), *rooms(1, Length=6, Width=4), *rooms(2, Length=6, Width=4),
               *rooms(3, Length=6, Width=4))
    found = (job.terms.currency, job.terms.locale, job.unit_system, job.gauge_system)
    assert found == ("EUR", "de_DE", "metric", "mm2")


def test_priorities_keep_their_order(read: Callable[..., Job]) -> None:
    assert read(Change("Job", "", "Priorities", "looks; Sound")).client.priorities == ("looks", "sound")


def test_a_room_typed_by_name_is_found_by_code(read: Callable[..., Job]) -> None:
    assert read(Change("Sources", "1", "Location", "living ROOM")).sources[0].location == "LROO"


def test_doorbells_and_paging_on_job_become_extras(read: Callable[..., Job]) -> None:
    job = read(Change("Job", "", "Doorbells", 2), Change("Job", "", "Paging", "yes"))
    assert [(extra.kind, extra.quantity) for extra in job.extras] == [("doorbell", 2), ("paging", 1)]


def test_a_trenchs_quantity_is_metres(read: Callable[..., Job]) -> None:
    job = read(Change("Extras", "1", "Kind", "trench"), Change("Extras", "1", "Quantity", "40 ft"))
    assert job.extras[0].quantity == Decimal("12.192")  # 40 x 0.3048, exact by definition


def test_spare_cables_are_counted(read: Callable[..., Job]) -> None:
    job = read(Change("Extras", "1", "Kind", "spare cable"), Change("Extras", "1", "Quantity", 2),
               Change("Extras", "1", "Room", "kitchen"))
    assert (job.extras[0].quantity, job.extras[0].room) == (2, "KIT")


@pytest.mark.parametrize(("what", "typed", "value"), [
    ("length", 82, "82 ft"), ("length", "25 m", "82.02099738 ft"), ("hours", "3,5", "3.5"), ("price", "$ 120", "120"),
    ("drop", None, ""), ("position", "6'6\", 7 ft", "6'6\", 7 ft"),
])
def test_an_overrides_value_is_kept_in_one_spelling(
    read: Callable[..., Job], what: str, typed: object, value: str,
) -> None:
    cells = {"Line or fact": "1084", "What": what, "New value": typed, "Reason": "measured", "Who": "R. Estimator"}
    job = read(*(Change("Overrides", "1", name, cell) for name, cell in cells.items()))
    assert job.overrides[0].value == value


def test_every_typed_value_of_a_room_knows_its_cell(read: Callable[..., Job]) -> None:
    assert str(room(read(), "Kitchen").cells["length_m"]) == "job.xlsx Rooms!D2"


def test_a_value_from_the_rooms_kind_points_at_the_kind(read: Callable[..., Job]) -> None:
    assert str(room(read(), "Kitchen").cells["mount"]) == "job.xlsx Rooms!B2"


def test_a_blank_start_date_is_not_known_yet(read: Callable[..., Job]) -> None:
    assert read(Change("Job", "", "Start date", None)).start_date is None


def test_the_start_date_is_a_date(read: Callable[..., Job]) -> None:
    assert read().start_date == datetime.date(2027, 4, 12)


@pytest.mark.parametrize("name", [
    "=1+1", "{=A1}", "<script>alert(1)</script>", "{{ 7*7 }}", "👩‍👩‍👧 room", "غرفة", "x" * 60,
])
def test_text_that_looks_odd_arrives_whole(demo: Catalog, tmp_path: Path, name: str) -> None:
    book = plain_book(demo)
    book["Rooms"]["A2"].value = name
    book["Rooms"]["A2"].data_type = "s"
    book.save(tmp_path / "job.xlsx")
    job, problems = read_job(tmp_path / "job.xlsx", demo)
    assert job is not None and name in {found.name for found in job.rooms}, problems


def test_a_zone_above_the_number_of_rooms_says_how_a_room_is_taken_out(demo: Catalog, tmp_path: Path) -> None:
    """Four rooms of four zones, of which the row of the third was deleted."""
    book = plain_book(demo, [Change("Rooms", str(row), "Zone", zone) for row, zone in ((1, 1), (2, 2), (3, 4))])
    book.save(tmp_path / "job.xlsx")
    problem, = read_job(tmp_path / "job.xlsx", demo)[1]
    assert (problem.message, problem.remedy) == (
        "Zone '4' is higher than the number of rooms, 3, and is not on the sheet Zones.",
        "Type the zone that is meant, or add a row for it on Zones. Was a room's row deleted? Leave it there, with "
        "never under 'Plays from'.")

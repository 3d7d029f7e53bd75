"""The blank form: little to type, everything explained, and read by the very definition that it is written from."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from pathlib import Path

import openpyxl
import pytest
from openpyxl.worksheet.worksheet import Worksheet

from quoting.catalog.records import Catalog
from quoting.intake.blank import HEADING_ROW, PAGE_ROWS, everyday_first, page_scale, write_blank
from quoting.intake.columns import Column, IntakeForm, SheetForm, intake_form
from quoting.intake.entries import Measures, Raw, read_value
from quoting.intake.read import read_job
from quoting.problems import Cell, Problem
from tests.problems.forms import Change, apply_change

TABLES = ("Rooms", "Zones", "Sources", "Extras", "Overrides")
OPTIONAL_SHEETS = TABLES[1:]


@pytest.fixture(scope="module")
def path(demo: Catalog, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo catalogue's blank form."""
    made = tmp_path_factory.mktemp("blank") / "blank.xlsx"
    write_blank(made, demo)
    return made


@pytest.fixture(scope="module")
def form(demo: Catalog) -> IntakeForm:
    """What the blank is written from."""
    return intake_form(demo)


@pytest.fixture
def book(path: Path) -> openpyxl.Workbook:
    """The blank form, to look at or to fill in."""
    return openpyxl.load_workbook(path)


def sheet_form(form: IntakeForm, name: str) -> SheetForm:
    """One sheet's definition."""
    return next(sheet for sheet in form.sheets if sheet.name == name)


def heading_cells(book: openpyxl.Workbook, form: IntakeForm) -> Iterator[tuple[Column, openpyxl.cell.cell.Cell]]:
    """Every heading with its cell: lines of Job in column A, others in the heading row."""
    job: Worksheet = book["Job"]
    labels = {row[0].value: row[0] for row in job.iter_rows(max_col=1)}
    for column in form.job.columns:
        yield column, labels[column.heading]
    for name in TABLES:
        cells = {cell.value: cell for cell in book[name][HEADING_ROW + 1]}
        for column in sheet_form(form, name).columns:
            yield column, cells[column.heading]


# ---------------------------------------------------------------- little to type

TWELVE_ROOMS = (
    ("Kitchen", "kitchen", 1, "18 ft", "14 ft", 1), ("Breakfast room", "breakfast", 1, "12 ft", "11 ft", 1),
    ("Family room", "family", 1, "20 ft", "17 ft", 2), ("Dining room", "dining", 1, "15 ft", "12 ft", 3),
    ("Hall", "hall", 1, "22 ft", "8 ft", 3), ("Office", "office", 1, "14 ft", "10 ft", None),
    ("Patio", "patio", 1, "24 ft", "14 ft", None), ("Main bedroom", "main bedroom", 2, "18 ft", "15 ft", 4),
    ("Main bath", "main bath", 2, "12 ft", "10 ft", 4), ("Bedroom 2", "bedroom", 2, "12 ft", "11 ft", None),
    ("Bedroom 3", "bedroom", 2, "12 ft", "11 ft", None), ("Landing", "hall", 2, "16 ft", "7 ft", 3),
)
SIX_LINES = {
    "Client": "Ada and Noor Brandt", "Site address": "12 Lindenhof Lane, Sampleton", "Wall state": "open",
    "Head-end place": "closet", "Start date": datetime.date(2027, 4, 12), "Who pays": "owner",
}


def typed_cells() -> list[Change]:
    """What a salesperson types for 12 rooms in 8 zones."""
    changes = [Change("Job", "", label, value) for label, value in SIX_LINES.items()]
    for row, values in enumerate(TWELVE_ROOMS, 1):
        for column, value in zip(("Name", "Kind", "Floor", "Length", "Width", "Zone"), values, strict=True):
            if value is not None:
                changes.append(Change("Rooms", str(row), column, value))
    return changes


def test_twelve_rooms_in_eight_zones_take_at_most_90_typed_cells(
    book: openpyxl.Workbook, form: IntakeForm, demo: Catalog, tmp_path: Path,
) -> None:
    changes = typed_cells()
    for change in changes:
        apply_change(book, form.floors, change)
    book.save(tmp_path / "job.xlsx")
    job, problems = read_job(tmp_path / "job.xlsx", demo)
    assert job is not None, problems
    assert (len(job.rooms), len(job.zones), len(changes) <= 90) == (12, 8, True)


def test_a_blank_form_asks_for_five_of_its_six_lines_and_a_room_only(path: Path, demo: Catalog) -> None:
    _, problems = read_job(path, demo)
    assert [problem.code for problem in problems] == ["missing-value"] * 5 + ["no-rooms"]  # a start date may be unknown


def test_one_streamer_stands_in_the_sources(book: openpyxl.Workbook) -> None:
    assert [cell.value for cell in book["Sources"][HEADING_ROW + 2]][:2] == ["streamer", "Music streamer"]


# ---------------------------------------------------------------- everything explained

def test_every_heading_has_a_comment(book: openpyxl.Workbook, form: IntakeForm) -> None:
    assert [column.heading for column, cell in heading_cells(book, form) if not cell.comment] == []


def test_every_measure_names_its_unit_in_its_comment(book: openpyxl.Workbook, form: IntakeForm) -> None:
    measures = ("length", "short length", "money", "rate", "hours", "date")
    silent = [column.heading for column, cell in heading_cells(book, form)
              if column.kind in measures and "Unit: " not in cell.comment.text]  # type: ignore[union-attr]
    assert silent == []


def test_every_required_heading_shows_an_example(form: IntakeForm) -> None:
    sheets = (*form.sheets, form.floors)
    assert [c.heading for sheet in sheets for c in sheet.columns if c.required and not c.example] == []


def test_every_example_is_read_without_a_problem(form: IntakeForm) -> None:
    for sheet in (*form.sheets, form.floors):
        for column in sheet.columns:
            if column.example:
                found = read_value(column, column.example, Raw("", Cell("")), Measures("imperial", "USD"))
                assert not isinstance(found, Problem), f"{sheet.name} {column.heading}: {found}"


@pytest.mark.parametrize("name", TABLES)
def test_headings_stay_in_sight(book: openpyxl.Workbook, name: str) -> None:
    assert book[name].freeze_panes == f"B{HEADING_ROW + 2}"


def test_every_choice_has_a_drop_down(book: openpyxl.Workbook, form: IntakeForm) -> None:
    for name in TABLES:
        columns = everyday_first(sheet_form(form, name))
        dropped = {ref.min_col for found in book[name].data_validations.dataValidation for ref in found.sqref.ranges}
        wanted = {at for at, column in enumerate(columns, 1) if column.kind in ("choice", "yes/no")}
        assert dropped == wanted, name


def choices_of(book: openpyxl.Workbook, name: str, heading: str) -> list[object]:
    """What a column's drop-down offers."""
    sheet = book[name]
    at = next(cell.column for cell in sheet[HEADING_ROW + 1] if cell.value == heading)
    found = next(one for one in sheet.data_validations.dataValidation
                 if any(ref.min_col == at for ref in one.sqref.ranges))
    return [row[0].value for row in book["Lists"][found.formula1.removeprefix("Lists!").replace("$", "")]]


def test_an_optional_drop_down_offers_the_question_mark(book: openpyxl.Workbook) -> None:
    assert choices_of(book, "Rooms", "Mount") == ["ceiling", "wall", "surface", "garden", "?"]


def test_a_required_drop_down_offers_no_question_mark(book: openpyxl.Workbook, demo: Catalog) -> None:
    kinds = [row.text("kind") for row in demo.standards.rows("room_kinds")]
    assert choices_of(book, "Rooms", "Kind") == kinds


def test_no_sheet_is_hidden(book: openpyxl.Workbook) -> None:
    assert [sheet.title for sheet in book.worksheets if sheet.sheet_state != "visible"] == []


# ---------------------------------------------------------------- on paper, and again

def test_rare_columns_stand_to_the_right_folded_away(book: openpyxl.Workbook, form: IntakeForm) -> None:
    columns = everyday_first(form.rooms)
    first = next(at for at, column in enumerate(columns) if column.rare)
    letter = openpyxl.utils.get_column_letter(first + 1)
    assert all(column.rare for column in columns[first:])
    assert book["Rooms"].column_dimensions[letter].hidden


def test_a_floor_of_rooms_is_one_landscape_page(book: openpyxl.Workbook) -> None:
    sheet = book["Rooms"]
    breaks = [found.id for found in sheet.row_breaks.brk]
    assert (sheet.page_setup.orientation, breaks[0]) == ("landscape", HEADING_ROW + 1 + PAGE_ROWS)


def test_the_headings_are_on_every_page(book: openpyxl.Workbook) -> None:
    assert book["Rooms"].print_title_rows == f"$1:${HEADING_ROW + 1}"


@pytest.mark.parametrize("name", TABLES)
def test_the_everyday_columns_fit_one_page_across(form: IntakeForm, name: str) -> None:
    everyday = [column for column in sheet_form(form, name).columns if not column.rare]
    inches = sum(7 * column.width + 5 for column in everyday) / 96 * page_scale(everyday, 11.0) / 100
    assert inches <= 10.0  # letter, 11 in wide, margins of half an inch


def test_the_same_catalogue_gives_the_same_bytes(path: Path, demo: Catalog, tmp_path: Path) -> None:
    write_blank(tmp_path / "again.xlsx", demo)
    assert (tmp_path / "again.xlsx").read_bytes() == path.read_bytes()


def test_every_cell_of_the_form_is_text_and_none_a_formula(book: openpyxl.Workbook) -> None:
    kinds = {cell.data_type for sheet in book.worksheets for row in sheet.iter_rows() for cell in row
             if cell.value is not None}
    assert kinds == {"s"}

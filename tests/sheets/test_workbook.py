"""Sheets become grids: values with their addresses, formulas with what was stored, merged headings filled in."""

from __future__ import annotations

import datetime
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter

from quoting.problems import Cell
from quoting.sheets.grid import Formula, Grid
from quoting.sheets.table import find_table, heading_key
from quoting.sheets.workbook import read_workbook


@pytest.fixture
def book() -> openpyxl.Workbook:
    """A workbook with one sheet, Rooms."""
    made = openpyxl.Workbook()
    made.active.title = "Rooms"  # type: ignore[union-attr]
    return made


def read(book: openpyxl.Workbook, folder: Path) -> Grid:
    """The one sheet as it is read back."""
    book.save(folder / "job.xlsx")
    return read_workbook(folder / "job.xlsx")[0][0]


def test_a_value_knows_its_file_sheet_and_address(book: openpyxl.Workbook, tmp_path: Path) -> None:
    book["Rooms"]["AB12"] = "here"
    grid = read(book, tmp_path)
    assert (grid.value(11, 27), grid.cell(11, 27)) == ("here", Cell("job.xlsx", "Rooms", "AB12"))


def test_a_formula_without_a_stored_value_says_so(book: openpyxl.Workbook, tmp_path: Path) -> None:
    book["Rooms"]["A1"] = "=6*3"
    assert read(book, tmp_path).value(0, 0) == Formula("=6*3", None)


def test_a_formula_comes_with_its_stored_value(tmp_path: Path) -> None:
    with xlsxwriter.Workbook(tmp_path / "job.xlsx") as made:
        made.add_worksheet("Rooms").write_formula("B2", "=6*3", None, 18)
    assert read_workbook(tmp_path / "job.xlsx")[0][0].value(1, 1) == Formula("=6*3", 18)


def test_text_that_starts_with_an_equals_sign_is_text(tmp_path: Path) -> None:
    with xlsxwriter.Workbook(tmp_path / "job.xlsx") as made:
        made.add_worksheet("Rooms").write_string("A1", "=1+1")
    assert read_workbook(tmp_path / "job.xlsx")[0][0].value(0, 0) == "=1+1"


def test_a_date_arrives_as_a_date(book: openpyxl.Workbook, tmp_path: Path) -> None:
    book["Rooms"]["A1"] = datetime.date(2027, 1, 18)
    assert read(book, tmp_path).value(0, 0) == datetime.datetime(2027, 1, 18)


def test_a_heading_merged_over_two_columns_is_in_both(book: openpyxl.Workbook, tmp_path: Path) -> None:
    book["Rooms"]["B1"] = "Length"
    book["Rooms"].merge_cells("B1:C1")
    assert read(book, tmp_path).rows[0] == (None, "Length", "Length")


def test_a_zone_merged_over_three_rooms_is_the_zone_of_all_three(book: openpyxl.Workbook, tmp_path: Path) -> None:
    book["Rooms"]["A20"] = 4
    book["Rooms"].merge_cells("A20:A22")
    assert [row[:1] for row in read(book, tmp_path).rows[19:22]] == [(4,), (4,), (4,)]


def test_a_number_merged_over_two_columns_stays_in_the_first(book: openpyxl.Workbook, tmp_path: Path) -> None:
    book["Rooms"]["A20"] = 12
    book["Rooms"]["C20"] = 1
    book["Rooms"].merge_cells("A20:B20")
    assert read(book, tmp_path).rows[19] == (12, None, 1)


def test_a_hidden_sheet_is_read_like_any_other(book: openpyxl.Workbook, tmp_path: Path) -> None:
    book.create_sheet("Zones").sheet_state = "hidden"
    book.save(tmp_path / "job.xlsx")
    assert [grid.sheet for grid in read_workbook(tmp_path / "job.xlsx")[0]] == ["Rooms", "Zones"]


# ---------------------------------------------------------------- headings

NAMES = {"name": "name", "floor": "floor", "length": "length_m"}


def grid(*rows: tuple[object, ...]) -> Grid:
    """A sheet made by hand."""
    return Grid("job.xlsx", "Rooms", rows)


def test_headings_are_found_in_the_fifteenth_row() -> None:
    table, _ = find_table(grid(*[()] * 14, ("Name", "Floor")), NAMES)
    assert table is not None and table.row == 14


def test_headings_in_the_sixteenth_row_are_not_looked_for() -> None:
    table, _ = find_table(grid(*[()] * 15, ("Name", "Floor")), NAMES)
    assert table is None


def test_columns_may_stand_in_any_order_among_others() -> None:
    table, _ = find_table(grid(("Length", "My own", "Name")), NAMES)
    assert table is not None and table.columns == {"length_m": 0, "name": 2}


def test_the_lower_of_two_equal_heading_rows_counts() -> None:
    table, _ = find_table(grid(("Name", "Floor"), ("Name", "Floor"), ("Kitchen", 1)), NAMES)
    assert table is not None and table.row == 1


def test_a_heading_may_name_a_unit() -> None:
    table, _ = find_table(grid(("Name", "Length (metres)")), NAMES)
    assert table is not None and table.units == {"length_m": "m"}


@pytest.mark.parametrize("text", ["Length", " LENGTH * ", "Length:", "Length (ft)", "length [m]"])
def test_case_marks_and_remarks_in_brackets_do_not_count(text: str) -> None:
    assert heading_key(text) == "length"


def test_two_columns_of_one_heading_that_differ_are_a_problem() -> None:
    _, problems = find_table(grid(("Name", "Name"), ("Kitchen", "Bath")), NAMES)
    assert [problem.code for problem in problems] == ["heading-twice"]


def test_a_heading_over_an_empty_second_column_is_no_problem() -> None:
    _, problems = find_table(grid(("Name", "Name"), ("Kitchen", None)), NAMES)
    assert problems == ()

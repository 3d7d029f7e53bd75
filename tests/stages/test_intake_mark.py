"""The marked copy: every problem at its cell and in a list; the salesperson's own file untouched."""

from __future__ import annotations

import shutil
from pathlib import Path

import openpyxl
import pytest
import xlsxwriter

from quoting.catalog.records import Catalog
from quoting.intake.mark import COLOURS, write_marked
from quoting.intake.read import read_job
from quoting.problems import Cell, Problem, stop, warning
from tests.sheets.hostile import zip_bomb

MANY = Path(__file__).parents[1] / "problems" / "many-mistakes.xlsx"


@pytest.fixture(scope="module")
def problems(demo: Catalog) -> tuple[Problem, ...]:
    """What is wrong with the careless day."""
    return read_job(MANY, demo)[1]


@pytest.fixture(scope="module")
def marked(problems: tuple[Problem, ...], tmp_path_factory: pytest.TempPathFactory) -> openpyxl.Workbook:
    """Its marked copy."""
    target = tmp_path_factory.mktemp("marked") / "marked.xlsx"
    write_marked(MANY, problems, target)
    return openpyxl.load_workbook(target)


def test_every_problems_cell_is_filled(marked: openpyxl.Workbook, problems: tuple[Problem, ...]) -> None:
    plain = [p.where for p in problems if p.where.ref
             and marked[p.where.sheet][p.where.ref].fill.fgColor.rgb[2:] not in COLOURS.values()]
    assert plain == []


def test_every_problem_is_in_its_cells_comment(marked: openpyxl.Workbook, problems: tuple[Problem, ...]) -> None:
    silent = [p.where for p in problems if p.where.ref
              and p.message not in marked[p.where.sheet][p.where.ref].comment.text]
    assert silent == []


def test_every_problem_is_in_the_list(marked: openpyxl.Workbook, problems: tuple[Problem, ...]) -> None:
    rows = [(row[3], row[4]) for row in marked["Problems"].iter_rows(min_row=2, values_only=True)]
    assert rows == [(problem.message, problem.remedy) for problem in problems]


def test_a_heading_keeps_its_own_comment_below_the_problem(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active["A1"].comment = openpyxl.comments.Comment("what it is for", "form")
    book.save(tmp_path / "job.xlsx")
    problem = stop(Cell("job.xlsx", "Sheet", "A1"), "x", "It is wrong.", "Type it.")
    write_marked(tmp_path / "job.xlsx", [problem], tmp_path / "marked.xlsx")
    text = openpyxl.load_workbook(tmp_path / "marked.xlsx")["Sheet"]["A1"].comment.text
    assert text == "It is wrong.\nType it.\n\nwhat it is for"


def test_a_problem_in_a_merged_cell_marks_the_cell_that_shows(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.active.merge_cells("B2:B4")
    book.save(tmp_path / "job.xlsx")
    problem = warning(Cell("job.xlsx", "Sheet", "B4"), "x", "It is wrong.", "Type it.")
    write_marked(tmp_path / "job.xlsx", [problem], tmp_path / "marked.xlsx")
    assert openpyxl.load_workbook(tmp_path / "marked.xlsx")["Sheet"]["B2"].comment is not None


def test_the_salespersons_file_is_not_written_to(problems: tuple[Problem, ...], tmp_path: Path) -> None:
    source = tmp_path / "many-mistakes.xlsx"
    shutil.copy(MANY, source)
    write_marked(source, problems, tmp_path / "marked.xlsx")
    assert source.read_bytes() == MANY.read_bytes()


def test_the_file_itself_is_refused_as_a_target(tmp_path: Path) -> None:
    source = tmp_path / "many-mistakes.xlsx"
    shutil.copy(MANY, source)
    with pytest.raises(shutil.SameFileError):
        write_marked(source, [], source)


def test_a_link_to_the_file_is_refused_as_a_target(tmp_path: Path) -> None:
    source, link = tmp_path / "many-mistakes.xlsx", tmp_path / "link.xlsx"
    shutil.copy(MANY, source)
    link.symlink_to(source)
    with pytest.raises(shutil.SameFileError):
        write_marked(source, [], link)


@pytest.mark.parametrize("text", ["=1+1", "{=A1}", "+cmd", "@SUM(A1)", "a\x07b", "👩‍👩‍👧", "غرفة", "{{ x }}"])
def test_what_was_typed_never_becomes_a_formula(tmp_path: Path, text: str) -> None:
    openpyxl.Workbook().save(tmp_path / "job.xlsx")
    problem = stop(Cell("job.xlsx", "Sheet", "A1"), "x", text, text)
    write_marked(tmp_path / "job.xlsx", [problem], tmp_path / "marked.xlsx")
    cell = openpyxl.load_workbook(tmp_path / "marked.xlsx")["Problems"]["D2"]
    assert (cell.data_type, cell.value) == ("s", text.replace("\x07", ""))


def test_text_with_an_equals_sign_in_the_form_stays_text(tmp_path: Path) -> None:
    with xlsxwriter.Workbook(tmp_path / "job.xlsx") as made:
        made.add_worksheet("Rooms").write_string("A1", "=1+1")
    write_marked(tmp_path / "job.xlsx", [], tmp_path / "marked.xlsx")
    assert openpyxl.load_workbook(tmp_path / "marked.xlsx")["Rooms"]["A1"].data_type == "s"


def test_drop_downs_and_frozen_headings_survive(marked: openpyxl.Workbook) -> None:
    rooms = marked["Rooms"]
    assert (rooms.freeze_panes, len(rooms.data_validations.dataValidation) > 10) == ("B5", True)


def test_a_file_that_cannot_be_loaded_gives_the_list_alone(tmp_path: Path) -> None:
    (tmp_path / "job.xlsx").write_bytes(zip_bomb())
    write_marked(tmp_path / "job.xlsx", [stop(Cell("job.xlsx"), "x", "It is wrong.", "Type it.")], tmp_path / "m.xlsx")
    assert openpyxl.load_workbook(tmp_path / "m.xlsx").sheetnames == ["Problems"]


def test_a_marked_copy_may_be_marked_again(problems: tuple[Problem, ...], tmp_path: Path) -> None:
    write_marked(MANY, problems, tmp_path / "one.xlsx")
    write_marked(tmp_path / "one.xlsx", [], tmp_path / "two.xlsx")
    assert openpyxl.load_workbook(tmp_path / "two.xlsx").sheetnames.count("Problems") == 1

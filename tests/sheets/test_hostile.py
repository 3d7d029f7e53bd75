"""A hostile or damaged workbook gives one plain problem, at once, and never an exception."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from quoting.sheets.workbook import read_workbook
from tests.sheets.hostile import CASES, far_empty_cell, plain


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every hostile file on disk."""
    folder = tmp_path_factory.mktemp("hostile")
    for name, (make, _) in CASES.items():
        (folder / f"{name}.xlsx").write_bytes(make())
    return folder


@pytest.mark.parametrize("name", CASES)
def test_a_hostile_file_gives_exactly_one_problem_of_its_code(name: str, files: Path) -> None:
    _, problems = read_workbook(files / f"{name}.xlsx")
    assert [problem.code for problem in problems] == [CASES[name][1]]


@pytest.mark.parametrize("name", [name for name, (_, code) in CASES.items() if code != "far-cell"])
def test_nothing_is_read_from_a_refused_file(name: str, files: Path) -> None:
    grids, _ = read_workbook(files / f"{name}.xlsx")
    assert grids == ()


@pytest.mark.parametrize("name", CASES)
def test_a_hostile_file_is_refused_within_a_second(name: str, files: Path) -> None:
    read_workbook(files / "far_cell.xlsx")  # the loader's own import is not counted
    before = time.perf_counter()
    read_workbook(files / f"{name}.xlsx")
    assert time.perf_counter() - before < 1.0


def test_a_far_cell_does_not_keep_the_rest_from_being_read(files: Path) -> None:
    grids, _ = read_workbook(files / "far_cell.xlsx")
    assert grids[0].rows == (("Name",), ("Kitchen",))


def test_a_far_cell_with_nothing_in_it_is_no_problem(tmp_path: Path) -> None:
    path = tmp_path / "form.xlsx"
    path.write_bytes(far_empty_cell())
    assert read_workbook(path)[1] == ()


def test_an_honest_workbook_is_read(tmp_path: Path) -> None:
    path = tmp_path / "form.xlsx"
    path.write_bytes(plain())
    assert read_workbook(path)[0][0].rows == (("Name",), ("Kitchen",))


def test_a_file_that_is_not_there_is_one_problem(tmp_path: Path) -> None:
    assert [problem.code for problem in read_workbook(tmp_path / "none.xlsx")[1]] == ["missing-file"]


def test_a_folder_is_one_problem(tmp_path: Path) -> None:
    assert [problem.code for problem in read_workbook(tmp_path)[1]] == ["unreadable-file"]

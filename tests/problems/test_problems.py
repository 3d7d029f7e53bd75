"""One folder per code: a broken workbook, and every word that is said about it.

A folder holds `cells.csv` (cells changed in a small good workbook), `hostile.txt` (a builder of
tests/sheets/hostile.py) or neither (no file at all), and `expected.txt`. The texts guard against unintended change.
"""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

from quoting.catalog.records import Catalog
from quoting.intake.read import read_job
from tests.problems.forms import read_changes, save
from tests.sheets.hostile import CASES

HERE = Path(__file__).parent
QUOTING = HERE.parents[1] / "quoting"
FOLDERS = sorted(path.name for path in HERE.iterdir() if (path / "expected.txt").exists())

# Codes without a folder, and why.
ELSEWHERE = {
    "bad-room-kind": "a slip in the catalogue, not in a workbook: tests/stages/test_intake_defaults.py",
    # of a stock list, which is no workbook: whole texts in test_stock.py
    **dict.fromkeys(("row-twice", "unknown-stock-part", "spools-of-no-cable", "spools-do-not-sum", "not-spools",
                     "stock-without-spools", "stock-not-taken", "stock-below-zero"), "test_stock.py"),
}


def report(folder: Path, catalog: Catalog, made: Path) -> str:
    """What reading the folder's input says, a problem a line."""
    path = made / "job.xlsx"
    if (folder / "cells.csv").exists():
        save(path, catalog, *read_changes(folder / "cells.csv"))
    elif (folder / "hostile.txt").exists():
        path.write_bytes(CASES[(folder / "hostile.txt").read_text(encoding="utf-8").strip()][0]())
    elif folder.name == "unreadable-file":
        path.mkdir()
    _, problems = read_job(path, catalog)
    return "".join(f"{problem}\n" for problem in problems)


@pytest.mark.parametrize("code", FOLDERS)
def test_a_broken_workbook_is_reported_word_for_word(code: str, demo: Catalog, tmp_path: Path) -> None:
    assert report(HERE / code, demo, tmp_path) == (HERE / code / "expected.txt").read_text(encoding="utf-8")


@pytest.mark.parametrize("code", FOLDERS)
def test_the_report_is_of_the_folders_own_code(code: str) -> None:
    text = (HERE / code / "expected.txt").read_text(encoding="utf-8")
    assert f" {code}: " in text


def test_the_good_workbook_has_no_problem(demo: Catalog, tmp_path: Path) -> None:
    assert read_job(save(tmp_path / "job.xlsx", demo), demo)[1] == ()


def test_a_careless_day_is_reported_whole(demo: Catalog) -> None:
    _, problems = read_job(HERE / "many-mistakes.xlsx", demo)
    text = "".join(f"{problem}\n" for problem in problems)
    assert text == (HERE / "many-mistakes.txt").read_text(encoding="utf-8")


def test_a_careless_day_has_at_least_25_mistakes_of_different_codes(demo: Catalog) -> None:
    _, problems = read_job(HERE / "many-mistakes.xlsx", demo)
    assert len({problem.code for problem in problems}) >= 25


def test_a_careless_day_names_no_cell_and_code_twice(demo: Catalog) -> None:
    _, problems = read_job(HERE / "many-mistakes.xlsx", demo)
    assert len({(problem.where, problem.code) for problem in problems}) == len(problems)


def codes_in(module: Path) -> set[str]:
    """The codes that a module can report."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            at = {"stop": 1, "warning": 1, "_Refused": 0}.get(node.func.id)
            code = node.args[at] if at is not None and len(node.args) > at else None
            if isinstance(code, ast.Constant):
                found.add(str(code.value))
    return found


def test_every_code_that_intake_reports_has_a_folder() -> None:
    modules = [*(QUOTING / "intake").glob("*.py"), *(QUOTING / "sheets").glob("*.py")]
    codes = set().union(*map(codes_in, modules))
    assert codes - set(FOLDERS) - set(ELSEWHERE) == set()

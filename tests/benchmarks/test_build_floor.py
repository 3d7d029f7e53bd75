"""The floor that a build is measured against does the same file work: same cells, same page, same bytes."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from openpyxl import load_workbook

ROOT = Path(__file__).resolve().parents[2]
SCRIPT = ROOT / "tests" / "benchmarks" / "build_floor.py"
EXAMPLES = {number: min((ROOT / "examples").glob(f"{number}-*.xlsx")) for number in ("1", "2")}


def _run(*arguments: str) -> str:
    done = subprocess.run([sys.executable, str(SCRIPT), *arguments], cwd=ROOT, capture_output=True, text=True,
                          env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.fixture(scope="module", params=EXAMPLES)
def folders(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """What a build of an example wrote, and what the floor wrote after it."""
    here = tmp_path_factory.mktemp("floor")
    _run("--record", str(EXAMPLES[request.param]), str(here / "build"), str(here / "dump"))
    _run("--floor", str(here / "dump"), str(here / "floor"))
    return here / "build", here / "floor"


def _files(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_the_floor_writes_every_file_of_the_build(folders: tuple[Path, Path]) -> None:
    build, floor = map(_files, folders)

    assert floor.keys() == build.keys()


def test_the_floor_writes_the_same_bytes_but_for_workbooks(folders: tuple[Path, Path]) -> None:
    build, floor = map(_files, folders)

    assert [name for name in build if not name.endswith(".xlsx") and build[name] != floor[name]] == []


@pytest.mark.parametrize("values", [False, True], ids=["formulas", "cached values"])
def test_the_floor_writes_the_same_cells(folders: tuple[Path, Path], values: bool) -> None:
    cells = []
    for folder in folders:
        workbook = load_workbook(next(folder.rglob("*.xlsx")), data_only=values)
        cells.append({(sheet.title, cell.coordinate): (cell.value, cell.number_format, cell.font.b)
                      for sheet in workbook for row in sheet.iter_rows() for cell in row if cell.value is not None})
    build, floor = cells

    assert [(where, build[where], floor.get(where)) for where in build if build[where] != floor.get(where)][:5] == []


@pytest.fixture(scope="module")
def measured() -> subprocess.CompletedProcess[str]:
    """The measurement of an example, held against a limit that nothing reaches."""
    return subprocess.run(
        [sys.executable, str(SCRIPT), "--example", "1", "--pairs", "2", "--at-most", "0.1"], cwd=ROOT,
        capture_output=True, text=True, env={**os.environ, "PYTHONPATH": str(ROOT)}, check=False)


def test_the_last_line_of_the_benchmark_is_the_ratio(measured: subprocess.CompletedProcess[str]) -> None:
    assert re.fullmatch(r"ratio \d+\.\d{3}", measured.stdout.splitlines()[-1]), measured.stderr


def test_a_ratio_over_the_limit_is_a_failure(measured: subprocess.CompletedProcess[str]) -> None:
    assert measured.returncode == 1


@pytest.mark.parametrize("part", ["cutting", "level grid"])
def test_the_parts_that_reckon_most_are_timed_apart(part: str, measured: subprocess.CompletedProcess[str]) -> None:
    line = next(line for line in measured.stdout.splitlines() if line.startswith(part))
    found = re.fullmatch(rf"{part} (\d+\.\d) ms, \d+\.\d% of the build", line)
    assert found is not None and float(found[1]) > 0

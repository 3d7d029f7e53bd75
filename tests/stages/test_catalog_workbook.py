"""The catalogue as one workbook and back: nothing is lost, nothing is added."""

from __future__ import annotations

import shutil
from pathlib import Path

import openpyxl
import pytest

from quoting.catalog.workbook import from_workbook, to_workbook
from tests.rules.small_catalog import codes, write_catalog

DEMO = Path(__file__).resolve().parents[2] / "catalogs" / "demo"


def stored(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*.csv"))}


@pytest.fixture()
def book(tmp_path: Path) -> Path:
    """The small catalogue's workbook, beside its folder."""
    assert to_workbook(write_catalog(tmp_path), tmp_path / "small.xlsx") == ()
    return tmp_path / "small.xlsx"


def test_the_starter_catalogue_comes_back_byte_for_byte_in_an_empty_folder(tmp_path: Path) -> None:
    to_workbook(DEMO, tmp_path / "demo.xlsx")
    from_workbook(tmp_path / "demo.xlsx", tmp_path / "back")

    assert stored(tmp_path / "back") == stored(DEMO)


def test_the_same_catalogue_makes_the_same_workbook(tmp_path: Path, book: Path) -> None:
    to_workbook(tmp_path / "small", tmp_path / "again.xlsx")

    assert (tmp_path / "again.xlsx").read_bytes() == book.read_bytes()


def test_every_table_has_its_sheet(book: Path) -> None:
    names = openpyxl.load_workbook(book).sheetnames

    assert {"parts", "parts.speakers", "rules.speaker", "standards.slack"} <= set(names)


def test_every_filled_cell_is_text(book: Path) -> None:
    sheets = openpyxl.load_workbook(book).worksheets

    assert {type(cell.value) for sheet in sheets for row in sheet.iter_rows() for cell in row} <= {str, type(None)}


def test_an_untouched_table_keeps_its_own_line_ends_and_quotes(tmp_path: Path) -> None:
    folder = write_catalog(tmp_path)
    odd = b'\xef\xbb\xbfcode,kind,text,note\r\n"say.ladder",caution,"A tall ladder is used.",\r\n\r\n'
    (folder / "statements.csv").write_bytes(odd)
    to_workbook(folder, tmp_path / "small.xlsx")
    from_workbook(tmp_path / "small.xlsx", folder)

    assert (folder / "statements.csv").read_bytes() == odd


def change(book: Path, sheet: str, ref: str, value: object) -> None:
    loaded = openpyxl.load_workbook(book)
    loaded[sheet][ref] = value
    loaded.save(book)


@pytest.mark.parametrize(("value", "text"), [
    (0.1 + 0.2, "0.3"), (35, "35"), (35.0, "35"), (1e-05, "0.00001"), ("35.50", "35.50"),
])
def test_a_number_that_an_estimator_typed_becomes_plain_text(
    tmp_path: Path, book: Path, value: object, text: str
) -> None:
    change(book, "prices", "E2", value)
    from_workbook(book, tmp_path / "small")

    assert (tmp_path / "small" / "prices.csv").read_text().splitlines()[1].split(",")[4] == text


def test_only_the_changed_table_is_written(tmp_path: Path, book: Path) -> None:
    before = stored(tmp_path / "small")
    change(book, "prices", "E2", "35.50")
    from_workbook(book, tmp_path / "small")
    after = stored(tmp_path / "small")

    assert [name for name in after if after[name] != before[name]] == ["prices.csv"]


@pytest.mark.parametrize(("sheet", "ref", "value", "code"), [
    ("prices", "E2", "=34*2", "formula-cell"),
    ("parts", "A3", 12, "number-for-part"),
    ("rules.speaker", "F4", 12, "number-for-part"),
    ("options", "C4", 12, "number-for-part"),
])
def test_what_would_lose_something_is_refused_and_nothing_is_written(
    tmp_path: Path, book: Path, sheet: str, ref: str, value: object, code: str
) -> None:
    before = stored(tmp_path / "small")
    change(book, sheet, ref, value)
    problems = from_workbook(book, tmp_path / "small")

    assert ([problem.code for problem in problems], stored(tmp_path / "small")) == ([code], before)


def test_a_sheet_of_notes_is_left_out_with_a_warning(tmp_path: Path, book: Path) -> None:
    loaded = openpyxl.load_workbook(book)
    loaded.create_sheet("parts.notes")["A1"] = "remember"
    loaded.save(book)
    problems = from_workbook(book, tmp_path / "small")

    assert [(problem.code, problem.severity) for problem in problems] == [("unknown-sheet", "warning")]


def test_a_stored_formula_never_reaches_a_workbook(tmp_path: Path) -> None:
    folder = write_catalog(tmp_path, {"statements.csv": "code,kind,text,note\nsay.x,caution,=1+1,\n"})

    assert (codes(to_workbook(folder, tmp_path / "x.xlsx")), (tmp_path / "x.xlsx").exists()) == (
        [("statements.csv C2", "formula-cell")], False)


def test_a_table_of_semicolons_makes_no_workbook(tmp_path: Path) -> None:
    shutil.copytree(DEMO, tmp_path / "cat")
    table = tmp_path / "cat" / "prices.csv"
    table.write_text("part;cost\nSC14-4W;480,5\n", encoding="utf-8")
    problems = to_workbook(tmp_path / "cat", tmp_path / "book.xlsx")
    assert [(problem.code, problem.where.file) for problem in problems] == [("semicolon-table", table.name)]
    assert not (tmp_path / "book.xlsx").exists()


def test_a_folder_without_tables_makes_no_workbook(tmp_path: Path) -> None:
    assert [problem.code for problem in to_workbook(tmp_path, tmp_path / "x.xlsx")] == ["missing-catalogue"]


def test_a_file_that_is_no_workbook_changes_nothing(tmp_path: Path) -> None:
    folder = write_catalog(tmp_path)
    before = stored(folder)
    shutil.copy(folder / "parts.csv", tmp_path / "parts.xlsx")
    problems = from_workbook(tmp_path / "parts.xlsx", folder)

    assert (bool(problems), stored(folder)) == (True, before)

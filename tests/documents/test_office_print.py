"""The office workbook on paper: on the pages planned, with letters that can be read."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import openpyxl
import pytest
from openpyxl.worksheet.worksheet import Worksheet

from quoting.documents.office import workbook_bytes
from quoting.quote import Quote
from tests.documents.print_letters import PrintedPage, printed_pages

IN_PARTS = {"Assumptions", "Bill", "Design", "Groups", "Head end", "Inputs", "Labour", "Levels", "Open questions",
            "Options", "Part prices", "Problems", "Purchases", "Runs", "Why", "Wiring", "Zones"}
FOOT_PT = 60.0  # the sheets' lower margin, in which the foot stands
PLANNED = {"Summary": 2, "What if": 2}  # what an owner takes to a meeting: figures and charts, changes and limits


@dataclass(frozen=True, slots=True)
class Printed:
    """One printed page: of which sheet, and how high the letters of most of its text are."""

    sheet: str
    letters_pt: float


@pytest.fixture(scope="module")
def workbook(quotes: dict[str, Quote]) -> bytes:
    return workbook_bytes(quotes["1"])


@pytest.fixture(scope="module")
def sheets(workbook: bytes) -> list[Worksheet]:
    return list(openpyxl.load_workbook(io.BytesIO(workbook)))


def _across(sheet: Worksheet) -> int:
    return sheet.page_setup.fitToWidth or 1


def test_a_sheet_goes_on_side_by_side_only_where_each_page_says_what_its_rows_are(sheets: list[Worksheet]) -> None:
    for sheet in sheets:
        assert bool(sheet.page_setup.scale) == (sheet.title in PLANNED), sheet.title
        assert _across(sheet) == 1 or sheet.title in IN_PARTS, sheet.title
        assert (_across(sheet) > 1) == bool(sheet.print_title_cols), sheet.title


def test_the_widest_sheets_go_on_side_by_side(sheets: list[Worksheet]) -> None:
    assert {sheet.title for sheet in sheets if _across(sheet) > 1} >= {"Bill", "Labour"}


def test_every_row_of_one_line_is_high_enough_for_any_usual_letters(sheets: list[Worksheet]) -> None:
    # 10 pt letters of DejaVu Sans, the tallest usual face, take 1.164 of their size. Its own hhea table, from memory
    for sheet in sheets:
        assert (sheet.sheet_format.defaultRowHeight or 0) >= 10 * 1.164 + 1, sheet.title
        assert [row for row, found in sheet.row_dimensions.items() if found.height and found.height < 12.6] == []


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
def test_printed_sheets_come_out_on_the_pages_planned_large_enough_to_read(
        printed: list[Printed], sheets: list[Worksheet]) -> None:
    counts = Counter(page.sheet for page in printed)
    assert set(counts) == {sheet.title for sheet in sheets}
    assert {sheet: counts[sheet] for sheet in PLANNED} == PLANNED
    assert {sheet.title: counts[sheet.title] for sheet in sheets if counts[sheet.title] < _across(sheet)} == {}
    # Small print is 6 to 6.5 pt (common practice, no source); another font in the place of the workbook's own may be a
    # third wider, and the page then smaller: here it is DejaVu Sans.
    assert {page.sheet: page.letters_pt for page in printed if page.letters_pt < 6.5} == {}


def test_what_stands_under_a_title_fits_one_page(sheets: list[Worksheet]) -> None:
    # 25 cm of paper between margins hold a hundred 10 pt digits of the widest usual face, 0.636 of its size wide
    long = {sheet.title: sheet[where].value for sheet in sheets for where in ("A3", "A4")
            if len(str(sheet[where].value or "")) > 110}
    assert long == {}


@pytest.fixture(scope="module")
def printed(workbook: bytes, tmp_path_factory: pytest.TempPathFactory) -> list[Printed]:
    return _print(workbook, tmp_path_factory.mktemp("print"))


def _print(workbook: bytes, folder: Path) -> list[Printed]:
    (folder / "office.xlsx").write_bytes(workbook)
    subprocess.run(["soffice", f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless", "--convert-to",
                    "pdf", "--outdir", str(folder), str(folder / "office.xlsx")],
                   check=True, capture_output=True, timeout=180)
    return [_page(page) for page in printed_pages(folder / "office.pdf", FOOT_PT)]


def _page(page: PrintedPage) -> Printed:
    foot = re.search(r"· office only · (.+), \d+ of \d+$", "\n".join(page.foot), re.MULTILINE)
    assert foot, page.foot
    sizes = Counter(letter.size_pt for letter in page.letters)
    return Printed(foot.group(1), max(sizes, key=sizes.__getitem__))

"""The office workbook on paper: on the pages planned, with letters that can be read."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
from dataclasses import dataclass
from pathlib import Path

import openpyxl
import pdfplumber
import pytest
from openpyxl.worksheet.worksheet import Worksheet

from quoting.documents.office import workbook_bytes
from quoting.quote import Quote

ON_ONE_PAGE = {"Summary", "What if"}  # what an owner takes to a meeting
IN_PARTS = {"Bill", "Labour", "Purchases", "Part prices", "Why", "Runs", "Wiring", "Head end", "Design", "Groups"}


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


def test_a_sheet_goes_on_side_by_side_only_where_each_page_says_what_its_rows_are(sheets: list[Worksheet]) -> None:
    for sheet in sheets:
        across = sheet.page_setup.fitToWidth or 1
        assert sheet.sheet_properties.pageSetUpPr.fitToPage and (across == 1 or sheet.title in IN_PARTS), sheet.title
        assert (across > 1) == bool(sheet.print_title_cols), sheet.title


def test_the_widest_sheets_go_on_side_by_side(sheets: list[Worksheet]) -> None:
    assert {sheet.title for sheet in sheets if (sheet.page_setup.fitToWidth or 1) > 1} >= {"Bill", "Labour"}


@pytest.mark.skipif(shutil.which("soffice") is None, reason="LibreOffice is not installed")
def test_printed_sheets_come_out_on_the_pages_planned_large_enough_to_read(
        workbook: bytes, sheets: list[Worksheet], tmp_path: Path) -> None:
    pages = _print(workbook, tmp_path)
    assert {page.sheet for page in pages} == {sheet.title for sheet in sheets}
    assert sorted(page.sheet for page in pages if page.sheet in ON_ONE_PAGE) == sorted(ON_ONE_PAGE)
    # Agate, the smallest type that newspapers set, is 5.5 pt; another font in the place of the workbook's own may be a
    # third wider, and the page then smaller. Common practice, no source.
    assert {page.sheet: page.letters_pt for page in pages if page.letters_pt < 5.5 / 1.35} == {}


def _print(workbook: bytes, folder: Path) -> list[Printed]:
    (folder / "office.xlsx").write_bytes(workbook)
    subprocess.run(["soffice", f"-env:UserInstallation={(folder / 'profile').as_uri()}", "--headless", "--convert-to",
                    "pdf", "--outdir", str(folder), str(folder / "office.xlsx")],
                   check=True, capture_output=True, timeout=180)
    with pdfplumber.open(folder / "office.pdf") as found:
        return [_page(page) for page in found.pages]


def _page(page: pdfplumber.page.Page) -> Printed:
    foot = re.search(r"· office only · (.+), \d+ of \d+$", page.extract_text())
    assert foot, page.extract_text()[-200:]
    sizes = [char["size"] for char in page.chars]
    return Printed(foot.group(1), max(set(sizes), key=sizes.count))

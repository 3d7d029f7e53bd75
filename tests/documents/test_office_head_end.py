"""The sheet Head end and the other engineering sheets: every device of every option, and which row decided it."""

from __future__ import annotations

from io import BytesIO
from typing import Any

import openpyxl
import pytest
from openpyxl.worksheet.worksheet import Worksheet

from quoting.documents.office import workbook_bytes
from quoting.quote import Quote

KINDS = ("controller", "audio_source", "amplifier", "trigger", "network_device", "rack", "rack_slot")
TABLES = ("Runs", "Zones", "Wiring", "Head end", "Levels")


@pytest.fixture(scope="module")
def book(quotes: dict[str, Quote]) -> Any:
    """Example 3's workbook."""
    return openpyxl.load_workbook(BytesIO(workbook_bytes(quotes["3"])))


def lines(sheet: Worksheet) -> list[dict[str, Any]]:
    """Each row of the sheet's tables by its headings; a table begins where column A says Option."""
    found: list[dict[str, Any]] = []
    headings: list[str] = []
    for row in sheet.iter_rows(values_only=True):
        if row[0] == "Option":
            headings = [str(cell) for cell in row if cell]
        elif headings and row[0] and any(cell is not None for cell in row[1:]):
            found.append(dict(zip(headings, row, strict=False)))
    return found


@pytest.mark.parametrize("kind", KINDS)
def test_every_device_of_every_option_stands_on_the_sheet(kind: str, book: Any, quotes: dict[str, Quote]) -> None:
    shown = {(line["Option"], value) for line in lines(book["Head end"]) for value in line.values()}
    asked = {(option.name, fact["id"]) for option in quotes["3"].options for fact in option.facts.get(kind, ())}
    assert asked and asked <= shown


@pytest.mark.parametrize("name", TABLES)
def test_every_line_of_an_engineering_sheet_says_which_row_decided_it(name: str, book: Any) -> None:
    told = lines(book[name])
    assert told and [line for line in told if "Decided by" not in line or not line["Decided by"]] == []


def test_the_sheet_shows_hours_at_p50_and_p80_by_phase(book: Any, quotes: dict[str, Quote]) -> None:
    shown = {(line["Option"], line["Phase"]): (line["Hours P50"], line["Hours P80"])
             for line in lines(book["Head end"]) if "Hours P80" in line}
    asked = {(option.name, fact["phase"]): (fact["hours"], fact["p80_hours"])
             for option in quotes["3"].options for fact in option.facts["phase_effort"]}
    assert shown == asked


def test_the_sheet_shows_every_visit_with_its_days(book: Any, quotes: dict[str, Quote]) -> None:
    shown = [(line["Option"], line["Visit"], line["First day"], line["Last day"])
             for line in lines(book["Head end"]) if "Visit" in line]
    assert shown == [row for option in quotes["3"].options for row in (
        *((option.name, visit.id, str(visit.first_date), str(visit.last_date)) for visit in option.timetable.visits),
        *((option.name, visit.id, "to be agreed", "–") for visit in option.timetable.agreed))]


def test_a_rack_shows_heat_in_both_units(book: Any) -> None:
    # 1 W is 3.412 BTU/h (ownersrepny.com)
    racks = [line for line in lines(book["Head end"]) if "Heat BTU/h" in line]
    assert racks and all(line["Heat BTU/h"] == pytest.approx(line["Heat W"] * 3.412, rel=1e-3) for line in racks)

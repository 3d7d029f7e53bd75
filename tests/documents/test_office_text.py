"""Any text arrives in the office workbook whole, as text, and moves no amount; the same quote gives the same bytes."""

from __future__ import annotations

import io
import subprocess
import sys
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from msgspec.structs import replace
from xlsxwriter.worksheet import Worksheet

from quoting import quote as q
from quoting.documents.office import money_cells, workbook_bytes, write_office_workbook
from quoting.documents.quote_file import decode_quote, encode_quote
from quoting.documents.sheet_writer import Unwritten
from quoting.job import Default
from tests.builders import cell as intake_cell
from tests.documents.office_sample import sample_pricing, sample_quote
from tests.documents.recalculate import differences, spoil, with_ironcalc

SAMPLE = sample_quote()
NASTY = (
    "=1+1",
    "{=A1}",
    "+1",
    "-2+3",
    "@SUM(A1)",
    "<script>alert(1)</script>",
    "{{ quote }}",
    "{% raw %}",
    "<r><b>bold</b></r>",
    "http://example.invalid/?a=1&b=2",
    "internal:'Bill'!A1",
    "#REF!",
    "TRUE",
    "00123",
    "1/2",
    "&amp;",
    "\U0001f3b5 music",
    "\u0645\u0648\u0633\u064a\u0642\u0649",
    "\u05de\u05d5\u05d6\u05d9\u05e7\u05d4 \u202eabc",
    "line one\nline two",
    "  kept  ",
    "x" * 2000,
)


# ---------------------------------------------------------------- text


def _cells(quote: q.Quote) -> list[tuple[str, str, Any]]:
    """Sheet, kind and value of every cell that holds something."""
    book = openpyxl.load_workbook(io.BytesIO(workbook_bytes(quote)))
    return [
        (sheet.title, found.data_type, found.value)
        for sheet in book
        for row in sheet.iter_rows()
        for found in row
        if found.value is not None
    ]


def _with_text(text: str) -> q.Quote:
    """The sample with one text in every place where a person's or a table's own words stand."""
    job = replace(
        SAMPLE.job,
        client=replace(SAMPLE.job.client, name=text, site=text),
        rooms=tuple(replace(room, name=text) for room in SAMPLE.job.rooms),
    )
    return replace(
        SAMPLE,
        job=job,
        firm=replace(SAMPLE.firm, name=text, notice=text),
        parts={key: replace(info, description=text, supplier=text) for key, info in SAMPLE.parts.items()},
        tasks={key: replace(info, description=text) for key, info in SAMPLE.tasks.items()},
        statements=tuple(replace(found, text=text) for found in SAMPLE.statements),
        open_questions=tuple(replace(found, question=text, used=text, who=text) for found in SAMPLE.open_questions),
        defaults=(Default(text, text, text, text, intake_cell("Rooms", "B4")),),
        problems=tuple(replace(found, message=text, remedy=text) for found in SAMPLE.problems),
        recommendation=replace(SAMPLE.recommendation, reason=text),
        pricing=sample_pricing(discount_reason=text),
    )


@pytest.mark.parametrize("text", NASTY, ids=[repr(text[:24]) for text in NASTY])
def test_any_text_arrives_whole_and_as_text(text: str) -> None:
    found = {(sheet, value) for sheet, kind, value in _cells(_with_text(text)) if kind == "s"}
    sheets = ("Bill", "Labour", "Purchases", "Part prices", "Options", "Assumptions", "Problems", "Open questions")
    assert [sheet for sheet in sheets if (sheet, text) not in found] == []


@pytest.mark.parametrize("text", NASTY, ids=[repr(text[:24]) for text in NASTY])
def test_no_text_becomes_a_formula(text: str) -> None:
    kinds = [kind for _, kind, _ in _cells(_with_text(text))]
    assert kinds.count("f") == [kind for _, kind, _ in _cells(_with_text("plain"))].count("f")


@pytest.mark.parametrize("code", ["=1+1", "*", "?", "~", ">0", "<>", "{=A1", "KIT*"])
def test_a_room_code_that_a_sum_would_take_for_a_pattern_moves_no_amount(code: str, tmp_path: Path) -> None:
    rooms = tuple(replace(room, code=code) if room.code == "KIT" else room for room in SAMPLE.job.rooms)
    options = tuple(
        replace(
            option,
            rooms=tuple(_moved(row, code) for row in option.rooms),
            materials=tuple(_moved(row, code) for row in option.materials),
            labour=tuple(_moved(row, code) for row in option.labour),
        )
        for option in SAMPLE.options
    )
    steps = tuple(replace(step, rows=tuple(_moved(row, code) for row in step.rows)) for step in SAMPLE.steps)
    quote = replace(SAMPLE, job=replace(SAMPLE.job, rooms=rooms), options=options, steps=steps)
    cells = money_cells(quote)
    assert differences(cells, with_ironcalc(spoil(workbook_bytes(quote)), cells, tmp_path)) == []


def _moved(row: Any, code: str) -> Any:
    return replace(row, room=code) if row.room == "KIT" else row


def test_a_text_longer_than_a_cell_holds_is_refused_and_not_cut() -> None:
    quote = replace(SAMPLE, recommendation=replace(SAMPLE.recommendation, reason="x" * 40_000))
    with pytest.raises(Unwritten) as refusal:
        workbook_bytes(quote)
    assert refusal.value.code < 0


# ---------------------------------------------------------------- bytes


def test_the_same_quote_gives_the_same_bytes() -> None:
    assert workbook_bytes(SAMPLE) == workbook_bytes(sample_quote())


def test_the_bytes_do_not_depend_on_the_order_of_hashes() -> None:
    code = (
        "import hashlib; from tests.documents.office_sample import sample_quote; "
        "from quoting.documents.office import workbook_bytes; "
        "print(hashlib.sha256(workbook_bytes(sample_quote())).hexdigest())"
    )
    root = Path(__file__).resolve().parents[2]
    runs = {
        subprocess.run(
            [sys.executable, "-c", code],
            cwd=root,
            env={"PYTHONHASHSEED": seed, "PYTHONPATH": str(root)},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for seed in ("1", "4242")
    }
    assert len(runs) == 1


@pytest.mark.parametrize("quote", [SAMPLE, sample_quote(sample_pricing(tax_basis="line"))], ids=["invoice", "line"])
def test_the_quick_sheet_writes_what_the_plain_one_writes_byte_for_byte(quote: q.Quote) -> None:
    assert workbook_bytes(quote) == workbook_bytes(quote, Worksheet)


def test_a_quote_read_back_from_its_file_gives_the_same_workbook(quotes: dict[str, q.Quote]) -> None:
    quote = quotes["1"]
    assert workbook_bytes(decode_quote(encode_quote(quote))) == workbook_bytes(quote)


def test_the_file_is_written_where_it_is_asked_for(tmp_path: Path) -> None:
    write_office_workbook(SAMPLE, tmp_path / "office.xlsx")
    assert (tmp_path / "office.xlsx").read_bytes() == workbook_bytes(SAMPLE)

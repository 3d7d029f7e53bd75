"""A copy of the salesperson's workbook with every problem at its cell, and a sheet that lists them all."""

from __future__ import annotations

import io
import os
import shutil
import warnings
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from quoting.problems import Problem, in_order
from quoting.sheets.grid import column_letters
from quoting.sheets.guard import survey

if TYPE_CHECKING:
    from openpyxl.cell.cell import Cell, MergedCell
    from openpyxl.workbook.workbook import Workbook
    from openpyxl.worksheet.worksheet import Worksheet

SHEET = "Problems"
COLOURS = {"stop": "F6C6C0", "warning": "FBE7A8"}
COMMENT_LIMIT = 8_000  # a comment of many problems in one cell; a spreadsheet's own limit is 32,767

_HEADINGS = (("Severity", 11), ("Sheet", 12), ("Cell", 9), ("What is wrong", 80), ("What to type", 60), ("Code", 24),
             ("File", 28))


def write_marked(source: Path, problems: Iterable[Problem], target: Path) -> None:
    """Writes the marked copy. A workbook that cannot be loaded gives the list of problems alone.

    The source is never written to: shutil.SameFileError where the target is the source; OSError where the target
    cannot be written. What the loader does not keep is lost in the copy: values stored with formulas, sparklines,
    text boxes.
    """
    if target.exists() and source.exists() and os.path.samefile(source, target):
        raise shutil.SameFileError(f"'{target.name}' is the workbook itself; the marked copy needs another name.")
    found = in_order(problems)
    book = _load(source) or _empty()
    _mark_cells(book, [problem for problem in found if problem.where.file == source.name])
    _list_problems(book, found)
    buffer = io.BytesIO()
    book.save(buffer)
    beside = target.with_name(f"{target.name}.part")
    beside.write_bytes(buffer.getvalue())
    os.replace(beside, target)


def _load(source: Path) -> Workbook | None:
    from openpyxl import load_workbook

    try:
        data = source.read_bytes()
        if isinstance(survey(data, source.name), Problem):
            return None
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            return load_workbook(io.BytesIO(data), rich_text=True, keep_links=False)
    except Exception:  # the same dozen kinds that the reader meets; the list of problems says what is wrong
        return None


def _empty() -> Workbook:
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.worksheets[0])
    return book


def _mark_cells(book: Workbook, problems: Iterable[Problem]) -> None:
    by_cell: dict[tuple[str, str], list[Problem]] = {}
    for problem in problems:
        if problem.where.ref and problem.where.sheet in book.sheetnames:
            by_cell.setdefault((problem.where.sheet, problem.where.ref), []).append(problem)
    for (sheet, ref), here in by_cell.items():
        _mark(book[sheet], ref, here)


def _mark(sheet: Worksheet, ref: str, problems: list[Problem]) -> None:
    from openpyxl.comments import Comment
    from openpyxl.styles import PatternFill

    cell = _top_left(sheet, ref)
    severity = "stop" if any(problem.severity == "stop" for problem in problems) else "warning"
    cell.fill = PatternFill("solid", fgColor=COLOURS[severity])
    said = [f"{problem.message}\n{problem.remedy}" for problem in problems]
    if cell.comment:
        said.append(cell.comment.text)
    text = _clean("\n\n".join(said))[:COMMENT_LIMIT]
    cell.comment = Comment(text, "check", height=40 + 18 * (text.count("\n") + len(text) // 40), width=320)


def _top_left(sheet: Worksheet, ref: str) -> Cell:
    """The cell that shows in a merged range: the others take neither colour nor comment."""
    from openpyxl.cell.cell import MergedCell

    cell: Cell | MergedCell = sheet[ref]
    if isinstance(cell, MergedCell):
        for merged in sheet.merged_cells.ranges:
            if cell.coordinate in merged:
                return sheet.cell(merged.min_row, merged.min_col)  # type: ignore[return-value]
    return cell  # type: ignore[return-value]


def _list_problems(book: Workbook, problems: Iterable[Problem]) -> None:
    from openpyxl.styles import Alignment, Font, PatternFill
    from openpyxl.worksheet.properties import PageSetupProperties

    if SHEET in book.sheetnames:  # from an earlier marked copy
        book.remove(book[SHEET])
    sheet: Worksheet = book.create_sheet(SHEET, 0)
    book.active = 0
    for other in book.worksheets:
        other.sheet_view.tabSelected = other is sheet
    for column, (heading, width) in enumerate(_HEADINGS, 1):
        _write(sheet, 1, column, heading).font = Font(bold=True)
        sheet.column_dimensions[column_letters(column - 1)].width = width
    for row, problem in enumerate(problems, 2):
        where = problem.where
        values = (problem.severity, where.sheet, where.ref, problem.message, problem.remedy, problem.code, where.file)
        for column, value in enumerate(values, 1):
            cell = _write(sheet, row, column, value)
            cell.alignment = Alignment(wrap_text=True, vertical="top")
        sheet.cell(row, 1).fill = PatternFill("solid", fgColor=COLOURS[problem.severity])
        if where.ref and where.sheet in book.sheetnames:
            quoted = where.sheet.replace("'", "''")
            sheet.cell(row, 3).hyperlink = f"#'{quoted}'!{where.ref}"
            sheet.cell(row, 3).font = Font(underline="single", color="1F5F6B")
    sheet.freeze_panes = "A2"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)


def _write(sheet: Worksheet, row: int, column: int, text: str) -> Cell:
    """Text as text: assigned as a value it would become a formula where it starts with an equals sign."""
    cell = sheet.cell(row, column)
    cell.value = _clean(text)
    cell.data_type = "s"
    return cell  # type: ignore[return-value]


def _clean(text: str) -> str:
    """Without the control characters that a workbook cannot hold."""
    from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

    return ILLEGAL_CHARACTERS_RE.sub("", text)[:32_000]

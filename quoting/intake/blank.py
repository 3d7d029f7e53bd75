"""Writes the blank intake workbook: headings, comments, drop-downs and pages from the definition of the columns."""

from __future__ import annotations

import datetime
import io
from pathlib import Path
from typing import TYPE_CHECKING, Any

from msgspec import Struct

from quoting.catalog.records import Catalog
from quoting.intake.columns import Column, IntakeForm, SheetForm, intake_form
from quoting.sheets.grid import column_letters

if TYPE_CHECKING:
    from xlsxwriter.format import Format
    from xlsxwriter.workbook import Workbook
    from xlsxwriter.worksheet import Worksheet

HEADING_ROW = 3  # 0-based; a title, a purpose and an empty row stand above
LAST_INPUT_ROW = 420  # drop-downs and lines reach this far
PAGE_ROWS = 20  # of rooms on one landscape page: a floor
PAGES = 4
FLOOR_ROWS = 4

_MADE = datetime.datetime(2026, 1, 1)  # a fixed date: the same catalogue gives the same bytes
_PAGE_INCHES = {1: 11.0, 9: 11.69}  # paper numbers of letter and A4, long side
_MARGIN = 0.5
_AS_TEXT = frozenset({"code", "part", "id"})  # 0012 and 1-2 are no number and no date here
_UNITS = {
    "length": "feet or metres, by the job's unit system; 12'6\", 12 ft 6 in, 3.81 m and 381 cm are understood",
    "short length": "inches or centimetres, by the job's unit system; 16 in, 40 cm and 400 mm are understood",
    "amount": "pieces; feet or metres for lengths", "money": "the job's currency", "rate": "percent",
    "hours": "hours; 45 min and 1:30 are understood", "date": "year-month-day", "yes/no": "yes or no",
}


class _Looks(Struct, frozen=True):
    """The formats, made once."""

    title: Format
    purpose: Format
    needed: Format
    heading: Format
    rare: Format
    line: Format
    section: Format
    label: Format
    needed_label: Format
    value: Format
    date_value: Format
    rate_value: Format
    money_value: Format
    hint: Format
    typed: Format
    text: Format


def write_blank(path: Path, catalog: Catalog) -> None:
    """Writes a blank intake workbook for this catalogue. OSError where the file cannot be written."""
    from xlsxwriter.workbook import Workbook

    form = intake_form(catalog)
    paper = 1 if next((place.currency for place in catalog.places.values()), "USD") == "USD" else 9
    buffer = io.BytesIO()
    book = Workbook(buffer, {"in_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    book.set_properties({"title": "Intake workbook", "author": catalog.firm.firm.name, "created": _MADE})
    looks = _make_looks(book, catalog.firm.firm.accent or "#1f5f6b")
    sheets = {sheet.name: book.add_worksheet(sheet.name) for sheet in form.sheets}
    lists = _Lists(book, looks)
    _write_job(sheets["Job"], form, looks, lists)
    for sheet in form.sheets[1:]:
        _write_table(sheets[sheet.name], sheet, looks, lists)
        _set_page(sheets[sheet.name], sheet, paper)
    _page_breaks(sheets["Rooms"])
    _fill_sources(sheets["Sources"], form.sources)
    _set_page(sheets["Job"], form.job, paper)
    book.close()
    path.write_bytes(buffer.getvalue())


def _make_looks(book: Workbook, accent: str) -> _Looks:
    def look(**properties: object) -> Format:
        return book.add_format({"font_name": "Calibri", "font_size": 11, "valign": "vcenter", **properties})

    soft = "#d9e0e2"
    head: dict[str, object] = {"bold": True, "text_wrap": True, "valign": "vcenter", "border": 1, "border_color": soft}
    cell: dict[str, object] = {"border": 1, "border_color": soft}
    return _Looks(
        title=look(bold=True, font_size=18, font_color=accent),
        purpose=look(font_color="#5b666b"),
        needed=look(**head, bg_color=accent, font_color="#ffffff"),
        heading=look(**head, bg_color="#e4edef", font_color="#23343a"),
        rare=look(**head, bg_color="#f2f2f0", font_color="#5b666b"),
        line=book.add_format({"border": 1, "border_color": soft}),
        section=look(bold=True, font_size=13, font_color=accent),
        label=look(font_color="#23343a"),
        needed_label=look(bold=True, font_color=accent),
        value=look(**cell, bg_color="#fffdf4"),
        date_value=look(**cell, bg_color="#fffdf4", num_format="yyyy-mm-dd", align="left"),
        rate_value=look(**cell, bg_color="#fffdf4", num_format="0.##%", align="left"),
        money_value=look(**cell, bg_color="#fffdf4", num_format="#,##0.00", align="left"),
        hint=look(font_color="#5b666b", text_wrap=True, font_size=10),
        typed=look(align="left"),
        text=look(align="left", num_format="@"),
    )


class _Lists:
    """The sheet of choices that drop-downs point to; open to see, so that nothing on the form is hidden."""

    def __init__(self, book: Workbook, looks: _Looks) -> None:
        self._sheet: Worksheet = book.add_worksheet("Lists")
        self._sheet.set_landscape()
        self._sheet.fit_to_pages(1, 0)
        self._sheet.set_row(0, 28)
        self._looks = looks
        self._ranges: dict[tuple[str, ...], int] = {}
        _text(self._sheet, 0, 0, "Lists", looks.title)
        _text(self._sheet, 1, 0, "The choices of the drop-downs. They come from the catalogue: change them there.",
              looks.purpose)

    def source(self, column: Column) -> str:
        """The range of a column's choices; with `?` where the column may be left open."""
        choices = column.choices or ("yes", "no")
        if choices not in self._ranges:
            at = self._ranges[choices] = len(self._ranges)
            self._sheet.set_column(at, at, max(14, *(len(word) + 2 for word in choices)))
            _text(self._sheet, HEADING_ROW, at, column.heading if column.choices else "Yes or no", self._looks.heading)
            for row, word in enumerate((*choices, "?"), HEADING_ROW + 1):
                _text(self._sheet, row, at, word, None)
        letters = column_letters(self._ranges[choices])
        last = HEADING_ROW + 1 + len(choices) + (not column.required)
        return f"=Lists!${letters}${HEADING_ROW + 2}:${letters}${last}"


def _write_job(sheet: Worksheet, form: IntakeForm, looks: _Looks, lists: _Lists) -> None:
    """Lines with their hint: what is needed, the floors block, then what may be left blank."""
    sheet.set_row(0, 28)
    _text(sheet, 0, 0, "Job", looks.title)
    _text(sheet, 1, 0, "Fill in the six lines, then the sheet Rooms. ? means not known yet.", looks.purpose)
    for at, width in enumerate((27, 34, 66, 20, 18)):
        sheet.set_column(at, at, width)
    sheet.freeze_panes(3, 0)
    row = HEADING_ROW
    for column in form.job.columns:
        if column.required:
            _write_line(sheet, row, column, looks, lists)
            row += 1
    row += 1
    _text(sheet, row, 0, "Floors", looks.section)
    _text(sheet, row, 2, "Only where floors differ from the usual. Blank: floors come from Rooms.", looks.hint)
    row += 1
    for at, column in enumerate(form.floors.columns):
        _write_heading(sheet, row, at, column, looks)
        _add_drop_down(sheet, row + 1, row + FLOOR_ROWS, at, column, lists)
        for blank in range(row + 1, row + FLOOR_ROWS + 1):
            _check(sheet.write_blank(blank, at, None, looks.value))
    row += FLOOR_ROWS + 2
    _text(sheet, row, 0, "If you know it", looks.section)
    row += 1
    for column in form.job.columns:
        if not column.required:
            _write_line(sheet, row, column, looks, lists)
            row += 1


def _write_line(sheet: Worksheet, row: int, column: Column, looks: _Looks, lists: _Lists) -> None:
    _text(sheet, row, 0, column.heading, looks.needed_label if column.required else looks.label)
    special = {"date": looks.date_value, "rate": looks.rate_value, "money": looks.money_value}
    _check(sheet.write_blank(row, 1, None, special.get(column.kind, looks.value)))
    hint = column.help + (f" For example {column.example}." if column.example and not column.choices else "")
    sheet.set_row(row, 30 if len(hint) > 88 else 18)
    _text(sheet, row, 2, hint, looks.hint)
    _comment(sheet, row, 0, column)
    _add_drop_down(sheet, row, row, 1, column, lists)


def _write_table(sheet: Worksheet, form: SheetForm, looks: _Looks, lists: _Lists) -> None:
    """Headings frozen, everyday columns first, rare ones folded away behind them."""
    columns = everyday_first(form)
    folded = sum(column.rare for column in columns)
    more = " More columns are folded away to the right: press + above them." if folded else ""
    sheet.set_row(0, 28)
    _text(sheet, 0, 0, form.name, looks.title)
    _text(sheet, 1, 0, f"{form.purpose} Dark headings are needed; ? means not known yet.{more}", looks.purpose)
    sheet.set_row(HEADING_ROW, 34)
    for at, column in enumerate(columns):
        look = looks.text if column.attribute in _AS_TEXT else looks.typed
        fold = {"level": 1, "hidden": True} if column.rare else {}
        sheet.set_column(at, at, column.width, look, fold)
        _write_heading(sheet, HEADING_ROW, at, column, looks)
        _add_drop_down(sheet, HEADING_ROW + 1, LAST_INPUT_ROW, at, column, lists)
    if folded:
        sheet.set_column(len(columns), len(columns), None, None, {"collapsed": True})
    lines: dict[str, Any] = {"type": "formula", "criteria": "=TRUE", "format": looks.line}
    sheet.conditional_format(HEADING_ROW + 1, 0, HEADING_ROW + PAGE_ROWS * PAGES, len(columns) - 1, lines)
    sheet.freeze_panes(HEADING_ROW + 1, 1)


def everyday_first(form: SheetForm) -> tuple[Column, ...]:
    """The columns in the order in which the form shows them."""
    return tuple(sorted(form.columns, key=lambda column: column.rare))


def _write_heading(sheet: Worksheet, row: int, at: int, column: Column, looks: _Looks) -> None:
    look = looks.needed if column.required else looks.rare if column.rare else looks.heading
    _text(sheet, row, at, column.heading, look)
    _comment(sheet, row, at, column)


def _comment(sheet: Worksheet, row: int, at: int, column: Column) -> None:
    text = comment_text(column)
    lines = sum(1 + len(line) // 38 for line in text.split("\n"))
    options = {"author": "", "x_scale": 2.0, "height": 18 * lines + 10, "font_size": 9}
    _check(sheet.write_comment(row, at, text, options))


def comment_text(column: Column) -> str:
    """What a heading's comment says: what it is for, its unit, what may be typed, an example."""
    lines = [f"{column.heading} (needed)" if column.required else column.heading, column.help]
    if column.kind in _UNITS:
        lines.append(f"Unit: {_UNITS[column.kind]}.")
    if column.choices:
        shown = ", ".join(column.choices)
        lines.append(f"One of: {shown}." if len(shown) < 160 else "One of the drop-down's list.")
    if column.example:
        lines.append(f"Example: {column.example}")
    if not column.required:
        lines.append("? if not known yet.")
    return "\n".join(line for line in lines if line)


def _add_drop_down(sheet: Worksheet, first: int, last: int, at: int, column: Column, lists: _Lists) -> None:
    if column.kind not in ("choice", "yes/no") or (column.kind == "choice" and not column.choices):
        return
    unknown = "" if column.required else " Type ? where it is not known yet."
    _check(sheet.data_validation(first, at, last, at, {
        "validate": "list", "source": lists.source(column), "ignore_blank": True,
        "error_title": column.heading[:32], "error_message": f"Choose one of the list.{unknown}",
    }))


def _fill_sources(sheet: Worksheet, form: SheetForm) -> None:
    """One streamer, so that a system plays without anybody typing anything here."""
    order = [column.attribute for column in everyday_first(form)]
    _text(sheet, HEADING_ROW + 1, order.index("kind"), "streamer", None)
    _text(sheet, HEADING_ROW + 1, order.index("name"), "Music streamer", None)


def _set_page(sheet: Worksheet, form: SheetForm, paper: int) -> None:
    sheet.set_landscape()
    sheet.set_paper(paper)
    sheet.set_margins(left=_MARGIN, right=_MARGIN, top=0.6, bottom=0.6)
    sheet.set_footer("&L&F&C&A&RPage &P of &N")
    if form.name == "Job":
        sheet.fit_to_pages(1, 1)
        return
    sheet.repeat_rows(0, HEADING_ROW)
    everyday = [column for column in form.columns if not column.rare]
    last = HEADING_ROW + PAGE_ROWS * (PAGES if form.name == "Rooms" else 1)
    sheet.print_area(0, 0, last, len(everyday) - 1)
    # A scale, not "fit to width": spreadsheet programs ignore page breaks that are set by hand where they fit.
    sheet.set_print_scale(page_scale(everyday, _PAGE_INCHES[paper]))


def page_scale(columns: list[Column], page_inches: float) -> int:
    """The print scale at which these columns fill one landscape page's width. [percent]"""
    inches = sum(7 * column.width + 5 for column in columns) / 96  # 7 pixels a character and 5 a column, at 96 an inch
    return max(40, min(100, int(80 * (page_inches - 2 * _MARGIN) / inches)))  # 20 % kept for wider fonts


def _page_breaks(sheet: Worksheet) -> None:
    """One page a floor: rows tall enough to write in, a break after each page's worth, a line for the floor's name."""
    for row in range(HEADING_ROW + 1, HEADING_ROW + 1 + PAGE_ROWS * PAGES):
        sheet.set_row(row, 21)
    sheet.set_h_pagebreaks([HEADING_ROW + 1 + PAGE_ROWS * page for page in range(1, PAGES)])
    sheet.set_header("&LClient ____________________&RFloor ______     Date ____________")


def _text(sheet: Worksheet, row: int, at: int, text: str, look: Format | None) -> None:
    _check(sheet.write_string(row, at, text, look))


def _check(code: int) -> None:
    """The writer drops what it cannot write and says so only in its return code."""
    if code:
        raise ValueError(f"the workbook writer refused a cell with code {code}")

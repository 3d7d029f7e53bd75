"""How the office workbook looks: styles, number formats by currency and locale, title block, page set-up."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from decimal import Decimal
from textwrap import wrap
from typing import Any

from quoting.documents.formats import find_locale, paper_size
from quoting.documents.sheet_writer import Sheet, Style
from quoting.money import minor_units
from quoting.quote import Quote

INK, QUIET, RULE, HEAD = "#22303C", "#66727D", "#D9DFE5", "#EDF1F4"
INPUT, GOOD, BAD = "#FFF4CC", "#E3F1E5", "#FBE3DF"
# Styles whose text widens its column; styles whose text wraps; the others run over empty neighbours.
FITTED = frozenset({"text", "text.centre", "text.right", "text.input", "label", "label.total", "quiet", "verdict"})
WRAPPING = frozenset({"wrap", "wrap.input", "head", "head.right", "head.wrap"})
NUMBERS: dict[Style, str] = {
    "price4": "#,##0.0000",
    "rate": "0.0##%",
    "number": "#,##0.0",
    "quantity": "#,##0.0##",
    "hours": "#,##0.00",
    "count": "#,##0",
    "measure": "0.000",
}


LENGTHS_PT = {"letter": 792.0, "A4": 842.0}  # of a page's long side. ISO 216; ANSI/ASME Y14.1, size A; from memory
MARGIN_PT = 0.4 * 72  # left and right
SMALLEST = 0.66  # of the size on screen: 10 pt letters are 6.6 pt on paper, a little over small print; common practice
# Of a column, where the widest usual font stands in for the workbook's own (measured in LibreOffice with DejaVu Sans:
# a third wider). With its own font a character is 7 pixels and the air of a column 5. ECMA-376 part 1, col; from memory
UNSET_WIDTH, CHARACTER_PT, GAP_PT = 8.43, 7.2, 5.0
ROW_PT = 14.25  # of a row of one line, in any program: 10 pt letters of the tallest usual font take 12.8
PAPERS = {"letter": 1, "A4": 9}  # the file format's numbers. ECMA-376 part 1, pageSetup, paperSize; from memory
NOTE_LETTERS = 110  # of a note under a title, a line: what a page holds at full size
NO_BREAK_SPACE = "\N{NO-BREAK SPACE}"
NONE = "-"  # typed where an input does not apply


def styles(currency: str, locale: str, accent: str) -> dict[Style, Mapping[str, Any]]:
    """Every style of the workbook by name."""
    plain, symbol = money_formats(currency, locale)
    numbers = {**NUMBERS, "money": plain}
    line: dict[str, Any] = {"bottom": 1, "bottom_color": RULE, "font_color": INK}
    box: dict[str, Any] = {
        "border": 1,
        "border_color": RULE,
        "bg_color": INPUT,
        "locked": False,
        "font_color": INK,
        "align": "right",
    }
    found: dict[Style, Mapping[str, Any]] = {name: {**line, "num_format": code} for name, code in numbers.items()}
    found |= {f"{name}.input": {**box, "num_format": code} for name, code in numbers.items()}
    found |= {
        "text.input": {**box, "align": "left", "indent": 1},
        "wrap.input": {**box, "align": "left", "indent": 1, "text_wrap": True},
        **_words(line, accent),
        **_heads(accent),
        **_sums(accent, numbers),
    }
    found["money.symbol"] = {**found["money.total"], "num_format": symbol}
    return {name: {"valign": "vcenter", **style} for name, style in found.items()}


def _words(line: Mapping[str, Any], accent: str) -> dict[Style, Mapping[str, Any]]:
    text = {**line, "align": "left", "indent": 1}
    return {
        "title": {"font_size": 18, "bold": True, "font_color": accent, "valign": "vcenter"},
        "subtitle": {"font_size": 12, "font_color": INK},
        "section": {"font_size": 11, "bold": True, "font_color": accent, "valign": "vcenter"},
        "quiet.note": {"font_color": QUIET},
        "beside": {"font_color": QUIET, "align": "left", "indent": 1},
        "text": text,
        "quiet": {**text, "font_color": QUIET},
        "label": text,
        "wrap": {**text, "text_wrap": True},
        "text.centre": {**line, "align": "center"},
        "text.right": {**line, "align": "right"},
        "label.indent": {**line, "align": "left", "indent": 2, "font_color": QUIET},
        "verdict": {**line, "align": "right", "bold": True},
        "key": {"font_color": "#9AA5AF", "num_format": "0", "font_size": 8},
        "good": {"bg_color": GOOD, "font_color": "#1E5B2A"},
        "bad": {"bg_color": BAD, "font_color": "#8C2A1C"},
    }


def _heads(accent: str) -> dict[Style, Mapping[str, Any]]:
    under = {"bold": True, "font_color": INK, "bg_color": HEAD, "bottom": 1, "bottom_color": accent, "valign": "bottom"}
    return {
        "head": {**under, "text_wrap": True, "align": "left", "indent": 1},
        "head.first": under,
        "head.right": {**under, "text_wrap": True, "align": "right"},
        "head.wrap": {"font_color": QUIET, "text_wrap": True, "align": "right", "bottom": 1, "bottom_color": RULE},
        "head.over": {"bg_color": HEAD},
        "head.side": {"bold": True, "font_color": INK, "bg_color": HEAD, "bottom": 1, "bottom_color": RULE},
        "head.group": {
            "bold": True,
            "font_color": QUIET,
            "bg_color": HEAD,
            "align": "center_across",
            "left": 1,
            "left_color": RULE,
        },
    }


def _sums(accent: str, numbers: Mapping[str, str]) -> dict[Style, Mapping[str, Any]]:
    total = {"bold": True, "top": 1, "top_color": accent, "bottom": 1, "bottom_color": accent, "font_color": INK}
    found = {f"{name}.total": {**total, "num_format": numbers[name]} for name in ("money", "hours", "rate")}
    return {"label.total": {**total, "align": "left", "indent": 1}, **found}


def money_formats(currency: str, locale: str) -> tuple[str, str]:
    """The spreadsheet's number format for money, without and with the currency's symbol where the locale has it.

    The thousands and decimal signs are the reader's own: a spreadsheet program draws them by its settings.
    """
    from babel.numbers import get_currency_symbol

    places = minor_units(currency)
    digits = "#,##0" + ("." + "0" * places if places else "")
    found = find_locale(locale)
    pattern = found.currency_formats["standard"].pattern.split(";")[0]
    symbol = get_currency_symbol(currency, found).replace('"', "")
    before = pattern[: pattern.index("#")].replace("¤", symbol)
    after = pattern[pattern.rindex("0") + 1 :].replace("¤", symbol)
    before += NO_BREAK_SPACE if before[-1:].isalpha() else ""  # letters never touch digits
    after = (NO_BREAK_SPACE if after[:1].isalpha() else "") + after
    first, last = (f'"{side}"' if side else "" for side in (before, after))
    return digits, f"{first}{digits}{last}"


def show_date(date: datetime.date | None, locale: str) -> str:
    """A date as the locale writes it; "" for none."""
    if date is None:
        return ""
    from babel.dates import format_date

    return format_date(date, "medium", locale=find_locale(locale))


def show_number(value: Decimal | float) -> str:
    """A plain number without trailing zeros: "1.5", "100"."""
    text = f"{value:f}" if isinstance(value, Decimal) else f"{value:.4f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def show_rate(rate: Decimal) -> str:
    """ "8.25 %" for 0.0825."""
    return f"{show_number(rate * 100)} %"


def optional(sheet: Sheet, row: int, column: int, value: Decimal | None, style: Style) -> None:
    """An input that may be none. It is never left empty: a program that saves the workbook may store an empty cell
    as a number without a value, and another then reads a price of 0."""
    if value is None:
        sheet.text(row, column, NONE, style)
    else:
        sheet.number(row, column, value, style)


def if_none(cell: str, then: str, otherwise: str) -> str:
    """A formula's part: `then` where the cell holds no input (a dash, or cleared), else `otherwise`."""
    return f'IF(IF({cell}="",1,IF({cell}="{NONE}",1,0))=1,{then},{otherwise})'


def title_block(sheet: Sheet, quote: Quote, heading: str, note: str) -> int:
    """Quote, client, revision, date on every sheet; gives the first free row."""
    terms, client = quote.job.terms, quote.job.client
    sheet.text(0, 0, heading, "title")
    sheet.worksheet.set_row(0, 28)
    number = f"Quote {terms.quote_number}" if terms.quote_number else "Quote without a number"
    sheet.text(
        1,
        0,
        f"{number} · revision {terms.revision} · {show_date(quote.pricing.date, terms.locale)} · {client.name}",
        "subtitle",
    )
    for offset, line in enumerate(wrap(note, NOTE_LETTERS)):
        sheet.text(2 + offset, 0, line, "quiet.note")
    return 4


def section(sheet: Sheet, row: int, heading: str) -> None:
    """A heading over a block."""
    sheet.text(row, 0, heading, "section")
    sheet.worksheet.set_row(row, 20)


def table_head(sheet: Sheet, row: int, column: int, headings: tuple[str, ...], right: tuple[int, ...] = ()) -> None:
    """A heading row; `right` holds the offsets of headings over numbers."""
    for offset, heading in enumerate(headings):
        sheet.text(row, column + offset, heading, "head.right" if offset in right else "head")


def group_head(sheet: Sheet, row: int, column: int, heading: str, width: int) -> None:
    """One heading across `width` columns, without merging cells; empty, a plain band."""
    sheet.text(row, column, heading, "head.group" if heading else "head.over")
    for offset in range(1, width):
        sheet.blank(row, column + offset, "head.group" if heading else "head.over")


def page(
    sheet: Sheet,
    quote: Quote,
    last_row: int,
    last_column: int,
    repeat: tuple[int, int] | None = None,
    keys: int = 0,
    breaks: tuple[int, ...] = (),
) -> None:
    """Landscape, headings on every page, firm and page number in the footer; rows of one height everywhere.

    Fitted to one page's width; a sheet that would be too small to read there goes on over pages side by side, each with
    its first `keys` columns, which say what a row is. `breaks` are rows that begin a page: they count only at a fixed
    scale, so the scale is fixed then.
    """
    terms = quote.job.terms
    found = sheet.worksheet
    found.hide_gridlines(2)
    found.set_landscape()
    found.set_paper(PAPERS[paper_size(terms.locale)])
    found.set_margins(left=0.4, right=0.4, top=0.5, bottom=0.6)
    found.set_default_row(ROW_PT)
    widths_pt = [sheet.columns.get(at, UNSET_WIDTH) * CHARACTER_PT + GAP_PT for at in range(last_column + 1)]
    room_pt = LENGTHS_PT[paper_size(terms.locale)] - 2 * MARGIN_PT
    if breaks:
        found.set_print_scale(min(100, int(room_pt / sum(widths_pt) * 100)))
        found.set_h_pagebreaks(list(breaks))
    else:
        across = pages_across(widths_pt, keys, room_pt / SMALLEST)
        found.fit_to_pages(across, 0)
        if across > 1:
            found.repeat_columns(0, keys - 1)
    found.print_area(0, 0, max(last_row, 0), last_column)
    if repeat:
        found.repeat_rows(*repeat)
    firm, number = _footer(f"{quote.firm.name}. {quote.firm.notice}".strip(), 110), _footer(terms.quote_number, 30)
    found.set_footer(f"&L&8{firm}&R&8{number} rev. {terms.revision} · office only · {sheet.name}, &P of &N")


def pages_across(widths_pt: Sequence[float], keys: int, room_pt: float) -> int:
    """How many pages side by side hold columns of these widths, each page after the first with the `keys` first
    columns again; one without keys."""
    pages, used_pt = 1, 0.0
    for width_pt in widths_pt if keys else ():
        if used_pt + width_pt > room_pt:
            pages, used_pt = pages + 1, sum(widths_pt[:keys])
        used_pt += width_pt
    return pages


def protect(sheet: Sheet) -> None:
    """No formula is overwritten by a slip; no password, so an estimator may switch it off."""
    sheet.worksheet.protect(
        "",
        {
            "autofilter": True,
            "format_columns": True,
            "format_rows": True,
            "format_cells": True,
            "objects": True,
            "select_locked_cells": True,
            "select_unlocked_cells": True,
        },
    )


def verdict_colours(sheet: Sheet, row: int, first: int, last: int, good: str, bad: str) -> None:
    """Green where the cell says `good`, red where it says `bad`."""
    formats = sheet.book.formats
    for word, style in ((good, "good"), (bad, "bad")):
        sheet.worksheet.conditional_format(
            row, first, row, last, {"type": "cell", "criteria": "==", "value": f'"{word}"', "format": formats[style]}
        )


def red_under(sheet: Sheet, first: int, last: int, column: int, limit: str) -> None:
    """Red where a rate is under the one in another cell."""
    sheet.worksheet.conditional_format(
        first,
        column,
        last,
        column,
        {"type": "cell", "criteria": "<", "value": f"={limit}", "format": sheet.book.formats["bad"]},
    )


def _footer(text: str, limit: int) -> str:
    """Text for a footer: the whole must stay under 255 characters, and an ampersand starts a code (two are one)."""
    return text.replace("&", "&&")[:limit].rstrip("&")

"""The sheet Why: each line of the bill and of the labour, and every rule, fact and intake cell that made it."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from msgspec import Struct

from quoting.documents.office_look import page, show_number, table_head, title_block
from quoting.documents.office_rows import OfficeRows
from quoting.documents.sheet_writer import Sheet
from quoting.lines import Reason
from quoting.problems import Cell
from quoting.quote import PricedLabour, PricedMaterial

HEADINGS = (
    "Line",
    "What",
    "Unit",
    "Options",
    "Brings",
    "Rule",
    "Rule stands at",
    "Fact",
    "Intake cells",
    "Used",
    "The rules' own value",
)


class Told(Struct, frozen=True):
    """One line, met over all options: its amount and the rules' own, and every reason with the options it holds in."""

    id: str
    what: str
    unit: str
    used: dict[str, tuple[Decimal, Decimal]]  # option -> amount used, amount ruled
    reasons: dict[Reason, list[str]]


def write_why(sheet: Sheet, rows: OfficeRows) -> dict[str, int]:
    """Writes the sheet and tells each line's row, as a spreadsheet counts."""
    top = title_block(
        sheet,
        rows.quote,
        "Why",
        "Every reason of every line. Further reasons of one line are folded under "
        "its first one; a value that a person overrode stands beside the rules' own.",
    )
    table_head(sheet, top, 0, HEADINGS, (4, 9))
    everywhere = [option.name for option in rows.options]
    said = {entry.where: f": {entry.reason} ({entry.who})" for entry in rows.quote.job.overrides}
    found: dict[str, int] = {}
    row = top + 1
    for told in _lines(rows):
        found[told.id] = row + 1
        for number, (reason, options) in enumerate(told.reasons.items()):
            if number:
                sheet.folded.add(row)
            held = "all" if options == everywhere else ", ".join(options)
            _reason(sheet, row, told, reason, said.get(reason.rule_cell, ""), held, first=not number)
            row += 1
    sheet.worksheet.autofilter(top, 0, max(row - 1, top + 1), len(HEADINGS) - 1)
    sheet.worksheet.outline_settings(True, False, True, False)
    sheet.worksheet.freeze_panes(top + 1, 1)
    sheet.set_widths(at_least=8, at_most=58, I=34.0, K=16.0)
    page(sheet, rows.quote, row - 1, len(HEADINGS) - 1, (top, top), keys=1)
    return found


def _lines(rows: OfficeRows) -> Iterator[Told]:
    """Lines by id, in the order of the sheets Bill and Labour."""
    found: dict[str, Told] = {}
    for option in rows.options:
        priced: tuple[PricedMaterial | PricedLabour, ...] = (*option.materials, *option.labour)
        for row in priced:
            told = found.setdefault(row.id, _told(row, rows))
            told.used[option.name] = _amounts(row)
            for reason in row.because:
                options = told.reasons.setdefault(reason, [])
                if option.name not in options:
                    options.append(option.name)
    listed = dict.fromkeys([row.first.id for row in rows.bill] + [row.first.id for row in rows.work])
    dropped = [id for id in found if id not in listed]
    return (found[id] for id in (*listed, *dropped))


def _told(row: PricedMaterial | PricedLabour, rows: OfficeRows) -> Told:
    if isinstance(row, PricedMaterial):
        return Told(row.id, rows.describe(row.part), row.unit, {}, {})
    info = rows.quote.tasks.get(row.task)
    return Told(row.id, info.description if info else row.task, "hours", {}, {})


def _amounts(row: PricedMaterial | PricedLabour) -> tuple[Decimal, Decimal]:
    return (row.need, row.ruled_need) if isinstance(row, PricedMaterial) else (row.hours, row.ruled_hours)


def _reason(sheet: Sheet, row: int, told: Told, reason: Reason, said: str, options: str, *, first: bool) -> None:
    sheet.row_of_text(row, 0, (told.id, told.what, told.unit, options))
    if reason.amount:
        sheet.number(row, 4, reason.amount, "quantity")
    else:
        sheet.blank(row, 4, "text")
    sheet.row_of_text(row, 5, (f"{reason.rule}{said}", show_cell(reason.rule_cell), reason.fact))
    sheet.text(row, 8, show_cells(reason.cells), "wrap")
    sheet.text(row, 9, _by_option({name: used for name, (used, _) in told.used.items()}) if first else "", "text.right")
    overridden = first and any(used != ruled for used, ruled in told.used.values())
    sheet.text(row, 10, _by_option({name: ruled for name, (_, ruled) in told.used.items()}) if overridden else "")


def _by_option(amounts: dict[str, Decimal]) -> str:
    """ "4" where the options agree, else "good 2, best 4"."""
    if len(set(amounts.values())) == 1:
        return show_number(next(iter(amounts.values())))
    return ", ".join(f"{name} {show_number(amount)}" for name, amount in amounts.items())


def show_cell(cell: Cell) -> str:
    """Where something was typed: "Rooms!D7", "rules/speaker.csv A7"; the file only where it is a catalogue's."""
    place = f"{cell.sheet}!{cell.ref}" if cell.sheet and cell.ref else cell.sheet or cell.ref
    return place if cell.sheet else f"{cell.file} {place}".strip()


def show_cells(cells: tuple[Cell, ...]) -> str:
    """Several intake cells, each sheet named once: "Rooms A5 B5, Job B3"."""
    sheets: dict[str, list[str]] = {}
    for cell in cells:
        sheets.setdefault(cell.sheet or cell.file, []).append(cell.ref)
    return ", ".join(" ".join((sheet, *refs)).strip() for sheet, refs in sheets.items())

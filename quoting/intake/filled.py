"""A filled-in intake workbook as entries: the Job sheet's lines, its floors block, and the rows of the other sheets."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from msgspec import Struct

from quoting.catalog.records import Catalog, Place
from quoting.intake.columns import IntakeForm, SheetForm, intake_form
from quoting.intake.entries import Entry, Measures, Raw, heading_names, read_entry, read_table
from quoting.problems import Cell, Problem, stop
from quoting.sheets import fields
from quoting.sheets.grid import Grid
from quoting.sheets.table import find_table, heading_key, is_blank_row

LABEL_COLUMNS = 6  # a label may stand in any of these


class Filled(Struct, frozen=True):
    """Everything that was typed. `place` is the tax place that applies, typed or not; None in an empty catalogue."""

    file: str
    form: IntakeForm
    measures: Measures
    place: Place | None
    job: Entry
    floors: tuple[Entry, ...]
    rooms: tuple[Entry, ...]
    zones: tuple[Entry, ...]
    sources: tuple[Entry, ...]
    extras: tuple[Entry, ...]
    overrides: tuple[Entry, ...]


def read_filled(file: str, grids: Iterable[Grid], catalog: Catalog) -> tuple[Filled | None, tuple[Problem, ...]]:
    """All sheets' entries; None where Job or Rooms is missing. Other sheets may be left out."""
    form = intake_form(catalog)
    sheets = _by_name(grids)
    problems = [_missing_sheet(file, name) for name in ("Job", "Rooms") if fields.key(name) not in sheets]
    if problems:
        return None, tuple(problems)
    job_grid = sheets["job"]
    floors_grid, first = _floors_block(job_grid, form.floors)
    raw, line_slips = _lines(job_grid, form.job, range(first, len(floors_grid.rows)))
    problems.extend(line_slips)
    place = _place(raw, form, catalog)
    measures = _measures(raw, form, place)
    job, slips = read_entry(form.job, raw, Cell(file, job_grid.sheet), measures)
    problems.extend(slips)

    def rows(grid: Grid | None, sheet: SheetForm, first: int = 0, last: int = 15) -> tuple[Entry, ...]:
        entries, slips = read_table(grid, sheet, measures, first, last) if grid else ((), ())
        problems.extend(slips)
        return entries

    filled = Filled(
        file=file, form=form, measures=measures, place=place, job=job,
        floors=rows(floors_grid, form.floors, first, first + 1) if first < len(floors_grid.rows) else (),
        rooms=rows(sheets["rooms"], form.rooms), zones=rows(sheets.get("zones"), form.zones),
        sources=rows(sheets.get("sources"), form.sources), extras=rows(sheets.get("extras"), form.extras),
        overrides=rows(sheets.get("overrides"), form.overrides),
    )
    if not filled.rooms and not any(problem.where.sheet == sheets["rooms"].sheet for problem in problems):
        problems.append(stop(Cell(file, sheets["rooms"].sheet), "no-rooms", "Sheet 'Rooms' lists no room.",
                             "Type one row a room: Name, Kind, Floor, Length and Width are enough."))
    return filled, tuple(problems)


def _by_name(grids: Iterable[Grid]) -> dict[str, Grid]:
    sheets: dict[str, Grid] = {}
    for grid in grids:
        sheets.setdefault(fields.key(grid.sheet), grid)
    return sheets


def _missing_sheet(file: str, name: str) -> Problem:
    return stop(Cell(file), "missing-sheet", f"The workbook '{file}' has no sheet '{name}'.",
                "Start from a blank intake workbook, or give the sheet its name back.")


def _floors_block(grid: Grid, floors: SheetForm) -> tuple[Grid, int]:
    """The Job sheet up to the end of its floors block, and the row of the block's headings (its end for no block)."""
    table, _ = find_table(grid, heading_names(floors.columns), 0, len(grid.rows), least=2)
    if table is None or "number" not in table.columns:
        return grid, len(grid.rows)
    end = table.row + 1
    while end < len(grid.rows) and not is_blank_row(grid, end, table.columns):
        end += 1
    return Grid(grid.file, grid.sheet, grid.rows[:end]), table.row


def _lines(grid: Grid, form: SheetForm, block: range) -> tuple[dict[str, Raw], list[Problem]]:
    """The Job sheet's values by attribute: each stands right of its label. Problems: missing-heading, heading-twice."""
    names = heading_names(form.columns)
    at = _label_column(grid, names, block)
    raw: dict[str, Raw] = {}
    problems: list[Problem] = []
    for row in range(len(grid.rows)):
        label = grid.value(row, at)
        attribute = names.get(heading_key(label)) if isinstance(label, str) and row not in block else None
        if attribute is None:
            continue
        beside = at + 1
        while grid.value(row, beside) == label:  # the label is merged over these
            beside += 1
        cell = Raw(grid.value(row, beside), grid.cell(row, beside))
        if attribute not in raw or raw[attribute].value is None:
            raw[attribute] = cell
        elif cell.value not in (None, raw[attribute].value):
            problems.append(stop(
                grid.cell(row, at), "heading-twice",
                f"Line '{fields.shown(label)}' stands twice on sheet '{grid.sheet}', and the two differ.",
                "Delete one of the two lines.",
            ))
    for column in form.columns:
        if column.required and column.attribute not in raw:
            problems.append(stop(Cell(grid.file, grid.sheet), "missing-heading",
                                 f"Sheet '{grid.sheet}' has no line '{column.heading}', which every job needs.",
                                 f"Type {column.heading} in column A and its value in column B."))
    return raw, problems


def _label_column(grid: Grid, names: Mapping[str, str], block: range) -> int:
    counts = [0] * LABEL_COLUMNS
    for row, cells in enumerate(grid.rows):
        for column, value in enumerate(cells[:LABEL_COLUMNS]):
            counts[column] += row not in block and isinstance(value, str) and heading_key(value[:100]) in names
    return counts.index(max(counts))


def _place(raw: Mapping[str, Raw], form: IntakeForm, catalog: Catalog) -> Place | None:
    """The typed tax place, else the first with the typed currency, else the first."""
    typed = _peek(raw, form, "tax_place")
    if typed:
        return catalog.places[typed]
    currency = _peek(raw, form, "currency")
    places = list(catalog.places.values())
    return next((place for place in places if place.currency == currency), places[0] if places else None)


def _measures(raw: Mapping[str, Raw], form: IntakeForm, place: Place | None) -> Measures:
    currency = _peek(raw, form, "currency") or (place.currency if place else "USD")
    system = _peek(raw, form, "unit_system") or ("imperial" if currency == "USD" else "metric")
    return Measures("imperial" if system == "imperial" else "metric", currency)


def _peek(raw: Mapping[str, Raw], form: IntakeForm, attribute: str) -> str:
    """A choice that other cells need before the sheet is read; "" where there is none (its problem comes later)."""
    column, cell = form.job.column(attribute), raw.get(attribute)
    settled = fields.settle(cell.value, cell.where, column.heading) if cell else None
    if cell is None or settled is None or isinstance(settled, Problem) or fields.is_unknown(settled):
        return ""
    found = fields.read_choice(settled, cell.where, column.heading, column.choices)
    return found if isinstance(found, str) else ""

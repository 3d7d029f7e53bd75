"""The crew's set of one option: every sheet in its order, ready to be laid out, and the files that hold them.

Rendered from the quote alone. A further sheet is one more CrewSheet in `crew_set`; its tables are CrewTables.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from pathlib import Path

from msgspec import Struct
from msgspec.structs import replace

from quoting.documents.crew_cautions import LICENSED
from quoting.documents.crew_commissioning import HEARING, commissioning
from quoting.documents.crew_csv import csv_bytes
from quoting.documents.crew_day import CSV_COLUMNS, day_rows, day_sheets
from quoting.documents.crew_hookup import ALL_OFF, hook_up_sheet, hook_up_tables
from quoting.documents.crew_keys import colour_key, device_key, end_key, label_key, place_key
from quoting.documents.crew_labels import LabelPaper, cable_labels, label_paper, label_sheet
from quoting.documents.crew_places import box_notes, doorbell_notes
from quoting.documents.crew_pull import pull_columns, pull_lists, spool_plan
from quoting.documents.crew_readings import LEADS
from quoting.documents.crew_records import REGISTER, permits, register_notes, registers
from quoting.documents.crew_schedules import schedules
from quoting.documents.crew_sheet import CrewTable, gathered, in_units, said_columns, said_in
from quoting.documents.crew_site import device_list, drilling
from quoting.documents.crew_ways import conduits_begun, dig_cautions, exit_notes, shared_ways, stone_holes, ways_out
from quoting.documents.drawing import Svg
from quoting.documents.floor_drawing import WIDTH_MM, FloorDrawing, floor_drawings
from quoting.documents.floor_plan import floor_plans
from quoting.documents.formats import english_locale, formats_for
from quoting.documents.language import in_english, language_for
from quoting.documents.plan_scale import plan_scale
from quoting.documents.proposal_words import floor_title
from quoting.documents.rack_drawing import rack_drawing
from quoting.documents.rack_elevation import rack_elevations, unit_key
from quoting.documents.room_drawing import TALL_MM, room_drawing, room_title
from quoting.documents.room_notes import room_notes
from quoting.documents.room_page import drawing_high_mm
from quoting.documents.room_plan import RoomPlan, head_end_words, room_plans
from quoting.documents.room_table import headings, table_rows
from quoting.documents.templates import render_page
from quoting.documents.visit_days import crew_timeline, visit_table
from quoting.documents.work_limits import work_limits
from quoting.quote import PricedOption, Quote
from quoting.timetable import Visit
from quoting.units import UnitSystem, show_length

ID = 1  # column of the pull list: the one id by which what was pulled can be read back
PAGE, LABEL_PAGE = "crew.html", "crew/labels.html"
ENGLISH = "en_US"
HOUSE_WIDE_MM, HOUSE_HIGH_MM = 180.0, 205.0  # within the margins of A4 and Letter, under the sheet's notes
ADVICE = "Work from this print only; destroy older ones. Ids, names and heights are the same on every sheet."
NORTH = ("North on all these sheets is up as the office took it; a compass may disagree. Confirm it once with the "
         "owner, before the first mark. Up on the plans is towards ________ (street, garden); confirmed by ________, "
         "date ________.")
NORTH_AGAIN = "North is up, as confirmed on the sheet 'House, floor {floor}'."
ROOM_CAUTIONS = ("Look up and behind before each cut: scan for pipes, wires, ducts and gas.",
                 "Ladders on firm ground, one person holds.")


class CrewSheet(Struct, frozen=True, kw_only=True):
    """One sheet: it starts a page, and is counted through the set."""

    number: int = 0
    title: str
    about: str = ""  # what it is known by in another revision, where its title says what may change
    wide: bool = True  # across the paper
    shared: bool = False  # by short tables, each a paper of its own: another revision may gather them otherwise
    drawing: Svg | None = None
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    tables: tuple[CrewTable, ...]

    @property
    def key(self) -> str:
        """The same in every revision."""
        return self.about or self.title


class CrewSet(Struct, frozen=True, kw_only=True):
    """The sheets of one option and what stands on each of them."""

    firm: str
    project: str
    site: str
    number: str  # of the quote
    revision: int
    date: datetime.date
    supersedes: str  # which earlier prints are void
    option: str
    title: str
    draft: bool  # nobody has accepted this option yet
    sheets: tuple[CrewSheet, ...]
    paper: str  # what the set is called
    advice: str  # how it is used


def crew_set(quote: Quote, option: PricedOption, draft: bool) -> CrewSet:
    """Every sheet of one option."""
    return set_of(quote, option, draft, _sheets(quote, option), paper="Crew sheets", advice=ADVICE)


def set_of(
    quote: Quote, option: PricedOption, draft: bool, sheets: Iterable[CrewSheet], *, paper: str, advice: str
) -> CrewSet:
    """Sheets as a set that carries project, revision, date and what it supersedes."""
    terms, client = quote.job.terms, quote.job.client
    return CrewSet(
        firm=quote.firm.name, project=client.name, site=client.site, number=terms.quote_number,
        revision=terms.revision, date=quote.pricing.date, supersedes=_supersedes(terms.supersedes, terms.revision),
        option=option.name, title=in_english(quote, option.title), draft=draft,
        sheets=tuple(_counted(sheets, quote.job.unit_system)), paper=paper, advice=advice)


def _supersedes(said: str, revision: int) -> str:
    if said:
        return f"supersedes {said}"
    if not revision:  # the first issue
        return "supersedes no earlier sheet"
    return f"supersedes revision {revision - 1}{' and all before it' if revision > 1 else ''}"


def _counted(sheets: Iterable[CrewSheet], system: UnitSystem) -> Iterator[CrewSheet]:
    for number, sheet in enumerate(sheets, start=1):
        yield replace(sheet, number=number, cautions=said_in(sheet.cautions, system), notes=said_in(
            filter(None, sheet.notes), system), tables=tuple(in_units(table, system) for table in sheet.tables))


def _sheets(quote: Quote, option: PricedOption) -> Iterator[CrewSheet]:
    plans = room_plans(quote, option)
    if option.timetable.visits:
        yield _visit_sheet(quote, option)
    yield _alone(permits(quote, option))
    yield from _floor_sheets(quote, option)
    yield from _pull_sheets(quote, option)
    yield replace(_alone(spool_plan(quote, option)), wide=False)
    drilled = _alone(drilling(quote, option))
    by_pull = tuple(replace(table, title="By pull") for table in drilled.tables)
    # The short tables first: they never stand alone on a page.
    first = tuple(table for table in (
        shared_ways(quote, option), stone_holes(quote, option), ways_out(quote, option)) if table.rows)
    yield replace(drilled, tables=(*first, *by_pull)) if first else drilled
    devices = device_list(quote, option, plans)
    if devices.rows:
        yield _alone(devices)
    yield from (_room_sheet(quote, option, plan) for plan in plans)
    yield from _rack_sheets(quote, option)
    keys = (f"{place_key(quote, option)} {end_key(quote, option)}".strip(),)
    yield CrewSheet(title="Schedules", tables=schedules(quote, option), cautions=(LICENSED,),
                    notes=keys)
    yield CrewSheet(title="Hook-up sheet", tables=hook_up_tables(hook_up_sheet(quote, option)), cautions=(LICENSED,),
                    notes=(*_who_hooks_up(option), *keys, colour_key(quote, option)))
    hearing = HEARING.format(level_db=work_limits(quote)["caution_db"])
    yield CrewSheet(title="Commissioning checklist", tables=commissioning(quote, option),
                    cautions=(LICENSED, hearing, ALL_OFF), notes=(LEADS, *keys))
    yield from (together(tables, "Day sheet: ", wide=False) for tables in gathered(day_sheets(quote, option)))
    yield CrewSheet(title="Serial numbers and warranties", tables=registers(quote, option),
                    notes=register_notes(quote, option))


def _pull_sheets(quote: Quote, option: PricedOption) -> Iterator[CrewSheet]:
    """A sheet a visit and floor; what the first one says of all of them stands there alone."""
    lists = pull_lists(quote, option)
    for place, table in enumerate(lists):
        said = lists[0].notes if place else ()
        own = [note for note in table.notes if note not in said]
        holds = (f"The notes of the sheet '{lists[0].title}' hold here too.",) if len(own) < len(table.notes) else ()
        yield _alone(replace(table, notes=(*holds, *own)))


def _alone(table: CrewTable) -> CrewSheet:
    """A sheet that is one table: what the table says stands on the sheet."""
    return CrewSheet(title=table.title, about=table.about, cautions=table.cautions, notes=table.notes,
                     tables=(replace(table, cautions=(), notes=()),))


def together(tables: tuple[CrewTable, ...], kind: str = "", wide: bool = True) -> CrewSheet:
    """A sheet of one table, or of several short ones, named by them all; `kind` is what their titles begin with."""
    if len(tables) == 1:
        return replace(_alone(tables[0]), wide=wide)
    return CrewSheet(title=kind + ", ".join(table.title.removeprefix(kind) for table in tables), wide=wide,
                     shared=True, tables=tables)


def apart(sheet: CrewSheet) -> tuple[CrewSheet, ...]:
    """A sheet as the papers that another revision has too: each of several short tables by itself."""
    if not sheet.shared:
        return (sheet,)
    return tuple(replace(_alone(table), number=sheet.number, wide=sheet.wide,
                         cautions=(*sheet.cautions, *table.cautions)) for table in sheet.tables)


def _visit_sheet(quote: Quote, option: PricedOption) -> CrewSheet:
    language = language_for(ENGLISH, {})
    formats = formats_for(english_locale(quote.job.terms.locale), quote.pricing.currency, quote.job.unit_system)
    drawn = crew_timeline(option, formats, language)
    return replace(_alone(visit_table(quote, option, formats)), drawing=drawn.svg if drawn else None)


def _who_hooks_up(option: PricedOption) -> tuple[str, ...]:
    """On which visits, and who the second person is where a visit plans one."""
    visits = [visit for visit in option.timetable.visits if visit.phase in ("trim-out", "rack build", "commissioning")]
    if not visits:
        return ()
    said = (f"The head end on visit {_ids(visits, 'rack build')}, rooms on {_ids(visits, 'trim-out')}, everything that "
            f"joins the two, and power, on {_ids(visits, 'commissioning')}: each section names its visit.")
    setting_up = [visit for visit in visits if visit.phase == "commissioning"]
    second = [visit for visit in setting_up if visit.beside_hours]
    if second:
        return (said, f"A second person comes on {_ids(second, 'commissioning')}, for the step 'A second person "
                      "checks' and for what one cannot carry: the sheet Visits says for how long.")
    alone = any(visit.crew < 2 for visit in setting_up)
    return (said, "The commissioning visit plans one person: ask a second one for the step 'A second person checks', "
                  "and for what one cannot carry.") if alone else (said,)


def _ids(visits: Iterable[Visit], phase: str) -> str:
    return ", ".join(visit.id for visit in visits if visit.phase == phase) or "no visit of its own"


def _floor_sheets(quote: Quote, option: PricedOption) -> Iterator[CrewSheet]:
    """Where the rooms lie, and which way is north on every placement sheet; all floors at one scale."""
    system, language = quote.job.unit_system, language_for(ENGLISH, {})
    floors: dict[int, list[FloorDrawing]] = {}
    plans = floor_plans(quote, option)
    for plan, drawn in zip(plans, floor_drawings(
            plans, system, lambda length_m: show_length(length_m, system), language, crew=True), strict=True):
        floors.setdefault(plan.number, []).append(drawn)
    highest_mm = max((each.height_mm for drawn in floors.values() for each in drawn), default=HOUSE_HIGH_MM)
    grows = min(HOUSE_WIDE_MM / WIDTH_MM, HOUSE_HIGH_MM / highest_mm)
    first = next(iter(floors), 0)
    for number, drawings in floors.items():
        scale = plan_scale(drawings[0].mm_per_m * grows, system)
        larger = scale.mm_per_m / drawings[0].mm_per_m
        framed = "".join(f'<div class="house" style="width:{each.width_mm * larger:.2f}mm">'
                         f"<p>{_numbered(each.title, number)}: {scale.name}</p>{each.svg}</div>" for each in drawings)
        yield CrewSheet(title=f"House, floor {number}", wide=False, drawing=Svg(framed), tables=(), notes=(
            head_end_words(quote), NORTH if number == first else NORTH_AGAIN.format(floor=first),
            "Symbols are not to scale, racks are; measures stand on the placement sheets.",
            f"All plans of the house are to one scale, {scale.name}, where they are printed at 100 %.",
            *(conduits_begun(quote, option) if number == quote.job.head_end.floor else ())))


def _numbered(title: str, number: int) -> str:
    """A plan's title by its floor's number, as all crew sheets have it."""
    return title.replace(floor_title(number, language_for(ENGLISH, {})), f"Floor {number}")


def _room_sheet(quote: Quote, option: PricedOption, plan: RoomPlan) -> CrewSheet:
    system = quote.job.unit_system
    title = f"Placement, floor {plan.floor}: {room_title(plan, system)}"
    table = said_columns(CrewTable(title=f"Places in {plan.name}", columns=headings(plan), whole=True,
                                   rows=table_rows(plan, system)))
    cautions = (*ROOM_CAUTIONS, *((plan.caution,) if plan.caution else ()), *dig_cautions(quote, option, plan.code))
    notes = (*exit_notes(quote, option, plan.code), *doorbell_notes(quote, option, plan.code),
             *room_notes(plan, system), *box_notes(quote, option, plan.code), device_key(quote, option, plan.code))
    high_mm = drawing_high_mm(title, said_in(cautions, system), said_in(filter(None, notes), system), table)
    return CrewSheet(title=title, about=f"room {plan.code}", wide=False,
                     drawing=room_drawing(plan, system, min(high_mm, TALL_MM)).svg, tables=(table,), cautions=cautions,
                     notes=notes)


def _rack_sheets(quote: Quote, option: PricedOption) -> Iterator[CrewSheet]:
    for elevation in rack_elevations(quote, option):
        drawn = rack_drawing(elevation, quote.job.unit_system)
        table = CrewTable(title=f"Places in {elevation.id}", columns=drawn.headings, rows=drawn.rows, whole=True)
        yield CrewSheet(title=f"Rack elevation: {drawn.title}", about=elevation.id, wide=False, drawing=drawn.svg,
                        cautions=drawn.notes, notes=(unit_key(elevation),), tables=(table,))


# ---------------------------------------------------------------- files

def write_crew(quote: Quote, folder: Path, templates: tuple[Path, ...], accepted: str = "", labels: str = "") -> None:
    """The crew's files: of the option accepted, else of each, marked as drafts. `labels` names a sheet of labels.

    Raises OSError where the disk refuses, BadTemplate where a template of the firm's own fails.
    """
    for option in quote.options:
        if accepted in ("", option.name):
            for name, content in crew_files(quote, option, templates, not accepted, labels).items():
                (folder / name).write_bytes(content)


def _without_id(row: tuple[str, ...]) -> tuple[str, ...]:
    return (*row[:ID], *row[ID + 1:])


def crew_files(
    quote: Quote, option: PricedOption, templates: tuple[Path, ...], draft: bool, labels: str = ""
) -> dict[str, bytes]:
    """One option's files by name."""
    language = language_for(ENGLISH, {})
    formats = formats_for(english_locale(quote.job.terms.locale), quote.pricing.currency, quote.job.unit_system)
    made = crew_set(quote, option, draft)
    given = {"view": made, "formats": formats, "language": language}
    files = {f"crew-{option.name}.html": render_page(templates, PAGE, **given).encode()}
    all_labels = cable_labels(quote, option)
    sheet = label_sheet(quote, labels)
    if sheet is not None:
        paper: LabelPaper = label_paper(all_labels, sheet)
        labelled = {"set": made, "paper": paper, "key": label_key(quote, option)}
        files[f"labels-{option.name}.html"] = render_page(
            templates, LABEL_PAGE, view=labelled, formats=formats, language=language).encode()
    files[f"pull-list-{option.name}.csv"] = csv_bytes(
        ("Cable id", "Sheet", *_without_id(pull_columns(quote.job.unit_system))),
        ((row[ID], table.title, *_without_id(row)) for table in pull_lists(quote, option) for row in table.rows))
    files[f"labels-{option.name}.csv"] = csv_bytes(
        ("Label", "End", "Pull group", "Room"),
        ((label.run, label.end, label.pull_group, label.room) for label in all_labels))
    files[f"day-sheet-{option.name}.csv"] = csv_bytes(CSV_COLUMNS, day_rows(quote, option))
    files[f"serials-{option.name}.csv"] = csv_bytes(
        REGISTER, (row for table in registers(quote, option) for row in table.rows))
    return files

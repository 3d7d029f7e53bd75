"""The site survey sheet: what the quote takes each room to be, what nobody measured, and room for what is found.

One for the job, whatever option is chosen: the estimator walks the house with it before the quote has to hold.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from msgspec.structs import replace

from quoting.documents.crew_papers import ENGLISH, PAGE, CrewSheet, set_of
from quoting.documents.crew_sheet import NONE, CrewTable
from quoting.documents.floor_plan import FactRow, rows_of_kind
from quoting.documents.formats import Formats, english_locale, formats_for
from quoting.documents.language import in_english, language_for
from quoting.documents.templates import render_page
from quoting.facts import HeadEndPlace
from quoting.job import Room
from quoting.quote import OpenQuestion, Quote
from quoting.units import show_length

HAND = ""  # filled in by hand
FILE = "site-survey.html"
ROOM_COLUMNS = ("Floor", "Room", "Length x width", "Ceiling", "Walls", "Made of", "Above, reached", "Joists",
                "Wet, near water", "Noise", "Obstacles", "Controls' wall", "Listening", "Photos", "As found")
HEAD_END_COLUMNS = ("Head end", "Beside", "Length x width", "Cables come out", "Door's wall", "Mains, air", "As found")
HOUSE_COLUMNS = ("Of the house", "As typed", "As found")
QUESTION_COLUMNS = ("Of", "Question", "We use", "If worse", "Adds at most", "Who answers", "Before", "Answer, date")
ASSUMED = "?"  # nobody typed it: look at it
ADVICE = ("Walk every room with it. What differs goes into the workbook, then quote again. A value with ? was assumed, "
          "so look at it first; a ? alone was not typed: measure it and write it in.")
# Trade-practice cautions, in the estimator's hand: the sheet is read in attics and under roofs.
CAUTIONS = ("Attics and crawl spaces: look for hazards first, never alone, step on joists only, light, mask, water.",
            "Open nothing, switch nothing off: mains belongs to a licensed electrician. Local rules decide.")
OLD_HOUSE = ("say.lead safe", "say.asbestos")  # sentences that the design brings where the house may be old


def write_survey(quote: Quote, folder: Path, templates: tuple[Path, ...]) -> None:
    """Writes the sheet. Raises OSError where the disk refuses, BadTemplate where a template of the firm's own fails."""
    language = language_for(ENGLISH, {})
    formats = formats_for(english_locale(quote.job.terms.locale), quote.pricing.currency, quote.job.unit_system)
    made = replace(
        set_of(quote, quote.options[-1], False, survey_sheets(quote, formats), paper="Site survey", advice=ADVICE),
        option="", title="All options")
    page = render_page(templates, PAGE, view=made, formats=formats, language=language)
    (folder / FILE).write_bytes(page.encode())


def survey_sheets(quote: Quote, formats: Formats) -> Iterator[CrewSheet]:
    """The rooms by floor, then what nobody knows yet."""
    old = tuple(in_english(quote, each.text) for each in quote.statements if each.code in OLD_HOUSE)
    rooms = sorted(quote.job.rooms, key=lambda room: room.floor)
    sources = {(default.of, default.field): default.source for default in quote.defaults}
    tables = [CrewTable(title="Rooms as typed", columns=ROOM_COLUMNS, grouped=True,
                        rows=tuple(_room(quote, room, sources) for room in rooms))]
    if quote.open_questions:
        tables.append(CrewTable(title="What nobody knows yet", columns=QUESTION_COLUMNS,
                                rows=tuple(_question(quote, each, formats) for each in quote.open_questions)))
    tables.append(_house(quote))
    tables += [_head_end(quote, row) for row in rows_of_kind(quote, quote.options[-1], HeadEndPlace)]
    yield CrewSheet(title="Rooms and open questions", cautions=(*old, *CAUTIONS), tables=tuple(tables))


def _room(quote: Quote, room: Room, sources: dict[tuple[str, str], str]) -> tuple[str, ...]:
    system = quote.job.unit_system
    asked = {each.field for each in quote.open_questions if each.of == room.code}

    def mark(text: str, field: str) -> str:
        return f"{text} {ASSUMED}" if field in asked or _is_assumed(sources, f"Rooms {room.code}", field) else text

    low, high = show_length(room.ceiling_height_m, system), show_length(room.ceiling_high_m, system)
    slope = f"{low} to {high}, low at the {room.low_wall or ASSUMED} wall"
    ceiling = slope if room.ceiling_high_m > room.ceiling_height_m else low
    joists = f"{room.joists} its length" if room.joists else ASSUMED
    if room.joist_spacing_m:
        joists += f", {show_length(room.joist_spacing_m, system)} apart"
    wet = room.setting + (", near water" if room.near_water else "")
    above = f"{mark(room.above, 'Above the ceiling')}; {mark(room.access, 'Access')}"
    return (
        f"Floor {room.floor}", f"{room.name} ({room.code})",
        f"{show_length(room.length_m, system)} x {show_length(room.width_m, system)}",
        mark(ceiling, "Ceiling height"), mark(room.wall_state, "Wall state"),
        mark(room.construction, "Construction"), above,
        joists, mark(wet, "Setting"), HAND, room.obstacles or ASSUMED,
        HAND if room.control != "phone" else NONE, mark(room.listening, "Listening"), HAND, HAND)


def _house(quote: Quote) -> CrewTable:
    """What the estimator looks for once, whatever the rooms are."""
    job = quote.job
    rows = (("Year built", str(job.year_built or ASSUMED)),
            ("Main switchboard: where it is, free circuits for the equipment", ASSUMED),
            ("Router: where it stands, who may change its settings", f"{ASSUMED}; {job.router_owner or ASSUMED}"),
            ("Which wall of the house is the plan's north; doors and windows on the walls of controls", ASSUMED))
    return CrewTable(title="The house", columns=HOUSE_COLUMNS, rows=tuple((*row, HAND) for row in rows))


def _head_end(quote: Quote, row: FactRow) -> CrewTable:
    """Where the racks are planned, as the placement sheet has it."""
    system, names = quote.job.unit_system, {room.code: room.name for room in quote.job.rooms}
    sure = "" if row["size_said"] else f" {ASSUMED}"
    beside = f"{names.get(row['beside'], ASSUMED)}, its {row['side'] or ASSUMED} side"
    return CrewTable(title="Head end", columns=HEAD_END_COLUMNS, rows=((
        f"{row['name']}, floor {row['floor']}", "a room of its own, above" if row["room"] else beside,
        f"{show_length(row['length_m'], system)} x {show_length(row['width_m'], system)}{sure}",
        f"{row['wall']} wall, {show_length(row['height_m'], system)} high", HAND, HAND, HAND),))


def _is_assumed(sources: dict[tuple[str, str], str], of: str, field: str) -> bool:
    """Whether nobody typed the value: neither for the room, nor for its floor or the job where it came from."""
    source = sources.get((of, field))
    if source is None:
        return False
    come_from = source.capitalize()
    return _is_assumed(sources, come_from, field) if come_from == "Job" or come_from.startswith("Floor ") else True


def _question(quote: Quote, each: OpenQuestion, formats: Formats) -> tuple[str, ...]:
    names = {room.code: room.name for room in quote.job.rooms}
    most = max(each.cost.values(), default=None)
    return (names.get(each.of, each.of), in_english(quote, each.question), each.used, each.worse,
            formats.money(most) if most is not None else NONE, in_english(quote, each.who), each.by_phase, HAND)

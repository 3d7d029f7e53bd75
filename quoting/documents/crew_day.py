"""The crew's day sheets: each task of a phase with its estimated hours, and room to write what it took."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from quoting.documents.crew_cautions import ATTIC, LADDERS, LICENSED, LOOK, OLD_PAINT, STONE, rough_in_cautions
from quoting.documents.crew_pull import is_old
from quoting.documents.crew_sheet import CrewTable
from quoting.documents.floor_plan import rows_of_kind
from quoting.documents.ubl import plain
from quoting.documents.visit_days import task_words
from quoting.documents.work_limits import lift_words, work_limits
from quoting.facts import PhaseEffort
from quoting.lines import PHASES, Phase
from quoting.money import round_to
from quoting.quote import PricedLabour, PricedOption, Quote

HAND = ""
DUST = "Dust: mask and sheets; the power of the room off while a box with mains is open."
CUTTING = "Look up and behind before each cut: scan for pipes, wires, ducts and gas. Power off if in doubt."
PRIVACY = "Photographs, plans and passwords belong to the family: only who needs them, deleted on request."
AT_RISK: dict[Phase, tuple[str, ...]] = {  # {weight}, {level_db}: the job's own limits
    "survey and design": (ATTIC, LADDERS, "Textured ceilings, pipe wrap and loose fill of older houses may hold "
                          "asbestos: touch nothing, ask for a test."),
    "rough-in": (LOOK, LADDERS),
    "trim-out": (CUTTING, LADDERS, DUST),
    "rack build": ("Amplifiers and racks over {weight}: two people lift; the rack is held against tipping while "
                   "it is loaded.", "Mains circuits, outlets and breakers: a licensed electrician only."),
    "commissioning": ("Begin at the lowest volume; wear protection above {level_db:g} dB(A).",
                      "A protection light or a smell: off at once, cord out, and only then look."),
    "handover": (PRIVACY,),
}
CREW_PHASES = tuple(phase for phase in PHASES if phase != "whole job")
COLUMNS = ("Room", "Task", "Hours est", "Hours spent", "Remaining", "Blockers", "Photos", "Change requests", "Line id")
CSV_COLUMNS = ("Line id", "Phase", *COLUMNS[:-1])
HEAD_END = "Head end and whole house"


def day_sheets(quote: Quote, option: PricedOption) -> tuple[CrewTable, ...]:
    """A table for each phase that has work of the crew's, room by room. What runs along with the whole job, and paid
    time that no task fills, are the office's: they stand in the table of the hours alone."""
    return tuple(_day_sheet(quote, option, phase) for phase in CREW_PHASES if _of_crew(quote, option, phase))


def day_rows(quote: Quote, option: PricedOption) -> Iterator[tuple[str, ...]]:
    """Every labour line once, by its id, to be read back when the hours are written in."""
    for phase in PHASES:
        for line in _of(quote, option, phase):
            yield (line.id, phase, *_row(line, quote, plain(line.hours))[:-1])


def _of(quote: Quote, option: PricedOption, phase: Phase) -> list[PricedLabour]:
    """A phase's lines, the rooms in the order in which the house is cabled, what is no room's last, tasks as the work
    goes."""
    places = {room.code: place for place, room in enumerate(quote.job.rooms_in_house_order())}
    return sorted((line for line in option.labour if line.phase == phase and line.hours), key=lambda line: (
        places.get(line.room, len(places)), quote.tasks[line.task].place if line.task in quote.tasks else 0, line.id))


def _of_crew(quote: Quote, option: PricedOption, phase: Phase) -> list[PricedLabour]:
    return [line for line in _of(quote, option, phase) if line.task not in quote.tasks or quote.tasks[line.task].sold]


def _day_sheet(quote: Quote, option: PricedOption, phase: Phase) -> CrewTable:
    lines = _of_crew(quote, option, phase)
    rows = (_row(line, quote, plain(round_to(line.hours, 1))) for line in lines)
    hours = sum((line.hours for line in lines), Decimal(0))
    old = phase in ("rough-in", "trim-out") and any(line.wall_state not in ("", "open") for line in lines) and (
        is_old(quote))
    cut = phase == "rough-in" and any(line.wall_state == "finished" for line in lines)
    stone = {room.construction in STONE for room in quote.job.rooms}
    more = rough_in_cautions(False in stone, True in stone)[1:] if phase == "rough-in" else ()
    at_risk = dict.fromkeys((*what_can_hurt(quote, phase), *more))
    return CrewTable(
        title=f"Day sheet: {phase}", columns=COLUMNS, grouped=True, rows=tuple(rows),
        known_by=tuple(line.id for line in lines),
        cautions=(*at_risk, *((CUTTING, DUST) if cut else ()), *((OLD_PAINT,) if old else ()), LICENSED),
        notes=(f"{plain(hours)} hours estimated, travel and loading with them; a line's to the nearest tenth. "
               "Write the hours of the day beside the line, what blocks it, the numbers of the photographs, and every "
               "change that somebody asks for: no extra work before its change order is signed.",
               *_on_visits(quote, option, phase)))


def what_can_hurt(quote: Quote, phase: Phase) -> Iterator[str]:
    """The cautions of a phase, by the job's limits."""
    limits = work_limits(quote)
    return (words.format(weight=lift_words(limits), level_db=limits["caution_db"]) for words in AT_RISK[phase])


def _on_visits(quote: Quote, option: PricedOption, phase: Phase) -> Iterator[str]:
    """On which visits the hours are worked, and which of them on none."""
    visits = option.timetable.visits_of(phase)
    if visits:
        yield f"On visit {', '.join(visits)}."
    for later in option.timetable.agreed:
        if later.phase == phase:
            yield f"On visit {later.id}, whose day is agreed later: {task_words(quote, later.tasks)}."
    for effort in rows_of_kind(quote, option, PhaseEffort):
        if effort["phase"] == phase and effort["before_hours"]:
            yield (f"{plain(round_to(Decimal(str(effort['before_hours'])), 1))} of these hours came before the order: "
                   f"{task_words(quote, effort['before'].split(', '))}. Write what they took.")


def _row(line: PricedLabour, quote: Quote, hours: str) -> tuple[str, ...]:
    names = {room.code: room.name for room in quote.job.rooms}
    task = quote.tasks[line.task].description if line.task in quote.tasks else line.task
    return (names.get(line.room, line.room) or HEAD_END, task, hours, HAND, HAND, HAND, HAND, HAND, line.id)

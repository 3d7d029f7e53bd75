"""The crew's day sheets: each task of a phase with its estimated hours, and room to write what it took."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from quoting.documents.crew_cautions import ATTIC, LADDERS, LICENSED, LOOK, OLD_PAINT, STONE, rough_in_cautions
from quoting.documents.crew_pull import is_old
from quoting.documents.crew_sheet import CrewTable
from quoting.lines import PHASES, Phase
from quoting.quote import PricedLabour, PricedOption, Quote

HAND = ""
DUST = "Dust: mask and sheets; the power of the room off while a box with mains is open."
CUTTING = "Look up and behind before each cut: scan for pipes, wires, ducts and gas. Power off if in doubt."
PRIVACY = "Photographs, plans and passwords belong to the family: only who needs them, deleted on request."
AT_RISK: dict[Phase, tuple[str, ...]] = {
    "survey and design": (ATTIC, LADDERS, "Textured ceilings, pipe wrap and loose fill of older houses may hold "
                          "asbestos: touch nothing, ask for a test."),
    "rough-in": (LOOK, LADDERS),
    "trim-out": (CUTTING, LADDERS, DUST),
    "rack build": ("Amplifiers and racks over 50 lb (23 kg): two people lift; the rack is held against tipping while "
                   "it is loaded.", "Mains circuits, outlets and breakers: a licensed electrician only."),
    "commissioning": ("Begin at the lowest volume; wear protection above 85 dB(A).",
                      "A protection light or a smell: off at once, cord out, and only then look."),
    "handover": (PRIVACY,),
}
CREW_PHASES = tuple(phase for phase in PHASES if phase != "whole job")
BEFORE = {"survey and design": ("The first talk, the proposal and its revisions came before these dates: write what "
                                "they took.",)}
COLUMNS = ("Room", "Line id", "Task", "Hours est", "Hours spent", "Remaining", "Blockers", "Photos",
           "Change requests")
CSV_COLUMNS = ("Line id", "Phase", *(column for column in COLUMNS if column != "Line id"))


def day_sheets(quote: Quote, option: PricedOption) -> tuple[CrewTable, ...]:
    """A table for each phase that has work of the crew's, room by room. What runs along with the whole job, and paid
    time that no task fills, are the office's: they stand in the table of the hours alone."""
    return tuple(_day_sheet(quote, option, phase) for phase in CREW_PHASES if _of_crew(quote, option, phase))


def day_rows(quote: Quote, option: PricedOption) -> Iterator[tuple[str, ...]]:
    """Every labour line once, by its id, to be read back when the hours are written in."""
    for phase in PHASES:
        for line in _of(option, phase):
            room, id, *rest = _row(line, quote)
            yield (id, phase, room, *rest)


def _of(option: PricedOption, phase: Phase) -> list[PricedLabour]:
    return sorted((line for line in option.labour if line.phase == phase and line.hours),
                  key=lambda line: (line.zone, line.room, line.id))


def _of_crew(quote: Quote, option: PricedOption, phase: Phase) -> list[PricedLabour]:
    return [line for line in _of(option, phase) if line.task not in quote.tasks or quote.tasks[line.task].sold]


def _day_sheet(quote: Quote, option: PricedOption, phase: Phase) -> CrewTable:
    lines = _of_crew(quote, option, phase)
    visits = ", ".join(visit.id for visit in option.timetable.visits if visit.phase == phase)
    rows = sorted((_row(line, quote) for line in lines), key=lambda row: row[0])
    hours = sum((line.hours for line in lines), Decimal(0))
    old = phase in ("rough-in", "trim-out") and any(line.wall_state not in ("", "open") for line in lines) and (
        is_old(quote))
    cut = phase == "rough-in" and any(line.wall_state == "finished" for line in lines)
    stone = {room.construction in STONE for room in quote.job.rooms}
    more = rough_in_cautions(False in stone, True in stone)[1:] if phase == "rough-in" else ()
    at_risk = dict.fromkeys((*AT_RISK[phase], *more))
    return CrewTable(
        title=f"Day sheet: {phase}", columns=COLUMNS, grouped=True, rows=tuple(rows),
        cautions=(*at_risk, *((CUTTING, DUST) if cut else ()), *((OLD_PAINT,) if old else ()), LICENSED),
        notes=(f"{plain(hours)} hours estimated{f', visits {visits}' if visits else ''}. Write the hours of the day "
               "beside the line, what blocks it, the numbers of the photographs, and every change that somebody asks "
               "for: no extra work before its change order is signed.", *BEFORE.get(phase, ())))


def _row(line: PricedLabour, quote: Quote) -> tuple[str, ...]:
    names = {room.code: room.name for room in quote.job.rooms}
    task = quote.tasks[line.task].description if line.task in quote.tasks else line.task
    return (names.get(line.room, line.room) or "Head end and whole house", line.id, task, plain(line.hours), HAND, HAND,
            HAND, HAND, HAND)


def plain(hours: Decimal) -> str:
    """Hours without zeros at the end.

    >>> plain(Decimal("1.50")), plain(Decimal("20.00")), plain(Decimal("0"))
    ('1.5', '20', '0')
    """
    text = format(hours, "f")
    return text.rstrip("0").rstrip(".") if "." in text else text

"""Sheets that are filled in as the job goes: permits and inspections, serial numbers and warranties."""

from __future__ import annotations

import datetime

from quoting.documents.crew_cautions import LICENSED, STONE
from quoting.documents.crew_keys import device_key
from quoting.documents.crew_places import device_places
from quoting.documents.crew_sheet import NONE, CrewTable
from quoting.documents.equipment import pieces
from quoting.documents.floor_plan import rows_of_kind
from quoting.documents.formats import english_locale, formats_for
from quoting.documents.language import in_english
from quoting.facts import CableRun, RackFact
from quoting.lines import PHASES, Phase
from quoting.quote import PricedOption, Quote

HAND = ""
REGISTER = ("Id", "Part", "What it is", "Room, place", "Serial number", "Bought", "Warranty start", "Warranty end")
EMPTY_LINES = 3  # for what the place asks for besides


def permits(quote: Quote, option: PricedOption) -> CrewTable:
    """What a place may ask for before, during and after the work: authority, number, date and result by hand."""
    place, when = quote.place, _Days(quote, option)
    said = in_english(quote, place.permit) or "ask the authority whether one is needed"
    asked = [("Low-voltage permit or licence", said, f"before rough-in{when.begins('rough-in')}")]
    runs = rows_of_kind(quote, option, CableRun)
    if any(run["buried"] for run in runs):
        asked.append(("Marking of buried services", "call before digging",
                      f"2 to 3 working days before digging{when.begins('rough-in')}"))
    if any(run["wall_state"] != "finished" for run in runs):
        asked.append(("Rough-in inspection", "cables, holes, plates and seals in view",
                      f"before the walls are closed{when.ends('rough-in')}"))
    if any(run["wall_state"] == "finished" for run in runs):
        asked.append(("Rough-in inspection, finished walls", "cables and seals in view at each opening, photographed",
                      f"before openings are closed or covered{when.ends('rough-in')}"))
    blocks = "floors" if runs and all(run["construction"] in STONE for run in runs) else "fire-blocks"
    asked.append((f"Seals of {blocks} and rated walls", "listed systems, photographed",
                  f"before they are covered{when.ends('rough-in')}"))
    if rows_of_kind(quote, option, RackFact):
        asked.append(("Mains circuits of the equipment", "by a licensed electrician, under their own permit",
                      f"before the rack is powered{when.begins('commissioning')}"))
    asked.append(("Final inspection", "where the permit asks for one", f"at handover{when.begins('handover')}"))
    asked += [(HAND, HAND, HAND)] * EMPTY_LINES
    return CrewTable(
        title="Permits and inspections", rows=tuple((*row, HAND, HAND, HAND, HAND) for row in asked),
        columns=("What", "Says", "When", "Authority", "Number", "Date", "Result, inspector"),
        cautions=(LICENSED, "Nothing here says that the job complies: the authority does."),
        notes=(f"Place: {place.place or NONE}. Nobody closes a wall before its inspection is written down here.",))


class _Days:
    """When phases begin and end, behind the visit that does: "; RI1 begins Tue, Jan 19, 2027"."""

    __slots__ = ("_formats", "_visits")

    def __init__(self, quote: Quote, option: PricedOption) -> None:
        self._visits = option.timetable.visits
        self._formats = formats_for(english_locale(quote.job.terms.locale), quote.pricing.currency,
                                    quote.job.unit_system)

    def begins(self, phase: Phase) -> str:
        """The first day of a phase; nothing where it has no visit."""
        its = [visit for visit in self._visits if visit.phase == phase][:1]
        return "".join(f"; {visit.id} begins {self._day(visit.first_date, visit.first_day)}" for visit in its)

    def ends(self, phase: Phase) -> str:
        """The last day of a phase; nothing where it has no visit."""
        its = [visit for visit in self._visits if visit.phase == phase][-1:]
        return "".join(f"; {visit.id} ends {self._day(visit.last_date, visit.last_day)}" for visit in its)

    def _day(self, date: datetime.date | None, day: int) -> str:
        return self._formats.weekday(date) if date else f"on day {day}"


def registers(quote: Quote, option: PricedOption) -> tuple[CrewTable, ...]:
    """A line for each piece of equipment that the firm brings, by the visit that takes it up."""
    names = {room.code: room.name for room in quote.job.rooms}
    places = device_places(quote, option)
    brought = {(row.part, reason.fact): row.phase for row in option.materials for reason in row.because}
    found: dict[Phase, list[tuple[str, ...]]] = {}
    for piece in pieces(quote, option):
        info = quote.parts.get(piece.part)
        at = f", at {places[piece.id]}" if piece.id in places else ""
        found.setdefault(brought.get((piece.part, piece.id), "rack build"), []).append((
            piece.id, piece.part, info.description if info else piece.part,
            f"{names.get(piece.room, 'head end')}{at}", HAND, HAND, HAND, HAND))
    return tuple(CrewTable(title=_title(option, phase), columns=REGISTER, rows=tuple(found[phase]))
                 for phase in PHASES if phase in found)


def _title(option: PricedOption, phase: Phase) -> str:
    visits = ", ".join(option.timetable.visits_of(phase))
    return f"{phase[:1].upper()}{phase[1:]}{f': visit {visits}' if visits else ''}"


def register_notes(quote: Quote, option: PricedOption) -> tuple[str, ...]:
    """When the numbers are read, and what the owner has of them."""
    return ("Read the serial number off the piece before it goes into the rack or the wall. The owner's handover has "
            "the same lines.", device_key(quote, option))

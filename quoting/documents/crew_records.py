"""Sheets that are filled in as the job goes: permits and inspections, serial numbers and warranties."""

from __future__ import annotations

from quoting.documents.crew_keys import device_key
from quoting.documents.crew_places import device_places
from quoting.documents.crew_pull import LICENSED
from quoting.documents.crew_sheet import NONE, CrewTable
from quoting.documents.equipment import pieces
from quoting.documents.floor_plan import rows_of_kind
from quoting.documents.language import in_english
from quoting.facts import CableRun, RackFact
from quoting.lines import PHASES, Phase
from quoting.quote import PricedOption, Quote

HAND = ""
REGISTER = ("Id", "Part", "What it is", "Room, place", "Serial number", "Bought", "Warranty start", "Warranty end")
EMPTY_LINES = 3  # for what the place asks for besides


def permits(quote: Quote, option: PricedOption) -> CrewTable:
    """What a place may ask for before, during and after the work: authority, number, date and result by hand."""
    place = quote.place
    said = in_english(quote, place.permit) or "ask the authority whether one is needed"
    asked = [("Low-voltage permit or licence", said, "before rough-in")]
    runs = rows_of_kind(quote, option, CableRun)
    if any(run["buried"] for run in runs):
        asked.append(("Marking of buried services", "call before digging", "2 to 3 working days before digging"))
    if any(run["wall_state"] != "finished" for run in runs):
        asked.append(("Rough-in inspection", "cables, holes, plates and seals in view", "before the walls are closed"))
    if any(run["wall_state"] == "finished" for run in runs):
        asked.append(("Rough-in inspection, finished walls", "cables and seals in view at each opening, photographed",
                      "before openings are closed or covered"))
    asked.append(("Seals of fire-blocks and rated walls", "listed systems, photographed", "before they are covered"))
    if rows_of_kind(quote, option, RackFact):
        asked.append(("Mains circuits of the equipment", "by a licensed electrician, under their own permit",
                      "before the rack is powered"))
    asked.append(("Final inspection", "where the permit asks for one", "at handover"))
    asked += [(HAND, HAND, HAND)] * EMPTY_LINES
    return CrewTable(
        title="Permits and inspections", rows=tuple((*row, HAND, HAND, HAND, HAND) for row in asked),
        columns=("What", "Says", "When", "Authority", "Number", "Date", "Result, inspector"),
        cautions=(LICENSED, "Nothing here says that the job complies: the authority does."),
        notes=(f"Place: {place.place or NONE}. Nobody closes a wall before its inspection is written down here.",))


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
    visits = ", ".join(visit.id for visit in option.timetable.visits if visit.phase == phase)
    return f"{phase[:1].upper()}{phase[1:]}{f': visit {visits}' if visits else ''}"


def register_notes(quote: Quote, option: PricedOption) -> tuple[str, ...]:
    """When the numbers are read, and what the owner has of them."""
    return ("Read the serial number off the piece before it goes into the rack or the wall. The owner's handover has "
            "the same lines.", device_key(quote, option))

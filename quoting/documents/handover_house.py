"""What lies in the walls of the house, for whoever drills there later: cables, empty ways, ways through the wall."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from quoting.documents.crew_measures import NONE, planned_length
from quoting.documents.formats import Formats
from quoting.documents.handover_view import CableLine, WayLine
from quoting.documents.language import N_, Language
from quoting.documents.later_cables import waits_for
from quoting.documents.proposal_rooms import FactRow, fact_rows
from quoting.documents.proposal_words import isolate, sentence
from quoting.facts import CableEnd, CableRun, Conduit, HouseExit, Place, Trench
from quoting.quote import PricedOption, Quote

HEAD_END = "HE"
CONDUITS = {
    "attic": N_("An empty conduit with a pull string, from the equipment to the attic"),
    "basement": N_("An empty conduit with a pull string, from the equipment to the basement"),
    "outside": N_("An empty conduit with a pull string, from the equipment to the outside"),
}
DUG = {"trench": N_("trench, %(length)s"), "conduit": N_("sleeve, %(length)s")}


def cables(quote: Quote, option: PricedOption, formats: Formats, language: Language) -> Iterator[CableLine]:
    """Every cable, whether anything is on it yet."""
    names = {room.code: room.name for room in quote.job.rooms}
    rooms = {row["id"]: isolate(names.get(row["room"], "")) for row in fact_rows(quote, option, Place)}
    live = {row["run"] for row in fact_rows(quote, option, CableEnd) if row["live"]}

    def end(id: str) -> str:
        if id == HEAD_END:
            return isolate(quote.job.head_end.place) or language.gettext("Equipment")
        return f"{rooms[id]}, {id}" if rooms.get(id) else id

    def planned(run: FactRow) -> str:
        length = planned_length(run, formats.unit_system)
        return length if length == NONE else formats.long_unit(Decimal(length))

    for run in sorted(fact_rows(quote, option, CableRun), key=lambda run: str(run["id"])):
        yield CableLine(id=run["id"], start=end(run["start"]), end=end(run["end"]),
                        use=language.gettext("in use") if run["id"] in live else language.gettext(waits_for(run)),
                        planned=planned(run))


def place_note(quote: Quote, option: PricedOption, language: Language) -> str:
    """What a place's letters say; "" for a house without places."""
    first = next(iter(fact_rows(quote, option, Place)), None)
    if first is None:
        return ""
    return language.gettext("%(place)s is a place in a room: K is a control, S a loudspeaker, I a socket for a player, "
                            "T a television.", place=first["id"])


def later_controls(quote: Quote, option: PricedOption, language: Language) -> str:
    """Where a control can be added, because its cable is there; "" where there is no such place."""
    names = {room.code: isolate(room.name) for room in quote.job.rooms}
    live = {row["run"] for row in fact_rows(quote, option, CableEnd) if row["live"]}
    waiting = {run["end"] for run in fact_rows(quote, option, CableRun)
               if run["id"] not in live and not run["spare"] and run["purpose"] == "control"}
    places = [f"{names.get(row['room'], row['room'])} ({row['id']})" for row in fact_rows(quote, option, Place)
              if row["id"] in waiting]
    if not places:
        return ""
    return language.gettext("Behind a blank plate lies a cable for a later control, which can be added there: "
                            "%(places)s.", places=language.listed(places))


def ways(quote: Quote, option: PricedOption, formats: Formats, language: Language) -> Iterator[WayLine]:
    """Empty conduits, what is dug, and where cables go out through the house wall."""
    names = {room.code: isolate(room.name) for room in quote.job.rooms}
    for row in fact_rows(quote, option, Conduit):
        if row["to"] not in CONDUITS:
            continue
        room = names.get(row["towards"], "")
        if room and row["to"] == "attic":
            room = language.gettext("attic above %(room)s", room=room)
        yield WayLine(id=row["id"], words=language.gettext(CONDUITS[row["to"]]), room=room,
                      length=formats.length(row["length_m"]))
    for row in fact_rows(quote, option, Trench):
        if row["what"] not in DUG:
            continue
        yield WayLine(id=row["id"], words=sentence(language.gettext(
            DUG[row["what"]], length=formats.length(row["length_m"]))), room=names.get(row["room"], ""), length="")
    for row in fact_rows(quote, option, HouseExit):
        yield WayLine(id=row["id"], words=_through(row["beside"], row["height_m"], names, formats, language),
                      room=names.get(row["room"], ""), length="")


def _through(beside: str, height_m: float, names: dict[str, str], formats: Formats, language: Language) -> str:
    height = formats.length(height_m)
    if beside in names:
        return language.gettext("A sealed way for cables through the house wall from %(room)s, %(height)s above the "
                                "ground",
                                room=names[beside], height=height)
    return language.gettext("A sealed way for cables through the house wall, %(height)s above the ground",
                            height=height)

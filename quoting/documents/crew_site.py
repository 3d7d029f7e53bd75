"""What the site sheets say besides cables: drilling and sealing by floor, and where controls and sockets go."""

from __future__ import annotations

from quoting.documents.crew_places import DEVICE_KEY, PLACE_KEY
from quoting.documents.crew_pull import LICENSED, VISITS, plain_length, unit_word
from quoting.documents.crew_sheet import NONE, CrewTable
from quoting.documents.floor_plan import rows_of_kind
from quoting.documents.plan_symbols import wall_of
from quoting.documents.room_plan import RoomPlan, RoomThing
from quoting.documents.room_table import small_length, what_words
from quoting.facts import CableRun, FloorFact, KeypadFact
from quoting.quote import PricedOption, Quote
from quoting.units import show_length

HAND = ""
BEHIND = "A surface loudspeaker hangs before its ring: set it where the loudspeaker's own bracket leaves room for it."
WALL_THINGS = ("keypad", "knob", "control", "input", "tv")


def drilling(quote: Quote, option: PricedOption) -> CrewTable:
    """Floor by floor: what is crossed, to be plated and sealed, and ticked."""
    system = quote.job.unit_system
    floors = sorted(rows_of_kind(quote, option, FloorFact), key=lambda row: (row["floor"], row["wall_state"]))
    rows = tuple((str(row["floor"]), VISITS[row["wall_state"]], str(row["rooms"]), str(row["runs"]),
                  plain_length(row["cable_m"], system), str(row["studs_crossed"]), str(row["plates_crossed"]),
                  HAND, HAND, HAND) for row in floors)
    return CrewTable(
        title="Drilling, plates and sealing",
        columns=("Floor", "Visit", "Rooms", "Cables", f"Cable {unit_word(system)}", "Studs crossed, about",
                 "Top and bottom plates crossed, about", "Holes drilled", "Steel plates set", "Sealed, by and date"),
        rows=rows,
        cautions=(LICENSED, "Holes nearer than 1 1/4 in (32 mm) to the face of a stud get a steel plate.",
                  "A hole is filled to 40 % at most; never together with mains.",
                  "Holes through plates that block fire are sealed with approved material after the pull; rated walls "
                  "and ceilings by a listed system."),
        notes=("Counts come from the routes as planned: write what was drilled.",))


def device_list(quote: Quote, option: PricedOption, plans: tuple[RoomPlan, ...]) -> CrewTable:
    """Controls, player sockets, television plates and loudspeakers' rings for the electrician, each place once."""
    cables: dict[str, list[str]] = {}
    for run in rows_of_kind(quote, option, CableRun):
        for place in (run["start"], run["end"]):
            cables.setdefault(place, []).append(run["id"])
    keypads = {row["place"]: row for row in rows_of_kind(quote, option, KeypadFact)}
    system = quote.job.unit_system
    rows = []
    for plan in plans:
        for thing in plan.things:
            if thing.kind in WALL_THINGS or thing.ring:
                keypad = keypads.get(thing.id)
                rows.append((
                    thing.id, plan.name, what_words(thing), *_wall(plan, thing, quote),
                    show_length(thing.height_m, system), f"1 gang, {thing.ring}" if thing.ring else NONE,
                    small_length(0 if thing.kind == "surface" else thing.depth_mm, system),
                    ", ".join(cables.get(thing.id, ())) or NONE,
                    thing.paint or "standard", "yes: wording signed first" if keypad and keypad["engraved"] else "no",
                    HAND))
    return CrewTable(
        title="Device locations: controls, sockets, plates",
        columns=("Place", "Room", "What", "Wall", "Along it", "Height", "Ring", "Depth", "Cable ids", "Finish",
                 "Engraving", "Set, initials"),
        rows=tuple(rows),
        cautions=("Low-voltage rings and boxes stand apart from mains boxes: never one box for both.", LICENSED),
        notes=("Heights are over the finished floor, in line with the light switches near them: ask where they "
               "differ.", f"{PLACE_KEY} {DEVICE_KEY}",
               *((BEHIND,) if any(thing.kind == "surface" and thing.ring for plan in plans for thing in plan.things)
                 else ())))


def _wall(plan: RoomPlan, thing: RoomThing, quote: Quote) -> tuple[str, str]:
    """Which wall, and how far along it from the wall that other sheets measure from."""
    wall = wall_of(thing.x_m, thing.y_m, plan.length_m, plan.width_m)
    east, north = (show_length(length, quote.job.unit_system) for length in (thing.x_m, thing.y_m))
    if wall in ("north", "south"):
        return wall, f"{east} from the west wall"
    if wall in ("west", "east"):
        return wall, f"{north} from the south wall"
    return NONE, f"{east} from the west, {north} from the south wall"

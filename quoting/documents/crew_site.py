"""What the site sheets say besides cables: drilling and sealing by floor, and where controls and sockets go."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from quoting.documents.crew_keys import device_key, group_key, place_key
from quoting.documents.crew_places import STONE, doorbells
from quoting.documents.crew_pull import CHASES, LICENSED, STONE_DUST, VISITS, plain_length, unit_word
from quoting.documents.crew_sheet import NONE, CrewTable
from quoting.documents.floor_plan import rows_of_kind
from quoting.documents.plan_symbols import wall_of
from quoting.documents.room_plan import RoomPlan, RoomThing
from quoting.documents.room_table import small_length, what_words
from quoting.facts import CableRun, FloorFact, HouseExit, KeypadFact, Pull
from quoting.quote import PricedOption, Quote
from quoting.units import show_length

FactRow = Mapping[str, Any]
HAND = ""
BEHIND = ("A surface loudspeaker hangs before its ring or box: set it where the loudspeaker's own bracket leaves "
          "room for it.")
SOLID = "flush box"
FRAMED_DRILLED = "Holes nearer than 1 1/4 in (32 mm) to the face of a stud get a steel plate."
COUNTED = (
    "Counted is what the way passes: above a ceiling or below a floor nothing but plates; between storeys the joists "
    "across the way, half of the way where nobody typed how they run. Out of the wall of the head end one plate, two "
    "for each floor passed, one into the wall of each device that hangs on one. Cables that go together from the "
    "head end share their holes; each inside a room has its own. Write what was drilled.")
COUNTED_STONE = (
    "In walls of stone: one hole out of the head end's wall and one for each floor passed, shared by the pull; inside "
    "a room cables lie in chases and the ceiling's hollow, and nothing is drilled. A chase serves all cables of "
    "its pull; at HE one more goes from the entry up to the ceiling. The hours of cables in stone carry chasing; "
    "filling beyond our own cuts, plaster and paint are by others: agree who, before the first cut.")
NOT_COUNTED = (
    "Not counted here: boxes, and openings of loudspeakers. Their sizes are on the placement sheets; a box in stone is "
    "cored as its own sheet says.")
ONCE = ("The hole through the house wall to an outdoor room is counted here, and described under Ways out of the "
        "house: drill it once.")
WALL_THINGS = ("keypad", "knob", "control", "input", "tv", "cables")


def drilling(quote: Quote, option: PricedOption) -> CrewTable:
    """Pull by pull, by visit and floor: how wide, how many holes, and what is plated, chased, sealed and ticked."""
    order = {room.code: place for place, room in enumerate(quote.job.rooms)}
    heads = {(row["wall_state"], row["floor"]): _floor_words(row, quote)
             for row in rows_of_kind(quote, option, FloorFact)}
    pulls = sorted(rows_of_kind(quote, option, Pull), key=lambda row: (
        tuple(VISITS).index(row["wall_state"]), row["floor"], order.get(row["room"], -1), row["id"].endswith("-L"),
        row["id"]))
    framed = any(pull["construction"] not in STONE for pull in pulls)
    stone = any(pull["construction"] in STONE for pull in pulls)
    rows = tuple(_drilling_row(pull, heads, quote, stone) for pull in pulls)
    passed = (*(("top and sole plates",) if framed or not stone else ()),
              *(("walls and floors of stone",) if stone else ()))
    outside = bool(rows_of_kind(quote, option, HouseExit))
    return CrewTable(
        title="Drilling, plates and sealing", grouped=True,
        columns=("Floor", "Pull group", "Room", "Cables", "Bit", "Holes side by side",
                 "Studs and joists crossed, about", f"{' or '.join(passed).capitalize()} crossed, about",
                 "Holes in all, about", *(("Chase, at most",) if stone else ()), "Holes drilled", "Steel plates set",
                 "Sealed, by and date"),
        rows=rows,
        cautions=(LICENSED, *((FRAMED_DRILLED,) if framed else ()), *((STONE_DUST, CHASES) if stone else ()),
                  "A hole is filled to 40 % at most; never together with mains.",
                  "Holes through plates that block fire are sealed with approved material after the pull; rated walls "
                  "and ceilings by a listed system."),
        notes=(*((COUNTED,) if framed else ()), *((COUNTED_STONE,) if stone else ()), NOT_COUNTED,
               *((ONCE,) if outside else ()), group_key(quote, option)))


def _floor_words(floor: FactRow, quote: Quote) -> str:
    system = quote.job.unit_system
    return (f"Floor {floor['floor']}, {VISITS[floor['wall_state']]}: {_counted(floor['rooms'], 'room')}, "
            f"{_counted(floor['runs'], 'cable')}, "
            f"{plain_length(floor['cable_m'], system)} {unit_word(system)}")


def _counted(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _drilling_row(
    pull: FactRow, heads: Mapping[tuple[str, int], str], quote: Quote, stone: bool
) -> tuple[str, ...]:
    system = quote.job.unit_system
    name = next((room.name for room in quote.job.rooms if room.code == pull["room"]), "")
    crossed = pull["studs_crossed"] + pull["plates_crossed"]
    each = (1 if pull["id"].endswith("-L") else pull["holes"]) if crossed else 0
    bit = small_length(pull["hole_mm"], system).partition(" (")[0] if each else NONE
    return (heads.get((pull["wall_state"], pull["floor"]), f"Floor {pull['floor']}"), pull["id"],
            name, str(pull["cables"]), bit, str(each) if each else NONE, str(pull["studs_crossed"]),
            str(pull["plates_crossed"]), str(each * crossed),
            *((show_length(pull["chase_m"], system) if pull["chase_m"] else NONE,) if stone else ()), HAND, HAND, HAND)


def device_list(quote: Quote, option: PricedOption, plans: tuple[RoomPlan, ...]) -> CrewTable:
    """Controls, player sockets, television plates and loudspeakers' rings for the electrician, each place once."""
    cables: dict[str, list[str]] = {}
    runs = rows_of_kind(quote, option, CableRun)
    from_he = sum("HE" in (run["start"], run["end"]) for run in runs)
    for run in runs:
        for place in (run["start"], run["end"]):
            if place == "HE":
                cables[place] = [f"every cable from HE: {from_he}"]
                continue
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
                    show_length(thing.height_m, system), _ring_words(thing.ring),
                    small_length(0 if thing.kind == "surface" else thing.depth_mm, system),
                    ", ".join(cables.get(thing.id, ())) or NONE,
                    thing.paint or "standard", "yes: wording signed first" if keypad and keypad["engraved"] else "no",
                    HAND))
    names: dict[str | None, str] = {room.code: room.name for room in quote.job.rooms}
    rows += [(bell, names[run["room"]], "doorbell: the end of its cable, at the chime",
              NONE, "agree with the owner", HAND, NONE, NONE, run["id"], NONE, "no", HAND)
             for bell, run in doorbells(quote, option)]
    return CrewTable(
        title="Device locations: controls, sockets, plates",
        columns=("Place", "Room", "What", "Wall", "Along it", "Height", "Ring or box", "Depth", "Cable ids", "Finish",
                 "Engraving", "Set, initials"),
        rows=tuple(rows),
        cautions=("Low-voltage rings and boxes stand apart from mains boxes: never one box for both.", LICENSED),
        notes=("Heights are over the finished floor, in line with the light switches near them: ask where they "
               "differ.", f"{place_key(quote, option)} {device_key(quote, option)}".strip(),
               *((BEHIND,) if any(thing.kind == "surface" and thing.ring for plan in plans for thing in plan.things)
                 else ())))


def _ring_words(ring: str) -> str:
    """A box for solid walls goes by its own name; what stands in a frame, by its gangs."""
    return ring if ring.startswith(SOLID) else f"1 gang, {ring}" if ring else NONE


def _wall(plan: RoomPlan, thing: RoomThing, quote: Quote) -> tuple[str, str]:
    """Which wall, and how far along it from the wall that other sheets measure from."""
    wall = wall_of(thing.x_m, thing.y_m, plan.length_m, plan.width_m)
    east, north = (show_length(length, quote.job.unit_system) for length in (thing.x_m, thing.y_m))
    if wall in ("north", "south"):
        return wall, f"{east} from the west wall"
    if wall in ("west", "east"):
        return wall, f"{north} from the south wall"
    return NONE, f"{east} from the west, {north} from the south wall"

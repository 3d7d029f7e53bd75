"""What the site sheets say besides cables: drilling and sealing by floor, and where controls and sockets go."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from quoting.documents.crew_cautions import (
    CHASES,
    FRAMING,
    LICENSED,
    LOOK,
    SEAL_STONE,
    STONE,
    STONE_DUST,
    STONE_FLOORS,
)
from quoting.documents.crew_keys import device_key, diameter_key, group_key, place_key
from quoting.documents.crew_measures import bit_size, plain_length, small_length, unit_word
from quoting.documents.crew_places import doorbells
from quoting.documents.crew_pull import VISITS
from quoting.documents.crew_sheet import NONE, CrewTable, said_columns
from quoting.documents.crew_ways import chase_words, room_name
from quoting.documents.floor_plan import rows_of_kind
from quoting.documents.plan_symbols import wall_of
from quoting.documents.room_plan import RoomPlan, RoomThing
from quoting.documents.room_table import double_words, what_words
from quoting.documents.work_limits import work_limits
from quoting.facts import CableRun, Conduit, FloorFact, FramingLimits, HouseExit, KeypadFact, Pull, SharedWay
from quoting.quote import PricedOption, Quote
from quoting.units import UnitSystem, show_length

FactRow = Mapping[str, Any]
HAND = ""
BEHIND = ("A surface loudspeaker hangs before its ring or box: set it where the loudspeaker's own bracket leaves "
          "room for it.")
COUNTED = (
    "Counted is what the way passes: above a ceiling or below a floor nothing but plates; between storeys the joists "
    "across the way, half of the way where nobody has said how they run. Up from the head end through its top plate, "
    "through the sole plate and the top plate of each storey on the way, as far as the ceiling of the cables' own "
    "floor; from there down through a top plate into the wall of each device, or into the outside wall on a way out. "
    "From below a floor: up through the sole plate instead. Cables that go together from the head end share their "
    "holes; each cable inside a room has its own, in plates too. Write what was drilled.")
COUNTED_STONE = (
    "In walls of stone the holes at the head end and through floors are those of the ways that pulls share, the others "
    "those of the table Holes of rooms in stone; how many walls a way across a floor crosses, nobody has said. A chase "
    "serves all cables in it and is counted once, rounded up; as wide as they lie side by side where most do. "
    "The hours of cables in stone carry chasing; filling beyond our own cuts, plaster and paint are by others: agree "
    "who, before the first cut.")
SEAL_PLATES = ("Holes through plates that block fire are sealed with approved material after the pull; rated walls and "
               "ceilings by a listed system.")
NOT_COUNTED = "Not counted here: boxes, and openings of loudspeakers. Their sizes are on the placement sheets."
OUTSIDE = "The hole through the house wall to an outdoor room is not counted here: see Ways out of the house."
TAKEN = ("Where it says 'taken so', nobody has said where it goes: agree it with the owner before the box is set, and "
         "write where it went.")
WALL_THINGS = ("keypad", "knob", "control", "input", "tv", "cables")
CONDUIT_HEAD = "Empty conduits, laid on the same visit"


def drilling(quote: Quote, option: PricedOption) -> CrewTable:
    """Pull by pull, by visit and floor: how wide, how many holes, and what is plated, chased, sealed and ticked."""
    order = {room.code: place for place, room in enumerate(quote.job.rooms)}
    heads = {(row["wall_state"], row["floor"]): _floor_words(row, quote)
             for row in rows_of_kind(quote, option, FloorFact)}
    pulls = sorted(rows_of_kind(quote, option, Pull), key=lambda row: (
        tuple(VISITS).index(row["wall_state"]), row["floor"], order.get(row["room"], -1), row["id"].endswith("-L"),
        row["id"]))
    framed = any(pull["construction"] not in STONE for pull in pulls) or not pulls
    stone = any(pull["construction"] in STONE for pull in pulls)
    shared = rows_of_kind(quote, option, SharedWay)
    conduits = rows_of_kind(quote, option, Conduit)
    guessed = frozenset(run["id"] for run in rows_of_kind(quote, option, CableRun) if run["length_basis"] == "band")
    rows = (*(_drilling_row(pull, heads, quote, shared, guessed, framed=framed, stone=stone) for pull in pulls),
            *(_conduit_row(row, quote, framed=framed, stone=stone) for row in conduits))
    outside = bool(rows_of_kind(quote, option, HouseExit))
    return said_columns(CrewTable(
        title="Drilling, plates and sealing", grouped=True,
        columns=("Floor", "Pull group", "Room", "Cables", "Bit", "Holes side by side",
                 *(("Studs and joists crossed, about", "Top and sole plates crossed, about") if framed else ()),
                 *(("By the shared ways",) if stone else ()), "Holes in all, about",
                 *(("Chase, about",) if stone else ()), "Holes drilled", *(("Steel plates set",) if framed else ()),
                 "Sealed, by and date"),
        rows=rows,
        cautions=(LICENSED, LOOK, *((FRAMING, _plated(quote)) if framed else ()), *_framing_words(quote, option),
                  *((STONE_FLOORS, STONE_DUST, CHASES) if stone else ()), *_hole_words(quote, pulls),
                  *((SEAL_PLATES,) if framed else ()), *((SEAL_STONE,) if stone else ())),
        notes=(*((COUNTED,) if framed else ()), *((COUNTED_STONE,) if stone else ()), NOT_COUNTED,
               diameter_key(rows_of_kind(quote, option, CableRun)),
               *((OUTSIDE,) if outside else ()), group_key(quote, option))))


def _hole_words(quote: Quote, pulls: Iterable[FactRow]) -> Iterator[str]:
    """How full a hole is, and how large: what this job's bits keep to."""
    limits = dict.fromkeys((pull["fill_rate"], pull["largest_mm"]) for pull in pulls)
    for fill_rate, largest_mm in limits:
        largest = bit_size(largest_mm, quote.job.unit_system)
        yield (f"A hole is filled to {fill_rate * 100:g} % and is {largest} wide at most: more cables are shared out "
               "among holes side by side. Wider is only that of one thick cable, or a conduit's. Never together "
               "with mains.")


def _plated(quote: Quote) -> str:
    near = small_length(work_limits(quote)["plated_mm"], quote.job.unit_system)
    return f"Holes nearer than {near} to the face of a stud get a steel plate."


def _framing_words(quote: Quote, option: PricedOption) -> Iterator[str]:
    """How far wood is drilled without asking, as usual limits that local rules overrule."""
    for row in rows_of_kind(quote, option, FramingLimits):
        strap = small_length(row["strap_mm"], quote.job.unit_system)
        yield (f"Usual limits, local rules first: a stud of an outside or load-bearing wall is bored to "
               f"{row['stud_rate'] * 100:g} % of its depth at most. A top plate there that is cut for more than "
               f"{row['plate_rate'] * 100:g} % of its width gets a steel strap {strap} wide over the cut: tell the "
               f"builder. Clear between holes side by side: at least {row['apart_rate']:g} times the wider.")


def _floor_words(floor: FactRow, quote: Quote) -> str:
    system = quote.job.unit_system
    return (f"Floor {floor['floor']}, {VISITS[floor['wall_state']]}: {_counted(floor['rooms'], 'room')}, "
            f"{_counted(floor['runs'], 'cable')}, "
            f"{plain_length(floor['cable_m'], system)} {unit_word(system)}")


def _counted(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"


def _drilling_row(
    pull: FactRow, heads: Mapping[tuple[str, int], str], quote: Quote, shared: tuple[FactRow, ...],
    guessed: frozenset[str], *, framed: bool, stone: bool
) -> tuple[str, ...]:
    in_stone, system = pull["construction"] in STONE, quote.job.unit_system
    ways = [row["id"] for row in shared if in_stone and row["stone"] and set(pull["basis"]) & set(row["basis"])]
    crossed = 0 if in_stone else pull["studs_crossed"] + pull["plates_crossed"]
    each = (1 if pull["id"].endswith("-L") else pull["holes"]) if crossed else 0
    passed = (NONE, NONE) if in_stone else (str(pull["studs_crossed"]), str(pull["plates_crossed"]))
    return (heads.get((pull["wall_state"], pull["floor"]), f"Floor {pull['floor']}"), pull["id"],
            room_name(quote, pull["room"]), str(pull["cables"]), bit_size(pull["hole_mm"], system) if each else NONE,
            str(each) if each else NONE, *(passed if framed else ()),
            *((", ".join(ways) or NONE,) if stone else ()), NONE if in_stone else str(each * crossed),
            *((_chase(pull, quote, guessed),) if stone else ()), HAND, *((HAND,) if framed else ()), HAND)


def _chase(pull: FactRow, quote: Quote, guessed: frozenset[str]) -> str:
    """How much is chased, and whether that is a guess; a room's own cables begin in the chase that leads to their
    start."""
    own = chase_words(pull["chase_m"], quote.job.unit_system, pull["chase_mm"]) if pull["chase_m"] else ""
    if own and pull["access"] == "none" and guessed.intersection(pull["basis"]):
        own = f"{own}; its length is a guess"
    begins = f"on from that of {pull['shares_with']}" if pull["shares_with"] else ""
    return f"{own}; {begins}" if own and begins else own or (f"in that of {pull['shares_with']}" if begins else NONE)


def _conduit_row(row: FactRow, quote: Quote, *, framed: bool, stone: bool) -> tuple[str, ...]:
    holes, bit = str(row["plates_crossed"]), bit_size(row["hole_mm"], quote.job.unit_system)
    return (CONDUIT_HEAD, row["id"], f"HE to the {row['to']}", NONE, bit, "1", *((NONE, holes) if framed else ()),
            *((NONE,) if stone else ()), holes, *((NONE,) if stone else ()), HAND, *((HAND,) if framed else ()), HAND)


def device_list(quote: Quote, option: PricedOption, plans: tuple[RoomPlan, ...]) -> CrewTable:
    """Controls, player sockets, television plates and loudspeakers' rings for the electrician, each place once."""
    cables = _cables_at(quote, option)
    keypads = {row["place"]: row for row in rows_of_kind(quote, option, KeypadFact)}
    system = quote.job.unit_system
    rows = []
    outdoors = any(plan.outdoor and any(thing.kind in WALL_THINGS or thing.ring for thing in plan.things)
                   for plan in plans)
    things = [(plan, thing) for plan in plans for thing in plan.things if thing.kind in WALL_THINGS or thing.ring]
    for plan, thing in things:
        keypad = keypads.get(thing.id)
        wall, along = _wall(plan, thing, quote)
        rows.append((
            thing.id, plan.name, what_words(thing), wall, f"{along}, taken so" if thing.taken else along,
            show_length(thing.height_m, system), _ring_words(thing, system), _depths(thing, system),
            ", ".join(cables.get(thing.id, ())) or NONE,
            thing.paint or "standard", "yes: wording signed first" if keypad and keypad["engraved"] else "no", HAND))
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
        notes=(f"Heights are over the finished floor{', outdoors over the ground' if outdoors else ''}, in line "
               "with the light switches near them: ask where they differ.",
               f"{place_key(quote, option)} {device_key(quote, option)}".strip(),
               *((TAKEN,) if any(thing.taken for _, thing in things) else ()),
               *((BEHIND,) if any(thing.kind == "surface" and thing.ring for _, thing in things) else ())))


def _cables_at(quote: Quote, option: PricedOption) -> dict[str, list[str]]:
    """The cables that start or end at each place, spares marked; at HE their number."""
    runs = rows_of_kind(quote, option, CableRun)
    found: dict[str, list[str]] = {}
    for run in runs:
        for place in (run["start"], run["end"]):
            if place != "HE":
                found.setdefault(place, []).append(f"{run['id']} (spare)" if run["spare"] else run["id"])
    found["HE"] = [f"every cable from HE: {sum('HE' in (run['start'], run['end']) for run in runs)}"]
    return found


def _ring_words(thing: RoomThing, system: UnitSystem) -> str:
    """A ring by its gangs; a box by its part, and what it holds."""
    box = thing.box
    if thing.kind == "cables":
        return f"opening {small_length(thing.cut_out_mm, system)} across" if thing.cut_out_mm else NONE
    if box is None:
        return thing.ring or NONE
    if not box.holds_cm3:
        return f"1 gang, {thing.ring}"
    return f"{thing.ring}{double_words(box)}: {f'{box.boxes} x ' if box.boxes > 1 else ''}{box.part}"


def _depths(thing: RoomThing, system: UnitSystem) -> str:
    """How deep what goes into it is, and how deep the box."""
    inside = 0 if thing.kind == "surface" else thing.depth_mm
    said = [small_length(inside, system)] if inside else []
    said += [f"box {small_length(thing.box.deep_mm, system)}"] if thing.box is not None and thing.box.deep_mm else []
    return ", ".join(said) or NONE


def _wall(plan: RoomPlan, thing: RoomThing, quote: Quote) -> tuple[str, str]:
    """Which wall, and how far along it from the wall that other sheets measure from."""
    wall = wall_of(thing.x_m, thing.y_m, plan.length_m, plan.width_m)
    east, north = (show_length(length, quote.job.unit_system) for length in (thing.x_m, thing.y_m))
    if wall in ("north", "south"):
        return wall, f"{east} from the west wall"
    if wall in ("west", "east"):
        return wall, f"{north} from the south wall"
    return NONE, f"{east} from the west, {north} from the south wall"

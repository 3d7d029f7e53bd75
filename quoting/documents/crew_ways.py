"""Ways out of the house on the crew's sheets: each exit by its spot, empty conduits, sleeves and trenches."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from quoting.documents.crew_measures import BLANK, bit_size, small_length
from quoting.documents.crew_sheet import NONE, CrewTable
from quoting.documents.floor_plan import rows_of_kind
from quoting.documents.plan_symbols import wall_of
from quoting.facts import CableRun, Conduit, HouseExit, Place, Pull, SharedWay, StoneHole, Trench, WallBox
from quoting.job import Room
from quoting.quote import PricedOption, Quote
from quoting.units import M_PER_FT, MM_PER_IN, UnitSystem, show_length

FactRow = Mapping[str, Any]
HAND = ""
COLUMNS = ("Id", "What", "Where", "Bit and sleeve", "Height", "Cables", "Length", "Done and sealed, by and date")
SHARED_COLUMNS = ("Id", "What", "Stands at: wall, from which corner", "Cables", "Hole", "Chase", "Done, by and date",
                  "Sealed, by and date")
STONE_COLUMNS = ("Id", "Where", "Cables", "Hole", "Done, by and date", "Sealed, by and date")
PASSAGES = {
    "wall": "each inside wall on the way to {room}, high: how many, nobody has said",
    "ceiling": "through the ceiling of {room}{at}, at the top of its chase",
    "floor": "through the floor of {room}{at}, at the foot of its chase",
    "hollow": "into the hollow of {room}'s ceiling{at}, at the top of the chase",
}
DIG = "Call before you dig: marked services 2 to 3 working days ahead (811 in the US). Nothing is dug before that."
OUT_CAUTIONS = (
    "Before the house wall is drilled: look from both sides; mains, gas, water and the wall's membrane may be there.",
    "Drill from inside, sloped down to the outside; seal round the sleeve and in it. Where no box covers the hole, the "
    "cable hangs in a drip loop below it.")
BOXED = ("{at}: out in the middle of the weather box there, into its back. Seal the box to the wall above and at its "
         "sides, leave its foot open; the cable onwards leaves it there in a drip loop.")
BARE_HOLE = ("{at}: out behind the loudspeaker, beside its bracket: hold the bracket to the wall first. The cable "
             "hangs in a drip loop below the hole before it goes up to the terminals.")
INDOORS = ("{ids}: {cables} out to {room} through {wall} wall of this room{taken}. It is drilled from in here: agree "
           "it on both sides, and write wall, spot and height into the table.")
TAKEN_WALL = ", taken so because it faces the side of {room} that the house is taken to stand on"
CONDUITS = ("Laid on the visit of these pulls too: {ids}, empty, with a string, both ends labelled with the id; where "
            "they go, the table Ways out of the house says.")
ALONG = "{ids}: wider than the largest hole for joists, {largest}: along them or under them, never through one."


def out_words(quote: Quote, option: PricedOption) -> dict[str, str]:
    """How each cable leaves the house, by its id: "out through the house wall at PAT-E1, behind PAT-S1"."""
    found = {}
    for row in rows_of_kind(quote, option, HouseExit):
        behind = f", behind {row['place']}" if row["place"] else f", {_buried_in(quote, option, row['room'])}"
        found.update(dict.fromkeys(row["basis"], f"out through the house wall at {row['id']}{behind}"))
    return found


def onward_words(quote: Quote, option: PricedOption, run: FactRow) -> str:
    """How a cable goes on outdoors."""
    return "along the eaves" if run["way"] == "eaves" else _buried_in(quote, option, run["room"])


def _buried_in(quote: Quote, option: PricedOption, room: str) -> str:
    """The ground, and the trench and sleeve that the job has there."""
    ways = [f"{'trench' if row['what'] == 'trench' else 'sleeve'} {row['id']}"
            for row in rows_of_kind(quote, option, Trench) if row["room"] == room]
    return f"underground in {' and '.join(ways)}" if ways else "underground"


def exit_notes(quote: Quote, option: PricedOption, room: str) -> tuple[str, ...]:
    """What the placement sheets say of ways out: that of the room outdoors, and that of the room behind its wall."""
    system = quote.job.unit_system
    exits = rows_of_kind(quote, option, HouseExit)
    here = [row for row in exits if row["room"] == room]
    said = [f"{row['id']}: {_go(row['basis'], 'come')} out of the house here: "
            f"{_where(quote, option, row, show_length(row['height_m'], system))}. {_bit_words(quote, row)}."
            for row in here]
    boxed = {row["place"] for row in rows_of_kind(quote, option, WallBox)}
    for words, inside in ((BOXED, True), (BARE_HOLE, False)):
        if at := [f"{row['id']} at {row['place']}" for row in here
                  if row["place"] and (row["place"] in boxed) == inside]:
            said.append(words.format(at=", ".join(at)))
    unknown: dict[tuple[str, str], list[FactRow]] = {}
    for row in exits:
        if row["beside"] == room and not row["inside_wall"]:
            unknown.setdefault((row["room"], row["taken_wall"]), []).append(row)
    for (to, taken), rows in unknown.items():
        cables = [id for row in rows for id in row["basis"]]
        said.append(INDOORS.format(
            ids=", ".join(row["id"] for row in rows), room=room_name(quote, to), cables=_go(cables, "go"),
            wall=f"the {taken}" if taken else "an outside",
            taken=TAKEN_WALL.format(room=room_name(quote, to)) if taken else "; which one, the plan does not know"))
    return tuple(said)


def _go(cables: Sequence[str], verb: str) -> str:
    """Cables and what they do: "cable 107311 goes", "cables 107311, 107312 go"."""
    several = len(cables) > 1
    return f"cable{'s' if several else ''} {', '.join(cables)} {verb}{'' if several else 'es' if verb == 'go' else 's'}"


def _bit_words(quote: Quote, row: FactRow) -> str:
    """How wide the hole, which sleeve, how many; how thick the wall is nobody has said."""
    system = quote.job.unit_system
    one = "1 hole" if row["cables"] == 1 else f"{row['cables']} holes side by side, a sleeve in each"
    bit, outside, inside = (bit_size(row[name], system) for name in ("hole_mm", "sleeve_outside_mm", "sleeve_mm"))
    return (f"{one}: bit {bit}, sleeve {row['sleeve']}, {outside} outside, {inside} inside; wall {BLANK} thick, "
            "measure it")


def _inside_words(row: FactRow, system: UnitSystem) -> str:
    """Which wall of the room indoors, and where along it; blanks where the plan does not know it."""
    if row["inside_wall"] in ("north", "south"):
        return f"{row['inside_wall']} wall, {show_length(row['inside_x_m'], system)} from its west corner"
    if row["inside_wall"]:
        return f"{row['inside_wall']} wall, {show_length(row['inside_y_m'], system)} from its south corner"
    if row["taken_wall"]:
        return f"{row['taken_wall']} wall, taken so, {BLANK} from its {BLANK} corner"
    return f"wall {BLANK}, {BLANK} from its {BLANK} corner"


def ways_out(quote: Quote, option: PricedOption) -> CrewTable:
    """Every hole in the house wall, empty conduit, sleeve and trench, to be made, sealed and ticked."""
    system = quote.job.unit_system
    rows: list[tuple[str, ...]] = [
        (row["id"], "way out through the house wall", _both_sides(quote, option, row), _bit_words(quote, row),
         f"{show_length(row['height_m'], system)} over the ground; over the floor inside {BLANK}",
         ", ".join(row["basis"]), NONE, HAND)
        for row in rows_of_kind(quote, option, HouseExit)]
    conduits = rows_of_kind(quote, option, Conduit)
    rows += [_conduit_row(quote, row) for row in conduits]
    rows += [_trench_row(quote, option, row) for row in rows_of_kind(quote, option, Trench)]
    return CrewTable(title="Ways out of the house", columns=COLUMNS, rows=tuple(rows),
                     cautions=(*(OUT_CAUTIONS if rows else ()), *dig_cautions(quote, option)),
                     notes=_too_wide(quote, option, conduits))


def _too_wide(quote: Quote, option: PricedOption, conduits: Iterable[FactRow]) -> tuple[str, ...]:
    """Which conduits no joist may be bored for."""
    largest_mm = max((row["largest_mm"] for row in rows_of_kind(quote, option, Pull)), default=0.0)
    ids = [row["id"] for row in conduits if row["hole_mm"] > largest_mm > 0]
    return (ALONG.format(ids=", ".join(ids), largest=bit_size(largest_mm, quote.job.unit_system)),) if ids else ()


def _both_sides(quote: Quote, option: PricedOption, row: FactRow) -> str:
    """Outdoors and, where it is drilled from, indoors."""
    room = f" {room_name(quote, row['beside'])}" if row["beside"] else ""
    return f"{_where(quote, option, row)}; inside{room}: {_inside_words(row, quote.job.unit_system)}"


def _conduit_row(quote: Quote, row: FactRow) -> tuple[str, ...]:
    system = quote.job.unit_system
    bit = bit_size(row["hole_mm"], system)
    wall = ", and the house wall, sloped and sealed" if row["to"] == "outside" else ""
    end = f"end there: wall {BLANK}, {BLANK} from its {BLANK} corner"
    length = show_length(row["length_m"], system)
    return (row["id"], f"empty conduit, {small_length(row['diameter_mm'], system)}, pull string in it, ends capped",
            f"from beside the opening at HE to the {row['to']}{_towards(quote, row)}; {end}",
            f"{row['plates_crossed']} plates or floors, about{wall}: bit {bit}", f"at HE as its opening; there {BLANK}",
            "for later", length if row["length_basis"] == "plan" else f"{length}; measure first", HAND)


def conduit_lines(quote: Quote, option: PricedOption) -> tuple[str, ...]:
    """What the pull list says of empty conduits."""
    ids = [row["id"] for row in rows_of_kind(quote, option, Conduit)]
    return (CONDUITS.format(ids=", ".join(ids)),) if ids else ()


def conduits_begun(quote: Quote, option: PricedOption) -> tuple[str, ...]:
    """What the house plan of the head end's floor says of conduits: they are not drawn."""
    said = [f"{row['id']} to the {row['to']}" for row in rows_of_kind(quote, option, Conduit)]
    return (f"Empty conduits begin at HE: {', '.join(said)}. They are not drawn: nobody has said where they go.",
            ) if said else ()


def shared_ways(quote: Quote, option: PricedOption) -> CrewTable:
    """What several pulls go through together, once: at the head end, and from storey to storey."""
    rows = tuple(_shared_row(quote, option, row) for row in rows_of_kind(quote, option, SharedWay))
    return CrewTable(
        title="Ways that pulls share", columns=SHARED_COLUMNS, rows=rows,
        notes=("Nobody has said where they stand: agree each with the builder or the owner before drilling, write it "
               "in, and keep to it on every floor.",))


def _shared_row(quote: Quote, option: PricedOption, row: FactRow) -> tuple[str, ...]:
    system = quote.job.unit_system
    cables = str(row["cables"])
    holes = _holes_words(row["holes"], row["hole_mm"], system)
    if row["floor"] == row["start"]:
        what = "at the head end: from the opening up to the ceiling, then out of its room, high on an inside wall"
        on = [f"{count} on by {way['id']}" for way in rows_of_kind(quote, option, SharedWay)
              if way["start"] == row["floor"] != way["floor"]
              and (count := len(set(way["basis"]) & set(row["basis"])))]
        cables = "; ".join((cables, *((f"{row['through']} out of its room",) if on and row["through"] else ()), *on))
    elif not row["stone"]:
        what = (f"{_leads(row)}, inside a wall: its sole plate and top plate; each pull drills its own holes, counted "
                "by pull")
    else:
        over = f", and on through the ceiling of floor {row['floor']}" if row["ceiling_holes"] else ""
        what = f"{_leads(row)}: through the floor between{', up that storey' if row['chase_m'] else ''}{over}"
        holes = f"{holes} through the floor" + (
            f"; {_holes_words(row['ceiling_holes'], row['ceiling_mm'], system)} through the ceiling, for {row['over']} "
            f"cable{'' if row['over'] == 1 else 's'}" if row["ceiling_holes"] else "")
    return (row["id"], what, HAND, cables, holes,
            chase_words(row["chase_m"], system, row["chase_mm"]) if row["chase_m"] else NONE, HAND, HAND)


def _holes_words(holes: int, hole_mm: float, system: UnitSystem) -> str:
    return f"{holes}, bit {bit_size(hole_mm, system)}" if holes else NONE


def stone_holes(quote: Quote, option: PricedOption) -> CrewTable:
    """Holes in a house of stone that no shared way has, room by room."""
    names = {room.code: room.name for room in quote.job.rooms}
    rows = tuple((row["id"], PASSAGES[row["through"]].format(
        room=names[row["room"]], at=f" at {row['place']}" if row["place"] else ", where the cables come to it"),
        ", ".join(row["basis"]), _holes_words(row["holes"], row["hole_mm"], quote.job.unit_system), HAND, HAND)
        for row in rows_of_kind(quote, option, StoneHole))
    return CrewTable(title="Holes of rooms in stone", columns=STONE_COLUMNS, rows=rows)


def _leads(row: FactRow) -> str:
    return f"{'up' if row['floor'] > row['start'] else 'down'} from floor {row['start']} to floor {row['floor']}"


def chase_words(length_m: float, system: UnitSystem, wide_mm: float = 0.0) -> str:
    """A length of chase, rounded up: where it goes is agreed on site; and how wide its cables lie side by side.

    >>> chase_words(9.83, "metric"), chase_words(2.44, "imperial"), chase_words(0.3, "metric", 18.2)
    ('10 m', "9'", '0.5 m, 19 mm wide')
    """
    wide = ""
    if wide_mm:
        step_mm = 1.0 if system == "metric" else MM_PER_IN / 16
        wide = f", {bit_size(math.ceil(wide_mm / step_mm - 1e-6) * step_mm, system)} wide"
    if system == "metric":
        return f"{math.ceil(length_m * 2 - 1e-6) / 2:g} m{wide}"
    return f"{math.ceil(length_m / M_PER_FT - 1e-6)}'{wide}"


def dig_cautions(quote: Quote, option: PricedOption, room: str = "") -> tuple[str, ...]:
    """What is said before anybody digs in a room's ground, or anywhere."""
    dug = (*rows_of_kind(quote, option, Trench),
           *(run for run in rows_of_kind(quote, option, CableRun) if run["buried"]))
    return (DIG,) if any(room in ("", row["room"]) for row in dug) else ()


def _trench_row(quote: Quote, option: PricedOption, row: FactRow) -> tuple[str, ...]:
    system = quote.job.unit_system
    buried = ", ".join(run["id"] for run in rows_of_kind(quote, option, CableRun)
                       if run["buried"] and run["room"] == row["room"])
    deep = f"{show_length(row['depth_m'], system)} deep"
    what = (f"trench, {deep}, warning tape over the cables" if row["what"] == "trench"
            else f"buried sleeve, {deep}, pull string in it")
    return (row["id"], what, _from_to(quote, option, row["room"]), NONE, NONE, buried or "for later",
            show_length(row["length_m"], system), HAND)


def _from_to(quote: Quote, option: PricedOption, room: str) -> str:
    """Where a trench or a sleeve begins and ends, as far as anybody said."""
    name = room_name(quote, room)
    if not name:
        return "agree the way on site"
    out = next((row["id"] for row in rows_of_kind(quote, option, HouseExit)
                if row["room"] == room and row["way"] == "ground"), "")
    last = [row["id"] for row in rows_of_kind(quote, option, Place) if row["room"] == room and row["mount"] == "garden"]
    start = f"from the foot of the house wall under {out}" if out else "from the house wall"
    end = f"{last[0]} and on to {last[-1]}" if last else f"the far edge of {name}"
    return f"{start} to {end}: agree the way on site"


def _towards(quote: Quote, row: FactRow) -> str:
    if row["length_basis"] == "straight":
        return f", straight {'up' if row['to'] == 'attic' else 'down'} from the head end, where nothing is in the way"
    side = {"outside": "house wall that faces", "attic": "above", "basement": "in"}.get(row["to"], "towards")
    return f", {side} {room_name(quote, row['towards'])}"


def room_name(quote: Quote, code: str) -> str:
    """A room by its name; what is no room's code stays as it is."""
    return next((room.name for room in quote.job.rooms if room.code == code), code)


def _where(quote: Quote, option: PricedOption, row: FactRow, height: str = "") -> str:
    """The spot in words: behind which place on which side, beside which room, how high; what must be agreed first."""
    room = next(room for room in quote.job.rooms if room.code == row["room"])
    place = next((one for one in rows_of_kind(quote, option, Place) if one["id"] == row["place"]), None)
    wall = f"outside wall of {room_name(quote, row['beside'])}" if row["beside"] else "house wall"
    high = f", {height} over the ground" if height else ""
    if place is not None:
        return f"{wall}, behind {place['id']}: {_along(quote, room, place)}{high}"
    down = "; a riser guard over the cables from the hole down into the trench" if row["way"] == "ground" else ""
    return f"{wall}, towards {room.name}{high}: agree the spot along it before drilling{down}"


def _along(quote: Quote, room: Room, place: FactRow) -> str:
    wall = wall_of(place["x_m"], place["y_m"], room.length_m, room.width_m)
    system = quote.job.unit_system
    if wall in ("north", "south"):
        return f"{wall} side of {room.name}, {show_length(place['x_m'], system)} from its west end"
    if wall in ("west", "east"):
        return f"{wall} side of {room.name}, {show_length(place['y_m'], system)} from its south end"
    return f"over {room.name}"

"""Ways out of the house on the crew's sheets: each exit by its spot, empty conduits, sleeves and trenches."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from quoting.documents.crew_sheet import NONE, CrewTable
from quoting.documents.floor_plan import rows_of_kind
from quoting.documents.plan_symbols import wall_of
from quoting.documents.room_table import small_length
from quoting.facts import CableRun, Conduit, HouseExit, Place, Trench
from quoting.job import Room
from quoting.quote import PricedOption, Quote
from quoting.units import show_length

FactRow = Mapping[str, Any]
HAND = ""
COLUMNS = ("Id", "What", "Where", "Height", "Cables", "Length", "Sleeves", "Done and sealed, by and date")
DIG = "Call before you dig: marked services 2 to 3 working days ahead (811 in the US). Nothing is dug before that."
OUT_CAUTIONS = (
    "Before the house wall is drilled: look from both sides; mains, gas, water and the wall's membrane may be there.",
    "Drill from inside, sloped down to the outside; a drip loop before the hole; seal round the sleeve and in it.")


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
    """What the placement sheet of an outdoor room says of its exits."""
    system = quote.job.unit_system
    return tuple(f"{row['id']}: {_cables(row)} out of the house here: {_where(quote, option, row)}, "
                 f"{show_length(row['height_m'], system)} up. Sleeved and sealed."
                 for row in rows_of_kind(quote, option, HouseExit) if row["room"] == room)


def _cables(row: FactRow) -> str:
    return f"cable{'s' if row['cables'] > 1 else ''} {', '.join(row['basis'])} come{'' if row['cables'] > 1 else 's'}"


def ways_out(quote: Quote, option: PricedOption) -> CrewTable:
    """Every hole in the house wall, empty conduit, sleeve and trench, to be made, sealed and ticked."""
    system = quote.job.unit_system
    rows: list[tuple[str, ...]] = [
        (row["id"], "way out through the house wall", _where(quote, option, row),
         show_length(row["height_m"], system), ", ".join(row["basis"]), NONE, str(row["cables"]), HAND)
        for row in rows_of_kind(quote, option, HouseExit)]
    rows += [(row["id"], f"empty conduit, {small_length(row['diameter_mm'], system)}, pull string in it, ends capped",
              f"HE to the {row['to']}{_towards(quote, row)}", NONE, "for later", show_length(row["length_m"], system),
              NONE, HAND) for row in rows_of_kind(quote, option, Conduit)]
    rows += [_trench_row(quote, option, row) for row in rows_of_kind(quote, option, Trench)]
    return CrewTable(title="Ways out of the house", columns=COLUMNS, rows=tuple(rows),
                     cautions=(*(OUT_CAUTIONS if rows else ()), *dig_cautions(quote, option)))


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
    return (row["id"], what, _from_to(quote, option, row["room"]), NONE, buried or "for later",
            show_length(row["length_m"], system), NONE, HAND)


def _from_to(quote: Quote, option: PricedOption, room: str) -> str:
    """Where a trench or a sleeve begins and ends, as far as anybody said."""
    name = _name(quote, room)
    if not name:
        return "agree the way on site"
    out = next((row["id"] for row in rows_of_kind(quote, option, HouseExit)
                if row["room"] == room and row["way"] == "ground"), "")
    last = [row["id"] for row in rows_of_kind(quote, option, Place) if row["room"] == room and row["mount"] == "garden"]
    start = f"from the foot of the house wall under {out}" if out else "from the house wall"
    end = f"{last[0]} and on to {last[-1]}" if last else f"the far edge of {name}"
    return f"{start} to {end}: agree the way on site"


def _towards(quote: Quote, row: FactRow) -> str:
    side = {"outside": "house wall that faces", "attic": "above", "basement": "in"}.get(row["to"], "towards")
    return f", {side} {_name(quote, row['towards'])}"


def _name(quote: Quote, code: str) -> str:
    return next((room.name for room in quote.job.rooms if room.code == code), code)


def _where(quote: Quote, option: PricedOption, row: FactRow) -> str:
    """The spot in words: behind which place on which side, beside which room; what must be agreed first."""
    room = next(room for room in quote.job.rooms if room.code == row["room"])
    place = next((one for one in rows_of_kind(quote, option, Place) if one["id"] == row["place"]), None)
    wall = f"outside wall of {_name(quote, row['beside'])}" if row["beside"] else "house wall"
    if place is not None:
        return f"{wall}, behind {place['id']}: {_along(quote, room, place)}"
    down = "; a riser guard over the cables from the hole down into the trench" if row["way"] == "ground" else ""
    return f"{wall}, towards {room.name}: agree the spot along it before drilling{down}"


def _along(quote: Quote, room: Room, place: FactRow) -> str:
    wall = wall_of(place["x_m"], place["y_m"], room.length_m, room.width_m)
    system = quote.job.unit_system
    if wall in ("north", "south"):
        return f"{wall} side of {room.name}, {show_length(place['x_m'], system)} from its west end"
    if wall in ("west", "east"):
        return f"{wall} side of {room.name}, {show_length(place['y_m'], system)} from its south end"
    return f"over {room.name}"

"""The placement table of a room: what the drawing shows, place by place, in the crew's words and the job's units."""

from __future__ import annotations

from quoting.documents.crew_measures import BLANK, NONE, bit_size, small_length
from quoting.documents.plan_symbols import Wall, wall_of
from quoting.documents.room_plan import RoomBox, RoomPlan, RoomThing
from quoting.units import UnitSystem, show_length

HEADINGS = ("Place", "What", "From west wall", "From south wall", "Height", "Side", "Joist bay", "Cut-out", "Depth",
            "Bracket, ring or box", "Back box", "Paint", "Aim")
KINDS = {
    "ceiling": "ceiling speaker", "stereo": "stereo ceiling speaker", "wall": "wall speaker",
    "surface": "surface speaker", "garden": "garden speaker", "keypad": "keypad", "knob": "volume knob",
    "control": "control", "input": "player socket", "tv": "television plate", "head end": "rack",
    "cables": "opening where all cables come out, no plate", "exit": "way out through the house wall",
}


def headings(plan: RoomPlan) -> tuple[str, ...]:
    """HEADINGS; an outdoor area has edges where a room has walls."""
    return tuple(heading.replace("wall", "edge") for heading in HEADINGS) if plan.outdoor else HEADINGS


def table_rows(plan: RoomPlan, system: UnitSystem) -> tuple[tuple[str, ...], ...]:
    """One row a place, as many cells as HEADINGS; ways out whose spot nobody knows with room to write it."""
    away = (NONE,) * (len(HEADINGS) - 8)
    return (*(_row(plan, thing, system) for thing in plan.things),
            *((one.id, one.words, BLANK, BLANK, f"{BLANK} over this floor", NONE, NONE, f"bit {one.bit}", *away)
              for one in plan.exits))


def _row(plan: RoomPlan, thing: RoomThing, system: UnitSystem) -> tuple[str, ...]:
    wall = wall_of(thing.x_m, thing.y_m, plan.length_m, plan.width_m)
    east, north = show_length(thing.x_m, system), show_length(thing.y_m, system)
    what = what_words(thing)
    if thing.ground is not None:
        what = (f"{what}, {show_length(thing.ground.wide_m, system)} wide, {show_length(thing.ground.deep_m, system)} "
                "deep: its middle")
    near = "side" if plan.outdoor else "wall"
    return (
        thing.id, what, _on_it(east, wall, "west", "east", near), _on_it(north, wall, "south", "north", near),
        _height(thing, system), thing.side or NONE, _bay(thing, system),
        _cut_out(thing, system, plan.finished), _depth(thing, system), _fixing(thing), _back_box(thing, system),
        thing.paint or NONE, _aim(thing))


def _on_it(distance: str, wall: Wall, near: Wall, far: Wall, called: str) -> str:
    """A distance from a wall, or that the thing is on it or on the wall across. `called`: wall, or side outdoors."""
    return (f"on the {near} {called}" if wall == near else f"{distance}, on the {far} {called}" if wall == far
            else distance)


def _height(thing: RoomThing, system: UnitSystem) -> str:
    if thing.kind == "exit":
        return f"{BLANK} over this floor; {show_length(thing.height_m, system)} over the ground outside"
    return "floor" if thing.ground else show_length(thing.height_m, system)


def _cut_out(thing: RoomThing, system: UnitSystem, finished: bool) -> str:
    """The loudspeaker's hole; of a box that is set in stone its cores, of a ring in finished walls its opening."""
    box = thing.box
    if thing.kind == "exit":
        return f"bit {bit_size(thing.cut_out_mm, system)}"
    if thing.cut_out_width_mm:
        return f"{small_length(thing.cut_out_width_mm, system)} wide, {small_length(thing.cut_out_mm, system)} high"
    if thing.cut_out_mm or box is None:
        return small_length(thing.cut_out_mm, system)
    if box.core_mm:
        cores = box.cores * box.boxes
        return (f"{cores} cores, each {small_length(box.core_mm, system)}, {box.lie}" if cores > 1
                else f"core {small_length(box.core_mm, system)}")
    if finished and not box.deep_mm and box.wide_mm:
        return f"{bit_size(box.wide_mm, system)} by {bit_size(box.high_mm, system)}"
    return NONE


def _depth(thing: RoomThing, system: UnitSystem) -> str:
    """How far it goes into what it is mounted on, and how deep its box is; what hangs before a wall stands out."""
    deep = small_length(thing.depth_mm, system)
    said = []
    if thing.depth_mm:
        said.append(f"stands out {deep}" if thing.kind == "surface" else f"body {deep}" if thing.kind == "garden"
                    else f"{deep} in the wall" if thing.ring else deep)
    if thing.box is not None and thing.box.deep_mm:
        wall = f", wall {BLANK} thick" if thing.box.core_mm else ""
        said.append(f"box {small_length(thing.box.deep_mm, system)}{wall}")
    return "; ".join(said) or NONE


def _fixing(thing: RoomThing) -> str:
    """The bracket, ring or box, a box by its part."""
    if thing.box is None or not thing.box.holds_cm3:
        return thing.bracket or thing.ring or NONE
    many = f"{thing.box.boxes} x " if thing.box.boxes > 1 else ""
    return f"{thing.ring}{double_words(thing.box)}: {many}{thing.box.part}"


def double_words(box: RoomBox) -> str:
    """That a box takes more than one core; "" of a single one."""
    return {0: "", 1: "", 2: ", double"}.get(box.cores, f", {box.cores} in a row")


def _back_box(thing: RoomThing, system: UnitSystem) -> str:
    """Its part, and how large it is outside."""
    if not thing.back_box or not all(thing.back_box_mm):
        return thing.back_box or NONE
    return f"{thing.back_box}, {' by '.join(bit_size(side, system) for side in thing.back_box_mm)} outside"


def what_words(thing: RoomThing) -> str:
    """What goes there: "ceiling speaker KIT-SP1, CS65-20"; "ceiling speaker, wired only: coiled tail"."""
    words = KINDS[thing.kind]
    if thing.kind in ("cables", "exit"):
        return words
    if thing.plate:
        sender = f"sender {thing.device}, {thing.part}"
        return f"{words}: jack plate {thing.plate} in the ring; {sender}, behind the television"
    if not thing.live and thing.joints:
        return f"{words}, wired only: loudspeaker joints here, under a blank plate; category cable coiled"
    if not thing.live:
        return f"{words}, wired only: coiled tail"
    own = "the customer's own"
    return f"{words} {thing.device}, {thing.part or own}"


def _bay(thing: RoomThing, system: UnitSystem) -> str:
    if not thing.moved_m:
        return thing.bay or NONE
    moved = f"moved {show_length(thing.moved_m, system)} off what is in the way"
    return f"{thing.bay}; {moved}" if thing.bay else moved


def _aim(thing: RoomThing) -> str:
    if thing.angled:
        return "towards the room's middle"
    return {"ceiling": "straight down", "stereo": "straight down"}.get(thing.kind, NONE)

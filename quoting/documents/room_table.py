"""The placement table of a room: what the drawing shows, place by place, in the crew's words and the job's units."""

from __future__ import annotations

from fractions import Fraction

from quoting.documents.plan_symbols import Wall, wall_of
from quoting.documents.room_plan import RoomPlan, RoomThing
from quoting.units import MM_PER_IN, UnitSystem, show_length

NONE = "–"
HEADINGS = ("Place", "What", "From west wall", "From south wall", "Height", "Side", "Joist bay", "Cut-out", "Depth",
            "Bracket, ring or box", "Back box", "Paint", "Aim")
KINDS = {
    "ceiling": "ceiling speaker", "stereo": "stereo ceiling speaker", "wall": "wall speaker",
    "surface": "surface speaker", "garden": "garden speaker", "keypad": "keypad", "knob": "volume knob",
    "control": "control", "input": "player socket", "tv": "television plate", "head end": "rack",
    "cables": "opening where all cables come out, no plate",
}


def headings(plan: RoomPlan) -> tuple[str, ...]:
    """HEADINGS; an outdoor area has edges where a room has walls."""
    return tuple(heading.replace("wall", "edge") for heading in HEADINGS) if plan.outdoor else HEADINGS


def table_rows(plan: RoomPlan, system: UnitSystem) -> tuple[tuple[str, ...], ...]:
    """One row a place, as many cells as HEADINGS."""
    return tuple(_row(plan, thing, system) for thing in plan.things)


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
        "floor" if thing.ground else show_length(thing.height_m, system), thing.side or NONE, _bay(thing, system),
        small_length(thing.cut_out_mm, system), _depth(thing, system),
        thing.bracket or thing.ring or NONE, thing.back_box or NONE, thing.paint or NONE, _aim(thing))


def _on_it(distance: str, wall: Wall, near: Wall, far: Wall, called: str) -> str:
    """A distance from a wall, or that the thing is on it or on the wall across. `called`: wall, or side outdoors."""
    return (f"on the {near} {called}" if wall == near else f"{distance}, on the {far} {called}" if wall == far
            else distance)


def _depth(thing: RoomThing, system: UnitSystem) -> str:
    """How far it goes into what it is mounted on: what hangs before a wall stands out of it, and cuts nothing."""
    if not thing.depth_mm:
        return NONE
    deep = small_length(thing.depth_mm, system)
    if thing.kind == "surface":
        return f"stands out {deep}"
    return f"body {deep}" if thing.kind == "garden" else f"{deep} in the wall" if thing.ring else deep


def what_words(thing: RoomThing) -> str:
    """What goes there: "ceiling speaker KIT-SP1, CS65-20"; "ceiling speaker, wired only: coiled tail"."""
    words = KINDS[thing.kind]
    if thing.kind == "cables":
        return words
    if not thing.live:
        return f"{words}, wired only: coiled tail"
    own = "the customer's own"
    return f"{words} {thing.device}, {thing.part or own}"


def small_length(length_mm: float, system: UnitSystem) -> str:
    """A hole or a depth: millimetres, on an imperial job inches to the nearest 1/16 before them.

    >>> small_length(210, "imperial"), small_length(210, "metric"), small_length(0, "metric")
    ('8 1/4" (210 mm)', '210 mm', '–')
    """
    if not length_mm:
        return NONE
    if system == "metric":
        return f"{length_mm:.0f} mm"
    whole, sixteenths = divmod(round(length_mm / MM_PER_IN * 16), 16)
    part = Fraction(sixteenths, 16)
    inches = " ".join(str(piece) for piece in (whole, part) if piece) or "0"
    return f'{inches}" ({length_mm:.0f} mm)'


def _bay(thing: RoomThing, system: UnitSystem) -> str:
    if not thing.moved_m:
        return thing.bay or NONE
    moved = f"moved {show_length(thing.moved_m, system)} off what is in the way"
    return f"{thing.bay}; {moved}" if thing.bay else moved


def _aim(thing: RoomThing) -> str:
    if thing.angled:
        return "towards the room's middle"
    return {"ceiling": "straight down", "stereo": "straight down"}.get(thing.kind, NONE)

"""What left, right, low and the walls' names mean on a room's placement sheet, in sentences."""

from __future__ import annotations

from collections.abc import Iterator

from quoting.documents.plan_symbols import wall_of
from quoting.documents.room_plan import RoomPlan, RoomThing
from quoting.units import UnitSystem, show_length

WALLS = ("North is up, as confirmed on the House sheets. Write in what the office does not know: door in wall "
         "________, window in wall ________.")
OUTSIDE = ("North is up, as confirmed on the House sheets. The house is taken to stand on the {side} side, which "
           "people face: agree where the {end} edge meets the house wall, and tie all measures to that spot.")
SWING = "check each door's swing, the light switches and the furniture on the wall before it is cut."
TAKEN = "taken so, nobody has said where: agree it with the owner before the box is set, write where it went; "
ACROSS = {"north": "south", "south": "north", "west": "east", "east": "west"}


def facing_notes(plan: RoomPlan, system: UnitSystem) -> Iterator[str]:
    """The walls' names, which way L and R are seen, which side of the ceiling is low."""
    if plan.outdoor:  # where wall_place.csv puts an outdoor control: on the front side, along the longer one
        side, end = ("north", "west") if plan.length_m >= plan.width_m else ("west", "south")
        yield OUTSIDE.format(side=side, end=end)
    else:
        yield WALLS
    on_walls = [thing for thing in plan.things if thing.kind in ("keypad", "knob", "control", "input", "tv")]
    for taken, said in ((True, TAKEN), (False, "")):
        if ids := [thing.id for thing in on_walls if thing.taken == taken]:
            yield f"{', '.join(ids)}: {said}{SWING}"
    yield from _left_and_right(plan)
    if plan.low_wall and plan.ceiling_high_m > plan.ceiling_height_m:
        low, high = (show_length(height_m, system) for height_m in (plan.ceiling_height_m, plan.ceiling_high_m))
        sure = "as typed" if plan.low_wall_said else "taken so, nobody has said it: look first, and write it here"
        yield (f"The ceiling slopes: {low} over the {plan.low_wall} wall, {high} over the {ACROSS[plan.low_wall]} "
               f"wall, {sure}. Each speaker's height is the ceiling's over its own spot.")


def facing(left: RoomThing, right: RoomThing) -> str:
    """The wall that somebody faces who has a pair's L to the left and its R to the right.

    >>> from msgspec.structs import replace
    >>> from quoting.documents.room_plan import BARE
    >>> facing(replace(BARE, x_m=1.0), replace(BARE, x_m=3.0)), facing(replace(BARE, y_m=1.0), replace(BARE, y_m=3.0))
    ('north', 'west')
    """
    east, north = right.x_m - left.x_m, right.y_m - left.y_m
    if abs(east) >= abs(north):
        return "north" if east > 0 else "south"
    return "west" if north > 0 else "east"


def _left_and_right(plan: RoomPlan) -> Iterator[str]:
    lefts = [thing for thing in plan.things if thing.side == "L"]
    rights = [thing for thing in plan.things if thing.side == "R"]
    walls = [facing(left, right) for left, right in zip(lefts, rights, strict=False)]
    if not walls:
        return
    if len(set(walls)) == 1:
        plates = {wall_of(thing.x_m, thing.y_m, plan.length_m, plan.width_m) for thing in plan.things
                  if thing.kind == "tv"}
        screen = ", where the television plate is" if walls[0] in plates else ""
        yield f"L and R are left and right as seen facing the {walls[0]} {'side' if plan.outdoor else 'wall'}{screen}."
    elif any(thing.kind in ("wall", "surface") for thing in lefts):
        pairs = "; ".join(f"{left.id} and {right.id}: {wall} wall"
                          for left, right, wall in zip(lefts, rights, walls, strict=False))
        yield f"L and R are left and right as seen facing the wall that the pair hangs on ({pairs})."
    else:
        over = "area" if plan.outdoor else "ceiling"
        yield (f"L and R alternate over the {over}, so that every seat hears both: there is no wall to face, go by the "
               "numbers.")

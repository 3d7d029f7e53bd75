"""What a room's placement sheet says besides its picture and its table, in sentences."""

from __future__ import annotations

from collections.abc import Iterator

from quoting.documents.crew_measures import small_length
from quoting.documents.rack_elevation import weight_words
from quoting.documents.room_facing import facing_notes
from quoting.documents.room_plan import RoomPlan
from quoting.units import UnitSystem

HUNG = ("anchors that suit the wall{held} and the weight, {weight}. The safety wire has an anchor of its own, above "
        "the bracket: clip it before you let go, then pull at it.")
VOID = "Ceiling over {ids}: hollow? Void measured: ________ (needs {need} for {what}). Measure before a hole is cut."
FROM = {
    "above": ("{ids}: set the back box from above before the hole is cut, fixed to what carries the ceiling; then cut "
              "the hole from below, inside it. Most boxes are wider than the hole."),
    "its hole": ("{ids}: hold the back box to the loudspeaker's hole before it is cut. Where it does not pass, stop: "
                 "ask the office who opens for it and closes again."),
}
CORES = "{ids}: cores {lie}, {apart} from middle to middle; the place is the middle of the pair."
ON_WALLS = ("wall", "surface", "keypad", "knob", "control", "input", "tv")  # on a wall, at a height of their own


def room_notes(plan: RoomPlan, system: UnitSystem) -> tuple[str, ...]:
    """What the picture cannot show."""
    said = [*facing_notes(plan, system), *plan.said]
    said += _voids(plan, system)
    said += _back_boxes(plan)
    tails = [thing for thing in plan.things if not thing.live and not thing.joints]
    if tails and plan.outdoor:
        said.append("Wired only (dashed): coil and tag the tail where it stays dry, mark it with a stake, measure it "
                    "from the house wall and photograph it with the tape.")
    elif tails:
        said.append("Wired only (dashed): fix the bracket or ring, coil and tag the tail, measure it from two walls "
                    "and photograph it with the tape before the board goes on.")
    screens = {thing.id for thing in plan.things if thing.kind == "tv"}
    said += [f"{', '.join(ids)} were typed on one spot of the wall: where they do not fit one above the other, set "
             f"them side by side{', clear of the screen,' if screens & set(ids) else ''} and write where."
             for ids in _crowded(plan)]
    if hung := [thing for thing in plan.things if thing.live and thing.kind == "surface"]:
        weights = sorted({thing.weight_kg for thing in hung})
        each = weight_words(weights[-1], system)
        said.append(f"{', '.join(thing.id for thing in hung)}: " + HUNG.format(
            held="" if plan.stone else " or a stud in it",
            weight=f"{each} each" if weights[0] else "which its own papers say"))
    if any(thing.kind in ON_WALLS or thing.ring for thing in plan.things):
        over = "over the ground" if plan.outdoor else "over the finished floor"
        said.append(f"Heights are to the middle of the box or the loudspeaker, {over}. A box is at least as deep as "
                    "what goes into it, with room for the wires.")
    said += _cores(plan, system)
    if any(thing.kind == "surface" and thing.ring for thing in plan.things):
        said.append("A surface loudspeaker hangs before its box and hides it: hold its bracket to the wall before hole "
                    "and box are made, so that neither is in the other's way.")
    if plan.unplaced:
        said.append(f"In the way, without a position: {', '.join(plan.unplaced)}. Look before you cut.")
    if any(thing.cut_out_mm and thing.kind not in ("cables", "exit") for thing in plan.things):
        behind = "what holds the ceiling up" if plan.stone else "the joists"
        said.append(f"Before cutting: check the hole against the template in the box, and look for {behind}.")
    return tuple(said)


def _voids(plan: RoomPlan, system: UnitSystem) -> Iterator[str]:
    """Ceilings that nobody has looked into: how deep they must be, and room to write how deep they are."""
    flush = [thing for thing in plan.things if thing.kind in ("ceiling", "stereo")]
    if not flush or not (plan.stone or plan.finished):
        return
    boxed = max((thing.back_box_mm[2] for thing in flush), default=0.0)
    deepest = max(thing.depth_mm for thing in flush)
    part = next((thing.back_box for thing in flush if thing.back_box_mm[2] == boxed), "")
    what = f"the back box {part}" if boxed > deepest else "the loudspeaker"
    yield VOID.format(ids=", ".join(thing.id for thing in flush), need=small_length(max(boxed, deepest), system),
                      what=what)


def _cores(plan: RoomPlan, system: UnitSystem) -> Iterator[str]:
    """How the cores of one box lie, and what its place's measures are to."""
    alike: dict[tuple[str, str], list[str]] = {}
    for thing in plan.things:
        if thing.box is not None and thing.box.apart_mm:
            alike.setdefault((thing.box.lie, small_length(thing.box.apart_mm, system)), []).append(thing.id)
    yield from (CORES.format(ids=", ".join(ids), lie=lie, apart=apart) for (lie, apart), ids in alike.items())


def _back_boxes(plan: RoomPlan) -> Iterator[str]:
    """How a back box comes to a place in a ceiling or a wall that is finished."""
    for way, words in FROM.items():
        if ids := [thing.id for thing in plan.things if thing.back_box and thing.back_box_from == way]:
            yield words.format(ids=", ".join(ids))


def _crowded(plan: RoomPlan) -> Iterator[list[str]]:
    """Things that somebody typed on one spot."""
    spots: dict[tuple[float, float], list[str]] = {}
    for thing in plan.things:
        spots.setdefault((thing.x_m, thing.y_m), []).append(thing.id)
    yield from (ids for ids in spots.values() if len(ids) > 1)

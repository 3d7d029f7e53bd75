"""The racks, or the shelf that stands in for one: set at their place, and fixed there before anything has power."""

from __future__ import annotations

from collections.abc import Iterator

from quoting.documents.crew_steps import HookUpStep
from quoting.documents.crew_wiring import FactRow, Wiring

REACHED = "no lead pinched behind it; every cord's plug within reach of its outlet"
FIXED = f"does not move when pulled at its top; {REACHED}"
TO_FIX = "another stud, or an anchor for what the wall is of; no power before it holds"


def set_at_place(wiring: Wiring) -> Iterator[HookUpStep]:
    """Each at its place, and the cables of the walls brought to it: before this nothing can be landed."""
    for rack in wiring.racks:
        yield HookUpStep(
            action="stand", what=f"{_set(rack)} Then bring its cables in with their slack: none pulled tight.",
            end=f"{rack['id']}, at the head end", devices=(rack["id"],),
            shows="no cable pinched, each end reaches its device" if rack["on_wall"] else
            "upright on all its feet; no cable pinched, each end reaches its device",
            if_not=TO_FIX if rack["on_wall"] else "level it; free the cable that is short before it is pulled at")


def _set(rack: FactRow) -> str:
    if rack["shelf_only"]:
        return "Two people: the equipment shelf to its place, off its wall as far as the work behind it asks."
    if rack["on_wall"]:
        return ("Two people: hang the rack with its fixing set, into studs or masonry, never into board alone; pull at "
                "it before anything hangs on it.")
    return ("Two people: carry the rack to its place and leave it off its wall as far as the work behind it asks; a "
            "strap or the second person holds it until it is fixed.")


def fixed_at_place(wiring: Wiring) -> Iterator[HookUpStep]:
    """Back at its place and fixed, once all that is done behind it is done and looked at."""
    for rack in wiring.racks:
        if rack["shelf_only"]:
            what, shows = "Push the shelf back to its place, no lead bent.", f"stands firm; {REACHED}"
            if_not = "level it, free the lead"
        elif rack["on_wall"]:
            what, shows, if_not = "Close the rack on its wall, no lead bent; every fixing tight.", FIXED, TO_FIX
        else:
            what = ("Two people: push the rack back to its place, no lead bent; fix it to the wall or the floor with "
                    "its anchor set, then pull at it.")
            shows, if_not = FIXED, TO_FIX
        yield HookUpStep(action="fix", what=what, end=f"{rack['id']}, at the head end", devices=(rack["id"],),
                         shows=shows, if_not=if_not)


def set_on(wiring: Wiring) -> Iterator[HookUpStep]:
    """What is set before its leads: on top of a rack, the family's own in one, the senders beside televisions."""
    for id in sorted(wiring.words.senders):
        yield HookUpStep(action="set", what="Fix it behind or beside the television, where its vents are free and its "
                         "number can be read.", end=f"{wiring.words.device(id)}, at {wiring.words.place(id)}",
                         devices=(id,), shows="held when its leads are pulled at", if_not="another spot that its leads "
                         "reach")
    for id, slot in wiring.words.slots.items():
        device, on_top = slot["device"], wiring.is_on_top(slot)
        if not device or not (on_top or (device in wiring.owned and not slot["part"])):
            continue
        lid = ", level, its lid free to open: never over amplifiers on a shelf" if on_top else ""
        at = f"on top of {slot['rack']}" if on_top else f"at its place {id}"
        yield HookUpStep(action="set", what=f"Set it {at}{lid}.", end=wiring.words.device(device), devices=(device,),
                         shows="stands firm, its leads and its cord reach", if_not="beside it, where they reach")

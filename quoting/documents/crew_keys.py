"""The keys of the crew's sheets: how ids, ends, pulls and cables are read, shown with ids of this very job."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from quoting.documents.crew_places import device_places
from quoting.documents.floor_plan import equipped, rows_of_kind
from quoting.facts import CableRun, Conduit, HouseExit, Place
from quoting.quote import PricedOption, Quote
from quoting.units import MM_PER_IN

FactRow = Mapping[str, Any]
_LETTERS = {  # of a place: the letter in its id, and what it stands for
    "control": ("K", "a control (keypad or volume knob)"), "speaker": ("S", "a speaker"),
    "input": ("I", "a player socket"), "tv": ("T", "a television plate"),
}
_HANGS = {"control": "control", "speaker": "speaker", "input": "player socket", "tv": "television sender"}
COLOURS = ("Colours of a 4-conductor cable: agree which pair is left and which is right before the first end is "
           "landed, write it here, and keep to it at every end: left + ______ left - ______ right + ______ "
           "right - ______.")


def place_key(quote: Quote, option: PricedOption) -> str:
    """What a place's id says; "" for an option without places."""
    found = _first_places(quote, option)
    if not found:
        return ""
    place = next(iter(found.values()))
    letters = [f"{_LETTERS[each][0]} is {_LETTERS[each][1]}" for each in found]
    room, _, spot = place.partition("-")
    return (f"Places: {place} is room {room}, place {spot}. {', '.join(letters)}; the placement sheets and every list "
            "say it so.")


def device_key(quote: Quote, option: PricedOption, room: str = "") -> str:
    """How what hangs at a place is told from the place, in one room or in the whole job; "" where nothing hangs."""
    sorts = _sorts(quote, option)
    shown: dict[str, str] = {}
    for device, place in device_places(quote, option).items():
        if place in sorts and (not room or place.startswith(f"{room}-")):
            shown.setdefault(sorts[place], f"{_HANGS[sorts[place]]} {device} at {place}")
    return f"What hangs at a place has one letter more: {', '.join(shown.values())}." if shown else ""


def end_key(quote: Quote, option: PricedOption) -> str:
    """Which end of a cable is which, and what the circuits of a 4-conductor cable are called."""
    runs = rows_of_kind(quote, option, CableRun)
    if not runs:
        return ""
    one, double = _example(runs)
    said = f"Ends: {one}A is the end of cable {one} where it starts (column From), {one}B the other end."
    return f"{said} A 4-conductor cable carries two circuits, L left and R right: {one}A L." if double else said


def colour_key(quote: Quote, option: PricedOption) -> str:
    """Where the colours of the two circuits of one cable are written down; "" where no cable has two."""
    return COLOURS if any(run["circuits"] == 2 for run in rows_of_kind(quote, option, CableRun)) else ""


def group_key(quote: Quote, option: PricedOption) -> str:
    """What a pull group's name says."""
    groups = dict.fromkeys((run["pull_group"], run["room"]) for run in rows_of_kind(quote, option, CableRun))
    together = next(((group, room) for group, room in groups if not group.endswith("-L")), None)
    single = next(((group, room) for group, room in groups if group.endswith("-L")), None)
    said = [f"{together[0]}: cables that go together from HE to room {together[1]}"] if together else []
    said += [f"{single[0]}: cables inside room {single[1]}, one by one"] if single else []
    return f"Pull groups: {'; '.join(said)}." if said else ""


def exit_key(quote: Quote, option: PricedOption) -> str:
    """What the id of a way out of the house says; "" where nothing leaves it."""
    row = next(iter(rows_of_kind(quote, option, HouseExit)), None)
    return "" if row is None else (
        f"Ways out: {row['id']} leads through the house wall to room {row['room']}; the table Ways out of the house, "
        "on the sheet Drilling, plates and sealing, says where.")


def cable_key(quote: Quote, runs: Iterable[FactRow]) -> str:
    """What the cables' part numbers stand for."""
    parts = sorted({run["part"] for run in runs if run["part"] in quote.parts and not run["reused"]})
    said = "; ".join(f"{part} is {quote.parts[part].description[0].lower()}{quote.parts[part].description[1:]}"
                     for part in parts)
    return f"Cables: {said}." if said else ""


def diameter_key(runs: Iterable[FactRow]) -> str:
    """How thick the cables are that holes are filled with: a thicker one asks for a wider hole."""
    thick = sorted({(run["part"], run["diameter_mm"]) for run in runs if run["diameter_mm"] and not run["reused"]})
    said = ", ".join(f"{part} {diameter_mm / MM_PER_IN:.2f} in ({diameter_mm:g} mm)" for part, diameter_mm in thick)
    return f"Outsides of cables that bits and chases rest on: {said}; for thicker ones ask the office." if said else ""


def label_key(quote: Quote, option: PricedOption) -> str:
    """What a cable's labels say, and what each copy is for; "" where the job has no cables."""
    runs = rows_of_kind(quote, option, CableRun)
    bought: dict[str, int] = {}
    for row in option.materials:
        if row.part in quote.label_parts:
            for reason in row.because:
                bought[reason.fact] = bought.get(reason.fact, 0) + int(reason.amount)
    if not runs:
        return ""
    one, _ = _example(runs)
    copies = max(2, *(bought.get(run["id"], 2) for run in runs))
    spare = {2: "", 3: ", and one spare"}.get(copies, f", and {copies - 2} spare")
    others = [row["id"] for kind in (Conduit, HouseExit) for row in rows_of_kind(quote, option, kind)
              if row["id"] in bought]
    said = (f" {', '.join(others)}: labels of their own, one at each end of a conduit, one on a way out's "
            "sleeve.") if others else ""
    return (f"Labels: {copies} alike for each cable, with its number alone, {one}: one round each end{spare}. A and B "
            f"are not printed: the end at From is A, the end at To is B.{said}")


def _example(runs: tuple[FactRow, ...]) -> tuple[str, bool]:
    """A cable to show its ends with, and whether it carries two circuits."""
    double = next((run for run in runs if run["circuits"] == 2), None)
    return (double or runs[0])["id"], double is not None


def _first_places(quote: Quote, option: PricedOption) -> dict[str, str]:
    """The first place of each sort, of those that the option equips if there are any."""
    sorts = _sorts(quote, option)
    used = dict(equipped(quote, option))
    found: dict[str, str] = {}
    for place in sorted(sorts, key=lambda place: place not in used):
        found.setdefault(sorts[place], place)
    return {sort: found[sort] for sort in _LETTERS if sort in found}


def _sorts(quote: Quote, option: PricedOption) -> dict[str, str]:
    """What each place is for, by its id."""
    return {row["id"]: row["device"] if row["device"] in _LETTERS else "speaker"
            for row in rows_of_kind(quote, option, Place)}

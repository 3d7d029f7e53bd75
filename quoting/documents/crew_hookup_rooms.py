"""The part of the hook-up that is done in the rooms at trim-out: room by room and box by box.

In a box: what is proved by itself, then what is joined, set and landed, and last what is plugged in and hides it all.
Nothing here joins what is the family's own: that waits for the commissioning visit, when they and their things are in.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field

from msgspec.structs import replace

from quoting.documents.crew_readings import PINS, PINS_IF_NOT, WIRE_IF_NOT, reading, wires_alone
from quoting.documents.crew_steps import HookUpStep
from quoting.documents.crew_wiring import HEAD_END, FactRow, Wiring
from quoting.documents.crew_words import SIDES, listed
from quoting.documents.later_cables import waits_for
from quoting.facts.connection import JOINT

HIDING = ("speaker", "control", "input", "tv")  # rooms are gone through in this order: a control's legs end at speakers
HELD = "each conductor held when tugged"


@dataclass
class _Box:
    """What happens at one place, in the order in which it is done."""

    proved: list[HookUpStep] = field(default_factory=list)
    joined: list[HookUpStep] = field(default_factory=list)
    landed: list[HookUpStep] = field(default_factory=list)
    stowed: list[HookUpStep] = field(default_factory=list)
    plugged: list[HookUpStep] = field(default_factory=list)


def in_rooms(wiring: Wiring) -> Iterator[HookUpStep]:
    """Every step in the rooms that needs nothing of the family's."""
    boxes = {place: _Box() for place in _places_in_order(wiring)}
    for place, rows in bare_cables(wiring, boxes).items():
        boxes[place].proved.append(_wires(rows))
    _speaker_ends(wiring, boxes)
    _other_ends(wiring, boxes)
    _waiting_ends(wiring, boxes)
    for place, box in boxes.items():
        knob = next((row for row in wiring.knobs.values() if row["place"] == place), None)
        jumper = [_jumper(wiring, knob)] if knob is not None and box.landed else []
        for step in (*box.proved, *box.joined, *jumper, *box.landed, *box.stowed, *box.plugged):
            yield replace(step, room=room_words(wiring, place))


def _places_in_order(wiring: Wiring) -> list[str]:
    """Every place that a cable ends at or starts from: by room, loudspeakers before the control that feeds them."""
    places = dict.fromkeys(run[end] for run in wiring.runs.values() for end in ("start", "end") if run[end] != HEAD_END)
    rooms = list(wiring.rooms)
    kinds = {place: wiring.places[place]["device"] if place in wiring.places else "" for place in places}

    def key(place: str) -> tuple[int, int, int, str]:
        room = _code(wiring, place)
        kind = HIDING.index(kinds[place]) if kinds[place] in HIDING else len(HIDING)
        return rooms.index(room) if room in rooms else len(rooms), kind, len(place), place

    return sorted(places, key=key)


def _code(wiring: Wiring, place: str) -> str:
    if place in wiring.places:
        return str(wiring.places[place]["room"])
    return str(next((run["room"] for run in wiring.runs.values() if place in (run["end"], run["start"])), ""))


def room_words(wiring: Wiring, place: str) -> str:
    """The room of a place, its name and its code."""
    code = _code(wiring, place)
    return f"{wiring.rooms.get(code, code)} ({code})"


# ---------------------------------------------------------------- speaker circuits

def _speaker_ends(wiring: Wiring, boxes: dict[str, _Box]) -> None:
    """Joints, loudspeakers and knobs; what lies behind a knob is metered before it is landed.

    From the rack a meter sees only the knob.
    """
    joints: dict[tuple[str, int, str], list[tuple[str, str]]] = {}
    for row in wiring.words.group("speaker"):
        for way, (device, cable_end) in wiring.cable_ends_of(row):
            if row[f"{way}_socket"] == JOINT:
                joints.setdefault((device, row[f"{way}_index"], row[f"{way}_side"]), []).append((row["id"], cable_end))
            elif device not in wiring.racked:
                box = boxes[wiring.words.place(device)]
                box.landed.append(_land(wiring, row, way, device, cable_end))
                if device in wiring.knobs and way == "from":
                    box.proved.append(meter(wiring, row, "the knob's end, before it is landed there", cable_end))
    for (place, index, side), ends in joints.items():
        boxes[place].joined.append(_join(wiring, place, index, side, ends))


def meter(wiring: Wiring, row: FactRow, where: str, cable_end: str) -> HookUpStep:
    """One circuit with all that hangs on it, across its two conductors."""
    shows, if_not = reading(row, wiring.knobs, wiring.runs[row["run"]]["purpose"] == "line")
    return HookUpStep(action="meter", what=f"Meter across the two conductors at {where}", start=cable_end.split()[0],
                      by=f"cable {row['run']}", polarity=f"{SIDES[row['from_side']]} circuit", shows=shows,
                      if_not=if_not, connections=(row["id"],))


def bare_cables(wiring: Wiring, places: Iterable[str] = ()) -> dict[str, list[FactRow]]:
    """The speaker cables of each room by the first place in it that is come to: all are still free at both ends."""
    order = list(places) or _places_in_order(wiring)
    first_of = {_code(wiring, place): place for place in reversed(order)}
    found: dict[str, list[FactRow]] = {}
    for row in wiring.words.group("speaker"):
        ends = {wiring.runs[row["run"]]["start"], wiring.runs[row["run"]]["end"]}
        come_to = next(place for place in order if place in ends)
        found.setdefault(first_of[_code(wiring, come_to)], []).append(row)
    return found


def _wires(rows: list[FactRow]) -> HookUpStep:
    """One step a room: after the walls were closed, and before anything hides an end."""
    runs = tuple(dict.fromkeys(row["run"] for row in rows))
    every = "Each speaker cable" if len(runs) > 1 else "The speaker cable"
    return HookUpStep(
        action="test", what=f"{every} by itself, both its ends free: meter each pair at one end; then twist that pair "
        "together at the far end, meter, and untwist it",
        by=f"{'cables' if len(runs) > 1 else 'cable'} {listed(runs)}", shows=wires_alone(rows), if_not=WIRE_IF_NOT,
        cables=runs)


def _join(wiring: Wiring, place: str, index: int, side: str, ends: list[tuple[str, str]]) -> HookUpStep:
    by = next((fitted for _, end in ends if wiring.cable_ends[end.split()[0]]["terminal"] == "joint"
               and (fitted := wiring.fitted(end.split()[0]))), "")
    return HookUpStep(
        action="connect", what=f"Join in {wiring.holds(place)}{f', each conductor by a {by}' if by else ''}: "
        f"{listed(end for _, end in ends)}",
        start=f"{wiring.words.device(place)}{f', joint {index}' if index else ''}",
        by=f"cables {listed(end.split()[0][:-1] for _, end in ends)}",
        polarity=f"{SIDES[side]} circuit: + with +, - with -", shows=HELD, if_not="make the joint again",
        devices=(place,), connections=tuple(id for id, _ in ends), cable_ends=tuple(end for _, end in ends))


def _land(wiring: Wiring, row: FactRow, way: str, device: str, cable_end: str) -> HookUpStep:
    end = cable_end.split()[0]
    place = wiring.words.end(row) if way == "to" else wiring.words.start(row)
    fitted = wiring.fitted(end)
    shows, if_not = landed_words(fitted)
    return HookUpStep(
        action="connect", what=f"Land end {end[-1]} of the cable{f', each conductor in a {fitted}' if fitted else ''}",
        end=place, by=f"cable {row['run']}", polarity=wiring.polarity(row), shows=shows, if_not=if_not,
        devices=(device,), connections=(row["id"],), cable_ends=(cable_end,))


def landed_words(fitted: str) -> tuple[str, str]:
    """What a landed conductor should look like, at the rack and in the rooms, and what then."""
    if fitted:
        return f"{HELD}, the {fitted} all the way in, no strand beside it", "cut, strip and fit it again"
    return f"{HELD}, no strand beside the terminal", "cut, strip and land it again"


def _jumper(wiring: Wiring, knob: FactRow) -> HookUpStep:
    pairs = knob["pairs_controlled"]
    return HookUpStep(
        action="set", what=f"Set its jumper or switch for {pairs} {'pair' if pairs == 1 else 'pairs'} of loudspeakers, "
        "as its own sheet says where it has one; turn it full up and leave it so until the system has played.",
        end=wiring.words.device(knob["id"]), devices=(knob["id"],), shows="as its own sheet shows it for that number",
        if_not="land nothing on it: ask for its sheet")


# ---------------------------------------------------------------- category cables, bell wire

def _other_ends(wiring: Wiring, boxes: dict[str, _Box]) -> None:
    """Plugs, jacks and plates; a category cable is proved before anything is plugged into either end of it."""
    for row in wiring.words.group("source", "control", "network"):
        for way, (device, cable_end) in wiring.cable_ends_of(row):
            if device in wiring.racked or wiring.is_family_s(device):
                continue
            jack = device == cable_end  # a wall jack goes by its cable end
            box = boxes[wiring.runs[row["run"]]["end"] if jack else wiring.words.place(device)]
            (box.joined if row[f"{way}_socket"] == JOINT else box.plugged).append(
                _plug(wiring, row, way, device, cable_end))
        if row["run"] and wiring.purpose(row["run"]) == "category":
            _first(wiring, boxes, row["run"]).proved.append(_proved(wiring, row["run"]))


def _first(wiring: Wiring, boxes: dict[str, _Box], run: str) -> _Box:
    """The box of a cable that is come to first: where it is proved, before anything is landed on it."""
    ends = {wiring.runs[run]["start"], wiring.runs[run]["end"]}
    return next(box for place, box in boxes.items() if place in ends)


_PLUGGED = {"plug": "Plug end {end} in", "jack": "Click the jack of end {end} into its plate"}
_PREPARED = {"plug": "put a {fitted} on end {end}", "jack": "punch end {end} down on a {fitted}"}


def _plug(wiring: Wiring, row: FactRow, way: str, device: str, cable_end: str) -> HookUpStep:
    terminal = "joint" if row[f"{way}_socket"] == JOINT else wiring.cable_ends[cable_end]["terminal"]
    plugged = terminal in _PLUGGED
    return HookUpStep(
        action="connect", what=_PLUGGED.get(terminal, "Land end {end} of the cable").format(end=cable_end[-1]),
        end=wiring.words.end(row) if way == "to" else wiring.words.start(row), by=f"cable {row['run']}",
        polarity=row["note"], devices=(device,), connections=(row["id"],), cable_ends=(cable_end,),
        shows="it clicks, and stays when pulled" if plugged else HELD,
        if_not="the plug or jack again" if plugged else "cut, strip and land it again")


def _proved(wiring: Wiring, run: str) -> HookUpStep:
    """A category cable by itself: with its own plug or jack in the room, a temporary plug at the head end."""
    if run in wiring.waiting:
        return HookUpStep(
            action="test", what="Not in use yet: a temporary plug on each end, then a cable tester end to end",
            start=f"{run}A", end=f"{run}B", by=f"cable {run}", shows=PINS, if_not=PINS_IF_NOT, cables=(run,))
    prepared, temporary = [], []
    for letter in "AB":
        end = wiring.cable_ends[f"{run}{letter}"]
        words = _PREPARED.get(end["terminal"], "") if letter == "B" or wiring.runs[run]["start"] != HEAD_END else ""
        if words:
            prepared.append(words.format(fitted=wiring.fitted(end["id"]) or f"network {end['terminal']}", end=letter))
        else:
            temporary.append(f"a temporary plug on end {letter}{' at the head end' if letter == 'A' else ''}")
    said = ", ".join((*prepared, *temporary))
    return HookUpStep(
        action="test", what=f"{said[:1].upper()}{said[1:]}; then a cable tester end to end, nothing else on either end",
        start=f"{run}A", end=f"{run}B", by=f"cable {run}", shows=PINS, if_not=PINS_IF_NOT, cables=(run,))


# ---------------------------------------------------------------- what waits

def _waiting_ends(wiring: Wiring, boxes: dict[str, _Box]) -> None:
    """Cables that nothing is landed on: proved once, then put away at each end so that they are found again."""
    for run in wiring.waiting:
        ends = [(letter, wiring.runs[run][way]) for letter, way in (("A", "start"), ("B", "end"))
                if wiring.runs[run][way] != HEAD_END]
        _first(wiring, boxes, run).proved.append(_proved_waiting(wiring, run))
        for letter, place in ends:
            boxes[place].stowed.append(stow(wiring, (f"{run}{letter}",), wiring.words.spot(place)))


def _proved_waiting(wiring: Wiring, run: str) -> HookUpStep:
    if wiring.purpose(run) == "category":
        return _proved(wiring, run)
    return HookUpStep(
        action="test", what="Not in use yet: meter each pair at end A, end B open, then its two conductors twisted "
        "together; untwist them", start=f"{run}A", end=f"{run}B", by=f"cable {run}",
        shows="open: no reading; twisted: steady, no more than a few ohm", if_not=WIRE_IF_NOT, cables=(run,))


def stow(wiring: Wiring, ends: tuple[str, ...], where: str) -> HookUpStep:
    """Ends that wait for later equipment, each with what its tag says."""
    tag = wiring.fitted(ends[0]) or "tag"
    told: dict[str, list[str]] = {}
    for end in ends:
        told.setdefault(waits_for(wiring.runs[end[:-1]]), []).append(end)
    said = ", ".join(f"\"{words}\"{f' ({listed(its)})' if len(told) > 1 else ''}" for words, its in told.items())
    return HookUpStep(
        action="stow", what="Not in use yet: cap, coil and tag "
        f"{'each end' if len(ends) > 1 else f'end {ends[0][-1]}'}, with a {tag} that says {said}",
        start=", ".join(ends) if len(ends) > 1 and len(told) == 1 else "", end=where,
        by="" if len(ends) > 1 else f"cable {ends[0][:-1]}", shows="its number can be read", if_not="a new label",
        cable_ends=ends)

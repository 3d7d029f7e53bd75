"""What a floor's drawing shows the customer: rooms, and what stands where, for one option. An allow-list of values.

`floor_drawing.py` draws these records and sees nothing else of the quote.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from quoting.documents.plan_symbols import SymbolKind
from quoting.facts import FACT_KINDS, Fact, IdlePlace, KeypadFact, Place, RoomInput, Speaker
from quoting.job import HeadEnd, Room
from quoting.quote import PricedOption, Quote

FactRow = Mapping[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanMark:
    """One thing in a room: metres from the room's west and south walls."""

    place: str  # id of the place: KIT-S1
    kind: SymbolKind
    live: bool  # False: wired now, equipped later
    x_m: float
    y_m: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanRoom:
    """A room seen from above; `x_m`, `y_m` is its middle on the plan, None where nobody measured it."""

    code: str
    name: str
    outdoor: bool
    length_m: float
    width_m: float
    x_m: float | None
    y_m: float | None
    marks: tuple[PlanMark, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanHeadEnd:
    """Where the equipment stands: in the customer's words, and on the plan where somebody measured it."""

    name: str
    room: str  # code of the room that bears that name; "" where none does
    x_m: float | None
    y_m: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FloorPlanView:
    """One floor of one option, or what of it lies outdoors. Rooms in the order of their codes."""

    number: int
    option: str
    rooms: tuple[PlanRoom, ...]
    head_end: PlanHeadEnd | None
    outdoors: bool = False


def floor_plans(quote: Quote, option: PricedOption) -> tuple[FloorPlanView, ...]:
    """Every floor that has a room of the quote or the head end, from the lowest up; the same rooms in every option.

    What lies outdoors is a drawing of its own where nobody measured how it lies to the house.
    """
    promised = {promise.room for one in quote.options for promise in one.rooms}
    rooms = [room for room in sorted(quote.job.rooms, key=lambda room: room.code) if room.code in promised]
    marks = _marks(quote, option)
    numbers = sorted({room.floor for room in rooms} | {quote.job.head_end.floor})
    return tuple(view for number in numbers for view in _apart(FloorPlanView(
        number=number, option=option.name,
        rooms=tuple(_room(room, marks.get(room.code, ())) for room in rooms if room.floor == number),
        head_end=_head_end(quote.job.head_end, rooms) if number == quote.job.head_end.floor else None,
    )))


def _apart(view: FloorPlanView) -> tuple[FloorPlanView, ...]:
    """A floor as one drawing, or its indoors and its outdoors as two."""
    inside = tuple(room for room in view.rooms if not room.outdoor)
    outside = tuple(room for room in view.rooms if room.outdoor)
    measured = any(room.x_m is not None and room.y_m is not None for room in outside)
    here = view.head_end is not None and view.head_end.room in {room.code for room in outside}
    if not inside or not outside or measured or here:
        return (view,)
    return replace(view, rooms=inside), replace(view, rooms=outside, head_end=None, outdoors=True)


def rows_of_kind(quote: Quote, option: PricedOption, kind: type[Fact]) -> tuple[FactRow, ...]:
    """The facts of a kind that hold in an option: the shared plan's and its own."""
    name = next(name for name, cls in FACT_KINDS.items() if cls is kind)
    return (*quote.facts.get(name, ()), *option.facts.get(name, ()))


def _room(room: Room, marks: Iterable[PlanMark]) -> PlanRoom:
    return PlanRoom(code=room.code, name=room.name, outdoor=room.setting == "outdoor", length_m=room.length_m,
                    width_m=room.width_m, x_m=room.x_m, y_m=room.y_m, marks=tuple(marks))


def _head_end(head_end: HeadEnd, rooms: Iterable[Room]) -> PlanHeadEnd:
    said = head_end.place.strip().casefold()
    inside = next((room.code for room in rooms if room.floor == head_end.floor
                   and said in (room.name.casefold(), room.code.casefold())), "")
    return PlanHeadEnd(name=head_end.place, room=inside, x_m=head_end.x_m, y_m=head_end.y_m)


def _marks(quote: Quote, option: PricedOption) -> dict[str, list[PlanMark]]:
    """What an option puts or wires in each room, each place once."""
    live = dict(equipped(quote, option))
    idle = {place for row in rows_of_kind(quote, option, IdlePlace) for place in row["basis"][:1]}
    found: dict[str, list[PlanMark]] = {}
    for row in rows_of_kind(quote, option, Place):
        kind = live.get(row["id"])
        if kind is None and row["id"] not in idle:
            continue
        found.setdefault(row["room"], []).append(PlanMark(
            place=row["id"], kind=kind or idle_kind(row), live=kind is not None, x_m=row["x_m"], y_m=row["y_m"]))
    return found


def equipped(quote: Quote, option: PricedOption) -> Iterator[tuple[str, SymbolKind]]:
    """The places that an option equips, and with what."""
    for row in rows_of_kind(quote, option, Speaker):
        yield row["place"], _speaker_kind(row["mount"], row["side"])
    for row in rows_of_kind(quote, option, KeypadFact):
        yield row["place"], "keypad" if row["control"] == "keypad" else "knob"
    for row in rows_of_kind(quote, option, RoomInput):
        yield from ((place, "tv" if row["what"] == "tv" else "input") for place in row["basis"][:1])


def _speaker_kind(mount: str, side: str) -> SymbolKind:
    kinds: dict[str, SymbolKind] = {"ceiling": "ceiling", "wall": "wall", "surface": "surface", "garden": "garden"}
    kind = kinds.get(mount, "ceiling")
    return "stereo" if kind == "ceiling" and side == "both" else kind


def idle_kind(place: FactRow) -> SymbolKind:
    """The symbol of a place that is wired and not equipped."""
    kinds: dict[str, SymbolKind] = {"control": "control", "input": "input", "tv": "tv"}
    return kinds.get(place["device"]) or _speaker_kind(place["mount"], place["side"])

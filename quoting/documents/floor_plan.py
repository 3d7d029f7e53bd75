"""What a floor's drawing shows the customer: rooms, and what stands where, for one option. An allow-list of values.

`floor_drawing.py` draws these records and sees nothing else of the quote.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any

from msgspec import Struct
from msgspec.structs import replace

from quoting.documents.plan_symbols import SymbolKind
from quoting.facts import FACT_KINDS, Fact, HeadEndPlace, IdlePlace, KeypadFact, Place, RackFact, RoomInput, Speaker
from quoting.job import Room
from quoting.quote import PricedOption, Quote

FactRow = Mapping[str, Any]
CLOSET = "HE"  # stands for a room's code where the head end has a closet of its own


class PlanMark(Struct, frozen=True, kw_only=True):
    """One thing in a room: metres from the room's west and south walls."""

    place: str  # id of the place: KIT-S1
    kind: SymbolKind
    live: bool  # False: wired now, equipped later
    x_m: float
    y_m: float


class PlanRoom(Struct, frozen=True, kw_only=True):
    """A room seen from above; `x_m`, `y_m` is its middle on the plan, None where nobody measured it."""

    code: str
    name: str
    outdoor: bool
    length_m: float
    width_m: float
    x_m: float | None
    y_m: float | None
    marks: tuple[PlanMark, ...]


class PlanRack(Struct, frozen=True, kw_only=True):
    """The ground that a rack takes: its middle in metres from the west and the south wall, and how far it reaches."""

    x_m: float
    y_m: float
    east_m: float  # west to east
    north_m: float  # south to north


class PlanHeadEnd(Struct, frozen=True, kw_only=True):
    """Where the equipment stands, in the customer's words, and where its cables come out of a wall."""

    name: str
    room: str  # code of the room that it stands in, CLOSET for one of its own; "" where nobody knows
    x_m: float = 0.0  # from that room's west and south wall
    y_m: float = 0.0
    beside: str = ""  # code of the room that a closet is planned beside, and on which side of it
    side: str = ""
    racks: tuple[PlanRack, ...] = ()


class FloorPlanView(Struct, frozen=True, kw_only=True):
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
    head_end, closet = _head_end(quote, option, {room.code for room in rooms})
    return tuple(view for number in numbers for view in _apart(FloorPlanView(
        number=number, option=option.name,
        rooms=(*(_room(room, marks.get(room.code, ())) for room in rooms if room.floor == number),
               *(closet if number == quote.job.head_end.floor else ())),
        head_end=head_end if number == quote.job.head_end.floor else None,
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


def _head_end(
    quote: Quote, option: PricedOption, codes: Collection[str]
) -> tuple[PlanHeadEnd, tuple[PlanRoom, ...]]:
    """The head end, and its closet where it stands in no room of the quote."""
    name = quote.job.head_end.place
    for row in rows_of_kind(quote, option, HeadEndPlace):
        if row["room"] not in codes and row["room"]:
            break
        head_end = PlanHeadEnd(
            name=name, room=row["room"] or CLOSET, x_m=row["x_m"], y_m=row["y_m"], beside=row["beside"],
            side=row["side"], racks=tuple(_rack(row, rack) for rack in rows_of_kind(quote, option, RackFact)))
        east, north = row["plan_x_m"] - row["x_m"], row["plan_y_m"] - row["y_m"]
        closet = PlanRoom(
            code=CLOSET, name=name, outdoor=False, length_m=row["length_m"], width_m=row["width_m"], marks=(),
            x_m=east + row["length_m"] / 2 if row["on_plan"] else None,
            y_m=north + row["width_m"] / 2 if row["on_plan"] else None)
        return head_end, () if row["room"] else (closet,)
    return PlanHeadEnd(name=name, room=""), ()


def _rack(place: FactRow, rack: FactRow) -> PlanRack:
    east, north = rack_reach_m(place, rack)
    return PlanRack(x_m=rack["x_m"], y_m=rack["y_m"], east_m=east, north_m=north)


def rack_reach_m(place: FactRow, rack: FactRow) -> tuple[float, float]:
    """How far a rack reaches west to east and south to north, with its back to the head end's wall. [m]"""
    wide, deep = rack["wide_m"], rack["deep_m"]
    return (wide, deep) if place["wall"] in ("north", "south") else (deep, wide)


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

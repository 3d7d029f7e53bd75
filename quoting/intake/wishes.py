"""Sources, extras and overrides with every blank filled in."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal

from msgspec import Struct

from quoting.intake.defaults import SOURCE_CONNECTORS, SOURCE_CONTROLS, USUAL, Fallback, Ledger
from quoting.intake.entries import Entry, Measures
from quoting.intake.filled import Filled
from quoting.job import Extra, Override, Room, SourceWish
from quoting.problems import Cell, Problem, stop
from quoting.sheets.fields import closest, key, read_length, read_money, read_number, read_whole, shown
from quoting.units import M_PER_FT, to_quantity

LENGTH_KINDS = ("conduit", "trench")  # extras whose quantity is a length
MOST_EXTRA_M = 2_000.0

_HEAD_END_WORDS = frozenset({"", "head end", "rack", "he", "equipment room", "equipment closet"})


class RoomNames(Struct, frozen=True):
    """Rooms by code and by name, and the head end's own name."""

    codes: Mapping[str, str]  # key of a code or a name -> code
    names: tuple[str, ...]
    head_end: str

    def find(self, text: str) -> str | None:
        """A room's code; "" for the head end; None for no room."""
        word = key(text)
        if word in self.codes:
            return self.codes[word]
        return "" if word in _HEAD_END_WORDS or word == key(self.head_end) else None


def room_names(rooms: Iterable[Room], head_end: str) -> RoomNames:
    """How other sheets may name the rooms."""
    rooms = list(rooms)
    by_code = {key(room.code): room.code for room in rooms}
    return RoomNames({key(room.name): room.code for room in rooms} | by_code, tuple(r.name for r in rooms), head_end)


def read_sources(
    filled: Filled, ledger: Ledger, names: RoomNames, first_option: str,
) -> tuple[tuple[SourceWish, ...], tuple[Problem, ...]]:
    """Every source; one streamer where none is typed."""
    problems: list[Problem] = []
    sources = tuple(_source(row, ledger, names, first_option, problems) for row in filled.sources)
    if not sources:
        form = filled.form.sources
        nobody = Entry(form, {"kind": "streamer"}, {"": Cell(filled.file, form.name)})
        ledger.note(nobody, "kind", "Sources", "streamer", USUAL)
        sources = (_source(nobody, ledger, names, first_option, problems),)
    return sources, tuple(problems)


def _source(
    row: Entry, ledger: Ledger, names: RoomNames, first_option: str, problems: list[Problem],
) -> SourceWish:
    kind = row.text("kind") or "other"
    name = row.text("name") or kind
    of = f"Sources {name}"

    def settle(attribute: str, *fallbacks: Fallback) -> str:
        return str(ledger.settle(row, attribute, of, *fallbacks))

    values: dict[str, object] = {
        "kind": kind,
        "name": settle("name", Fallback(kind, "its kind")),
        "count": ledger.plain(row, "count", of, 1),
        "owned": ledger.plain(row, "owned", of, False),
        "connector": settle("connector", Fallback(SOURCE_CONNECTORS.get(kind, "RCA"), f"source kind {kind}")),
        "control": settle("control", Fallback(SOURCE_CONTROLS.get(kind, "none"), f"source kind {kind}")),
        "location": room_named(row, "location", of, ledger, names, problems),
        "plays_from": settle("plays_from", Fallback(first_option, "the smallest option")),
        "where": row.where(),
    }
    return SourceWish(**values)  # type: ignore[arg-type]  # each value was read by its column's kind


def room_named(
    row: Entry, attribute: str, of: str, ledger: Ledger, names: RoomNames, problems: list[Problem],
) -> str:
    """The code of the room that a cell names; "" for the head end or a blank cell, a stop where there is none."""
    text = str(ledger.plain(row, attribute, of, ""))
    found = names.find(text)
    if found is None:
        close = closest(text, names.names)
        problems.append(stop(
            row.where(attribute), "unknown-room",
            f"{row.form.column(attribute).heading} '{shown(text)}' is neither a room's name or code nor the head end.",
            f"Type {close}." if close else "Type a name or code from the sheet Rooms, or leave it blank.",
        ))
    return found or ""


def read_extras(
    filled: Filled, ledger: Ledger, names: RoomNames, first_option: str,
) -> tuple[tuple[Extra, ...], tuple[Problem, ...]]:
    """Every extra, and those that the Job sheet asks for in one cell: doorbells and paging."""
    problems: list[Problem] = []
    extras = [_extra(row, filled.measures, ledger, names, first_option, problems) for row in filled.extras]
    job = filled.job
    doors = ledger.plain(job, "doorbells", "Job", 0)
    said = {extra.kind for extra in extras}  # a row on Extras says more than the Job sheet's cell: it stands for it
    if doors and "doorbell" not in said:
        extras.append(_asked_on_job("doorbell", Decimal(doors), first_option, job.where("doorbells")))
    if ledger.plain(job, "paging", "Job", False) and "paging" not in said:
        extras.append(_asked_on_job("paging", Decimal(1), first_option, job.where("paging")))
    return tuple(extras), tuple(problems)


def _asked_on_job(kind: str, quantity: Decimal, option: str, where: Cell) -> Extra:
    return Extra(
        kind="doorbell" if kind == "doorbell" else "paging", name=kind, room="", quantity=quantity, part="",
        amount=None, rack_mountable=False, plays_from=option, note="", where=where,
    )


def _extra(
    row: Entry, measures: Measures, ledger: Ledger, names: RoomNames, first_option: str, problems: list[Problem],
) -> Extra:
    kind = row.text("kind") or "part"
    name = row.text("name") or row.text("part") or kind
    of = f"Extras {name}"
    values: dict[str, object] = {
        "kind": kind,
        "name": ledger.settle(row, "name", of, Fallback(name, "its kind")),
        "room": room_named(row, "room", of, ledger, names, problems),
        "quantity": _quantity(row, kind, of, measures, ledger, problems),
        "part": ledger.plain(row, "part", of, ""),
        "amount": ledger.plain(row, "amount", of, None),
        "rack_mountable": ledger.plain(row, "rack_mountable", of, False),
        "plays_from": ledger.settle(row, "plays_from", of, Fallback(first_option, "the smallest option")),
        "note": ledger.plain(row, "note", of, ""),
        "where": row.where("part") if kind == "part" and row.text("part") else row.where(),
    }
    return Extra(**values)  # type: ignore[arg-type]  # each value was read by its column's kind


def _quantity(
    row: Entry, kind: str, of: str, measures: Measures, ledger: Ledger, problems: list[Problem],
) -> Decimal:
    """Metres where the kind is measured by length, else pieces."""
    value, where = row.values.get("quantity"), row.where("quantity")
    found: object
    if kind in LENGTH_KINDS:
        if value is None:
            if "quantity" in row.asked or "quantity" in row.bad:
                ledger.plain(row, "quantity", of, Decimal(0))
            return Decimal(0)  # a cross-check asks for the length
        found = read_length(value, where, "Quantity", measures.system, least_m=0.1, most_m=MOST_EXTRA_M)
        found = to_quantity(found, "m") if isinstance(found, float) else found
    elif value is None:
        found = ledger.plain(row, "quantity", of, Decimal(1))
    elif kind == "part":
        found = read_number(value, where, "Quantity", 0, 10_000)
    else:
        whole = read_whole(value, where, "Quantity", 1, 200)
        found = Decimal(whole) if isinstance(whole, int) else whole
    if isinstance(found, Problem):
        problems.append(found)
    return found if isinstance(found, Decimal) else Decimal(0)


def read_overrides(filled: Filled) -> tuple[tuple[Override, ...], tuple[Problem, ...]]:
    """Every override, its new value in one spelling: plain decimals, lengths with their unit, part numbers as typed."""
    overrides: list[Override] = []
    problems: list[Problem] = []
    for row in filled.overrides:
        value = _new_value(row, filled.measures)
        if isinstance(value, Problem):
            problems.append(value)
        else:
            overrides.append(_override(row, value))
    return tuple(overrides), tuple(problems)


def _override(row: Entry, value: str) -> Override:
    values = {name: row.text(name) for name in ("id", "what", "reason", "who")}
    return Override(value=value, where=row.where("value"), **values)  # type: ignore[arg-type]


def _new_value(row: Entry, measures: Measures) -> str | Problem:
    what, text = row.text("what"), row.text("value")
    if not what or what == "drop" or "value" in row.bad:
        return ""
    where = row.where("value")
    if not text:
        return stop(where, "override-value", f"New value is '' (empty); to replace the {what} needs one.",
                    f"Type the new {what}, or drop under What.")
    if what in ("part", "position"):
        return text
    if what == "length":
        metres = read_length(text, where, "New value", measures.system, least_m=0.0, most_m=MOST_EXTRA_M)
        if isinstance(metres, Problem):
            return metres
        return f"{metres / M_PER_FT:.10g} ft" if measures.system == "imperial" else f"{metres:.10g} m"
    if what == "price":
        found = read_money(text, where, "New value", measures.currency)
    else:
        found = read_number(text, where, "New value", 0, 1_000_000)
    return found if isinstance(found, Problem) else f"{found:f}"

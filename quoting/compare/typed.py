"""Which answers of the intake differ between two jobs, and in which cells they stand."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from typing import Any

from quoting.changes import TypedChange, numbered
from quoting.job import Job, Room
from quoting.problems import Cell
from quoting.units import UnitSystem, show_length, split_suffix

_NESTED = ("client", "terms", "head_end")
_LISTS = ("floors", "rooms", "zones", "sources", "extras", "overrides")
_NOT_TYPED = frozenset({"file", "defaults", "unknowns", "cells", "where", *_NESTED, *_LISTS})
_PAPER = frozenset({"quote_number", "revision", "supersedes", "quote_date"})

CellOf = Callable[[Any, str], Cell]


def typed_changes(old: Job, new: Job) -> tuple[TypedChange, ...]:
    """Every answer that differs: the Job sheet, then rooms by code, zones by number, and the other sheets' rows by what
    they name. Rows that only moved are the same."""
    return (*_of_job(old, new),
            *_of_rows("Rooms", _rooms(old), _rooms(new), _room_cell, _room_cell, new.unit_system),
            *(change for sheet, rows in _SHEETS for change in _of_rows(
                sheet, rows(old), rows(new), _cell_in(old), _cell_in(new), new.unit_system)))


def as_text(value: object) -> str:
    """A value as the office reads it: "yes", "12.5", "2026-09-07", "good 2, best 3"."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{round(value, 3):g}"
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    if isinstance(value, Mapping):
        return ", ".join(f"{key} {as_text(item)}" for key, item in sorted(value.items()))  # quote.json keeps no order
    if isinstance(value, tuple | list):
        return ", ".join(as_text(item) for item in value)
    if isinstance(value, datetime.date):
        return value.isoformat()
    return "" if value is None else str(value)


def field_words(name: str) -> str:
    """A field's name in words: "ceiling height (m)"."""
    stem, unit = split_suffix(name)
    return f"{stem.replace('_', ' ')} ({unit})" if unit else stem.replace("_", " ")


def answer_words(name: str) -> str:
    """An answer's name in words; a length's unit stands with its value: "ceiling height"."""
    stem, unit = split_suffix(name)
    return stem.replace("_", " ") if unit == "m" else field_words(name)


def _said_of(name: str, old: object, new: object, system: UnitSystem) -> tuple[str, str] | None:
    """Both sides of an answer as text, a length as the job writes it; None where they are the same."""
    plain = as_text(old), as_text(new)
    if plain[0] == plain[1]:
        return None
    if split_suffix(name)[1] != "m":
        return plain
    was, now = (show_length(value, system) if isinstance(value, float) else "" for value in (old, new))
    return (was, now) if was != now else (f"{plain[0]} m", f"{plain[1]} m")


def _typed(record: Any) -> Iterator[str]:
    """The fields of a record that somebody may have typed."""
    return (name for name in record.__struct_fields__ if name not in _NOT_TYPED)


def _of_job(old: Job, new: Job) -> Iterator[TypedChange]:
    sides = [(old, new), *((getattr(old, name), getattr(new, name)) for name in _NESTED)]
    for before, after in sides:
        for name in _typed(before):
            said = _said_of(name, getattr(before, name), getattr(after, name), new.unit_system)
            if said:
                yield TypedChange(of="Job", room="", field=answer_words(name), old=said[0], new=said[1],
                                  old_cell=old.where(name)[0], new_cell=new.where(name)[0], of_paper=name in _PAPER)


def _of_rows(
    sheet: str, old: Mapping[str, Any], new: Mapping[str, Any], old_cell: CellOf, new_cell: CellOf, system: UnitSystem
) -> Iterator[TypedChange]:
    """Rows of one sheet, by key: taken out, put in, then field by field."""
    for key in dict.fromkeys((*old, *new)):
        before, after = old.get(key), new.get(key)
        of, room = f"{sheet} {key}", _room_of(before if after is None else after)
        if before is None or after is None:
            yield TypedChange(of=of, room=room, field="", old="" if before is None else _said(before),
                              new="" if after is None else _said(after),
                              old_cell=None if before is None else old_cell(before, ""),
                              new_cell=None if after is None else new_cell(after, ""))
            continue
        for name in _typed(before):
            told = _said_of(name, getattr(before, name), getattr(after, name), system)
            if told:
                yield TypedChange(of=of, room=room, field=answer_words(name), old=told[0], new=told[1],
                                  old_cell=old_cell(before, name), new_cell=new_cell(after, name))


def _room_of(row: Any) -> str:
    return row.code if isinstance(row, Room) else str(getattr(row, "room", ""))


def _said(row: Any) -> str:
    """A whole row in a word: its name, an override's reason."""
    reason = getattr(row, "reason", "")
    if reason:
        return f"{row.value or row.what}: {reason}{f', {row.who}' if row.who else ''}"
    return str(getattr(row, "name", "") or "there")


def _room_cell(room: Room, attribute: str) -> Cell:
    return room.where(attribute)[0] if attribute else room.where()[0]


def _cell_in(job: Job) -> CellOf:
    def cell(row: Any, _: str) -> Cell:
        return row.where if isinstance(getattr(row, "where", None), Cell) else job.where("floors")[0]
    return cell


def _rooms(job: Job) -> dict[str, Room]:
    return {room.code: room for room in job.rooms}


_SHEETS: tuple[tuple[str, Callable[[Job], dict[str, Any]]], ...] = (
    ("Floors", lambda job: {str(floor.number): floor for floor in job.floors}),
    ("Zones", lambda job: {str(zone.number): zone for zone in job.zones}),
    ("Sources", lambda job: numbered((source.name, source) for source in job.sources)),
    ("Extras", lambda job: numbered((" ".join(filter(None, (extra.kind, extra.name or extra.part, extra.room))), extra)
                                    for extra in job.extras)),
    ("Overrides", lambda job: numbered((f"{override.id} {override.what}", override) for override in job.overrides)),
)

"""A job as it would be with another answer to one of its open questions."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from typing import Any, TypeVar, get_args, get_type_hints

from msgspec.structs import replace

from quoting.job import Client, HeadEnd, Job, Room, Terms, Unknown


def with_answer(job: Job, unknown: Unknown, answer: str) -> Job | None:
    """The job with `answer` (as standards/open_questions.csv has it, lengths in metres) instead of the default.

    None where there is no such answer to compute with: none is named, or it does not fit the field.
    """
    asked = replace(job, unknowns=())
    if not answer:
        return None
    try:
        if any(room.code == unknown.of for room in job.rooms):
            rooms = tuple(_changed(room, unknown.attribute, answer) if room.code == unknown.of else room
                          for room in job.rooms)
            return replace(asked, rooms=rooms)
        parts: tuple[tuple[str, Any], ...] = (("client", job.client), ("terms", job.terms), ("head_end", job.head_end))
        for name, record in parts:
            if unknown.attribute in _types(type(record)):
                change: dict[str, Any] = {name: _changed(record, unknown.attribute, answer)}
                return replace(asked, **change)
        return _changed(asked, unknown.attribute, answer)
    except (KeyError, ValueError, InvalidOperation):
        return None


Record = TypeVar("Record", Job, Room, Client, Terms, HeadEnd)


def _changed(record: Record, attribute: str, answer: str) -> Record:
    change: dict[str, Any] = {attribute: _typed(_types(type(record))[attribute], answer)}
    return replace(record, **change)


def _types(record: Any) -> Mapping[str, Any]:
    return get_type_hints(record)


def _typed(declared: Any, answer: str) -> object:
    """The text in the field's own type: the first of its types that is not None."""
    plain = next((kind for kind in get_args(declared) if kind in _READ), declared)
    return _READ[plain](answer) if plain in _READ else answer


_READ: Mapping[Any, Any] = {
    bool: lambda text: text == "yes", int: int, float: float, Decimal: Decimal,
    datetime.date: datetime.date.fromisoformat,
}

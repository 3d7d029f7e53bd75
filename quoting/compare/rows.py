"""Parts, tasks, runs and other facts of two quotes, matched by id."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any, TypeVar

from quoting.changes import Amounts, Change, FieldChange, RowChange, StatementChange
from quoting.compare.reasons import Reasons, Row
from quoting.compare.trail import BEHIND, FactRow
from quoting.compare.typed import as_text, field_words
from quoting.quote import PricedLabour, PricedMaterial, PricedOption, Quote, Statement

RUN = "cable_run"
# What the office and the crew look at; the other kinds are what these were computed from.
FACTS_COMPARED = (
    "room_use", "speaker", "keypad", "room_input", "audio_source", "owned_item", "zone", "line", "amplifier", "output",
    "controller", "network_device", "rack", "rack_slot", "connection", "doorbell", "paging", "trench", "conduit",
    "house_exit", "extra_part",
)
_ROW_FIELDS = ("need", "units", "hours", "unit_price", "unit_cost", "price", "cost", "freight", "contractor_tax",
               "direct_cost", "role", "wall_state", "price_rule", "zone")

T = TypeVar("T")


def paired(old: Mapping[str, T], new: Mapping[str, T]) -> Iterator[tuple[str, T | None, T | None]]:
    """Every id of either side once, in the new quote's order, then what is gone."""
    for id in dict.fromkeys((*new, *old)):
        yield id, old.get(id), new.get(id)


def change_of(old: object, new: object) -> Change:
    """Added, removed or changed."""
    if old is None:
        return "added"
    return "removed" if new is None else "changed"


def row_changes(
    kind: str, old: Sequence[Row], new: Sequence[Row], words: Mapping[str, str], reasons: Reasons
) -> tuple[RowChange, ...]:
    """Rows that came, went, or have another amount. `words`: what a part or a task is called."""
    found = []
    for id, before, after in paired(_by_id(old), _by_id(new)):
        changed = _fields(_shown(before), _shown(after))
        row = after or before
        assert row is not None
        if changed or before is None or after is None:
            name = row.part if isinstance(row, PricedMaterial) else row.task
            found.append(RowChange(kind=kind, id=id, change=change_of(before, after), what=words.get(name, name),
                                   room=row.room, fields=changed, old=_amounts(before), new=_amounts(after),
                                   why=reasons.of_row(before, after)))
    return tuple(found)


def fact_changes(
    old: Quote, new: Quote, sides: tuple[PricedOption, PricedOption], kinds: Iterable[str], reasons: Reasons
) -> tuple[RowChange, ...]:
    """Facts of these kinds that came, went, or say something else."""
    found = []
    for kind in kinds:
        rows = [{row["id"]: row for row in (*quote.facts.get(kind, ()), *option.facts.get(kind, ()))}
                for quote, option in zip((old, new), sides, strict=True)]
        for id, before, after in paired(rows[0], rows[1]):
            changed = _fields(_said(before), _said(after))
            row = before if after is None else after
            assert row is not None
            if changed or before is None or after is None:
                found.append(RowChange(
                    kind=kind, id=id, change=change_of(before, after), what=_fact_words(row, new, old),
                    room=row.get("room", ""), fields=changed if before and after else (), old=Amounts(), new=Amounts(),
                    why=reasons.of_fact(before, after)))
    return tuple(found)


def statement_changes(old: Quote, new: Quote, option: str) -> tuple[StatementChange, ...]:
    """Sentences of the option that came, went or read differently."""
    sides = [_statements(quote, option) for quote in (old, new)]
    return tuple(StatementChange(code=code, change=change_of(before, after), old=before or "", new=after or "")
                 for code, before, after in paired(sides[0], sides[1]) if before != after)


def _statements(quote: Quote, option: str) -> dict[str, str]:
    """The option's sentences by code, and by number where one code says several."""
    found: dict[str, str] = {}
    held: list[Statement] = [said for said in quote.statements if not said.options or option in said.options]
    for said in held:
        twin = sum(key.partition(" ")[0] == said.code for key in found)
        found[said.code if not twin else f"{said.code} {twin + 1}"] = said.text
    return found


def _by_id(rows: Iterable[Row]) -> dict[str, Row]:
    return {row.id: row for row in rows}


def _amounts(row: Row | None) -> Amounts:
    if row is None:
        return Amounts()
    return Amounts(row.price, row.cost, row.hours if isinstance(row, PricedLabour) else Decimal(0))


def _shown(row: Row | None) -> dict[str, str]:
    """The fields of a row that make it what it is, as text."""
    if row is None:
        return {}
    names = set(row.__struct_fields__)
    return {name: as_text(getattr(row, name)) for name in _ROW_FIELDS if name in names}


def _said(row: FactRow | None) -> dict[str, str]:
    return {} if row is None else {name: as_text(value) for name, value in row.items() if name not in BEHIND}


def _fields(old: Mapping[str, str], new: Mapping[str, str]) -> tuple[FieldChange, ...]:
    return tuple(FieldChange(name=field_words(name), old=old.get(name, ""), new=new.get(name, ""))
                 for name in dict.fromkeys((*new, *old)) if old.get(name) != new.get(name))


def _fact_words(row: FactRow, *quotes: Quote) -> str:
    """A fact in a word: its name, else the part's description, else where it goes."""
    part: Any = row.get("part", "")
    described = next((quote.parts[part].description for quote in quotes if part in quote.parts), part)
    return str(row.get("name") or described or row.get("state") or row.get("to_device") or row.get("what") or "")

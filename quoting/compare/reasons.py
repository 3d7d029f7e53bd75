"""Why a row or a fact differs: the override, the cell that was typed differently, the price list, the rule."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from quoting.changes import TypedChange
from quoting.lines import Reason
from quoting.problems import Cell
from quoting.quote import PricedLabour, PricedMaterial, Quote

Row = PricedMaterial | PricedLabour
FactRow = Mapping[str, Any]

MOST_RULES = 3  # named in one reason
MOST_FACTS = 3
MOST_CELLS = 3


class Reasons:
    """Finds reasons in what was typed differently and in the rules behind each row."""

    def __init__(self, old: Quote, new: Quote, typed: Iterable[TypedChange]) -> None:
        self._old, self._new = old, new
        self._typed = tuple(change for change in typed if not change.of_paper)

    def of_row(self, old: Row | None, new: Row | None) -> tuple[str, ...]:
        """Sentences for a part's or a task's row; at least one."""
        row = new or old
        assert row is not None
        ids = {row.id, *(reason.fact for side in (old, new) if side for reason in side.because)}
        sides = [{cell for reason in side.because for cell in reason.cells} if side else set() for side in (old, new)]
        return (*self._typed_reasons(ids, sides[0], sides[1], row.room), *self._price_list(old, new),
                _rules(old, new))

    def of_fact(self, old: FactRow | None, new: FactRow | None) -> tuple[str, ...]:
        """Sentences for a fact; at least one."""
        row = old if new is None else new
        assert row is not None
        ids = {row["id"], *(name for side in (old, new) if side for name in side.get("basis", ()))}
        sides = [{Cell(**cell) if isinstance(cell, dict) else cell for cell in side.get("where", ())} if side else set()
                 for side in (old, new)]
        found = self._typed_reasons(ids, sides[0], sides[1], row.get("room", ""))
        decided = _decided(old, new)
        return (*found, *decided) or (_follows(row.get("basis", ())),)

    def _typed_reasons(self, ids: set[str], old_cells: set[Cell], new_cells: set[Cell], room: str) -> tuple[str, ...]:
        """The overrides that name it; else its own cells; else its room's; else the only answer that differs."""
        overrides = [change for change in self._typed if change.of.startswith("Overrides ")
                     and change.of.removeprefix("Overrides ").rpartition(" ")[0] in ids]
        others = [change for change in self._typed if not change.of.startswith("Overrides ")]
        exact = [change for change in others if change.old_cell in old_cells or change.new_cell in new_cells]
        near = exact or [change for change in others if room and change.room == room]
        if not near and not overrides and len(self._typed) == 1:
            near = others
        told = tuple(typed_words(change) for change in (*overrides, *near[:MOST_CELLS]))
        more = len(near) - MOST_CELLS
        if not told:
            return ("follows from the answers that differ" if self._typed else "the tables or the pricing date differ",)
        return (*told, f"and {more} more answers of {room or 'the job'}") if more > 0 else told

    def _price_list(self, old: Row | None, new: Row | None) -> tuple[str, ...]:
        if isinstance(old, PricedMaterial) and isinstance(new, PricedMaterial):
            if (old.unit_price, old.unit_cost) == (new.unit_price, new.unit_cost):
                return ()
            days = [quote.parts[old.part].price_date.isoformat() for quote in (self._old, self._new)]
            dated = f"price of {days[0]}, now of {days[1]}" if days[0] != days[1] else "another unit price or cost"
            return (f"{dated} ({new.price_rule})",)
        if isinstance(old, PricedLabour) and isinstance(new, PricedLabour) and old.hours == new.hours:
            return (f"another rate of {new.role}",)
        return ()


def typed_words(change: TypedChange) -> str:
    """"Rooms KIT, control: keypad, now phone (house.xlsx Rooms!M4)"."""
    if change.field:
        return f"{change.of}, {change.field}: {change.old or 'blank'}, now {change.new or 'blank'} ({change.where})"
    if change.new:
        return f"{change.of} added: {change.new} ({change.where})"
    return f"{change.of} taken out: {change.old} ({change.where})"


def _rules(old: Row | None, new: Row | None) -> str:
    """The rules that only one side has, else those that bring another amount, else all."""
    before, after = (_by_rule(side.because) if side else {} for side in (old, new))
    told = [key for key in dict.fromkeys((*before, *after)) if before.get(key) != after.get(key)]
    keys = told or list(after or before)
    facts: dict[str, list[str]] = {}
    for rule, fact in keys:
        facts.setdefault(rule, []).append(fact)
    return "; ".join(f"rule {rule}{_from(names)}" for rule, names in facts.items())


def _from(facts: list[str]) -> str:
    """" from 103811, 103812, 103821 and 4 more"."""
    named = [fact for fact in facts if fact]
    more = f" and {len(named) - MOST_FACTS} more" if len(named) > MOST_FACTS else ""
    return f" from {', '.join(named[:MOST_FACTS])}{more}" if named else ""


def _by_rule(because: Iterable[Reason]) -> dict[tuple[str, str], Any]:
    return {(reason.rule, reason.fact): reason.amount for reason in because}


def _decided(old: FactRow | None, new: FactRow | None) -> tuple[str, ...]:
    before, after = (set(side.get("decided", ())) if side else set() for side in (old, new))
    other = sorted(after - before if old else after)
    return (f"decided by {', '.join(other[:MOST_RULES])}",) if other else ()


def _follows(basis: Iterable[str]) -> str:
    names = ", ".join(list(basis)[:MOST_RULES])
    return f"follows from {names}" if names else "follows from what else changed"

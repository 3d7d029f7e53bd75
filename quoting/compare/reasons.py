"""Why a row or a fact differs: the override, the cell that was typed differently, the price list, the rule."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any, TypeVar

from quoting.changes import TypedChange
from quoting.compare.trail import FactRow, Trail
from quoting.compare.typed import as_text, field_words
from quoting.lines import Reason
from quoting.quote import PricedLabour, PricedMaterial, PricedOption, Quote

Row = PricedMaterial | PricedLabour
R = TypeVar("R", PricedMaterial, PricedLabour)

MOST_RULES = 3  # named in one reason
MOST_FACTS = 3
MOST_FIELDS = 3
_OF_OTHER_ROWS = ("waste ", "leftover ")  # rules that read no fact: they add a share of the same part's other rows
_SUMS = ("phase_effort", "job_effort")  # facts that are sums of labour rows
_ALL_HOURS = "EFFORT"  # the fact that sums every phase
_AT_LEAST = "follows from the answers that differ"


class Reasons:
    """Finds reasons in what was typed differently and in the rules behind each row."""

    def __init__(
        self, old: Quote, new: Quote, sides: tuple[PricedOption, PricedOption], typed: Iterable[TypedChange]
    ) -> None:
        self._old, self._new = old, new
        typed = tuple(typed)
        self._overrides = [change for change in typed if change.of.startswith("Overrides ")]
        self._others = [change for change in typed if not change.of.startswith("Overrides ") and not change.of_paper]
        self._reads = {**old.rules, **new.rules}
        self._of_parts, self._rows_of = _behind_parts(*sides), _rows_behind_sums(*sides)
        answers = [change for change in typed if not change.of.startswith("Overrides ")]
        self._trail = Trail((old, new), sides, answers, _behind_sums(*sides))

    def of_row(self, old: Row | None, new: Row | None) -> tuple[str, ...]:
        """Sentences for a part's or a task's row; at least one."""
        row = new or old
        assert row is not None
        ids = {row.id, *(reason.fact for side in (old, new) if side for reason in side.because)}
        facts = self._facts_of(old, new)
        ids.update(id for fact in facts for id in self._rows_of.get(fact, ()))
        found = self._typed_reasons(ids, facts) or tuple(self._differing(facts)) or (_AT_LEAST,)
        return (*found, *self._price_list(old, new), _rules(old, new))

    def of_fact(self, old: FactRow | None, new: FactRow | None) -> tuple[str, ...]:
        """Sentences for a fact; at least one."""
        row = old if new is None else new
        assert row is not None
        ids = {row["id"], *(name for side in (old, new) if side for name in side.get("basis", ()))}
        found = self._typed_reasons(ids, {row["id"]: None})
        return (*found, *_decided(old, new)) or (_follows(row.get("basis", ())),)

    def _facts_of(self, old: Row | None, new: Row | None) -> dict[str, tuple[str, ...] | None]:
        """The facts whose rules bring the row another amount, each with the fields that those rules read; every fact
        of the row with all its fields where the amounts are the same and only their hours differ."""
        told, same = _told(old, new)
        row = new or old
        others = self._of_parts.get(row.part, set()) if isinstance(row, PricedMaterial) else set()
        found: dict[str, tuple[str, ...] | None] = {}
        for rule, fact in told:
            if rule.startswith(_OF_OTHER_ROWS):
                found.update(dict.fromkeys(others, None))
            elif same:
                found[fact] = None
            else:
                found[fact] = (*(found.get(fact) or ()), *self._reads.get(rule, ()))
        return found

    def _typed_reasons(
        self, ids: set[str], facts: Mapping[str, tuple[str, ...] | None]
    ) -> tuple[str, ...]:
        """The overrides that name it, and the answers that led to its facts; else the only answer that differs, or
        that the tables do. None where none of these tells: what the pricing date moves is told by the price list."""
        overrides = [change for change in self._overrides
                     if change.of.removeprefix("Overrides ").rpartition(" ")[0] in ids]
        near = list(self._trail.answers(facts))
        computed = [change for change in self._others if change.field != "note"]
        if not near and not overrides and len(computed) == 1 and not self._overrides and self._same_prices:
            near = computed
        if overrides or near:
            return tuple(typed_words(change) for change in (*overrides, *near))
        same_tables = self._old.catalog_fingerprint == self._new.catalog_fingerprint
        return () if same_tables else ("the tables differ",)

    @property
    def _same_prices(self) -> bool:
        """Whether both quotes were made with the same tables, as of the same day."""
        return (self._old.catalog_fingerprint == self._new.catalog_fingerprint
                and self._old.pricing.date == self._new.pricing.date)

    def _differing(self, facts: Mapping[str, tuple[str, ...] | None]) -> Iterator[str]:
        """"rough-in: hours 48.2, now 46.9", for the first fact whose fields tell."""
        for id, reads in facts.items():
            names = [name for name in reads or sorted(self._trail.differing(id)) if name in self._trail.differing(id)]
            old, new = self._trail.sides(id)
            if names and old is not None and new is not None:
                said = ", ".join(f"{field_words(name)} {as_text(old.get(name)) or 'none'}, now "
                                 f"{as_text(new.get(name)) or 'none'}" for name in names[:MOST_FIELDS])
                yield f"{id}: {said}"
                return

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
    facts: dict[str, list[str]] = {}
    for rule, fact in _told(old, new)[0]:
        facts.setdefault(rule, []).append(fact)
    return "; ".join(f"rule {rule}{_from(names)}" for rule, names in facts.items())


def _told(old: Row | None, new: Row | None) -> tuple[list[tuple[str, str]], bool]:
    """Rules with their facts that bring another amount; all of the row's, and yes, where none does."""
    before, after = (_by_rule(side.because) if side else {} for side in (old, new))
    told = [key for key in dict.fromkeys((*before, *after)) if before.get(key) != after.get(key)]
    return told or list(after or before), not told


def _behind_parts(old: PricedOption, new: PricedOption) -> dict[str, set[str]]:
    """The facts that bring each part another amount somewhere: what its waste and its whole packs follow."""
    found: dict[str, set[str]] = {}
    for before, after in _pairs(old.materials, new.materials):
        row = after or before
        assert row is not None
        its = {fact for rule, fact in _differing_reasons(before, after) if not rule.startswith(_OF_OTHER_ROWS)}
        found.setdefault(row.part, set()).update(its)
    return found


def _behind_sums(old: PricedOption, new: PricedOption) -> dict[str, set[str]]:
    """The facts that bring other hours to each phase, by the id of the fact that sums them."""
    effort = {row["id"] for option in (old, new) for kind in _SUMS for row in option.facts.get(kind, ())}
    found: dict[str, set[str]] = {}
    for sum_id, before, after in _summed(old, new):
        its = {fact for _, fact in _differing_reasons(before, after)} - effort
        if its:
            found.setdefault(sum_id, set()).update(its)
    return found


def _rows_behind_sums(old: PricedOption, new: PricedOption) -> dict[str, set[str]]:
    """The labour rows whose hours differ, by the id of the fact that sums them, or all of them."""
    found: dict[str, set[str]] = {}
    for sum_id, before, after in _summed(old, new):
        if before is None or after is None or before.hours != after.hours:
            row = after or before
            assert row is not None
            for id in (sum_id, _ALL_HOURS):
                found.setdefault(id, set()).add(row.id)
    return found


def _summed(
    old: PricedOption, new: PricedOption
) -> Iterator[tuple[str, PricedLabour | None, PricedLabour | None]]:
    """Every labour row of both sides, with the id of the fact that sums its phase."""
    sums = {row["phase"]: row["id"] for option in (old, new) for row in option.facts.get("phase_effort", ())}
    for before, after in _pairs(old.labour, new.labour):
        row = after or before
        if row is not None and row.phase in sums:
            yield sums[row.phase], before, after


def _pairs(old: Iterable[R], new: Iterable[R]) -> Iterator[tuple[R | None, R | None]]:
    was: dict[str, R] = {row.id: row for row in old}
    now: dict[str, R] = {row.id: row for row in new}
    for id in dict.fromkeys((*was, *now)):
        yield was.get(id), now.get(id)


def _differing_reasons(old: Row | None, new: Row | None) -> list[tuple[str, str]]:
    told, same = _told(old, new)
    return [] if same else told


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

"""The rule sheets as records: a rule, a labour factor, and how those of one fact kind are matched."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal
from operator import attrgetter
from pathlib import Path
from typing import Any, Literal

from msgspec import Struct

from quoting.lines import Phase
from quoting.problems import Cell
from quoting.rules.quantities import Quantity
from quoting.tables.conditions import Condition, Test

Adds = Literal["part", "task", "role", "statement", "field"]


class Rule(Struct, frozen=True, kw_only=True):
    """A row of rules/<kind>.csv. `add` is a name of the sort that `adds` says, or for "field" a field of the fact."""

    id: str
    kind: str
    conditions: Mapping[str, Condition]
    adds: Adds
    add: str
    quantity: Quantity
    phase: Phase | None  # None: the fact's own phase, or a statement, which has none
    note: str
    reference: str
    where: Cell

    @property
    def reads(self) -> tuple[str, ...]:
        """The fields of its fact that decide whether it adds something, what, and how much."""
        tested = (name for name, condition in self.conditions.items() if not condition.any)
        return tuple(dict.fromkeys((*tested, *self.quantity.fields, *((self.add,) if self.adds == "field" else ()))))


class FactorRow(Struct, frozen=True, kw_only=True):
    """A row of factors.csv. `classes` are the labour classes that it multiplies; () for any."""

    row: str
    factor: str
    classes: tuple[str, ...]
    conditions: Mapping[str, Condition]
    multiplier: Decimal
    where: Cell


class Case(Struct, frozen=True, kw_only=True):
    """A row of cases.csv: a fact of one kind in one option, and what the rules must give for it."""

    name: str
    kind: str
    option: str
    fields: Mapping[str, Any]
    gives: tuple[tuple[str, Decimal], ...]  # part or task, quantity
    rules: tuple[str, ...]  # ids that must fire
    where: Cell
    gives_cell: Cell


class Matcher:
    """The rules of one fact kind. Facts with the same tested values match the same rules, which is remembered."""

    __slots__ = ("_rules", "_seen", "_values")

    def __init__(self, rules: tuple[Rule, ...]) -> None:
        tested = tuple(dict.fromkeys(
            name for rule in rules for name, condition in rule.conditions.items() if not condition.any
        ))
        at = {name: index for index, name in enumerate(tested)}
        self._rules = tuple((_tests(rule.conditions, at), rule) for rule in rules)
        self._values = values_of(tested)
        self._seen: dict[tuple[object, ...], tuple[Rule, ...]] = {}

    def matching(self, fact: object) -> tuple[Rule, ...]:
        """The rules that the fact matches, in the order of the sheet."""
        values = self._values(fact)
        found = self._seen.get(values)
        if found is None:
            found = self._seen[values] = tuple(
                rule for tests, rule in self._rules if all(test(values[index]) for index, test in tests)
            )
        return found


def _tests(conditions: Mapping[str, Condition], at: Mapping[str, int]) -> tuple[tuple[int, Test], ...]:
    return tuple((at[name], condition.test) for name, condition in conditions.items() if not condition.any)


def values_of(names: tuple[str, ...]) -> Callable[[object], tuple[object, ...]]:
    """A function that takes so many fields of a record, as a tuple whatever their number."""
    if not names:
        return lambda _: ()
    get = attrgetter(*names)
    return get if len(names) > 1 else lambda record: (get(record),)


class RuleBook(Struct, frozen=True):
    """Every rule and factor of a catalogue. `folder` is where its cases stand; a quote has no use for them."""

    rules: tuple[Rule, ...]
    factors: tuple[FactorRow, ...]
    folder: Path | None
    matchers: Mapping[str, Matcher]

    def of_kind(self, kind: str) -> tuple[Rule, ...]:
        """The rules of one fact kind, in the order of the sheet."""
        return tuple(rule for rule in self.rules if rule.kind == kind)


def make_book(
    rules: tuple[Rule, ...], factors: tuple[FactorRow, ...] = (), folder: Path | None = None
) -> RuleBook:
    """A book of these rules, ready to match."""
    kinds = dict.fromkeys(rule.kind for rule in rules)
    matchers = {kind: Matcher(tuple(rule for rule in rules if rule.kind == kind)) for kind in kinds}
    return RuleBook(rules, factors, folder, matchers)

"""Facts meet the rules: every row that matches adds its line."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Protocol, TypeVar

from quoting.catalog.records import Catalog, Part, UnitHours
from quoting.facts import FACT_KINDS, Fact
from quoting.job import WallState
from quoting.lines import PHASES, Factor, LabourLine, Line, MaterialLine, Phase, Reason, StatementLine
from quoting.money import ONE, ZERO
from quoting.problems import Cell, Problem, in_order, stop
from quoting.rules.book import FactorRow, Rule, RuleBook, values_of
from quoting.rules.quantities import DIMENSIONS
from quoting.units import SALE_UNITS, to_quantity

T = TypeVar("T")


def apply_rules(
    facts: Sequence[Fact], book: RuleBook, catalog: Catalog, option: str, gauge_system: str, job_wall_state: WallState
) -> tuple[tuple[Line, ...], tuple[Problem, ...]]:
    """The lines that an option's facts bring, fact by fact and then in the order of the sheets.

    `job_wall_state` stands for a fact that has no wall state of its own. A line that cannot be made is a stop that
    names rule and fact, never a missing line.
    """
    rules = _Rules(book, catalog, option, gauge_system, job_wall_state)
    for fact in facts:
        matcher = book.matchers.get(rules.kinds[type(fact)])
        for rule in matcher.matching(fact) if matcher else ():
            rules.add(rule, fact)
    return tuple(rules.lines), in_order(rules.problems)


@dataclass(slots=True)
class _Rules:
    """One application: what it looks things up in, and what it has made so far."""

    book: RuleBook
    catalog: Catalog
    option: str
    gauge_system: str
    job_wall_state: WallState
    kinds: dict[type, str] = field(default_factory=lambda: {cls: kind for kind, cls in FACT_KINDS.items()})
    lines: list[Line] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    factors: dict[tuple[type, str], Callable[[Fact], tuple[Factor, ...]]] = field(default_factory=dict)

    def add(self, rule: Rule, fact: Fact) -> None:
        """The line that a matching rule adds for a fact, or a stop; no line for an amount of 0."""
        value = rule.quantity.amount(fact)
        if isinstance(value, str):
            self.refuse(rule, fact, "no-quantity", f"the quantity '{rule.quantity.text}' {value}",
                        "Change the quantity, or give the rule a condition that keeps this fact out.")
        elif value < ZERO:
            self.refuse(rule, fact, "negative-quantity", f"the quantity '{rule.quantity.text}' comes to '{value}'",
                        "Write max(0, ...) around it.")
        elif value == ZERO:
            return
        elif rule.adds == "statement":
            self.lines.append(StatementLine(statement=rule.add, because=_reason(rule, fact, ONE)))
        elif rule.adds == "task":
            self.add_labour(rule, fact, value)
        else:
            self.add_material(rule, fact, value)

    def add_material(self, rule: Rule, fact: Fact, value: Decimal) -> None:
        part = self.part_of(rule, fact)
        if part is None:
            return
        if DIMENSIONS[SALE_UNITS[part.unit][0]] != rule.quantity.dimension:
            self.refuse(rule, fact, "wrong-dimension",
                        f"'{rule.quantity.text or '1'}' is no amount of '{part.part}', which is sold by '{part.unit}'",
                        "Change the quantity, or name another part.")
            return
        quantity = to_quantity(value, part.unit)
        if quantity:
            self.lines.append(MaterialLine(
                part=part.part, quantity=quantity, room=fact.room, zone=fact.zone, phase=_phase(rule, fact),
                because=_reason(rule, fact, quantity)))

    def part_of(self, rule: Rule, fact: Fact) -> Part | None:
        """The part that a rule means for a fact; None, with a stop, where there is none."""
        name = rule.add
        if rule.adds == "role":
            chosen = self.catalog.parts_for(name, self.option, self.gauge_system)
            if not chosen:
                self.refuse(rule, fact, "no-part-for-role", f"role '{name}' has no part in option '{self.option}'",
                            "Name a part for it in options.csv, or give the rule a condition that keeps this fact out.")
                return None
            name = chosen[0]
        elif rule.adds == "field":
            name = getattr(fact, rule.add)
            if not name:
                self.refuse(rule, fact, "no-part-in-field", f"its field '{rule.add}' names no part",
                            f"Name the part where it comes from, or add the condition 'not none' on {rule.add}.")
                return None
        part = self.catalog.parts.get(name)
        if part is None:
            self.refuse(rule, fact, "unknown-part", f"'{name}' is no part of parts.csv", "Add it there.")
        return part

    def add_labour(self, rule: Rule, fact: Fact, value: Decimal) -> None:
        state: WallState = getattr(fact, "wall_state", self.job_wall_state)
        task = self.catalog.tasks[rule.add]
        one = self.catalog.hours.get((rule.add, state))
        if one is None:
            self.refuse(rule, fact, "no-hours", f"task '{rule.add}' has no hours for wall state '{state}'",
                        "Add a row for it to labour.csv.")
            return
        units = to_quantity(value, task.unit)
        if not units:
            return
        factors = self.factors_for(fact, task.labour_class)
        low, likely, high = _hours(one, units * _product(factors))
        self.lines.append(LabourLine(
            task=rule.add, units=units, room=fact.room, zone=fact.zone, phase=_phase(rule, fact), wall_state=state,
            low=low, likely=likely, high=high, factors=factors, because=_reason(rule, fact, units)))

    def factors_for(self, fact: Fact, labour_class: str) -> tuple[Factor, ...]:
        """The factors that a fact's conditions bring to tasks of a class."""
        key = (type(fact), labour_class)
        if key not in self.factors:
            self.factors[key] = _factor_finder(self.book.factors, *key, self.catalog.firm.factor_cap)
        return self.factors[key](fact)

    def refuse(self, rule: Rule, fact: Fact, code: str, what: str, remedy: str) -> None:
        """A stop at the rule that names the fact and the cell it rests on."""
        typed = f" ({fact.where[0]})" if fact.where else ""
        kind = self.kinds[type(fact)]
        self.problems.append(stop(rule.where, code, f"Rule '{rule.id}' for {kind} '{fact.id}'{typed}: {what}.", remedy))


def _reason(rule: Rule, fact: Fact, amount: Decimal) -> Reason:
    return Reason(rule.id, rule.where, fact.id, fact.where, amount)


class _HasPhase(Protocol):
    phase: Phase


def _phase(rule: Rule, fact: Fact | _HasPhase) -> Phase:
    """The rule's phase; where its cell is empty, the fact's own."""
    if rule.phase is not None:
        return rule.phase
    own: str = getattr(fact, "phase", "whole job")
    return next((phase for phase in PHASES if phase == own), "whole job")


def _hours(one: UnitHours, units: Decimal) -> tuple[Decimal, Decimal, Decimal]:
    return one.low * units, one.likely * units, one.high * units


def _product(factors: Sequence[Factor]) -> Decimal:
    """What the factors come to. The cap, where there is one, stands last and is the product."""
    product = ONE
    for factor in factors:
        product = factor.multiplier if factor.name == CAP else product * factor.multiplier
    return product


CAP = "cap"
_CAP_ROW = Cell("firm.csv")


def _factor_finder(
    rows: tuple[FactorRow, ...], cls: type[Fact], labour_class: str, cap: Decimal
) -> Callable[[Fact], tuple[Factor, ...]]:
    """The factors of one labour class for facts of one type, by the values that their conditions test.

    A row that tests a field which the fact lacks does not apply.
    """
    fields = frozenset(cls.__struct_fields__)
    usable = tuple(
        row for row in rows
        if (not row.classes or labour_class in row.classes) and fields.issuperset(row.conditions)
    )
    tested = tuple(dict.fromkeys(name for row in usable for name in row.conditions))
    at = {name: index for index, name in enumerate(tested)}
    tests = tuple((tuple((at[name], asks.test) for name, asks in row.conditions.items()), row) for row in usable)
    values_from = values_of(tested)
    seen: dict[tuple[object, ...], tuple[Factor, ...]] = {}

    def find(fact: Fact) -> tuple[Factor, ...]:
        values = values_from(fact)
        found = seen.get(values)
        if found is None:
            found = tuple(
                Factor(row.factor, row.multiplier, row.row)
                for asked, row in tests if all(test(values[index]) for index, test in asked)
            )
            if _product(found) > cap:
                found = (*found, Factor(CAP, cap, _CAP_ROW.file))
            seen[values] = found
        return found

    return find

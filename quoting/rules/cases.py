"""cases.csv: a sentence, a fact, what the rules must give for it; read, run and compared.

`gives` lists parts, tasks and roles with amounts, and statements: then the fact gives these and nothing else. Where it
also names rules (`rule SPK-010`), these must fire, the amounts listed must agree, and other lines may be there.
"nothing" is no line at all.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any

from msgspec.structs import fields

from quoting.catalog.cells import Wrong
from quoting.catalog.records import Catalog
from quoting.catalog.rows import FieldReader, Row, TableFile, field_readers, read_table
from quoting.facts import FACT_KINDS, Fact
from quoting.job import WallState
from quoting.lines import LabourLine, Line, MaterialLine
from quoting.money import ONE, ZERO
from quoting.problems import Problem, has_stop, stop
from quoting.rules.apply import apply_rules
from quoting.rules.book import Case, Rule, RuleBook
from quoting.tables.headings import match_heading

COLUMNS = ("case", "kind", "option", "fields", "gives", "note")
GAUGE_SYSTEM = "AWG"  # cases speak of the parts of this system
_AMOUNT = re.compile(r"(.+?)\s+x\s+(\d{1,9}(?:\.\d{1,9})?)$", re.ASCII)


def read_cases(book: RuleBook, catalog: Catalog, problems: list[Problem]) -> tuple[Case, ...]:
    """The cases of a catalogue; a row with a wrong cell is left out and told of."""
    if book.folder is None:
        return ()
    rule_ids = frozenset(rule.id for rule in book.rules)
    table = read_table(book.folder, "cases.csv", COLUMNS, ("option", "note"), problems)
    made: list[Case] = []
    for row in table.rows:
        before = len(problems)
        for name in ("case", "kind", "gives"):
            if not row[name]:
                problems.append(stop(table.cell(row, name), "missing-value", f"'{name}' is empty.", "Type it."))
        if row["kind"] and row["kind"] not in FACT_KINDS:
            problems.append(stop(table.cell(row, "kind"), "unknown-fact-kind",
                                 f"'{row['kind']}' is no kind of fact; they are {', '.join(FACT_KINDS)}.",
                                 "Correct the kind."))
        if row["option"] and row["option"] not in catalog.options:
            problems.append(stop(table.cell(row, "option"), "unknown-option",
                                 f"'{row['option']}' is no option; they are {', '.join(catalog.options)}.",
                                 "Correct the option."))
        gives, rules = _read_gives(table, row, catalog, rule_ids, problems)
        given = _read_fields(table, row, problems)
        if len(problems) == before:
            made.append(Case(name=row["case"], kind=row["kind"], option=row["option"] or catalog.options[-1],
                             fields=given, gives=gives, rules=rules, where=table.cell(row, "case"),
                             gives_cell=table.cell(row, "gives")))
    return tuple(made)


def _items(text: str) -> Iterator[str]:
    return (item.strip() for item in text.split(";") if item.strip())


def _read_gives(
    table: TableFile, row: Row, catalog: Catalog, rule_ids: frozenset[str], problems: list[Problem]
) -> tuple[tuple[tuple[str, Decimal], ...], tuple[str, ...]]:
    gives: list[tuple[str, Decimal]] = []
    rules: list[str] = []
    where = table.cell(row, "gives")
    roles = {role for role, _ in catalog.roles}
    for item in _items(row["gives"]) if row["gives"] != "nothing" else ():
        if item.startswith("rule "):
            rules.append(item.removeprefix("rule ").strip())
            if rules[-1] not in rule_ids:
                problems.append(stop(where, "unknown-rule", f"'{rules[-1]}' is the id of no rule.", "Correct the id."))
            continue
        found = _AMOUNT.match(item)
        name, amount = (found.group(1), Decimal(found.group(2))) if found else (item, ONE)
        if name not in catalog.statements and not found:
            problems.append(stop(where, "not-an-amount", f"'{item}' does not say how many.",
                                 "Type it as 'PART x 2', 'task x 1', 'rule SPK-010' or 'nothing'."))
        elif not any(name in known for known in (catalog.parts, catalog.tasks, catalog.statements, roles)):
            problems.append(stop(where, "unknown-add", f"'{name}' is no part, task, role or statement.",
                                 "Correct the name."))
        gives.append((name, amount))
    return tuple(gives), tuple(rules)


# The fact -------------------------------------------------------------------------------------------------------

def _read_fields(table: TableFile, row: Row, problems: list[Problem]) -> dict[str, Any]:
    """The fields that a case sets, typed."""
    cls = FACT_KINDS.get(row["kind"])
    readers = {reader.name: reader for reader in field_readers(cls)} if cls else {}
    given: dict[str, Any] = {}
    for item in _items(row["fields"]) if cls else ():
        name, equals, text = (piece.strip() for piece in item.partition("="))
        match = match_heading(name, readers)
        where = table.cell(row, "fields")
        if not equals or match is None:
            problems.append(stop(where, "unknown-field",
                                 f"'{item}' is not a field of {row['kind']} and its value; the fields are "
                                 f"{', '.join(readers)}.", "Type it as 'mount=ceiling; wall_state=open'."))
            continue
        value = readers[match[0]].read(text, match[1])
        if isinstance(value, Wrong):
            problems.append(stop(where, value.code, f"{match[0]}: {value.message}", value.remedy))
        given[match[0]] = value
    return given


def make_fact(kind: str, given: Mapping[str, Any]) -> Fact:
    """A fact of a kind with these fields; the others are neutral: empty, 0, no, the first choice."""
    cls = FACT_KINDS[kind]
    readers = {reader.name: reader for reader in field_readers(cls)}
    neutral = {
        field.name: _neutral(readers[field.name]) for field in fields(cls)
        if field.name in readers and field.required
    }
    return cls(**{**neutral, "id": "CASE", **given})


def _neutral(reader: FieldReader) -> Any:
    """A field's neutral value, by its type."""
    if reader.choices:
        return reader.choices[0]
    return reader.empty if reader.empty_ok else reader.read("0", 1.0)


# The run --------------------------------------------------------------------------------------------------------

def run_cases(book: RuleBook, catalog: Catalog) -> tuple[Problem, ...]:
    """Cases that do not give what they say, and rules that no case matches or none misses."""
    problems: list[Problem] = []
    matched: dict[str, set[str]] = {}  # rule -> cases
    by_kind: dict[str, set[str]] = {}
    for case in read_cases(book, catalog, problems):
        fact = make_fact(case.kind, case.fields)
        by_kind.setdefault(case.kind, set()).add(case.name)
        matcher = book.matchers.get(case.kind)
        for rule in matcher.matching(fact) if matcher else ():
            matched.setdefault(rule.id, set()).add(case.name)
        problems.extend(_compare(case, fact, book, catalog))
    for rule in book.rules:
        problems.extend(_untried(rule, matched.get(rule.id, set()), by_kind.get(rule.kind, set())))
    return tuple(problems)


def _compare(case: Case, fact: Fact, book: RuleBook, catalog: Catalog) -> Iterator[Problem]:
    state: WallState = getattr(fact, "wall_state", "open")
    lines, problems = apply_rules([fact], book, catalog, case.option, GAUGE_SYSTEM, state)
    if has_stop(problems):
        yield stop(case.gives_cell, "case-stops", f"Case '{case.name}' ends in a stop: {problems[0].message}",
                   "Set the field that the rule needs, or correct the rule.")
        return
    wanted: dict[str, Decimal] = {}
    for name, amount in case.gives:
        part = catalog.parts_for(name, case.option, GAUGE_SYSTEM)
        name = part[0] if part else name
        wanted[name] = wanted.get(name, ZERO) + amount
    given = _totals(lines)
    fired = {line.because.rule for line in lines}
    names = wanted if case.rules else {**wanted, **given}
    wrong = [name for name in names if given.get(name, ZERO) != wanted.get(name, ZERO)]
    if wrong:
        yield stop(case.gives_cell, "case-differs",
                   f"Case '{case.name}' gives {_say(given, wrong)}, and should give {_say(wanted, wrong)}.",
                   "Correct the rule, or the case.")
    silent = [rule for rule in case.rules if rule not in fired]
    if silent:
        yield stop(case.gives_cell, "case-differs", f"In case '{case.name}' rule {', '.join(silent)} adds no line.",
                   "Correct the rule, or the case.")


def _totals(lines: Iterable[Line]) -> dict[str, Decimal]:
    totals: dict[str, Decimal] = {}
    for line in lines:
        if isinstance(line, MaterialLine):
            name, amount = line.part, line.quantity
        elif isinstance(line, LabourLine):
            name, amount = line.task, line.units
        else:
            name, amount = line.statement, ZERO if line.statement in totals else ONE
        totals[name] = totals.get(name, ZERO) + amount
    return totals


def _say(amounts: Mapping[str, Decimal], names: Iterable[str]) -> str:
    return ", ".join(f"'{name} x {amounts.get(name, ZERO).normalize():f}'" for name in names)


def _untried(rule: Rule, matched: set[str], cases: set[str]) -> Iterator[Problem]:
    if not matched:
        yield stop(rule.where, "case-missing", f"No case matches rule '{rule.id}'.",
                   "Add a row to cases.csv whose fact it matches.")
    elif rule.conditions and matched == cases:
        yield stop(rule.where, "case-missing", f"Every case of {rule.kind} matches rule '{rule.id}'.",
                   "Add a row to cases.csv whose fact it does not match.")

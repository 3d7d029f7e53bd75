"""`rules check`: what reading cannot see in rules and standards, and the cases."""

from __future__ import annotations

from collections.abc import Iterator

from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.problems import Problem, in_order, stop, warning
from quoting.rules.book import RuleBook
from quoting.rules.cases import run_cases
from quoting.tables.conditions import FieldKind
from quoting.tables.decision import Table
from quoting.tables.review import never_matches, review

_SPEC_PARTS = (("speakers", ("bracket", "back_box", "rated_box")), ("keypads", ("plate",)))


def check_rules(book: RuleBook, catalog: Catalog) -> tuple[Problem, ...]:
    """Overlaps and gaps in standards; rules that can never match; parts, tasks and statements that nothing reaches;
    parts whose fitting no labour rule covers; cases that fail or are missing."""
    return in_order((
        *(problem for table in _tables(catalog) for problem in review(table)),
        *_dead_rules(book), *_unreached(book, catalog), *_uncovered(book, catalog), *run_cases(book, catalog),
    ))


def _tables(catalog: Catalog) -> Iterator[Table]:
    """The standards, asked for every option and category that the catalogue has and for no other."""
    known: dict[str, FieldKind] = {
        "option": catalog.options,
        "category": tuple(dict.fromkeys(part.category for part in catalog.parts.values())),
    }
    for table in catalog.standards.tables.values():
        inputs = {name: known.get(name) or kind for name, kind in table.question.inputs.items()}
        yield replace(table, question=replace(table.question, inputs=inputs))


def _dead_rules(book: RuleBook) -> Iterator[Problem]:
    rows = [(rule.id, rule.conditions, rule.where) for rule in book.rules]
    rows += [(factor.row, factor.conditions, factor.where) for factor in book.factors]
    for name, conditions, where in rows:
        for column, condition in conditions.items():
            if never_matches(condition):
                yield stop(where, "never-matches",
                           f"Rule '{name}' can never match: no {column} is '{condition.text}'.",
                           "Correct the condition, or remove the row.")


def _role_parts(catalog: Catalog) -> dict[str, set[str]]:
    """Each role with every part that some option uses for it."""
    parts: dict[str, set[str]] = {}
    for row in catalog.roles.values():
        parts.setdefault(row.role, set()).update(part for chosen in row.parts.values() for part in chosen)
    return parts


def _spec_parts(catalog: Catalog) -> set[str]:
    """Parts that belong to another part: facts carry them to `add_from`."""
    return {
        getattr(spec, field)
        for sheet, fields in _SPEC_PARTS for spec in getattr(catalog, sheet).values() for field in fields
    }


def _unreached(book: RuleBook, catalog: Catalog) -> Iterator[Problem]:
    added = {rule.add for rule in book.rules}
    reached = added | _spec_parts(catalog) | {part for parts in _role_parts(catalog).values() for part in parts}
    for name, part in catalog.parts.items():
        if name not in reached and not part.discontinued:
            yield warning(part.where, "unused-part", f"No rule, role or other part names part '{name}'.",
                          "Add a rule for it, or leave it for orders by number.")
    for name, task in catalog.tasks.items():
        if name not in added:
            yield warning(task.where, "unused-task", f"No rule adds task '{name}'.", "Add a rule for it, or remove it.")
    for name, text in catalog.statements.items():
        if name not in added:
            yield warning(text.where, "unused-statement", f"No rule says '{name}'.",
                          "Add a rule for it, or leave it for the documents that print it always.")


def _uncovered(book: RuleBook, catalog: Catalog) -> Iterator[Problem]:
    """Parts that somebody must fit, added for a kind of fact for which no rule adds a task of their labour class.

    A part that a rule names, itself or by its role, must be covered in every fact kind that adds it. A part that
    comes out of a fact's field must be covered in one of the kinds that add parts from fields: which one carries
    it is known to engineering alone. Conditions are not compared: the cases show whether the two rules meet.
    """
    covered: dict[str, set[str]] = {}  # kind -> labour classes of the tasks that its rules add
    kinds: dict[str, set[str]] = {}  # part -> kinds that add it by name or role
    from_fields = {rule.kind for rule in book.rules if rule.adds == "field"}
    roles = _role_parts(catalog)
    for rule in book.rules:
        if rule.adds == "task":
            covered.setdefault(rule.kind, set()).add(catalog.tasks[rule.add].labour_class)
        for part in roles.get(rule.add, {rule.add}) if rule.adds in ("part", "role") else ():
            kinds.setdefault(part, set()).add(rule.kind)
    for name, record in catalog.parts.items():
        wanted = record.labour_class
        if wanted == "none":
            continue
        bare = [kind for kind in sorted(kinds.get(name, ())) if wanted not in covered.get(kind, ())]
        if name not in kinds and from_fields and not any(wanted in covered.get(kind, ()) for kind in from_fields):
            bare = sorted(from_fields)
        if bare:
            yield stop(record.where, "no-labour", f"Part '{name}' wants {wanted}, and no rule of {', '.join(bare)} "
                                                  f"adds a task of class '{wanted}'.",
                       "Add a labour rule there, or give the part labour class none.")

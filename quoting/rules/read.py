"""rules/<fact kind>.csv and factors.csv become a rule book, every cell checked against facts and catalogue."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path

from quoting.catalog.cells import Wrong, read_amount
from quoting.catalog.records import Catalog
from quoting.catalog.rows import Row, TableFile, read_table
from quoting.facts import FACT_KINDS
from quoting.lines import PHASES, Phase
from quoting.problems import Cell, Problem, in_order, stop
from quoting.rules.book import Adds, FactorRow, Rule, RuleBook, make_book
from quoting.rules.quantities import Quantity, parse_quantity
from quoting.tables.conditions import Condition, FieldKind, parse_condition
from quoting.tables.headings import field_kinds
from quoting.units import SALE_UNITS

__all__ = ["RuleBook", "condition_fields", "read_conditions", "read_rules"]

OWN_COLUMNS = ("rule", "add", "add_from", "quantity", "phase", "note", "reference")
FACTOR_COLUMNS = ("row", "factor", "labour_class", "multiplier", "reference", "note")


def read_rules(folder: Path, catalog: Catalog) -> tuple[RuleBook, tuple[Problem, ...]]:
    """The rule book of a catalogue's folder. A row with a wrong cell is left out and told of."""
    problems: list[Problem] = []
    rules: list[Rule] = []
    seen: dict[str, Cell] = {}
    for path in sorted((folder / "rules").glob("*.csv")):
        if path.stem not in FACT_KINDS:
            problems.append(stop(Cell(f"rules/{path.name}"), "unknown-fact-kind",
                                 f"'{path.stem}' is no kind of fact; they are {', '.join(FACT_KINDS)}.",
                                 "Rename the sheet, or remove it."))
            continue
        rules.extend(_read_sheet(folder, path.stem, catalog, seen, problems))
    factors = _read_factors(folder, catalog, problems)
    return make_book(tuple(rules), factors, folder), in_order(problems)


def _read_sheet(
    folder: Path, kind: str, catalog: Catalog, seen: dict[str, Cell], problems: list[Problem]
) -> Iterable[Rule]:
    kinds = field_kinds(FACT_KINDS[kind])
    tested = {name: its for name, its in kinds.items() if name not in OWN_COLUMNS}
    names = (*OWN_COLUMNS, *tested)
    table = read_table(folder, f"rules/{kind}.csv", names, set(names) - {"rule", "add", "phase"}, problems)
    for row in table.rows:
        before = len(problems)
        _check_id(table, row, "rule", seen, problems)
        conditions = read_conditions(table, row, tested, problems)
        adds, add, unit = _read_add(table, row, kinds, catalog, problems)
        quantity = _read_quantity(table, row, kinds, adds, unit, problems)
        phase = _read_phase(table, row, kinds, adds, problems)
        if len(problems) == before and adds is not None and quantity is not None:
            yield Rule(id=row["rule"], kind=kind, conditions=conditions, adds=adds, add=add, quantity=quantity,
                       phase=phase, note=row["note"], reference=row["reference"], where=table.cell(row, "rule"))


def _check_id(table: TableFile, row: Row, column: str, seen: dict[str, Cell], problems: list[Problem]) -> None:
    name, where = row[column], table.cell(row, column)
    if not name:
        problems.append(stop(where, "missing-value", "The row has no id.", "Type one, such as SPK-010."))
    elif name in seen:
        problems.append(stop(where, "id-twice", f"'{name}' is already at {seen[name]}.", "Type another id."))
    seen.setdefault(name, where)


def read_conditions(
    table: TableFile, row: Row, kinds: Mapping[str, FieldKind], problems: list[Problem]
) -> dict[str, Condition]:
    """The row's condition cells that are not `any`."""
    conditions: dict[str, Condition] = {}
    for name, text in row.cells.items():
        if name not in kinds or text == "-":
            continue
        number = table.number(text) if kinds[name] == "number" else text
        condition = parse_condition(number, kinds[name], table.columns[name].factor)
        if isinstance(condition, str):
            problems.append(stop(table.cell(row, name), "not-a-condition", f"{condition}.", "Correct the condition."))
        elif not condition.any:
            conditions[name] = condition
    return conditions


def _read_add(
    table: TableFile, row: Row, kinds: Mapping[str, FieldKind], catalog: Catalog, problems: list[Problem]
) -> tuple[Adds | None, str, str | None]:
    """What a row adds: its sort, its name, and the dimension that its quantity must have (None: any)."""
    add, source = row["add"], row["add_from"]
    if bool(add) == bool(source):
        problems.append(stop(table.cell(row, "add"), "add-one",
                             f"'add' holds '{add}' and 'add_from' holds '{source}'; a rule fills exactly one of them.",
                             "Name a part, task, role or statement in add, or a field in add_from."))
        return None, "", None
    if source:
        if kinds.get(source) != "text":
            texts = (name for name, kind in kinds.items() if kind == "text")
            problems.append(stop(table.cell(row, "add_from"), "unknown-field",
                                 f"'{source}' is no field of this fact that can name a part; those are "
                                 f"{', '.join(texts)}.", "Correct the field's name."))
        return "field", source, None
    found = _resolve(add, catalog)
    if found is None:
        problems.append(stop(table.cell(row, "add"), "unknown-add",
                             f"'{add}' is no part, task, role or statement of the catalogue.",
                             "Correct the name, or add it to parts.csv, labour.csv, options.csv or statements.csv."))
        return None, add, None
    adds, units = found
    if len(units) > 1:
        problems.append(stop(table.cell(row, "add"), "role-units-differ",
                             f"Role '{add}' has parts that are counted and parts that are measured.",
                             "Give the role parts of one sort in options.csv."))
    return adds, add, next(iter(units), None)


def _resolve(add: str, catalog: Catalog) -> tuple[Adds, frozenset[str]] | None:
    """The sort of a name, and the dimensions of what it stands for."""
    if add in catalog.parts:
        return "part", frozenset({SALE_UNITS[catalog.parts[add].unit][0]})
    if add in catalog.tasks:
        return "task", frozenset({SALE_UNITS[catalog.tasks[add].unit][0]})
    if add in catalog.statements:
        return "statement", frozenset({""})
    rows = [row for (role, _), row in catalog.roles.items() if role == add]
    if not rows:
        return None
    parts = {part for row in rows for chosen in row.parts.values() for part in chosen if part in catalog.parts}
    return "role", frozenset(SALE_UNITS[catalog.parts[part].unit][0] for part in parts)


def _read_quantity(
    table: TableFile, row: Row, kinds: Mapping[str, FieldKind], adds: Adds | None, unit: str | None,
    problems: list[Problem],
) -> Quantity | None:
    if adds is None:
        unit = None  # the dimension is unknown; the arithmetic is still checked
    quantity = parse_quantity(table.number(row["quantity"]), kinds, unit)
    if isinstance(quantity, str):
        problems.append(stop(table.cell(row, "quantity"), "not-a-quantity", f"{quantity[0].upper()}{quantity[1:]}.",
                             "Correct the quantity."))
        return None
    return quantity


def _read_phase(
    table: TableFile, row: Row, kinds: Mapping[str, FieldKind], adds: Adds | None, problems: list[Problem]
) -> Phase | None:
    """The line's phase. Empty where the fact has a phase of its own, and for a statement."""
    text = row["phase"]
    if not text and (adds == "statement" or "phase" in kinds):
        return None
    for phase in PHASES:
        if phase == text.lower():
            return phase
    if "phase" in table.columns:
        problems.append(stop(table.cell(row, "phase"), "unknown-phase", f"'{text}' is not one of {', '.join(PHASES)}.",
                             "Type one of them."))
    return None


# factors.csv ------------------------------------------------------------------------------------------------------

def condition_fields() -> dict[str, FieldKind]:
    """What a factor may test: the fields of all facts. A field that kinds type differently is tested as words."""
    merged: dict[str, FieldKind] = {}
    for cls in FACT_KINDS.values():
        for name, kind in field_kinds(cls).items():
            merged[name] = kind if merged.get(name, kind) == kind else "text"
    return merged


def _read_factors(folder: Path, catalog: Catalog, problems: list[Problem]) -> tuple[FactorRow, ...]:
    kinds = {name: kind for name, kind in condition_fields().items() if name not in FACTOR_COLUMNS}
    names = (*FACTOR_COLUMNS, *kinds)
    required = {"row", "factor", "labour_class", "multiplier"}
    table = read_table(folder, "factors.csv", names, set(names) - required, problems)
    seen: dict[str, Cell] = {}
    made: list[FactorRow] = []
    for row in table.rows:
        before = len(problems)
        _check_id(table, row, "row", seen, problems)
        classes = _read_classes(table, row, catalog, problems)
        conditions = read_conditions(table, row, kinds, problems)
        multiplier = read_amount(table.number(row["multiplier"]))
        if isinstance(multiplier, Wrong):
            problems.append(stop(table.cell(row, "multiplier"), multiplier.code, multiplier.message, multiplier.remedy))
        elif len(problems) == before:
            made.append(FactorRow(row=row["row"], factor=row["factor"] or row["row"], classes=classes,
                                  conditions=conditions, multiplier=multiplier, where=table.cell(row, "row")))
    return tuple(made)


def _read_classes(table: TableFile, row: Row, catalog: Catalog, problems: list[Problem]) -> tuple[str, ...]:
    text = row["labour_class"]
    if text in ("", "-"):
        return ()
    known = sorted({task.labour_class for task in catalog.tasks.values()})
    classes = tuple(item.strip() for item in text.split(","))
    strange = [item for item in classes if item not in known]
    if strange:
        problems.append(stop(table.cell(row, "labour_class"), "unknown-labour-class",
                             f"'{strange[0]}' is no labour class; they are {', '.join(known)}.",
                             "Type one or several of them, or - for any."))
    return classes

"""standards/<question>.csv become dated rows, and on a date the tables that answer questions."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from pathlib import Path

from msgspec import Struct

from quoting.catalog.cells import READERS, Wrong, choice_reader, read_date, read_number
from quoting.catalog.questions import QUESTIONS
from quoting.catalog.rows import Row, TableFile, read_table
from quoting.problems import Cell, Problem, stop
from quoting.tables import decision
from quoting.tables.conditions import Condition, FieldKind, parse_condition
from quoting.tables.decision import Answer, Question, Scalar, Standards

_BESIDE = ("unit", "reference", "from_date", "note")


class DatedTable(Struct, frozen=True):
    """A standard's rows of all dates, each with the date that it holds from."""

    question: Question
    rows: tuple[tuple[datetime.date, decision.Row], ...]
    where: Cell


def read_standards(folder: Path, problems: list[Problem]) -> tuple[DatedTable, ...]:
    """Every standard that a question is asked of. A sheet that no question names is a problem."""
    for path in sorted((folder / "standards").glob("*.csv")):
        if path.stem not in QUESTIONS:
            problems.append(stop(Cell(f"standards/{path.name}"), "unknown-question",
                                 f"'{path.stem}' is no question that anything asks; they are {', '.join(QUESTIONS)}.",
                                 "Rename the sheet, or remove it."))
    return tuple(_read_standard(folder, question, problems) for question in QUESTIONS.values())


def standards_on(tables: Iterable[DatedTable], on: datetime.date) -> Standards:
    """The standards in force on a date: of rows with the same conditions, those with the latest date not after it."""
    return Standards(decision.Table(table.question, _rows_on(table, on), table.where) for table in tables)


def _rows_on(table: DatedTable, on: datetime.date) -> tuple[decision.Row, ...]:
    begun = [(from_date, tuple(row.conditions.items()), row) for from_date, row in table.rows if from_date <= on]
    latest: dict[object, datetime.date] = {}
    for from_date, key, _ in begun:
        latest[key] = max(from_date, latest.get(key, from_date))
    return tuple(row for from_date, key, row in begun if from_date == latest[key])


def _read_standard(folder: Path, question: Question, problems: list[Problem]) -> DatedTable:
    file = f"standards/{question.name}.csv"
    names = ("row", *question.inputs, *question.answers, *_BESIDE)
    table = read_table(folder, file, names, (*question.inputs, *_BESIDE), problems)
    seen: dict[str, Cell] = {}
    made = (_read_row(table, row, question, seen, problems) for row in table.rows)
    return DatedTable(question, tuple(row for row in made if row is not None), Cell(file))


def _read_row(
    table: TableFile, row: Row, question: Question, seen: dict[str, Cell], problems: list[Problem]
) -> tuple[datetime.date, decision.Row] | None:
    """A row and the date that it holds from; None where a cell of it is wrong."""
    before = len(problems)
    name, where = row["row"], table.cell(row, "row")
    if not name:
        problems.append(stop(where, "missing-value", "The row has no id.", "Type one, such as ABC-010."))
    elif name in seen:
        problems.append(stop(where, "id-twice", f"Row '{name}' is already at {seen[name].ref}.", "Type another id."))
    seen.setdefault(name, where)
    conditions = _read_conditions(table, row, question.inputs, problems)
    values = {answer: _read_answer(table, row, answer, kind, problems) for answer, kind in question.answers.items()}
    from_date = read_date(row["from_date"]) if row["from_date"] else datetime.date.min
    if isinstance(from_date, Wrong):
        problems.append(stop(table.cell(row, "from_date"), from_date.code, from_date.message, from_date.remedy))
    if len(problems) > before or isinstance(from_date, Wrong):
        return None
    asked = {name: row[name] for name in question.inputs}
    answer = Answer(question.name, name, where, values, asked, row["unit"], row["reference"], row["note"])
    return from_date, decision.Row(conditions, answer)


def _read_conditions(
    table: TableFile, row: Row, kinds: Mapping[str, FieldKind], problems: list[Problem]
) -> dict[str, Condition]:
    conditions: dict[str, Condition] = {}
    for name, kind in kinds.items():
        text = row[name]
        if text in ("", "-"):
            continue
        condition = parse_condition(table.number(text) if kind == "number" else text, kind, table.columns[name].factor)
        if isinstance(condition, str):
            problems.append(stop(table.cell(row, name), "not-a-condition", f"{condition}.", "Correct the condition."))
        elif not condition.any:
            conditions[name] = condition
    return conditions


def _read_answer(table: TableFile, row: Row, name: str, kind: FieldKind, problems: list[Problem]) -> Scalar:
    text, column = row[name], table.columns.get(name)
    if kind == "number":
        value: object = read_number(table.number(text) or "0", column.factor if column else 1.0)
    else:
        read = choice_reader(("", *kind)) if isinstance(kind, tuple) else READERS[bool if kind == "yes/no" else str]
        value = read(text, 1.0)
    if isinstance(value, Wrong):
        problems.append(stop(table.cell(row, name), value.code, value.message, value.remedy))
        return ""
    assert isinstance(value, Scalar)
    return value

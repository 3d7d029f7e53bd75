"""A standard is a table in which exactly one row answers a question."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from msgspec import Struct, field

from quoting.problems import Cell, Problem, stop
from quoting.tables.conditions import Condition, FieldKind, Test

Scalar = str | bool | Decimal


class Question(Struct, frozen=True):
    """What a standard is asked with, and what comes back. A name that ends in a unit is a number in that unit.

    `whole` inputs are counts, so that nothing lies between 2 and 3. A `listed` standard is read row by row and
    may have gaps.
    """

    name: str
    inputs: dict[str, FieldKind]
    answers: dict[str, FieldKind]
    whole: tuple[str, ...] = ()
    listed: bool = False


class Answer(Struct, frozen=True):
    """One row's answers, in the units of the question's names. An empty cell is "", 0 or no.

    `asked` holds the row's own condition cells as typed ("" for any); `number`, `decimal` and `text` read them too,
    so that a list of all rows can show what each one is about.
    """

    question: str
    row: str
    where: Cell
    values: Mapping[str, Scalar]
    asked: Mapping[str, str] = field(default_factory=dict)
    unit: str = ""
    reference: str = ""
    note: str = ""

    @property
    def decided(self) -> str:
        """How a fact names the row that decided it: "slack SLK-030"."""
        return f"{self.question} {self.row}"

    def number(self, name: str) -> float:
        """A number for engineering, in the name's unit. KeyError where the question has no such answer."""
        return float(self._value(name) or 0)

    def decimal(self, name: str) -> Decimal:
        """A number for money, exactly as typed where the heading has the name's own unit."""
        value = self._value(name)
        return value if isinstance(value, Decimal) else Decimal(value or 0)

    def text(self, name: str) -> str:
        """A word, "" where the cell is empty."""
        return str(self._value(name))

    def yes(self, name: str) -> bool:
        """A yes/no answer; an empty cell is no."""
        return self._value(name) is True

    def _value(self, name: str) -> Scalar:
        return self.values[name] if name in self.values else self.asked[name]


class Row(Struct, frozen=True):
    """One row of a standard: what it asks for, and what it answers. Inputs without a condition are not listed."""

    conditions: Mapping[str, Condition]
    answer: Answer


class Table(Struct, frozen=True):
    """A standard's rows in file order."""

    question: Question
    rows: tuple[Row, ...]
    where: Cell


CompiledRows = tuple[tuple[tuple[tuple[str, Test], ...], Row], ...]


class Unanswered(LookupError):
    """No row of a standard answers, or more than one does. `where` is the sheet, or the second row that answered."""

    def __init__(self, question: str, inputs: Mapping[str, object], where: Cell, rows: Sequence[str]) -> None:
        asked = ", ".join(f"{name} {_show(value)}" for name, value in inputs.items()) or "nothing"
        answering = f"rows {', '.join(rows)} all answer" if rows else "no row answers"
        super().__init__(f"In standard '{question}' {answering} for {asked}.")
        self.question = question
        self.inputs = dict(inputs)
        self.where = where
        self.rows = tuple(rows)

    def problem(self) -> Problem:
        """The stop that a quote reports for it."""
        if self.rows:
            return stop(self.where, "two-rows-answer", str(self), "Change these rows so that exactly one answers.")
        return stop(self.where, "no-row-answers", str(self), "Add a row for it, or widen one that is there.")


class Standards:
    """All standards of a catalogue. Answers are remembered, so that asking again costs a dictionary look-up."""

    __slots__ = ("_answers", "_tests", "tables")

    def __init__(self, tables: Iterable[Table]) -> None:
        self.tables: Mapping[str, Table] = {table.question.name: table for table in tables}
        self._tests: dict[str, CompiledRows] = {}
        self._answers: dict[tuple[object, ...], Answer] = {}

    def ask(self, question: str, **inputs: object) -> Answer:
        """The answer of the one row that matches; inputs in the units of their names.

        Unanswered where no row or more than one matches. TypeError where the inputs are not the question's.
        """
        key = (question, *inputs.items())
        answer = self._answers.get(key)
        if answer is None:
            answer = self._answers[key] = self._find(question, inputs)
        return answer

    def rows(self, question: str) -> tuple[Answer, ...]:
        """Every row's answers in file order; () where the catalogue has no such standard."""
        table = self.tables.get(question)
        return tuple(row.answer for row in table.rows) if table else ()

    def _find(self, question: str, inputs: Mapping[str, object]) -> Answer:
        table = self.tables.get(question)
        if table is None:
            raise Unanswered(question, inputs, Cell(f"standards/{question}.csv"), ())
        if inputs.keys() != table.question.inputs.keys():
            raise TypeError(f"{question} is asked with {', '.join(table.question.inputs)}, not {', '.join(inputs)}")
        found = [
            row.answer for tests, row in self._compiled(table) if all(test(inputs[name]) for name, test in tests)
        ]
        if len(found) != 1:
            where = found[1].where if found else table.where
            raise Unanswered(question, inputs, where, [answer.row for answer in found])
        return found[0]

    def _compiled(self, table: Table) -> CompiledRows:
        name = table.question.name
        if name not in self._tests:
            self._tests[name] = tuple(
                (tuple((column, asks.test) for column, asks in row.conditions.items() if not asks.any), row)
                for row in table.rows
            )
        return self._tests[name]


def _show(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.6g}"
    return f"'{value}'" if value == "" else str(value)

"""Where a standard has two answers or none, and rows that can never answer.

Each column is tried at its telling values: each border, between borders, one outside, every choice, every word that
a row names and one that none does. Two rows overlap where every column has a value that both accept; that is exact.
Gaps are looked for column by column, telling values that the same rows accept together.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from quoting.problems import Problem, stop, warning
from quoting.tables.conditions import TOLERANCE, Condition, FieldKind
from quoting.tables.decision import Row, Table

OTHER = "any other"  # a word that no row names
STEPS = 20_000  # of the search for gaps in one table
GAPS_TOLD = 5  # of one table


def review(table: Table) -> tuple[Problem, ...]:
    """Every overlap, the first few gaps, and the rows that can never answer."""
    grid = _Grid(table)
    return (*_never(grid), *_overlaps(grid), *_gaps(grid))


def never_matches(condition: Condition, whole: bool = False) -> bool:
    """Whether no value passes: `5..3`, or `not` every choice there is."""
    return not any(condition.test(value) for value in telling_values([condition], condition.kind, whole))


def telling_values(conditions: Iterable[Condition], kind: FieldKind, whole: bool = False) -> tuple[object, ...]:
    """The values at which these conditions on one field may tell differently. `whole`: the field is a count."""
    given = tuple(conditions)
    if kind == "yes/no":
        return (True, False)
    if kind == "number":
        return _telling_numbers(given, whole)
    if isinstance(kind, tuple):
        return kind
    named = dict.fromkeys(str(value) for condition in given for value in condition.values)
    return (*named, OTHER)


def _telling_numbers(conditions: Sequence[Condition], whole: bool) -> tuple[float, ...]:
    """Borders, a value between each two, one above, one below unless that would be negative for no reason."""
    ends = {end for condition in conditions for span in condition.spans for end in (span.low, span.high)}
    borders = sorted(end for end in ends if abs(end) != float("inf"))
    if not borders:
        return (1.0,)
    start = borders[0] * 2 - 1 if borders[0] < 0 else 0.0
    outer = (start, *borders, borders[-1] + max(1.0, abs(borders[-1])))
    between = ((low + high) / 2 for low, high in itertools.pairwise(outer) if high - low > 4 * TOLERANCE)
    values = sorted({*outer, *between})
    return tuple(dict.fromkeys(float(int(value)) for value in values)) if whole else tuple(values)


@dataclass(slots=True)
class _Grid:
    """A table's telling values by column, and which of them each row accepts, as bits."""

    table: Table
    names: tuple[str, ...] = field(init=False)
    values: tuple[tuple[object, ...], ...] = field(init=False)
    accepts: tuple[tuple[int, ...], ...] = field(init=False)  # by row, then by column

    def __post_init__(self) -> None:
        question = self.table.question
        self.names = tuple(question.inputs)
        self.values = tuple(
            telling_values((row.conditions[name] for row in self.table.rows if name in row.conditions), kind,
                           name in question.whole)
            for name, kind in question.inputs.items()
        )
        self.accepts = tuple(
            tuple(self._bits(row, name, values) for name, values in zip(self.names, self.values, strict=True))
            for row in self.table.rows
        )

    @staticmethod
    def _bits(row: Row, name: str, values: tuple[object, ...]) -> int:
        condition = row.conditions.get(name)
        if condition is None or condition.any:
            return (1 << len(values)) - 1
        return sum(1 << index for index, value in enumerate(values) if condition.test(value))

    def words(self) -> tuple[int, ...]:
        """The columns that hold words."""
        return tuple(at for at, name in enumerate(self.names) if self.table.question.inputs[name] == "text")

    def say(self, point: Sequence[int]) -> str:
        """A point in words: "mount wall, area_m2 12"."""
        shown = (f"{name} {_show(values[at])}" for name, values, at in zip(self.names, self.values, point, strict=True))
        return ", ".join(shown)


def _show(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def _never(grid: _Grid) -> Iterator[Problem]:
    for row, accepted in zip(grid.table.rows, grid.accepts, strict=True):
        for name, bits in zip(grid.names, accepted, strict=True):
            if not bits:
                yield stop(row.answer.where, "never-matches",
                           f"Row '{row.answer.row}' can never answer: no {name} is '{row.conditions[name].text}'.",
                           "Correct the condition, or remove the row.")


def _overlaps(grid: _Grid) -> Iterator[Problem]:
    rows = grid.table.rows
    for (one, first), (other, second) in itertools.combinations(enumerate(grid.accepts), 2):
        both = tuple(a & b for a, b in zip(first, second, strict=True))
        if all(both):
            point = tuple((bits & -bits).bit_length() - 1 for bits in both)
            yield stop(rows[other].answer.where, "two-rows-answer",
                       f"Rows '{rows[one].answer.row}' and '{rows[other].answer.row}' both answer"
                       f"{f', for example for {grid.say(point)}' if point else ''}.",
                       "Change one of them so that only one answers there.")


def _gaps(grid: _Grid) -> Iterator[Problem]:
    if grid.table.question.listed or not grid.table.rows:
        return
    search = _Search(grid)
    search.look(tuple(range(len(grid.table.rows))), ())
    words = grid.words()
    told = 0
    for point in search.found:
        known = any(_accepts_all(grid.accepts[row], point, words) for row in range(len(grid.accepts)))
        if not known and any(grid.values[at][point[at]] == OTHER for at in words):
            continue  # a word of which no row speaks together with these others
        told += 1
        if told > GAPS_TOLD:
            return
        make = stop if known else warning  # words that no row names together may never be asked together
        yield make(grid.table.where, "no-row-answers",
                   f"In standard '{grid.table.question.name}' no row answers for {grid.say(point)}.",
                   "Add a row for it, or widen one that is there.")
    if search.steps > STEPS:
        yield warning(grid.table.where, "review-cut-short",
                      f"Standard '{grid.table.question.name}' is too large to be searched for every gap.",
                      "Split it into two questions, or use fewer different borders.")


def _accepts_all(accepted: Sequence[int], point: Sequence[int], columns: Iterable[int]) -> bool:
    return all(accepted[at] >> point[at] & 1 for at in columns)


@dataclass(slots=True)
class _Search:
    """A search for points that no row accepts; it stops after so many steps or gaps."""

    grid: _Grid
    steps: int = 0
    found: list[tuple[int, ...]] = field(default_factory=list)

    def look(self, rows: tuple[int, ...], chosen: tuple[int, ...]) -> None:
        """Points that begin with the chosen values and that none of these rows, which accept those, accepts."""
        self.steps += 1
        at = len(chosen)
        if self.steps > STEPS or len(self.found) > 50 * GAPS_TOLD:
            return
        if not rows:
            self.found.append((*chosen, *(0 for _ in self.grid.names[at:])))
            return
        if any(self._takes_all(row, at) for row in rows):
            return
        tried: set[tuple[int, ...]] = set()
        for value in range(len(self.grid.values[at])):
            left = tuple(row for row in rows if self.grid.accepts[row][at] >> value & 1)
            if left not in tried:
                tried.add(left)
                self.look(left, (*chosen, value))

    def _takes_all(self, row: int, at: int) -> bool:
        """Whether a row accepts every value of the columns from `at` on."""
        rest = zip(self.grid.accepts[row][at:], self.grid.values[at:], strict=True)
        return all(bits == (1 << len(values)) - 1 for bits, values in rest)

"""labour.csv: a row per task and wall state becomes tasks, and the hours of one unit of each in each state."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import get_args

from msgspec import Struct

from quoting.catalog.check import Mention
from quoting.catalog.records import Task, UnitHours
from quoting.catalog.rows import Row, TableFile, columns_of, fill, read_table
from quoting.job import WallState
from quoting.problems import Problem, stop

WALL_STATES: tuple[WallState, ...] = get_args(WallState)


class LabourSheet(Struct, frozen=True):
    """The tasks, and the hours of one unit by task and wall state."""

    tasks: Mapping[str, Task]
    hours: Mapping[tuple[str, WallState], UnitHours]


def read_labour(folder: Path, problems: list[Problem], mentions: list[Mention]) -> LabourSheet:
    """labour.csv. A task's description, unit, role, class and `sold` are the same in all of its rows."""
    names = (*columns_of(Task), "wall_state", "low", "likely", "high", "reference")
    table = read_table(folder, "labour.csv", names, ("reference",), problems)
    tasks: dict[str, Task] = {}
    hours: dict[tuple[str, WallState], UnitHours] = {}
    told: set[str] = set()
    for row in table.rows:
        _add_task(table, row, tasks, told, problems)
        mentions.append(Mention(table, row, "role", "labour role", row["role"]))
        unit_hours = fill(UnitHours, table, row, problems)
        states = _states(table, row, problems)
        if unit_hours is None:
            continue
        _check_order(table, row, unit_hours, problems)
        for state in states:
            if (row["task"], state) in hours:
                problems.append(stop(
                    table.cell(row, "wall_state"), "row-twice",
                    f"Task '{row['task']}' already has hours for '{state}' at {hours[row['task'], state].where.ref}.",
                    "Remove one of the two rows."))
            hours.setdefault((row["task"], state), unit_hours)
    return LabourSheet(tasks, hours)


def _add_task(
    table: TableFile, row: Row, tasks: dict[str, Task], told: set[str], problems: list[Problem]
) -> None:
    """The task's own columns; a row that says otherwise than its first one is told of, a wrong cell once a task."""
    name = row["task"]
    found: list[Problem] = []
    task = fill(Task, table, row, found, required=("task", "description", "unit", "role", "labour_class"))
    if name not in told or name not in tasks:
        problems.extend(found)
    told.add(name)
    if task is None:
        return
    first = tasks.setdefault(name, task)
    for column in ("description", "unit", "role", "labour_class", "sold"):
        if getattr(task, column) != getattr(first, column):
            problems.append(stop(
                table.cell(row, column), "rows-disagree",
                f"'{row[column]}' differs from {first.where.ref}'s row of the same task '{name}'.",
                "Make the rows of one task agree, or give this one another name."))


def _states(table: TableFile, row: Row, problems: list[Problem]) -> tuple[WallState, ...]:
    text = row["wall_state"].lower()
    if text == "-":
        return WALL_STATES
    found = tuple(state for state in WALL_STATES if state == text)
    if not found:
        problems.append(stop(table.cell(row, "wall_state"), "unknown-choice",
                             f"'{row['wall_state']}' is not one of {', '.join(WALL_STATES)}, -.",
                             "Type one of them; - stands for all three."))
    return found


def _check_order(table: TableFile, row: Row, hours: UnitHours, problems: list[Problem]) -> None:
    if not hours.low <= hours.likely <= hours.high:
        problems.append(stop(table.cell(row, "low"), "hours-out-of-order",
                             f"'{row['low']}', '{row['likely']}', '{row['high']}' do not rise from low to high.",
                             "Type low, likely and high so that each is at least the one before."))

"""options.csv: which parts each option uses for a role, and what else each option decides."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import get_args

from msgspec import Struct

from quoting.catalog.cells import Reader, Wrong, choice_reader, read_count, read_text
from quoting.catalog.check import Mention
from quoting.catalog.records import GaugeSystem, OptionRole, OptionSetting
from quoting.catalog.rows import Row, TableFile, read_table
from quoting.job import HeadEndShape
from quoting.problems import Cell, Problem, stop

# What each option decides, and what a cell of it may hold.
SETTINGS: dict[str, Reader] = {
    **dict.fromkeys(("title", "summary", "gives_up"), read_text),
    "head_end_shape": choice_reader(get_args(HeadEndShape)),
    "rack": choice_reader(("rack", "shelf")),
    **dict.fromkeys(("ups", "remote_power"), choice_reader(("yes", "no"))),
    **dict.fromkeys(("streams", "spare_zones", "phones", "service_years", "headroom_db"), read_count),
}
_NAMES = ("kind", "name", "gauge_system", "note")
_SYSTEMS: Mapping[str, GaugeSystem] = {"awg": "AWG", "mm2": "mm2", "": "", "-": ""}


class OptionSheet(Struct, frozen=True):
    """The options smallest first, and what they choose."""

    names: tuple[str, ...]
    roles: Mapping[tuple[str, GaugeSystem], OptionRole]
    settings: Mapping[str, OptionSetting]


def read_options(folder: Path, problems: list[Problem], mentions: list[Mention]) -> OptionSheet:
    """options.csv. The headings that are not its own are the options' names, smallest first."""
    names: list[str] = []
    table = read_table(folder, "options.csv", _NAMES, ("gauge_system", "note"), problems, free=names)
    if not names:
        problems.append(stop(Cell("options.csv", "", "A1"), "missing-column", "The sheet names no option.",
                             "Head a column for each option, smallest first."))
    roles: dict[tuple[str, GaugeSystem], OptionRole] = {}
    settings: dict[str, OptionSetting] = {}
    for row in table.rows:
        if row["kind"] == "role":
            _add_role(table, row, names, roles, problems, mentions)
        elif row["kind"] == "setting":
            _add_setting(table, row, names, settings, problems)
        else:
            problems.append(stop(table.cell(row, "kind"), "unknown-choice",
                                 f"'{row['kind']}' is neither role nor setting.", "Type role or setting."))
    missing = [name for name in SETTINGS if name not in settings]
    if missing and table.rows:
        problems.append(stop(Cell("options.csv", "", "A1"), "missing-setting",
                             f"There is no setting {', '.join(missing)}.", "Add a row of kind setting for each."))
    return OptionSheet(tuple(names), roles, settings)


def _add_role(
    table: TableFile, row: Row, names: list[str], roles: dict[tuple[str, GaugeSystem], OptionRole],
    problems: list[Problem], mentions: list[Mention],
) -> None:
    system = _SYSTEMS.get(row["gauge_system"].lower())
    if system is None:
        problems.append(stop(table.cell(row, "gauge_system"), "unknown-choice",
                             f"'{row['gauge_system']}' is neither AWG nor mm2.", "Type one, or leave it empty."))
        return
    if _twice(table, row, roles[row["name"], system].where if (row["name"], system) in roles else None, problems):
        return
    parts: dict[str, tuple[str, ...]] = {}
    for option in names:
        if not row[option]:
            _tell_empty(table, row, option, problems)
            continue
        chosen = () if row[option] == "-" else tuple(part.strip() for part in row[option].split(";") if part.strip())
        mentions.extend(Mention(table, row, option, "part", part) for part in chosen)
        parts[option] = chosen
    roles[row["name"], system] = OptionRole(role=row["name"], gauge_system=system, parts=parts, where=table.cell(row))


def _add_setting(
    table: TableFile, row: Row, names: list[str], settings: dict[str, OptionSetting], problems: list[Problem]
) -> None:
    older = settings.get(row["name"])
    if _twice(table, row, older.where if older else None, problems):
        return
    read = SETTINGS.get(row["name"])
    if read is None:
        problems.append(stop(table.cell(row, "name"), "unknown-setting",
                             f"'{row['name']}' is no setting; they are {', '.join(SETTINGS)}.", "Correct the name."))
        return
    values: dict[str, str] = {}
    for option in names:
        text = row[option]
        value = read(text, 1.0) if text not in ("", "-") else ""
        if not text:
            _tell_empty(table, row, option, problems)
        elif isinstance(value, Wrong):
            problems.append(stop(table.cell(row, option), value.code, value.message, value.remedy))
        values[option] = "" if isinstance(value, Wrong) else str(value)
    settings[row["name"]] = OptionSetting(name=row["name"], values=values, where=table.cell(row))


def _twice(table: TableFile, row: Row, older: Cell | None, problems: list[Problem]) -> bool:
    """Whether the row must be left out: it has no name, or one that a row above has."""
    if not row["name"]:
        problems.append(stop(table.cell(row, "name"), "missing-value", "The row has no name.", "Type the role's name."))
        return True
    if older:
        problems.append(stop(table.cell(row, "name"), "row-twice", f"'{row['name']}' is already at {older.ref}.",
                             "Remove one of the two rows."))
    return older is not None


def _tell_empty(table: TableFile, row: Row, option: str, problems: list[Problem]) -> None:
    problems.append(stop(table.cell(row, option), "missing-value",
                         f"'{row['name']}' has nothing for option '{option}'.",
                         "Type a part or a value, or - where the option has none."))

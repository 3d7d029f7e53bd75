"""A catalogue's folder becomes one checked Catalog as of a date."""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, TypeVar

from quoting.catalog.check import Mention, check_catalog
from quoting.catalog.firm import read_firm
from quoting.catalog.labour import LabourSheet, read_labour
from quoting.catalog.option_rows import OptionSheet, read_options
from quoting.catalog.records import Catalog, Part, Place, Price, Rate, Socket, StatementText, TaxRow
from quoting.catalog.rows import NAME_LIMIT, Row, TableFile, columns_of, fill, optional_columns, read_table
from quoting.catalog.standards import read_standards
from quoting.catalog.tables import FILES, PART_FIELDS, SPECS
from quoting.problems import Cell, Problem, in_order, stop
from quoting.quote import TaxRule

T = TypeVar("T")

def read_catalog(folder: Path, on: datetime.date) -> tuple[Catalog | None, tuple[Problem, ...]]:
    """Everything that is looked up, with prices, rates, taxes and standards in force on a date, cross-checked.

    None where the folder or the firm's settings cannot be read; a catalogue with stops is otherwise returned, so
    that the job can be checked against what it does hold. Never raises for what a file holds.
    """
    if not folder.is_dir():
        return None, (stop(Cell(folder.name), "missing-catalogue", f"The catalogue '{folder.name}' is not a folder.",
                           "Name the folder that holds parts.csv."),)
    problems: list[Problem] = []
    mentions: list[Mention] = []
    _refuse_strange_files(folder, problems)
    parts = _read_keyed(folder, "parts.csv", Part, "part", problems, mentions)
    specs: dict[str, Any] = {
        name: _read_keyed(folder, f"parts/{name}.csv", cls, "part", problems, mentions) for name, cls in SPECS.items()
    }
    sockets = _read_all(folder, "sockets.csv", Socket, problems, mentions)
    prices = _read_all(folder, "prices.csv", Price, problems, mentions)
    rates = _read_all(folder, "rates.csv", Rate, problems, mentions, "role")
    labour = read_labour(folder, problems, mentions)
    options = read_options(folder, problems, mentions)
    taxes = _read_taxes(folder, problems, mentions)
    places = _read_keyed(folder, "terms.csv", Place, "place", problems, mentions)
    statements = _read_keyed(folder, "statements.csv", StatementText, "code", problems, mentions)
    firm = read_firm(folder, problems)
    standards = read_standards(folder, on, problems)
    if firm is None:
        return None, in_order(problems)
    catalog = Catalog(
        name=folder.name, fingerprint=fingerprint(folder), parts=parts, **specs,
        sockets=_grouped(sockets, lambda socket: socket.part), prices=_prices_in_force(prices, on),
        **_labour_and_options(labour, options), rates=_rates_in_force(rates, on),
        taxes=_taxes_in_force(taxes, on), places=places, statements=statements, firm=firm, standards=standards,
    )
    problems.extend(check_catalog(catalog, mentions))
    return catalog, in_order(problems)


def _labour_and_options(labour: LabourSheet, options: OptionSheet) -> dict[str, Any]:
    return {
        "tasks": labour.tasks, "hours": labour.hours,
        "options": options.names, "roles": options.roles, "settings": options.settings,
    }


def fingerprint(folder: Path) -> str:
    """sha256 over the names and bytes of every file of a catalogue."""
    digest = hashlib.sha256()
    for path in sorted(path for path in folder.rglob("*") if path.is_file()):
        content = path.read_bytes()
        digest.update(f"{path.relative_to(folder).as_posix()}\n{len(content)}\n".encode())
        digest.update(content)
    return digest.hexdigest()


def _refuse_strange_files(folder: Path, problems: list[Problem]) -> None:
    known = {"": FILES, "parts": tuple(f"{name}.csv" for name in SPECS)}
    for inside, names in known.items():
        for path in sorted((folder / inside).glob("*.csv")):
            if path.name not in names:
                file = path.relative_to(folder).as_posix()
                problems.append(stop(Cell(file), "unknown-file",
                                     f"'{file}' is no table of a catalogue; here stand {', '.join(names)}.",
                                     "Rename the file, or remove it."))


def _read_records(
    folder: Path, file: str, cls: type[T], problems: list[Problem], mentions: list[Mention], key: str = "part"
) -> Iterator[tuple[TableFile, Row, T | None]]:
    """Every row of a file and the record that it makes; `mentions` gains the parts that the rows name."""
    record: type = cls
    names = columns_of(record)
    extra = tuple(name for name in ("note", "reference") if name not in names)
    table = read_table(folder, file, (*names, *extra), optional_columns(record) | set(extra), problems)
    naming = tuple(name for name in PART_FIELDS if name in table.columns) if file != "parts.csv" else ()
    for row in table.rows:
        for name in naming:
            if row[name] not in ("", "-"):
                mentions.append(Mention(table, row, name, "part", row[name]))
        yield table, row, fill(cls, table, row, problems, required=(key,))


def _read_all(
    folder: Path, file: str, cls: type[T], problems: list[Problem], mentions: list[Mention], key: str = "part"
) -> tuple[T, ...]:
    made = _read_records(folder, file, cls, problems, mentions, key)
    return tuple(record for _, _, record in made if record is not None)


def _read_keyed(
    folder: Path, file: str, cls: type[T], key: str, problems: list[Problem], mentions: list[Mention]
) -> dict[str, T]:
    """The rows of a file by their key, which stands once."""
    made: dict[str, T] = {}
    seen: dict[str, Cell] = {}
    for table, row, record in _read_records(folder, file, cls, problems, mentions, key):
        name, where = row[key], table.cell(row, key)
        if len(name) > NAME_LIMIT:
            problems.append(stop(where, "text-too-long", f"'{name[:20]}...' has {len(name)} characters; "
                                                         f"{NAME_LIMIT} are allowed.", "Shorten it."))
        elif name in seen and name:
            problems.append(stop(where, "row-twice", f"'{name}' is already at {seen[name].ref}.",
                                 "Remove one of the two rows."))
        elif record is not None:
            made[name] = record
        seen.setdefault(name, where)
    return made


def _read_taxes(folder: Path, problems: list[Problem], mentions: list[Mention]) -> tuple[TaxRow, ...]:
    names = dict.fromkeys((*columns_of(TaxRule), *columns_of(TaxRow), "reference", "note"))
    table = read_table(folder, "taxes.csv", names, ("reference", "note"), problems)
    made: list[TaxRow] = []
    for row in table.rows:
        for column, what in (("place", "place"), ("category", "tax category")):
            if row[column] not in ("", "-"):
                mentions.append(Mention(table, row, column, what, row[column]))
        rule = fill(TaxRule, table, row, problems, required=("tax", "category"))
        tax = fill(TaxRow, table, row, problems, required=("place",), rule=rule)
        if rule is not None and tax is not None:
            everything = replace(rule, category="-") if row["category"] == "-" else rule
            made.append(replace(tax, rule=everything))
    return tuple(made)


# What is in force on a date ---------------------------------------------------------------------------------------

def _in_force(rows: Iterable[T], on: datetime.date, key: Callable[[T], Hashable]) -> tuple[T, ...]:
    """Of the rows of one key, the one with the latest `from_date` that is not after the date."""
    chosen: dict[Hashable, T] = {}
    for row in rows:
        from_date = row.from_date  # type: ignore[attr-defined]
        older = chosen.get(key(row))
        if from_date <= on and (older is None or older.from_date <= from_date):  # type: ignore[attr-defined]
            chosen[key(row)] = row
    return tuple(chosen.values())


def _prices_in_force(prices: Iterable[Price], on: datetime.date) -> Mapping[tuple[str, str], tuple[Price, ...]]:
    current = _in_force(prices, on, lambda price: (price.part, price.put_up, price.currency, price.supplier))
    by_part = _grouped(current, lambda price: (price.part, price.currency))
    return {key: tuple(sorted(found, key=lambda price: -price.put_up)) for key, found in by_part.items()}


def _rates_in_force(rates: Iterable[Rate], on: datetime.date) -> Mapping[tuple[str, str], Rate]:
    current = _in_force(rates, on, lambda rate: (rate.role, rate.currency))
    return {(rate.role, rate.currency): rate for rate in current}


def _taxes_in_force(taxes: Iterable[TaxRow], on: datetime.date) -> tuple[TaxRow, ...]:
    return _in_force(taxes, on, lambda tax: (
        tax.place, tax.rule.name, tax.rule.category, tax.dwelling_over_years, tax.dwelling_up_to_years,
    ))


K = TypeVar("K", bound=Hashable)


def _grouped(items: Iterable[T], key: Callable[[T], K]) -> dict[K, tuple[T, ...]]:
    groups: dict[K, list[T]] = {}
    for item in items:
        groups.setdefault(key(item), []).append(item)
    return {name: tuple(found) for name, found in groups.items()}

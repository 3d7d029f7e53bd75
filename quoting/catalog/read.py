"""A catalogue's folder becomes one checked Catalog as of a date."""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from decimal import Decimal
from pathlib import Path
from typing import Any, TypeVar

from msgspec import Struct
from msgspec.structs import replace

from quoting.catalog.check import Mention, check_catalog
from quoting.catalog.firm import read_firm
from quoting.catalog.labour import LabourSheet, read_labour
from quoting.catalog.option_rows import OptionSheet, read_options
from quoting.catalog.records import Catalog, FirmSettings, Part, Place, Price, Rate, Socket, TaxRow
from quoting.catalog.rows import NAME_LIMIT, Row, TableFile, columns_of, fill, optional_columns, read_table
from quoting.catalog.standards import DatedTable, read_standards, standards_on
from quoting.catalog.supply import PriceBreak, SubstituteRow, with_breaks
from quoting.catalog.tables import FILES, PART_FIELDS, SPECS
from quoting.catalog.texts import NO_WORDING, Fee, StatementText, Wording
from quoting.catalog.wording import read_wording
from quoting.paper import PAPER_MM, LabelSheet
from quoting.problems import Cell, Problem, in_order, stop
from quoting.quote import TaxRule
from quoting.workdays import FreeDay

T = TypeVar("T")

class CatalogSheets(Struct, frozen=True, kw_only=True):
    """A catalogue's files with the rows of all dates; `problems` are those of reading. `firm` None: unusable."""

    name: str
    fingerprint: str
    parts: Mapping[str, Part]
    specs: Mapping[str, Any]  # by the name of the parts sheet
    sockets: tuple[Socket, ...]
    prices: tuple[Price, ...]
    breaks: tuple[PriceBreak, ...]
    substitutes: tuple[SubstituteRow, ...]
    labour: LabourSheet
    options: OptionSheet
    rates: tuple[Rate, ...]
    taxes: tuple[TaxRow, ...]
    places: Mapping[str, Place]
    statements: Mapping[str, StatementText]
    fees: tuple[Fee, ...]
    firm: FirmSettings | None
    standards: tuple[DatedTable, ...]
    wording: Wording
    label_sheets: tuple[LabelSheet, ...]
    free_days: tuple[FreeDay, ...]
    mentions: tuple[Mention, ...]
    problems: tuple[Problem, ...]

    def as_of(self, on: datetime.date) -> tuple[Catalog | None, tuple[Problem, ...]]:
        """The catalogue on a date, cross-checked, with the problems of reading too. None: see read_catalog."""
        if self.firm is None:
            return None, in_order(self.problems)
        prices, wrong_breaks = with_breaks(_prices_on(self.prices, on), _breaks_on(self.breaks, on))
        catalog = Catalog(
            name=self.name, fingerprint=self.fingerprint, parts=self.parts, **self.specs,
            sockets=_grouped(self.sockets, lambda socket: socket.part), prices=prices,
            tasks=self.labour.tasks, hours=self.labour.hours, rates=_rates_on(self.rates, on),
            options=self.options.names, roles=self.options.roles, settings=self.options.settings,
            taxes=_taxes_on(self.taxes, on), places=self.places, statements=self.statements, firm=self.firm,
            fees=_in_force(self.fees, on, lambda fee: (fee.fee, fee.option, fee.currency)),
            standards=standards_on(self.standards, on), wording=self.wording, label_sheets=self.label_sheets,
            free_days=self.free_days, substitutes=self.substitutes,
        )
        return catalog, in_order((*self.problems, *wrong_breaks, *check_catalog(catalog, self.mentions)))


def read_catalog(folder: Path, on: datetime.date) -> tuple[Catalog | None, tuple[Problem, ...]]:
    """Everything that is looked up, with prices, rates, taxes and standards in force on a date, cross-checked.

    None where the folder or the firm's settings cannot be read; a catalogue with stops is otherwise returned, so
    that the job can be checked against what it does hold. Never raises for what a file holds.
    """
    return read_sheets(folder).as_of(on)


def read_sheets(folder: Path) -> CatalogSheets:
    """Every file of a catalogue, read once for any number of dates."""
    problems: list[Problem] = []
    mentions: list[Mention] = []
    if not folder.is_dir():
        problems.append(stop(Cell(folder.name), "missing-catalogue", f"The catalogue '{folder.name}' is not a folder.",
                             "Name the folder that holds parts.csv."))
        return _no_sheets(folder, problems)
    _refuse_strange_files(folder, problems)
    read: dict[str, Any] = {
        "parts": _read_keyed(folder, "parts.csv", Part, "part", problems, mentions),
        "specs": {
            name: _read_keyed(folder, f"parts/{name}.csv", cls, "part", problems, mentions)
            for name, cls in SPECS.items()
        },
        "sockets": _read_all(folder, "sockets.csv", Socket, problems, mentions),
        "prices": _read_all(folder, "prices.csv", Price, problems, mentions),
        "breaks": _read_some(folder, "price_breaks.csv", PriceBreak, problems, mentions),
        "substitutes": _read_some(folder, "substitutes.csv", SubstituteRow, problems, mentions),
        "labour": read_labour(folder, problems, mentions),
        "options": read_options(folder, problems, mentions),
        "rates": _read_all(folder, "rates.csv", Rate, problems, mentions, "role"),
        "taxes": _read_taxes(folder, problems, mentions),
        "places": _read_keyed(folder, "terms.csv", Place, "place", problems, mentions),
        "statements": _read_keyed(folder, "statements.csv", StatementText, "code", problems, mentions),
        "fees": _read_some(folder, "fees.csv", Fee, problems, mentions, "fee"),
        "firm": read_firm(folder, problems),
        "standards": read_standards(folder, problems),
        "wording": read_wording(folder, problems),
        "label_sheets": _read_label_sheets(folder, problems, mentions),
        "free_days": _read_free_days(folder, problems, mentions),
    }
    return CatalogSheets(name=folder.name, fingerprint=fingerprint(folder), mentions=tuple(mentions),
                         problems=tuple(problems), **read)


def _no_sheets(folder: Path, problems: list[Problem]) -> CatalogSheets:
    return CatalogSheets(
        name=folder.name, fingerprint="", parts={}, specs={}, sockets=(), prices=(), breaks=(), substitutes=(),
        labour=LabourSheet({}, {}), options=OptionSheet((), {}, {}), rates=(), taxes=(), places={}, statements={},
        fees=(), firm=None, standards=(), wording=NO_WORDING, label_sheets=(), free_days=(), mentions=(),
        problems=tuple(problems),
    )


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


def _read_some(
    folder: Path, file: str, cls: type[T], problems: list[Problem], mentions: list[Mention], key: str = "part"
) -> tuple[T, ...]:
    """The rows of a table that a catalogue may do without: monthly fees, quantity breaks, substitutes."""
    return _read_all(folder, file, cls, problems, mentions, key) if (folder / file).is_file() else ()


def _read_free_days(folder: Path, problems: list[Problem], mentions: list[Mention]) -> tuple[FreeDay, ...]:
    """Public holidays and the firm's own days off; without the file the holidays are looked up."""
    if not (folder / "free_days.csv").is_file():
        return ()
    return _read_all(folder, "free_days.csv", FreeDay, problems, mentions, "date")


def _read_label_sheets(folder: Path, problems: list[Problem], mentions: list[Mention]) -> tuple[LabelSheet, ...]:
    """Sheets of labels that the firm buys; each as large as its labels say, so that nothing is printed beside it."""
    if not (folder / "label_sheets.csv").is_file():
        return ()
    made = []
    for table, row, sheet in _read_records(folder, "label_sheets.csv", LabelSheet, problems, mentions, "name"):
        if sheet is None:
            continue
        wide, high = PAPER_MM[sheet.paper]
        need_mm = (sheet.left_mm + (sheet.columns - 1) * sheet.across_mm + sheet.width_mm,
                   sheet.top_mm + (sheet.rows - 1) * sheet.down_mm + sheet.height_mm)
        if min(sheet.columns, sheet.rows) < 1 or need_mm[0] > wide + 0.1 or need_mm[1] > high + 0.1:
            problems.append(stop(
                table.cell(row, "name"), "label-sheet-size", f"The labels of '{sheet.name}' need {need_mm[0]:g} by "
                f"{need_mm[1]:g} mm; {sheet.paper} paper is {wide:g} by {high:g} mm.",
                "Correct columns, rows, margins or pitch, as the pack states them."))
        made.append(sheet)
    return tuple(made)


def _read_taxes(folder: Path, problems: list[Problem], mentions: list[Mention]) -> tuple[TaxRow, ...]:
    names = dict.fromkeys((*columns_of(TaxRule), *columns_of(TaxRow), "reference", "note"))
    table = read_table(folder, "taxes.csv", names, ("scheme", "reference", "note"), problems)
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


def _prices_on(prices: Iterable[Price], on: datetime.date) -> Mapping[tuple[str, str], tuple[Price, ...]]:
    def same(price: Price) -> tuple[str, Decimal, str, str]:
        return price.part, price.put_up, price.currency, price.supplier

    coming: dict[tuple[str, Decimal, str, str], Price] = {}
    for price in prices:
        if price.from_date > on:
            coming[same(price)] = min(price, coming.get(same(price), price), key=lambda one: one.from_date)
    current = [_with_rise(price, coming.get(same(price))) for price in _in_force(prices, on, same)]
    by_part = _grouped(current, lambda price: (price.part, price.currency))
    return {key: tuple(sorted(found, key=lambda price: -price.put_up)) for key, found in by_part.items()}


def _with_rise(price: Price, coming: Price | None) -> Price:
    """The price, with the next one where that is higher."""
    return replace(price, rise=(coming.from_date, coming.cost)) if coming and coming.cost > price.cost else price


def _breaks_on(breaks: Iterable[PriceBreak], on: datetime.date) -> tuple[PriceBreak, ...]:
    return _in_force(breaks, on, lambda row: (row.part, row.put_up, row.currency, row.supplier, row.from_packs))


def _rates_on(rates: Iterable[Rate], on: datetime.date) -> Mapping[tuple[str, str], Rate]:
    current = _in_force(rates, on, lambda rate: (rate.role, rate.currency))
    return {(rate.role, rate.currency): rate for rate in current}


def _taxes_on(taxes: Iterable[TaxRow], on: datetime.date) -> tuple[TaxRow, ...]:
    return _in_force(taxes, on, lambda tax: (
        tax.place, tax.rule.name, tax.rule.category, tax.dwelling_over_years, tax.dwelling_up_to_years,
    ))


K = TypeVar("K", bound=Hashable)


def _grouped(items: Iterable[T], key: Callable[[T], K]) -> dict[K, tuple[T, ...]]:
    groups: dict[K, list[T]] = {}
    for item in items:
        groups.setdefault(key(item), []).append(item)
    return {name: tuple(found) for name, found in groups.items()}

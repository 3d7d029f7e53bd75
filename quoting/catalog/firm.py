"""firm.csv: the firm's face and what the owner set, a key a row."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from quoting.catalog.cells import Wrong
from quoting.catalog.logo import read_logo
from quoting.catalog.records import FirmSettings
from quoting.catalog.rows import FieldReader, Row, TableFile, field_readers, read_table
from quoting.colours import ENOUGH, FALLBACK, LIGHT_SURFACE, contrast, is_colour, readable_accents
from quoting.problems import Cell, Problem, stop, warning
from quoting.quote import Firm

_FIELDS = (*field_readers(Firm), *field_readers(FirmSettings))


def read_firm(folder: Path, problems: list[Problem]) -> FirmSettings | None:
    """firm.csv; None where a key that has no empty value is missing, or a value is wrong."""
    table = read_table(folder, "firm.csv", ("key", "value", "note"), ("note",), problems)
    if not table.columns:
        return None
    rows = _by_key(table, problems)
    values: dict[str, Any] = {}
    for field in _FIELDS:
        value = _value(table, rows.get(field.name), field)
        if isinstance(value, Problem):
            problems.append(value)
        else:
            values[field.name] = value
    if len(values) < len(_FIELDS):
        return None
    cells = {key: table.cell(row, "value") for key, row in rows.items()}
    values["logo"] = read_logo(folder, values["logo"], cells.get("logo", Cell(table.file)), problems)
    values["accent"] = values["accent"] or FALLBACK
    problems.extend(_pale(values["accent"], cells.get("accent", Cell(table.file))))
    firm = Firm(**{field.name: values.pop(field.name) for field in field_readers(Firm)})
    return FirmSettings(firm=firm, where=Cell(table.file), cells=cells, **values)


def _by_key(table: TableFile, problems: list[Problem]) -> Mapping[str, Row]:
    known = [field.name for field in _FIELDS]
    rows: dict[str, Row] = {}
    for row in table.rows:
        key = row["key"]
        if key not in known:
            problems.append(stop(table.cell(row, "key"), "unknown-key",
                                 f"'{key}' is no key of this sheet; they are {', '.join(known)}.", "Correct the key."))
        elif key in rows:
            problems.append(stop(table.cell(row, "key"), "row-twice",
                                 f"'{key}' is already at {table.cell(rows[key], 'key').ref}.",
                                 "Remove one of the two rows."))
        else:
            rows[key] = row
    return rows


def _value(table: TableFile, row: Row | None, field: FieldReader) -> object:
    """A key's value, or the problem with it."""
    text = row["value"] if row else ""
    where = table.cell(row, "value") if row else Cell(table.file, "", "A1")
    needed = field.name in ("name", "counting_standard") or not field.empty_ok
    if not text and needed:
        return stop(where, "missing-value", f"'{field.name}' has no value.", f"Type a row with the key {field.name}.")
    value = field.read(table.number(text) if field.number else text, 1.0) if text else field.empty
    if isinstance(value, Wrong):
        return stop(where, value.code, value.message, value.remedy)
    if field.name == "accent" and text and not is_colour(text):
        return stop(where, "not-a-colour", f"'{text}' is not a colour.",
                    "Type # and six hexadecimal digits, such as #1f5f8b.")
    return value


def _pale(accent: str, where: Cell) -> Iterator[Problem]:
    """A warning for a colour that is made darker where it stands as text on paper."""
    used, _ = readable_accents(accent)
    if used != accent.lower():
        yield warning(where, "pale-colour", f"'{accent}' is too pale to be read on light paper: its contrast is "
                      f"{contrast(accent, LIGHT_SURFACE):.1f} to 1, and {ENOUGH} are needed (WCAG 2.2, 1.4.3). Papers "
                      f"use '{used}' instead.", f"Keep it, or type {used} or a darker colour.")

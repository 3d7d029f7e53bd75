"""The estimator's corrections of rows, each beside the rule's own value."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from decimal import Decimal
from typing import TypeVar

from msgspec.structs import replace

from quoting import lines as ln
from quoting.catalog.records import Catalog
from quoting.job import Override
from quoting.money import ZERO, ceil, parse, round_to
from quoting.problems import Problem, stop, warning

MOST = Decimal(1_000_000)  # the largest value that an override may set; more is a slip of the finger

Row = TypeVar("Row", ln.MaterialRow, ln.LabourRow)


def apply_overrides(
    rows: Iterable[Row], by_id: Mapping[str, Sequence[Override]],
    change: Callable[[Row, Override, Catalog], Row | Problem], catalog: Catalog, problems: list[Problem],
) -> list[Row]:
    """The rows with `change` done for each override of their id; a value that cannot be used adds a problem."""
    changed: list[Row] = []
    for row in rows:
        now = row
        for override in by_id.get(row.id, ()):
            result = change(now, override, catalog)
            if isinstance(result, Problem):
                problems.append(result)
            else:
                now = result
        changed.append(now)
    return changed


def change_material(row: ln.MaterialRow, override: Override, catalog: Catalog) -> ln.MaterialRow | Problem:
    """A part's row with another quantity, part or unit price, or dropped; a stop where that cannot be."""
    if override.what == "part":
        return _other_part(row, override, catalog)
    if override.what not in ("quantity", "price", "drop"):
        return _cannot(override, "a part's line", "quantity, part, price or drop")
    value = ZERO if override.what == "drop" else _value(override)
    if isinstance(value, Problem):
        return value
    if override.what == "price":
        return replace(row, override_price=round_to(value, 4), because=(*row.because, _because(override, ZERO)))
    if row.unit == "each" and value != ceil(value):
        return stop(override.where, "override-value", f"'{override.value}' is not a whole number of pieces.",
                    "This part is counted in pieces: type a whole number.")
    need = round_to(value, 3)
    return replace(row, need=need, because=(*row.because, _because(override, need - row.need)))


def _other_part(row: ln.MaterialRow, override: Override, catalog: Catalog) -> ln.MaterialRow | Problem:
    part = catalog.parts.get(override.value.strip())
    if part is None:
        close = close_to(override.value, catalog.parts)
        return stop(override.where, "unknown-part", f"'{override.value}' is not a part of the catalogue.",
                    f"Type one of {close}." if close else "Type a part number of parts.csv.")
    if part.unit != row.unit:
        return stop(override.where, "override-value", f"'{part.part}' is sold by '{part.unit}', and this line is "
                    f"counted in '{row.unit}'.", "Type a part that is sold in the same unit.")
    return replace(row, id=ln.row_id(part.part, row.room, row.phase), part=part.part,
                   because=(*row.because, _because(override, ZERO)))


def change_labour(row: ln.LabourRow, override: Override, catalog: Catalog) -> ln.LabourRow | Problem:  # noqa: ARG001
    """A task's row with another number of units or hours, or dropped; a stop where that cannot be."""
    if override.what not in ("quantity", "hours", "drop"):
        return _cannot(override, "a task's line", "quantity, hours or drop")
    value = ZERO if override.what == "drop" else _value(override)
    if isinstance(value, Problem):
        return value
    units, hours = row.units, round_to(value, 2)
    if override.what != "hours":
        if value and not row.units:
            return _cannot(override, "a task's line that counts nothing", "hours or drop")
        units = round_to(value, 3)
        hours = round_to(row.hours * units / row.units, 2) if row.units else ZERO
    # The estimator moves the middle; low and high keep their distance from it in proportion.
    low, likely, high = (
        round_to(part * hours / row.hours, 2) if row.hours else hours for part in (row.low, row.likely, row.high)
    )
    return replace(row, units=units, hours=hours, low=low, likely=likely, high=high,
                   because=(*row.because, _because(override, units - row.units)))


def _value(override: Override) -> Decimal | Problem:
    value = parse(override.value)
    if value is not None and 0 <= value <= MOST:
        return value
    return stop(override.where, "override-value", f"'{override.value}' is not a value that '{override.what}' can "
                f"have; allowed is a number from 0 to {MOST:,}.", "Type a plain number such as 12.5.")


def _cannot(override: Override, of: str, allowed: str) -> Problem:
    return stop(override.where, "override-not-possible", f"'{override.what}' cannot be replaced in {of} "
                f"('{override.id}').", f"Type {allowed}.")


def _because(override: Override, difference: Decimal) -> ln.Reason:
    return ln.Reason("override", override.where, override.id, (override.where,), difference)


def stale_overrides(
    overrides: Sequence[Override], options: Iterable[ln.Rows], fact_ids: Collection[str],
) -> tuple[Problem, ...]:
    """A warning for each override whose id is a row of no option and no fact's: ask once, with every option's rows."""
    known = set(fact_ids)
    for rows in options:
        named = [(row.id, row.because) for row in rows.materials] + [(row.id, row.because) for row in rows.labour]
        for id, because in named:
            known |= {id, *(reason.fact for reason in because if reason.rule == "override")}
    return tuple(_stale(override, known) for override in overrides if override.id not in known)


def _stale(override: Override, known: Collection[str]) -> Problem:
    pieces = {piece for piece in override.id.split("/") if piece}
    close = close_to(override.id, [name for name in known if pieces & set(name.split("/"))] or known)
    return warning(override.where, "stale-override",
                   f"No line and no fact has the id '{override.id}' any more; this correction changes nothing.",
                   f"Type one of {close}, or delete the row." if close else "Take an id from Why, or delete the row.")


def close_to(typed: str, known: Iterable[str]) -> str:
    """Known words that look like what was typed, in quotes and by comma; "" for none."""
    from difflib import get_close_matches  # only here: most jobs have nothing mistyped
    return ", ".join(f"'{name}'" for name in get_close_matches(typed, sorted(known)))

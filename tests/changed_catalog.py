"""The demo catalogue with one thing changed, for tests that provoke a check."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Any, TypeVar

from msgspec.structs import replace

from quoting.catalog.records import Catalog, OptionSetting
from quoting.problems import Cell
from quoting.tables.decision import Standards

V = TypeVar("V")


def with_number(
    catalog: Catalog, item: str, value: str, standard: str = "head_end", answer: str = "value"
) -> Catalog:
    """With another number for one item of a standard, standards/head_end.csv where none is named."""
    def changed(row: Any) -> Any:
        if row.answer.asked["item"] != item:
            return row
        return replace(row, answer=replace(row.answer, values={answer: Decimal(value)}))

    table = catalog.standards.tables[standard]
    assert any(row.answer.asked["item"] == item for row in table.rows), item
    tables = {**catalog.standards.tables, standard: replace(table, rows=tuple(map(changed, table.rows)))}
    return replace(catalog, standards=Standards(tables.values()))


def with_specs(catalog: Catalog, sheet: str, change: Callable[[Any], Any]) -> Catalog:
    """With every row of a spec sheet changed."""
    return replace(catalog, **{sheet: changed(getattr(catalog, sheet), change)})


def changed(rows: Mapping[str, V], change: Callable[[V], V]) -> dict[str, V]:
    """Every record changed."""
    return {name: change(row) for name, row in rows.items()}


def with_role(catalog: Catalog, role: str, *parts: str) -> Catalog:
    """With these parts for a role in every option; without parts, without the role."""
    roles = {key: row for key, row in catalog.roles.items() if key[0] != role}
    if parts:
        old = next(row for (name, _), row in catalog.roles.items() if name == role)
        roles[role, ""] = replace(old, gauge_system="", parts=dict.fromkeys(catalog.options, parts))
    return replace(catalog, roles=roles)


def with_setting(catalog: Catalog, name: str, value: str) -> Catalog:
    """With one setting for every option."""
    setting = OptionSetting(name=name, values=dict.fromkeys(catalog.options, value), where=Cell("options.csv"))
    return replace(catalog, settings={**catalog.settings, name: setting})

"""What a column's heading means: the field it fills or tests, and the factor from its unit to the field's."""

from __future__ import annotations

import functools
import types
from collections.abc import Iterable
from decimal import Decimal
from typing import Literal, Union, get_args, get_origin, get_type_hints

from quoting.tables.conditions import FieldKind
from quoting.units import HEADING_UNITS, MM_PER_IN, split_suffix


def match_heading(heading: str, names: Iterable[str]) -> tuple[str, float] | None:
    """The name that a heading stands for and the factor to its unit: `("ceiling_height_m", 0.3048)` for
    "ceiling_height_ft"; None where no name fits. Case, and spaces for underscores, are forgiven.
    """
    wanted = "_".join(heading.strip().lower().split())
    known = tuple(names)
    if wanted in known:
        return wanted, 1.0
    stem, suffix = split_suffix(wanted)
    if not suffix:
        return None
    for name in known:
        own_stem, own_suffix = split_suffix(name)
        factor = unit_factor(suffix, own_suffix) if own_stem == stem else None
        if factor is not None:
            return name, factor
    return None


def unit_factor(unit: str, own: str) -> float | None:
    """How many of `own` are in one `unit`; None where they are not of one kind.

    >>> unit_factor("in", "mm"), unit_factor("ft", "ohm")
    (25.4, None)
    """
    if (unit, own) == ("in", "mm"):
        return MM_PER_IN
    one, other = _base(unit), _base(own)
    if one is None or other is None or one[0] != other[0]:
        return None
    return 1.0 if unit == own else float(f"{one[1] / other[1]:.12g}")


def _base(unit: str) -> tuple[str, float] | None:
    return ("m", 0.001) if unit == "mm" else HEADING_UNITS.get(unit)


def type_hints(cls: type) -> dict[str, object]:
    """The fields of a record with their types, the inherited ones first."""
    return _type_hints(cls)


@functools.cache
def _type_hints(cls: type) -> dict[str, object]:
    return get_type_hints(cls)


def field_kinds(cls: type) -> dict[str, FieldKind]:
    """What a condition column may test of a record: its scalar fields and their kinds."""
    return _field_kinds(cls)


@functools.cache
def _field_kinds(cls: type) -> dict[str, FieldKind]:
    kinds = {name: kind_of_type(hint) for name, hint in type_hints(cls).items()}
    return {name: kind for name, kind in kinds.items() if kind is not None}


def kind_of_type(hint: object) -> FieldKind | None:
    """A type's kind as a table sees it; None for what is not a scalar. `X | None` counts as X."""
    if get_origin(hint) in (Union, types.UnionType):
        hint = next((part for part in get_args(hint) if part is not type(None)), hint)
    if get_origin(hint) is Literal:
        return tuple(str(choice) for choice in get_args(hint))
    if hint is bool:
        return "yes/no"
    if hint in (int, float, Decimal):
        return "number"
    return "text" if hint is str else None

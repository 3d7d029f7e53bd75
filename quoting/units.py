"""Lengths, areas and temperatures in other units, and the one crossing from float to Decimal."""

from __future__ import annotations

import math
from decimal import ROUND_HALF_UP, Decimal
from typing import Literal

UnitSystem = Literal["imperial", "metric"]

M_PER_FT = 0.3048  # exact since the 1959 agreement on the international yard and pound
M_PER_IN = 0.0254
MM_PER_IN = 25.4
KG_PER_LB = 0.45359237  # exact, by the same agreement
CM3_PER_IN3 = 2.54 ** 3
M2_PER_FT2 = M_PER_FT * M_PER_FT

# Suffix of a numeric field or heading -> (the field's own suffix, factor to it).
# A rule column or a standards column may be headed in any unit of the same kind.
HEADING_UNITS: dict[str, tuple[str, float]] = {
    "m": ("m", 1.0), "ft": ("m", M_PER_FT), "in": ("m", M_PER_IN), "cm": ("m", 0.01),
    "mm": ("mm", 1.0), "m2": ("m2", 1.0), "ft2": ("m2", M2_PER_FT2), "mm2": ("mm2", 1.0),
    "cm3": ("cm3", 1.0), "in3": ("cm3", CM3_PER_IN3),
    "hours": ("hours", 1.0), "min": ("hours", 1 / 60),
    "ohm": ("ohm", 1.0), "db": ("db", 1.0), "w": ("w", 1.0), "ma": ("ma", 1.0), "v": ("v", 1.0), "a": ("a", 1.0),
    "kg": ("kg", 1.0), "lb": ("kg", KG_PER_LB), "deg": ("deg", 1.0), "years": ("years", 1.0),
    "days": ("days", 1.0), "rate": ("rate", 1.0), "u": ("u", 1.0), "awg": ("awg", 1.0),
}

# Units that a part or a task may be sold or counted in -> (dimension, metres or hours in one).
SALE_UNITS: dict[str, tuple[str, float]] = {
    "each": ("", 1.0), "ft": ("m", M_PER_FT), "m": ("m", 1.0), "hour": ("hours", 1.0),
}


def to_quantity(value: float | Decimal, unit: str, places: int = 3) -> Decimal:
    """An amount in metres, hours or pieces, in the unit that the part is sold in, rounded half up to `places`.

    The one crossing from float to Decimal. Lengths come in metres. Rounding comes before anything is rounded
    up to whole packs, so that 100.0000001 m never buys a second spool.

    >>> to_quantity(30.48, "ft")
    Decimal('100.000')
    """
    _, per_unit = SALE_UNITS[unit]
    exact = Decimal(repr(value)) if isinstance(value, float) else value
    in_unit = exact / Decimal(repr(per_unit)) if per_unit != 1.0 else exact
    return in_unit.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_UP)


def split_suffix(name: str) -> tuple[str, str]:
    """`("ceiling_height", "ft")` for "ceiling_height_ft"; the suffix is "" where the name has no unit."""
    stem, _, suffix = name.rpartition("_")
    return (stem, suffix) if stem and suffix in HEADING_UNITS else (name, "")


def show_length(length_m: float, system: UnitSystem, places: int = 1) -> str:
    """A length for the office and the crew: `12'6"` or `3.81 m`."""
    if system == "metric":
        return f"{length_m:.{max(places, 2)}f} m"
    inches = round(length_m / M_PER_IN)
    return f"{inches // 12}'{inches % 12}\"" if inches % 12 else f"{inches // 12}'"


def tenths_below(length_m: float, system: UnitSystem) -> float:
    """A planned length in the job's unit to one place, never more than it is: what is cut then never looks too short.

    >>> tenths_below(14.09, "metric"), tenths_below(14.1, "metric"), tenths_below(3.05, "imperial")
    (14.0, 14.1, 10.0)
    """
    return math.floor(length_m / (M_PER_FT if system == "imperial" else 1.0) * 10 + 1e-6) / 10

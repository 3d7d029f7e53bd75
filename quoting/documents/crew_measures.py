"""Measures as the crew reads them: lengths, holes, depths, weights of what is mounted."""

from __future__ import annotations

import math
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from quoting.units import M_PER_FT, MM_PER_IN, UnitSystem

NONE = "–"
BLANK = "________"  # to be written in on site


def unit_word(system: UnitSystem) -> str:
    """The crew's unit of length."""
    return "m" if system == "metric" else "ft"


def plain_length(length_m: float, system: UnitSystem) -> str:
    """A length as a number alone, to one place: the heading has the unit.

    >>> plain_length(16.1544, "imperial"), plain_length(16.5, "metric")
    ('53', '16.5')
    """
    return f"{round(length_m / (M_PER_FT if system == 'imperial' else 1.0), 1):g}"


def planned_length(run: Mapping[str, Any], system: UnitSystem) -> str:
    """A planned length as a number alone, to as many places as what is cut can be worked again from.

    A cable that is there already gets a dash: nobody knows its length.

    >>> feet = {"planned_m": 19.751, "waste_rate": 0.05, "length_m": 69 * 0.3048, "reused": False}
    >>> planned_length(feet, "imperial"), planned_length({**feet, "planned_m": 3.0525, "length_m": 3.5}, "metric")
    ('64.8', '3.1')
    >>> metres = {"planned_m": 13.6364, "waste_rate": 0.1, "length_m": 15.5, "reused": False}
    >>> planned_length(metres, "metric")  # 13.6 x 1.1 = 14.96, which would be cut at 15
    '13.64'
    >>> planned_length({**metres, "length_m": 0.0, "reused": True}, "metric")
    '–'
    """
    if run["reused"]:
        return NONE
    unit_m, step = (M_PER_FT, 1.0) if system == "imperial" else (1.0, 0.5)
    shown = 0.0
    for places in (1, 2, 3):
        shown = math.floor(run["planned_m"] / unit_m * 10 ** places + 0.5) / 10 ** places
        again = math.ceil(shown * (1 + run["waste_rate"]) / step - 1e-6) * step
        if abs(again - run["length_m"] / unit_m) < step / 2:
            return f"{shown:g}"
    return f"{shown:g}"


def small_length(length_mm: float, system: UnitSystem) -> str:
    """A hole or a depth: millimetres, on an imperial job inches to the nearest 1/16 before them.

    >>> small_length(210, "imperial"), small_length(210, "metric"), small_length(0, "metric")
    ('8 1/4" (210 mm)', '210 mm', '–')
    """
    if not length_mm:
        return NONE
    if system == "metric":
        return f"{length_mm:.0f} mm"
    return f"{bit_size(length_mm, system)} ({length_mm:.0f} mm)"


def bit_size(length_mm: float, system: UnitSystem) -> str:
    """A bit, or what goes through a hole: in one unit alone; a blank where nobody knows it.

    >>> bit_size(31.75, "imperial"), bit_size(18, "metric"), bit_size(0, "metric")
    ('1 1/4"', '18 mm', '________')
    """
    if not length_mm:
        return BLANK
    if system == "metric":
        return f"{length_mm:.0f} mm"
    whole, sixteenths = divmod(round(length_mm / MM_PER_IN * 16), 16)
    part = Fraction(sixteenths, 16)
    inches = " ".join(str(piece) for piece in (whole, part) if piece) or "0"
    return f'{inches}"'

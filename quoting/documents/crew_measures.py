"""Small measures as the crew reads them: holes, depths, weights of what is mounted."""

from __future__ import annotations

from fractions import Fraction

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

"""Numbers as people type them: stray signs, decimal commas, thousands; and lengths with their units."""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction

from quoting.units import M_PER_FT, M_PER_IN, UnitSystem

# Several digits in a group so long that no measure needs them are refused before anything computes with them.
_PLAIN = re.compile(r"[+-]?(?:\d{1,15}(?:\.\d{0,15})?|\.\d{1,15})$")
_GROUPED_COMMA = re.compile(r"[+-]?\d{1,3}(?:,\d{3}){2,4}$")
_GROUPED_SPACE = re.compile(r"[+-]?\d{1,3}(?: \d{3}){1,4}(?:[.,]\d{1,15})?$")
_ONE_COMMA = re.compile(r"[+-]?\d{0,15},\d{1,15}$")
_UNCLEAR = re.compile(r"[+-]?\d{1,3},\d{3}$")
_COMMA_POINT = re.compile(r"[+-]?\d{1,3}(?:,\d{3}){1,4}\.\d{1,15}$")
_POINT_COMMA = re.compile(r"[+-]?\d{1,3}(?:\.\d{3}){1,4},\d{1,15}$")


class Unclear(ValueError):
    """A number that may mean two things; the text says which ones to type."""


def parse_number(text: str) -> Decimal | None:
    """A number typed as text; None for anything else. Unclear for a comma before exactly three digits.

    >>> parse_number("3,81"), parse_number("1 250,50"), parse_number("1,250.50"), parse_number("about 3")
    (Decimal('3.81'), Decimal('1250.50'), Decimal('1250.50'), None)
    """
    text = text.replace("−", "-")
    if _PLAIN.match(text):
        return Decimal(text)
    if _UNCLEAR.match(text):
        raise Unclear(both_readings(text))
    if _GROUPED_COMMA.match(text) or _COMMA_POINT.match(text):
        return Decimal(text.replace(",", ""))
    if _GROUPED_SPACE.match(text):
        return Decimal(text.replace(" ", "").replace(",", "."))
    if _ONE_COMMA.match(text):
        return Decimal(text.replace(",", "."))
    if _POINT_COMMA.match(text):
        return Decimal(text.replace(".", "").replace(",", "."))
    return None


def both_readings(text: str) -> str:
    """What to type instead of a number that may mean two things.

    >>> both_readings("1,250")
    '1250 or 1.25'
    """
    digits = text.replace(",", ".")
    whole, _, after = digits.partition(".")
    return f"{whole}{after} or {whole}.{after.rstrip('0') or '0'}"


_UNIT_M: dict[str, tuple[UnitSystem, Fraction]] = {
    **dict.fromkeys(("'", "ft", "feet", "foot"), ("imperial", Fraction(repr(M_PER_FT)))),
    **dict.fromkeys(('"', "in", "inch", "inches"), ("imperial", Fraction(repr(M_PER_IN)))),
    **dict.fromkeys(("m", "metre", "metres", "meter", "meters"), ("metric", Fraction(1))),
    "cm": ("metric", Fraction(1, 100)), "mm": ("metric", Fraction(1, 1000)),
}
_FT = _UNIT_M["ft"][1]
_IN = _UNIT_M["in"][1]
_QUOTES = str.maketrans({"’": "'", "‘": "'", "′": "'", "´": "'", "`": "'", "”": '"', "“": '"', "″": '"'})
_TOKEN = re.compile(r"""
    \s*-?\s*                                                    # a dash or a space between feet and inches
    (?P<number>\d{1,3}(?:\ \d{3})+(?![\d/])|[\d.,]*\d[.,]?(?![\d/]))?  # 12   12.5   12,5   1 250
    (?:\s*-?\s*(?P<over>\d{1,3})/(?P<under>\d{1,3}))?           # 1/2
    \s*(?P<unit>'|"|[A-Za-z]+\.?)?""", re.VERBOSE)


def parse_length(text: str, bare_m: float) -> float | None:
    """A length in metres; None for anything else. A bare number counts `bare_m` metres each. [m]

    Feet and inches, metres, centimetres, millimetres, inch fractions. Units descend and are of one system. Unclear
    for a comma before exactly three digits.

    >>> round(parse_length("12'6\\"", 1.0), 4), parse_length("3,81", 1.0), parse_length("381 cm", 1.0)
    (3.81, 3.81, 3.81)
    """
    text = text.translate(_QUOTES).replace("''", '"').strip()
    sign = -1 if text[:1] in "-−" and text else 1
    tokens = _tokens(text[1:] if sign < 0 or text.startswith("+") else text)
    if tokens is None:
        return None
    metres = _add_up(tokens, Fraction(repr(bare_m)))
    return None if metres is None else float(sign * metres)


def _tokens(text: str) -> list[tuple[Fraction, str]] | None:
    tokens: list[tuple[Fraction, str]] = []
    at = 0
    while at < len(text):
        found = _TOKEN.match(text, at)
        if not found or found.end() == at or len(tokens) == 2:
            return None
        number, over, under = found["number"], found["over"], found["under"]
        if not number and not over:
            return None
        value = _fraction(number, over, under)
        if value is None:
            return None
        tokens.append((value, (found["unit"] or "").rstrip(".").lower()))
        at = found.end()
        if not text[at:].strip():
            break
    return tokens or None


def _fraction(number: str | None, over: str | None, under: str | None) -> Fraction | None:
    parsed = parse_number(number) if number else Decimal(0)
    if parsed is None or (over and (int(over) >= int(under or 0) or parsed != int(parsed))):
        return None
    return Fraction(parsed) + (Fraction(int(over), int(under or 1)) if over else 0)


def _add_up(tokens: list[tuple[Fraction, str]], bare: Fraction) -> Fraction | None:
    total = Fraction(0)
    before: tuple[UnitSystem, Fraction] | None = None
    for value, word in tokens:
        if word:
            unit = _UNIT_M.get(word)
        elif before is None:
            unit = ("metric", bare) if len(tokens) == 1 else None
        else:
            unit = ("imperial", _IN) if before[1] == _FT else None  # 12'6
        if unit is None or (before and (unit[0] != before[0] or unit[1] >= before[1] or value * unit[1] >= before[1])):
            return None
        total += value * unit[1]
        before = unit
    return total

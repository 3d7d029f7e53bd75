"""A quantity cell: arithmetic on fact fields, checked for dimension, compiled to a function of one fact.

Numbers, numbers with a unit stuck on (`4.5ft`), fact fields, `+ - * / ( )`, `ceil() max() min()`. Values are Decimals
rounded to six places, so that 30 ft over 10 ft is 3 and never the next whole number after it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal, DecimalException

from quoting.money import ONE, ZERO, ceil, round_to
from quoting.tables.conditions import FieldKind
from quoting.units import HEADING_UNITS, split_suffix

Dimension = tuple[int, int]  # powers of length and of hours
Evaluate = Callable[[object], Decimal]

PLAIN: Dimension = (0, 0)
DIMENSIONS: dict[str, Dimension] = {"": PLAIN, "m": (1, 0), "hours": (0, 1)}  # as units.SALE_UNITS names them
PLACES = 6
LIMIT = Decimal(10) ** 9
LONGEST = 200

_CONSTANT_UNITS = {**{unit: HEADING_UNITS[unit] for unit in ("m", "ft", "in", "cm", "hours", "min")},
                   "mm": ("m", 0.001), "hour": ("hours", 1.0)}
_TOKEN = re.compile(r"\s*(?:(\d{1,9}(?:\.\d{1,9})?)([A-Za-z]*)|([A-Za-z_]\w*)|([-+*/(),]))", re.ASCII)
_FUNCTIONS = ("ceil", "max", "min")


@dataclass(frozen=True, slots=True)
class Quantity:
    """A compiled quantity. `dimension` is that of its result: pieces, metres or hours."""

    text: str
    dimension: Dimension
    fields: tuple[str, ...]
    evaluate: Evaluate = field(compare=False, repr=False)

    def amount(self, fact: object) -> Decimal | str:
        """How much of it for one fact, in pieces, metres or hours; or why there is no amount, as a fragment."""
        try:
            value = self.evaluate(fact)
        except ZeroDivisionError:
            return "divides by zero"
        except DecimalException:
            return "comes to no number"
        return value if abs(value) < LIMIT else "comes to more than any job can use"


class _Refused(Exception):
    """What is wrong with a quantity, as a sentence fragment."""


@dataclass(frozen=True, slots=True)
class _Part:
    """A piece of the arithmetic: its dimension and its function."""

    dimension: Dimension
    evaluate: Evaluate


def parse_quantity(text: str, kinds: Mapping[str, FieldKind], unit: str | None) -> Quantity | str:
    """The quantity that a cell holds, or what is wrong with it as a sentence fragment. An empty cell is 1.

    `kinds` are the fact's fields; `unit` is what the result must be: "" pieces, "m" metres, "hours"; None: any
    of these.
    """
    cell = text.strip()
    if len(cell) > LONGEST:
        return f"the quantity has {len(cell)} characters; {LONGEST} are allowed"
    try:
        parser = _Parser(_tokens(cell or "1"), kinds)
        whole = parser.sum()
        parser.expect_end()
        _check_result(cell, whole.dimension, unit)
    except _Refused as refused:
        return str(refused)
    return Quantity(cell, whole.dimension, tuple(dict.fromkeys(parser.fields)), whole.evaluate)


def _check_result(cell: str, dimension: Dimension, unit: str | None) -> None:
    wanted = tuple(DIMENSIONS.values()) if unit is None else (DIMENSIONS[unit],)
    if dimension in wanted:
        return
    asked = " or ".join(_name(each) for each in wanted)
    if not cell:
        raise _Refused(f"an empty quantity is 1 piece, and this is counted in {asked}; write how much")
    raise _Refused(f"'{cell}' comes to {_name(dimension)}, and this is counted in {asked}")


def _name(dimension: Dimension) -> str:
    names = {PLAIN: "pieces", (1, 0): "metres or feet", (0, 1): "hours", (2, 0): "length times length"}
    return names.get(dimension, f"length to the power {dimension[0]}, hours to the power {dimension[1]}")


def _tokens(cell: str) -> list[tuple[str, str]]:
    """Pairs of text and unit; a unit only beside a number."""
    found: list[tuple[str, str]] = []
    at = 0
    while at < len(cell):
        token = _TOKEN.match(cell, at)
        if not token:
            raise _Refused(f"'{cell}' is not arithmetic from '{cell[at:].strip()[:10]}' on; "
                           "write numbers, fields, + - * / ( ), ceil() max() min()")
        number, unit, name, sign = token.groups()
        found.append((number or name or sign, unit or ""))
        at = token.end()
    return found


class _Parser:
    """Recursive descent over the tokens of one cell."""

    def __init__(self, tokens: list[tuple[str, str]], kinds: Mapping[str, FieldKind]) -> None:
        self._tokens = tokens
        self._kinds = kinds
        self._at = 0
        self._depth = 0
        self.fields: list[str] = []

    def sum(self) -> _Part:
        part = self._product()
        while self._next() in ("+", "-"):
            sign = self._take()
            part = _added(part, self._product(), sign)
        return part

    def expect_end(self) -> None:
        if self._at < len(self._tokens):
            raise _Refused(f"'{self._next()}' stands where the quantity should end")

    def _next(self) -> str:
        return self._tokens[self._at][0] if self._at < len(self._tokens) else ""

    def _take(self, wanted: str = "") -> str:
        text = self._next()
        if not text or (wanted and text != wanted):
            raise _Refused(f"'{wanted or 'a value'}' is missing before '{text}'" if text
                           else f"the quantity ends where {repr(wanted) if wanted else 'a value'} should follow")
        self._at += 1
        return text

    def _product(self) -> _Part:
        part = self._value()
        while self._next() in ("*", "/"):
            sign = self._take()
            part = _multiplied(part, self._value(), sign)
        return part

    def _value(self) -> _Part:
        self._depth += 1
        if self._depth > 20:
            raise _Refused("the quantity nests more than 20 deep")
        part = self._inner_value()
        self._depth -= 1
        return part

    def _inner_value(self) -> _Part:
        unit = self._tokens[self._at][1] if self._at < len(self._tokens) else ""
        text = self._take()
        if text == "-":
            return _multiplied(_Part(PLAIN, lambda _: -ONE), self._value(), "*")
        if text == "(":
            part = self.sum()
            self._take(")")
            return part
        if text[0].isdigit():
            return _constant(text, unit)
        if text in _FUNCTIONS and self._next() == "(":
            return self._call(text)
        if text[0].isalpha() or text[0] == "_":
            return self._field(text)
        raise _Refused(f"'{text}' stands where a value should")

    def _call(self, name: str) -> _Part:
        self._take("(")
        given = [self.sum()]
        while self._next() == ",":
            self._take()
            given.append(self.sum())
        self._take(")")
        return _rounded_up(given) if name == "ceil" else _extreme(name, given)

    def _field(self, name: str) -> _Part:
        kind = self._kinds.get(name)
        if kind is None:
            numbers = [known for known, its in self._kinds.items() if its in ("number", "yes/no")]
            raise _Refused(f"'{name}' is not a field of this fact; its numbers are {', '.join(numbers)}")
        if kind not in ("number", "yes/no"):
            raise _Refused(f"'{name}' holds words, not a number")
        self.fields.append(name)
        return _Part(dimension_of(name), lambda fact: _decimal(getattr(fact, name)))


def dimension_of(name: str) -> Dimension:
    """A field's dimension by its suffix: `_m` length, `hours` and `_hours` hours, anything else a plain number."""
    suffix = "hours" if name == "hours" else split_suffix(name)[1]
    return DIMENSIONS.get(suffix, PLAIN)


def _decimal(value: float | int) -> Decimal:
    return round_to(Decimal(repr(value)), PLACES) if isinstance(value, float) else Decimal(value)


def _constant(text: str, unit: str) -> _Part:
    if unit and unit not in _CONSTANT_UNITS:
        raise _Refused(f"'{text}{unit}' has a unit that is not one of {', '.join(_CONSTANT_UNITS)}")
    own, factor = _CONSTANT_UNITS[unit] if unit else ("", 1.0)
    value = Decimal(text) * Decimal(repr(factor)) if own else Decimal(text)
    return _Part(DIMENSIONS[own], lambda _: value)


def _added(left: _Part, right: _Part, sign: str) -> _Part:
    _same_dimension(sign, (left, right))
    first, second = left.evaluate, right.evaluate
    if sign == "+":
        return _Part(left.dimension, lambda fact: first(fact) + second(fact))
    return _Part(left.dimension, lambda fact: first(fact) - second(fact))


def _multiplied(left: _Part, right: _Part, sign: str) -> _Part:
    first, second = left.evaluate, right.evaluate
    (length, hours), (more_length, more_hours) = left.dimension, right.dimension
    if sign == "*":
        return _Part((length + more_length, hours + more_hours), lambda fact: first(fact) * second(fact))
    return _Part((length - more_length, hours - more_hours), lambda fact: first(fact) / _divisor(second(fact)))


def _divisor(value: Decimal) -> Decimal:
    if value == ZERO:
        raise ZeroDivisionError
    return value


def _rounded_up(given: list[_Part]) -> _Part:
    if len(given) != 1:
        raise _Refused(f"ceil() takes one value, not {len(given)}")
    [part] = given
    if part.dimension != PLAIN:
        raise _Refused(f"ceil() counts whole pieces, and its value is in {_name(part.dimension)}; divide it first, "
                       "as in ceil(length_m / 4.5ft)")
    inner = part.evaluate
    return _Part(PLAIN, lambda fact: ceil(round_to(inner(fact), PLACES)))


def _extreme(name: str, given: list[_Part]) -> _Part:
    if len(given) < 2:
        raise _Refused(f"{name}() takes two values or more")
    _same_dimension(f"{name}()", given)
    inner = tuple(part.evaluate for part in given)
    choose = max if name == "max" else min
    return _Part(given[0].dimension, lambda fact: choose(each(fact) for each in inner))


def _same_dimension(sign: str, parts: tuple[_Part, ...] | list[_Part]) -> None:
    for part in parts[1:]:
        if part.dimension != parts[0].dimension:
            raise _Refused(f"'{sign}' joins {_name(parts[0].dimension)} and {_name(part.dimension)}; "
                           "give both the same unit, such as 0m or 4.5ft")

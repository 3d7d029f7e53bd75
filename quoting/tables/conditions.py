"""One condition cell of a table becomes one test on one value.

The grammar is the simple unary test of the open decision-table standard (DMN), unquoted: empty or `-` any; `a, b`
one of; `not a`; `yes`, `no`; `3`, `> 3`, `>= 3`, `< 3`, `<= 3`, `2.4..3` (both ends included). In a column of words,
`none` is the empty text, so that `not none` asks for a part to be named.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Literal

FieldKind = Literal["text", "number", "yes/no"] | tuple[str, ...]
Test = Callable[[object], bool]

NUMBER_HELP = "write 3, >= 3, < 3 or 2.4..3"
TOLERANCE = 5e-7  # half of the sixth place, to which rules round; 14 ft is 14 ft whichever way it was computed

_NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)$", re.ASCII)
_COMPARED = re.compile(r"(>=|<=|>|<|=)\s*(.*)$", re.DOTALL)
_NEGATED = re.compile(r"not\b\s*", re.IGNORECASE)
_YES, _NO = ("yes", "true"), ("no", "false")


@dataclass(frozen=True, slots=True)
class Span:
    """Numbers from `low` to `high`, in the field's own unit; an open end is not included."""

    low: float
    high: float
    low_open: bool = False
    high_open: bool = False

    @property
    def empty(self) -> bool:
        """Whether no number lies in it, as in `5..3`."""
        return self.low > self.high or (self.low == self.high and (self.low_open or self.high_open))


@dataclass(frozen=True, slots=True)
class Condition:
    """A test on one value. `values` are what a column of words or of yes/no names; `spans` what a number column does.

    Neither: anything matches. Compared and shown by its text; `test` is the compiled form.
    """

    text: str
    kind: FieldKind
    values: tuple[str | bool, ...] = ()
    spans: tuple[Span, ...] = ()
    negated: bool = False
    test: Test = field(default=lambda _: True, compare=False, repr=False)

    @property
    def any(self) -> bool:
        """Whether every value matches."""
        return not self.values and not self.spans

    def matches(self, value: object) -> bool:
        """Whether the value passes. Numbers equal to six places are equal; words match in any case."""
        return self.test(value)


def parse_condition(text: str | None, kind: FieldKind, factor: float = 1.0) -> Condition | str:
    """The condition that a cell holds, or what is wrong with it as a sentence fragment that says what to write.

    `factor` turns the heading's unit into the field's (0.3048 for a `_ft` column over a `_m` field).
    """
    cell = (text or "").strip()
    if cell in ("", "-"):
        return Condition("", kind)
    rest, negated = cell, False
    found = _NEGATED.match(cell)
    if found:
        rest, negated = cell[found.end():], True
        if not rest.strip(" ,"):
            return f"'{cell}' does not say what is excluded; write the value after 'not'"
    if kind == "number":
        return _number_condition(cell, rest, negated, factor)
    items = tuple(item.strip() for item in rest.split(","))
    if "" in items:
        return f"'{cell}' has a comma with nothing beside it; write values with one comma between them"
    if kind == "yes/no":
        return _yes_no_condition(cell, items, negated)
    return _word_condition(cell, items, negated, kind)


def _yes_no_condition(cell: str, items: tuple[str, ...], negated: bool) -> Condition | str:
    wanted: set[bool] = set()
    for item in items:
        if item.lower() not in _YES + _NO:
            return f"'{cell}' is not a yes/no test; write yes, no or -"
        wanted.add((item.lower() in _YES) != negated)
    if len(wanted) == 2:
        return Condition("", "yes/no")
    [answer] = wanted
    return Condition(cell, "yes/no", (answer,), (), False, lambda value: bool(value) is answer)


def _word_condition(cell: str, items: tuple[str, ...], negated: bool, kind: FieldKind) -> Condition | str:
    if any(_COMPARED.match(item) for item in items):
        return f"'{cell}' compares numbers, and this column holds words; write a word, 'a, b' or 'not a'"
    chosen: tuple[str, ...] = items
    if isinstance(kind, tuple):
        known = {choice.casefold() or "none": choice or "none" for choice in kind}
        strange = [item for item in items if item.casefold() not in known]
        if strange:
            return f"'{strange[0]}' is not one of {', '.join(known.values())}"
        chosen = tuple(known[item.casefold()] for item in items)
    wanted = frozenset(item.casefold() for item in chosen) | ({""} if "none" in map(str.casefold, chosen) else set())
    return Condition(cell, kind, chosen, (), negated, _word_test(wanted, negated))


def _word_test(wanted: frozenset[str], negated: bool) -> Test:
    if negated:
        return lambda value: str(value or "").casefold() not in wanted
    return lambda value: str(value or "").casefold() in wanted


def _number_condition(cell: str, rest: str, negated: bool, factor: float) -> Condition | str:
    if re.search(r"\d,\d", rest):
        return f"'{cell}' may be one number or two; write 2.4 for one number, '2, 4' for either of two"
    spans: list[Span] = []
    for item in rest.split(","):
        span = _span(item.strip(), factor)
        if span is None:
            return f"'{cell}' is not a number test; {NUMBER_HELP}"
        spans.append(span)
    return Condition(cell, "number", (), tuple(spans), negated, _number_test(tuple(spans), negated))


def _span(item: str, factor: float) -> Span | None:
    """What one number test covers; None where it is not one."""
    found = _COMPARED.match(item)
    if found:
        bound = _bound(found.group(2), factor)
        if bound is None:
            return None
        sign = found.group(1)
        if sign == "=":
            return Span(bound, bound)
        low, high = (bound, math.inf) if sign[0] == ">" else (-math.inf, bound)
        return Span(low, high, sign == ">", sign == "<")
    start, dots, end = item.partition("..")
    low_bound, high_bound = _bound(start, factor), _bound(end if dots else start, factor)
    return None if low_bound is None or high_bound is None else Span(low_bound, high_bound)


def _bound(text: str, factor: float) -> float | None:
    if not _NUMBER.match(text.strip()):
        return None
    value = float(text)
    return value * factor if math.isfinite(value) else None


def _number_test(spans: tuple[Span, ...], negated: bool) -> Test:
    def reach(span: Span) -> tuple[float, float]:
        from_low = TOLERANCE if span.low_open else -TOLERANCE
        return span.low + from_low, span.high - (TOLERANCE if span.high_open else -TOLERANCE)

    ends = tuple(reach(span) for span in spans if not span.empty)
    if len(ends) == 1 and not negated:
        [(low, high)] = ends
        return lambda value: low <= value <= high  # type: ignore[operator]  # numbers: the heading's kind says so
    return lambda value: any(low <= value <= high for low, high in ends) != negated  # type: ignore[operator]

"""One catalogue cell's text becomes one value of a field's type, or says why it is none."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from decimal import Decimal

from msgspec import Struct

NUMBER_LIMIT = Decimal(10) ** 9

_USUAL = re.compile(r"\d{1,8}(\.\d{1,8})?$", re.ASCII)  # a number that needs no closer look
_NUMBER = re.compile(r"[+-]?(\d{1,18}(\.\d{0,18})?|\.\d{1,18})$", re.ASCII)
_DECIMAL_COMMA = re.compile(r"[+-]?\d{0,18},\d{1,18}$", re.ASCII)


class Wrong(Struct, frozen=True):
    """Why a cell's text is no value: a stable code, what is wrong, what to type."""

    code: str
    message: str
    remedy: str


def with_point(text: str) -> str:
    """A number with a decimal comma as one with a point; any other text as it is.

    >>> with_point("480,5"), with_point("12,5 ft"), with_point("a, b"), with_point("1.250,5")
    ('480.5', '12,5 ft', 'a, b', '1.250,5')
    """
    return text.replace(",", ".") if _DECIMAL_COMMA.match(text) else text


Reader = Callable[[str, float], object]


def read_number(text: str, factor: float = 1.0) -> Decimal | Wrong:
    """A plain number, exact where the heading has the field's own unit."""
    if not _NUMBER.match(text):
        return Wrong("not-a-number", f"'{text}' is not a plain number.", f"Type {_plain(text)}.")
    value = Decimal(text)
    if abs(value) >= NUMBER_LIMIT:
        return Wrong("number-too-large", f"'{text}' is larger than any number here can be.", "Type a smaller number.")
    return value if factor == 1.0 else value * Decimal(repr(factor))


def _plain(text: str) -> str:
    """What a person may have meant by a number that is not plain."""
    tidy = text.replace(" ", "").replace("_", "")
    if tidy.endswith("%") and _NUMBER.match(tidy[:-1]):
        return f"{(Decimal(tidy[:-1]) / 100).normalize():f}"
    if tidy.count(",") == 1 and _NUMBER.match(tidy.replace(",", ".")):
        return f"{tidy.replace(',', '.')} or {tidy.replace(',', '')}" if tidy[-4:-3] == "," else tidy.replace(",", ".")
    return "digits, such as 1250 or 12.5 (12,5 where semicolons part the cells)"


def read_yes(text: str, _: float = 1.0) -> bool | Wrong:
    """Yes or no; an empty cell is no."""
    word = text.lower()
    if word in ("yes", "true"):
        return True
    if word in ("", "no", "false", "-"):
        return False
    return Wrong("not-yes-no", f"'{text}' is neither yes nor no.", "Type yes or no.")


def read_date(text: str, _: float = 1.0) -> datetime.date | Wrong:
    """A date as the calendar standard writes it: 2026-01-31."""
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        return Wrong("not-a-date", f"'{text}' is not a date.", "Type year-month-day, such as 2026-01-31.")


def read_text(text: str, _: float = 1.0) -> str:
    """Text as typed; `-` is the empty text."""
    return "" if text == "-" else text


def read_count(text: str, factor: float = 1.0) -> int | Wrong:
    """A whole number, 0 or more."""
    if factor == 1.0 and len(text) < 9 and text.isascii() and text.isdigit():
        return int(text)
    value = read_amount(text, factor)
    if isinstance(value, Wrong):
        return value
    if value != int(value):
        return Wrong("not-a-whole-number", f"'{text}' is not a whole number.", "Type a whole number.")
    return int(value)


def read_float(text: str, factor: float = 1.0) -> float | Wrong:
    """A measure, 0 or more, in the field's own unit."""
    if _USUAL.match(text):
        return float(text) * factor
    value = read_amount(text, 1.0)
    return value if isinstance(value, Wrong) else float(value) * factor


def read_amount(text: str, factor: float = 1.0) -> Decimal | Wrong:
    """A number for money or quantities, 0 or more, exact."""
    if factor == 1.0 and _USUAL.match(text):
        return Decimal(text)
    value = read_number(text, factor)
    if isinstance(value, Decimal) and value < 0:
        return Wrong("negative-number", f"'{text}' is less than 0.", "Type 0 or more.")
    return value


def choice_reader(choices: tuple[str, ...]) -> Reader:
    """A reader of one of these words, in any case; "" among them means that the cell may be empty."""
    known = {choice.casefold(): choice for choice in choices}
    shown = ", ".join(choice or "(empty)" for choice in choices)

    def read(text: str, _: float) -> str | Wrong:
        found = known.get("" if text == "-" else text.casefold())
        if found is None:
            return Wrong("unknown-choice", f"'{text}' is not one of {shown}.", "Type one of them.")
        return found

    return read


READERS: dict[object, Reader] = {
    str: read_text, bool: read_yes, int: read_count, float: read_float, Decimal: read_amount,
    datetime.date: read_date,
}

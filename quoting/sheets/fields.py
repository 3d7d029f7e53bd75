"""Reads one typed value as text, choice, number, money, rate, date or length: the value, or the Problem with it."""

from __future__ import annotations

import datetime
import math
import re
import unicodedata
from collections.abc import Sequence
from decimal import Decimal
from typing import TypeVar

from quoting.problems import Cell, Problem, stop
from quoting.sheets.grid import Formula, Value
from quoting.sheets.numbers import Unclear, both_readings, parse_length, parse_number
from quoting.units import M_PER_FT, M_PER_IN, UnitSystem, show_length

NAME_LIMIT = 60
NOTE_LIMIT = 2_000

T = TypeVar("T")

_INVISIBLE = re.compile("[\u200b\u2060\ufeff\u00ad]")  # not the joiners, which hold emoji and scripts together
_CONTROL = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]")
_BLANK_WORDS = frozenset({"", "-", "–", "—"})
_ERRORS = frozenset({"#DIV/0!", "#N/A", "#NAME?", "#NULL!", "#NUM!", "#REF!", "#VALUE!", "#SPILL!", "#CALC!"})
_YES = frozenset({"yes", "y", "true", "1", "x", "✓", "✔", "☑"})
_NO = frozenset({"no", "n", "false", "0", "☐"})
_SYMBOLS = {"€": "EUR", "£": "GBP", "¥": "JPY"}
_UNIT_M = {"ft": M_PER_FT, "in": M_PER_IN, "m": 1.0, "cm": 0.01, "mm": 0.001}
_DOLLARS = frozenset({"USD", "CAD", "AUD", "NZD", "MXN", "SGD", "HKD"})


def settle(value: Value, where: Cell, heading: str) -> Value | Problem:
    """What counts as typed: a formula's stored value, text without stray and invisible characters; None where blank.

    A lone dash is blank. Problems: formula-without-value, cell-error.
    """
    if isinstance(value, Formula):
        if value.stored is None:
            return stop(
                where, "formula-without-value",
                f"{heading} holds the formula '{shown(value.text)}' and no value was stored with it.",
                "Open the workbook in a spreadsheet program and save it, or type the value itself.",
            )
        value = value.stored
    if not isinstance(value, str):
        return value
    text = tidy(value)
    if text in _ERRORS:
        return stop(where, "cell-error", f"{heading} shows the error '{text}'.", "Type the value itself.")
    return None if text in _BLANK_WORDS else text


def tidy(text: str) -> str:
    """Text with ordinary spaces, without invisible and control characters, stripped; line breaks stay."""
    text = _CONTROL.sub("", _INVISIBLE.sub("", text)).replace("\r\n", "\n").replace("\r", "\n")
    return re.sub(r"[^\S\n]+", " ", text).strip()


def is_unknown(value: Value) -> bool:
    """Whether a settled value is the `?` of a salesperson who does not know yet."""
    return value in ("?", "？", "??", "???")


def key(text: str) -> str:
    """What two spellings of one word have in common: no case, no stray spaces, hyphens or underscores.

    >>> key(" Near  Pool-Or_Shower: ")
    'near pool or shower'
    """
    text = unicodedata.normalize("NFKC", tidy(text)).casefold()
    text = re.sub("[\u200c\u200d]", "", text)
    return re.sub(r"[\s\-_‐‑–]+", " ", text).strip(" .:*")


def shown(value: Value) -> str:
    """A value as a problem quotes it: short, on one line, dates and numbers as a person writes them."""
    if isinstance(value, bool):
        text = "TRUE" if value else "FALSE"
    elif isinstance(value, float):
        text = f"{value:.15g}"
    elif isinstance(value, datetime.datetime):
        text = value.date().isoformat() if value.time() == datetime.time() else value.isoformat(" ")
    else:
        text = str(value)
    text = " ".join(text.split())
    return text if len(text) <= 50 else f"{text[:47]}..."


def read_text(value: Value, where: Cell, heading: str, limit: int = NAME_LIMIT) -> str | Problem:
    """Text of at most `limit` characters; on one line where the limit is a name's. Numbers are taken as text."""
    if isinstance(value, (datetime.date, datetime.time)):
        return stop(where, "turned-into-date", f"{heading} '{shown(value)}' was turned into a date by the spreadsheet.",
                    "Format the cell as text and type it again.")
    text = value if isinstance(value, str) else shown(value)
    text = text if limit > NAME_LIMIT else " ".join(text.split())
    if len(text) > limit:
        return stop(where, "text-too-long",
                    f"{heading} '{shown(text)}' has {len(text)} characters; at most {limit} are allowed.",
                    f"Shorten it to {limit} characters.")
    return text


def read_choice(value: Value, where: Cell, heading: str, choices: Sequence[str]) -> str | Problem:
    """One of the choices, whatever the case and the spaces."""
    text = value if isinstance(value, str) else shown(value)
    wanted = key(text)
    for choice in choices:
        if key(choice) == wanted:
            return choice
    message = f"{heading} '{shown(text)}' is not one of: {', '.join(choices)}."
    close = closest(text, choices)
    return stop(where, "not-a-choice", message, f"Type {close}." if close else "Type one of them.")


def closest(text: str, choices: Sequence[str]) -> str:
    """The choice that a slip of the fingers most likely meant, or ""."""
    from difflib import get_close_matches

    keys = {key(choice): choice for choice in reversed(choices)}
    wanted = key(text)[:60]
    found = get_close_matches(wanted, keys, n=1, cutoff=0.6)
    if found:
        return keys[found[0]]
    starts = [choice for choice in choices if wanted and key(choice).startswith(wanted)]
    return starts[0] if len(starts) == 1 else ""


def read_yes_no(value: Value, where: Cell, heading: str) -> bool | Problem:
    """Yes or no; y, n, true, false, 1, 0, x and a tick are understood."""
    word = key(value if isinstance(value, str) else shown(value))
    if word in _YES or word in _NO:
        return word in _YES
    return stop(where, "not-yes-or-no", f"{heading} '{shown(value)}' is neither yes nor no.", "Type yes or no.")


def read_number(
    value: Value, where: Cell, heading: str, least: Decimal | int | None = None, most: Decimal | int | None = None,
) -> Decimal | Problem:
    """A number, typed as one or as text, within limits that are both allowed."""
    number = _decimal(value, where, heading, "a number", "digits only, such as 4 or 2.5")
    return number if isinstance(number, Problem) else _within(number, where, heading, value, least, most)


def read_whole(
    value: Value, where: Cell, heading: str, least: int | None = None, most: int | None = None,
) -> int | Problem:
    """A whole number within limits that are both allowed."""
    number = _decimal(value, where, heading, "a whole number", "digits only, such as 4")
    if isinstance(number, Problem):
        return number
    if number != number.to_integral_value():
        return stop(where, "not-whole", f"{heading} '{shown(value)}' is not a whole number.", "Type a whole number.")
    within = _within(number, where, heading, value, least, most)
    return within if isinstance(within, Problem) else int(within)


def read_money(
    value: Value, where: Cell, heading: str, currency: str, least: Decimal | int | None = 0,
) -> Decimal | Problem:
    """An amount, exactly as typed, with or without the currency's sign or code. Another currency is a problem.

    A point before exactly three digits is as unclear in an amount as a comma is.
    """
    named, typed = "", shown(value)
    if isinstance(value, str):
        value, named = _without_currency(value)
        if re.fullmatch(r"\d{1,3}\.\d{3}", value):
            return _unclear(where, heading, value, both_readings(value))
    if named and named != currency and not (named == "$" and currency in _DOLLARS):
        return stop(where, "other-currency", f"{heading} '{typed}' is in {named}; this job is in {currency}.",
                    f"Type the amount in {currency}.")
    number = _decimal(value, where, heading, "an amount of money", "digits only, such as 1250 or 1250.50")
    return number if isinstance(number, Problem) else _within(number, where, heading, value, least, Decimal(10) ** 9)


def read_rate(value: Value, where: Cell, heading: str, most: Decimal = Decimal(1)) -> Decimal | Problem:
    """A share as a ratio: "8 %" is 0.08, and 0.08 (a percent-formatted cell holds that) is 0.08.

    A bare number above 1 may mean two things and is a problem.
    """
    percent = isinstance(value, str) and value.endswith(("%", "％"))
    typed = value[:-1].strip() if percent and isinstance(value, str) else value
    number = _decimal(typed, where, heading, "a percentage", "for example 5 % or 0.05")
    if isinstance(number, Problem):
        return number
    if percent:
        number = number / 100
    elif number > 1:
        return stop(where, "unclear-rate", f"{heading} '{shown(value)}' has no percent sign and is more than 1.",
                    f"Type {shown(value)} %, or {number / 100:f}.")
    if not 0 <= number <= most:
        return stop(where, "out-of-range", f"{heading} '{shown(value)}' is not between 0 % and {most * 100:f} %.",
                    f"Type at most {most * 100:f} %.")
    return number


def read_length(
    value: Value, where: Cell, heading: str, system: UnitSystem, unit: str = "",
    least_m: float | None = None, most_m: float | None = None,
) -> float | Problem:
    """A length. A bare number is in `unit` (ft, in, m, cm, mm), else in feet or metres by the unit system. [m]"""
    bare_m = _UNIT_M[unit or ("ft" if system == "imperial" else "m")]
    examples = "12'6\", 12.5 ft or 3.81 m" if system == "imperial" else "3.81 m, 381 cm or 12'6\""
    if isinstance(value, (datetime.date, datetime.time)):
        return stop(where, "turned-into-date", f"{heading} '{shown(value)}' was turned into a date by the spreadsheet.",
                    f"Format the cell as text and type the length, for example {examples}.")
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        metres: float | None = round(value * bare_m, 9)
    else:
        try:
            metres = parse_length(str(value), bare_m) if isinstance(value, str) else None
        except Unclear as unclear:
            return _unclear(where, heading, str(value), str(unclear))
    if metres is None or not math.isfinite(metres):
        return stop(where, "not-a-length", f"{heading} '{shown(value)}' is not a length.", f"Type it like {examples}.")
    if (least_m is not None and metres < least_m) or (most_m is not None and metres > most_m):
        limits = " and ".join(show_length(limit, system) for limit in (least_m, most_m) if limit is not None)
        word = "between" if least_m is not None and most_m is not None else "at least" if most_m is None else "at most"
        return stop(where, "out-of-range", f"{heading} '{shown(value)}' is not {word} {limits}.",
                    f"Check the number and its unit, and type it like {examples}.")
    return metres


def _decimal(value: Value, where: Cell, heading: str, what: str, how: str) -> Decimal | Problem:
    """A number cell or a number typed as text. A binary float is taken at the 15 digits that a spreadsheet shows."""
    found: Decimal | None = None
    if isinstance(value, int) and not isinstance(value, bool):
        found = Decimal(value)
    elif isinstance(value, float):
        found = Decimal(f"{value:.15g}")
    elif isinstance(value, str):
        try:
            found = parse_number(value)
        except Unclear as unclear:
            return _unclear(where, heading, value, str(unclear))
    if found is None or not found.is_finite():
        return stop(where, "not-a-number", f"{heading} '{shown(value)}' is not {what}.", f"Type {how}.")
    return found


def _unclear(where: Cell, heading: str, text: str, readings: str) -> Problem:
    mark = "comma" if "," in text else "point"
    return stop(where, "unclear-number",
                f"{heading} '{shown(text)}' has a {mark} before exactly three digits: thousands or decimals?",
                f"Type {readings}.")


def _within(
    number: Decimal, where: Cell, heading: str, value: Value, least: Decimal | int | None, most: Decimal | int | None,
) -> Decimal | Problem:
    if (least is None or number >= least) and (most is None or number <= most):
        return number
    if least is not None and most is not None:
        allowed = f"between {least} and {most}"
    else:
        allowed = f"{least} or more" if least is not None else f"{most} or less"
    return stop(where, "out-of-range", f"{heading} '{shown(value)}' is not {allowed}.", f"Type a number {allowed}.")


def _without_currency(text: str) -> tuple[str, str]:
    """The bare amount, and the currency that was typed with it: its code, "$", or ""."""
    for symbol in ("$", *_SYMBOLS):
        if symbol in text:
            prefix = text.upper().replace(symbol, " ").split()
            named = "USD" if prefix[:1] == ["US"] else _SYMBOLS.get(symbol, symbol)
            return re.sub(r"(?i)^us|[$€£¥]", "", text).strip(), named
    found = re.fullmatch(r"(?:([A-Za-z]{3})\s*)?([-\d][\d\s.,]*?)\s*([A-Za-z]{3})?", text)
    if not found or not (found[1] or found[3]):
        return text, ""
    return found[2].strip(), (found[1] or found[3]).upper()

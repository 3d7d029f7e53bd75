"""What is in the way on a ceiling, read from what a salesperson typed in a cell: "fan at 6,7; light at 3 ft, 4 ft"."""

from __future__ import annotations

import re

from msgspec import Struct

from quoting.sheets.numbers import Unclear, parse_length

_LENGTH = r"""\d+(?:\.\d+)?(?:\s*(?:ft|feet|foot|cm|mm|in|m|'|")(?![a-z]))?(?:\s*\d+(?:\.\d+)?\s*(?:in|")(?![a-z]))?"""
_POSITION = re.compile(rf"({_LENGTH})\s*(?:,|x|/|\band\b|\bby\b)\s*({_LENGTH})", re.IGNORECASE)
_DECIMAL_COMMAS = re.compile(r"(?<![\d,])(\d+),(\d+)(\s*(?:m|cm)?)\s*[/x]\s*(\d+),(\d+)(?![\d,])", re.IGNORECASE)
_UNIT = re.compile(r"[a-z'\"]+\s*$", re.IGNORECASE)
_NOTHING = {"none", "no", "nothing", "clear", "n/a"}
_BREAK = re.compile(r"[;\n]|,|\band\b|\+")
_FILLER = re.compile(r"(?:\bat\b|@|[:=()\s-])+$|^[\s.)(-]+", re.IGNORECASE)
_QUOTES = str.maketrans({"’": "'", "′": "'", "”": '"', "″": '"', "“": '"'})


class Obstacle(Struct, frozen=True):
    """A light, a fan, a duct on the ceiling: from the room's west and south walls. Metres."""

    name: str
    x_m: float
    y_m: float


def read_obstacles(text: str, bare_m: float) -> tuple[tuple[Obstacle, ...], tuple[str, ...]]:
    """The obstacles that have a position, and the words that have none. A bare number is `bare_m` metres.

    >>> read_obstacles("fan at 6,7; duct", 1.0)
    ((Obstacle(name='fan', x_m=6.0, y_m=7.0),), ('duct',))
    """
    text = _decimal_points(text.translate(_QUOTES))
    placed: list[Obstacle] = []
    unplaced: list[str] = []
    name, at = "obstacle", 0
    for found in _POSITION.finditer(text):
        *others, own = _BREAK.split(text[at:found.start()])
        at = found.end()
        unplaced += _words(others)
        name = "".join(_words([own])) or name
        x_m, y_m = (_metres(side, bare_m) for side in _both_with_units(*found.groups()))
        if x_m is None or y_m is None:
            unplaced.append(f"{name} {found.group()}")
        else:
            placed.append(Obstacle(name, x_m, y_m))
    return tuple(placed), (*unplaced, *_words(_BREAK.split(text[at:])))


def _decimal_points(text: str) -> str:
    """ "2,5 x 3,1" is one position with decimal commas; "2,5; 3,1" is two positions."""
    return _DECIMAL_COMMAS.sub(r"\1.\2\3 x \4.\5", text)


def _both_with_units(x: str, y: str) -> tuple[str, str]:
    """In "6,7 ft" the unit stands for both."""
    unit = _UNIT.search(y)
    return (x + unit.group(), y) if unit and not _UNIT.search(x) else (x, y)


def _words(pieces: list[str]) -> list[str]:
    cleaned = (_FILLER.sub("", _FILLER.sub("", piece.strip())).strip() for piece in pieces)
    return [piece for piece in cleaned if re.search(r"[^\W\d_]", piece) and piece.lower() not in _NOTHING]


def _metres(text: str, bare_m: float) -> float | None:
    try:
        return parse_length(text, bare_m)
    except Unclear:
        return None

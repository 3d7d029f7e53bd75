"""Where a name fits in a room of a plan: clear of the symbols and of other names, whole or as the room's code."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import NamedTuple

from msgspec import Struct

from quoting.documents.drawing import CAPITAL, DESCENT, text_width_mm, wrap

NAME_SIZES_MM = (3.2, 2.9, 2.6)  # tried from the largest; the code last, in the same sizes
NAME_LEADING = 1.12  # from line to line
WALL_MM = 0.6  # off the walls
AIRS_MM = (1.3, 0.35)  # off the symbols and other names: what looks well, else what still reads well
BESIDE_MM = 0.9  # from a room to a name that stands next to it
STEP_MM, STEPS = 0.5, 8  # how finely a place is looked for: in steps of so much, not more of them each way


class Box(NamedTuple):
    """A part of the paper: left, top, right, bottom. [mm]"""

    left_mm: float
    top_mm: float
    right_mm: float
    bottom_mm: float

    def meets(self, other: Box, clear_mm: float = 0.0) -> bool:
        """Whether the two overlap, or are nearer to each other than `clear_mm`."""
        return (self.left_mm < other.right_mm + clear_mm and other.left_mm < self.right_mm + clear_mm
                and self.top_mm < other.bottom_mm + clear_mm and other.top_mm < self.bottom_mm + clear_mm)

    def within(self, other: Box) -> bool:
        """Whether no part of it lies outside the other."""
        return (other.left_mm <= self.left_mm and other.top_mm <= self.top_mm
                and self.right_mm <= other.right_mm and self.bottom_mm <= other.bottom_mm)


class Label(Struct, frozen=True, kw_only=True):
    """Lines of text in their place; `short` where the code stands for the name."""

    lines: tuple[str, ...]
    size_mm: float
    x_mm: float  # of the middle
    base_mm: float  # base line of the first line
    box: Box
    short: bool


def place_label(name: str, code: str, room: Box, taken: Sequence[Box]) -> Label | None:
    """The name as large as it fits, in as few lines as it takes, nearest to the room's middle; else the code.

    None where not even the code fits.
    """
    return _placed(name, code, room, tuple(box for box in taken if box.meets(room, AIRS_MM[0])))


@lru_cache(maxsize=1024)
def _placed(name: str, code: str, room: Box, near: tuple[Box, ...]) -> Label | None:
    """Kept, because the options of a house show the same rooms."""
    for short, words in ((False, name), (True, code)):
        for size in NAME_SIZES_MM:
            for lines in _broken(words, room, size):
                for air in AIRS_MM:
                    found = next(_clear(lines, size, room, near, air), None)
                    if found is not None:
                        return _label(lines, size, *found, short=short)
    return None


def label_beside(name: str, code: str, room: Box, taken: Sequence[Box], paper: Box) -> Label | None:
    """The name, else the code, next to a room that is too small for it: right, left, under it, over it."""
    size = NAME_SIZES_MM[-1]
    for short, words in ((False, name), (True, code)):
        wide, high = _extent((words,), size)
        for at in _beside(room, wide, high):
            box = _box(*at, wide, high)
            if box.within(paper) and not any(box.meets(other, AIRS_MM[-1]) for other in taken):
                return _label((words,), size, *at, short=short)
    return None


def label_near(lines: Sequence[str], size_mm: float, mark: Box, taken: Sequence[Box], inside: Box) -> Label:
    """Lines of text at a mark, where they meet nothing: over it to the right first, off lines that run left and down.

    Where every spot meets something, the one that meets least of it.
    """
    return _near(tuple(lines), size_mm, mark, tuple(taken), inside)


@lru_cache(maxsize=1024)
def _near(lines: tuple[str, ...], size_mm: float, mark: Box, taken: tuple[Box, ...], inside: Box) -> Label:
    wide, high = _extent(lines, size_mm)
    spots = [_box(*at, wide, high) for at in _about(mark, wide, high)]
    kept = [box for box in spots if box.within(inside)] or spots
    best = next((box for box in kept if not any(box.meets(other, 0.2) for other in taken)), None) or min(
        kept, key=lambda box: sum(box.meets(other, 0.2) for other in taken))
    middle = ((best.left_mm + best.right_mm) / 2, (best.top_mm + best.bottom_mm) / 2)
    return _label(lines, size_mm, *middle, short=False)


def _about(mark: Box, wide_mm: float, high_mm: float) -> Iterator[tuple[float, float]]:
    x, y = (mark.left_mm + mark.right_mm) / 2, (mark.top_mm + mark.bottom_mm) / 2
    for gap in (0.7, 1.8, 3.2, 8.0, 14.0, 20.0, 27.0):
        right, left = mark.right_mm + gap + wide_mm / 2, mark.left_mm - gap - wide_mm / 2
        up, down = mark.top_mm - gap - high_mm / 2, mark.bottom_mm + gap + high_mm / 2
        inset = wide_mm / 2 + 0.5
        yield from ((x + inset, up), (x - inset, up), (x + inset, down), (x - inset, down), (right, y), (left, y),
                    (right, up), (left, up), (right, down), (left, down), (x, up), (x, down))


def _beside(room: Box, wide_mm: float, high_mm: float) -> Iterator[tuple[float, float]]:
    """Middles of a text next to a room: right and left of it, under and over it; in line with its middle or an end."""
    x, y = (room.left_mm + room.right_mm) / 2, (room.top_mm + room.bottom_mm) / 2
    aside, away = wide_mm / 2 + BESIDE_MM, high_mm / 2 + BESIDE_MM
    for at_y in (y, room.top_mm + high_mm / 2, room.bottom_mm - high_mm / 2):
        yield room.right_mm + aside, at_y
        yield room.left_mm - aside, at_y
    for at_x in (x, room.left_mm + wide_mm / 2, room.right_mm - wide_mm / 2):
        yield at_x, room.bottom_mm + away
        yield at_x, room.top_mm - away


def label_anyway(code: str, room: Box) -> Label:
    """The code in the middle of a room where nothing fits."""
    middle = ((room.left_mm + room.right_mm) / 2, (room.top_mm + room.bottom_mm) / 2)
    return _label((code,), NAME_SIZES_MM[-1], *middle, short=True)


def _broken(words: str, room: Box, size_mm: float) -> Iterator[tuple[str, ...]]:
    """The words in one line, then in more of them, each about as long, no word cut and no line wider than the room."""
    most = room.right_mm - room.left_mm - 2 * WALL_MM
    pieces = words.split() or [words]
    if max(text_width_mm(piece, size_mm) for piece in pieces) > most:
        return
    seen: set[tuple[str, ...]] = set()
    for count in range(1, min(len(pieces), 4) + 1):
        width = text_width_mm(words, size_mm) / count
        longest = max(text_width_mm(piece, size_mm) for piece in pieces)
        for slack in (1.0, 1.2, 1.5):
            lines = tuple(wrap(words, min(most, max(longest, width * slack)) + 1e-9, size_mm))
            if len(lines) <= count and lines not in seen:
                seen.add(lines)
                yield lines
                break


def _clear(
    lines: Sequence[str], size_mm: float, room: Box, near: Sequence[Box], air_mm: float
) -> Iterator[tuple[float, float]]:
    """Middles of the text that are clear of everything, the nearest to the room's middle first."""
    wide, high = _extent(lines, size_mm)
    free_x = (room.right_mm - room.left_mm - wide) / 2 - WALL_MM
    free_y = (room.bottom_mm - room.top_mm - high) / 2 - WALL_MM
    if free_x < 0 or free_y < 0:
        return
    middle_x, middle_y = (room.left_mm + room.right_mm) / 2, (room.top_mm + room.bottom_mm) / 2
    steps = [(x, y) for x in _steps(free_x) for y in _steps(free_y)]
    for x, y in sorted(steps, key=lambda step: (round(math.hypot(step[0] * 1.5, step[1]), 6), step[1], step[0])):
        box = _box(middle_x + x, middle_y + y, wide, high)
        if not any(box.meets(other, air_mm) for other in near):
            yield middle_x + x, middle_y + y


def _steps(free_mm: float) -> list[float]:
    count = min(int(free_mm / STEP_MM) + 1, STEPS)
    return [free_mm * step / count for step in range(-count, count + 1)]


def _extent(lines: Sequence[str], size_mm: float) -> tuple[float, float]:
    """Width and height of the ink: capitals of the first line to the last one's lowest letters. [mm]"""
    wide = max(text_width_mm(words, size_mm) for words in lines)
    below = 0.0 if all(letter in _STANDING for letter in lines[-1]) else DESCENT
    return wide, size_mm * (CAPITAL + below + NAME_LEADING * (len(lines) - 1))


_STANDING = frozenset("ABCDEFGHIKLMNOPRSTUVWXYZ0123456789abcdefhiklmnorstuvwxz. ")  # letters that end on the base line


def _box(x_mm: float, y_mm: float, wide_mm: float, high_mm: float) -> Box:
    return Box(x_mm - wide_mm / 2, y_mm - high_mm / 2, x_mm + wide_mm / 2, y_mm + high_mm / 2)


def _label(lines: Sequence[str], size_mm: float, x_mm: float, y_mm: float, *, short: bool) -> Label:
    box = _box(x_mm, y_mm, *_extent(lines, size_mm))
    return Label(lines=tuple(lines), size_mm=size_mm, x_mm=x_mm, base_mm=box.top_mm + CAPITAL * size_mm, box=box,
                 short=short)

"""What a cable is called: floor, zone, room, what it is for, which of those. Adding another cable renames none."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from itertools import groupby

from msgspec.structs import replace

from quoting.engineering.run_plan import SHIELDED, Leg
from quoting.job import Room

# What a run is for, one digit. Never reordered: two revisions of a quote are compared by these numbers.
_HOME_RUN, _TO_SPEAKER, _KEYPAD, _SHIELDED_PAIR, _KEYPAD_SPARE, _SECOND_KEYPAD = 1, 2, 3, 4, 5, 6
_OTHERS = {"room input": 7, "tv return": 8, "spare": 9, "doorbell": 0}
_WEIGHTS = (1, 3, 7, 9)  # none shares a factor with ten, so that one changed letter nearly always changes the digit
_MANY_ZONES, _MANY_ROOMS = 100, 10  # from here on a number is longer, and so is never one of the others


def number_legs(rooms: Mapping[str, Room], legs: Sequence[Leg]) -> tuple[Leg, ...]:
    """The legs of the whole plan, each with its id; `rooms` by code.

    The last number is the pair of a home run, the speaker at the end of a leg or a line, else a count among the room's
    like cables: those are interchangeable, so that one more is always the last.
    """
    digits = room_digits(rooms.values())
    alike: Counter[tuple[str, int]] = Counter()
    numbered = []
    for leg in legs:
        kind, which = _kind(leg)
        alike[leg.room, kind] += 1
        numbered.append(replace(leg, id=run_number(
            rooms[leg.room], digits[leg.room], kind, which or alike[leg.room, kind])))
    return tuple(numbered)


def _kind(leg: Leg) -> tuple[int, int]:
    """What a run is for, and the pair or speaker that it serves (0: none)."""
    if leg.purpose == "home run":
        return _HOME_RUN, leg.pair
    if leg.device == "speaker":
        return _TO_SPEAKER, int(leg.end.rpartition("-S")[2])
    if leg.purpose == "control" and leg.end.endswith("-K2"):
        return _SECOND_KEYPAD, 0
    if leg.purpose == "control":
        return (_KEYPAD_SPARE if leg.spare else _SHIELDED_PAIR if leg.role == SHIELDED else _KEYPAD), 0
    return _OTHERS[leg.purpose], 0


def run_number(room: Room, room_digit: int, kind: int, which: int) -> str:
    """The bare id: floor digit (9 below ground), zone in two digits, room digit, what it is for, which of those.

    From zone 100 or the eleventh room of a zone on, zone, room and count take three, two and two digits: nine in all,
    where the usual number has six to eight.
    """
    floor = room.floor if room.floor >= 0 else 9
    if room.zone < _MANY_ZONES and room_digit < _MANY_ROOMS:
        return f"{floor}{room.zone:02d}{room_digit}{kind}{which}"
    return f"{floor}{room.zone:03d}{room_digit:02d}{kind}{which:02d}"


def room_digits(rooms: Iterable[Room]) -> Mapping[str, int]:
    """A digit for each room code, unique in its zone: a check digit of the code, so that other rooms seldom matter.

    Where two rooms of one zone would share a digit, the code that comes later takes the next free one; the eleventh
    room of a zone and those after it count on from 10.
    """
    found: dict[str, int] = {}
    by_zone = sorted(rooms, key=lambda room: (room.zone, room.code))
    for _, in_zone in groupby(by_zone, key=lambda room: room.zone):
        taken: dict[int, str] = {}
        crowded: list[str] = []
        for room in in_zone:
            if taken.setdefault(_check_digit(room.code), room.code) != room.code:
                crowded.append(room.code)
        for code in crowded:
            first = _check_digit(code)
            free = next((digit % 10 for digit in range(first, first + 10) if digit % 10 not in taken), len(taken))
            taken[free] = code
        found.update((code, digit) for digit, code in taken.items())
    return found


def _check_digit(code: str) -> int:
    return sum(weight * ord(letter) for weight, letter in zip(_WEIGHTS, code, strict=False)) % 10

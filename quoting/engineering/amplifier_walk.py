"""The ordered walk: zones in zone order onto amplifiers at least cost. Pure: numbers in, boxes out.

Every box holds consecutive zones, whole (a stereo pair is never split over two boxes). One model, the main one, serves
the option; a box of another model must hold at least one zone that needs another: one that the main model cannot
carry, or gives less than it asks while another model gives it. Among all walks that keep this law the one with the
fewest zones short of power is taken, then the one whose main model fails the fewest zones (none, where one model
serves them all), then the cheapest, then the one with the fewest boxes; among equals each box is filled before the
next one begins.
"""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from msgspec import Struct


class Model(Struct, frozen=True):
    """An amplifier that may be used as often as needed."""

    name: str
    channels: int
    outputs: int  # zones that one box takes; 0: as many as its channels
    cost: Decimal | None  # None: no price in the job's currency


class Claim(Struct, frozen=True):
    """What one zone takes of one model."""

    channels: int
    odd: bool = False  # begins on an odd channel: a bridge joins an odd channel and the even one after it
    short: bool = False  # gets less power than it asks, and another model gives more


class Box(Struct, frozen=True):
    """One amplifier: its model, its first zone, and the first channel of each of its zones."""

    model: int
    first: int
    channels: tuple[int, ...]


Score = tuple[int, int, Decimal, int]  # zones short of power, boxes without a price, cost, boxes
Claims = Sequence[Sequence[Claim | None]]  # by model, then by zone; None: the model cannot carry the zone
NOTHING: Score = (0, 0, Decimal(0), 0)


class Walk(Struct, frozen=True):
    """All zones on boxes, in zone order."""

    main: int
    boxes: tuple[Box, ...]
    score: Score


def cheapest_walk(models: Sequence[Model], claims: Claims) -> Walk | None:
    """The best walk over every choice of the main model; None where some zone fits no model."""
    reaches = [_reaches(model, claims[index]) for index, model in enumerate(models)]
    walks = [walk for main in range(len(models)) if (walk := _walk(models, claims, reaches, main, True))]
    return min(walks, key=lambda walk: (walk.score[0], sum(needs_another(claims, walk.main)), walk.score[1:]),
               default=None)


def walk_of_one(models: Sequence[Model], claims: Claims, main: int) -> Walk | None:
    """The walk on boxes of one model only; None where it cannot carry some zone."""
    reaches = [_reaches(model, claims[index]) if index == main else () for index, model in enumerate(models)]
    return _walk(models, claims, reaches, main, False)


def seat(channel: int, claim: Claim) -> int:
    """The channel on which a claim begins where `channel` is the first free one."""
    return channel + 1 if claim.odd and channel % 2 == 0 else channel


def _reaches(model: Model, claims: Sequence[Claim | None]) -> tuple[tuple[int, ...], ...]:
    """For each zone: the first channels of the zones that a box beginning with it holds, as many as it can."""
    found = []
    for first in range(len(claims)):
        seats: list[int] = []
        free = 1
        for claim in claims[first:first + (model.outputs or model.channels)]:
            if claim is None or (channel := seat(free, claim)) + claim.channels - 1 > model.channels:
                break
            seats.append(channel)
            free = channel + claim.channels
        found.append(tuple(seats))
    return tuple(found)


def needs_another(claims: Claims, main: int) -> tuple[bool, ...]:
    """Which zones the main model does not carry, or carries short of power while another gives it."""
    return tuple(
        own is None or (own.short and any(other is not None and not other.short for other in column))
        for own, column in zip(claims[main], zip(*claims, strict=True), strict=True))


def _walk(
    models: Sequence[Model], claims: Claims, reaches: Sequence[Sequence[tuple[int, ...]]], main: int, mixed: bool
) -> Walk | None:
    """Dynamic programming from the last zone to the first: the best way to go on from a box that begins there."""
    count = len(claims[main])
    needy = needs_another(claims, main)
    usable = [main, *(index for index in range(len(models)) if index != main)] if mixed and any(needy) else [main]
    best: list[tuple[Score, Box | None] | None] = [None] * count + [(NOTHING, None)]
    for first in range(count - 1, -1, -1):
        for index in usable:
            seats = reaches[index][first]
            least = 1 if index == main else _up_to_needy(needy, first, len(seats))
            for zones in range(len(seats), least - 1, -1):  # the fullest box first: it wins among equals
                onward = best[first + zones]
                if onward is None:
                    continue
                short = sum(claim.short for claim in claims[index][first:first + zones] if claim)
                score = _with_box(onward[0], models[index], short)
                now = best[first]
                if now is None or score < now[0]:
                    best[first] = score, Box(index, first, seats[:zones])
    return _traced(best, main)


def _up_to_needy(needy: Sequence[bool], first: int, most: int) -> int:
    """How many zones from this one on reach the first that needs another model; more than `most` where none does."""
    return next((zones for zones in range(1, most + 1) if needy[first + zones - 1]), most + 1)


def _with_box(onward: Score, model: Model, short: int) -> Score:
    return (onward[0] + short, onward[1] + (model.cost is None), onward[2] + (model.cost or Decimal(0)), onward[3] + 1)


def _traced(best: Sequence[tuple[Score, Box | None] | None], main: int) -> Walk | None:
    start = best[0]
    if start is None:
        return None
    boxes: list[Box] = []
    at = 0
    while (step := best[at]) is not None and step[1] is not None:
        boxes.append(step[1])
        at += len(step[1].channels)
    return Walk(main, tuple(boxes), start[0])

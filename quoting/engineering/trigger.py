"""The wake-up chain: which controller output wakes which amplifiers, over which branches, at what current."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

from msgspec import Struct
from msgspec.structs import replace

from quoting.engineering.brief import Brief, Result, rows_of
from quoting.facts import AmplifierFact, ControllerFact, Fact, Trigger, ZoneFact, of
from quoting.problems import Cell, Problem, warning


class Sleeper(Struct, frozen=True, kw_only=True):
    """An amplifier that a 12 V trigger wakes."""

    id: str
    draw_ma: float
    passes_on: bool  # has a trigger output for the next one
    controller: str  # that feeds its first zone
    zones: tuple[int, ...]
    where: tuple[Cell, ...]


def deal(count: int, outputs: int) -> tuple[range, ...]:
    """So many amplifiers in order over so many outputs, as evenly as may be, the first outputs taking more.

    >>> deal(5, 2)
    (range(0, 3), range(3, 5))
    """
    used = min(count, outputs)
    edges = [math.ceil(count * index / used) for index in range(used + 1)] if used else []
    return tuple(range(start, end) for start, end in pairwise(edges))


def split(passes_on: Sequence[bool], most: int) -> tuple[tuple[int, ...], ...]:
    """The branches that leave one output, as indices: an amplifier that passes the signal on takes the next into its
    branch, up to `most` amplifiers a branch.

    >>> split([True, True, True], 2)
    ((0, 1), (2,))
    """
    made: list[tuple[int, ...]] = []
    open_branch = False
    for index, passes in enumerate(passes_on):
        if open_branch and len(made[-1]) < most:
            made[-1] = (*made[-1], index)
        else:
            made.append((index,))
        open_branch = passes
    return tuple(made)


def longest_branch(brief: Brief) -> int:
    """Amplifiers that one branch may wake, by the standard."""
    return max(1, int(brief.catalog.standards.ask("trigger", item="amplifiers per branch").number("value")))


def wake(brief: Brief, facts: Sequence[Fact]) -> Result:
    """The facts with a Trigger for each output used, and the amplifiers knowing what wakes them.

    Outputs wake the amplifiers whose first zone their controller feeds, in order; line amplifiers come last.
    """
    made: list[Trigger] = []
    problems: list[Problem] = []
    sleepers = _sleepers(brief, facts)
    for unit in brief.of(ControllerFact):
        triggers, worries = _unit_chains(brief, unit, [one for one in sleepers if one.controller == unit.id])
        made.extend(triggers)
        problems.extend(worries)
    wakers = {sleeper: trigger for trigger in made for sleeper in trigger.amplifiers.split(", ")}
    return (*(_woken(fact, wakers) for fact in facts), *made), tuple(problems)


def _sleepers(brief: Brief, facts: Sequence[Fact]) -> list[Sleeper]:
    """The amplifiers with a trigger input; those that no controller feeds wake by themselves."""
    fed: dict[str, list[ZoneFact]] = {}
    for zone in of(facts, ZoneFact):
        fed.setdefault(zone.amplifier, []).append(zone)
    return [Sleeper(id=box.id, draw_ma=box.trigger_ma, passes_on=_passes_on(brief, box.part),
                    controller=fed[box.id][0].controller, zones=tuple(zone.zone for zone in fed[box.id]),
                    where=box.where)
            for box in of(facts, AmplifierFact) if box.trigger_ma > 0 and box.id in fed]


def _passes_on(brief: Brief, part: str) -> bool:
    return any(socket.direction == "out" and socket.signal == "trigger"
               for socket in brief.catalog.sockets.get(part, ()))


def _woken(fact: Fact, wakers: Mapping[str, Trigger]) -> Fact:
    trigger = wakers.get(fact.id)
    if trigger is None or not isinstance(fact, AmplifierFact):
        return fact
    return replace(fact, trigger=trigger.id, trigger_lead=True, wakes_with=trigger.wakes,
                   decided=rows_of((*fact.decided, *trigger.decided)))


def _unit_chains(
    brief: Brief, unit: ControllerFact, sleepers: Sequence[Sleeper]
) -> tuple[list[Trigger], list[Problem]]:
    sockets = sum(socket.count for socket in brief.catalog.sockets.get(unit.part, ())
                  if socket.direction == "out" and socket.signal == "trigger")
    if not sleepers:
        return [], []
    if not sockets:
        return [], [warning(
            unit.where[0], "trigger-without-output",
            f"'{unit.part}' of option '{brief.option}' has no trigger output and {len(sleepers)} amplifiers wait for "
            "one: they stay on, or wake by the sound and miss the first second.",
            "Name a controller with a trigger output in options.csv.")]
    ask = brief.catalog.standards.ask
    longest, per_output = ask("trigger", item="amplifiers per branch"), ask("trigger", item="ma per output")
    spec = brief.catalog.controllers[unit.part]
    limit = spec.trigger_out_ma or per_output.number("value") * sockets
    decided = (longest.decided,) if spec.trigger_out_ma else (longest.decided, per_output.decided)
    drawn = sum(one.draw_ma for one in sleepers)
    facts = []
    for number, dealt in enumerate(deal(len(sleepers), sockets), 1):
        woken = [sleepers[index] for index in dealt]
        count = len(split([one.passes_on for one in woken], longest_branch(brief)))
        facts.append(Trigger(
            id=f"{unit.id}.T{number}", basis=(unit.id, *(one.id for one in woken)),
            where=tuple(dict.fromkeys(cell for one in woken for cell in one.where)), decided=decided,
            controller=unit.id, output=number, amplifiers=", ".join(one.id for one in woken),
            amplifier_count=len(woken), branches=count, splitters=count - 1,
            draw_ma=sum(one.draw_ma for one in woken), unit_ma=drawn, limit_ma=limit,
            wakes=", ".join(f"Z{zone}" for one in woken for zone in one.zones)))
    return facts, [] if drawn <= limit else [warning(
        unit.where[0], "trigger-over-current",
        f"The trigger inputs of {len(sleepers)} amplifiers draw {drawn:.0f} mA in option '{brief.option}' and "
        f"'{unit.part}' gives {limit:.0f} mA.",
        "Name fewer, larger amplifiers or a stronger controller in options.csv, or wake the last ones by the sound.")]

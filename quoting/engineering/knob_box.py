"""Which speaker cables meet in a control's box, home run by home run, and which of them go past a knob there."""

from __future__ import annotations

from quoting.engineering.brief import Brief
from quoting.facts import AmplifierOutput, CableRun, KeypadFact

Homes = dict[str, list[tuple[range, str]]]  # place -> pairs that each home run there feeds, and the run


def homes_of(brief: Brief) -> Homes:
    """The home runs of each place with the pairs of its room that they feed, counted from 1."""
    homes: Homes = {}
    for run in brief.of(CableRun):
        if run.purpose == "home run":
            here = homes.setdefault(run.end, [])
            first = here[-1][0].stop if here else 1
            here.append((range(first, first + max(1, run.joined_pairs)), run.id))
    return homes


def pair_of(brief: Brief, leg: CableRun) -> int:
    """Which of its room's pairs a cable to a loudspeaker belongs to, from 1."""
    number = int(leg.end.rpartition("-S")[2])
    return number if brief.uses[leg.room].single else (number + 1) // 2


def lands_on(brief: Brief) -> dict[str, tuple[str, ...]]:
    """The outputs that each home run lands on."""
    found: dict[str, tuple[str, ...]] = {}
    for output in brief.of(AmplifierOutput):
        for run in output.runs.split(", "):
            found[run] = (*found.get(run, ()), output.id)
    return found


def past_the_knob(brief: Brief) -> frozenset[str]:
    """The home runs and legs that a knob's box joins past its knob.

    Two home runs in one box may come from two outputs, which must never meet: a knob takes those of the first one.
    """
    homes, outputs = homes_of(brief), lands_on(brief)
    legs: dict[str, list[CableRun]] = {}
    for run in brief.of(CableRun):
        if run.circuits and run.start in homes:
            legs.setdefault(run.start, []).append(run)
    past: set[str] = set()
    for place in (knob.place for knob in brief.of(KeypadFact) if knob.control == "knob"):
        here = homes.get(place, [])
        for pairs, home in here[1:]:
            if outputs.get(home, ()) != outputs.get(here[0][1], ()):
                past.add(home)
                past.update(leg.id for leg in legs.get(place, []) if pair_of(brief, leg) in pairs)
    return frozenset(past)

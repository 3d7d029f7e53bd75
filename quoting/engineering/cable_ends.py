"""What each end of each run meets in one option: a terminal, a jack, a plug, or a tagged tail for later."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping

from msgspec import Struct

from quoting.engineering.brief import Brief, Result, site
from quoting.engineering.conductors import awg_area_mm2
from quoting.engineering.knob_box import pair_of, past_the_knob
from quoting.facts import AmplifierOutput, CableEnd, CableRun, Doorbell, Fact, KeypadFact, Place, RoomInput, Speaker


class _Equipped(Struct, frozen=True):
    """What this option equips, by place id, and the pairs that play by room."""

    speakers: dict[str, Speaker]
    keypads: dict[str, KeypadFact]
    buttons: set[str]  # places of keypads; a knob has no use for a control cable
    inputs: dict[str, RoomInput]
    places: dict[str, Place]
    output_terminal: dict[int, str]  # zone -> the amplifier's terminal
    on_terminal: dict[str, int]  # run -> conductors that meet in one terminal of the amplifier
    doors: set[str]  # doorbells
    past: frozenset[str]  # speaker cables that go past the knob of their box


def cable_ends(brief: Brief) -> Result:
    """Two ends a run."""
    equipped = _Equipped(
        speakers={fact.place: fact for fact in brief.of(Speaker)},
        keypads={fact.place: fact for fact in brief.of(KeypadFact)},
        buttons={fact.place for fact in brief.of(KeypadFact) if fact.control == "keypad"},
        inputs={fact.basis[0]: fact for fact in brief.of(RoomInput)},
        places={place.id: place for place in brief.of(Place)},
        output_terminal={output.zone: output.terminal for output in brief.of(AmplifierOutput)},
        on_terminal=_on_terminal(brief),
        doors={bell.id for bell in brief.of(Doorbell)}, past=past_the_knob(brief),
    )
    pairs = _living_pairs(brief, equipped)
    onward = Counter(run.start for run in brief.of(CableRun) if run.circuits and run.id in pairs)
    facts: list[Fact] = []
    for run in brief.of(CableRun):
        joined = equipped.on_terminal.get(run.id, 1) if run.start == "HE" else 1
        facts.append(_end(brief, run, "A", *_start(run, equipped, pairs), joined, run.circuits))
        finish = _finish(brief, run, equipped, pairs)
        facts.append(_end(brief, run, "B", *finish, 1, _landed(run, finish[1], equipped, onward)))
    return tuple(facts), ()


def _landed(run: CableRun, terminal: str, equipped: _Equipped, onward: Mapping[str, int]) -> int:
    """How many of a cable's circuits land at its far end: what goes on from a loudspeaker to the next is joined."""
    if run.end in equipped.speakers and terminal not in ("tail", "joint"):
        return max(min(1, run.circuits), run.circuits - onward[run.end])
    return run.circuits


def _on_terminal(brief: Brief) -> dict[str, int]:
    """How many conductors go into one terminal at the head end: of all runs on that channel, both sides if mono."""
    homes = {run.id: run for run in brief.of(CableRun) if run.start == "HE" and run.circuits}
    found: dict[str, int] = {}
    outputs = brief.of(AmplifierOutput)
    shared = Counter(run for output in outputs for run in output.runs.split(", "))  # outputs that a run lands on
    for output in outputs:
        here = [homes[run] for run in output.runs.split(", ") if run in homes]
        together = sum(math.ceil(run.circuits / shared[run.id]) for run in here)
        found.update((run.id, max(together, found.get(run.id, 0))) for run in here)
    return found


def _living_pairs(brief: Brief, equipped: _Equipped) -> set[str]:
    """Runs whose speaker circuit plays: legs that reach a playing speaker, and the home runs that feed them."""
    runs = [run for run in brief.of(CableRun) if run.circuits]
    alive = {run.id for run in runs if run.end in equipped.speakers}
    onward: dict[str, list[str]] = {}
    for run in runs:
        onward.setdefault(run.start, []).append(run.id)
    for run in reversed(runs):  # each is alive as far as the last playing speaker that it leads to
        if not _is_control(equipped, run.end) and alive.intersection(onward.get(run.end, ())):
            alive.add(run.id)
    homes: dict[str, list[CableRun]] = {}
    legs: dict[str, list[CableRun]] = {}
    for run in runs:
        if run.start == "HE" and _is_control(equipped, run.end):
            homes.setdefault(run.end, []).append(run)
        elif run.id in alive and _is_control(equipped, run.start):
            legs.setdefault(run.start, []).append(run)
    for keypad, feeds in homes.items():
        playing = {pair_of(brief, leg) for leg in legs.get(keypad, [])}
        first = 1
        for run in feeds:  # each feeds the pairs after those of the one before it
            after = first + max(1, run.joined_pairs)
            if playing.intersection(range(first, after)):
                alive.add(run.id)
            first = after
    return alive


def _is_control(equipped: _Equipped, place: str) -> bool:
    """Whether a place is a control's."""
    return place in equipped.places and equipped.places[place].device == "control"


def _start(run: CableRun, equipped: _Equipped, alive: set[str]) -> tuple[str, str, bool, float]:
    """Device, terminal, live, thickest conductor of the head-end side."""
    if run.circuits:
        live = run.id in alive
        if run.start != "HE":
            place = equipped.places.get(run.start)
            if place is not None and place.device == "speaker":
                return "speaker", "joint" if live else "tail", live, 0.0  # the home run ends at the same speaker
            return _at_keypad(run, run.start, equipped, live)
        return "amplifier", equipped.output_terminal.get(run.zone, "binding post") if live else "tail", live, 0.0
    if run.purpose == "doorbell":
        live = run.end in equipped.doors
        return "controller", "screw" if live else "tail", live, 0.0
    live = not run.spare and (run.end in equipped.buttons or run.end in equipped.inputs)
    if run.start != "HE":
        return "keypad", "plug" if live else "tail", live, 0.0
    return "switch", "jack" if live else "tail", live, 0.0


def _finish(brief: Brief, run: CableRun, equipped: _Equipped, alive: set[str]) -> tuple[str, str, bool, float]:
    """The same of the device side."""
    if run.circuits:
        live = run.id in alive
        speaker = equipped.speakers.get(run.end)
        if speaker is not None:
            spec = brief.catalog.speakers.get(speaker.part)
            return "speaker", speaker.terminal if live else "tail", live, spec.thickest_awg if spec else 0.0
        place = equipped.places.get(run.end)
        if place is not None and place.device == "control":
            return _at_keypad(run, run.end, equipped, live)
        if live:
            return "speaker", "joint", True, 0.0  # the cable goes on past a place that nothing equips
        return "speaker", "tail", False, 0.0
    if run.purpose == "doorbell" and run.end in equipped.doors:
        return "door", "screw", True, 0.0
    if run.spare:
        return "none", "tail", False, 0.0
    if run.end in equipped.buttons:
        return "keypad", "plug", True, 0.0
    if run.end in equipped.inputs:
        return "input", "plug" if run.purpose == "room input" else "jack", True, 0.0  # into the plate's own socket
    return "none", "tail", False, 0.0


def _at_keypad(run: CableRun, place: str, equipped: _Equipped, live: bool) -> tuple[str, str, bool, float]:
    """Speaker wire in the keypad's box: on the knob's screws, or joined through behind a keypad or a blank plate."""
    keypad = equipped.keypads.get(place)
    if not live:
        return "none", "tail", False, 0.0
    if keypad is not None and keypad.control == "knob" and run.id not in equipped.past:
        return "knob", "screw", True, 0.0
    return "keypad", "joint", True, 0.0


def _end(
    brief: Brief, run: CableRun, letter: str, device: str, terminal: str, live: bool, thickest_awg: float, joined: int,
    landed: int
) -> CableEnd:
    """One end. `joined`: conductors that the terminal takes together, because pairs meet on one channel.

    `landed`: circuits that come to their end here.
    """
    limit = brief.catalog.standards.ask("terminal_limit", terminal=terminal)
    thickest_mm2 = awg_area_mm2(thickest_awg) if thickest_awg else limit.number("thickest_mm2")
    return CableEnd(
        id=f"{run.id}{letter}", **site(brief.rooms[run.room], brief.job), basis=(run.id,), where=run.where,
        decided=(limit.decided,), run=run.id, purpose=run.purpose,
        end="head end" if letter == "A" and run.start == "HE" else "device", device=device, terminal=terminal,
        circuits=landed, conductors=run.conductors, live=live, tagged=not live,
        pigtail=live and 0 < thickest_mm2 < run.area_mm2 * joined - 0.01, shelf=run.start == "HE" and letter == "A")

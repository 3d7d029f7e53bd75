"""Speaker circuits as connections, one a circuit and run: amplifier output, joints and knobs, loudspeaker."""

from __future__ import annotations

from msgspec import Struct

from quoting.engineering.knob_box import Homes, homes_of, pair_of, past_the_knob
from quoting.engineering.socket_ledger import Box, End, Ledger
from quoting.facts import (
    AmplifierFact,
    AmplifierOutput,
    CableEnd,
    CableRun,
    ControllerFact,
    Fact,
    KeypadFact,
    Speaker,
)
from quoting.facts.connection import JOINT
from quoting.problems import warning

_INDEX = {"L": 1, "R": 2, "M": 1}


class _Wired(Struct, frozen=True):
    """What speaker cables meet in one option."""

    outputs: dict[str, tuple[AmplifierOutput, ...]]  # run -> where it lands
    knobs: dict[str, KeypadFact]  # place -> knob
    speakers: dict[str, Speaker]  # place -> speaker
    amplifiers: dict[str, Box]
    mono: set[int]  # zones
    homes: Homes
    past: frozenset[str]  # runs that go past the knob of their box


def speaker_connections(ledger: Ledger) -> None:
    """Every circuit of every live speaker cable. Pairs that share an output, a knob or a box name each other."""
    brief = ledger.brief
    live = {end.run for end in brief.of(CableEnd) if end.live and end.circuits}
    outputs: dict[str, tuple[AmplifierOutput, ...]] = {}
    for output in brief.of(AmplifierOutput):
        for id in output.runs.split(", "):
            outputs[id] = (*outputs.get(id, ()), output)
    boxes: tuple[AmplifierFact | ControllerFact, ...] = (*brief.of(AmplifierFact), *brief.of(ControllerFact))
    wired = _Wired(
        outputs=outputs, speakers={fact.place: fact for fact in brief.of(Speaker)},
        knobs={fact.place: fact for fact in brief.of(KeypadFact) if fact.control == "knob"},
        amplifiers={box.id: Box(box.id, box.part, box.where) for box in boxes},
        mono={output.zone for output in brief.of(AmplifierOutput) if output.side == "M"}, homes=homes_of(brief),
        past=past_the_knob(brief))
    for run in brief.of(CableRun):
        if run.circuits and run.id in live:
            for side in _sides(ledger, run, wired):
                _circuit(ledger, wired, run, side)
    _warn_of_knobs(ledger, wired, live)
    ledger.name_joints("speaker")


def _sides(ledger: Ledger, run: CableRun, wired: _Wired) -> tuple[str, ...]:
    """The circuits of a run: left and right on four conductors; else the side of the loudspeaker behind it."""
    if run.circuits > 1:
        return ("L", "R")
    single = run.purpose == "line" or ledger.brief.uses[run.room].single
    if run.zone in wired.mono and single:
        return ("M",)
    speaker = wired.speakers.get(run.end)
    return (speaker.side if speaker is not None and speaker.side in ("L", "R") else "L",)


def _circuit(ledger: Ledger, wired: _Wired, run: CableRun, side: str) -> None:
    landed = _landed(wired, run, side)
    basis: list[Fact] = [run]
    if run.start != "HE":
        start = _at_place(ledger, wired, run, side, leaves=True)
    elif landed is None or landed.amplifier not in wired.amplifiers:
        return  # an override took away what drives it: that is told of elsewhere
    else:
        basis.append(landed)
        start = ledger.end(wired.amplifiers[landed.amplifier], "out", ("speaker",), index=landed.channel, side=side)
    speaker = wired.speakers.get(run.end)
    if speaker is not None and (len(_sides(ledger, run, wired)) == 1 or speaker.single_stereo or speaker.side == side):
        index = _INDEX[side] if speaker.single_stereo else 1
        end = ledger.end(Box(speaker.id, speaker.part, speaker.where), "in", ("speaker",),
                         "" if speaker.part else speaker.terminal, index=index, side=side)
        basis.append(speaker)
    else:
        end = _at_place(ledger, wired, run, side, leaves=False)
    bridged = landed is not None and landed.bridged
    ledger.join("speaker", f"{run.id}{side}", start, end, *basis, run=run.id, bridged=bridged)


def _landed(wired: _Wired, run: CableRun, side: str) -> AmplifierOutput | None:
    """The output of that side; of a mono zone's outputs the first for the left circuit, the last for the right one."""
    outputs = [output for output in wired.outputs.get(run.id, ()) if output.side in (side, "M")]
    return outputs[-1 if side == "R" else 0] if outputs else None


def _at_place(ledger: Ledger, wired: _Wired, run: CableRun, side: str, leaves: bool) -> End:
    """A knob's screws, else a joint in the box or in the speaker's opening: each home run's circuits by themselves."""
    place = run.start if leaves else run.end
    homes = wired.homes.get(place, [])
    at = _bundle(ledger, homes, run, place)
    knob = wired.knobs.get(place)
    if knob is None or run.id in wired.past:
        return End(place, "", JOINT, at, side)
    return ledger.end(Box(knob.id, knob.part, knob.where), "out" if leaves else "in", ("speaker",),
                      index=_INDEX[side], side=side)


def _bundle(ledger: Ledger, homes: list[tuple[range, str]], run: CableRun, place: str) -> int:
    """Which home run's circuits meet here, counted in the box from 1; 0 where only one can."""
    if len(homes) < 2:
        return 0
    if run.end == place:
        return next((at for at, (_, home) in enumerate(homes, 1) if home == run.id), 0)
    pair = pair_of(ledger.brief, run)
    return next((at for at, (pairs, _) in enumerate(homes, 1) if pair in pairs), 0)


def _warn_of_knobs(ledger: Ledger, wired: _Wired, live: set[str]) -> None:
    """A knob that would tie two outputs together takes the pairs of the first; the others play past it."""
    for place, knob in wired.knobs.items():
        homes = [run for _, run in wired.homes.get(place, []) if run in live]
        past = len(wired.past.intersection(homes))
        if past:
            ledger.problems.append(warning(
                knob.where[-1], "pairs-past-the-knob",
                f"The {len(homes)} speaker cables at the knob '{knob.id}' come from several amplifier outputs in "
                f"option '{ledger.brief.option}', which must never meet: {past} go past it and are not turned down by "
                "it.",
                "Type keypad or phone under 'Control', or fewer pairs for that room."))

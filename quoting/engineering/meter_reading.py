"""What an ohmmeter should show of each speaker circuit before it is landed: at the rack, and behind a knob."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from quoting.engineering.brief import Brief
from quoting.engineering.cable_gauge import design_number, ohm_per_m
from quoting.engineering.conductors import loop_ohm
from quoting.engineering.loads import parallel_ohm
from quoting.facts import CableRun, Connection, Speaker
from quoting.facts.connection import JOINT

LOW, HIGH = "meter low rate", "meter high rate"  # of a voice coil's nominal impedance, by direct current


def with_readings(brief: Brief, made: Sequence[Connection]) -> list[Connection]:
    """The connections, those that leave the head end or a knob with the lowest and highest reading to expect.

    A reading is the loop of the cables plus the voice coils, side by side where several hang on the cable. There is
    none through a knob or a line's transformers (a meter reads their winding), and only a lowest one over a reused
    cable, whose length nobody knows. A home run has the loop of its own wire besides: what its short would read; and
    each speaker cable what it reads by itself, twisted together at its far end.
    """
    ask = brief.catalog.standards.ask
    rows = (ask("cable_design", item=LOW).decided, ask("cable_design", item=HIGH).decided)
    rates = design_number(brief, LOW), design_number(brief, HIGH)
    circuits = _Circuits(brief, made)
    read = []
    for one in made:
        home = one.group == "speaker" and circuits.runs[one.run].start == "HE"
        if home or (one.group == "speaker" and one.from_socket != JOINT):
            low, high = (round(circuits.ohm(one, rate), 2) for rate in rates)
            if low:
                one = replace(one, meter_low_ohm=low, meter_high_ohm=high if circuits.known(one) else 0.0, decided=rows)
        if home:
            shortest, longest = circuits.loops(one)
            one = replace(one, loop_low_ohm=round(shortest, 3), loop_high_ohm=round(longest, 3))
        if one.group == "speaker":
            low, high = circuits.wire(circuits.runs[one.run])
            one = replace(one, wire_low_ohm=round(low, 3), wire_high_ohm=round(high, 3))
        read.append(one)
    return read


class _Circuits:
    """The wires of one option as a tree from each output."""

    def __init__(self, brief: Brief, made: Sequence[Connection]) -> None:
        self.brief = brief
        self.runs = {run.id: run for run in brief.of(CableRun)}
        self.speakers = {speaker.id: speaker for speaker in brief.of(Speaker)}
        self.onward: dict[tuple[str, int, str], list[Connection]] = {}
        for one in made:
            if one.group == "speaker" and one.from_socket == JOINT:
                self.onward.setdefault((one.from_device, one.from_index, one.from_side), []).append(one)

    def ohm(self, one: Connection, coil_rate: float) -> float:
        """What lies behind a connection, reused cable taken for none; 0 where a meter cannot tell. [ohm]"""
        if self.runs[one.run].purpose == "line":
            return 0.0
        behind: list[float] = []
        speaker = self.speakers.get(one.to_device)
        if speaker is not None:
            if not speaker.nominal_ohm or speaker.tap_w:
                return 0.0
            behind.append(speaker.nominal_ohm * coil_rate)
        elif one.to_socket != JOINT:
            return 0.0
        behind += [self.ohm(leg, coil_rate) for leg in self._legs(one)]
        if not behind or not all(behind):
            return 0.0
        run = self.runs[one.run]
        return self._loop_ohm(run, run.length_m) + parallel_ohm(*behind)

    def known(self, one: Connection) -> bool:
        """Whether every cable from here on has a length that somebody knows."""
        return self._measured(self.runs[one.run]) and all(self.known(leg) for leg in self._legs(one))

    def loops(self, one: Connection) -> tuple[float, float]:
        """The wire alone, there and back: cut to its way without slack, and as it came off the spool; of a line all
        of it, to its farthest end. 0 and 0 where nobody knows its length. [ohm]"""
        run = self.runs[one.run]
        if not self._measured(run):
            return 0.0, 0.0
        onward = [self.loops(leg) for leg in self._legs(one)] if run.purpose == "line" else []
        if onward and not all(longest for _, longest in onward):
            return 0.0, 0.0
        wire = self.wire(run)
        return tuple(wire[at] + max((leg[at] for leg in onward), default=0.0)  # type: ignore[return-value]
                     for at in (0, 1))

    def wire(self, run: CableRun) -> tuple[float, float]:
        """One cable, out and back: cut to its way without slack, and as it came off the spool. [ohm]"""
        return self._loop_ohm(run, max(0.0, run.planned_m - run.slack_m)), self._loop_ohm(run, run.length_m)

    def _legs(self, one: Connection) -> list[Connection]:
        speaker = self.speakers.get(one.to_device)
        place, index = (speaker.place, 0) if speaker is not None else (one.to_device, one.to_index)
        return self.onward.get((place, index, one.to_side), [])

    def _measured(self, run: CableRun) -> bool:
        return run.part in self.brief.catalog.cables and not run.reused

    def _loop_ohm(self, run: CableRun, length_m: float) -> float:
        return loop_ohm(length_m, ohm_per_m(self.brief, self.brief.catalog.cables[run.part])) \
            if self._measured(run) else 0.0

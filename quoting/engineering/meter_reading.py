"""What an ohmmeter should show of each speaker circuit before it is landed: at the rack, and behind a knob."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

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
    none through a knob or a line's transformers (a meter reads their winding), nor over a reused cable, whose length
    nobody knows.
    """
    ask = brief.catalog.standards.ask
    rows = (ask("cable_design", item=LOW).decided, ask("cable_design", item=HIGH).decided)
    rates = design_number(brief, LOW), design_number(brief, HIGH)
    circuits = _Circuits(brief, made)
    read = []
    for one in made:
        if one.group == "speaker" and (circuits.runs[one.run].start == "HE" or one.from_socket != JOINT):
            low, high = (circuits.ohm(one, rate) for rate in rates)
            if low and high:
                one = replace(one, meter_low_ohm=round(low, 2), meter_high_ohm=round(high, 2), decided=rows)
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
        """What lies behind a connection; 0 where a meter cannot tell. [ohm]"""
        run = self.runs[one.run]
        cable = self.brief.catalog.cables.get(run.part)
        if cable is None or run.purpose == "line":
            return 0.0
        behind: list[float] = []
        speaker = self.speakers.get(one.to_device)
        if speaker is not None:
            if not speaker.nominal_ohm or speaker.tap_w:
                return 0.0
            behind.append(speaker.nominal_ohm * coil_rate)
        elif one.to_socket != JOINT:
            return 0.0
        place, index = (speaker.place, 0) if speaker is not None else (one.to_device, one.to_index)
        behind += [self.ohm(leg, coil_rate) for leg in self.onward.get((place, index, one.to_side), [])]
        if not behind or not all(behind):
            return 0.0
        return loop_ohm(run.length_m, ohm_per_m(self.brief, cable)) + parallel_ohm(*behind)

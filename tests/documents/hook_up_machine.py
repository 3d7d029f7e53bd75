"""A rack as a state machine: what is plugged in, what is live by mains, battery, network cable, keypad bus, trigger.

It knows nothing of how the sheet is made. It begins as bad as it can: everything connected, everything on. A step
that touches something live, or comes too early, is a fault in words.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from quoting.documents.crew_steps import HookUpStep

Row = Mapping[str, Any]
LOW_VOLTAGE = ("poe", "bus", "trigger")


@dataclass
class Rack:
    """The state between two steps."""

    rows: tuple[Row, ...]
    batteries: frozenset[str]  # UPS: live without the wall as long as their output is on
    cords: set[str] = field(default_factory=set)  # mains connections that are plugged in
    outputs: set[str] = field(default_factory=set)  # UPS outputs that are on
    abroad: set[str] = field(default_factory=set)  # devices on power of their own that are on
    ends: dict[str, set[str]] = field(default_factory=dict)  # connection -> cable ends landed
    made: list[str] = field(default_factory=list)  # connections that the sheet has made
    metered: set[str] = field(default_factory=set)
    woken: list[str] = field(default_factory=list)  # devices in the order in which the sheet powers them
    faults: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.by_id = {row["id"]: row for row in self.rows}
        self.mains = [row for row in self.rows if row["group"] == "mains"]
        fed = {row["to_device"] for row in self.mains}
        own = {row["from_device"] for row in self.rows if row["from_device"] not in fed and (
            row["from_device"] in ("ROUTER",) or row["from_device"].startswith(("BELL-", "SRC-"))
            or row["from_device"].endswith("-T1"))}
        self.cords = {row["id"] for row in self.mains}
        self.outputs, self.abroad = set(self.batteries), set(own)

    def live(self) -> set[str]:
        """Every device with voltage on it."""
        hot = set(self.abroad) | self.outputs
        while True:
            more = {row["to_device"] for row in self.mains if row["id"] in self.cords and (
                row["from_device"] == "WALL" or (row["from_device"] in hot and (
                    row["from_device"] not in self.batteries or row["from_device"] in self.outputs)))}
            more |= {row[end] for row in self.rows if row["powered"] in LOW_VOLTAGE
                     for end in ("from_device", "to_device") if {row["from_device"], row["to_device"]} & hot}
            if more <= hot:
                return hot
            hot |= more

    def do(self, step: HookUpStep) -> None:
        """One step; what is wrong with it goes to the faults."""
        rows = [self.by_id[id] for id in step.connections]
        touched = {row[end] for row in rows for end in ("from_device", "to_device")} - {"WALL"}
        match step.action:
            case "off":
                self.cords -= {row["id"] for row in self.mains if row["to_device"] in step.devices
                               and row["to_device"] not in self.batteries}
                self.outputs -= set(step.devices)
                self.abroad -= set(step.devices)
            case "unplug":
                self.cords -= set(step.connections)
            case "wait" | "check":
                self._dead(step, self.live())
            case "set":
                self._dead(step, set(step.devices) & self.live())
            case "meter":
                self._dead(step, touched & self.live())
                if any(id in self.ends and any("A" in end for end in self.ends[id]) for id in step.connections):
                    self.faults.append(f"step {step.number}: landed before it was metered")
                self.metered |= set(step.connections)
            case "connect":
                self._dead(step, touched & self.live())
                self._connect(step, rows)
            case "power":
                self._power(step, rows)
            case "listen":
                if not set(step.devices) <= self.live():
                    self.faults.append(f"step {step.number}: nothing can play on {step.devices}")

    def _dead(self, step: HookUpStep, hot: Iterable[str]) -> None:
        self.faults += [f"step {step.number}: {device} is live" for device in sorted(hot)]

    def _connect(self, step: HookUpStep, rows: Iterable[Row]) -> None:
        for row in rows:
            here = {end for end in step.cable_ends if end.startswith(row["run"])} if row["run"] else {"lead"}
            there = self.ends.setdefault(row["id"], set())
            if here & there or not here:
                self.faults.append(f"step {step.number}: {row['id']} is landed twice")
            there |= here
            if len(there) == (2 if row["run"] else 1):
                self.made.append(row["id"])
                if row["group"] == "mains":
                    self.cords.add(row["id"])

    def _power(self, step: HookUpStep, rows: Iterable[Row]) -> None:
        waiting = [row["id"] for row in self.rows if row["group"] != "mains" and row["id"] not in self.made]
        if waiting:
            self.faults.append(f"step {step.number}: power before {waiting[0]} is connected")
        for row in rows:
            if row["from_device"] != "WALL" and row["from_device"] not in self.live():
                self.faults.append(f"step {step.number}: {row['from_device']} gives no power yet")
            self.cords.add(row["id"])
            self.made.append(row["id"])
            self.outputs |= {row["to_device"]} & self.batteries
        if not rows:
            self.abroad |= set(step.devices)
        self.woken += step.devices


def run(rows: tuple[Row, ...], batteries: Iterable[str], steps: Iterable[HookUpStep]) -> Rack:
    """The rack after every step."""
    rack = Rack(rows, frozenset(batteries))
    for step in steps:
        rack.do(step)
    return rack


def order_faults(rack: Rack) -> list[str]:
    """Controllers before sources before amplifiers, by the place of each in the order of power."""
    place = {device: number for number, device in enumerate(rack.woken)}
    amplifiers = {row["from_device"] for row in rack.rows if row["group"] == "speaker"
                  and row["from_device"].startswith(("AMP-", "CTL-"))}
    controllers = {id for id in place if id.startswith("CTL-")} - amplifiers
    sources = {row["from_device"] for row in rack.rows if row["group"] == "source"} & set(place)
    groups = [("controller", controllers), ("source", sources), ("amplifier", amplifiers & set(place))]
    return [f"{later} {b} is powered before {earlier} {a}"
            for index, (earlier, first) in enumerate(groups) for later, second in groups[index + 1:]
            for a in sorted(first) for b in sorted(second) if place[b] < place[a]]

"""A rack as a state machine: what is plugged in, what is live by mains, battery, network cable, keypad bus, trigger.

It knows nothing of how the sheet is made. It begins as bad as it can: every lead of the rack connected, everything on;
only cables in walls carry nothing before both their ends are landed. A step that touches something live, comes too
early, or can no longer be done because something hides it, is a fault in words.
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
    hangs: Mapping[str, str] = field(default_factory=dict)  # device -> where it hangs: it hides what is behind
    cords: set[str] = field(default_factory=set)  # mains connections that are plugged in
    outputs: set[str] = field(default_factory=set)  # UPS outputs that are on
    abroad: set[str] = field(default_factory=set)  # devices on power of their own that are on
    ends: dict[str, set[str]] = field(default_factory=dict)  # connection -> cable ends landed
    made: list[str] = field(default_factory=list)  # connections that the sheet has made
    metered: set[str] = field(default_factory=set)
    metered_together: list[frozenset[str]] = field(default_factory=list)
    tested: list[str] = field(default_factory=list)  # cables by themselves, each time that they were
    racks: frozenset[str] = frozenset()
    standing: set[str] = field(default_factory=set)  # racks that are at their place
    fixed: set[str] = field(default_factory=set)  # ... and fixed there
    stowed: list[str] = field(default_factory=list)  # cable ends that wait
    woken: list[str] = field(default_factory=list)  # devices in the order in which the sheet powers them
    faults: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.by_id = {row["id"]: row for row in self.rows}
        self.racked = {row["to_device"] for row in self.rows if row["group"] == "mains"}
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
            more |= {row[end] for row in self.rows if row["powered"] in LOW_VOLTAGE and self._joined(row)
                     for end in ("from_device", "to_device") if {row["from_device"], row["to_device"]} & hot}
            if more <= hot:
                return hot
            hot |= more

    def _joined(self, row: Row) -> bool:
        """Whether a connection can carry power: a lead from the beginning, a cable once both ends are on."""
        return not row["run"] or len(self.ends.get(row["id"], ())) == 2

    def _touched(self, step: HookUpStep, rows: Iterable[Row]) -> set[str]:
        """The devices that a step's hands are on: of a cable the end that is landed, and what is on its other end."""
        found: set[str] = set()
        for row in rows:
            both = {row["from_device"], row["to_device"]}
            found |= both & set(step.devices) if row["run"] and not self.ends.get(row["id"]) else both
        return found - {"WALL"}

    def do(self, step: HookUpStep) -> None:
        """One step; what is wrong with it goes to the faults."""
        rows = [self.by_id[id] for id in step.connections]
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
            case "stand":
                self.standing |= set(step.devices)
            case "fix":
                self._dead(step, self.live())
                self._fault_if(step, sorted(set(step.devices) - self.standing), "is fixed before it stands")
                self.fixed |= set(step.devices)
            case "set":
                self._dead(step, set(step.devices) & self.live())
                self._fault_if(step, [id for id in step.devices if id in self.hangs and self._is_landed(id)],
                               "is set after it was landed")
            case "test":
                self._dead(step, self._touched(step, rows) & self.live())
                self._test(step)
            case "meter":
                self._dead(step, self._touched(step, rows) & self.live())
                self._meter(step, rows)
            case "stow":
                self.stowed += step.cable_ends
                self._fault_if(step, [end for end in step.cable_ends if end[:-1] not in self.tested], "not tested")
            case "connect":
                self._dead(step, self._touched(step, rows) & self.live())
                self._at_place(step, rows)
                self._connect(step, rows)
            case "power":
                self._power(step, rows)
            case "listen":
                if not set(step.devices) <= self.live():
                    self.faults.append(f"step {step.number}: nothing can play on {step.devices}")

    def _dead(self, step: HookUpStep, hot: Iterable[str]) -> None:
        self.faults += [f"step {step.number}: {device} is live" for device in sorted(hot)]

    def _fault_if(self, step: HookUpStep, what: Iterable[str], words: str) -> None:
        self.faults += [f"step {step.number}: {id} {words}" for id in what]

    def _test(self, step: HookUpStep) -> None:
        """A cable by itself: no end is on anything, or both are and nothing goes on from its port yet."""
        for cable in step.cables:
            self.tested.append(cable)
            rows = [row for row in self.rows if row["run"] == cable]
            counts = {len(self.ends.get(row["id"], ())) for row in rows}
            self._fault_if(step, [cable] if counts - {0} and counts != {2} else [],
                           "is tested with one end on a device")
            self._fault_if(step, [cable] if f"P{cable}" in self.made else [], "is tested with its patch lead in")

    def _at_place(self, step: HookUpStep, rows: Iterable[Row]) -> None:
        """Cables of the walls reach a rack that stands at its place; nobody reaches behind one that is fixed."""
        for row in rows:
            here = ({row["from_device"], row["to_device"]} & set(step.devices) & self.racked if row["run"] else set())
            self._fault_if(step, here if self.racks - self.standing else (), "is landed before its rack stands")
            self._fault_if(step, [row["id"]] if self.fixed else [], "is connected behind a rack that is fixed")

    def _meter(self, step: HookUpStep, rows: list[Row]) -> None:
        """A circuit before its near end is landed and after its far one; several together once all are landed."""
        landed = {row["id"]: {end.split()[0][-1] for end in self.ends.get(row["id"], ())} for row in rows}
        if len(rows) > 1:
            self.metered_together.append(frozenset(landed))
            self._fault_if(step, [id for id, ends in landed.items() if "A" not in ends],
                           "is metered before it is landed")
            return
        self._fault_if(step, [id for id, ends in landed.items() if "A" in ends], "landed before it was metered")
        self._fault_if(step, [id for id, ends in landed.items() if "B" not in ends],
                       "metered with nothing at its far end")
        self.metered |= set(step.connections)

    def _connect(self, step: HookUpStep, rows: Iterable[Row]) -> None:
        for row in rows:
            if row["group"] == "speaker" and row["run"] not in self.tested:
                self.faults.append(f"step {step.number}: {row['run']} is landed untested")
            here = {end for end in step.cable_ends if end.startswith(row["run"])} if row["run"] else {"lead"}
            there = self.ends.setdefault(row["id"], set())
            if here & there or not here:
                self.faults.append(f"step {step.number}: {row['id']} is landed twice")
            there |= here
            if len(there) == (2 if row["run"] else 1):
                self.made.append(row["id"])
                if row["group"] == "mains":
                    self.cords.add(row["id"])
        self._hidden(step)

    def _is_landed(self, device: str) -> bool:
        """Whether any cable or lead is on a device."""
        return any(self.ends.get(row["id"]) for row in self.rows for end, letter in (("from", "A"), ("to", "B"))
                   if row[f"{end}_device"] == device
                   and any(landed.split()[0].endswith(letter) for landed in self.ends.get(row["id"], ())))

    def _hidden(self, step: HookUpStep) -> None:
        """What hangs at a place closes it: whatever is joined there comes before."""
        for device in set(step.devices) & set(self.hangs):
            place = self.hangs[device]
            open_joints = [row["id"] for row in self.rows for end in ("from", "to")
                           if row[f"{end}_device"] == place and row[f"{end}_socket"] == "joint"
                           and not any(landed.split()[0].endswith(self._letter(row, end))
                                       for landed in self.ends.get(row["id"], ()))]
            self._fault_if(step, open_joints, f"is not joined yet behind {device}")

    def _letter(self, row: Row, end: str) -> str:
        """Which end of its cable a connection's end is: signal goes from the head end, a control's or input's back."""
        return {"from": "A", "to": "B"}[end] if row["group"] == "speaker" else {"from": "B", "to": "A"}[end]

    def _power(self, step: HookUpStep, rows: Iterable[Row]) -> None:
        waiting = [row["id"] for row in self.rows if row["group"] != "mains" and row["id"] not in self.made]
        if waiting:
            self.faults.append(f"step {step.number}: power before {waiting[0]} is connected")
        self._fault_if(step, sorted(self.racks - self.fixed), "is not fixed before power")
        for row in rows:
            if row["from_device"] != "WALL" and row["from_device"] not in self.live():
                self.faults.append(f"step {step.number}: {row['from_device']} gives no power yet")
            self.cords.add(row["id"])
            self.made.append(row["id"])
            self.outputs |= {row["to_device"]} & self.batteries
        if not rows:
            self.abroad |= set(step.devices)
        self.woken += step.devices


def run(
    rows: tuple[Row, ...], batteries: Iterable[str], steps: Iterable[HookUpStep],
    hangs: Mapping[str, str] | None = None, racks: Iterable[str] = (),
) -> Rack:
    """The rack after every step."""
    rack = Rack(rows, frozenset(batteries), hangs or {}, racks=frozenset(racks))
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

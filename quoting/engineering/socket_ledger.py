"""Which sockets are taken while an option is being wired: every connection asks here for its two ends."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

from msgspec import Struct
from msgspec.structs import replace

from quoting.catalog.records import Socket
from quoting.engineering.brief import Brief
from quoting.facts import (
    AmplifierFact,
    AudioSource,
    CableRun,
    Connection,
    ControllerFact,
    Fact,
    NetworkDevice,
    RackSlot,
)
from quoting.facts.connection import JOINT, NO_SOCKET
from quoting.problems import Cell, Problem, warning

Way = Literal["in", "out"]
AUDIO = ("line", "digital")


class Box(Struct, frozen=True):
    """A device as connections name it, and its part."""

    id: str
    part: str = ""
    where: tuple[Cell, ...] = ()


class End(Struct, frozen=True):
    """One end of a connection."""

    device: str
    part: str
    socket: str
    index: int
    side: str = ""


@dataclass
class Ledger:
    """The connections made so far, the sockets that they take, and what was missing."""

    brief: Brief
    made: list[Connection] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)
    taken: Counter[tuple[str, Way, str, str]] = field(default_factory=Counter)  # handed out one after another
    boxes: dict[tuple[str, str], list[Box]] = field(default_factory=dict)  # device and part -> boxes in rack order
    slots: dict[str, Box] = field(default_factory=dict)  # rack slot -> its box
    panels: list[Box] = field(default_factory=list)
    ports: dict[str, tuple[Box, int]] = field(default_factory=dict)  # run -> patch panel and port

    def __post_init__(self) -> None:
        brief = self.brief
        own: dict[str, str] = {}
        own.update((fact.id, fact.part) for fact in brief.of(AmplifierFact))
        own.update((fact.id, fact.part) for fact in brief.of(ControllerFact))
        own.update((fact.id, fact.part) for fact in brief.of(AudioSource))
        own.update((fact.id, fact.part) for fact in brief.of(NetworkDevice))
        for slot in brief.of(RackSlot):
            owned = slot.device and not slot.part
            box = Box(slot.device if owned or own.get(slot.device) == slot.part else slot.id, slot.part, slot.where)
            self.boxes.setdefault((slot.device, slot.part), []).append(box)
            self.slots[slot.id] = box
            if slot.what == "patch panel":
                self.panels.append(box)

    def box(self, device: str, part: str, number: int = 0) -> Box:
        """The box of a part that a fact brings, by its place in the rack; by the fact's id where it has none."""
        found = self.boxes.get((device, part), [])
        return found[number] if number < len(found) else Box(device, part)

    def socket(self, box: Box, way: Way, signals: Sequence[str], connector: str = "") -> Socket | None:
        """The first kind of socket of a box that goes that way, carries the signal and (where said) has the plug."""
        return next((socket for socket in self.brief.catalog.sockets.get(box.part, ())
                     if socket.direction in (way, "both") and socket.signal in signals
                     and connector in ("", socket.connector)), None)

    def free(self, box: Box, way: Way, signals: Sequence[str], connector: str = "") -> int:
        """How many such sockets of a box are not handed out yet."""
        socket = self.socket(box, way, signals, connector)
        if socket is None:
            return 0
        return socket.count - self.taken[box.id, _way(socket), socket.signal, socket.connector]

    def end(
        self, box: Box, way: Way, signals: Sequence[str], connector: str = "", index: int = 0, side: str = "",
        quiet: bool = False,
    ) -> End:
        """A socket of a box: the one of that number, else the next that is free. What is missing becomes a problem."""
        if not box.part:  # the customer's own: what somebody typed
            return End(box.id, "", " ".join(filter(None, (signals[0], connector))), index or 1, side)
        socket = self.socket(box, way, signals, connector)
        if socket is None:
            return self._missing(box, way, f"{' or '.join(signals)} {connector}".strip(), 0, side, quiet)
        name = f"{socket.signal} {socket.connector}"
        key = (box.id, _way(socket), socket.signal, socket.connector)
        if not index:
            index = self.taken[key] + 1
        self.taken[key] = max(self.taken[key], index)
        if index > socket.count:
            return self._missing(box, way, name, socket.count, side, quiet)
        return End(box.id, box.part, name, index, side)

    def _missing(self, box: Box, way: Way, name: str, count: int, side: str, quiet: bool) -> End:
        if not quiet:
            where = box.where[0] if box.where else self.brief.job.where("head_end")[0]
            has = f"has {count} '{name}' {_NAMES[way]}s, one too few" if count else f"has no '{name}' {_NAMES[way]}"
            self.problems.append(warning(
                where, "missing-socket",
                f"A lead of option '{self.brief.option}' {_GOES[way]} '{box.id}', and its part '{box.part}' {has}.",
                "Give the part that socket in sockets.csv, name another part in options.csv, or for a source type "
                "another 'Connector'."))
        return End(box.id, box.part, NO_SOCKET, 0, side)

    def join(self, group: str, id: str, start: End, end: End, *basis: Fact, **values: object) -> None:
        """One connection more, from one end to the other."""
        where = tuple(dict.fromkeys(cell for fact in basis for cell in fact.where))
        self.made.append(Connection(
            id=id, basis=tuple(dict.fromkeys(fact.id for fact in basis)), where=where, group=group,
            room=basis[0].room if basis else "", zone=basis[0].zone if basis else 0,
            from_device=start.device, from_part=start.part, from_socket=start.socket, from_index=start.index,
            from_side=start.side, to_device=end.device, to_part=end.part, to_socket=end.socket, to_index=end.index,
            to_side=end.side, **values))  # type: ignore[arg-type]

    def land(self, run: CableRun, start: End, group: str, fact: Fact, powered: str = "", note: str = "") -> None:
        """A cable from a wall to the next port of the patch panels."""
        self.ports[run.id] = self._next_port()
        panel, index = self.ports[run.id]
        end = self.end(panel, "in", ("network",), index=index)
        self.join(group, f"C{run.id}", start, end, fact, run, run=run.id, powered=powered, note=note)

    def patch(self, run: CableRun, end: End, group: str, fact: Fact, powered: str = "") -> None:
        """From the port of a cable (or of the cable that it shares) on to a device."""
        panel, index = self.ports.get(run.id) or self._shared_port(run)
        start = self.end(panel, "out", ("network",), index=index)
        self.join(group, f"P{run.id}", start, end, fact, run, lead=self.brief.part_for("patch lead"), powered=powered)

    def _next_port(self) -> tuple[Box, int]:
        number = len(self.ports)
        for panel in self.panels:
            socket = self.socket(panel, "in", ("network",))
            count = socket.count if socket else number + 1
            if number < count:
                return panel, number + 1
            number -= count
        return (self.panels or [Box("PANEL")])[-1], number + 1

    def _shared_port(self, run: CableRun) -> tuple[Box, int]:
        """The port of a keypad's cable whose spare conductors a room input goes on."""
        shared = (one.id for one in self.brief.of(CableRun) if one.end == run.start and one.start == "HE")
        return next((self.ports[id] for id in shared if id in self.ports), (Box("PANEL"), 0))

    def name_joints(self, group: str) -> None:
        """Says of each connection of a group which others meet it on its socket, side by side or in one box."""
        meet: dict[tuple[object, ...], list[str]] = {}
        for one in self.made:
            if one.group == group:
                for node in _nodes(one):
                    meet.setdefault(node, []).append(one.id)
        for at, one in enumerate(self.made):
            if one.group == group:
                together = {other for node in _nodes(one) for other in meet[node] if len(meet[node]) > 1}
                if together - {one.id}:
                    self.made[at] = replace(one, joint=", ".join(sorted({*together, one.id})))


_GOES: Mapping[Way, str] = {"in": "goes into", "out": "comes from"}
_NAMES: Mapping[Way, str] = {"in": "input", "out": "output"}


def _way(socket: Socket) -> Way:
    return "in" if socket.direction == "in" else "out"


def _nodes(one: Connection) -> tuple[tuple[object, ...], ...]:
    """The points that a connection touches: socket by socket, each plug of a stereo lead by itself."""
    ends = (("out", one.from_device, one.from_socket, one.from_index, one.from_side),
            ("in", one.to_device, one.to_socket, one.to_index, one.to_side))
    return tuple(("" if socket == JOINT else way, device, socket, index, side)
                 for way, device, socket, index, sides in ends if socket != NO_SOCKET for side in (sides or " "))

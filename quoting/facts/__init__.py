"""The designed system as flat rows: one frozen record a kind, and the dict that names the kinds.

A rule column tests one scalar field of one kind; what a rule needs and a fact lacks, engineering computes as a
field. Units end every numeric name; lengths are metres. Text fields that name a part hold a part number or "".
To add a kind: a record in this package with its entry in FACT_KINDS, the engineering step that makes it, its
rule sheet.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeVar

from msgspec import Struct

from quoting.facts.cable import (
    CableEnd,
    CableRun,
    CableWay,
    HouseExit,
)
from quoting.facts.connection import (
    Connection,
)
from quoting.facts.devices import (
    AmplifierFact,
    AmplifierOutput,
    AudioSource,
    ControllerFact,
    KeypadFact,
    NetworkDevice,
    RackFact,
    RackSlot,
    RoomInput,
    Speaker,
    Trigger,
    ZoneFact,
)
from quoting.facts.effort import (
    JobEffort,
    PhaseEffort,
)
from quoting.facts.fact import (
    Fact,
    SiteFact,
)
from quoting.facts.house import (
    Doorbell,
    ExtraPart,
    FloorFact,
    HeadEndPlace,
    IdlePlace,
    JobFact,
    OwnedItem,
    Paging,
    Place,
    Pull,
    RoomFact,
    RoomLevel,
    RoomUse,
    SystemFact,
    Trench,
    WallBox,
    WorkLimits,
)
from quoting.facts.wiring import (
    Conduit,
    FramingLimits,
    HeadEndOpening,
    KeypadBus,
    Separation,
    SharedWay,
    StoneHole,
    StonePassage,
    VoltageLine,
)

__all__ = [
    "EFFORT_KINDS",
    "FACT_KINDS",
    "AmplifierFact",
    "AmplifierOutput",
    "AudioSource",
    "CableEnd",
    "CableRun",
    "CableWay",
    "Conduit",
    "Connection",
    "ControllerFact",
    "Design",
    "Doorbell",
    "ExtraPart",
    "Fact",
    "FloorFact",
    "FramingLimits",
    "HeadEndOpening",
    "HeadEndPlace",
    "HouseExit",
    "IdlePlace",
    "JobEffort",
    "JobFact",
    "KeypadBus",
    "KeypadFact",
    "NetworkDevice",
    "OptionDesign",
    "OwnedItem",
    "Paging",
    "PhaseEffort",
    "Place",
    "Pull",
    "RackFact",
    "RackSlot",
    "RoomFact",
    "RoomInput",
    "RoomLevel",
    "RoomUse",
    "Separation",
    "SharedWay",
    "SiteFact",
    "Speaker",
    "StoneHole",
    "StonePassage",
    "SystemFact",
    "Trench",
    "Trigger",
    "VoltageLine",
    "WallBox",
    "WorkLimits",
    "ZoneFact",
    "kind_of",
    "of",
]

# The kind's name is its rule sheet's name and its key in quote.json.
FACT_KINDS: dict[str, type[Fact]] = {
    "job": JobFact, "work_limits": WorkLimits, "system": SystemFact, "floor": FloorFact, "room": RoomFact,
    "room_use": RoomUse, "room_level": RoomLevel,
    "head_end_place": HeadEndPlace,
    "place": Place, "wall_box": WallBox, "idle_place": IdlePlace, "speaker": Speaker,
    "cable_run": CableRun, "cable_end": CableEnd, "house_exit": HouseExit,
    "keypad": KeypadFact, "room_input": RoomInput, "audio_source": AudioSource, "owned_item": OwnedItem,
    "zone": ZoneFact, "amplifier": AmplifierFact, "output": AmplifierOutput, "controller": ControllerFact,
    "trigger": Trigger, "network_device": NetworkDevice, "rack": RackFact, "rack_slot": RackSlot,
    "pull": Pull, "shared_way": SharedWay, "stone_hole": StoneHole, "framing": FramingLimits,
    "head_end_opening": HeadEndOpening,
    "doorbell": Doorbell, "paging": Paging, "trench": Trench, "conduit": Conduit, "line": VoltageLine,
    "keypad_bus": KeypadBus, "separation": Separation, "connection": Connection,
    "extra_part": ExtraPart, "phase_effort": PhaseEffort, "job_effort": JobEffort,
}
EFFORT_KINDS = ("phase_effort", "job_effort")  # made by effort.py from the first lines, ruled in the second pass

F = TypeVar("F", bound=Fact)


def kind_of(fact: Fact) -> str:
    """The name of a fact's kind."""
    return next(name for name, cls in FACT_KINDS.items() if type(fact) is cls)


def of(facts: Iterable[Fact], kind: type[F]) -> tuple[F, ...]:
    """The facts of one kind, in their order."""
    return tuple(fact for fact in facts if isinstance(fact, kind))


class OptionDesign(Struct, frozen=True):
    """One option's own facts: everything that is not in the shared plan."""

    name: str
    facts: tuple[Fact, ...]


class Design(Struct, frozen=True):
    """The engineering result: the shared plan (everything buried at rough-in behind open walls), then each option."""

    shared: tuple[Fact, ...]
    options: tuple[OptionDesign, ...]
    dropped: tuple[str, ...] = ()  # ids of facts that an override took out

"""What an engineering step is given, and the small look-ups that several steps share."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cached_property
from typing import Any, TypeVar, cast

from msgspec import Struct

from quoting.catalog.records import Catalog
from quoting.facts import Fact, RoomUse
from quoting.job import Job, Override, OverrideWhat, Room, Setting, Zone
from quoting.problems import Problem

F = TypeVar("F", bound=Fact)
Result = tuple[tuple[Fact, ...], tuple[Problem, ...]]


class Brief(Struct, frozen=True, dict=True):
    """The job, the catalogue, the option being designed, and the facts that earlier steps made.

    `seen` holds the shared plan's facts first, then the option's own. While the shared plan is being made, `option`
    is the fullest option and `by_option` holds each option's facts so far.
    """

    job: Job
    catalog: Catalog
    option: str
    seen: tuple[Fact, ...]
    by_option: Mapping[str, tuple[Fact, ...]]

    def of(self, kind: type[F]) -> tuple[F, ...]:
        """The facts of one kind that this step can see."""
        return cast("tuple[F, ...]", self._by_kind.get(kind, ()))

    def part_for(self, role: str) -> str:
        """The option's first part for a role, "" where it has none."""
        parts = self.catalog.parts_for(role, self.option, self.job.gauge_system)
        return parts[0] if parts else ""

    def number(self, setting: str, default: int = 0) -> int:
        """A whole number among the option's settings."""
        text = self.catalog.setting(setting, self.option)
        return int(text) if text.lstrip("-").isdigit() else default

    def yes(self, setting: str) -> bool:
        """A yes/no among the option's settings."""
        return self.catalog.setting(setting, self.option).lower() == "yes"

    @cached_property
    def _by_kind(self) -> dict[type[Fact], tuple[Fact, ...]]:
        kinds: dict[type[Fact], list[Fact]] = {}
        for fact in self.seen:
            kinds.setdefault(type(fact), []).append(fact)
        return {kind: tuple(facts) for kind, facts in kinds.items()}

    @cached_property
    def rooms(self) -> dict[str, Room]:
        """Rooms by code."""
        return {room.code: room for room in self.job.rooms}

    @cached_property
    def zones(self) -> dict[int, Zone]:
        """Zones by number."""
        return {zone.number: zone for zone in self.job.zones}

    @cached_property
    def uses(self) -> dict[str, RoomUse]:
        """The option's room uses by room code."""
        return {use.room: use for use in self.of(RoomUse)}

    @cached_property
    def _overrides(self) -> dict[tuple[str, str], Override]:
        return {(entry.id, entry.what): entry for entry in self.job.overrides}

    def override(self, fact: str, what: OverrideWhat) -> Override | None:
        """The estimator's correction of one fact, if there is one."""
        return self._overrides.get((fact, what))


Step = Callable[[Brief], Result]


def site(room: Room, job: Job) -> dict[str, Any]:
    """The SiteFact fields of a room, and the room and zone it belongs to."""
    return {
        "room": room.code, "zone": room.zone, "floor": room.floor, "storeys": job.storeys, "occupied": job.occupied,
        "wall_state": room.wall_state, "setting": room.setting, "above": room.above,
        "construction": room.construction, "access": room.access, "ceiling_height_m": room.ceiling_high_m,
    }


def is_open(room: Room) -> bool:
    """Whether the room's walls are open, so that it belongs to the shared plan."""
    return room.wall_state != "finished"


def outdoor(room: Room) -> bool:
    """Whether the room is outside."""
    return room.setting == "outdoor"


def ceiling_middle_m(room: Room) -> float:
    """The ceiling's height where its loudspeakers hang: half way up a slope. [m]"""
    return round((room.ceiling_height_m + room.ceiling_high_m) / 2, 4)


def wetness(room: Room) -> Setting:
    """The room's setting as a loudspeaker feels it: at least damp within reach of a pool, a spa or a shower."""
    return "damp" if room.near_water and room.setting == "dry" else room.setting


def rows_of(decided: Iterable[str]) -> tuple[str, ...]:
    """Standards rows, each once, in their order; "" where nothing had to be asked."""
    return tuple(row for row in dict.fromkeys(decided) if row)


def settings_of(*names: str) -> tuple[str, ...]:
    """How a fact names rows of options.csv that decided it: "options spare_zones"."""
    return tuple(f"options {name}" for name in names)

"""One step of the hook-up sheet, and the sections that steps stand in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

# off: switched off at itself; unplug: its cord out of the wall; power: its cord in, or switched on.
Action = Literal["off", "unplug", "wait", "set", "meter", "connect", "check", "power", "listen"]


@dataclass(frozen=True, slots=True, kw_only=True)
class HookUpStep:
    """One thing to do, then to tick."""

    number: int = 0  # counted through the sheet
    action: Action
    what: str
    start: str = ""
    end: str = ""
    by: str = ""  # cable id or lead
    polarity: str = ""
    shows: str = ""  # what a light or a reading should show
    if_not: str = ""  # what to check then
    devices: tuple[str, ...] = ()  # that somebody touches
    connections: tuple[str, ...] = ()  # ids: made by this step, or powered or metered by it
    cable_ends: tuple[str, ...] = ()  # "101211A L": one circuit of one end; empty where a lead is plugged whole


    @property
    def name(self) -> str:
        """What it is known by in another revision: what it does to what. Steps before it may come and go."""
        if self.action == "listen":
            return self.what.partition(":")[0]
        touched = self.cable_ends or (self.connections if self.action in ("meter", "connect") else self.devices)
        return f"{self.action} {', '.join(touched) or self.end}".strip()


@dataclass(frozen=True, slots=True, kw_only=True)
class HookUpSection:
    """Steps that belong together, with what can hurt whoever does them."""

    title: str
    steps: tuple[HookUpStep, ...]
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class HookUpSheet:
    """One option's hook-up, in the order that is safe."""

    option: str
    sections: tuple[HookUpSection, ...]

    @property
    def steps(self) -> tuple[HookUpStep, ...]:
        """Every step in its order."""
        return tuple(step for section in self.sections for step in section.steps)

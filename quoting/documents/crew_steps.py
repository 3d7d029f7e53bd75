"""One step of the hook-up sheet, and the sections that steps stand in."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

from quoting.lines import Phase

# off: switched off at itself; unplug: its cord out of the wall; power: its cord in, or switched on. test: a cable by
# itself, both ends free of devices; meter: a speaker circuit with what hangs on it; stow: an end that waits, put away;
# stand: a rack set at its place; fix: fixed there.
Action = Literal["off", "unplug", "wait", "stand", "set", "test", "meter", "connect", "stow", "check", "fix", "power",
                 "listen"]


class HookUpStep(Struct, frozen=True, kw_only=True):
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
    connections: tuple[str, ...] = ()  # ids: made by this step, or powered, metered or tested by it
    cable_ends: tuple[str, ...] = ()  # "101211A L": one circuit of one end; empty where a lead is plugged whole
    cables: tuple[str, ...] = ()  # ids: tested by themselves
    room: str = ""  # its name, where steps are in the order of the rooms

    @property
    def name(self) -> str:
        """What it is known by in another revision: what it does to what. Steps before it may come and go."""
        if self.action == "listen":
            return self.what.partition(":")[0]
        made = self.connections if self.action in ("meter", "connect", "test") else self.devices
        touched = self.cable_ends or made or self.cables
        return f"{self.action} {', '.join(touched) or self.end}".strip()


class HookUpSection(Struct, frozen=True, kw_only=True):
    """Steps that belong together, with what can hurt whoever does them."""

    title: str
    phase: Phase  # on whose visit it is done
    steps: tuple[HookUpStep, ...]
    cautions: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


class HookUpSheet(Struct, frozen=True, kw_only=True):
    """One option's hook-up, in the order that is safe."""

    option: str
    sections: tuple[HookUpSection, ...]

    @property
    def steps(self) -> tuple[HookUpStep, ...]:
        """Every step in its order."""
        return tuple(step for section in self.sections for step in section.steps)

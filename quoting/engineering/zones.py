"""What each zone asks of the head end: outputs, channels, load, power."""

from __future__ import annotations

from dataclasses import dataclass

from quoting.engineering.brief import Brief, rows_of
from quoting.engineering.loads import bridged_channel_ohm, parallel_ohm
from quoting.facts import RoomUse, Speaker
from quoting.job import WallState, Zone


@dataclass(frozen=True, slots=True, kw_only=True)
class ZoneNeed:
    """One zone that plays in this option."""

    zone: Zone
    rooms: int
    sub_zones: int
    pairs: int
    speakers: int
    control: str
    wall_state: WallState
    asked_w: float  # of one channel
    coil_ohm: tuple[float, ...]  # voice coils that one side must carry, in order; all of them where mono
    basis: tuple[str, ...]
    decided: tuple[str, ...]

    def splits(self, minimum_ohm: float, bridged: bool) -> int:
        """How many channel pairs the zone's pairs must be spread over, so that no channel sees less than its minimum.

        0 where even one pair a channel pair is below it.
        """
        for groups in range(1, len(self.coil_ohm) + 1):
            if self.load_ohm(groups, bridged) >= minimum_ohm - 1e-9:
                return groups
        return 0

    def load_ohm(self, groups: int, bridged: bool) -> float:
        """The lowest load that one channel sees with the pairs dealt over so many channel pairs. [ohm]"""
        loads = [parallel_ohm(*self.coil_ohm[index::groups]) for index in range(groups)]
        lowest = min(loads)
        return bridged_channel_ohm(lowest) if bridged else lowest


def zone_needs(brief: Brief) -> tuple[ZoneNeed, ...]:
    """The live zones in zone order."""
    uses: dict[int, list[RoomUse]] = {}
    for use in brief.uses.values():
        if use.state == "live":
            uses.setdefault(use.zone, []).append(use)
    speakers: dict[int, list[Speaker]] = {}
    for speaker in brief.of(Speaker):
        speakers.setdefault(speaker.zone, []).append(speaker)
    return tuple(
        _need(zone, uses[zone.number], speakers[zone.number])
        for zone in brief.job.zones if zone.number in uses and zone.number in speakers)


def _need(zone: Zone, uses: list[RoomUse], speakers: list[Speaker]) -> ZoneNeed:
    # One side of the zone: the left speakers; a single-stereo speaker stands for a pair with its own two voice coils.
    one_side = [speaker for speaker in speakers if speaker.side in ("L", "both", "")] or speakers
    # A mono zone puts every voice coil on one channel.
    coils = [speaker.nominal_ohm for speaker in speakers for _ in range(2 if speaker.single_stereo else 1)]
    order = {"phone": 0, "knob": 1, "keypad": 2}
    return ZoneNeed(
        zone=zone, rooms=len(uses), sub_zones=sum(use.sub_zone for use in uses), pairs=len(one_side),
        speakers=len(speakers), control=max((use.control for use in uses), key=lambda control: order[control]),
        wall_state="finished" if all(use.wall_state == "finished" for use in uses) else uses[0].wall_state,
        asked_w=round(max(speaker.asked_w for speaker in speakers), 2),
        coil_ohm=tuple(coils) if zone.mono else tuple(speaker.nominal_ohm for speaker in one_side),
        basis=tuple(use.id for use in uses) + tuple(speaker.id for speaker in speakers),
        decided=rows_of(row for use in uses for row in use.decided))

"""What each zone asks of the head end: outputs, channels, load, power; and the checks of a zone as a whole."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from msgspec import Struct

from quoting.engineering.brief import Brief, Result, rows_of, settings_of
from quoting.engineering.loads import bridged_channel_ohm, parallel_ohm
from quoting.facts import (
    AmplifierFact,
    AmplifierOutput,
    AudioSource,
    CableRun,
    ControllerFact,
    KeypadFact,
    Place,
    RoomUse,
    Speaker,
    ZoneFact,
)
from quoting.job import WallState, Zone
from quoting.problems import Problem, stop, warning


class ZoneNeed(Struct, frozen=True, kw_only=True):
    """One zone that plays in this option."""

    zone: Zone
    rooms: int
    sub_zones: int
    pairs: int
    speakers: int
    control: str
    wall_state: WallState
    coil_ohm: tuple[float, ...]  # of each pair the lower voice coil, in order; every voice coil where mono
    coil_w: tuple[float, ...]  # the most that the level, its peaks and the option's headroom ask of each of them
    coil_sides: tuple[str, ...]  # which sides of each are there: LR; L or R where an override took the other; M
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
        return min(self.loads_ohm(groups, bridged))

    def loads_ohm(self, groups: int, bridged: bool) -> tuple[float, ...]:
        """What one channel of each group sees. [ohm]"""
        loads = [parallel_ohm(*self.coil_ohm[index::groups]) for index in range(groups)]
        return tuple(bridged_channel_ohm(load) if bridged else load for load in loads)

    def asked_each_w(self, groups: int) -> tuple[float, ...]:
        """What an output of each group must give: the sum over the voice coils on it. [W]"""
        return tuple(sum(self.coil_w[index::groups]) for index in range(groups))


LOW = "low impedance"


def playing_zones(brief: Brief) -> tuple[Zone, ...]:
    """Every zone that plays in this option, however its loudspeakers are fed, in zone order."""
    heard = {speaker.zone for speaker in brief.of(Speaker)}
    live = {use.zone for use in brief.uses.values() if use.state == "live"}
    zones = sorted(brief.job.zones, key=lambda zone: zone.number)
    return tuple(zone for zone in zones if zone.number in heard & live)


def zone_needs(brief: Brief) -> tuple[ZoneNeed, ...]:
    """The live low-impedance zones in zone order; constant-voltage lines have amplifiers of their own."""
    uses: dict[int, list[RoomUse]] = {}
    for use in brief.uses.values():
        if use.state == "live":
            uses.setdefault(use.zone, []).append(use)
    speakers: dict[int, list[Speaker]] = {}
    for speaker in brief.of(Speaker):
        speakers.setdefault(speaker.zone, []).append(speaker)
    headroom_db = brief.number("headroom_db")
    losses_db = {run.end: abs(run.loss_db) for run in brief.of(CableRun) if run.circuits}

    def output_w(speaker: Speaker) -> float:
        """What one of its voice coils asks of the output: the headroom and what the cable takes on top."""
        more_db = headroom_db + losses_db.get(speaker.place, 0.0)
        return float(speaker.asked_w * 10 ** (more_db / 10) / (2 if speaker.single_stereo else 1))

    pair_of = _pair_numbers(brief)
    return tuple(
        _need(zone, uses[zone.number], speakers[zone.number], output_w, pair_of)
        for zone in playing_zones(brief) if zone.line == LOW)


def _pair_numbers(brief: Brief) -> dict[str, int]:
    """Speaker place -> the number of its pair in the room: two places side by side, also where one stays empty."""
    places: dict[str, list[Place]] = {}
    for place in brief.of(Place):
        if place.device == "speaker":
            places.setdefault(place.room, []).append(place)
    return {place.id: index // 2 if place.side in ("L", "R") else index
            for its in places.values() for index, place in enumerate(its)}


def _need(
    zone: Zone, uses: list[RoomUse], speakers: list[Speaker], output_w: Callable[[Speaker], float],
    pair_of: Mapping[str, int],
) -> ZoneNeed:
    # A single-stereo speaker stands for a pair with its own two voice coils.
    pairs: dict[tuple[str, int], list[Speaker]] = {}
    for speaker in speakers:
        pairs.setdefault((speaker.room, pair_of[speaker.place]), []).append(speaker)
    # A mono zone puts every voice coil on one channel.
    carried = [[speaker] for speaker in speakers for _ in range(2 if speaker.single_stereo else 1)]
    if not zone.mono:
        carried = list(pairs.values())
    order = {"phone": 0, "knob": 1, "keypad": 2}
    return ZoneNeed(
        zone=zone, rooms=len(uses), sub_zones=sum(use.sub_zone for use in uses), pairs=len(pairs),
        speakers=len(speakers), control=max((use.control for use in uses), key=lambda control: order[control]),
        wall_state="finished" if all(use.wall_state == "finished" for use in uses) else uses[0].wall_state,
        coil_ohm=tuple(min(speaker.nominal_ohm for speaker in coils) for coils in carried),
        coil_w=tuple(max(output_w(speaker) for speaker in coils) for coils in carried),
        coil_sides=tuple("M" if zone.mono else "".join(sorted({*map(_sides, coils)})) for coils in carried),
        basis=tuple(use.id for use in uses) + tuple(speaker.id for speaker in speakers),
        decided=rows_of((*(row for use in uses for row in use.decided), *settings_of("headroom_db"))))


def _sides(speaker: Speaker) -> str:
    return speaker.side if speaker.side in ("L", "R") else "LR" if speaker.single_stereo else "L"


def check_zones(brief: Brief) -> Result:
    """No facts: a control, a name, a volume limit where one is due, and both sides of the music in every zone."""
    speakers: dict[int, list[Speaker]] = {}
    for speaker in brief.of(Speaker):
        speakers.setdefault(speaker.zone, []).append(speaker)
    outputs: dict[int, list[AmplifierOutput]] = {}
    for output in brief.of(AmplifierOutput):
        outputs.setdefault(output.zone, []).append(output)
    live = {fact.zone for fact in brief.of(ZoneFact)}
    problems = list(_no_controls(brief, live))
    for zone in brief.job.zones:
        if zone.number in live:
            problems.extend(_zone_worries(brief, zone, speakers.get(zone.number, []), outputs.get(zone.number, [])))
    return (), tuple(problems)


def _no_controls(brief: Brief, live: set[int]) -> Iterator[Problem]:
    """A stop for each zone with nothing on its walls while no device listens to a phone."""
    devices: list[ControllerFact | AmplifierFact | AudioSource] = [
        *brief.of(ControllerFact), *brief.of(AmplifierFact), *brief.of(AudioSource)]
    if any(device.network_port for device in devices):
        return
    equipped = {keypad.zone for keypad in brief.of(KeypadFact)}
    for zone in brief.job.zones:
        if zone.number in live - equipped:
            room = next(room for room in brief.job.rooms if room.zone == zone.number)
            yield stop(
                room.where("control")[0], "no-control",
                f"Nothing controls zone {zone.number} '{zone.name}' in option '{brief.option}': it has no keypad and "
                "no knob, and no device of the option is on a network that a phone could reach.",
                "Type 'knob' or 'keypad' under 'Control' for a room of the zone.")


def _zone_worries(
    brief: Brief, zone: Zone, speakers: list[Speaker], outputs: list[AmplifierOutput]
) -> Iterator[Problem]:
    if not zone.name.strip():
        yield warning(zone.where, "zone-without-name", f"Zone {zone.number} has no name: its keypads and the phone "
                      "show a number.", "Type what the family calls it under 'Name' on Zones.")
    if zone.line != LOW:  # one mono line, its power set tap by tap
        return
    if len(speakers) == 1 and not zone.mono and not speakers[0].single_stereo:
        yield warning(zone.where, "half-of-the-music",
                      f"Zone {zone.number} '{zone.name}' plays stereo from one loudspeaker ('{speakers[0].id}') in "
                      f"option '{brief.option}': half of the music is not heard.",
                      "Type yes under 'Mono' for the zone on Zones, or let the room have a pair.")
    if zone.max_volume is None and outputs and speakers:
        given = max(output.output_w / max(1, output.voice_coils) for output in outputs)
        allowed = min(speaker.power_w for speaker in speakers)
        rate = brief.catalog.standards.ask("head_end", item="power over speaker rate").number("value")
        if given > allowed * rate:
            yield warning(zone.where, "zone-without-level",
                          f"Zone {zone.number} '{zone.name}' has no volume limit, and option '{brief.option}' can send "
                          f"{given:.0f} W to loudspeakers that take {allowed:.0f} W.",
                          "Type a percentage under 'Loudest volume' for the zone on Zones.")

"""Which cables a house needs: every run, from where to where, before it has a number, a length or a gauge."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence
from itertools import groupby

from msgspec import Struct
from msgspec.structs import replace

from quoting.catalog.records import KeypadSpec
from quoting.engineering.brief import Brief, is_open, outdoor
from quoting.engineering.cable_gauge import design_number
from quoting.engineering.line_taps import stands_in_line
from quoting.facts import HeadEndPlace, Place, RoomUse, of
from quoting.job import Job, Room

FOUR, TWO, CATEGORY, BELL, SHIELDED = (
    "speaker cable 4-conductor", "speaker cable 2-conductor", "category cable", "doorbell cable", "shielded pair cable")


class Leg(Struct, frozen=True, kw_only=True):
    """One run to be. `end` is the device side; `pair` is 0 for cables that carry no speaker circuit."""

    id: str = ""
    room: str
    purpose: str  # home run, speaker leg, line, control, room input, tv return, spare, doorbell
    role: str
    start: str  # HE or a place id
    end: str
    start_device: str  # head end, control, speaker
    device: str  # speaker, control, input, tv
    circuits: int
    pair: int
    spare: bool = False
    first_pair: int = 0  # of the pairs that share its circuit's home run; 0 for cables that carry no pair
    joined: int = 1  # pairs that it feeds


def plan_legs(brief: Brief, apart: Collection[str] = ()) -> tuple[Leg, ...]:
    """Every run of the fullest layout, in zone and room order, without ids yet.

    Where the standard lets pairs share a home run, the rooms in `apart` do not.
    """
    uses: dict[str, list[RoomUse]] = {}
    keypads: dict[str, list[KeypadSpec | None]] = {room.code: [] for room in brief.job.rooms}
    for option, facts in brief.by_option.items():
        parts = brief.catalog.parts_for("keypad", option, brief.job.gauge_system)
        model = brief.catalog.keypads.get(parts[0]) if parts else None
        for use in of(facts, RoomUse):
            uses.setdefault(use.room, []).append(use)
            if use.state == "live":
                keypads[use.room].append(model if _is_keypad(brief, use) else None)
    legs: list[Leg] = []
    rooms = sorted(brief.job.rooms, key=lambda room: (room.zone, room.code))
    sharing = max(1, int(design_number(brief, "pairs per home run")))
    on_lines = {zone.number for zone in brief.job.zones if zone.line != "low impedance"}
    for zone, in_zone in groupby(rooms, key=lambda room: room.zone):
        members = list(in_zone)
        for room in members:
            legs += _room_legs(brief, room, uses[room.code], keypads[room.code])
            if zone not in on_lines:
                legs += _speaker_legs(brief, room, uses[room.code], 1 if room.code in apart else sharing)
            legs += _extra_legs(brief, room)
        if zone in on_lines:
            legs += _line_legs(brief, [room for room in members if any(use.state != "out" for use in uses[room.code])],
                               uses)
    return tuple(legs)


def _line_legs(brief: Brief, rooms: Iterable[Room], uses: dict[str, list[RoomUse]]) -> list[Leg]:
    """A constant-voltage line's places in the order in which it passes them, nearest room first; joined up later."""
    legs = []
    for room in sorted(rooms, key=lambda room: (not is_open(room), way_m(brief, room), room.code)):
        each = 1 if uses[room.code][0].single else 2
        for number in range(1, each * max(use.pairs for use in uses[room.code]) + 1):
            legs.append(Leg(room=room.code, purpose="line", role=TWO, start="HE", end=f"{room.code}-S{number}",
                            start_device="head end", device="speaker", circuits=1, pair=0))
    return legs


def head_end_on_plan(brief: Brief) -> tuple[float, float] | None:
    """Where on the plan the runs end; None where nobody measured it. [m]"""
    return next(((one.plan_x_m, one.plan_y_m) for one in brief.of(HeadEndPlace) if one.on_plan), None)


def spot_on_plan(room: Room, place: Place | None) -> tuple[float, float] | None:
    """Where on the plan a place of a room is, the room's middle where it has none; None if nobody measured it. [m]"""
    if room.x_m is None or room.y_m is None:
        return None
    if place is None or place.room != room.code:
        return room.x_m, room.y_m
    return room.x_m - room.length_m / 2 + place.x_m, room.y_m - room.width_m / 2 + place.y_m


def way_m(brief: Brief, room: Room) -> float:
    """About how far a room is from the head end. [m]"""
    if room.measured_m is not None:
        return room.measured_m
    start = head_end_on_plan(brief)
    if room.x_m is not None and room.y_m is not None and start is not None:
        return abs(room.x_m - start[0]) + abs(room.y_m - start[1])
    return brief.catalog.standards.ask("distance_band", distance=room.distance).number("plan_m")


def _chained(brief: Brief, legs: Iterable[Leg]) -> tuple[Leg, ...]:
    """The legs, those of a line each from the speaker before it: head end, speaker, speaker."""
    last: dict[int, str] = {}
    chained = []
    for leg in legs:
        if leg.purpose == "line":
            zone = brief.rooms[leg.room].zone
            if zone in last:
                leg = replace(leg, start=last[zone], start_device="speaker")
            last[zone] = leg.end
        chained.append(leg)
    return tuple(chained)


def open_legs(brief: Brief, legs: Sequence[Leg]) -> tuple[Leg, ...]:
    """The runs behind open walls, to rooms that some option plays or wires."""
    wanted = {
        use.room for facts in brief.by_option.values() for use in of(facts, RoomUse) if use.state != "out"
    }
    return _chained(brief, (leg for leg in legs if is_open(brief.rooms[leg.room]) and (
        leg.room in wanted or leg.purpose in ("spare", "doorbell"))))


def finished_legs(brief: Brief, legs: Sequence[Leg]) -> tuple[Leg, ...]:
    """The runs that this option pulls through finished walls: only to what it equips."""
    kept = []
    for leg in legs:
        use, room = brief.uses[leg.room], brief.rooms[leg.room]
        asked_for = leg.purpose in ("spare", "doorbell")
        if is_open(room) or (use.state != "live" and not asked_for) or leg.pair > use.pairs or (
                leg.spare and not asked_for):
            continue
        if leg.device == "control" and leg.pair == 0 and not _is_keypad(brief, use):
            continue  # nobody fishes a data cable to a place that has no use for it
        if leg.purpose == "line" and int(leg.end.rpartition("-S")[2]) > use.speakers:
            continue
        joined = min(leg.joined, use.pairs - leg.pair + 1) if leg.pair else 1
        kept.append(replace(leg, joined=joined) if joined != leg.joined else leg)
    return _chained(brief, [one for leg in kept for one in _past_no_control(brief, leg, kept)])


def _past_no_control(brief: Brief, leg: Leg, legs: Sequence[Leg]) -> Iterable[Leg]:
    """Where this option has no control on a finished wall, nobody cuts a box into it: the circuits go straight on.

    So they do past a keypad where the job's topology is direct and only another option has a knob. Each home run to a
    control gives the legs of its pairs as they run without one; the ids stay.
    """
    room, use = brief.rooms[leg.room], brief.uses[leg.room]
    control = f"{leg.room}-K1"
    if _by_control(brief, room, [use]) or not leg.circuits or control not in (leg.start, leg.end):
        return (leg,)
    if leg.end != control:
        return ()
    ids = {one.end: one.id for one in legs if one.start == control and one.circuits}
    straight = _pair_legs(room, leg.pair, leg.joined, use, through=False)
    return [replace(one, id=leg.id if one.start == "HE" else ids[one.end]) for one in straight]


def _is_keypad(brief: Brief, use: RoomUse) -> bool:
    """Whether an option's control in a room is a keypad; a knob on a constant-voltage line becomes one."""
    return use.control != "phone" and not stands_in_line(brief, brief.rooms[use.room], use.control)


def _by_control(brief: Brief, room: Room, uses: Sequence[RoomUse]) -> bool:
    """Whether the speaker circuits go by way of the control place: at a knob of any option, they must.

    A knob is passive and stands in the loudspeakers' line: four conductors in, the loudspeakers' own out. Else where
    the job's topology says so, and there is a place; outdoors never, for the sake of a dry box.
    """
    if any(use.state == "live" and stands_in_line(brief, room, use.control) for use in uses):
        return True
    return _has_control(room, uses) and brief.job.topology == "through the keypad place" and not outdoor(room)


def _has_control(room: Room, uses: Sequence[RoomUse]) -> bool:
    controlled = any(use.state == "live" and use.control != "phone" for use in uses)
    return controlled or (is_open(room) and not outdoor(room))


def _room_legs(
    brief: Brief, room: Room, uses: Sequence[RoomUse], keypads: Sequence[KeypadSpec | None]
) -> list[Leg]:
    """Control, room input and television. `keypads`: what each option that plays here has on the wall."""
    has_control = _has_control(room, uses)
    legs = _control_legs(brief, room, [spec for spec in keypads if spec is not None]) if has_control else []
    if room.room_input:
        shared = has_control and input_shares_cable(brief, keypads)
        legs.append(_category(room, "room input", "I1", "input", start="K1" if shared else ""))
        legs += [_category(room, "room input", "I1", "input", spare=True)] * _spares(brief, "input")
    if room.tv:
        legs.append(_category(room, "tv return", "T1", "tv"))
        legs += [_category(room, "tv return", "T1", "tv", spare=True)] * _spares(brief, "tv")
    return legs


def _speaker_legs(brief: Brief, room: Room, uses: Sequence[RoomUse], sharing: int) -> list[Leg]:
    through = _by_control(brief, room, uses)
    pairs = max(use.pairs for use in uses)
    return [leg for first in range(1, pairs + 1, sharing)
            for leg in _pair_legs(room, first, min(sharing, pairs - first + 1), uses[0], through)]


def conductors_used(brief: Brief, spec: KeypadSpec) -> int:
    """How many conductors of its category cable a keypad uses: all where its row does not say."""
    return int(design_number(brief, "category conductors")) if spec.conductors is None else spec.conductors


def input_shares_cable(brief: Brief, keypads: Sequence[KeypadSpec | None]) -> bool:
    """Whether a room input may end on the keypad's cable: every option has a keypad there that says so, with room."""
    have = int(design_number(brief, "category conductors"))
    return bool(keypads) and all(
        spec is not None and spec.input_conductors is not None
        and conductors_used(brief, spec) + spec.input_conductors <= have for spec in keypads)


def _extra_legs(brief: Brief, room: Room) -> list[Leg]:
    """Spare cables asked for by name, and a bell wire for each door."""
    legs: list[Leg] = []
    door = 0
    for extra in brief.job.extras:
        if extra.kind == "doorbell":
            for _ in range(int(extra.quantity)):
                door += 1
                if (extra.room or door_room(brief.job)) == room.code and extra.plays_from != "never":
                    legs.append(Leg(room=room.code, purpose="doorbell", role=BELL, start="HE", end=f"BELL-{door}",
                                    start_device="head end", device="door", circuits=0, pair=0))
        elif extra.kind == "spare cable" and extra.room == room.code and extra.plays_from != "never":
            legs += [_category(room, "spare", "X1", "network", spare=True)] * int(extra.quantity)
    return legs


def door_room(job: Job) -> str:
    """The room where a doorbell's wire ends when nobody said: an entry or a hall, else the first ground-floor room."""
    by_floor = sorted(job.rooms, key=lambda room: (abs(room.floor), room.code))
    halls = [room for room in by_floor if room.kind in ("entry", "hall")]
    return (halls or by_floor)[0].code


def _control_legs(brief: Brief, room: Room, keypads: Sequence[KeypadSpec]) -> list[Leg]:
    """The keypad's cables and spares; a second keypad's cables from the first one's place where it may share them."""
    legs = _keypad_cables(brief, room, "K1", keypads)
    legs += [_category(room, "control", "K1", "control", spare=True)] * _spares(brief, "control")
    if room.second_control:
        start = "K1" if second_shares(brief, room) else ""
        legs += _keypad_cables(brief, room, "K2", _second_keypads(brief, room), start)
    return legs


def _keypad_cables(brief: Brief, room: Room, place: str, keypads: Sequence[KeypadSpec], start: str = "") -> list[Leg]:
    """One category cable, further ones where a keypad uses more conductors, a shielded pair where one asks for it."""
    have = int(design_number(brief, "category conductors"))
    cables = max((math.ceil(conductors_used(brief, spec) / have) for spec in keypads), default=1)
    legs = [_category(room, "control", place, "control", start=start)] * max(1, cables)
    if any(spec.shielded_pair for spec in keypads):
        legs.append(replace(_category(room, "control", place, "control", start=start), role=SHIELDED))
    return legs


def _second_keypads(brief: Brief, room: Room) -> list[KeypadSpec]:
    """The model at the room's second control place of every option that has a keypad there."""
    found = []
    for option, facts in brief.by_option.items():
        parts = brief.catalog.parts_for("second keypad", option, brief.job.gauge_system)
        spec = brief.catalog.keypads.get(parts[0]) if parts else None
        use = next((use for use in of(facts, RoomUse) if use.room == room.code), None)
        if spec is not None and use is not None and use.state == "live" and _is_keypad(brief, use):
            found.append(spec)
    return found


def second_shares(brief: Brief, room: Room) -> bool:
    """Whether a room's second keypad goes on from the first one's place: where every option's model may."""
    found = _second_keypads(brief, room)
    return bool(found) and all(chains(spec) for spec in found)


def chains(spec: KeypadSpec) -> bool:
    """Whether a second keypad of the model may share the first one's home run."""
    return spec.chainable and (spec.per_home_run is None or spec.per_home_run >= 2)


def _pair_legs(room: Room, first: int, joined: int, use: RoomUse, through: bool) -> list[Leg]:
    """One 4-conductor home run for each pair, or for those that share it; through the keypad place, or direct.

    A single loudspeaker of a mono zone has one voice coil and takes 2 conductors.
    """
    code, single = room.code, use.single
    full = TWO if single and not use.single_stereo else FOUR

    def leg(purpose: str, role: str, start: str, end: str, pair: int, feeds: int = 1) -> Leg:
        at = {"HE": "head end"}.get(start, "control" if start.endswith("-K1") else "speaker")
        return Leg(room=code, purpose=purpose, role=role, start=start, end=end, start_device=at,
                   device="control" if end.endswith("-K1") else "speaker", circuits=2 if role == FOUR else 1, pair=pair,
                   first_pair=first, joined=feeds)

    keypad = f"{code}-K1"
    legs: list[Leg] = []
    for pair in range(first, first + joined):
        left, right = f"{code}-S{pair if single else 2 * pair - 1}", f"{code}-S{2 * pair}"
        if through:
            if pair == first:
                legs.append(leg("home run", full, "HE", keypad, pair, joined))
            legs.append(leg("speaker leg", full if single else TWO, keypad, left, pair))
            legs += [] if single else [leg("speaker leg", TWO, keypad, right, pair)]
            continue
        before = f"{code}-S{pair - 1 if single else 2 * pair - 3}"  # a further pair goes on from the one before it
        legs.append(leg("home run", full, "HE", left, pair, joined) if pair == first else
                    leg("speaker leg", full, before, left, pair, first + joined - pair))
        legs += [] if single else [leg("speaker leg", TWO, left, right, pair)]
    return legs


def _category(room: Room, purpose: str, place: str, device: str, spare: bool = False, start: str = "") -> Leg:
    return Leg(room=room.code, purpose=purpose, role=CATEGORY, start=f"{room.code}-{start}" if start else "HE",
               end=f"{room.code}-{place}", start_device="control" if start else "head end", device=device, circuits=0,
               pair=0, spare=spare)


def _spares(brief: Brief, device: str) -> int:
    return int(brief.catalog.standards.ask("spare_cables", device=device).number("spares"))

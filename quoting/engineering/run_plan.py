"""Which cables a house needs: every run by id, from where to where, before it has a length or a gauge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby

from quoting.engineering.brief import Brief, is_open, outdoor
from quoting.facts import RoomUse, of
from quoting.job import Job, Room

FOUR, TWO, CATEGORY, BELL = (
    "speaker cable 4-conductor", "speaker cable 2-conductor", "category cable", "doorbell cable")


@dataclass(frozen=True, slots=True, kw_only=True)
class Leg:
    """One run to be. `end` is the device side; `pair` is 0 for cables that carry no speaker circuit."""

    id: str = ""
    room: str
    purpose: str  # home run, speaker leg, control, room input, tv return
    role: str
    start: str  # HE or a place id
    end: str
    start_device: str  # head end, control, speaker
    device: str  # speaker, control, input, tv
    circuits: int
    pair: int
    spare: bool = False


def plan_legs(brief: Brief) -> tuple[Leg, ...]:
    """Every run of the fullest layout, numbered: floor digit, zone in two digits (three from 100), count in the zone.

    Ids rest on zone numbers and room codes only, so that moving rows, or another zone's change, renames nothing.
    """
    uses: dict[str, list[RoomUse]] = {}
    for facts in brief.by_option.values():
        for use in of(facts, RoomUse):
            uses.setdefault(use.room, []).append(use)
    digits = 3 if any(zone.number > 99 for zone in brief.job.zones) else 2
    legs: list[Leg] = []
    rooms = sorted(brief.job.rooms, key=lambda room: (room.zone, room.code))
    for zone, members in groupby(rooms, key=lambda room: room.zone):
        count = 0
        for room in members:
            for leg in _room_legs(brief, room, uses[room.code]):
                count += 1
                digit = room.floor if room.floor >= 0 else 9
                legs.append(_numbered(leg, f"{digit}{zone:0{digits}d}{count}"))
    return tuple(legs)


def open_legs(brief: Brief, legs: Sequence[Leg]) -> tuple[Leg, ...]:
    """The runs behind open walls, to rooms that some option plays or wires."""
    wanted = {
        use.room for facts in brief.by_option.values() for use in of(facts, RoomUse) if use.state != "out"
    }
    return tuple(leg for leg in legs if is_open(brief.rooms[leg.room]) and (
        leg.room in wanted or leg.purpose in ("spare", "doorbell")))


def finished_legs(brief: Brief, legs: Sequence[Leg]) -> tuple[Leg, ...]:
    """The runs that this option pulls through finished walls: only to what it equips."""
    kept = []
    for leg in legs:
        use, room = brief.uses[leg.room], brief.rooms[leg.room]
        asked_for = leg.purpose in ("spare", "doorbell")
        if is_open(room) or (use.state != "live" and not asked_for) or leg.pair > use.pairs or (
                leg.spare and not asked_for):
            continue
        if leg.device == "control" and leg.pair == 0 and use.control == "phone":
            continue
        kept.append(leg)
    return tuple(kept)


def _numbered(leg: Leg, number: str) -> Leg:
    return Leg(id=number, room=leg.room, purpose=leg.purpose, role=leg.role, start=leg.start, end=leg.end,
               start_device=leg.start_device, device=leg.device, circuits=leg.circuits, pair=leg.pair,
               spare=leg.spare)


def _room_legs(brief: Brief, room: Room, uses: Sequence[RoomUse]) -> list[Leg]:
    controlled = any(use.state == "live" and use.control != "phone" for use in uses)
    has_control = controlled or (is_open(room) and not outdoor(room))
    through = has_control and brief.job.topology == "through the keypad place" and not outdoor(room)
    legs = _control_legs(brief, room) if has_control else []
    if room.room_input:
        legs.append(_category(room, "room input", "I1", "input"))
    if room.tv:
        legs.append(_category(room, "tv return", "T1", "tv"))
        legs += [_category(room, "tv return", "T1", "tv", spare=True)] * _spares(brief, "tv")
    for pair in range(1, max(use.pairs for use in uses) + 1):
        legs += _pair_legs(room, pair, uses[0].single_stereo, through)
    return legs + _extra_legs(brief, room)


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


def _control_legs(brief: Brief, room: Room) -> list[Leg]:
    legs = [_category(room, "control", "K1", "control")]
    legs += [_category(room, "control", "K1", "control", spare=True)] * _spares(brief, "control")
    if room.second_control:
        keypad = brief.catalog.keypads.get(brief.part_for("second keypad"))
        start = f"{room.code}-K1" if keypad is not None and keypad.chainable else "HE"
        legs.append(Leg(room=room.code, purpose="control", role=CATEGORY, start=start, end=f"{room.code}-K2",
                        start_device="head end" if start == "HE" else "control", device="control", circuits=0, pair=0))
    return legs


def _pair_legs(room: Room, pair: int, single: bool, through: bool) -> list[Leg]:
    """One 4-conductor home run a pair; through the keypad place, then on to each speaker; or direct."""
    code = room.code
    left = f"{code}-S{pair if single else 2 * pair - 1}"
    right = f"{code}-S{2 * pair}"
    if through:
        keypad = f"{code}-K1"
        home = Leg(room=code, purpose="home run", role=FOUR, start="HE", end=keypad, start_device="head end",
                   device="control", circuits=2, pair=pair)
        if single:
            return [home, _speaker_leg(code, FOUR, keypad, left, "control", pair, 2)]
        return [home, _speaker_leg(code, TWO, keypad, left, "control", pair, 1),
                _speaker_leg(code, TWO, keypad, right, "control", pair, 1)]
    home = Leg(room=code, purpose="home run", role=FOUR, start="HE", end=left, start_device="head end",
               device="speaker", circuits=2, pair=pair)
    return [home] if single else [home, _speaker_leg(code, TWO, left, right, "speaker", pair, 1)]


def _speaker_leg(code: str, role: str, start: str, end: str, start_device: str, pair: int, circuits: int) -> Leg:
    return Leg(room=code, purpose="speaker leg", role=role, start=start, end=end, start_device=start_device,
               device="speaker", circuits=circuits, pair=pair)


def _category(room: Room, purpose: str, place: str, device: str, spare: bool = False) -> Leg:
    return Leg(room=room.code, purpose=purpose, role=CATEGORY, start="HE", end=f"{room.code}-{place}",
               start_device="head end", device=device, circuits=0, pair=0, spare=spare)


def _spares(brief: Brief, device: str) -> int:
    return int(brief.catalog.standards.ask("spare_cables", device=device).number("spares"))

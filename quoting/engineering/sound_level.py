"""How loud each room gets over its listening plane: the loudspeakers that are heard there, and the power they get.

Direct sound alone: in a furnished room the walls add some, so that what is short here may be enough there, never the
other way round. Office only; no level is promised to a customer.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from msgspec import Struct

from quoting.engineering.acoustics import exposure_minutes
from quoting.engineering.brief import Brief, Result, outdoor, rows_of, settings_of, site
from quoting.engineering.level_grid import levels_over
from quoting.engineering.listening import Voice, emitter_of, plane_of
from quoting.facts import AmplifierOutput, CableRun, Fact, Place, RoomLevel, Speaker
from quoting.job import Room
from quoting.problems import Problem, warning


class Power(Struct, frozen=True, kw_only=True):
    """What one loudspeaker gets. Watts."""

    amplifier_w: float
    available_w: float
    loss_db: float


class Player(Struct, frozen=True, kw_only=True):
    """One loudspeaker that plays: the fact, how it is heard, what it gets."""

    speaker: Speaker
    voice: Voice
    power: Power


def room_levels(brief: Brief) -> Result:
    """A RoomLevel for each room that plays in this option."""
    players = _players(brief)
    facts: list[Fact] = []
    problems: list[Problem] = []
    for room in brief.job.rooms:
        own = players.get(room.code, [])
        if any(player.power.available_w for player in own):
            level, worries = _room_level(brief, room, own, [
                (other, away, players[other.code]) for other, away in _open_to(brief, room) if other.code in players])
            facts.append(level)
            problems.extend(worries)
    return tuple(facts), tuple(problems)


def _players(brief: Brief) -> dict[str, list[Player]]:
    """Every loudspeaker of the option with its power, by room code."""
    places = {place.id: place for place in brief.of(Place)}
    losses = {run.end: abs(run.loss_db) for run in brief.of(CableRun) if run.circuits}
    volts = _square_volts(brief.of(AmplifierOutput))
    players: dict[str, list[Player]] = {}
    for one in brief.of(Speaker):
        if one.place in places:
            voice = Voice(place=places[one.place], angled=one.angled, coverage_deg=one.coverage_deg,
                          sensitivity_db=one.sensitivity_db)
            power = _power(one, losses.get(one.place, 0.0), volts)
            players.setdefault(one.room, []).append(Player(speaker=one, voice=voice, power=power))
    return players


def _open_to(brief: Brief, room: Room) -> Iterator[tuple[Room, tuple[float, float]]]:
    """The zone's rooms that no wall keeps out, and how far their corner lies from this room's.

    Outdoors, on one floor, and only where both have plan positions: a room is a space with walls.
    """
    if room.x_m is None or room.y_m is None or not outdoor(room):
        return
    for other in brief.job.rooms:
        if (other.code != room.code and other.zone == room.zone and other.floor == room.floor and outdoor(other)
                and other.x_m is not None and other.y_m is not None):
            yield other, (other.x_m - other.length_m / 2 - room.x_m + room.length_m / 2,
                          other.y_m - other.width_m / 2 - room.y_m + room.width_m / 2)


# ---------------------------------------------------------------- power

def _square_volts(outputs: Iterable[AmplifierOutput]) -> dict[tuple[int, str], float]:
    """(zone, side) -> V^2 of its weakest output at full power. [V^2]

    P = V^2 / R: what is wired to one output shares its voltage. A bridged output's loudspeakers are twice the load
    that each of its channels sees.
    """
    found: dict[tuple[int, str], float] = {}
    for one in outputs:
        square = one.output_w * one.load_ohm * (2 if one.bridged else 1)
        key = (one.zone, one.side)
        found[key] = min(square, found.get(key, square))
    return found


def _power(speaker: Speaker, loss_db: float, volts: dict[tuple[int, str], float]) -> Power:
    """Each voice coil's share of its output; both coils of a single-stereo speaker; its tap on a line."""
    if speaker.tap_w:
        given = speaker.tap_w
    else:
        sides = ("L", "R") if speaker.single_stereo else (speaker.side or "L",)
        given = sum(volts.get((speaker.zone, side), volts.get((speaker.zone, "M"), 0.0)) / speaker.nominal_ohm
                    for side in sides)
    after = given * 10 ** (-loss_db / 10)
    return Power(amplifier_w=given, available_w=min(after, speaker.power_w), loss_db=loss_db)


# ---------------------------------------------------------------- one room

def _room_level(
    brief: Brief, room: Room, own: Sequence[Player],
    beside: Sequence[tuple[Room, tuple[float, float], Sequence[Player]]],
) -> tuple[RoomLevel, list[Problem]]:
    ask = brief.catalog.standards.ask
    listening, hearing = ask("listening_level", listening=room.listening), ask("hearing", item="caution")
    plane, plane_by = plane_of(brief, room)
    heard = [(room, (0.0, 0.0), own), *beside]
    aimed = [emitter_of(brief, where, one.voice, one.power.available_w, away)
             for where, away, players in heard for one in players]
    levels = levels_over([emitter for emitter, _ in aimed], plane)
    target, peak = listening.number("target_db"), listening.number("peak_db")
    average = levels.average_db - peak
    available = sum(one.power.available_w for one in own) / len(own)
    wanted = float(brief.number("headroom_db"))
    headroom = round(average - target, 1)
    caution = average > hearing.number("level_db")
    level = RoomLevel(
        id=f"{room.code}-LVL", **site(room, brief.job), where=room.where("", "listening", "pairs"),
        basis=(f"{room.code}-USE", *(one.speaker.id for _, _, players in heard for one in players)),
        decided=rows_of((listening.decided, plane_by, hearing.decided, *(aim_by for _, aim_by in aimed),
                         *settings_of("headroom_db"))),
        listening=room.listening, speakers=len(own), beside=len(aimed) - len(own), points=levels.points,
        average_db=round(average, 1), worst_db=round(levels.worst_db - peak, 1),
        best_db=round(levels.best_db - peak, 1), spread_db=round(levels.best_db - levels.worst_db, 1),
        target_db=target, peak_db=peak,
        asked_w=round(available / 10 ** ((average - target) / 10), 2), available_w=round(available, 2),
        amplifier_w=round(sum(one.power.amplifier_w for one in own) / len(own), 2),
        cable_loss_db=round(max(one.power.loss_db for one in own), 3), headroom_db=headroom,
        headroom_wanted_db=wanted, short=headroom < wanted, caution=caution,
        exposure_hours=round(exposure_minutes(average) / 60, 2) if caution else 0.0)
    return level, [_short(brief, room, level)] if level.short else []


def _short(brief: Brief, room: Room, level: RoomLevel) -> Problem:
    wanted = f" and {level.headroom_wanted_db:g} dB in hand" if level.headroom_wanted_db else ""
    return warning(
        room.where("listening", "pairs")[0], "level-short-of-target",
        f"Option '{brief.option}' reaches {level.average_db:.0f} dB on average in '{room.name}' with {level.peak_db:g} "
        f"dB kept for peaks; '{room.listening}' listening asks {level.target_db:g} dB{wanted}, {level.asked_w:.0f} W "
        f"at each speaker where {level.available_w:.0f} W are there.",
        "Type more under 'Pairs', a quieter 'Listening', or name stronger speakers or amplifiers in options.csv.")

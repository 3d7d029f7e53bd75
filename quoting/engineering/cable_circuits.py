"""What each speaker circuit asks of its conductor: lengths, the load that each stretch really sees, limits."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from msgspec import Struct

from quoting.engineering.brief import Brief, is_open, rows_of
from quoting.engineering.cable_gauge import Circuit, Key, Stretch, design_number, thinnest_serves
from quoting.engineering.loads import parallel_ohm, tap_ohm
from quoting.engineering.run_length import Length
from quoting.engineering.run_plan import FOUR, TWO, Leg
from quoting.facts import Fact, RoomUse, Speaker, of
from quoting.job import Zone

LEAST_OHM = 8.0  # an owned or unknown speaker's load, where no option says


class Worst(Struct, frozen=True):
    """What the hardest option puts on the cables, by room (low impedance) and by place (taps)."""

    load_ohm: Mapping[str, float]
    pairs: Mapping[str, int]
    tap_w: Mapping[str, float]


def worst_loads(by_option: Iterable[Sequence[Fact]]) -> Worst:
    """Lowest load and most pairs of each room, largest tap of each place, over these options."""
    loads: dict[str, float] = {}
    pairs: dict[str, int] = {}
    taps: dict[str, float] = {}
    for facts in by_option:
        for speaker in of(facts, Speaker):
            loads[speaker.room] = min(loads.get(speaker.room, speaker.nominal_ohm), speaker.nominal_ohm)
            if speaker.tap_w:
                taps[speaker.place] = max(taps.get(speaker.place, 0.0), speaker.tap_w)
        for use in of(facts, RoomUse):
            if use.state == "live":
                pairs[use.room] = max(pairs.get(use.room, 0), use.pairs)
    return Worst(loads, pairs, taps)


def circuit_key(brief: Brief, leg: Leg) -> Key:
    """Which circuit a speaker leg belongs to: its room's pairs that share a home run, or its zone's line."""
    if leg.purpose == "line":
        room = brief.rooms[leg.room]
        return f"line {room.zone}{'' if is_open(room) else ' finished'}", 0
    return leg.room, leg.first_pair


def circuits_of(brief: Brief, legs: Sequence[Leg], lengths: Mapping[str, Length], worst: Worst) -> list[Circuit]:
    """Every speaker circuit: a pair's longest way, or a constant-voltage line from end to end."""
    grouped: dict[Key, list[Leg]] = {}
    for leg in legs:
        if leg.circuits:
            grouped.setdefault(circuit_key(brief, leg), []).append(leg)
    damping = least_damping(brief)
    made = []
    for key, members in grouped.items():
        zone = brief.zones[brief.rooms[members[0].room].zone]
        if members[0].purpose == "line":
            made.append(_line_circuit(brief, key, members, lengths, worst, zone))
        elif any(leg.start == "HE" for leg in members):
            made.append(_pair_circuit(brief, key, members, lengths, worst, zone, damping))
    return made


def _pair_circuit(
    brief: Brief, key: Key, legs: Sequence[Leg], lengths: Mapping[str, Length], worst: Worst, zone: Zone,
    damping: float,
) -> Circuit:
    """Home run under all pairs joined behind it, then the longest way on; a pair of its own sees its own load."""
    room = brief.rooms[key[0]]
    own_ohm = worst.load_ohm.get(room.code, LEAST_OHM)

    def joined_ohm(pairs: int) -> float:
        return parallel_ohm(*[own_ohm] * max(1, min(pairs, worst.pairs.get(room.code, pairs) - key[1] + 1)))

    home = next(leg for leg in legs if leg.start == "HE")
    ways: dict[str, tuple[Stretch, ...]] = {home.end: (Stretch(lengths[home.id].length_m, joined_ohm(home.joined)),)}
    for leg in legs:  # each leg stands after the one that it goes on from
        if leg is not home:
            before = ways.get(leg.start, ways[home.end])
            ways[leg.end] = (*before, Stretch(lengths[leg.id].length_m, joined_ohm(leg.joined)))
    hardest = max(ways.values(), key=lambda way: sum(stretch.length_m / stretch.load_ohm for stretch in way))
    limit = brief.catalog.standards.ask("gauge_limit", listening=room.listening)
    return Circuit(
        key=key, role=FOUR, stretches=hardest, load_ohm=joined_ohm(home.joined), bridged=zone.bridged,
        damping_factor=damping, limit_rate=limit.number("limit_rate"), stop_rate=limit.number("stop_rate"),
        decided=rows_of((limit.decided,)), name=room.name, limit_words=f"{room.listening} listening",
        where=room.where("measured_m", "distance")[0])


def _line_circuit(
    brief: Brief, key: Key, legs: Sequence[Leg], lengths: Mapping[str, Length], worst: Worst, zone: Zone
) -> Circuit:
    """Each stretch carries the taps of every speaker beyond it."""
    limit = brief.catalog.standards.ask("line_limit", line=zone.line)
    idle_w = design_number(brief, "idle tap w")
    beyond = 0.0
    stretches: list[Stretch] = []
    for leg in reversed(legs):
        beyond += worst.tap_w.get(leg.end, idle_w)
        stretches.append(Stretch(lengths[leg.id].length_m, tap_ohm(limit.number("line_v"), beyond)))
    loss, most = limit.number("loss_rate"), limit.number("stop_loss_rate")
    return Circuit(
        key=key, role=TWO, stretches=tuple(reversed(stretches)), load_ohm=stretches[-1].load_ohm, bridged=False,
        damping_factor=0.0, limit_rate=loss / (1 - loss), stop_rate=most / (1 - most),
        decided=rows_of((limit.decided,)),
        name=zone.name, limit_words=f"a {zone.line} line", where=zone.where)


def least_damping(brief: Brief) -> float:
    """The lowest damping factor at 8 ohm among the amplifiers that the options may use; the standard's for blanks."""
    usual = design_number(brief, "amplifier damping factor")
    roles = ("amplifier", "controller-amplifier", "network amplifier")
    parts = {part for role in roles for option in brief.catalog.options
             for part in brief.catalog.parts_for(role, option, brief.job.gauge_system)}
    specs = [brief.catalog.amplifiers[part] for part in sorted(parts) if part in brief.catalog.amplifiers]
    return min((spec.damping_factor or usual for spec in specs), default=usual)


def rooms_apart(brief: Brief, circuits: Iterable[Circuit]) -> tuple[str, ...]:
    """Rooms whose pairs may not share a home run: the first remedy is a home run and channels for each pair.

    Where the load of the pairs together is below what the options' amplifiers take, or where the thinnest stocked
    conductor does not keep within the limit; thicker conductors come after that.
    """
    least_ohm = _least_ohm(brief)
    return tuple(circuit.key[0] for circuit in circuits if circuit.damping_factor and (
        circuit.load_ohm < least_ohm - 1e-9 or not thinnest_serves(brief, circuit)))


def _least_ohm(brief: Brief) -> float:
    """The lowest load that every option has an amplifier for. [ohm]"""
    least = []
    for option in brief.catalog.options:
        shape = brief.job.head_end_shape or brief.catalog.setting("head_end_shape", option)
        role = {"controller and amplifiers": "amplifier", "network amplifiers": "network amplifier"}.get(shape, shape)
        parts = brief.catalog.parts_for(role, option, brief.job.gauge_system)
        specs = [brief.catalog.amplifiers[part] for part in parts if part in brief.catalog.amplifiers]
        least.append(min((spec.minimum_ohm for spec in specs), default=0.0))
    return max(least, default=0.0)

"""Constant-voltage zones of one option: the line with its taps, loss and amplifier, and that as zone and output."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from decimal import Decimal

from msgspec import Struct

from quoting.catalog.records import AmplifierSpec
from quoting.engineering.brief import Brief, Result, rows_of, settings_of
from quoting.engineering.cable_gauge import ohm_per_m
from quoting.engineering.conductors import loop_ohm
from quoting.engineering.line_inputs import head_end_shape
from quoting.engineering.line_taps import LOW, numbers_in
from quoting.engineering.loads import amplifier_share, tap_ohm, tap_total_w, voltage_share_rate
from quoting.engineering.zones import playing_zones
from quoting.facts import (
    AmplifierFact,
    AmplifierOutput,
    CableRun,
    ControllerFact,
    Fact,
    RoomUse,
    Speaker,
    VoltageLine,
    ZoneFact,
)
from quoting.job import Zone
from quoting.problems import Problem, stop, warning
from quoting.tables.decision import Answer

ROLE = "line amplifier"


class Taps(Struct, frozen=True, kw_only=True):
    """What one zone puts on its line in this option."""

    zone: Zone
    limit: Answer
    speakers: tuple[Speaker, ...]
    uses: tuple[RoomUse, ...]
    runs: tuple[CableRun, ...]  # in the order in which the line passes

    @property
    def line_v(self) -> float:
        """The line's voltage. [V]"""
        return self.limit.number("line_v")

    @property
    def total_w(self) -> float:
        """All taps together. [W]"""
        return round(tap_total_w((speaker.tap_w, 1) for speaker in self.speakers), 3)


class Seat(Struct, frozen=True, kw_only=True):
    """A zone's line on an amplifier output."""

    taps: Taps
    spec: AmplifierSpec
    box: int
    output: int

    @property
    def box_id(self) -> str:
        """The id of the amplifier's fact."""
        return f"LA-{self.box}"

    @property
    def output_id(self) -> str:
        """The id of the output's fact."""
        return f"{self.box_id}.{self.output:02d}"

    @property
    def share_rate(self) -> float:
        """Taps over the output's power. [ratio]"""
        return round(amplifier_share(self.taps.total_w, self.spec.line_w or 1.0), 4)


def lines(brief: Brief) -> Result:
    """Line, zone, output and amplifier facts of every constant-voltage zone that plays in this option."""
    zones = [zone for zone in playing_zones(brief) if zone.line != LOW]
    if not zones:
        return (), ()
    taps = [_taps(brief, zone) for zone in zones]
    parts = brief.catalog.parts_for(ROLE, brief.option, brief.job.gauge_system)
    specs = [brief.catalog.amplifiers[part] for part in parts if part in brief.catalog.amplifiers]
    if not specs:
        return (), (stop(zones[0].where, "no-part-for-role",
                         f"Zone {zones[0].number} '{zones[0].name}' is a {zones[0].line} line, and option "
                         f"'{brief.option}' has no '{ROLE}'.",
                         "Name one in options.csv, or type low impedance under 'Line' on Zones."),)
    seats, problems = _seats(brief, taps, specs)
    feeds = _feeds(brief, seats)
    facts: list[Fact] = []
    for seat, feed in zip(seats, feeds, strict=True):
        line = _line(brief, seat)
        facts += [line, _zone(brief, seat, line, feed), _output(seat, line)]
        problems += _worries(brief, seat, line)
    boxes = sorted({seat.box for seat in seats})
    facts += [_amplifier(brief, [seat for seat in seats if seat.box == box]) for box in boxes]
    return tuple(facts), tuple(problems)


def _taps(brief: Brief, zone: Zone) -> Taps:
    return Taps(
        zone=zone, limit=brief.catalog.standards.ask("line_limit", line=zone.line),
        speakers=tuple(speaker for speaker in brief.of(Speaker) if speaker.zone == zone.number),
        uses=tuple(use for use in brief.uses.values() if use.zone == zone.number and use.state == "live"),
        runs=tuple(run for run in brief.of(CableRun) if run.zone == zone.number and run.purpose == "line"))


def _seats(brief: Brief, taps: Sequence[Taps], specs: Sequence[AmplifierSpec]) -> tuple[list[Seat], list[Problem]]:
    """Zones in zone order, each on the next free line of the cheapest model that keeps within the share."""
    seats: list[Seat] = []
    problems: list[Problem] = []
    for one in taps:
        able = [spec for spec in specs if spec.lines and one.line_v in numbers_in(spec.line_volts)]
        if not able:
            problems.append(stop(one.zone.where, "no-amplifier-for-line",
                                 f"No '{ROLE}' of option '{brief.option}' has an output for the {one.zone.line} line "
                                 f"of zone {one.zone.number} '{one.zone.name}'.",
                                 "Name one in options.csv, or type another voltage under 'Line' on Zones."))
            continue
        spec = min(able, key=lambda spec: _rank(brief, one, spec))
        last = seats[-1] if seats else None
        if last is not None and last.spec.part == spec.part and last.output < (spec.lines or 1):
            seats.append(Seat(taps=one, spec=spec, box=last.box, output=last.output + 1))
        else:
            seats.append(Seat(taps=one, spec=spec, box=last.box + 1 if last else 1, output=1))
    return seats, problems


def _rank(brief: Brief, taps: Taps, spec: AmplifierSpec) -> tuple[bool, float, bool, Decimal, str]:
    """Within the share first, at least cost; else the least overloaded."""
    share = amplifier_share(taps.total_w, spec.line_w or 1.0)
    over = share > taps.limit.number("share_rate") + 1e-9
    prices = brief.catalog.prices.get((spec.part, brief.job.terms.currency), ())
    cost = next((price.unit_cost for price in prices if price.costing), None)
    return over, share if over else 0.0, cost is None, (cost or Decimal(0)) / (spec.lines or 1), spec.part


def _feeds(brief: Brief, seats: Sequence[Seat]) -> list[tuple[str, int]]:
    """The controller output of each line, after those of the low-impedance zones; none where the amplifier plays."""
    if head_end_shape(brief) != "controller and amplifiers":
        return [("", 0)] * len(seats)
    taken = {(zone.controller, zone.controller_output) for zone in brief.of(ZoneFact)}
    free = [(unit.id, output) for unit in brief.of(ControllerFact) for output in range(1, unit.outputs + 1)
            if (unit.id, output) not in taken]
    return [*free, *[("", 0)] * len(seats)][:len(seats)]


def _line(brief: Brief, seat: Seat) -> VoltageLine:
    taps, spec = seat.taps, seat.spec
    lost, longest_m = _voltage_lost(brief, taps)
    counted = Counter(speaker.tap_w for speaker in taps.speakers)
    first = taps.runs[0] if taps.runs else None
    return VoltageLine(
        id=f"LIN-{taps.zone.number}", zone=taps.zone.number,
        basis=(f"Z{taps.zone.number}", *(speaker.id for speaker in taps.speakers), *(run.id for run in taps.runs)),
        where=(taps.zone.where,), decided=rows_of((taps.limit.decided,)), name=taps.zone.name,
        wall_state=taps.uses[0].wall_state, line_v=taps.line_v, speakers=len(taps.speakers),
        taps=", ".join(f"{count} x {tap_w:g} W" for tap_w, count in sorted(counted.items())),
        tap_total_w=taps.total_w, load_ohm=round(tap_ohm(taps.line_v, taps.total_w), 2) if taps.total_w else 0.0,
        amplifier=seat.box_id, output=seat.output_id, amplifier_w=spec.line_w or 0.0, share_rate=seat.share_rate,
        share_limit_rate=taps.limit.number("share_rate"), output_class=spec.output_class,
        area_mm2=first.area_mm2 if first else 0.0, gauge_awg=first.gauge_awg if first else 0.0,
        run_m=round(sum(run.length_m for run in taps.runs), 3), longest_m=round(longest_m, 3),
        voltage_lost_rate=round(lost, 5), power_lost_rate=round(1 - (1 - lost) ** 2, 5),
        loss_db=round(20 * math.log10(1 - lost), 3), loss_limit_rate=taps.limit.number("loss_rate"),
        runs=", ".join(run.id for run in taps.runs))


def _voltage_lost(brief: Brief, taps: Taps) -> tuple[float, float]:
    """Share of voltage lost at the farthest speaker, and how far along the line that is. [ratio, m]"""
    tap_w = {speaker.place: speaker.tap_w for speaker in taps.speakers}
    worst, longest_m = 0.0, 0.0
    for chain in _chains(taps.runs):
        loops, loads = [], []
        for run in chain:
            cable = brief.catalog.cables.get(run.part)
            loops.append(loop_ohm(run.length_m, ohm_per_m(brief, cable)) if cable else 0.0)
            watts = tap_w.get(run.end, 0.0)
            loads.append(tap_ohm(taps.line_v, watts) if watts else math.inf)
        worst = max(worst, 1 - voltage_share_rate(loops, loads))
        longest_m = max(longest_m, sum(run.length_m for run in chain))
    return worst, longest_m


def _chains(runs: Sequence[CableRun]) -> list[list[CableRun]]:
    """The runs of a line from the head end on: one chain behind open walls, one through finished ones."""
    chains: list[list[CableRun]] = []
    for run in runs:
        if run.start == "HE":
            chains.append([run])
        else:
            next((chain for chain in chains if chain[-1].end == run.start), chains[-1]).append(run)
    return chains


def _zone(brief: Brief, seat: Seat, line: VoltageLine, feed: tuple[str, int]) -> ZoneFact:
    taps, zone = seat.taps, seat.taps.zone
    order = {"phone": 0, "knob": 1, "keypad": 2}
    given = max((use.control for use in taps.uses), key=lambda control: order[control])
    fed = head_end_shape(brief) == "controller and amplifiers"
    states = {use.wall_state for use in taps.uses}
    return ZoneFact(
        id=f"Z{zone.number}", zone=zone.number, basis=(line.id, *(use.id for use in taps.uses)), where=(zone.where,),
        decided=rows_of(row for use in taps.uses for row in use.decided), name=zone.name,
        wall_state="finished" if states == {"finished"} else taps.uses[0].wall_state, rooms=len(taps.uses),
        pairs=sum(use.pairs for use in taps.uses), speakers=len(taps.speakers), channels=1, outputs=1 if fed else 0,
        mono=True, bridged=False, control="keypad" if given == "knob" else given, load_ohm=line.load_ohm,
        asked_w=taps.total_w, amplifier=seat.box_id, first_channel=seat.output, controller=feed[0],
        controller_output=feed[1], sub_zones=sum(use.sub_zone for use in taps.uses), paged=zone.paged,
        max_volume=zone.max_volume or 0, line_lead=fed, line_leads=int(fed), summing=fed)


def _output(seat: Seat, line: VoltageLine) -> AmplifierOutput:
    zone, spec = seat.taps.zone, seat.spec
    return AmplifierOutput(
        id=seat.output_id, zone=zone.number, basis=(f"Z{zone.number}", line.id), where=(zone.where,),
        decided=(*settings_of(ROLE), *line.decided),
        amplifier=seat.box_id, channel=seat.output, side="M", bridged=False, voice_coils=len(seat.taps.speakers),
        circuits=1, load_ohm=line.load_ohm, terminal=spec.terminal, runs=line.runs, asked_w=seat.taps.total_w,
        output_w=spec.line_w or 0.0, output_class=spec.output_class, line_v=line.line_v)


def _amplifier(brief: Brief, seats: Sequence[Seat]) -> AmplifierFact:
    spec = seats[0].spec
    zones = [f"Z{seat.taps.zone.number}" for seat in seats]
    lines_made = spec.lines or 1
    return AmplifierFact(
        id=seats[0].box_id, basis=tuple(zones), where=tuple(seat.taps.zone.where for seat in seats),
        decided=(*settings_of(ROLE), *rows_of(seat.taps.limit.decided for seat in seats)), part=spec.part,
        shape=head_end_shape(brief), channels=lines_made, used_channels=len(seats),
        spare_channels=lines_made - len(seats), bridged_outputs=0,
        lowest_load_ohm=min(tap_ohm(seat.taps.line_v, seat.taps.total_w) if seat.taps.total_w else 0.0
                            for seat in seats),
        channel_w=spec.line_w or 0.0, rack_units=spec.rack_units, depth_mm=spec.depth_mm, weight_kg=spec.weight_kg,
        idle_w=spec.idle_w, working_w=spec.working_w, vents=1 if spec.amplifier_class == "AB" else 0, plugs=1,
        trigger_ma=spec.trigger_ma, trigger_lead=False, network_port=spec.network_port,
        rack_mountable=spec.rack_units > 0, wakes_with=", ".join(zones))


def _worries(brief: Brief, seat: Seat, line: VoltageLine) -> list[Problem]:
    problems = [problem for problem in (_share_worry(brief, seat), _loss_worry(brief, seat, line)) if problem]
    zone = seat.taps.zone
    if not line.output_class:
        problems.append(warning(
            zone.where, "output-class-unknown",
            f"The wiring class of the line output of '{seat.spec.part}' (zone {zone.number} '{zone.name}', option "
            f"'{brief.option}') is not in the catalogue; it follows from the amplifier's marking, never from watts.",
            "Read the marking on the amplifier and type it under output_class in parts/amplifiers.csv."))
    if zone.bridged:
        problems.append(warning(
            zone.where, "bridged-line", f"Zone {zone.number} '{zone.name}' asks for bridged channels and for a "
            f"{zone.line} line; the line has an amplifier of its own.", "Type no under 'Bridged' on Zones."))
    return problems


def _share_worry(brief: Brief, seat: Seat) -> Problem | None:
    zone, limit = seat.taps.zone, seat.taps.limit
    said = (f"The taps of zone {zone.number} '{zone.name}' add up to {seat.taps.total_w:g} W in option "
            f"'{brief.option}', {seat.share_rate:.1%} of the {seat.spec.line_w or 0:g} W of '{seat.spec.part}'")
    remedy = "Split the zone, type fewer pairs or a quieter listening, or name a larger line amplifier in options.csv."
    if seat.share_rate > limit.number("stop_share_rate") + 1e-9:
        return stop(zone.where, "line-overloaded",
                    f"{said}; more than {limit.number('stop_share_rate'):.0%} is not allowed.", remedy)
    if seat.share_rate > limit.number("share_rate") + 1e-9:
        return warning(zone.where, "line-amplifier-tight", f"{said}; keep to {limit.number('share_rate'):.0%}.", remedy)
    return None


def _loss_worry(brief: Brief, seat: Seat, line: VoltageLine) -> Problem | None:
    zone, limit = seat.taps.zone, seat.taps.limit
    if line.voltage_lost_rate <= limit.number("loss_rate") + 1e-9:
        return None
    said = (f"The {zone.line} line of zone {zone.number} '{zone.name}' loses {line.voltage_lost_rate:.1%} of its "
            f"voltage ({-line.loss_db:.2f} dB) at the farthest speaker in option '{brief.option}', "
            f"{line.longest_m:.0f} m away")
    remedy = "Split the zone, type 100 V under 'Line' on Zones, or stock a thicker cable."
    if line.voltage_lost_rate > limit.number("stop_loss_rate") + 1e-9:
        return stop(zone.where, "line-loses-too-much",
                    f"{said}; more than {limit.number('stop_loss_rate'):.0%} is not allowed.", remedy)
    return warning(zone.where, "line-loses-much", f"{said}; keep to {limit.number('loss_rate'):.0%}.", remedy)

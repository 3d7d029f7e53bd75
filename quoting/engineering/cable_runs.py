"""Every run with its length, gauge, rating, part and pull: behind open walls for all options, else per option."""

from __future__ import annotations

from collections.abc import Sequence

from quoting.engineering.brief import Brief, Result, outdoor, rows_of, site
from quoting.engineering.cable_gauge import Circuit, Gauge, area_of, choose_gauges, gauge_of, part_with
from quoting.engineering.run_length import Length, run_length
from quoting.engineering.run_plan import FOUR, TWO, Leg, finished_legs, open_legs, plan_legs
from quoting.facts import CableRun, Fact, Place, Speaker, of
from quoting.job import Room
from quoting.problems import Problem, stop, warning

LEAST_OHM = 8.0  # an owned or unknown speaker's load, where no option says


def open_runs(brief: Brief) -> Result:
    """The runs of the shared plan, each sized once for the worst option's load, rating and length."""
    return _runs(brief, open_legs(brief, plan_legs(brief)))


def finished_runs(brief: Brief) -> Result:
    """One option's runs through finished walls."""
    return _runs(brief, finished_legs(brief, plan_legs(brief)))


def _runs(brief: Brief, legs: Sequence[Leg]) -> Result:
    places = {place.id: place for place in brief.of(Place)}
    problems: list[Problem] = []
    lengths: dict[str, Length] = {}
    for leg in legs:
        lengths[leg.id], worries = run_length(brief, leg, places)
        problems.extend(worries)
    circuits = _circuits(brief, legs, lengths)
    taken = {run.area_mm2 for run in brief.of(CableRun) if run.circuits}
    gauges, gauge_worries = choose_gauges(brief, circuits, FOUR, taken)
    problems.extend(gauge_worries)
    loads = {(circuit.room, circuit.pair): circuit.load_ohm for circuit in circuits}
    pulls = _pulls(brief, legs)
    facts: list[Fact] = []
    for leg in legs:
        run, run_worries = _run(brief, leg, lengths[leg.id], gauges.get((leg.room, leg.pair)),
                                loads.get((leg.room, leg.pair), 0.0), pulls[leg.id])
        facts.append(run)
        problems.extend(run_worries)
    return tuple(facts), tuple(problems)


def _circuits(brief: Brief, legs: Sequence[Leg], lengths: dict[str, Length]) -> list[Circuit]:
    """A pair's longest way: its home run and, in line with it, its longest leg."""
    loads: dict[str, float] = {}
    for facts in brief.by_option.values():
        for speaker in of(facts, Speaker):
            loads[speaker.room] = min(loads.get(speaker.room, speaker.nominal_ohm), speaker.nominal_ohm)
    home: dict[tuple[str, int], float] = {}
    further: dict[tuple[str, int], float] = {}
    for leg in legs:
        if not leg.circuits:
            continue
        key, metres = (leg.room, leg.pair), lengths[leg.id].length_m
        target = home if leg.start == "HE" else further
        target[key] = max(target.get(key, 0.0), metres)
    return [Circuit(room=room, pair=pair, length_m=metres + further.get((room, pair), 0.0),
                    load_ohm=loads.get(room, LEAST_OHM)) for (room, pair), metres in home.items()]


def _pulls(brief: Brief, legs: Sequence[Leg]) -> dict[str, tuple[str, bool]]:
    """Run -> (pull group, first of its pull). Cables from the head end to one room go together."""
    result: dict[str, tuple[str, bool]] = {}
    counts: dict[str, int] = {}
    for leg in legs:
        room = brief.rooms[leg.room]
        if leg.start != "HE":
            result[leg.id] = (f"{leg.room}-L", False)
            continue
        most = max(1, int(brief.catalog.standards.ask("pull", wall_state=room.wall_state).number("cables_per_pull")))
        number = counts.get(leg.room, 0)
        counts[leg.room] = number + 1
        result[leg.id] = (f"{leg.room}-P{number // most + 1}", number % most == 0)
    return result


def _run(
    brief: Brief, leg: Leg, length: Length, gauge: Gauge | None, load_ohm: float, pull: tuple[str, bool]
) -> tuple[CableRun, list[Problem]]:
    room = brief.rooms[leg.room]
    buried = outdoor(room)
    rating = brief.catalog.standards.ask("cable_rating", buried=buried, floors_crossed=length.floors_crossed,
                                         plenum=False, dwelling="house")
    part = part_with(brief, leg.role, gauge.area_mm2 if gauge else 0.0, rating.text("rating"))
    spec = brief.catalog.cables.get(part)
    problems = _checks(brief, leg, room, length, rating.text("rating"), part)
    area = area_of(spec) if spec is not None else 0.0
    reused = room.reuse_cable and leg.circuits > 0
    return CableRun(
        id=leg.id, **site(room, brief.job), basis=tuple(place for place in (leg.start, leg.end) if place != "HE"),
        where=length.where, decided=rows_of((*length.decided, *(gauge.decided if gauge else ()), rating.decided)),
        part="" if reused else part, role=leg.role, purpose=leg.purpose, start=leg.start, end=leg.end,
        conductors={FOUR: 4, TWO: 2}.get(leg.role, spec.conductors if spec is not None else 0), circuits=leg.circuits,
        gauge_awg=gauge_of(spec) if spec is not None and leg.circuits else 0.0,
        area_mm2=area if leg.circuits else 0.0, length_basis=length.basis, plan_m=length.plan_m,
        route_factor=length.route_factor, vertical_m=length.vertical_m, slack_m=length.slack_m,
        waste_rate=length.waste_rate, length_m=0.0 if reused else length.length_m, floors_crossed=length.floors_crossed,
        load_ohm=load_ohm if leg.circuits else 0.0, loop_ohm=gauge.loop_ohm if gauge else 0.0,
        loop_rate=gauge.loop_rate if gauge else 0.0, loss_db=gauge.loss_db if gauge else 0.0,
        limit_rate=gauge.limit_rate if gauge else 0.0, pull_group=pull[0], first_of_pull=pull[1],
        rating=rating.text("rating"), buried=buried, spare=leg.spare, reused=reused, digital=leg.circuits == 0,
    ), problems


def _checks(brief: Brief, leg: Leg, room: Room, length: Length, rating: str, part: str) -> list[Problem]:
    problems = []
    if not part:
        problems.append(stop(
            room.where()[0], "no-cable-with-rating",
            f"No '{leg.role}' rated '{rating}' in the gauge that run {leg.id} to '{room.name}' needs.",
            f"Add one to the role '{leg.role}' in options.csv."))
    if not leg.circuits:
        limit = brief.catalog.standards.ask("structured_limit", cable="category").number("limit_m")
        if length.length_m > limit:
            problems.append(warning(
                room.where("measured_m", "distance")[0], "data-cable-too-long",
                f"Run {leg.id} to '{room.name}' is {length.length_m:.1f} m; structured cabling allows {limit:g} m.",
                "Move the head end nearer or add a network switch on the way."))
    return problems

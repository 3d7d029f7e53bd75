"""Every run with its length, gauge, rating, part and pull: behind open walls for all options, else per option."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from typing import Any

from msgspec import Struct

from quoting.engineering.brief import Brief, Result, is_open, outdoor, rows_of, site
from quoting.engineering.cable_circuits import circuit_key, circuits_of, rooms_apart, worst_loads
from quoting.engineering.cable_gauge import Circuit, Gauge, area_of, choose_gauges, design_number, gauge_of
from quoting.engineering.cable_rating import part_with
from quoting.engineering.run_length import Length, run_length
from quoting.engineering.run_numbers import number_legs
from quoting.engineering.run_plan import CATEGORY, FOUR, TWO, Leg, finished_legs, open_legs, plan_legs
from quoting.facts import CableRun, Fact, Place
from quoting.problems import Problem, stop, warning
from quoting.units import show_length


class _Planned(Struct, frozen=True):
    """Runs with ids and lengths, and the speaker circuits that they make up."""

    legs: tuple[Leg, ...]
    lengths: dict[str, Length]
    circuits: list[Circuit]
    problems: list[Problem]


def open_runs(brief: Brief) -> Result:
    """The runs of the shared plan, each sized once for the worst option's load, rating and length."""
    planned = _plan(brief, open_legs, list(brief.by_option.values()))
    return _sized(brief, planned, _finished_circuits(brief))


def finished_runs(brief: Brief) -> Result:
    """One option's runs through finished walls."""
    return _sized(brief, _plan(brief, finished_legs, [brief.seen]), [])


def _finished_circuits(brief: Brief) -> list[Circuit]:
    """What the options will pull through finished walls: their gauges count among the job's."""
    if all(is_open(room) for room in brief.job.rooms):
        return []
    later = []
    for option, facts in brief.by_option.items():
        alone = Brief(brief.job, brief.catalog, option, (*brief.seen, *facts), brief.by_option)
        later += _plan(alone, finished_legs, [alone.seen]).circuits
    return later


def _plan(
    brief: Brief, keep: Callable[[Brief, Sequence[Leg]], tuple[Leg, ...]], by_option: Sequence[Sequence[Fact]]
) -> _Planned:
    """Plan, number and measure. Where pairs may share a home run, those that should not are planned apart."""
    places = {place.id: place for place in brief.of(Place)}
    worst = worst_loads(by_option)

    def planned(apart: Collection[str]) -> _Planned:
        legs = keep(brief, number_legs(brief.rooms, plan_legs(brief, apart)))
        lengths, problems = _lengths(brief, legs, places)
        return _Planned(legs, lengths, circuits_of(brief, legs, lengths, worst), problems)

    together = planned(())
    if design_number(brief, "pairs per home run") > 1 and (apart := rooms_apart(brief, together.circuits)):
        return planned(apart)
    return together


def _sized(brief: Brief, planned: _Planned, later: Sequence[Circuit]) -> Result:
    """Each run with its gauge, rating, part and pull."""
    taken = {run.area_mm2 for run in brief.of(CableRun) if run.circuits}
    gauges, gauge_worries = choose_gauges(brief, planned.circuits, taken, later)
    problems = [*planned.problems, *gauge_worries]
    pulls = _pulls(brief, planned.legs)
    to_keypad_m = {leg.end: planned.lengths[leg.id].length_m for leg in planned.legs
                   if leg.role == CATEGORY and leg.start == "HE" and not leg.spare}
    facts: list[Fact] = []
    for leg in planned.legs:
        gauge = gauges.get(circuit_key(brief, leg)) if leg.circuits else None
        run = _run(brief, leg, planned.lengths[leg.id], gauge, pulls[leg.id])
        facts.append(run)
        if not (run.part or run.reused):
            problems.append(_no_part(brief, leg, run.rating))
        if leg.role == CATEGORY:
            problems.extend(_data_worries(brief, leg, run.length_m + to_keypad_m.get(leg.start, 0.0)))
    return tuple(facts), tuple(problems)


def _lengths(
    brief: Brief, legs: Sequence[Leg], places: dict[str, Place]
) -> tuple[dict[str, Length], list[Problem]]:
    lengths: dict[str, Length] = {}
    problems: list[Problem] = []
    for leg in legs:
        lengths[leg.id], worries = run_length(brief, leg, places)
        problems.extend(worries)
    return lengths, problems


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


def _run(brief: Brief, leg: Leg, length: Length, gauge: Gauge | None, pull: tuple[str, bool]) -> CableRun:
    room = brief.rooms[leg.room]
    rating = brief.catalog.standards.ask(
        "cable_rating", outdoor=outdoor(room), from_house=_from_house(brief, leg),
        floors_crossed=length.floors_crossed, plenum=room.moves_air, dwelling=brief.job.dwelling)
    part = part_with(brief, leg.role, gauge.area_mm2 if gauge else 0.0, rating.text("rating"))
    spec = brief.catalog.cables.get(part)
    reused = room.reuse_cable and leg.circuits > 0
    return CableRun(
        id=leg.id, **site(room, brief.job), basis=tuple(place for place in (leg.start, leg.end) if place != "HE"),
        where=(*length.where, *(cell for cell in room.where("moves_air") if room.moves_air)),
        decided=rows_of((*length.decided, *(gauge.decided if gauge else ()), rating.decided, *_counted_by(brief, leg))),
        part="" if reused else part, role=leg.role, purpose=leg.purpose, start=leg.start, end=leg.end,
        conductors={FOUR: 4, TWO: 2}.get(leg.role, spec.conductors if spec is not None else 0), circuits=leg.circuits,
        gauge_awg=gauge_of(spec) if spec is not None and leg.circuits else 0.0,
        area_mm2=area_of(spec) if spec is not None and leg.circuits else 0.0, length_basis=length.basis,
        plan_m=length.plan_m, route_factor=length.route_factor, vertical_m=length.vertical_m, slack_m=length.slack_m,
        slack_start_m=length.slack_start_m, slack_end_m=length.slack_end_m, planned_m=length.planned_m,
        measured_to=length.measured_to, diameter_mm=spec.diameter_mm if spec is not None else 0.0,
        marks=(spec.marks or spec.rating) if spec is not None else "",
        waste_rate=length.waste_rate, length_m=0.0 if reused else length.length_m,
        floors_crossed=length.floors_crossed, pull_group=pull[0], first_of_pull=pull[1],
        rating=rating.text("rating"), buried=length.way == "ground", way=length.way, via=length.via,
        spare=leg.spare, reused=reused, digital=leg.circuits == 0,
        joined_pairs=leg.joined if leg.pair else 0, **_electrical(gauge))


def _from_house(brief: Brief, leg: Leg) -> bool:
    """Whether a run starts indoors: at the head end, or at a place of an indoor room."""
    start = brief.rooms.get(leg.start.rpartition("-")[0])
    return start is None or not outdoor(start)


def _counted_by(brief: Brief, leg: Leg) -> tuple[str, ...]:
    """The rows that say how many cables go together, and how many spares a place has."""
    room, ask = brief.rooms[leg.room], brief.catalog.standards.ask
    pull = (ask("pull", wall_state=room.wall_state).decided,) if leg.start == "HE" else ()
    return (*pull, ask("spare_cables", device=leg.device).decided) if leg.spare and leg.purpose != "spare" else pull


def _electrical(gauge: Gauge | None) -> dict[str, Any]:
    """The fields of a run that its gauge gives; zeros for cables that carry no speaker."""
    return {
        "load_ohm": gauge.load_ohm if gauge else 0.0, "channel_ohm": gauge.channel_ohm if gauge else 0.0,
        "loop_ohm": gauge.loop_ohm if gauge else 0.0, "loop_rate": gauge.loop_rate if gauge else 0.0,
        "loss_db": gauge.loss_db if gauge else 0.0, "power_lost_rate": gauge.power_lost_rate if gauge else 0.0,
        "damping_factor": gauge.damping_factor if gauge else 0.0, "limit_rate": gauge.limit_rate if gauge else 0.0,
        "stranding": gauge.stranding if gauge else "", "temperature_c": gauge.temperature_c if gauge else 0.0,
    }


def _no_part(brief: Brief, leg: Leg, rating: str) -> Problem:
    room = brief.rooms[leg.room]
    return stop(room.where("moves_air")[0], "no-cable-with-rating",
                f"No '{leg.role}' rated '{rating}' in the gauge that run {leg.id} to '{room.name}' needs.",
                f"Add one to the role '{leg.role}' in options.csv.")


def _data_worries(brief: Brief, leg: Leg, length_m: float) -> list[Problem]:
    """A category cable against the structured-cabling limits, with the cable to the keypad that it goes on from."""
    room = brief.rooms[leg.room]
    answer = brief.catalog.standards.ask("structured_limit", cable="category")
    limit_m, most_m = answer.number("limit_m"), answer.number("stop_m")
    where = room.where("measured_m", "distance")[0]
    run_is, allowed, corded = (show_length(each_m, brief.job.unit_system) for each_m in (length_m, limit_m, most_m))
    said = f"Run {leg.id} to '{room.name}' is {run_is}; structured cabling allows {allowed}"
    remedy = "Move the head end nearer or add a network switch on the way."
    if length_m > most_m:
        return [stop(where, "data-cable-too-long", f"{said}, and {corded} with its cords.", remedy)]
    return [warning(where, "data-cable-over-limit", f"{said}.", remedy)] if length_m > limit_m else []

"""The order of the engineering steps: places, speakers, the shared plan, then each option's own equipment."""

from __future__ import annotations

from typing import Literal

from quoting.catalog.records import Catalog
from quoting.engineering import (
    bracket_checks,
    cable_ends,
    cable_runs,
    connections,
    controls,
    drilling,
    head_end,
    head_end_place,
    house_exits,
    keypad_bus,
    pathways,
    places,
    room_use,
    shared_ways,
    sound_level,
    sources,
    speakers,
    stone_holes,
    wall_boxes,
    whole,
)
from quoting.engineering.amplifiers import drive
from quoting.engineering.brief import Brief, Step
from quoting.engineering.controllers import controllers
from quoting.engineering.fact_overrides import fact_override_problems, passed_place_problems
from quoting.engineering.told_once import told_once
from quoting.engineering.zones import check_zones
from quoting.facts import Design, Fact, OptionDesign, kind_of
from quoting.job import Job
from quoting.problems import Problem, has_stop

# "shared" steps run once, for the fullest option; "option" steps run once for each option. A step sees the facts of
# all steps before it. The shared plan is everything buried at rough-in where walls are open.
STEPS: tuple[tuple[Literal["shared", "option"], tuple[Step, ...]], ...] = (
    ("option", (room_use.room_uses,)),
    ("shared", (whole.job_facts, whole.work_limits, places.open_places, head_end_place.head_end_place)),
    ("option", (places.finished_places, speakers.speakers, controls.keypads, controls.room_inputs,
                controls.idle_places)),
    ("shared", (cable_runs.open_runs, wall_boxes.open_boxes, drilling.framing_limits, drilling.open_pulls,
                stone_holes.open_holes, house_exits.open_exits, pathways.conduits, pathways.separations,
                whole.open_rooms, whole.open_floors)),
    ("option", (cable_runs.finished_runs, wall_boxes.finished_boxes, drilling.finished_pulls,
                stone_holes.finished_holes, house_exits.finished_exits, shared_ways.shared_ways,
                whole.finished_rooms, whole.finished_floors, sources.sources, sources.extras, controllers, drive,
                sound_level.room_levels, check_zones, keypad_bus.keypad_bus, cable_ends.cable_ends,
                bracket_checks.check_brackets, head_end.network, head_end.rack, shared_ways.head_end_opening,
                whole.system, connections.connections)),
)


def design_system(job: Job, catalog: Catalog, only: str = "") -> tuple[Design | None, tuple[Problem, ...]]:
    """The whole design: the shared plan and each option's own facts, or those of `only` one. None where something
    stops it."""
    shared: tuple[Fact, ...] = ()
    options: dict[str, tuple[Fact, ...]] = dict.fromkeys(catalog.options, ())
    problems: list[Problem] = []
    kinds: dict[str, str] = {}  # of every fact that was made, dropped ones too
    for scope, steps in STEPS:
        if only and steps is STEPS[-1][1]:  # the shared plan, which looks at every option, is made
            options = {only: options[only]}
        for step in steps:
            if scope == "shared":
                made, worries = step(Brief(job, catalog, catalog.options[-1], shared, dict(options)))
                kinds.update((fact.id, kind_of(fact)) for fact in made)
                shared += _kept(job, made)
                problems.extend(told_once({"": worries}))
                continue
            told: dict[str, tuple[Problem, ...]] = {}
            for option in options:
                made, told[option] = step(Brief(job, catalog, option, shared + options[option], dict(options)))
                kinds.update((fact.id, kind_of(fact)) for fact in made)
                options[option] += _kept(job, made)
            problems.extend(told_once(told))
        if has_stop(problems):
            return None, tuple(dict.fromkeys(problems))
    problems.extend(fact_override_problems(job, kinds))
    problems.extend(passed_place_problems(job, (*shared, *(fact for facts in options.values() for fact in facts))))
    dropped = tuple(override.id for override in job.overrides if override.what == "drop" and override.id in kinds)
    design = Design(shared, tuple(OptionDesign(name, facts) for name, facts in options.items()), dropped)
    return (None if has_stop(problems) else design), tuple(dict.fromkeys(problems))


def _kept(job: Job, facts: tuple[Fact, ...]) -> tuple[Fact, ...]:
    """Without what the estimator dropped."""
    dropped = {override.id for override in job.overrides if override.what == "drop" and "/" not in override.id}
    return tuple(fact for fact in facts if fact.id not in dropped) if dropped else facts

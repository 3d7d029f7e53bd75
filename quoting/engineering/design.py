"""The order of the engineering steps: places, speakers, the shared plan, then each option's own equipment."""

from __future__ import annotations

from typing import Literal

from quoting.catalog.records import Catalog
from quoting.engineering import cable_ends, cable_runs, controls, head_end, places, room_use, sources, speakers, whole
from quoting.engineering.amplifiers import amplify
from quoting.engineering.brief import Brief, Step
from quoting.engineering.controllers import controllers
from quoting.engineering.zones import check_zones
from quoting.facts import Design, Fact, OptionDesign
from quoting.job import Job
from quoting.problems import Problem, has_stop

# "shared" steps run once, for the fullest option; "option" steps run once for each option. A step sees the facts of
# all steps before it. The shared plan is everything buried at rough-in where walls are open.
STEPS: tuple[tuple[Literal["shared", "option"], tuple[Step, ...]], ...] = (
    ("option", (room_use.room_uses,)),
    ("shared", (whole.job_facts, places.open_places)),
    ("option", (places.finished_places, speakers.speakers, controls.keypads, controls.room_inputs,
                controls.idle_places)),
    ("shared", (cable_runs.open_runs, whole.open_rooms, whole.open_floors)),
    ("option", (cable_runs.finished_runs, whole.finished_rooms, whole.finished_floors, sources.sources,
                sources.extras, controllers, amplify, check_zones, cable_ends.cable_ends, head_end.network,
                head_end.rack, whole.system)),
)


def design_system(job: Job, catalog: Catalog) -> tuple[Design | None, tuple[Problem, ...]]:
    """The whole design: the shared plan and each option's own facts. None where something stops it."""
    shared: tuple[Fact, ...] = ()
    options: dict[str, tuple[Fact, ...]] = dict.fromkeys(catalog.options, ())
    problems: list[Problem] = []
    for scope, steps in STEPS:
        for step in steps:
            if scope == "shared":
                made, worries = step(Brief(job, catalog, catalog.options[-1], shared, dict(options)))
                shared += _kept(job, made)
                problems.extend(worries)
                continue
            for option in catalog.options:
                made, worries = step(Brief(job, catalog, option, shared + options[option], dict(options)))
                options[option] += _kept(job, made)
                problems.extend(worries)
        if has_stop(problems):
            return None, tuple(dict.fromkeys(problems))
    design = Design(shared, tuple(OptionDesign(name, facts) for name, facts in options.items()))
    return design, tuple(dict.fromkeys(problems))


def _kept(job: Job, facts: tuple[Fact, ...]) -> tuple[Fact, ...]:
    """Without what the estimator dropped."""
    dropped = {override.id for override in job.overrides if override.what == "drop" and "/" not in override.id}
    return tuple(fact for fact in facts if fact.id not in dropped) if dropped else facts

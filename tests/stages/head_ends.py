"""Catalogues and jobs for head-end tests: the demo catalogue with a role, a spec or a setting changed."""

from __future__ import annotations

from typing import Any

from msgspec.structs import replace

from quoting.catalog.records import Catalog, OptionSetting
from quoting.engineering.design import design_system
from quoting.facts import Design, Fact, of
from quoting.job import Extra, Job
from quoting.problems import Problem
from tests.builders import cell, make_room
from tests.demo_jobs import house

APART: Any = "controller and amplifiers"


def with_parts(catalog: Catalog, role: str, *parts: str) -> Catalog:
    """Every option chooses among these parts for the role."""
    row = catalog.roles[role, ""]
    return replace(catalog, roles={
        **catalog.roles, (role, ""): replace(row, parts=dict.fromkeys(catalog.options, parts))})


def with_spec(catalog: Catalog, table: str, part: str, **changes: Any) -> Catalog:
    """One part's data sheet changed; table: amplifiers, controllers, speakers, keypads."""
    specs = getattr(catalog, table)
    return replace(catalog, **{table: {**specs, part: replace(specs[part], **changes)}})


def with_setting(catalog: Catalog, name: str, value: str) -> Catalog:
    """An option setting, the same in every option."""
    row: OptionSetting = catalog.settings[name]
    return replace(catalog, settings={
        **catalog.settings, name: replace(row, values=dict.fromkeys(catalog.options, value))})


def without_sockets(catalog: Catalog, part: str, *signals: str) -> Catalog:
    """A part that lacks every socket of these signals."""
    kept = tuple(socket for socket in catalog.sockets[part] if socket.signal not in signals)
    return replace(catalog, sockets={**catalog.sockets, part: kept})


def zones_of_one_pair(count: int, **changes: Any) -> Job:
    """A house of so many zones, a room with one pair in each."""
    rooms = [make_room(f"R{n}", name=f"Room {n}", zone=n, pairs=1) for n in range(1, count + 1)]
    return house(*rooms, **{"head_end_shape": APART, **changes})


def make_extra(kind: Any, name: str, ref: str) -> Extra:
    """One extra, at the head end or the kitchen door."""
    return Extra(kind=kind, name=name, room="", quantity=1, part="", amount=None,  # type: ignore[arg-type]
                 rack_mountable=False, plays_from="good", note="", where=cell("Extras", ref))


def facts_of(job: Job, catalog: Catalog, kind: type[Any], option: str = "best") -> tuple[Any, ...]:
    """One option's facts of a kind; the design must come out."""
    design, problems = design_system(job, catalog)
    assert design is not None, "\n".join(str(problem) for problem in problems)
    return of(own(design, option), kind)


def own(design: Design, option: str) -> tuple[Fact, ...]:
    """One option's own facts."""
    return next(one.facts for one in design.options if one.name == option)


def told(job: Job, catalog: Catalog, code: str) -> list[Problem]:
    """The problems of a code that a design tells."""
    return [problem for problem in design_system(job, catalog)[1] if problem.code == code]


def severity_and_cell(problems: list[Problem]) -> set[tuple[str, str, str]]:
    """(severity, sheet, address) of each, and every one with a remedy."""
    assert problems and all(problem.remedy for problem in problems)
    return {(problem.severity, problem.where.sheet, problem.where.ref) for problem in problems}

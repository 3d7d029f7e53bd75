"""Keypads on a controller's bus: what they draw, how long their cable is, how many ports they take."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.engineering.design import design_system
from quoting.facts import CableRun, ControllerFact, KeypadBus, KeypadFact, of
from quoting.job import Job
from tests.builders import cell, make_room
from tests.demo_jobs import house

CELLS = {"": cell("Rooms", "A2"), "control": cell("Rooms", "K2")}


def rooms(count: int = 4, **changes: Any) -> Job:
    made = [make_room(f"R{n}", name=f"Room {n}", zone=n, pairs=1, cells=CELLS, **changes) for n in range(1, count + 1)]
    return house(*made, head_end_shape="controller and amplifiers")


def best(job: Job, catalog: Catalog) -> tuple[Any, Any]:
    design, problems = design_system(job, catalog)
    assert design is not None, "\n".join(str(problem) for problem in problems)
    return design.shared, design.options[-1].facts


def found(job: Job, catalog: Catalog) -> set[tuple[str, str, str]]:
    return {(one.severity, one.code, one.where.ref) for one in design_system(job, catalog)[1] if "bus" in one.code}


def with_controllers(catalog: Catalog, **changes: Any) -> Catalog:
    return replace(catalog, controllers={part: replace(spec, **changes) for part, spec in catalog.controllers.items()})


def test_the_bus_sums_what_its_keypads_draw(demo: Catalog) -> None:
    _, facts = best(rooms(), demo)
    bus = of(facts, KeypadBus)[0]
    assert (bus.keypads, bus.asked_ma) == (4, 4 * 120)  # KP-30 draws 120 mA: parts/keypads.csv
    assert bus.given_ma == sum(demo.controllers[unit.part].bus_ma for unit in of(facts, ControllerFact))


def test_the_bus_sums_the_length_of_its_cable_without_spares(demo: Catalog) -> None:
    shared, facts = best(rooms(), demo)
    control = [run.length_m for run in of(shared, CableRun) if run.purpose == "control" and not run.spare]
    assert of(facts, KeypadBus)[0].run_m == pytest.approx(sum(control), abs=0.01)


def test_an_example_of_four_keypads_warns_of_nothing(demo: Catalog) -> None:
    assert found(rooms(), demo) == set()


def test_keypads_that_draw_more_than_the_bus_gives_warn_at_the_first_ones_cell(demo: Catalog) -> None:
    assert ("warning", "keypad-bus-current", "K2") in found(rooms(), with_controllers(demo, bus_ma=300))


def test_more_cable_than_the_bus_allows_warns(demo: Catalog) -> None:
    assert ("warning", "keypad-bus-length", "K2") in found(rooms(), with_controllers(demo, bus_m=20.0))


def test_the_standard_speaks_where_the_controller_does_not(demo: Catalog) -> None:
    _, facts = best(rooms(), with_controllers(demo, bus_m=None))
    bus = of(facts, KeypadBus)[0]
    assert bus.limit_m == demo.standards.ask("cable_design", item="keypad bus m").number("value") * bus.units
    assert any(row.startswith("cable_design") for row in bus.decided)


def test_more_home_runs_than_ports_warn(demo: Catalog) -> None:
    assert ("warning", "keypad-bus-ports", "K2") in found(rooms(), with_controllers(demo, keypad_ports=2))


def test_keypads_that_share_a_home_run_take_one_port(demo: Catalog) -> None:
    chained = replace(demo, keypads={part: replace(spec, chainable=True, per_home_run=2)
                                     for part, spec in demo.keypads.items()})
    job = rooms(2, second_control=True)
    assert found(job, with_controllers(chained, keypad_ports=2)) == set()
    _, facts = best(job, with_controllers(chained, keypad_ports=2))
    assert sum(keypad.chained for keypad in of(facts, KeypadFact)) == 2


def test_keypads_on_the_network_have_no_bus(demo: Catalog) -> None:
    _, facts = best(replace(rooms(), head_end_shape="network amplifiers"), demo)
    assert of(facts, KeypadBus) == ()

"""Where the head end is: its room or closet, the spot where cables come out, the racks before it, where runs start."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.engineering.brief import Brief
from quoting.engineering.design import design_system
from quoting.engineering.head_end_place import head_end_place, stand_of
from quoting.facts import CableRun, Design, HeadEndPlace, Place, RackFact, of
from quoting.job import Job, Override
from quoting.problems import Problem
from tests.builders import cell, make_room
from tests.demo_jobs import FT, house

RACK_DEEP_M = 0.6  # of the demo catalogue's smaller racks


def closet(*rooms: Any, overrides: tuple[Override, ...] = (), **said: Any) -> Job:
    """A house of one kitchen whose head end is a closet; `said` is what is typed of it. Kitchen 20 by 15 ft."""
    job = house(*(rooms or (make_room(pairs=1),)), head_end_shape="controller and amplifiers")
    values = {"place": "Closet", "floor": 0, "x_m": None, "y_m": None, **said}
    return replace(job, head_end=replace(job.head_end, **values), overrides=overrides)


def designed(job: Job, demo: Catalog) -> tuple[Design, tuple[Problem, ...]]:
    design, problems = design_system(job, demo)
    assert design is not None, "\n".join(str(problem) for problem in problems)
    return design, problems


def place_of(job: Job, demo: Catalog) -> HeadEndPlace:
    return of(designed(job, demo)[0].shared, HeadEndPlace)[0]


def racks(job: Job, demo: Catalog, option: int = -1) -> tuple[RackFact, ...]:
    return of(designed(job, demo)[0].options[option].facts, RackFact)


def in_feet(*metres: float) -> tuple[float, ...]:
    return tuple(round(one / FT, 2) for one in metres)


def moved(value: str) -> tuple[Override, ...]:
    return (Override(id="HE", what="position", value=value, reason="seen", who="R. Estimator",
                     where=cell("Overrides", "C2")),)


# ---------------------------------------------------------------- where cables come out

def test_a_closet_that_is_only_named_is_taken_for_a_usual_one(demo: Catalog) -> None:
    # rows HER-010, HER-020: 8 by 6 ft; in the middle of the back wall (common practice, no source)
    found = place_of(closet(), demo)
    assert in_feet(found.length_m, found.width_m, found.x_m, found.y_m) == (8, 6, 4, 0)
    assert (found.wall, found.size_said, found.on_plan) == ("south", False, False)


@pytest.mark.parametrize(("side", "wall", "at"), [
    ("north", "north", (3, 5)), ("east", "east", (6, 2.5)), ("south", "south", (3, 0)), ("west", "west", (0, 2.5))])
def test_a_closet_beside_a_room_has_its_racks_opposite_to_the_door(
    demo: Catalog, side: Any, wall: str, at: tuple[float, float]
) -> None:
    found = place_of(closet(beside="KIT", side=side, length_m=6 * FT, width_m=5 * FT), demo)
    assert (found.wall, in_feet(found.x_m, found.y_m)) == (wall, at)


def test_cables_come_out_as_far_under_the_ceiling_as_the_runs_count(demo: Catalog) -> None:
    # 9 ft of ceiling less the 7.5 ft that each run counts at the head end (trade practice 3.3: 6 to 9 ft)
    assert in_feet(place_of(closet(), demo).height_m) == (1.5,)


def test_in_a_room_of_the_workbook_it_keeps_off_what_hangs_there(demo: Catalog) -> None:
    room = make_room("DEN", name="Den", zone=2, pairs=2, mount="wall", room_input=True, tv=True)
    design, _ = designed(closet(make_room(pairs=1), room, place="Den"), demo)
    found = of(design.shared, HeadEndPlace)[0]
    others = [place for place in of(design.shared, Place) if place.room == "DEN"]
    assert found.room == "DEN" and found.y_m == 0
    assert min(abs(found.x_m - one.x_m) + abs(found.y_m - one.y_m) for one in others) >= 2.5 * FT - 1e-3


def test_an_override_moves_it_to_the_nearest_wall(demo: Catalog) -> None:
    found = place_of(closet(length_m=6 * FT, width_m=5 * FT, overrides=moved("0.1, 2")), demo)
    assert (found.wall, in_feet(found.x_m, found.y_m)) == ("west", (0, 2))


def test_what_is_no_position_in_the_closet_stops(demo: Catalog) -> None:
    problem, = [one for one in design_system(closet(overrides=moved("9, 2")), demo)[1] if one.code == "not-a-position"]
    assert (problem.severity, problem.where.ref) == ("stop", "C2") and "'Closet', which is 8' by 6'" in problem.message


# ---------------------------------------------------------------- the runs start there

def test_runs_start_where_the_cables_come_out(demo: Catalog) -> None:
    # Kitchen 20 by 15 ft about (30, 20); a closet of 6 by 5 ft at its east side, racks at its east wall: cables come
    # out at 30 + 10 + 6 = 46 ft, 20 ft. To the control of a den about (10, 40), on its west wall 3.5 ft from the south
    # one: at (0, 36), 46 + 16 = 62 ft at right angles.
    kitchen, den = (make_room(code, name=code, zone=zone, pairs=1, x_m=x * FT, y_m=y * FT)
                    for code, zone, x, y in (("KIT", 1, 30, 20), ("DEN", 2, 10, 40)))
    job = closet(kitchen, den, beside="KIT", side="east", length_m=6 * FT, width_m=5 * FT)
    design, _ = designed(job, demo)
    found = of(design.shared, HeadEndPlace)[0]
    plans = {round(run.plan_m / FT, 2) for run in of(design.shared, CableRun)
             if run.room == "DEN" and run.start == "HE"}
    assert (found.on_plan, in_feet(found.plan_x_m, found.plan_y_m), plans) == (True, (46, 20), {62})


def test_a_typed_plan_position_stands(demo: Catalog) -> None:
    found = place_of(closet(beside="KIT", side="east", x_m=1.0, y_m=2.0), demo)
    assert (found.on_plan, found.plan_x_m, found.plan_y_m) == (True, 1.0, 2.0)


# ---------------------------------------------------------------- the racks

def test_a_rack_stands_before_the_cables_with_room_behind_it(demo: Catalog) -> None:
    # row HES-010: 24 in wide, 6 in behind it; its middle is 6 in and half its depth off the wall
    rack, = racks(closet(beside="KIT", side="east", length_m=8 * FT, width_m=5 * FT), demo)
    assert rack.deep_m == RACK_DEEP_M
    assert (rack.x_m, rack.y_m) == pytest.approx((8 * FT - 0.1524 - 0.3, 2.5 * FT), abs=1e-3)


@pytest.mark.parametrize("side", ["north", "east", "south", "west"])
def test_racks_stand_side_by_side_within_their_room(demo: Catalog, side: Any) -> None:
    job = closet(beside="KIT", side=side, length_m=3.0, width_m=3.0)
    place, = head_end_place(Brief(job, demo, "best", (), {}))[0]
    brief = Brief(job, demo, "best", (place,), {})
    found = [stand_of(brief, demo.racks["RK-42"], False, number, 3) for number in (1, 2, 3)]
    along = [rack.x_m if side in ("north", "south") else rack.y_m for rack in found]
    assert along == pytest.approx([1.5 - 0.6096, 1.5, 1.5 + 0.6096], abs=2e-3)  # 24 in each, about the middle


def test_a_closet_too_small_for_the_racks_warns_at_its_length(demo: Catalog) -> None:
    job = closet(length_m=5 * FT, width_m=4 * FT)
    job = replace(job, cells={**job.cells, "head_end_length_m": cell("Job", "B40")})
    problem, = [one for one in designed(job, demo)[1] if one.code == "head-end-too-small"]
    assert (problem.severity, problem.where.ref) == ("warning", "B40")
    assert "along the south wall of 'Closet'" in problem.message  # 6 in + 24 in + 36 in is more than 4 ft


def test_a_closet_of_unknown_size_warns_of_nothing(demo: Catalog) -> None:
    assert not [one for one in designed(closet(), demo)[1] if one.code == "head-end-too-small"]

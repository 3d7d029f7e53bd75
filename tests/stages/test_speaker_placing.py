"""Speakers clear of what is in the way, in line, where an estimator typed them; what does not fit is said."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.engineering.speaker_layout import spots
from quoting.engineering.speaker_placing import clear_of
from quoting.job import Job, Override
from quoting.sheets.obstacles import Obstacle, read_obstacles
from tests.builders import cell
from tests.demo_jobs import FT, house
from tests.stages.test_speaker_layout import IN, LIMITS, at, found_problem, placed, plain

# ---------------------------------------------------------------- obstacles

@pytest.mark.parametrize(("text", "positions", "unplaced"), [
    ("fan at 6,7", [("fan", 6, 7)], ()),
    ("fan at 6 ft, 7 ft; light at 3,4", [("fan", 6 * FT, 7 * FT), ("light", 3, 4)], ()),
    ("can lights at 3,4 and 5,6", [("can lights", 3, 4), ("can lights", 5, 6)], ()),
    ("Fan @ 6'6\" x 7'", [("Fan", 6.5 * FT, 7 * FT)], ()),
    ("pendant 2,5 x 3,1 m", [("pendant", 2.5, 3.1)], ()),
    ("fan at 6,7 ft", [("fan", 6 * FT, 7 * FT)], ()),
    ("duct; fan at 6,7", [("fan", 6, 7)], ("duct",)),
    ("4 lights", [], ("4 lights",)),
    ("none", [], ()),
    ("", [], ()),
])
def test_obstacles_are_read_as_people_type_them(
    text: str, positions: list[tuple[str, float, float]], unplaced: tuple[str, ...]
) -> None:
    found, words = read_obstacles(text, 1.0)
    assert [(one.name, one.x_m, one.y_m) for one in found] == [(a, pytest.approx(b), pytest.approx(c))
                                                              for a, b, c in positions]
    assert words == unplaced


@given(st.text(max_size=60))
def test_whatever_is_typed_as_obstacles_is_read_without_an_error(text: str) -> None:
    read_obstacles(text, FT)


@settings(max_examples=60)
@given(st.floats(12, 30), st.floats(12, 30), st.integers(1, 3), st.lists(
    st.tuples(st.floats(0, 1), st.floats(0, 1)), max_size=4), st.sampled_from([None, "along", "across"]))
def test_a_speaker_is_never_near_an_obstacle_without_a_warning(
    length_ft: float, width_ft: float, pairs: int, shares: list[tuple[float, float]], joists: Any
) -> None:
    room = plain(length_ft, width_ft, joists=joists, joist_spacing_m=16 * IN if joists else None)
    obstacles = [Obstacle("light", a * room.length_m, b * room.width_m) for a, b in shares]
    found, problems = clear_of(room, spots(room, pairs, False, LIMITS), obstacles, LIMITS)
    near = [one for one in found if any(math.hypot(one.x_m - o.x_m, one.y_m - o.y_m) < LIMITS.keep_clear_m - 2e-3
                                        for o in obstacles)]
    assert len(near) == len(problems)


def test_a_speaker_under_a_fan_moves_to_the_nearest_clear_spot(demo: Catalog) -> None:
    # the right speaker would be at 15 ft, 7.5 ft; a fan 1 ft west of it pushes it 2 ft east: 3 ft away
    places, problems = placed(house(plain(20, 15, obstacles="fan at 14,7.5")), demo)
    right = places[1]
    assert (right.x_m - 14 * FT) == pytest.approx(3 * FT, abs=3 * IN)
    assert right.y_m == pytest.approx(7.5 * FT, abs=1e-3) and right.moved_m == pytest.approx(2 * FT, abs=3 * IN)
    assert not [problem for problem in problems if problem.code == "no-clear-spot"]


def test_a_speaker_moves_in_bay_steps(demo: Catalog) -> None:
    room = plain(20, 15, joists="across", joist_spacing_m=16 * IN, obstacles="light at 15,7.5")
    places, _ = placed(house(room), demo)
    moved = places[1]
    assert moved.moved_m > 0
    steps = (moved.x_m / IN - 8) / 16
    assert steps == pytest.approx(round(steps), abs=0.01)
    assert moved.bay == f"centre of bay {round((moved.x_m / IN + 8) / 16)}"


def test_an_obstacle_without_a_position_warns_at_its_cell(demo: Catalog) -> None:
    problem, = found_problem(house(plain(obstacles="ceiling fan", cells=at("obstacles"))), demo,
                             "obstacle-without-position")
    assert (problem.severity, problem.where.ref) == ("warning", "K2") and "'ceiling fan'" in problem.message


def test_an_obstacle_outside_the_room_warns_at_its_cell(demo: Catalog) -> None:
    problem, = found_problem(house(plain(20, 15, obstacles="fan at 21,3", cells=at("obstacles"))), demo,
                             "obstacle-outside-room")
    assert (problem.severity, problem.where.ref) == ("warning", "K2") and "21'" in problem.message


def test_a_ceiling_full_of_lights_warns_that_no_spot_is_clear(demo: Catalog) -> None:
    lights = "; ".join(f"light at {x},{y}" for x in range(1, 16, 3) for y in range(1, 13, 3))
    found = found_problem(house(plain(16, 12, obstacles=lights, cells=at("obstacles"))), demo, "no-clear-spot")
    assert [(problem.severity, problem.where.ref) for problem in found] == [("warning", "K2")]
    assert found[0].message.endswith("1 more is like it.")  # a pair, and no spot for either


def test_lights_do_not_bind_speakers_on_a_wall(demo: Catalog) -> None:
    places, problems = placed(house(plain(16, 12, mount="wall", obstacles="light at 4,12; duct")), demo)
    assert [place.moved_m for place in places] == [0, 0]
    assert not [problem for problem in problems if "obstacle" in problem.code]


def test_metric_jobs_read_bare_numbers_as_metres(demo: Catalog) -> None:
    room = plain(20, 15, obstacles="fan at 4.5,2.3")
    places, _ = placed(house(room, unit_system="metric"), demo)
    assert places[1].moved_m > 0


def test_outdoor_speakers_too_far_apart_warn(demo: Catalog) -> None:
    # not over 20 to 30 ft apart (trade practice 2.3 G)
    patio = plain(140, 20, name="Terrace", kind="patio", setting="outdoor", mount="surface", pairs=2)
    problem, = found_problem(house(patio), demo, "speakers-far-apart")
    assert problem.severity == "warning" and "35'" in problem.message  # 140 ft / 4


def test_outdoor_speakers_that_are_counted_are_never_too_far_apart(demo: Catalog) -> None:
    walk = plain(200, 4, name="Terrace", kind="patio", setting="outdoor", mount="surface", pairs=None)
    places, problems = placed(house(walk), demo)
    # 800 sq ft, 300 a pair, long: four pairs; 25 ft apart
    assert len(places) == 8 and max(place.beside_m for place in places) <= 30 * FT
    assert not [problem for problem in problems if problem.code == "speakers-far-apart"]


def test_more_pairs_than_fit_are_placed_as_typed_and_warn(demo: Catalog) -> None:
    crowded, = found_problem(house(plain(10, 9.5, pairs=4, cells=at("pairs"))), demo, "speakers-crowded")
    assert (crowded.severity, crowded.where.ref) == ("warning", "K2") and "8 speakers do not fit" in crowded.message


def test_as_many_pairs_as_fit_do_not_warn(demo: Catalog) -> None:
    assert found_problem(house(plain(20, 15, pairs=4)), demo, "speakers-crowded") == []


# ---------------------------------------------------------------- in line, left and right

def test_a_fan_in_the_middle_moves_both_and_keeps_them_in_line(demo: Catalog) -> None:
    places, _ = placed(house(plain(10, 9.5, obstacles="fan at 5,4.75")), demo)
    assert places[0].y_m == places[1].y_m == pytest.approx(4.75 * FT, abs=1e-3)
    assert (places[0].moved_m, places[1].moved_m) == (pytest.approx(3 * IN, abs=1e-3), pytest.approx(3 * IN, abs=1e-3))


def test_where_one_of_a_line_must_leave_it_the_whole_line_goes(demo: Catalog) -> None:
    # ducts cross the left half in the middle of the room; the right speaker alone could stay
    places, _ = placed(house(plain(16, 12, obstacles="duct at 2,6; duct at 4,6; duct at 6,6")), demo)
    assert places[0].y_m == places[1].y_m != pytest.approx(6 * FT, abs=IN)
    assert places[1].moved_m > 0


@settings(max_examples=60, deadline=None)
@given(st.floats(12, 30), st.floats(12, 30), st.lists(st.tuples(st.floats(0, 1), st.floats(0, 1)), max_size=5))
def test_left_stays_left_of_right_whatever_is_in_the_way(
    length_ft: float, width_ft: float, shares: list[tuple[float, float]]
) -> None:
    room = plain(length_ft, width_ft)
    obstacles = [Obstacle("light", a * room.length_m, b * room.width_m) for a, b in shares]
    (left, right), _ = clear_of(room, spots(room, 1, False, LIMITS), obstacles, LIMITS)
    assert left.x_m < right.x_m if room.length_m >= room.width_m else left.y_m < right.y_m


# ---------------------------------------------------------------- what was typed

def typed(value: str, **changes: Any) -> Job:
    override = Override(id="KIT-S1", what="position", value=value, reason="seen on site", who="R. Estimator",
                        where=cell("Overrides", "C2"))
    return replace(house(plain(20, 15, **changes)), overrides=(override,))


def test_a_typed_position_wins(demo: Catalog) -> None:
    places, problems = placed(typed("6, 5"), demo)
    assert (places[0].x_m, places[0].y_m) == (pytest.approx(6 * FT, abs=1e-3), pytest.approx(5 * FT, abs=1e-3))
    assert places[1].moved_m == 0 and cell("Overrides", "C2") in places[0].where
    assert not [problem for problem in problems if problem.where.sheet == "Overrides"]


@pytest.mark.parametrize(("value", "changes", "said"), [
    ("1, 5", {}, "nearer to a wall than"),
    ("6, 5", {"obstacles": "fan at 7,6"}, "nearer than 3' to 'fan'"),
    ("7, 5", {"joists": "across", "joist_spacing_m": 16 * IN}, "not in the middle of a joist bay"),
])
def test_a_typed_position_that_misses_the_standard_stays_and_warns(
    demo: Catalog, value: str, changes: dict[str, Any], said: str
) -> None:
    job = typed(value, **changes)
    problem, = found_problem(job, demo, "position-misses-standard")
    assert (problem.severity, problem.where.ref) == ("warning", "C2") and said in problem.message
    assert placed(job, demo)[0][0].x_m == pytest.approx(float(value.split(",")[0]) * FT, abs=1e-3)


def test_a_typed_position_in_a_bay_names_it(demo: Catalog) -> None:
    # middles of 16 in bays: 8, 24, 40, 56, 72 in = 6 ft
    places, _ = placed(typed("6, 5", joists="across", joist_spacing_m=16 * IN), demo)
    assert places[0].bay == "centre of bay 5"


def test_a_typed_position_off_the_middle_of_a_bay_names_none(demo: Catalog) -> None:
    places, _ = placed(typed("7, 5", joists="across", joist_spacing_m=16 * IN), demo)
    assert places[0].bay == ""


@pytest.mark.parametrize("value", ["by the window", "6", "21, 5", "6, 16", "6,5; 7,5"])
def test_what_is_no_position_in_the_room_stops_at_the_override(demo: Catalog, value: str) -> None:
    problem, = found_problem(typed(value), demo, "not-a-position")
    assert (problem.severity, problem.where.ref) == ("stop", "C2") and f"'{value}'" in problem.message

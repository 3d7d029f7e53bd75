"""Where loudspeakers go: spacing, walls, joist bays, obstacles; each check provoked at its cell."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.catalog.records import Catalog
from quoting.engineering.design import design_system
from quoting.engineering.speaker_layout import Limits, Spot, spots
from quoting.engineering.speaker_placing import clear_of
from quoting.facts import Place, RoomUse, Speaker, of
from quoting.job import Job, Room
from quoting.problems import Problem
from quoting.sheets.obstacles import Obstacle, read_obstacles
from tests.builders import cell, make_room
from tests.demo_jobs import FT, house, make_zone

IN = FT / 12
# 6 to 10 ft apart, 18 in from walls, 3 ft from lights: trade practice 2.4 (published placement advice).
LIMITS = Limits(off_wall_m=18 * IN, pair_least_m=6 * FT, pair_most_m=10 * FT, farthest_m=0.0, keep_clear_m=3 * FT,
                nearest_m=3 * FT)
OUTSIDE = Limits(off_wall_m=18 * IN, pair_least_m=10 * FT, pair_most_m=12 * FT, farthest_m=30 * FT,
                 keep_clear_m=3 * FT, nearest_m=3 * FT)


def plain(length_ft: float = 20, width_ft: float = 15, **changes: Any) -> Room:
    """A room whose joists nobody typed."""
    values: dict[str, Any] = {"length_m": length_ft * FT, "width_m": width_ft * FT, "joists": None,
                              "joist_spacing_m": None, "pairs": 1}
    return make_room(**{**values, **changes})


def feet(found: list[Spot]) -> list[tuple[float, float, str]]:
    return [(round(one.x_m / FT, 1), round(one.y_m / FT, 1), one.side) for one in found]


def placed(job: Job, demo: Catalog) -> tuple[list[Place], tuple[Problem, ...]]:
    design, problems = design_system(job, demo)
    assert design is not None, "\n".join(str(problem) for problem in problems)
    return [place for place in of(design.shared, Place) if place.device == "speaker"], problems


def found_problem(job: Job, demo: Catalog, code: str) -> list[Problem]:
    return [problem for problem in design_system(job, demo)[1] if problem.code == code]


def at(*attributes: str) -> dict[str, Any]:
    """A cell for each attribute, in a column of its own."""
    return {"": cell("Rooms", "A2"), **{name: cell("Rooms", f"{chr(75 + n)}2") for n, name in enumerate(attributes)}}


# ---------------------------------------------------------------- pairs

def test_a_pair_stands_along_the_longer_side_half_of_it_apart() -> None:
    # 25 % in from each side wall is an often used mark for a pair (trade practice 2.4)
    assert feet(spots(plain(16, 12), 1, False, LIMITS)) == [(4, 6, "L"), (12, 6, "R")]


def test_a_pair_in_a_long_room_stays_within_ten_feet() -> None:
    assert feet(spots(plain(30, 14), 1, False, LIMITS)) == [(10, 7, "L"), (20, 7, "R")]


def test_a_pair_in_a_small_room_is_six_feet_apart() -> None:
    assert feet(spots(plain(10, 9.5), 1, False, LIMITS)) == [(2, 4.8, "L"), (8, 4.8, "R")]


def test_a_pair_in_a_tiny_room_keeps_off_the_walls_rather() -> None:
    assert feet(spots(plain(8, 7), 1, False, LIMITS)) == [(1.5, 3.5, "L"), (6.5, 3.5, "R")]


def test_a_room_wider_than_long_lays_its_pair_across() -> None:
    assert feet(spots(plain(12, 16), 1, False, LIMITS)) == [(6, 4, "L"), (6, 12, "R")]


def test_two_pairs_stand_in_a_grid_with_left_and_right_by_turns() -> None:
    sides = {(x, y): side for x, y, side in feet(spots(plain(20, 18), 2, False, LIMITS))}
    assert sides == {(5, 4.5): "L", (5, 13.5): "R", (15, 4.5): "R", (15, 13.5): "L"}


def test_a_smaller_option_takes_the_pair_nearest_to_the_middle() -> None:
    left, right = spots(plain(45, 15), 3, False, LIMITS)[:2]
    assert (left.x_m + right.x_m) / 2 / FT == pytest.approx(22.5, abs=0.01)


def test_a_corridor_has_its_single_stereo_speakers_down_the_middle() -> None:
    assert feet(spots(plain(30, 5), 2, True, LIMITS)) == [(7.5, 2.5, "both"), (22.5, 2.5, "both")]


def test_wall_pairs_face_each_other_on_the_longer_walls() -> None:
    # facing north, west is left; facing south, east is left
    assert feet(spots(plain(20, 14, mount="wall"), 2, False, LIMITS)) == [
        (5, 14, "L"), (15, 14, "R"), (15, 0, "L"), (5, 0, "R")]


def test_outdoor_speakers_under_an_eave_alternate_along_the_house() -> None:
    patio = plain(48, 16, mount="surface", setting="outdoor")
    # 10 to 12 ft ideal (trade practice 2.3 G)
    assert feet(spots(patio, 2, False, OUTSIDE)) == [(6, 16, "L"), (18, 16, "R"), (30, 16, "L"), (42, 16, "R")]


def test_a_lone_outdoor_pair_is_ten_to_twelve_feet_apart() -> None:
    patio = plain(40, 16, mount="surface", setting="outdoor")
    left, right = spots(patio, 1, False, OUTSIDE)
    assert 10 <= round((right.x_m - left.x_m) / FT, 2) <= 12


rooms = st.builds(lambda length, width, mount: plain(length, width, mount=mount), st.floats(6, 60), st.floats(6, 60),
                  st.sampled_from(["ceiling", "wall", "surface"]))


@given(rooms, st.integers(1, 8))
def test_every_speaker_is_inside_its_room(room: Room, pairs: int) -> None:
    for one in spots(room, pairs, False, LIMITS):
        assert 0 <= one.x_m <= room.length_m + 1e-3 and 0 <= one.y_m <= room.width_m + 1e-3


@given(rooms, st.integers(1, 8))
def test_there_are_as_many_left_as_right(room: Room, pairs: int) -> None:
    sides = [one.side for one in spots(room, pairs, False, LIMITS)]
    assert (sides.count("L"), sides.count("R")) == (pairs, pairs)


@given(st.floats(12, 60), st.floats(12, 60), st.integers(1, 4))
def test_ceiling_speakers_keep_off_the_walls(length_ft: float, width_ft: float, pairs: int) -> None:
    room = plain(length_ft, width_ft)
    for one in spots(room, pairs, False, LIMITS):
        assert min(one.x_m, one.y_m, room.length_m - one.x_m, room.width_m - one.y_m) >= LIMITS.off_wall_m - 2e-3


@given(st.floats(6, 60), st.floats(6, 60), st.integers(1, 8))
def test_ceiling_speakers_are_symmetric_to_the_room(length_ft: float, width_ft: float, pairs: int) -> None:
    room = plain(length_ft, width_ft)
    found = [(one.x_m, one.y_m) for one in spots(room, pairs, False, LIMITS)]
    for x, y in found:
        assert any(math.hypot(room.length_m - x - a, room.width_m - y - b) < 5e-3 for a, b in found)


@given(st.floats(6, 60), st.floats(6, 60), st.integers(1, 8))
def test_ceiling_speakers_stand_in_line_with_each_other(length_ft: float, width_ft: float, pairs: int) -> None:
    found = spots(plain(length_ft, width_ft), pairs, False, LIMITS)
    assert len({one.x_m for one in found}) * len({one.y_m for one in found}) == len(found)


# ---------------------------------------------------------------- joist bays

@given(st.floats(8, 40), st.floats(8, 40), st.sampled_from([12, 16, 19.2, 24]), st.sampled_from(["along", "across"]),
       st.integers(1, 5))
def test_a_ceiling_speaker_stands_in_the_middle_of_its_bay(
    length_ft: float, width_ft: float, spacing_in: float, joists: Any, pairs: int
) -> None:
    spacing = spacing_in * IN
    for one in spots(plain(length_ft, width_ft, joists=joists, joist_spacing_m=spacing), pairs, False, LIMITS):
        at_m = one.x_m if joists == "across" else one.y_m
        assert at_m == pytest.approx((one.bay - 0.5) * spacing, abs=1e-3)


def test_joists_across_the_length_are_stepped_along_it() -> None:
    # 20 ft, joists every 16 in: bays of 16 in, middles at 8, 24, 40, 56 in ...; nearest to 60 in is 56 (bay 4), and
    # from the other wall just so: 20 ft - 56 in = 184 in (bay 12)
    found = spots(plain(20, 15, joists="across", joist_spacing_m=16 * IN), 1, False, LIMITS)
    assert [(round(one.x_m / IN), one.bay) for one in found] == [(56, 4), (184, 12)]


def test_joists_along_the_length_move_the_whole_line_to_one_bay() -> None:
    # 15 ft wide, its middle at 90 in: middles at 88 (bay 6) and 104; nearest is 88
    found = spots(plain(20, 15, joists="along", joist_spacing_m=16 * IN), 1, False, LIMITS)
    assert [(round(one.y_m / IN), one.bay) for one in found] == [(88, 6), (88, 6)]


def test_a_place_says_its_bay(demo: Catalog) -> None:
    places, _ = placed(house(plain(20, 15, joists="across", joist_spacing_m=16 * IN)), demo)
    assert [place.bay for place in places] == ["centre of bay 4", "centre of bay 12"]


def test_a_wall_speaker_knows_no_joist_bay(demo: Catalog) -> None:
    places, _ = placed(house(make_room(pairs=1, mount="wall")), demo)
    assert [place.bay for place in places] == ["", ""]


# ---------------------------------------------------------------- what fits

def test_a_cut_out_that_does_not_fit_between_joists_stops_at_the_spacing(demo: Catalog) -> None:
    # 8 in model: cut-out 252 mm = 9.92 in, and 1 in on each side = 11.92 in; joists 12 in leave 10.5 in
    room = plain(22, 18, joists="across", joist_spacing_m=12 * IN, cells=at("joist_spacing_m"))
    problem, *_ = found_problem(house(room), demo, "cut-out-over-bay")
    assert (problem.severity, problem.where.ref) == ("stop", "K2")
    assert "11.92 in" in problem.message and "10.5 in" in problem.message


def test_sixteen_inch_joists_take_every_round_model_of_the_catalogue(demo: Catalog) -> None:
    # a 10 in cut-out needs a clear bay of 14.5 in (trade practice 2.4)
    assert found_problem(house(plain(22, 18, joists="across", joist_spacing_m=16 * IN)), demo, "cut-out-over-bay") == []


def test_owned_speakers_are_in_the_ceiling_already(demo: Catalog) -> None:
    room = plain(22, 18, joists="across", joist_spacing_m=12 * IN, reuse_speakers=True)
    assert found_problem(house(room), demo, "cut-out-over-bay") == []


def deep(demo: Catalog, depth_mm: float) -> Catalog:
    return replace(demo, speakers={name: replace(spec, depth_mm=depth_mm) if spec.mount == "wall" else spec
                                   for name, spec in demo.speakers.items()})


@pytest.mark.parametrize(("depth_in", "stops"), [(3.25, False), (3.5, True)])
def test_a_wall_speaker_deeper_than_the_stud_bay_stops_at_the_mount(
    demo: Catalog, depth_in: float, stops: bool
) -> None:
    # a 3.5 in stud bay has about 3.25 in of usable depth (trade practice 2.1)
    room = plain(16, 12, mount="wall", cells=at("mount"))
    found = found_problem(house(room), deep(demo, depth_in * 25.4), "depth-over-cavity")
    assert [(one.severity, one.where.ref) for one in found[:1]] == ([("stop", "K2")] if stops else [])


def test_a_masonry_wall_has_no_stud_bay_to_measure(demo: Catalog) -> None:
    room = plain(16, 12, mount="wall", construction="masonry")
    assert found_problem(house(room), deep(demo, 100), "depth-over-cavity") == []


def test_a_surface_model_on_a_wall_that_may_get_wet_needs_no_stud_bay(demo: Catalog) -> None:
    assert found_problem(house(plain(16, 12, mount="wall", setting="damp")), demo, "depth-over-cavity") == []


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


# ---------------------------------------------------------------- which model, how many

def role(demo: Catalog, **changes: Any) -> str:
    design, problems = design_system(house(plain(**changes)), demo)
    assert design is not None, problems
    return of(design.options[-1].facts, Speaker)[0].role


@pytest.mark.parametrize(("low_ft", "high_ft", "wanted"), [
    (9, 9, "ceiling speaker"),
    (12, 12, "large ceiling speaker"),  # 8 in from 12 ft ceilings (trade practice 2.3)
    (11.9, 11.9, "ceiling speaker"),
    (13, 13, "large angled ceiling speaker"),  # angled over 12 ft (trade practice 2.2), still 8 in
    (9, 12, "angled ceiling speaker"),  # and on slopes: 3 ft up to a ridge over the middle of 15 ft is 21.8 degrees
    (9, 10.9, "ceiling speaker"),  # 14.2 degrees: about 15 are allowed (trade practice 2.2)
    (9, 11.1, "angled ceiling speaker"),  # 15.6 degrees
    (9, 16, "large angled ceiling speaker"),  # they hang at 12.5 ft
])
def test_high_and_sloped_ceilings_take_other_models(demo: Catalog, low_ft: float, high_ft: float, wanted: str) -> None:
    assert role(demo, ceiling_height_m=low_ft * FT, ceiling_high_m=high_ft * FT) == wanted


def uses(job: Job, demo: Catalog) -> RoomUse:
    design, problems = design_system(job, demo)
    assert design is not None, problems
    return next(use for use in of(design.options[-1].facts, RoomUse))


@pytest.mark.parametrize(("length_ft", "width_ft", "pairs"), [
    (14, 6.5, 1),  # 91 sq ft, 2.15 : 1: no further pair up to 150 sq ft
    (24, 10, 2),  # 240 sq ft, 2.4 : 1: one for the area and one for the length
    (15, 12, 1),
])
def test_a_long_room_gets_a_further_pair_only_from_150_square_feet(
    demo: Catalog, length_ft: float, width_ft: float, pairs: int
) -> None:
    assert uses(house(plain(length_ft, width_ft, pairs=None)), demo).pairs == pairs


def test_a_long_corridor_gets_several_single_stereo_speakers(demo: Catalog) -> None:
    use = uses(house(plain(40, 5, pairs=None, kind="hall")), demo)
    assert (use.single_stereo, use.speakers) == (True, 3)  # one every 15 ft (starting value)


def test_a_mono_zone_is_counted_by_its_overlap_pattern(demo: Catalog) -> None:
    # 90 to 110 degrees: edge-to-edge circles at 9 ft ceilings. D = 2 (2.743 - 1.2) tan 55 = 4.41 m (best: CS65-30 has
    # 110 degrees): 6.1 m / 4.41 -> 2, 4.57 m / 4.41 -> 2: four speakers
    job = replace(house(plain(20, 15, pairs=None)), zones=(make_zone(1, mono=True),))
    use = uses(job, demo)
    assert (use.pattern, use.pattern_speakers, use.speakers) == ("edge-to-edge", 4, 4)
    assert use.coverage_diameter_m == pytest.approx(4.41, abs=0.01)


def test_a_stereo_room_is_told_of_its_pattern_and_counted_by_the_standard(demo: Catalog) -> None:
    # 300 sq ft background: one pair (trade practice 2.3); minimum overlap 4.41 / sqrt 2 = 3.12 m -> 2 x 2
    use = uses(house(plain(20, 15, pairs=None)), demo)
    assert (use.pattern, use.pattern_speakers, use.speakers) == ("minimum", 4, 2)


def test_typed_pairs_win_in_a_mono_zone_too_and_warn(demo: Catalog) -> None:
    job = replace(house(plain(20, 15, pairs=1)), zones=(make_zone(1, mono=True),))
    assert uses(job, demo).speakers == 2
    problem, = found_problem(job, demo, "fewer-pairs-than-standard")
    assert "edge-to-edge" in problem.message

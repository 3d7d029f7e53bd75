"""Where loudspeakers go: spacing, walls, joist bays, obstacles; each check provoked at its cell."""

from __future__ import annotations

import math
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.engineering.design import design_system
from quoting.engineering.speaker_layout import Limits, Spot, spots
from quoting.facts import Place, of
from quoting.job import Job, Room
from quoting.problems import Problem
from tests.builders import cell, make_room
from tests.demo_jobs import FT, house

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


# ---------------------------------------------------------------- which ones a smaller option equips

def test_of_three_in_a_corridor_a_smaller_option_takes_the_outer_two() -> None:
    found = spots(plain(45, 5), 3, True, LIMITS, smaller=(2,))
    assert feet(found[:2]) == [(7.5, 2.5, "both"), (37.5, 2.5, "both")]


def test_of_three_pairs_along_a_house_a_smaller_option_takes_the_middle_one() -> None:
    patio = plain(72, 16, mount="surface", setting="outdoor")
    assert feet(spots(patio, 3, False, OUTSIDE, smaller=(1, 3))[:2]) == [(30, 16, "L"), (42, 16, "R")]


@given(rooms, st.integers(1, 6), st.sets(st.integers(1, 6), max_size=3), st.booleans())
def test_smaller_options_change_the_order_of_the_spots_and_nothing_else(
    room: Room, pairs: int, smaller: set[int], single: bool
) -> None:
    plainly = spots(room, pairs, single, LIMITS)
    assert set(spots(room, pairs, single, LIMITS, smaller)) == set(plainly)


@settings(deadline=None)
@given(st.floats(10, 40), st.floats(10, 40), st.sampled_from([12, 16, 19.2, 24]), st.sampled_from(["along", "across"]),
       st.integers(1, 4))
def test_no_two_speakers_end_up_in_one_place(
    length_ft: float, width_ft: float, spacing_in: float, joists: Any, pairs: int
) -> None:
    found = spots(plain(length_ft, width_ft, joists=joists, joist_spacing_m=spacing_in * IN), pairs, False, LIMITS)
    assert len({(one.x_m, one.y_m) for one in found}) == 2 * pairs


@pytest.mark.parametrize(("joists", "spacing_in"), [("across", 16), ("across", 24), ("along", 16), ("along", 24)])
def test_both_of_a_pair_move_to_bays_and_stay_in_line(joists: Any, spacing_in: float) -> None:
    left, right = spots(plain(20, 15, joists=joists, joist_spacing_m=spacing_in * IN), 1, False, LIMITS)
    assert left.y_m == right.y_m and left.x_m < right.x_m


@settings(max_examples=12, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.permutations(range(4)))
def test_the_order_of_the_rows_changes_no_place(demo: Catalog, order: list[int]) -> None:
    made = (plain(20, 15, code="KIT"), plain(40, 5, code="HALL", name="Hall", kind="hall", zone=2, pairs=None),
            plain(30, 14, code="DEN", name="Den", zone=3, pairs=None, obstacles="fan at 10,7"),
            plain(16, 12, code="LIB", name="Library", zone=4, mount="wall"))
    jobs = [house(*made), replace(house(*made), rooms=tuple(made[index] for index in order))]
    first, second = ({place.id: (place.x_m, place.y_m, place.side) for place in placed(job, demo)[0]} for job in jobs)
    assert first == second


def test_an_l_shaped_room_is_two_rooms_of_one_zone(demo: Catalog) -> None:
    long, short = plain(24, 12, pairs=None), plain(10, 10, code="NOOK", name="Nook", pairs=None)
    places, _ = placed(house(long, short), demo)
    assert {place.room for place in places} == {"KIT", "NOOK"} and {place.zone for place in places} == {1}

"""Where controls, player sockets and television plates hang: by the standard, clear of each other, as typed."""

from __future__ import annotations

import math
from itertools import combinations
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.engineering.brief import Brief
from quoting.engineering.design import design_system
from quoting.engineering.speaker_layout import limits_of, spots
from quoting.engineering.wall_places import LETTERS, wall_spots
from quoting.facts import CableRun, Place, of
from quoting.job import Job, Override, Room
from quoting.problems import Problem
from tests.builders import cell, make_room
from tests.demo_jobs import FT, house
from tests.stages.test_speaker_layout import plain

FULL: dict[str, Any] = {"second_control": True, "room_input": True, "tv": True}


def brief_of(demo: Catalog, job: Job) -> Brief:
    return Brief(job, demo, demo.options[-1], (), {})


def typed(**positions: str) -> tuple[Override, ...]:
    return tuple(Override(id=f"KIT-{name}", what="position", value=value, reason="seen on site", who="R. Estimator",
                          where=cell("Overrides", f"C{row}")) for row, (name, value) in enumerate(positions.items(), 2))


def design(demo: Catalog, room: Room, *overrides: Override) -> tuple[dict[str, tuple[float, float]], list[Problem]]:
    """Places in feet from the west and the south wall, and the problems of the overrides."""
    made, problems = design_system(replace(house(room), overrides=overrides), demo)
    places = of(made.shared, Place) if made is not None else ()
    return ({place.id.removeprefix("KIT-"): (round(place.x_m / FT, 2), round(place.y_m / FT, 2)) for place in places},
            [problem for problem in problems if problem.where.sheet == "Overrides"])


# ---------------------------------------------------------------- by the standard

@pytest.mark.parametrize(("length_ft", "width_ft", "wanted"), [
    # People face the north wall: television in its middle, input 2 ft to the right, controls 3.5 ft from the back
    # (common practice, no source: rows WPL-010 to WPL-050, worked on paper)
    (20, 15, {"T1": (10, 15), "I1": (12, 15), "K1": (0, 3.5), "K2": (20, 3.5)}),
    # a room wider than long is turned: they face the west wall, with the south wall to their left
    (15, 20, {"T1": (0, 10), "I1": (0, 12), "K1": (11.5, 0), "K2": (11.5, 20)}),
])
def test_devices_hang_where_the_standard_says(
    demo: Catalog, length_ft: float, width_ft: float, wanted: dict[str, tuple[float, float]]
) -> None:
    places, _ = design(demo, plain(length_ft, width_ft, **FULL))
    assert {name: at for name, at in places.items() if name in wanted} == wanted


@pytest.mark.parametrize("mount", ["ceiling", "wall"])
def test_left_and_right_are_as_seen_facing_the_television(demo: Catalog, mount: Any) -> None:
    places, _ = design(demo, plain(20, 15, tv=True, mount=mount))
    assert places["S1"][0] < places["T1"][0] < places["S2"][0]  # north in front of you: west is left


def test_outdoors_everything_hangs_on_the_house_wall(demo: Catalog) -> None:
    patio = plain(20, 15, setting="outdoor", mount="surface", **FULL)
    found, _ = wall_spots(brief_of(demo, house(patio)), patio, tuple(LETTERS), [])
    assert {round(spot.y_m / FT, 2) for spot in found.values()} == {15}


@settings(max_examples=150, deadline=None)
@given(st.floats(0.5, 15), st.floats(0.5, 15), st.integers(0, 12), st.sampled_from(["wall", "surface", "ceiling"]),
       st.booleans())
def test_no_two_things_on_the_walls_of_a_room_coincide(
    demo: Catalog, length_m: float, width_m: float, pairs: int, mount: Any, outdoors: bool
) -> None:
    room = make_room(length_m=length_m, width_m=width_m, mount=mount, setting="outdoor" if outdoors else "dry",
                     joists=None, joist_spacing_m=None, **FULL)
    brief = brief_of(demo, house(room))
    speakers = [] if mount == "ceiling" else spots(room, pairs, False, limits_of(brief, room)[0])
    hung = [(f"KIT-S{number}", (spot.x_m, spot.y_m)) for number, spot in enumerate(speakers, 1)]
    found, problems = wall_spots(brief, room, tuple(LETTERS), hung)
    devices = [(spot.x_m, spot.y_m) for spot in found.values()]
    nearest = min(math.dist(one, other) for one, other in
                  [*combinations(devices, 2), *((one, at) for one in devices for _, at in hung)])
    walls = [min(x, y, abs(room.length_m - x), abs(room.width_m - y)) for x, y in devices]

    assert problems == [] and max(walls) < 2e-3  # each on a wall
    assert nearest > (0.3 if min(length_m, width_m) > 4 and pairs < 3 else 0.005)  # 1 ft where there is room


# ---------------------------------------------------------------- what was typed

def test_a_typed_position_stands_and_the_others_keep_clear_of_it(demo: Catalog) -> None:
    places, problems = design(demo, plain(20, 15, **FULL), *typed(I1="10, 15"))
    assert places["I1"] == (10, 15) and problems == []
    assert abs(places["T1"][0] - 10) >= 1


@pytest.mark.parametrize(("positions", "ref", "said"), [
    ({"K1": "0, 6", "I1": "0, 6.5"}, "C2", "'0, 6' puts KIT-K1 nearer than 1' to KIT-I1."),
    ({"K1": "5, 6"}, "C2", "'5, 6' puts KIT-K1 on no wall of 'Kitchen'."),
])
def test_a_typed_position_that_cannot_hang_well_warns_at_its_cell(
    demo: Catalog, positions: dict[str, str], ref: str, said: str
) -> None:
    problem, = design(demo, plain(20, 15, **FULL), *typed(**positions))[1]
    assert (problem.severity, problem.where.ref, problem.message) == ("warning", ref, said)


def test_a_typed_position_beside_a_wall_loudspeaker_warns(demo: Catalog) -> None:
    places, _ = design(demo, plain(20, 15, mount="wall"))
    x, y = places["S1"]
    problem, = design(demo, plain(20, 15, mount="wall"), *typed(K1=f"{x + 0.5}, {y}"))[1]
    assert problem.code == "places-collide" and problem.message.endswith("to KIT-S1.")


def test_what_is_no_position_on_a_wall_stops(demo: Catalog) -> None:
    problem, = design(demo, plain(20, 15), *typed(K1="by the door"))[1]
    assert (problem.severity, problem.code) == ("stop", "not-a-position")


# ---------------------------------------------------------------- how long its cable is

def test_a_measured_run_counts_the_height_of_its_own_end(demo: Catalog) -> None:
    # Measured 40 ft to the control, on the west wall 3.5 ft from the south one, 4 ft over the floor. The television
    # plate hangs at 5 ft, 1 ft less of drop, in the middle of the north wall: 10 + 11.5 ft on from the control, x 1.1;
    # the input at 1 ft, 3 ft more, 2 ft right of it: 12 + 11.5 (heights: a training page, and starting values).
    room = plain(20, 15, measured_m=40 * FT, **FULL)
    made, _ = design_system(house(room), demo)
    assert made is not None
    way = {run.end.removeprefix("KIT-"): round((run.planned_m - run.slack_m) / FT, 2)
           for run in of(made.shared, CableRun) if run.start == "HE"}
    assert (way["K1"], way["T1"], way["I1"]) == (40, 62.65, 68.85)  # 40 + 23.65 - 1, 40 + 25.85 + 3

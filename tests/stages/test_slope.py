"""Ceilings that slope: which wall is low, how high each loudspeaker hangs, how long its cable is."""

from __future__ import annotations

import math
from typing import Any

import pytest
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.engineering.design import design_system
from quoting.engineering.slope import ceiling_at_m, steepest_deg
from quoting.facts import CableRun, Design, Place, Pull, RoomUse, of
from quoting.job import Job, Override
from tests.builders import cell, make_room
from tests.demo_jobs import FT, house


def vault(low_wall: Any = None, **changes: Any) -> Job:
    """A room of 20 by 16 ft whose ceiling rises from 8 to 16 ft; one pair along its middle, 5 and 15 ft from west."""
    room = make_room(length_m=20 * FT, width_m=16 * FT, ceiling_height_m=8 * FT, ceiling_high_m=16 * FT, joists=None,
                     joist_spacing_m=None, pairs=1, low_wall=low_wall, **changes)
    return house(room)


def designed(job: Job, demo: Catalog) -> Design:
    design, problems = design_system(job, demo)
    assert design is not None, "\n".join(str(problem) for problem in problems)
    return design


def heights_ft(job: Job, demo: Catalog) -> list[float]:
    places = of(designed(job, demo).shared, Place)
    return [round(place.height_m / FT, 2) for place in places if place.device == "speaker"]


@pytest.mark.parametrize(("low", "heights"), [
    # 8 ft of rise over 20 ft: at 5 and 15 ft from the low wall 8 + 2 and 8 + 6 ft; across 16 ft, at 8 ft: 8 + 4
    ("west", [10, 14]), ("east", [14, 10]), ("south", [12, 12]), ("north", [12, 12]), (None, [12, 12])])
def test_each_loudspeaker_hangs_as_high_as_the_ceiling_over_it(demo: Catalog, low: Any, heights: list[float]) -> None:
    assert heights_ft(vault(low), demo) == heights


def test_a_typed_position_changes_the_height(demo: Catalog) -> None:
    moved = Override(id="KIT-S1", what="position", value="5, 4", reason="seen", who="R. Estimator",
                     where=cell("Overrides", "C2"))
    assert heights_ft(replace(vault("south"), overrides=(moved,)), demo) == [10, 12]  # 4 of 16 ft: a quarter of 8 ft


def test_a_cable_climbs_to_its_own_loudspeaker(demo: Catalog) -> None:
    runs = of(designed(vault("west"), demo).shared, CableRun)
    climbs = {run.end: run.vertical_m for run in runs if run.purpose == "speaker leg"}
    assert climbs["KIT-S2"] - climbs["KIT-S1"] == pytest.approx(4 * FT, abs=2e-3)  # 14 ft against 10 ft


# The vault rises from 8 ft over its south wall to 16 ft over its north one, 16 ft off. The control hangs 4 ft up on the
# west wall, 3.5 ft from the south one: the ceiling over it is 8 + 8 x 3.5 / 16 = 9.75 ft. The plate behind the screen
# hangs 5 ft up under 16 ft.
def test_on_to_a_plate_under_the_high_side_a_cable_climbs_the_slope_and_drops_from_there(demo: Catalog) -> None:
    runs = of(designed(vault("south", tv=True, measured_m=30 * FT), demo).shared, CableRun)
    beyond = next(run for run in runs if run.end == "KIT-T1")
    # to the control 9.75 - 4 = 5.75 ft down, measured; on 16 - 9.75 = 6.25 ft up and 16 - 5 = 11 ft down
    assert beyond.vertical_m == pytest.approx((6.25 + 11 - 5.75) * FT, abs=2e-3)


def test_from_elsewhere_a_cable_climbs_to_the_ceiling_over_its_device(demo: Catalog) -> None:
    runs = of(designed(vault("south", tv=True), demo).shared, CableRun)
    ways = {run.end: run.vertical_m for run in runs if run.start == "HE"}
    # both from the low side: up 16 - 8 and down 16 - 5 = 19 ft; up 9.75 - 8 and down 9.75 - 4 = 7.5 ft
    assert ways["KIT-T1"] - ways["KIT-K1"] == pytest.approx((19 - 7.5) * FT, abs=2e-3)


def test_a_chase_comes_down_from_the_ceiling_over_its_box(demo: Catalog) -> None:
    design = designed(vault("south", construction="masonry"), demo)
    chased = {pull.id: pull.chase_m for pull in of(design.shared, Pull)}
    assert chased["KIT-P1"] == pytest.approx((9.75 - 4) * FT, abs=2e-3)


def test_between_two_loudspeakers_under_one_height_nothing_is_climbed(demo: Catalog) -> None:
    runs = of(designed(replace(vault("south", control="phone"), topology="direct"), demo).shared, CableRun)
    on = next(run for run in runs if run.start == "KIT-S1")
    assert on.vertical_m == pytest.approx((0.5 + 0.5) * FT, abs=2e-3)  # half a foot of drop at each (device_height.csv)


def test_a_slope_whose_low_wall_nobody_typed_rises_from_the_back_wall(demo: Catalog) -> None:
    use = of(designed(vault(), demo).options[0].facts, RoomUse)[0]
    assert (use.low_wall, use.low_wall_said) == ("south", False)  # row LOW-010: people face north, 20 ft is longer
    assert any(row.startswith("low_wall LOW-010") for row in use.decided)


def test_a_flat_ceiling_has_no_low_wall(demo: Catalog) -> None:
    assert of(designed(house(make_room()), demo).options[0].facts, RoomUse)[0].low_wall == ""


@pytest.mark.parametrize("low", ["north", "east", "south", "west"])
def test_the_ceiling_is_low_at_its_low_wall_and_high_across(low: Any) -> None:
    room = vault(low).rooms[0]
    middles = {"west": (0.0, 8 * FT), "east": (20 * FT, 8 * FT), "south": (10 * FT, 0.0), "north": (10 * FT, 16 * FT)}
    across = {"west": "east", "east": "west", "south": "north", "north": "south"}[low]
    assert ceiling_at_m(room, low, *middles[low]) == pytest.approx(8 * FT, abs=1e-4)
    assert ceiling_at_m(room, low, *middles[across]) == pytest.approx(16 * FT, abs=1e-4)


@pytest.mark.parametrize(("low", "run_ft"), [("west", 20), ("south", 16), (None, 8)])
def test_a_typed_low_wall_says_how_steep_the_ceiling_is(low: Any, run_ft: float) -> None:
    # slope = arctangent of rise over run; untyped, up to a ridge over the middle of the shorter side
    assert steepest_deg(vault(low).rooms[0]) == pytest.approx(math.degrees(math.atan(8 / run_ft)), abs=1e-3)

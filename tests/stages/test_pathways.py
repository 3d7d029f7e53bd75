"""Conduits for later cables, and how far audio cable keeps from mains in each regime."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.engineering.design import design_system
from quoting.facts import CableRun, Conduit, Design, HouseExit, Place, Separation, of
from quoting.intake.read import read_job
from quoting.job import FloorPlan, Job
from quoting.rules.apply import apply_rules
from quoting.rules.book import RuleBook
from tests.builders import make_room
from tests.demo_jobs import FT, house
from tests.problems.forms import Change, plain_book

FLOORS = (FloorPlan(-1, 8 * FT, "open", "room", "wood frame"), FloorPlan(1, 9 * FT, "open", "room", "wood frame"),
          FloorPlan(2, 8 * FT, "open", "insulated attic", "wood frame"))


def whole_house(**changes: Any) -> Job:
    """A basement, a ground floor with the head end, an upper floor under the attic, a patio."""
    job = house(
        make_room("BAS", name="Basement", zone=1, floor=-1), make_room("KIT", zone=2, floor=1),
        make_room("BED", name="Bedroom", zone=3, floor=2, above="insulated attic", ceiling_height_m=8 * FT,
                  ceiling_high_m=8 * FT),
        make_room("PAT", name="Patio", zone=4, floor=1, setting="outdoor", mount="surface", measured_m=50 * FT),
        floors=FLOORS, **changes)
    return replace(job, head_end=replace(job.head_end, floor=1))


def designed(job: Job, catalog: Catalog) -> Design:
    design, problems = design_system(job, catalog)
    assert design is not None, "\n".join(str(problem) for problem in problems)
    return design


def conduits(job: Job, catalog: Catalog) -> dict[str, Conduit]:
    return {one.to: one for one in of(designed(job, catalog).shared, Conduit)}


def test_a_conduit_goes_to_attic_basement_and_outside(demo: Catalog) -> None:
    found = conduits(whole_house(), demo)
    assert sorted(found) == ["attic", "basement", "outside"]
    assert all(row.startswith("conduit ") for one in found.values() for row in one.decided)


def test_a_conduit_is_one_to_two_inches_wide_and_one_and_a_half_to_the_outside(demo: Catalog) -> None:
    # trade practice 3.8 (common practice): 1 to 2 in to attic and basement, 1 1/2 in to outside
    found = conduits(whole_house(), demo)
    assert all(25.4 <= found[to].diameter_mm <= 50.8 for to in ("attic", "basement"))
    assert found["outside"].diameter_mm == pytest.approx(1.5 * 25.4)


def test_a_conduit_is_as_long_as_the_floors_are_high(demo: Catalog) -> None:
    found = conduits(whole_house(), demo)
    assert found["attic"].length_m / FT == pytest.approx(9 + 1 + 8)  # ground floor, its floor of 1 ft, upper floor
    assert found["basement"].length_m / FT == pytest.approx(8 + 1)
    assert found["outside"].length_m / FT == pytest.approx(50 + 7.5, abs=0.6)  # measured, and the head-end rise


def test_a_conduit_whose_way_across_nobody_knows_goes_straight_and_names_no_room(demo: Catalog) -> None:
    found = conduits(whole_house(), demo)
    assert {(found[to].towards, found[to].length_basis) for to in ("attic", "basement")} == {("", "straight")}


def test_on_a_plan_a_conduit_goes_across_to_the_nearest_room_under_the_attic(demo: Catalog) -> None:
    # head end at (0, 0); rooms of 20 by 15 ft: the bedroom's west wall is 30 - 10 = 20 ft off, the guest room's, over
    # the head end, none
    job = whole_house()
    bed = replace(next(room for room in job.rooms if room.code == "BED"), x_m=30 * FT, y_m=0.0)
    others = tuple(room for room in job.rooms if room.code != "BED")
    far = replace(job, head_end=replace(job.head_end, x_m=0.0, y_m=0.0), rooms=(*others, bed))
    found = conduits(far, demo)["attic"]
    assert (found.length_m / FT, found.towards) == (pytest.approx(9 + 1 + 8 + 20, abs=1), "BED")
    guest = replace(bed, code="GUE", name="Guest room", x_m=5 * FT, y_m=0.0)
    near = conduits(replace(far, rooms=(*others, bed, guest)), demo)["attic"]
    assert (near.length_m / FT, near.towards) == (pytest.approx(9 + 1 + 8), "GUE")


def test_a_flat_without_attic_basement_or_garden_gets_none(demo: Catalog) -> None:
    assert conduits(house(make_room()), demo) == {}


def test_finished_walls_get_no_conduit(demo: Catalog) -> None:
    job = whole_house(wall_state="finished")
    job = replace(job, rooms=tuple(replace(room, wall_state="finished") for room in job.rooms))
    assert conduits(job, demo) == {}


def test_conduit_brings_string_fittings_and_hours(demo: Catalog, book: RuleBook) -> None:
    facts = of(designed(whole_house(), demo).shared, Conduit)
    lines, problems = apply_rules(facts, book, demo, "best", "AWG", "open")
    assert problems == ()
    rules = [line.because.rule for line in lines]
    assert {rule: rules.count(rule) for rule in ("CND-010", "CND-020", "CND-050", "CND-060")} == {
        "CND-010": 2, "CND-020": 1, "CND-050": 3, "CND-060": 3}


def test_an_american_job_is_told_of_several_regimes(demo: Catalog) -> None:
    found = of(designed(house(make_room()), demo).shared, Separation)
    assert {one.regime for one in found} == {
        "US electrical code", "multi-room audio standard", "installers' practice"}
    assert len({one.apart_mm for one in found}) > 1


def test_a_metric_job_is_told_of_the_european_table(demo: Catalog) -> None:
    job = house(make_room(), unit_system="metric", gauge_system="mm2")
    job = replace(job, terms=replace(job.terms, currency="EUR", tax_place="Germany", locale="de_DE"))
    found = of(designed(job, demo).shared, Separation)
    assert {one.regime for one in found} == {"European cabling standard", "installers' practice"}


def test_every_distance_names_where_it_is_from(demo: Catalog) -> None:
    assert all(one.reference and one.advice for one in of(designed(house(make_room()), demo).shared, Separation))


# ---------------------------------------------------------------- ways out of the house

def ways_out(job: Job, catalog: Catalog) -> tuple[HouseExit, ...]:
    return of(designed(job, catalog).shared, HouseExit)


def test_a_patio_pairs_cable_leaves_the_house_once_behind_its_first_loudspeaker(demo: Catalog) -> None:
    # common practice, no source: out behind what it feeds, under the eave; the second loudspeaker's cable stays outside
    job = house(make_room("PAT", zone=1, floor=1, setting="outdoor", mount="surface", pairs=1, control="phone"),
                floors=FLOORS)
    (home,) = [run for run in of(designed(job, demo).shared, CableRun) if run.end == "PAT-S1"]
    (way,) = ways_out(job, demo)
    assert (way.id, way.place, way.basis, way.cables) == ("PAT-E1", "PAT-S1", (home.id,), 1)


def test_cables_into_the_ground_share_a_way_out_of_their_own(demo: Catalog) -> None:
    job = house(make_room("GAR", name="Garden", zone=1, floor=1, setting="outdoor", mount="garden", pairs=2,
                          control="phone"),
                floors=FLOORS)
    (way,) = ways_out(job, demo)
    assert (way.place, way.way, way.cables) == ("", "ground", 2)


@pytest.mark.parametrize(("x_ft", "behind"), [(10, "KIT"), (40, "DIN"), (None, "")])
def test_a_way_out_is_beside_the_room_that_lies_nearest_where_the_rooms_were_measured(
    demo: Catalog, x_ft: float | None, behind: str
) -> None:
    # kitchen from 0 to 20 ft, dining room from 30 to 50 ft, both north of the patio
    rooms = [make_room(code, name=code, zone=zone, floor=1, x_m=x, y_m=y, length_m=20 * FT, width_m=15 * FT, **changes)
             for zone, (code, x, y, changes) in enumerate((
                 ("KIT", 10 * FT, 20 * FT, {}), ("DIN", 40 * FT, 20 * FT, {}),
                 ("PAT", x_ft and x_ft * FT, 5 * FT, {"setting": "outdoor", "mount": "surface"})), 1)]
    assert {way.beside for way in ways_out(house(*rooms, floors=FLOORS), demo)} == {behind}


@pytest.mark.parametrize(("x_ft", "wall", "x_inside_ft"), [(10, "south", 5), (16, "south", 11), (26, "", 0)])
def test_a_way_out_is_told_on_the_wall_indoors_where_the_plan_knows_both_rooms(
    demo: Catalog, x_ft: float, wall: str, x_inside_ft: float
) -> None:
    # Kitchen of 20 by 15 ft about (10, 20): its south wall lies at 12.5 ft, from 0 to 20 ft. The patio, as large, about
    # (x, 5): its north side lies there too, its first loudspeaker 5 ft from its west end, at x - 10 + 5 ft. Past the
    # end of the kitchen's wall nobody knows what is behind.
    kitchen = make_room("KIT", zone=1, floor=1, x_m=10 * FT, y_m=20 * FT)
    patio = make_room("PAT", name="Patio", zone=2, floor=1, setting="outdoor", mount="surface", pairs=1, x_m=x_ft * FT,
                      y_m=5 * FT, control="phone", beside="KIT")
    (way,) = ways_out(house(kitchen, patio, floors=FLOORS), demo)
    assert (way.inside_wall, round(way.inside_x_m / FT, 1), way.inside_y_m) == (wall, x_inside_ft, 0)


def test_a_way_out_is_taken_through_the_wall_that_faces_the_house_where_nobody_drew_the_rooms(demo: Catalog) -> None:
    # the patio's first loudspeaker hangs on its north side, where the house is taken to stand: the kitchen's south wall
    rooms = (make_room("KIT", zone=1, floor=1),
             make_room("PAT", name="Patio", zone=2, floor=1, setting="outdoor", mount="surface", pairs=1,
                       control="phone", beside="KIT"))
    (way,) = ways_out(house(*rooms, floors=FLOORS), demo)
    assert (way.inside_wall, way.taken_wall) == ("", "south")
    drawn = tuple(replace(room, x_m=10 * FT, y_m=y_m) for room, y_m in zip(rooms, (20 * FT, 5 * FT), strict=True))
    (known,) = ways_out(house(*drawn, floors=FLOORS), demo)
    assert (known.inside_wall, known.taken_wall) == ("south", "")


def test_to_a_way_out_a_cable_comes_down_inside_the_outside_wall(demo: Catalog) -> None:
    job = house(make_room("PAT", zone=1, floor=1, setting="outdoor", mount="surface", pairs=1, control="phone",
                          access="none"), floors=FLOORS)
    (home,) = [run for run in of(designed(job, demo).shared, CableRun) if run.end == "PAT-S1"]
    assert home.via == "joist bays, down a top plate into the outside wall"


def test_a_conduit_goes_through_its_hole(demo: Catalog) -> None:
    conduits = of(designed(house(make_room(above="insulated attic", floor=1), floors=FLOORS), demo).shared, Conduit)
    assert conduits
    assert all(row.hole_mm >= demo.tubes["00341"].outside_mm > row.diameter_mm for row in conduits if row.to == "attic")


def test_a_typed_room_stands_before_the_nearest_one(demo: Catalog, tmp_path: Path) -> None:
    plain_book(demo, (Change("Rooms", "3", "Beside room", "living ROOM"),)).save(tmp_path / "job.xlsx")
    job, problems = read_job(tmp_path / "job.xlsx", demo)
    assert job is not None, problems
    assert {way.beside for way in ways_out(job, demo)} == {room.code for room in job.rooms if room.kind == "living"}


def test_a_way_out_beside_a_room_that_is_not_indoors_stops_and_names_one_that_is(demo: Catalog, tmp_path: Path) -> None:
    plain_book(demo, (Change("Rooms", "3", "Beside room", "Kitchn"),)).save(tmp_path / "job.xlsx")
    _, problems = read_job(tmp_path / "job.xlsx", demo)
    (slip,) = [str(problem) for problem in problems if problem.code == "unknown-room"]
    assert "'Kitchn'" in slip and "Type Kitchen" in slip


@pytest.mark.parametrize(("setting", "state", "rings"), [
    ("dry", "open", [True, True]), ("dry", "finished", [True, True]), ("outdoor", "open", [True, False])])
def test_a_surface_loudspeakers_cable_comes_out_of_a_ring_and_outdoors_a_box_holds_the_joint(
    demo: Catalog, setting: Any, state: Any, rings: list[bool]
) -> None:
    # common practice, no source: no bare hole behind a loudspeaker, no joint in the weather
    job = house(make_room("OFF", zone=1, setting=setting, mount="surface", pairs=1, control="phone", wall_state=state),
                wall_state=state, topology="direct")
    design = designed(job, demo)
    places = of((*design.shared, *design.options[-1].facts), Place)
    assert [place.ring for place in places if place.device == "speaker"] == rings

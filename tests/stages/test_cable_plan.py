"""Which cables a room gets by what its keypads ask, which rating, how far data may go, and what goes together."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import pytest
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.engineering.design import design_system
from quoting.facts import CableRun, Design, KeypadFact, Place, of
from quoting.intake.read import read_job
from quoting.job import FloorPlan, Job
from quoting.quote import Quote
from quoting.tables.decision import Standards, Table
from tests.builders import cell, make_room
from tests.demo_jobs import FT, house
from tests.problems.forms import Change, plain_book


def designed(job: Job, catalog: Catalog) -> Design:
    design, problems = design_system(job, catalog)
    assert design is not None, "\n".join(str(problem) for problem in problems)
    return design


def runs(job: Job, catalog: Catalog) -> tuple[CableRun, ...]:
    return of(designed(job, catalog).shared, CableRun)


def codes(job: Job, catalog: Catalog) -> set[tuple[str, str, str]]:
    return {(problem.severity, problem.code, problem.where.ref) for problem in design_system(job, catalog)[1]}


def with_keypads(catalog: Catalog, **changes: Any) -> Catalog:
    """The catalogue with every keypad changed."""
    changed = {part: replace(spec, **changes) for part, spec in catalog.keypads.items() if spec.control == "keypad"}
    return replace(catalog, keypads={**catalog.keypads, **changed})


def wired(room: Any) -> Job:
    """A job of that room, and a den that plays in every option."""
    return house(room, make_room("DEN", name="Den", zone=2, pairs=1))


def keypad_room(**changes: Any) -> Any:
    """A kitchen with a keypad in every option that has one."""
    return make_room(**{"room_input": True, "plays_from": "best", **changes})


# ---------------------------------------------------------------- keypads by attribute

def test_a_room_input_has_a_cable_of_its_own_where_nothing_is_said(demo: Catalog) -> None:
    found = [(run.start, run.end) for run in runs(wired(keypad_room()), demo) if run.purpose == "room input"]
    assert found == [("HE", "KIT-I1")]


def test_a_room_input_shares_the_keypads_cable_where_every_keypad_says_so(demo: Catalog) -> None:
    shared = with_keypads(demo, conductors=4, input_conductors=4)
    found = [(run.start, run.end) for run in runs(wired(keypad_room()), shared) if run.purpose == "room input"]
    assert found == [("KIT-K1", "KIT-I1")]


def test_a_room_input_does_not_share_where_conductors_do_not_suffice(demo: Catalog) -> None:
    # 6 + 4 = 10 of 8 conductors (TIA-568: four pairs)
    tight = with_keypads(demo, conductors=6, input_conductors=4)
    found = [run.start for run in runs(wired(keypad_room()), tight) if run.purpose == "room input"]
    assert found == ["HE"]


def test_a_room_that_some_option_leaves_to_the_phone_does_not_share(demo: Catalog) -> None:
    shared = with_keypads(demo, conductors=4, input_conductors=4)
    job = house(make_room("DIN", name="Dining", kind="dining", room_input=True))  # a phone in good and better
    assert [run.start for run in runs(job, shared) if run.purpose == "room input"] == ["HE"]


def test_a_keypad_that_uses_more_than_a_cable_gets_a_second(demo: Catalog) -> None:
    wide = with_keypads(demo, conductors=12)
    found = [run for run in runs(wired(keypad_room()), wide)
             if run.room == "KIT" and run.purpose == "control" and not run.spare]
    assert [(run.role, run.end) for run in found] == [("category cable", "KIT-K1")] * 2


def test_a_keypad_that_wants_a_shielded_pair_gets_one(demo: Catalog) -> None:
    shielded = with_keypads(demo, shielded_pair=True)
    found = [run.part for run in runs(wired(keypad_room()), shielded)
             if run.room == "KIT" and run.role == "shielded pair cable"]
    assert found == ["SH22-2R"]


def test_a_second_keypad_shares_the_first_ones_cable_where_its_home_run_may_feed_two(demo: Catalog) -> None:
    def second(catalog: Catalog) -> list[str]:
        found = runs(wired(keypad_room(second_control=True)), catalog)
        return [run.start for run in found if run.end == "KIT-K2"]

    assert second(with_keypads(demo, chainable=True, per_home_run=2)) == ["KIT-K1"]
    assert second(with_keypads(demo, chainable=True, per_home_run=1)) == ["HE"]
    assert second(with_keypads(demo, chainable=False, per_home_run=None)) == ["HE"]


def with_second(catalog: Catalog, option: str, **changes: Any) -> Catalog:
    """The catalogue with the second keypad of one option changed."""
    part = catalog.parts_for("second keypad", option, "AWG")[0]
    return replace(catalog, keypads={**catalog.keypads, part: replace(catalog.keypads[part], **changes)})


def test_a_second_keypad_has_a_home_run_where_one_options_model_may_not_share(demo: Catalog) -> None:
    mixed = with_second(with_keypads(demo, chainable=True, per_home_run=2), "best", chainable=False)
    job = wired(keypad_room(second_control=True, plays_from="good"))
    assert [run.start for run in runs(job, mixed) if run.end == "KIT-K2"] == ["HE"]
    chained = {one.name: [keypad.chained for keypad in of(one.facts, KeypadFact) if keypad.second]
               for one in designed(job, mixed).options}
    assert chained == {"good": [], "better": [False], "best": [False]}  # good: a knob, of which a line has one


def test_a_second_keypad_gets_the_cables_that_its_own_model_asks_for(demo: Catalog) -> None:
    wide = with_second(demo, "best", conductors=12, shielded_pair=True)
    found = [run.role for run in runs(wired(keypad_room(second_control=True)), wide) if run.end == "KIT-K2"]
    assert found == ["category cable", "category cable", "shielded pair cable"]


# ---------------------------------------------------------------- spares by the standard

def with_spares(catalog: Catalog, device: str, spares: float) -> Catalog:
    """The catalogue with another number of spare cables to a device."""
    table = catalog.standards.tables["spare_cables"]
    rows = tuple(replace(row, answer=replace(row.answer, values={**row.answer.values, "spares": spares}))
                 if row.answer.text("device") == device else row for row in table.rows)
    others = (kept for name, kept in catalog.standards.tables.items() if name != "spare_cables")
    return replace(catalog, standards=Standards((*others, Table(table.question, rows, table.where))))


@pytest.mark.parametrize(("device", "end"), [("control", "KIT-K1"), ("input", "KIT-I1"), ("tv", "KIT-T1")])
@pytest.mark.parametrize("spares", [0, 1, 3])
def test_a_place_has_as_many_spares_as_its_standards_row(
    demo: Catalog, device: str, end: str, spares: int
) -> None:
    job = wired(keypad_room(tv=True))
    found = [run for run in runs(job, with_spares(demo, device, spares)) if run.spare and run.end == end]
    assert len(found) == spares


@pytest.mark.parametrize(("used", "left"), [(8, 0), (4, 4), (12, 4), (None, 0)])
def test_a_keypad_says_how_many_conductors_it_leaves(demo: Catalog, used: int | None, left: int) -> None:
    facts = designed(wired(keypad_room()), with_keypads(demo, conductors=used)).options[-1].facts
    assert {keypad.spare_conductors for keypad in of(facts, KeypadFact) if keypad.room == "KIT"} == {left}


# ---------------------------------------------------------------- ratings by place

@pytest.mark.parametrize(("changes", "rating", "part"), [
    ({}, "in wall", "SC16-4W"), ({"moves_air": True}, "plenum", "SC16-4P"),
    ({"setting": "outdoor", "mount": "surface"}, "in wall and burial", "SC16-4B")])
def test_a_run_is_rated_by_its_place(demo: Catalog, changes: dict[str, Any], rating: str, part: str) -> None:
    run = next(run for run in runs(house(make_room(pairs=1, measured_m=6.0, **changes)), demo)
               if run.purpose == "home run")
    assert (run.rating, run.part) == (rating, part)


def test_a_run_that_stays_outdoors_is_for_the_wet_alone(demo: Catalog) -> None:
    # common practice, no source
    job = house(make_room(pairs=1, measured_m=6.0, setting="outdoor", mount="surface"))
    assert {run.rating for run in runs(job, demo) if run.start != "HE" and run.circuits} == {"burial"}


@pytest.mark.outside(4)
@pytest.mark.parametrize(("dwelling", "floor", "rating"), [
    ("several families", 1, "riser"), ("several families", 0, "in wall"), ("house", 1, "in wall")])
def test_between_floors_of_several_families_a_run_is_a_riser(
    demo: Catalog, dwelling: Any, floor: int, rating: str
) -> None:
    # NEC 800.179 and 725.179 as told by a document on cable ratings: riser cable runs from floor to floor; one- and
    # two-family dwellings are excepted
    floors = (FloorPlan(0, 9 * FT, "open", "room", "wood frame"), FloorPlan(1, 9 * FT, "open", "roof", "wood frame"))
    job = house(make_room(floor=floor, pairs=1, measured_m=6.0), floors=floors, dwelling=dwelling)
    assert {run.rating for run in runs(job, demo) if run.start == "HE"} == {rating}


def test_a_typed_dwelling_is_the_jobs_and_a_house_where_nothing_is_typed(demo: Catalog, tmp_path: Path) -> None:
    assert read(demo, tmp_path).dwelling == "house"
    assert read(demo, tmp_path, Change("Job", "", "Dwelling", "several families")).dwelling == "several families"


def test_a_bay_that_moves_air_asks_plenum_for_data_too(demo: Catalog) -> None:
    assert {run.part for run in runs(house(make_room(moves_air=True)), demo) if not run.circuits} == {"C6-P"}


def test_a_stricter_cable_serves_where_the_asked_one_is_not_stocked(demo: Catalog) -> None:
    bare = replace(demo, cables={part: spec for part, spec in demo.cables.items() if spec.rating != "in wall"})
    run = next(run for run in runs(house(make_room(pairs=1, measured_m=6.0)), bare) if run.purpose == "home run")
    assert (run.rating, run.part) == ("in wall", "SC16-4R")


def test_a_lesser_cable_never_serves_and_stops_at_the_rooms_cell(demo: Catalog) -> None:
    bare = replace(demo, cables={part: spec for part, spec in demo.cables.items() if spec.rating != "plenum"})
    room = make_room(moves_air=True, cells={"": cell("Rooms", "A2"), "moves_air": cell("Rooms", "AK2")})
    assert ("stop", "no-cable-with-rating", "AK2") in codes(house(room), bare)


# ---------------------------------------------------------------- data cable

@pytest.mark.outside(4)
@pytest.mark.parametrize(("measured_m", "found"), [
    (60.0, set()), (86.0, {("warning", "data-cable-over-limit", "Z2")}),
    (110.0, {("stop", "data-cable-too-long", "Z2")})])
def test_data_cable_warns_over_90_m_and_stops_over_100_m(
    demo: Catalog, measured_m: float, found: set[tuple[str, str, str]]
) -> None:
    # TIA-568 / ISO/IEC 11801: permanent link 90 m, channel 100 m. Slack and waste: (86 + 3.51) x 1.05 = 94 m
    room = make_room("DEN", name="Den", pairs=1, plays_from="later", measured_m=measured_m,
                     cells={"": cell("Rooms", "A2"), "measured_m": cell("Rooms", "Z2")})
    job = house(make_room(zone=2), room)
    assert {one for one in codes(job, demo) if one[1].startswith("data-cable")} == found


def test_an_input_on_the_keypads_cable_is_as_long_as_both(demo: Catalog) -> None:
    # 84 m to the keypad are 84 + 3.51 m slack, 5 % waste: 91.9 m, over 90 m already; at 72 m only both together are
    shared = with_keypads(demo, conductors=4, input_conductors=4)
    room = keypad_room(measured_m=72.0, length_m=9.0, width_m=8.0, pairs=0)
    warned = [problem.message for problem in design_system(wired(room), shared)[1]
              if problem.code.startswith("data-cable")]
    assert len(warned) == 1
    assert any(run.end == "KIT-I1" and f"Run {run.id} " in warned[0] for run in runs(wired(room), shared))


# ---------------------------------------------------------------- lengths and pulls

def test_a_run_names_the_rows_that_decided_it(demo: Catalog) -> None:
    # band, factor, rise, drop, slack at both ends, waste, limit, copper, rating, pull; the spare's own row besides
    found = runs(house(make_room()), demo)
    named = {run.purpose + " spare" * run.spare: {row.split()[0] for row in run.decided} for run in found}
    way = {"distance_band", "route_factor", "cable_way", "run_way", "vertical", "device_height", "slack",
           "cable_waste", "cable_rating", "pull"}
    assert named["home run"] == way | {"gauge_limit", "stranding", "cable_design"}
    assert named["control spare"] == way | {"spare_cables"}


def test_a_measured_run_names_no_row_about_its_way(demo: Catalog) -> None:
    homes = [run for run in runs(house(make_room(measured_m=20.0)), demo) if run.start == "HE"]
    named = {row.split()[0] for run in homes for row in run.decided}
    assert named & {"distance_band", "route_factor", "vertical", "device_height"} == set()


def test_an_unknown_way_is_a_band_and_says_so(demo: Catalog) -> None:
    homes = [run for run in runs(house(make_room()), demo) if run.start == "HE"]
    assert {run.length_basis for run in homes} == {"band"}
    assert all(any(row.startswith("distance_band") for row in run.decided) for run in homes)


def test_a_line_or_leg_between_floors_counts_the_floors_it_crosses(demo: Catalog) -> None:
    floors = (FloorPlan(0, 9 * FT, "open", "room", "wood frame"), FloorPlan(1, 9 * FT, "open", "roof", "wood frame"))
    crossed = {run.floors_crossed for run in runs(house(make_room(floor=1), floors=floors), demo) if run.start == "HE"}
    assert crossed == {1}


def test_each_pull_has_one_first_cable(demo: Catalog) -> None:
    groups: dict[str, int] = {}
    job = house(make_room(pairs=3, tv=True, room_input=True), head_end_shape="controller and amplifiers")
    for run in runs(job, demo):
        if run.start == "HE":
            groups[run.pull_group] = groups.get(run.pull_group, 0) + run.first_of_pull
    assert set(groups.values()) == {1}


def test_a_pull_holds_no_more_cables_than_the_standard_says(demo: Catalog) -> None:
    most = demo.standards.ask("pull", wall_state="open").number("cables_per_pull")
    groups: dict[str, int] = {}
    job = house(make_room(pairs=4, tv=True, room_input=True), head_end_shape="controller and amplifiers")
    for run in runs(job, demo):
        if run.start == "HE":
            groups[run.pull_group] = groups.get(run.pull_group, 0) + 1
    assert max(groups.values()) <= most


# ---------------------------------------------------------------- what is typed for it

def read(demo: Catalog, tmp_path: Path, *changes: Change) -> Job:
    """The small good workbook with changes, read."""
    plain_book(demo, changes).save(tmp_path / "job.xlsx")
    job, problems = read_job(tmp_path / "job.xlsx", demo)
    assert job is not None, "\n".join(map(str, problems))
    return job


def test_a_zone_is_low_impedance_unless_its_line_is_typed(demo: Catalog, tmp_path: Path) -> None:
    assert {zone.line for zone in read(demo, tmp_path).zones} == {"low impedance"}


def test_a_typed_line_is_the_zones(demo: Catalog, tmp_path: Path) -> None:
    job = read(demo, tmp_path, Change("Rooms", "1", "Zone", 1), Change("Zones", "1", "Zone", 1),
               Change("Zones", "1", "Line", "70.7 V"))
    assert next(zone.line for zone in job.zones if zone.number == 1) == "70.7 V"


def test_a_bay_moves_air_where_it_is_typed(demo: Catalog, tmp_path: Path) -> None:
    job = read(demo, tmp_path, Change("Rooms", "2", "Bay moves air", "yes"))
    assert [room.moves_air for room in job.rooms].count(True) == 1


# ---------------------------------------------------------------- ways outdoors

def legs_of(room: Any, catalog: Catalog) -> list[CableRun]:
    """The cables between the room's loudspeakers."""
    return [run for run in runs(wired(room), catalog) if run.purpose == "speaker leg" and run.room == room.code]


def test_a_cable_between_two_loudspeakers_under_the_eaves_goes_along_them(demo: Catalog) -> None:
    # by hand: both hang 1 ft below the eaves (device_height HGT-030): down 1 ft and up 1 ft, whatever is beneath
    patio = make_room("PAT", name="Patio", kind="patio", setting="outdoor", mount="surface", pairs=1, control="phone")
    assert [(leg.way, leg.buried, round(leg.vertical_m / FT, 2)) for leg in legs_of(patio, demo)] == [
        ("eaves", False, 2)]


def test_a_cable_between_two_garden_loudspeakers_is_buried_with_a_rise_at_each_end(demo: Catalog) -> None:
    # by hand: 1 ft deep (vertical VRT-030) and 0.5 ft over the ground (device_height HGT-040), at both ends: 3 ft
    garden = make_room("GAR", name="Garden", kind="garden", setting="outdoor", mount="garden", pairs=1, control="phone")
    assert [(leg.way, leg.buried, round(leg.vertical_m / FT, 2)) for leg in legs_of(garden, demo)] == [
        ("ground", True, 3)]


def test_a_home_run_to_the_garden_goes_down_the_wall_into_the_ground_and_up_again(demo: Catalog) -> None:
    # by hand: 7.5 ft up to the ceiling, 9 ft down the house and 1 ft into the ground, then 1 ft + 0.5 ft up: 19 ft
    garden = make_room("GAR", name="Garden", kind="garden", setting="outdoor", mount="garden", pairs=1, control="phone")
    home = next(run for run in runs(wired(garden), demo) if run.purpose == "home run" and run.room == "GAR")
    assert (home.way, round(home.vertical_m / FT, 2)) == ("ground", 19)


def test_a_second_home_run_outdoors_goes_on_to_its_own_loudspeaker(quotes: dict[str, Quote]) -> None:
    # by hand, the third example's garden of 40 by 30 ft: its third loudspeaker stands 20 ft east and 15 ft north of the
    # first, as far as a home run is told: 117.5 ft + 35 ft x 1.1 = 156; x 1.07 = 166.92, so 167 ft
    home = next(row for row in quotes["3"].facts["cable_run"] if (row["start"], row["end"]) == ("HE", "GAR-S3"))
    assert round(home["length_m"] / FT, 2) == 167


def test_a_cable_under_a_sloped_ceiling_goes_up_to_its_loudspeaker(demo: Catalog) -> None:
    # by hand: keypad at 4 ft, loudspeaker half way up from 9 to 16 ft, at 12.5: 8.5 ft, and 0.5 ft down into it
    family = make_room("FAM", name="Family", pairs=1, ceiling_high_m=16 * FT)
    assert {round(leg.vertical_m / FT, 2) for leg in legs_of(family, demo)} == {9}


@pytest.mark.parametrize(("x_ft", "y_ft"), [(0, 0), (30, 10), (-25, 40), (12, -8)])
def test_no_way_on_the_plan_is_shorter_than_the_straight_line_to_its_own_end(
    demo: Catalog, x_ft: float, y_ft: float
) -> None:
    room = make_room(pairs=2, room_input=True, tv=True, x_m=x_ft * FT, y_m=y_ft * FT)
    job = house(room)
    job = replace(job, head_end=replace(job.head_end, x_m=1.0, y_m=2.0))
    design, _ = design_system(job, demo)
    assert design is not None
    places = {place.id: place for place in of(design.shared, Place)}
    for run in of(design.shared, CableRun):
        if run.start == "HE":
            end = places[run.end]
            at = (x_ft * FT - room.length_m / 2 + end.x_m, y_ft * FT - room.width_m / 2 + end.y_m)
            assert run.length_basis == "plan" and run.plan_m >= math.dist(at, (1.0, 2.0)) - 1e-3, run.end


def test_a_closet_that_shares_a_wall_with_a_room_is_as_near_as_it_is_drawn(quotes: dict[str, Quote]) -> None:
    # Second example, by hand: a closet of 1.8 by 1.6 m in the middle of the kitchen's west side, 3.6 m long: cables
    # come out of its west wall 1.8 m off, 1.8 m from the kitchen's south wall; the knob hangs 3.5 ft (1.067 m) from
    # it, on the wall that they share: 1.8 + 0.733 = 2.533 m
    runs_of = quotes["2"].options[1].facts["cable_run"]
    run = next(row for row in runs_of if (row["start"], row["end"]) == ("HE", "KUC-K1"))
    assert (run["length_basis"], run["plan_m"]) == ("plan", 2.533)


def test_a_run_says_to_which_place_its_way_was_measured(demo: Catalog) -> None:
    home = [run for run in runs(house(make_room(pairs=1, tv=True, measured_m=20.0)), demo) if run.start == "HE"]
    assert {(run.end, run.measured_to) for run in home} == {("KIT-K1", "KIT-K1"), ("KIT-T1", "KIT-K1")}
    by_band = [run for run in runs(house(make_room(pairs=1)), demo) if run.start == "HE"]
    assert {run.measured_to for run in by_band} == {""}


def test_a_run_says_what_is_printed_on_its_cable(demo: Catalog) -> None:
    # parts/cables.csv: an in-wall speaker cable of the demo catalogue is marked CL3
    assert {run.marks for run in runs(house(make_room(pairs=1)), demo) if run.circuits} == {"CL3"}

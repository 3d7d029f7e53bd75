"""Which models a room gets and how many: standards, corridors, long rooms, mono zones; what was typed wins."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.engineering.brief import Brief
from quoting.engineering.design import design_system
from quoting.engineering.room_use import room_uses
from quoting.facts import CableRun, RoomUse, Speaker, of
from quoting.job import Job
from quoting.tables.decision import Standards
from tests.demo_jobs import FT, house, make_zone
from tests.stages.test_speaker_layout import at, found_problem, placed, plain

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


# ---------------------------------------------------------------- the counting standards, as published

# A maker's guide (address withheld) by area; an advice page by area (its lighter count) and by ceiling height, 128,
# 210, 300, 420 and 540 sq ft a speaker at 8 to 12 ft: the trade practice page's rules B, C and E. Whole pairs.
@pytest.mark.parametrize(("standard", "length_ft", "width_ft", "ceiling_ft", "speakers"), [
    pytest.param("area by room", 14, 10, 9, 2, marks=pytest.mark.outside(5)),  # under 150 sq ft: 2
    pytest.param("area by room", 16, 14, 9, 4, marks=pytest.mark.outside(5)),  # 150 to 300 sq ft: 4
    pytest.param("area by room", 22, 18, 9, 6, marks=pytest.mark.outside(5)),  # over 300 sq ft: 6 or more
    pytest.param("light", 16, 14, 9, 2, marks=pytest.mark.outside(5)),  # 100 to 300 sq ft: 1 to 2
    pytest.param("light", 22, 18, 9, 4, marks=pytest.mark.outside(5)),  # 300 to 500 sq ft: 3 to 4
    pytest.param("light", 28, 25, 9, 6, marks=pytest.mark.outside(5)),  # 500 to 800 sq ft: 5 to 6
    pytest.param("coverage", 16, 15.9, 8, 2, marks=pytest.mark.outside(5)),  # 2 x 128 = 256 sq ft
    pytest.param("coverage", 21, 19.9, 9, 2, marks=pytest.mark.outside(5)),  # 2 x 210 = 420 sq ft
    pytest.param("coverage", 25, 23.9, 10, 2, marks=pytest.mark.outside(5)),  # 2 x 300 = 600 sq ft
    pytest.param("coverage", 25, 24.1, 10, 4, marks=pytest.mark.outside(5)),
])
def test_a_counting_standard_counts_as_it_was_published(
    demo: Catalog, standard: str, length_ft: float, width_ft: float, ceiling_ft: float, speakers: int
) -> None:
    height = ceiling_ft * FT
    room = plain(length_ft, width_ft, pairs=None, ceiling_height_m=height, ceiling_high_m=height)
    assert full_count(house(room, counting_standard=standard), demo) == speakers


def full_count(job: Job, demo: Catalog) -> int:
    """Speakers of the fullest option, before amplifiers are asked."""
    facts, _ = room_uses(Brief(job, demo, demo.options[-1], (), {}))
    return of(facts, RoomUse)[0].speakers


# ---------------------------------------------------------------- long rooms

@pytest.mark.parametrize(("area_ft2", "ratio", "pairs"), [
    (149, 2.01, 1), (151, 2.01, 2), (151, 1.99, 1), (200, 2.0, 1), (200, 2.001, 2),
])
def test_a_room_longer_than_twice_its_width_gets_a_pair_more_over_150_square_feet(
    demo: Catalog, area_ft2: float, ratio: float, pairs: int
) -> None:
    # add a pair when length : width > 2 : 1 and area > 150 sq ft (trade practice 2.3)
    width_ft = (area_ft2 / ratio) ** 0.5
    assert full_count(house(plain(ratio * width_ft, width_ft, pairs=None)), demo) == 2 * pairs


@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.integers(104, 170))
def test_a_room_of_just_two_to_one_is_not_longer_whatever_its_inches(demo: Catalog, width_in: int) -> None:
    # 104 in is the first width at which 2 : 1 is over 150 sq ft; 170 in is 401 sq ft, two pairs by area from 300
    room = plain(2 * width_in / 12, width_in / 12, pairs=None)
    assert full_count(house(room), demo) == 2 * (1 if 2 * width_in ** 2 <= 300 * 144 else 2)


# ---------------------------------------------------------------- corridors

def speakers_of(job: Job, demo: Catalog) -> dict[str, list[Speaker]]:
    design, problems = design_system(job, demo)
    assert design is not None, "\n".join(str(problem) for problem in problems)
    return {option.name: list(of(option.facts, Speaker)) for option in design.options}


@pytest.mark.parametrize("length_ft", [16, 30, 45])
def test_a_corridor_has_several_single_stereo_speakers_in_every_option(demo: Catalog, length_ft: float) -> None:
    found = speakers_of(house(plain(length_ft, 5.5, pairs=None, kind="hall")), demo)
    assert all(len(some) >= 2 and {one.role for one in some} == {"single-stereo speaker"} for some in found.values())


def test_the_entry_option_equips_both_ends_of_a_corridor(demo: Catalog) -> None:
    corridor = house(plain(45, 5, pairs=None, kind="hall"))
    at_ft = {place.id: place.x_m / FT for place in placed(corridor, demo)[0]}
    assert sorted(round(at_ft[one.place], 1) for one in speakers_of(corridor, demo)["good"]) == [7.5, 37.5]


# ---------------------------------------------------------------- mono zones and lines

def mono(room: Any, **zone: Any) -> Job:
    return replace(house(room), zones=(make_zone(1, **(zone or {"mono": True})),))


def test_a_small_mono_room_has_one_ordinary_speaker_on_two_conductors(demo: Catalog) -> None:
    job = mono(plain(8, 8, pairs=None))
    design, _ = design_system(job, demo)
    assert design is not None
    speakers, use = of(design.options[-1].facts, Speaker), of(design.options[-1].facts, RoomUse)[0]
    assert [(one.role, one.side) for one in speakers] == [("ceiling speaker", "")]
    assert (use.single, use.single_stereo) == (True, False)
    assert {(run.conductors, run.circuits) for run in of(design.shared, CableRun) if run.circuits} == {(2, 1)}


def test_a_small_room_on_a_line_has_one_speaker_that_nobody_calls_stereo(demo: Catalog) -> None:
    job = mono(plain(8, 8, pairs=None), line="70.7 V")
    assert [(one.role, one.side) for one in speakers_of(job, demo)["best"]] == [("line ceiling speaker", "")]
    assert uses(job, demo).single_stereo is False


def test_every_option_of_a_mono_zone_has_the_places_of_the_narrowest_model(demo: Catalog) -> None:
    # 40 ft = 12.19 m; the narrowest, 90 degrees 1.543 m above the ears, covers 3.086 m: 4; 110 degrees would do with 3
    job = mono(plain(40, 5, pairs=None))
    assert (uses(job, demo).pattern_speakers, uses(job, demo).speakers) == (3, 4)


@pytest.mark.parametrize(("pattern", "grid", "speakers"), [
    # circles of 3.086 m in 6.096 m by 4.572 m. Touching: 2 x 2; square minimum, S = D / sqrt 2 = 2.182: 3 x 3; full,
    # S = D / 2 = 1.543: 4 x 3; hexagonal full, rows 1.336 apart: 4 x 4 (trade series on distributed systems, part 3)
    ("edge-to-edge", "square", 4), ("minimum", "square", 10), ("full", "square", 12), ("full", "hexagonal", 16),
])
def test_the_pattern_row_sets_the_count_of_a_mono_zone(
    demo: Catalog, pattern: str, grid: str, speakers: int
) -> None:
    # 9 for the square minimum are wired as five pairs
    table = demo.standards.tables["overlap_pattern"]
    asked = {"pattern": pattern, "grid": grid}
    rows = tuple(replace(row, answer=replace(row.answer, values={**row.answer.values, **asked})) for row in table.rows)
    tables = {**demo.standards.tables, "overlap_pattern": replace(table, rows=rows)}
    catalog = replace(demo, standards=Standards(tables.values()))
    assert full_count(mono(plain(20, 15, pairs=None)), catalog) == speakers


@pytest.mark.outside(5)
@pytest.mark.parametrize(("feed", "listening", "varies_db"), [
    ("mono", "background", 4.4), ("mono", "party", 2.0), ("stereo", "background", 2.0),
])
def test_a_patterns_published_variation_stands_beside_it(
    demo: Catalog, feed: str, listening: Any, varies_db: float
) -> None:
    # a maker's design guide (address withheld): square edge-to-edge 4.4 dB, minimum overlap 2.0 dB
    room = plain(20, 15, pairs=None, listening=listening)
    facts, _ = room_uses(Brief(mono(room) if feed == "mono" else house(room), demo, "best", (), {}))
    assert of(facts, RoomUse)[0].pattern_variation_db == varies_db


# ---------------------------------------------------------------- what was typed

def test_typed_pairs_of_one_option_warn_at_that_column(demo: Catalog) -> None:
    room = plain(20, 15, listening="party", pairs=None, pairs_by_option={"better": 1},
                 cells=at("pairs", "pairs:better"))
    problem, = found_problem(house(room), demo, "fewer-pairs-than-standard")
    assert (problem.severity, problem.where.ref) == ("warning", "L2") and "option 'better'" in problem.message


def test_one_number_for_all_options_warns_once(demo: Catalog) -> None:
    assert len(found_problem(house(plain(20, 15, listening="party", pairs=1)), demo, "fewer-pairs-than-standard")) == 1


def test_as_many_pairs_as_the_standard_asks_warn_of_nothing(demo: Catalog) -> None:
    assert found_problem(house(plain(20, 15, listening="party", pairs=2)), demo, "fewer-pairs-than-standard") == []


def test_a_room_use_names_the_rows_that_counted_it(demo: Catalog) -> None:
    asked = {row.split()[0] for row in uses(house(plain(20, 15, pairs=None)), demo).decided}
    assert asked == {"room_state", "speaker_form", "speaker_count", "extra_pair", "option_pairs", "overlap_pattern",
                     "listening_plane", "control_given"}


def test_a_place_names_the_rows_that_placed_it(demo: Catalog) -> None:
    place, *_ = placed(house(plain(20, 15)), demo)[0]
    assert {row.split()[0] for row in place.decided} == {
        "speaker_role", "speaker_placing", "back_box", "speaker_outlet", "device_height"}

"""The ring or box at each place: by its wall, as deep as its device, and large enough for what lands in it."""

from __future__ import annotations

from typing import Any

import pytest

from quoting.catalog.fittings import BoxSpec
from quoting.catalog.records import Catalog
from quoting.documents.crew_site import device_list
from quoting.documents.floor_plan import rows_of_kind
from quoting.documents.room_notes import room_notes
from quoting.documents.room_plan import room_plans
from quoting.documents.room_table import table_rows
from quoting.engineering.design import design_system
from quoting.engineering.wall_boxes import fitting_box
from quoting.facts import Design, HeadEndOpening, Place, WallBox, of
from quoting.job import Job
from quoting.quote import Quote
from tests.builders import make_room
from tests.demo_jobs import house


def designed(job: Job, catalog: Catalog) -> Design:
    design, problems = design_system(job, catalog)
    assert design is not None, problems
    return design


def spec(part: str, volume_cm3: float, deep_mm: float) -> BoxSpec:
    return BoxSpec(part=part, volume_cm3=volume_cm3, core_mm=68.0, cores=1, wide_mm=68.0, high_mm=68.0, deep_mm=deep_mm)


BOXES = (spec("single", 190.0, 61.0), spec("deep", 340.0, 74.0), spec("chamber", 620.0, 74.0))


# By hand: the smallest that holds it; the next where the device is deeper; several of the largest where none holds it:
# 1300 / 620 = 2.1, three.
@pytest.mark.parametrize(("asked_cm3", "inside_mm", "chosen"), [
    (190.0, 0.0, ("single", 1)), (191.0, 0.0, ("deep", 1)), (100.0, 64.0, ("deep", 1)), (341.0, 10.0, ("chamber", 1)),
    (1300.0, 10.0, ("chamber", 3)),
])
def test_the_smallest_box_that_holds_what_lands_there_is_chosen(
    asked_cm3: float, inside_mm: float, chosen: tuple[str, int]
) -> None:
    box, count = fitting_box(BOXES, asked_cm3, inside_mm)
    assert (box.part, count) == chosen


def test_a_ring_is_open_to_the_hollow_of_its_wall() -> None:
    assert fitting_box([spec("ring", 0.0, 0.0)], 900.0, 70.0)[1] == 1


@pytest.mark.parametrize(("changes", "words"), [
    ({}, {"deep ring"}), ({"wall_state": "finished"}, {"old-work ring"}), ({"construction": "masonry"}, {"flush box"}),
])
def test_a_keypads_ring_or_box_follows_its_wall(demo: Catalog, changes: dict[str, Any], words: set[str]) -> None:
    # the best option's touch keypad asks for the deep ring (parts/keypads.csv)
    design = designed(house(make_room(pairs=1, **changes), wall_state=changes.get("wall_state", "open")), demo)
    boxes = of((*design.shared, *design.options[-1].facts), WallBox)
    assert {box.words for box in boxes if box.place == "KIT-K1"} == words


def test_a_knobs_place_is_as_deep_as_the_knob(demo: Catalog) -> None:
    # parts/keypads.csv: the volume knobs are 58, 64 and 70 mm deep; behind open walls the deepest option decides
    design = designed(house(make_room(pairs=1, control="knob")), demo)
    assert {place.depth_mm for place in of(design.shared, Place) if place.id == "KIT-K1"} == {70.0}


def test_the_opening_at_the_head_end_takes_all_cables_at_the_fill_limit(quotes: dict[str, Quote]) -> None:
    # Second example, option better, by hand: four cables of 10.2 mm and one of 12.2 mm: 4 x 104.04 + 148.84 = 565;
    # / 0.4 = 1412.5, its root 37.6 mm, the next bit of 2 mm steps: 38
    quote = quotes["2"]
    (opening,) = rows_of_kind(quote, quote.options[1], HeadEndOpening)
    assert (opening["cables"], opening["opening_mm"]) == (5, 38.0)


def test_a_double_box_says_how_its_cores_lie_and_what_its_place_is_measured_to(quotes: dict[str, Quote]) -> None:
    # parts/boxes.csv: 153 mm wide, two cores of 82 mm: 153 - 82 = 71 mm from middle to middle
    quote = quotes["2"]
    plan = next(one for one in room_plans(quote, quote.options[1]) if one.code == "KUC")
    assert ("KUC-K1: cores side by side, 71 mm from middle to middle; the place is the middle of the pair."
            in room_notes(plan, "metric"))
    row = next(row for row in table_rows(plan, "metric") if row[0] == "KUC-K1")
    assert "2 cores, each 82 mm, side by side" in row
    assert any("box 74 mm, wall ________ thick" in cell for cell in row)
    listed = next(row for row in device_list(quote, quote.options[1], (plan,)).rows if row[0] == "KUC-K1")
    assert "flush box, double: 00123" in listed

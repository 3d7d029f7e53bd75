"""What is drilled for each pull, worked by hand from the first example's workbook and the tables."""

from __future__ import annotations

import math
from typing import Any

import pytest

from quoting.documents.crew_site import drilling
from quoting.documents.floor_plan import rows_of_kind
from quoting.engineering.drilling import bored
from quoting.facts import FloorFact, Pull
from quoting.quote import Quote

SPACING_FT = 16 / 12  # joists 16 in on centre, common practice, no source


@pytest.fixture
def pulls(quotes: dict[str, Quote]) -> dict[str, dict[str, Any]]:
    quote = quotes["1"]
    return {row["id"]: dict(row) for row in rows_of_kind(quote, quote.options[1], Pull)}


# By hand: nobody typed the joists, so half of a way crosses them, one for each whole 16 in.
# KAB-P1: measured 38 ft. KAB-L: 6.25, 15.75, 25.75 and 16.25 ft from the control to the four loudspeakers, each with
# holes of its own. OFF-P1: the band "middle", 40 ft.
@pytest.mark.parametrize(("group", "ways_ft"), [
    ("KAB-P1", (38.0,)), ("KAB-L", (6.25, 15.75, 25.75, 16.25)), ("OFF-P1", (40.0,)),
])
def test_joists_across_half_of_the_way_are_counted(
    pulls: dict[str, dict[str, Any]], group: str, ways_ft: tuple[float, ...]
) -> None:
    by_hand = {"KAB-P1": 14, "KAB-L": 2 + 5 + 9 + 6, "OFF-P1": 15}  # 19 / 1.333 = 14.25; 20 / 1.333 = 15
    assert pulls[group]["studs_crossed"] == by_hand[group]
    assert by_hand[group] == sum(math.floor(way / 2 / SPACING_FT) for way in ways_ft)


def test_a_way_above_the_ceiling_drills_no_joist(pulls: dict[str, dict[str, Any]]) -> None:
    # both upper rooms lie under the attic: cables lie over the joists there
    assert {pulls[group]["studs_crossed"] for group in ("MBED-P1", "MBED-L", "MBAT-P1", "MBAT-L")} == {0}


def test_plates_are_those_at_the_head_end_of_each_floor_passed_and_of_each_device(
    pulls: dict[str, dict[str, Any]]
) -> None:
    # by hand: basement to floor 1, keypad: 1 + 2 x 1 + 1; basement to floor 2, keypad and input: 1 + 2 x 2 + 2;
    # to two ceiling loudspeakers only out of the keypad's wall again: 1
    assert [pulls[group]["plates_crossed"] for group in ("KAB-P1", "MBED-P1", "KAB-L")] == [4, 7, 1]


def test_walls_of_stone_have_no_studs(quotes: dict[str, Quote]) -> None:
    quote = quotes["2"]
    assert {row["studs_crossed"] for option in quote.options for row in rows_of_kind(quote, option, Pull)} == {0}


def test_three_four_conductor_cables_fill_a_one_inch_hole_to_forty_per_cent() -> None:
    # by hand, 0.32 in cables: 3 x 0.32^2 / 0.4 = 0.768, its root 0.876 in, above 7/8: 1 in; four: 1.012 in, two holes
    inch = 25.4
    assert bored([0.32 * inch] * 3, 0.4, inch, inch / 8) == (1, pytest.approx(inch))
    assert bored([0.32 * inch] * 4, 0.4, inch, inch / 8)[0] == 2


def test_the_drilling_sheet_has_every_pull_once_and_sums_to_the_floors(quotes: dict[str, Quote]) -> None:
    for quote in quotes.values():
        for option in quote.options:
            table = drilling(quote, option)
            at = [table.columns.index(name) for name in ("Pull group", "Studs and joists crossed, about")]
            groups = [row[at[0]] for row in table.rows]
            assert sorted(groups) == sorted(row["id"] for row in rows_of_kind(quote, option, Pull))
            assert sum(int(row[at[1]]) for row in table.rows) == sum(
                floor["studs_crossed"] for floor in rows_of_kind(quote, option, FloorFact))

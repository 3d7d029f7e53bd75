"""What is drilled for each pull, worked by hand from the first example's workbook and the tables."""

from __future__ import annotations

import itertools
import math
from typing import Any

import pytest

from quoting.catalog.records import Catalog
from quoting.documents.crew_site import drilling
from quoting.documents.crew_ways import shared_ways, ways_out
from quoting.documents.floor_plan import rows_of_kind
from quoting.engineering.drilling import bored
from quoting.facts import CableRun, Conduit, FloorFact, HouseExit, Pull, SharedWay, StoneHole
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
    # to four ceiling loudspeakers each cable out of the keypad's wall again, in a hole of its own: 4; to the office's
    # two on a wall out and in: 2 x 2; to the patio 1 + 2 x 1, and down into the outside wall: 1; its hole
    # through the house wall stands apart
    groups = ("KAB-P1", "MBED-P1", "KAB-L", "OFF-L", "PAT-P1")
    assert [pulls[group]["plates_crossed"] for group in groups] == [4, 7, 4, 4, 4]


def test_walls_of_stone_have_no_studs(quotes: dict[str, Quote]) -> None:
    quote = quotes["2"]
    assert {row["studs_crossed"] for option in quote.options for row in rows_of_kind(quote, option, Pull)} == {0}


def test_three_four_conductor_cables_fill_a_one_inch_hole_to_forty_per_cent() -> None:
    # by hand, 0.32 in cables: 3 x 0.32^2 / 0.4 = 0.768, its root 0.876 in, above 7/8: 1 in; four: 1.012 in, two holes
    inch = 25.4
    assert bored([0.32 * inch] * 3, 0.4, inch, inch / 8) == (1, pytest.approx(inch))
    assert bored([0.32 * inch] * 4, 0.4, inch, inch / 8)[0] == 2


def test_a_hole_never_takes_a_part_of_a_cable() -> None:
    # by hand: three of 10.2 mm in two holes are two and one; two ask for 10.2 x sqrt(2 / 0.4) = 22.81 mm, the next
    # bit by 2 mm is 24. A third of the area each would have said 10.2 x sqrt(1.5 / 0.4) = 19.75 mm.
    assert bored([10.2] * 3, 0.4, 25.4, 2.0) == (2, 24.0)
    # a thick one goes alone: 14 / sqrt(0.4) = 22.14, 24 mm; beside it the two of 8: 8 x sqrt(2 / 0.4) = 17.89
    assert bored([8.0, 14.0, 8.0], 0.4, 25.4, 2.0) == (2, 24.0)


def test_a_cable_too_thick_for_the_largest_hole_has_one_alone() -> None:
    assert bored([18.0, 18.0], 0.4, 25.4, 2.0) == (2, 30.0)  # 18 / sqrt(0.4) = 28.46


def test_the_drilling_sheet_has_every_pull_once_and_sums_to_the_floors(quotes: dict[str, Quote]) -> None:
    for quote in quotes.values():
        for option in quote.options:
            table = drilling(quote, option)
            group = table.columns.index("Pull group")
            drilled = [*(row["id"] for row in rows_of_kind(quote, option, Pull)),
                       *(row["id"] for row in rows_of_kind(quote, option, Conduit))]
            assert sorted(row[group] for row in table.rows) == sorted(drilled)
            name = "Studs and joists crossed, about"
            studs = [int(row[table.columns.index(name)]) for row in table.rows
                     if name in table.columns and not row[group].startswith("CND-")]
            assert sum(studs) == sum(floor["studs_crossed"] for floor in rows_of_kind(quote, option, FloorFact))


def test_the_bit_holds_the_cables_of_its_hole_at_the_fill_limit(quotes: dict[str, Quote], demo: Catalog) -> None:
    # 40 % of the hole's area (standards/pull.csv): the cables' d^2 add up to no more than 0.4 x D^2 of each hole
    for quote in quotes.values():
        for option in quote.options:
            runs = {row["id"]: row for row in rows_of_kind(quote, option, CableRun)}
            for pull in rows_of_kind(quote, option, Pull):
                squares = [demo.cables[runs[id]["part"]].diameter_mm ** 2 for id in pull["basis"]]
                inside = [max(squares)] if pull["id"].endswith("-L") else squares  # one by one, or all together
                room = 0.4 * pull["hole_mm"] ** 2 + 1e-6
                ways = itertools.product(range(pull["holes"]), repeat=len(inside))  # which cable through which hole
                assert any(all(sum(square for square, at in zip(inside, way, strict=True) if at == hole) <= room
                               for hole in range(pull["holes"])) for way in ways), pull["id"]


def test_a_sleeve_goes_through_its_hole_and_its_cable_through_it(quotes: dict[str, Quote], demo: Catalog) -> None:
    exits = [(quote, option, row) for quote in quotes.values() for option in quote.options
             for row in rows_of_kind(quote, option, HouseExit)]
    assert exits
    for quote, option, row in exits:
        sleeve = demo.tubes[row["sleeve"]]
        runs = {run["id"]: run for run in rows_of_kind(quote, option, CableRun)}
        assert row["hole_mm"] >= sleeve.outside_mm > sleeve.inside_mm
        assert all(demo.cables[runs[id]["part"]].diameter_mm < sleeve.inside_mm for id in row["basis"])


# Masonry, rooms of the second example, option better. WOH is 6.1 by 4.4 m: its knob on the west wall 1.07 m from the
# south one, its loudspeakers on the north wall at 1.53 and 4.57 m. Up the west wall 4.4 - 1.07 = 3.33, along the north
# one 4.57: 7.90, down 0.3 m to each loudspeaker: 8.51 m; the way up from the knob is the one that leads to it.
def test_what_chases_share_is_cut_once(quotes: dict[str, Quote]) -> None:
    quote = quotes["2"]
    pulls = {row["id"]: row for row in rows_of_kind(quote, quote.options[1], Pull)}
    assert pulls["WOH-L"]["chase_m"] == pytest.approx(8.51, abs=0.01)
    assert pulls["KUC-L"]["chase_m"] == 0  # to the ceiling, in the chase that comes down to the knob
    assert (pulls["WOH-L"]["shares_with"], pulls["KUC-L"]["shares_with"]) == ("WOH-P1", "KUC-P1")


def test_the_ways_that_pulls_share_are_at_the_head_end_and_up_each_storey_in_stone(quotes: dict[str, Quote]) -> None:
    # Second example: cables come out 7.5 ft (2.29 m) under the ceiling of floor 0; two of five go on to floor 1, up its
    # 2.45 m and through its ceiling into the space above.
    quote = quotes["2"]
    ways = {row["id"]: row for row in rows_of_kind(quote, quote.options[1], SharedWay)}
    assert list(ways) == ["WAY-HE", "WAY-1"]
    assert (ways["WAY-HE"]["cables"], round(ways["WAY-HE"]["chase_m"], 2)) == (5, 2.29)
    assert (ways["WAY-1"]["cables"], ways["WAY-1"]["chase_m"]) == (2, 2.45)
    # Three of 10.2 mm stay on floor 0: two holes of 24 mm. 10.2 and 12.2 mm go on: sqrt((104.04 + 148.84) / 0.4) =
    # 25.14, a bit of 26 where 25.4 is the largest: a hole each, 12.2 / sqrt(0.4) = 19.29, 20 mm.
    through = [(ways[id]["through"], ways[id]["holes"], ways[id]["hole_mm"]) for id in ("WAY-HE", "WAY-1")]
    assert through == [(3, 2, 24.0), (2, 2, 20.0)]
    assert (ways["WAY-1"]["over"], ways["WAY-1"]["ceiling_holes"], ways["WAY-1"]["ceiling_mm"]) == (2, 2, 20.0)


# Second example, option better. Dining and living room: one cable of 10.2 mm from the head end, high across floor 0:
# 16.13, 18 mm. The kitchen is next to the head end; two of 8 mm go up from its knob into the ceiling: 17.89, 18 mm. In
# the bedroom 12.2 and 9.6 mm come down and go up at its first loudspeaker: sqrt((148.84 + 92.16) / 0.4) = 24.55, over
# 25.4 by the next bit: a hole each of 20 mm; 9.6 mm comes down at the second: 15.18, 16 mm. The bath's two hang in the
# ceiling that its cables lie over.
def test_in_stone_every_hole_is_listed_where_cables_leave_a_chase(quotes: dict[str, Quote]) -> None:
    quote = quotes["2"]
    holes = [(row["id"], row["through"], row["place"], row["cables"], row["holes"], row["hole_mm"])
             for row in rows_of_kind(quote, quote.options[1], StoneHole)]
    assert sorted(holes) == [
        ("ESS-H1", "wall", "", 1, 1, 18.0), ("KUC-H1", "hollow", "KUC-K1", 2, 1, 18.0),
        ("SCH-H1", "ceiling", "SCH-S1", 2, 2, 20.0), ("SCH-H2", "ceiling", "SCH-S2", 1, 1, 16.0),
        ("WOH-H1", "wall", "", 1, 1, 18.0)]


def test_a_chase_is_as_wide_as_its_cables_side_by_side(quotes: dict[str, Quote]) -> None:
    # to the kitchen's knob 10.2 mm comes down and two of 8 mm go up: 26.2; from the living room's two of 8 mm: 16
    quote = quotes["2"]
    pulls = {row["id"]: row for row in rows_of_kind(quote, quote.options[1], Pull)}
    assert {id: pulls[id]["chase_mm"] for id in ("KUC-P1", "WOH-L")} == {"KUC-P1": 26.2, "WOH-L": 16.0}


def test_the_drilling_sheet_says_what_framing_bears_and_what_to_look_for(
    quotes: dict[str, Quote]
) -> None:
    # standards/framing_limit.csv: 40 %, 50 %, 1 1/2 in, twice; pull.csv: 40 % and 1 in. Wood in the first house alone.
    said = {name: " ".join(drilling(quotes[name], quotes[name].options[1]).cautions) for name in ("1", "2")}
    for words in ("stud of an outside or load-bearing wall is bored to 40 %", "cut for more than 50 % of its width",
                  'steel strap 1 1/2"', "at least 2 times the wider", "Never notch or bore beams"):
        assert words in said["1"]
        assert words not in said["2"]
    assert all("look behind, scan, use a stop collar" in words for words in said.values())
    assert 'filled to 40 % and is 1" wide at most' in said["1"]
    assert "floor heating" in said["2"]
    assert "floor heating" not in said["1"]


def test_a_conduit_too_wide_for_joists_is_named_with_their_limit(quotes: dict[str, Quote]) -> None:
    quote = quotes["1"]  # bits of 1 3/8 and 2 in, joists 1 in at most
    assert ways_out(quote, quote.options[1]).notes == (
        'CND-1, CND-2: wider than the largest hole for joists, 1": along them or under them, never through one.',)


def test_the_sheet_says_how_many_cables_go_through_which_hole(quotes: dict[str, Quote]) -> None:
    quote = quotes["2"]
    table = shared_ways(quote, quote.options[1])
    said = {row[0]: dict(zip(table.columns, row, strict=True)) for row in table.rows}
    assert said["WAY-HE"]["Cables"] == "5; 3 out of its room; 2 on by WAY-1"
    assert said["WAY-HE"]["Hole"] == "2, bit 24 mm"

def test_in_framing_the_way_up_is_told_and_its_holes_are_the_pulls_own(quotes: dict[str, Quote]) -> None:
    quote = quotes["1"]  # head end in the basement: floors 1 and 2
    ways = rows_of_kind(quote, quote.options[1], SharedWay)
    assert [(row["id"], row["holes"], row["chase_m"]) for row in ways] == [("WAY-1", 0, 0.0), ("WAY-2", 0, 0.0)]

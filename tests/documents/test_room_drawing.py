"""The crew's room drawings: distances on the paper equal the facts, each place once, nothing unreadable."""

from __future__ import annotations

import re
from itertools import combinations
from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import Element

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from quoting.documents.plan_dimensions import rows_apart
from quoting.documents.plan_scale import fitting_scale
from quoting.documents.room_drawing import PAGE_MM, TALL_MM, room_drawing
from quoting.documents.room_plan import RoomPlan, RoomThing, room_plans
from quoting.documents.room_table import HEADINGS, small_length, table_rows
from quoting.quote import Quote
from quoting.sheets.obstacles import Obstacle
from quoting.units import UnitSystem, show_length
from tests.documents.svg_reader import COLOURS, colours, marks, measured, read_svg, rooms, texts, words_for_the_blind

if TYPE_CHECKING:
    from playwright.sync_api import Browser

ROUNDED_MM = 0.02
EXAMPLES = [(number, option) for number in "123" for option in (0, 1, 2)]
FT = 0.3048


def make_thing(id: str = "KIT-S1", **changes: Any) -> RoomThing:
    """A ceiling speaker that plays, left, 210 mm cut out."""
    values: dict[str, Any] = {
        "id": id, "kind": "ceiling", "live": True, "device": id.replace("-S", "-SP"), "part": "CS65-10",
        "x_m": 1.5, "y_m": 2.0, "height_m": 2.7,
        "side": "L", "bay": "", "cut_out_mm": 210.0, "depth_mm": 95.0, "bracket": "NB-CS65", "ring": "", "back_box": "",
        "paint": "", "angled": False, "moved_m": 0.0}
    return RoomThing(**{**values, **changes})


def make_keypad(id: str = "KIT-K1", **changes: Any) -> RoomThing:
    """A keypad in the middle of the west wall."""
    values: dict[str, Any] = {"kind": "keypad", "device": id.replace("-K", "-KP"), "part": "KP-20", "x_m": 0.0,
                              "height_m": 1.22, "side": "",
                              "cut_out_mm": 0.0, "bracket": "", "ring": "deep ring"}
    return make_thing(id, **{**values, **changes})


def make_plan(*things: RoomThing, **changes: Any) -> RoomPlan:
    """A kitchen of 6 m by 4 m; joists across it every 0.4 m."""
    values: dict[str, Any] = {
        "option": "good", "code": "KIT", "name": "Kitchen", "floor": 1, "zone": 1, "outdoor": False, "length_m": 6.0,
        "width_m": 4.0, "ceiling_height_m": 2.7, "ceiling_high_m": 2.7, "joists": "across", "joist_spacing_m": 0.4,
        "obstacles": (), "unplaced": (), "things": things}
    return RoomPlan(**{**values, **changes})


def drawn(plan: RoomPlan, system: UnitSystem = "metric") -> Element:
    """A room's drawing, read back."""
    return read_svg(room_drawing(plan, system).svg)


def found_at(root: Element, place: str) -> tuple[float, float]:
    """Metres from the room's west and south walls, as measured on the paper."""
    left, top, _, high = next(iter(rooms(root).values()))
    scale = float(root.get("data-mm-per-m", ""))
    mark = next(mark for mark in marks(root) if mark.place == place)
    return (mark.x_mm - left) / scale, (top + high - mark.y_mm) / scale


# ---------------------------------------------------------------- distances

@pytest.mark.parametrize(("number", "option"), EXAMPLES)
def test_every_place_of_an_example_is_drawn_once_where_it_is(
    number: str, option: int, quotes: dict[str, Quote]
) -> None:
    wrong = []
    for plan in room_plans(quotes[number], quotes[number].options[option]):
        root = drawn(plan, quotes[number].job.unit_system)
        scale = float(root.get("data-mm-per-m", ""))
        assert sorted(mark.place for mark in marks(root)) == sorted(thing.id for thing in plan.things)
        for thing in plan.things:
            x_m, y_m = found_at(root, thing.id)
            off = [abs(x_m - thing.x_m), abs(y_m - thing.y_m)]
            stacked = thing.kind in ("control", "keypad", "knob", "input", "tv")  # drawn off the wall, behind another
            wrong += [thing.id for miss in (sorted(off)[:1] if stacked else off) if miss > ROUNDED_MM / scale]

    assert wrong == []


def test_a_room_is_as_large_as_its_scale_says() -> None:
    root = drawn(make_plan(make_thing()))

    assert rooms(root)["KIT"][2:] == pytest.approx((6.0 * 20, 4.0 * 20), abs=ROUNDED_MM)  # 1:50


def test_the_paper_is_measured_in_millimetres() -> None:
    root = drawn(make_plan(make_thing()))

    assert root.get("width") == f"{root.get('viewBox', '').split()[2]}mm"


def test_a_cut_out_is_drawn_in_its_own_size() -> None:
    root = drawn(make_plan(make_thing(cut_out_mm=240.0)))
    hole = next(found for found in root.iter("g") if found.get("data-place"))[0].get("d", "")
    wide = re.match(r"M\S+ \S+a(\S+) ", hole)

    assert wide is not None and 2 * float(wide[1]) == pytest.approx(240.0 / 50, abs=ROUNDED_MM)


@pytest.mark.parametrize(("joists", "side"), [("across", "x1"), ("along", "y1")])
def test_joists_stand_where_their_spacing_puts_them(joists: Any, side: str) -> None:
    root = drawn(make_plan(make_thing(), joists=joists))
    left, top, _, high = rooms(root)["KIT"]
    lines = next(found for found in root.iter("g") if found.get("class") == "joists").iter("line")
    at = sorted(float(found.get(side, "")) for found in lines)
    steps = 15 if joists == "across" else 10  # 6 m and 4 m by 0.4 m
    wanted = [left + 8.0 * n for n in range(1, steps)] if joists == "across" else [
        top + high - 8.0 * n for n in range(steps - 1, 0, -1)]

    assert at == pytest.approx(wanted, abs=ROUNDED_MM)


def test_a_room_whose_joists_nobody_knows_shows_none() -> None:
    root = drawn(make_plan(make_thing(), joists=None))

    assert [found for found in root.iter("g") if found.get("class") == "joists"] == []


def test_what_is_in_the_way_is_drawn_where_it_was_typed() -> None:
    root = drawn(make_plan(make_thing(), obstacles=(Obstacle("fan", 3.0, 1.0),)))
    left, top, _, high = rooms(root)["KIT"]
    circle = next(found for found in root.iter("g") if found.get("class") == "obstacle")[0].get("d", "")
    at = re.match(r"M(\S+) (\S+?)a(\S+) ", circle)

    assert at is not None
    assert (float(at[1]) + float(at[3]), float(at[2])) == pytest.approx((left + 60, top + high - 20), abs=0.05)


@pytest.mark.parametrize("system", ["imperial", "metric"])
def test_each_distance_from_two_walls_is_written_in_the_jobs_units(system: UnitSystem) -> None:
    shown = texts(drawn(make_plan(make_thing(x_m=5.5 * FT, y_m=7 * FT), make_keypad(y_m=3 * FT)), system))

    assert {show_length(distance * FT, system) for distance in (5.5, 7.0, 3.0)} <= set(shown)


def test_two_things_at_one_spot_of_a_wall_keep_their_distance_along_it() -> None:
    root = drawn(make_plan(make_keypad(), make_keypad("KIT-I1", kind="input", height_m=0.3)))
    spots = [found_at(root, place) for place in ("KIT-K1", "KIT-I1")]

    assert [y for _, y in spots] == pytest.approx([2.0, 2.0], abs=0.001)
    assert spots[1][0] > spots[0][0]


def test_distances_that_are_the_same_share_a_dimension() -> None:
    things = (make_thing(y_m=2.591), make_keypad(y_m=2.5908))

    assert texts(drawn(make_plan(*things))).count("2.59 m") == 1


# ---------------------------------------------------------------- scale and paper

@pytest.mark.parametrize(("length_m", "width_m", "system", "ratio"), [
    (6.0, 4.0, "metric", 50), (2.1, 1.5, "metric", 20), (3.5, 2.2, "metric", 25), (16.0, 9.0, "metric", 125),
    (20 * FT, 13 * FT, "imperial", 48), (7 * FT, 5 * FT, "imperial", 24),
])
def test_a_room_takes_the_largest_scale_of_a_scale_rule_that_fits(
    length_m: float, width_m: float, system: UnitSystem, ratio: int
) -> None:
    assert fitting_scale(length_m, width_m, 148.0, 90.0, system).ratio == ratio


@pytest.mark.parametrize(("number", "option"), EXAMPLES)
def test_every_drawing_of_an_example_fits_half_a_page(number: str, option: int, quotes: dict[str, Quote]) -> None:
    large = []
    for plan in room_plans(quotes[number], quotes[number].options[option]):
        _, _, wide, high = map(float, drawn(plan, quotes[number].job.unit_system).get("viewBox", "").split())
        large += [plan.code] if wide > PAGE_MM or high > TALL_MM else []

    assert large == []


@given(st.lists(st.tuples(st.floats(0, 100), st.floats(0.1, 20)), max_size=12))
def test_labels_of_one_row_keep_apart(spans: list[tuple[float, float]]) -> None:
    ordered = sorted((start, start + wide) for start, wide in spans)
    rows = rows_apart(ordered, 1.0)

    assert [1 for (one, row), (other, next_row) in combinations(zip(ordered, rows, strict=True), 2)
            if row == next_row and other[0] < one[1] + 1.0] == []


# ---------------------------------------------------------------- words

def test_the_table_has_a_row_a_place_and_a_cell_a_heading(quotes: dict[str, Quote]) -> None:
    quote = quotes["3"]
    plans = room_plans(quote, quote.options[0])

    assert [plan.code for plan in plans if len(table_rows(plan, "imperial")) != len(plan.things) + len(plan.exits)
            or {len(row) for row in table_rows(plan, "imperial")} != {len(HEADINGS)}] == []


def test_a_row_says_what_the_crew_needs() -> None:
    thing = make_thing(bay="centre of bay 4", angled=True, paint="sage", back_box="SB-CS65", bracket="")

    assert table_rows(make_plan(thing), "metric") == ((
        "KIT-S1", "ceiling speaker KIT-SP1, CS65-10", "1.50 m", "2.00 m", "2.70 m",
        "L", "centre of bay 4", "210 mm", "95 mm",
        "–", "SB-CS65", "sage", "towards the room's middle"),)


def test_a_place_that_is_only_wired_says_so() -> None:
    picture = room_drawing(make_plan(make_thing(live=False, part="")), "metric")

    assert picture.rows[0][1] == "ceiling speaker, wired only: coiled tail"
    assert any("coil and tag the tail" in note for note in picture.notes)


def test_a_thing_on_a_wall_is_said_to_be_on_it() -> None:
    rows = table_rows(make_plan(make_keypad(), make_keypad("KIT-K2", x_m=6.0)), "metric")

    assert [row[2] for row in rows] == ["on the west wall", "6.00 m, on the east wall"]


# 210 mm / 25.4 = 8.268 in = 8 4.3/16 in; 203.2 mm is 8 in exactly; 25.4 mm an inch by definition.
@pytest.mark.parametrize(("length_mm", "words"), [(210.0, '8 1/4" (210 mm)'), (203.2, '8" (203 mm)'),
                                                  (9.5, '3/8" (10 mm)')])
def test_a_hole_is_given_in_inches_to_a_sixteenth(length_mm: float, words: str) -> None:
    assert small_length(length_mm, "imperial") == words


def test_every_place_is_told_in_the_words_for_the_blind() -> None:
    told = words_for_the_blind(drawn(make_plan(make_thing(), make_keypad())))

    assert "KIT-S1: ceiling speaker KIT-SP1, CS65-10, 1.50 m from the west wall, 2.00 m from the south" in told
    assert "KIT-K1: keypad KIT-KP1, KP-20" in told


def test_an_obstacle_without_a_position_is_a_note() -> None:
    notes = room_drawing(make_plan(make_thing(), unplaced=("duct",)), "metric").notes

    assert any("duct" in note for note in notes)


def test_typed_names_are_escaped() -> None:
    plan = make_plan(make_thing(), name="<b>Bar</b>", obstacles=(Obstacle('"><script>', 3.0, 1.0),))

    assert '"><script>' in texts(drawn(plan))


def test_a_drawing_names_no_colour_and_tells_wired_only_by_dashes() -> None:
    root = drawn(make_plan(make_thing(), make_thing("KIT-S2", x_m=4.5, live=False)))
    holes = {found.get("data-place"): found[0] for found in root.iter("g") if found.get("data-place")}

    assert colours(root) <= COLOURS
    assert holes["KIT-S2"].get("stroke-dasharray") and not holes["KIT-S1"].get("stroke-dasharray")


def test_an_obstacle_typed_in_the_workbook_reaches_the_plan(quotes: dict[str, Quote]) -> None:
    quote = quotes["1"]
    rooms_with = tuple(replace(room, obstacles="fan at 10,9; duct; lamp at 900,1") if room.code == "KAB" else room
                       for room in quote.job.rooms)
    plan = next(plan for plan in room_plans(replace(quote, job=replace(quote.job, rooms=rooms_with)), quote.options[0])
                if plan.code == "KAB")

    assert plan.obstacles == (Obstacle("fan", pytest.approx(10 * FT), pytest.approx(9 * FT)),)
    assert plan.unplaced == ("duct", "lamp")


# ---------------------------------------------------------------- left and right, low and high

@pytest.mark.parametrize(("left", "right", "wall"), [
    # North in front of you, west is to your left; facing west it is the south (the points of a compass)
    ((1.0, 2.0), (5.0, 2.0), "north"), ((5.0, 2.0), (1.0, 2.0), "south"), ((3.0, 1.0), (3.0, 3.0), "west"),
    ((3.0, 3.0), (3.0, 1.0), "east")])
def test_a_sheet_says_which_wall_left_and_right_are_seen_facing(
    left: tuple[float, float], right: tuple[float, float], wall: str
) -> None:
    things = (make_thing(x_m=left[0], y_m=left[1]), make_thing("KIT-S2", x_m=right[0], y_m=right[1], side="R"))

    assert f"L and R are left and right as seen facing the {wall} wall." in room_drawing(make_plan(*things),
                                                                                     "metric").notes


def test_a_sheet_names_the_wall_of_the_television_that_people_face() -> None:
    things = (make_thing(), make_thing("KIT-S2", x_m=4.5, side="R"),
              make_keypad("KIT-T1", kind="tv", x_m=3.0, y_m=4.0))

    assert any(note.endswith("facing the north wall, where the television plate is.")
               for note in room_drawing(make_plan(*things), "metric").notes)


@pytest.mark.parametrize(("kind", "said"), [("ceiling", "alternate over the ceiling"),
                                            ("wall", "(KIT-S1 and KIT-S2: north wall; KIT-S3 and KIT-S4: south wall)")])
def test_pairs_that_face_different_walls_are_told_apart(kind: str, said: str) -> None:
    places = (("KIT-S1", "L", 1.0, 4.0), ("KIT-S2", "R", 5.0, 4.0), ("KIT-S3", "L", 5.0, 0.0),
              ("KIT-S4", "R", 1.0, 0.0))
    things = tuple(make_thing(id, kind=kind, side=side, x_m=x, y_m=y) for id, side, x, y in places)

    assert any(said in note for note in room_drawing(make_plan(*things), "metric").notes)


@pytest.mark.parametrize(("low", "way"), [("south", (0, -1)), ("north", (0, 1)), ("west", (1, 0)), ("east", (-1, 0))])
def test_an_arrow_points_up_the_slope(low: str, way: tuple[int, int]) -> None:
    root = drawn(make_plan(make_thing(), ceiling_high_m=4.0, low_wall=low))
    arrow = next(found for found in root.iter("g") if found.get("class") == "slope")
    shaft = next(arrow.iter("line"))
    along = [float(shaft.get(f"{axis}2", "")) - float(shaft.get(f"{axis}1", "")) for axis in "xy"]

    assert [(value > 0.1) - (value < -0.1) for value in along] == list(way)


def test_a_slope_that_nobody_said_is_said_to_be_taken_so() -> None:
    taken, typed = (room_drawing(make_plan(make_thing(), ceiling_high_m=4.0, low_wall="west", low_wall_said=said),
                                 "metric").notes for said in (False, True))

    assert [any("2.70 m over the west wall, 4.00 m over the east wall, taken so" in note for note in notes)
            for notes in (taken, typed)] == [True, False]


# ---------------------------------------------------------------- as a browser draws it

@pytest.fixture(scope="module")
def seen(quotes: dict[str, Quote], browser: Browser) -> dict[str, Any]:
    """Boxes of texts, labels and marks of every room of the examples' smallest and largest options."""
    pictures = {f"{number}{option}{plan.code}": room_drawing(plan, quotes[number].job.unit_system).svg
                for number, option in EXAMPLES if option != 1
                for plan in room_plans(quotes[number], quotes[number].options[option])}
    body = "".join(f"<div id='d{key}'>{svg}</div>" for key, svg in pictures.items())
    return dict(measured(browser, body, """keys => Object.fromEntries(keys.map(key => {
        const svg = document.getElementById('d' + key).querySelector('svg');
        const box = node => { const r = node.getBoundingClientRect(); return [r.left, r.top, r.right, r.bottom]; };
        const all = what => [...svg.querySelectorAll(what)].map(box);
        return [key, {whole: box(svg), texts: all('text'), labels: all('.label'), marks: all('.mark[data-place]')}];
    }))""", list(pictures)))


def _overlap(one: list[float], other: list[float], by: float) -> bool:
    return (min(one[2], other[2]) - max(one[0], other[0]) > by and min(one[3], other[3]) - max(one[1], other[1]) > by)


def test_every_text_lies_inside_its_drawing(seen: dict[str, Any]) -> None:
    out = [key for key, at in seen.items() for box in at["texts"]
           if box[0] < at["whole"][0] or box[1] < at["whole"][1] - 0.5 or box[2] > at["whole"][2] + 0.5
           or box[3] > at["whole"][3] + 0.5]

    assert out == []


def test_no_label_lies_over_another(seen: dict[str, Any]) -> None:
    over = [key for key, at in seen.items() for one, other in combinations(at["labels"], 2) if _overlap(one, other, 1)]

    assert over == []


def test_no_label_lies_over_a_symbol(seen: dict[str, Any]) -> None:
    over = [key for key, at in seen.items() for label in at["labels"] for mark in at["marks"]
            if _overlap(label, mark, 2.5)]

    assert over == []


def test_things_on_one_spot_are_told_of_and_others_are_not() -> None:
    there = make_thing("KIT-S1")
    crowded, apart = (room_drawing(make_plan(there, replace(there, id="KIT-S2", x_m=x_m)), "metric").notes
                      for x_m in (there.x_m, there.x_m + 1))
    assert [note.startswith("KIT-S1, KIT-S2 were typed on one spot") for note in crowded if "spot" in note] == [True]
    assert not any("spot" in note for note in apart)

"""Floor drawings: distances equal the facts, each place is drawn once, every room is named, nothing overlaps."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations
from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import Element

import pytest
from msgspec.structs import replace

from quoting.documents.floor_drawing import FloorDrawing, floor_drawings
from quoting.documents.floor_plan import (
    FloorPlanView,
    PlanHeadEnd,
    PlanMark,
    PlanRack,
    PlanRoom,
    floor_plans,
    rows_of_kind,
)
from quoting.documents.formats import formats_for
from quoting.documents.language import language_for
from quoting.documents.plan_symbols import wall_of
from quoting.documents.room_drawing import room_drawing
from quoting.documents.room_plan import room_plans
from quoting.facts import HeadEndPlace, IdlePlace, KeypadFact, Place, RoomInput, Speaker
from quoting.quote import PricedOption, Quote
from quoting.units import UnitSystem
from tests.documents.svg_reader import (
    COLOURS,
    Mark,
    colours,
    marks,
    measured,
    read_svg,
    rooms,
    texts,
    words_for_the_blind,
)

if TYPE_CHECKING:
    from playwright.sync_api import Browser

ROUNDED_MM = 0.011  # two numbers of two places each
EXAMPLES = [(number, option) for number in "123" for option in (0, 1, 2)]
ELEMENTS = {"svg", "title", "desc", "g", "rect", "line", "path", "text"}


def make_plan_room(code: str = "KIT", **changes: Any) -> PlanRoom:
    """A kitchen of 6 m by 4 m with two ceiling speakers and a keypad, without a plan position."""
    found = (PlanMark(place=f"{code}-S1", kind="ceiling", live=True, x_m=1.5, y_m=2.0),
             PlanMark(place=f"{code}-S2", kind="ceiling", live=False, x_m=4.5, y_m=2.0),
             PlanMark(place=f"{code}-K1", kind="keypad", live=True, x_m=0.0, y_m=2.0))
    values: dict[str, Any] = {"code": code, "name": "Kitchen", "outdoor": False, "length_m": 6.0, "width_m": 4.0,
                              "x_m": None, "y_m": None, "marks": found}
    return PlanRoom(**{**values, **changes})


def make_view(*found: PlanRoom, head_end: PlanHeadEnd | None = None) -> FloorPlanView:
    """The ground floor of an option."""
    return FloorPlanView(number=0, option="good", rooms=found, head_end=head_end)


def draw(*views: FloorPlanView, system: UnitSystem = "metric") -> tuple[FloorDrawing, ...]:
    """Drawings as an English reader sees them."""
    return floor_drawings(views, system, formats_for("en_GB", "GBP", system).length, language_for("en_GB", {}))


def drawn(*found: PlanRoom, head_end: PlanHeadEnd | None = None) -> Element:
    """One floor's drawing, read back."""
    return read_svg(draw(make_view(*found, head_end=head_end))[0].svg)


def of_example(quote: Quote, option: PricedOption) -> tuple[tuple[FloorPlanView, FloorDrawing], ...]:
    """An example's floors and their drawings."""
    terms, system = quote.job.terms, quote.job.unit_system
    formats = formats_for(terms.locale, terms.currency, system)
    views = floor_plans(quote, option)
    return tuple(zip(views, floor_drawings(views, system, formats.length, language_for(terms.locale, {})), strict=True))


# ---------------------------------------------------------------- distances

@pytest.mark.parametrize(("number", "option"), EXAMPLES)
def test_every_room_of_an_example_is_drawn_to_scale(number: str, option: int, quotes: dict[str, Quote]) -> None:
    quote = quotes[number]
    wrong = []
    for view, picture in of_example(quote, quote.options[option]):
        root = read_svg(picture.svg)
        scale, boxes = float(root.get("data-mm-per-m", "")), rooms(root)
        wrong += [room.code for room in view.rooms
                  if abs(boxes[room.code][2] - room.length_m * scale) > ROUNDED_MM
                  or abs(boxes[room.code][3] - room.width_m * scale) > ROUNDED_MM]

    assert wrong == []


@pytest.mark.parametrize(("number", "option"), EXAMPLES)
def test_every_speaker_of_an_example_stands_where_its_place_is(
    number: str, option: int, quotes: dict[str, Quote]
) -> None:
    quote = quotes[number]
    places = {row["id"]: row for row in rows_of_kind(quote, quote.options[option], Place)}
    wrong = []
    for _, picture in of_example(quote, quote.options[option]):
        root = read_svg(picture.svg)
        scale, boxes = float(root.get("data-mm-per-m", "")), rooms(root)
        for mark in marks(root):
            place = places.get(mark.place)
            if place is None or place["device"] != "speaker":
                continue
            left, top, _, high = boxes[place["room"]]
            if (abs(mark.x_mm - left - place["x_m"] * scale) > 2 * ROUNDED_MM
                    or abs(top + high - mark.y_mm - place["y_m"] * scale) > 2 * ROUNDED_MM):
                wrong.append(mark.place)

    assert wrong == []


def test_rooms_with_plan_positions_lie_as_far_apart_as_measured() -> None:
    root = drawn(make_plan_room("A", x_m=3.0, y_m=2.0), make_plan_room("B", x_m=9.5, y_m=7.0))
    scale, boxes = float(root.get("data-mm-per-m", "")), rooms(root)

    apart = (boxes["B"][0] - boxes["A"][0], boxes["B"][1] - boxes["A"][1])

    assert apart == pytest.approx((6.5 * scale, -5.0 * scale), abs=2 * ROUNDED_MM)  # y runs north, paper runs down


def test_all_floors_of_a_house_have_one_scale() -> None:
    large = make_plan_room("A", length_m=20.0, width_m=9.0)
    pictures = draw(make_view(large), make_view(make_plan_room("B")))

    assert len({read_svg(picture.svg).get("data-mm-per-m") for picture in pictures}) == 1


def test_things_at_one_spot_of_a_wall_keep_it_along_the_wall_and_lie_clear_of_each_other() -> None:
    spot = tuple(PlanMark(place=f"P{n}", kind="keypad", live=True, x_m=0.0, y_m=2.0) for n in range(3))
    root = drawn(make_plan_room("A", marks=spot))
    left, top, _, high = rooms(root)["A"]
    found = list(marks(root))

    assert [mark.y_mm for mark in found] == pytest.approx([top + high / 2] * 3, abs=0.02)
    off = [mark.x_mm - left for mark in found]
    assert off[0] == pytest.approx(0, abs=0.02) and min(off[1] - off[0], off[2] - off[1]) > 2.2  # as deep as a keypad


def _along(mark: Mark, box: tuple[float, float, float, float], scale: float, place: Mapping[str, Any]) -> list[float]:
    """How far a mark is drawn from where its fact says, along its wall, or both ways in the open. [m]"""
    left, top, wide, high = box
    off = [abs((mark.x_mm - left) / scale - place["x_m"]), abs((top + high - mark.y_mm) / scale - place["y_m"])]
    wall = wall_of(place["x_m"], place["y_m"], wide / scale, high / scale)
    return [off[1]] if wall in ("west", "east") else [off[0]] if wall else off


@pytest.mark.parametrize("number", "123")
def test_the_house_plan_and_the_placement_plans_draw_a_place_where_its_fact_says(
    number: str, quotes: dict[str, Quote]
) -> None:
    quote = quotes[number]
    best, system = quote.options[-1], quote.job.unit_system
    places = {row["id"]: row for row in rows_of_kind(quote, best, Place)}
    places |= {row["id"]: {**row, "room": row["room"] or "HE"} for row in rows_of_kind(quote, best, HeadEndPlace)}
    sheets = [picture.svg for _, picture in of_example(quote, best)]
    sheets += [room_drawing(plan, system).svg for plan in room_plans(quote, best)]
    drawn_at: dict[str, list[float]] = {}
    for root in map(read_svg, sheets):
        scale, boxes = float(root.get("data-mm-per-m", "")), rooms(root)
        for mark in marks(root):
            if mark.place in places:
                place = places[mark.place]
                off = max(_along(mark, boxes[place["room"]], scale, place)) * scale
                drawn_at.setdefault(mark.place, []).append(off)

    assert {place for place, off in drawn_at.items() if len(off) != 2 or max(off) > 2 * ROUNDED_MM} == set()
    assert len(drawn_at) > 9 and "HE" in drawn_at


@pytest.mark.parametrize("system", ["imperial", "metric"])
def test_the_scale_bar_is_as_long_as_it_says(system: UnitSystem) -> None:
    root = read_svg(draw(make_view(make_plan_room()), system=system)[0].svg)
    bar = next(found for found in root.iter("g") if found.get("class") == "scale")
    length_m = {"imperial": 10 * 0.3048, "metric": 4.0}[system]
    wide = sum(float(part.get("width", "")) for part in bar.iter("rect"))

    assert wide == pytest.approx(length_m * float(root.get("data-mm-per-m", "")), abs=0.05)
    assert texts(bar)[1] == formats_for("en_GB", "GBP", system).length(length_m)


# ---------------------------------------------------------------- what is drawn

@pytest.mark.parametrize(("number", "option"), EXAMPLES)
def test_every_place_that_an_option_equips_or_wires_is_drawn_once(
    number: str, option: int, quotes: dict[str, Quote]
) -> None:
    quote, chosen = quotes[number], quotes[number].options[option]
    live = [row["place"] for kind in (Speaker, KeypadFact) for row in rows_of_kind(quote, chosen, kind)]
    live += [row["basis"][0] for row in rows_of_kind(quote, chosen, RoomInput)]
    idle = [row["basis"][0] for row in rows_of_kind(quote, chosen, IdlePlace)]

    found = [mark for _, picture in of_example(quote, chosen) for mark in marks(read_svg(picture.svg))
             if mark.place != "HE"]

    assert sorted((mark.place, mark.live) for mark in found) == sorted(
        [*((place, True) for place in live), *((place, False) for place in idle)])


@pytest.mark.parametrize("number", "123")
def test_the_head_end_is_drawn_on_its_floor_alone(number: str, quotes: dict[str, Quote]) -> None:
    quote = quotes[number]
    floors = [view.number for view, picture in of_example(quote, quote.options[0])
              for mark in marks(read_svg(picture.svg)) if mark.place == "HE"]

    assert floors == [quote.job.head_end.floor]


def make_closet(**changes: Any) -> PlanRoom:
    """A closet of 2 m by 1.5 m."""
    return make_plan_room("HE", name="Closet", length_m=2.0, width_m=1.5, marks=(), **changes)


def make_head_end(room: str = "HE", **changes: Any) -> PlanHeadEnd:
    """Cables come out in the middle of the closet's east wall; the rack stands 0.15 m off it."""
    rack = PlanRack(x_m=1.55, y_m=0.75, east_m=0.6, north_m=0.6)
    return PlanHeadEnd(**{"name": "Closet", "room": room, "x_m": 2.0, "y_m": 0.75, "racks": (rack,), **changes})


def found_head_end(root: Element, room: str) -> tuple[float, float]:
    """Where it is drawn, in metres from the room's west and south walls."""
    scale, (left, top, _, high) = float(root.get("data-mm-per-m", "")), rooms(root)[room]
    mark = next(mark for mark in marks(root) if mark.place == "HE")
    return (mark.x_mm - left) / scale, (top + high - mark.y_mm) / scale


def test_a_head_end_in_a_room_stands_where_it_was_planned() -> None:
    root = drawn(make_plan_room(), head_end=make_head_end("KIT", x_m=6.0, y_m=1.0, racks=()))

    assert found_head_end(root, "KIT") == pytest.approx((6.0, 1.0), abs=0.01)


def test_a_closet_of_the_head_end_is_drawn_with_its_racks_to_scale() -> None:
    root = drawn(make_plan_room("A"), make_closet(), head_end=make_head_end())
    scale, (left, top, _, high) = float(root.get("data-mm-per-m", "")), rooms(root)["HE"]
    rack = next(found for found in root.iter("rect") if found.get("class") == "rack")
    x, y, wide, deep = (float(rack.get(side, "")) / scale for side in ("x", "y", "width", "height"))

    assert found_head_end(root, "HE") == pytest.approx((2.0, 0.75), abs=0.01)
    assert (wide, deep) == pytest.approx((0.6, 0.6), abs=0.01)
    assert (x - left / scale + 0.3, (top + high) / scale - y - 0.3) == pytest.approx((1.55, 0.75), abs=0.01)


@pytest.mark.parametrize("side", ["north", "east", "south", "west"])
@pytest.mark.parametrize("plan", [{}, {"x_m": 8.0, "y_m": 9.0}])
def test_a_closet_stands_at_the_side_of_its_neighbour(side: str, plan: dict[str, float]) -> None:
    at = {"north": (0.0, 2.75), "east": (4.0, 0.0), "south": (0.0, -2.75), "west": (-4.0, 0.0)}[side]
    closet = make_closet(**({"x_m": 8.0 + at[0], "y_m": 9.0 + at[1]} if plan else {}))  # engineering puts it there
    root = drawn(make_plan_room("A", **plan), make_plan_room("B", **({"x_m": 30.0, "y_m": 9.0} if plan else {})),
                 closet, head_end=make_head_end(beside="A", side=side))
    scale, boxes = float(root.get("data-mm-per-m", "")), rooms(root)
    middles = {code: (left + wide / 2, top + high / 2) for code, (left, top, wide, high) in boxes.items()}
    off = [(middles["HE"][axis] - middles["A"][axis]) / scale * sign for axis, sign in ((0, 1), (1, -1))]

    assert off == pytest.approx(at, abs=0.01)  # a room of 6 by 4 m: half of both sizes between the middles


def test_a_head_end_that_nobody_designed_is_named_under_the_plan() -> None:
    root = drawn(make_plan_room("A"), head_end=PlanHeadEnd(name="Shed", room=""))

    assert "Shed" in texts(root) and [mark.place for mark in marks(root)].count("HE") == 1


def test_filled_and_dashed_tell_now_from_later_without_a_colour() -> None:
    root = drawn(make_plan_room())
    shapes = {found.get("data-place", ""): next(iter(found)) for found in root.iter("g") if found.get("data-place")}

    assert shapes["KIT-S1"].get("fill") == "currentColor" and "stroke" not in shapes["KIT-S1"].attrib
    assert shapes["KIT-S2"].get("fill") == "none" and shapes["KIT-S2"].get("stroke-dasharray")


def test_a_drawing_names_no_colour_of_its_own() -> None:
    assert colours(drawn(make_plan_room())) <= COLOURS


def test_a_drawing_holds_shapes_and_text_and_nothing_else() -> None:
    root = drawn(make_plan_room(), head_end=PlanHeadEnd(name="Hall", room="", x_m=None, y_m=None))

    assert {found.tag for found in root.iter()} <= ELEMENTS
    assert [name for found in root.iter() for name in found.attrib if "href" in name or name.startswith("on")] == []


# ---------------------------------------------------------------- words

@pytest.mark.parametrize(("number", "option"), EXAMPLES)
def test_every_room_is_named_in_the_words_for_the_blind(number: str, option: int, quotes: dict[str, Quote]) -> None:
    quote = quotes[number]
    silent = [room.name for view, picture in of_example(quote, quote.options[option]) for room in view.rooms
              if room.name not in words_for_the_blind(read_svg(picture.svg))
              or room.name not in " ".join(picture.sentences)]

    assert silent == []


def test_a_room_is_told_in_a_sentence() -> None:
    told = draw(make_view(make_plan_room()))[0].sentences

    assert told == ("Kitchen, 6 m by 4 m: 1 ceiling speaker and 1 keypad; wired for later: 1 ceiling speaker.",)


def test_a_room_that_an_option_leaves_out_says_so() -> None:
    told = draw(make_view(make_plan_room(marks=())))[0].sentences

    assert told == ("Kitchen, 6 m by 4 m: nothing in this option.",)


@pytest.mark.parametrize("name", ["<b>Bar</b> & Grill", "חדר שינה", "غرفة النوم"])
def test_a_name_in_any_letters_is_drawn_as_it_was_typed(name: str) -> None:
    assert " ".join(name.split()) in " ".join(texts(drawn(make_plan_room(name=name))))


def test_a_room_too_small_for_its_name_shows_its_code_and_the_key_has_the_name() -> None:
    house = make_plan_room("HAL", name="Hall", length_m=14.0, width_m=8.0, x_m=7.0, y_m=4.0, marks=())
    small = make_plan_room("PWDR", name="Powder room behind the stairs", length_m=2.2, width_m=1.6, x_m=15.1, y_m=0.8,
                           marks=())
    shown = texts(drawn(house, small))

    assert shown.count("PWDR") == 2 and "Powder room behind the stairs" in shown


def test_rooms_that_overlap_as_measured_are_said_to() -> None:
    root = drawn(make_plan_room("A", name="Den", x_m=3.0, y_m=2.0), make_plan_room("B", name="Bar", x_m=6.0, y_m=2.0))

    assert "As measured, these overlap: Den and Bar." in " ".join(texts(root))


def test_rooms_that_are_only_set_side_by_side_are_said_to_be() -> None:
    assert "where each one lies is not measured yet" in " ".join(texts(drawn(make_plan_room("A"), make_plan_room("B"))))


def test_a_measured_plan_makes_no_excuse() -> None:
    root = drawn(make_plan_room("A", x_m=3.0, y_m=2.0), make_plan_room("B", x_m=9.0, y_m=2.0))

    assert "measured" not in " ".join(texts(root)) and "Places may move" in " ".join(texts(root))


# ---------------------------------------------------------------- the same every time, and nothing overlaps

def test_the_order_of_the_rooms_changes_no_byte(quotes: dict[str, Quote]) -> None:
    quote = quotes["3"]
    turned = replace(quote, job=replace(quote.job, rooms=quote.job.rooms[::-1]))

    first = [picture.svg for _, picture in of_example(quote, quote.options[1])]

    assert first == [picture.svg for _, picture in of_example(turned, quote.options[1])]


@pytest.fixture(scope="module")
def seen(quotes: dict[str, Quote], browser: Browser) -> dict[str, Any]:
    """What a browser measures of every drawing of the examples: boxes of texts, names and marks, and the viewBox."""
    pictures = {f"{number}-{option}-{view.number}": picture.svg for number, option in EXAMPLES
                for view, picture in of_example(quotes[number], quotes[number].options[option])}
    body = "".join(f"<div id='d{key}' style='width:92mm'>{svg}</div>" for key, svg in pictures.items())
    return dict(measured(browser, body, """keys => Object.fromEntries(keys.map(key => {
        const svg = document.getElementById('d' + key).querySelector('svg');
        const box = node => { const r = node.getBoundingClientRect(); return [r.left, r.top, r.right, r.bottom]; };
        const all = what => [...svg.querySelectorAll(what)].map(box);
        return [key, {whole: box(svg), texts: all('text'), names: all('.name'),
                      marks: all('.mark[data-place]')}];
    }))""", list(pictures)))


def _overlap(one: list[float], other: list[float], by: float) -> bool:
    return (min(one[2], other[2]) - max(one[0], other[0]) > by and min(one[3], other[3]) - max(one[1], other[1]) > by)


def test_every_text_lies_inside_its_drawing(seen: dict[str, Any]) -> None:
    out = [key for key, at in seen.items() for box in at["texts"]
           if box[0] < at["whole"][0] or box[2] > at["whole"][2] + 0.5 or box[3] > at["whole"][3] + 0.5]

    assert out == []


def test_no_name_lies_over_another(seen: dict[str, Any]) -> None:
    over = [key for key, at in seen.items() for one, other in combinations(at["names"], 2) if _overlap(one, other, 1)]

    assert over == []


def test_no_name_lies_over_a_symbol(seen: dict[str, Any]) -> None:
    air_px = 2.5  # a text's box in a browser is higher than its letters
    over = [key for key, at in seen.items() for name in at["names"] for mark in at["marks"]
            if _overlap(name, mark, air_px)]

    assert over == []


def test_a_name_beside_a_small_room_keeps_clear_of_the_head_end() -> None:
    small = make_plan_room("PWDR", name="Powder room", length_m=1.2, width_m=1.0, x_m=15.0, y_m=0.6, marks=(
        PlanMark(place="PWDR-S1", kind="stereo", live=True, x_m=0.6, y_m=0.5),))
    house = make_plan_room("HAL", name="Hall", length_m=14.0, width_m=8.0, x_m=7.0, y_m=4.0, marks=())
    root = drawn(house, small, make_closet(x_m=17.2, y_m=0.6), head_end=make_head_end(x_m=0.0))
    symbol = next(mark for mark in marks(root) if mark.place == "HE")
    name = next(found for found in root.iter("text") if "Powder" in "".join(found.itertext()))

    assert abs(float(name.get("y", "")) - symbol.y_mm) > 1.5

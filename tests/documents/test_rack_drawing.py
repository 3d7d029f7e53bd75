"""The rack from the front: units and panels to scale, each thing once, plugged in where the facts say."""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, Any
from xml.etree.ElementTree import Element

import pytest

from quoting.documents.crew_hookup import hook_up_sheet
from quoting.documents.floor_plan import rows_of_kind
from quoting.documents.rack_drawing import rack_drawing
from quoting.documents.rack_elevation import HEADINGS, RackElevation, RackThing, rack_elevations, table_rows
from quoting.documents.room_drawing import PAGE_MM
from quoting.facts import AudioSource, Connection, RackSlot
from quoting.quote import Quote
from tests.documents.svg_reader import COLOURS, colours, measured, read_svg, texts, words_for_the_blind

if TYPE_CHECKING:
    from playwright.sync_api import Browser

UNIT_MM, PANEL_MM = 4.445, 48.26  # IEC 60297-3-100 / EIA-310: 1 U is 44.45 mm, a panel 482.6 mm wide; at 1:10
ROUNDED_MM = 0.011
EXAMPLES = [(number, option) for number in "123" for option in (0, 1, 2)]


def make_rack_thing(id: str = "U4", **changes: Any) -> RackThing:
    """A 2 U amplifier on units 4 and 5."""
    values: dict[str, Any] = {
        "id": id, "position_u": 4, "height_u": 2, "what": "amplifier", "device": "AMP-1", "part": "PA12-50",
        "words": "12-channel amplifier", "on_shelf": False, "depth_mm": 410.0, "weight_kg": 10.0, "watts": 180.0,
        "outlet": "surge strip 1: 2, 3", "circuit": 1, "port": ""}
    return RackThing(**{**values, **changes})


def make_rack(*things: RackThing, **changes: Any) -> RackElevation:
    """A rack of 12 units."""
    values: dict[str, Any] = {"option": "good", "id": "RACK-1", "words": "Wall rack, 12U", "height_u": 12, "used_u": 2,
                              "weight_kg": 10.0, "working_w": 180.0, "heat_w": 120.0, "circuits": 1, "things": things}
    return RackElevation(**{**values, **changes})


def panels(root: Element) -> dict[str, Element]:
    """Slot id -> its group."""
    return {found.get("data-slot", ""): found for found in root.iter("g") if found.get("data-slot")}


def frame(root: Element) -> tuple[float, float]:
    """Top of unit `height_u` and bottom of unit 1 on the paper. [mm]"""
    outer = next(found for found in root.iter("rect") if found.get("class") == "frame")
    top, high = float(outer.get("y", "")), float(outer.get("height", ""))
    return top + 1.0, top + high - 1.0  # the frame is drawn 1 mm outside the units


@pytest.mark.parametrize(("number", "option"), EXAMPLES)
def test_every_panel_of_an_example_stands_on_its_units(number: str, option: int, quotes: dict[str, Quote]) -> None:
    quote = quotes[number]
    wrong = []
    for rack in rack_elevations(quote, quote.options[option]):
        if not rack.height_u:
            continue
        root = read_svg(rack_drawing(rack, "metric").svg)
        (top, bottom), drawn = frame(root), panels(root)
        assert bottom - top == pytest.approx(rack.height_u * UNIT_MM, abs=ROUNDED_MM)
        for thing in rack.things:
            shape = drawn[thing.id][0]
            low = float(shape.get("y", "")) + float(shape.get("height", ""))
            if thing.on_top:
                wrong += [thing.id] if low > top else []  # over the frame
            elif not thing.on_shelf and (
                    abs(bottom - low - (thing.position_u - 1) * UNIT_MM) > 2 * ROUNDED_MM
                    or abs(float(shape.get("height", "")) - thing.height_u * UNIT_MM) > ROUNDED_MM
                    or float(shape.get("width", "")) != PANEL_MM):
                wrong.append(thing.id)

    assert wrong == []


@pytest.mark.parametrize(("number", "option"), EXAMPLES)
def test_every_slot_of_an_example_is_drawn_once(number: str, option: int, quotes: dict[str, Quote]) -> None:
    quote, chosen = quotes[number], quotes[number].options[option]
    drawn = [found.get("data-slot") for rack in rack_elevations(quote, chosen)
             for found in read_svg(rack_drawing(rack, "metric").svg).iter("g") if found.get("data-slot")]

    assert sorted(drawn) == sorted(row["id"] for row in rows_of_kind(quote, chosen, RackSlot))


@pytest.mark.parametrize(("number", "option"), EXAMPLES)
def test_the_table_has_each_device_with_its_outlet_and_port(
    number: str, option: int, quotes: dict[str, Quote]
) -> None:
    quote, chosen = quotes[number], quotes[number].options[option]
    rows = [row for rack in rack_elevations(quote, chosen) for row in table_rows(rack, "metric")]
    slots = rows_of_kind(quote, chosen, RackSlot)
    wired = {row[end] for row in rows_of_kind(quote, chosen, Connection) for end in ("from_device", "to_device")}

    assert {len(row) for row in rows} == {len(HEADINGS)}
    devices = [slot["device"] and (slot["id"] if slot["id"] in wired else slot["device"]) for slot in slots]
    ups = {row["to_device"]: f"{row['to_index']}: router"
           for row in rows_of_kind(quote, chosen, Connection) if row["from_device"] == "ROUTER"}
    ports = [f"{slot['switch']}: {slot['network_port']}" if slot["network_port"] else ups.get(slot["device"], "–")
             for slot in slots]
    assert sorted((row[2], row[9]) for row in rows) == sorted(zip((device or "–" for device in devices), ports,
                                                                  strict=True))


def test_units_are_numbered_from_the_bottom() -> None:
    root = read_svg(rack_drawing(make_rack(make_rack_thing()), "metric").svg)
    numbers = {"".join(found.itertext()): float(found.get("y", "")) for found in root.iter("text")
               if "".join(found.itertext()).isdigit() and found.get("text-anchor") == "end"}

    assert [int(unit) for unit in sorted(numbers, key=lambda unit: -numbers[unit])] == list(range(1, 13))


def test_a_wall_transformer_names_both_outlets_that_it_covers() -> None:
    assert table_rows(make_rack(make_rack_thing()), "metric")[0][7] == "surge strip 1: 2, 3"


def test_a_row_says_what_the_rack_builder_needs() -> None:
    thing = make_rack_thing(port="NET-1: 4")

    assert table_rows(make_rack(thing), "imperial") == ((  # 10 kg / 0.45359237 = 22.05 lb; 410 mm / 25.4 = 16.14 in
        "U4 – U5", "12-channel amplifier", "AMP-1", "PA12-50", "16 1/8\"", "22.0 lb", "180",
        "surge strip 1: 2, 3", "1", "NET-1: 4"),)


def test_the_table_reads_from_the_top_down() -> None:
    things = (make_rack_thing("U1", position_u=1), make_rack_thing("U10", position_u=10), make_rack_thing("U4"))

    assert [row[0] for row in table_rows(make_rack(*things), "metric")] == ["U10 – U11", "U4 – U5", "U1 – U2"]


@pytest.mark.parametrize(("weight_kg", "people"), [(22.6, False), (22.8, True)])
def test_two_people_lift_what_weighs_more_than_50_lb(weight_kg: float, people: bool) -> None:
    # Trade practice 10: amplifiers and racks over 50 lb (22.68 kg) two people. Common practice, no source.
    notes = rack_drawing(make_rack(make_rack_thing(weight_kg=weight_kg)), "metric").notes

    assert any("Two people lift AMP-1" in note for note in notes) is people


def test_mains_is_left_to_an_electrician() -> None:
    assert any("licensed electrician" in note for note in rack_drawing(make_rack(), "metric").notes)


def test_every_thing_is_told_in_the_words_for_the_blind() -> None:
    told = words_for_the_blind(read_svg(rack_drawing(make_rack(make_rack_thing()), "metric").svg))

    assert told == "U4 – U5: AMP-1, 12-channel amplifier (surge strip 1: 2, 3, circuit 1)."


def test_things_on_an_open_shelf_come_in_their_order() -> None:
    things = (make_rack_thing("SHELF-01", position_u=0, height_u=0, device="CTL-1"),
              make_rack_thing("SHELF-02", position_u=0, height_u=0, device="NET-1"))
    root = read_svg(rack_drawing(make_rack(*things, height_u=0), "metric").svg)
    at = [float(found[0].get("y", "")) for found in panels(root).values()]

    assert list(panels(root)) == ["SHELF-01", "SHELF-02"] and at == sorted(at)


def test_a_customers_name_for_a_thing_is_escaped() -> None:
    shown = texts(read_svg(rack_drawing(make_rack(make_rack_thing(words="<i>Tape</i> & deck")), "metric").svg))

    assert "<i>Tape</i> & deck" in shown


def test_a_rack_drawing_names_no_colour_of_its_own() -> None:
    assert colours(read_svg(rack_drawing(make_rack(make_rack_thing()), "metric").svg)) <= COLOURS


@pytest.mark.parametrize(("number", "option"), EXAMPLES)
def test_every_rack_of_an_example_fits_the_page(number: str, option: int, quotes: dict[str, Quote]) -> None:
    quote = quotes[number]
    sizes = [read_svg(rack_drawing(rack, "metric").svg).get("viewBox", "").split()[2:]
             for rack in rack_elevations(quote, quote.options[option])]

    assert [size for size in sizes if float(size[0]) > PAGE_MM or float(size[1]) > 240] == []


def test_no_text_of_a_rack_lies_over_another(quotes: dict[str, Quote], browser: Browser) -> None:
    pictures = [rack_drawing(rack, "metric").svg for quote in quotes.values() for option in quote.options
                for rack in rack_elevations(quote, option)]
    drawings = measured(browser, "".join(pictures), """() => [...document.querySelectorAll('svg')].map(svg =>
        [...svg.querySelectorAll('text')].map(node => {
            const r = node.getBoundingClientRect(); return [r.left, r.top, r.right, r.bottom, node.textContent]; }))
        """)

    over = [(one[4], other[4]) for found in drawings for one, other in combinations(found, 2)
            if min(one[2], other[2]) - max(one[0], other[0]) > 1
            and min(one[3], other[3]) - max(one[1], other[1]) > 2.5]
    assert over == []


def test_what_the_hook_up_sheet_calls_a_device_is_what_the_rack_sheet_calls_it(quotes: dict[str, Quote]) -> None:
    for quote in quotes.values():
        for option in quote.options:
            racked = {row[2] for rack in rack_elevations(quote, option) for row in table_rows(rack, "metric")}
            touched = {device for step in hook_up_sheet(quote, option).steps for device in step.devices}
            slots = {slot["id"] for slot in rows_of_kind(quote, option, RackSlot) if slot["device"]}
            assert touched & slots <= racked


def test_a_record_player_stands_on_the_rack_where_its_lid_can_open(quotes: dict[str, Quote]) -> None:
    # common practice, no source: a lid needs some 40 cm over it, nine units, and vibration keeps away from amplifiers
    for option in quotes["2"].options[1:]:
        players = {row["id"] for row in rows_of_kind(quotes["2"], option, AudioSource) if row["phono"]}
        things = [thing for rack in rack_elevations(quotes["2"], option) for thing in rack.things]
        assert players and {thing.device for thing in things if thing.on_top} == players

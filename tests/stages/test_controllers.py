"""Controllers in the demo catalogue: zone outputs, inputs by connector, linked units, spare zones, contacts."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from quoting.catalog.records import Catalog, Socket
from quoting.facts import AudioSource, ControllerFact, ZoneFact
from tests.builders import cell, make_room, make_source
from tests.demo_jobs import house
from tests.stages.head_ends import (
    APART,
    facts_of,
    make_extra,
    severity_and_cell,
    told,
    with_parts,
    with_setting,
    with_spec,
    without_sockets,
    zones_of_one_pair,
)


def with_inputs(catalog: Catalog, part: str, **connectors: int) -> Catalog:
    """A part with these audio inputs and no other."""
    bare = without_sockets(catalog, part, "line", "digital")
    added = tuple(Socket(part=part, direction="in", signal="line", connector=name, count=count, note="")
                  for name, count in connectors.items())
    return replace(bare, sockets={**bare.sockets, part: (*bare.sockets[part], *added)})


def plays(kind: Any, connector: Any, row: int = 3, **changes: Any) -> Any:
    return make_source(kind=kind, name=f"My {kind}", connector=connector, control="infrared",
                       where=cell("Sources", f"A{row}"), **changes)


# ---------------------------------------------------------------- zones

def test_zones_fill_a_units_outputs_before_the_next_linked_one(demo: Catalog) -> None:
    small = with_setting(with_parts(demo, "controller", "CT06"), "spare_zones", "0")
    zones = facts_of(zones_of_one_pair(8), small, ZoneFact)
    assert [(zone.controller, zone.controller_output) for zone in zones] == [
        *(("CTL-1", number) for number in range(1, 7)), ("CTL-2", 1), ("CTL-2", 2)]
    assert [unit.linked for unit in facts_of(zones_of_one_pair(8), small, ControllerFact)] == [False, True]


def test_more_zones_than_outputs_stop_at_the_first_zone_without_one(demo: Catalog) -> None:
    small = with_parts(demo, "controller", "CT06")  # two may be linked: 12 outputs
    assert severity_and_cell(told(zones_of_one_pair(13), small, "too-few-zone-outputs")) == {
        ("stop", "Zones", "A14")}  # zone 13


def test_the_spare_zones_of_an_option_are_kept_free(demo: Catalog) -> None:
    # keep at least one spare zone (trade practice 5.1: common practice, no source)
    spare = with_setting(demo, "spare_zones", "1")
    units = facts_of(zones_of_one_pair(6), spare, ControllerFact)
    assert sum(unit.spare_outputs for unit in units) >= 1 and not any(unit.full for unit in units)


def test_spare_zones_that_nothing_can_keep_free_warn(demo: Catalog) -> None:
    small = with_setting(with_parts(demo, "controller", "CT06"), "spare_zones", "1")
    assert {problem.severity for problem in told(zones_of_one_pair(12), small, "too-few-spare-zones")} == {"warning"}


def test_a_full_controller_says_what_one_more_zone_takes(demo: Catalog) -> None:
    full = with_setting(with_parts(demo, "controller", "CT06"), "spare_zones", "0")
    units = facts_of(zones_of_one_pair(6), full, ControllerFact)
    assert [(unit.full, unit.upgrade) for unit in units] == [(True, "CT06")]


def test_a_full_set_of_linked_units_needs_a_larger_model(demo: Catalog) -> None:
    full = with_setting(with_parts(demo, "controller", "CT06", "CT24"), "spare_zones", "0")
    units = facts_of(zones_of_one_pair(12), full, ControllerFact)
    assert [(unit.part, unit.full, unit.upgrade) for unit in units] == [("CT06", False, ""), ("CT06", True, "CT24")]


# ---------------------------------------------------------------- inputs

def test_each_stream_takes_an_input_of_its_own(demo: Catalog) -> None:
    # one built-in streamer often equals one stream only (trade practice 5.1): four streams, four inputs
    job = zones_of_one_pair(4, sources=(make_source(connector="RCA"),), streams=4)
    for option in ("good", "better", "best"):
        assert sum(source.inputs for source in facts_of(job, demo, AudioSource, option)) == 4
        assert facts_of(job, demo, ControllerFact, option)[0].used_inputs == 4


def test_a_player_on_the_network_takes_no_input(demo: Catalog) -> None:
    job = zones_of_one_pair(2, sources=(make_source(connector="network"),))
    assert facts_of(job, demo, ControllerFact)[0].used_inputs == 0


def test_televisions_room_inputs_doors_and_pages_take_inputs(demo: Catalog) -> None:
    room = make_room(pairs=1, tv=True, room_input=True)
    extras = (make_extra("doorbell", "Bell", "A2"), make_extra("paging", "Page", "A3"))
    job = house(room, head_end_shape=APART, sources=(), extras=extras)
    unit = facts_of(job, demo, ControllerFact)[0]
    assert (unit.used_inputs, unit.used_contacts) == (4, 2)


def test_sources_decide_between_controllers_of_enough_outputs(demo: Catalog) -> None:
    sources = tuple(plays("other", "RCA", row) for row in range(2, 12))  # ten: CT06 has 8 inputs
    unit = facts_of(zones_of_one_pair(2, sources=sources), demo, ControllerFact)[0]
    assert unit.inputs >= 10 and unit.part != "CT06"


def test_more_sources_than_inputs_stop_at_the_first_that_finds_none(demo: Catalog) -> None:
    small = with_parts(demo, "controller", "CT06")  # 8 inputs
    sources = tuple(plays("other", "RCA", row) for row in range(2, 12))
    assert severity_and_cell(told(zones_of_one_pair(2, sources=sources), small, "too-few-inputs")) == {
        ("stop", "Sources", "A10"), ("stop", "Sources", "A11")}


@pytest.mark.parametrize(("shape", "part", "role"), [
    ("controller-amplifier", "CA4-30", "controller-amplifier"), ("network amplifiers", "NA2-40", "network amplifier")])
def test_the_other_shapes_count_inputs_too(demo: Catalog, shape: Any, part: str, role: str) -> None:
    sources = tuple(plays("other", "RCA", row) for row in range(2, 12))
    job = zones_of_one_pair(2, sources=sources, head_end_shape=shape)
    assert told(job, with_parts(demo, role, part), "too-few-inputs")


def test_a_digital_player_takes_the_converter_of_the_standard(demo: Catalog) -> None:
    source = facts_of(zones_of_one_pair(2, sources=(plays("disc", "optical"),)), demo, AudioSource)[0]
    assert (source.input_connector, source.converter) == ("RCA", "DC-10")


def test_a_controller_that_takes_the_connector_needs_no_converter(demo: Catalog) -> None:
    optical = with_inputs(with_parts(demo, "controller", "CT06"), "CT06", RCA=6, optical=1)
    source = facts_of(zones_of_one_pair(2, sources=(plays("disc", "optical"),)), optical, AudioSource)[0]
    assert (source.input_connector, source.converter, source.lead) == ("optical", "", "optical lead")


def test_two_optical_players_on_one_optical_input_stop_at_the_second(demo: Catalog) -> None:
    optical = with_inputs(with_parts(demo, "controller", "CT06"), "CT06", RCA=6, optical=1)
    job = zones_of_one_pair(2, sources=(plays("disc", "optical", 3), plays("TV", "optical", 4)))
    assert severity_and_cell(told(job, optical, "too-few-inputs")) == {("stop", "Sources", "A4")}


def test_a_connector_that_the_controller_lacks_and_no_converter_reaches_stops(demo: Catalog) -> None:
    balanced = with_inputs(with_parts(demo, "controller", "CT06"), "CT06", balanced=8)
    job = zones_of_one_pair(2, sources=(plays("tuner", "RCA"),))
    assert severity_and_cell(told(job, balanced, "wrong-connector")) == {("stop", "Sources", "A3")}


def test_a_network_player_needs_a_controller_that_plays_streams(demo: Catalog) -> None:
    deaf = with_spec(with_parts(demo, "controller", "CT06"), "controllers", "CT06", streams=0)
    job = zones_of_one_pair(2, sources=(make_source(connector="network"),))
    assert {problem.severity for problem in told(job, deaf, "wrong-connector")} == {"stop"}


def test_a_player_in_a_room_without_a_return_cable_stops_at_the_source(demo: Catalog) -> None:
    job = house(make_room(pairs=1), head_end_shape=APART, sources=(plays("disc", "RCA", location="KIT"),))
    assert severity_and_cell(told(job, demo, "source-without-return")) == {("stop", "Sources", "A3")}
    job = house(make_room(pairs=1, room_input=True), head_end_shape=APART, sources=job.sources)
    assert not told(job, demo, "source-without-return")


def test_more_doors_and_pages_than_contacts_warn(demo: Catalog) -> None:
    # a door or a page wants a contact, or a line input that notices its sound (trade practice 5.4)
    extras = (make_extra("doorbell", "Bell", "A2"), make_extra("paging", "Page", "A3"),
              make_extra("paging", "Second page", "A4"))
    job = zones_of_one_pair(2, extras=extras)
    assert {(problem.severity, problem.where.ref) for problem in told(job, demo, "too-few-contacts")} == {
        ("warning", "A4")}


def test_controller_amplifiers_that_take_every_source_are_preferred(demo: Catalog) -> None:
    sources = tuple(plays("other", "RCA", row) for row in range(2, 10))  # eight: CA4-30 has 6 inputs
    job = zones_of_one_pair(4, sources=sources, head_end_shape="controller-amplifier")
    assert facts_of(job, demo, ControllerFact, "good")[0].part != "CA4-30"

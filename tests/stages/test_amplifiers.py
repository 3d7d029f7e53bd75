"""Zones onto amplifiers in the demo catalogue: models, loads, power, channels, and what stops or warns."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.engineering.channel_offers import output_w
from quoting.engineering.design import design_system
from quoting.facts import AmplifierFact, AmplifierOutput, ZoneFact, of
from quoting.job import Override
from tests.builders import cell, make_room
from tests.demo_jobs import house, make_zone
from tests.stages.head_ends import (
    APART,
    facts_of,
    own,
    severity_and_cell,
    told,
    with_parts,
    with_setting,
    with_spec,
    zones_of_one_pair,
)


def one_zone(pairs: int = 1, **zone: Any) -> Any:
    return replace(house(make_room(pairs=pairs), head_end_shape=APART), zones=(make_zone(1, **zone),))


# ---------------------------------------------------------------- power

def test_power_at_a_load_follows_the_data_sheet(demo: Catalog) -> None:
    spec = replace(demo.amplifiers["PA08-50"], w_8ohm=50, w_4ohm=80, all_driven_rate=1, bridge_w_8ohm=160)
    assert [output_w(spec, load, False) for load in (8, 4)] == [50, 80]
    # V^2 / R: twice the load takes half the power (Ohm's law)
    assert output_w(spec, 16, False) == pytest.approx(25)
    assert output_w(spec, 6, False) == pytest.approx(65)
    # 8 ohm across a bridge is 4 ohm to each of its channels (trade practice 5.2)
    assert output_w(spec, 4, True) == pytest.approx(160)


def test_all_channels_driven_give_less_than_the_headline(demo: Catalog) -> None:
    # derate to 60 to 80 % of the headline (trade practice 5.1: common practice, no source)
    amplifiers = facts_of(zones_of_one_pair(4), with_parts(demo, "amplifier", "PA08-50"), AmplifierFact)
    assert 0.6 * 50 <= amplifiers[0].channel_w <= 0.8 * 50


def test_headroom_of_3_db_asks_twice_the_power(demo: Catalog) -> None:
    # 10 log10 2 = 3.01 dB
    asked = [facts_of(zones_of_one_pair(1), with_setting(demo, "headroom_db", value), ZoneFact)[0].asked_w
             for value in ("0", "3")]
    assert asked[1] / asked[0] == pytest.approx(2, rel=0.02)


def test_an_output_is_asked_for_the_sum_of_its_speakers(demo: Catalog) -> None:
    zone = facts_of(one_zone(pairs=2), with_setting(demo, "headroom_db", "0"), ZoneFact)[0]
    outputs = facts_of(one_zone(pairs=2), with_setting(demo, "headroom_db", "0"), AmplifierOutput)
    assert {output.voice_coils for output in outputs} == {2}
    assert {output.asked_w for output in outputs} == {zone.asked_w}


def test_a_party_zone_gets_the_stronger_model(demo: Catalog) -> None:
    weak = with_parts(demo, "amplifier", "PA08-50", "PA02-200")
    loud = make_room("PTY", name="Party", zone=2, pairs=1, listening="party")
    job = house(make_room(pairs=1), loud, head_end_shape=APART)
    tame = with_spec(weak, "amplifiers", "PA08-50", w_8ohm=5, w_4ohm=8)
    assert [box.part for box in facts_of(job, tame, AmplifierFact)][-1] == "PA02-200"


def test_power_out_of_every_models_reach_warns_and_takes_the_strongest(demo: Catalog) -> None:
    weak = with_spec(with_parts(demo, "amplifier", "PA02-50", "PA02-100"), "amplifiers", "PA02-50", w_8ohm=1)
    weak = with_spec(weak, "amplifiers", "PA02-100", w_8ohm=2)
    job = house(make_room(pairs=1, listening="party"), head_end_shape=APART)
    assert severity_and_cell(told(job, weak, "amplifier-short-of-power")) == {("warning", "Zones", "A2")}
    assert [box.part for box in facts_of(job, weak, AmplifierFact)] == ["PA02-100"]


# ---------------------------------------------------------------- models and channels

def test_zones_that_one_model_carries_are_on_one_model(demo: Catalog) -> None:
    for option in demo.options:
        boxes = facts_of(zones_of_one_pair(9), demo, AmplifierFact, option)
        assert len({box.part for box in boxes}) == 1


def test_nine_zones_take_the_cheapest_boxes_of_one_model(demo: Catalog) -> None:
    # 18 channels: 2 x PA12-50 = 1,700; 3 x PA08-50 = 2,070; 5 x PA04-50 = 1,950; 9 x PA02-50 = 2,205 (prices.csv)
    boxes = facts_of(zones_of_one_pair(9), demo, AmplifierFact, "better")
    assert [(box.id, box.part, box.used_channels) for box in boxes] == [
        ("AMP-1", "PA12-50", 12), ("AMP-2", "PA12-50", 6)]


def test_a_three_ohm_zone_takes_a_model_of_its_own(demo: Catalog) -> None:
    # two 6 ohm pairs are 3 ohm: refused on a 4 ohm amplifier (trade practice 5.2), which then takes two channel pairs;
    # a two-channel one with a minimum of 2 ohm takes them on one
    stiff = with_parts(demo, "amplifier", "PA02-50", "PA02-200")
    stiff = with_spec(stiff, "speakers", "CS65-30", nominal_ohm=6)
    job = house(make_room(pairs=1), make_room("DEN", name="Den", zone=2, pairs=2), head_end_shape=APART)
    zones = facts_of(job, stiff, ZoneFact)
    boxes = {box.id: box.part for box in facts_of(job, stiff, AmplifierFact)}
    assert boxes[zones[1].amplifier] == "PA02-200" and zones[1].load_ohm == pytest.approx(3)


def test_a_zone_that_only_one_model_bridges_takes_that_model(demo: Catalog) -> None:
    mixed = with_parts(demo, "amplifier", "PA12-40AB", "PA04-50")
    assert [box.part for box in facts_of(one_zone(bridged=True), mixed, AmplifierFact)] == ["PA04-50"]


def test_zones_stand_on_amplifiers_in_the_order_of_their_numbers(demo: Catalog) -> None:
    # zone 1 on channels 1-2, zone 2 on 3-4 ..., whatever order they are typed in (common practice, no source)
    job = zones_of_one_pair(5)
    backwards = replace(job, zones=job.zones[::-1], rooms=job.rooms[::-1])
    seats = [(zone.id, zone.amplifier, zone.first_channel) for zone in facts_of(backwards, demo, ZoneFact)]
    assert seats == [(f"Z{n}", "AMP-1", 2 * n - 1) for n in range(1, 6)]


def mixed_house() -> Any:
    """Stereo, mono, bridged, mono and bridged, three pairs, one single-stereo: six zones."""
    pairs = (1, 2, 1, 1, 3, 1)
    rooms = [make_room(f"R{n}", name=f"Room {n}", zone=n, pairs=count) for n, count in enumerate(pairs, 1)]
    rooms[5] = make_room("R6", name="Bath", zone=6, kind="bath", length_m=2, width_m=2, setting="damp")
    zones = (make_zone(1), make_zone(2, mono=True), make_zone(3, bridged=True), make_zone(4, mono=True, bridged=True),
             make_zone(5), make_zone(6))
    return replace(house(*rooms, head_end_shape=APART), zones=zones)


@pytest.mark.parametrize("parts", [("PA04-50",), ("PA08-50",), ("PA12-50",), ("PA04-50", "PA12-50")])
def test_no_zone_is_split_over_two_amplifiers_and_no_channel_used_twice(demo: Catalog, parts: tuple[str, ...]) -> None:
    outputs = facts_of(mixed_house(), with_parts(demo, "amplifier", *parts), AmplifierOutput)
    homes = {output.zone: set() for output in outputs}
    taken = []
    for output in outputs:
        homes[output.zone].add(output.amplifier)
        taken += [(output.amplifier, output.channel + step) for step in range(1 + output.bridged)]
    assert all(len(boxes) == 1 for boxes in homes.values())
    assert len(taken) == len(set(taken))


def test_a_left_channel_is_odd_and_its_right_one_follows(demo: Catalog) -> None:
    outputs = facts_of(mixed_house(), with_parts(demo, "amplifier", "PA12-50"), AmplifierOutput)
    pairs = [(left, right) for left, right in pairwise(outputs) if left.side == "L"]
    assert {(right.zone, right.side, right.channel) == (left.zone, "R", left.channel + 1 + left.bridged)
            for left, right in pairs} == {True}


def test_a_single_stereo_speaker_takes_both_channels_of_a_pair(demo: Catalog) -> None:
    outputs = [output for output in facts_of(mixed_house(), demo, AmplifierOutput) if output.zone == 6]
    assert [(output.side, output.voice_coils) for output in outputs] == [("L", 1), ("R", 1)]


def test_each_output_states_the_load_and_the_power_of_its_own_pairs(demo: Catalog) -> None:
    # three 8 ohm pairs on a minimum of 4: two in parallel (1/Z = 1/8 + 1/8: 4 ohm) and one alone (8 ohm);
    # 80 and 50 W by the data sheet of PA08-50, 75 % with all channels driven
    outputs = facts_of(one_zone(pairs=3), with_parts(demo, "amplifier", "PA08-50"), AmplifierOutput)
    assert [(output.channel, output.voice_coils, output.load_ohm, output.output_w) for output in outputs] == [
        (1, 2, 4.0, 60.0), (2, 2, 4.0, 60.0), (3, 1, 8.0, 37.5), (4, 1, 8.0, 37.5)]


def test_a_zone_is_short_where_any_of_its_outputs_is(demo: Catalog) -> None:
    # two 8 ohm pairs want twice the power of one and get less than twice: the shared output is the one to judge by
    party = house(make_room(pairs=3, listening="party"), head_end_shape=APART)
    weak = with_spec(with_parts(demo, "amplifier", "PA08-50"), "amplifiers", "PA08-50", w_8ohm=5, w_4ohm=5)
    outputs = facts_of(party, weak, AmplifierOutput)
    short = [output for output in outputs if output.output_w < output.asked_w]
    zone = facts_of(party, weak, ZoneFact)[0]
    assert short and zone.asked_w == max(output.asked_w for output in short)
    assert told(party, weak, "amplifier-short-of-power")


@pytest.mark.parametrize(("changes", "pairs", "leads"), [
    ({}, 1, 1), ({}, 2, 1),
    ({}, 3, 2),  # over two channel pairs, each of which is fed
    ({"bridged": True}, 1, 1),
    ({"bridged": True}, 2, 2),  # bridged outputs take one loudspeaker each: two channel groups
    ({"mono": True}, 2, 1),  # two mono channels share a stereo lead
])
def test_a_line_lead_feeds_each_channel_pair_of_a_zone(
    demo: Catalog, changes: dict[str, bool], pairs: int, leads: int
) -> None:
    zone = facts_of(one_zone(pairs=pairs, **changes), with_parts(demo, "amplifier", "PA08-50"), ZoneFact)[0]
    assert zone.line_leads == leads


@pytest.mark.parametrize(("changes", "pairs", "splitters"), [({}, 2, 0), ({}, 3, 1), ({"bridged": True}, 1, 0),
                                                             ({"bridged": True}, 2, 1)])
def test_each_further_group_of_channels_takes_a_y_at_the_zones_one_output(
    demo: Catalog, changes: dict[str, bool], pairs: int, splitters: int
) -> None:
    zone = facts_of(one_zone(pairs=pairs, **changes), with_parts(demo, "amplifier", "PA08-50"), ZoneFact)[0]
    assert zone.line_splitters == splitters


# ---------------------------------------------------------------- stops

def test_a_load_below_every_minimum_stops_at_the_zone(demo: Catalog) -> None:
    heavy = with_spec(demo, "speakers", "CS65-30", nominal_ohm=3)
    assert severity_and_cell(told(one_zone(), heavy, "load-below-minimum")) == {("stop", "Zones", "A2")}


def test_two_pairs_too_many_for_a_network_amplifier_stop(demo: Catalog) -> None:
    # three 8 ohm pairs are 2.67 ohm, and a network amplifier has one channel pair (NA2-40: 4 ohm)
    job = replace(one_zone(pairs=3), head_end_shape="network amplifiers")
    assert told(job, demo, "load-below-minimum")


def test_a_bridged_load_below_the_minimum_stops_at_the_zone(demo: Catalog) -> None:
    # 4 ohm bridged is 2 ohm to each channel, not recommended (trade practice 5.2)
    heavy = with_spec(demo, "speakers", "CS65-30", nominal_ohm=4)
    problems = told(one_zone(bridged=True), heavy, "bridged-load-below-minimum")
    assert severity_and_cell(problems) == {("stop", "Zones", "A2")}
    assert not told(one_zone(bridged=True), heavy, "no-bridge")


def test_a_zone_of_more_channels_than_the_largest_amplifier_stops(demo: Catalog) -> None:
    # a bridged stereo pair eats four channels (trade practice 5.3); two pairs at 8 ohm eight
    small = with_parts(demo, "amplifier", "PA02-50", "PA04-50")
    assert severity_and_cell(told(one_zone(pairs=2, bridged=True), small, "too-few-channels")) == {
        ("stop", "Zones", "A2")}


def test_every_zone_in_the_way_is_told_at_once(demo: Catalog) -> None:
    heavy = with_spec(demo, "speakers", "CS65-30", nominal_ohm=3)
    cells = severity_and_cell(told(zones_of_one_pair(3), heavy, "load-below-minimum"))
    assert {ref for _, _, ref in cells} == {"A2", "A3", "A4"}


def test_more_zones_than_linked_controller_amplifiers_have_stop(demo: Catalog) -> None:
    small = with_parts(demo, "controller-amplifier", "CA4-30")  # two of them may be linked: 8 zones
    job = zones_of_one_pair(9, head_end_shape="controller-amplifier")
    assert {problem.severity for problem in told(job, small, "too-few-zone-outputs")} == {"stop"}


# ---------------------------------------------------------------- warnings

def test_a_box_that_does_not_bridge_here_warns(demo: Catalog) -> None:
    job = replace(one_zone(bridged=True), head_end_shape="network amplifiers")
    assert severity_and_cell(told(job, demo, "no-bridge")) == {("warning", "Zones", "A2")}


def test_one_mono_speaker_alone_in_a_stereo_zone_warns(demo: Catalog) -> None:
    drop = Override(id="KIT-SP2", what="drop", value="", reason="duct", who="R. Estimator",
                    where=cell("Overrides", "A2"))
    assert severity_and_cell(told(replace(one_zone(), overrides=(drop,)), demo, "half-of-the-music")) == {
        ("warning", "Zones", "A2")}
    assert not told(replace(one_zone(mono=True), overrides=(drop,)), demo, "half-of-the-music")


def test_a_single_stereo_speaker_alone_is_no_half(demo: Catalog) -> None:
    bath = make_room("BTH", name="Bath", kind="bath", length_m=2, width_m=2, setting="damp")
    assert not told(house(bath, head_end_shape=APART), demo, "half-of-the-music")


def test_a_zone_without_a_name_warns(demo: Catalog) -> None:
    assert severity_and_cell(told(one_zone(name=" "), demo, "zone-without-name")) == {("warning", "Zones", "A2")}


def test_a_zone_without_a_volume_limit_warns_where_the_amplifier_could_burn_the_speaker(demo: Catalog) -> None:
    frail = with_spec(demo, "speakers", "CS65-30", power_w=20)
    assert severity_and_cell(told(one_zone(), frail, "zone-without-level")) == {("warning", "Zones", "A2")}
    assert not told(one_zone(max_volume=60), frail, "zone-without-level")


def test_a_zone_that_nothing_controls_stops_at_the_rooms_control(demo: Catalog) -> None:
    deaf = with_parts(demo, "controller", "CT06")
    deaf = with_spec(deaf, "controllers", "CT06", network_port=False)
    room = make_room(pairs=1, control="phone", cells={"": cell("Rooms", "A2"), "control": cell("Rooms", "J2")})
    job = house(room, head_end_shape=APART, sources=())
    assert severity_and_cell(told(job, deaf, "no-control")) == {("stop", "Rooms", "J2")}
    assert not told(replace(job, rooms=(replace(room, control="knob"),)), deaf, "no-control")


def test_two_pairs_on_a_volume_control_made_for_one_warn(demo: Catalog) -> None:
    narrow = with_parts(demo, "volume knob", "VK-10")
    narrow = with_spec(narrow, "keypads", "VK-10", pairs=1)
    job = house(make_room(pairs=2, control="knob"), head_end_shape=APART)
    assert {problem.severity for problem in told(job, narrow, "knob-carries-fewer-pairs")} == {"warning"}


def test_four_hundred_network_amplifiers_are_one_a_zone_with_short_ids(demo: Catalog) -> None:
    job = zones_of_one_pair(400, head_end_shape="network amplifiers")
    design, _ = design_system(job, demo)
    assert design is not None
    facts = own(design, "best")
    assert [box.zone for box in of(facts, AmplifierFact)] == list(range(1, 401))
    assert max(len(output.id) for output in of(facts, AmplifierOutput)) <= 10


def test_network_amplifiers_have_no_trigger_and_wake_alone(demo: Catalog) -> None:
    job = zones_of_one_pair(3, head_end_shape="network amplifiers")
    assert [box.wakes_with for box in facts_of(job, demo, AmplifierFact)] == ["Z1", "Z2", "Z3"]

"""Racks from the bottom up, power, network: what stands where, and what feeds it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise
from typing import Any

import pytest
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.engineering.design import design_system
from quoting.facts import AmplifierFact, AmplifierOutput, Fact, NetworkDevice, RackFact, RackSlot, SystemFact, of
from quoting.job import Extra, Job
from tests.builders import cell, make_room, make_source, make_terms
from tests.changed_catalog import with_number, with_role, with_setting, with_specs
from tests.demo_jobs import house, make_zone
from tests.stages.test_checks import eight_rooms, extra


def best(job: Job, catalog: Catalog) -> tuple[Fact, ...]:
    design, problems = design_system(job, catalog)
    assert design is not None, "\n".join(str(problem) for problem in problems)
    return design.options[-1].facts


def slots(facts: Sequence[Fact], *whats: str) -> list[RackSlot]:
    return [slot for slot in of(facts, RackSlot) if not whats or slot.what in whats]


def large_house(**changes: Any) -> Job:
    """Sixteen zones with inputs, televisions, doors, a record player and three sources."""
    rooms = [make_room(f"R{n}", name=f"Room {n}", zone=n, pairs=1 + n % 2, tv=n < 5, room_input=n < 3)
             for n in range(1, 17)]
    sources = (make_source(), make_source(name="Records", kind="turntable", connector="RCA", control="none"),
               make_source(name="Discs", kind="disc", connector="optical", control="infrared"))
    return house(*rooms, **{"sources": sources, "head_end_shape": "controller and amplifiers", **changes})


# ---------------------------------------------------------------- order

def test_every_unit_of_a_rack_is_taken_once_or_blank(demo: Catalog) -> None:
    for job in (eight_rooms(), large_house()):
        facts = best(job, demo)
        for rack in of(facts, RackFact):
            taken = [unit for slot in slots(facts) if slot.rack == rack.id
                     for unit in range(slot.position_u, slot.position_u + int(slot.height_u))]
            assert sorted(taken) == list(range(1, int(rack.height_u) + 1))


def test_heavy_things_are_low_and_signal_is_high(demo: Catalog) -> None:
    facts = best(eight_rooms(), demo)
    at = {what: [slot.position_u for slot in slots(facts, what) if slot.height_u] for what in (
        "ups", "surge strip", "amplifier", "controller", "source", "network switch", "patch panel")}
    low_to_high = [at[what] for what in at]
    assert all(max(below) < min(above) for below, above in pairwise(low_to_high))


def test_of_two_amplifiers_the_heavier_is_lower(demo: Catalog) -> None:
    # zone 1 is bridged, which PA04-50 (4.6 kg) alone does; the five pairs of zone 2 take six channels, which only
    # PA12-40AB (21 kg) has
    mixed = with_role(demo, "amplifier", "PA04-50", "PA12-40AB")
    job = house(make_room(pairs=1), make_room("DEN", name="Den", zone=2, pairs=5),
                head_end_shape="controller and amplifiers")
    job = replace(job, zones=(make_zone(1, bridged=True), make_zone(2)))
    standing = sorted(slots(best(job, mixed), "amplifier"), key=lambda slot: slot.position_u)
    assert [(slot.device, slot.weight_kg) for slot in standing] == [("AMP-2", 21.0), ("AMP-1", 4.6)]


def test_amplifiers_of_class_d_have_air_above_and_below_each_two(demo: Catalog) -> None:
    # 1U vent above and below each pair of class D (common practice, no source)
    facts = best(eight_rooms(), demo)
    stack = [slot for slot in slots(facts, "amplifier", "vent panel") if slot.rack == "RACK-1"]
    kinds = ["V" if slot.what == "vent panel" else "A" for slot in stack]
    assert (kinds[0], kinds[-1]) == ("V", "V")
    assert "AAA" not in "".join(kinds) and "VV" not in "".join(kinds)


def test_amplifiers_of_class_ab_have_air_above_and_below_each(demo: Catalog) -> None:
    # 1U vent above and below each class AB amplifier (common practice, no source)
    warm = with_specs(demo, "amplifiers", lambda row: replace(row, amplifier_class="AB"))
    stack = [slot for slot in slots(best(eight_rooms(), warm), "amplifier", "vent panel") if slot.rack == "RACK-1"]
    kinds = "".join("V" if slot.what == "vent panel" else "A" for slot in stack)
    assert kinds == "VA" * kinds.count("A") + "V"


def test_what_has_no_ears_stands_on_a_shelf_two_by_two(demo: Catalog) -> None:
    facts = best(large_house(), demo)
    shelves = {slot.id for slot in slots(facts, "shelf")}
    loose = [slot for slot in slots(facts) if slot.on_shelf]
    assert loose and {slot.id[:-1] for slot in loose} == shelves
    assert max(Counter(slot.id[:-1] for slot in loose).values()) <= 2


def test_the_record_player_brings_its_preamplifier(demo: Catalog) -> None:
    preamplifier, = demo.parts_for("phono preamplifier", "best", "")
    assert preamplifier in {slot.part for slot in slots(best(large_house(), demo))}


def test_rack_facts_count_what_the_slots_show(demo: Catalog) -> None:
    facts = best(large_house(), demo)
    for rack in of(facts, RackFact):
        mine = [slot for slot in slots(facts) if slot.rack == rack.id]
        shown = Counter(slot.what for slot in mine if not slot.on_shelf)
        assert (rack.vents, rack.shelves, rack.power_strips, rack.patch_panels) == (
            shown["vent panel"], shown["shelf"], shown["surge strip"], shown["patch panel"])
        assert rack.blanks == sum(slot.height_u for slot in mine if slot.what == "blank panel")


def test_a_rack_is_as_deep_and_as_heavy_as_what_stands_in_it(demo: Catalog) -> None:
    facts = best(eight_rooms(), with_setting(demo, "ups", "no"))
    rack, = of(facts, RackFact)
    assert rack.depth_mm == max(slot.depth_mm for slot in slots(facts))
    assert rack.weight_kg == pytest.approx(sum(slot.weight_kg for slot in slots(facts)), abs=0.05)


def test_a_rack_says_how_many_of_its_devices_nobody_has_weighed(demo: Catalog) -> None:
    owned = Extra(kind="owned equipment", name="Receiver", room="", quantity=Decimal(2), part="", amount=None,
                  rack_mountable=True, plays_from="good", note="", where=cell("Extras", "A2"))
    racks = of(best(eight_rooms(extras=(owned,)), demo), RackFact)
    assert sum(rack.unweighed for rack in racks) == 2
    assert not any(rack.unweighed for rack in of(best(eight_rooms(), demo), RackFact))


def test_a_rack_is_as_high_as_its_units(demo: Catalog) -> None:
    # IEC 60297-3-100: 27 U of 44.45 mm are 1200.15 mm
    rack, = of(best(eight_rooms(), with_role(demo, "rack", "RK-27")), RackFact)
    assert rack.height_mm == pytest.approx(1200.15, abs=0.06)


# ---------------------------------------------------------------- two racks

def test_what_one_rack_does_not_hold_fills_two(demo: Catalog) -> None:
    design, problems = design_system(eight_rooms(), with_role(demo, "rack", "RK-20"))
    assert design is not None
    racks = of(design.options[-1].facts, RackFact)
    assert [rack.id for rack in racks] == ["RACK-1", "RACK-2"]
    assert "rack-too-low" not in {problem.code for problem in problems}
    assert all(rack.used_u * 1.2 <= rack.height_u for rack in racks)  # 20 % to spare (common practice, no source)


def test_one_rack_stays_where_one_is_enough(demo: Catalog) -> None:
    assert [rack.id for rack in of(best(eight_rooms(), demo), RackFact)] == ["RACK-1"]


def test_two_racks_share_one_ups_and_count_strips_on(demo: Catalog) -> None:
    facts = best(eight_rooms(), with_role(demo, "rack", "RK-20"))
    assert [rack.ups for rack in of(facts, RackFact)].count(True) == 1
    strips = [slot.strip for slot in slots(facts, "surge strip")]
    assert strips == [f"surge strip {number}" for number in range(1, len(strips) + 1)]


def test_a_strong_rack_is_taken_where_a_weak_one_is_high_enough(demo: Catalog) -> None:
    weak = with_specs(demo, "racks", lambda row: replace(row, load_kg=1.0) if row.part == "RK-27" else row)
    assert {rack.part for rack in of(best(eight_rooms(), weak), RackFact)} == {"RK-36"}


# ---------------------------------------------------------------- power

def test_an_outlet_feeds_one_thing(demo: Catalog) -> None:
    facts = best(large_house(), demo)
    used = [(slot.strip, outlet) for slot in slots(facts) if slot.outlet
            for outlet in range(slot.outlet, slot.outlet + slot.outlets)]
    assert used and max(Counter(used).values()) == 1
    assert max(outlet for _, outlet in used) <= 8


def test_a_wall_transformer_counts_two_outlets(demo: Catalog) -> None:
    receivers = [slot for slot in slots(best(large_house(), demo)) if slot.part == "TR-10"]
    assert receivers and {slot.outlets for slot in receivers} == {2}


def test_the_battery_feeds_controller_players_and_network_and_no_amplifier(demo: Catalog) -> None:
    backed = {slot.what for slot in slots(best(large_house(), demo))
              if slot.outlet and not slot.strip.startswith("surge")}
    assert backed == {"controller", "source", "network switch"}


def test_the_battery_is_asked_for_what_it_feeds(demo: Catalog) -> None:
    facts = best(eight_rooms(), demo)
    rack, = of(facts, RackFact)
    fed = sum(slot.watts for slot in slots(facts) if slot.outlet and not slot.strip.startswith("surge"))
    assert rack.ups_w == pytest.approx(fed)
    assert rack.ups_va == pytest.approx(fed / 0.7, abs=0.06)  # devices draw 0.7 W per VA (common practice, no source)


def test_a_larger_battery_is_taken_where_the_small_one_is_short(demo: Catalog) -> None:
    hungry = with_specs(demo, "controllers", lambda row: replace(row, working_w=300.0))
    assert {rack.ups_part for rack in of(best(eight_rooms(), hungry), RackFact)} == {"UP-10"}


def test_a_circuit_carries_80_percent(demo: Catalog) -> None:
    # NEC 210.20(A): 20 A x 120 V x 0.8 = 1920 W for three hours or more
    assert of(best(eight_rooms(), demo), RackFact)[0].circuit_limit_w == pytest.approx(1920)


def test_a_circuit_in_germany_is_of_230_v_and_16_a(demo: Catalog) -> None:
    # IEC 60038; 16 A, from memory: 230 V x 16 A x 0.8 = 2944 W
    job = replace(eight_rooms(), terms=make_terms(tax_place="Germany", currency="EUR"))
    assert of(best(job, demo), RackFact)[0].circuit_limit_w == pytest.approx(2944)


def test_no_circuit_is_loaded_beyond_its_limit(demo: Catalog) -> None:
    hungry = with_specs(demo, "amplifiers", lambda row: replace(row, working_w=700.0))
    facts = best(large_house(), hungry)
    loads: Counter[int] = Counter()
    for slot in slots(facts):
        loads[slot.circuit] += int(slot.watts)
    assert len(loads) > 2 and max(load for circuit, load in loads.items() if circuit) <= 1920


# ---------------------------------------------------------------- heat

def test_the_head_end_heats_with_mains_less_an_eighth_of_what_the_outputs_give(demo: Catalog) -> None:
    # heat = mains - output (fuzion.co.uk/support/tech001.html); music at 1/8 power (IEC 60065 4.2)
    facts = best(eight_rooms(), demo)
    mains = sum(slot.watts for slot in slots(facts))
    given = sum(output.output_w for output in of(facts, AmplifierOutput)) / 8
    assert sum(rack.heat_w for rack in of(facts, RackFact)) == pytest.approx(mains - given, abs=1)


def test_an_amplifier_with_half_its_channels_in_use_takes_half_the_way_from_idle_to_music(demo: Catalog) -> None:
    # PA12-50: 18 W idle, 140 W with twelve channels at 1/8 of 35 W into 8 ohm (its data sheet). Six channels: 79 W, of
    # which 6 x 35 / 8 = 26.25 W leave for the loudspeakers
    job = house(*(make_room(f"R{n}", name=f"Room {n}", zone=n, pairs=1) for n in range(1, 4)),
                head_end_shape="controller and amplifiers")
    slot, = slots(best(job, with_role(demo, "amplifier", "PA12-50")), "amplifier")
    assert (slot.watts, slot.heat_w) == (pytest.approx(79.0, abs=0.06), pytest.approx(52.75, abs=0.06))


def test_loads_of_four_ohm_take_more_from_the_mains(demo: Catalog) -> None:
    # PA02-50: 6 W idle, 22 W at 1/8 of 2 x 45 W; two pairs make 4 ohm, 72 W each: 6 + 16 x 72 / 45 = 31.6 W
    job = house(make_room(pairs=2), head_end_shape="controller and amplifiers")
    slot, = slots(best(job, with_role(demo, "amplifier", "PA02-50")), "amplifier")
    assert slot.watts == pytest.approx(31.6, abs=0.06)
    assert slot.heat_w == pytest.approx(31.6 - 2 * 72 / 8, abs=0.06)


def test_idle_heat_is_all_of_the_mains(demo: Catalog) -> None:
    # nothing leaves for the loudspeakers; 1 W is 3.412 BTU/h (ownersrepny.com)
    rack = of(best(eight_rooms(), demo), RackFact)[0]
    assert rack.idle_btu_h == pytest.approx(rack.idle_w * 3.412, rel=1e-3)


def test_a_fan_moves_the_air_that_carries_the_heat_away(demo: Catalog) -> None:
    # CFM = 3.16 x W / rise in F (common practice, no source); the demo allows 15 F
    facts = best(eight_rooms(), with_number(demo, "fan above w", "10"))
    rack = of(facts, RackFact)[0]
    assert rack.fan_cfm == pytest.approx(3.16 * rack.heat_w / 15, rel=0.002)
    assert rack.fan_panels == len(slots(facts, "fan panel")) == -(-rack.fan_cfm // 100)


def test_a_cool_rack_has_no_fan(demo: Catalog) -> None:
    facts = best(eight_rooms(), with_number(demo, "fan above w", "5000"))
    assert not slots(facts, "fan panel") and not of(facts, RackFact)[0].fan


# ---------------------------------------------------------------- network

def test_a_port_serves_one_device(demo: Catalog) -> None:
    facts = best(large_house(), demo)
    used = [(slot.switch, slot.network_port) for slot in slots(facts) if slot.network_port]
    assert used and len(used) == len(set(used))


def test_the_switch_keeps_a_fifth_of_its_ports_free(demo: Catalog) -> None:
    # ports and 20 %, then the next size (common practice, no source)
    switches = of(best(large_house(head_end_shape="network amplifiers"), demo), NetworkDevice)
    assert sum(one.ports for one in switches) >= 1.2 * sum(one.used_ports for one in switches)


def test_a_switch_keeps_a_port_for_the_way_up(demo: Catalog) -> None:
    # six devices and 20 % are eight ports, and the router takes one more: the switch of 16
    job = house(*(make_room(f"R{n}", name=f"Room {n}", zone=n, pairs=1, control="phone") for n in range(1, 7)),
                head_end_shape="network amplifiers", sources=())
    switch, = of(best(job, with_setting(demo, "remote_power", "no")), NetworkDevice)
    assert (switch.ports, switch.used_ports, switch.link_ports) == (16, 7, 1)


def test_two_switches_hang_one_on_the_other(demo: Catalog) -> None:
    # a link takes a port at both ends: 8 - 2 devices on the first, 8 - 1 on the second
    job = house(*(make_room(f"R{n}", name=f"Room {n}", zone=n, pairs=1, control="phone") for n in range(1, 10)),
                head_end_shape="network amplifiers", sources=())
    small = with_setting(with_role(demo, "network switch", "NS-08"), "remote_power", "no")
    facts = best(job, small)
    assert [(one.link_ports, one.used_ports) for one in of(facts, NetworkDevice)] == [(2, 8), (1, 4)]
    used = sorted((slot.switch, slot.network_port) for slot in slots(facts) if slot.network_port)
    assert used == [*(("NET-1", port) for port in range(1, 7)), *(("NET-2", port) for port in range(1, 4))]


def test_hubs_feed_the_keypads_of_network_amplifiers_and_take_a_port_each(demo: Catalog) -> None:
    # a hub feeds eight keypads (common practice, no source): nine keypads, two hubs, no power over the network
    rooms = [make_room(f"R{n}", name=f"Room {n}", zone=n, pairs=1, control="keypad") for n in range(1, 10)]
    facts = best(house(*rooms, head_end_shape="network amplifiers"), demo)
    ports = [(slot.switch, slot.network_port) for slot in slots(facts, "keypad hub")]
    assert len(ports) == len(set(ports)) == 2 and all(port for _, port in ports)
    assert of(facts, NetworkDevice)[0].poe_asked_w == 0
    assert of(facts, SystemFact)[0].keypad_hubs == 2


def test_keypads_without_bus_or_hub_take_ports_and_power(demo: Catalog) -> None:
    # 6 W each (standards/head_end.csv, own judgement)
    rooms = [make_room(f"R{n}", name=f"Room {n}", zone=n, pairs=1, control="keypad") for n in range(1, 4)]
    bare = with_specs(demo, "controllers", lambda row: replace(row, keypad_ports=0))
    job = house(*rooms, head_end_shape="controller and amplifiers")
    switch = of(best(job, bare), NetworkDevice)[0]
    assert switch.poe_asked_w == pytest.approx(18)
    assert switch.used_ports == 3 + of(best(job, demo), NetworkDevice)[0].used_ports


def test_every_network_amplifier_has_a_port(demo: Catalog) -> None:
    facts = best(eight_rooms(head_end_shape="network amplifiers"), demo)
    assert len([slot for slot in slots(facts, "amplifier") if slot.network_port]) == len(of(facts, AmplifierFact))


# ---------------------------------------------------------------- shelf, rules

def test_on_an_open_shelf_things_have_outlets_and_no_units(demo: Catalog) -> None:
    facts = best(eight_rooms(), with_setting(demo, "rack", "shelf"))
    assert {slot.position_u for slot in slots(facts)} == {0}
    assert all(slot.outlet for slot in slots(facts, "amplifier", "controller"))


def test_a_part_asked_for_by_number_is_not_in_the_rack(demo: Catalog) -> None:
    facts = best(eight_rooms(extras=(extra("UP-10"),)), demo)
    assert "UP-10" not in {slot.part for slot in slots(facts)}


def test_the_order_of_the_rooms_changes_nothing_in_the_rack(demo: Catalog) -> None:
    job = eight_rooms()
    assert slots(best(replace(job, rooms=job.rooms[::-1]), demo)) == slots(best(job, demo))

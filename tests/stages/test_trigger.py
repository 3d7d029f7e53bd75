"""The wake-up chain: outputs, branches, splitters, current, and which zones wake together."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.engineering.trigger import deal, split
from quoting.facts import AmplifierFact, ControllerFact, Trigger
from tests.stages.head_ends import (
    facts_of,
    severity_and_cell,
    told,
    with_parts,
    with_setting,
    with_spec,
    without_sockets,
    zones_of_one_pair,
)


@pytest.fixture
def five(demo: Catalog) -> Catalog:
    """Five zones on five two-channel amplifiers behind one controller of two trigger outputs."""
    return with_setting(with_parts(with_parts(demo, "amplifier", "PA02-50"), "controller", "CT06"), "spare_zones", "0")


def test_every_amplifier_is_woken_by_one_output_in_order(five: Catalog) -> None:
    triggers = facts_of(zones_of_one_pair(5), five, Trigger)
    assert [(one.id, one.amplifiers) for one in triggers] == [
        ("CTL-1.T1", "AMP-1, AMP-2, AMP-3"), ("CTL-1.T2", "AMP-4, AMP-5")]


def test_the_zones_of_one_output_wake_together(five: Catalog) -> None:
    boxes = facts_of(zones_of_one_pair(5), five, AmplifierFact)
    assert [(box.trigger, box.wakes_with) for box in boxes] == [
        *[("CTL-1.T1", "Z1, Z2, Z3")] * 3, *[("CTL-1.T2", "Z4, Z5")] * 2]


def test_three_amplifiers_of_two_a_branch_take_one_splitter(five: Catalog) -> None:
    triggers = facts_of(zones_of_one_pair(5), five, Trigger)
    assert [(one.branches, one.splitters) for one in triggers] == [(2, 1), (1, 0)]


def test_amplifiers_that_do_not_pass_the_signal_on_each_take_a_branch() -> None:
    assert len(split([False, False, False], 2)) == 3
    assert len(split([True, False, True, True], 2)) == 2
    assert len(split([], 2)) == 0


@pytest.mark.parametrize(("amplifiers", "outputs"), [(n, k) for n in range(9) for k in range(1, 5)])
def test_dealing_leaves_nobody_out_and_no_output_has_two_more_than_another(amplifiers: int, outputs: int) -> None:
    shares = deal(amplifiers, outputs)
    assert [one for share in shares for one in share] == list(range(amplifiers))
    sizes = [len(share) for share in shares]
    assert len(sizes) <= outputs and (not sizes or max(sizes) - min(sizes) <= 1)


def test_the_current_of_an_output_is_the_sum_of_its_amplifiers(five: Catalog) -> None:
    # five trigger inputs of 8 mA (PA02-50): 24 + 16 = 40 mA
    triggers = facts_of(zones_of_one_pair(5), five, Trigger)
    assert [(one.draw_ma, one.unit_ma) for one in triggers] == [(24, 40), (16, 40)]


def test_more_current_than_the_controller_gives_warns(five: Catalog) -> None:
    weak = with_spec(five, "controllers", "CT06", trigger_out_ma=39)
    assert severity_and_cell(told(zones_of_one_pair(5), weak, "trigger-over-current")) == {("warning", "Job", "A1")}
    enough = with_spec(five, "controllers", "CT06", trigger_out_ma=40)
    assert not told(zones_of_one_pair(5), enough, "trigger-over-current")


def test_a_controller_that_does_not_say_gives_what_the_standard_says(five: Catalog) -> None:
    # outputs give 50 to 200 mA (trade practice 5.4); the starter row says 100 for each of two
    silent = with_spec(five, "controllers", "CT06", trigger_out_ma=0)
    triggers = facts_of(zones_of_one_pair(5), silent, Trigger)
    assert {one.limit_ma for one in triggers} == {200}
    assert all(any(row.startswith("trigger ") for row in one.decided) for one in triggers)


def test_a_controller_without_a_trigger_output_warns_and_needs_no_lead(five: Catalog) -> None:
    mute = without_sockets(five, "CT06", "trigger")
    assert severity_and_cell(told(zones_of_one_pair(5), mute, "trigger-without-output")) == {("warning", "Job", "A1")}
    assert not any(box.trigger_lead for box in facts_of(zones_of_one_pair(5), mute, AmplifierFact))


def test_each_linked_controller_wakes_the_amplifiers_that_it_feeds(five: Catalog) -> None:
    triggers = facts_of(zones_of_one_pair(8), five, Trigger)
    units = [unit.id for unit in facts_of(zones_of_one_pair(8), five, ControllerFact)]
    assert units == ["CTL-1", "CTL-2"]
    assert [(one.controller, one.wakes) for one in triggers] == [
        ("CTL-1", "Z1, Z2, Z3"), ("CTL-1", "Z4, Z5, Z6"), ("CTL-2", "Z7"), ("CTL-2", "Z8")]


def test_controller_amplifiers_wake_by_themselves(demo: Catalog) -> None:
    job = zones_of_one_pair(4, head_end_shape="controller-amplifier")
    assert facts_of(job, demo, Trigger) == ()


def test_a_line_amplifier_with_a_trigger_input_is_woken_after_the_others(five: Catalog) -> None:
    # zone 3 is a 70.7 V line: its amplifier stands apart, and two of four outputs' amplifiers come first
    woken = with_spec(five, "amplifiers", "LA1-060", trigger_ma=20)
    job = zones_of_one_pair(3)
    lined = replace(job, zones=tuple(replace(zone, line="70.7 V") if zone.number == 3 else zone for zone in job.zones))
    triggers = facts_of(lined, woken, Trigger)
    assert [(one.amplifiers, one.wakes, one.draw_ma) for one in triggers] == [
        ("AMP-1, AMP-2", "Z1, Z2", 16), ("LA-1", "Z3", 20)]
    assert {box.id: box.trigger for box in facts_of(lined, woken, AmplifierFact)}["LA-1"] == "CTL-1.T2"


def test_an_amplifier_without_a_trigger_input_wakes_alone(five: Catalog) -> None:
    deaf = with_spec(five, "amplifiers", "PA02-50", trigger_ma=0)
    boxes = facts_of(zones_of_one_pair(2), deaf, AmplifierFact)
    assert [(box.trigger, box.trigger_lead, box.wakes_with) for box in boxes] == [("", False, "Z1"), ("", False, "Z2")]

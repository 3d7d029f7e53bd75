"""The hook-up sheet, run through a machine that knows what is live, on every example and twenty random houses."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass
from types import SimpleNamespace

import pytest
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.documents.crew_hookup import COLUMNS, hook_up_sheet, hook_up_tables
from quoting.documents.crew_hookup_rack import set_at_place
from quoting.documents.crew_places import device_places
from quoting.documents.crew_steps import HookUpStep
from quoting.documents.floor_plan import rows_of_kind
from quoting.documents.rack_elevation import rack_elevations
from quoting.engineering.design import design_system
from quoting.facts import CableEnd, CableRun, Connection, KeypadFact, RackFact, RackSlot
from quoting.intake.read import read_job
from quoting.problems import has_stop
from quoting.quote import PricedOption, Quote
from tests.builders import facts_by_kind
from tests.documents.hook_up_machine import Rack, Row, order_faults, run
from tests.problems.forms import save
from tests.random_houses import random_house

HOUSES = 20


@dataclass(frozen=True)
class Case:
    """One option, its sheet and its connections."""

    name: str
    quote: Quote
    option: PricedOption
    steps: tuple[HookUpStep, ...]
    rows: tuple[Row, ...]
    batteries: tuple[str, ...]

    @property
    def racks(self) -> tuple[str, ...]:
        return tuple(rack["id"] for rack in rows_of_kind(self.quote, self.option, RackFact))

    def run(self, steps: tuple[HookUpStep, ...] | None = None) -> Rack:
        return run(self.rows, self.batteries, self.steps if steps is None else steps,
                   device_places(self.quote, self.option), self.racks)

    def faults(self, steps: tuple[HookUpStep, ...]) -> list[str]:
        rack = self.run(steps)
        missing = {row["id"] for row in self.rows} - set(rack.made)
        return rack.faults + order_faults(rack) + [f"{id} is not connected" for id in sorted(missing)]


AMPLIFIERS = ("AMP-", "CTL-", "LA-")  # amplifiers, controllers that amplify, amplifiers of a line


def cases_of(name: str, quote: Quote) -> list[Case]:
    return [Case(
        f"{name} {option.name}", quote, option, hook_up_sheet(quote, option).steps,
        rows_of_kind(quote, option, Connection),
        tuple(slot["id"] for slot in rows_of_kind(quote, option, RackSlot) if slot["what"] == "ups"),
    ) for option in quote.options]


@pytest.fixture(scope="module")
def cases(quotes: dict[str, Quote], demo: Catalog, tmp_path_factory: pytest.TempPathFactory) -> list[Case]:
    """Every option of the examples, and of random houses as far as the sheet needs a quote: its facts."""
    found = [case for name, quote in quotes.items() for case in cases_of(name, quote)]
    folder = tmp_path_factory.mktemp("houses")
    for seed in range(HOUSES):
        job, problems = read_job(save(folder / f"{seed}.xlsx", demo, *random_house(seed, demo)), demo)
        design = None if job is None or has_stop(problems) else design_system(job, demo)[0]
        if job is None or design is None:
            continue
        bare = quotes["1"]
        options = tuple(replace(priced, name=one.name, facts=facts_by_kind(one.facts))
                        for priced, one in zip(bare.options, design.options, strict=True))
        found += cases_of(f"house {seed}", replace(
            bare, job=job, facts=facts_by_kind(design.shared), options=options))
    assert len(found) > 3 * HOUSES / 2  # else the houses try too little
    return found


def test_nothing_is_ever_connected_to_a_live_device(cases: list[Case]) -> None:
    assert {case.name: case.run().faults for case in cases if case.run().faults} == {}


def test_everything_is_connected_once_in_the_end(cases: list[Case]) -> None:
    for case in cases:
        assert Counter(case.run().made) == Counter(row["id"] for row in case.rows), case.name


def test_controllers_come_on_before_sources_and_sources_before_amplifiers(cases: list[Case]) -> None:
    # trade practice 5.6: sources and controller first on, amplifiers last
    assert {case.name: order_faults(case.run()) for case in cases if order_faults(case.run())} == {}


def test_everything_with_a_cord_is_live_in_the_end(cases: list[Case]) -> None:
    for case in cases:
        corded = {row["to_device"] for row in case.rows if row["group"] == "mains"}
        assert corded - case.run().live() == set(), case.name


def test_amplifiers_are_the_first_to_go_off(cases: list[Case]) -> None:
    # trade practice 8: power off: amplifiers first, controller last
    for case in cases:
        off = [step.devices[0] for step in case.steps if step.action == "off"]
        amplifiers = {row["from_device"] for row in case.rows if row["group"] == "speaker"
                      and row["from_device"].startswith(AMPLIFIERS)} & set(off)
        assert set(off[:len(amplifiers)]) == amplifiers, case.name


def test_every_live_cable_end_is_landed_once_a_circuit(cases: list[Case]) -> None:
    for case in cases:
        circuits = {run["id"]: max(1, run["circuits"]) for run in rows_of_kind(case.quote, case.option, CableRun)}
        live = Counter({end["id"]: circuits[end["run"]] for end in rows_of_kind(case.quote, case.option, CableEnd)
                        if end["live"]})
        landed = Counter(end.split()[0] for step in case.steps if step.action == "connect" for end in step.cable_ends)
        assert landed == live, case.name


def test_every_speaker_circuit_is_metered_before_it_is_landed(cases: list[Case]) -> None:
    for case in cases:
        homes = {row["id"] for row in case.rows if row["group"] == "speaker"
                 and row["from_device"].startswith(AMPLIFIERS)}
        knobs = {keypad["id"] for keypad in rows_of_kind(case.quote, case.option, KeypadFact)
                 if keypad["control"] == "knob"}
        legs = {row["id"] for row in case.rows if row["group"] == "speaker" and row["from_device"] in knobs}
        assert case.run().metered == homes | legs, case.name


def test_steps_are_counted_through_the_sheet(cases: list[Case]) -> None:
    for case in cases:
        assert [step.number for step in case.steps] == list(range(1, len(case.steps) + 1)), case.name


def test_every_row_of_a_table_has_a_cell_for_each_column(cases: list[Case]) -> None:
    for case in cases:
        tables = hook_up_tables(hook_up_sheet(case.quote, case.option))
        assert [table.title for table in tables if {len(row) for row in table.rows} != {len(table.columns)}
                or [column for column in COLUMNS if column in table.columns] != list(table.columns)] == [], case.name


def test_each_outlet_of_the_elevation_is_the_hook_ups_and_feeds_one_cord(cases: list[Case]) -> None:
    for case in cases:
        drawn = {thing.id: thing.outlet for rack in rack_elevations(case.quote, case.option) for thing in rack.things}
        plugged = {row["id"].removesuffix("-P"): f"{row['from_device']}: {row['from_index']}" for row in case.rows
                   if row["group"] == "mains" and row["from_socket"] == "mains outlet"}
        assert {id: ", ".join(drawn[id].split(", ")[:1]) for id in plugged if drawn[id]} == {
            id: outlet for id, outlet in plugged.items() if drawn[id]}, case.name
        taken = Counter((words.partition(": ")[0], number) for words in drawn.values() if words
                        for number in words.partition(": ")[2].split(", "))
        assert [outlet for outlet, cords in taken.items() if cords > 1] == [], case.name


def test_sections_stand_in_the_order_of_their_visits(cases: list[Case]) -> None:
    for case in cases:
        first_days = {phase: min((visit.first_day for visit in case.option.timetable.visits if visit.phase == phase),
                                 default=10**6) for phase in ("trim-out", "rack build", "commissioning")}
        days = [first_days[section.phase] for section in hook_up_sheet(case.quote, case.option).sections]
        assert days == sorted(days), case.name


def test_a_bridged_circuit_leaves_from_both_channels_and_keeps_off_their_minus_terminals(cases: list[Case]) -> None:
    case = next(case for case in cases if case.name == "1 better")
    bridged = {row["id"]: row["from_index"] for row in case.rows if row["group"] == "speaker" and row["bridged"]}
    steps = [step for step in case.steps if step.action == "connect" and bridged.keys() & set(step.connections)
             and step.devices[0].startswith("AMP-")]
    assert len(steps) == len(bridged) > 0
    for step in steps:
        channel = bridged[step.connections[0]]
        assert f"channels {channel}+{channel + 1} bridged" in step.start
        assert "bridge +" in step.polarity and "stay empty" in step.polarity and "- to -" not in step.polarity


def test_words_of_what_a_job_has_not_are_not_said_in_it(cases: list[Case]) -> None:
    for case in cases:
        said = {step.action: " ".join(f"{other.what} {other.if_not}" for other in case.steps
                                      if other.action == step.action) for step in case.steps}
        knobs = {row["zone"] for row in rows_of_kind(case.quote, case.option, KeypadFact) if row["control"] == "knob"}
        for step in case.steps:
            if step.action == "listen":
                assert ("knob" in step.if_not) == (int(step.what.split()[1]) in knobs), case.name
        assert ("bridged" in said.get("check", "")) == any(row["bridged"] for row in case.rows
                                                           if row["group"] == "speaker"), case.name


def test_the_circuits_of_a_wire_to_a_knob_tell_a_short_at_its_far_end_from_a_sound_one(cases: list[Case]) -> None:
    # by hand: 10.7 m of 4 mm2 out and back are 2 x 10.7 x 4.95 / 1000 = 0.106 ohm (IEC 60228, class 5: 4.95 ohm/km)
    case = next(case for case in cases if case.name == "2 better")
    wire = next(step for step in case.steps if step.action == "test" and "003911" in step.cables)
    assert re.search(r"more than the leads alone: .*\b003911\b[0-9, ]* 0\.1 to 0\.2 ohm", wire.shows)
    at_rack = [step for step in case.steps if step.action == "meter" and step.start == "003911A"]
    assert len(at_rack) == 2 and all("more than 0.2 ohm" in step.shows for step in at_rack)


def test_a_shelf_is_called_no_rack(cases: list[Case]) -> None:
    shelved = [case for case in cases if any(rack["shelf_only"] for rack in rows_of_kind(
        case.quote, case.option, RackFact))]
    assert shelved != []
    for case in shelved:
        said = [text for section in hook_up_sheet(case.quote, case.option).sections for text in (
            section.title, *section.notes, *(text for step in section.steps for text in (step.what, step.shows,
                                                                                         step.if_not)))]
        assert [text for text in said if re.search(r"\bracks?\b", text)] == [], case.name


def test_the_second_person_is_sent_into_no_closed_box(cases: list[Case]) -> None:
    for case in cases:
        check = next(step for step in case.steps if step.action == "check")
        assert "every step above" not in check.what and "stay closed" in check.what, case.name


def test_a_rack_that_hangs_is_held_by_studs_or_masonry_and_one_that_stands_by_a_second_person() -> None:
    stood = {on_wall: next(set_at_place(SimpleNamespace(racks=({  # type: ignore[arg-type]
        "id": "RACK-1", "shelf_only": False, "on_wall": on_wall},)))).what for on_wall in (True, False)}
    assert "never into board alone" in stood[True] and "second person holds it" in stood[False]


def test_what_stands_on_top_of_a_rack_is_set_there_before_its_leads(cases: list[Case]) -> None:
    case = next(case for case in cases if case.name == "2 better")
    on_top = first(case.steps, lambda step: step.action == "set" and "on top of RACK-1" in step.what)
    leads = [at for at, step in enumerate(case.steps) if step.action == "connect" and "SRC-1" in step.devices]
    assert case.steps[on_top].devices == ("SRC-1",) and leads and on_top < min(leads)


def test_the_sender_at_a_television_is_fixed_and_joined_by_its_own_name(cases: list[Case]) -> None:
    case = next(case for case in cases if case.name == "1 better")
    fixed = first(case.steps, lambda step: step.action == "set" and step.devices == ("FROO-TV1",))
    leads = [at for at, step in enumerate(case.steps) if step.action == "connect" and "FROO-TV1" in step.devices]
    assert len(leads) == 2 and fixed < min(leads)
    assert all("television sender FROO-TV1" in f"{case.steps[at].start} {case.steps[at].end}" for at in leads)
    assert [step.what for step in case.steps if "television plate, optical" in f"{step.start} {step.end}"] == []


def test_a_tag_says_what_its_cable_waits_for(cases: list[Case]) -> None:
    # 908231 is the control's own cable in a room that has no control yet, 908251 the spare beside it
    case = next(case for case in cases if case.name == "1 better")
    said = {step.cable_ends[0]: step.what for step in case.steps if step.action == "stow" and len(step.cable_ends) == 1}
    assert said["908231B"].endswith('that says "for a later control"') and said["908251B"].endswith('"spare"')
    at_rack = next(step.what for step in case.steps if step.action == "stow" and len(step.cable_ends) > 1)
    assert '"for a later control" (103831A, 908231A)' in at_rack


def test_no_step_names_a_part_number(cases: list[Case]) -> None:
    # the crew reads trade words; the part list is another sheet
    case = next(case for case in cases if case.name == "3 best")
    parts = {row[end] for row in case.rows for end in ("from_part", "to_part", "lead", "through")} - {""}
    said = {word.strip(",.;:()") for step in case.steps
            for text in (step.what, step.start, step.end, step.by, step.shows, step.if_not) for word in text.split()}
    assert said & parts == set()


def first(steps: tuple[HookUpStep, ...], wanted: Callable[[HookUpStep], bool]) -> int:
    return next(index for index, step in enumerate(steps) if wanted(step))


def moved(steps: tuple[HookUpStep, ...], source: int, target: int) -> tuple[HookUpStep, ...]:
    kept = [*steps[:source], *steps[source + 1:]]
    kept.insert(target, steps[source])
    return tuple(kept)


def dropped(steps: tuple[HookUpStep, ...], at: int) -> tuple[HookUpStep, ...]:
    return (*steps[:at], *steps[at + 1:])


def is_action(action: str, device: str) -> Callable[[HookUpStep], bool]:
    return lambda step: step.action == action and device in step.devices


SPOILT: dict[str, Callable[[tuple[HookUpStep, ...]], tuple[HookUpStep, ...]]] = {
    "a lead after power": lambda steps: moved(
        steps, first(steps, lambda step: step.connections == ("Z2-IN1",)), len(steps) - 1),
    "a speaker after power": lambda steps: moved(
        steps, first(steps, lambda step: step.action == "connect" and step.connections == ("202511L",)),
        len(steps) - 1),
    "a UPS left on": lambda steps: dropped(steps, first(steps, is_action("off", "U1"))),
    "a router left on": lambda steps: dropped(steps, first(steps, is_action("off", "ROUTER"))),
    "a controller left on": lambda steps: dropped(dropped(steps, first(steps, is_action("off", "CTL-1"))), first(
        dropped(steps, first(steps, is_action("off", "CTL-1"))), is_action("off", "U1"))),
    "an amplifier before its controller": lambda steps: moved(
        steps, first(steps, is_action("power", "AMP-1")), first(steps, is_action("power", "CTL-1"))),
    "an amplifier before a source": lambda steps: moved(
        steps, first(steps, is_action("power", "AMP-1")), first(steps, is_action("power", "SRC-1"))),
    "a device before its strip": lambda steps: moved(
        steps, first(steps, is_action("power", "CTL-1")), first(steps, lambda step: step.action == "power")),
    "a circuit landed before the meter": lambda steps: moved(
        steps, first(steps, lambda step: step.action == "meter"), len(steps) - 1),
    "a lead forgotten": lambda steps: dropped(steps, first(steps, lambda step: step.connections == ("Z2-IN1",))),
    "a joint after the keypad that hides it": lambda steps: moved(
        steps, first(steps, lambda step: step.what.startswith("Join in the box")), len(steps) - 40),
    "a knob set after it is landed": lambda steps: moved(
        steps, first(steps, lambda step: step.what.startswith("Set its jumper")), first(
            steps, lambda step: "volume knob, OUT" in step.end) + 1),
    "a wire to a knob metered with the knob on it": lambda steps: moved(
        steps, first(steps, lambda step: step.cables and "003911" in step.cables), first(
            steps, lambda step: "volume knob, IN" in step.end) + 1),
    "a circuit behind a knob metered without its loudspeaker": lambda steps: moved(
        steps, first(steps, lambda step: step.action == "meter"), 0),
    "a category cable tested with one end plugged in": lambda steps: moved(
        steps, first(steps, lambda step: step.action == "test" and "network plug" in step.what), first(
            steps, lambda step: step.what.startswith("Plug end B in")) + 1),
    "a category cable tested with its patch lead in": lambda steps: moved(
        steps, first(steps, lambda step: step.what.startswith("Cable tester from the panel")), first(
            steps, lambda step: step.action == "check") - 1),
    "a speaker cable landed untested": lambda steps: dropped(
        steps, first(steps, lambda step: step.what.startswith("Each speaker cable by itself"))),
    "a cable that waits put away untested": lambda steps: dropped(
        steps, first(steps, lambda step: step.action == "test" and step.what.startswith("Not in use"))),
    "circuits metered together before they are landed": lambda steps: moved(
        steps, first(steps, lambda step: step.action == "meter" and len(step.connections) > 1),
        first(steps, lambda step: step.action == "connect" and len(step.connections) == 1)),
    "a cable landed before its rack stands": lambda steps: moved(
        steps, first(steps, lambda step: step.action == "stand"), first(steps, lambda step: step.action == "check")),
    "a rack that is never fixed": lambda steps: dropped(steps, first(steps, lambda step: step.action == "fix")),
    "a rack fixed before its last lead": lambda steps: moved(
        steps, first(steps, lambda step: step.action == "fix"), first(steps, lambda step: step.action == "check") - 2),
    "a trigger after power": lambda steps: moved(
        steps, first(steps, lambda step: step.connections == ("AMP-1-T",)), len(steps) - 1),
}


@pytest.mark.parametrize("fault", SPOILT)
def test_a_sheet_in_a_wrong_order_is_caught(fault: str, cases: list[Case]) -> None:
    case = next(case for case in cases if case.name == ("2 better" if "knob" in fault else "3 best"))
    assert case.faults(case.steps) == []
    assert case.faults(SPOILT[fault](case.steps)) != []


def test_any_connection_moved_behind_power_is_caught(cases: list[Case]) -> None:
    case = next(case for case in cases if case.name == "1 better")
    power = first(case.steps, lambda step: step.action == "power")
    connects = [index for index, step in enumerate(case.steps) if step.action == "connect"]
    assert [index for index in connects if not case.faults(moved(case.steps, index, power + 1))] == []


def test_a_column_that_says_nothing_in_a_section_is_left_out_and_no_step_loses_what_it_says(cases: list[Case]) -> None:
    for case in cases:
        sheet = hook_up_sheet(case.quote, case.option)
        for table, section in zip(hook_up_tables(sheet), sheet.sections, strict=True):
            for row, step in zip(table.rows, section.steps, strict=True):
                said = (step.what, step.start, step.end, step.by, step.polarity, step.shows, step.if_not)
                assert [text for text in said if text and text not in row] == [], case.name
            assert [row for row in zip(*table.rows, strict=True) if set(row) == {"–"}] == [], case.name

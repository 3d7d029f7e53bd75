"""What is plugged into what, on every example and twenty random houses: nothing twice, nothing left over."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import cached_property
from typing import TypeVar

import pytest
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.engineering.design import design_system
from quoting.facts import (
    AmplifierOutput,
    AudioSource,
    CableEnd,
    CableRun,
    Connection,
    Fact,
    NetworkDevice,
    RackSlot,
    RoomInput,
    Speaker,
    Trigger,
    of,
)
from quoting.facts.connection import NO_SOCKET, OF_THE_HOUSE
from quoting.intake.read import read_job
from quoting.job import Job, Override
from quoting.problems import Problem, has_stop
from tests.builders import cell, make_room, make_source
from tests.changed_catalog import with_specs
from tests.conftest import EXAMPLES
from tests.demo_jobs import house
from tests.problems.forms import save
from tests.random_houses import random_house

HOUSES = 20
F = TypeVar("F", bound=Fact)


@dataclass(frozen=True)
class Wired:
    """One option of one house."""

    name: str
    facts: tuple[Fact, ...]
    problems: tuple[Problem, ...]

    @cached_property
    def connections(self) -> tuple[Connection, ...]:
        return of(self.facts, Connection)

    def group(self, name: str) -> list[Connection]:
        return [one for one in self.connections if one.group == name]

    def of(self, kind: type[F]) -> tuple[F, ...]:
        return of(self.facts, kind)


def wired(name: str, job: Job, demo: Catalog) -> list[Wired]:
    design, problems = design_system(job, demo)
    if design is None:
        return []
    return [Wired(f"{name} {one.name}", (*design.shared, *one.facts), problems) for one in design.options]


@pytest.fixture(scope="module")
def options(demo: Catalog, tmp_path_factory: pytest.TempPathFactory) -> list[Wired]:
    """Every option of every example and of the random houses that nothing stops."""
    folder = tmp_path_factory.mktemp("houses")
    books = [(path.name[0], path) for path in sorted(EXAMPLES.glob("*.xlsx"))]
    books += [(f"house {seed}", save(folder / f"{seed}.xlsx", demo, *random_house(seed, demo)))
              for seed in range(HOUSES)]
    found: list[Wired] = []
    for name, path in books:
        job, problems = read_job(path, demo)
        if job is not None and not has_stop(problems):
            found += wired(name, job, demo)
    assert len(found) > 3 * HOUSES / 2  # else the houses try too little
    return found


def small_house(demo: Catalog, **changes: object) -> Wired:
    """The fullest option of one room on a controller and amplifiers."""
    values = {"head_end_shape": "controller and amplifiers", **changes}
    made = wired("small", house(make_room(pairs=1, **values.pop("room", {})), **values), demo)  # type: ignore[arg-type]
    assert made
    return made[-1]


def test_every_loudspeaker_coil_is_on_one_cable(options: list[Wired]) -> None:
    for option in options:
        coils = Counter((speaker.id, coil) for speaker in option.of(Speaker)
                        for coil in range(1, 3 if speaker.single_stereo else 2))
        speakers = {speaker.id for speaker in option.of(Speaker)}
        landed = Counter((one.to_device, one.to_index) for one in option.connections if one.to_device in speakers)
        assert landed == coils, option.name


def _driven(option: Wired) -> Counter[tuple[str, int]]:
    """Loudspeaker terminals reached from each amplifier output, wire by wire: knobs pass a side straight on."""
    onward: dict[tuple[str, str, int], list[Connection]] = {}
    knobs = {one.to_device for one in option.group("speaker") if one.to_socket == "speaker screw"
             and "-KP" in one.to_device}
    for one in option.group("speaker"):
        onward.setdefault((one.from_device, one.from_side, 0 if one.from_device in knobs else one.from_index),
                          []).append(one)
    reached: Counter[tuple[str, int]] = Counter()
    for output in option.of(AmplifierOutput):
        ahead = [one for one in option.group("speaker")
                 if (one.from_device, one.from_index) == (output.amplifier, output.channel)]
        seen: set[str] = set()
        while ahead:
            one = ahead.pop()
            if one.id in seen:
                continue
            seen.add(one.id)
            if "-SP" in one.to_device:
                reached[output.id, 0] += 1
                place = (one.to_device.replace("-SP", "-S"), one.to_side, 0)
            else:
                place = (one.to_device, one.to_side, 0 if one.to_device in knobs else one.to_index)
            ahead += onward.get(place, [])
    return reached


def test_every_output_drives_the_voice_coils_that_its_load_was_reckoned_with(options: list[Wired]) -> None:
    for option in options:
        reckoned = Counter({(output.id, 0): output.voice_coils for output in option.of(AmplifierOutput)})
        assert _driven(option) == reckoned, option.name


def test_a_dropped_loudspeaker_leaves_the_load_of_the_other_side(demo: Catalog) -> None:
    # two right loudspeakers of 8 ohm side by side are 4 ohm, whatever is left on the left channel
    dropped = Override(id="KIT-SP1", what="drop", value="", reason="beam", who="R. Estimator",
                       where=cell("Overrides", "A2"))
    job = house(make_room(pairs=2), head_end_shape="controller and amplifiers", overrides=(dropped,))
    outputs = {one.side: (one.voice_coils, one.load_ohm) for one in wired("dropped", job, demo)[-1].of(AmplifierOutput)}
    assert outputs == {"L": (1, 4.0), "R": (2, 4.0)}


def test_a_dropped_loudspeaker_passes_the_cable_on_to_the_next(demo: Catalog) -> None:
    # common practice, no source: the joint stays in the box, only what hangs before it is left out
    dropped = Override(id="KIT-SP1", what="drop", value="", reason="beam", who="R. Estimator",
                       where=cell("Overrides", "A2"))
    job = house(make_room(pairs=1, mount="surface", control="phone"), topology="direct", overrides=(dropped,))
    option = wired("dropped", job, demo)[-1]
    right = {(one.from_device, one.to_device) for one in option.group("speaker") if one.id.endswith("R")}
    assert right == {("AMP-1", "KIT-S1"), ("KIT-S1", "KIT-SP2")}


def test_the_second_pair_plays_on_its_own_home_run_where_the_first_is_dropped(demo: Catalog) -> None:
    gone = tuple(Override(id=id, what="drop", value="", reason="beam", who="R. Estimator",
                          where=cell("Overrides", f"A{row}")) for row, id in enumerate(("KIT-SP1", "KIT-SP2"), 2))
    option = wired("dropped", house(make_room(pairs=2), overrides=gone), demo)[-1]
    homes = [run.id for run in option.of(CableRun) if run.purpose == "home run"]
    live = {end.run for end in option.of(CableEnd) if end.live}
    assert [id in live for id in homes] == [False, True]


def test_a_place_from_which_a_cable_goes_on_cannot_be_dropped(demo: Catalog) -> None:
    dropped = Override(id="KIT-S1", what="drop", value="", reason="beam", who="R. Estimator",
                       where=cell("Overrides", "A2"))
    job = house(make_room(pairs=1, mount="surface", control="phone"), topology="direct", overrides=(dropped,))
    design, problems = design_system(job, demo)
    assert design is None
    assert [str(one) for one in problems if "KIT-SP1" in str(one)] and "override-not-possible" in {
        one.code for one in problems}


def test_every_live_cable_is_landed_once_a_circuit_and_no_other_is(options: list[Wired]) -> None:
    for option in options:
        live = {end.run for end in option.of(CableEnd) if end.live}
        wanted = Counter({run.id: max(1, run.circuits) for run in option.of(CableRun) if run.id in live})
        assert Counter(one.run for one in option.connections if one.run) == wanted, option.name


def test_both_ends_of_a_cable_are_live_or_neither(options: list[Wired]) -> None:
    for option in options:
        ends: dict[str, set[bool]] = {}
        for end in option.of(CableEnd):
            ends.setdefault(end.run, set()).add(end.live)
        assert [run for run, states in ends.items() if len(states) > 1] == [], option.name


def test_every_socket_is_one_that_the_catalogue_gives_the_part(options: list[Wired], demo: Catalog) -> None:
    def known(part: str, socket: str, index: int, ways: tuple[str, ...]) -> bool:
        return any(f"{row.signal} {row.connector}" == socket and row.direction in ways and 1 <= index <= row.count
                   for row in demo.sockets.get(part, ()))

    for option in options:
        wrong = [
            (one.id, part, socket, index) for one in option.connections for part, socket, index, ways in (
                (one.from_part, one.from_socket, one.from_index, ("out", "both")),
                (one.to_part, one.to_socket, one.to_index, ("in", "both")))
            if part and socket not in (NO_SOCKET, *OF_THE_HOUSE) and not known(part, socket, index, ways)]
        assert wrong == [], option.name


def test_a_connection_without_a_socket_has_been_warned_of(options: list[Wired]) -> None:
    for option in options:
        lacking = [one for one in option.connections if NO_SOCKET in (one.from_socket, one.to_socket)]
        warned = {problem.code for problem in option.problems}
        assert not lacking or warned & {"missing-socket", "keypad-bus-ports"}, option.name


def test_no_socket_is_used_twice_unless_the_joint_is_named(options: list[Wired]) -> None:
    for option in options:
        used: dict[tuple[str, str, str, int, str], list[Connection]] = {}
        for one in option.connections:
            for way, device, socket, index, sides in (
                    ("out", one.from_device, one.from_socket, one.from_index, one.from_side),
                    ("in", one.to_device, one.to_socket, one.to_index, one.to_side)):
                if socket not in (NO_SOCKET, *OF_THE_HOUSE):
                    for side in sides or " ":
                        used.setdefault((way, device, socket, index, side), []).append(one)
        shared = {key: [one.id for one in ones] for key, ones in used.items() if len(ones) > 1}
        unnamed = {key: ids for key, ids in shared.items()
                   if not all(set(ids) <= set(one.joint.split(", ")) for one in used[key])}
        assert unnamed == {}, option.name


def test_two_amplifier_outputs_never_meet(options: list[Wired]) -> None:
    # common practice, no source: outputs of two channels tied together destroy each other
    for option in options:
        outputs: dict[tuple[str, str, int, str], set[tuple[str, int]]] = {}
        for one in option.group("speaker"):
            if one.from_device.startswith(("AMP-", "CTL-")):
                outputs.setdefault((one.to_device, one.to_socket, one.to_index, one.to_side), set()).add(
                    (one.from_device, one.from_index))
        assert {node: ends for node, ends in outputs.items() if len(ends) > 1} == {}, option.name


def test_ids_are_short_and_no_other_fact_has_them(options: list[Wired]) -> None:
    for option in options:
        ids = Counter(fact.id for fact in option.facts)
        assert [one.id for one in option.connections if len(one.id) > 10 or ids[one.id] > 1] == [], option.name


def test_every_amplifier_that_a_trigger_wakes_hangs_on_it(options: list[Wired]) -> None:
    for option in options:
        woken = {box for trigger in option.of(Trigger) for box in trigger.amplifiers.split(", ")}
        assert {one.to_device for one in option.group("trigger")} == woken, option.name


def test_every_device_with_plugs_is_plugged_in(options: list[Wired]) -> None:
    for option in options:
        plugged = {one.id for one in option.group("mains")}
        wanted = {f"{slot.id}-P" for slot in option.of(RackSlot) if slot.outlet}
        assert wanted <= plugged, option.name


def test_every_network_port_in_use_has_its_lead(options: list[Wired]) -> None:
    for option in options:
        switches = {device.id for device in option.of(NetworkDevice)}
        ends = [one for one in option.connections if one.from_device in switches or one.to_device in switches]
        leads = sum((one.from_device in switches) + (one.to_device in switches) for one in ends
                    if one.group in ("network", "control"))
        assert leads == sum(device.used_ports for device in option.of(NetworkDevice)), option.name


def test_every_stream_and_room_input_reaches_an_input(options: list[Wired]) -> None:
    for option in options:
        streams = sum(source.inputs for source in option.of(AudioSource) if source.at_head_end)
        inputs = [one for one in option.group("source") if one.to_device.startswith(("CTL-", "AMP-", "LA-"))]
        rooms = {entry.id for entry in option.of(RoomInput)}
        assert len([one for one in inputs if one.id.startswith("SRC-")]) == streams, option.name
        assert {one.basis[0] for one in inputs if "-IN" in one.id or "-TV" in one.id} == rooms, option.name


def test_a_bridged_zone_takes_the_left_input_of_each_channel_pair(demo: Catalog) -> None:
    # common practice, no source: across a pair's two channels the left input counts
    job = house(make_room(pairs=1), head_end_shape="controller and amplifiers")
    job = replace(job, zones=(replace(job.zones[0], bridged=True),))
    leads = wired("bridged", job, demo)[-1].group("zone lead")
    assert [(one.from_side, one.to_index, one.to_side) for one in leads] == [("L", 1, "L"), ("R", 2, "L")]


def test_a_mono_zone_goes_through_its_summing_adaptor(demo: Catalog) -> None:
    job = house(make_room(pairs=1), head_end_shape="controller and amplifiers")
    job = replace(job, zones=(replace(job.zones[0], mono=True),))
    leads = wired("mono", job, demo)[-1].group("zone lead")
    assert [(one.from_side, one.through, one.to_side) for one in leads] == [("M", "MS-10", "L")]


def test_an_output_that_feeds_two_inputs_names_its_y(options: list[Wired]) -> None:
    shared = [one for option in options for one in option.group("zone lead") if one.joint]
    assert shared
    assert {one.through.rpartition(", ")[2] for one in shared} == {"LD-YLINE"}


def test_a_turntable_goes_through_its_preamplifier(demo: Catalog) -> None:
    option = small_house(demo, sources=(make_source(name="Record player", kind="turntable", connector="RCA",
                                                    control="none"),))
    assert [(one.from_part, one.to_part) for one in option.group("source")] == [("TT-20", "PH-10"), ("PH-10", "CT06")]


def test_an_owned_player_on_the_network_has_a_port_however_it_is_controlled(demo: Catalog) -> None:
    option = small_house(demo, sources=(make_source(name="Box", kind="other", owned=True, connector="network",
                                                    control="none"),))
    assert [one.to_device for one in option.group("network") if one.to_device.startswith("SRC")] == ["SRC-1"]


def test_a_source_without_the_connector_that_was_typed_is_told_of(demo: Catalog) -> None:
    option = small_house(demo, sources=(make_source(name="Radio", kind="tuner", connector="optical", control="none",
                                                    where=cell("Sources", "D4")),))
    told = [problem for problem in option.problems if problem.code == "missing-socket"]
    assert [problem.where.ref for problem in told] == ["D4"]
    assert "'SRC-1', and its part 'TN-20' has no 'digital or line optical' output" in told[0].message


def test_a_control_cable_behind_a_knob_is_a_tagged_tail(demo: Catalog) -> None:
    option = small_house(demo, room={"control": "knob"})
    ends = [(end.terminal, end.tagged) for end in option.of(CableEnd) if end.purpose == "control"]
    assert ends and set(ends) == {("tail", True)}


def test_pairs_of_a_second_output_go_past_a_knob_and_are_told_of(demo: Catalog) -> None:
    # four 8 ohm pairs on one 4 ohm channel are 2 ohm: two outputs, which a knob must not tie together
    job = house(make_room(pairs=4, control="knob", length_m=12.0, width_m=9.0),
                head_end_shape="controller and amplifiers")
    option = wired("knob", job, demo)[-1]
    at_knob = {one.from_device + str(one.from_index) for one in option.group("speaker") if one.to_device == "KIT-KP1"}
    assert len(at_knob) == 2  # one left, one right output
    assert "pairs-past-the-knob" in {problem.code for problem in option.problems}


def test_a_cable_that_goes_past_a_knob_ends_in_a_joint(demo: Catalog) -> None:
    # what is fitted to an end follows its terminal: wire joints in the box, pin pigtails on the knob's screws
    job = house(make_room(pairs=4, control="knob", length_m=12.0, width_m=9.0),
                head_end_shape="controller and amplifiers")
    option = wired("knob", job, demo)[-1]
    on_it = {one.run for one in option.group("speaker") if "KIT-KP1" in (one.from_device, one.to_device)}
    at_box = {end.run: end.terminal for end in option.of(CableEnd) if end.device in ("knob", "keypad") and end.circuits}
    assert set(at_box.values()) == {"screw", "joint"}
    assert {run for run, terminal in at_box.items() if terminal == "screw"} == on_it


def test_a_lead_that_is_too_short_for_its_way_in_the_rack_is_told_of(demo: Catalog) -> None:
    # units of 44.45 mm (EIA-310, IEC 60297), 0.25 m across and 0.15 m of bends (starting values): a cord over 17 units
    # goes 17 x 0.04445 + 0.40 = 1.156 m
    job = house(*(make_room(code=f"R{number}", zone=number) for number in range(1, 9)))
    short = with_specs(demo, "leads", lambda row: replace(row, length_m=0.6))
    design, _ = design_system(job, short)
    assert design is not None
    connections = of(design.options[-1].facts, Connection)
    slots = {slot.id: slot.position_u for slot in reversed(of(design.options[-1].facts, RackSlot))}
    slots |= {slot.device: slot.position_u for slot in reversed(of(design.options[-1].facts, RackSlot)) if slot.device}
    cords = [one for one in connections if one.group == "mains" and one.lead]
    assert cords and [one.way_m for one in cords] == [
        pytest.approx(abs(slots[one.from_device] - slots[one.to_device]) * 0.04445 + 0.4, abs=0.006) for one in cords]
    assert "lead-too-short" in {problem.code for problem in design_system(job, short)[1]}
    assert "lead-too-short" not in {problem.code for problem in design_system(job, demo)[1]}

"""Nothing is lost and nothing is made on the way from design to paper: every example and three hundred random houses.

Each house is looked at in one option, as if that had been accepted. Chunks of houses are quoted once a test process.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from decimal import Decimal
from functools import cached_property
from typing import Any, NamedTuple

import pytest

from quoting.buying import left_overs, orders, purchase_list
from quoting.catalog.records import Catalog
from quoting.documents.crew_hookup import hook_up_sheet
from quoting.documents.crew_labels import cable_labels
from quoting.documents.crew_places import device_places
from quoting.documents.crew_pull import pull_lists, spool_plan
from quoting.documents.crew_schedules import schedules
from quoting.documents.crew_ways import ways_out
from quoting.documents.floor_plan import rows_of_kind
from quoting.facts import (
    AmplifierOutput,
    CableEnd,
    CableRun,
    Conduit,
    Connection,
    Fact,
    HouseExit,
    KeypadFact,
    Place,
    RackSlot,
    RoomUse,
    Speaker,
    Trench,
    WallBox,
)
from quoting.facts.connection import JOINT, NO_SOCKET, OF_THE_HOUSE
from quoting.lines import PHASES
from quoting.picking import picks
from quoting.quote import PricedOption, Quote
from quoting.rules.book import RuleBook
from tests.documents.hook_up_machine import order_faults, run
from tests.quoted_houses import quoted_houses

HOUSES, CHUNK = 300, 50
CHUNKS = ("examples", *range(HOUSES // CHUNK))
FIRST_SEED = 10_000  # of chunk 0; each chunk has its own thousand
PANEL = "Patch panel"
KNOBS = "Volume knob schedule"
Row = Mapping[str, Any]


class Case:
    """One accepted option of one house."""

    def __init__(self, name: str, quote: Quote, option: PricedOption) -> None:
        self.name, self.quote, self.option = f"{name} {option.name}", quote, option

    def of(self, kind: type[Fact]) -> tuple[Row, ...]:
        return rows_of_kind(self.quote, self.option, kind)

    @cached_property
    def cables(self) -> Counter[str]:
        return Counter(row["id"] for row in self.of(CableRun))

    @cached_property
    def connections(self) -> tuple[Row, ...]:
        return self.of(Connection)


class Socket(NamedTuple):
    """One end of a connection, as it stands in the facts."""

    way: str
    device: str
    part: str
    socket: str
    index: int
    sides: str


def ends_of(row: Row) -> tuple[Socket, Socket]:
    return tuple(Socket(way, *(row[f"{end}_{field}"] for field in ("device", "part", "socket", "index", "side")))
                 for way, end in (("out", "from"), ("in", "to")))  # type: ignore[return-value]


@pytest.fixture(scope="module", params=CHUNKS)
def cases(request: pytest.FixtureRequest, quotes: dict[str, Quote], demo: Catalog, book: RuleBook) -> list[Case]:
    """Every option of every example; of each random house one option, each in its turn."""
    if request.param == "examples":
        return [Case(name, quote, option) for name, quote in quotes.items() for option in quote.options]
    houses = quoted_houses(FIRST_SEED + 1000 * request.param, CHUNK, demo, book)
    return [Case(name, quote, quote.options[turn % len(quote.options)]) for turn, (name, quote) in enumerate(houses)]


# ---------------------------------------------------------------- cables

def test_every_cable_is_on_the_pull_list_once(cases: list[Case]) -> None:
    for case in cases:
        said = Counter(row[1] for table in pull_lists(case.quote, case.option) for row in table.rows)
        assert said == case.cables, case.name


def test_every_cable_is_on_the_spool_plan_once(cases: list[Case]) -> None:
    for case in cases:
        table = spool_plan(case.quote, case.option)
        said = Counter(row[table.columns.index("Cable id")] for row in table.rows)
        del said["–"]  # a spool of which nothing is cut
        assert said == case.cables, case.name


def test_every_cable_is_cut_once_and_as_long_as_it_is_planned(cases: list[Case]) -> None:
    for case in cases:
        cut = Counter(cut.run for spool in case.option.spools for cut in spool.cuts)
        assert cut == Counter(row["id"] for row in case.of(CableRun) if not row["reused"]), case.name


def test_every_cable_has_a_label_for_each_end_and_its_spares(cases: list[Case]) -> None:
    # rules/cable_run.csv RUN-050: two for each cable and one to spare; CND-080: one for each end of a conduit; HEX-040:
    # one for each way out of the house
    for case in cases:
        said = Counter((label.run, label.end) for label in cable_labels(case.quote, case.option))
        wanted = Counter((id, end) for id in case.cables for end in ("start", "end", "extra 1"))
        wanted += Counter((row["id"], end) for row in case.of(Conduit) for end in ("label 1", "label 2"))
        assert said == wanted + Counter((row["id"], "label 1") for row in case.of(HouseExit)), case.name


def test_both_ends_of_every_live_cable_are_landed_once_a_circuit(cases: list[Case]) -> None:
    for case in cases:
        circuits = {row["id"]: max(1, row["circuits"]) for row in case.of(CableRun)}
        live = Counter({end["id"]: circuits[end["run"]] for end in case.of(CableEnd) if end["live"]})
        steps = hook_up_sheet(case.quote, case.option).steps
        landed = Counter(end.split()[0] for step in steps if step.action == "connect" for end in step.cable_ends)
        assert landed == live, case.name
        assert {id[:-1] for id in live if id.endswith("A")} == {id[:-1] for id in live if id.endswith("B")}, case.name


def test_every_live_cable_at_the_head_end_is_in_one_schedule(cases: list[Case]) -> None:
    for case in cases:
        said: Counter[str] = Counter()
        for table in schedules(case.quote, case.option):
            if table.title in (PANEL, KNOBS):  # ports and knobs by themselves: the schedules say what is on them
                continue
            words = {word.strip(",") for row in table.rows for cell in row for word in cell.split()}
            said.update(words & set(case.cables))
        home = {row["id"] for row in case.of(CableRun) if row["start"] == "HE"}
        live = {end["run"] for end in case.of(CableEnd) if end["live"]} & home
        scheduled = {id for id in live if said[id] == 1}
        assert live - scheduled == set(), case.name


def test_every_category_cable_at_the_head_end_is_on_a_port_or_waits_beside_the_panel(cases: list[Case]) -> None:
    for case in cases:
        tables = [table for table in schedules(case.quote, case.option) if table.title == PANEL]
        said = Counter(row[1] for table in tables for row in table.rows)
        said.update(id.strip(".,") for table in tables for note in table.notes if note.startswith("Beside")
                    for id in note.partition(": ")[2].split())
        wanted = {row["id"] for row in case.of(CableRun) if row["start"] == "HE" and row["role"].startswith("category")}
        assert not tables or said == Counter(wanted), case.name


def test_every_cable_has_a_step_at_both_ends(cases: list[Case]) -> None:
    # common practice, no source: an end that nobody lands is capped, coiled and tagged, or nobody finds it again
    for case in cases:
        sheet, circuits = hook_up_sheet(case.quote,
                                        case.option), {run["id"]: run["circuits"] for run in case.of(CableRun)}
        landed, stowed = ({end.split()[0] for step in sheet.steps if step.action == action for end in step.cable_ends}
                          for action in ("connect", "stow"))
        ends = {end["id"]: end["live"] for end in case.of(CableEnd)}
        assert landed == {id for id, live in ends.items() if live}, case.name
        assert Counter(end for step in sheet.steps if step.action == "stow" for end in step.cable_ends) == Counter(
            id for id, live in ends.items() if not live), case.name
        assert landed | stowed == {f"{run}{letter}" for run in circuits for letter in "AB"}, case.name


def test_every_category_cable_is_tested_by_itself_and_again_once_it_is_on_the_panel(cases: list[Case]) -> None:
    # common practice, no source: a tester wants both ends free of devices, and what is punched down last is tested last
    for case in cases:
        sheet = hook_up_sheet(case.quote, case.option)
        tested = Counter(cable for step in sheet.steps if step.action == "test" for cable in step.cables)
        live = {end["run"] for end in case.of(CableEnd) if end["live"]}
        wanted = {run["id"]: 1 + (run["start"] == "HE" and run["id"] in live) for run in case.of(CableRun)
                  if run["role"].startswith("category")}
        assert {id: tested[id] for id in wanted} == wanted, case.name


def test_circuits_that_share_an_output_are_metered_together_once_they_are_landed(cases: list[Case]) -> None:
    for case in cases:
        homes = {run["id"] for run in case.of(CableRun) if run["start"] == "HE"}
        shared: dict[tuple[str, int], set[str]] = {}
        for row in case.connections:
            if row["group"] == "speaker" and row["run"] in homes:
                shared.setdefault((row["from_device"], row["from_index"]), set()).add(row["id"])
        steps = hook_up_sheet(case.quote, case.option).steps
        metered = Counter(frozenset(step.connections) for step in steps
                          if step.action == "meter" and len(step.connections) > 1)
        assert metered == Counter(frozenset(ids) for ids in shared.values() if len(ids) > 1), case.name


def test_what_is_bought_for_a_cable_s_end_is_named_where_it_is_landed_or_put_away(cases: list[Case]) -> None:
    for case in cases:
        ends = {end["id"] for end in case.of(CableEnd)}
        fitted = {(reason.fact, case.quote.parts[row.part].description.partition(",")[0].lower())
                  for row in case.option.materials if case.quote.parts[row.part].category == "connectors and fixings"
                  for reason in row.because if reason.fact in ends}
        said: dict[str, str] = {}
        for step in hook_up_sheet(case.quote, case.option).steps:
            for end in (*(each.split()[0] for each in step.cable_ends),
                        *(f"{cable}{x}" for cable in step.cables for x in "AB")):
                said[end] = f"{said.get(end, '')} {step.what.lower()}"
        assert {(end, words) for end, words in fitted if words not in said.get(end, "")} == set(), case.name


def test_no_step_needs_a_thing_before_the_visit_that_brings_it(cases: list[Case]) -> None:
    # parts are issued by phase; what is the family's own is there when the rooms are done, for the commissioning visit
    for case in cases:
        brought: dict[str, int] = {}
        for row in case.option.materials:
            brought[row.part] = min(brought.get(row.part, len(PHASES)), PHASES.index(row.phase))
        by_id = {row["id"]: row for row in case.connections}
        powered = {row["to_device"] for row in case.connections if row["group"] == "mains"}
        early = []
        for section in hook_up_sheet(case.quote, case.option).sections:
            now = PHASES.index(section.phase)
            touched = [(step, by_id[id]) for step in section.steps for id in step.connections]
            for step, row in touched:
                held = [end for end in ("from", "to") if not row["run"] or row[f"{end}_device"] in step.devices]
                parts = [row[f"{end}_part"] for end in held]
                parts += [] if row["run"] else [row["lead"], *row["through"].split(", ")]
                early += [(step.number, part) for part in parts if part and brought.get(part, 0) > now]
                early += [(step.number, row[f"{end}_device"]) for end in held if row[f"{end}_device"] not in powered
                          and row[f"{end}_device"].startswith(("ROUTER", "BELL-", "SRC-"))
                          and now < PHASES.index("commissioning")]
        assert early == [], case.name


def test_every_cable_that_leaves_the_house_has_one_way_out_and_both_marks(cases: list[Case]) -> None:
    # common practice, no source: one cable, never spliced, lies in walls first and in the wet after; its hole is sealed
    for case in cases:
        outdoors = {room.code for room in case.quote.job.rooms if room.setting == "outdoor"}
        leaving = {row["id"]: row for row in case.of(CableRun) if row["room"] in outdoors and row["way"] != "inside"
                   and row["start"].rpartition("-")[0] not in outdoors and not row["reused"]}
        ways = [(id, row["id"]) for row in case.of(HouseExit) for id in row["basis"]]
        assert Counter(id for id, _ in ways) == Counter(leaving.keys()), case.name
        assert {row["rating"] for row in leaving.values()} <= {"in wall and burial", "riser and burial"}, case.name
        via = {row[1]: row[5] for table in pull_lists(case.quote, case.option) for row in table.rows}
        assert [id for id, way in ways if way not in via[id]] == [], case.name
        sealed = Counter(row[0] for row in ways_out(case.quote, case.option).rows)
        assert sealed == Counter(row["id"] for kind in (HouseExit, Conduit, Trench) for row in case.of(kind)), case.name


# ---------------------------------------------------------------- voice coils

def coils_of(case: Case) -> dict[tuple[str, int], list[str]]:
    """Voice coil -> the amplifier outputs that wires lead to it from, side by side through knobs and speakers."""
    rows = [row for row in case.connections if row["group"] == "speaker"]
    knobs = {row["to_device"] for row in rows if row["to_socket"] == "speaker screw" and "-KP" in row["to_device"]}
    onward: dict[tuple[str, str, int], list[Row]] = {}
    for row in rows:
        index = 0 if row["from_device"] in knobs else row["from_index"]
        onward.setdefault((row["from_device"], row["from_side"], index), []).append(row)
    reached: dict[tuple[str, int], list[str]] = {}
    for output in case.of(AmplifierOutput):
        ahead = [row for row in rows if (row["from_device"], row["from_index"]) == (
            output["amplifier"], output["channel"])]
        seen: set[str] = set()
        while ahead:
            row = ahead.pop()
            if row["id"] in seen:
                continue
            seen.add(row["id"])
            place = (row["to_device"], row["to_side"], 0 if row["to_device"] in knobs else row["to_index"])
            if "-SP" in row["to_device"]:
                reached.setdefault((row["to_device"], row["to_index"]), []).append(output["id"])
                place = (row["to_device"].replace("-SP", "-S"), row["to_side"], 0)
            ahead += onward.get(place, [])
    return reached


def test_every_voice_coil_is_on_one_output(cases: list[Case]) -> None:
    for case in cases:
        coils = {(row["id"], coil) for row in case.of(Speaker) for coil in range(1, 2 + row["single_stereo"])}
        reached = coils_of(case)
        assert {coil: outputs for coil, outputs in reached.items() if len(outputs) != 1} == {}, case.name
        assert set(reached) == coils, case.name


def test_every_output_drives_as_many_coils_as_its_load_was_reckoned_with(cases: list[Case]) -> None:
    for case in cases:
        driven = Counter(output for outputs in coils_of(case).values() for output in outputs)
        assert driven == Counter({row["id"]: row["voice_coils"] for row in case.of(AmplifierOutput)}), case.name


def test_every_channel_is_of_one_output_and_a_bridged_output_has_two(cases: list[Case]) -> None:
    for case in cases:
        taken = Counter((row["amplifier"], channel) for row in case.of(AmplifierOutput)
                        for channel in range(row["channel"], row["channel"] + 1 + row["bridged"]))
        assert [channel for channel, times in taken.items() if times > 1] == [], case.name


def test_a_speaker_on_a_voltage_line_is_on_an_output_of_that_line(cases: list[Case]) -> None:
    for case in cases:
        lines = {row["id"]: row["line_v"] for row in case.of(AmplifierOutput)}
        reached = coils_of(case)
        wrong = [row["id"] for row in case.of(Speaker)
                 if {lines[output] for output in reached.get((row["id"], 1), ())} != {row["line_v"]}]
        assert wrong == [], case.name


def test_every_passive_volume_control_stands_in_its_loudspeakers_line(cases: list[Case]) -> None:
    # common practice, no source: an impedance-matching volume control takes the amplifier's cable in and gives the
    # loudspeakers' cables out; beside the line it turns nothing down
    for case in cases:
        ends = {end["id"]: end for end in case.of(CableEnd)}
        steps = hook_up_sheet(case.quote, case.option).steps
        landed = {end.split()[0] for step in steps if step.action == "connect" for end in step.cable_ends}
        for knob in (row for row in case.of(KeypadFact) if row["control"] == "knob"):
            runs = [run for run in case.of(CableRun) if run["circuits"] and ends[run["id"] + "A"]["live"]]
            at = [{f"{run['id']}{side}" for run in runs if run[end] == knob["place"]}
                  for side, end in (("B", "end"), ("A", "start"))]
            played = {row["zone"] for row in case.of(AmplifierOutput)}
            if knob["zone"] in played:
                assert all(way and way <= landed for way in at), (case.name, knob["id"])
                on_it = {f"{row['run']}{side}" for row in case.connections
                         for side, end in (("A", "from_device"), ("B", "to_device")) if row[end] == knob["id"]}
                assert all(way & on_it for way in at), (case.name, knob["id"])
                # cables of another output go past it: its screws would tie the two outputs together
                assert {id: ends[id]["terminal"] for way in at for id in way} == {
                    id: "screw" if id in on_it else "joint" for way in at for id in way}, (case.name, knob["id"])


def test_no_wires_are_joined_loose_behind_a_surface_loudspeaker(cases: list[Case]) -> None:
    # common practice, no source: a joint lies in a box that can be opened; electrical codes ask the same of mains
    for case in cases:
        there = {row["room"] for row in case.of(RoomUse) if row["reuse_speakers"] or row["reuse_cable"]}
        joints = {row[f"{end}_device"] for row in case.connections for end in ("from", "to")
                  if row[f"{end}_socket"] == JOINT}
        loose = {place["id"] for place in case.of(Place) if place["id"] in joints and place["mount"] == "surface"
                 and not place["ring"] and place["room"] not in there}
        assert loose == set(), case.name


def test_every_ring_is_bought_and_closed_once(cases: list[Case]) -> None:
    # common practice, no source: a ring or box in the wall ends behind a control, a plate, a blank plate or its lid
    for case in cases:
        rings = {place["id"]: place for place in case.of(Place) if place["ring"]}
        boxes = {box["id"]: box for box in case.of(WallBox)}
        assert Counter(box["place"] for box in boxes.values()) == Counter(rings.keys()), case.name
        bought = Counter({reason.fact: int(reason.amount) for row in case.option.materials if row.phase == "rough-in"
                          for reason in row.because if reason.fact in boxes})
        assert bought == Counter({id: box["boxes"] for id, box in boxes.items()}), case.name
        speakers = {row["place"]: row["id"] for row in case.of(Speaker) if not row["owned"]}
        behind = {speakers[id] for id in rings if id in speakers and rings[id]["setting"] != "outdoor"}
        plates = Counter(reason.fact for row in case.option.materials for reason in row.because
                         if reason.rule == "SPK-160")
        assert plates == Counter(behind), case.name


# ---------------------------------------------------------------- sockets

def test_every_socket_is_one_that_the_catalogue_gives_the_device(cases: list[Case], demo: Catalog) -> None:
    given = {(part, way, f"{row.signal} {row.connector}"): row.count for part, rows in demo.sockets.items()
             for row in rows for way in (("in", "out") if row.direction == "both" else (row.direction,))}
    for case in cases:
        wrong = [(row["id"], end) for row in case.connections for end in ends_of(row)
                 if end.part and end.socket not in (NO_SOCKET, *OF_THE_HOUSE)
                 and not 1 <= end.index <= given.get((end.part, end.way, end.socket), 0)]
        assert wrong == [], case.name


def test_a_connection_without_a_socket_is_told_of(cases: list[Case]) -> None:
    for case in cases:
        lacking = [row["id"] for row in case.connections if NO_SOCKET in (row["from_socket"], row["to_socket"])]
        told = {problem.code for problem in case.quote.problems}
        assert not lacking or told & {"missing-socket", "keypad-bus-ports"}, case.name


def test_no_socket_takes_more_than_the_joint_that_the_design_names(cases: list[Case]) -> None:
    for case in cases:
        used: dict[tuple[str, str, str, int, str], list[Row]] = {}
        for row in case.connections:
            for end in ends_of(row):
                if end.socket not in (NO_SOCKET, *OF_THE_HOUSE):
                    for side in end.sides or " ":
                        used.setdefault((end.way, end.device, end.socket, end.index, side), []).append(row)
        unnamed = {at: [row["id"] for row in rows] for at, rows in used.items() if len(rows) > 1
                   and not all({other["id"] for other in rows} <= set(row["joint"].split(", ")) for row in rows)}
        assert unnamed == {}, case.name


def test_every_joint_names_connections_that_are_there(cases: list[Case]) -> None:
    for case in cases:
        ids = {row["id"] for row in case.connections}
        assert {id for row in case.connections for id in row["joint"].split(", ") if id} <= ids, case.name


def test_the_second_channel_of_a_bridge_takes_nothing(cases: list[Case]) -> None:
    # common practice, no source: a bridged pair is one output; a wire on its other channel would join the two
    for case in cases:
        second = {(row["amplifier"], row["channel"] + 1) for row in case.of(AmplifierOutput) if row["bridged"]}
        wired = {(row["from_device"], row["from_index"]) for row in case.connections
                 if row["group"] == "speaker" and row["from_socket"] != JOINT}
        assert second & wired == set(), case.name


# ---------------------------------------------------------------- order of power

def test_nothing_is_ever_connected_to_a_live_device(cases: list[Case]) -> None:
    for case in cases:
        batteries = [slot["id"] for slot in case.of(RackSlot) if slot["what"] == "ups"]
        rack = run(case.connections, batteries, hook_up_sheet(case.quote, case.option).steps,
                   device_places(case.quote, case.option))
        assert rack.faults + order_faults(rack) == [], case.name
        assert Counter(rack.made) == Counter(row["id"] for row in case.connections), case.name


# ---------------------------------------------------------------- days

def test_every_visit_is_on_working_days_and_holds_its_half_days(cases: list[Case]) -> None:
    for case in cases:
        found = [visit for visit in case.option.timetable.visits if visit.first_date and visit.last_date]
        assert {visit.id for visit in found if visit.first_date.weekday() > 4 or visit.last_date.weekday() > 4  # type: ignore[union-attr]
                or (visit.last_date - visit.first_date).days != visit.last_day - visit.first_day  # type: ignore[operator]
                } == set(), case.name
        held: Counter[str] = Counter()
        for visit in found:
            held[visit.phase] += visit.half_days
        for later in case.option.timetable.agreed:
            held[later.phase] += later.half_days
        # the hours of travel and management are added later: a phase of these alone has no visit
        assert held == Counter({phase.phase: phase.half_days for phase in case.option.phases
                                if phase.half_days and phase.phase != "whole job"}), case.name


def test_enough_houses_play(cases: list[Case]) -> None:
    assert sum(bool(case.of(Speaker)) for case in cases) > len(cases) / 2  # else the houses try too little


# ---------------------------------------------------------------- buying and picking

def test_every_part_that_is_bought_or_in_stock_is_picked_for_what_it_is_needed(cases: list[Case]) -> None:
    for case in cases:
        picked, needed = ({part: amount for part, amount in found.items() if amount} for found in (
            _sums((pick.part, pick.quantity) for pick in picks(case.quote, case.option)),
            _sums((row.part, row.need) for row in case.option.materials)))
        assert picked == needed, case.name


def test_what_is_bought_in_a_colour_is_all_that_is_picked_in_it(cases: list[Case]) -> None:
    for case in cases:
        for purchase in case.option.purchases:
            for colour in {put_up.colour for put_up in purchase.put_ups if put_up.colour}:
                came = sum(put_up.size * put_up.count for put_up in purchase.put_ups if put_up.colour == colour)
                wanted = sum(pick.quantity for pick in picks(case.quote, case.option)
                             if pick.part == purchase.part and pick.colour == colour)
                assert came >= wanted > 0, (case.name, purchase.part, colour)


def test_every_order_holds_lines_of_the_list_once(cases: list[Case]) -> None:
    for case in cases:
        lines = purchase_list(case.quote, case.option)
        found = orders(case.quote, lines)
        assert Counter(id(line) for its in found for line in its.lines) == Counter(
            id(line) for line in lines if line.put_up), case.name
        assert sum(its.outlay for its in found) == case.option.totals.outlay, case.name


def test_every_part_that_comes_in_is_used_kept_given_back_or_wasted(cases: list[Case]) -> None:
    for case in cases:
        assert [each for each in left_overs(case.quote, case.option) if each.bought + each.from_stock != (
            each.used + each.with_job + each.to_stock + each.to_return + each.waste)] == [], case.name


def test_as_many_power_cords_are_bought_as_are_plugged_in(cases: list[Case], demo: Catalog) -> None:
    # common practice, no source: a wall transformer, and what the customer owns, comes with a cord of its own
    for case in cases:
        cord = demo.parts_for("short power cord", case.option.name, "AWG")[0]
        bought = sum(row.need for row in case.option.materials if row.part == cord)
        assert bought == sum(row["lead"] == cord for row in case.connections), case.name


def _sums(amounts: Iterable[tuple[str, Decimal]]) -> dict[str, Decimal]:
    found: dict[str, Decimal] = {}
    for part, amount in amounts:
        found[part] = found.get(part, Decimal(0)) + amount
    return found

"""Every automatic check of the trade's list (trade practice 5.9): its severity, its code, the cell that caused it.

TRADE_LIST is that list. Each row of PROVOKED is one slip in an otherwise good house, and what must be said of it where.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from msgspec.structs import replace

from quoting.bill import merge_lines
from quoting.buying_inputs import PartBuying
from quoting.catalog.check import check_catalog
from quoting.catalog.records import Catalog
from quoting.cli import main
from quoting.intake.read import read_job
from quoting.job import Extra, Job, Override
from quoting.lines import MaterialLine
from quoting.pipeline import quote_job
from quoting.pricing.supply import PartDays, late_parts
from quoting.problems import Problem
from quoting.rules.book import RuleBook
from quoting.workdays import WorkCalendar
from tests.builders import cell, make_job, make_room
from tests.changed_catalog import changed, with_number, with_role, with_setting, with_specs
from tests.conftest import EXAMPLES, PRICED_ON, ROOT
from tests.demo_jobs import FT, house
from tests.problems.forms import Change, save
from tests.stages.pricing_stubs import make_catalog, material

HEAD_END = "Job!B9"
# What a remedy starts with: what the reader can do.
DOING = "(Type|Name|Keep|Move|Delete|Add|Give|Have|Correct|Ask|Leave|Lower|Join|Accept) "
Slip = Callable[[Catalog], tuple[Job, Catalog]]


def eight_rooms(**changes: Any) -> Job:
    """Eight rooms in eight zones, a controller and amplifiers."""
    rooms = [make_room(f"R{n}", name=f"Room {n}", zone=n, pairs=1) for n in range(1, 9)]
    return house(*rooms, **{"head_end_shape": "controller and amplifiers", **changes})


def kitchen(**changes: Any) -> Job:
    """One kitchen whose cells are known by column."""
    cells = {"": cell("Rooms", "A2"), "setting": cell("Rooms", "L2"), "mount": cell("Rooms", "H2"),
             "control": cell("Rooms", "J2")}
    return house(make_room(cells=cells, **changes))


def extra(part: str) -> Extra:
    return Extra(kind="part", name="", room="", quantity=Decimal(2), part=part, amount=None, rack_mountable=False,
                 plays_from="good", note="", where=cell("Extras", "F2"))


def low_racks(demo: Catalog) -> tuple[Job, Catalog]:
    return eight_rooms(), with_number(with_role(demo, "rack", "RK-12"), "racks at most", "1")


def shallow_racks(demo: Catalog) -> tuple[Job, Catalog]:
    return eight_rooms(), with_specs(demo, "racks", lambda row: replace(row, depth_mm=300.0))


def weak_racks(demo: Catalog) -> tuple[Job, Catalog]:
    return eight_rooms(), with_specs(demo, "racks", lambda row: replace(row, load_kg=1.0))


def hungry_amplifiers(demo: Catalog) -> tuple[Job, Catalog]:
    return eight_rooms(), with_specs(demo, "amplifiers", lambda row: replace(row, working_w=1500.0))


def one_hungry_amplifier(demo: Catalog) -> tuple[Job, Catalog]:
    # 12 channels at 1/8 power from 2 000 W, on a strip of 1 800 VA that is loaded to 80 %: 1 440 W
    return eight_rooms(), with_specs(demo, "amplifiers", lambda row: replace(row, working_w=2000.0))


def small_battery(demo: Catalog) -> tuple[Job, Catalog]:
    return eight_rooms(), with_specs(demo, "racks", lambda row: replace(row, capacity_va=row.capacity_va and 20.0))


def hot_closet(demo: Catalog) -> tuple[Job, Catalog]:
    return eight_rooms(), with_number(demo, "closet heat w", "50")


def no_switch(demo: Catalog) -> tuple[Job, Catalog]:
    return eight_rooms(), with_role(demo, "network switch")


def no_power_over_cables(demo: Catalog) -> tuple[Job, Catalog]:
    # keypads hang on the switch where the controller has no bus for them
    no_bus = with_specs(demo, "controllers", lambda row: replace(row, keypad_ports=0))
    return eight_rooms(), with_specs(no_bus, "sources", lambda row: replace(row, poe_w=0.0))


def no_brackets(demo: Catalog) -> tuple[Job, Catalog]:
    return kitchen(), with_specs(demo, "speakers", lambda row: replace(row, bracket=""))


def bracket_behind_board(demo: Catalog) -> tuple[Job, Catalog]:
    room = make_room(wall_state="finished")
    return house(room, wall_state="finished", extras=(extra("NB-CS65"),)), demo


def dry_speakers_in_the_bath(demo: Catalog) -> tuple[Job, Catalog]:
    return kitchen(setting="damp"), with_specs(demo, "speakers", lambda row: replace(row, damp_class="dry"))


def no_hours_for_fixing(demo: Catalog) -> tuple[Job, Catalog]:
    nothing = Decimal(0)
    fixing = {name for name, task in demo.tasks.items() if task.labour_class == "fixing"}
    hours = {key: replace(row, low=nothing, likely=nothing, high=nothing) if key[0] in fixing else row
             for key, row in demo.hours.items()}
    return kitchen(), replace(demo, hours=hours)


def a_part_nobody_makes(demo: Catalog) -> tuple[Job, Catalog]:
    entry = Override(id="KIT-SP1", what="part", value="CS65-08", reason="as in the hall", who="R. Estimator",
                     where=cell("Overrides", "C2"))
    return house(make_room(), overrides=(entry,)), demo


def a_discontinued_extra(demo: Catalog) -> tuple[Job, Catalog]:
    return house(make_room(), extras=(extra("CS65-08"),)), demo


def a_discontinued_model(demo: Catalog) -> tuple[Job, Catalog]:
    parts = {**demo.parts, "KP-20": replace(demo.parts["KP-20"], discontinued=True)}
    return kitchen(), replace(demo, parts=parts)


def work_from_today(demo: Catalog) -> tuple[Job, Catalog]:
    job = house(make_room(), start_date=PRICED_ON)
    return replace(job, cells={**job.cells, "start_date": cell("Job", "B7")}), demo


def old_list(demo: Catalog) -> tuple[Job, Catalog]:
    old = datetime.date(2020, 1, 1)
    prices = changed(demo.prices, lambda rows: tuple(replace(row, from_date=old) for row in rows))  # type: ignore[arg-type]
    return house(make_room()), replace(demo, prices=prices)  # type: ignore[arg-type]


def old_list_that_stops(demo: Catalog) -> tuple[Job, Catalog]:
    job, catalog = old_list(demo)
    return job, replace(catalog, firm=replace(catalog.firm, stop_on_old_prices=True))


def nothing_plays(demo: Catalog) -> tuple[Job, Catalog]:
    return house(make_room(plays_from="later")), demo


def three_pairs_on_a_knob(demo: Catalog) -> tuple[Job, Catalog]:
    return kitchen(control="knob", pairs=3), demo


def plenum_without_a_cable(demo: Catalog) -> tuple[Job, Catalog]:
    return house(make_room("GAR", name="Garden", kind="garden", setting="outdoor", mount="garden", control="phone",
                           length_m=20 * FT, width_m=20 * FT)), with_specs(
        demo, "cables", lambda row: replace(row, rating="in wall"))


def typed(demo: Catalog, *changes: Change) -> Job:
    """The small good workbook with these cells, read as a salesperson's file is."""
    with TemporaryDirectory() as folder:
        job, problems = read_job(save(Path(folder) / "job.xlsx", demo, *changes), demo)
    assert job is not None, problems
    return job


def on_job(label: str, value: Any) -> Change:
    return Change("Job", "", label, value)


def on(sheet: str, row: int, **cells: Any) -> tuple[Change, ...]:
    return tuple(Change(sheet, str(row), heading.replace("_", " "), value) for heading, value in cells.items())


APART = on_job("Head-end shape", "controller and amplifiers")
NETWORK = on_job("Head-end shape", "network amplifiers")
KITCHEN_ALONE = (*on("Rooms", 1, Zone=1), *on("Rooms", 2, Plays_from="never"), *on("Rooms", 3, Plays_from="never"))


def eight_outputs_for_nine(demo: Catalog) -> tuple[Job, Catalog]:
    more = [change for row in range(4, 10) for change in on(
        "Rooms", row, Name=f"Room {row}", Kind="bedroom", Floor=1, Length=14, Width=12)]
    small = with_specs(with_role(demo, "controller", "CT08"), "controllers", lambda row: replace(row, linkable=1))
    return typed(demo, APART, *more), small


def five_tuners(demo: Catalog) -> tuple[Job, Catalog]:
    tuners = [change for row in range(2, 7) for change in on("Sources", row, Kind="tuner", Name=f"Tuner {row}")]
    return typed(demo, APART, *tuners), with_role(demo, "controller", "CT06")


def picture_lead(demo: Catalog) -> tuple[Job, Catalog]:
    source = on("Sources", 2, Kind="other", Name="Game box", Owned="yes", Connector="HDMI")
    return typed(demo, *source), with_role(demo, "hdmi extractor")


def twenty_pairs(demo: Catalog) -> tuple[Job, Catalog]:
    return typed(demo, APART, *on("Rooms", 1, Pairs=20)), demo


def three_pairs_on_a_box(demo: Catalog) -> tuple[Job, Catalog]:
    return typed(demo, NETWORK, *KITCHEN_ALONE, *on("Rooms", 1, Pairs=3)), demo


def heavy_bridge(demo: Catalog) -> tuple[Job, Catalog]:
    job = typed(demo, APART, *KITCHEN_ALONE, *on("Zones", 1, Zone=1, Name="Kitchen", Bridged="yes"))
    return job, with_specs(demo, "speakers", lambda row: replace(row, nominal_ohm=4.0))


def one_speaker_dropped(demo: Catalog) -> tuple[Job, Catalog]:
    drop = on("Overrides", 1, Line_or_fact="KIT-SP2", What="drop", Reason="a duct is there", Who="R. Estimator")
    return typed(demo, *on("Rooms", 1, Pairs=1), *drop), demo


def long_way(demo: Catalog) -> tuple[Job, Catalog]:
    return typed(demo, *KITCHEN_ALONE, *on("Rooms", 1, Pairs=1, Measured_run="160 ft")), demo


def much_too_long_way(demo: Catalog) -> tuple[Job, Catalog]:
    return typed(demo, *on("Rooms", 1, Pairs=1, Measured_run="700 ft")), demo


def deep_wall_speakers(demo: Catalog) -> tuple[Job, Catalog]:
    return typed(demo, *on("Rooms", 1, Mount="wall")), with_specs(
        demo, "speakers", lambda row: replace(row, depth_mm=400.0))


def narrow_bays(demo: Catalog) -> tuple[Job, Catalog]:
    return typed(demo, *on("Rooms", 1, Joist_spacing="8 in", Joist_direction="along")), demo


def nothing_to_control_with(demo: Catalog) -> tuple[Job, Catalog]:
    deaf = demo
    for sheet in ("controllers", "sources", "amplifiers"):
        deaf = with_specs(deaf, sheet, lambda row: replace(row, network_port=False))
    return typed(demo, APART, *KITCHEN_ALONE, *on("Rooms", 1, Control="phone")), deaf


def frail_speakers(demo: Catalog) -> tuple[Job, Catalog]:
    job = typed(demo, APART, *KITCHEN_ALONE, *on("Zones", 1, Zone=1, Name="Kitchen"))
    return job, with_specs(demo, "speakers", lambda row: replace(row, power_w=20.0))


def nameless_zone(demo: Catalog) -> tuple[Job, Catalog]:
    job = kitchen()
    return replace(job, zones=tuple(replace(zone, name=" ") for zone in job.zones)), demo  # intake never leaves it so


def player_without_a_way_back(demo: Catalog) -> tuple[Job, Catalog]:
    return typed(demo, *on("Sources", 2, Kind="turntable", Name="Record player", Location="Kitchen")), demo


# The check as the trade's list has it, the slip, severity, code, sheet and cell ("" where the catalogue is at fault).
PROVOKED: tuple[tuple[str, Slip, str, str, str], ...] = (
    ("zones over outputs", eight_outputs_for_nine, "stop", "too-few-zone-outputs", "Rooms!A10"),
    ("sources over inputs", five_tuners, "stop", "too-few-inputs", "Sources!A7"),
    ("wrong connector without converter", picture_lead, "stop", "wrong-connector", "Sources!A3"),
    ("channels over amp", twenty_pairs, "stop", "too-few-channels", "Rooms!A2"),
    ("load below minimum", three_pairs_on_a_box, "stop", "load-below-minimum", "Rooms!F2"),
    ("bridged load below minimum", heavy_bridge, "stop", "bridged-load-below-minimum", "Zones!A2"),
    ("mono speaker alone in stereo zone", one_speaker_dropped, "warning", "half-of-the-music", "Rooms!A2"),
    ("gauge length, warn", long_way, "warning", "cable-over-limit", "Rooms!AH2"),
    ("gauge length, stop", much_too_long_way, "stop", "cable-too-long", "Rooms!AH2"),
    ("speaker depth over cavity", deep_wall_speakers, "stop", "depth-over-cavity", "Rooms!G2"),
    ("cut-out over joist bay", narrow_bays, "stop", "cut-out-over-bay", "Rooms!V2"),
    ("no control in a zone", nothing_to_control_with, "stop", "no-control", "Rooms!K2"),
    ("zone without level set", frail_speakers, "warning", "zone-without-level", "Zones!A2"),
    ("zone without name", nameless_zone, "warning", "zone-without-name", "Zones!A2"),
    ("source in a room without return", player_without_a_way_back, "stop", "source-without-return", "Sources!A3"),
    ("rack height", low_racks, "warning", "rack-too-low", HEAD_END),
    ("rack depth", shallow_racks, "warning", "rack-too-shallow", HEAD_END),
    ("rack weight", weak_racks, "warning", "rack-too-heavy", HEAD_END),
    ("circuit load", hungry_amplifiers, "warning", "circuit-overloaded", HEAD_END),
    ("one device on a circuit", one_hungry_amplifier, "warning", "strip-overloaded", HEAD_END),
    ("UPS", small_battery, "warning", "ups-too-small", HEAD_END),
    ("heat", hot_closet, "warning", "head-end-too-hot", HEAD_END),
    ("port count", no_switch, "warning", "too-few-ports", HEAD_END),
    ("PoE", no_power_over_cables, "warning", "too-little-poe", HEAD_END),
    ("no bracket in new work", no_brackets, "warning", "no-bracket", "Rooms!H2"),
    ("bracket in retrofit", bracket_behind_board, "warning", "bracket-in-retrofit", "Extras!F2"),
    ("damp class lower than room", dry_speakers_in_the_bath, "stop", "speaker-not-for-the-damp", "Rooms!L2"),
    ("plenum or burial rating", plenum_without_a_cable, "stop", "no-cable-with-rating", "Rooms!A2"),
    ("two pairs on a volume control", three_pairs_on_a_knob, "warning", "knob-carries-fewer-pairs", "Rooms!J2"),
    ("hours zero on a part to fit", no_hours_for_fixing, "stop", "part-without-hours", ""),
    ("price older than allowed", old_list, "warning", "old-price", ""),
    ("price older, where the firm stops", old_list_that_stops, "stop", "old-price", ""),
    ("part discontinued, by override", a_part_nobody_makes, "stop", "part-discontinued", "Overrides!C2"),
    ("part discontinued, by number", a_discontinued_extra, "stop", "part-discontinued", "Extras!F2"),
    ("part discontinued, by role", a_discontinued_model, "stop", "part-discontinued", ""),
    ("lead time later than the phase", work_from_today, "warning", "part-late", "Job!B7"),
    ("nothing plays in an option", nothing_plays, "stop", "no-live-zone", "Rooms!A2"),
)

# Trade practice 5.9, word for word where one word says it, with its severity, and our code for it.
TRADE_LIST: tuple[tuple[str, str, str], ...] = (
    ("zones over outputs", "stop", "too-few-zone-outputs"),
    ("sources over inputs", "stop", "too-few-inputs"),
    ("wrong connector without converter", "stop", "wrong-connector"),
    ("channels over amp", "stop", "too-few-channels"),
    ("load below minimum", "stop", "load-below-minimum"),
    ("bridged load below minimum", "stop", "bridged-load-below-minimum"),
    ("mono speaker alone in stereo zone", "warning", "half-of-the-music"),
    ("gauge length", "warning", "cable-over-limit"),
    ("gauge length", "stop", "cable-too-long"),
    ("speaker depth over cavity", "stop", "depth-over-cavity"),
    ("cut-out over joist bay", "stop", "cut-out-over-bay"),
    ("damp class lower than room", "stop", "speaker-not-for-the-damp"),
    ("plenum or burial rating", "stop", "no-cable-with-rating"),
    ("no bracket in new work", "warning", "no-bracket"),
    ("bracket in retrofit", "warning", "bracket-in-retrofit"),
    ("two pairs on a volume control", "warning", "knob-carries-fewer-pairs"),
    ("rack height", "warning", "rack-too-low"),
    ("circuit load", "warning", "circuit-overloaded"),
    ("port count", "warning", "too-few-ports"),
    ("PoE", "warning", "too-little-poe"),
    ("heat", "warning", "head-end-too-hot"),
    ("no control in a zone", "stop", "no-control"),
    ("zone without level set", "warning", "zone-without-level"),
    ("zone without name", "warning", "zone-without-name"),
    ("source in a room without return cable", "stop", "source-without-return"),
    ("hours zero on a part to fit", "stop", "part-without-hours"),
    ("price older than 30 or 60 days", "warning", "old-price"),
    ("price older, where the firm stops", "stop", "old-price"),
    ("part discontinued", "stop", "part-discontinued"),
    ("lead time later than the phase date", "warning", "part-late"),
)


def told(slip: Slip, demo: Catalog, book: RuleBook) -> tuple[Problem, ...]:
    job, catalog = slip(demo)
    return quote_job(job, catalog, book, PRICED_ON)[1]


@pytest.mark.parametrize(("check", "slip", "severity", "code", "where"), PROVOKED, ids=[row[0] for row in PROVOKED])
def test_a_slip_is_told_of_at_its_cell(
    check: str, slip: Slip, severity: str, code: str, where: str, demo: Catalog, book: RuleBook
) -> None:
    found = [problem for problem in told(slip, demo, book) if problem.code == code]
    assert found, f"{check}: nothing says {code}"
    assert {problem.severity for problem in found} == {severity}
    assert {f"{problem.where.sheet}!{problem.where.ref}" for problem in found} == {where} or (
        not where and all(problem.where.file.endswith(".csv") and problem.where.ref for problem in found))


@pytest.mark.parametrize("code", sorted({row[3] for row in PROVOKED} - {"no-live-zone"}))
def test_a_good_house_is_not_told_of_it(code: str, demo: Catalog, book: RuleBook) -> None:
    for job in (eight_rooms(), kitchen()):
        assert code not in {problem.code for problem in quote_job(job, demo, book, PRICED_ON)[1]}


@pytest.mark.parametrize(("check", "severity", "code"), TRADE_LIST, ids=[f"{row[0]}, {row[1]}" for row in TRADE_LIST])
def test_every_check_of_the_trades_list_is_provoked_with_its_severity(check: str, severity: str, code: str) -> None:
    assert (severity, code) in {row[2:4] for row in PROVOKED}, check


@pytest.mark.parametrize(("check", "slip", "severity", "code", "where"), PROVOKED, ids=[row[0] for row in PROVOKED])
def test_a_check_says_what_stands_there_and_what_to_type(
    check: str, slip: Slip, severity: str, code: str, where: str, demo: Catalog, book: RuleBook
) -> None:
    found = [problem for problem in told(slip, demo, book) if problem.code == code]
    # something named or measured, and a remedy that starts with what to do
    assert all(re.search(r"'[^']+'|\d", problem.message) for problem in found), check
    assert all(re.match(DOING, problem.remedy) for problem in found), [problem.remedy for problem in found]


def test_a_wall_that_may_get_wet_carries_its_speakers_and_asks_for_no_bracket(demo: Catalog, book: RuleBook) -> None:
    # a weatherproof surface model hangs there (common practice, no source): neither bracket nor back box belongs to it
    job = typed(demo, *KITCHEN_ALONE, *on("Rooms", 1, Mount="wall", Setting="damp", Above_the_ceiling="rated"))
    quote, problems = quote_job(job, demo, book, PRICED_ON)
    assert quote is not None, problems
    assert "no-bracket" not in {problem.code for problem in problems}
    assert {row["mount"] for row in quote.facts["place"] if row["device"] == "speaker"} == {"surface"}


# ---------------------------------------------------------------- what they say

def test_a_late_part_says_when_it_comes(demo: Catalog, book: RuleBook) -> None:
    # 2026-09-21 and 3 days: cable cannot be there on the first morning
    late = [problem for problem in told(work_from_today, demo, book) if problem.code == "part-late"]
    assert "needed for rough-in from 2026-09-21" in late[0].message


def test_a_loudspeaker_of_the_smallest_option_that_rough_in_opens_is_late_for_it(demo: Catalog, book: RuleBook) -> None:
    # example 2 hangs another loudspeaker in every option; the bath's of good comes 150 days after 21 September, on
    # 18 February: after the rough-in's parts of 3 February, before the fitting's of March
    job, problems = read_job(next(EXAMPLES.glob("2-*.xlsx")), demo)
    assert job is not None
    slow = {**demo.parts, "CS65-10": replace(demo.parts["CS65-10"], lead_days=150)}
    found = quote_job(job, replace(demo, parts=slow), book, PRICED_ON, problems)[1]
    assert [problem.message for problem in found if problem.code == "part-late"] == [
        "'CS65-10' is needed for rough-in from 2027-02-08, takes 150 days to get and comes on 2027-02-18 at the "
        "earliest; it is wanted by 2027-02-03."]


def late(on: datetime.date, *lines: MaterialLine, **changes: Any) -> list[tuple[str, str]]:
    """What is said of lines whose phase begins on Monday 18 January 2027 and whose parts come by Wednesday the 13th."""
    values: dict[str, Any] = {
        "begins": {"trim-out": datetime.date(2027, 1, 18)}, "wanted": {"trim-out": datetime.date(2027, 1, 13)},
        "early": (), "coloured": (), "ways": {}, "lead_times": {("SPK", False): 10, ("RACK", False): 10},
        "office": WorkCalendar()}
    rows, _ = merge_lines(lines, (), make_catalog(), final=False)
    found = late_parts(make_job(start_date=datetime.date(2027, 1, 18)), rows.materials,
                       PartDays(**{**values, **changes}), on)
    return [(problem.message, problem.remedy) for problem in found]


@pytest.mark.parametrize("day", [2, 3, 4])
def test_what_is_quoted_at_a_weekend_is_ordered_on_monday(day: int) -> None:
    # Monday 4 January and 10 days are Thursday the 14th: a day late, on whichever of the three days it is quoted
    assert late(datetime.date(2027, 1, day), material("SPK")) == [
        ("'SPK' is needed for trim-out from 2027-01-18, takes 10 days to get and comes on 2027-01-14 at the earliest; "
         "it is wanted by 2027-01-13.",
         "Type a start date at least 1 day later, or choose a part that is in stock.")]


def test_what_is_ordered_on_its_last_day_is_not_late() -> None:
    # Friday 1 January: the 13th less 10 days is Sunday the 3rd
    assert late(datetime.date(2027, 1, 1), material("SPK")) == []


@pytest.mark.parametrize("rooms", [("BLACK", "WHITE"), ("WHITE", "BLACK")])
def test_a_coloured_room_s_days_count_whatever_room_comes_after(rooms: tuple[str, str]) -> None:
    # 4 January and 20 days: the 24th, 11 days after the 13th
    found = late(datetime.date(2027, 1, 4), *(material("SPK", room=room) for room in rooms), coloured=("BLACK",),
                 ways={"SPK": PartBuying(coloured=True, colour_days=20)},
                 lead_times={("SPK", False): 10, ("SPK", True): 20})
    assert "takes 20 days to get and comes on 2027-01-24" in found[0][0]
    assert "at least 11 days later" in found[0][1]


def test_a_hire_that_comes_late_is_late_for_the_first_day_of_its_phase() -> None:
    # 4 January and 15 days: the 19th, one after the 18th; the rack, of 12 days, is three late for the 13th
    found = late(datetime.date(2027, 1, 4), material("SPK"), material("RACK"),
                 ways={"SPK": PartBuying(on_the_day=True)},
                 lead_times={("SPK", False): 15, ("RACK", False): 12})
    assert found == [
        ("'RACK' is needed for trim-out from 2027-01-18, takes 12 days to get and comes on 2027-01-16 at the earliest; "
         "it is wanted by 2027-01-13. 1 other part is late for it too.",
         "Type a start date at least 3 days later, or choose a part that is in stock.")]


def test_a_start_that_is_past_says_nothing_of_lead_times(demo: Catalog, book: RuleBook) -> None:
    job = house(make_room(), start_date=PRICED_ON - datetime.timedelta(days=1))
    assert "part-late" not in {problem.code for problem in quote_job(job, demo, book, PRICED_ON)[1]}


def test_a_job_without_a_start_date_is_quoted_in_working_days(demo: Catalog, book: RuleBook) -> None:
    quote, problems = quote_job(replace(kitchen(), start_date=None), demo, book, PRICED_ON)
    assert quote is not None, problems
    assert all(visit.first_date is None for option in quote.options for visit in option.timetable.visits)
    assert {statement.needed_by for statement in quote.statements} == {None}


def test_hours_that_an_estimator_sets_to_nothing_stay_so(demo: Catalog, book: RuleBook) -> None:
    quote, _ = quote_job(kitchen(), demo, book, PRICED_ON)
    assert quote is not None
    rows = [row.id for row in quote.options[0].labour if demo.tasks[row.task].labour_class == "fixing"]
    free = tuple(Override(id=row, what="hours", value="0", reason="owner's own work", who="R. Estimator",
                          where=cell("Overrides", f"C{number}")) for number, row in enumerate(rows, 2))
    problems = quote_job(replace(kitchen(), overrides=free), demo, book, PRICED_ON)[1]
    assert "part-without-hours" not in {problem.code for problem in problems}


def test_a_task_without_hours_in_any_wall_state_is_a_stop_at_its_row(demo: Catalog) -> None:
    hours = {key: row for key, row in demo.hours.items() if key[0] != "rough.bracket"}
    found = [problem for problem in check_catalog(replace(demo, hours=hours), ()) if problem.code == "missing-hours"]
    assert [(problem.severity, problem.where) for problem in found] == [("stop", demo.tasks["rough.bracket"].where)]


def test_a_place_that_cannot_be_written_is_one_sentence(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["blank", str(tmp_path / "no such folder" / "blank.xlsx")]) == 1
    captured = capsys.readouterr()
    text = captured.out + captured.err
    assert (text.count("file-trouble"), len(text.splitlines())) == (1, 1)


def test_every_code_of_the_head_end_is_provoked() -> None:
    mine = ("head_end", "power", "bracket_checks")
    sources = "".join((ROOT / "quoting" / "engineering" / f"{name}.py").read_text(encoding="utf-8") for name in mine)
    known = {row[3] for row in PROVOKED} | {"no-part-for-role"}
    codes = {word for word in sources.split('"') if word.count("-") and word.replace("-", "").isalpha()}
    assert codes - known - {"controller-amplifier"} == set()


def test_a_shelf_is_warned_of_where_it_gets_too_warm(demo: Catalog, book: RuleBook) -> None:
    catalog = with_setting(with_number(demo, "shelf heat w", "50"), "rack", "shelf")
    assert "head-end-too-hot" in {problem.code for problem in quote_job(eight_rooms(), catalog, book, PRICED_ON)[1]}

"""What an ohmmeter shows at the rack: cable there and back, and 0.7 to 0.9 of a voice coil's nominal impedance."""

from __future__ import annotations

from typing import Any

import pytest
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.engineering.design import design_system
from quoting.facts import CableRun, Connection, Speaker, of
from quoting.job import Override
from tests.builders import cell, make_room
from tests.demo_jobs import FT, house

# NBS handbook of wire tables: 16 AWG copper has 4.016 ohm per 1000 ft at 20 C, 12 AWG 1.588 ohm
OHM_PER_FT = {16.0: 4.016 / 1000, 14.0: 2.525 / 1000, 12.0: 1.588 / 1000}


def readings(demo: Catalog, room: dict[str, Any], home: str = "", length: str = "") -> dict[str, Any]:
    """Readings by connection, runs and speakers of the fullest option of a one-room house."""
    job = house(make_room(control="phone", **{"pairs": 1, **room}), head_end_shape="controller and amplifiers",
                topology="direct")
    if home:
        job = replace(job, overrides=(Override(id=home, what="length", value=length, reason="measured", who="R. E.",
                                               where=cell("Overrides", "A2")),))
    design, problems = design_system(job, demo)
    assert design is not None, problems
    facts = (*design.shared, *design.options[-1].facts)
    return {"rows": {one.id: one for one in of(facts, Connection)},
            "runs": {run.id: run for run in of(facts, CableRun)}, "ohm": of(facts, Speaker)[0].nominal_ohm}


def test_a_reading_is_the_cable_there_and_back_and_the_voice_coil(demo: Catalog) -> None:
    # direct current through a loudspeaker: 0.7 to 0.9 of nominal, common practice, no source
    found = readings(demo, {}, "001211", "100 ft")
    run, row = found["runs"]["001211"], found["rows"]["001211L"]
    loop = 2 * run.length_m / FT * OHM_PER_FT[run.gauge_awg]
    assert row.meter_low_ohm == pytest.approx(0.7 * found["ohm"] + loop, rel=0.02)
    assert row.meter_high_ohm == pytest.approx(0.9 * found["ohm"] + loop, rel=0.02)


def test_the_cable_from_the_first_speaker_to_the_second_counts(demo: Catalog) -> None:
    found = readings(demo, {})
    home, leg = found["runs"]["001211"], found["runs"]["001222"]
    loop = sum(2 * run.length_m / FT * OHM_PER_FT[run.gauge_awg] for run in (home, leg))
    assert found["rows"]["001211R"].meter_low_ohm == pytest.approx(0.7 * found["ohm"] + loop, rel=0.02)


def test_nothing_is_told_through_a_knob(demo: Catalog) -> None:
    job = house(make_room(pairs=1, control="knob"), head_end_shape="controller and amplifiers")
    design, _ = design_system(job, demo)
    assert design is not None
    rows = of(design.options[-1].facts, Connection)
    assert [row.meter_high_ohm for row in rows if row.id == "001211L"] == [0.0]


def test_over_cable_of_unknown_length_the_voice_coil_alone_is_the_least(demo: Catalog) -> None:
    found = readings(demo, {"reuse_cable": True})
    row = found["rows"]["001211L"]
    assert row.meter_low_ohm == pytest.approx(0.7 * found["ohm"], rel=0.02)
    assert (row.meter_high_ohm, row.loop_high_ohm) == (0.0, 0.0)


def test_a_home_run_has_the_loop_of_its_own_wire_cut_short_and_uncut(demo: Catalog) -> None:
    # what a short at its far end reads: out and back; cut to its way at the least, as it came off the spool at the most
    job = house(make_room(pairs=1, control="knob"), head_end_shape="controller and amplifiers")
    design, _ = design_system(job, demo)
    assert design is not None
    facts = (*design.shared, *design.options[-1].facts)
    run = next(run for run in of(facts, CableRun) if run.id == "001211")
    row = next(row for row in of(facts, Connection) if row.id == "001211L")
    each = 2 / FT * OHM_PER_FT[run.gauge_awg]
    assert row.loop_high_ohm == pytest.approx(run.length_m * each, rel=0.02)
    assert row.loop_low_ohm == pytest.approx((run.planned_m - run.slack_m) * each, rel=0.02)


def test_nothing_is_told_through_the_transformers_of_a_line(demo: Catalog) -> None:
    job = house(make_room(pairs=1, control="phone"), head_end_shape="controller and amplifiers")
    design, problems = design_system(replace(job, zones=(replace(job.zones[0], line="70.7 V"),)), demo)
    assert design is not None, problems
    rows = [row for row in of(design.options[-1].facts, Connection) if row.group == "speaker"]
    assert rows and {row.meter_high_ohm for row in rows} == {0.0}


def test_the_loop_of_a_line_goes_to_its_last_loudspeaker(demo: Catalog) -> None:
    job = house(make_room(pairs=1, control="phone"), head_end_shape="controller and amplifiers")
    design, problems = design_system(replace(job, zones=(replace(job.zones[0], line="70.7 V"),)), demo)
    assert design is not None, problems
    facts = (*design.shared, *design.options[-1].facts)
    row = next(row for row in of(facts, Connection) if row.group == "speaker" and row.loop_high_ohm)
    loop = sum(2 * run.length_m / FT * OHM_PER_FT[run.gauge_awg] for run in of(facts, CableRun)
               if run.purpose == "line")
    assert row.loop_high_ohm == pytest.approx(loop, rel=0.02)

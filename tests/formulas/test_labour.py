"""Hours against published figures: three-point estimates, unit rates, crews."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from statistics import NormalDist

import pytest
from msgspec.structs import replace

from quoting.bill import merge_lines
from quoting.effort import measure_effort
from quoting.facts import PhaseEffort, of
from quoting.hours import P80_SIGMAS, spread_hours
from quoting.lines import LabourLine
from quoting.rules.apply import apply_rules
from quoting.rules.cases import make_fact
from tests.builders import make_job
from tests.rules.small_catalog import read_small_rules
from tests.stages.pricing_stubs import labour, make_catalog, standard

D = Decimal
FT = 0.3048


# ---------------------------------------------------------------- three points

# A management-science textbook problem (flylib.com/books/en/3.287.1.117/1, PERT/CPM): optimistic, most likely and
# pessimistic weeks of its seven activities, with the means that it prints.
PERT = [(5, 8, 17, "9"), (7, 10, 13, "10"), (3, 5, 7, "5"), (1, 3, 5, "3"), (4, 6, 8, "6"), (3, 3, 3, "3"),
        (3, 4, 5, "4")]


# Source: at the figures above.
@pytest.mark.outside(10)
@pytest.mark.parametrize(("low", "likely", "high", "mean"), PERT)
def test_expected_hours_are_the_published_means(low: int, likely: int, high: int, mean: str) -> None:
    rows, _ = merge_lines([labour("rough.pull", str(low), str(likely), str(high))], (), make_catalog())

    assert rows.labour[0].hours == D(mean)


# The same problem prints the variances 4, 1, 4/9, 4/9, 4/9, 0, 1/9.
@pytest.mark.outside(10)
@pytest.mark.parametrize(("low", "high", "variance"), [
    (5, 17, "4"), (7, 13, "1"), (3, 7, "0.4444"), (1, 5, "0.4444"), (4, 8, "0.4444"), (3, 3, "0"), (3, 5, "0.1111")])
def test_a_tasks_spread_has_the_published_variance(low: int, high: int, variance: str) -> None:
    assert round(spread_hours([("one", D(low), D(high))]) ** 2, 4) == D(variance)


# Its critical path 1-3-5-7, activities independent of each other: mean 24, variance 5.000, P(at most 28) = .9633 by a
# table read at z = 1.79.
PATH = (PERT[0], PERT[2], PERT[4], PERT[6])


# Source: at the figures above.
@pytest.mark.outside(10)
def test_the_critical_path_has_the_published_mean() -> None:
    rows, _ = merge_lines([labour("rough.pull", str(low), str(likely), str(high), room=f"R{number}")
                           for number, (low, likely, high, _) in enumerate(PATH)], (), make_catalog())

    assert sum(row.hours for row in rows.labour) == 24


# Source: as of the test before.
@pytest.mark.outside(10)
def test_the_critical_path_has_the_published_variance() -> None:
    spread = spread_hours((number, D(low), D(high)) for number, (low, _, high, _) in enumerate(PATH))

    assert round(spread ** 2, 3) == D("5.000")


# Source: as of the test before.
@pytest.mark.outside(10)
def test_the_critical_path_ends_in_time_with_the_published_chance() -> None:
    spread = spread_hours((number, D(low), D(high)) for number, (low, _, high, _) in enumerate(PATH))

    assert NormalDist(24, float(spread)).cdf(28) == pytest.approx(0.9633, abs=2e-4)


def test_p80_lies_where_the_normal_distribution_has_four_fifths() -> None:
    # Python's statistics.NormalDist, a reference library: 0.841621
    assert float(P80_SIGMAS) == pytest.approx(NormalDist().inv_cdf(0.8), abs=5e-5)


# ---------------------------------------------------------------- unit rates

RULE = "rule,purpose,add,add_from,quantity,phase\nRUN-010,,rough.home run,,length_m,rough-in\n"


def hours_of(folder: Path, rate: str, quantity_ft: float, factor: str = "1") -> Decimal:
    """Hours of a task counted by the foot, for so many feet at a rate and under a factor."""
    table = ("task,description,unit,role,labour_class,sold,wall_state,low,likely,high,reference\n"
             + "".join(f"rough.home run,Pull a home run,ft,installer,cabling,yes,{walls},{rate},{rate},{rate},x\n"
                       for walls in ("open", "open remodel", "finished"))
             + "trim.speaker,Fix a speaker,each,installer,fixing,yes,-,0.2,0.3,0.5,x\n"
               "rough.bracket,Fix a bracket,each,installer,fixing,yes,open,0.1,0.2,0.3,x\n")
    factors = ("row,factor,labour_class,ceiling_height_ft,occupied,multiplier,reference\n"
               f"FAC-010,conditions,cabling,-,yes,{factor},x\n")
    catalog, book, problems = read_small_rules(
        folder, {"labour.csv": table, "factors.csv": factors, "rules/cable_run.csv": RULE})
    assert problems == (), [str(problem) for problem in problems]
    run = make_fact("cable_run", {"id": "114", "room": "KIT", "length_m": quantity_ft * FT, "occupied": True})
    lines, _ = apply_rules([run], book, catalog, "good", "AWG", "finished")
    return sum((line.likely for line in lines if isinstance(line, LabourLine)), D(0))


# "Estimating in Building Construction", chapter 7, example 7-1: hours = quantity x rate; 170 h for 1,700 sq ft are 0.10
# an sq ft, for 10,000 sq ft 0.017. Two people for 6 h on 240 ft of base are 0.05 h a foot (jlconline.com, labor
# productivity rates).
@pytest.mark.outside(10)
@pytest.mark.parametrize(("rate", "quantity", "hours"), [
    ("0.10", 1700, "170"), ("0.017", 10_000, "170"), ("0.05", 240, "12")])
def test_hours_are_quantity_times_the_unit_rate(tmp_path: Path, rate: str, quantity: int, hours: str) -> None:
    assert hours_of(tmp_path, rate, quantity) == D(hours)


# The same book, formula 7-1: adjusted hours = hours x factor, above 1 for worse conditions.
def test_a_factor_above_one_means_more_hours(tmp_path: Path) -> None:
    assert hours_of(tmp_path, "0.10", 1700, "1.2") == D("1.2") * 170


# ---------------------------------------------------------------- crews

def phase_of(hours: str, crew: int, productive_hours: str) -> PhaseEffort:
    """The effort of one phase with so many hours, for a crew that works so long a day."""
    table = standard("crew", {"crew": str(crew), "productive_hours": productive_hours, "on_site": "yes"})
    catalog = make_catalog(tables=[table])
    rows, _ = merge_lines([labour("rough.pull", hours, hours, hours)], (), catalog, final=False)
    return of(measure_effort(rows, replace(make_job(), travel_hours=0.0), catalog)[0], PhaseEffort)[0]


# toolgrit.com, construction man-hour estimating (weak: one undated page): a crew of 4, 8 h a day, 1,600 h are 50 days.
@pytest.mark.outside(10)
def test_sixteen_hundred_hours_keep_four_people_for_fifty_days() -> None:
    assert phase_of("1600", 4, "8").half_days / 2 == 50


# A cost manual (turtlesoft.com, cust82): 3 skilled people and 1 helper hang 25 doors in 8 h: 0.96 and 0.32 h a door.
@pytest.mark.outside(10)
@pytest.mark.parametrize(("people", "hours_a_door"), [(3, "0.96"), (1, "0.32")])
def test_a_day_of_a_mixed_crew_is_its_hours_a_door_times_the_doors(people: int, hours_a_door: str) -> None:
    phase = phase_of(str(25 * D(hours_a_door)), people, "8")

    assert (phase.half_days, phase.remainder_hours) == (2, 0.0)

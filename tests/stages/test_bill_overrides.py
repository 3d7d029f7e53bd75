"""The estimator's corrections of lines: applied last, shown beside the rule's own value."""

from __future__ import annotations

from decimal import Decimal

import pytest

from quoting.bill import make_bill, merge_lines, stale_overrides
from quoting.lines import LabourRow, MaterialRow
from quoting.problems import Problem
from tests.stages.pricing_stubs import labour, make_catalog, make_part, material, override

D = Decimal
CATALOG = make_catalog()
SPK, PULL = "SPK/KIT/trim-out", "rough.pull/KIT/rough-in"


def _material(what: str, value: str = "", id: str = SPK) -> MaterialRow:
    rows, problems = merge_lines([material("SPK", "2")], [override(id, what, value)], CATALOG)
    assert problems == ()
    return rows.materials[0]


def _labour(what: str, value: str = "") -> LabourRow:
    rows, problems = merge_lines([labour("rough.pull", "1", "2", "6", units="4")], [override(PULL, what, value)],
                                 CATALOG)
    assert problems == ()
    return rows.labour[0]


def _refused(id: str, what: str, value: str) -> Problem:
    lines = [material("SPK", "2"), labour("rough.pull"), material("CAB", "50", phase="rough-in")]
    rows, problems = merge_lines(lines, [override(id, what, value)], CATALOG)
    assert all(row.need == row.ruled_need for row in rows.materials)
    return problems[0]


def test_a_quantity_replaces_the_need_and_keeps_the_rules_own() -> None:
    row = _material("quantity", "3")

    assert (row.need, row.ruled_need) == (D(3), D(2))


def test_an_override_is_a_reason_with_its_cell_and_the_difference() -> None:
    why = _material("quantity", "3").because[-1]

    assert (why.rule, str(why.rule_cell), why.fact, why.amount) == (
        "override", "job.xlsx Overrides!A2", SPK, D(1))


def test_a_dropped_line_stays_with_nothing_of_it() -> None:
    row = _material("drop")

    assert (row.id, row.need, row.ruled_need) == (SPK, D(0), D(2))


def test_a_price_is_kept_for_pricing() -> None:
    assert _material("price", "99.5").override_price == D("99.5")


def test_another_part_takes_the_row_over_under_an_id_of_its_own() -> None:
    row = _material("part", "RACK")

    assert (row.id, row.part, row.need, row.because[-1].fact) == ("RACK/KIT/trim-out", "RACK", D(2), SPK)


def test_another_part_joins_the_row_that_has_it_already() -> None:
    rows, _ = merge_lines([material("SPK", "2"), material("RACK")], [override(SPK, "part", "RACK")], CATALOG)

    assert [(row.id, row.need) for row in rows.materials] == [("RACK/KIT/trim-out", D(3))]


def test_two_overrides_of_one_line_apply_in_turn_under_its_first_id() -> None:
    changes = [override(SPK, "part", "RACK"), override(SPK, "quantity", "5", "A3")]

    rows, _ = merge_lines([material("SPK", "2")], changes, CATALOG)

    assert [(row.id, row.need) for row in rows.materials] == [("RACK/KIT/trim-out", D(5))]


def test_hours_replace_the_mean_and_keep_the_spread_in_proportion() -> None:
    # PERT mean of 1, 2, 6 is 15 / 6 = 2.5; twice that doubles low and high
    row = _labour("hours", "5")

    assert (row.hours, row.low, row.high, row.ruled_hours) == (D(5), D(2), D(12), D("2.5"))


def test_a_tasks_quantity_moves_its_hours() -> None:
    row = _labour("quantity", "8")

    assert (row.units, row.hours, row.ruled_hours) == (D(8), D(5), D("2.5"))


def test_a_dropped_task_costs_no_hours() -> None:
    row = _labour("drop")

    assert (row.units, row.hours, row.high) == (D(0), D(0), D(0))


@pytest.mark.parametrize("value", ["many", "3,5", "-1", "", "NaN", "1e30", "12 ft"])
def test_a_value_that_is_no_number_is_a_stop_at_its_cell(value: str) -> None:
    problem = _refused(SPK, "quantity", value)

    assert (problem.severity, problem.code, str(problem.where)) == (
        "stop", "override-value", "job.xlsx Overrides!A2")
    assert f"'{value}'" in problem.message


def test_half_a_piece_is_refused() -> None:
    assert "whole number of pieces" in _refused(SPK, "quantity", "2.5").message


def test_half_a_foot_is_fine() -> None:
    rows, problems = merge_lines([material("CAB", "50")], [override("CAB/KIT/trim-out", "quantity", "50.5")], CATALOG)

    assert (rows.materials[0].need, problems) == (D("50.5"), ())


def test_an_unknown_part_is_a_stop_that_offers_close_ones() -> None:
    problem = _refused(SPK, "part", "SPKR")

    assert (problem.code, problem.remedy) == ("unknown-part", "Type one of 'SPK'.")


def test_a_part_sold_in_another_unit_is_refused() -> None:
    assert _refused(SPK, "part", "CAB").message == "'CAB' is sold by 'ft', and this line is counted in 'each'."


@pytest.mark.parametrize(("id", "what"), [(SPK, "hours"), (SPK, "length"), (PULL, "price"), (PULL, "part")])
def test_what_a_line_does_not_have_cannot_be_replaced(id: str, what: str) -> None:
    assert _refused(id, what, "3").code == "override-not-possible"


def test_an_id_that_is_not_there_yet_is_passed_over() -> None:
    _, problems = merge_lines([material("SPK")], [override("SPK/LIV/trim-out", "drop")], CATALOG, final=False)

    assert problems == ()


# ---------------------------------------------------------------- stale ids

def _stale(id: str, *lines: object, **changes: object) -> tuple[Problem, ...]:
    overrides = [override(id, "drop")]
    rows, _ = merge_lines(lines or [material("SPK"), labour("rough.pull")], overrides, CATALOG)  # type: ignore[arg-type]
    return stale_overrides(overrides, [rows], changes.get("facts", {"KIT-SP1", "114"}))  # type: ignore[arg-type]


def test_a_stale_id_warns_with_close_ones() -> None:
    problem, = _stale("SPK/KIT/trimout")

    assert (problem.severity, problem.code) == ("warning", "stale-override")
    assert problem.remedy == "Type one of 'SPK/KIT/trim-out', or delete the row."


def test_an_id_like_nothing_else_says_where_to_find_one() -> None:
    assert _stale("zzzzzz")[0].remedy == "Take an id from Why, or delete the row."


@pytest.mark.parametrize("id", [SPK, PULL, "114"])
def test_a_line_or_a_fact_that_is_there_is_not_stale(id: str) -> None:
    assert _stale(id) == ()


def test_a_line_that_was_renamed_is_not_stale() -> None:
    overrides = [override(SPK, "part", "RACK")]
    rows, _ = merge_lines([material("SPK")], overrides, CATALOG)

    assert stale_overrides(overrides, [rows], ()) == ()


def test_a_line_of_one_option_is_not_stale_for_the_others() -> None:
    overrides = [override(SPK, "quantity", "3")]
    good, _ = merge_lines([material("RACK")], overrides, CATALOG)
    best, _ = merge_lines([material("SPK")], overrides, CATALOG)

    assert stale_overrides(overrides, [good, best], ()) == ()


# ---------------------------------------------------------------- overrides and buying

def test_a_dropped_part_is_not_bought_and_wants_no_price() -> None:
    catalog = make_catalog(parts=[make_part("SPK", "speakers")], prices={})
    rows, _ = merge_lines([material("SPK")], [override(SPK, "drop")], catalog)

    bill, problems = make_bill(rows, catalog, "USD")

    assert (bill.purchases, problems) == ((), ())


def test_an_overridden_cable_length_reaches_the_spool_run_by_run() -> None:
    lines = [material("CAB", "60", fact="114"), material("CAB", "30", fact="115")]
    rows, _ = merge_lines(lines, [override("CAB/KIT/trim-out", "quantity", "120")], CATALOG)

    bill, _ = make_bill(rows, CATALOG, "USD")

    assert [(cut.run, cut.length) for cut in bill.spools[0].cuts] == [("114", D(80)), ("115", D(40))]

"""Labour priced at three rates, and the risk in it."""

from __future__ import annotations

from decimal import Decimal

import pytest

from quoting.bill import merge_lines
from quoting.lines import LabourLine
from quoting.pricing.labour import price_labour, role_rates
from quoting.pricing.risk import contingency, contingency_inputs, sigma_hours
from quoting.pricing.risk import p80_hours as p80
from quoting.quote import PricedLabour
from tests.stages.pricing_stubs import labour, make_catalog, make_settings, make_task, standard

D = Decimal


def _priced(*lines: LabourLine, **changes: object) -> tuple[PricedLabour, ...]:
    catalog = make_catalog(**changes)  # type: ignore[arg-type]
    rows, _ = merge_lines(lines, (), catalog)
    rates, problems = role_rates(rows.labour, "USD", catalog)
    assert problems == ()
    return price_labour(rows.labour, rates, catalog, "USD")


def _hours(hours: str, task: str = "rough.pull") -> LabourLine:
    return labour(task, hours, hours, hours)


def test_price_is_hours_times_the_roles_price() -> None:
    # 2.37 x 85 = 201.45
    assert _priced(_hours("2.37"))[0].price == D("201.45")


def test_cost_is_on_the_firms_basis_and_direct_cost_on_the_burdened_rate() -> None:
    # 2 h at 51 a sold hour, at 36.50 burdened
    row, = _priced(_hours("2"))

    assert (row.cost, row.direct_cost) == (D(102), D(73))


def test_a_firm_may_count_cost_at_the_burdened_rate() -> None:
    assert _priced(_hours("2"), firm=make_settings(cost_basis="burdened"))[0].cost == D(73)


def test_hours_that_nobody_sells_cost_the_burdened_rate_and_have_no_price() -> None:
    # the cost per sold hour already carries the hours that no task quotes
    row, = _priced(_hours("2", "wait.unsold"))

    assert (row.price, row.cost) == (D("0.00"), D(73))


def test_each_role_has_rates_of_its_own() -> None:
    rows = _priced(_hours("1"), _hours("1", "design.draw"))

    assert {row.role: row.price for row in rows} == {"installer": D(85), "designer": D(125)}


def test_a_role_without_rates_in_the_currency_is_a_stop_that_names_both() -> None:
    catalog = make_catalog(tasks=[make_task("rough.pull", "welder")])
    rows, _ = merge_lines([_hours("1")], (), catalog)

    rates, (problem,) = role_rates(rows.labour, "USD", catalog)

    assert (rates, problem.severity, problem.code) == ({}, "stop", "no-rate")
    assert problem.message == "Task 'rough.pull' is done by 'welder', who has no rates in USD."


# ---------------------------------------------------------------- risk

def test_tasks_of_one_phase_and_wall_state_go_wrong_together() -> None:
    # sigma (high - low) / 6: 1 and 2, in one group 3
    assert sigma_hours(_priced(labour("rough.pull", "0", "3", "6"), labour("set up.zone", "0", "6", "12"))) == 3


def test_tasks_of_different_phases_add_in_squares() -> None:
    # 3 and 4 make 5
    rows = _priced(labour("rough.pull", "0", "9", "18"), labour("trim.mount", "0", "9", "24", phase="trim-out"))

    assert sigma_hours(rows) == 5


def test_tasks_of_different_wall_states_add_in_squares() -> None:
    rows = _priced(labour("rough.pull", "0", "9", "18"),
                   labour("rough.pull", "0", "9", "24", room="LIV", wall_state="finished"))

    assert sigma_hours(rows) == 5


def test_p80_is_the_mean_and_0_8416_sigmas() -> None:
    # mean (0 + 4 x 9 + 18) / 6 = 9; sigma 3; 9 + 2.5248 -> 11.52. Normal table: P(z <= 0.8416) = 0.80
    assert p80(_priced(labour("rough.pull", "0", "9", "18"))) == D("11.52")


def test_a_rate_covers_labour_cost() -> None:
    assert contingency("rate", D("0.03"), D("1234.50"), D(20), D(24), "USD") == D("37.04")  # 37.035


def test_the_step_to_p80_costs_what_an_average_hour_costs() -> None:
    # 4 h more than 20, at 1000 / 20 = 50 an hour; the rate is not used as well
    assert contingency("P80", D("0.12"), D(1000), D(20), D(24), "USD") == D(200)


def test_a_job_without_hours_has_no_risk() -> None:
    assert contingency("P80", D(0), D(0), D(0), D(0), "USD") == D("0.00")


@pytest.mark.parametrize(("wall_state", "method"), [("open", "rate"), ("finished", "P80")])
def test_the_wall_state_decides_how_risk_is_covered(wall_state: str, method: str) -> None:
    assert contingency_inputs(wall_state, make_catalog())[0] == method  # type: ignore[arg-type]


def test_a_method_that_is_no_method_is_a_stop() -> None:
    catalog = make_catalog(tables=[standard("contingency", {"method": "both", "contingency_rate": "0.1"})])

    _, _, problems = contingency_inputs("open", catalog)

    assert [(p.severity, p.code) for p in problems] == [("stop", "contingency-method")]

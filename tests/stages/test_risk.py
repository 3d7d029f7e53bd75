"""The risk of hours: worked by hand, and against a simulation of the stated model."""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal

import numpy as np
import pytest

from quoting.bill import merge_lines
from quoting.job import WallState
from quoting.lines import PHASES, LabourLine
from quoting.pricing.labour import price_labour, role_rates
from quoting.pricing.risk import contingency, contingency_inputs, p80_by_phase, p80_hours, sigma_hours
from quoting.quote import PricedLabour, Quote
from tests.stages.pricing_stubs import labour, make_catalog

D = Decimal
DRAWS = 100_000
WALLS: tuple[WallState, ...] = ("open", "open remodel", "finished")


def priced(*lines: LabourLine) -> tuple[PricedLabour, ...]:
    catalog = make_catalog()
    rows, _ = merge_lines(lines, (), catalog)
    rates, problems = role_rates(rows.labour, "USD", catalog)
    assert problems == ()
    return price_labour(rows.labour, rates, catalog, "USD")


def sixteen(together: bool) -> tuple[PricedLabour, ...]:
    """Sixteen tasks of 1, 2 and 3 hours: of one phase and wall state, or each of its own."""
    groups = [(phase, walls) for phase in PHASES for walls in WALLS][:16]
    return priced(*(
        labour("rough.pull", "1", "2", "3", room=f"R{n:02}",
               **({} if together else {"phase": phase, "wall_state": walls}))  # type: ignore[arg-type]
        for n, (phase, walls) in enumerate(groups)))


def simulated_p80(rows: Iterable[PricedLabour]) -> float:
    """The 80th percentile of 100,000 jobs: one normal draw for each phase and wall state, shared by its tasks."""
    draw = np.random.default_rng(20260921)
    groups: dict[tuple[str, str], list[PricedLabour]] = {}
    for row in rows:
        groups.setdefault((row.phase, row.wall_state), []).append(row)
    total = np.zeros(DRAWS)
    for its in groups.values():
        z = draw.standard_normal(DRAWS)
        for row in its:
            low, likely, high = float(row.low), float(row.likely), float(row.high)
            total += (low + 4 * likely + high) / 6 + z * (high - low) / 6
    return float(np.quantile(total, 0.8))


# ---------------------------------------------------------------- by hand

def test_sixteen_equal_tasks_that_go_wrong_apart_spread_four_times_as_far_as_one() -> None:
    # sigma of one (3 - 1) / 6 = 1/3; independent: sqrt(16) / 3 = 4/3 (variances add: mathematics)
    assert sigma_hours(sixteen(together=False)) == pytest.approx(D(4) / 3)


def test_sixteen_equal_tasks_that_go_wrong_together_spread_sixteen_times_as_far() -> None:
    assert sigma_hours(sixteen(together=True)) == pytest.approx(D(16) / 3)


def test_the_p80_of_sixteen_tasks_apart_is_worked_by_hand() -> None:
    # 16 x 2 = 32 hours; 32 + 0.8416 x 4/3 = 33.122
    assert p80_hours(sixteen(together=False)) == D("33.12")


def test_the_p80_of_sixteen_tasks_together_is_worked_by_hand() -> None:
    # 32 + 0.8416 x 16/3 = 36.489
    assert p80_hours(sixteen(together=True)) == D("36.49")


# ---------------------------------------------------------------- the published problem

def test_the_critical_path_of_the_textbook_has_its_mean_variance_and_chance() -> None:
    # flylib.com/books/en/3.287.1.117/1: activities 1, 3, 5, 7 of (a, m, b) weeks; mean 24, variance 5, P(<= 28) = .9633
    path = (("5", "8", "17"), ("3", "5", "7"), ("4", "6", "8"), ("3", "4", "5"))
    rows = priced(*(labour("rough.pull", *row, phase=phase) for row, phase in zip(path, PHASES, strict=False)))
    mean, sigma = sum(float(row.hours) for row in rows), float(sigma_hours(rows))
    assert (mean, sigma**2) == (pytest.approx(24), pytest.approx(5))
    from statistics import NormalDist
    assert NormalDist(mean, sigma).cdf(28) == pytest.approx(0.9633, abs=2e-4)


# ---------------------------------------------------------------- simulation

@pytest.mark.parametrize("together", [True, False])
def test_sixteen_tasks_agree_with_a_simulation(together: bool) -> None:
    rows = sixteen(together)
    assert float(p80_hours(rows)) == pytest.approx(simulated_p80(rows), rel=0.01)


@pytest.mark.parametrize("number", ["1", "2", "3"])
def test_the_p80_of_an_example_is_that_of_100_000_simulated_jobs(number: str, quotes: dict[str, Quote]) -> None:
    for option in quotes[number].options:
        assert float(option.totals.p80_hours) == pytest.approx(simulated_p80(option.labour), rel=0.01)


@pytest.mark.parametrize("number", ["1", "2", "3"])
def test_the_p80_of_a_phase_is_that_of_100_000_simulated_phases(number: str, quotes: dict[str, Quote]) -> None:
    for phase in quotes[number].options[-1].phases:
        rows = [row for row in quotes[number].options[-1].labour if row.phase == phase.phase]
        assert float(phase.p80_hours) == pytest.approx(simulated_p80(rows), rel=0.01)


@pytest.mark.parametrize("number", ["1", "2", "3"])
def test_a_skewed_beta_tells_nearly_the_same(number: str, quotes: dict[str, Quote]) -> None:
    # The same groups with PERT's beta instead of the normal, its tasks at one quantile: what the normal leaves out is
    # the long tail to the right. Alpha = 1 + 4 (m - a) / (b - a), beta = 1 + 4 (b - m) / (b - a) (PERT, from memory).
    draw = np.random.default_rng(7)
    option = quotes[number].options[-1]
    groups: dict[tuple[str, str], list[PricedLabour]] = {}
    for row in option.labour:
        groups.setdefault((row.phase, row.wall_state), []).append(row)
    total = np.zeros(20_000)
    for its in groups.values():
        order = np.argsort(draw.random(20_000))
        for row in its:
            low, likely, high = float(row.low), float(row.likely), float(row.high)
            if high > low:
                shape = 1 + 4 * (likely - low) / (high - low), 1 + 4 * (high - likely) / (high - low)
                total += np.sort(low + (high - low) * draw.beta(*shape, 20_000))[order]
            else:
                total += likely
    assert float(option.totals.p80_hours) == pytest.approx(float(np.quantile(total, 0.8)), rel=0.02)


# ---------------------------------------------------------------- phases

def test_a_phase_has_the_p80_of_its_own_rows() -> None:
    rows = priced(labour("rough.pull", "0", "9", "18"), labour("trim.mount", "0", "9", "24", phase="trim-out"))
    # 9 + 0.8416 x 3 and 10 + 0.8416 x 4
    assert p80_by_phase(rows) == {"rough-in": D("11.52"), "trim-out": D("13.37")}


def test_phases_together_need_less_than_the_sum_of_each_alone(quotes: dict[str, Quote]) -> None:
    for option in quotes["1"].options:
        assert option.totals.p80_hours < sum(phase.p80_hours for phase in option.phases)


def test_an_hour_of_risk_is_paid_once_by_the_rate_or_by_the_step() -> None:
    # 100 h at 50 an hour, P80 110: the step is 500; the rate of 10 % happens to be 500 too, and never both
    assert contingency("P80", D("0.1"), D(5000), D(100), D(110), "USD") == D(500)
    assert contingency("rate", D("0.1"), D(5000), D(100), D(110), "USD") == D(500)
    assert contingency_inputs("open", make_catalog())[0] in ("rate", "P80")


def test_contingency_never_moves_a_price(quotes: dict[str, Quote]) -> None:
    for option in quotes["1"].options:
        totals = option.totals
        assert totals.contingency > 0
        assert totals.total == (totals.materials + totals.labour + totals.freight - totals.discount + totals.tax
                                + totals.rounding)

"""Instalments sum to the total, and a deposit stays under the place's cap."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.pricing.plan import instalments, plan_rows
from quoting.quote import PlanRow
from tests.stages.pricing_stubs import make_catalog, make_place, standard

D = Decimal


def _rows(*shares: str) -> list[PlanRow]:
    return [PlanRow(name=f"part {n}", trigger="", share=D(share)) for n, share in enumerate(shares, 1)]


def _amounts(total: str, *shares: str, rate: str | None = None, amount: str | None = None) -> list[Decimal]:
    caps = [D(cap) if cap is not None else None for cap in (rate, amount)]
    return [part.amount for part in instalments(D(total), _rows(*shares), caps[0], caps[1], "USD")]


def test_instalments_are_split_cumulatively() -> None:
    # thirds of 100.00: 33.33, 66.67 - 33.33, 100.00 - 66.67
    assert _amounts("100.00", "0.3333333333", "0.3333333333", "0.3333333334") == [
        D("33.33"), D("33.34"), D("33.33")]


def test_a_deposit_over_the_cap_moves_the_excess_to_the_next() -> None:
    assert _amounts("20000.00", "0.3", "0.3", "0.4", amount="1000") == [D(1000), D(11000), D(8000)]


def test_of_two_caps_the_lower_counts() -> None:
    # One state's rule, as reported: 1,000 or 10 % of the contract, whichever is less
    assert _amounts("8000.00", "0.3", "0.7", rate="0.10", amount="1000")[0] == D(800)
    assert _amounts("20000.00", "0.3", "0.7", rate="0.10", amount="1000")[0] == D(1000)


def test_a_deposit_under_the_cap_is_left_alone() -> None:
    assert _amounts("8000.00", "0.1", "0.9", rate="0.10") == [D(800), D(7200)]


def test_one_payment_is_no_deposit() -> None:
    assert _amounts("8000.00", "1", rate="0.10") == [D(8000)]


def test_an_instalment_keeps_the_plans_share() -> None:
    first = instalments(D(20000), _rows("0.3", "0.7"), None, D(1000), "USD")[0]

    assert (first.share, first.amount) == (D("0.3"), D(1000))


@given(st.integers(0, 10**9), st.lists(st.integers(0, 100), min_size=1, max_size=6).filter(any),
       st.one_of(st.none(), st.integers(0, 100)), st.one_of(st.none(), st.integers(0, 10**6)))
def test_instalments_sum_to_the_total_under_any_cap(
    cents: int, weights: list[int], rate: int | None, amount: int | None,
) -> None:
    total = D(cents) / 100
    shares = [str(D(weight) / sum(weights)) for weight in weights]
    parts = _amounts(str(total), *shares, rate=None if rate is None else str(D(rate) / 100),
                     amount=None if amount is None else str(amount))

    assert sum(parts) == total
    if len(parts) > 1 and amount is not None:
        assert parts[0] <= amount


# ---------------------------------------------------------------- the plan of a place

def test_a_place_pays_by_its_plan() -> None:
    rows, problems = plan_rows(make_place(), make_catalog())

    assert ([row.name for row in rows], problems) == (["Deposit", "Cabling", "Equipment", "Completion"], ())


def test_without_a_place_there_is_one_payment_at_the_end() -> None:
    rows, problems = plan_rows(None, make_catalog())

    assert ([(row.share, row.trigger) for row in rows], problems) == ([(D(1), "on completion")], ())


def test_a_plan_that_does_not_exist_is_a_stop_that_lists_them() -> None:
    _, (problem,) = plan_rows(make_place(plan="never"), make_catalog())

    assert (problem.severity, problem.code, problem.where.file) == ("stop", "no-plan", "terms.csv")
    assert problem.remedy == "Type one of: half and half, standard."


def test_shares_that_do_not_sum_to_one_are_a_stop() -> None:
    _, (problem,) = plan_rows(make_place(plan="half and half"), make_catalog())

    assert (problem.severity, problem.code) == ("stop", "plan-shares")
    assert "sum to '0.9'" in problem.message


@pytest.mark.parametrize("shares", [("1.5", "-0.5")])
def test_a_negative_share_is_a_stop(shares: tuple[str, str]) -> None:
    table = standard("payment_plan", *({"plan": "odd", "step": str(n), "share_rate": share}
                                       for n, share in enumerate(shares, 1)))

    assert [p.code for p in plan_rows(make_place(plan="odd"), make_catalog(tables=[table]))[1]] == ["plan-shares"]

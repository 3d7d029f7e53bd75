"""Totals in the order of the money rules, and who may approve them."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from quoting.lines import Purchase
from quoting.pricing.tax import LABOUR
from quoting.pricing.totals import check_approval, price_totals
from quoting.problems import Problem
from quoting.quote import CategoryPricing, PricedLabour, PricedMaterial, Pricing, TaxRule, Totals
from tests.builders import make_job, make_labour, make_material, make_pricing, reason
from tests.stages.pricing_stubs import make_catalog, make_part, make_task

D = Decimal
CATALOG = make_catalog(
    parts=[make_part("SPK-6", "speakers"), make_part("CBL-16-4", "cable", "ft")],
    tasks=[make_task("trim.speaker"), make_task("travel.unsold", sold=False)],
)


def _material(part: str, price: str, **changes: str) -> PricedMaterial:
    money = {name: D(value) for name, value in {"cost": "0.00", "freight": "0.00", **changes}.items()}
    return make_material(part, "1", "KIT", "trim-out", (reason("SPK-010", "KIT-SP1"),), price=D(price), **money)


def _labour(price: str, task: str = "trim.speaker", **changes: str) -> PricedLabour:
    money = {name: D(value) for name, value in changes.items()}
    return make_labour(task, 1, "KIT", "trim-out", (reason("SPK-010", "KIT-SP1"),), price=D(price), **money)


def _pricing(*taxes: TaxRule, **changes: object) -> Pricing:
    categories = tuple(
        CategoryPricing(category=name, words="", basis="markup", rate=D(0), freight_rate=D(0), warn_days=0, row="")
        for name in ("cable", "speakers"))
    values = {"categories": categories, "discount_rate": D(0), "contingency_rate": D(0), **changes}
    return make_pricing(taxes=taxes, **values)


def _rule(category: str, rate: str) -> TaxRule:
    return TaxRule(name="Tax", category=category, rate=D(rate), payer="customer")


def _totals(materials: Sequence[PricedMaterial], labour: Sequence[PricedLabour], pricing: Pricing,
            purchases: Sequence[Purchase] = ()) -> Totals:
    return price_totals(materials, labour, purchases, pricing, CATALOG)


def test_the_total_is_the_sum_of_its_parts() -> None:
    # 100 + 50 + 2 - 15 + 10 % of 137
    totals = _totals([_material("SPK-6", "100.00", freight="2.00")], [_labour("50.00")],
                     _pricing(_rule("-", "0.1"), discount_rate=D("0.1")))

    assert (totals.discount, totals.tax, totals.total) == (D("15.00"), D("13.70"), D("150.70"))


def test_the_discount_is_taken_of_materials_and_labour_and_not_of_freight() -> None:
    totals = _totals([_material("SPK-6", "100.00", freight="40.00")], [_labour("50.00")],
                     _pricing(discount_rate=D("0.1")))

    assert totals.discount == D("15.00")


def test_the_discount_is_rounded_half_up() -> None:
    # 2.5 % of 100.20 = 2.505
    assert _totals([_material("SPK-6", "100.20")], [], _pricing(discount_rate=D("0.025"))).discount == D("2.51")


def test_each_category_is_taxed_after_its_share_of_the_discount() -> None:
    # discount 15 of 150: cable 30 gets 3, speakers 70 get 7, labour 50 gets 5
    totals = _totals([_material("CBL-16-4", "30.00"), _material("SPK-6", "70.00")], [_labour("50.00")],
                     _pricing(_rule("cable", "0.1"), _rule("speakers", "0.1"), _rule(LABOUR, "0"),
                              discount_rate=D("0.1")))

    assert [(tax.category, tax.base) for tax in totals.taxes] == [
        ("cable", D("27.00")), ("speakers", D("63.00")), ("labour", D("45.00"))]


def test_on_lines_each_row_is_taxed_after_its_share_of_the_discount() -> None:
    # rows 10.00, 10.00, 10.00 at 2.25 %: 0.225 -> 0.23 each; the invoice would be 0.675 -> 0.68
    rows = [_material("SPK-6", "10.00")] * 3

    taxes = {basis: _totals(rows, [], _pricing(_rule("speakers", "0.0225"), tax_basis=basis)).tax
             for basis in ("invoice", "line")}

    assert taxes == {"invoice": D("0.68"), "line": D("0.69")}


def test_freight_is_taxed_row_by_row_on_lines() -> None:
    # 0.50 x 5 % = 0.025 -> 0.03, twice
    rows = [_material("SPK-6", "0.00", freight="0.50")] * 2

    assert _totals(rows, [], _pricing(_rule("freight", "0.05"), tax_basis="line")).tax == D("0.06")


def test_a_total_in_whole_units_shows_its_rounding() -> None:
    totals = _totals([_material("SPK-6", "100.50")], [], _pricing(whole_units=True))

    assert (totals.rounding, totals.total) == (D("0.50"), D("101.00"))


def test_rounding_to_whole_units_may_be_negative() -> None:
    assert _totals([_material("SPK-6", "100.49")], [], _pricing(whole_units=True)).rounding == D("-0.49")


def test_cost_is_materials_labour_tax_scrap_contingency_and_freight() -> None:
    # materials 40 + labour 20 + tax on cost 3 + scrap 10 ft x 0.31 + 5 % of 20 + freight 2
    scrap = Purchase(part="CBL-16-4", unit="ft", need=D(90), buy=D(100), put_ups=(), outlay=D("31.00"), to_stock=D(0),
                     scrap=D(10), supplier="")

    totals = _totals([_material("SPK-6", "100.00", cost="40.00", freight="2.00", contractor_tax="3.00")],
                     [_labour("50.00", cost="20.00")], _pricing(contingency_rate=D("0.05")), [scrap])

    assert (totals.scrap_cost, totals.contingency, totals.cost) == (D("3.10"), D("1.00"), D("69.10"))
    assert totals.outlay == D("31.00")


def test_contingency_raises_cost_and_never_the_price() -> None:
    rows = [_labour("50.00", cost="20.00")]

    with_it, without = (_totals([], rows, _pricing(contingency_rate=D(rate))) for rate in ("0.5", "0"))

    assert (with_it.total, with_it.cost - without.cost) == (without.total, D("10.00"))


def test_the_margin_is_of_the_total_less_tax() -> None:
    # (100 - 60) / 100, whatever the tax
    totals = _totals([_material("SPK-6", "100.00", cost="60.00")], [], _pricing(_rule("-", "0.2")))

    assert (totals.gross_profit, totals.margin) == (D("40.00"), D("0.4000"))


def test_an_option_that_sells_nothing_has_no_margin() -> None:
    assert _totals([], [], _pricing()).margin == 0


def test_labour_has_a_margin_on_each_cost() -> None:
    # 100 asked; burdened 36.50 x 0.42 h = 15.33; a sold hour 51 x 0.42 = 21.42; unsold 1 h at 36.50 in both
    rows = [_labour("100.00", direct_cost="15.33", hours="0.42"),
            _labour("0.00", "travel.unsold", direct_cost="36.50", hours="1")]

    totals = _totals([], rows, _pricing(cost_basis="burdened"))

    assert (totals.labour_margin_direct, totals.labour_margin_sold) == (D("0.4817"), D("0.4208"))


def test_a_five_percent_discount_takes_an_eighth_of_the_profit_at_a_margin_of_forty() -> None:
    # trade-practice 7.4 [computed there]: 40 % -> 36.8 %
    rows = [_material("SPK-6", "1000.00", cost="600.00")]

    assert _totals(rows, [], _pricing(discount_rate=D("0.05"))).margin == D("0.3684")


@given(st.lists(st.tuples(st.sampled_from(["SPK-6", "CBL-16-4"]), st.integers(0, 10**6)), max_size=8),
       st.integers(0, 10**6), st.integers(0, 50), st.sampled_from(["invoice", "line"]))
def test_what_is_taxed_and_the_discount_sum_to_what_is_sold(
    goods: list[tuple[str, int]], work: int, percent: int, basis: str,
) -> None:
    materials = [_material(part, f"{D(cents) / 100:.2f}") for part, cents in goods]
    pricing = _pricing(*(_rule(category, "0.08") for category in ("cable", "speakers", LABOUR)), tax_basis=basis,
                       discount_rate=D(percent) / 100)

    totals = _totals(materials, [_labour(f"{D(work) / 100:.2f}")], pricing)

    assert sum(tax.base for tax in totals.taxes) + totals.discount == totals.materials + totals.labour
    assert totals.total == (totals.materials + totals.labour + totals.freight - totals.discount + totals.tax
                            + totals.rounding)


# ---------------------------------------------------------------- approval

def _approval(margin: str = "0.40", **changes: object) -> tuple[Problem, ...]:
    values: dict[str, object] = {
        "discount_rate": D("0.05"), "discount_reason": "open house", "margin_floor": D("0.30"),
        "free_discount": D("0.05"), "approved_by": "",
    }
    pricing = make_pricing(**{**values, **changes})
    totals = replace(_totals([], [], _pricing()), margin=D(margin))
    return check_approval(make_job(), pricing, {"good": totals})


def test_a_free_discount_with_a_reason_is_fine() -> None:
    assert _approval() == ()


def test_a_discount_without_a_reason_is_a_stop() -> None:
    assert [(p.severity, p.code) for p in _approval(discount_reason="")] == [("stop", "discount-without-reason")]


def test_no_discount_needs_no_reason() -> None:
    assert _approval(discount_reason="", discount_rate=D(0)) == ()


def test_a_larger_discount_wants_a_name() -> None:
    problem, = _approval(discount_rate=D("0.075"))

    assert (problem.severity, problem.code) == ("stop", "discount-not-approved")
    assert problem.message == "The discount of '7.5 %' is above the 5 % that needs no approval."


def test_a_margin_below_the_floor_wants_a_name_and_says_whose() -> None:
    problem, = _approval("0.2999")

    assert (problem.severity, problem.code) == ("stop", "margin-under-floor")
    assert "'good' 29.99 % is below the owner's floor of 30 %" in problem.message


@pytest.mark.parametrize("margin", ["0.30", "0.31"])
def test_a_margin_at_the_floor_is_fine(margin: str) -> None:
    assert _approval(margin) == ()


def test_a_name_allows_both() -> None:
    assert _approval("0.10", discount_rate=D("0.5"), approved_by="Owner") == ()

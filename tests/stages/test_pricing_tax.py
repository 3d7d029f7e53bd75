"""Which taxes apply, and what they come to on the invoice or line by line."""

from __future__ import annotations

from decimal import Decimal

import pytest

from quoting.catalog.records import TaxRow
from quoting.job import Job
from quoting.pricing.tax import contractor_rates, customer_taxes, rules_in_force
from quoting.quote import TaxRule
from tests.builders import make_client, make_job, make_terms
from tests.stages.pricing_stubs import make_tax

D = Decimal
CATEGORIES = ("cable", "speakers")


def _job(payer: str = "owner", **terms: object) -> Job:
    return make_job(client=make_client(payer=payer), terms=make_terms(**terms))


def _applying(rows: list[TaxRow], job: Job | None = None) -> list[tuple[str, str, Decimal]]:
    rules = rules_in_force(rows, job or _job(), CATEGORIES)
    return [(rule.name, rule.category, rule.rate) for rule in rules]


def test_only_the_jobs_place_taxes_it() -> None:
    assert _applying([make_tax(place="Elsewhere"), make_tax()]) == [("Sales tax", "-", D("0.0625"))]


def test_two_taxes_may_apply_to_one_category() -> None:
    rows = [make_tax("State", "speakers", "0.0625"), make_tax("County", "speakers", "0.02")]

    assert [name for name, _, _ in _applying(rows)] == ["State", "County"]


def test_a_category_that_the_job_does_not_use_is_left_out() -> None:
    assert _applying([make_tax(category="racks")]) == []


def test_labour_and_freight_are_taxed_where_a_row_says_so() -> None:
    assert [c for _, c, _ in _applying([make_tax(category="labour"), make_tax(category="freight")])] == [
        "labour", "freight"]


def test_a_row_for_everything_stands_for_what_its_tax_does_not_name() -> None:
    rows = [make_tax(rate="0.06"), make_tax(category="labour", rate="0")]

    assert _applying(rows) == [
        ("Sales tax", "cable", D("0.06")), ("Sales tax", "speakers", D("0.06")), ("Sales tax", "freight", D("0.06")),
        ("Sales tax", "labour", D(0))]


@pytest.mark.parametrize(("years", "rate"), [(0, "0.20"), (2, "0.20"), (3, "0.10")])
def test_the_dwellings_age_picks_the_rate(years: int, rate: str) -> None:
    # One country's reduced rate for works in dwellings over two years (from memory)
    rows = [make_tax("VAT", rate="0.20", dwelling_up_to_years=2), make_tax("VAT", rate="0.10", dwelling_over_years=2)]

    assert _applying(rows, _job(dwelling_years=years)) == [("VAT", "-", D(rate))]


@pytest.mark.parametrize("order", [1, -1])
def test_a_row_that_asks_for_the_age_stands_before_one_that_does_not(order: int) -> None:
    rows = [make_tax("VAT", rate="0.20"), make_tax("VAT", rate="0.10", dwelling_over_years=2)][::order]

    assert _applying(rows, _job(dwelling_years=9)) == [("VAT", "-", D("0.10"))]


def test_a_certificate_frees_the_customer() -> None:
    assert _applying([make_tax()], _job(tax_exempt="EX-4471")) == []


def test_a_certificate_does_not_free_the_firm_as_consumer() -> None:
    assert len(_applying([make_tax(payer="contractor")], _job(tax_exempt="EX-4471"))) == 1


@pytest.mark.parametrize(("payer", "exempt", "taxes"), [
    ("builder", True, 0), ("builder", False, 1), ("owner", True, 1)])
def test_a_builder_who_resells_is_not_taxed_where_the_row_says_so(payer: str, exempt: bool, taxes: int) -> None:
    assert len(_applying([make_tax(resale_exempt=exempt)], _job(payer))) == taxes


# ---------------------------------------------------------------- amounts

def _rule(category: str, rate: str, name: str = "Sales tax", payer: str = "customer") -> TaxRule:
    return TaxRule(name=name, category=category, rate=D(rate), payer=payer)  # type: ignore[arg-type]


AMOUNTS = {"cable": (D("50.00"),), "speakers": (D("30.00"), D("9.99")), "labour": (D("100.00"),),
           "freight": (D("1.00"),)}


def _amounts(*rules: TaxRule, by_line: bool = False) -> list[tuple[str, Decimal, Decimal]]:
    return [(tax.category, tax.base, tax.amount) for tax in customer_taxes(rules, AMOUNTS, by_line, "USD")]


def test_a_tax_on_everything_has_one_base() -> None:
    # 190.99 x 10 % = 19.099
    assert _amounts(_rule("-", "0.1")) == [("all", D("190.99"), D("19.10"))]


def test_each_tax_is_rounded_by_itself() -> None:
    # 50.00 at 1.25 % = 0.625 -> 0.63 and at 0.25 % = 0.125 -> 0.13; both at once 0.75
    assert [tax for _, _, tax in _amounts(_rule("cable", "0.0125", "A"), _rule("cable", "0.0025", "B"))] == [
        D("0.63"), D("0.13")]


def test_on_lines_each_line_is_rounded_by_itself() -> None:
    # 30.00 x 8.25 % = 2.475 -> 2.48, 9.99 x 8.25 % = 0.824175 -> 0.82; their sum at once 3.299175 -> 3.30
    assert _amounts(_rule("speakers", "0.0825"), by_line=True) == [("speakers", D("39.99"), D("3.30"))]


def test_a_tax_that_the_firm_pays_is_not_the_customers() -> None:
    assert _amounts(_rule("speakers", "0.07", payer="contractor")) == []


def test_a_tax_stays_in_an_option_that_has_nothing_of_its_category() -> None:
    assert _amounts(_rule("racks", "0.07")) == [("racks", D("0.00"), D("0.00"))]


def test_the_firm_pays_every_tax_of_a_category_on_its_cost() -> None:
    rules = [_rule("cable", "0.07", payer="contractor"), _rule("-", "0.01", payer="contractor"), _rule("-", "0.05")]

    assert contractor_rates(rules, CATEGORIES) == {"cable": (D("0.07"), D("0.01")), "speakers": (D("0.01"),)}

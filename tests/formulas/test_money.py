"""Money against values from outside: rounding, markup and margin, an official invoice."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.money import minor_units, parse, r2, round_to, share, split
from quoting.pricing.markup import at_margin, at_markup, margin_of
from quoting.pricing.tax import customer_taxes
from quoting.pricing.totals import grand_total
from quoting.quote import TaxRule

D = Decimal


# ---------------------------------------------------------------- rounding

@pytest.mark.outside(8)
@pytest.mark.parametrize(("exact", "rounded"), [
    # Streamlined Sales and Use Tax Agreement, section 324: to the third decimal, up where it is greater than four
    ("0.005", "0.01"), ("0.004", "0.00"), ("0.015", "0.02"), ("0.025", "0.03"), ("1.005", "1.01"),
    # github.com/python/cpython/issues/69015: round(2.675, 2) is 2.67 as a float, Decimal("2.675") is 2.68
    ("2.675", "2.68"),
    # Python tutorial, stdlib2: 5 % on 0.70 is 0.7350
    ("0.7350", "0.74"),
    # A shop-software help page: 8.25 % of 50.00 is 4.125; half to even would give 4.12
    ("4.125", "4.13"),
])
def test_a_half_cent_rounds_up(exact: str, rounded: str) -> None:
    assert r2(D(exact)) == D(rounded)


@pytest.mark.outside(8)
def test_tenths_round_half_up() -> None:
    # github.com/python/cpython/issues/69015: 1.05 ... 1.95 to one place; half up gives 1.1 ... 2.0
    got = [round_to(D("1.05") + D("0.1") * step, 1) for step in range(10)]

    assert got == [D("1.1") + D("0.1") * step for step in range(10)]


def test_a_negative_half_goes_away_from_zero() -> None:
    # XPath round(-2.5) is -2, ROUND_HALF_UP gives -3: EN 16931's own rules differ here by a cent
    assert [round_to(D("-2.5"), 0), r2(D("-0.005")), r2(D("-2.675"))] == [D(-3), D("-0.01"), D("-2.68")]


@pytest.mark.parametrize(("currency", "places"), [("USD", 2), ("EUR", 2), ("JPY", 0), ("KWD", 3), ("CLF", 4),
                                                  ("ISK", 0), ("TND", 3)])
def test_a_currency_rounds_to_its_own_minor_unit(currency: str, places: int) -> None:
    # ISO 4217 list (2025/2026)
    assert minor_units(currency) == places
    assert r2(D("1.23456789"), currency) == round_to(D("1.23456789"), places)


@pytest.mark.parametrize("text", ["NaN", "Infinity", "1,5", "1.250,00", "$5", "", "five"])
def test_what_is_not_a_plain_number_is_not_money(text: str) -> None:
    assert parse(text) is None


# ---------------------------------------------------------------- markup and margin

TABLE = [
    # Bookkeeping handout, mark-up and gross profit: markup 25 33 40 50 75 100 150 200 300 % -> gross profit
    # 20 25 28 33 43 50 60 67 75 % (28 is cut off there; exactly 28.57)
    ("0.25", "0.2000"), ("0.33", "0.2481"), ("0.40", "0.2857"), ("0.50", "0.3333"), ("0.75", "0.4286"),
    ("1.00", "0.5000"), ("1.50", "0.6000"), ("2.00", "0.6667"), ("3.00", "0.7500"),
]


# Source: at the figures above.
@pytest.mark.outside(8)
@pytest.mark.parametrize(("markup", "margin"), TABLE)
def test_a_markup_leaves_the_published_margin(markup: str, margin: str) -> None:
    assert margin_of(D(100), at_markup(D(100), D(markup))) == D(margin)


@pytest.mark.parametrize(("margin", "markup"), [
    # Common practice, no source (markup = g / (1 - g)): margins of 20 25 30 35 40 45 50 60 70 % are markups of
    # 25 33.3 42.9 53.8 66.7 81.8 100 150 233 %
    ("0.20", "25.0"), ("0.25", "33.3"), ("0.30", "42.9"), ("0.35", "53.8"), ("0.40", "66.7"), ("0.45", "81.8"),
    ("0.50", "100.0"), ("0.60", "150.0"), ("0.70", "233.3"),
])
def test_a_margin_is_the_markup_of_the_trades_table(margin: str, markup: str) -> None:
    assert round_to((at_margin(D(1000), D(margin)) - 1000) / 1000 * 100, 1) == D(markup)


@pytest.mark.outside(8)
def test_a_cost_of_three_at_half_again_sells_for_four_and_a_half() -> None:
    # Bookkeeping handout: cost 3.00, markup 50 % -> 4.50, gross profit 33 %
    assert (at_markup(D("3.00"), D("0.50")), margin_of(D("3.00"), D("4.50"))) == (D("4.50"), D("0.3333"))


@pytest.mark.outside(8)
def test_a_cost_of_forty_at_half_again_sells_for_sixty() -> None:
    # Calculator page: cost 40, markup 50 % -> 60, margin 33.33 %
    assert (at_markup(D(40), D("0.5")), margin_of(D(40), D(60))) == (D(60), D("0.3333"))


@given(st.integers(1, 10**6), st.integers(0, 95))
def test_a_margin_and_its_markup_are_the_same_price(cents: int, percent: int) -> None:
    # markup = g / (1 - g)
    cost, margin = D(cents) / 100, D(percent) / 100

    assert abs(at_margin(cost, margin) - at_markup(cost, margin / (1 - margin))) <= D("0.0001")


# ---------------------------------------------------------------- tax

def _tax(lines: dict[str, Sequence[str]], rates: dict[str, str], by_line: bool = False) -> list[Decimal]:
    rules = [TaxRule(name="Tax", category=name, rate=D(rate), payer="customer") for name, rate in rates.items()]
    amounts = {name: [D(line) for line in its] for name, its in lines.items()}
    return [tax.amount for tax in customer_taxes(rules, amounts, by_line, "USD")]


@pytest.mark.outside(8)
def test_an_invoice_is_taxed_on_its_sum() -> None:
    # Tax-engine help page: 89.99 x 6.25 % = 5.624375 -> 5.62
    assert _tax({"goods": ["89.99"]}, {"goods": "0.0625"}) == [D("5.62")]


@pytest.mark.outside(8)
def test_three_lines_rounded_first_may_differ_by_a_cent() -> None:
    # The same page: three lines that make 89.99, rounded first, give 5.63. It does not print the lines; these are ours
    lines = ["30.00", "30.00", "29.99"]  # 1.875 + 1.875 + 1.874375 -> 1.88 + 1.88 + 1.87

    assert (_tax({"goods": lines}, {"goods": "0.0625"}), _tax({"goods": lines}, {"goods": "0.0625"}, by_line=True)) == (
        [D("5.62")], [D("5.63")])


@pytest.mark.outside(8)
def test_fifty_dollars_at_eight_and_a_quarter_percent() -> None:
    # A shop-software help page: 4.125, half up 4.13
    assert _tax({"goods": ["50.00"]}, {"goods": "0.0825"}) == [D("4.13")]


# EN 16931-1, example 2 of the official artefacts (ConnectingEurope/eInvoicing-EN16931, ubl-tc434-example2.xml): lines
# 1273.00, -3.96, 4.96, -25.00, 187.50; an allowance and a charge of 100 each at the standard rate.
EXAMPLE_2 = {"standard": ["1273.00", "187.50", "-100.00", "100.00"], "reduced": ["-3.96", "4.96"],
             "exempt": ["-25.00"]}
EXAMPLE_2_RATES = {"standard": "0.25", "reduced": "0.15", "exempt": "0"}


# Source: at the figures above.
@pytest.mark.outside(8)
def test_en_16931_example_2_has_its_bases() -> None:
    rules = [TaxRule(name="VAT", category=name, rate=D(rate), payer="customer")
             for name, rate in EXAMPLE_2_RATES.items()]
    amounts = {name: [D(line) for line in lines] for name, lines in EXAMPLE_2.items()}

    assert [tax.base for tax in customer_taxes(rules, amounts, False, "EUR")] == [
        D("1460.50"), D("1.00"), D("-25.00")]


@pytest.mark.outside(8)
def test_en_16931_example_2_has_its_taxes() -> None:
    # 365.125 -> 365.13 (half to even would give 365.12)
    assert _tax(EXAMPLE_2, EXAMPLE_2_RATES) == [D("365.13"), D("0.15"), D("0.00")]


@pytest.mark.outside(8)
def test_en_16931_example_2_has_its_total() -> None:
    lines = D("1273.00") - D("3.96") + D("4.96") - D("25.00") + D("187.50")
    tax = sum(_tax(EXAMPLE_2, EXAMPLE_2_RATES))

    total, rounding = grand_total(materials=lines, labour=D(0), freight=D(100), discount=D(100), tax=D(tax),
                                  whole_units=False)

    assert (lines, tax, total, rounding) == (D("1436.50"), D("365.28"), D("1801.78"), D(0))
    assert total - D("1000.00") == D("801.78")  # prepaid 1000


# ---------------------------------------------------------------- sharing out

MONEY = st.integers(-10**9, 10**9).map(lambda cents: D(cents) / 100)
WEIGHTS = st.lists(st.integers(0, 10**6).map(D), min_size=1, max_size=12)


@given(MONEY, WEIGHTS)
def test_shares_sum_to_what_is_shared(total: Decimal, weights: list[Decimal]) -> None:
    assert sum(share(total, weights)) == total


@given(st.integers(0, 10**9).map(lambda cents: D(cents) / 100), WEIGHTS)
def test_no_share_strays_more_than_a_cent_from_its_part(total: Decimal, weights: list[Decimal]) -> None:
    whole = sum(weights)
    if whole:
        for part, weight in zip(share(total, weights), weights, strict=True):
            assert abs(part - total * weight / whole) <= D("0.01")


@given(MONEY, WEIGHTS)
def test_every_share_is_whole_cents(total: Decimal, weights: list[Decimal]) -> None:
    assert all(part == round_to(part, 2) for part in share(total, weights))


def test_nothing_to_weigh_gives_all_to_the_last() -> None:
    assert share(D("5.00"), [D(0), D(0)]) == (D(0), D("5.00"))


def test_nobody_to_share_with_gives_no_parts() -> None:
    assert share(D("5.00"), []) == ()


def test_a_currency_without_cents_is_shared_in_whole_units() -> None:
    assert share(D(100), [D(1), D(1), D(1)], "JPY") == (D(33), D(34), D(33))


def test_a_length_is_split_to_three_places() -> None:
    assert split(D(10), [D(1), D(2)], 3) == (D("3.333"), D("6.667"))

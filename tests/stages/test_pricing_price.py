"""Unit prices by basis, and rows priced."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from decimal import Decimal

import pytest

from quoting.bill import make_bill, merge_lines
from quoting.catalog.records import Catalog
from quoting.lines import Line
from quoting.pricing.markup import unit_price
from quoting.pricing.price import (
    below_cost,
    category_inputs,
    costing_price,
    old_prices,
    part_infos,
    part_inputs,
    price_materials,
)
from quoting.problems import Problem
from quoting.quote import CategoryPricing, PartPricing, PricedMaterial
from tests.stages.pricing_stubs import (
    ON,
    PARTS,
    PRICES,
    make_catalog,
    make_part,
    make_price,
    make_settings,
    material,
    override,
    standard,
)

D = Decimal


def _category(basis: str, rate: str) -> CategoryPricing:
    return CategoryPricing(category="any", words="", basis=basis, rate=D(rate), freight_rate=D(0), warn_days=0,  # type: ignore[arg-type]
                           row="MKP-010")


def _part(cost: str, **changes: str) -> PartPricing:
    values: dict[str, Decimal | None] = {"list_price": None, "floor_price": None, "own_markup": None}
    values |= {name: D(value) for name, value in changes.items()}
    return PartPricing(part="SPK", unit_cost=D(cost), **values)  # type: ignore[arg-type]


@pytest.mark.parametrize(("basis", "rate", "price"), [
    ("markup", "0.5", "15.0000"),  # 10 x 1.5
    ("margin", "0.45", "18.1818"),  # 10 / 0.55
    ("list", "0.1", "27.0000"),  # 30 less 10 %
    ("list", "0", "30.0000"),
])
def test_a_category_prices_by_its_basis(basis: str, rate: str, price: str) -> None:
    assert unit_price(_part("10", list_price="30"), _category(basis, rate)) == (D(price), basis)


def test_a_parts_own_markup_stands_before_its_category() -> None:
    assert unit_price(_part("10", own_markup="0.25"), _category("margin", "0.6")) == (D("12.5"), "part markup")


def test_a_price_below_the_floor_is_raised_to_it() -> None:
    assert unit_price(_part("10", floor_price="20"), _category("markup", "0.5")) == (D(20), "floor")


def test_a_price_above_the_floor_is_left_alone() -> None:
    assert unit_price(_part("10", floor_price="14"), _category("markup", "0.5")) == (D(15), "markup")


def test_a_list_basis_never_goes_above_the_list() -> None:
    assert unit_price(_part("10", list_price="30"), _category("list", "-0.2")) == (D(30), "list")


# ---------------------------------------------------------------- rows

def _priced(*lines: Line, catalog: Catalog | None = None, overrides: Sequence[object] = (),
            contractor: Mapping[str, Sequence[Decimal]] | None = None,
            ) -> tuple[tuple[PricedMaterial, ...], tuple[Problem, ...]]:
    catalog = catalog or make_catalog()
    rows, _ = merge_lines(lines, overrides, catalog, final=False)  # type: ignore[arg-type]
    bill, _ = make_bill(rows, catalog, "USD")
    parts = part_inputs({row.part for row in bill.materials}, "USD", catalog)
    categories, problems = category_inputs(parts.values(), catalog)
    assert problems == ()
    rates = contractor or {category.category: () for category in categories}
    return price_materials(bill, parts, categories, rates, catalog, "USD")


def test_price_and_cost_are_need_times_the_four_place_unit() -> None:
    # 62.50 / 0.55 = 113.6364; x 3 = 340.9092
    row, = _priced(material("SPK", "3"))[0]

    assert (row.unit_price, row.price, row.cost) == (D("113.6364"), D("340.91"), D("187.50"))


def test_unit_cost_is_the_costing_put_ups_whatever_is_bought() -> None:
    # 77 ft come off a 250 ft spool at 0.38 a foot; the 1,000 ft spool at 0.31 sets the cost
    row, = _priced(material("CAB", "77"))[0]

    assert (row.unit_cost, row.cost, row.price) == (D("0.3100"), D("23.87"), D("59.68"))  # 77 x 0.775 = 59.675


def test_a_part_without_a_costing_mark_costs_what_its_smallest_put_up_does() -> None:
    prices = tuple(make_price("SCREW", cost, size, costing=False) for size, cost in (("100", "9"), ("25", "3")))

    price = costing_price("SCREW", "USD", make_catalog(prices={"SCREW": prices}))

    assert price is not None
    assert price.unit_cost == D("0.12")


def test_freight_is_a_rate_of_the_rows_cost() -> None:
    # 2 % of 187.50
    assert _priced(material("SPK", "3"))[0][0].freight == D("3.75")


def test_each_tax_on_cost_is_rounded_by_itself() -> None:
    # 0.85 x 5 = 4.25: 7 % = 0.2975 -> 0.30, 1.1 % = 0.04675 -> 0.05; both at once 0.34425 -> 0.34
    row, = _priced(material("PLATE", "5"), contractor={"small parts": (D("0.07"), D("0.011"))})[0]

    assert row.contractor_tax == D("0.35")


def test_an_overridden_price_is_the_unit_price() -> None:
    row, = _priced(material("SPK", "3"), overrides=[override("SPK/KIT/trim-out", "price", "100")])[0]

    assert (row.unit_price, row.price_rule, row.price) == (D(100), "override", D("300.00"))


def test_an_overridden_price_below_the_floor_warns_at_the_overrides_cell() -> None:
    catalog = make_catalog(prices={"SPK": (make_price("SPK", "62.50", floor_price=D("99.50")),)})

    rows, problems = _priced(material("SPK"), catalog=catalog,
                             overrides=[override("SPK/KIT/trim-out", "price", "90", "A9")])

    assert rows[0].unit_price == D(90)
    assert [(p.severity, p.code, p.where.ref) for p in problems] == [("warning", "under-floor-price", "A9")]


def test_a_dropped_row_comes_to_nothing() -> None:
    row, = _priced(material("SPK", "3"), overrides=[override("SPK/KIT/trim-out", "drop")])[0]

    assert (row.need, row.price, row.cost, row.ruled_need) == (D(0), D("0.00"), D("0.00"), D(3))


# ---------------------------------------------------------------- inputs

def _inputs(part: str, *tables: dict[str, str], **changes: object) -> tuple[Problem, ...]:
    catalog = make_catalog(tables=[standard("markup", *tables)] if tables else (), **changes)  # type: ignore[arg-type]
    return category_inputs(part_inputs([part], "USD", catalog).values(), catalog)[1]


def test_a_margin_of_one_is_a_stop() -> None:
    problem, = _inputs("SPK", {"basis": "margin", "markup_rate": "1"})

    assert (problem.severity, problem.code, str(problem.where)) == ("stop", "margin-rate", "standards/markup.csv A2")


def test_a_basis_that_is_no_basis_is_a_stop() -> None:
    assert [p.code for p in _inputs("SPK", {"basis": "percent", "markup_rate": "0.4"})] == ["markup-basis"]


def test_a_part_sold_by_list_without_a_list_price_is_a_stop() -> None:
    assert [p.code for p in _inputs("RACK", prices={"RACK": (make_price("RACK", "240"),)})] == ["no-list-price"]


def test_a_part_sold_by_list_may_have_a_markup_of_its_own_instead() -> None:
    parts = [make_part("RACK", "racks", own_markup=D("0.8"))]

    assert _inputs("RACK", parts=parts, prices={"RACK": (make_price("RACK", "240"),)}) == ()


def test_categories_are_those_in_use_by_name() -> None:
    catalog = make_catalog()

    categories, _ = category_inputs(part_inputs(["SPK", "CAB"], "USD", catalog).values(), catalog)

    assert [category.category for category in categories] == ["cable", "speakers"]


def test_what_documents_say_of_a_part_has_the_date_of_its_price() -> None:
    info = part_infos(["SPK", "GHOST"], "USD", make_catalog())

    assert [(name, said.price_date) for name, said in info.items()] == [("SPK", datetime.date(2026, 2, 1))]


def test_a_part_that_sells_for_less_than_it_costs_warns() -> None:
    catalog = make_catalog(prices={"RACK": (make_price("RACK", "240", list_price=D("250")),)})
    parts = part_inputs(["RACK"], "USD", catalog)

    problem, = below_cost(parts.values(), category_inputs(parts.values(), catalog)[0], catalog)

    assert (problem.severity, problem.code) == ("warning", "sold-below-cost")
    assert problem.message == "Part 'RACK' sells at 225.0000 by its list and costs 240.0000."


# ---------------------------------------------------------------- price age

def _old(days: int, *parts: str, **changes: object) -> tuple[Problem, ...]:
    catalog = make_catalog(**changes)  # type: ignore[arg-type]
    categories, _ = category_inputs(part_inputs(parts, "USD", catalog).values(), catalog)
    return old_prices(parts, categories, "USD", datetime.date(2026, 2, 1) + datetime.timedelta(days=days), catalog)


def test_a_price_as_old_as_its_category_allows_is_fine() -> None:
    assert _old(60, "SPK") == ()


def test_an_older_price_warns_at_its_row() -> None:
    problem, = _old(61, "SPK")

    assert (problem.severity, problem.code, str(problem.where)) == ("warning", "old-price", "prices.csv A2")
    assert problem.message.startswith("The price of 'SPK' (category 'speakers') from 2026-02-01 is more than 60 days")


def test_a_category_warns_once_and_names_its_oldest_price() -> None:
    parts = [*PARTS, make_part("SPK2", "speakers")]
    prices = {**PRICES, "SPK2": (make_price("SPK2", "90", from_date=datetime.date(2025, 5, 1)),)}

    problem, = _old(61, "SPK", "SPK2", parts=parts, prices=prices)

    assert problem.message.startswith("2 prices of category 'speakers'")
    assert "the oldest, of 'SPK2', is from 2025-05-01" in problem.message


def test_categories_have_days_of_their_own() -> None:
    # copper moves: 30 days; 0 days: never too old
    assert [p.message.split("'")[3] for p in _old(31, "SPK", "CAB", "PLATE")] == ["cable"]


def test_an_old_price_stops_where_the_firm_says_so() -> None:
    assert _old(61, "SPK", firm=make_settings(stop_on_old_prices=True))[0].severity == "stop"


def test_price_age_is_counted_to_the_pricing_date() -> None:
    assert (ON - datetime.date(2026, 2, 1)).days == 29
    assert _old(29, "CAB") == ()

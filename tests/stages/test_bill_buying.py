"""Whole packs and spools that cover the need, bought as cheaply as they can be."""

from __future__ import annotations

from decimal import Decimal
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.bill import cheapest_packs, make_bill, merge_lines
from quoting.lines import Bill, MaterialLine
from quoting.problems import Problem
from tests.stages.pricing_stubs import PARTS, PRICES, make_catalog, make_part, make_price, material, spool_prices

D = Decimal


def _bill(*lines: MaterialLine, **changes: object) -> tuple[Bill, tuple[Problem, ...]]:
    catalog = make_catalog(**changes)  # type: ignore[arg-type]
    rows, _ = merge_lines(lines, (), catalog, final=False)
    return make_bill(rows, catalog, "USD")


def _runs(*lengths: str) -> list[MaterialLine]:
    return [material("CAB", length, phase="rough-in", fact=str(101 + index)) for index, length in enumerate(lengths)]


# ---------------------------------------------------------------- packs

def _packs(need: str, *sizes: tuple[str, str]) -> list[tuple[Decimal, int]]:
    prices = [make_price("SCREW", cost, size) for size, cost in sizes]
    return sorted((put_up.size, put_up.count) for put_up in cheapest_packs(D(need), prices))


def test_packs_cover_the_need() -> None:
    assert _packs("101", ("100", "9")) == [(D(100), 2)]


def test_a_small_pack_tops_up_a_large_one_where_that_is_cheaper() -> None:
    # 2 x 100 = 18.00; 100 + 25 = 12.00
    assert _packs("101", ("100", "9"), ("25", "3")) == [(D(25), 1), (D(100), 1)]


def test_a_large_pack_is_taken_where_small_ones_would_cost_more() -> None:
    # 4 x 25 = 12.00; 1 x 100 = 9.00, although 20 are left over
    assert _packs("80", ("100", "9"), ("25", "3")) == [(D(100), 1)]


def test_of_equal_cost_the_fewest_packs_are_bought() -> None:
    assert _packs("100", ("100", "8"), ("25", "2")) == [(D(100), 1)]


def test_of_equal_cost_and_count_the_least_is_left_over() -> None:
    assert _packs("10", ("20", "5"), ("12", "5")) == [(D(12), 1)]


def test_the_cheapest_unit_does_not_mislead() -> None:
    # 3 of the large: 24.00; 2 large + 1 odd: 16 + 5 = 21; greedy by unit cost alone would take the third large
    assert _packs("21", ("10", "8"), ("1", "5")) == [(D(1), 1), (D(10), 2)]


def _brute(need: int, sizes: list[tuple[int, int]]) -> tuple[int, int, int]:
    found = []
    for counts in product(*(range(-(-need // size) + 1) for size, _ in sizes)):
        got = sum(count * size for count, (size, _) in zip(counts, sizes, strict=True))
        if got >= need:
            cost = sum(count * cost for count, (_, cost) in zip(counts, sizes, strict=True))
            found.append((cost, sum(counts), got))
    return min(found)


@given(st.integers(1, 40), st.lists(st.tuples(st.integers(1, 20), st.integers(1, 30)), min_size=1, max_size=3,
                                    unique_by=lambda pair: pair[0]))
def test_no_combination_of_packs_is_cheaper(need: int, sizes: list[tuple[int, int]]) -> None:
    prices = [make_price("SCREW", str(cost), str(size)) for size, cost in sizes]

    chosen = cheapest_packs(D(need), prices)

    assert (sum(p.cost * p.count for p in chosen), sum(p.count for p in chosen),
            sum(p.size * p.count for p in chosen)) == _brute(need, sizes)


def test_a_purchase_keeps_need_buy_and_stock_apart() -> None:
    bill, _ = _bill(material("SCREW", "110"))

    bought, = bill.purchases
    assert (bought.need, bought.buy, bought.to_stock, bought.outlay) == (D(110), D(125), D(15), D("12.00"))


def test_a_need_of_several_rooms_is_bought_once() -> None:
    bill, _ = _bill(material("SCREW", "60"), material("SCREW", "60", "LIV"))

    assert [(p.part, p.buy) for p in bill.purchases] == [("SCREW", D(125))]


def test_a_part_without_a_price_in_the_currency_stops_with_part_line_and_currency() -> None:
    catalog = make_catalog()
    rows, _ = merge_lines([material("SPK")], (), catalog)

    _, problems = make_bill(rows, catalog, "EUR")

    assert [(p.severity, p.code) for p in problems] == [("stop", "no-price")]
    assert problems[0].message == (
        "Part 'SPK' (line 'SPK/KIT/trim-out') has no price in EUR: it is not available.")


def test_purchases_stand_by_supplier_then_part() -> None:
    prices = {**PRICES, "SPK": (make_price("SPK", "62.50", supplier="Zander"),)}

    bill, _ = _bill(material("SPK"), material("SCREW"), material("PLATE"), prices=prices)

    assert [(p.supplier, p.part) for p in bill.purchases] == [
        ("Halden", "PLATE"), ("Halden", "SCREW"), ("Zander", "SPK")]


# ---------------------------------------------------------------- leftovers that belong to the job

SPECIAL = [*PARTS, make_part("BOLT", "small parts", leftover="job")]
BOLT_PRICES = {**PRICES, "BOLT": (make_price("BOLT", "12", "10"),)}


def test_a_special_parts_whole_packs_belong_to_the_job() -> None:
    bill, _ = _bill(material("BOLT", "13"), parts=SPECIAL, prices=BOLT_PRICES)

    assert [(row.id, row.need) for row in bill.materials] == [
        ("BOLT/JOB/trim-out", D(7)), ("BOLT/KIT/trim-out", D(13))]


def test_a_special_part_leaves_nothing_for_the_stock() -> None:
    bill, _ = _bill(material("BOLT", "13"), parts=SPECIAL, prices=BOLT_PRICES)

    assert (bill.purchases[0].need, bill.purchases[0].to_stock) == (D(20), D(0))


def test_the_rest_of_a_pack_says_which_part_it_belongs_to() -> None:
    bill, _ = _bill(material("BOLT", "13"), parts=SPECIAL, prices=BOLT_PRICES)
    why = bill.materials[0].because[0]

    assert (why.rule, why.rule_cell.file, why.amount) == ("leftover BOLT", "parts.csv", D(7))


def test_a_special_cables_tails_are_need_and_not_scrap() -> None:
    parts = [make_part("CAB", "cable", "ft", leftover="job", keep=D(50))]

    bill, _ = _bill(*_runs("200"), parts=parts)

    bought = bill.purchases[0]
    assert (bought.need, bought.buy, bought.scrap, bought.to_stock) == (D(250), D(250), D(0), D(0))


# ---------------------------------------------------------------- spools

def _cuts(bill: Bill) -> list[tuple[Decimal, list[str]]]:
    return [(spool.size, [cut.run for cut in spool.cuts]) for spool in bill.spools]


def test_no_run_spans_two_spools() -> None:
    # 3 x 400 = 1,200 ft: a splice would do with 1,000 + 250
    bill, _ = _bill(*_runs("400", "400", "400"))

    assert [(size, len(runs)) for size, runs in _cuts(bill)] == [(D(1000), 2), (D(500), 1)]


def test_runs_are_cut_longest_first_from_the_spool_they_fill_best() -> None:
    bill, _ = _bill(*_runs("100", "600", "300", "500"))

    assert _cuts(bill) == [(D(1000), ["102", "103"]), (D(1000), ["104", "101"])]


def test_a_spool_keeps_back_fifteen_feet_or_five_percent() -> None:
    # common practice, no source: 960 of 1,000 ft would leave 40, and 5 % is 50
    bill, _ = _bill(*_runs("480", "480"))

    assert len(bill.spools) == 2


def test_a_spool_is_used_up_to_its_reserve() -> None:
    bill, _ = _bill(*_runs("475", "475"))

    assert _cuts(bill) == [(D(1000), ["101", "102"])]


def test_a_small_spool_keeps_back_fifteen_feet() -> None:
    # 5 % of 250 ft is 12.5 ft; 240 ft would leave 10
    bill, _ = _bill(*_runs("240"))

    assert bill.spools[0].size == D(500)


def test_a_run_that_only_fits_without_a_reserve_gets_a_spool_of_its_own() -> None:
    bill, _ = _bill(*_runs("990", "5"))

    assert _cuts(bill) == [(D(1000), ["101"]), (D(250), ["102"])]


def test_a_run_that_only_fits_without_a_reserve_warns_and_names_it() -> None:
    _, problems = _bill(*_runs("990", "5"))

    assert [(p.severity, p.code) for p in problems] == [("warning", "run-without-reserve")]
    assert "Run '101' needs 990 ft of 'CAB', all but 10 of its largest spool of 1000" in problems[0].message


def test_a_run_longer_than_the_largest_spool_is_a_stop_that_names_it() -> None:
    _, problems = _bill(*_runs("1200"))

    assert [(p.severity, p.code) for p in problems] == [("stop", "run-too-long")]
    assert "Run '101' needs 1200 ft of 'CAB', and its largest spool holds 1000" in problems[0].message


def test_each_spool_is_the_cheapest_that_still_holds_its_runs() -> None:
    bill, _ = _bill(*_runs("200"), prices={"CAB": spool_prices(ft1000="310", ft500="90", ft250="95")})

    assert bill.spools[0].size == D(500)


def test_a_metre_spool_keeps_back_as_much_as_a_foot_spool() -> None:
    # 15 ft = 4.572 m: 95.5 m of a 100 m spool would leave 4.5 m
    parts = [make_part("CAB", "cable", "m")]
    prices = {"CAB": (make_price("CAB", "200", "200", "m"), make_price("CAB", "90", "100", "m", costing=False))}

    sizes = [_bill(*_runs(length), parts=parts, prices=prices)[0].spools[0].size for length in ("95.0", "95.5")]

    assert sizes == [D(100), D(200)]


@pytest.mark.parametrize(("length", "to", "stock", "scrap"), [("200", "stock", "50", "0"), ("205", "job", "0", "45")])
def test_a_tail_long_enough_to_keep_goes_to_stock_and_a_short_one_to_the_job(
    length: str, to: str, stock: str, scrap: str,
) -> None:
    bill, _ = _bill(*_runs(length))

    assert (bill.spools[0].tail_to, bill.purchases[0].to_stock, bill.purchases[0].scrap) == (to, D(stock), D(scrap))


def test_a_purchase_of_spools_counts_each_size() -> None:
    bill, _ = _bill(*_runs("400", "400", "400"))

    bought = bill.purchases[0]
    assert [(p.size, p.count) for p in bought.put_ups] == [(D(1000), 1), (D(500), 1)]
    assert bought.outlay == D("480.00")


def test_a_published_example_needs_four_spools() -> None:
    # Bins of 100: 48, 30, 19, 36, 36, 27, 42, 42, 36, 24, 30 -> 4. google/or-tools, bin_packing_mip.py; the reserve is
    # put on top of the bin here (100 + 15), because the published bins keep nothing back.
    sizes = ["48", "30", "19", "36", "36", "27", "42", "42", "36", "24", "30"]

    bill, _ = _bill(*_runs(*sizes), prices={"CAB": spool_prices(ft115="50")})

    assert len(bill.spools) == 4


@given(st.lists(st.integers(1, 950), min_size=1, max_size=30))
def test_spools_and_purchases_say_the_same(lengths: list[int]) -> None:
    bill, _ = _bill(*_runs(*map(str, lengths)))

    bought = bill.purchases[0]
    assert sorted(cut.length for spool in bill.spools for cut in spool.cuts) == sorted(D(n) for n in lengths)
    assert sum(spool.size for spool in bill.spools) == bought.buy == bought.need + bought.to_stock + bought.scrap
    assert all(spool.tail == spool.size - sum(cut.length for cut in spool.cuts) for spool in bill.spools)

"""Quantity breaks and substitutes: what their tables may say, and the cheapest packs where many cost less."""

from __future__ import annotations

import datetime
from decimal import Decimal
from itertools import product
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from msgspec.structs import replace

from quoting.bill import cheapest_packs, make_bill, merge_lines
from quoting.catalog.read import read_catalog
from quoting.lines import Purchase
from tests.rules import small_catalog as small
from tests.rules.small_catalog import write_catalog
from tests.stages.pricing_stubs import PARTS, PRICES, make_catalog, make_part, make_price, material, spool_prices

D = Decimal
BREAKS = "part,put_up,currency,from_packs,cost,supplier,from_date,note\n"
SUBSTITUTES = "part,substitute,note\n"


def said(folder: Path, file: str, text: str, on: datetime.date = small.ON) -> list[str]:
    catalog, problems = read_catalog(write_catalog(folder, {file: text}), on)
    assert catalog is not None
    return [str(problem) for problem in problems]


# ---------------------------------------------------------------- the table of breaks

def test_a_price_has_its_breaks_in_rising_order(tmp_path: Path) -> None:
    text = BREAKS + "SPK-A,1,USD,24,31.00,,2026-09-01,\nSPK-A,1,USD,12,33.00,,2026-09-01,\n"
    catalog, _ = read_catalog(write_catalog(tmp_path, {"price_breaks.csv": text}), small.ON)

    assert catalog is not None
    assert catalog.prices["SPK-A", "USD"][0].breaks == ((12, D("33.00")), (24, D("31.00")))


def test_a_break_older_than_the_price_in_force_is_over(tmp_path: Path) -> None:
    # the price of SPK-A in force is from 2026-09-01
    text = BREAKS + "SPK-A,1,USD,12,33.00,,2026-01-01,\n"
    catalog, problems = read_catalog(write_catalog(tmp_path, {"price_breaks.csv": text}), small.ON)

    assert catalog is not None
    assert (catalog.prices["SPK-A", "USD"][0].breaks, problems) == ((), ())


@pytest.mark.parametrize(("row", "code"), [
    ("SPK-A,2,USD,12,33.00,,2026-09-01,", "price_breaks.csv A2 stop break-without-price"),
    ("SPK-A,1,USD,12,33.00,Somebody Else,2026-09-01,", "price_breaks.csv A2 stop break-without-price"),
    ("SPK-A,1,USD,1,33.00,,2026-09-01,", "price_breaks.csv A2 stop break-from-one"),
    ("SPK-A,1,USD,12,36.00,,2026-09-01,", "price_breaks.csv A2 stop break-not-cheaper"),
    ("SPK-A,1,USD,12,-1,,2026-09-01,", "price_breaks.csv E2 stop negative-number"),
    ("SPK-X,1,USD,12,33.00,,2026-09-01,", "price_breaks.csv A2 stop break-without-price"),
])
def test_a_break_that_fits_no_price_is_told_of_at_its_row(tmp_path: Path, row: str, code: str) -> None:
    assert said(tmp_path, "price_breaks.csv", f"{BREAKS}{row}\n")[0].startswith(code)


# ---------------------------------------------------------------- the table of substitutes

TWIN = small.PARTS + "SPK-B,another,another,speakers,each,fixing,,Invented Supply,9,stock,,,no,\n"
TWIN_SPEAKERS = small.SPEAKERS + "SPK-B,ceiling,6.5,no,no,8,90,80,120,200,0,4,0012,,,spring clip,16,damp,0\n"
TWIN_PRICES = small.PRICES + "SPK-B,1,each,USD,40.00,,,Invented Supply,2026-01-01,yes\n"


SOCKETS = ("part,direction,signal,connector,count,note\nSPK-A,in,speaker,spring clip,1,\n"
           "SPK-B,in,speaker,spring clip,1,\n")


def with_twin(folder: Path, parts: str = TWIN, speakers: str = TWIN_SPEAKERS, sockets: str = SOCKETS,
              row: str = "SPK-A,SPK-B,") -> list[str]:
    files = {"parts.csv": parts, "parts/speakers.csv": speakers, "prices.csv": TWIN_PRICES,
             "substitutes.csv": f"{SUBSTITUTES}{row}\n", "sockets.csv": sockets}
    _, problems = read_catalog(write_catalog(folder, files), small.ON)
    return [str(problem) for problem in problems if problem.where.file == "substitutes.csv"]


def test_a_part_of_the_same_hole_and_sockets_is_accepted(tmp_path: Path) -> None:
    assert with_twin(tmp_path) == []


@pytest.mark.parametrize(("changes", "message"), [
    ({"row": "SPK-A,SPK-A,"}, "it is the same part"),
    ({"row": "SPK-A,0012,"}, "its category is small parts, not speakers"),
    ({"row": "CAB-16,CAB-15,"}, "its unit is m, not ft"),
    ({"speakers": TWIN_SPEAKERS.replace("80,120,200", "80,120,165")}, "its mount or its hole is another"),
    ({"sockets": SOCKETS.replace("SPK-B,in,speaker,spring clip", "SPK-B,in,speaker,binding post")},
     "of 1 sockets 'spring clip' for speaker (in) it has 0"),
    ({"parts": TWIN.replace(",9,stock,,,no,", ",9,stock,,,yes,")}, "is discontinued"),
    ({"row": "SPK-A,SPK-X,"}, "'SPK-X' is no part of parts.csv"),
])
def test_a_substitute_that_does_not_fit_is_told_of(tmp_path: Path, changes: dict[str, str], message: str) -> None:
    told = with_twin(tmp_path, **changes)

    assert len(told) == 1 and message in told[0]


# ---------------------------------------------------------------- buying at breaks

def packs(need: str, breaks: tuple[tuple[int, Decimal], ...]) -> list[tuple[Decimal, int, Decimal, int]]:
    price = replace(make_price("SPK", "10.00"), breaks=breaks)
    return [(each.size, each.count, each.cost, each.from_count) for each in cheapest_packs(D(need), [price])]


def test_a_break_that_is_reached_sets_the_cost() -> None:
    assert packs("12", ((10, D("8.00")),)) == [(D(1), 12, D("8.00"), 10)]


def test_a_break_that_is_not_reached_does_not() -> None:
    assert packs("7", ((10, D("8.00")),)) == [(D(1), 7, D("10.00"), 0)]


def test_more_are_bought_where_they_cost_less() -> None:
    # 9 x 10.00 = 90.00; 10 x 8.00 = 80.00
    assert packs("9", ((10, D("8.00")),)) == [(D(1), 10, D("8.00"), 10)]


def test_the_deepest_break_that_is_reached_counts() -> None:
    assert packs("30", ((10, D("8.00")), (24, D("7.00")))) == [(D(1), 30, D("7.00"), 24)]


Sizes = list[tuple[int, int, int, int]]  # units, cost, break from, cost at the break


def brute(need: int, sizes: Sizes) -> int:
    """The least that any counts cost: each size up to what covers the need, or to its break."""
    most = [range(max(-(-need // size), at) + 1) for size, _, at, _ in sizes]
    return min(
        sum(count * (low if count >= at else cost) for count, (_, cost, at, low) in zip(counts, sizes, strict=True))
        for counts in product(*most)
        if sum(count * size for count, (size, *_) in zip(counts, sizes, strict=True)) >= need)


@given(st.integers(1, 25), st.lists(
    st.tuples(st.integers(1, 12), st.integers(5, 30), st.integers(2, 8), st.integers(0, 4)), min_size=1, max_size=2,
    unique_by=lambda size: size[0]))
def test_no_packs_at_their_breaks_are_cheaper(need: int, drawn: Sizes) -> None:
    sizes = [(size, cost, at, cost - 1 - off) for size, cost, at, off in drawn]
    prices = [replace(make_price("SPK", str(cost), str(size)), breaks=((at, D(low)),)) for size, cost, at, low in sizes]

    chosen = cheapest_packs(D(need), prices)

    assert sum(each.cost * each.count for each in chosen) == brute(need, sizes)


def purchase(part: str, need: str, **changes: object) -> tuple[Purchase, tuple[Decimal, ...]]:
    catalog = make_catalog(**changes)  # type: ignore[arg-type]
    rows, _ = merge_lines([material(part, need)], (), catalog, final=False)
    bill, _ = make_bill(rows, catalog, "USD")
    return bill.purchases[0], tuple(row.need for row in bill.materials)


def test_a_purchase_says_what_its_breaks_save() -> None:
    prices = {**PRICES, "SPK": (replace(make_price("SPK", "62.50"), breaks=((10, D("60.00")),)),)}

    bought, _ = purchase("SPK", "12", prices=prices)

    assert (bought.outlay, bought.saved) == (D("720.00"), D("30.00"))  # 12 x 60.00; 12 x 2.50


def test_a_break_puts_nothing_more_on_the_bill_of_a_customer_who_pays_whole_packs() -> None:
    # need 13: 2 packs of 10 are charged; 4 packs would cost less at the break, and the customer would pay for 40
    bolts = [*PARTS, make_part("BOLT", "small parts", leftover="job")]
    prices = {**PRICES, "BOLT": (replace(make_price("BOLT", "12", "10"), breaks=((4, D("5.00")),)),)}

    bought, needs = purchase("BOLT", "13", parts=bolts, prices=prices)

    assert (bought.buy, sum(needs)) == (D(20), D(20))


def test_spools_are_paid_at_the_break_that_they_reach() -> None:
    # two runs of 450 ft: two spools of 500 at 150.00 instead of 170.00
    prices = spool_prices(ft500="170")
    catalog = make_catalog(prices={**PRICES, "CAB": tuple(replace(price, breaks=((2, D("150")),)) for price in prices)})
    rows, _ = merge_lines([material("CAB", "450", fact="101"), material("CAB", "450", fact="102")], (), catalog,
                          final=False)
    bill, _ = make_bill(rows, catalog, "USD")

    assert (bill.purchases[0].outlay, bill.purchases[0].lower_bound, bill.purchases[0].proved) == (
        D("300.00"), D("300.00"), True)

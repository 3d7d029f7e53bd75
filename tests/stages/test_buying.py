"""What is bought is picked once or left over; dates follow the timetable; supplier's orders add up to the outlay."""

from __future__ import annotations

import datetime
from collections import Counter
from dataclasses import replace
from decimal import Decimal

import holidays
import pytest

from quoting.buying import SERVICES, left_overs, orders, picks, purchase_list
from quoting.buying_inputs import StockItem
from quoting.catalog.records import Catalog
from quoting.intake.read import read_job
from quoting.lines import PHASES
from quoting.pipeline import quote_job
from quoting.problems import Cell, has_stop
from quoting.quote import PricedOption, Quote
from quoting.rules.book import RuleBook
from tests.conftest import PRICED_ON
from tests.problems.forms import save
from tests.random_houses import random_house

D = Decimal
HOUSES = 12
Options = list[tuple[str, Quote, PricedOption]]


def stock_of(quote: Quote, cables: set[str]) -> dict[str, StockItem]:
    """Some of every other part that a quote buys: half of the need, cable in two spools."""
    found: dict[str, StockItem] = {}
    for purchase in quote.options[-1].purchases[::2]:
        half = D(int(purchase.need / 2) or 1)
        spools = (half, D(90)) if purchase.part in cables else ()
        found[purchase.part] = StockItem(part=purchase.part, on_hand=sum(spools, D(0)) or half, bin="A1",
                                         spools=spools, where=Cell("stock.csv", "", "A2"))
    return found


@pytest.fixture(scope="module")
def options(
    quotes: dict[str, Quote], demo: Catalog, book: RuleBook, tmp_path_factory: pytest.TempPathFactory
) -> Options:
    """Every option of every example, and of random houses as they are and with stock."""
    found = [(f"{name} {option.name}", quote, option) for name, quote in quotes.items() for option in quote.options]
    folder = tmp_path_factory.mktemp("houses")
    for seed in range(HOUSES):
        job, problems = read_job(save(folder / f"{seed}.xlsx", demo, *random_house(seed, demo)), demo)
        if job is None or has_stop(problems):
            continue
        quote, _ = quote_job(job, demo, book, PRICED_ON, problems)
        if quote is None:
            continue
        stocked, _ = quote_job(job, demo, book, PRICED_ON, problems, stock=stock_of(quote, set(demo.cables)))
        for name, each in (("", quote), (" with stock", stocked)):
            assert each is not None
            found += [(f"house {seed}{name} {option.name}", each, option) for option in each.options]
    return found


def test_random_houses_take_something_from_stock(options: Options) -> None:
    assert any(each.from_stock for _, _, option in options for each in option.purchases)


def test_every_purchase_goes_somewhere(options: Options) -> None:
    for name, quote, option in options:
        assert [each for each in left_overs(quote, option) if each.bought + each.from_stock != (
            each.used + each.with_job + each.to_stock + each.to_return + each.waste)] == [], name


def test_nothing_that_is_left_over_is_below_zero(options: Options) -> None:
    for name, quote, option in options:
        assert [each for each in left_overs(quote, option)
                if min(each.used, each.with_job, each.to_stock, each.to_return, each.waste) < 0] == [], name


def test_picks_of_a_part_sum_to_what_the_job_needs(options: Options) -> None:
    for name, quote, option in options:
        picked: Counter[str] = Counter()
        for pick in picks(quote, option):
            picked[pick.part] += pick.quantity  # type: ignore[assignment]
        need = {row.part: D(0) for row in option.materials if row.need > 0}
        for row in option.materials:
            need[row.part] = need.get(row.part, D(0)) + row.need
        assert {part: amount for part, amount in picked.items() if amount} == {
            part: amount for part, amount in need.items() if amount}, name


def test_every_row_of_the_bill_is_picked_once_for_its_room_and_phase(options: Options) -> None:
    for name, quote, option in options:
        cut = {spool.part for spool in option.spools}
        services = {pick.part for pick in picks(quote, option) if pick.kit == SERVICES}
        rows = Counter((row.part, row.room, row.phase) for row in option.materials
                       if row.need > 0 and row.part not in cut | services)
        assert Counter((pick.part, pick.room, pick.phase) for pick in picks(quote, option)
                       if pick.part not in cut | services) == rows, name


def test_every_spool_is_picked_once(options: Options) -> None:
    for name, quote, option in options:
        assert Counter((pick.part, pick.spool.number) for pick in picks(quote, option) if pick.spool) == Counter(
            (spool.part, spool.number) for spool in option.spools), name


def test_a_spool_is_loaded_before_the_first_cable_is_cut_from_it(options: Options) -> None:
    for name, quote, option in options:
        phases = {(row.part, reason.fact): row.phase for row in option.materials for reason in row.because}
        assert [pick for pick in picks(quote, option) if pick.spool for cut in pick.spool.cuts
                if PHASES.index(pick.phase) > PHASES.index(phases.get((pick.part, cut.run), pick.phase))] == [], name


def test_hire_and_services_are_not_loaded(quotes: dict[str, Quote]) -> None:
    kits = {pick.part: pick.kit for pick in picks(quotes["1"], quotes["1"].options[1])}

    assert (kits["HR-LADDER"], kits["EN-KEYS"], kits["KP-20"] == SERVICES) == (SERVICES, SERVICES, False)


# ---------------------------------------------------------------- the purchase list

def test_orders_add_up_to_the_outlay_of_the_quote(options: Options) -> None:
    for name, quote, option in options:
        ordered = orders(purchase_list(quote, option))
        assert sum(line.outlay for lines in ordered.values() for line in lines) == option.totals.outlay, name


def test_every_purchase_is_on_the_list_once(options: Options) -> None:
    for name, quote, option in options:
        assert Counter(line.part for line in purchase_list(quote, option) if line.first) == Counter(
            purchase.part for purchase in option.purchases), name


def test_the_list_stands_by_supplier(options: Options) -> None:
    for name, quote, option in options:
        suppliers = [line.supplier for line in purchase_list(quote, option)]
        assert suppliers == sorted(suppliers), name


def test_a_part_is_needed_when_its_phases_parts_have_come(quotes: dict[str, Quote]) -> None:
    quote, option = quotes["1"], quotes["1"].options[1]
    come = {phase.phase: phase.parts_date for phase in option.timetable.phases}
    line = next(line for line in purchase_list(quote, option) if line.part == "CS80-20")

    assert (line.phase, line.need_by) == ("trim-out", come["trim-out"])


def test_the_last_day_to_order_is_the_lead_time_before_or_the_working_day_before_that(quotes: dict[str, Quote]) -> None:
    # trade practice, section 8: need-by = phase date - lead - 3 days; the three are the timetable's. Holidays of the
    # country by the package that publishes them, not by our table
    quote, option = quotes["1"], quotes["1"].options[1]
    free = holidays.country_holidays("US", years=[2026, 2027])
    for line in purchase_list(quote, option):
        if line.need_by:
            day = line.need_by - datetime.timedelta(days=quote.parts[line.part].lead_days)
            while day.weekday() > 4 or day in free:
                day -= datetime.timedelta(days=1)
            assert line.order_by == day, line.part


def test_nobody_orders_on_new_year_s_day(quotes: dict[str, Quote]) -> None:
    # the rough-in's parts have come by Wednesday 13 January 2027; ten days before is Sunday the 3rd, the Friday before
    # that New Year's Day (5 U.S.C. 6103(a)), and the day before it a Thursday
    quote, option = quotes["1"], quotes["1"].options[1]
    line = next(line for line in purchase_list(quote, option) if line.part == "SB-CD65")

    assert (line.need_by, line.order_by) == (datetime.date(2027, 1, 13), datetime.date(2026, 12, 31))


def test_a_part_that_should_have_been_ordered_before_the_quote_is_late(quotes: dict[str, Quote]) -> None:
    quote, option = quotes["1"], quotes["1"].options[1]
    day = min(line.order_by for line in purchase_list(quote, option) if line.order_by)
    on_it = replace(quote, pricing=replace(quote.pricing, date=day))
    after = replace(quote, pricing=replace(quote.pricing, date=day + datetime.timedelta(days=1)))

    assert (any(line.late for line in purchase_list(on_it, option)),
            any(line.late for line in purchase_list(after, option))) == (False, True)


def test_a_long_lead_is_marked_from_its_days_on(quotes: dict[str, Quote]) -> None:
    quote, option = quotes["1"], quotes["1"].options[1]
    marked = {line.part for line in purchase_list(quote, option) if line.long_lead}

    assert marked == {part for part in {p.part for p in option.purchases}
                      if quote.parts[part].lead_days >= quote.buying.long_lead_days} != set()


def test_a_part_that_is_all_in_stock_is_listed_and_not_ordered(demo: Catalog, quotes: dict[str, Quote]) -> None:
    option = quotes["1"].options[1]
    whole = replace(option.purchases[0], put_ups=(), buy=D(0), from_stock=option.purchases[0].need, outlay=D(0))
    other = replace(option, purchases=(whole,))
    lines = purchase_list(quotes["1"], other)

    assert ([line.part for line in lines], orders(lines)) == ([whole.part], {})

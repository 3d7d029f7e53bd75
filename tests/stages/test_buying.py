"""What is bought is picked once or left over; dates follow the timetable; supplier's orders add up to the outlay."""

from __future__ import annotations

import datetime
from collections import Counter
from decimal import Decimal

import holidays
import pytest
from msgspec.structs import replace

from quoting.buying import early_boxes, lead_times, left_overs, orders, purchase_list
from quoting.buying_inputs import PartBuying, StockItem
from quoting.catalog.records import Catalog
from quoting.intake.read import read_job
from quoting.lines import PHASES
from quoting.picking import CABLE, RACK, SERVICES, loans, picks
from quoting.pipeline import quote_job
from quoting.problems import Cell, has_stop
from quoting.quote import PricedOption, Quote
from quoting.rules.book import RuleBook
from tests.conftest import EXAMPLES, PRICED_ON
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


def test_what_a_room_needs_is_picked_for_it_and_its_phase_or_for_the_head_end(options: Options) -> None:
    for name, quote, option in options:
        cut = {spool.part for spool in option.spools}
        found = [pick for pick in picks(quote, option) if pick.kit != CABLE]
        needs: dict[tuple[str, str], Decimal] = {}
        picked: dict[tuple[str, str], Decimal] = {}
        for row in option.materials:
            if row.need > 0 and row.part not in cut:
                needs[row.part, row.phase] = needs.get((row.part, row.phase), D(0)) + row.need
        for pick in found:
            picked[pick.part, pick.phase] = picked.get((pick.part, pick.phase), D(0)) + pick.quantity
        assert picked == needs, name
        rooms = {(row.part, row.room, row.phase) for row in option.materials if row.need > 0}
        assert [pick for pick in found if pick.kit != RACK
                and (pick.part, pick.room, pick.phase) not in rooms] == [], name


def test_a_kit_names_a_part_in_one_colour_once(options: Options) -> None:
    for name, quote, option in options:
        assert [key for key, many in Counter((pick.phase, pick.kit, pick.room, pick.part, pick.colour)
                                             for pick in picks(quote, option) if not pick.spool).items()
                if many > 1] == [], name


def test_what_stands_in_the_rack_is_no_room_s_kit(quotes: dict[str, Quote]) -> None:
    # example 1: the television's receiver and the room input's stand at the head end, whatever room they are for
    kits = {pick.part: pick.kit for pick in picks(quotes["1"], quotes["1"].options[1]) if pick.phase == "rack build"}

    assert (kits["TR-10"], kits["RR-10"], kits["LD-PATCH"], set(kits.values())) == (RACK, RACK, RACK, {RACK})


def test_what_lies_in_the_bin_goes_to_the_first_picks(options: Options) -> None:
    for name, quote, option in options:
        taken = {each.part: each.from_stock for each in option.purchases}
        there: dict[str, Decimal] = {}
        for pick in picks(quote, option):
            assert pick.from_bin <= (pick.spool.size if pick.spool else pick.quantity), name
            there[pick.part] = there.get(pick.part, D(0)) + pick.from_bin
        assert {part: amount for part, amount in there.items() if amount} == {
            part: amount for part, amount in taken.items() if amount}, name


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


def test_a_template_is_lent_for_each_loudspeaker_whose_hole_is_cut_to_fish_its_cable(quotes: dict[str, Quote]) -> None:
    # example 2, better: two ceiling loudspeakers in the kitchen, two in the bath, finished rooms; two surface ones each
    # in living room, dining room and bedroom, before a box in the wall
    found = [(loan.room, loan.piece, loan.count) for loan in loans(quotes["2"], quotes["2"].options[1])]

    assert sorted(found) == [("BAD", "cut-out template", 2), ("ESS", "wall bracket", 2), ("KUC", "cut-out template", 2),
                             ("SCH", "wall bracket", 2), ("WOH", "wall bracket", 2)]


def test_a_loudspeaker_whose_box_is_opened_early_has_come_for_the_rough_in(options: Options) -> None:
    for name, quote, option in options:
        early = {part for _, part in early_boxes(option)}
        assert {line.phase for line in purchase_list(quote, option) if line.part in early} <= {"rough-in"}, name


# ---------------------------------------------------------------- the purchase list

def test_orders_add_up_to_the_outlay_of_the_quote(options: Options) -> None:
    for name, quote, option in options:
        found = orders(quote, purchase_list(quote, option))
        assert sum(order.outlay for order in found) == option.totals.outlay, name


def test_every_line_that_is_bought_is_in_one_order_of_its_supplier(options: Options) -> None:
    for name, quote, option in options:
        lines = purchase_list(quote, option)
        ordered = [line for order in orders(quote, lines) for line in order.lines]
        assert Counter(map(id, ordered)) == Counter(id(line) for line in lines if line.put_up), name
        assert [line for order in orders(quote, lines) for line in order.lines if line.supplier != order.supplier] == []


def test_an_order_waits_for_one_payment_and_holds_what_comes_within_a_fortnight(options: Options) -> None:
    # the days: standards/buying.csv BUY-020
    for name, quote, option in options:
        for order in orders(quote, purchase_list(quote, option)):
            assert {quote.buying.gates.get(line.phase, 0) for line in order.lines} == {order.payment}, name
            days = [line.need_by for line in order.lines if line.need_by]
            assert not days or max(days) - min(days) <= datetime.timedelta(days=14), name


def test_equipment_is_ordered_after_the_payment_that_is_for_it(quotes: dict[str, Quote]) -> None:
    # standard plan: 1 deposit, 2 cabling done, 3 before equipment is ordered (standards/order_gate.csv)
    quote, option = quotes["1"], quotes["1"].options[1]
    payments = {line.part: order.payment for order in orders(quote, purchase_list(quote, option))
                for line in order.lines}

    assert (payments["SC16-4W"], payments["KP-20"], payments["PA12-50"]) == (1, 3, 3)


def test_every_purchase_is_on_the_list_once(options: Options) -> None:
    for name, quote, option in options:
        lines = [line for line in purchase_list(quote, option) if line.first]
        assert {line.part for line in lines} == {purchase.part for purchase in option.purchases}, name
        assert [key for key, many in Counter((line.part, line.colour, line.hired_for) for line in lines).items()
                if many > 1] == [], name


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
        if line.need_by and not line.dearer:
            day = line.need_by - datetime.timedelta(days=line.lead_days)
            while day.weekday() > 4 or day in free:
                day -= datetime.timedelta(days=1)
            assert line.order_by == day, line.part


def test_a_part_takes_its_own_lead_time_or_that_of_what_it_is_ordered_with(quotes: dict[str, Quote]) -> None:
    # parts.csv: keypads 10 days, their engraving 15, and the maker engraves before it sends
    quote, option = quotes["1"], quotes["1"].options[1]
    days = {line.part: line.lead_days for line in purchase_list(quote, option)}

    assert (days.pop("KP-20"), days["EN-KEYS"]) == (15, 15)
    assert {part for part, many in days.items() if many != quote.parts[part].lead_days} == set()


def with_lead_days(demo: Catalog, part: str, days: int) -> Catalog:
    return replace(demo, parts={**demo.parts, part: replace(demo.parts[part], lead_days=days)})


def test_what_goes_in_one_order_goes_by_the_slower_of_the_two_and_the_customer_is_told_that_day(
    demo: Catalog, book: RuleBook
) -> None:
    # keypads are wanted by Thursday 18 March 2027, three working days before Tuesday the 23rd; 40 days before is
    # Saturday 6 February. Their engraving alone takes 15
    job, problems = read_job(next(EXAMPLES.glob("1-*.xlsx")), demo)
    assert job is not None
    quote, _ = quote_job(job, with_lead_days(demo, "KP-20", 40), book, PRICED_ON, problems)
    assert quote is not None
    days = {line.part: line.order_by for line in purchase_list(quote, quote.options[1])}
    wording = next(each.needed_by for each in quote.statements if each.code == "say.wording")

    assert (days["KP-20"], days["EN-KEYS"], wording) == (datetime.date(2027, 2, 5),) * 3


def test_parts_that_share_what_they_are_ordered_with_go_in_one_order_too() -> None:
    # two keypads with one engraving; the plate takes 20 days in a colour and is ordered by itself
    ways = {"KEY": PartBuying(ordered_with="ENGRAVING"), "WEATHER KEY": PartBuying(ordered_with="ENGRAVING"),
            "PLATE": PartBuying(coloured=True, colour_days=20), "DOOR KEY": PartBuying(ordered_with="NOT USED")}
    found = lead_times({"KEY": 40, "WEATHER KEY": 10, "ENGRAVING": 15, "PLATE": 10, "DOOR KEY": 7}, {"PLATE"}, ways)

    assert found == {("KEY", False): 40, ("WEATHER KEY", False): 40, ("ENGRAVING", False): 40, ("PLATE", False): 10,
                     ("PLATE", True): 20, ("DOOR KEY", False): 7}


def test_a_hire_is_bought_for_each_phase_and_for_its_first_day(quotes: dict[str, Quote]) -> None:
    # example 1: a day of ladder hire at rough-in, from 19 January 2027, and one at the fitting, from 23 March
    quote, option = quotes["1"], quotes["1"].options[1]
    found = [(line.hired_for, line.put_up.count, line.need_by) for line in purchase_list(quote, option)
             if line.part == "HR-LADDER" and line.put_up]

    assert found == [("rough-in", 1, datetime.date(2027, 1, 19)), ("trim-out", 1, datetime.date(2027, 3, 23))]


def test_without_dates_days_are_counted_from_the_first_in_the_house(quotes: dict[str, Quote]) -> None:
    # the rough-in's parts have come three working days before day 1: on day -2
    quote, option = quotes["1"], quotes["1"].options[1]
    phases = tuple(replace(days, first_date=None, last_date=None, parts_date=None) for days in option.timetable.phases)
    undated = replace(option, timetable=replace(option.timetable, phases=phases))
    line = next(line for line in purchase_list(quote, undated) if line.part == "SB-CD65")

    assert (line.need_by, line.order_by, line.need_day, line.lead_days) == (None, None, -2, 10)


def test_a_price_that_rises_before_the_last_day_to_order_is_told_of(quotes: dict[str, Quote]) -> None:
    # prices.csv: SC16-4W, 250 ft, $89.00 from 2026-09-01 and $94.00 from 2027-01-01; cable is ordered by 8 January
    quote, option = quotes["1"], quotes["1"].options[1]
    dearer = [(line.part, line.put_up.dearer_from, line.put_up.dearer_cost) for line in purchase_list(quote, option)
              if line.dearer and line.put_up]

    assert dearer == [("SC16-4W", datetime.date(2027, 1, 1), D("94.00"))]


def test_what_gets_dearer_is_ordered_on_the_last_working_day_at_the_old_price(quotes: dict[str, Quote]) -> None:
    # $94.00 from Friday 1 January 2027: the Thursday before; its amount is one spool at the $89.00 of the list
    quote, option = quotes["1"], quotes["1"].options[1]
    lines = purchase_list(quote, option)
    line = next(line for line in lines if line.part == "SC16-4W")
    its = next(each for each in orders(quote, lines) if line in each.lines)

    assert (line.order_by, line.outlay, its.first.order_by <= line.order_by if its.first.order_by else None) == (
        datetime.date(2026, 12, 31), D("89.00"), True)


def test_a_rise_before_whose_last_day_the_quote_is_made_moves_nothing(quotes: dict[str, Quote]) -> None:
    # quoted on Saturday 2 January: the last working day before a rise on Monday the 4th is over
    quote, option = quotes["1"], quotes["1"].options[1]
    late = replace(quote, pricing=replace(quote.pricing, date=datetime.date(2027, 1, 2)))
    cable = next(each for each in option.purchases if each.part == "SC16-4W")
    soon = replace(cable, put_ups=tuple(replace(each, dearer_from=datetime.date(2027, 1, 4), dearer_cost=D("94.00"))
                                        for each in cable.put_ups))
    line, = (line for line in purchase_list(late, replace(option, purchases=(soon,))))

    assert (line.order_by, line.dearer) == (datetime.date(2027, 1, 8), True)


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
    lines = purchase_list(quote, option)
    marked = {line.part for line in lines if line.long_lead}

    assert marked == {line.part for line in lines if line.lead_days >= quote.buying.long_lead_days} != set()


def test_a_part_that_is_all_in_stock_is_listed_and_not_ordered(demo: Catalog, quotes: dict[str, Quote]) -> None:
    option = quotes["1"].options[1]
    whole = replace(option.purchases[0], put_ups=(), buy=D(0), from_stock=option.purchases[0].need, outlay=D(0))
    other = replace(option, purchases=(whole,))
    lines = purchase_list(quotes["1"], other)

    assert ([line.part for line in lines], orders(quotes["1"], lines)) == ([whole.part], ())


# ---------------------------------------------------------------- colours

@pytest.fixture(scope="module")
def coloured(demo: Catalog, book: RuleBook) -> dict[str, Quote]:
    """Example 1 with a black bedroom and a Black bath, as it is and with two white plates in stock."""
    job, problems = read_job(next(EXAMPLES.glob("1-*.xlsx")), demo)
    assert job is not None
    colours = {"MBED": "black", "MBAT": " Black", "OFF": "sand"}
    painted = replace(job, rooms=tuple(replace(room, colour=colours.get(room.code, room.colour)) for room in job.rooms))
    stock = {"DP-20": StockItem(part="DP-20", on_hand=D(4), bin="A1", spools=(), where=Cell("stock.csv", "", "A2"))}
    found = {}
    for name, there in (("", {}), ("stocked", stock)):
        quote, _ = quote_job(painted, demo, book, PRICED_ON, problems, stock=there)
        assert quote is not None
        found[name] = quote
    return found


def test_a_plate_is_ordered_in_the_colour_of_its_room(coloured: dict[str, Quote]) -> None:
    # better has five keypads: kitchen, family room, office, bedroom, bath; white takes 10 days (parts.csv), another
    # colour 20 (standards/part_buying.csv)
    quote = coloured[""]
    found = [(line.colour.casefold(), line.need, line.lead_days) for line in purchase_list(quote, quote.options[1])
             if line.part == "DP-20"]

    assert found == [("", D(2), 10), ("black", D(2), 20), ("sand", D(1), 20)]


def test_a_loudspeaker_that_hangs_in_sight_is_ordered_in_the_colour_of_its_room(coloured: dict[str, Quote]) -> None:
    # the office has the only pair on brackets; its maker takes 20 days (standards/part_buying.csv)
    quote = coloured[""]
    found = [(line.colour, line.need, line.lead_days) for line in purchase_list(quote, quote.options[1])
             if line.part == "SF52-20"]

    assert found == [("sand", D(2), 20)]


def test_a_plate_is_picked_in_the_colour_of_its_room(coloured: dict[str, Quote]) -> None:
    quote = coloured[""]
    found = {pick.room: pick.colour.casefold() for pick in picks(quote, quote.options[1]) if pick.part == "DP-20"}

    assert found == {"KAB": "", "FROO": "", "OFF": "sand", "MBED": "black", "MBAT": "black"}


def test_white_plates_in_stock_are_not_taken_for_black_ones(coloured: dict[str, Quote]) -> None:
    # four white ones are there, two are wanted
    quote = coloured["stocked"]
    purchase = next(each for each in quote.options[1].purchases if each.part == "DP-20")

    assert (purchase.from_stock, [(put_up.colour.casefold(), put_up.count) for put_up in purchase.put_ups]) == (
        D(2), [("black", 2), ("sand", 1)])
    assert {pick.room for pick in picks(quote, quote.options[1]) if pick.part == "DP-20" and pick.from_bin} == {
        "KAB", "FROO"}


@pytest.mark.parametrize(("name", "colours"), [("", ("", "black", "sand")), ("stocked", ("black", "sand"))])
def test_what_quantity_breaks_save_stands_on_the_first_line_that_buys(
    coloured: dict[str, Quote], name: str, colours: tuple[str, ...]
) -> None:
    # 7.00 of the part; the white ones in stock, or painted over, are in no order
    quote, option = coloured[name], coloured[name].options[1]
    plate = next(each for each in option.purchases if each.part == "DP-20")
    lines = purchase_list(quote, replace(option, purchases=(replace(plate, saved=D(7)),)))

    assert [(line.colour.casefold(), line.saved) for line in lines if line.put_up] == [
        (colour, D(0) if place else D(7)) for place, colour in enumerate(colours)]


def test_what_quantity_breaks_save_is_told_where_every_room_is_painted(quotes: dict[str, Quote]) -> None:
    quote, option = quotes["1"], quotes["1"].options[1]
    plate = next(each for each in option.purchases if each.part == "DP-20")
    black = replace(plate, saved=D(7), put_ups=tuple(replace(put_up, colour="black") for put_up in plate.put_ups))
    painted = replace(quote, job=replace(quote.job, rooms=tuple(replace(room, colour="black")
                                                                for room in quote.job.rooms)))
    line, = purchase_list(painted, replace(option, purchases=(black,)))

    assert (line.colour, line.saved) == ("black", D(7))


def test_a_colour_changes_no_price_of_a_plate(coloured: dict[str, Quote], quotes: dict[str, Quote]) -> None:
    plates = [[row.price for row in quote.options[1].materials if row.part == "DP-20"]
              for quote in (coloured[""], quotes["1"])]

    assert plates[0] == plates[1]

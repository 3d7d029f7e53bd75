"""Two quotes of one job: old + changes = new, to the cent and to the id; a quote and itself differ in nothing."""

from __future__ import annotations

import datetime
import itertools
import random
from collections import Counter
from collections.abc import Callable
from decimal import Decimal
from typing import NamedTuple

import pytest
from msgspec.structs import replace

from quoting.buying import PackKey, pack_key, purchase_list
from quoting.catalog.records import Catalog
from quoting.changes import Changes, RowChange
from quoting.compare import compare_quotes
from quoting.compare.rows import FACTS_COMPARED
from quoting.documents.quote_file import decode_quote, encode_quote
from quoting.job import Job, Override
from quoting.pipeline import quote_job, read_all
from quoting.quote import PricedOption, Quote
from quoting.rules.book import RuleBook
from tests.builders import cell, make_client, make_job, make_quote, make_terms
from tests.conftest import DEMO, EXAMPLES, PRICED_ON
from tests.quoted_houses import job_of

Edit = Callable[[Job], Job]
HOUSES = 60
FIRST_SEED = 20_000  # of pair 0; each pair has its own hundred


class Pair(NamedTuple):
    """Two quotes of one job."""

    old: Quote
    new: Quote


def with_room(code: str, **values: object) -> Edit:
    return lambda job: replace(job, rooms=tuple(
        replace(room, **values) if room.code == code else room for room in job.rooms))


def without_room(code: str) -> Edit:
    """The room's row taken out, and its zone where nobody else plays in it."""
    def edit(job: Job) -> Job:
        rooms = tuple(room for room in job.rooms if room.code != code)
        zones = {room.zone for room in rooms}
        return replace(job, rooms=rooms, zones=tuple(zone for zone in job.zones if zone.number in zones))
    return edit


def with_discount(job: Job) -> Job:
    return replace(job, terms=replace(job.terms, discount_rate=Decimal("0.03"), discount_reason="neighbour"))


def with_override(job: Job) -> Job:
    override = Override(id="SC14-4W/DROO/rough-in", what="quantity", value="120", reason="beam in the way", who="Ines",
                        where=cell("Overrides", "A5"))
    return replace(job, overrides=(*job.overrides, override))


EDITS: dict[str, tuple[str, Edit, datetime.date | None]] = {
    "a room dropped": ("1", without_room("OFF"), None),
    "a room never to play": ("1", with_room("OFF", plays_from="never"), None),
    "a pair added": ("1", with_room("DROO", pairs=2), None),
    "a keypad becomes a phone": ("1", with_room("KAB", control="phone"), None),
    "a discount": ("1", with_discount, None),
    "an override": ("1", with_override, None),
    "another pricing date": ("1", lambda job: job, datetime.date(2026, 9, 30)),
    "a room dropped in finished walls": ("2", without_room("BATH"), None),
}


def quoted(number: str, edit: Edit = lambda job: job, on: datetime.date | None = None) -> Quote:
    read = read_all(next(EXAMPLES.glob(f"{number}-*.xlsx")), DEMO, on, PRICED_ON)
    assert read.job is not None and read.catalog is not None and read.book is not None, read.problems
    quote, problems = quote_job(edit(read.job), read.catalog, read.book, read.on, read.problems)
    assert quote is not None, problems
    return quote


@pytest.fixture(scope="module", params=(*EDITS, *range(HOUSES)))
def pair(request: pytest.FixtureRequest, quotes: dict[str, Quote], demo: Catalog, book: RuleBook) -> Pair:
    """An example and the same edited; or a random house, and the same after one to three random edits."""
    if request.param not in EDITS:
        return house_pair(request.param, demo, book)
    number, edit, on = EDITS[request.param]
    return Pair(quotes[number], quoted(number, edit, on))


def house_pair(number: int, demo: Catalog, book: RuleBook) -> Pair:
    """A house from the seeds of its number on that is quoted before and after."""
    draw = random.Random(number)
    for seed in itertools.count(FIRST_SEED + 100 * number):
        job, problems = job_of(seed, demo)
        old = None if job is None else quote_job(job, demo, book, PRICED_ON, problems)[0]
        if job is not None and old is not None:
            new, _ = quote_job(edited(job, draw, demo, old), demo, book, PRICED_ON, problems)
            if new is not None:
                return Pair(old, new)
    raise AssertionError("no house")


def edited(job: Job, draw: random.Random, demo: Catalog, old: Quote) -> Job:
    """The job after one to three changes of mind, of different kinds."""
    for change in draw.sample(MINDS, draw.randint(1, 3)):
        job = change(job, draw, demo, old)
    return job


def one_room(job: Job, draw: random.Random, demo: Catalog, old: Quote) -> Job:
    """Another answer in one room."""
    room = draw.choice(job.rooms)
    values: tuple[dict[str, object], ...] = (
        {"pairs": draw.randint(1, 3)}, {"control": draw.choice(("phone", "knob", "keypad"))},
        {"listening": draw.choice(("background", "foreground", "party"))}, {"colour": "ivory"},
        {"plays_from": draw.choice((*demo.options, "later", "never"))}, {"length_m": room.length_m + 1.0},
        {"measured_m": draw.uniform(8.0, 40.0)})
    return with_room(room.code, **draw.choice(values))(job)


def dropped_room(job: Job, draw: random.Random, demo: Catalog, old: Quote) -> Job:
    """A room less, where there is another in its zone."""
    zones = Counter(room.zone for room in job.rooms if room.plays_from != "never")
    codes = [room.code for room in job.rooms if zones[room.zone] > 1 or room.plays_from == "never"]
    return without_room(draw.choice(codes))(job) if len(codes) > 1 else job


def money(job: Job, draw: random.Random, demo: Catalog, old: Quote) -> Job:
    """A discount, or the total rounded."""
    return with_discount(job) if draw.random() < 0.5 else replace(
        job, terms=replace(job.terms, whole_units=not job.terms.whole_units))


def corrected(job: Job, draw: random.Random, demo: Catalog, old: Quote) -> Job:
    """The estimator's word on one row of the old quote."""
    option = draw.choice(old.options)
    rows = [*((row.id, "quantity") for row in option.materials), *((row.id, "hours") for row in option.labour)]
    id, what = draw.choice(rows)
    said = Override(id=id, what=what, value=str(draw.randint(1, 9)),  # type: ignore[arg-type]
                    reason="seen on site", who="Ines", where=cell("Overrides", "A9"))
    return replace(job, overrides=(*(one for one in job.overrides if one.id != id), said))


def source_gone(job: Job, draw: random.Random, demo: Catalog, old: Quote) -> Job:
    """A player less, where there are two."""
    return replace(job, sources=job.sources[1:]) if len(job.sources) > 1 else job


MINDS = (one_room, dropped_room, money, corrected, source_gone)


def compared(old: Quote, new: Quote, option: str) -> Changes:
    changes, problems = compare_quotes(old, new, option)
    assert changes is not None, problems
    return changes


def sides(pair: Pair) -> list[tuple[Changes, PricedOption, PricedOption]]:
    old, new = pair
    return [(compared(old, new, before.name), before, after)
            for before, after in zip(old.options, new.options, strict=True)]


def applied(rows: dict[str, tuple[Decimal, ...]], changes: tuple[RowChange, ...]) -> dict[str, tuple[Decimal, ...]]:
    """The old rows' amounts with the changes done to them; a change that does not fit the old row shows."""
    found = dict(rows)
    for change in changes:
        old, new = change.old, change.new
        assert (change.id in found) == (change.change != "added"), change
        was = found.pop(change.id, (Decimal(0),) * 3)
        if change.change != "removed":
            found[change.id] = tuple(map(sum, zip(was, (
                new.price - old.price, new.cost - old.cost, new.hours - old.hours), strict=True)))
    return found


def amounts(option: PricedOption, kind: str) -> dict[str, tuple[Decimal, ...]]:
    if kind == "material":
        return {row.id: (row.price, row.cost, Decimal(0)) for row in option.materials}
    return {row.id: (row.price, row.cost, row.hours) for row in option.labour}


def test_old_parts_and_changes_are_the_new_parts_by_id_and_to_the_cent(pair: Pair) -> None:
    for changes, before, after in sides(pair):
        assert applied(amounts(before, "material"), changes.materials) == amounts(after, "material")


def test_old_labour_and_changes_are_the_new_labour_by_id_to_the_cent_and_the_hour(pair: Pair) -> None:
    for changes, before, after in sides(pair):
        assert applied(amounts(before, "labour"), changes.labour) == amounts(after, "labour")


def test_the_old_total_and_the_changed_parts_of_the_price_come_to_the_new_total(pair: Pair) -> None:
    for changes, before, after in sides(pair):
        rows = sum(row.new.price - row.old.price for row in (*changes.materials, *changes.labour))
        others = sum(row.difference for row in changes.price[2:-1])
        assert before.totals.total + rows + others == after.totals.total


def test_the_old_cost_and_the_changed_parts_of_it_come_to_the_new_cost(pair: Pair) -> None:
    for changes, before, after in sides(pair):
        rows = sum(row.new.cost - row.old.cost for row in (*changes.materials, *changes.labour))
        others = sum(row.difference for row in changes.cost[2:-1])
        assert before.totals.cost + rows + others == after.totals.cost


def test_the_old_hours_and_the_changed_hours_come_to_the_new_hours(pair: Pair) -> None:
    for changes, before, after in sides(pair):
        assert before.totals.hours + sum(row.new.hours - row.old.hours for row in changes.labour) == after.totals.hours


def test_the_packs_to_buy_and_to_cancel_make_the_old_purchase_list_the_new_one(pair: Pair) -> None:
    for changes, before, after in sides(pair):
        packs, wanted = ({pack_key(line): 0 for line in purchase_list(quote, option)
                          if line.put_up} for quote, option in zip(pair, (before, after), strict=True))
        for quote, option, found in ((pair.old, before, packs), (pair.new, after, wanted)):
            for line in purchase_list(quote, option):
                if line.put_up:
                    found[pack_key(line)] += line.put_up.count
        for change in changes.purchases:
            key = PackKey(change.supplier, change.part, change.size, change.colour.casefold(), change.hired_for)
            packs[key] = packs.get(key, 0) + change.packs
        assert {key: count for key, count in packs.items() if count} == wanted
        assert sum(change.difference for change in changes.purchases) == after.totals.outlay - before.totals.outlay


def test_another_colour_cancels_the_white_ones_and_buys_the_coloured(quotes: dict[str, Quote]) -> None:
    changes = compared(quotes["1"], quoted("1", with_room("OFF", colour="black")), "better")

    assert [(each.part, each.colour, each.to_do) for each in changes.purchases] == [
        ("SF52-20", "", "cancel 2"), ("SF52-20", "black", "buy 2"), ("DP-20", "", "cancel 1"),
        ("DP-20", "black", "buy 1")]


def test_a_colour_is_told_as_it_is_typed_and_its_capitals_change_no_pack(quotes: dict[str, Quote]) -> None:
    grey, capitals = (quoted("1", with_room("OFF", colour=colour)) for colour in ("Ral 9005", "RAL 9005"))

    assert [each.colour for each in compared(quotes["1"], capitals, "better").purchases] == [
        "", "RAL 9005", "", "RAL 9005"]
    assert compared(grey, capitals, "better").purchases == ()


def test_the_contracts_total_is_the_options(pair: Pair) -> None:
    for changes, before, after in sides(pair):
        assert (changes.total.old, changes.total.new) == (before.totals.total, after.totals.total)


def test_old_facts_and_changes_are_the_new_facts_by_id(pair: Pair) -> None:
    for changes, before, after in sides(pair):
        done = [*changes.runs, *changes.facts]
        for kind in ("cable_run", *FACTS_COMPARED):
            old, new = ({row["id"] for row in (*quote.facts.get(kind, ()), *option.facts.get(kind, ()))}
                        for quote, option in zip(pair, (before, after), strict=True))
            added = {row.id for row in done if (row.kind, row.change) == (kind, "added")}
            removed = {row.id for row in done if (row.kind, row.change) == (kind, "removed")}
            assert (old | added) - removed == new and not old & added and removed <= old, kind


def test_every_difference_has_a_reason(pair: Pair) -> None:
    for changes, _, _ in sides(pair):
        rows = (*changes.materials, *changes.labour, *changes.runs, *changes.facts)
        assert [row.id for row in rows if not all(row.why) or not row.why] == []


def test_a_house_and_itself_differ_in_nothing(pair: Pair) -> None:
    again = decode_quote(encode_quote(pair.new))
    assert all(compared(pair.new, again, option.name).nothing for option in again.options)


@pytest.mark.parametrize("number", ["1", "2", "3"])
def test_a_quote_and_itself_differ_in_nothing(quotes: dict[str, Quote], number: str) -> None:
    again = decode_quote(encode_quote(quotes[number]))
    assert all(compared(quotes[number], again, option.name).nothing for option in again.options)


def test_rooms_in_another_order_differ_in_nothing(quotes: dict[str, Quote]) -> None:
    """A room is known by its code: on which row it stands does not matter."""
    def moved(job: Job) -> Job:
        return replace(job, rooms=tuple(
            replace(room, cells={name: replace(cell, ref=f"{cell.ref[0]}{int(cell.ref[1:]) + 7}")
                                 if len(cell.ref) < 4 and cell.ref[1:].isdigit() else cell
                                 for name, cell in room.cells.items()}) for room in job.rooms))
    assert compared(quotes["1"], quoted("1", moved), "better").nothing


def test_a_changed_answer_is_told_with_its_cell(quotes: dict[str, Quote]) -> None:
    changes = compared(quotes["1"], quoted("1", with_room("DROO", pairs=2)), "better")
    assert [(one.of, one.field, one.old, one.new, one.where) for one in changes.typed] == [
        ("Rooms DROO", "pairs", "1", "2", "Rooms!I7")]  # where the example has it


def test_a_row_of_the_changed_room_names_the_answer(quotes: dict[str, Quote]) -> None:
    changes = compared(quotes["1"], quoted("1", with_room("DROO", pairs=2)), "better")
    whys = [row.why[0] for row in changes.materials if row.room == "DROO"]
    assert whys and all(why.startswith("Rooms DROO, pairs: 1, now 2 (") for why in whys)


def revised(job: Job) -> Job:
    """The next revision, as typed in the example's own cell."""
    cells = {**job.cells, "revision": cell("Job", "B50")}
    return replace(job, terms=replace(job.terms, revision=job.terms.revision + 1), cells=cells)


def several(*edits: Edit) -> Edit:
    def edit(job: Job) -> Job:
        for each in edits:
            job = each(job)
        return job
    return edit


@pytest.fixture(scope="module")
def minds_changed(quotes: dict[str, Quote]) -> Changes:
    """A revision in which a room is dropped, a keypad becomes a knob, two phones more are set up, and a note stands."""
    edits = several(revised, with_room("DROO", plays_from="never"), with_room("MBED", control="knob"),
                    lambda job: replace(job, phones=job.phones + 2), with_room("OFF", note="call before"))
    return compared(quotes["1"], quoted("1", edits), "better")


def whys(changes: Changes, id: str) -> tuple[str, ...]:
    """Which answers the row's reasons name, by sheet, room and answer."""
    row = next(row for row in (*changes.materials, *changes.labour, *changes.facts) if row.id.startswith(id))
    return tuple(why.partition(":")[0] for why in row.why if not why.startswith("rule "))


@pytest.mark.parametrize("edits", [(), (with_room("OFF", note="call before"),)])
def test_the_charge_for_a_revision_names_the_revision_whatever_else_was_typed(
    quotes: dict[str, Quote], edits: tuple[Edit, ...]
) -> None:
    changes = compared(quotes["1"], quoted("1", several(revised, *edits)), "better")
    row, = changes.labour
    assert row.why == ("Job, revision: 0, now 1 (Job!B50)", "rule JOB-050 from JOB")


@pytest.mark.parametrize("id", ["CT08/JOB/rack build", "CT06/JOB/rack build", "PA08-50/JOB/rack build",
                                "PA12-50/JOB/rack build", "RK-20/JOB/rack build", "LD-LINE/JOB/rack build", "RACK-1"])
def test_what_follows_from_a_dropped_room_names_it_and_nothing_else(minds_changed: Changes, id: str) -> None:
    assert whys(minds_changed, id) == ("Rooms DROO, plays from",)


@pytest.mark.parametrize(("id", "answer"), [
    ("design.revision/JOB", "Job, revision"), ("setup.phone/JOB", "Job, phones"),
    ("VK-20/MBED", "Rooms MBED, control")])
def test_a_row_names_the_answer_that_its_rule_reads(minds_changed: Changes, id: str, answer: str) -> None:
    assert whys(minds_changed, id) == (answer,)


def test_the_hours_of_a_phase_name_every_answer_that_changed_them(minds_changed: Changes) -> None:
    """The phones are set up, and a zone less; a knob's cables end otherwise in the rack than a keypad's."""
    assert whys(minds_changed, "site.remainder/JOB/commissioning") == (
        "Job, phones", "Rooms DROO, plays from", "Rooms MBED, control")


@pytest.fixture(scope="module")
def painted(quotes: dict[str, Quote]) -> Changes:
    """A revision in which the dining room is dropped and the office, beside it on an amplifier, is painted."""
    return compared(quotes["1"], quoted("1", several(revised, with_room("DROO", plays_from="never"),
                                                     with_room("OFF", colour="black"))), "better")


def test_a_colour_chooses_nothing_but_itself(painted: Changes) -> None:
    rows = (*painted.materials, *painted.labour, *painted.runs, *painted.facts)
    assert {row.id for row in rows if any("Rooms OFF, colour" in why for why in row.why)} == {
        "OFF-USE", "OFF-SP1", "OFF-SP2", "OFF-KP1"}


def test_a_zone_that_moves_to_another_channel_names_what_led_to_its_neighbour(painted: Changes) -> None:
    """The office's zone differs only in its amplifier's channels, which the dining room's zone had."""
    assert whys(painted, "Z6") == ("Rooms DROO, plays from",)


def test_no_row_names_a_note(minds_changed: Changes) -> None:
    rows = (*minds_changed.materials, *minds_changed.labour, *minds_changed.runs, *minds_changed.facts)
    assert [row.id for row in rows if any("note" in why for why in row.why)] == []


def test_an_overridden_row_tells_the_overrides_reason(quotes: dict[str, Quote]) -> None:
    changes = compared(quotes["1"], quoted("1", with_override), "better")
    row = next(row for row in changes.materials if row.id == "SC14-4W/DROO/rough-in")
    assert "beam in the way, Ines" in row.why[0]


def test_a_dearer_price_list_is_the_reason_where_the_need_is_the_same() -> None:
    old = make_quote()
    option = next(one for one in old.options if one.name == "better")
    first = option.materials[0]
    dearer = replace(first, unit_price=first.unit_price + 1)
    raised = replace(option, materials=(dearer, *option.materials[1:]))
    new = replace(old, options=tuple(raised if one is option else one for one in old.options))
    row, = compared(old, new, "better").materials
    assert any("unit price" in why for why in row.why)


# ---------------------------------------------------------------- what cannot be compared

def codes(old: Quote, new: Quote, option: str = "better") -> list[str]:
    changes, problems = compare_quotes(old, new, option)
    assert changes is None
    return [problem.code for problem in problems]


def test_quotes_of_two_customers_are_not_compared() -> None:
    other = make_quote(job=make_job(client=make_client(name="Somebody Else"), terms=make_terms(quote_number="Q-1")))
    assert codes(make_quote(), other) == ["different-jobs"]


def test_quotes_in_two_currencies_are_not_compared() -> None:
    old = make_quote()
    assert codes(old, replace(old, pricing=replace(old.pricing, currency="EUR"))) == ["different-currencies"]


def test_an_option_that_is_not_there_is_named_with_those_that_are() -> None:
    _, problems = compare_quotes(make_quote(), make_quote(), "grand")
    assert [(one.code, one.remedy) for one in problems] == [
        ("unknown-option", "Name one of good, better, best with --option.")]


@pytest.mark.parametrize("field", [
    "materials", "labour", "material_cost", "labour_cost", "hours", "tax", "total", "cost"])
def test_a_quote_whose_rows_do_not_come_to_its_totals_is_not_compared(field: str) -> None:
    old = make_quote()
    options = tuple(replace(one, totals=replace(one.totals, **{field: getattr(one.totals, field) + 1}))
                    for one in old.options)
    assert codes(old, replace(old, options=options)) == ["sums-disagree"]


def test_a_change_without_a_higher_revision_warns(quotes: dict[str, Quote]) -> None:
    _, problems = compare_quotes(quotes["1"], quoted("1", with_discount), "good")
    assert [(one.severity, one.code) for one in problems] == [("warning", "revision-not-raised")]


def test_no_row_stands_twice_among_the_changes(pair: Pair) -> None:
    for changes, _, _ in sides(pair):
        keys = [(row.kind, row.id) for row in itertools.chain(changes.materials, changes.labour, changes.runs,
                                                              changes.facts)]
        assert len(keys) == len(set(keys))

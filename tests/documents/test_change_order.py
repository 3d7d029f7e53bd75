"""The change order says what the customer signs, at zero too, in their language, and nothing internal."""

from __future__ import annotations

import datetime
import re
from decimal import ROUND_HALF_UP, Decimal
from html import unescape
from pathlib import Path

import pytest
from msgspec import Struct
from msgspec.structs import replace

from quoting.buying import orders, purchase_list
from quoting.catalog.records import Catalog
from quoting.compare import compare_quotes
from quoting.documents.change_order import write_change_order
from quoting.documents.change_order_view import ChangeRequest
from quoting.documents.changes_orders import OrdersCompared, visit_changes
from quoting.documents.changes_page import write_changes_page
from quoting.documents.formats import formats_for
from quoting.documents.ubl_order import order_number
from quoting.intake.read import read_job
from quoting.job import Extra, Job, Override
from quoting.pipeline import quote_job
from quoting.quote import Quote
from quoting.rules.book import RuleBook
from tests.builders import cell, make_job, make_quote, make_terms
from tests.conftest import EXAMPLES, PRICED_ON
from tests.documents.browser import Page
from tests.documents.papers import quote_in
from tests.documents.test_proposal_leaks import found_in, planted
from tests.stages.test_compare import Edit, quoted, several, with_room, without_room
from tests.stages.test_compare import revised as next_revision

TEMPLATES = (Path(__file__).resolve().parents[2] / "templates",)
ASKED = ChangeRequest(reason="site", requested_by="Ada Brandt")


def order(old: Quote, new: Quote, path: Path, asked: ChangeRequest = ASKED) -> str:
    """The text of a change order of the option better, tags and style taken off."""
    write_change_order(old, new, "better", asked, path, TEMPLATES)
    page = re.sub(r"<style>.*?</style>", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", page)))


def revised(old: Quote, locale: str = "en_US") -> Quote:
    """The same as revision 1 and in the language: in the option better the kitchen has two speakers fewer, the total is
    100 less."""
    terms = replace(old.job.terms, revision=1, locale=locale)
    options = []
    for option in old.options:
        rooms = tuple(replace(room, speakers=room.speakers - 2) if room.room == "KIT" else room
                      for room in option.rooms)
        totals = replace(option.totals, materials=option.totals.materials - 100, total=option.totals.total - 100)
        options.append(replace(option, rooms=rooms, totals=totals) if option.name == "better" else option)
    return replace(old, job=replace(old.job, terms=terms), options=tuple(options))


def test_a_change_order_names_both_revisions_who_asked_and_why(tmp_path: Path) -> None:
    old = make_quote(job=make_job(terms=make_terms(revision=0)))
    text = order(old, revised(old), tmp_path / "order.html")
    assert all(said in text for said in ("revision 0 of", "revision 1 of", "Ada Brandt", "Found on site"))


def test_a_change_order_says_what_the_room_had_and_what_it_gets(tmp_path: Path) -> None:
    old = make_quote()
    text = order(old, revised(old), tmp_path / "order.html")
    assert re.search(r"Kitchen 4 ceiling speakers Keypad on the wall 2 ceiling speakers Keypad on the wall", text)


def test_a_change_order_carries_the_running_contract_total(tmp_path: Path) -> None:
    old = make_quote()
    total = next(option.totals.total for option in old.options if option.name == "better")
    text = order(old, revised(old), tmp_path / "order.html")
    assert (f"Contract before this change ${total:,} This change -$100.00 "
            f"Contract with this change ${total - Decimal(100):,}") in text


def test_a_change_order_at_zero_says_that_it_costs_nothing(tmp_path: Path) -> None:
    text = order(make_quote(), make_quote(), tmp_path / "order.html")
    assert "This change costs nothing: the price stays as it is." in text


def test_who_asked_and_why_are_left_open_where_nobody_said(tmp_path: Path) -> None:
    order(make_quote(), make_quote(), tmp_path / "order.html", ChangeRequest())
    page = (tmp_path / "order.html").read_text(encoding="utf-8")
    assert page.count('<span class="blank-line">') == 3  # and the payment that it is invoiced with


@pytest.mark.parametrize(("locale", "title", "gone"), [
    ("de_DE", "Änderungsauftrag", "Vertrag mit dieser Änderung"), ("es_ES", "Orden de cambio", "Motivo"),
    ("fr_FR", "Avenant", "Contrat avec cette modification")])
def test_a_change_order_speaks_the_jobs_language(tmp_path: Path, locale: str, title: str, gone: str) -> None:
    old = make_quote()
    text = order(old, revised(old, locale), tmp_path / "order.html")
    assert title in text and gone in text and "this change" not in text.lower()


def test_nothing_internal_is_in_the_change_order(tmp_path: Path) -> None:
    marked, markers = planted("itemised")
    order(marked, revised(marked), tmp_path / "order.html")
    assert found_in(tmp_path, markers) == {}


def test_no_word_of_cost_is_in_the_allow_list_of_the_change_order() -> None:
    import quoting.documents.change_order_view as view

    names = {name for record in vars(view).values() if isinstance(record, type) and issubclass(record, Struct)
             for name in record.__struct_fields__}
    assert [name for name in names if re.search("cost|margin|markup|profit|supplier|hours|_part|part_", name)] == []


def ending(quote: Quote, days: int) -> Quote:
    """The same with every visit so many days later."""
    moved = datetime.timedelta(days=days)
    options = tuple(replace(option, timetable=replace(option.timetable, visits=tuple(
        replace(visit, first_date=visit.first_date + moved, last_date=visit.last_date + moved)
        for visit in option.timetable.visits if visit.first_date and visit.last_date))) for option in quote.options)
    return replace(quote, options=options)


@pytest.mark.parametrize(("days", "said"), [
    (0, r"Planned end of the work (\w+ \d+, \d{4}), as before"),
    (3, r"Planned end of the work (\w+ \d+, \d{4}) instead of \w+ \d+, \d{4}")])
def test_a_change_order_says_when_the_work_ends(
    quotes: dict[str, Quote], tmp_path: Path, days: int, said: str
) -> None:
    new = ending(quotes["1"], days)
    last = max(visit.last_date for visit in new.options[1].timetable.visits if visit.last_date)
    found = re.search(said, order(quotes["1"], new, tmp_path / "order.html"))
    assert found is not None and found.group(1) == f"{last:%B} {last.day}, {last.year}"


def test_a_change_that_takes_away_is_credited(tmp_path: Path) -> None:
    old = make_quote()
    text = order(old, revised(old), tmp_path / "order.html")
    assert "Credited with the payment" in text and "Invoiced with the payment" not in text


def test_a_change_order_has_a_number_of_its_revision(quotes: dict[str, Quote], tmp_path: Path) -> None:
    text = order(quotes["1"], quoted("1", next_revision), tmp_path / "order.html")
    assert "Change order no. Q-2031-R1 " in text


def test_a_house_that_is_full_with_the_change_says_so(quotes: dict[str, Quote], tmp_path: Path) -> None:
    """Two pairs in the dining room take the channels that three more zones could have had, with the basement out."""
    def without_basement(job: Job) -> Job:
        return replace(without_room("BAS")(job), head_end=replace(job.head_end, beside="FROO"))

    new = quoted("1", several(next_revision, without_basement, with_room("DROO", pairs=2)))
    text = order(quotes["1"], new, tmp_path / "order.html")
    assert "What can be added later 3 more zones on the same equipment No further zone on the same equipment" in text


# ---------------------------------------------------------------- answers that show in the house

def moved(job: Job) -> Job:
    """The office's control at another place of its wall."""
    override = Override(id="OFF-K1", what="position", value="0, 4", reason="a door", who="Ines",
                        where=cell("Overrides", "A5"))
    return replace(job, overrides=(override,))


def with_spares(job: Job) -> Job:
    extra = Extra(kind="spare cable", name="", room="OFF", quantity=Decimal(2), part="", amount=None,
                  rack_mountable=False, plays_from="good", note="", where=cell("Extras", "A5"))
    return replace(job, extras=(extra,))


def loud(job: Job) -> Job:
    zones = tuple(replace(zone, max_volume=70) if zone.number == 7 else zone for zone in job.zones)
    return replace(job, zones=zones)


@pytest.mark.parametrize(("edit", "before", "after"), [
    (with_room("OFF", colour="black"), "Colour of grilles and plates: white", "Colour of grilles and plates: black"),
    (with_room("OFF", second_control=True), "A second control at another door: no",
     "A second control at another door: yes"),
    (with_room("KAB", measured_m=16.764), "Way of its cables, measured: 38 ft", "Way of its cables, measured: 55 ft"),
    (with_room("OFF", listening="party"), "How loud it gets: background music", "How loud it gets: party level"),
    (loud, "Loudest volume, percent: not said", "Loudest volume, percent: 70"),
    (with_spares, "Also asked for –", "2 × Spare cable: Office"),
    (moved, "Control 1: 0 ft from the west wall", "Control 1: 0 ft from the west wall, 4 ft from the south wall"),
])
def test_an_answer_that_shows_in_the_house_is_told_as_it_was_and_as_it_becomes(
    quotes: dict[str, Quote], tmp_path: Path, edit: Edit, before: str, after: str
) -> None:
    text = order(quotes["1"], quoted("1", several(next_revision, edit)), tmp_path / "order.html")
    assert before in text and after in text and "Nothing changes" not in text


def with_sources(quote: Quote, *sources: tuple[str, str, str]) -> Quote:
    """The same quote with these sources typed: name, room, the first option that has it."""
    first = quote.job.sources[0]
    typed = tuple(replace(first, name=name, location=room, plays_from=option) for name, room, option in sources)
    return replace(quote, job=replace(quote.job, sources=typed))


def test_of_two_sources_of_one_name_the_one_that_moved_is_told(quotes: dict[str, Quote], tmp_path: Path) -> None:
    kitchen, family, office = (("Streamer", room, "good") for room in ("KAB", "FROO", "OFF"))
    for place, sides in enumerate((((kitchen, family), (office, family)), ((family, kitchen), (family, office)))):
        old, new = (with_sources(quotes["1"], *side) for side in sides)
        text = order(old, new, tmp_path / "order.html")
        which = ("Streamer", "Streamer (2)")[place]
        assert f" {which} Where it stands: Kitchen and breakfast Where it stands: Office " in text
        assert "Family room" not in text.partition("Price and days")[0]


@pytest.mark.parametrize(("plays_from", "told"), [("good", True), ("better", True), ("best", False)])
def test_a_source_that_the_option_does_not_have_is_not_told(
    quotes: dict[str, Quote], tmp_path: Path, plays_from: str, told: bool
) -> None:
    """The change order is one of the option better."""
    old, new = (with_sources(quotes["1"], ("Radio tuner", room, plays_from)) for room in ("KAB", "OFF"))
    assert ("Radio tuner" in order(old, new, tmp_path / "order.html")) is told


@pytest.mark.parametrize(("language", "said"), [
    ("de", "Farbe der Gitter und Blenden: Weiß"), ("es", "Color de rejillas y placas: blanco"),
    ("fr", "Couleur des grilles et des plaques : blanc")])
def test_such_an_answer_speaks_the_customers_language(tmp_path: Path, language: str, said: str) -> None:
    new = quote_in(language, "1")
    rooms = tuple(replace(room, colour="anthracite") if room.code == "OFF" else room for room in new.job.rooms)
    text = order(new, replace(new, job=replace(new.job, rooms=rooms)), tmp_path / "order.html")
    assert said in text and "anthracite" in text


# ---------------------------------------------------------------- the revision of the proposal

def test_what_is_charged_for_nothing_but_a_revision_is_called_so(quotes: dict[str, Quote], tmp_path: Path) -> None:
    """1.42 hours of a designer at 155.00."""
    text = order(quotes["1"], quoted("1", next_revision), tmp_path / "order.html")
    assert "what is charged is the revision of the proposal" in text
    assert "Revision of the proposal $0.00 $220.10 $220.10 Total" in text and "Labour" not in text


def test_the_rest_of_the_labour_stands_apart_from_the_revision(quotes: dict[str, Quote], tmp_path: Path) -> None:
    """A knob for a keypad: one category cable less at the head end, 0.17 to 0.09 h x 115 = 9.20 less; one line more to
    order, 0.05 h x 160 = 8.00 more."""
    new = quoted("1", several(next_revision, with_room("MBED", control="knob")))
    text = order(quotes["1"], new, tmp_path / "order.html")
    labour = quotes["1"].options[1].totals.labour
    assert (f"Labour ${labour:,} ${labour - Decimal('1.20'):,} -$1.20 "
            "Revision of the proposal $0.00 $220.10 $220.10") in text


@pytest.mark.parametrize(("number", "price"), [("1", "220.10"), ("2", "211.23"), ("3", "213.50")])
def test_the_next_revision_costs_its_hours_with_discount_and_tax(
    quotes: dict[str, Quote], number: str, price: str
) -> None:
    """(0.5 + 4 x 1.25 + 3) / 6 = 1.42 h. 1: x 155.00, labour is not taxed. 2: x 125.00 = 177.50, and 19 %. 3: as 1,
    less 3 % of it."""
    assert quotes[number].revision_price == Decimal(price)


def test_a_revision_costs_what_the_quote_before_said_that_it_would(quotes: dict[str, Quote]) -> None:
    """177.50 net and 33.725 of tax. The tax is 19 % of the whole, a half cent rounded up: on 16 219.29, 3 081.67
    become 3 115.39, 33.72 more; on 27 524.58, 5 229.67 become 5 263.40, 33.73 more."""
    new, cent = quoted("2", next_revision), Decimal("0.01")
    for before, after in zip(quotes["2"].options, new.options, strict=True):
        net = before.totals.total - before.totals.tax + Decimal("177.50")
        assert after.totals.total == net + (net * 19 / 100).quantize(cent, ROUND_HALF_UP), after.name


def with_drawer(demo: Catalog, *currencies: str) -> Catalog:
    """The revision is a draughtsman's, who does nothing else and costs what a designer costs, in these currencies."""
    rates = {("draughtsman", currency): replace(demo.rates["designer", currency], role="draughtsman")
             for currency in currencies}
    task = replace(demo.tasks["design.revision"], role="draughtsman")
    return replace(demo, rates=demo.rates | rates, tasks={**demo.tasks, task.task: task})


def test_a_role_that_only_revises_has_its_price(demo: Catalog, book: RuleBook) -> None:
    job, problems = read_job(next(EXAMPLES.glob("1-*.xlsx")), demo)
    assert job is not None
    quote, found = quote_job(job, with_drawer(demo, "USD"), book, PRICED_ON, problems)
    assert quote is not None, found
    assert quote.revision_price == Decimal("220.10")  # 1.42 h x 155.00, as above


def test_a_role_that_only_revises_and_has_no_rates_is_no_free_revision(demo: Catalog, book: RuleBook) -> None:
    job, problems = read_job(next(EXAMPLES.glob("1-*.xlsx")), demo)
    assert job is not None
    quote, found = quote_job(job, with_drawer(demo, "EUR"), book, PRICED_ON, problems)
    stop, = (problem for problem in found if problem.severity == "stop")
    assert quote is None and (stop.code, stop.message) == (
        "no-rate", "Task 'design.revision' is done by 'draughtsman', who has no rates in USD.")


# ---------------------------------------------------------------- the office's page

def office_page(old: Quote, new: Quote, path: Path) -> str:
    changes, problems = compare_quotes(old, new, "better")
    assert changes is not None, problems
    write_changes_page(changes, old, new, "site", "Ada Brandt", path, TEMPLATES)
    return path.read_text(encoding="utf-8")


def test_the_offices_page_says_that_nothing_changed(tmp_path: Path) -> None:
    assert "Nothing changed in this option." in office_page(make_quote(), make_quote(), tmp_path / "changes.html")


def test_the_offices_page_warns_of_a_change_below_the_least_charge(tmp_path: Path) -> None:
    """A least charge that the firm has set, and a change that costs nothing: common practice, trade-wide."""
    old = make_quote()
    new = replace(old, job=replace(old.job, terms=replace(old.job.terms, revision=7)),
                  firm=replace(old.firm, minimum_change=Decimal("75.00")))
    assert "below the firm's least charge" in unescape(office_page(old, new, tmp_path / "changes.html"))


def test_the_offices_page_says_what_to_buy_and_what_to_cancel(quotes: dict[str, Quote], tmp_path: Path) -> None:
    """Without the dining room one controller of 8 zones does what two linked ones of 6 did."""
    new = quoted("1", several(next_revision, with_room("DROO", plays_from="never")))
    page = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", office_page(quotes["1"], new, tmp_path / "changes.html")))
    assert "CT06 Zone controller, 6 zones, 8 inputs, 2 streams built in, 2U 1, $980.00 2, 0 cancel 2 -$1,960.00" in page
    assert "CT08 Zone controller, 8 zones, 10 inputs, 4 streams built in, 2U 1, $1,390.00 0, 1 buy 1 $1,390.00" in page


def test_the_offices_page_gives_the_job_record_its_changes(quotes: dict[str, Quote], tmp_path: Path) -> None:
    """Two loudspeakers at 62.00 fewer; the contract's change and the tax in it."""
    new = quoted("1", several(next_revision, with_room("DROO", plays_from="never")))
    page = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", office_page(quotes["1"], new, tmp_path / "changes.html")))
    before, after = (next(one for one in quote.options if one.name == "better") for quote in (quotes["1"], new))
    whole, tax = before.totals.total - after.totals.total, before.totals.tax - after.totals.tax
    assert f"on the sheet Billing -${whole:,}, -${tax} of it tax, as change order Q-2031-R1" in page
    assert "Parts: speakers $1,664.00 -$124.00 $1,540.00" in page


def test_the_job_record_takes_orders_that_only_fall_apart(quotes: dict[str, Quote], tmp_path: Path) -> None:
    """Nothing waits for another day any more: the same packs at the same price, in more orders."""
    old = quotes["1"]
    new = replace(old, buying=replace(old.buying, one_order_days=0))
    found = Page(office_page(old, new, tmp_path / "changes.html"))
    assert "For the job record" in found.text and "nothing on the sheet Billing" in found.text
    assert "Nothing changed in this option." not in found.text and len(found.table("Sheet Orders").rows) > 1


def test_the_offices_page_supersedes_nothing_where_the_revision_is_the_same(
    quotes: dict[str, Quote], tmp_path: Path
) -> None:
    page = office_page(quotes["1"], quoted("1", with_room("MBED", control="knob")), tmp_path / "changes.html")
    assert "From (superseded)" not in page and "there is no change order to sign" in page


def test_the_offices_page_warns_where_two_stock_lists_were_taken_off(tmp_path: Path) -> None:
    old = make_quote()
    new = replace(old, buying=replace(old.buying, stock_file="stock.csv"))
    assert "not taken off the same stock list (none, now stock.csv)" in office_page(old, new, tmp_path / "changes.html")


# ---------------------------------------------------------------- what the office does with a change

@pytest.fixture(scope="module")
def painted(quotes: dict[str, Quote]) -> tuple[Quote, Quote]:
    """The office is painted black, the patio's way is measured, and a room has a second pair."""
    edits = several(next_revision, with_room("OFF", colour="black"), with_room("PAT", measured_m=18.8976),
                    with_room("DROO", pairs=2))
    return quotes["1"], quoted("1", edits)


@pytest.fixture(scope="module")
def page(painted: tuple[Quote, Quote], tmp_path_factory: pytest.TempPathFactory) -> Page:
    """The office's page of it."""
    return Page(office_page(*painted, tmp_path_factory.mktemp("office") / "changes.html"))


def test_the_loudspeakers_of_a_painted_room_are_cancelled_in_white_and_bought_in_black(page: Page) -> None:
    rows = [row for row in page.table("Packs that differ, by supplier").rows if row[0] == "SF52-20"]
    assert [(row[1], row[4]) for row in rows] == [
        ("5.25 inch surface loudspeaker, better grade, 6 ohm", "cancel 2"),
        ("5.25 inch surface loudspeaker, better grade, 6 ohm, black", "buy 2")]


def test_a_pack_in_a_colour_is_told_as_typed_and_with_the_order_that_it_stands_in(
    quotes: dict[str, Quote], tmp_path: Path
) -> None:
    new = quoted("1", several(next_revision, with_room("OFF", colour="RAL 9005")))
    found = Page(office_page(quotes["1"], new, tmp_path / "changes.html"))
    rows = [row for row in found.table("Packs that differ, by supplier").rows if row[0] == "SF52-20"]
    assert rows[1][1] == "5.25 inch surface loudspeaker, better grade, 6 ohm, RAL 9005"
    assert [cell.partition(",")[0] for cell in rows[1][6:]] == ["–", "rough-in"]


def test_an_order_whose_day_moved_says_why(page: Page) -> None:
    """20 days before Wednesday 13 January 2027 is Thursday 24 December, on which the firm is closed (free_days.csv)."""
    row = next(row for row in page.table("Orders that differ").rows if "fennimarsh-acoustics-rough-in" in row[1])
    assert row[2] == "Dec 31, 2026" and row[4:] == [
        "Dec 23, 2026", "SF52-20 black is new in it; it takes 20 calendar days"]


def test_an_order_of_the_same_that_only_goes_by_another_day_is_named(quotes: dict[str, Quote], tmp_path: Path) -> None:
    """Its engraving is needed by Thursday 18 March 2027; 15 days before is the 3rd, 45 days Monday 1 February."""
    old = quotes["1"]
    slower = {name: replace(part, lead_days=part.lead_days + 30) for name, part in old.parts.items()}
    found = Page(office_page(old, replace(old, parts=slower), tmp_path / "changes.html"))
    row = next(row for row in found.table("Orders that differ").rows if row[0] == "Quorndell Electronics")
    assert (row[2], *row[4:]) == ("Mar 3, 2027", "Feb 1, 2027", "EN-KEYS takes 45 calendar days instead of 15")


def undated(job: Job) -> Job:
    return replace(job, start_date=None)


def test_an_order_whose_day_lost_its_date_says_so_and_one_that_got_one(quotes: dict[str, Quote]) -> None:
    formats = formats_for("en_US", "USD", "imperial")
    dated, without = ((quote, quote.options[1]) for quote in (quotes["1"], quoted("1", undated)))
    said = [{its.why for its in OrdersCompared(*sides, formats).changes()} for sides in (
        (dated, without), (without, dated))]
    assert said == [{"the job has no start date any more"}, {"the job has a start date now"}]


def test_without_dates_an_order_moves_with_the_working_day_on_which_it_is_needed() -> None:
    """Every phase ten working days later, in a job without a start date."""
    quote = quoted("1", undated)
    option = quote.options[1]
    later = replace(option, timetable=replace(option.timetable, phases=tuple(
        replace(days, first_day=days.first_day + 10, parts_day=days.parts_day + 10)
        for days in option.timetable.phases)))
    formats = formats_for("en_US", "USD", "imperial")
    moved = list(OrdersCompared((quote, option), (quote, later), formats).changes())
    days = [tuple(map(int, re.findall(r"working day (-?\d+)", its.why))) for its in moved]
    assert days and all(now == was + 10 for now, was in days)


def test_orders_that_ask_for_the_same_are_not_named(page: Page, painted: tuple[Quote, Quote]) -> None:
    named = {number for row in page.table("Orders that differ").rows[1:] for number in (row[1], row[3])}
    both = [{order_number(quote, option, its).rpartition("-")[2]: order_number(quote, option, its)
             for option in quote.options if option.name == "better"
             for its in orders(quote, purchase_list(quote, option))} for quote in painted]
    same = both[0].keys() & both[1].keys()
    named.discard("–")
    assert same and named == ({number for side in both for mark, number in side.items() if mark not in same})


def test_every_visit_on_other_days_is_told(quotes: dict[str, Quote], tmp_path: Path) -> None:
    found = Page(office_page(quotes["1"], ending(quotes["1"], 3), tmp_path / "changes.html"))
    rows = found.table("Visits on other days, or longer or shorter").rows[1:]
    assert {row[0] for row in rows} == {visit.id for visit in quotes["1"].options[1].timetable.visits}


def test_a_visit_on_a_day_that_is_agreed_later_is_told_where_it_takes_longer(quotes: dict[str, Quote]) -> None:
    old = quotes["1"].options[1]
    longer = replace(old, timetable=replace(old.timetable, agreed=tuple(
        replace(visit, half_days=visit.half_days + 2) for visit in old.timetable.agreed)))
    told, = visit_changes(old, longer, formats_for("en_US", "USD", "imperial"))
    assert (told.id, told.phase, told.old, told.new) == (
        "HO2", "handover", "to be agreed, 1 half-day", "to be agreed, 3 half-days")


def test_answers_that_only_name_the_paper_are_not_among_those_that_differ(page: Page) -> None:
    assert {(row[0], row[1]) for row in page.table("Answers of the two workbooks").rows[1:]} == {
        ("Rooms OFF", "colour"), ("Rooms PAT", "measured"), ("Rooms DROO", "pairs")}


def test_hours_that_only_the_change_brings_say_their_phase_and_role(page: Page) -> None:
    """A revision's designer, (0.5 + 4 x 1.25 + 3) / 6 = 1.42 h."""
    rows = page.table("Sheet Hours, column Changes; a new line goes into a row at its end").rows
    assert [row[2:] for row in rows if row[4] == "new"] == [["survey and design", "designer", "new", "1.42"]]


def test_a_reason_is_said_once_and_named_by_its_number(page: Page) -> None:
    row = next(row for row in page.table("Parts: ").rows if row[0].startswith("SC14-4B/PAT"))
    assert row[-1].startswith("(") and page.text.count("measured: blank, now 62'") == 1


def test_what_only_follows_is_left_out(page: Page) -> None:
    assert [word for word in ("damping", "loop (", "loss (", "asked (w)", "btu", "x (m)") if word in page.text] == []

"""The purchaser's and the warehouse's papers: orders valid against the published schema, lists that add up, drafts."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from decimal import Decimal
from itertools import groupby
from pathlib import Path
from xml.etree import ElementTree

import pytest
from msgspec.structs import replace

from quoting.buying import left_overs, orders, purchase_list
from quoting.cli import main
from quoting.documents.buying_papers import buying_files
from quoting.documents.crew_pull import spool_plan
from quoting.documents.formats import english_locale, formats_for
from quoting.documents.office import write_office_workbook
from quoting.documents.pick_papers import COLUMNS, pick_files, pick_sheets
from quoting.documents.ubl_order import file_names, order, order_number
from quoting.picking import loans, picks
from quoting.quote import Quote
from tests.builders import make_quote
from tests.conftest import EXAMPLES
from tests.documents.papers import TEMPLATES
from tests.documents.ubl_schemas import all_of, amount, amounts, errors, texts

D = Decimal
Row = dict[str, str]


def rows_of(content: bytes) -> list[Row]:
    return list(csv.DictReader(io.StringIO(content.decode("utf-8-sig"))))


@pytest.fixture(scope="module")
def bought(quotes: dict[str, Quote]) -> dict[str, dict[str, bytes]]:
    """The accepted option's files of each example."""
    return {name: buying_files(quote, quote.options[1], (TEMPLATES,), draft=False) for name, quote in quotes.items()}


def orders_in(files: dict[str, bytes]) -> list[bytes]:
    return [content for name, content in files.items() if name.startswith("order-")]


# ---------------------------------------------------------------- orders

def test_every_order_is_valid_against_the_published_schema(bought: dict[str, dict[str, bytes]]) -> None:
    assert [found for files in bought.values() for content in orders_in(files)
            if (found := errors("Order", content))] == []


@pytest.mark.parametrize("gone", ["ID", "IssueDate"])
def test_the_schema_refuses_an_order_without_what_it_must_have(bought: dict[str, dict[str, bytes]], gone: str) -> None:
    # OASIS UBL 2.1, UBL-Order-2.1.xsd: ID and IssueDate once
    text = orders_in(bought["1"])[0].decode()
    assert errors("Order", re.sub(f"<cbc:{gone}>[^<]*</cbc:{gone}>\n", "", text, count=1).encode())


def test_orders_together_cost_what_the_quote_says_that_is_paid(
    bought: dict[str, dict[str, bytes]], quotes: dict[str, Quote]
) -> None:
    for name, files in bought.items():
        totals = [amount(ElementTree.fromstring(content), "AnticipatedMonetaryTotal/PayableAmount")
                  for content in orders_in(files)]
        assert sum(totals) == quotes[name].options[1].totals.outlay, name


def test_the_lines_of_an_order_sum_to_its_total(bought: dict[str, dict[str, bytes]]) -> None:
    for files in bought.values():
        for found in map(ElementTree.fromstring, orders_in(files)):
            assert sum(amounts(found, "OrderLine/LineItem/LineExtensionAmount")) == amount(
                found, "AnticipatedMonetaryTotal/LineExtensionAmount")


def test_an_engraving_order_says_whose_wording_goes_with_it(bought: dict[str, dict[str, bytes]]) -> None:
    # better has five keypads: kitchen, family room, office, bedroom, bath
    notes = [text for content in orders_in(bought["1"])
             for text in texts(ElementTree.fromstring(content), "OrderLine/LineItem/Note")]
    assert notes == ["Enclosed with this order: the wording of its buttons, as the customer signed it, of FROO-KP1, "
                     "KAB-KP1, MBAT-KP1, MBED-KP1, OFF-KP1."]


def test_a_line_is_so_many_packs_at_the_price_of_one(bought: dict[str, dict[str, bytes]]) -> None:
    for files in bought.values():
        for line in (line for content in orders_in(files)
                     for line in all_of(ElementTree.fromstring(content), "OrderLine/LineItem")):
            assert amount(line, "Quantity") * amount(line, "Price/PriceAmount") == amount(line, "LineExtensionAmount")


def test_a_spool_is_ordered_as_a_pack_of_so_many_feet(bought: dict[str, dict[str, bytes]]) -> None:
    # UN/ECE Recommendation 20: FOT is a foot, XPK a package (npm: un-ece-recommendation 0.1.1)
    found = [line for content in orders_in(bought["1"])
             for line in all_of(ElementTree.fromstring(content), "OrderLine/LineItem")
             if texts(line, "Item/BuyersItemIdentification/ID") == ["SC14-4W"]]
    quantity, pack = (next(all_of(found[0], path)) for path in ("Quantity", "Item/PackQuantity"))

    assert (quantity.text, quantity.get("unitCode"), pack.text, pack.get("unitCode")) == ("1", "XPK", "500", "FOT")


def test_a_price_of_less_than_a_cent_is_ordered_as_it_stands() -> None:
    quote = make_quote()
    option = quote.options[1]
    first = option.purchases[0]
    tiny = replace(first, put_ups=(replace(first.put_ups[0], cost=D("0.0125"), count=10),), outlay=D("0.13"))
    made, = orders(quote, purchase_list(quote, replace(option, purchases=(tiny,))))

    assert errors("Order", order(quote, option, made)) == []


def test_suppliers_of_one_plain_name_get_two_files(quotes: dict[str, Quote]) -> None:
    option = quotes["1"].options[1]
    first = orders(quotes["1"], purchase_list(quotes["1"], option))[0]
    named = [replace(first, supplier=name) for name in ("Ace & Co", "Ace Co", "***")]

    assert file_names(option, [*named, replace(named[0], number=2)]) == (
        "order-better-ace-co-rough-in.xml", "order-better-ace-co-rough-in-2.xml", "order-better-supplier-rough-in.xml",
        "order-better-ace-co-rough-in-2-2.xml")


def test_an_order_s_number_changes_with_its_content_and_with_nothing_else(quotes: dict[str, Quote]) -> None:
    quote, option = quotes["1"], quotes["1"].options[1]
    first = orders(quote, purchase_list(quote, option))[0]
    less = replace(first, lines=first.lines[1:])
    later = replace(quote, pricing=replace(quote.pricing, date=quote.pricing.date.replace(day=8)))
    numbers = [order_number(one, option, its) for one, its in ((quote, first), (quote, less), (later, first))]

    assert (numbers[0] == numbers[2], numbers[0][:-6] == numbers[1][:-6], numbers[0] == numbers[1]) == (
        True, True, False)


def test_an_order_says_that_it_counts_from_the_day_on_which_it_is_sent(bought: dict[str, dict[str, bytes]]) -> None:
    # nobody below the command line knows the day
    for files in bought.values():
        for content in orders_in(files):
            assert "counts from the day on which it is sent" in " ".join(texts(ElementTree.fromstring(content), "Note"))


def test_an_order_is_delivered_to_the_firm_or_to_the_house_where_the_firm_has_no_address(
    quotes: dict[str, Quote]
) -> None:
    quote, option = quotes["1"], quotes["1"].options[1]
    homeless = replace(quote, firm=replace(quote.firm, address=""))
    made = [order(one, option, orders(one, purchase_list(one, option))[0]) for one in (quote, homeless)]
    path = "Delivery/DeliveryAddress/AddressLine/Line"

    assert [texts(ElementTree.fromstring(each), path) for each in made] == [
        ["14 Sample Lane, Demo City"], ["12 Lindenhof Lane, Sampleton, Northmark"]]
    assert [errors("Order", each) for each in made] == [[], []]


def test_a_hire_is_ordered_for_its_day(bought: dict[str, dict[str, bytes]]) -> None:
    # example 1: the fitting begins on 23 March 2027
    found = [line for content in orders_in(bought["1"])
             for line in all_of(ElementTree.fromstring(content), "OrderLine/LineItem")
             if texts(line, "Item/BuyersItemIdentification/ID") == ["HR-LADDER"]]
    period = "Delivery/RequestedDeliveryPeriod"

    assert [(texts(line, f"{period}/StartDate"), texts(line, f"{period}/EndDate")) for line in found] == [
        (["2027-01-19"], ["2027-01-19"]), (["2027-03-23"], ["2027-03-23"])]


def test_nothing_is_ordered_from_a_draft(quotes: dict[str, Quote]) -> None:
    quote = quotes["1"]

    assert sorted(buying_files(quote, quote.options[1], (TEMPLATES,), draft=True)) == [
        "buying-better.csv", "buying-better.html"]


def test_an_order_does_not_name_the_customer(bought: dict[str, dict[str, bytes]], quotes: dict[str, Quote]) -> None:
    for name, files in bought.items():
        client = quotes[name].job.client
        assert [content for content in orders_in(files) if client.name in content.decode()
                or client.site in content.decode()] == []


@pytest.fixture(scope="module")
def black(quotes: dict[str, Quote]) -> dict[str, bytes]:
    """The files of example 1, its five plates ordered in black."""
    quote, option = quotes["1"], quotes["1"].options[1]
    painted = tuple(replace(room, colour="black") for room in quote.job.rooms)
    bought = tuple(replace(each, put_ups=tuple(replace(put_up, colour="black") for put_up in each.put_ups))
                   if each.part == "DP-20" else each for each in option.purchases)
    dark = replace(option, purchases=bought)
    whole = replace(quote, job=replace(quote.job, rooms=painted))
    return buying_files(whole, dark, (TEMPLATES,), draft=False) | pick_files(whole, dark, (TEMPLATES,), draft=False)


def test_an_order_says_the_colour_and_stays_valid(black: dict[str, bytes]) -> None:
    lines = [line for content in orders_in(black)
             for line in all_of(ElementTree.fromstring(content), "OrderLine/LineItem/Item")
             if texts(line, "BuyersItemIdentification/ID") == ["DP-20"]]

    assert [(texts(line, "Name"), texts(line, "AdditionalItemProperty/Value")) for line in lines] == [
        (["Decorative plate, single, screwless, black"], ["black"])]
    assert [found for content in orders_in(black) if (found := errors("Order", content))] == []


def test_the_purchaser_and_the_warehouse_read_the_colour(black: dict[str, bytes]) -> None:
    rows = [row for row in rows_of(black["buying-better.csv"]) + rows_of(black["pick-better.csv"])
            if row["Part"] == "DP-20"]

    assert {row["Colour"] for row in rows} == {"black"} and len(rows) == 6
    # with its order, and among what must not wait: it takes 20 days; in five rooms' kits
    assert [black[name].decode().count("screwless, black") for name in (
        "buying-better.html", "pick-better.html")] == [2, 5]


# ---------------------------------------------------------------- lists

def test_the_purchase_list_has_every_line_of_every_order(
    bought: dict[str, dict[str, bytes]], quotes: dict[str, Quote]
) -> None:
    for name, files in bought.items():
        quote = quotes[name]
        listed = Counter((row["Supplier"], row["Part"], row["Packs"], row["Amount"])
                         for row in rows_of(files["buying-better.csv"]) if row["Packs"] != "0")
        found = orders(quote, purchase_list(quote, quote.options[1]))
        assert listed == Counter((line.supplier, line.part, str(line.put_up.count), f"{line.outlay:f}")
                                 for its in found for line in its.lines if line.put_up), name


def test_the_first_sheet_lists_every_order_and_what_they_come_to(
    bought: dict[str, dict[str, bytes]], quotes: dict[str, Quote]
) -> None:
    for name, quote in quotes.items():
        option = quote.options[1]
        page = bought[name]["buying-better.html"].decode()
        first = re.search(r'<section id="s1".*?</section>', page, re.S)
        formats = formats_for(english_locale(quote.job.terms.locale), quote.pricing.currency, "metric")
        assert first is not None and f"Together {formats.money(option.totals.outlay)} before" in first[0], name
        assert [its for its in orders(quote, purchase_list(quote, option))
                if order_number(quote, option, its) not in first[0]] == [], name


def test_the_list_says_which_payment_an_order_waits_for(bought: dict[str, dict[str, bytes]]) -> None:
    rows = {row["Part"]: row["Wait for payment"] for row in rows_of(bought["1"]["buying-better.csv"])}

    assert (rows["SC16-4W"], rows["KP-20"]) == ("1: Deposit", "3: Before equipment is ordered")


def test_a_payment_is_there_by_the_first_day_of_the_orders_that_wait_for_it(
    bought: dict[str, dict[str, bytes]]
) -> None:
    rows = rows_of(bought["1"]["buying-better.csv"])
    for payment in {row["Wait for payment"] for row in rows}:
        its = [row for row in rows if row["Wait for payment"] == payment]
        assert {row["Paid by"] for row in its} == {min(row["Order by"] for row in its)}, payment


def test_the_page_says_by_when_a_payment_must_be_there(bought: dict[str, dict[str, bytes]]) -> None:
    """The cabinet's parts are ordered on Wednesday 3 March 2027 at the latest: 10 lead days and a weekend before."""
    page = bought["1"]["buying-better.html"].decode()
    assert "3: Before equipment is ordered, paid by Mar 3, 2027" in page


@pytest.mark.parametrize(("name", "said"), [
    ("1", "First of all: Fennimarsh Acoustics, rough-in, $649.00, Dec 31, 2026."),
    ("2", "Before the survey and the design are done, on 3 Feb 2027, these cannot wait: Fennimarsh Acoustics")])
def test_orders_that_cannot_wait_for_the_survey_stand_with_the_orders(
    bought: dict[str, dict[str, bytes]], name: str, said: str
) -> None:
    first = re.search(r'<section id="s1".*?</table>', bought[name]["buying-better.html"].decode(), re.S)
    assert first is not None and said in first[0].replace("\u00a0", " ")


def test_a_supplier_reads_nothing_of_the_customer_s_payments(bought: dict[str, dict[str, bytes]]) -> None:
    for files in bought.values():
        assert [content for content in orders_in(files) if b"payment" in content.lower()] == []


def test_the_table_has_plain_numbers(bought: dict[str, dict[str, bytes]]) -> None:
    for files in bought.values():
        rows = rows_of(files["buying-better.csv"])
        assert [row for row in rows for key in ("Needed", "On hand", "From stock", "To buy", "Pack size")
                if re.search(r"\.\d*0$", row[key])] == []


def test_a_price_that_rises_stands_with_its_line_and_on_the_first_sheet(bought: dict[str, dict[str, bytes]]) -> None:
    page = bought["1"]["buying-better.html"].decode()

    assert page.count("dearer from Jan 1, 2027 ($94.00): order before") == 2


def test_without_dates_the_list_says_how_long_before_which_working_day(quotes: dict[str, Quote]) -> None:
    quote, option = quotes["1"], quotes["1"].options[1]
    phases = tuple(replace(days, first_date=None, last_date=None, parts_date=None) for days in option.timetable.phases)
    undated = replace(option, timetable=replace(option.timetable, phases=phases))
    files = buying_files(quote, undated, (TEMPLATES,), draft=False)
    rows = {row["Part"]: (row["Order by"], row["Need by"]) for row in rows_of(files["buying-better.csv"])}

    assert rows["SB-CD65"] == ("10 days before working day -2", "working day -2")
    assert "First order by 10 days before working day -2." in files["buying-better.html"].decode()


def test_the_purchase_list_and_the_office_workbook_say_the_same(quotes: dict[str, Quote], tmp_path: Path) -> None:
    openpyxl = pytest.importorskip("openpyxl")
    quote, option = quotes["3"], quotes["3"].options[1]
    write_office_workbook(quote, tmp_path / "office.xlsx")
    sheet = openpyxl.load_workbook(tmp_path / "office.xlsx", data_only=True)["Purchases"]
    top = next(row for row in range(1, 20) if sheet.cell(row, 1).value == "Option")
    heads = [cell.value for cell in sheet[top]]
    rows = [dict(zip(heads, [cell.value for cell in row], strict=True)) for row in sheet.iter_rows(min_row=top + 1)]
    said = {(row["Supplier"], row["Part"], D(str(row["Pack or spool"])), row["How many"], D(str(row["Outlay"])),
             row["Quantity break from"] or 0) for row in rows if row["Option"] == option.name}

    assert said == {(line.supplier, line.part, line.put_up.size, line.put_up.count, line.outlay, line.put_up.from_count)
                    for line in purchase_list(quote, option) if line.put_up}


def test_the_pick_list_has_every_pick(quotes: dict[str, Quote]) -> None:
    for name, quote in quotes.items():
        option = quote.options[1]
        rows = rows_of(pick_files(quote, option, (TEMPLATES,), draft=False)["pick-better.csv"])
        picked = [row for row in rows if not row["Out of its box"]]
        assert Counter((row["Phase"], row["Kit"], row["Part"], D(row["Quantity"])) for row in picked) == Counter(
            (pick.phase, pick.kit, pick.part, pick.quantity) for pick in picks(quote, option)), name
        assert [(row["Room"], row["Part"], row["Out of its box"]) for row in rows if row["Out of its box"]] == [
            (loan.room, loan.part, f"{loan.count} x {loan.piece}") for loan in loans(quote, option)], name


def pick_rows(quote: Quote, phase: str) -> list[tuple[str, ...]]:
    """The rows of one phase of the pick list as they are printed."""
    option = quote.options[1]
    formats = formats_for(english_locale(quote.job.terms.locale), quote.pricing.currency, quote.job.unit_system)
    return [row for sheet in pick_sheets(quote, option, formats) for table in sheet.tables
            if (table.title or sheet.title) == f"Pick list: {phase}" for row in table.rows]


def test_the_pick_list_says_what_comes_out_of_a_box_before_its_time(quotes: dict[str, Quote]) -> None:
    rows = [row for row in pick_rows(quotes["2"], "rough-in") if "Out of its box: the cut-out template" in row[2]]

    assert [(row[0], row[1], row[3]) for row in rows] == [
        ("Küche", "CS65-20", "2 boxes"), ("Bad", "CD65-20", "2 boxes")]


def test_a_kit_heads_its_rows_once(quotes: dict[str, Quote]) -> None:
    for quote in quotes.values():
        for phase in ("rough-in", "trim-out", "rack build"):
            kits = [row[0] for row in pick_rows(quote, phase)]
            assert [kit for kit, many in Counter(key for key, _ in groupby(kits)).items() if many > 1] == []


def test_each_piece_with_a_serial_number_has_a_line_for_it(quotes: dict[str, Quote]) -> None:
    # example 1, better: two amplifiers, and screws without a number of their own
    rows = pick_rows(quotes["1"], "rack build")
    serial = COLUMNS.index("Serial") - 1  # no bin on this list

    assert [(row[3], row[serial]) for row in rows if row[1] == "PA12-50"] == [("1 of 2", ""), ("2 of 2", "")]
    assert [row[serial] for row in rows if row[1] == "00541"] == ["–"]


def test_cable_and_conduit_are_picked_as_they_come(quotes: dict[str, Quote]) -> None:
    said = {row[1]: row[3] for row in pick_rows(quotes["1"], "rough-in")}

    assert (said["SC16-4W"], said["00341"]) == ("1 spool of 250 ft (153 ft planned)", "1 of 100 ft (28 ft planned)")


def test_the_pick_list_names_its_visit_and_the_day_by_which_its_parts_have_come(quotes: dict[str, Quote]) -> None:
    page = pick_files(quotes["1"], quotes["1"].options[1], (TEMPLATES,), draft=False)["pick-better.html"].decode()

    assert ("For visit RI1, which begins Tue, Jan 19, 2027. Its parts have come by Wed, Jan 13, 2027." in page)


def test_engraving_says_for_which_room_and_a_hire_for_which_day(quotes: dict[str, Quote]) -> None:
    said = [row[2] for row in pick_rows(quotes["1"], "trim-out") if row[0].startswith("Hire and services")]

    assert said == [*(f"Engraving of one keypad's buttons, for {room}" for room in (
        "Kitchen and breakfast", "Family room", "Office", "Main bedroom", "Main bath")),
        "Ladder or platform hire, one day, for Family room, visit TO1, Tue, Mar 23, 2027"]


def test_a_bin_says_how_many_of_a_pick_lie_in_it(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # five plates in five rooms, two of them in B4; 133 cable labels, 20 of them in A1: kits of 15 and 24 come first
    stock = tmp_path / "stock.csv"
    stock.write_text("part,on_hand,bin\nDP-20,2,B4\n00211,20,A1\n", encoding="utf-8")
    job = next(EXAMPLES.glob("1-*.xlsx"))
    main(["build", str(job), "--out", str(tmp_path / "out"), "--accept", "better", "--stock", str(stock)])
    rows = rows_of((tmp_path / "out" / "crew" / "pick-better.csv").read_bytes())
    page = (tmp_path / "out" / "crew" / "pick-better.html").read_text(encoding="utf-8")

    assert [(row["Room"], row["Bin"], row["From bin"]) for row in rows if row["Part"] == "DP-20" and row["Bin"]] == [
        ("KAB", "B4", "1"), ("FROO", "B4", "1")]
    assert [row["From bin"] for row in rows if row["Part"] == "00211" and row["Bin"]] == ["15", "5"]
    assert "A1: 5 of 24" in page


def test_the_pick_list_shows_no_price(quotes: dict[str, Quote]) -> None:
    for quote in quotes.values():
        files = pick_files(quote, quote.options[1], (TEMPLATES,), draft=False)
        words = re.sub(r"<style>.*?</style>", "", "".join(map(bytes.decode, files.values())), flags=re.S)
        assert re.findall(r"(?i)\b(?:cost|margin|markup|price|profit)\b|[$€]", words) == []


def test_what_is_left_over_stands_on_the_page(bought: dict[str, dict[str, bytes]], quotes: dict[str, Quote]) -> None:
    page = bought["1"]["buying-better.html"].decode()
    left = page[page.index(">Left over</h"):]
    parts = [each.part for each in left_overs(quotes["1"], quotes["1"].options[1]) if each.to_stock or each.waste]

    assert parts and [part for part in parts if f">{part}<" not in left] == []


def test_a_draft_says_so_on_both_papers(quotes: dict[str, Quote]) -> None:
    quote, option = quotes["1"], quotes["1"].options[0]
    pages = (buying_files(quote, option, (TEMPLATES,), draft=True)["buying-good.html"],
             pick_files(quote, option, (TEMPLATES,), draft=True)["pick-good.html"])

    assert ["Draft: nobody has accepted this option yet" in page.decode() for page in pages] == [True, True]


def test_the_spool_plan_says_which_spools_are_in_stock(quotes: dict[str, Quote]) -> None:
    quote, option = quotes["1"], quotes["1"].options[1]
    first = option.spools[0]
    stocked = replace(option, spools=(replace(first, from_stock=True), *option.spools[1:]))
    heads = dict.fromkeys(row[0] for row in spool_plan(quote, stocked).rows)

    assert [head for head in heads if "in stock" in head] == [
        head for head in heads if head.startswith(f"{first.part} #{first.number},")] != []


# ---------------------------------------------------------------- the command

def test_a_build_takes_a_stock_list(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stock = tmp_path / "stock.csv"
    stock.write_text("part,on_hand,bin\nKP-20,5,B4\n", encoding="utf-8")
    job = next(EXAMPLES.glob("1-*.xlsx"))

    status = main(["build", str(job), "--out", str(tmp_path / "out"), "--accept", "better", "--stock", str(stock)])

    rows = rows_of((tmp_path / "out" / "office" / "buying-better.csv").read_bytes())
    assert (status, [(row["From stock"], row["Packs"]) for row in rows if row["Part"] == "KP-20"]) == (0, [("5", "0")])


def test_a_stock_list_with_a_slip_writes_nothing(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stock = tmp_path / "stock.csv"
    stock.write_text("part,on_hand\nKP-20,-5\n", encoding="utf-8")
    job = next(EXAMPLES.glob("1-*.xlsx"))

    status = main(["build", str(job), "--out", str(tmp_path / "out"), "--stock", str(stock)])

    assert (status, (tmp_path / "out").exists(), "stock.csv B2 stop stock-below-zero" in capsys.readouterr().err) == (
        1, False, True)

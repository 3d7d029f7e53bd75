"""The purchaser's and the warehouse's papers: orders valid against the published schema, lists that add up, drafts."""

from __future__ import annotations

import csv
import io
import re
from collections import Counter
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from xml.etree import ElementTree

import pytest

from quoting.buying import left_overs, orders, picks, purchase_list
from quoting.cli import main
from quoting.documents.buying_papers import buying_files
from quoting.documents.crew_pull import spool_plan
from quoting.documents.office import write_office_workbook
from quoting.documents.pick_papers import pick_files
from quoting.documents.ubl_order import file_names, order
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
    lines = purchase_list(quote, replace(option, purchases=(tiny,)))

    assert errors("Order", order(quote, option, lines[0].supplier, lines)) == []


def test_suppliers_of_one_plain_name_get_two_files(quotes: dict[str, Quote]) -> None:
    names = file_names(quotes["1"].options[1], ["Ace & Co", "Ace Co", "***"])

    assert names == {"Ace & Co": "order-better-ace-co.xml", "Ace Co": "order-better-ace-co-2.xml",
                     "***": "order-better-supplier.xml"}


def test_nothing_is_ordered_from_a_draft(quotes: dict[str, Quote]) -> None:
    quote = quotes["1"]

    assert sorted(buying_files(quote, quote.options[1], (TEMPLATES,), draft=True)) == [
        "buying-better.csv", "buying-better.html"]


def test_an_order_does_not_name_the_customer(bought: dict[str, dict[str, bytes]], quotes: dict[str, Quote]) -> None:
    for name, files in bought.items():
        client = quotes[name].job.client
        assert [content for content in orders_in(files) if client.name in content.decode()
                or client.site in content.decode()] == []


# ---------------------------------------------------------------- lists

def test_the_purchase_list_has_every_line_of_every_order(
    bought: dict[str, dict[str, bytes]], quotes: dict[str, Quote]
) -> None:
    for name, files in bought.items():
        quote = quotes[name]
        listed = Counter((row["Supplier"], row["Part"], row["Packs"], row["Amount"])
                         for row in rows_of(files["buying-better.csv"]) if row["Packs"] != "0")
        lines = orders(purchase_list(quote, quote.options[1])).values()
        assert listed == Counter((line.supplier, line.part, str(line.put_up.count), f"{line.outlay:f}")
                                 for its in lines for line in its if line.put_up), name


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
        assert Counter((row["Phase"], row["Kit"], row["Part"], D(row["Quantity"])) for row in rows) == Counter(
            (pick.phase, pick.kit, pick.part, pick.quantity) for pick in picks(quote, option)), name


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

"""The customer's workbook: the proposal's amounts as values, nothing live, nothing hidden, and it prints."""

from __future__ import annotations

import shutil
import subprocess
import zipfile
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from msgspec.structs import replace

from quoting.cli import main
from quoting.documents.customer_workbook import workbook_bytes, write_customer_workbook
from quoting.job import Detail
from quoting.quote import Quote
from tests.builders import make_firm, make_job, make_quote, make_terms
from tests.conftest import EXAMPLES

DETAILS: tuple[Detail, ...] = ("total", "by room", "by room and category", "itemised")


def book_of(folder: Path, quote: Quote) -> Any:
    write_customer_workbook(quote, folder / "proposal.xlsx")
    return openpyxl.load_workbook(folder / "proposal.xlsx")


def cells(book: Any) -> list[Any]:
    return [cell for sheet in book.worksheets for row in sheet.iter_rows() for cell in row if cell.value is not None]


def rows_of(sheet: Any) -> list[list[Any]]:
    return [[cell.value for cell in row] for row in sheet.iter_rows()]


def row_named(sheet: Any, label: str) -> list[Any]:
    return next(row[1:] for row in rows_of(sheet) if row[0] == label)


def money(value: float) -> Decimal:
    return Decimal(repr(value)).quantize(Decimal("0.01"))


@pytest.mark.parametrize("detail", DETAILS)
def test_every_cell_is_a_text_or_a_number_and_none_a_formula(tmp_path: Path, detail: Detail) -> None:
    book = book_of(tmp_path, make_quote(job=make_job(terms=make_terms(detail=detail))))
    assert {cell.data_type for cell in cells(book)} == {"s", "n"}


def test_text_that_looks_like_a_formula_stays_text(tmp_path: Path) -> None:
    book = book_of(tmp_path, make_quote(firm=make_firm(warranty="=1+1", name="=cmd")))
    assert {cell.data_type for cell in cells(book) if str(cell.value).startswith("=")} == {"s"}


def test_nothing_is_hidden_and_nothing_leads_elsewhere(tmp_path: Path) -> None:
    book = book_of(tmp_path, make_quote())
    hidden = [sheet.title for sheet in book.worksheets if sheet.sheet_state != "visible"
              or any(row.hidden for row in sheet.row_dimensions.values())
              or any(column.hidden for column in sheet.column_dimensions.values())]
    with zipfile.ZipFile(tmp_path / "proposal.xlsx") as parts:
        strange = [name for name in parts.namelist() if any(word in name for word in ("external", "comment", "vba",
                                                                                      "connection", "custom"))]
    assert (hidden, strange, [name for name in book.defined_names if not name.startswith("_xlnm")]) == ([], [], [])


def test_its_properties_name_the_firm_and_the_day_of_the_quote(tmp_path: Path) -> None:
    quote = make_quote()
    found = book_of(tmp_path, quote).properties
    assert (found.creator, found.created.date(), found.lastModifiedBy, found.description) == (
        quote.firm.name, quote.pricing.date, quote.firm.name, None)


def test_the_same_quote_makes_the_same_bytes() -> None:
    assert workbook_bytes(make_quote()) == workbook_bytes(make_quote())


def test_the_totals_are_the_quotes(tmp_path: Path, quotes: dict[str, Quote]) -> None:
    for number, quote in quotes.items():
        folder = tmp_path / number
        folder.mkdir()
        sheet = book_of(folder, quote).worksheets[0]
        found = next(row for row in rows_of(sheet) if [money(v) for v in row[1:] if isinstance(v, float)] == [
            option.totals.total for option in quote.options])
        assert found[0]


@pytest.mark.parametrize("detail", DETAILS)
def test_each_table_of_amounts_adds_up_as_written(tmp_path: Path, detail: Detail) -> None:
    book = book_of(tmp_path, make_quote(job=make_job(terms=make_terms(detail=detail))))
    price = book["The price"]
    head = [row[0] for row in rows_of(price)].index("Part of the price")
    parts = rows_of(price)[head + 1:]
    end = [row[0] for row in parts].index("Total")
    sums = [sum((money(row[column]) for row in parts[:end]), Decimal(0)) for column in (1, 2, 3)]
    assert sums == [money(value) for value in parts[end][1:4]]


def test_a_step_adds_up_to_the_difference_of_the_totals(tmp_path: Path) -> None:
    quote = make_quote()
    book = book_of(tmp_path, quote)
    found = rows_of(book["From one option to the next"])
    label = next(row for row in found if str(row[0]).endswith(" instead of Good"))
    good, better = quote.options[0].totals.total, quote.options[1].totals.total
    assert money(label[3]) == better - good


def test_rooms_say_what_the_page_says(tmp_path: Path) -> None:
    book = book_of(tmp_path, make_quote())
    assert row_named(book["Room by room"], "Kitchen")[0] == "2 ceiling speakers\nKeypad on the wall"


def test_itemised_amounts_say_how_many(tmp_path: Path) -> None:
    book = book_of(tmp_path, make_quote(job=make_job(terms=make_terms(detail="itemised"))))
    sheet = book["The price, item by item"]
    assert next(row for row in rows_of(sheet) if row[0] == "Room")[1:3] == ["How many", "Good"]


@pytest.mark.parametrize("title", ["A/B: [C]*?", "'quoted'", "A title that is longer than the format allows it to be"])
def test_a_sheets_name_is_one_that_the_format_allows(tmp_path: Path, title: str) -> None:
    quote = make_quote(firm=replace(make_firm(), wording={"en": {"Your options": title}}))
    name = book_of(tmp_path, quote).worksheets[0].title
    # ECMA-376 part 1, 18.2.19: at most 31 characters; none of [ ] : * ? / \ and no apostrophe at an end
    assert 0 < len(name) <= 31 and not set(name) & set("[]:*?/\\") and name.strip("'") == name


def test_two_sheets_never_share_a_name(tmp_path: Path) -> None:
    wording = {"en": {"Your options": "Page", "Side by side": "page", "The price": "Page"}}
    names = book_of(tmp_path, make_quote(firm=replace(make_firm(), wording=wording))).sheetnames
    assert len({name.casefold() for name in names}) == len(names)


@pytest.mark.parametrize("detail", DETAILS)
def test_every_sheet_prints_to_the_pages_width(tmp_path: Path, detail: Detail) -> None:
    book = book_of(tmp_path, make_quote(job=make_job(terms=make_terms(detail=detail))))
    for sheet in book.worksheets:
        # ECMA-376 part 1, 18.3.1.63: fitToWidth is 1 where it is not said; paper 1 is Letter
        assert (sheet.page_setup.fitToWidth or 1, sheet.sheet_properties.pageSetUpPr.fitToPage,
                sheet.page_setup.paperSize, bool(sheet.print_area)) == (1, True, 1, True), sheet.title


@pytest.mark.parametrize("locale", ["en_US", "es_ES", "fr_FR", "de_DE"])
def test_no_sentence_under_a_table_is_longer_than_the_table_is_wide(
    tmp_path: Path, quotes: dict[str, Quote], locale: str
) -> None:
    job = quotes["1"].job
    quote = replace(quotes["1"], job=replace(job, terms=replace(job.terms, locale=locale)))
    for sheet in book_of(tmp_path, quote).worksheets:
        wide = sum(found.width * (found.max - found.min + 1) for found in sheet.column_dimensions.values())
        assert [row[0].value for row in sheet.iter_rows() if not row[0].alignment.wrap_text
                and row[0].font.sz == 10 and len(str(row[0].value or "")) > wide] == []


def test_a_printed_workbook_has_a_page_a_sheet_for_a_small_house(tmp_path: Path) -> None:
    if shutil.which("soffice") is None or shutil.which("pdfinfo") is None:
        pytest.skip("LibreOffice or poppler is not installed")
    book = book_of(tmp_path, make_quote())
    subprocess.run(["soffice", f"-env:UserInstallation={(tmp_path / 'profile').as_uri()}", "--headless", "--convert-to",
                    "pdf", "--outdir", str(tmp_path), str(tmp_path / "proposal.xlsx")], check=True, capture_output=True)
    told = subprocess.run(["pdfinfo", str(tmp_path / "proposal.pdf")], check=True, capture_output=True, text=True)
    assert f"Pages:           {len(book.sheetnames)}\n" in told.stdout


def test_a_build_writes_it_where_it_is_asked_for(tmp_path: Path) -> None:
    workbook = str(next(EXAMPLES.glob("1-*.xlsx")))
    assert main(["build", workbook, "--out", str(tmp_path / "out"), "--customer-workbook"]) == 0
    assert sorted(path.name for path in (tmp_path / "out" / "customer").iterdir()) == [
        "proposal.html", "proposal.xlsx", "quotation-best.xml", "quotation-better.xml", "quotation-good.xml"]

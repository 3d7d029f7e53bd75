"""The customer's UBL 2.1 quotation: valid against the published schema, and adding up as EN 16931 asks."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path
from typing import cast, get_args
from xml.etree import ElementTree

import pytest
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.documents.ubl_quotation import quotation
from quoting.intake.read import read_job
from quoting.job import Detail, Job
from quoting.pipeline import quote_job
from quoting.quote import PricedOption, Quote
from quoting.rules.book import RuleBook
from tests.conftest import EXAMPLES, PRICED_ON
from tests.documents.ubl_schemas import all_of, amount, amounts, errors, named, texts

D = Decimal
ZERO = D(0)
LINE = "QuotationLine/LineItem/LineExtensionAmount"
Case = tuple[str, Quote, PricedOption]


def example(number: str, demo: Catalog) -> Job:
    job, problems = read_job(next(EXAMPLES.glob(f"{number}-*.xlsx")), demo)
    assert job is not None, problems
    return job


@pytest.fixture(scope="module")
def cases(quotes: dict[str, Quote], demo: Catalog, book: RuleBook) -> list[Case]:
    """Every example, in every price detail; with a discount, rounded to whole units, tax line by line, tax-exempt."""
    whole = [(quote, option) for quote in quotes.values() for option in quote.options]
    plain, found = quotes["1"], []
    for detail in cast("tuple[Detail, ...]", get_args(Detail)):
        found.append(replace(plain, job=replace(plain.job, terms=replace(plain.job.terms, detail=detail))))
    job = example("1", demo)
    terms = replace(job.terms, discount_rate=D("0.0333"), discount_reason="a friend", approved_by="Mira",
                    whole_units=True)
    exempt = replace(terms, tax_exempt="C-77 & <8>")
    by_line = replace(demo, places={name: replace(place, tax_basis="line") for name, place in demo.places.items()})
    for catalog, its in ((demo, terms), (by_line, terms), (demo, exempt)):
        quote, problems = quote_job(replace(job, terms=its), catalog, book, PRICED_ON)
        assert quote is not None, problems
        found.append(quote)
    whole += [(quote, quote.options[1]) for quote in found]
    return [(f"{place} {option.name}", quote, option) for place, (quote, option) in enumerate(whole)]


def read(case: Case) -> ElementTree.Element:
    return ElementTree.fromstring(quotation(case[1], case[2]))


def half_up(value: Decimal) -> Decimal:
    return value.quantize(D("0.01"), ROUND_HALF_UP)


def test_every_quotation_is_valid_against_the_published_schema(cases: list[Case]) -> None:
    assert {case[0]: found for case in cases if (found := errors("Quotation", quotation(case[1], case[2])))} == {}


@pytest.mark.parametrize("slip", ["issue date gone", "note before the date", "currency gone", "total gone"])
def test_the_schema_refuses_what_the_standard_forbids(cases: list[Case], slip: str) -> None:
    # OASIS UBL 2.1, UBL-Quotation-2.1.xsd: IssueDate and QuotedMonetaryTotal once, Note after IssueDate; an amount
    # has a currencyID
    text = quotation(cases[0][1], cases[0][2]).decode()
    date = text[text.index("<cbc:IssueDate>"):text.index("</cbc:IssueDate>") + len("</cbc:IssueDate>\n")]
    total = text[text.index("<cac:QuotedMonetaryTotal>"):text.index("</cac:QuotedMonetaryTotal>") + 26]
    wrong = {"issue date gone": text.replace(date, ""),
             "note before the date": text.replace(date, f"<cbc:Note>x</cbc:Note>{date}"),
             "currency gone": text.replace(' currencyID="USD"', ""), "total gone": text.replace(total, "")}[slip]

    assert wrong != text and errors("Quotation", wrong.encode())


def test_the_totals_are_those_of_the_quote(cases: list[Case]) -> None:
    for case in cases:
        totals, found = case[2].totals, read(case)
        said = [amount(found, f"QuotedMonetaryTotal/{name}") for name in (
            "LineExtensionAmount", "AllowanceTotalAmount", "ChargeTotalAmount", "PayableRoundingAmount",
            "PayableAmount")]
        assert said == [totals.materials + totals.labour, totals.discount, totals.freight, totals.rounding,
                        totals.total], case[0]


# EN 16931-1 rules as the official validation artefacts have them (ConnectingEurope/eInvoicing-EN16931,
# ubl/schematron/UBL/EN16931-UBL-model.sch). A quotation is no invoice: their sums hold all the same.

@pytest.mark.outside(8)
def test_lines_sum_to_the_line_total(cases: list[Case]) -> None:
    # EN 16931 BR-CO-10
    for case in cases:
        found = read(case)
        assert sum(amounts(found, LINE)) == amount(found, "QuotedMonetaryTotal/LineExtensionAmount"), case[0]


@pytest.mark.outside(8)
@pytest.mark.parametrize(("charge", "total"), [("false", "AllowanceTotalAmount"), ("true", "ChargeTotalAmount")])
def test_allowances_and_charges_sum_to_their_totals(cases: list[Case], charge: str, total: str) -> None:
    # EN 16931 BR-CO-11, BR-CO-12
    for case in cases:
        found = read(case)
        parts = [amount(each, "Amount") for each in all_of(found, "AllowanceCharge")
                 if texts(each, "ChargeIndicator") == [charge]]
        assert sum(parts, ZERO) == amount(found, f"QuotedMonetaryTotal/{total}"), case[0]


@pytest.mark.outside(8)
def test_the_amount_without_tax_is_lines_less_allowances_plus_charges(cases: list[Case]) -> None:
    # EN 16931 BR-CO-13
    for case in cases:
        lines, less, more, without = (amount(read(case), f"QuotedMonetaryTotal/{name}") for name in (
            "LineExtensionAmount", "AllowanceTotalAmount", "ChargeTotalAmount", "TaxExclusiveAmount"))
        assert without == lines - less + more, case[0]


@pytest.mark.outside(8)
def test_a_tax_total_is_the_sum_of_its_rates(cases: list[Case]) -> None:
    # EN 16931 BR-CO-14
    for case in cases:
        for tax in all_of(read(case), "TaxTotal"):
            assert sum(amounts(tax, "TaxSubtotal/TaxAmount")) == amount(tax, "TaxAmount"), case[0]


@pytest.mark.outside(8)
def test_the_amount_with_tax_is_the_one_without_and_every_tax(cases: list[Case]) -> None:
    # EN 16931 BR-CO-15
    for case in cases:
        found = read(case)
        with_tax, without = (amount(found, f"QuotedMonetaryTotal/Tax{name}Amount") for name in (
            "Inclusive", "Exclusive"))
        assert with_tax == without + sum(amounts(found, "TaxTotal/TaxAmount")), case[0]


@pytest.mark.outside(8)
def test_what_is_payable_is_the_amount_with_tax_and_its_rounding(cases: list[Case]) -> None:
    # EN 16931 BR-CO-16, nothing prepaid
    for case in cases:
        with_tax, rounding, payable = (amount(read(case), f"QuotedMonetaryTotal/{name}") for name in (
            "TaxInclusiveAmount", "PayableRoundingAmount", "PayableAmount"))
        assert payable == with_tax + rounding, case[0]


@pytest.mark.outside(8)
def test_a_tax_is_its_rate_on_its_base_rounded_once(cases: list[Case]) -> None:
    # EN 16931 BR-CO-17, in the strict form of its early rule set: on the invoice basis; tax line by line is a sum of
    # rounded taxes
    for case in cases:
        if case[1].pricing.tax_basis == "line":
            continue
        for part in all_of(read(case), "TaxTotal/TaxSubtotal"):
            rate = amount(part, "TaxCategory/Percent") / 100
            assert half_up(amount(part, "TaxableAmount") * rate) == amount(part, "TaxAmount"), case[0]


@pytest.mark.outside(8)
def test_a_taxs_base_is_what_stands_under_it(cases: list[Case]) -> None:
    # EN 16931 BR-S-08: lines less allowances plus charges of the category; here by the tax that they name
    for case in cases:
        found = read(case)
        for part in all_of(found, "TaxTotal/TaxSubtotal"):
            tax = (texts(part, "TaxCategory/TaxScheme/Name"), texts(part, "TaxCategory/Percent"))
            base = ZERO
            for line in all_of(found, "QuotationLine/LineItem"):
                if tax in _taxes(line, "Item/ClassifiedTaxCategory"):
                    base += amount(line, "LineExtensionAmount")
            for each in all_of(found, "AllowanceCharge"):
                if tax in _taxes(each, "TaxCategory"):
                    base += amount(each, "Amount") * (1 if texts(each, "ChargeIndicator") == ["true"] else -1)
            assert base == amount(part, "TaxableAmount"), case[0]


def _taxes(element: ElementTree.Element, path: str) -> list[tuple[list[str], list[str]]]:
    return [(texts(each, "TaxScheme/Name"), texts(each, "Percent")) for each in all_of(element, path)]


@pytest.mark.outside(8)
def test_no_amount_has_more_than_two_decimals(cases: list[Case]) -> None:
    # EN 16931 BR-DEC-*
    for case in cases:
        said = [each.text or "" for each in read(case).iter() if "currencyID" in each.attrib]
        assert [text for text in said if -int(D(text).as_tuple().exponent) > 2] == [], case[0]


# ---------------------------------------------------------------- what the lines say

def lines_of(quote: Quote, detail: Detail) -> list[str]:
    other = replace(quote, job=replace(quote.job, terms=replace(quote.job.terms, detail=detail)))
    return texts(ElementTree.fromstring(quotation(other, other.options[0])), "QuotationLine/LineItem/Item/Name")


def test_a_quote_without_detail_has_lines_for_goods_and_labour_alone(quotes: dict[str, Quote]) -> None:
    # a line each under one tax: hire and engraving are not taxed in this job's place
    assert lines_of(quotes["1"], "total") == ["Equipment and materials", "Equipment and materials", "Labour"]


def test_a_quote_by_room_names_each_room(quotes: dict[str, Quote]) -> None:
    rooms = {line.partition(":")[0] for line in lines_of(quotes["1"], "by room")}

    assert rooms == {room.name for room in quotes["1"].options[0].rooms if room.materials or room.labour} | {
        "Equipment and the whole house"}


def test_an_itemised_line_has_its_quantity_in_its_unit(quotes: dict[str, Quote]) -> None:
    quote = quotes["1"]
    other = replace(quote, job=replace(quote.job, terms=replace(quote.job.terms, detail="itemised")))
    found = ElementTree.fromstring(quotation(other, other.options[0]))
    codes = {each.get("unitCode") for each in all_of(found, "QuotationLine/LineItem/Quantity")}

    assert codes == {"C62", "FOT"}  # UN/ECE Recommendation 20: one, foot (npm: un-ece-recommendation)


def test_a_metric_job_sells_cable_by_the_metre(quotes: dict[str, Quote]) -> None:
    # unitCode MTR: the official EN 16931 example 2, ubl-tc434-example2.xml, line 5
    quote = quotes["2"]
    other = replace(quote, job=replace(quote.job, terms=replace(quote.job.terms, detail="itemised")))
    found = ElementTree.fromstring(quotation(other, other.options[0]))

    assert "MTR" in {each.get("unitCode") for each in all_of(found, "QuotationLine/LineItem/Quantity")}


def test_a_german_job_is_quoted_in_german(quotes: dict[str, Quote]) -> None:
    assert {line.rpartition(": ")[2] for line in lines_of(quotes["2"], "by room")} == {
        "Geräte und Material", "Arbeit"}


def test_signs_that_xml_keeps_for_itself_come_back(cases: list[Case]) -> None:
    # W3C, Extensible Markup Language 1.0: & and < are escaped in text
    quote, option = cases[0][1], cases[0][2]
    client = replace(quote.job.client, name='A & B <C> "D" \'E\'')
    other = replace(quote, job=replace(quote.job, client=client))

    found = ElementTree.fromstring(quotation(other, option))

    assert texts(found, "BuyerCustomerParty/Party/PartyName/Name") == [client.name]


def test_a_certificate_stands_where_no_tax_is_asked(cases: list[Case]) -> None:
    found = read(cases[-1])

    assert set(texts(found, "QuotationLine/LineItem/Item/ClassifiedTaxCategory/TaxExemptionReason")) == {
        "C-77 & <8>"}


def test_the_root_is_the_quotation_of_the_standard(cases: list[Case]) -> None:
    # OASIS UBL 2.1: namespace urn:oasis:names:specification:ubl:schema:xsd:Quotation-2
    found = read(cases[0])

    assert (found.tag, named(found)) == (
        "{urn:oasis:names:specification:ubl:schema:xsd:Quotation-2}Quotation", "Quotation")


def test_one_file_for_the_option_accepted(quotes: dict[str, Quote], tmp_path: Path) -> None:
    from quoting.documents.ubl_quotation import write_quotations

    write_quotations(quotes["1"], tmp_path, "better")

    assert [path.name for path in tmp_path.iterdir()] == ["quotation-better.xml"]

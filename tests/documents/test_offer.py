"""What a machine reads in the proposal: one schema.org Offer an option, by microdata, since a page holds no script.

Reference: schema.org, types Offer and Organization (priceValidUntil, priceCurrency, seller); from memory.
"""

from __future__ import annotations

import datetime
from decimal import Decimal
from pathlib import Path

import pytest
from msgspec.structs import replace

from quoting.documents.proposal import render_proposal
from quoting.quote import Quote
from tests.builders import make_firm, make_quote
from tests.conftest import ROOT
from tests.documents.microdata import Item, items

TEMPLATES = ROOT / "templates"


def offers(quote: Quote, templates: Path = TEMPLATES) -> list[Item]:
    return items(render_proposal(quote, templates))


def one(item: Item, name: str) -> str:
    """A property that an item has once, as text."""
    (value,) = item.properties[name]
    assert isinstance(value, str)
    return value


def test_each_option_is_an_offer_and_nothing_else_is_an_item(quotes: dict[str, Quote]) -> None:
    for quote in quotes.values():
        assert [item.type for item in offers(quote)] == ["https://schema.org/Offer"] * len(quote.options)


def test_an_offers_price_is_the_options_total_in_digits_and_a_point(quotes: dict[str, Quote]) -> None:
    for quote in quotes.values():
        read = [(Decimal(one(item, "price")), one(item, "priceCurrency")) for item in offers(quote)]
        assert read == [(option.totals.total, quote.job.terms.currency) for option in quote.options]


def test_an_offer_holds_as_long_as_the_prices_do() -> None:
    quote = make_quote()
    assert {datetime.date.fromisoformat(one(item, "priceValidUntil")) for item in offers(quote)} == {
        quote.pricing.valid_until}


@pytest.mark.parametrize(("name", "value"), [
    ("name", "Larkfield Sound (invented)"), ("address", "4 Mill Yard, Sampleton"), ("telephone", "555-0134"),
    ("email", "hello@larkfield.example"),
])
def test_an_offers_seller_is_the_firm(name: str, value: str) -> None:
    for item in offers(make_quote(firm=make_firm())):
        (seller,) = item.properties["seller"]
        assert isinstance(seller, Item)
        assert (seller.type, one(seller, name)) == ("https://schema.org/Organization", value)


def test_an_offer_is_named_and_described_as_its_card_is() -> None:
    quote = make_quote()
    assert [(one(item, "name"), one(item, "description")) for item in offers(quote)] == [
        (option.title.partition(":")[0], option.summary) for option in quote.options]


def test_a_total_is_never_written_with_an_exponent() -> None:
    quote = make_quote()
    option = replace(quote.options[0], totals=replace(quote.options[0].totals, total=Decimal("1E+4")))
    assert one(offers(make_quote(options=(option,), steps=()))[0], "price") == "10000"


def test_the_page_holds_no_script() -> None:
    assert "<script" not in render_proposal(make_quote(), TEMPLATES)

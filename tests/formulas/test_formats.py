"""Numbers and money by locale: what Babel 2.19 prints (Unicode CLDR 49), and why it only gets rounded amounts.

Invisible and wide characters are written as escapes: U+00A0 no-break space, U+202F narrow no-break space,
U+FFE5 full-width yen.
"""

from __future__ import annotations

from decimal import Decimal

import pytest
from babel.numbers import format_currency, format_decimal

from quoting.money import minor_units, r2, round_to


# Unicode CLDR 49 as shipped with Babel 2.19.0.
@pytest.mark.parametrize(("locale", "currency", "text"), [
    ("en_US", "USD", "$1,234.50"),
    ("de_DE", "EUR", "1.234,50\u00a0\u20ac"),
    ("fr_FR", "EUR", "1\u202f234,50\u00a0\u20ac"),
    ("fr_CA", "CAD", "1\u00a0234,50\u00a0$"),
    ("en_GB", "GBP", "\u00a31,234.50"),
    ("en_CA", "CAD", "$1,234.50"),
    ("de_CH", "CHF", "CHF\u00a01'234.50"),
])
def test_money_is_printed_as_the_locale_prints_it(locale: str, currency: str, text: str) -> None:
    assert format_currency(Decimal("1234.50"), currency, locale=locale) == text


# Unicode CLDR 49 as shipped with Babel 2.19.0: the minus sign stands where the locale puts it.
@pytest.mark.parametrize(("locale", "currency", "text"), [
    ("en_US", "USD", "-$1,234.50"),
    ("de_DE", "EUR", "-1.234,50\u00a0\u20ac"),
    ("fr_CA", "CAD", "-1\u00a0234,50\u00a0$"),
    ("de_CH", "CHF", "CHF-1'234.50"),
])
def test_a_credit_is_printed_as_the_locale_prints_it(locale: str, currency: str, text: str) -> None:
    assert format_currency(Decimal("-1234.50"), currency, locale=locale) == text


def test_yen_are_printed_without_decimals() -> None:
    assert format_currency(Decimal("1234"), "JPY", locale="ja_JP") == "\uffe51,234"


@pytest.mark.parametrize(("locale", "text"), [("en_US", "1,250.5"), ("de_DE", "1.250,5"), ("fr_FR", "1\u202f250,5")])
def test_a_length_is_printed_as_the_locale_prints_it(locale: str, text: str) -> None:
    assert format_decimal(Decimal("1250.5"), locale=locale) == text


# Babel rounds half to even: handed an unrounded half cent it would disagree with the quote.
@pytest.mark.parametrize(("amount", "babel", "ours"), [("0.005", "$0.00", "$0.01"), ("1.005", "$1.00", "$1.01")])
def test_only_an_amount_that_is_already_rounded_is_printed_right(amount: str, babel: str, ours: str) -> None:
    assert format_currency(Decimal(amount), "USD", locale="en_US") == babel
    assert format_currency(r2(Decimal(amount)), "USD", locale="en_US") == ours


# CPython issue 69015: 1.05 ... 1.95 to one place, half up (half even would be 1.0 1.2 1.2 1.4 1.4 1.6 1.6 1.8 1.8 2.0).
def test_halves_go_up() -> None:
    amounts = [Decimal(f"1.{tenth}5") for tenth in range(10)]

    assert " ".join(str(round_to(amount, 1)) for amount in amounts) == "1.1 1.2 1.3 1.4 1.5 1.6 1.7 1.8 1.9 2.0"


# ISO 4217 list (2025/2026) as compiled into a browser: minor units that are not 2; IQD differs from CLDR's 0.
@pytest.mark.outside(8)
@pytest.mark.parametrize(("currency", "places"), [
    ("JPY", 0), ("KRW", 0), ("ISK", 0), ("KWD", 3), ("BHD", 3), ("IQD", 3), ("CLF", 4), ("EUR", 2), ("USD", 2),
])
def test_a_currency_has_the_minor_unit_of_iso_4217(currency: str, places: int) -> None:
    assert minor_units(currency) == places

"""Formats: what CLDR prescribes for each locale, and never a float or an unrounded amount as money."""

from __future__ import annotations

import datetime
import subprocess
import sys
from decimal import Decimal

import pytest

from quoting.colours import ENOUGH, contrast, readable_accents
from quoting.documents.formats import formats_for
from quoting.documents.templates import css_text
from quoting.units import UnitSystem


# Golden strings: CLDR's patterns as Babel 2.19.0 (CLDR 49) wrote them when looked at by hand, no-break spaces kept.
@pytest.mark.parametrize(("locale", "currency", "shown"), [
    ("en_US", "USD", "$1,234.50"),
    ("de_DE", "EUR", "1.234,50\u00a0€"),
    ("de-DE", "EUR", "1.234,50\u00a0€"),
    ("fr_FR", "EUR", "1\u202f234,50\u00a0€"),
    ("fr_CA", "CAD", "1\u00a0234,50\u00a0$"),
    ("en_GB", "GBP", "£1,234.50"),
    ("de_CH", "CHF", "CHF\u00a01'234.50"),
])
def test_money_is_written_as_the_locale_writes_it(locale: str, currency: str, shown: str) -> None:
    assert formats_for(locale, currency, "metric").money(Decimal("1234.5")) == shown


# ISO 4217: the yen has no minor unit, the Kuwaiti dinar three places (CLDR agrees for these).
@pytest.mark.parametrize(("currency", "amount", "shown"), [("JPY", "1234", "1,234"), ("KWD", "1.5", "1.500")])
def test_money_has_the_places_of_its_currency(currency: str, amount: str, shown: str) -> None:
    assert formats_for("en_US", currency, "metric").money(Decimal(amount)).endswith(shown)


def test_a_negative_amount_has_its_sign_first_in_american_english() -> None:
    assert formats_for("en_US", "USD", "metric").money(Decimal("-1234.5")) == "-$1,234.50"  # CLDR


def test_a_negative_nothing_has_no_sign() -> None:
    assert formats_for("en_US", "USD", "metric").money(Decimal("-0.00")) == "$0.00"


def test_an_amount_with_more_places_than_its_currency_is_refused() -> None:
    with pytest.raises(ValueError, match="not rounded"):
        formats_for("en_US", "USD", "metric").money(Decimal("2.675"))


@pytest.mark.parametrize("amount", [1.5, 2, "3"])
def test_what_is_no_decimal_is_refused_as_money(amount: object) -> None:
    with pytest.raises(TypeError):
        formats_for("en_US", "USD", "metric").money(amount)  # type: ignore[arg-type]


def test_a_rate_is_a_percentage_with_no_needless_zeros() -> None:
    assert formats_for("en_US", "USD", "metric").rate(Decimal("0.0625")) == "6.25%"


def test_a_rate_follows_the_locale() -> None:
    assert formats_for("de_DE", "EUR", "metric").rate(Decimal("0.19")) == "19\u00a0%"  # CLDR, from memory


# CLDR long dates.
@pytest.mark.parametrize(("locale", "shown"), [
    ("en_US", "March 2, 2026"), ("en_GB", "2 March 2026"), ("de_DE", "2. März 2026"), ("fr_FR", "2 mars 2026"),
])
def test_a_date_follows_the_locale(locale: str, shown: str) -> None:
    assert formats_for(locale, "EUR", "metric").date(datetime.date(2026, 3, 2)) == shown


def test_a_date_among_english_words_has_its_month_in_english() -> None:
    shown = formats_for("it_IT", "EUR", "metric", "en").date(datetime.date(2026, 3, 2))
    assert shown == "2 March 2026"  # CLDR, English of the world


# CLDR, short units.
@pytest.mark.parametrize(("locale", "unit", "shown"), [
    ("en_US", "ft", "1,234.5 ft"), ("de_DE", "m", "1.234,5 m"), ("fr_FR", "m", "1\u202f234,5\u202fm"),
    ("de_DE", "each", "1.234,5"),
])
def test_a_quantity_has_its_unit_as_the_locale_writes_it(locale: str, unit: str, shown: str) -> None:
    assert formats_for(locale, "EUR", "metric").measure(Decimal("1234.5"), unit) == shown


@pytest.mark.parametrize(("system", "shown"), [("imperial", "16 in"), ("metric", "41 cm")])
def test_a_spacing_is_in_inches_or_centimetres(system: UnitSystem, shown: str) -> None:
    assert formats_for("en_US", "USD", system).spacing(16 * 0.0254) == shown  # an inch is 25.4 mm


@pytest.mark.parametrize(("system", "shown"), [("imperial", "12 ft 6 in"), ("metric", "3.8 m")])
def test_a_length_is_in_the_jobs_units(system: UnitSystem, shown: str) -> None:
    assert formats_for("en_US", "USD", system).length(3.81) == shown


@pytest.mark.parametrize("locale", ["xx_YY", "", "en_ZZ", "nonsense!"])
def test_an_unknown_locale_still_gives_a_document(locale: str) -> None:
    assert formats_for(locale, "USD", "metric").money(Decimal("1.00")) == "$1.00"


def test_nothing_heavy_is_imported_before_a_document_is_written() -> None:
    program = ("import sys; import quoting.documents.proposal, quoting.documents.formats, quoting.documents.explain, "
               "quoting.documents.publish, quoting.documents.quote_file; "
               "heavy = ('jinja2', 'babel', 'openpyxl', 'xlsxwriter'); "
               "print([name for name in heavy if name in sys.modules])")
    shown = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True).stdout
    assert shown.strip() == "[]"


# ---------------------------------------------------------------- the firm's colour

# WCAG 2.2: #767676 is known as the lightest grey that passes on white; 4.54 to 1.
def test_contrast_is_that_of_the_guidelines() -> None:
    assert round(contrast("#767676", "#ffffff"), 2) == 4.54


@pytest.mark.parametrize("colour", ["#ffff00", "#000000", "#ffffff", "#2f6f5e", "#ff0000", "#808080"])
def test_any_colour_of_a_firm_is_made_readable_on_light_and_dark(colour: str) -> None:
    light, dark = readable_accents(colour)
    assert min(contrast(light, "#ffffff"), contrast(dark, "#1b1f24")) >= ENOUGH


def test_a_readable_colour_is_left_alone_on_light_paper() -> None:
    assert readable_accents("#1f5f6b")[0] == "#1f5f6b"


def test_text_in_a_colours_place_never_reaches_the_page() -> None:
    assert readable_accents("red;} body{display:none") == readable_accents("")


def test_text_in_the_stylesheet_cannot_end_it() -> None:
    assert css_text('"; } </style>') == "\\22 \\3b  \\7d  \\3c \\2f style\\3e "

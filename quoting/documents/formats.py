"""Money, quantities, rates, dates and lengths as a reader of the job's locale expects them.

Numbers come in rounded: Babel would round half-even, so a money amount with more places than its currency has is
refused, and so is a float. Babel is imported when the first Formats is made.
"""

from __future__ import annotations

import copy
import datetime
from decimal import Decimal
from functools import lru_cache
from typing import TYPE_CHECKING

from quoting.money import minor_units, round_to
from quoting.units import M_PER_IN, UnitSystem

if TYPE_CHECKING:
    from babel import Locale
    from babel.numbers import NumberPattern

FALLBACK_LOCALE = "en_US"
WORLD_ENGLISH = "en_001"
# What a template may call; amounts get in by `money` only.
FORMAT_FILTERS = ("money", "quantity", "measure", "date", "day")
# Places that print on Letter paper; all others use A4. Reference: CLDR, supplemental data, measurementData, paperSize;
# from memory.
LETTER = frozenset(["BZ", "CA", "CL", "CO", "CR", "GT", "MX", "NI", "PA", "PH", "PR", "SV", "US", "VE"])

_UNITS = {  # ours -> CLDR's
    "m": "length-meter", "cm": "length-centimeter", "ft": "length-foot", "in": "length-inch", "h": "duration-hour",
}


class Formats:
    """One job's way of writing. Formatted amounts are kept: a document prints the same ones again and again.

    `words`: the language that stands around the dates; where it is not the locale's own, their months are English.
    """

    def __init__(self, locale: str, currency: str, unit_system: UnitSystem, words: str = "") -> None:
        self.currency = currency
        self.unit_system = unit_system
        self.locale = locale
        self._locale = find_locale(locale)
        self._months = self._locale if words in ("", self._locale.language) else find_locale(WORLD_ENGLISH)
        self._places = minor_units(currency)
        self._money_pattern = _with_places(self._locale.currency_formats["standard"], self._places, self._places)
        self._quantity_pattern = _with_places(self._locale.decimal_formats[None], 0, 3)
        self._rate_pattern = _with_places(self._locale.percent_formats[None], 0, 3)
        self._known: dict[Decimal, str] = {}

    def money(self, amount: Decimal) -> str:
        """An amount in the job's currency, its minor units always shown.

        Raises TypeError for a float and ValueError for an amount that is not rounded to the currency.
        """
        text = self._known.get(amount) if isinstance(amount, Decimal) else None
        if text is None:
            text = self._known[amount] = self._fresh_money(amount)
        return text

    def _fresh_money(self, amount: Decimal) -> str:
        if not isinstance(amount, Decimal):
            raise TypeError(f"money must be a Decimal, not {type(amount).__name__}")
        if round_to(amount, self._places) != amount:
            raise ValueError(f"{amount} is not rounded to {self.currency}")
        plain = abs(amount) if amount == 0 else amount  # never "-0.00"
        return str(self._money_pattern.apply(plain, self._locale, currency=self.currency, currency_digits=False))

    def quantity(self, amount: Decimal | int) -> str:
        """A count or a length in its own unit: at most 3 places, no trailing zeros."""
        return str(self._quantity_pattern.apply(round_to(Decimal(amount), 3), self._locale))

    def measure(self, amount: Decimal | int, unit: str) -> str:
        """A quantity with its unit: "4" each, "120 ft", "36,5 m", "1.5 hr"."""
        return self._with_unit(round_to(Decimal(amount), 3), unit) if unit in _UNITS else self.quantity(amount)

    def rate(self, rate: Decimal) -> str:
        """A rate as a percentage, at most 3 places: 0.0625 as 6.25%."""
        return str(self._rate_pattern.apply(round_to(rate, 5), self._locale))

    def date(self, day: datetime.date) -> str:
        """A date with the month's name."""
        from babel.dates import format_date

        return format_date(day, "long", self._months)

    def day(self, day: datetime.date) -> str:
        """A date in a table: the month's name is short."""
        from babel.dates import format_date

        return format_date(day, "medium", self._months)

    def weekday(self, day: datetime.date) -> str:
        """The same with the day of the week before it."""
        from babel.dates import format_skeleton

        return str(format_skeleton("yMMMEd", day, locale=self._months))

    def length(self, length_m: float) -> str:
        """A room's length for a customer: feet and whole inches, or metres to one place."""
        if self.unit_system == "metric":
            return self._with_unit(_tenths(length_m), "m")
        feet, inches = divmod(round(length_m / M_PER_IN), 12)
        parts = ((feet, "ft"), (inches, "in")) if inches else ((feet, "ft"),)
        return " ".join(self._with_unit(Decimal(number), unit) for number, unit in parts)

    def long_unit(self, amount: Decimal) -> str:
        """So many feet or metres, to as many places as are given."""
        return self._with_unit(amount, "m" if self.unit_system == "metric" else "ft")

    def spacing(self, length_m: float) -> str:
        """A short length: whole inches, or whole centimetres."""
        metric = self.unit_system == "metric"
        whole = round(length_m * 100 if metric else length_m / M_PER_IN)
        return self._with_unit(Decimal(whole), "cm" if metric else "in")

    def _with_unit(self, amount: Decimal, unit: str) -> str:
        from babel.units import format_unit

        return str(format_unit(amount, _UNITS[unit], "short", locale=self._locale))


@lru_cache(maxsize=16)
def formats_for(locale: str, currency: str, unit_system: UnitSystem, words: str = "") -> Formats:
    """The job's formats; patterns are parsed once."""
    return Formats(locale, currency, unit_system, words)


def english_locale(locale: str) -> str:
    """Whose figures and dates stand in the firm's own English: those of the job's place where it writes English, else
    the world's.

    >>> english_locale("en_US"), english_locale("de_DE")
    ('en_US', 'en_001')
    """
    return locale if find_locale(locale).language == "en" else WORLD_ENGLISH


def find_locale(name: str) -> Locale:
    """The locale of a name like "de_DE" or "de-DE"; its language alone where the country is unknown, else American
    English, so that a document always comes out."""
    from babel import Locale, UnknownLocaleError

    for attempt in (name, name.replace("-", "_").partition("_")[0], FALLBACK_LOCALE):
        try:
            return Locale.parse(attempt, sep="-" if "-" in attempt else "_")
        except (ValueError, UnknownLocaleError):
            continue
    raise AssertionError("Babel has no American English")


def paper_size(locale: str) -> str:
    """The paper that a locale's country prints on.

    >>> paper_size("en_US"), paper_size("de_DE"), paper_size("es_MX")
    ('letter', 'A4', 'letter')
    """
    return "letter" if find_locale(locale).territory in LETTER else "A4"


def _with_places(pattern: NumberPattern, least: int, most: int) -> NumberPattern:
    own = copy.copy(pattern)
    own.frac_prec = (least, most)
    return own


def _tenths(length_m: float) -> Decimal:
    return round_to(Decimal(repr(length_m)), 1)

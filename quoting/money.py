"""Decimals that are money: made, rounded half up, shared out. Nothing else in the project rounds money."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal, InvalidOperation

ZERO = Decimal(0)
ONE = Decimal(1)
_STEPS = tuple(ONE.scaleb(-places) for places in range(16))  # of so many decimal places

# ISO 4217 minor units that are not 2 (list as of 2025/2026). CLDR differs for some, so formats never decide.
_NOT_TWO = {
    0: "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF",
    3: "BHD IQD JOD KWD LYD OMR TND",
    4: "CLF UYW",
}
_MINOR_UNITS = {currency: places for places, currencies in _NOT_TWO.items() for currency in currencies.split()}


def minor_units(currency: str) -> int:
    """Decimal places of a currency. ISO 4217.

    >>> minor_units("JPY"), minor_units("USD")
    (0, 2)
    """
    return _MINOR_UNITS.get(currency, 2)


def round_to(amount: Decimal, places: int) -> Decimal:
    """Half up (away from zero) to so many places.

    >>> round_to(Decimal("2.675"), 2), round_to(Decimal("-2.5"), 0)
    (Decimal('2.68'), Decimal('-3'))
    """
    return amount.quantize(_STEPS[places], rounding=ROUND_HALF_UP)


def r2(amount: Decimal, currency: str = "USD") -> Decimal:
    """Half up to the currency's minor unit."""
    return round_to(amount, minor_units(currency))


def ceil(amount: Decimal) -> Decimal:
    """The next whole number, at least the amount itself."""
    return amount.to_integral_value(rounding=ROUND_CEILING)


def parse(text: str) -> Decimal | None:
    """A Decimal from a plain number as a catalogue stores it ("1250.50"); None for anything else, NaN included."""
    try:
        value = Decimal(text.strip())
    except InvalidOperation:
        return None
    return value if value.is_finite() else None


def share(total: Decimal, weights: Sequence[Decimal], currency: str = "USD") -> tuple[Decimal, ...]:
    """`total` split in proportion to the weights, cumulatively, so that the parts sum to it to the cent.

    Part i is r2(T x P_i) - r2(T x P_(i-1)), P the running share; the last P is 1. All weights zero: all in the
    last part. No weights: no parts.
    """
    return split(total, weights, minor_units(currency))


def split(total: Decimal, weights: Sequence[Decimal], places: int) -> tuple[Decimal, ...]:
    """`share` to so many places: lengths of cable split like money."""
    if not weights:
        return ()
    whole = sum(weights, ZERO)
    parts: list[Decimal] = []
    running, given = ZERO, ZERO
    for index, weight in enumerate(weights):
        running += weight
        last = index == len(weights) - 1
        upto = total if last else (round_to(total * running / whole, places) if whole else ZERO)
        parts.append(upto - given)
        given = upto
    return tuple(parts)

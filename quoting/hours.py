"""Three-point hours: what to expect, how far they may stray, what four jobs of five stay within.

The model: an hour figure is normal with the PERT mean and sigma, so that its P50 is its mean. What makes one task of a
group go wrong makes its others go wrong too: inside a group tasks move together and sigmas add; groups are
independent, so between them squares add.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable
from decimal import Decimal

from quoting.money import ZERO, round_to

P80_SIGMAS = Decimal("0.8416")  # the standard normal's 80th percentile, 4 places


def expected_hours(low: Decimal, likely: Decimal, high: Decimal) -> Decimal:
    """The mean of a three-point estimate, not rounded. [h]

    (low + 4 likely + high) / 6. Reference: PERT; a management-science textbook problem (flylib.com, PERT/CPM).

    >>> expected_hours(Decimal(5), Decimal(8), Decimal(17))
    Decimal('9')
    """
    return (low + 4 * likely + high) / 6


def spread_hours(spans: Iterable[tuple[Hashable, Decimal, Decimal]]) -> Decimal:
    """One standard deviation of tasks together, from (group, low, high) of each. [h]

    A task's sigma is (high - low) / 6; sigmas add inside a group and in squares between groups. Reference: PERT,
    (b - a) / 6; the variances of the same problem's activities 1 and 2 are 4 and 1. The grouping is this project's.

    >>> round(spread_hours([(1, Decimal(5), Decimal(17)), (2, Decimal(7), Decimal(13))]) ** 2, 9)
    Decimal('5.000000000')
    """
    groups: dict[Hashable, Decimal] = {}
    for group, low, high in spans:
        groups[group] = groups.get(group, ZERO) + (high - low) / 6
    return sum((sigma * sigma for sigma in groups.values()), ZERO).sqrt()


def within_p80(expected: Decimal, sigma: Decimal) -> Decimal:
    """Hours that four jobs of five stay within: expected + 0.8416 sigma, 2 places. [h]

    Reference: normal table, P(z <= 0.8416) = 0.80.

    >>> within_p80(Decimal(0), Decimal(100))
    Decimal('84.16')
    """
    return round_to(expected + P80_SIGMAS * sigma, 2)

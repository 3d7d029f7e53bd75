"""What the crew and the family keep to whatever is designed, in words: what two people lift, how warm a rack may be."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from quoting.documents.floor_plan import FactRow
from quoting.quote import Quote
from quoting.units import KG_PER_LB


def work_limits(quote: Quote) -> FactRow:
    """The job's limits."""
    return quote.facts["work_limits"][0]


def lift_words(limits: Mapping[str, Any]) -> str:
    """What is heavier two people lift.

    >>> lift_words({"two_lift_kg": 22.68})
    '50 lb (23 kg)'
    """
    return f"{limits['two_lift_kg'] / KG_PER_LB:.0f} lb ({limits['two_lift_kg']:.0f} kg)"


def rack_air_words(limits: Mapping[str, Any]) -> str:
    """The warmest air at the top of a rack, never more in one unit than in the other.

    >>> rack_air_words({"rack_air_f": 85.0})
    '85 F (29 C)'
    """
    return f"{limits['rack_air_f']:.0f} F ({math.floor((limits['rack_air_f'] - 32) / 1.8)} C)"

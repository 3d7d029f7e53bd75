"""Which cable ratings may stand in for which, and the part of a role that a place may be wired with."""

from __future__ import annotations

import functools
from collections.abc import Mapping

from quoting.catalog.records import CableSpec
from quoting.engineering.brief import Brief
from quoting.engineering.cable_gauge import area_of
from quoting.tables.decision import Standards, Unanswered


def serves(standards: Standards, offered: str, wanted: str) -> bool:
    """Whether a cable of one rating may lie where another is asked for: itself, or down the table of substitutes."""
    return wanted in replaces(standards, offered)


@functools.lru_cache(maxsize=256)
def replaces(standards: Standards, rating: str) -> Mapping[str, int]:
    """Every rating that a rating may stand in for, itself included, with the fewest steps down to it.

    The table names direct substitutes only; what may replace a substitute may replace what that replaces. A rating
    that the table lacks replaces itself alone.
    """
    steps = {rating: 0}
    reached = [rating]
    for name in reached:
        for weaker in _direct(standards, name):
            if weaker not in steps:
                steps[weaker] = steps[name] + 1
                reached.append(weaker)
    return steps


def _direct(standards: Standards, rating: str) -> tuple[str, ...]:
    try:
        text = standards.ask("rating_substitute", rating=rating).text("may_replace")
    except Unanswered:
        return ()
    return tuple(word.strip() for word in text.split(";") if word.strip())


def part_with(brief: Brief, role: str, area_mm2: float, rating: str) -> str:
    """The part of a role with this conductor (0: any) and a rating that may serve; the least strict first."""
    parts = brief.catalog.parts_for(role, brief.option, brief.job.gauge_system)
    specs = [brief.catalog.cables[part] for part in parts if part in brief.catalog.cables]
    fitting: list[tuple[int, int, CableSpec]] = []
    for order, spec in enumerate(specs):
        steps = replaces(brief.catalog.standards, spec.rating).get(rating)
        if steps is not None and (not area_mm2 or abs(area_of(spec) - area_mm2) < 0.01):
            fitting.append((steps, order, spec))
    return min(fitting)[2].part if fitting else ""

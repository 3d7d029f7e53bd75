"""What the purchase list and the files for other programs need beside the bill, from the catalogue's tables."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable
from typing import cast

from quoting.buying_inputs import PartBuying
from quoting.catalog.records import Catalog
from quoting.job import Job
from quoting.lines import PHASES, Phase
from quoting.quote import BuyingInputs, Substitute
from quoting.workdays import DAY, WorkCalendar, day_before_rise, office_calendar, order_day

LONG_LEAD, ONE_ORDER = "long lead", "one order"  # rows of standards/buying.csv


def office_of(job: Job, catalog: Catalog) -> WorkCalendar:
    """The days on which the job's orders are placed, by the calendar of its place."""
    place = catalog.places.get(job.terms.tax_place)
    return office_calendar((place.holidays if place else "") or "", catalog.free_days)


def part_ways(catalog: Catalog) -> dict[str, PartBuying]:
    """Parts that are not bought like others, by standards/part_buying.csv."""
    return {row.text("part"): PartBuying(
        coloured=row.yes("coloured"), colour_days=int(row.decimal("colour_days")),
        ordered_with=row.text("ordered_with"), on_the_day=row.yes("on_the_day"), enclose=row.text("enclose"))
        for row in catalog.standards.rows("part_buying")}


def buying_inputs(
    job: Job, catalog: Catalog, parts: Iterable[str], office: WorkCalendar, wanted: Collection[datetime.date] = (),
    stock_file: str = "",
) -> BuyingInputs:
    """Days, substitutes of these parts and codes; what the catalogue does not say is 0 or empty. `wanted`: the days by
    which parts have come."""
    used = set(parts)
    days = {answer.text("item"): int(answer.decimal("value")) for answer in catalog.standards.rows("buying")}
    ways = {part: way for part, way in part_ways(catalog).items() if part in used}
    return BuyingInputs(
        long_lead_days=days.get(LONG_LEAD, 0), stock_file=stock_file,
        one_order_days=days.get(ONE_ORDER, 0), parts=ways, gates=_gates(job, catalog),
        closed=_closed(office, wanted, max((
            max(catalog.parts[part].lead_days, ways[part].colour_days if part in ways else 0) for part in used
        ), default=0), _rises(job, catalog, used)),
        substitutes=tuple(
            Substitute(part=row.part, substitute=row.substitute, description=other.description,
                       lead_days=other.lead_days, note=row.note)
            for row in catalog.substitutes if row.part in used and (other := catalog.parts.get(row.substitute))),
        not_carried=_not_carried(catalog),
        codes={f"{answer.text('kind')} {answer.text('name')}": answer.text("code")
               for answer in catalog.standards.rows("exchange_code")},
    )


def _gates(job: Job, catalog: Catalog) -> dict[str, int]:
    """The last payment that the place's plan has before orders of each phase, by its number; a phase without one may
    be ordered at once. What runs along with the whole job is ordered with the first."""
    place = catalog.places.get(job.terms.tax_place)
    gates: dict[str, int] = {}
    for number, phase in enumerate(PHASES):
        steps = [int(row.text("step")) for row in catalog.standards.rows("order_gate")
                 if place and row.text("plan") == place.plan
                 and PHASES.index(cast("Phase", row.text("phase"))) <= (0 if phase == "whole job" else number)]
        if steps:
            gates[phase] = max(steps)
    return gates


def _rises(job: Job, catalog: Catalog, parts: Iterable[str]) -> set[datetime.date]:
    """The days from which parts cost more, as far as that is known."""
    return {price.rise[0] for part in parts for price in catalog.prices.get((part, job.terms.currency), ())
            if price.rise}


def _closed(
    office: WorkCalendar, wanted: Collection[datetime.date], longest_lead_days: int, rises: Collection[datetime.date]
) -> tuple[datetime.date, ...]:
    """The holidays among the days on which something may have to be ordered: by its lead time, or before a rise."""
    if not wanted:
        return ()
    first = min((order_day(min(wanted), longest_lead_days, office), *(day_before_rise(rise, office) for rise in rises)))
    days = (first + step * DAY for step in range((max(wanted) - first).days + 1))
    return tuple(day for day in days if day.weekday() in office.weekdays and not office.works_on(day))


def _not_carried(catalog: Catalog) -> tuple[str, ...]:
    """Categories that standards/picking.csv keeps off the van; none where the catalogue has no such table."""
    if "picking" not in catalog.standards.tables:
        return ()
    categories = dict.fromkeys(part.category for part in catalog.parts.values())
    return tuple(name for name in categories if not catalog.standards.ask("picking", category=name).yes("carried"))

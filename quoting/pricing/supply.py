"""Parts that cannot be had any more, and parts that come later than the phase that needs them."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from quoting.buying import phase_needing
from quoting.buying_inputs import PartBuying
from quoting.catalog.records import Catalog, Part
from quoting.job import Job
from quoting.lines import MaterialRow, Phase
from quoting.problems import Cell, Problem, stop, warning
from quoting.workdays import WorkCalendar, order_day


def discontinued_parts(job: Job, rows: Iterable[MaterialRow], catalog: Catalog) -> tuple[Problem, ...]:
    """A stop for each part that nobody makes any more, at the cell that asks for it."""
    found: dict[str, Problem] = {}
    for row in rows:
        part = catalog.parts.get(row.part)
        if part is not None and part.discontinued and row.need:
            found.setdefault(row.part, stop(
                _asked_at(job, row, catalog), "part-discontinued",
                f"Part '{row.part}' ({part.description}) is discontinued{_instead(part.note)}.",
                f"{_type_instead(job, row)}, or correct its row in parts.csv if it can still be had."))
    return tuple(found.values())


def _instead(note: str) -> str:
    return f": {note.strip().rstrip('.')}" if note.strip() else ""


def _type_instead(job: Job, row: MaterialRow) -> str:
    if any(entry.what == "part" and entry.value == row.part for entry in job.overrides):
        return "Type another part under 'New value'"
    if row.because[-1].fact.startswith("EXT-"):
        return "Type another part under 'Part' on Extras"
    return "Name the part that replaces it in the role's row"


def _asked_at(job: Job, row: MaterialRow, catalog: Catalog) -> Cell:
    """The override, the extra asked for by number, else the role that names the part, else its own row."""
    overrides = [entry.where for entry in job.overrides if entry.what == "part" and entry.value == row.part]
    if overrides:
        return overrides[0]
    reason = row.because[-1]
    if reason.fact.startswith("EXT-") and reason.cells:
        return reason.cells[0]
    roles = (role.where for role in catalog.roles.values() for parts in role.parts.values() if row.part in parts)
    return next(roles, catalog.parts[row.part].where)


@dataclass(frozen=True, slots=True)
class PartDays:
    """When parts are wanted, in the option that is first."""

    begins: Mapping[str, datetime.date]  # the first day of each phase
    wanted: Mapping[str, datetime.date]  # the day by which its parts have come
    early: Mapping[str, str]  # loudspeakers out of whose box the rough-in needs something: id -> part
    coloured: frozenset[str]  # rooms in another colour than parts come in
    ways: Mapping[str, PartBuying]  # how some parts are bought
    office: WorkCalendar

    def order_by(self, row: MaterialRow, part: Part) -> datetime.date | None:
        """The last day to order a row's part; None where its phase has no date."""
        way = self.ways.get(row.part, PartBuying())
        need_by = (self.begins if way.on_the_day else self.wanted).get(phase_needing(row, self.early))
        return order_day(need_by, self.lead_days(row, part), self.office) if need_by else None

    def lead_days(self, row: MaterialRow, part: Part) -> int:
        """A part's own, or that of its room's colour."""
        way = self.ways.get(row.part, PartBuying())
        return way.colour_days or part.lead_days if way.coloured and row.room in self.coloured else part.lead_days


def late_parts(
    job: Job, rows: Iterable[MaterialRow], days: PartDays, on: datetime.date, catalog: Catalog
) -> tuple[Problem, ...]:
    """One warning for each phase that parts ordered on the quote's day reach too late.

    A start before the quote's day is a slip that intake reports, and may be unknown; nothing can be said of its phases.
    Lead times are calendar days.
    """
    if job.start_date is None or job.start_date < on:
        return ()
    late: dict[Phase, dict[str, int]] = {}
    for row in rows:
        part = catalog.parts.get(row.part)
        order_by = days.order_by(row, part) if part and row.need else None
        if part and order_by and on > order_by:
            late.setdefault(phase_needing(row, days.early), {})[row.part] = days.lead_days(row, part)
    return tuple(_late(job, phase, parts, days.begins[phase], days.wanted[phase], on) for phase, parts in late.items())


def _late(job: Job, phase: Phase, parts: Mapping[str, int], begins: datetime.date, wanted: datetime.date,
          on: datetime.date) -> Problem:
    slowest = max(parts, key=lambda part: (parts[part], part))
    rest = len(parts) - 1
    others = f" {rest} other part{'s are' if rest > 1 else ' is'} late for it too." if rest else ""
    comes = on + datetime.timedelta(days=parts[slowest])
    return warning(
        job.where("start_date")[0], "part-late",
        f"'{slowest}' is needed for {phase} from {begins.isoformat()}, takes {parts[slowest]} days to get and comes on "
        f"{comes.isoformat()} at the earliest; it is wanted by {wanted.isoformat()}.{others}",
        f"Type a start date at least {(comes - wanted).days} days later, or choose a part that is in stock.")

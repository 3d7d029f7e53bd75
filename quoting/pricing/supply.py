"""Parts that cannot be had any more, and parts that come later than the phase that needs them."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping

from quoting.catalog.records import Catalog
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


def late_parts(
    job: Job, rows: Iterable[MaterialRow], begins: Mapping[str, datetime.date], wanted: Mapping[str, datetime.date],
    on: datetime.date, catalog: Catalog, office: WorkCalendar,
) -> tuple[Problem, ...]:
    """One warning for each phase that parts ordered on the quote's day reach too late.

    `begins`: the first day of each phase; `wanted`: the day by which its parts have come. A start before the quote's
    day is a slip that intake reports, and may be unknown; nothing can be said of its phases. Lead times are calendar
    days.
    """
    if job.start_date is None or job.start_date < on:
        return ()
    late: dict[Phase, dict[str, int]] = {}
    for row in rows:
        part = catalog.parts.get(row.part)
        if part is None or not row.need or row.phase not in begins:
            continue
        if on > order_day(wanted.get(row.phase, begins[row.phase]), part.lead_days, office):
            late.setdefault(row.phase, {})[row.part] = part.lead_days
    return tuple(_late(job, phase, parts, begins[phase], wanted.get(phase, begins[phase]), on)
                 for phase, parts in late.items())


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

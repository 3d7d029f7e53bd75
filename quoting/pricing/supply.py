"""Parts that cannot be had any more, and parts that come later than the phase that needs them."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable, Mapping, Sequence

from msgspec import Struct

from quoting.buying import PLAIN, EarlyBox, PartLot, phase_needing
from quoting.buying_inputs import PartBuying
from quoting.catalog.records import Catalog
from quoting.job import Job
from quoting.lines import MaterialRow, Phase
from quoting.problems import Cell, Problem, stop, warning
from quoting.workdays import DAY, WorkCalendar, order_day


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


class PartDays(Struct, frozen=True):
    """When parts are wanted, in the option that is first."""

    begins: Mapping[str, datetime.date]  # the first day of each phase
    wanted: Mapping[str, datetime.date]  # the day by which its parts have come
    early: Collection[EarlyBox]  # loudspeakers out of whose box the rough-in needs something
    coloured: Collection[str]  # rooms in another colour than parts come in
    ways: Mapping[str, PartBuying]  # how some parts are bought
    lead_times: Mapping[PartLot, int]
    office: WorkCalendar

    def need_by(self, row: MaterialRow) -> datetime.date | None:
        """When a row's part has come, a hire its first day; None where its phase has no date."""
        on_the_day = self.ways.get(row.part, PLAIN).on_the_day
        return (self.begins if on_the_day else self.wanted).get(phase_needing(row, self.early))

    def order_by(self, row: MaterialRow) -> datetime.date | None:
        """The last day to order it."""
        need_by = self.need_by(row)
        return order_day(need_by, self.lead_days(row), self.office) if need_by else None

    def lead_days(self, row: MaterialRow) -> int:
        """How long it takes, in its room's colour where it comes in that."""
        return self.lead_times[row.part, in_room_colour(row, self.ways, self.coloured)]


def in_room_colour(row: MaterialRow, ways: Mapping[str, PartBuying], coloured: Collection[str]) -> bool:
    """Whether a row's part is ordered in a colour of its own. `coloured`: the rooms that have one."""
    return row.room in coloured and ways.get(row.part, PLAIN).coloured


class _Late(Struct, frozen=True):
    """A part that is ordered at once and comes too late."""

    part: str
    lead_days: int
    comes: datetime.date
    wanted: datetime.date

    @property
    def days(self) -> int:
        """So many too late."""
        return (self.comes - self.wanted).days


def late_parts(job: Job, rows: Iterable[MaterialRow], days: PartDays, on: datetime.date) -> tuple[Problem, ...]:
    """One warning for each phase that parts reach too late which are ordered on the quote's day, or on the first day
    after it on which orders are taken.

    A start before the quote's day is a slip that intake reports, and may be unknown; nothing can be said of its phases.
    Lead times are calendar days.
    """
    if job.start_date is None or job.start_date < on:
        return ()
    ordered = days.office.on_or_after(on)
    late: dict[Phase, dict[str, _Late]] = {}
    for row in rows:
        wanted = days.need_by(row) if row.need else None
        if wanted is None:
            continue
        lead_days = days.lead_days(row)
        each = _Late(row.part, lead_days, ordered + lead_days * DAY, wanted)
        if each.days > 0:
            its = late.setdefault(phase_needing(row, days.early), {})
            its[row.part] = max(each, its.get(row.part, each), key=lambda late: late.days)
    return tuple(_late(job, phase, tuple(its.values()), days.begins[phase]) for phase, its in late.items())


def _late(job: Job, phase: Phase, parts: Sequence[_Late], begins: datetime.date) -> Problem:
    latest = max(parts, key=lambda each: (each.days, each.part))
    rest = len(parts) - 1
    others = f" {rest} other part{'s are' if rest > 1 else ' is'} late for it too." if rest else ""
    return warning(
        job.where("start_date")[0], "part-late",
        f"'{latest.part}' is needed for {phase} from {begins.isoformat()}, takes {latest.lead_days} days to get and "
        f"comes on {latest.comes.isoformat()} at the earliest; it is wanted by {latest.wanted.isoformat()}.{others}",
        f"Type a start date at least {latest.days} day{'s' if latest.days > 1 else ''} later, or choose a part that is "
        "in stock.")

"""Hours become visits and risk: crews, half-days, trips, travel and P80 by phase, for the second pass of the rules."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Final

from msgspec import Struct

from quoting.catalog.records import Catalog
from quoting.facts import Fact, JobEffort, PhaseEffort
from quoting.hours import spread_hours, within_p80
from quoting.job import Job
from quoting.lines import PHASES, LabourRow, Phase, Rows, TaskTime
from quoting.money import ONE, ZERO, ceil, round_to
from quoting.problems import Problem, stop
from quoting.tables.decision import Answer
from quoting.units import to_quantity

# A fact's id is at most 10 characters, and some phases are longer.
PHASE_IDS: dict[Phase, str] = {
    "survey and design": "survey", "rough-in": "rough-in", "trim-out": "trim-out", "rack build": "rack",
    "commissioning": "commission", "handover": "handover", "whole job": "whole job",
}
BEFORE: Final[TaskTime] = "before the order"
BESIDE: Final[TaskTime] = "beside the crew"
OWN_VISIT: Final[TaskTime] = "a visit of its own"
_EXTRA = "EXT-"  # ids of parts asked for by number
_OFFICE: tuple[Phase, ...] = ("survey and design", "whole job")


def measure_effort(rows: Rows, job: Job, catalog: Catalog) -> tuple[tuple[Fact, ...], tuple[Problem, ...]]:
    """A fact for each phase that has hours, in the order of the phases, and one for the whole job.

    Visits are half-days, because a crew cannot sell the rest of one: half_days = ceil(2 hours / (crew x productive
    hours)), trips = ceil(half_days / 2) where the phase happens in the house. Hours that standards/task_time.csv puts
    elsewhere fill none of them: what came before the order takes no day, a second person beside the crew drives and
    stays for theirs, a later visit has half-days and a trip of its own. Reference: common practice, no source.
    Unanswered where the standard crew has no row for a phase and the house's size.
    """
    work: dict[Phase, list[LabourRow]] = {}
    for row in rows.labour:
        work.setdefault(row.phase, []).append(row)
    area_m2 = sum(room.area_m2 for room in job.rooms)
    phases: list[PhaseEffort] = []
    problems = list(parts_without_hours(rows, catalog))
    for phase in PHASES:
        if sum((row.hours for row in work.get(phase, ())), ZERO) > 0:
            found = _phase_effort(phase, work[phase], area_m2, job, catalog)
            if isinstance(found, Problem):
                problems.append(found)
            else:
                phases.append(found)
    return (*phases, _job_effort(phases, rows, job)), tuple(problems)


def _phase_effort(
    phase: Phase, work: Sequence[LabourRow], area_m2: float, job: Job, catalog: Catalog
) -> PhaseEffort | Problem:
    hours, spread, p80 = _risk(work)
    answer = catalog.standards.ask("crew", phase=phase, area_m2=area_m2)
    crew, productive = answer.decimal("crew"), answer.decimal("productive_hours")
    if crew < 1 or crew != ceil(crew) or productive <= 0:
        return stop(answer.where, "crew-row", f"Row '{answer.row}' gives '{phase}' a crew of '{crew:f}' with "
                    f"'{productive:f}' productive hours; allowed are whole people and hours above 0.",
                    "Type at least 1 person and the hours that one person works in a day, such as 6.25.")
    on_site = answer.yes("on_site")
    times = {row.text("task"): row for row in catalog.standards.rows("task_time")}
    its = _by_time(work, times)
    agreed = its.get(OWN_VISIT, ZERO)
    stays = [_Stay(hours - sum(its.values(), ZERO), crew, productive), _Stay(agreed, crew, productive)]
    beside = _Stay(its.get(BESIDE, ZERO), ONE, productive)
    people = (*stays, beside) if on_site else ()
    travel = sum((stay.trips * 2 * stay.crew * to_quantity(job.travel_hours, "hour", 6) for stay in people), ZERO)
    # In the office and the shop other jobs fill the rest of a half-day; in the customer's house nothing does.
    return PhaseEffort(
        id=PHASE_IDS[phase], phase=phase, wall_state=job.wall_state, hours=float(hours), on_site=on_site,
        crew=int(crew), productive_hours=float(productive), half_days=sum(stay.half_days for stay in stays),
        trips=sum(stay.trips for stay in stays) if on_site else 0,
        crew_days=float(sum((stay.crew_days for stay in (*stays, beside)), ZERO)),
        travel_hours=float(round_to(travel, 2)),
        remainder_hours=float(sum((stay.remainder for stay in people), ZERO)), spread_hours=spread, p80_hours=p80,
        before_hours=float(its.get(BEFORE, ZERO)), beside_hours=float(beside.hours), agreed_hours=float(agreed),
        agreed_half_days=stays[1].half_days,
        before=_tasks(work, times, BEFORE), beside=_tasks(work, times, BESIDE), agreed=_tasks(work, times, OWN_VISIT),
        where=job.where("travel_hours", "wall_state"),
        decided=(answer.decided, *dict.fromkeys(
            times[row.task].decided for row in work if row.hours and row.task in times)),
    )


def _by_time(work: Iterable[LabourRow], times: Mapping[str, Answer]) -> dict[str, Decimal]:
    """The hours of each time other than the crew's own."""
    found: dict[str, Decimal] = {}
    for row in work:
        if row.task in times:
            time = times[row.task].text("time")
            found[time] = found.get(time, ZERO) + row.hours
    return found


def _tasks(work: Iterable[LabourRow], times: Mapping[str, Answer], time: TaskTime) -> str:
    """The tasks of a time that have hours, once each."""
    return ", ".join(dict.fromkeys(row.task for row in work if row.hours and row.task in times
                                   and times[row.task].text("time") == time))


class _Stay(Struct, frozen=True):
    """Hours that so many people work off in half-days, because nobody can sell the rest of one."""

    hours: Decimal
    crew: Decimal
    productive_hours: Decimal

    @property
    def half_days(self) -> int:
        return int(ceil(2 * self.hours / (self.crew * self.productive_hours)))

    @property
    def trips(self) -> int:
        return -(-self.half_days // 2)

    @property
    def crew_days(self) -> Decimal:
        return Decimal(self.half_days) / 2 * self.crew

    @property
    def remainder(self) -> Decimal:
        return self.crew_days * self.productive_hours - self.hours


def _risk(work: Sequence[LabourRow]) -> tuple[Decimal, float, float]:
    """Expected hours, their spread, and P80."""
    hours = sum((row.hours for row in work), ZERO)
    spread = spread_hours(((row.phase, row.wall_state), row.low, row.high) for row in work)
    return hours, float(round_to(spread, 2)), float(within_p80(hours, spread))


def parts_without_hours(rows: Rows, catalog: Catalog) -> Iterator[Problem]:
    """A stop for each part that somebody must fit (its labour class is not none) and for which the rules give no hour.

    The hours count where a task of the part's class comes from the same fact as the part or from its room; an extra
    asked for by number has a task of its own. What an estimator set to nothing by an override stays so.
    """
    facts: set[tuple[str, str]] = set()
    rooms: set[tuple[str, str]] = set()
    for done in rows.labour:
        if done.ruled_hours > 0:
            work = catalog.tasks[done.task].labour_class
            facts |= {(work, reason.fact) for reason in done.because}
            facts |= {("", reason.fact) for reason in done.because if reason.fact.startswith(_EXTRA)}
            rooms.add((work, done.room))
    told: set[str] = set()
    for row in rows.materials:
        part = catalog.parts.get(row.part)
        if part is None or part.labour_class == "none" or row.part in told or not row.need:
            continue
        worked = any((wanted, reason.fact) in facts for reason in row.because for wanted in (part.labour_class, ""))
        if not worked and (part.labour_class, row.room) not in rooms:
            told.add(row.part)
            yield stop(part.where, "part-without-hours",
                       f"Part '{row.part}' ({row.id}) wants {part.labour_class}, and no task of that class has hours "
                       f"for it in this job.",
                       "Add hours to the task in labour.csv, a rule that adds the task, or give the part labour class "
                       "none.")


def _job_effort(phases: list[PhaseEffort], rows: Rows, job: Job) -> JobEffort:
    """The crew-days are those in the house: what is loaded, protected and cleaned."""
    def hours(labour: tuple[LabourRow, ...]) -> float:
        return float(sum((row.hours for row in labour), ZERO))
    _, spread, p80 = _risk(rows.labour)
    return JobEffort(
        id="EFFORT", wall_state=job.wall_state, hours=hours(rows.labour),
        field_hours=hours(tuple(row for row in rows.labour if row.phase not in _OFFICE)),
        trips=sum(phase.trips for phase in phases),
        crew_days=sum(phase.crew_days for phase in phases if phase.on_site),
        material_rows=len(rows.materials), parts=len({row.part for row in rows.materials}),
        spread_hours=spread, p80_hours=p80, basis=tuple(phase.id for phase in phases),
        where=job.where("travel_hours", "wall_state"),
        decided=tuple(dict.fromkeys(row for one in phases for row in one.decided)),
    )

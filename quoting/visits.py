"""Phases become visits: how many half-days by how many people, on which working days, after whose work."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import cast

from msgspec import Struct

from quoting.catalog.records import Catalog, Place
from quoting.facts import Fact, PhaseEffort, Pull, RoomFact, of
from quoting.job import Job
from quoting.lines import PHASES, Phase, StatementLine
from quoting.problems import Problem, stop, warning
from quoting.tables.decision import Answer
from quoting.timetable import AgreedVisit, PhaseDays, Timetable, Visit
from quoting.workdays import USUAL_WEEK, FreeDay, WorkCalendar, is_known, read_week, work_calendar

CODES: dict[Phase, str] = {
    "survey and design": "SD", "rough-in": "RI", "trim-out": "TO", "rack build": "RB", "commissioning": "CO",
    "handover": "HO",
}
# One after the other in the house, each so many working days after the one before it has ended.
IN_THE_HOUSE: tuple[Phase, ...] = ("rough-in", "trim-out", "commissioning", "handover")
# At the desk and in the shop: each ends so many working days before the phase that waits for it begins.
AHEAD_OF: dict[Phase, Phase] = {"survey and design": "rough-in", "rack build": "commissioning"}
Span = tuple[int, int]  # first and last working day


class WorkDates(Struct, frozen=True):
    """Working days of a job by number: day 1 is the first on site."""

    calendar: WorkCalendar
    start: datetime.date  # a working day

    def date(self, day: int) -> datetime.date:
        """The date of a working day."""
        return self.calendar.moved(self.start, day - 1)

    def day(self, date: datetime.date) -> int:
        """The number of a date's working day, or of the next one; 1 for whatever lies before the start."""
        return 1 + self.calendar.workdays_to(self.start, self.calendar.on_or_after(max(date, self.start)))


def work_dates(job: Job, catalog: Catalog) -> tuple[WorkDates | None, tuple[Problem, ...]]:
    """The job's working days, by the calendar of its place; None without a start date or a calendar.

    A start that nobody works on is told of, and the next working day taken.
    """
    calendar, problems = _calendar(catalog.places.get(job.terms.tax_place), catalog.free_days)
    problems = (*problems, *_wrong_gaps(catalog))
    if calendar is None or job.start_date is None:
        return None, problems
    start = calendar.on_or_after(job.start_date)
    if start != job.start_date:
        problems = (*problems, warning(
            job.where("start_date")[0], "start-on-free-day",
            f"Start date '{job.start_date.isoformat()}' is a {_weekday(job.start_date)}"
            f"{'' if job.start_date.weekday() not in calendar.weekdays else ' and a holiday'}: nobody works "
            f"on it in {job.terms.tax_place}. The work is planned from {start.isoformat()}.",
            f"Type {start.isoformat()}, or another working day."))
    return WorkDates(calendar, start), problems


def _weekday(day: datetime.date) -> str:
    return ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday")[day.weekday()]


def _calendar(
    place: Place | None, free_days: tuple[FreeDay, ...]
) -> tuple[WorkCalendar | None, tuple[Problem, ...]]:
    """The working week and the public holidays that a place's row of terms.csv names."""
    if place is None:
        return work_calendar(USUAL_WEEK, "", free_days), ()
    week = read_week(place.work_week) if place.work_week else USUAL_WEEK
    if week is None:
        return None, (stop(place.where, "work-week", f"The working week '{place.work_week}' of '{place.place}' is not "
                           "a list of days; allowed are Mon, Tue, Wed, Thu, Fri, Sat, Sun.",
                           "Type it like Mon-Fri, or Mon, Tue, Thu."),)
    calendar = work_calendar(week, place.holidays or "", free_days)
    if place.holidays and not calendar.known and not is_known(calendar.country, calendar.subdivision):
        return None, (stop(place.where, "unknown-calendar", f"The holiday calendar '{place.holidays}' of "
                           f"'{place.place}' is not known; allowed are a country's two letters (ISO 3166-1), and "
                           "those of a part of it behind a hyphen.",
                           "Type it like US, DE-BY or ES-CT, or leave it empty: then only the working week counts."),)
    return calendar, ()


def _wrong_gaps(catalog: Catalog) -> Iterator[Problem]:
    for row in catalog.standards.rows("phase_gap"):
        for name in ("gap_days", "parts_days"):
            if row.decimal(name) < 0 or row.decimal(name) % 1:
                yield stop(row.where, "gap-row", f"Row '{row.row}' gives {name} '{row.decimal(name):f}'; allowed are "
                           "whole working days, 0 or more.", "Type a whole number, such as 3.")


def plan_visits(
    facts: Iterable[Fact], statements: Iterable[StatementLine], job: Job, catalog: Catalog, dates: WorkDates | None
) -> Timetable:
    """When each phase of one option happens, from its half-days and the gaps of standards/phase_gap.csv. `facts` are
    the shared ones, the option's own and those of its hours.

    A typed fitting date stands in for the gap before trim-out, unless the cabling ends later.

    Common practice, no source: phases in the house follow each other, a crew works both halves of each of its days,
    the rack is built in the shop so that it is ready for commissioning and not before day 1, design is done before
    day 1. Unanswered where phase_gap has no row for a phase and the house's wall state.
    """
    known = tuple(facts)
    efforts = {effort.phase: effort for effort in of(known, PhaseEffort)}
    closed_by_others: dict[str, float] = {
        "chase_m": sum(pull.chase_m for pull in of(known, Pull)),
        "opened_rooms": sum(room.wall_state == "finished" and room.access == "none" and room.cables > 0
                            for room in of(known, RoomFact))}
    gaps = {phase: catalog.standards.ask("phase_gap", phase=phase, wall_state=job.wall_state, **closed_by_others)
            for phase in PHASES}
    spans = _spans({phase: -(-(effort.half_days - effort.agreed_half_days) // 2) for phase, effort in efforts.items()},
                   {phase: int(gap.decimal("gap_days")) for phase, gap in gaps.items()},
                   dates.day(job.trim_date) if dates and job.trim_date else None)
    needs = _needs(statements, catalog)
    phases = tuple(_phase_days(phase, spans, gaps[phase], dates) for phase in PHASES)
    visits = [visit for phase in CODES if phase in spans
              for visit in _visits(efforts[phase], phase, spans[phase], needs.get(phase, ()), dates)]
    return Timetable(phases=phases, visits=tuple(sorted(visits, key=lambda visit: (visit.first_day, visit.last_day))),
                     agreed=tuple(_agreed(efforts.values(), visits)))


def late_dates(job: Job, timetables: Sequence[Timetable]) -> tuple[Problem, ...]:
    """Warnings for typed days that come too late or too early for the days that are planned."""
    return (*_late_fitting(job, timetables), *_late_internet(job, timetables))


def _late_fitting(job: Job, timetables: Sequence[Timetable]) -> Iterator[Problem]:
    """Where cabling ends after the day that was typed for the fitting, with the day that is planned."""
    ends, begins = _dates_of("rough-in", timetables), _dates_of("trim-out", timetables)
    if job.trim_date is None or not ends or not begins or job.trim_date > max(last for _, last in ends):
        return
    ended, first = max(last for _, last in ends), max(first for first, _ in begins)
    yield warning(
        job.where("trim_date")[0], "fitting-too-soon",
        f"Fitting date '{job.trim_date.isoformat()}' is not after the cabling, which ends on {ended.isoformat()}. "
        f"The fitting is planned from {first.isoformat()}.",
        f"Type {first.isoformat()} or a later day, or leave the cell blank.")


def _late_internet(job: Job, timetables: Sequence[Timetable]) -> Iterator[Problem]:
    """Where setting up begins before the day from which the router works. Setting up does not wait by itself: the house
    may be moved into, and a connection can be had sooner, so that whoever plans decides which of the two gives way."""
    begins = min((first for first, _ in _dates_of("commissioning", timetables)), default=None)
    if job.internet_live is None or begins is None or job.internet_live <= begins:
        return
    yield warning(
        job.where("internet_live")[0], "internet-too-late",
        f"Internet live date '{job.internet_live.isoformat()}' is after {begins.isoformat()}, on which setting up "
        "begins: phones and players cannot be set up before it.",
        f"Have it connected sooner and type a day up to {begins.isoformat()}, or let the work wait: type a later "
        "Fitting date.")


def _dates_of(phase: Phase, timetables: Iterable[Timetable]) -> list[tuple[datetime.date, datetime.date]]:
    """The first and last date of a phase in each option; none without dates."""
    return [(days.first_date, days.last_date) for table in timetables for days in table.phases
            if days.phase == phase and days.first_date and days.last_date]


def _spans(days: Mapping[str, int], gaps: Mapping[Phase, int], fitting: int | None = None) -> dict[Phase, Span]:
    """The first and last working day of each phase that has work; `fitting`: the day from which trim-out may begin."""
    spans: dict[Phase, Span] = {}
    ended = 0
    for phase in IN_THE_HOUSE:
        if days.get(phase):
            first = ended + 1 + (gaps[phase] if ended else 0)
            if phase == "trim-out" and fitting is not None:
                first = max(ended + 1, fitting)
            if phase == "commissioning" and days.get("rack build"):  # the rack is ready by then
                first = max(first, 1 + days["rack build"] + gaps["rack build"])
            ended = first + days[phase] - 1
            spans[phase] = (first, ended)
    for phase, waits in AHEAD_OF.items():
        if days.get(phase):
            last = _begins(waits, spans) - 1 - gaps[phase]
            spans[phase] = (last - days[phase] + 1, last)
    return spans


def _begins(phase: Phase, spans: Mapping[Phase, Span]) -> int:
    """The first day of a phase; of the next one in the house that has work where it has none."""
    later = IN_THE_HOUSE[IN_THE_HOUSE.index(phase):] if phase in IN_THE_HOUSE else ()
    found = next((spans[one][0] for one in later if one in spans), 0)
    return found or max((last for _, last in spans.values()), default=0) + 1


def _phase_days(phase: Phase, spans: Mapping[Phase, Span], gap: Answer, dates: WorkDates | None) -> PhaseDays:
    if phase in spans:
        first, last = spans[phase]
    elif phase == "whole job":
        first, last = 1, max((last for _, last in spans.values()), default=1)
    else:
        first = last = _begins(AHEAD_OF.get(phase, phase), spans)
    early = first - int(gap.decimal("parts_days"))
    return PhaseDays(
        phase=phase, first_day=first, last_day=last, first_date=dates.date(first) if dates else None,
        last_date=dates.date(last) if dates else None,
        parts_date=dates.date(early) if dates else None, parts_day=early, gap=gap.row)


def _needs(statements: Iterable[StatementLine], catalog: Catalog) -> dict[str, tuple[str, ...]]:
    """Phase -> codes of what others must have done before it, in the order of statements.csv."""
    wanted = {line.statement for line in statements}
    needs: dict[str, tuple[str, ...]] = {}
    for code, text in catalog.statements.items():
        if text.before and code in wanted:
            needs[text.before] = (*needs.get(text.before, ()), code)
    return needs


def _visits(
    effort: PhaseEffort, phase: Phase, span: Span, needs: tuple[str, ...], dates: WorkDates | None
) -> Iterator[Visit]:
    half_days = effort.half_days - effort.agreed_half_days
    left_hours = round(effort.hours - effort.before_hours - effort.beside_hours - effort.agreed_hours, 2)
    for number, (first, last) in enumerate(_stretches(span, dates), 1):
        whole = min(half_days, 2 * (last - first + 1))
        hours = min(left_hours, round(whole / 2 * effort.crew * effort.productive_hours, 2))
        yield Visit(
            id=f"{CODES[phase]}{number}", phase=phase, on_site=effort.on_site, crew=effort.crew,
            half_days=whole, first_day=first, last_day=last,
            first_date=dates.date(first) if dates else None, last_date=dates.date(last) if dates else None,
            hours=hours, needs=needs if number == 1 else (), beside_hours=effort.beside_hours if number == 1 else 0.0,
            beside=_names(effort.beside) if number == 1 else ())
        half_days -= whole
        left_hours = round(left_hours - hours, 2)


def _agreed(efforts: Iterable[PhaseEffort], visits: Sequence[Visit]) -> Iterator[AgreedVisit]:
    """The later visits, in the order of the phases; each is numbered on from its phase's others."""
    for effort in efforts:
        phase = cast("Phase", effort.phase)
        if effort.agreed_half_days and phase in CODES:
            number = 1 + sum(visit.phase == phase for visit in visits)
            yield AgreedVisit(id=f"{CODES[phase]}{number}", phase=phase, crew=effort.crew, hours=effort.agreed_hours,
                              half_days=effort.agreed_half_days, tasks=_names(effort.agreed),
                              decided=tuple(row for row in effort.decided if row.startswith("task_time ")))


def _names(listed: str) -> tuple[str, ...]:
    return tuple(listed.split(", ")) if listed else ()


def _stretches(span: Span, dates: WorkDates | None) -> Iterator[Span]:
    """A phase's days, broken wherever a day is free."""
    first, last = span
    if dates is None:
        yield span
        return
    for day in range(first, last):
        if (dates.date(day + 1) - dates.date(day)).days > 1:
            yield first, day
            first = day + 1
    yield first, last

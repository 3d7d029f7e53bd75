"""When the work of one option happens: each phase's days, and the visits in them.

Days are counted in working days: day 1 is the first on site, 0 the working day before it. Dates stand beside them
where the job has a start date.
"""

from __future__ import annotations

import datetime

from msgspec import Struct

from quoting.lines import Phase


class PhaseDays(Struct, frozen=True, kw_only=True):
    """One phase, also one without hours of its own: that one waits with the next phase that has some."""

    phase: Phase
    first_day: int
    last_day: int
    first_date: datetime.date | None  # what others do for this phase is done by then
    last_date: datetime.date | None
    parts_date: datetime.date | None  # its parts have come by then
    parts_day: int = 0  # the same by its number
    gap: str  # the row of standards/phase_gap.csv


class Visit(Struct, frozen=True, kw_only=True):
    """Working days without a break: a weekend or a holiday ends a visit. Without dates a phase is one visit."""

    id: str  # RI1: rough-in, first visit; the same in every paper
    phase: Phase
    on_site: bool  # False: at the desk or in the shop
    crew: int
    half_days: int
    first_day: int
    last_day: int
    first_date: datetime.date | None
    last_date: datetime.date | None
    needs: tuple[str, ...]  # codes of statements: what others must have done before it; with a phase's first visit
    hours: float = 0.0  # of the crew's work in it, person-hours, travel and loading not counted
    beside_hours: float = 0.0  # of a second person who comes for them alone; with a phase's first visit
    beside: tuple[str, ...] = ()  # that person's tasks


class AgreedVisit(Struct, frozen=True, kw_only=True):
    """A later visit of a phase, on a day that is agreed with the family then: it has no date yet."""

    id: str  # HO2: numbered on from the phase's others
    phase: Phase
    crew: int
    half_days: int
    hours: float
    tasks: tuple[str, ...]
    decided: tuple[str, ...] = ()  # the standards behind it, as "task_time TKT-060"


class Timetable(Struct, frozen=True, kw_only=True):
    """One option's: every phase in the order of the phases, and every visit in the order of its days."""

    phases: tuple[PhaseDays, ...]
    visits: tuple[Visit, ...]
    agreed: tuple[AgreedVisit, ...] = ()  # after all of them

    def visits_of(self, phase: Phase) -> tuple[str, ...]:
        """The ids of a phase's visits, in the order of their days."""
        return tuple(visit.id for visit in self.visits if visit.phase == phase)


NO_TIMETABLE = Timetable(phases=(), visits=())

"""An option's timetable as its readers see it: the customer's phases on a timeline, the crew's table of visits."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal

from quoting.documents.crew_sheet import NONE, CrewTable
from quoting.documents.formats import Formats
from quoting.documents.language import Language, in_english
from quoting.documents.proposal_view import TimelineView
from quoting.documents.proposal_words import option_title, phase_title, sentence
from quoting.documents.timeline import WIDE_MM, TimelineBar, TimelineDrawing, timeline_drawing, work_days
from quoting.documents.work_limits import lift_words, work_limits
from quoting.lines import Phase
from quoting.money import round_to
from quoting.quote import PricedOption, Quote, Statement
from quoting.timetable import Visit

VISIT_COLUMNS = ("Visit", "Phase", "Where", "First day", "Last day", "Half-days", "Hours", "People",
                 "By then others have done", "Done")
TO_AGREE = "to be agreed"
NO_BREAK = "\u00a0"
IN_HOUSE, AT_DESK = "house", "desk or shop"
OFF_SITE = {"survey and design": "house, then desk", "rack build": "shop"}


def phase_bars(option: PricedOption, name: Callable[[Phase], str]) -> tuple[TimelineBar, ...]:
    """A bar for each phase that has visits, from its first date to its last; none without dates.

    Half-days are those in the house: what is done at the desk or in the shop takes nobody's day there.
    """
    return tuple(
        TimelineBar(name=name(phase), start=visits[0].first_date, end=visits[-1].last_date,
                    half_days=sum(visit.half_days for visit in visits if visit.on_site))
        for phase, visits in _by_phase(option).items() if visits[0].first_date and visits[-1].last_date)


def _by_phase(option: PricedOption) -> dict[Phase, list[Visit]]:
    found: dict[Phase, list[Visit]] = {}
    for visit in option.timetable.visits:
        found.setdefault(visit.phase, []).append(visit)
    return found


def customer_timeline(
    quote: Quote, option: PricedOption, formats: Formats, language: Language
) -> TimelineView | None:
    """When the work of an option happens, in the customer's words; None without visits.

    Without dates its days are counted from the first in the house, and nothing is drawn.
    """
    words = {phase.phase: phase.words for phase in option.phases}

    def name(phase: Phase) -> str:
        return sentence(words.get(phase, "")) or phase_title(phase, language)

    bars = phase_bars(option, name)
    if not bars:
        return _counted(option, name, formats, language)
    drawn = timeline_drawing("when", bars, quote.job.terms.locale, formats, language)
    last = {other.name: visits[-1].last_date for other in quote.options if (visits := other.timetable.visits)}
    ends = tuple(
        language.gettext("With %(option)s the last day is %(date)s.", option=option_title(other),
                         date=formats.date(date))
        for other in quote.options if other.name != option.name and (date := last.get(other.name)))
    rows = (*drawn.rows, *_later_visits(option, name, formats, language))
    return TimelineView(title=drawn.title, svg=drawn.svg, rows=rows, ends=ends)


def _later_visits(
    option: PricedOption, name: Callable[[Phase], str], formats: Formats, language: Language
) -> Iterator[tuple[str, ...]]:
    """Visits whose day is agreed when the time comes."""
    for visit in option.timetable.agreed:
        yield (language.gettext("%(work)s: a later visit", work=name(visit.phase)),
               language.gettext("on a day agreed with you"), work_days(visit.half_days, formats, language))


def _counted(
    option: PricedOption, name: Callable[[Phase], str], formats: Formats, language: Language
) -> TimelineView | None:
    """The phases with their working days as numbers; design is done before the first."""
    rows: list[tuple[str, ...]] = []
    for phase, visits in _by_phase(option).items():
        first, last = visits[0].first_day, visits[-1].last_day
        if last < 1:
            when = language.gettext("before the first day")
        elif first == last:
            when = language.gettext("working day %(day)s", day=str(first))
        else:
            when = language.gettext("working days %(first)s to %(last)s", first=str(max(first, 1)), last=str(last))
        here = sum(visit.half_days for visit in visits if visit.on_site)
        rows.append((name(phase), when, work_days(here, formats, language)))
    rows += _later_visits(option, name, formats, language)
    title = language.gettext("When the work happens")
    return TimelineView(title=title, svg=None, rows=tuple(rows), ends=()) if rows else None


def crew_timeline(option: PricedOption, formats: Formats, language: Language) -> TimelineDrawing | None:
    """The same days for the crew, who call a phase by its name; None without dates."""
    bars = phase_bars(option, str.capitalize)
    return timeline_drawing("when", bars, formats.locale, formats, language, WIDE_MM) if bars else None


def visit_table(quote: Quote, option: PricedOption, formats: Formats) -> CrewTable:
    """Every visit by its id: when, how long, how many people, and what others have done by then."""
    rows = (*_visit_rows(quote, option, formats), *_agreed_rows(quote, option, formats))
    notes = tuple(_visit_notes(quote, option, formats))
    return CrewTable(title="Visits", columns=VISIT_COLUMNS, rows=rows, notes=notes)


def _visit_notes(quote: Quote, option: PricedOption, formats: Formats) -> Iterator[str]:
    yield ("A visit is working days without a break: weekends and public holidays lie between visits. Hours are the "
           "crew's together, travel and loading not counted.")
    for visit in option.timetable.visits:
        if visit.beside_hours:
            yield (f"{visit.id}: a second person comes for {_hours(visit.beside_hours, formats)} hours. "
                   f"{task_words(quote, visit.beside)}.")
    setting_up = [visit for visit in option.timetable.visits if visit.phase == "commissioning"]
    alone = ", ".join(visit.id for visit in setting_up if visit.crew < 2)
    if alone and not any(visit.beside_hours for visit in setting_up):
        yield (f"{alone} plans one person, and the equipment comes into the house then: ask a second person for the "
               "hours of the delivery; two lift and set what weighs more than "
               f"{lift_words(work_limits(quote))}, and one checks what the other connected.")


def _visit_rows(quote: Quote, option: PricedOption, formats: Formats) -> Iterator[tuple[str, ...]]:
    said = {statement.code: _asked(quote, statement, formats) for statement in quote.statements}
    for visit in option.timetable.visits:
        first, last = (_day(date, day, formats) for date, day in (
            (visit.first_date, visit.first_day), (visit.last_date, visit.last_day)))
        second = f"; a second for {_hours(visit.beside_hours, formats)} h" if visit.beside_hours else ""
        yield (visit.id, visit.phase, IN_HOUSE if visit.on_site else OFF_SITE.get(visit.phase, AT_DESK), first, last,
               formats.quantity(Decimal(visit.half_days)), _hours(visit.hours, formats), f"{visit.crew}{second}",
               " ".join((*(said[code] for code in visit.needs if code in said), *_internet(quote, visit, formats)))
               or NONE, "")


def _asked(quote: Quote, statement: Statement, formats: Formats) -> str:
    """What others have done; with its day where an order waits for it, and not the visit."""
    text = in_english(quote, statement.text)
    return f"{text} By {formats.day(statement.needed_by)}." if statement.ordered and statement.needed_by else text


def _internet(quote: Quote, visit: Visit, formats: Formats) -> Iterator[str]:
    """From when the router works, beside the visit that needs it."""
    live = quote.job.internet_live
    if live and visit.phase == "commissioning" and visit.needs:
        late = ", after this visit begins: ask" if visit.first_date and live > visit.first_date else ""
        yield f"The internet is said to work from {formats.day(live)}{late}."


def _agreed_rows(quote: Quote, option: PricedOption, formats: Formats) -> Iterator[tuple[str, ...]]:
    """Later visits: nobody knows their day yet."""
    for visit in option.timetable.agreed:
        yield (visit.id, f"{visit.phase}: {task_words(quote, visit.tasks)}", IN_HOUSE, TO_AGREE, NONE,
               formats.quantity(Decimal(visit.half_days)), _hours(visit.hours, formats), str(visit.crew), NONE, "")


def task_words(quote: Quote, tasks: Iterable[str]) -> str:
    """Tasks by their descriptions."""
    return "; ".join(quote.tasks[task].description if task in quote.tasks else task for task in tasks)


def _hours(hours: float, formats: Formats) -> str:
    """Planned hours to a tenth: nobody plans closer."""
    return formats.quantity(round_to(Decimal(str(hours)), 1))


def _day(date: datetime.date | None, day: int, formats: Formats) -> str:
    """A day with its weekday; its number, counted from the first on site, where there is no date."""
    return f"day {day}" if date is None else formats.weekday(date).replace(" ", NO_BREAK)

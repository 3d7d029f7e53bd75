"""The order of the stages: workbook -> Job -> facts -> lines -> bill -> Quote -> documents, and nothing else."""

from __future__ import annotations

import datetime
import hashlib
from collections.abc import Mapping, Sequence
from decimal import Decimal
from pathlib import Path

import msgspec
from msgspec import Struct, field
from msgspec.structs import replace

from quoting.bill import make_bill, merge_lines, stale_overrides
from quoting.bill.buying import NO_STOCK
from quoting.buying_inputs import StockItem
from quoting.catalog.read import read_sheets
from quoting.catalog.records import Catalog
from quoting.catalog.spoken import in_english, missing_texts, spoken_in
from quoting.effort import measure_effort
from quoting.engineering.design import design_system
from quoting.facts import CableRun, Design, Fact, JobFact, OptionDesign, RoomUse, of
from quoting.intake.answers import with_answer
from quoting.intake.read import read_job
from quoting.intake.stock import read_stock
from quoting.job import Job, Unknown
from quoting.lines import LabourLine, LabourRow, Line, Rows
from quoting.pricing.quote import OptionWork, price_alone, price_quote
from quoting.pricing.revision import revision_price
from quoting.problems import Problem, has_stop, in_order, stop, warning
from quoting.quote import OpenQuestion, PricedOption, Quote
from quoting.rules.apply import apply_rules
from quoting.rules.read import RuleBook, read_rules
from quoting.tables.decision import Unanswered
from quoting.visits import WorkDates, late_dates, plan_visits, work_dates


class Read(Struct, frozen=True):
    """Everything that was read before anything is designed. `job`, `catalog` or `book` is None where unusable."""

    job: Job | None
    catalog: Catalog | None
    book: RuleBook | None
    fingerprint: str
    on: datetime.date
    problems: tuple[Problem, ...]
    stock: Mapping[str, StockItem] = field(default_factory=dict)  # what is on hand, where a stock list was read


def read_all(
    workbook: Path, folder: Path, date: datetime.date | None, today: datetime.date, stock_list: Path | None = None
) -> Read:
    """Workbook, catalogue and rules, with all reading and cross-check problems of all files in one go.

    The pricing date is `date`, else the job's quote date, else `today`.
    """
    sheets = read_sheets(folder)
    catalog, problems = sheets.as_of(date or today)
    if catalog is None:
        return Read(None, None, None, "", date or today, in_order(problems))
    job, job_problems = read_job(workbook, catalog)
    on = date or (job.terms.quote_date if job is not None else None) or today
    if on != (date or today):
        catalog, problems = sheets.as_of(on)
        if catalog is None:
            return Read(job, None, None, "", on, in_order((*problems, *job_problems)))
    if job is not None:
        job_problems = (*job_problems, *_dates(job, catalog, on, job_problems))
    book, rule_problems = read_rules(folder, catalog)
    stock, stock_problems = read_stock(stock_list, catalog) if stock_list else (NO_STOCK, ())
    fingerprint = hashlib.sha256(workbook.read_bytes()).hexdigest() if job is not None else ""
    found = in_order((*problems, *job_problems, *rule_problems, *stock_problems))
    return Read(job, catalog, book, fingerprint, on, found, stock)


def _dates(job: Job, catalog: Catalog, on: datetime.date, found: Sequence[Problem]) -> list[Problem]:
    """What only the pricing date shows: a start that has passed, a price list that begins later."""
    worries = []
    if not catalog.prices:
        worries.append(stop(job.where("quote_date")[0], "no-prices-yet",
                            f"No price of the catalogue is in force on {on.isoformat()}.",
                            "Type a later quote date, or add the prices of that day to prices.csv."))
    if job.start_date and job.start_date < on and "start-before-quote" not in {problem.code for problem in found}:
        worries.append(warning(job.where("start_date")[0], "start-before-quote",
                               f"Start date '{job.start_date.isoformat()}' is before the pricing date "
                               f"{on.isoformat()}.", "Type the day on which work can really begin."))
    return worries


def quote_workbook(
    workbook: Path, folder: Path, date: datetime.date | None, today: datetime.date, stock_list: Path | None = None
) -> tuple[Quote | None, tuple[Problem, ...]]:
    """A workbook and a catalogue folder to a quote; None where something stops it. What stands on a stock list is not
    bought; it changes no price."""
    read = read_all(workbook, folder, date, today, stock_list)
    if read.job is None or read.catalog is None or read.book is None or has_stop(read.problems):
        return None, read.problems
    return quote_job(read.job, read.catalog, read.book, read.on, read.problems, read.fingerprint, read.stock)


def quote_job(
    job: Job, catalog: Catalog, book: RuleBook, on: datetime.date, problems: Sequence[Problem] = (),
    fingerprint: str = "", stock: Mapping[str, StockItem] = NO_STOCK,
) -> tuple[Quote | None, tuple[Problem, ...]]:
    """A job to a quote in its customer's language, its open questions costed by quoting again with the worse answer."""
    unsaid = missing_texts(catalog, job.terms.locale, job.where("locale")[0])
    english, catalog = catalog, spoken_in(catalog, job.terms.locale)
    questions, worries = _open_questions(job, catalog, book, on)
    house = _whole_house(job, catalog, book, on)
    quote, found = _quote_once(job, catalog, book, on, questions, (*problems, *unsaid, *worries), fingerprint, house,
                               stock)
    if quote is None:
        return None, found
    price, wrong = _revision_price(quote, catalog, book)
    quote = replace(quote, english=in_english(english, catalog, job.terms.tax_place), revision_price=price,
                    rules={rule.id: rule.reads for rule in book.rules})
    return (None if has_stop(wrong) else quote), in_order((*found, *wrong))


def _whole_house(job: Job, catalog: Catalog, book: RuleBook, on: datetime.date) -> PricedOption | None:
    """The fullest option with every wired room playing: what a room that no option equips would cost. None without
    such a room."""
    fullest = catalog.options[-1]
    if all(room.plays_from in (*catalog.options, "never") for room in job.rooms):
        return None
    rooms = tuple(replace(room, plays_from=fullest) if room.plays_from == "later" else room for room in job.rooms)
    playing = replace(job, rooms=rooms, unknowns=())
    try:
        works, _, _ = _work_out(playing, catalog, book, NO_STOCK, only=fullest)
        return price_alone(playing, catalog, works[1][-1], on) if works is not None else None
    except Unanswered:
        return None  # the quote itself stops with the sentence


def _quote_once(
    job: Job, catalog: Catalog, book: RuleBook, on: datetime.date, questions: Sequence[OpenQuestion],
    problems: Sequence[Problem], fingerprint: str, house: PricedOption | None = None,
    stock: Mapping[str, StockItem] = NO_STOCK,
) -> tuple[Quote | None, tuple[Problem, ...]]:
    found = list(problems)
    try:
        works, rows_by_option, stage_problems = _work_out(job, catalog, book, stock)
        found.extend(stage_problems)
        if works is None:
            return None, in_order(found)
        design, option_works = works
        known = {*design.dropped, *(fact.id for fact in design.shared)}
        known |= {fact.id for work in option_works for fact in work.facts}
        found.extend(stale_overrides(job.overrides, rows_by_option, known))
        quote, money_problems = price_quote(job, catalog, design, option_works, on, questions, in_order(found),
                                            fingerprint, house,
                                            next((item.where.file for item in stock.values()), ""))
        found = list(in_order((*found, *money_problems)))
    except Unanswered as unanswered:
        return None, in_order((*found, unanswered.problem()))
    return (None if has_stop(found) else quote), tuple(found)


def _revision_price(quote: Quote, catalog: Catalog, book: RuleBook) -> tuple[Decimal | None, tuple[Problem, ...]]:
    """What the rules would charge for one revision more: only the fact of the whole job knows the revision."""
    facts = msgspec.convert(quote.facts.get("job", ()), tuple[JobFact, ...])
    next_facts = tuple(replace(fact, revision=fact.revision + 1) for fact in facts)
    (now, _), (then, wrong) = (_labour(each, quote.job, catalog, book) for each in (facts, next_facts))
    price, unpriced = revision_price(now, then, quote.pricing, catalog)
    return price, tuple(problem for problem in (*wrong, *unpriced) if problem not in quote.problems)


def _labour(
    facts: tuple[Fact, ...], job: Job, catalog: Catalog, book: RuleBook
) -> tuple[tuple[LabourRow, ...], tuple[Problem, ...]]:
    """The labour of some facts by themselves."""
    lines, problems = apply_rules(facts, book, catalog, catalog.options[-1], job.gauge_system, job.wall_state)
    rows, worries = merge_lines([line for line in lines if isinstance(line, LabourLine)], (), catalog, final=False)
    return rows.labour, (*problems, *worries)


def _work_out(
    job: Job, catalog: Catalog, book: RuleBook, stock: Mapping[str, StockItem], only: str = ""
) -> tuple[tuple[Design, tuple[OptionWork, ...]] | None, tuple[Rows, ...], tuple[Problem, ...]]:
    """Facts -> lines -> effort -> lines -> bill and visits, for each option, or for `only` one. Shared lines are ruled
    once and are the same objects in every option's bill."""
    design, problems = design_system(job, catalog, only)
    if design is None:
        return None, (), problems
    dates, worries = work_dates(job, catalog)
    found = [*problems, *worries]
    shared, worries = apply_rules(design.shared, book, catalog, catalog.options[-1], job.gauge_system, job.wall_state)
    found.extend(worries)
    works, all_rows = [], []
    for option in design.options:
        facts = (*design.shared, *option.facts)
        work, rows, worries = _option_work(job, catalog, book, option, facts, shared, dates, stock)
        works.append(work)
        all_rows.append(rows)
        found.extend(worries)
    found.extend(late_dates(job, [work.timetable for work in works]))
    return (None if has_stop(found) else (design, tuple(works))), tuple(all_rows), tuple(found)


def _option_work(
    job: Job, catalog: Catalog, book: RuleBook, option: OptionDesign, facts: tuple[Fact, ...],
    shared: tuple[Line, ...], dates: WorkDates | None, stock: Mapping[str, StockItem],
) -> tuple[OptionWork, Rows, tuple[Problem, ...]]:
    """One option's bill and days. `facts`: those of the shared plan and its own; `shared`: the lines of the plan."""
    own, problems = apply_rules(option.facts, book, catalog, option.name, job.gauge_system, job.wall_state)
    lines = shared + own
    first, first_problems = merge_lines(lines, job.overrides, catalog, final=False)
    effort, effort_problems = measure_effort(first, job, catalog)
    second, second_problems = apply_rules(effort, book, catalog, option.name, job.gauge_system, job.wall_state)
    rows, row_problems = merge_lines(lines + second, job.overrides, catalog, final=True)
    pulls = {run.id: run.pull_group for run in of(facts, CableRun)}
    bill, bill_problems = make_bill(rows, catalog, job.terms.currency, pulls, stock, _colours(facts))
    timetable = plan_visits((*facts, *effort), bill.statements, job, catalog, dates)
    return OptionWork(option.name, option.facts + effort, bill, timetable), rows, (
        *problems, *first_problems, *effort_problems, *second_problems, *row_problems, *bill_problems)


def _colours(facts: tuple[Fact, ...]) -> dict[str, str]:
    """Rooms in a colour of their own; one colour is written as it was typed first."""
    typed: dict[str, str] = {}
    return {use.room: typed.setdefault(use.colour.strip().casefold(), use.colour.strip())
            for use in of(facts, RoomUse) if use.custom_colour}


def _open_questions(
    job: Job, catalog: Catalog, book: RuleBook, on: datetime.date
) -> tuple[tuple[OpenQuestion, ...], tuple[Problem, ...]]:
    """Each `?`: who answers by when, and what the worse answer would add to each option's total."""
    if not job.unknowns:
        return (), ()
    plain, problems = _quote_once(job, catalog, book, on, (), (), "")
    if plain is None:
        return (), problems
    base = {option.name: option.totals.total for option in plain.options}
    return tuple(_question(job, catalog, book, on, unknown, base) for unknown in job.unknowns), ()


def _question(
    job: Job, catalog: Catalog, book: RuleBook, on: datetime.date, unknown: Unknown, base: dict[str, Decimal]
) -> OpenQuestion:
    try:
        answer = catalog.standards.ask("open_questions", attribute=unknown.attribute)
        question, worse = answer.text("question"), answer.text("worse")
        who, by_phase = answer.text("who"), answer.text("by_phase")
    except Unanswered:
        question, worse, who, by_phase = "", "", "", "survey and design"
    cost: dict[str, Decimal] = {}
    answered = with_answer(job, unknown, worse)
    if answered is not None:
        again, _ = _quote_once(answered, catalog, book, on, (), (), "")
        if again is not None:
            cost = {option.name: option.totals.total - base[option.name] for option in again.options}
    return OpenQuestion(of=unknown.of, attribute=unknown.attribute, field=unknown.field, question=question,
                        used=unknown.used, worse=worse, who=who, by_phase=by_phase, cost=cost)

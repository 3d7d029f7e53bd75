"""Every option priced, compared and put into one quote: the whole that documents print."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import partial
from typing import Any, cast

import msgspec
from msgspec import Struct
from msgspec.structs import replace

from quoting.buying import early_boxes, lead_times
from quoting.catalog.records import Catalog, Place
from quoting.facts import FACT_KINDS, Design, Fact, PhaseEffort, RoomUse, of
from quoting.job import Job
from quoting.lines import PHASES, Bill, MaterialRow, Reason
from quoting.money import ZERO, r2
from quoting.pricing.buying import buying_inputs, office_of, part_ways
from quoting.pricing.labour import price_labour, role_rates
from quoting.pricing.later import hour_of, with_later_rooms
from quoting.pricing.options import recommend, steps, sums_by_room
from quoting.pricing.plan import instalments, plan_rows
from quoting.pricing.price import below_cost, category_inputs, old_prices, part_infos, part_inputs, price_materials
from quoting.pricing.risk import contingency_inputs, p80_by_phase
from quoting.pricing.supply import PartDays, discontinued_parts, in_room_colour, late_parts
from quoting.pricing.tax import contractor_rates, rules_in_force
from quoting.pricing.totals import check_approval, price_totals
from quoting.problems import Problem, has_stop, in_order, stop, warning
from quoting.quote import (
    SCHEMA_VERSION,
    ChangeAnswer,
    MonthlyFee,
    OpenQuestion,
    PhaseTotal,
    PlaceTerms,
    PricedLabour,
    PricedOption,
    Pricing,
    Quote,
    RoomPromise,
    Statement,
    TaskInfo,
    WhatIf,
    WhatIfKind,
)
from quoting.timetable import NO_TIMETABLE, PhaseDays, Timetable

CABLE_LABEL = "cable label"  # the role in options.csv


class OptionWork(Struct, frozen=True):
    """One option before its price: its own facts, effort facts included, and its bill."""

    name: str
    facts: tuple[Fact, ...]
    bill: Bill
    timetable: Timetable = NO_TIMETABLE


def price_quote(
    job: Job, catalog: Catalog, design: Design, works: Sequence[OptionWork], on: datetime.date,
    questions: Sequence[OpenQuestion], problems: Sequence[Problem], workbook_fingerprint: str,
    house: PricedOption | None = None, stock_file: str = "",
) -> tuple[Quote, tuple[Problem, ...]]:
    """The quote, and the problems that pricing found. `problems` are those of the stages before; the quote has both.

    `house` is the fullest option with every wired room playing, where some room plays in no option. `stock_file` is
    the stock list that the bills took off what they buy.
    Unanswered where a standard has no row for a category, a wall state, a phase or a priority.
    """
    pricing, found = _inputs(job, catalog, works, on)
    options: list[PricedOption] = []
    works_rows = [row for work in works for row in work.bill.materials]
    for work in works:
        option, wrong = _price_option(work, job, pricing, catalog)
        options.append(option)
        found += wrong
    days = _part_days(works, options, job, catalog)
    found += [*discontinued_parts(job, works_rows, catalog),
              *late_parts(job, works_rows, days, on)]
    options = list(with_later_rooms(options, house, catalog, pricing.roles, pricing.currency))
    found += check_approval(job, pricing, {option.name: option.totals for option in options})
    statements, wrong = _statements(works, catalog, days.begins, partial(_ordered_by, works_rows, days))
    found += wrong
    place = catalog.places.get(job.terms.tax_place)
    used = _parts_used(works) | _parts_named((*design.shared, *(fact for work in works for fact in work.facts)))
    quote = Quote(
        schema_version=SCHEMA_VERSION, job=job, firm=catalog.firm.firm, place=_place_terms(job, place),
        facts=facts_by_kind(design.shared), options=tuple(options), steps=steps(options, job.rooms),
        recommendation=recommend(options, job.client, catalog), pricing=pricing,
        parts=part_infos(used, pricing.currency, catalog), tasks=_tasks(works, catalog), statements=statements,
        open_questions=tuple(questions), defaults=job.defaults,
        change_rate=hour_of("change", catalog, pricing.roles)[0] or None, change_answers=_change_answers(catalog),
        problems=in_order((*problems, *found)),
        workbook_fingerprint=workbook_fingerprint, catalog_name=catalog.name, catalog_fingerprint=catalog.fingerprint,
        label_sheets=catalog.label_sheets, label_parts=_label_parts(catalog),
        buying=buying_inputs(job, catalog, used, days.office, _days_wanted(works), stock_file),
    )
    return quote, in_order(found)


def price_alone(job: Job, catalog: Catalog, work: OptionWork, on: datetime.date) -> PricedOption | None:
    """One option without a quote around it; None where something stops its price, as it then stops the quote's."""
    pricing, found = _inputs(job, catalog, (work,), on)
    option, wrong = _price_option(work, job, pricing, catalog)
    return None if has_stop((*found, *wrong)) else option


def facts_by_kind(facts: Iterable[Fact]) -> dict[str, tuple[dict[str, Any], ...]]:
    """Facts as plain rows, by the name of their kind, as documents and quote.json have them."""
    kinds = {cls: name for name, cls in FACT_KINDS.items()}
    rows: dict[str, list[dict[str, Any]]] = {}
    for fact in facts:
        rows.setdefault(kinds[type(fact)], []).append(msgspec.to_builtins(fact))
    return {kind: tuple(its) for kind, its in rows.items()}


# ---------------------------------------------------------------- what prices rest on

def _inputs(job: Job, catalog: Catalog, works: Sequence[OptionWork], on: datetime.date
            ) -> tuple[Pricing, list[Problem]]:
    terms, firm = job.terms, catalog.firm
    place = catalog.places.get(terms.tax_place)
    parts = part_inputs(_parts_used(works), terms.currency, catalog)
    categories, bad_categories = category_inputs(parts.values(), catalog)
    roles, bad_roles = role_rates((row for work in works for row in work.bill.labour), terms.currency, catalog)
    method, rate, bad_contingency = contingency_inputs(job.wall_state, catalog)
    plan, bad_plan = plan_rows(place, catalog)
    taxes = rules_in_force(catalog.taxes, job, [category.category for category in categories])
    pricing = Pricing(
        currency=terms.currency, date=on, valid_until=on + datetime.timedelta(days=firm.valid_days),
        categories=categories, roles=tuple(roles.values()), parts=tuple(parts.values()), cost_basis=firm.cost_basis,
        discount_rate=terms.discount_rate, discount_reason=terms.discount_reason, approved_by=terms.approved_by,
        taxes=taxes, tax_basis=place.tax_basis if place else "invoice", contingency_method=method,
        contingency_rate=rate, whole_units=terms.whole_units, plan=plan,
        deposit_cap_rate=place.deposit_cap_rate if place else None,
        deposit_cap_amount=place.deposit_cap_amount if place else None,
        margin_floor=firm.margin_floor, free_discount=firm.free_discount, what_if=_what_ifs(catalog),
    )
    return pricing, [
        *_check_place(job, place, catalog), *bad_categories, *bad_roles, *bad_contingency, *bad_plan,
        *below_cost(parts.values(), categories, catalog), *old_prices(parts, categories, terms.currency, on, catalog),
    ]


def _change_answers(catalog: Catalog) -> tuple[ChangeAnswer, ...]:
    return tuple(ChangeAnswer(sheet=row.text("sheet"), answer=row.text("answer"), words=row.text("words"))
                 for row in catalog.standards.rows("change_answers"))


def _what_ifs(catalog: Catalog) -> tuple[WhatIf, ...]:
    return tuple(
        WhatIf(name=answer.text("name"), kind=cast("WhatIfKind", answer.text("kind")), category=answer.text("category"),
               change_rate=answer.decimal("change_rate"))
        for answer in catalog.standards.rows("what_if"))


def _check_place(job: Job, place: Place | None, catalog: Catalog) -> list[Problem]:
    name, known = job.terms.tax_place, ", ".join(catalog.places)
    where = job.where("tax_place")[0]
    problems: list[Problem] = []
    if place is None:
        problems.append(warning(
            where, "no-place-terms", f"The place '{name}' has no row in terms.csv: the quote has no withdrawal text, "
            "no deposit cap, and one payment at the end.", f"Type one of: {known}; or add a row for the place."))
    elif place.currency != job.terms.currency:
        problems.append(stop(
            job.where("currency")[0], "currency-of-place", f"The job is in '{job.terms.currency}', and contracts in "
            f"'{name}' are in {place.currency}.", f"Type {place.currency}, or another tax place."))
    if all(row.place != name for row in catalog.taxes):
        problems.append(warning(
            where, "no-tax-rows", f"The place '{name}' has no row in taxes.csv: the quote has no tax.",
            "Add its rows (a rate of 0 where there is none), or type another place."))
    return problems


def _place_terms(job: Job, place: Place | None) -> PlaceTerms:
    if place is None:
        return PlaceTerms(place=job.terms.tax_place, tax_note="", withdrawal="", labour_apart=False, permit="",
                          found=False)
    return PlaceTerms(place=place.place, tax_note=place.tax_note, withdrawal=place.withdrawal,
                      labour_apart=place.labour_apart, permit=place.permit, found=True)


def _label_parts(catalog: Catalog) -> tuple[str, ...]:
    return tuple(dict.fromkeys(part for role in catalog.roles.values() if role.role == CABLE_LABEL
                               for parts in role.parts.values() for part in parts))


def _parts_used(works: Iterable[OptionWork]) -> set[str]:
    return {row.part for work in works for row in work.bill.materials}


def _parts_named(facts: Iterable[Fact]) -> set[str]:
    """Parts that a fact is, also where the customer owns them and no line buys them."""
    return {part for fact in facts if (part := getattr(fact, "part", ""))}


def _tasks(works: Iterable[OptionWork], catalog: Catalog) -> dict[str, TaskInfo]:
    used = {row.task for work in works for row in work.bill.labour}
    places = {name: place for place, name in enumerate(catalog.tasks)}
    return {
        name: TaskInfo(description=task.description, labour_class=task.labour_class, sold=task.sold, place=places[name])
        for name in sorted(used) for task in (catalog.tasks[name],)
    }


# ---------------------------------------------------------------- one option

def _price_option(work: OptionWork, job: Job, pricing: Pricing, catalog: Catalog
                  ) -> tuple[PricedOption, tuple[Problem, ...]]:
    bill, currency = work.bill, pricing.currency
    categories = [category.category for category in pricing.categories]
    materials, problems = price_materials(
        bill, {part.part: part for part in pricing.parts}, pricing.categories,
        contractor_rates(pricing.taxes, categories), catalog, currency,
    )
    labour = price_labour(bill.labour, {role.role: role for role in pricing.roles}, catalog, currency)
    totals = price_totals(materials, labour, bill.purchases, pricing, catalog)
    option = PricedOption(
        name=work.name, title=catalog.setting("title", work.name), summary=catalog.setting("summary", work.name),
        gives_up=catalog.setting("gives_up", work.name), facts=facts_by_kind(work.facts), materials=materials,
        labour=labour, purchases=bill.purchases, spools=bill.spools,
        statements=tuple(dict.fromkeys(line.statement for line in bill.statements)), rooms=(),
        phases=_phases(labour, work.facts, catalog), totals=totals,
        plan=instalments(totals.total, pricing.plan, pricing.deposit_cap_rate, pricing.deposit_cap_amount, currency),
        timetable=work.timetable,
        fees=tuple(MonthlyFee(words=fee.words, to_us=fee.payee == "us", amount=r2(fee.amount, currency))
                   for fee in catalog.fees if fee.option == work.name and fee.currency == currency),
    )
    return replace(option, rooms=_rooms(option, work.facts, job)), problems


def _rooms(option: PricedOption, facts: Iterable[Fact], job: Job) -> tuple[RoomPromise, ...]:
    sums, names = sums_by_room(option), {room.code: room.name for room in job.rooms}
    return tuple(
        RoomPromise(
            room=use.room, name=names.get(use.room, use.room), state=use.state, speakers=use.speakers,
            control=use.control, materials=sums.get(use.room, (ZERO, ZERO))[0],
            labour=sums.get(use.room, (ZERO, ZERO))[1],
        )
        for use in of(facts, RoomUse)
    )


def _phases(labour: Sequence[PricedLabour], facts: Iterable[Fact], catalog: Catalog) -> tuple[PhaseTotal, ...]:
    efforts = {effort.phase: effort for effort in of(facts, PhaseEffort)}
    phases: list[PhaseTotal] = []
    risks = p80_by_phase(labour)
    for phase in PHASES:
        rows = [row for row in labour if row.phase == phase]
        if rows:
            effort = efforts.get(phase)
            phases.append(PhaseTotal(
                phase=phase, words=catalog.standards.ask("phase_words", phase=phase).text("words"),
                price=sum((row.price for row in rows), ZERO), cost=sum((row.cost for row in rows), ZERO),
                hours=sum((row.hours for row in rows), ZERO), half_days=effort.half_days if effort else 0,
                trips=effort.trips if effort else 0, crew=effort.crew if effort else 0,
                p80_hours=risks[phase],
            ))
    return tuple(phases)


def _part_days(
    works: Sequence[OptionWork], options: Iterable[PricedOption], job: Job, catalog: Catalog
) -> PartDays:
    ways = part_ways(catalog)
    coloured = {use.room for work in works for use in of(work.facts, RoomUse) if use.custom_colour}
    rows = [row for work in works for row in work.bill.materials if row.need]
    return PartDays(
        begins=_first_days(works, lambda phase: phase.first_date),
        wanted=_first_days(works, lambda phase: phase.parts_date),
        early={box for option in options for box in early_boxes(option)}, coloured=coloured, ways=ways,
        lead_times=lead_times({row.part: catalog.parts[row.part].lead_days for row in rows},
                              {row.part for row in rows if in_room_colour(row, ways, coloured)}, ways),
        office=office_of(job, catalog))


def _first_days(
    works: Iterable[OptionWork], day: Callable[[PhaseDays], datetime.date | None]
) -> dict[str, datetime.date]:
    """A day of each phase, in the option that is first."""
    first: dict[str, datetime.date] = {}
    for phase in (phase for work in works for phase in work.timetable.phases):
        date = day(phase)
        if date is not None:
            first[phase.phase] = min(date, first.get(phase.phase, date))
    return first


def _days_wanted(works: Iterable[OptionWork]) -> set[datetime.date]:
    """Every day by which parts have come, in any option."""
    return {phase.parts_date for work in works for phase in work.timetable.phases if phase.parts_date}


def _ordered_by(rows: Iterable[MaterialRow], days: PartDays, part: str) -> datetime.date | None:
    """The last day to order a part, in the option that is first; None where no option uses it on a known day."""
    found = (days.order_by(row) for row in rows if row.part == part and row.need)
    return min((day for day in found if day), default=None)


def _statements(
    works: Sequence[OptionWork], catalog: Catalog, begins: Mapping[str, datetime.date],
    ordered_by: Callable[[str], datetime.date | None],
) -> tuple[tuple[Statement, ...], tuple[Problem, ...]]:
    """Each sentence once, in the order of statements.csv, with the options and reasons that bring it, and the day by
    which others must have done what it asks: the first day of the phase that waits, in the option that is first, or the
    day on which a part is ordered, where standards/order_waits.csv names one."""
    parts = {row.text("statement"): row.text("part") for row in catalog.standards.rows("order_waits")}
    options: dict[str, dict[str, None]] = {}
    reasons: dict[str, dict[Reason, None]] = {}
    for work in works:
        for line in work.bill.statements:
            options.setdefault(line.statement, {})[work.name] = None
            reasons.setdefault(line.statement, {})[line.because] = None
    problems = tuple(
        stop(next(iter(reasons[code])).rule_cell, "unknown-statement", f"'{code}' is not a statement of "
             "statements.csv.", "Add it there, or change the rule.")
        for code in options if code not in catalog.statements
    )
    return tuple(
        Statement(code=code, kind=text.kind, text=text.text, options=tuple(options[code]),
                  because=tuple(reasons[code]),
                  needed_by=ordered_by(parts[code]) if parts.get(code) else begins.get(text.before),
                  ordered=parts.get(code, ""))
        for code, text in catalog.statements.items() if code in options
    ), problems

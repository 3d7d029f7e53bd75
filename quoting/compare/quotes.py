"""Two quotes of one job become what differs between them: old + changes = new, by id and to the cent."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from quoting.changes import Amounts, Changes, PhaseChange, Revision, SumChange
from quoting.compare.purchases import purchase_changes
from quoting.compare.reasons import Reasons
from quoting.compare.rows import FACTS_COMPARED, RUN, fact_changes, row_changes, statement_changes
from quoting.compare.typed import as_text, typed_changes
from quoting.job import Job
from quoting.lines import PHASES
from quoting.money import ZERO
from quoting.problems import Cell, Problem, stop, warning
from quoting.quote import PricedOption, Quote, TaxAmount, Totals

_COSTS = (("materials", "material_cost"), ("labour", "labour_cost"), ("freight", "freight"),
          ("tax paid on materials", "contractor_tax"), ("tails too short to keep", "scrap_cost"),
          ("contingency", "contingency"), ("cost", "cost"))


def compare_quotes(old: Quote, new: Quote, option: str) -> tuple[Changes | None, tuple[Problem, ...]]:
    """What changes one option from `old` to `new`; None, and why, where the two cannot be compared."""
    problems = (*_comparable(old, new, option), *_unsound(old, option), *_unsound(new, option))
    if problems:
        return None, problems
    before, after = _option(old, option), _option(new, option)
    assert before is not None and after is not None
    typed = typed_changes(old.job, new.job)
    sides = (before, after)
    reasons = Reasons(old, new, sides, typed)
    parts = {name: part.description for quote in (old, new) for name, part in quote.parts.items()}
    tasks = {name: task.description for quote in (old, new) for name, task in quote.tasks.items()}
    changes = Changes(
        option=option, currency=new.pricing.currency, old=_revision(old), new=_revision(new),
        same_tables=old.catalog_fingerprint == new.catalog_fingerprint, typed=typed,
        materials=row_changes("material", before.materials, after.materials, parts, reasons),
        labour=row_changes("labour", before.labour, after.labour, tasks, reasons),
        runs=fact_changes(old, new, sides, (RUN,), reasons),
        facts=fact_changes(old, new, sides, FACTS_COMPARED, reasons),
        statements=statement_changes(old, new, option), phases=_phases(before, after),
        purchases=purchase_changes(old, new, sides),
        price=_price(before.totals, after.totals), cost=_sums(_COSTS, before.totals, after.totals),
        hours=_sums((("hours", "hours"),), before.totals, after.totals)[0],
        half_days=SumChange(label="half-days in the house", old=Decimal(before.half_days),
                            new=Decimal(after.half_days)),
        outlay=_sums((("purchases, whole packs", "outlay"),), before.totals, after.totals)[0])
    return changes, _same_revision(old, new, changes)


# ------------------------------------------------------------------------------------------------ may they be compared

def _comparable(old: Quote, new: Quote, option: str) -> tuple[Problem, ...]:
    """Another customer's house, another currency, an option that a side lacks."""
    where = Cell(new.job.file)
    if not _same_job(old.job, new.job):
        return (stop(where, "different-jobs",
                     f"'{_job_words(new.job)}' and '{_job_words(old.job)}' ({old.job.file}) are different jobs.",
                     "Compare two revisions of one job: the same quote number, or the same customer and site."),)
    if old.pricing.currency != new.pricing.currency:
        return (stop(where, "different-currencies",
                     f"This quote is in '{new.pricing.currency}' and the older one ({old.job.file}) in "
                     f"'{old.pricing.currency}'.", "Quote both in one currency, then compare again."),)
    names = [name for name in (one.name for one in new.options) if _option(old, name)]
    if option not in names:
        return (stop(where, "unknown-option", f"'{option}' is not an option of both quotes.",
                     f"Name one of {', '.join(names)} with --option." if names else
                     "Quote both with the same options, then compare again."),)
    return ()


def _same_job(old: Job, new: Job) -> bool:
    numbers = (old.terms.quote_number, new.terms.quote_number)
    return bool(numbers[0] and numbers[0] == numbers[1]) or _who(old) == _who(new)


def _who(job: Job) -> tuple[str, str]:
    return job.client.name.strip().casefold(), job.client.site.strip().casefold()


def _job_words(job: Job) -> str:
    return ", ".join(filter(None, (job.terms.quote_number, job.client.name, job.client.site)))


def _unsound(quote: Quote, name: str) -> tuple[Problem, ...]:
    """A quote whose rows do not sum to its totals, or that holds an id twice: edited since it was built."""
    option = _option(quote, name)
    if option is None:
        return ()
    totals = option.totals
    sums = (
        ("materials", _sum(row.price for row in option.materials), totals.materials),
        ("labour", _sum(row.price for row in option.labour), totals.labour),
        ("material cost", _sum(row.cost for row in option.materials), totals.material_cost),
        ("labour cost", _sum(row.cost for row in option.labour), totals.labour_cost),
        ("hours", _sum(row.hours for row in option.labour), totals.hours),
        ("tax", _sum(tax.amount for tax in totals.taxes), totals.tax),
        ("total", _sum(row.new for row in _price(totals, totals)[:-1]), totals.total),
        ("cost", _sum(row.new for row in _sums(_COSTS, totals, totals)[:-1]), totals.cost),
    )
    wrong = next(((label, found, said) for label, found, said in sums if found != said), None)
    ids = [*(row.id for row in option.materials), *(row.id for row in option.labour)]
    remedy = "Build it again from its workbook, then compare the new folder."
    if wrong:
        return (stop(Cell(quote.job.file), "sums-disagree",
                     f"In the quote of this workbook the rows of '{name}' come to {wrong[1]} {wrong[0]}, and its "
                     f"totals say {wrong[2]}: it was edited after it was built.", remedy),)
    if len(set(ids)) != len(ids):
        twin = next(id for id in ids if ids.count(id) > 1)
        return (stop(Cell(quote.job.file), "id-twice", f"The quote of this workbook holds '{twin}' twice.", remedy),)
    return ()


def _same_revision(old: Quote, new: Quote, changes: Changes) -> tuple[Problem, ...]:
    if changes.nothing or changes.superseding:
        return ()
    terms = new.job.terms
    return (warning(new.job.where("revision")[0], "revision-not-raised",
                    f"Revision '{terms.revision}' is not above the older quote's '{old.job.terms.revision}', and "
                    "something changed: a change order would not say which of the two holds, so none is written.",
                    f"Type {old.job.terms.revision + 1} as the new one's revision, and under Supersedes the one that "
                    "it takes the place of; then compare again."),)


# ------------------------------------------------------------------------------------------------ sums

def _price(old: Totals, new: Totals) -> tuple[SumChange, ...]:
    """From materials to the total, the discount negative: the rows sum to the last one."""
    first = _sums((("materials", "materials"), ("labour", "labour"), ("freight", "freight")), old, new)
    discount = SumChange(label="discount", old=-old.discount, new=-new.discount)
    keys = dict.fromkeys((tax.name, tax.rate) for side in (old, new) for tax in side.taxes)
    taxes = tuple(SumChange(label=f"{name} {as_text(rate * 100)} %", old=_tax(old.taxes, name, rate),
                            new=_tax(new.taxes, name, rate)) for name, rate in keys)
    return (*first, discount, *taxes, *_sums((("rounding", "rounding"), ("contract total", "total")), old, new))


def _tax(taxes: Iterable[TaxAmount], name: str, rate: Decimal) -> Decimal:
    return _sum(tax.amount for tax in taxes if (tax.name, tax.rate) == (name, rate))


def _sums(rows: Sequence[tuple[str, str]], old: Totals, new: Totals) -> tuple[SumChange, ...]:
    return tuple(SumChange(label=label, old=getattr(old, name), new=getattr(new, name)) for label, name in rows)


def _phases(old: PricedOption, new: PricedOption) -> tuple[PhaseChange, ...]:
    """The phases whose price, cost, hours or half-days differ."""
    sides = [{phase.phase: phase for phase in option.phases} for option in (old, new)]
    found = []
    for name in PHASES:
        phases = [side.get(name) for side in sides]
        amounts = [Amounts(one.price, one.cost, one.hours) if one else Amounts() for one in phases]
        days = [one.half_days if one else 0 for one in phases]
        if amounts[0] != amounts[1] or days[0] != days[1]:
            found.append(PhaseChange(phase=name, old=amounts[0], new=amounts[1], old_half_days=days[0],
                                     new_half_days=days[1]))
    return tuple(found)


def _option(quote: Quote, name: str) -> PricedOption | None:
    return next((option for option in quote.options if option.name == name), None)


def _revision(quote: Quote) -> Revision:
    terms = quote.job.terms
    return Revision(file=quote.job.file, number=terms.quote_number, revision=terms.revision, date=quote.pricing.date)


def _sum(amounts: Iterable[Decimal]) -> Decimal:
    return sum(amounts, ZERO)

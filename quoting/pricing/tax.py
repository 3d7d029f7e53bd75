"""Taxes: which rows of a place apply to this job, and what they come to on the invoice or line by line."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from msgspec.structs import replace

from quoting.catalog.records import TaxRow
from quoting.job import Job
from quoting.money import ZERO, r2
from quoting.quote import TaxAmount, TaxRule

EVERYTHING = "-"  # the category of a row that covers all of them, labour and freight too
LABOUR, FREIGHT = "labour", "freight"
Amounts = Mapping[str, Sequence[Decimal]]  # category -> its taxable amounts, line by line


def rules_in_force(rows: Iterable[TaxRow], job: Job, categories: Sequence[str]) -> tuple[TaxRule, ...]:
    """The taxes of the job's place, in the table's order: by dwelling age, certificate, and builder's resale.

    Of two rows for one tax and category the one that asks for the dwelling's age answers. A row for everything
    stands for the categories that its tax has no row of their own for; where it has some, it is split up, so that
    "-" always means everything.
    """
    found: dict[tuple[str, str, str], TaxRow] = {}
    for row in rows:
        key = (row.rule.name, row.rule.category, row.rule.payer)
        if row.place == job.terms.tax_place and _applies(row, job) and (key not in found or _asks_age(row)):
            found[key] = row
    everywhere = (*categories, LABOUR, FREIGHT)
    own = {(row.rule.name, row.rule.category) for row in found.values()}
    rules: list[TaxRule] = []
    for row in found.values():
        rule = row.rule
        named = [category for category in everywhere if (rule.name, category) in own]
        if rule.category == EVERYTHING and named:
            rules += [replace(rule, category=each) for each in everywhere if each not in named]
        elif rule.category == EVERYTHING or rule.category in everywhere:
            rules.append(rule)
    return tuple(rules)


def _asks_age(row: TaxRow) -> bool:
    return bool(row.dwelling_over_years or row.dwelling_up_to_years)


def _applies(row: TaxRow, job: Job) -> bool:
    years = job.terms.dwelling_years
    if row.dwelling_over_years and years <= row.dwelling_over_years:
        return False
    if row.dwelling_up_to_years and years > row.dwelling_up_to_years:
        return False
    if row.resale_exempt and job.client.payer == "builder":
        return False
    # A certificate frees the customer. What the firm pays as the consumer of its materials stays.
    return not (job.terms.tax_exempt and row.rule.payer == "customer")


def contractor_rates(rules: Iterable[TaxRule], categories: Iterable[str]) -> dict[str, tuple[Decimal, ...]]:
    """The rates that the firm pays on the cost of its materials, by category."""
    its = [rule for rule in rules if rule.payer == "contractor"]
    return {
        category: tuple(rule.rate for rule in its if rule.category in (category, EVERYTHING))
        for category in categories
    }


def customer_taxes(rules: Iterable[TaxRule], amounts: Amounts, by_line: bool, currency: str) -> tuple[TaxAmount, ...]:
    """Each tax that the customer pays, rounded by itself: once over the invoice, or line by line.

    `amounts` are after the discount. Every tax comes out, also where an option has nothing of its category. On the
    invoice basis a tax that stands in several categories is split over them cumulatively, as every split is, so that
    its parts sum to its rate on its whole base, rounded once.
    """
    taxes: list[TaxAmount] = []
    running: dict[str, Decimal] = {}  # tax -> what it comes to so far, not rounded
    given: dict[str, Decimal] = {}  # tax -> its parts so far
    for rule in rules:
        everything = rule.category == EVERYTHING
        lines = [line for each in amounts.values() for line in each] if everything else amounts.get(rule.category, ())
        if rule.payer != "customer":
            continue
        base = sum(lines, ZERO)
        if by_line:
            amount = r2(sum((r2(line * rule.rate, currency) for line in lines), ZERO), currency)
        else:
            running[rule.name] = running.get(rule.name, ZERO) + base * rule.rate
            amount = r2(running[rule.name], currency) - given.get(rule.name, ZERO)
            given[rule.name] = given.get(rule.name, ZERO) + amount
        taxes.append(TaxAmount(
            name=rule.name, category="all" if everything else rule.category, rate=rule.rate, base=r2(base, currency),
            amount=amount,
        ))
    return tuple(taxes)

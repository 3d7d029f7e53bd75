"""The Quote's rows as the office workbook lists them: one row over all options, and the numbers that sums go by.

Sums by category, phase, room go by a number in a key column, never by the text: a room code may be "*" or "=1+1",
and SUMIFS would read that as a pattern or a comparison.
"""

from __future__ import annotations

from collections.abc import Iterable
from decimal import Decimal
from functools import cached_property
from typing import TypeVar

from msgspec import Struct

from quoting.lines import PHASES
from quoting.money import ZERO
from quoting.quote import PricedLabour, PricedMaterial, PricedOption, Quote, TaxRule

ALL = "-"  # the category of a tax that covers everything
LABOUR, FREIGHT = "labour", "freight"


class BillRow(Struct, frozen=True):
    """One part in one room and phase, with what each option (by index) makes of it."""

    first: PricedMaterial  # what the options agree on is read from here
    override: Decimal | None
    by_option: dict[int, PricedMaterial]


class WorkRow(Struct, frozen=True):
    """One task in one room and phase, with what each option (by index) makes of it."""

    first: PricedLabour
    by_option: dict[int, PricedLabour]


class OfficeRows(Struct, frozen=True, dict=True):
    """Everything that the sheets list, in their order, worked out once."""

    quote: Quote

    @property
    def options(self) -> tuple[PricedOption, ...]:
        """The options, smallest first."""
        return self.quote.options

    @cached_property
    def bill(self) -> tuple[BillRow, ...]:
        """Materials over all options, by phase, room, part.

        A row whose price differs by option is listed twice; one that a person dropped stands on the sheet Why only.
        """
        found: dict[tuple[object, ...], BillRow] = {}
        for index, option in enumerate(self.options):
            for row in option.materials:
                override = row.unit_price if row.price_rule == "override" else None
                key = (row.id, override, row.unit_cost)
                found.setdefault(key, BillRow(row, override, {})).by_option[index] = row
        rows = (row for row in found.values() if any(priced.need for priced in row.by_option.values()))
        return tuple(
            sorted(
                rows,
                key=lambda row: (_phase_order(row.first.phase), row.first.room, row.first.part, row.override or ZERO),
            )
        )

    @cached_property
    def work(self) -> tuple[WorkRow, ...]:
        """Labour over all options, by phase, room, task."""
        found: dict[tuple[object, ...], WorkRow] = {}
        for index, option in enumerate(self.options):
            for row in option.labour:
                found.setdefault((row.id, row.wall_state, row.role), WorkRow(row, {})).by_option[index] = row
        rows = (row for row in found.values() if any(priced.hours for priced in row.by_option.values()))
        return tuple(
            sorted(
                rows,
                key=lambda row: (_phase_order(row.first.phase), row.first.room, row.first.task, row.first.wall_state),
            )
        )

    @cached_property
    def parts(self) -> tuple[str, ...]:
        """Every part that has a price or stands in the bill, sorted."""
        priced = {part.part for part in self.quote.pricing.parts}
        return tuple(sorted(priced | {row.first.part for row in self.bill}))

    @cached_property
    def categories(self) -> dict[str, int]:
        """Each category of parts and its number, in the order of the price rules."""
        names = [category.category for category in self.quote.pricing.categories]
        return _numbered((*names, *(self.category(part) for part in self.parts)))

    @cached_property
    def suppliers(self) -> dict[str, int]:
        """Each supplier of parts in the bill and its number, by name."""
        return _numbered(sorted({self.supplier(row.first.part) for row in self.bill}))

    @cached_property
    def phases(self) -> dict[str, int]:
        """Each phase and its number."""
        return _numbered(PHASES)

    @cached_property
    def rooms(self) -> dict[str, int]:
        """Each room code and its number; "" is the head end and the whole job, and comes last."""
        used = {row.room for option in self.options for row in option.rooms}
        codes = [room.code for room in self.quote.job.rooms if room.code in used]
        codes += [row.room for step in self.quote.steps for row in step.rows] + sorted(used)
        codes += [row.first.room for row in self.bill] + [row.first.room for row in self.work]
        return _numbered((*(code for code in codes if code), ""))

    @cached_property
    def room_names(self) -> dict[str, str]:
        """Each room's name, by code."""
        names = {room.code: room.name for room in self.quote.job.rooms}
        return {code: names.get(code, code) for code in self.rooms} | {"": "Head end and whole job"}

    @cached_property
    def spreads(self) -> dict[tuple[str, str], int]:
        """Tasks that go wrong together: each (phase, wall state) and its number."""
        return _numbered((row.first.phase, row.first.wall_state) for row in self.work)

    @cached_property
    def customer_taxes(self) -> tuple[TaxRule, ...]:
        """Taxes that the customer pays."""
        return tuple(tax for tax in self.quote.pricing.taxes if tax.payer == "customer")

    def contractor_taxes(self, category: str) -> tuple[TaxRule, ...]:
        """Taxes that the firm pays on the cost of parts of a category."""
        return tuple(
            tax for tax in self.quote.pricing.taxes if tax.payer == "contractor" and tax.category in (category, ALL)
        )

    @cached_property
    def has_contractor_tax(self) -> bool:
        """Whether the firm pays tax on cost here."""
        return any(tax.payer == "contractor" for tax in self.quote.pricing.taxes)

    @cached_property
    def by_line(self) -> bool:
        """Whether taxes are rounded line by line."""
        return self.quote.pricing.tax_basis == "line"

    @cached_property
    def unit_costs(self) -> dict[str, Decimal]:
        """Each part's cost of one unit."""
        return {part.part: part.unit_cost for part in self.quote.pricing.parts}

    def category(self, part: str) -> str:
        """A part's category."""
        info = self.quote.parts.get(part)
        return info.category if info else ""

    def supplier(self, part: str) -> str:
        """A part's supplier."""
        info = self.quote.parts.get(part)
        return info.supplier if info else ""

    def describe(self, part: str) -> str:
        """A part in the office's words."""
        info = self.quote.parts.get(part)
        return info.description if info else part

    def sold(self, row: PricedLabour) -> bool:
        """Whether a task's hours are sold."""
        info = self.quote.tasks.get(row.task)
        return info.sold if info else row.price != 0


N = TypeVar("N")


def _numbered(names: Iterable[N]) -> dict[N, int]:
    return {name: number for number, name in enumerate(dict.fromkeys(names), 1)}


def _phase_order(phase: str) -> int:
    return PHASES.index(phase) if phase in PHASES else len(PHASES)

"""The sheet Summary: the owner's page. Price, cost, what is left; hours, risk, cash; the options side by side.

Two blocks of figures stand side by side, on one landscape page and one screen; the charts are under them, on paper on
a page of their own.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from quoting.documents.language import in_english
from quoting.documents.office_charts import write_charts
from quoting.documents.office_inputs import InputCells
from quoting.documents.office_labour import LabourSheet
from quoting.documents.office_ledger import Ledger
from quoting.documents.office_look import page, protect, show_date, verdict_colours
from quoting.documents.office_rows import OfficeRows
from quoting.documents.sheet_writer import Sheet, Style, letters
from quoting.hours import P80_SIGMAS
from quoting.money import ZERO, r2
from quoting.quote import PricedOption, Totals

TOP = 4  # the row of the first heading: the options' names stand there
CHART_ROWS = 17
REACHED, MISSED = "reached", "below floor"
LABEL_WIDTH, FIGURE_WIDTH, GAP_WIDTH = 32.0, 13.5, 2.0


@dataclass(slots=True)
class Block:
    """One block of figures so far: its label's column, and the next free row."""

    sheet: Sheet
    rows: OfficeRows
    totals: Ledger
    column: int
    row: int = TOP

    @property
    def first(self) -> int:
        """The first option's column."""
        return self.column + 1

    @property
    def last(self) -> int:
        """The last option's column."""
        return self.column + len(self.rows.options)

    @property
    def each(self) -> list[Totals]:
        """Every option's totals."""
        return [option.totals for option in self.rows.options]

    def heading(self, words: str) -> None:
        """A heading with the options' names over their columns."""
        self.row += self.row > TOP
        self.sheet.text(self.row, self.column, words, "head")
        for index, option in enumerate(self.rows.options):
            self.sheet.text(self.row, self.first + index, option.name, "head.right")
        self.row += 1

    def money(
        self, key: str, label: str, values: Sequence[Decimal], style: Style = "money", look: Style = "label"
    ) -> int:
        """A line of Totals, brought here; gives its row."""
        self.sheet.text(self.row, self.column, label, look)
        for index, value in enumerate(values):
            self.sheet.money(self.row, self.first + index, f"={self.totals.at(key, index)}", value, style)
        self.row += 1
        return self.row - 1

    def sums(self, label: str, formula: Callable[[int], str], values: Sequence[Decimal]) -> None:
        """A line of money that is worked out here."""
        self.sheet.text(self.row, self.column, label, "label")
        for index, value in enumerate(values):
            self.sheet.money(self.row, self.first + index, f"={formula(index)}", value)
        self.row += 1

    def other(
        self,
        label: str,
        formula: Callable[[int], str],
        values: Sequence[Decimal | str],
        style: Style,
        look: Style = "label",
    ) -> int:
        """A line of rates, hours or words; gives its row."""
        self.sheet.text(self.row, self.column, label, look)
        for index, value in enumerate(values):
            self.sheet.formula(self.row, self.first + index, f"={formula(index)}", value, style)
        self.row += 1
        return self.row - 1

    def words(self, label: str, texts: Sequence[str], style: Style = "text.right") -> None:
        """A line of plain text."""
        self.sheet.text(self.row, self.column, label, "label")
        for index, text in enumerate(texts):
            self.sheet.text(self.row, self.first + index, text, style)
        self.row += 1


def write_summary(sheet: Sheet, rows: OfficeRows, inputs: InputCells, labour: LabourSheet, totals: Ledger) -> None:
    """Writes the sheet."""
    _title(sheet, rows)
    left = Block(sheet, rows, totals, 0)
    right = Block(sheet, rows, totals, len(rows.options) + 2)
    net = _price(left)
    cost = _cost(left)
    _left(left, inputs)
    right.heading("Hours and risk")
    right.words("", [""] * len(rows.options), "head.wrap")
    _risk(right)
    phases = _phases(right, labour)
    _cash(right)
    under = max(left.row, right.row) + 1
    write_charts(
        sheet,
        rows,
        (TOP, left.first, left.last),
        (net, cost),
        phases,
        (under, right.column),
        _pixels(len(rows.options)),
    )
    widths = {letters(left.column): LABEL_WIDTH, letters(right.column): LABEL_WIDTH, letters(left.last + 1): GAP_WIDTH}
    figures = (*range(left.first, left.last + 1), *range(right.first, right.last + 1))
    sheet.set_widths(**widths, **{letters(column): FIGURE_WIDTH for column in figures})
    sheet.worksheet.freeze_panes(TOP, 0)
    page(sheet, rows.quote, under + CHART_ROWS, right.last, (0, 2), breaks=(under - 1,))
    protect(sheet)


def _title(sheet: Sheet, rows: OfficeRows) -> None:
    quote = rows.quote
    terms, client, pricing = quote.job.terms, quote.job.client, quote.pricing
    number = f"Quote {terms.quote_number}" if terms.quote_number else "Quote without a number"
    sheet.text(0, 0, f"{number}, revision {terms.revision}", "title")
    sheet.worksheet.set_row(0, 28)
    site = " · ".join(word for word in (client.name, client.site.replace("\n", ", ")) if word)
    sheet.text(1, 0, site, "subtitle")
    supersedes = f" · replaces {terms.supersedes}" if terms.supersedes else ""
    dates = f"{show_date(pricing.date, terms.locale)} · valid until {show_date(pricing.valid_until, terms.locale)}"
    sheet.text(
        2, 0, f"{dates} · amounts in {pricing.currency}{supersedes} · {quote.firm.name} · office only", "quiet.note"
    )


def _pixels(options: int) -> int:
    """How wide a block is, as the library counts: 7 pixels a character and 5 around it."""
    return round(LABEL_WIDTH * 7 + 5 + (FIGURE_WIDTH * 7 + 5) * options)


def _price(block: Block) -> int:
    """The steps from materials to the total; gives the row of the total less tax."""
    rows, each = block.rows, block.each
    block.heading("Price")
    block.words("", [in_english(rows.quote, option.title) or option.name for option in rows.options], "head.wrap")
    chosen = rows.quote.recommendation.option
    block.words(
        "From the interview", ["recommended" if option.name == chosen else "" for option in rows.options], "verdict"
    )
    for key, label in (("materials", "Materials"), ("labour", "Labour"), ("freight", "Freight")):
        block.money(key, label, [getattr(found, key) for found in each])
    block.money("discount", "Discount, subtracted", [found.discount for found in each])
    for name in dict.fromkeys(tax.name for tax in rows.customer_taxes):
        _tax(block, name)
    block.money("rounding", "Rounding", [found.rounding for found in each])
    block.money("total", "Total", [found.total for found in each], "money.symbol", "label.total")
    return block.money("net", "Total less tax", [found.total - found.tax for found in each], look="label.indent")


def _tax(block: Block, name: str) -> None:
    """One tax over all its categories."""
    totals = block.totals
    keys = [
        key
        for tax in block.rows.customer_taxes
        if tax.name == name and (key := f"tax {tax.name} {tax.category}") in totals.named
    ]
    values = [sum((amount.amount for amount in found.taxes if amount.name == name), ZERO) for found in block.each]
    block.sums(name, lambda index: totals.rounded("+".join(totals.at(key, index) for key in keys) or "0"), values)


def _cost(block: Block) -> int:
    """The steps to the cost; gives its row."""
    block.heading("Cost")
    for key, label, field in (
        ("material cost", "Materials", "material_cost"),
        ("labour cost", "Labour", "labour_cost"),
        ("freight cost", "Freight", "freight"),
        ("contractor tax", "Tax that the firm pays", "contractor_tax"),
        ("scrap", "Tails too short to keep", "scrap_cost"),
        ("contingency cost", "Contingency", "contingency"),
    ):
        block.money(key, label, [getattr(found, field) for found in block.each])
    return block.money("cost", "Cost", [found.cost for found in block.each], "money.total", "label.total")


def _left(block: Block, inputs: InputCells) -> None:
    pricing, each, totals = block.rows.quote.pricing, block.each, block.totals
    count = len(each)
    block.heading("What is left")
    block.money("gross profit", "Gross profit", [found.gross_profit for found in each], "money.total", "label.total")
    block.other(
        "Margin of the total less tax",
        lambda index: totals.at("margin", index),
        [found.margin for found in each],
        "rate.total",
        "label.total",
    )
    block.other("Owner's floor", lambda _: inputs.job["floor"], [pricing.margin_floor] * count, "rate")
    at = block.other(
        "Against the floor",
        lambda index: f'IF({totals.at("margin", index)}<{inputs.job["floor"]},"{MISSED}","{REACHED}")',
        [MISSED if found.margin < pricing.margin_floor else REACHED for found in each],
        "verdict",
    )
    verdict_colours(block.sheet, at, block.first, block.last, REACHED, MISSED)
    per_hour = [r2(found.gross_profit / found.hours, pricing.currency) if found.hours else ZERO for found in each]
    block.money("per hour", "Gross profit per crew-hour", per_hour)
    block.other(
        "Labour margin, burdened cost",
        lambda index: totals.at("burdened margin", index),
        [found.labour_margin_direct for found in each],
        "rate",
    )
    block.other(
        "Labour margin, per sold hour",
        lambda index: totals.at("sold hour margin", index),
        [found.labour_margin_sold for found in each],
        "rate",
    )
    block.other("Cost and floor use", lambda _: inputs.job["basis"], [pricing.cost_basis] * count, "text.right")


def _risk(block: Block) -> None:
    each, totals, options = block.each, block.totals, block.rows.options
    expected = [found.hours for found in each]
    block.other("Hours expected (P50)", lambda index: totals.at("hours", index), expected, "hours")
    block.other(
        "Hours at P80 (8 jobs in 10)",
        lambda index: totals.at("p80", index),
        [found.p80_hours for found in each],
        "hours",
    )
    for label, of in (("People, at most", _crew), ("Half-days in the house", lambda option: option.half_days),
                      ("Trips to the house, one a day", _trips), ("Visits in the house", _visits)):
        block.words(label, [str(of(option) or "") for option in options])
    questions = block.rows.quote.open_questions
    block.words("Questions still open", [str(len(questions)) if questions else "none"] * len(options))


def _crew(option: PricedOption) -> int:
    return max((phase.crew for phase in option.phases), default=0)


def _trips(option: PricedOption) -> int:
    return sum(phase.trips for phase in option.phases)


def _visits(option: PricedOption) -> int:
    """Days in a row, as the crew's sheet of visits has them; those too whose day is agreed later."""
    return sum(visit.on_site for visit in option.timetable.visits) + len(option.timetable.agreed)


def _phases(block: Block, labour: LabourSheet) -> tuple[int, int]:
    """Hours and price of labour by phase; gives the first and last row of the hours."""
    rows, options = block.rows, block.rows.options
    worked = {row.first.phase for row in rows.work}
    used = [phase for phase in rows.phases if phase in worked]
    block.heading("Hours expected by phase (P50)")
    first = block.row
    for phase in used:
        hours = [sum((row.hours for row in option.labour if row.phase == phase), ZERO) for option in options]
        block.other(phase, _by_phase(labour, labour.hours, rows.phases[phase], 2), hours, "hours")
    last = block.row - 1
    block.heading("Hours at P80 by phase")
    for phase in used:
        _phase_p80(block, first + used.index(phase), phase)
    block.heading("Labour price by phase")
    for phase in used:
        prices = [sum((row.price for row in option.labour if row.phase == phase), ZERO) for option in options]
        block.sums(phase, _by_phase(labour, labour.price, rows.phases[phase], block.totals.places), prices)
    return first, last


def _phase_p80(block: Block, hours: int, phase: str) -> None:
    """What four jobs of five stay within in one phase: its expected hours, and the root of its squared spreads."""
    totals = block.totals
    keys = [f"spread {number}" for (name, _), number in block.rows.spreads.items() if name == phase]

    def formula(index: int) -> str:
        squares = "+".join(f"{totals.at(key, index)}^2" for key in keys) or "0"
        return f"ROUND({letters(block.first + index)}{hours + 1}+{P80_SIGMAS}*({squares})^0.5,2)"

    values = [next((one.p80_hours for one in option.phases if one.phase == phase), ZERO)
              for option in block.rows.options]
    block.other(phase, formula, values, "hours")


def _by_phase(labour: LabourSheet, column: int, number: int, places: int) -> Callable[[int], str]:
    keys = labour.column(labour.keys + 1)
    return lambda index: f"ROUND(SUMIFS({labour.column(column + index)},{keys},{number}),{places})"


def _cash(block: Block) -> None:
    block.heading("Cash")
    block.money("outlay", "Purchases, whole packs", [found.outlay for found in block.each])
    for number, step in enumerate(block.rows.quote.pricing.plan):
        block.money(f"pay {number}", step.name, [option.plan[number].amount for option in block.rows.options])

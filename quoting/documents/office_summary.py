"""The sheet Summary: the owner's page. Price, cost, what is left, hours and risk, the options side by side."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from quoting.documents.office_inputs import InputCells
from quoting.documents.office_labour import LabourSheet
from quoting.documents.office_ledger import Ledger
from quoting.documents.office_look import page, protect, show_date, show_rate, table_head, verdict_colours
from quoting.documents.office_rows import ALL, OfficeRows
from quoting.documents.sheet_writer import Sheet, Style
from quoting.money import ZERO, r2
from quoting.quote import PhaseTotal, PricedOption

FIRST = 1  # the first option's column
REACHED, MISSED = "reached", "below floor"


@dataclass(slots=True)
class Page:
    """The page so far."""

    sheet: Sheet
    rows: OfficeRows
    totals: Ledger
    row: int

    def heading(self, words: str) -> None:
        """A block's heading over the options' names."""
        self.row += 1
        table_head(
            self.sheet,
            self.row,
            0,
            (words, *(option.name for option in self.rows.options)),
            tuple(range(FIRST, FIRST + len(self.rows.options))),
        )
        self.row += 1

    def money(
        self, key: str, label: str, values: Sequence[Decimal], style: Style = "money", look: Style = "label"
    ) -> int:
        """A line of Totals, brought here."""
        self.sheet.text(self.row, 0, label, look)
        for index, value in enumerate(values):
            self.sheet.money(self.row, FIRST + index, f"={self.totals.at(key, index)}", value, style)
        self.row += 1
        return self.row - 1

    def other(
        self,
        label: str,
        formula: Callable[[int], str],
        values: Sequence[Decimal | int | str],
        style: Style,
        look: Style = "label",
    ) -> int:
        """A line of rates, hours or words."""
        self.sheet.text(self.row, 0, label, look)
        for index, value in enumerate(values):
            self.sheet.formula(self.row, FIRST + index, f"={formula(index)}", value, style)
        self.row += 1
        return self.row - 1

    def words(self, label: str, texts: Sequence[str]) -> None:
        """A line of plain text."""
        self.sheet.text(self.row, 0, label, "label")
        for index, text in enumerate(texts):
            self.sheet.text(self.row, FIRST + index, text, "text.right")
        self.row += 1


def write_summary(sheet: Sheet, rows: OfficeRows, inputs: InputCells, labour: LabourSheet, totals: Ledger) -> None:
    """Writes the sheet, its charts to the right of the figures."""
    found = Page(sheet, rows, totals, _title(sheet, rows))
    price_rows = _price(found, inputs)
    cost_row = _cost(found)
    _left(found, inputs)
    _risk(found)
    phases = _phases(found, labour)
    _cash(found)
    last = FIRST + len(rows.options) - 1
    sheet.worksheet.set_column(0, 0, 44)
    sheet.worksheet.set_column(FIRST, last, 17)
    sheet.worksheet.set_column(last + 1, last + 1, 3)
    _charts(found, price_rows, cost_row, phases)
    sheet.worksheet.freeze_panes(5, 1)
    page(sheet, rows.quote, found.row, last + 9, tall=False)
    protect(sheet)


def _title(sheet: Sheet, rows: OfficeRows) -> int:
    quote = rows.quote
    terms, client, pricing = quote.job.terms, quote.job.client, quote.pricing
    number = f"Quote {terms.quote_number}" if terms.quote_number else "Quote without a number"
    sheet.text(0, 0, f"{number}, revision {terms.revision}", "title")
    sheet.worksheet.set_row(0, 28)
    site = " · ".join(word for word in (client.name, client.site.replace("\n", ", ")) if word)
    sheet.text(1, 0, site, "subtitle")
    supersedes = f" · replaces {terms.supersedes}" if terms.supersedes else ""
    sheet.text(
        2,
        0,
        f"{show_date(pricing.date, terms.locale)} · valid until {show_date(pricing.valid_until, terms.locale)} · "
        f"amounts in {pricing.currency}{supersedes}",
        "quiet.note",
    )
    sheet.text(
        3,
        0,
        f"{quote.firm.name} · office only: cost and margin are not for the customer. {quote.firm.notice}".strip(),
        "quiet.note",
    )
    return 3


def _totals(found: Page) -> list[Any]:
    return [option.totals for option in found.rows.options]


def _price(found: Page, inputs: InputCells) -> tuple[int, int]:
    """The steps from materials to the total; gives the rows of the total less tax and of the total."""
    rows, totals = found.rows, _totals(found)
    found.heading("Price")
    found.words("", [_badge(option, rows) for option in rows.options])
    for key, label in (("materials", "Materials"), ("labour", "Labour"), ("freight", "Freight")):
        found.money(key, label, [getattr(each, key) for each in totals])
    found.money("discount", "Discount, subtracted", [each.discount for each in totals])
    net = found.money("net", "Total less tax", [each.total - each.tax for each in totals])
    for name in dict.fromkeys(tax.name for tax in rows.customer_taxes):
        _tax(found, name)
    found.money("rounding", "of it rounding", [each.rounding for each in totals], look="label.indent")
    total = found.money("total", "Total", [each.total for each in totals], "money.symbol", "label.total")
    found.other("Discount", lambda _: inputs.job["discount"], [rows.quote.pricing.discount_rate] * len(totals), "rate")
    return net, total


def _tax(found: Page, name: str) -> None:
    """One tax over all its categories."""
    taxes = [tax for tax in found.rows.customer_taxes if tax.name == name]
    keys = [key for tax in taxes if (key := f"tax {tax.name} {tax.category}") in found.totals.named]
    rates = sorted({tax.rate for tax in taxes})
    on = "everything" if any(tax.category == ALL for tax in taxes) else f"{len(keys)} categories"
    found.sheet.text(
        found.row, 0, f"{name}, {' and '.join(show_rate(rate) for rate in rates)} when built, on {on}", "label"
    )
    for index, option in enumerate(found.rows.options):
        value = sum((amount.amount for amount in option.totals.taxes if amount.name == name), ZERO)
        cells = "+".join(found.totals.at(key, index) for key in keys) or "0"
        found.sheet.money(found.row, FIRST + index, f"={found.totals.rounded(cells)}", value)
    found.row += 1


def _badge(option: PricedOption, rows: OfficeRows) -> str:
    recommended = option.name == rows.quote.recommendation.option
    return f"{option.title or option.name}{' (recommended)' if recommended else ''}"


def _cost(found: Page) -> int:
    totals = _totals(found)
    found.heading("Cost")
    for key, label, field in (
        ("material cost", "Materials", "material_cost"),
        ("labour cost", "Labour", "labour_cost"),
        ("freight cost", "Freight", "freight"),
        ("contractor tax", "Tax that the firm pays", "contractor_tax"),
        ("scrap", "Tails too short to keep", "scrap_cost"),
        ("contingency cost", "Contingency", "contingency"),
    ):
        found.money(key, label, [getattr(each, field) for each in totals])
    return found.money("cost", "Cost", [each.cost for each in totals], "money.total", "label.total")


def _left(found: Page, inputs: InputCells) -> None:
    rows, totals, ledger = found.rows, _totals(found), found.totals
    floor = rows.quote.pricing.margin_floor
    found.heading("What is left")
    found.money("gross profit", "Gross profit", [each.gross_profit for each in totals], "money.total", "label.total")
    found.other(
        "Margin of the total less tax",
        lambda index: ledger.at("margin", index),
        [each.margin for each in totals],
        "rate.total",
        "label.total",
    )
    found.other("Owner's floor", lambda _: inputs.job["floor"], [floor] * len(totals), "rate")
    at = found.other(
        "Against the floor",
        lambda index: f'IF({ledger.at("margin", index)}<{inputs.job["floor"]},"{MISSED}","{REACHED}")',
        [MISSED if each.margin < floor else REACHED for each in totals],
        "verdict",
    )
    verdict_colours(found.sheet, at, FIRST, FIRST + len(totals) - 1, REACHED, MISSED)
    found.money("per hour", "Gross profit per crew-hour", _per_hour(found))
    by_burdened = rows.quote.pricing.cost_basis == "burdened"
    for key, label, field, used in (
        ("margin direct", "Labour margin, burdened cost", "labour_margin_direct", by_burdened),
        ("margin sold", "Labour margin, cost per sold hour", "labour_margin_sold", not by_burdened),
    ):
        words = f"{label}{' (built with this one)' if used else ''}"
        found.other(
            words,
            lambda index, key=key: ledger.at(key, index),
            [getattr(each, field) for each in totals],  # type: ignore[misc]
            "rate",
        )
    found.other(
        "Cost and floor use the labour cost",
        lambda _: inputs.job["basis"],
        [rows.quote.pricing.cost_basis] * len(totals),
        "text.right",
    )


def _per_hour(found: Page) -> list[Decimal]:
    currency = found.rows.quote.pricing.currency
    return [r2(each.gross_profit / each.hours, currency) if each.hours else ZERO for each in _totals(found)]


def _risk(found: Page) -> None:
    totals, ledger = _totals(found), found.totals
    found.heading("Hours and risk")
    found.other("Hours expected", lambda index: ledger.at("hours", index), [each.hours for each in totals], "hours")
    found.other(
        "Hours, eight jobs in ten stay under (P80)",
        lambda index: ledger.at("p80", index),
        [each.p80_hours for each in totals],
        "hours",
    )
    found.words("Crew, half-days, visits on site", [_crew(option) for option in found.rows.options])
    count = len(found.rows.quote.open_questions)
    found.words("Questions still open", [str(count) if count else "none"] * len(totals))


def _crew(option: PricedOption) -> str:
    crew = max((phase.crew for phase in option.phases), default=0)
    half_days = sum(phase.half_days for phase in option.phases)
    trips = sum(phase.trips for phase in option.phases)
    return f"{crew} people, {half_days}, {trips}"


def _phases(found: Page, labour: LabourSheet) -> tuple[int, int]:
    """Hours and price of labour by phase; gives the first and last row of the hours."""
    rows = found.rows
    used = [phase for phase in rows.phases if any(_phase(option, phase) for option in rows.options)]
    found.heading("Hours by phase")
    first = found.row
    for phase in used:
        found.other(
            phase,
            _by_phase(labour, labour.hours, rows.phases[phase], 2),
            [_hours(option, phase) for option in rows.options],
            "hours",
        )
    last = found.row - 1
    found.heading("Labour price by phase")
    for phase in used:
        found.sheet.text(found.row, 0, phase, "label")
        formula = _by_phase(labour, labour.price, rows.phases[phase], found.totals.places)
        for index, option in enumerate(rows.options):
            value = sum((row.price for row in option.labour if row.phase == phase), ZERO)
            found.sheet.money(found.row, FIRST + index, f"={formula(index)}", value)
        found.row += 1
    return first, last


def _phase(option: PricedOption, phase: str) -> PhaseTotal | None:
    return next((found for found in option.phases if found.phase == phase), None)


def _hours(option: PricedOption, phase: str) -> Decimal:
    return sum((row.hours for row in option.labour if row.phase == phase), ZERO)


def _by_phase(labour: LabourSheet, column: int, number: int, places: int) -> Callable[[int], str]:
    keys = labour.column(labour.keys + 1)
    return lambda index: f"ROUND(SUMIFS({labour.column(column + index)},{keys},{number}),{places})"


def _cash(found: Page) -> None:
    totals, plan = _totals(found), found.rows.quote.pricing.plan
    found.heading("Cash")
    found.money("outlay", "Purchases, whole packs and spools", [each.outlay for each in totals])
    for number, step in enumerate(plan):
        found.money(
            f"pay {number}",
            f"{step.name}: {step.trigger}",
            [option.plan[number].amount for option in found.rows.options],
        )


def _charts(found: Page, price_rows: tuple[int, int], cost_row: int, phases: tuple[int, int]) -> None:
    """Price and cost by option; hours by phase, one bar an option."""
    sheet, count = found.sheet, len(found.rows.options)
    head, last = 4, FIRST + count - 1
    names = [sheet.name, head, FIRST, head, last]
    accent = found.rows.quote.firm.accent
    money = sheet.book.workbook.add_chart({"type": "column"})
    for label, row, colour in (("Price less tax", price_rows[0], accent), ("Cost", cost_row, "#A9B4BE")):
        money.add_series(
            {
                "name": label,
                "categories": names,
                "values": [sheet.name, row, FIRST, row, last],
                "gap": 80,
                "overlap": -5,
                "fill": {"color": colour},
                "border": {"none": True},
            }
        )
    _plain(money, f"Price less tax and cost, {found.rows.quote.pricing.currency}", "#,##0")
    sheet.worksheet.insert_chart(head, last + 2, money, {"x_scale": 1.1, "y_scale": 1.05, "object_position": 3})
    hours = sheet.book.workbook.add_chart({"type": "bar", "subtype": "stacked"})
    shades = ("#22303C", "#3F5D75", "#5F87A3", "#8CB0C6", "#B7CFDD", "#D9C48F", "#C9CFD4")
    for number, row in enumerate(range(phases[0], phases[1] + 1)):
        hours.add_series(
            {
                "name": [sheet.name, row, 0],
                "categories": names,
                "values": [sheet.name, row, FIRST, row, last],
                "gap": 60,
                "fill": {"color": shades[number % len(shades)]},
                "border": {"none": True},
            }
        )
    _plain(hours, "Hours by phase", "0")
    sheet.worksheet.insert_chart(head + 20, last + 2, hours, {"x_scale": 1.1, "y_scale": 1.15, "object_position": 3})


def _plain(chart: Any, title: str, number_format: str) -> None:
    quiet = {"color": "#66727D", "size": 9}
    chart.set_title({"name": title, "name_font": {"size": 11, "bold": True, "color": "#22303C"}, "overlay": False})
    chart.set_legend({"position": "bottom", "font": quiet})
    chart.set_chartarea({"border": {"color": "#D9DFE5"}})
    for axis in (chart.set_x_axis, chart.set_y_axis):
        axis(
            {
                "num_font": quiet,
                "num_format": number_format,
                "line": {"color": "#D9DFE5"},
                "major_gridlines": {"visible": axis == chart.set_y_axis, "line": {"color": "#EDF1F4"}},
            }
        )

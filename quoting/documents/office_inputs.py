"""The sheet Inputs: every number that moves the quote, and where each one stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from msgspec import Struct

from quoting.documents.office_look import optional, page, protect, section, table_head, title_block
from quoting.documents.office_rows import ALL, OfficeRows
from quoting.documents.sheet_writer import Sheet, Style, address
from quoting.money import minor_units
from quoting.quote import CategoryPricing, Pricing, RoleRate

CHOICES = {"method": ("rate", "P80"), "basis": ("burdened", "sold hour"), "whole": ("yes", "no")}


class CategoryCells(Struct, frozen=True):
    """Where one category's inputs stand."""

    basis: str
    rate: str
    freight: str


class RoleCells(Struct, frozen=True):
    """Where one role's rates stand. `used` is the cost that the floors use."""

    burdened: str
    sold_hour: str
    price: str
    used: str


class PartCells(Struct, frozen=True):
    """Where one part's inputs stand, and the price that they make."""

    cost: str
    list_price: str
    floor: str
    own_markup: str
    price: str


@dataclass(slots=True)
class InputCells:
    """Where every input stands, as fixed addresses with their sheet."""

    job: dict[str, str] = field(default_factory=dict)  # discount, method, contingency, whole, basis, floor, caps
    categories: dict[str, CategoryCells] = field(default_factory=dict)
    roles: dict[str, RoleCells] = field(default_factory=dict)
    taxes: dict[tuple[str, str], str] = field(default_factory=dict)  # (name, category) -> rate
    shares: list[str] = field(default_factory=list)  # the plan's, in order
    what_if: dict[str, str] = field(default_factory=dict)  # name of the case -> its rate, on the sheet What if
    parts: dict[str, PartCells] = field(default_factory=dict)  # on the sheet Part prices


def write_inputs(sheet: Sheet, rows: OfficeRows) -> InputCells:
    """Writes the sheet and tells where everything is."""
    cells = InputCells()
    row = title_block(
        sheet,
        rows.quote,
        "Inputs",
        "Change a yellow cell: every price, cost, tax and total in this "
        "workbook follows. Quantities and hours come from the house; change those in the intake workbook.",
    )
    row = _job_inputs(sheet, rows, cells, row)
    row = _roles(sheet, rows, cells, row)
    row = _categories(sheet, rows, cells, row)
    row = _taxes(sheet, rows, cells, row)
    row = _plan(sheet, rows, cells, row)
    sheet.set_widths(at_least=12, at_most=30, A=34.0, G=48.0)
    sheet.worksheet.freeze_panes(4, 1)
    page(sheet, rows.quote, row, 6, keys=1)
    protect(sheet)
    return cells


def _job_inputs(sheet: Sheet, rows: OfficeRows, cells: InputCells, row: int) -> int:
    section(sheet, row, "The job")
    for key, label, value, style, note in _entries(rows.quote.pricing):
        row += 1
        cells.job[key] = _entry(sheet, row, label, value, style, note)
        if key in CHOICES:
            _choices(sheet, row, CHOICES[key])
    row += 1
    sheet.text(row, 0, "Taxes are rounded by", "label")
    sheet.text(row, 1, rows.quote.pricing.tax_basis, "text")
    sheet.text(row, 2, "set by the place; a line: each row's tax is rounded by itself", "beside")
    return row + 2


def _entries(pricing: Pricing) -> tuple[tuple[str, str, str | Decimal | None, Style, str], ...]:
    """Key, label, value, look and note of each input of the job."""
    approved = f"; approved by {pricing.approved_by}" if pricing.approved_by else ""
    reason = f"reason: {pricing.discount_reason or 'none given'}{approved}"
    risk = "rate: of labour cost; P80: the step from expected to eight-in-ten hours. It raises cost, never price"
    basis = "burdened: pay and its burden; sold hour: carries the hours that no task sells. The floors use this one"
    cap = "the place's cap; a dash: none. What is over moves to the second payment"
    whole, yes = f"Total in whole {pricing.currency}", "yes" if pricing.whole_units else "no"
    return (
        ("discount", "Discount on materials and labour", pricing.discount_rate, "rate.input", reason),
        ("method", "Contingency by", pricing.contingency_method, "text.input", risk),
        ("contingency", "Contingency rate", pricing.contingency_rate, "rate.input", "where the line above says rate"),
        ("basis", "Labour cost per", pricing.cost_basis, "text.input", basis),
        ("whole", whole, yes, "text.input", "a visible rounding line makes up the difference"),
        ("floor", "Lowest margin the owner accepts", pricing.margin_floor, "rate.input", "of the total less tax"),
        ("free", "Discount free of approval", pricing.free_discount, "rate.input", "more needs the owner's name"),
        ("cap_rate", "Deposit at most, of the total", pricing.deposit_cap_rate, "rate.input", cap),
        ("cap_amount", "Deposit at most, as a sum", pricing.deposit_cap_amount, "money.input", "likewise"),
    )


def _entry(sheet: Sheet, row: int, label: str, value: str | Decimal | None, style: Style, note: str) -> str:
    sheet.text(row, 0, label, "label")
    if isinstance(value, str):
        sheet.text(row, 1, value, style)
    else:
        optional(sheet, row, 1, value, style)
    sheet.text(row, 2, note, "beside")
    return sheet.at(row, 1)


def _choices(sheet: Sheet, row: int, words: Sequence[str], column: int = 1) -> None:
    sheet.worksheet.data_validation(
        row,
        column,
        row,
        column,
        {
            "validate": "list",
            "source": list(words),
            "error_title": "Not one of the choices",
            "error_message": "Choose one of: " + ", ".join(words) + ".",
        },
    )


def _at_most(sheet: Sheet, first: int, last: int, column: int, most: float) -> None:
    sheet.worksheet.data_validation(
        first,
        column,
        max(first, last),
        column,
        {
            "validate": "decimal",
            "criteria": "between",
            "minimum": 0,
            "maximum": most,
            "error_title": "Out of range",
            "error_message": f"Type a number from 0 to {most}, such as 0.25 or 25%.",
        },
    )


def _roles(sheet: Sheet, rows: OfficeRows, cells: InputCells, row: int) -> int:
    section(sheet, row, "Labour rates per hour")
    table_head(
        sheet, row + 1, 0, ("Role", "Pay", "Burdened", "Per sold hour", "Price", "Cost used"), right=(1, 2, 3, 4, 5)
    )
    row += 2
    for role in _roles_used(rows):
        sheet.text(row, 0, role.role, "label")
        for offset, value in enumerate((role.pay, role.burdened, role.sold_hour, role.price), 1):
            sheet.number(row, offset, value, "price4.input" if _long(value, rows) else "money.input")
        burdened, sold = address(row, 2), address(row, 3)
        basis = cells.job["basis"].split("!")[1]
        used = role.burdened if rows.quote.pricing.cost_basis == "burdened" else role.sold_hour
        sheet.formula(
            row, 5, f'=IF({basis}="burdened",{burdened},{sold})', used, "price4" if _long(used, rows) else "money"
        )
        cells.roles[role.role] = RoleCells(sheet.at(row, 2), sheet.at(row, 3), sheet.at(row, 4), sheet.at(row, 5))
        row += 1
    return row + 1


def _roles_used(rows: OfficeRows) -> tuple[RoleRate, ...]:
    """The rate card; a role that the card lacks (it cannot, in a whole quote) costs and earns nothing."""
    known = {role.role for role in rows.quote.pricing.roles}
    missing = sorted({row.first.role for row in rows.work} - known)
    nothing = Decimal(0)
    return (
        *rows.quote.pricing.roles,
        *(RoleRate(role=role, pay=nothing, burdened=nothing, sold_hour=nothing, price=nothing) for role in missing),
    )


def _long(value: Decimal, rows: OfficeRows) -> bool:
    """Whether a rate has more decimals than the currency shows."""
    exponent = value.normalize().as_tuple().exponent
    return isinstance(exponent, int) and -exponent > minor_units(rows.quote.pricing.currency)


def _categories(sheet: Sheet, rows: OfficeRows, cells: InputCells, row: int) -> int:
    section(sheet, row, "Materials by category")
    table_head(
        sheet, row + 1, 0, ("Category", "Price by", "Rate", "Freight", "Old after days", "Number"), right=(2, 3, 4, 5)
    )
    row += 2
    first = row
    known = {category.category: category for category in rows.quote.pricing.categories}
    for name, number in rows.categories.items():
        category = known.get(name) or CategoryPricing(
            category=name, words="", basis="markup", rate=Decimal(0), freight_rate=Decimal(0), warn_days=0,
            row="",
        )
        sheet.text(row, 0, name or "no category", "label")
        sheet.text(row, 1, category.basis, "text.input")
        _choices(sheet, row, ("markup", "margin", "list"))
        sheet.number(row, 2, category.rate, "rate.input")
        sheet.number(row, 3, category.freight_rate, "rate.input")
        sheet.number(row, 4, category.warn_days, "count")
        sheet.number(row, 5, number, "key")
        cells.categories[name] = CategoryCells(sheet.at(row, 1), sheet.at(row, 2), sheet.at(row, 3))
        row += 1
    _at_most(sheet, first, row - 1, 3, 10)
    sheet.text(
        row,
        0,
        "markup: cost x (1 + rate). margin: cost / (1 - rate). list: the list price less the rate.",
        "beside",
    )
    return row + 2


def _taxes(sheet: Sheet, rows: OfficeRows, cells: InputCells, row: int) -> int:
    section(sheet, row, "Taxes")
    table_head(sheet, row + 1, 0, ("Tax", "On", "Rate", "Paid by"), right=(2,))
    row += 2
    for tax in rows.quote.pricing.taxes:
        sheet.text(row, 0, tax.name, "label")
        sheet.text(row, 1, "everything" if tax.category == ALL else tax.category, "text")
        sheet.number(row, 2, tax.rate, "rate.input")
        sheet.text(row, 3, tax.payer, "text")
        cells.taxes[tax.name, tax.category] = sheet.at(row, 2)
        row += 1
    if not rows.quote.pricing.taxes:
        sheet.text(row, 0, "No tax is set for this place.", "beside")
        row += 1
    return row + 1


def _plan(sheet: Sheet, rows: OfficeRows, cells: InputCells, row: int) -> int:
    section(sheet, row, "Payment plan")
    table_head(sheet, row + 1, 0, ("Payment", "Share", "When"), right=(1,))
    row += 2
    first = row
    for step in rows.quote.pricing.plan:
        sheet.text(row, 0, step.name, "label")
        sheet.number(row, 1, step.share, "rate.input")
        sheet.text(row, 2, step.trigger, "beside")
        cells.shares.append(sheet.at(row, 1))
        row += 1
    if row > first:
        sheet.text(row, 0, "Sum, must be 100 %", "label.total")
        total = sum((step.share for step in rows.quote.pricing.plan), Decimal(0))
        sheet.formula(row, 1, f"=ROUND(SUM({address(first, 1)}:{address(row - 1, 1)}),6)", total, "rate.total")
        row += 1
    return row

"""The sheet Part prices: what each part costs, and the one formula that makes its price."""

from __future__ import annotations

from decimal import Decimal

from quoting.documents.office_inputs import InputCells, PartCells
from quoting.documents.office_look import (
    if_none,
    optional,
    page,
    protect,
    red_under,
    show_date,
    table_head,
    title_block,
)
from quoting.documents.office_rows import OfficeRows
from quoting.documents.sheet_writer import Sheet, address
from quoting.money import ZERO, round_to
from quoting.quote import CategoryPricing, PartPricing, PricedMaterial

COST, LIST, FLOOR, OWN, BASIS, RATE, RULED, PRICE, MARGIN, BY = range(6, 16)  # columns


def write_parts(sheet: Sheet, rows: OfficeRows, inputs: InputCells) -> None:
    """Writes the sheet and adds to the inputs where each part's stand."""
    top = title_block(
        sheet,
        rows.quote,
        "Part prices",
        "Yellow cells move the quote; a dash is none. A part's own markup goes before its "
        "category's rule; a floor lifts the price, whatever made it.",
    )
    table_head(
        sheet,
        top,
        0,
        (
            "Part",
            "Description",
            "Category",
            "Supplier",
            "Unit",
            "Price from",
            "Unit cost",
            "List price",
            "Floor price",
            "Own markup",
            "Price by",
            "Rate",
            "By the rule",
            "Unit price",
            "Margin",
            "Set by",
        ),
        right=(COST, LIST, FLOOR, OWN, RATE, RULED, PRICE, MARGIN),
    )
    pricing = {part.part: part for part in rows.quote.pricing.parts}
    categories = {category.category: category for category in rows.quote.pricing.categories}
    samples = {row.first.part: row.first for row in rows.bill if row.override is None}
    row = top + 1
    for part in rows.parts:
        sample = samples.get(part)
        priced = pricing.get(part) or _as_billed(part, rows)
        _describe(sheet, row, part, rows)
        _inputs(sheet, row, priced)
        category = rows.category(part)
        _price(sheet, row, inputs, category, priced, categories.get(category), sample)
        inputs.parts[part] = PartCells(*(sheet.at(row, column) for column in (COST, LIST, FLOOR, OWN, PRICE)))
        row += 1
    sheet.worksheet.autofilter(top, 0, max(row - 1, top + 1), BY)
    red_under(sheet, top + 1, max(row - 1, top + 1), MARGIN, inputs.job["floor"])
    sheet.worksheet.freeze_panes(top + 1, 2)
    sheet.set_widths(at_least=8, at_most=58)
    page(sheet, rows.quote, row - 1, BY, (top, top), keys=2)
    protect(sheet)


def _as_billed(part: str, rows: OfficeRows) -> PartPricing:
    """A part that the price inputs lack costs what the bill says."""
    cost = next((row.first.unit_cost for row in rows.bill if row.first.part == part), ZERO)
    return PartPricing(part=part, unit_cost=cost, list_price=None, floor_price=None, own_markup=None)


def _describe(sheet: Sheet, row: int, part: str, rows: OfficeRows) -> None:
    info = rows.quote.parts.get(part)
    sheet.text(row, 0, part)
    sheet.row_of_text(row, 1, (info.description, info.category, info.supplier, info.unit) if info else ("",) * 4)
    sheet.text(row, 5, show_date(info.price_date, rows.quote.job.terms.locale) if info else "", "quiet")


def _inputs(sheet: Sheet, row: int, priced: PartPricing) -> None:
    sheet.number(row, COST, priced.unit_cost, "price4.input")
    for column, value, style in (
        (LIST, priced.list_price, "price4.input"),
        (FLOOR, priced.floor_price, "price4.input"),
        (OWN, priced.own_markup, "rate.input"),
    ):
        optional(sheet, row, column, value, style)


def _price(
    sheet: Sheet,
    row: int,
    inputs: InputCells,
    category: str,
    priced: PartPricing,
    rule: CategoryPricing | None,
    sample: PricedMaterial | None,
) -> None:
    cells = inputs.categories[category]
    sheet.formula(row, BASIS, f"={cells.basis}", rule.basis if rule else "markup", "text")
    sheet.formula(row, RATE, f"={cells.rate}", rule.rate if rule else ZERO, "rate")
    cost, list_price, floor, own, basis, rate, ruled, price = (
        address(row, column) for column in (COST, LIST, FLOOR, OWN, BASIS, RATE, RULED, PRICE)
    )
    marked_up = f"{cost}*(1+{rate})"
    by_list = if_none(list_price, marked_up, f"MIN({list_price}*(1-{rate}),{list_price})")
    by_basis = f'IF({basis}="margin",{cost}/(1-{rate}),IF({basis}="list",{by_list},{marked_up}))'
    before, now, by = _now(priced, rule)
    sheet.formula(row, RULED, f"=ROUND({if_none(own, by_basis, f'{cost}*(1+{own})')},4)", before, "price4")
    sheet.formula(
        row,
        PRICE,
        f"=ROUND(MAX({ruled},{if_none(floor, '0', floor)}),4)",
        sample.unit_price if sample else now,
        "price4",
    )
    margin = round_to((now - priced.unit_cost) / now, 4) if now else ZERO
    sheet.formula(row, MARGIN, f"=IF({price}=0,0,ROUND(({price}-{cost})/{price},4))", margin, "rate")
    list_word = if_none(list_price, '"markup"', '"list"')
    basis_word = f'IF({basis}="list",{list_word},{basis})'
    rule_word = if_none(own, basis_word, '"part markup"')
    sheet.formula(row, BY, f'=IF({ruled}<{price},"floor",{rule_word})', by, "text")


def _now(priced: PartPricing, rule: CategoryPricing | None) -> tuple[Decimal, Decimal, str]:
    """What the formulas come to now: the rule's price, the price, and what set it."""
    cost, rate, listed = priced.unit_cost, rule.rate if rule else ZERO, priced.list_price
    by: str = rule.basis if rule else "markup"
    if priced.own_markup is not None:
        price, by = cost * (1 + priced.own_markup), "part markup"
    elif by == "margin":
        price = cost / (1 - rate)
    elif by == "list" and listed is not None:
        price = min(listed * (1 - rate), listed)
    else:
        price, by = cost * (1 + rate), "markup"
    price = round_to(price, 4)
    if priced.floor_price is not None and price < priced.floor_price:
        return price, round_to(priced.floor_price, 4), "floor"
    return price, price, by

"""Columns that several sheets of a job record share: amounts typed by hand, a forecast, what it is over by, why."""

from __future__ import annotations

from decimal import Decimal

from quoting.documents.office_look import NONE, if_none, optional
from quoting.documents.sheet_writer import Sheet, Style, address
from quoting.money import ZERO

# A change order names the first five; the last is a lesson for the labour and price tables.
CAUSES = ("customer", "site", "design", "builder", "vendor", "estimate")


def forecast(base: str, spent: tuple[str, ...], to_go: str) -> str:
    """What a row comes to: what is spent, and what is still to go; a dash means the rest of the plan. A plan below
    nothing, as of a change order that takes something away, is to go whole until a 0 says that it is done."""
    rest = f"IF({base}<0,{base},MAX(0,{'-'.join((base, *spent))}))"
    return f"{'+'.join(spent)}+{if_none(to_go, rest, to_go)}"


def to_go(sheet: Sheet, row: int, column: int, style: Style) -> None:
    """A cell for what is still to go: a dash until somebody knows better."""
    optional(sheet, row, column, None, style)
    cell = address(row, column)
    sheet.worksheet.data_validation(row, column, row, column, {
        "validate": "custom", "value": f'=OR(ISNUMBER({cell}),{cell}="{NONE}")', "error_title": "Not a number",
        "error_message": "Type a number, or a dash for the rest of the plan."})


def over(sheet: Sheet, row: int, column: int, base: str, places: int, style: Style) -> None:
    """The column of the forecast is the one before: by how much it is over the plan, and at what rate of it."""
    difference = f"=ROUND({address(row, column - 1)}-({base}),{places})"
    if style.startswith("money"):
        sheet.money(row, column, difference, ZERO, style)
    else:
        sheet.formula(row, column, difference, ZERO, style)
    total = ".total" if style.endswith(".total") else ""
    sheet.formula(row, column + 1, f"=IF({base}=0,0,ROUND({address(row, column)}/({base}),4))", Decimal(0),
                  f"rate{total}")


def cause(sheet: Sheet, row: int, column: int) -> None:
    """A cell that takes one of the causes."""
    sheet.text(row, column, "", "text.input")
    sheet.worksheet.data_validation(row, column, row, column, {
        "validate": "list", "source": list(CAUSES), "error_title": "Not one of the causes",
        "error_message": f"Choose one of: {', '.join(CAUSES)}."})


def amount(sheet: Sheet, row: int, columns: tuple[int, ...], style: Style) -> None:
    """Empty cells that take a number, and say so where something else is typed."""
    for column in columns:
        sheet.blank(row, column, style)
        sheet.worksheet.data_validation(row, column, row, column, {
            "validate": "decimal", "criteria": "between", "minimum": -1e9, "maximum": 1e9,
            "error_title": "Not a number", "error_message": "Type a number, or clear the cell."})

"""The sheet Billing of a job record: each payment with what calls for it, billed and paid, and each change order."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from quoting.documents.job_row import amount
from quoting.documents.office_look import page, protect, table_head, title_block, verdict_colours
from quoting.documents.sheet_writer import Sheet, address
from quoting.money import ZERO, minor_units, share
from quoting.quote import PricedOption, Quote

HEADINGS = ("Payment", "When", "Share", "Amount", "Tax in it", "Reached on", "Invoice no.", "Billed on", "Billed",
            "Paid on", "Paid", "Retainage", "Still open", "To bill")
NAME, WHEN, SHARE, AMOUNT, TAX, REACHED, INVOICE, BILLED_ON, BILLED, PAID_ON, PAID, KEPT, OPEN, STATE = range(14)
SUMS = (AMOUNT, TAX, BILLED, PAID, KEPT, OPEN)
CHANGE_ORDERS = 8  # empty rows for them: a job rarely has more
NOTE = ("Yellow is typed. To bill: reached, and not billed whole. A signed change order gets a row: its number, amount "
        "with tax, the tax in it; less is negative. Retainage: what the contract lets the customer keep.")


@dataclass(frozen=True, slots=True)
class BillingSheet:
    """Where the change orders stand."""

    sheet: Sheet
    first: int
    last: int

    def change_before_tax(self, places: int) -> str:
        """A formula's part: what all change orders add to the price before tax."""
        whole, tax = (self.sheet.down(column, self.first, self.last) for column in (AMOUNT, TAX))
        return f"ROUND(SUM({whole})-SUM({tax}),{places})"


def write_billing(sheet: Sheet, quote: Quote, option: PricedOption) -> BillingSheet:
    """Writes the sheet. The tax is split over the payments as they are, to the cent."""
    top = title_block(sheet, quote, f"Billing: {option.name}", NOTE)
    first = top + 1
    table_head(sheet, top, 0, HEADINGS, (SHARE, *SUMS))
    taxes = share(option.totals.tax, [payment.amount for payment in option.plan], quote.pricing.currency)
    whole = option.totals.total
    for at, (payment, tax) in enumerate(zip(option.plan, taxes, strict=True), first):
        sheet.row_of_text(at, NAME, (payment.name, payment.trigger))
        sheet.number(at, SHARE, payment.amount / whole if whole else ZERO, "rate")
        sheet.number(at, AMOUNT, payment.amount, "money")
        sheet.number(at, TAX, tax, "money")
        _typed(sheet, quote, at)
    changes = first + len(option.plan)
    last = changes + CHANGE_ORDERS - 1
    for at in range(changes, last + 1):
        sheet.row_of_text(at, NAME, ("", ""), "text.input")
        sheet.blank(at, SHARE, "text")
        amount(sheet, at, (AMOUNT, TAX), "money.input")
        _typed(sheet, quote, at)
    sheet.text(changes, WHEN, "change order no. in front", "text.input")
    _sums(sheet, quote, option, first, last)
    verdict_colours(sheet, first, STATE, last, "paid", "to bill")
    sheet.worksheet.freeze_panes(first, WHEN)
    sheet.set_widths(at_least=10, at_most=44, A=26.0, B=30.0, F=12.0, G=12.0, H=12.0, J=12.0)
    page(sheet, quote, last + 1, STATE, (top, top), keys=1)
    protect(sheet)
    return BillingSheet(sheet, changes, last)


def _typed(sheet: Sheet, quote: Quote, at: int) -> None:
    for column in (REACHED, INVOICE, BILLED_ON, PAID_ON):
        sheet.text(at, column, "", "text.input")
    amount(sheet, at, (BILLED, PAID, KEPT), "money.input")
    due, billed, paid, kept = (address(at, column) for column in (AMOUNT, BILLED, PAID, KEPT))
    places = minor_units(quote.pricing.currency)
    sheet.money(at, OPEN, f"=ROUND({billed}-{paid}-{kept},{places})", ZERO)
    reached = f'{address(at, REACHED)}<>""'
    settled = f"IF({address(at, OPEN)}>0,\"open\",IF({kept}>0,\"kept back\",\"paid\"))"
    sheet.formula(at, STATE, f'=IF({reached},IF({billed}<{due},"to bill",{settled}),"")', "", "text.centre")


def _sums(sheet: Sheet, quote: Quote, option: PricedOption, first: int, last: int) -> None:
    at, places = last + 1, minor_units(quote.pricing.currency)
    sheet.text(at, NAME, "Contract with change orders", "label.total")
    sheet.blanks(at, (WHEN, SHARE, REACHED, INVOICE, BILLED_ON, PAID_ON, STATE), "label.total")
    values: Sequence[Decimal] = (option.totals.total, option.totals.tax, ZERO, ZERO, ZERO, ZERO)
    for column, value in zip(SUMS, values, strict=True):
        span = f"{address(first, column)}:{address(last, column)}"
        sheet.money(at, column, f"=ROUND(SUM({span}),{places})", value, "money.total")

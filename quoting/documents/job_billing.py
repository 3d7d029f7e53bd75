"""The sheet Billing of a job record: each payment with what calls for it, billed and paid, and each change order."""

from __future__ import annotations

from msgspec import Struct

from quoting.buying import orders, paid_by, purchase_list
from quoting.documents.formats import english_locale, formats_for
from quoting.documents.job_row import amount
from quoting.documents.office_look import page, protect, table_head, title_block
from quoting.documents.sheet_writer import Sheet, address
from quoting.money import ZERO, minor_units, share
from quoting.quote import PricedOption, Quote

HEADINGS = ("Payment", "When", "Share", "Amount", "Tax in it", "Reached on", "Invoice no.", "Billed on", "Billed",
            "Before tax", "Paid on", "Paid", "Retainage", "Still open", "To bill", "State")
NAME, WHEN, SHARE, AMOUNT, TAX, REACHED, INVOICE, BILLED_ON, BILLED, BEFORE_TAX, PAID_ON, PAID = range(12)
KEPT, OPEN, TO_BILL, STATE = range(12, 16)
SUMS = (AMOUNT, TAX, BILLED, BEFORE_TAX, PAID, KEPT, OPEN, TO_BILL)
CHANGE_ORDERS = 8  # empty rows for them: a job rarely has more
NOTE = ("Yellow is typed. To bill: reached, and not billed whole; less than 0 is to credit. A signed change order gets "
        "a row: its number, amount with tax, the tax in it; less is negative. Retainage: what the customer keeps.")


class BillingSheet(Struct, frozen=True):
    """Where the change orders stand."""

    sheet: Sheet
    first: int
    last: int

    def change_before_tax(self, places: int) -> str:
        """A formula's part: what all change orders add to the price before tax."""
        whole, tax = (self.sheet.down(column, self.first, self.last) for column in (AMOUNT, TAX))
        return f"ROUND(SUM({whole})-SUM({tax}),{places})"

    @property
    def billed_before_tax(self) -> str:
        """A formula's part: the cell that says what is billed so far, less the tax in it."""
        return self.sheet.at(self.last + 1, BEFORE_TAX)


def write_billing(sheet: Sheet, quote: Quote, option: PricedOption) -> BillingSheet:
    """Writes the sheet. The tax is split over the payments as they are, to the cent."""
    top = title_block(sheet, quote, f"Billing: {option.name}", NOTE)
    first = top + 1
    table_head(sheet, top, 0, HEADINGS, (SHARE, *SUMS))
    taxes = share(option.totals.tax, [payment.amount for payment in option.plan], quote.pricing.currency)
    whole, days = option.totals.total, paid_by(orders(quote, purchase_list(quote, option)))
    formats = formats_for(english_locale(quote.job.terms.locale), quote.pricing.currency, quote.job.unit_system)
    for at, (payment, tax) in enumerate(zip(option.plan, taxes, strict=True), first):
        day = days.get(at - first + 1)
        until = f"; paid by {formats.day(day)}: orders wait for it" if day else ""
        sheet.text(at, NAME, payment.name)
        sheet.text(at, WHEN, f"{payment.trigger}{until}", "wrap")
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
    _colours(sheet, first, last)
    sheet.worksheet.freeze_panes(first, WHEN)
    sheet.set_widths(at_least=10, at_most=44, A=26.0, B=30.0, F=12.0, G=12.0, H=12.0, K=12.0)
    page(sheet, quote, last + 1, STATE, (top, top), keys=1)
    protect(sheet)
    return BillingSheet(sheet, changes, last)


def _typed(sheet: Sheet, quote: Quote, at: int) -> None:
    for column in (REACHED, INVOICE, BILLED_ON, PAID_ON):
        sheet.text(at, column, "", "text.input")
    amount(sheet, at, (BILLED, PAID, KEPT), "money.input")
    due, tax, billed, paid, kept = (address(at, column) for column in (AMOUNT, TAX, BILLED, PAID, KEPT))
    places = minor_units(quote.pricing.currency)
    sheet.money(at, BEFORE_TAX, f"=IF({due}=0,{billed},ROUND({billed}-ROUND({billed}*{tax}/{due},{places}),{places}))",
                ZERO)
    sheet.money(at, OPEN, f"=ROUND({billed}-{paid}-{kept},{places})", ZERO)
    sheet.money(at, TO_BILL, f'=IF({address(at, REACHED)}=0,0,ROUND({due}-{billed},{places}))', ZERO)
    sheet.formula(at, STATE, f"={_state(at)}", "", "text.centre")


def _state(at: int) -> str:
    """A formula's part: where a payment stands. A change order that takes away is credited, then paid back."""
    due, billed, kept, still, to_bill = (address(at, column) for column in (AMOUNT, BILLED, KEPT, OPEN, TO_BILL))
    settled = f'IF({kept}=0,"paid","kept back")'
    open_or_not = f'IF({still}>0,"open",IF({still}<0,"to pay back",{settled}))'
    without = f'IF({billed}=0,IF({due}=0,"no charge",{open_or_not}),{open_or_not})'
    known = f'IF({to_bill}>0,"to bill",IF({to_bill}<0,"to credit",{without}))'
    return f'IF({address(at, REACHED)}=0,IF({billed}=0,"",{open_or_not}),{known})'


def _colours(sheet: Sheet, first: int, last: int) -> None:
    """Green where a payment is settled, red where the office has something to do."""
    for state, style in (("paid", "good"), ("to bill", "bad"), ("to credit", "bad"), ("to pay back", "bad")):
        sheet.worksheet.conditional_format(first, STATE, last, STATE, {
            "type": "cell", "criteria": "==", "value": f'"{state}"', "format": sheet.book.formats[style]})


def _sums(sheet: Sheet, quote: Quote, option: PricedOption, first: int, last: int) -> None:
    at, places = last + 1, minor_units(quote.pricing.currency)
    sheet.text(at, NAME, "Contract with change orders", "label.total")
    sheet.blanks(at, (WHEN, SHARE, REACHED, INVOICE, BILLED_ON, PAID_ON, STATE), "label.total")
    values = {AMOUNT: option.totals.total, TAX: option.totals.tax}
    for column in SUMS:
        span = f"{address(first, column)}:{address(last, column)}"
        sheet.money(at, column, f"=ROUND(SUM({span}),{places})", values.get(column, ZERO), "money.total")

"""The job record of the option accepted: its budget, hours and payments, with cells for what then happened.

The quote fills in what was sold. The office types what was ordered, invoiced, worked, billed and paid; the sheets work
out what the job comes to, where it leaves the budget, and what can be billed. One row keeps one id from the quote to
the close of the job, so that hours worked can be held against the labour table.
"""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import IO

from quoting.colours import readable_accents
from quoting.documents.job_billing import write_billing
from quoting.documents.job_costs import names_of_costs, write_costs
from quoting.documents.job_hours import write_hours
from quoting.documents.job_orders import write_orders
from quoting.documents.office_look import FITTED, WRAPPING, styles
from quoting.documents.sheet_writer import Book, MoneyCell, PlainFormulaSheet, open_book
from quoting.quote import PricedOption, Quote

SHEETS = ("Cost", "Orders", "Hours", "Billing")


def write_job_record(quote: Quote, folder: Path, accepted: str) -> None:
    """Writes `job-record-<option>.xlsx` for the option accepted; nothing where none is. OSError where the disk
    refuses."""
    for option in quote.options:
        if option.name == accepted:
            (folder / _file_name(option)).write_bytes(record_bytes(quote, option))


def accepted_option(build: Path, quote: Quote) -> str:
    """The option that a build's folder was written to accept: the one with a job record; "" where none has one."""
    return next((option.name for option in quote.options if (build / "office" / _file_name(option)).is_file()), "")


def _file_name(option: PricedOption) -> str:
    return f"job-record-{option.name}.xlsx"


def record_bytes(quote: Quote, option: PricedOption) -> bytes:
    """The workbook's bytes; the same for the same quote, on any day."""
    target = BytesIO()
    _write(quote, option, target)
    return target.getvalue()


def record_cells(quote: Quote, option: PricedOption) -> tuple[MoneyCell, ...]:
    """Every formula that is money, with its value before anybody has typed."""
    return tuple(_write(quote, option, BytesIO()).money)


def _write(quote: Quote, option: PricedOption, target: IO[bytes]) -> Book:
    terms = quote.job.terms
    look = styles(quote.pricing.currency, terms.locale, readable_accents(quote.firm.accent)[0])
    book = open_book(target, quote.pricing.date, look, FITTED, WRAPPING, {
        "title": f"Job record {terms.quote_number} revision {terms.revision}: {option.name}",
        "author": quote.firm.name, "comments": "Office only: shows cost and margin."})
    cost, orders, hours, billing = (book.add(name, PlainFormulaSheet) for name in SHEETS)
    ordered = write_orders(orders, quote, option, names_of_costs(cost, quote, option))
    worked = write_hours(hours, quote, option)
    billed = write_billing(billing, quote, option)
    write_costs(cost, quote, option, ordered, worked, billed)
    book.close()
    return book

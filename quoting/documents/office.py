"""Writes the office workbook from a Quote alone: the sheets, in the order in which one rests on another."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path
from typing import IO, Any

from quoting.colours import readable_accents
from quoting.documents.office_bill import write_bill
from quoting.documents.office_design import write_design
from quoting.documents.office_groups import write_groups
from quoting.documents.office_head_end import write_head_end
from quoting.documents.office_inputs import InputCells, write_inputs
from quoting.documents.office_labour import write_labour
from quoting.documents.office_levels import write_levels
from quoting.documents.office_look import FITTED, WRAPPING, styles
from quoting.documents.office_options import write_options
from quoting.documents.office_papers import write_assumptions, write_notes, write_problems, write_questions
from quoting.documents.office_parts import write_parts
from quoting.documents.office_purchases import write_purchases
from quoting.documents.office_rows import OfficeRows
from quoting.documents.office_spools import write_spools
from quoting.documents.office_summary import write_summary
from quoting.documents.office_system import write_runs, write_zones
from quoting.documents.office_totals import write_totals
from quoting.documents.office_what_if import write_what_if
from quoting.documents.office_why import write_why
from quoting.documents.office_wiring import write_wiring
from quoting.documents.sheet_writer import Book, MoneyCell, PlainFormulaSheet, Sheet, open_book
from quoting.quote import Quote

SHEETS = (
    "Summary",
    "Options",
    "What if",
    "Groups",
    "Totals",
    "Tax lines",
    "Inputs",
    "Part prices",
    "Bill",
    "Labour",
    "Purchases",
    "Spools",
    "Runs",
    "Zones",
    "Wiring",
    "Head end",
    "Levels",
    "Design",
    "Open questions",
    "Assumptions",
    "Why",
    "Problems",
    "Notes",
)


def write_office_workbook(quote: Quote, path: Path) -> None:
    """The workbook for estimator, owner and purchaser. OSError where the disk refuses.

    Every money cell is a formula over the sheet Inputs; the value stored with it is the quote's own.
    """
    path.write_bytes(workbook_bytes(quote))


def workbook_bytes(quote: Quote, worksheet_class: type[Any] = PlainFormulaSheet) -> bytes:
    """The workbook's bytes; the same for the same quote, on any day."""
    target = BytesIO()
    book, _ = _write(quote, target, worksheet_class)
    book.close()
    return target.getvalue()


def money_cells(quote: Quote) -> tuple[MoneyCell, ...]:
    """Every money cell of the workbook with the value that its formula must come to, told by the writing itself."""
    return tuple(_write(quote, BytesIO(), PlainFormulaSheet)[0].money)


def input_cells(quote: Quote) -> InputCells:
    """Where every input of the workbook stands."""
    return _write(quote, BytesIO(), PlainFormulaSheet)[1]


def _write(quote: Quote, target: IO[bytes], worksheet_class: type[Any]) -> tuple[Book, InputCells]:
    terms = quote.job.terms
    look = styles(quote.pricing.currency, terms.locale, readable_accents(quote.firm.accent)[0])
    book = open_book(
        target,
        quote.pricing.date,
        look,
        FITTED,
        WRAPPING,
        {
            "title": f"Quote {terms.quote_number} revision {terms.revision}",
            "author": quote.firm.name,
            "comments": "Office only: shows cost and margin.",
        },
    )
    rows = OfficeRows(quote)
    sheets = {name: book.add(name, worksheet_class) for name in SHEETS if name != "Tax lines" or rows.by_line}
    why = write_why(sheets["Why"], rows)
    inputs = write_inputs(sheets["Inputs"], rows)
    write_parts(sheets["Part prices"], rows, inputs)
    bill = write_bill(sheets["Bill"], rows, inputs, why)
    labour = write_labour(sheets["Labour"], rows, inputs, why)
    purchases = write_purchases(sheets["Purchases"], rows, inputs)
    totals = write_totals(sheets["Totals"], rows, inputs, bill, labour, purchases, sheets.get("Tax lines"))
    write_options(sheets["Options"], rows, bill, labour, totals)
    write_summary(sheets["Summary"], rows, inputs, labour, totals)
    write_what_if(sheets["What if"], rows, inputs, bill, labour, totals)
    write_groups(sheets["Groups"], rows, inputs, bill, labour)
    _write_papers(sheets, rows)
    return book, inputs


def _write_papers(sheets: dict[str, Sheet], rows: OfficeRows) -> None:
    write_spools(sheets["Spools"], rows)
    write_runs(sheets["Runs"], rows)
    write_zones(sheets["Zones"], rows)
    write_wiring(sheets["Wiring"], rows)
    write_head_end(sheets["Head end"], rows)
    write_levels(sheets["Levels"], rows)
    write_design(sheets["Design"], rows)
    write_questions(sheets["Open questions"], rows)
    write_assumptions(sheets["Assumptions"], rows)
    write_problems(sheets["Problems"], rows)
    write_notes(sheets["Notes"], rows)

"""The sheets of sentences: Open questions, Assumptions, Problems, Notes."""

from __future__ import annotations

from quoting.documents.language import in_english, language_for
from quoting.documents.office_look import page, section, table_head, title_block
from quoting.documents.office_rows import OfficeRows
from quoting.documents.office_why import show_cell
from quoting.documents.proposal_words import recommendation_words
from quoting.documents.sheet_writer import Sheet
from quoting.quote import Quote

NOTES = (
    (
        "Colours",
        "A yellow cell is an input: type over it, and a dash where there is none. Every other figure is a formula or "
        "comes from the house.",
    ),
    (
        "What if, Groups",
        "What if changes one thing at a time, at the yellow rate beside it; the price stays as signed unless it is the "
        "discount. Limits are solved for. Cash counts labour at its burdened cost, and planning, travel and what whole "
        "packs hold beyond the need with the first phase. Groups adds the same rows up by category, phase, room, zone "
        "and supplier, before discount, tax and contingency; its list of lines under the floor keeps its order.",
    ),
    (
        "What moves",
        "Labour rates, markups and margins, freight, discount, taxes, contingency, whole units, deposit caps, "
        "payment shares (sheet Inputs), part costs and floors (sheet Part prices), a price of your own (sheet Bill), "
        "pack costs (sheet Purchases). Quantities, hours and cable lengths do not move here: change the intake "
        "workbook, or its sheet Overrides, and build again; then the change survives the next revision.",
    ),
    (
        "What does not come back",
        "Nothing typed here reaches the proposal or the crew's papers. Settle it here, then put it into "
        "the intake workbook or the catalogue.",
    ),
    (
        "Protection",
        "Sheets with formulas are protected without a password, against slips. Review, Unprotect sheet opens them.",
    ),
    (
        "Rounding",
        "Half up, to the currency's own unit, where an amount arises: each row's cost, price and freight; each tax by "
        "itself. Unit prices have four places. A sum is a sum of rounded amounts.",
    ),
    (
        "Order",
        "Materials + labour + freight - discount + taxes + rounding = total. The discount is a rate of materials and "
        "labour and is shared over what is taxed so that the shares sum to it; freight gets none.",
    ),
    ("Markup and margin", "Markup is (price - cost) / cost. Margin is (price - cost) / price."),
    (
        "Labour cost",
        "Burdened: pay and what comes on top of it. Per sold hour: the hours that no task sells are carried too. "
        "Hours on the sheet Labour that are not sold cost their burdened rate either way. Inputs names the one that "
        "the floors use.",
    ),
    (
        "Contingency",
        "Raises cost, never price. By rate it is a share of labour cost; by P80 it is the step from expected hours to "
        "the hours that eight jobs in ten stay under, at this job's average cost of an hour.",
    ),
    ("Need and buy", "Need is what the job uses and what it costs and sells for. Buy is whole packs and spools: cash."),
    (
        "Open questions",
        "What a worse answer would add was worked out by building the quote again with that answer; these sums and "
        "the taxes' rates shown in words are as of the build.",
    ),
    ("Keys", "Small grey numbers at the right of Bill and Labour are what sums by category, room and phase go by."),
    (
        "No promise",
        "The workbook does not say that a job complies with any code. Mains work is for a licensed electrician; local "
        "rules decide.",
    ),
)


def write_questions(sheet: Sheet, rows: OfficeRows) -> None:
    """What is not known yet, who answers by when, and what the worse answer would add to each option."""
    names = tuple(f"Adds to {option.name}" for option in rows.options)
    top = title_block(
        sheet,
        rows.quote,
        "Open questions",
        "Answered with ? in the intake workbook: the value used stands until somebody answers.",
    )
    table_head(
        sheet,
        top,
        0,
        ("Of", "Field", "Question", "Used", "Worse answer", "Who answers", "Before", *names),
        tuple(range(7, 7 + len(names))),
    )
    row = top
    for row, question in enumerate(rows.quote.open_questions, top + 1):
        sheet.row_of_text(row, 0, (question.of, question.field))
        sheet.text(row, 2, in_english(rows.quote, question.question), "wrap")
        who = in_english(rows.quote, question.who)
        sheet.row_of_text(row, 3, (question.used, question.worse, who, question.by_phase))
        for index, option in enumerate(rows.options):
            if option.name in question.cost:
                sheet.number(row, 7 + index, question.cost[option.name], "money")
            else:
                sheet.blank(row, 7 + index, "money")
    row = _none(sheet, row, top, "Nothing is open.")
    sheet.set_widths(at_least=9, at_most=22, C=34.0)
    sheet.worksheet.freeze_panes(top + 1, 2)
    page(sheet, rows.quote, row, 6 + len(names), (top, top), keys=2)


def write_assumptions(sheet: Sheet, rows: OfficeRows) -> None:
    """Every default that was used, then every sentence that the design brings."""
    top = title_block(
        sheet,
        rows.quote,
        "Assumptions",
        "Values that nobody typed, and where they came from; then what the quote excludes, assumes and asks of others.",
    )
    table_head(sheet, top, 0, ("Of", "Field", "Value used", "Came from", "Would stand at"))
    row = top
    for row, default in enumerate(rows.quote.defaults, top + 1):
        sheet.row_of_text(row, 0, (default.of, default.field, default.value))
        sheet.text(row, 3, default.source, "wrap")
        sheet.text(row, 4, show_cell(default.where), "quiet")
    row = _none(sheet, row, top, "No default was used.") + 2
    section(sheet, row, "Sentences")
    head = row + 1
    table_head(sheet, head, 0, ("Code", "Kind", "Options", "Sentence", "Because of"))
    row = head
    for row, statement in enumerate(rows.quote.statements, head + 1):
        sheet.row_of_text(row, 0, (statement.code, statement.kind, ", ".join(statement.options)))
        sheet.text(row, 3, in_english(rows.quote, statement.text), "wrap")
        because = ", ".join(dict.fromkeys(f"{reason.rule} {reason.fact}".strip() for reason in statement.because))
        sheet.text(row, 4, because, "wrap")
    row = _none(sheet, row, head, "No sentence was asked for.") + 2
    section(sheet, row, "From the visit")
    head = row + 1
    table_head(sheet, head, 0, ("Of", "What", "Said"))
    row = head
    for row, said in enumerate(_from_the_visit(rows.quote), head + 1):
        sheet.row_of_text(row, 0, said[:2])
        sheet.text(row, 2, said[2], "wrap")
    row = _none(sheet, row, head, "Nothing was noted.")
    sheet.set_widths(at_least=12, at_most=30, D=66.0, E=26.0)
    sheet.worksheet.freeze_panes(top + 1, 0)
    page(sheet, rows.quote, row, 4, (top, top), keys=1)


def _from_the_visit(quote: Quote) -> list[tuple[str, str, str]]:
    """What the salesperson noted for the office: never in a customer's paper."""
    job, client = quote.job, quote.job.client
    budget = f"{client.budget} {quote.pricing.currency}" if client.budget is not None else ""
    said = [
        ("Job", "Budget", " - ".join(text for text in (budget, client.budget_said_by) if text)),
        ("Job", "Priorities", ", ".join(client.priorities)),
        ("Job", "Internet live", job.internet_live.isoformat() if job.internet_live else "not said"),
        ("Job", "Router owner", job.router_owner),
    ]
    for room in job.rooms:
        said += [(room.name, "Note", room.note), (room.name, "Obstacles", room.obstacles)]
    said += [(extra.name, "Note", extra.note) for extra in job.extras]
    return [row for row in said if row[2]]


def write_problems(sheet: Sheet, rows: OfficeRows) -> None:
    """What the build warned of."""
    top = title_block(sheet, rows.quote, "Problems", "What a person should look at before this quote goes out.")
    table_head(sheet, top, 0, ("File", "Sheet", "Cell", "How bad", "Code", "What is wrong", "What to type"))
    row = top
    for row, problem in enumerate(rows.quote.problems, top + 1):
        sheet.row_of_text(
            row, 0, (problem.where.file, problem.where.sheet, problem.where.ref, problem.severity, problem.code)
        )
        sheet.text(row, 5, problem.message, "wrap")
        sheet.text(row, 6, problem.remedy, "wrap")
    row = _none(sheet, row, top, "Nothing was found.")
    sheet.worksheet.autofilter(top, 0, row, 6)
    sheet.set_widths(at_least=10, at_most=36, F=60.0, G=44.0)
    sheet.worksheet.freeze_panes(top + 1, 0)
    page(sheet, rows.quote, row, 6, (top, top), keys=3)


def write_notes(sheet: Sheet, rows: OfficeRows) -> None:
    """The workbook's own rules, and what it was made from."""
    quote = rows.quote
    row = title_block(sheet, quote, "Notes", "How this workbook works.")
    made_from = (
        (
            "Made from",
            f"{quote.job.file}, fingerprint {quote.workbook_fingerprint[:16]}; catalogue {quote.catalog_name}, "
            f"fingerprint {quote.catalog_fingerprint[:16]}.",
        ),
        ("Recommended", f"{quote.recommendation.option}. {recommendation_words(quote, language_for('en', {}))}"),
        ("Place", in_english(quote, quote.place.tax_note)
         or f"Tax and contract terms of {quote.place.place or 'no place'}."),
    )
    for heading, text in (*NOTES, *made_from):
        sheet.text(row, 0, heading, "head.side")
        sheet.text(row, 1, text, "wrap")
        row += 1
    sheet.set_widths(A=24.0, B=110.0)
    page(sheet, quote, row - 1, 1)


def _none(sheet: Sheet, row: int, top: int, sentence: str) -> int:
    """The last row of a table; a sentence where it is empty."""
    if row > top:
        return row
    sheet.text(top + 1, 0, sentence, "quiet.note")
    return top + 1

"""The customer's workbook: what the proposal says, as plain values to sort and compare; no formula, nothing hidden.

It is made of the records of proposal_view.py, the allow-list, and of nothing else, as the page is.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Iterator, Sequence
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from textwrap import wrap

from xlsxwriter.worksheet import Worksheet

from quoting.colours import readable_accents
from quoting.documents.formats import Formats, formats_for, paper_size
from quoting.documents.language import Language, language_for
from quoting.documents.office_look import FITTED, PAPERS, WRAPPING, styles
from quoting.documents.proposal_customer import customer_view
from quoting.documents.proposal_view import AmountRow, CustomerView, DetailCell, Said, StepView
from quoting.documents.sheet_writer import Book, Sheet, open_book
from quoting.quote import Quote

Value = str | Decimal | None | tuple[str, ...]  # a cell: text, an amount, nothing, lines of text
NOTHING = "–"
LABEL_WIDTH, OPTION_WIDTH, TEXT_WIDTH = 36.0, 26.0, 70.0  # of columns, in characters
_LONGEST_NAME = 31  # of a sheet: the file format's limit
_NOT_IN_A_NAME = re.compile(r"[\[\]:*?/\\]")


def write_customer_workbook(quote: Quote, path: Path) -> None:
    """Write the workbook. OSError where the disk refuses."""
    path.write_bytes(workbook_bytes(quote))


def workbook_bytes(quote: Quote) -> bytes:
    """The workbook's bytes; the same for the same quote, on any day."""
    terms = quote.job.terms
    formats = formats_for(terms.locale, quote.pricing.currency, quote.job.unit_system)
    language = language_for(terms.locale, quote.firm.wording)
    view = customer_view(quote, formats, language)
    target = BytesIO()
    look = styles(view.paper.currency, terms.locale, readable_accents(quote.firm.accent)[0])
    symbol = look["money.symbol"]["num_format"]
    look = {**look, "money": {**look["money"], "num_format": symbol},
            "money.total": {**look["money.total"], "num_format": symbol}}
    book = open_book(target, view.paper.date, look, FITTED, WRAPPING,
                     {"title": f"{view.headline} – {view.firm.name}", "author": view.firm.name})
    _Sheets(book, view, formats, language, paper_size(terms.locale)).write()
    book.close()
    return target.getvalue()


class _Sheets:
    """The sheets being written, one after the other."""

    def __init__(self, book: Book, view: CustomerView, formats: Formats, language: Language, paper: str) -> None:
        self._book, self._view, self._formats, self._language, self._paper = book, view, formats, language, paper
        self._options = tuple(option.title for option in view.options)

    def write(self) -> None:
        """All of them."""
        self._first()
        self._compared()
        self._rooms()
        self._prices()
        self._steps()
        self._detail()
        self._later()
        self._questions()
        self._scope()
        self._terms()

    # ------------------------------------------------------------------------------------------ the sheets

    def _first(self) -> None:
        view, _ = self._view, self._language.gettext
        page = self._page(_("Your options"))
        cards = view.options
        page.table(("", *self._options), [
            ("", *(_("We recommend this one") if card.recommended else "" for card in cards)),
            ("", *(card.subtitle for card in cards)),
            (_("What it is"), *(card.summary for card in cards)),
            (_("First payment"), *(card.first_payment for card in cards)),
        ], total=(_("Total"), *(card.total for card in cards)))
        if view.recommended:
            page.lines([_("Why %(option)s?", option=view.recommended) + " " + view.reason])
        page.table((_("Proposal"), view.paper.number or _("not numbered")), [
            (_("For"), view.client), (_("House"), view.site),
            (_("Date"), self._formats.date(view.paper.date)),
            (_("Prices hold until"), self._formats.date(view.paper.valid_until)),
            *([(_("Planned start"), self._formats.date(view.paper.start))] if view.paper.start else []),
            (view.firm.name, (view.firm.address, *filter(None, (view.firm.phone, view.firm.email)))),
        ])
        page.close()

    def _compared(self) -> None:
        page = self._page(self._language.gettext("Side by side"))
        page.table((self._language.gettext("What you get"), *self._options),
                   [(row.label, *row.cells) for row in self._view.compare], repeat=True)
        page.close()

    def _rooms(self) -> None:
        page = self._page(self._language.gettext("Room by room"))
        rows: list[tuple[Value, ...]] = []
        groups = []
        for floor in self._view.floors:
            if floor.title:
                groups.append(len(rows))
                rows.append((floor.title, *("" for _ in self._options)))
            rows += [((room.name, room.note) if room.note else room.name, *room.gives) for room in floor.rooms]
        page.table((self._language.gettext("Room"), *self._options), rows, repeat=True, groups=groups)
        page.close()

    def _prices(self) -> None:
        view, _ = self._view, self._language.gettext
        page = self._page(_("The price"))
        page.amounts(_("Part of the price"), view.prices)
        page.lines(filter(None, (view.place.tax_note,)))
        if view.phases:
            page.amounts(_("Phase"), view.phases)
        page.amounts(_("Payment"), view.plan)
        page.close()

    def _steps(self) -> None:
        if not self._view.steps:
            return
        page = self._page(self._language.gettext("From one option to the next"))
        for step in self._view.steps:
            self._step(page, step)
        page.close()

    def _step(self, page: _Page, step: StepView) -> None:
        _ = self._language.gettext
        others: list[tuple[Value, ...]] = [(label, "", "", amount) for label, amount in step.others]
        page.table(
            (_("From %(start)s to %(end)s", start=step.start, end=step.end), _("Equipment and materials"), _("Labour"),
             _("Together")),
            [*((line.name, line.materials, line.labour, line.both) for line in step.lines), *others],
            total=(_("%(end)s instead of %(start)s", end=step.end, start=step.start), "", "", step.total), right=True)

    def _detail(self) -> None:
        detail = self._view.detail
        if detail is None:
            return
        page = self._page(detail.title)
        counted = any(cell and cell.quantity is not None for group in detail.groups for row in group.rows
                      for cell in row.cells)

        def spread(label: str, cells: Iterable[DetailCell | None]) -> tuple[Value, ...]:
            return (label, *(value for cell in cells for value in self._detail_cell(cell, counted)))

        def plain(amounts: Iterable[Decimal | None]) -> Iterator[DetailCell | None]:
            return (None if amount is None else DetailCell(amount=amount) for amount in amounts)
        rows: list[tuple[Value, ...]] = []
        groups = []
        for group in detail.groups:
            if group.title:
                groups.append(len(rows))
                rows.append(spread(group.title, plain(group.sums)))
            rows += [spread(row.label, row.cells) for row in group.rows]
        rows += [spread(row.label, plain(row.amounts)) for row in detail.closing if not row.total]
        total = next((spread(row.label, plain(row.amounts)) for row in detail.closing if row.total), None)
        heads = [head for title in self._options for head in ((self._language.gettext("How many"), title) if counted
                                                              else (title,))]
        page.table((self._language.gettext("Room"), *heads), rows, total=total, right=True, repeat=True, groups=groups)
        page.close()

    def _detail_cell(self, cell: DetailCell | None, counted: bool) -> tuple[Value, ...]:
        amount = cell.amount if cell else None
        if not counted:
            return (amount,)
        return (self._formats.measure(cell.quantity, cell.unit) if cell and cell.quantity is not None else "", amount)

    def _later(self) -> None:
        view, _ = self._view, self._language.gettext
        if not view.later and not view.fees:
            return
        page = self._page(_("Add later") if view.later else _("Every month"))
        if view.later:
            page.table((_("Rooms that can be added later"), *self._options),
                       [(row.name, *row.amounts) for row in view.later], right=True)
            page.lines([_("The cable is in the wall. About what it costs to equip a room later, at today's prices, tax "
                          "and one visit included; we confirm the price when you ask.")])
        if view.fees:
            page.table((_("Monthly fees"), *self._options),
                       [((row.words, row.payee) if row.payee else row.words, *row.amounts) for row in view.fees],
                       right=True)
            page.lines([_("Paid while you want it, and in no total above.")])
        page.close()

    def _questions(self) -> None:
        view, _ = self._view, self._language.gettext
        if not view.questions:
            return
        page = self._page(_("Still to be answered"))
        page.table(
            (_("Question"), _("Priced as"), _("Who answers"),
             *(_("Else, %(option)s", option=title) for title in self._options)),
            [(_("%(place)s: %(question)s", place=asked.place, question=asked.question),
              (asked.used, _("else %(answer)s", answer=asked.worse)) if asked.worse else asked.used,
              (asked.who, asked.before) if asked.before else asked.who,
              *(amount or _("no change") for amount in asked.adds)) for asked in view.questions])
        page.close()

    def _scope(self) -> None:
        if not self._view.said:
            return
        page = self._page(self._language.gettext("What is in it, and what is not"), text=True)
        for group in self._view.said:
            page.section(group.title)
            page.lines(map(self._said, group.sentences))
        page.close()

    def _said(self, said: Said) -> str:
        day = self._language.gettext("By %(date)s.", date=self._formats.date(said.needed_by)) if said.needed_by else ""
        return " ".join(filter(None, (said.text, day, f"({said.only})" if said.only else "")))

    def _terms(self) -> None:
        view, _ = self._view, self._language.gettext
        page = self._page(_("Terms"), text=True)
        changes = [view.firm.change_terms]
        if view.firm.smallest_change is not None:
            amount = self._formats.money(view.firm.smallest_change)
            changes.append(_("The smallest change costs %(amount)s: this proposal is revised for it.", amount=amount)
                           if view.firm.revised_for_change else
                           _("The smallest change costs %(amount)s.", amount=amount))
        if view.change_rate is not None:
            changes.append(_("Extra work is charged at %(amount)s an hour, and only where you asked for it in writing.",
                             amount=self._formats.money(view.change_rate)))
        for heading, text in (
            (_("Prices hold"), _("until %(date)s.", date=self._formats.date(view.paper.valid_until))),
            (_("Warranty"), view.firm.warranty), (_("Changes"), " ".join(changes).strip()),
            (_("Permit"), view.place.permit), (_("Licence"), view.firm.licence),
            (_("General terms"), "\n".join(view.firm.terms)), (_("Your right to cancel"), view.place.withdrawal),
        ):
            if text:
                page.section(heading)
                page.lines([text])
        page.lines(filter(None, (view.firm.notice,)))
        page.close()

    def _page(self, title: str, text: bool = False) -> _Page:
        page = _Page(self._book.add(self._name(title), Worksheet), self._view, self._paper, text)
        if self._language.direction == "rtl":
            page.sheet.worksheet.right_to_left()
        page.head(title, self._view)
        return page


    def _name(self, title: str) -> str:
        """A sheet's name as the format allows it, and that no other sheet has."""
        taken = {name.casefold() for name in self._book.sheets}
        plain = _NOT_IN_A_NAME.sub(" ", title).strip("' ") or "-"
        ends = ("", *(f" {number}" for number in range(2, len(taken) + 3)))
        names = (plain[:_LONGEST_NAME - len(end)].strip("' ") + end for end in ends)
        return next(name for name in names if name.casefold() not in taken)


class _Page:
    """One sheet, written from the top down."""

    def __init__(self, sheet: Sheet, view: CustomerView, paper: str, text: bool) -> None:
        self.sheet = sheet
        self._view, self._paper, self._text = view, paper, text
        self._row, self._columns = 0, 1
        self._repeated: int | None = None

    def head(self, title: str, view: CustomerView) -> None:
        """What the sheet is about, and whose it is."""
        self.sheet.text(0, 0, title, "title")
        self.sheet.worksheet.set_row(0, 28)
        self.sheet.text(1, 0, f"{view.headline} · {view.client}", "subtitle")
        self._row = 3

    def section(self, heading: str) -> None:
        """A heading over lines."""
        self.sheet.text(self._row, 0, heading, "section")
        self._row += 1

    def lines(self, texts: Iterable[str]) -> None:
        """Texts, and a row of air: each in a cell that wraps, or in rows no longer than the table is wide."""
        wide = int(LABEL_WIDTH + OPTION_WIDTH * len(self._view.options))
        for text in texts:
            for line in [text] if self._text else wrap(text, wide):
                self.sheet.text(self._row, 0, line, "wrap" if self._text else "quiet.note")
                self._row += 1
        self._row += 1

    def amounts(self, first: str, rows: Sequence[AmountRow]) -> None:
        """Rows of amounts, an option a column; the last is their total where it says so."""
        plain = [(row.label, *row.amounts) for row in rows if not row.total]
        total = next(((row.label, *row.amounts) for row in rows if row.total), None)
        self.table((first, *(option.title for option in self._view.options)), plain, total=total, right=True)

    def table(
        self, headings: Sequence[str], rows: Sequence[Sequence[Value]], total: Sequence[Value] | None = None,
        right: bool = False, repeat: bool = False, groups: Collection[int] = (),
    ) -> None:
        """A table and a row of air; `right`: its columns hold amounts; `repeat`: its head stands on each page;
        `groups`: the rows that head those that follow."""
        for column, heading in enumerate(headings):
            self.sheet.text(self._row, column, heading, "head.right" if right and column else "head")
        if repeat:
            self._repeated = self._row
            self.sheet.worksheet.freeze_panes(self._row + 1, 1)
        self._columns = max(self._columns, len(headings))
        for number, row in enumerate(rows):
            self._write(row, *(("money.total", "head.side") if number in groups else ("money", "wrap")))
        if total is not None:
            self._write(total, "money.total", "label.total")
        self._row += 2

    def _write(self, row: Sequence[Value], amount: str, text: str) -> None:
        self._row += 1
        for column, value in enumerate(row):
            self._cell(column, value, amount, text)

    def _cell(self, column: int, value: Value, amount: str, text: str) -> None:
        if isinstance(value, Decimal):
            self.sheet.number(self._row, column, value, amount)
        elif value is None:
            self.sheet.text(self._row, column, NOTHING, "text.right")
        else:
            self.sheet.text(self._row, column, value if isinstance(value, str) else "\n".join(value), text)

    def close(self) -> None:
        """Widths, heights, and how it prints: the page's width, whole firm and page number at the foot."""
        first = {"A": TEXT_WIDTH if self._text else LABEL_WIDTH}
        others = {chr(ord("A") + column): OPTION_WIDTH for column in range(1, self._columns)}
        self.sheet.set_widths(**first, **others)
        found, paper = self.sheet.worksheet, self._view.paper
        found.hide_gridlines(2)
        if self._columns > 3:
            found.set_landscape()
        found.set_paper(PAPERS[self._paper])
        found.set_margins(left=0.5, right=0.5, top=0.6, bottom=0.7)
        found.fit_to_pages(1, 0)
        found.print_area(0, 0, self._row, self._columns - 1)
        if self._repeated is not None:
            found.repeat_rows(self._repeated)
        firm, number = self._view.firm.name.replace("&", "&&")[:100], paper.number.replace("&", "&&")[:30]
        found.set_footer(f"&L&8{firm}&R&8{number} · &P / &N")

"""The customer's change order: what changes from one revision to the next, room by room, and what it costs."""

from __future__ import annotations

import datetime
from decimal import Decimal
from pathlib import Path

from msgspec.structs import replace

from quoting.documents.change_answers import HouseAnswers
from quoting.documents.change_order_view import AmountChange, BeforeAfter, ChangeOrderView, ChangeRequest, SaidChange
from quoting.documents.formats import Formats, formats_for
from quoting.documents.language import N_, Language, language_for
from quoting.documents.proposal_customer import firm_face
from quoting.documents.proposal_prices import LABOUR, fee_rows, price_rows
from quoting.documents.proposal_rooms import compare, in_house_order, phone_lines, room_lines
from quoting.documents.proposal_view import AmountRow
from quoting.documents.proposal_words import NOTHING, option_title
from quoting.documents.templates import render_page
from quoting.money import ZERO
from quoting.quote import PricedOption, Quote

PAGE = "change_order.html"
REASONS = {
    "customer": N_("The customer wishes it"), "site": N_("Found on site"), "design": N_("The design was changed"),
    "builder": N_("The builder asks for it"), "vendor": N_("A product is no longer to be had"),
}
# Rows of the comparison that the table of rooms says too, or that look at the other options.
_SAID_ELSEWHERE = (N_("Rooms with music"), N_("Wired now, music later"), N_("Televisions heard"),
                   N_("How each room is controlled"), N_("What it gives up"))


def write_change_order(
    old: Quote, new: Quote, option: str, request: ChangeRequest, path: Path, templates: tuple[Path, ...]
) -> None:
    """Write the change order of one option, in the new quote's language.

    Raises OSError where the file cannot be written, BadTemplate where a template of the firm's own fails.
    """
    terms = new.job.terms
    language = language_for(terms.locale, new.firm.wording)
    formats = formats_for(terms.locale, new.pricing.currency, new.job.unit_system, language.code)
    view = change_order_view(old, new, option, request, formats, language)
    path.write_bytes(render_page(templates, PAGE, view=view, formats=formats, language=language).encode("utf-8"))


def change_order_view(
    old: Quote, new: Quote, option: str, request: ChangeRequest, formats: Formats, language: Language
) -> ChangeOrderView:
    """Everything that the change order prints. Both quotes have the option, and one currency."""
    old, new = in_house_order(old), in_house_order(new)
    before = next(one for one in old.options if one.name == option)
    after = next(one for one in new.options if one.name == option)
    both = replace(new, options=(before, after))
    answers = HouseAnswers((old, new), (before, after), formats, language)
    rooms = _rooms(old, new, before, after, answers, language)
    house = _house(old, new, before, after, answers, language)
    price = _price(old, new, before, after, formats, language)
    return ChangeOrderView(
        firm=firm_face(new), client=new.job.client.name, site=new.job.client.site,
        number=new.job.terms.quote_number, order_number=change_order_number(new),
        old_revision=old.job.terms.revision, old_date=old.pricing.date,
        new_revision=new.job.terms.revision, new_date=new.pricing.date, valid_until=new.pricing.valid_until,
        option=option_title(after), request=request,
        reason=language.gettext(REASONS[request.reason]) if request.reason else "",
        rooms=rooms, house=house, said=_said(old, new, option), price=price,
        monthly=_monthly(both, language), before=before.totals.total,
        difference=after.totals.total - before.totals.total, after=after.totals.total,
        days_before=Decimal(before.half_days) / 2, days_after=Decimal(after.half_days) / 2,
        start_before=old.job.start_date, start_after=new.job.start_date, end_before=_end(before), end_after=_end(after),
        tax_note=new.place.tax_note, only_revised=not rooms and not house and _only_revised(old, new, before, after))


def _rooms(
    old: Quote, new: Quote, before: PricedOption, after: PricedOption, answers: HouseAnswers, language: Language
) -> tuple[BeforeAfter, ...]:
    """The rooms that get something else, in the house's order; those that are gone come last."""
    names = {room.code: room.name for quote in (old, new) for room in quote.job.rooms}
    was, now = room_lines(old, before, language), room_lines(new, after, language)
    for code in was.keys() & now.keys():
        told = answers.of_room(code)
        was[code], now[code] = (*was[code], *told[0]), (*now[code], *told[1])
    absent, gone = (language.gettext("Not in the plan"),), (language.gettext("No longer in the plan"),)
    return tuple(BeforeAfter(name=names[code], before=was.get(code, absent), after=now.get(code, gone))
                 for code in dict.fromkeys((*now, *was)) if was.get(code) != now.get(code))


def _house(
    old: Quote, new: Quote, before: PricedOption, after: PricedOption, answers: HouseAnswers, language: Language
) -> tuple[BeforeAfter, ...]:
    """The rows of the proposal's comparison that read differently, the phones, and other answers."""
    was, now = ({row.label: row.cells[0] for row in compare(replace(quote, options=(one,)), language)}
                for quote, one in ((old, before), (new, after)))
    phones = language.gettext("Phone or tablet")
    was[phones], now[phones] = (phone_lines(quote, one, language) or (NOTHING,)
                                for quote, one in ((old, before), (new, after)))
    later = language.gettext("What can be added later")
    full = (language.gettext("No further zone on the same equipment"),)
    if later in was or later in now:
        was, now = {later: full, **was}, {later: full, **now}
    left_out = {language.gettext(label) for label in _SAID_ELSEWHERE}
    rows = (BeforeAfter(name=label, before=was.get(label, (NOTHING,)), after=now.get(label, (NOTHING,)))
            for label in dict.fromkeys((*now, *was))
            if was.get(label) != now.get(label) and label not in left_out)
    others = (BeforeAfter(name=name, before=lines[0] or (NOTHING,), after=lines[1] or (NOTHING,))
              for name, *lines in answers.of_house())
    return (*rows, *others)


def _said(old: Quote, new: Quote, option: str) -> tuple[SaidChange, ...]:
    """Sentences that came or went; none where the two proposals speak two languages."""
    if old.job.terms.locale != new.job.terms.locale:
        return ()
    was, now = (dict.fromkeys(said.text for said in quote.statements if not said.options or option in said.options)
                for quote in (old, new))
    return (*(SaidChange(text=text, applies=True) for text in now if text not in was),
            *(SaidChange(text=text, applies=False) for text in was if text not in now))


def _price(
    old: Quote, new: Quote, before: PricedOption, after: PricedOption, formats: Formats, language: Language
) -> tuple[AmountChange, ...]:
    """What differs of the price; of labour the revision of the proposal stands by itself."""
    rows = price_rows(replace(new, options=(before, after)), formats.rate, language)
    revised = _revised(old, new, before, after)
    labour = language.gettext(LABOUR)
    parted: list[AmountRow] = []
    for row in rows:
        if row.label != labour or not any(revised):
            parted.append(row)
            continue
        rest = tuple((amount or ZERO) - its for amount, its in zip(row.amounts, revised, strict=True))
        parted += [replace(row, amounts=rest), AmountRow(label=language.gettext("Revision of the proposal"), words="",
                                                         amounts=revised)]
    return _differing(tuple(parted))


def _revised(old: Quote, new: Quote, before: PricedOption, after: PricedOption) -> tuple[Decimal, Decimal]:
    """What revising the proposal costs on each side: labour whose rules read the revision."""
    rules = {**old.rules, **new.rules}
    was, now = (sum((row.price for row in option.labour
                     if any("revision" in rules.get(reason.rule, ()) for reason in row.because)), ZERO)
                for option in (before, after))
    return was, now


def _only_revised(old: Quote, new: Quote, before: PricedOption, after: PricedOption) -> bool:
    """Whether the revision is all that is charged: nothing of the rest of the price moved but what follows it."""
    was, now = _revised(old, new, before, after)
    rest = [(option.totals.materials, option.totals.labour - its, option.totals.freight)
            for option, its in ((before, was), (after, now))]
    return was != now and rest[0] == rest[1]


def _differing(rows: tuple[AmountRow, ...]) -> tuple[AmountChange, ...]:
    """The rows whose amounts differ, and the total always."""
    found = []
    for row in rows:
        before, after = (amount or ZERO for amount in row.amounts)
        if before != after or row.total:
            found.append(AmountChange(label=row.label, before=before, after=after, difference=after - before,
                                      total=row.total))
    return tuple(found)


def _monthly(both: Quote, language: Language) -> tuple[AmountChange, ...]:
    rows = tuple(AmountRow(label=row.words, words="", amounts=row.amounts) for row in fee_rows(both, language))
    return _differing(rows)


def _end(option: PricedOption) -> datetime.date | None:
    """The last day of the work; None without dates."""
    return max((visit.last_date for visit in option.timetable.visits if visit.last_date), default=None)


def change_order_number(new: Quote) -> str:
    """One for each revision: the quote's number and the revision that it brings."""
    terms = new.job.terms
    return "-".join(filter(None, (terms.quote_number, f"R{terms.revision}")))

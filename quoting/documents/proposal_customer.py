"""A Quote as its customer may see it: fills the allow-list of proposal_view.py, field by field."""

from __future__ import annotations

from typing import cast, get_args

from quoting.documents.formats import Formats
from quoting.documents.proposal_colour import readable_accents
from quoting.documents.proposal_prices import detail_table, option_title, phase_rows, plan_rows, price_rows, steps
from quoting.documents.proposal_rooms import compare, fact_rows, floors, in_house_order, live_rooms
from quoting.documents.proposal_view import (
    CustomerView,
    FirmFace,
    OptionCard,
    PaperFacts,
    PlaceNotes,
    QuestionView,
    Said,
    SaidGroup,
)
from quoting.documents.proposal_words import count_words, phase_title, sentence
from quoting.facts import SystemFact
from quoting.money import ZERO
from quoting.quote import OpenQuestion, PricedOption, Quote, StatementKind

SAID_TITLES: dict[StatementKind, str] = {
    "exclusion": "Not in the price", "needed from others": "What we need from others",
    "assumption": "What we have assumed", "caution": "Please note",
}


def customer_view(quote: Quote, formats: Formats) -> CustomerView:
    """Everything that the customer's documents print."""
    quote = in_house_order(quote)
    recommended = next((o for o in quote.options if o.name == quote.recommendation.option), None)
    return CustomerView(
        paper=_paper(quote), firm=_firm(quote), client=quote.job.client.name, site=quote.job.client.site,
        headline=_headline(quote), promise=_promise(quote),
        options=tuple(_card(option, option is recommended) for option in quote.options),
        recommended=option_title(recommended) if recommended else "",
        reason=quote.recommendation.reason if recommended else "",
        compare=compare(quote), steps=steps(quote), floors=floors(quote), prices=price_rows(quote, formats.rate),
        phases=phase_rows(quote), detail=detail_table(quote, formats.rate), plan=plan_rows(quote), said=_said(quote),
        questions=tuple(_question(question, quote) for question in quote.open_questions), place=_place(quote),
    )


def _paper(quote: Quote) -> PaperFacts:
    terms = quote.job.terms
    return PaperFacts(number=terms.quote_number, revision=terms.revision, supersedes=terms.supersedes,
                      date=quote.pricing.date, valid_until=quote.pricing.valid_until, start=quote.job.start_date)


def _firm(quote: Quote) -> FirmFace:
    firm = quote.firm
    accent, accent_dark = readable_accents(firm.accent)
    return FirmFace(
        name=firm.name, address=firm.address, phone=firm.phone, email=firm.email, licence=firm.licence,
        warranty=firm.warranty, letter=firm.letter, change_terms=firm.change_terms, notice=firm.notice,
        minimum_change=firm.minimum_change, accent=accent, accent_dark=accent_dark)


def _headline(quote: Quote) -> str:
    counts = sorted({len(live_rooms(option)) for option in quote.options})
    if not counts:
        return "Music in your house"
    fewest, most = counts[0], counts[-1]
    return f"Music in {f'{fewest} to ' if fewest != most else ''}{count_words(most, 'room')} of your house"


def _promise(quote: Quote) -> str:
    """One sentence under the headline: how many things may play at once, and where the cable goes."""
    streams = max((int(row.get("streams", 0)) for option in quote.options
                   for row in fact_rows(quote, option, SystemFact)), default=0)
    playing = f"Up to {count_words(streams, 'different thing')} playing at once. " if streams > 1 else ""
    many = len(quote.options)
    ways = {2: "Two ways", 3: "Three ways"}.get(many, f"{many} ways") if many > 1 else ""
    return f"{playing}{ways + ' to do it, side by side, so that you can choose.' if ways else ''}".strip()


def _card(option: PricedOption, recommended: bool) -> OptionCard:
    first = option.plan[0].amount if option.plan else ZERO
    subtitle = sentence(option.title.partition(":")[2].strip())
    return OptionCard(title=option_title(option), subtitle=subtitle, summary=option.summary, total=option.totals.total,
                      first_payment=first, taxed=bool(option.totals.tax), recommended=recommended)


def _said(quote: Quote) -> tuple[SaidGroup, ...]:
    """Statements by kind, each text once; which options it is about where not all."""
    titles = {option.name: option_title(option) for option in quote.options}
    groups = []
    for kind in cast("tuple[StatementKind, ...]", get_args(StatementKind)):
        texts: dict[str, set[str]] = {}
        for statement in quote.statements:
            if statement.kind == kind:
                texts.setdefault(statement.text, set()).update(statement.options or titles)
        sentences = tuple(Said(text=text, only=() if names >= titles.keys() else tuple(
            title for name, title in titles.items() if name in names)) for text, names in texts.items())
        if sentences:
            groups.append(SaidGroup(kind=kind, title=SAID_TITLES[kind], sentences=sentences))
    return tuple(groups)


def _question(question: OpenQuestion, quote: Quote) -> QuestionView:
    rooms = {room.code: room.name for room in quote.job.rooms}
    before = phase_title(question.by_phase).lower() if question.by_phase else ""
    return QuestionView(
        place=rooms.get(question.of, "The whole house"), question=question.question or question.field,
        used=question.used, worse=question.worse, who=sentence(question.who), before=before,
        adds=tuple(question.cost.get(option.name, ZERO) for option in quote.options))


def _place(quote: Quote) -> PlaceNotes:
    place = quote.place
    return PlaceNotes(name=place.place, found=place.found, tax_note=place.tax_note, withdrawal=place.withdrawal,
                      permit=place.permit, tax_exempt=quote.job.terms.tax_exempt)

"""A Quote as its customer may see it: fills the allow-list of proposal_view.py, field by field."""

from __future__ import annotations

import datetime
from typing import cast, get_args

from quoting.colours import readable_accents
from quoting.documents.floor_drawing import FloorDrawing, floor_drawings
from quoting.documents.floor_plan import floor_plans
from quoting.documents.formats import Formats
from quoting.documents.language import N_, Language, filled
from quoting.documents.proposal_answers import answer_words
from quoting.documents.proposal_prices import (
    detail_table,
    fee_rows,
    later_rows,
    phase_rows,
    plan_rows,
    price_rows,
    steps,
)
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
from quoting.documents.proposal_words import before_phase, isolate, option_title, recommendation_words, sentence
from quoting.documents.visit_days import customer_timeline
from quoting.facts import SystemFact
from quoting.money import ZERO
from quoting.quote import OpenQuestion, PricedOption, Quote, StatementKind

SAID_TITLES: dict[StatementKind, str] = {
    "exclusion": N_("Not in the price"), "needed from others": N_("What we need from others"),
    "assumption": N_("What we have assumed"), "caution": N_("Please note"),
}


def customer_view(quote: Quote, formats: Formats, language: Language) -> CustomerView:
    """Everything that the customer's documents print."""
    quote = in_house_order(quote)
    recommended = next((o for o in quote.options if o.name == quote.recommendation.option), None)
    return CustomerView(
        paper=paper_facts(quote), firm=firm_face(quote), client=quote.job.client.name, site=quote.job.client.site,
        headline=_headline(quote, language), promise=_promise(quote, language),
        options=tuple(_card(option, option is recommended) for option in quote.options),
        recommended=option_title(recommended) if recommended else "",
        reason=recommendation_words(quote, language) if recommended else "",
        compare=compare(quote, language), steps=steps(quote, language), floors=floors(quote, language),
        row_width=len(quote.options) + 1,
        prices=price_rows(quote, formats.rate, language), phases=phase_rows(quote, formats, language),
        detail=detail_table(quote, formats.rate, language), plan=plan_rows(quote, language),
        drawn=_drawn(quote, recommended, formats, language), later=later_rows(quote),
        drawn_option=option_title(recommended or quote.options[-1]),
        timeline=customer_timeline(quote, recommended or quote.options[-1], formats, language),
        fees=fee_rows(quote, language),
        change_rate=quote.change_rate,
        said=_said(quote, language),
        questions=tuple(_question(asked, quote, formats, language) for asked in quote.open_questions),
        place=_place(quote),
    )


def paper_facts(quote: Quote) -> PaperFacts:
    """Which paper this is."""
    terms = quote.job.terms
    return PaperFacts(number=terms.quote_number, revision=terms.revision, supersedes=terms.supersedes,
                      currency=quote.pricing.currency,
                      date=quote.pricing.date, valid_until=quote.pricing.valid_until, start=quote.job.start_date)


def firm_face(quote: Quote) -> FirmFace:
    """The firm's own face, its letter filled in."""
    firm = quote.firm
    accent, accent_dark = readable_accents(firm.accent)
    revision, least = quote.revision_price, firm.minimum_change
    revised = revision is not None and (least is None or revision >= least)
    greeting = filled(firm.greeting, {"client": isolate(quote.job.client.name)})
    paragraphs = tuple(part.strip() for part in firm.terms.split("\n\n") if part.strip())
    return FirmFace(
        name=firm.name, address=firm.address, phone=firm.phone, email=firm.email, licence=firm.licence, logo=firm.logo,
        greeting=greeting, letter=firm.letter, closing=firm.closing, warranty=firm.warranty, terms=paragraphs,
        change_terms=firm.change_terms, notice=firm.notice, smallest_change=revision if revised else least,
        revised_for_change=revised, accent=accent, accent_dark=accent_dark)


def _headline(quote: Quote, language: Language) -> str:
    counts = sorted({len(live_rooms(option)) for option in quote.options})
    if not counts:
        return language.gettext("Music in your house")
    fewest, most = counts[0], counts[-1]
    if fewest == most:
        return language.ngettext("Music in %(num)s room of your house", "Music in %(num)s rooms of your house", most)
    return language.ngettext("Music in %(fewest)s to %(num)s room of your house",
                             "Music in %(fewest)s to %(num)s rooms of your house", most, fewest=fewest)


def _promise(quote: Quote, language: Language) -> str:
    """Under the headline: how many things may play at once, and how many ways there are to do it."""
    streams = max((int(row.get("streams", 0)) for option in quote.options
                   for row in fact_rows(quote, option, SystemFact)), default=0)
    playing = language.ngettext("Up to %(num)s different thing playing at once.",
                                "Up to %(num)s different things playing at once.", streams) if streams > 1 else ""
    ways = _ways(len(quote.options), language)
    return f"{playing} {ways}".strip()


def _ways(many: int, language: Language) -> str:
    if many <= 1:
        return ""
    if many == 2:
        return language.gettext("Two ways to do it, side by side, so that you can choose.")
    if many == 3:
        return language.gettext("Three ways to do it, side by side, so that you can choose.")
    return language.ngettext("%(num)s way to do it, side by side, so that you can choose.",
                             "%(num)s ways to do it, side by side, so that you can choose.", many)


def _card(option: PricedOption, recommended: bool) -> OptionCard:
    first = option.plan[0].amount if option.plan else ZERO
    subtitle = sentence(option.title.partition(":")[2].strip())
    return OptionCard(title=option_title(option), subtitle=subtitle, summary=option.summary, total=option.totals.total,
                      plain_total=f"{option.totals.total:f}",
                      first_payment=first, taxed=bool(option.totals.tax), recommended=recommended)


def _said(quote: Quote, language: Language) -> tuple[SaidGroup, ...]:
    """Statements by kind, each text once; which options it is about where not all."""
    titles = {option.name: option_title(option) for option in quote.options}
    groups = []
    for kind in cast("tuple[StatementKind, ...]", get_args(StatementKind)):
        texts: dict[str, set[str]] = {}
        days: dict[str, datetime.date | None] = {}
        for statement in quote.statements:
            if statement.kind == kind:
                texts.setdefault(statement.text, set()).update(statement.options or titles)
                days.setdefault(statement.text, statement.needed_by)
        sentences = tuple(Said(text=text, needed_by=days[text], only="" if names >= titles.keys() else language.listed(
            title for name, title in titles.items() if name in names)) for text, names in texts.items())
        if sentences:
            groups.append(SaidGroup(kind=kind, title=language.gettext(SAID_TITLES[kind]), sentences=sentences))
    return tuple(groups)


def _drawn(
    quote: Quote, recommended: PricedOption | None, formats: Formats, language: Language
) -> tuple[FloorDrawing, ...]:
    plans = floor_plans(quote, recommended or quote.options[-1])
    return floor_drawings(plans, quote.job.unit_system, formats.length, language)


def _question(question: OpenQuestion, quote: Quote, formats: Formats, language: Language) -> QuestionView:
    rooms = {room.code: room.name for room in quote.job.rooms}
    titles = {option.name: option_title(option) for option in quote.options}
    used, worse = (answer_words(question.attribute, answer, titles, formats, language) for answer in
                   (question.used, question.worse))
    return QuestionView(
        place=rooms.get(question.of) or language.gettext("The whole house"),
        question=question.question or language.gettext("%(field)s: not known yet.", field=question.field),
        used=used, worse=worse, who=sentence(question.who),
        before=before_phase(question.by_phase, language),
        adds=tuple(question.cost.get(option.name, ZERO) for option in quote.options))


def _place(quote: Quote) -> PlaceNotes:
    place = quote.place
    return PlaceNotes(name=place.place, found=place.found, tax_note=place.tax_note, withdrawal=place.withdrawal,
                      permit=place.permit, tax_exempt=quote.job.terms.tax_exempt)

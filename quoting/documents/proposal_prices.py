"""What each option costs the customer: price, steps, detail, payments. Only sums of amounts already rounded."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from decimal import Decimal

from quoting.documents.formats import Formats
from quoting.documents.language import N_, Language
from quoting.documents.proposal_view import (
    AmountRow,
    DetailCell,
    DetailGroup,
    DetailRow,
    DetailTable,
    FeeRow,
    LaterRow,
    StepLine,
    StepView,
)
from quoting.documents.proposal_words import option_title, phase_title, sentence
from quoting.lines import PHASES
from quoting.money import ZERO
from quoting.quote import PhaseTotal, PricedOption, Quote, Step, TaxAmount, Totals

WHOLE_HOUSE = N_("Equipment and the whole house")
LABOUR = N_("Labour")
FREIGHT = N_("Delivery")
DISCOUNT = N_("Discount")
ROUNDING = N_("Rounding")
TOTAL = N_("Total")
AT_THE_END = (N_("Payment"), N_("on completion"))  # pricing's own plan for a place without terms, to be translated

Amounts = dict[str, Decimal]  # label -> amount


# ------------------------------------------------------------------------------------------------ the price

def price_rows(quote: Quote, percent: Callable[[Decimal], str], language: Language) -> tuple[AmountRow, ...]:
    """Materials, labour, delivery, discount, taxes, rounding, total: they add up as printed."""
    totals = tuple(option.totals for option in quote.options)
    labour = AmountRow(label=language.gettext(LABOUR), words=language.gettext("fixed price, phase by phase below"),
                       amounts=tuple(t.labour for t in totals))
    materials = AmountRow(label=language.gettext("Equipment and materials"), words="",
                          amounts=tuple(t.materials for t in totals))
    return materials, labour, *closing_rows(totals, percent, language)


def closing_rows(
    totals: Sequence[Totals], percent: Callable[[Decimal], str], language: Language
) -> tuple[AmountRow, ...]:
    """From materials and labour to the total; rows that are nothing in every option are left out."""
    rows = [
        AmountRow(label=language.gettext(FREIGHT), words="", amounts=tuple(t.freight for t in totals)),
        AmountRow(label=language.gettext(DISCOUNT), words="", amounts=tuple(-t.discount for t in totals)),
        *_tax_rows(totals, percent),
        AmountRow(label=language.gettext(ROUNDING), words="", amounts=tuple(t.rounding for t in totals)),
    ]
    kept = [row for row in rows if any(row.amounts)]
    total = tuple(t.total for t in totals)
    return (*kept, AmountRow(label=language.gettext(TOTAL), words="", amounts=total, total=True))


def _tax_rows(totals: Sequence[Totals], percent: Callable[[Decimal], str]) -> tuple[AmountRow, ...]:
    keys = dict.fromkeys((tax.name, tax.rate) for t in totals for tax in t.taxes)
    return tuple(
        AmountRow(label=f"{name} {percent(rate)}", words="", amounts=tuple(_tax(t.taxes, name, rate) for t in totals))
        for name, rate in keys)


def _tax(taxes: Iterable[TaxAmount], name: str, rate: Decimal) -> Decimal:
    return sum((tax.amount for tax in taxes if tax.name == name and tax.rate == rate), ZERO)


def phase_rows(quote: Quote, formats: Formats, language: Language) -> tuple[AmountRow, ...]:
    """Labour as fixed prices, a phase a row."""
    found = [{phase.phase: phase for phase in option.phases} for option in quote.options]
    rows = []
    for name in PHASES:
        phases = [phases.get(name) for phases in found]
        amounts = tuple(phase.price if phase else None for phase in phases)
        if any(amounts):
            words = next((phase.words for phase in phases if phase and phase.words), "")
            rows.append(AmountRow(label=words or phase_title(name, language),
                                  words=_on_site(phases, formats, language), amounts=amounts))
    sums = tuple(option.totals.labour for option in quote.options)
    together = AmountRow(label=language.gettext("Labour together"), words="", amounts=sums, total=True)
    return (*rows, together) if rows else ()


def _on_site(phases: Sequence[PhaseTotal | None], formats: Formats, language: Language) -> str:
    """The days on site, over the options: "3 days on site", "2 to 3.5 days on site"; "" where nobody comes."""
    days = sorted({Decimal(phase.half_days) / 2 for phase in phases if phase and phase.trips})
    if not days or not days[-1]:
        return ""
    if days[0] == days[-1] == 1:
        return language.gettext("1 day on site")
    if days[0] == days[-1]:
        return language.gettext("%(days)s days on site", days=formats.quantity(days[0]))
    return language.gettext("%(least)s to %(most)s days on site", least=formats.quantity(days[0]),
                            most=formats.quantity(days[-1]))


def later_rows(quote: Quote) -> tuple[LaterRow, ...]:
    """Each room that some option leaves for later, with what equipping it costs about."""
    found = [{room.room: room for room in option.later} for option in quote.options]
    names = {code: room.name for rooms in found for code, room in rooms.items()}
    return tuple(LaterRow(name=name, amounts=tuple(rooms[code].amount if code in rooms else None for rooms in found))
                 for code, name in names.items())


def fee_rows(quote: Quote, language: Language) -> tuple[FeeRow, ...]:
    """What is paid every month, one row for each text and payee."""
    keys = dict.fromkeys((fee.words, fee.to_us) for option in quote.options for fee in option.fees)
    fees = [{(fee.words, fee.to_us): fee.amount for fee in option.fees} for option in quote.options]
    return tuple(FeeRow(words=words, payee=language.gettext("to us") if to_us else language.gettext("to others"),
                        amounts=tuple(rows.get((words, to_us)) for rows in fees)) for words, to_us in keys)


def plan_rows(quote: Quote, language: Language) -> tuple[AmountRow, ...]:
    """Payments: one row for each name and trigger that any option has."""
    keys = dict.fromkeys((part.name, part.trigger) for option in quote.options for part in option.plan)
    plans = [{(part.name, part.trigger): part.amount for part in option.plan} for option in quote.options]
    rows = [AmountRow(label=language.gettext(name), words=language.gettext(trigger),
                      amounts=tuple(plan.get((name, trigger)) for plan in plans)) for name, trigger in keys]
    sums = tuple(option.totals.total for option in quote.options)
    return (*rows, AmountRow(label=language.gettext(TOTAL), words="", amounts=sums, total=True)) if rows else ()


# ------------------------------------------------------------------------------------------------ steps

def steps(quote: Quote, language: Language) -> tuple[StepView, ...]:
    """From each option to the next."""
    titles = {option.name: option_title(option) for option in quote.options}
    places = {code: index for index, code in enumerate(_rooms(quote, language))}
    return tuple(_step(step, titles, places, language) for step in quote.steps)


def _step(step: Step, titles: dict[str, str], places: dict[str, int], language: Language) -> StepView:
    rows = sorted(step.rows, key=lambda row: places.get(row.room, len(places)))
    lines = tuple(
        StepLine(name=row.name if row.room else language.gettext(WHOLE_HOUSE), materials=row.materials,
                 labour=row.labour, both=row.materials + row.labour)
        for row in rows if row.materials or row.labour)
    others = ((FREIGHT, step.freight), (DISCOUNT, -step.discount), (N_("Tax"), step.tax), (ROUNDING, step.rounding))
    return StepView(
        start=titles.get(step.start, step.start), end=titles.get(step.end, step.end), lines=lines,
        others=tuple((language.gettext(label), amount) for label, amount in others if amount), total=step.total)


# ------------------------------------------------------------------------------------------------ detail

def detail_table(quote: Quote, percent: Callable[[Decimal], str], language: Language) -> DetailTable | None:
    """The price in the detail that the job asks for; None for "total"."""
    wanted = quote.job.terms.detail
    if wanted == "total":
        return None
    rooms = _rooms(quote, language)
    closing = closing_rows(tuple(option.totals for option in quote.options), percent, language)
    if wanted == "by room":
        return DetailTable(title=language.gettext("The price by room"), groups=(_one_group(quote, rooms),),
                           closing=closing)
    labour = language.gettext(LABOUR)
    if wanted == "itemised":
        title = language.gettext("The price, item by item")
        lines = [_item_lines(quote, option, labour) for option in quote.options]
    else:
        title = language.gettext("The price by room and category")
        lines = [_category_lines(quote, option, labour) for option in quote.options]
    groups = tuple(_room_group(name, [found.get(code, {}) for found in lines], labour) for code, name in rooms.items())
    return DetailTable(title=title, groups=tuple(group for group in groups if group.rows), closing=closing)


def _rooms(quote: Quote, language: Language) -> dict[str, str]:
    """Code -> name, as the rooms' table has them, then everything that belongs to no room."""
    names = {room.code: room.name for room in quote.job.rooms_in_house_order()}
    return {**names, "": language.gettext(WHOLE_HOUSE)}


def _one_group(quote: Quote, rooms: dict[str, str]) -> DetailGroup:
    sums = [_room_sums(option) for option in quote.options]
    rows = [
        DetailRow(label=name, cells=tuple(DetailCell(amount=s[code]) if s.get(code) else None for s in sums))
        for code, name in rooms.items()]
    return DetailGroup(title="", rows=tuple(row for row in rows if any(row.cells)), sums=())


def _room_sums(option: PricedOption) -> Amounts:
    sums: Amounts = {}
    priced: list[tuple[str, Decimal]] = [(row.room, row.price) for row in option.materials]
    for room, price in (*priced, *((row.room, row.price) for row in option.labour)):
        sums[room] = sums.get(room, ZERO) + price
    return sums


Lines = dict[tuple[str, str], DetailCell]  # (label, unit) -> cell


def _category_lines(quote: Quote, option: PricedOption, labour: str) -> dict[str, Lines]:
    rooms: dict[str, Lines] = {}
    for row in option.materials:
        lines = rooms.setdefault(row.room, {})
        label = _category(quote, row.part)
        before = lines.get((label, ""))
        lines[label, ""] = DetailCell(amount=row.price + (before.amount if before else ZERO))
    return _with_labour(rooms, option, labour)


def _category(quote: Quote, part: str) -> str:
    """What the customer calls a part's category."""
    name = quote.parts[part].category
    words = next((category.words for category in quote.pricing.categories if category.category == name), "")
    return sentence(words or name)


def _item_lines(quote: Quote, option: PricedOption, labour: str) -> dict[str, Lines]:
    """Materials in the customer's words: parts of the same words and unit in one room meet."""
    rooms: dict[str, Lines] = {}
    for row in option.materials:
        lines = rooms.setdefault(row.room, {})
        part = quote.parts[row.part]
        key = (sentence(part.words) or _category(quote, row.part), row.unit)
        before = lines.get(key)
        lines[key] = DetailCell(amount=row.price + (before.amount if before else ZERO), unit=row.unit,
                                quantity=row.need + ((before.quantity or ZERO) if before else ZERO))
    return _with_labour(rooms, option, labour)


def _with_labour(rooms: dict[str, Lines], option: PricedOption, labour: str) -> dict[str, Lines]:
    """Labour last in each room, one sum: no task, no hours."""
    sums: Amounts = {}
    for row in option.labour:
        sums[row.room] = sums.get(row.room, ZERO) + row.price
    for room, amount in sums.items():
        if amount:
            rooms.setdefault(room, {})[labour, ""] = DetailCell(amount=amount)
    return rooms


def _room_group(name: str, lines: Sequence[Lines], labour: str) -> DetailGroup:
    """One room's rows, the dearest first, labour last."""
    dearest: dict[tuple[str, str], Decimal] = {}
    for found in lines:
        for key, cell in found.items():
            dearest[key] = max(cell.amount, dearest.get(key, ZERO))
    keys = sorted(dearest, key=lambda key: (key[0] == labour, -dearest[key], key))
    rows = tuple(DetailRow(label=key[0], cells=tuple(found.get(key) for found in lines)) for key in keys)
    sums = tuple(sum((cell.amount for cell in found.values()), ZERO) for found in lines)
    return DetailGroup(title=name, rows=rows, sums=sums)

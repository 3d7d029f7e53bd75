"""The purchaser's papers of one option: the purchase list by supplier as page and table, and the orders as files."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from pathlib import Path

from msgspec.structs import replace

from quoting.buying import BuyLine, LeftOver, Order, left_overs, orders, paid_by, purchase_list
from quoting.documents.crew_csv import csv_bytes
from quoting.documents.crew_papers import ENGLISH, PAGE, CrewSheet, set_of, together
from quoting.documents.crew_sheet import NONE, CrewTable, gathered
from quoting.documents.formats import Formats, english_locale, formats_for
from quoting.documents.language import in_english, language_for
from quoting.documents.templates import render_page
from quoting.documents.ubl import plain
from quoting.documents.ubl_order import file_names, order, order_number
from quoting.money import ZERO, r2
from quoting.quote import PricedOption, Quote

NO_BREAK = "\u00a0"
HAND = ""  # filled in by hand
LEAD = "Lead, calendar days"
COLUMNS = ("Part", "Description", "Needed", "On hand", "To buy", "Packs", "Cost of a pack", "Price from", "Amount",
           LEAD, "Order by", "Need by", "PO no.", "Received", "Back-order", "Note")
CSV_COLUMNS = ("Supplier", "Order", "Part", "Description", "Colour", "Unit", "Needed", "On hand", "From stock",
               "To buy", "Packs", "Pack size", "Cost of a pack", "Quantity break from", "Price date", "Dearer from",
               "Dearer cost of a pack", "Amount", "Currency", "Lead days", "Order by", "Need by", "Phase",
               "Ordered with", "Wait for payment", "Paid by", "PO no.", "Received", "Back-order", "Substitute",
               "Enclose")
ORDERS = ("Order by", "Supplier", "For", "Need by", "Lines", "Amount", "Wait for payment", "Order no.", "Sent, date")
FIRST = ("Order by", "Part", "Description", "Supplier", LEAD, "Need by", "Phase", "Why", "Ordered, date")
TAKEN = ("Part", "Description", "Needed", "On hand", "Taken", "Bin", "Taken, initials")
LEFT = ("Part", "Description", "Bought", "From stock", "Used", "Stays with the job", "To stock", "Return unopened",
        "Waste")
SUBSTITUTES = ("Part", "Substitute", "Description", LEAD, "Note", "Agreed by")
ADVICE = ("What the job uses sets its price; stock and quantity breaks change only what suppliers are paid, and what "
          "tails too short to keep cost.")
WEIGH = "Bring the survey forward, or order at the risk that the house asks for something else."
UNDATED = ("The job has no start date yet. Working day 1 is the first in the house, 0 the one before it; order days "
           "are so many calendar days before a working day.")


def write_buying(quote: Quote, folder: Path, templates: tuple[Path, ...], accepted: str = "") -> None:
    """The office's purchasing files: of the option accepted with its orders, else a draft list of each option.

    Nobody orders from a draft: orders are written once an option is accepted. Raises OSError where the disk refuses,
    BadTemplate where a template of the firm's own fails.
    """
    for option in quote.options:
        if accepted in ("", option.name):
            for name, content in buying_files(quote, option, templates, not accepted).items():
                (folder / name).write_bytes(content)


def buying_files(quote: Quote, option: PricedOption, templates: tuple[Path, ...], draft: bool) -> dict[str, bytes]:
    """One option's files by name."""
    lines = purchase_list(quote, option)
    found = orders(quote, lines)
    language = language_for(ENGLISH, {})
    formats = formats_for(english_locale(quote.job.terms.locale), quote.pricing.currency, quote.job.unit_system)
    made = set_of(quote, option, draft, buying_sheets(quote, option, lines, found, formats), paper="Purchase list",
                  advice=ADVICE)
    page = render_page(templates, PAGE, view=made, formats=formats, language=language)
    files = {f"buying-{option.name}.html": page.encode(),
             f"buying-{option.name}.csv": _table(quote, option, lines, found)}
    if not draft:
        files |= {name: order(quote, option, its) for name, its in zip(file_names(option, found), found, strict=True)}
    return files


def buying_sheets(
    quote: Quote, option: PricedOption, lines: tuple[BuyLine, ...], found: tuple[Order, ...], formats: Formats
) -> Iterator[CrewSheet]:
    """The orders by their days, with what must not wait; each order's list; what comes from stock, what is left over,
    substitutes. Short ones of a kind share a sheet."""
    paid = paid_by(found)
    lists = (_order_list(quote, option, its, paid, formats) for its in found)
    for tables in (_first(quote, option, lines, found, formats), lists, _after(quote, option, lines, formats)):
        yield from (together(each) for each in gathered(tables))


def _first(
    quote: Quote, option: PricedOption, lines: tuple[BuyLine, ...], found: tuple[Order, ...], formats: Formats
) -> Iterator[CrewTable]:
    if found:
        total = formats.money(sum((its.outlay for its in found), ZERO))
        paid, in_turn = paid_by(found), sorted(found, key=lambda its: its.first.urgency)
        dated = any(its.first.order_by for its in found)
        listed = _list("Orders", ORDERS, tuple(_order_row(quote, option, its, paid, formats) for its in in_turn),
                       f"Together {total} before tax and delivery. First of all: {_in_short(in_turn[0], formats)}.",
                       *_orders_before_survey(option, in_turn, formats), *(() if dated else (UNDATED,)))
        yield replace(listed, known_by=tuple(map(_known, in_turn)))
    first = [line for line in lines if line.dearer or (line.first and (line.late or line.long_lead))]
    if first:
        first.sort(key=lambda line: line.urgency)
        listed = _list("What must not wait", FIRST, tuple(_first_row(line, quote, formats) for line in first))
        yield replace(listed, known_by=tuple(" ".join(filter(None, (line.part, line.colour))) for line in first))


def _known(its: Order) -> str:
    """What an order is known by in another revision: whose, for which phase first, a further one for it numbered."""
    return f"{its.supplier or 'No supplier'} ({its.phase}{f' {its.number}' if its.number > 1 else ''})"


def _in_short(its: Order, formats: Formats) -> str:
    """An order in a few words: whose, for how much, by when."""
    order_by, _ = _days(its.first, formats)
    return f"{its.supplier or 'No supplier'}, {_for(its)}, {formats.money(its.outlay)}, {order_by}"


def _orders_before_survey(option: PricedOption, in_turn: Iterable[Order], formats: Formats) -> tuple[str, ...]:
    """Orders that something of must go before the house has been surveyed, as what is weighed for them."""
    surveyed = _surveyed(option)
    early = [its for its in in_turn if surveyed and its.first.order_by and its.first.order_by <= surveyed]
    if not surveyed or not early:
        return ()
    return (f"Before the survey and the design are done, on {formats.day(surveyed)}, these cannot wait: "
            f"{'; '.join(_in_short(its, formats) for its in early)}. {WEIGH}",)


def _order_row(
    quote: Quote, option: PricedOption, its: Order, paid: Mapping[int, datetime.date], formats: Formats
) -> tuple[str, ...]:
    order_by, _ = _days(its.first, formats)
    _, need_by = _days(min(its.lines, key=lambda line: line.need_day), formats)
    return (order_by, its.supplier or "No supplier", _for(its), need_by, str(len(its.lines)),
            formats.money(its.outlay), _paid(quote, its, paid, formats), order_number(quote, option, its), HAND)


def _for(its: Order) -> str:
    """The phases that need something of it."""
    return ", ".join(dict.fromkeys(line.phase for line in sorted(its.lines, key=lambda line: line.need_day)))


def _payment(quote: Quote, its: Order) -> str:
    """The customer's payment that has come before it, as the plan names it."""
    if not its.payment or its.payment > len(quote.pricing.plan):
        return NONE
    return f"{its.payment}: {in_english(quote, quote.pricing.plan[its.payment - 1].name)}"


def _paid(quote: Quote, its: Order, paid: Mapping[int, datetime.date], formats: Formats) -> str:
    """The same with the day by which it is there, so that no order that waits for it is late."""
    day = f", paid by {formats.day(paid[its.payment])}" if its.payment in paid else ""
    return f"{_payment(quote, its)}{day}"


def _after(quote: Quote, option: PricedOption, lines: tuple[BuyLine, ...], formats: Formats) -> Iterator[CrewTable]:
    """What comes from stock and what goes there, and what may stand in for what."""
    taken = [line for line in lines if line.first and line.from_stock]
    bins = {purchase.part: purchase.bin for purchase in option.purchases}
    if taken:
        yield _list("From stock", TAKEN, tuple(
            (line.part, line.description, _amount(formats, line.need, line), _amount(formats, line.on_hand, line),
             _amount(formats, line.from_stock, line), bins[line.part] or NONE, HAND) for line in taken),
            f"By the stock list {quote.buying.stock_file}. Of cable whole spools are taken; what is left on them comes "
            "back.")
    left = [each for each in left_overs(quote, option)
            if each.with_job or each.to_stock or each.to_return or each.waste]
    if left:
        yield _list("Left over", LEFT, tuple(_left_row(each, formats) for each in left))
    others = dict.fromkeys((each, line.lead_days) for line in lines for each in line.substitutes)
    if others:
        yield _list("Substitutes", SUBSTITUTES, tuple(
            (each.part, each.substitute, each.description, f"{each.lead_days} instead of {days}", each.note or NONE,
             HAND) for each, days in others), "A substitute changes cost and perhaps price: the estimator decides.")


def _list(title: str, columns: tuple[str, ...], rows: tuple[tuple[str, ...], ...], *notes: str) -> CrewTable:
    return CrewTable(title=title, columns=columns, rows=rows, notes=notes)


def _first_row(line: BuyLine, quote: Quote, formats: Formats) -> tuple[str, ...]:
    why = (f"late: the quote is of {formats.day(quote.pricing.date)}" if line.late else "",
           "long lead" if line.long_lead and not line.late else "", _dearer(line, formats))
    order_by, need_by = _days(line, formats)
    return (order_by, line.part, line.described, line.supplier, str(line.lead_days), need_by, line.phase,
            "; ".join(filter(None, why)), HAND)


def _dearer(line: BuyLine, formats: Formats) -> str:
    """A price rise that comes before the last day to order."""
    if not line.dearer or line.put_up is None or line.put_up.dearer_from is None or line.put_up.dearer_cost is None:
        return ""
    cost = pack_cost(line.put_up.dearer_cost, formats)
    return f"dearer from {formats.day(line.put_up.dearer_from)} ({cost}): order before"


def _surveyed_first(option: PricedOption, lines: Iterable[BuyLine], formats: Formats) -> tuple[str, ...]:
    """What to weigh where something must be ordered before the house has been surveyed."""
    surveyed = _surveyed(option)
    early = dict.fromkeys(line.part for line in lines if surveyed and line.order_by and line.order_by <= surveyed)
    if not surveyed or not early:
        return ()
    return (f"To order before the survey and the design are done, on {formats.day(surveyed)}: {', '.join(early)}. "
            f"{WEIGH}",)


def _surveyed(option: PricedOption) -> datetime.date | None:
    """The day on which the design is done; None without dates."""
    return max((visit.last_date for visit in option.timetable.visits
                if visit.phase == "survey and design" and visit.last_date), default=None)


def _order_list(
    quote: Quote, option: PricedOption, its: Order, paid: Mapping[int, datetime.date], formats: Formats
) -> CrewTable:
    saved = sum((line.saved for line in its.lines if line.first), ZERO)
    order_by, _ = _days(its.first, formats)
    notes = [f"Together {formats.money(its.outlay)} before tax and delivery. First order by {order_by}. "
             f"Order {order_number(quote, option, its)}."]
    if its.payment:
        notes.append(f"Wait for payment {_paid(quote, its, paid, formats)}.")
    notes += _surveyed_first(option, its.lines, formats)
    notes += [f"Enclose {line.enclose}." for line in its.lines if line.enclose and line.first]
    if saved:
        notes.append(f"Quantity breaks save {formats.money(saved)}: the quote reckons without them.")
    further = f", {its.number}" if its.number > 1 else ""
    listed = _list(f"{its.supplier or 'No supplier'} ({_for(its)}){further}", COLUMNS, tuple(
        _row(line, formats) for line in its.lines), *notes)
    return replace(listed, about=_known(its))


def _row(line: BuyLine, formats: Formats) -> tuple[str, ...]:
    """One size of pack; what is said of the part stands with its first."""
    assert line.put_up is not None
    put_up, unit = line.put_up, "" if line.unit == "each" else f" {line.unit}"
    size = f" x {formats.quantity(put_up.size)}{unit}" if put_up.size != 1 or unit else ""
    said = (_amount(formats, line.need, line), _amount(formats, line.on_hand, line) if line.on_hand else NONE,
            _amount(formats, line.to_buy, line)) if line.first else ("together", NONE, NONE)
    since = _shown(put_up.price_date, formats) + (f", from {put_up.from_count}" if put_up.from_count else "")
    order_by, need_by = _days(line, formats)
    return (line.part, line.described, *said, f"{put_up.count}{size}", pack_cost(put_up.cost, formats), since,
            formats.money(line.outlay), str(line.lead_days), order_by + (" late" if line.late else ""), need_by, HAND,
            HAND, HAND, _note(line, formats) or NONE)


def _note(line: BuyLine, formats: Formats) -> str:
    others = ", ".join(each.substitute for each in line.substitutes)
    return "; ".join(filter(None, (
        _dearer(line, formats), "with what is enclosed" if line.enclose else "",
        f"with {line.ordered_with}, in one order" if line.ordered_with else "",
        f"or {others}" if others else "")))


def _days(line: BuyLine, formats: Formats) -> tuple[str, str]:
    """The last day to order and the day on which it is needed; counted from the first in the house without dates."""
    if line.need_by and line.order_by:
        return formats.day(line.order_by).replace(" ", NO_BREAK), formats.day(line.need_by).replace(" ", NO_BREAK)
    return line.days_before, f"working day {line.need_day}"


def pack_cost(cost: Decimal, formats: Formats) -> str:
    """A supplier's price as it stands in the catalogue: it may have more places than the currency."""
    return formats.money(cost) if r2(cost, formats.currency) == cost else f"{cost.normalize():f}"


def _left_row(each: LeftOver, formats: Formats) -> tuple[str, ...]:
    unit = "" if each.unit == "each" else f" {each.unit}"
    amounts = (each.bought, each.from_stock, each.used, each.with_job, each.to_stock, each.to_return, each.waste)
    return (each.part, each.description, *(f"{formats.quantity(amount)}{unit}" if amount else NONE
                                           for amount in amounts))


def _amount(formats: Formats, amount: Decimal, line: BuyLine) -> str:
    return formats.quantity(amount) + ("" if line.unit == "each" else f" {line.unit}")


def _shown(day: datetime.date | None, formats: Formats) -> str:
    return formats.day(day) if day else NONE


def _day(day: datetime.date | None) -> str:
    return day.isoformat() if day else NONE


def _table(quote: Quote, option: PricedOption, lines: tuple[BuyLine, ...], found: tuple[Order, ...]) -> bytes:
    """The list as one table, a row for each size of pack; a part that the stock has whole is there too."""
    order_of, paid = {id(line): its for its in found for line in its.lines}, paid_by(found)
    return csv_bytes(CSV_COLUMNS, (_csv_row(quote, option, line, order_of.get(id(line)), paid) for line in lines))


def _csv_row(
    quote: Quote, option: PricedOption, line: BuyLine, its: Order | None, paid: Mapping[int, datetime.date]
) -> tuple[str, ...]:
    put_up = line.put_up
    amounts = (line.need, line.on_hand, line.from_stock, line.to_buy)
    said = [plain(amount) if line.first else "" for amount in amounts]
    pack = (str(put_up.count), plain(put_up.size), f"{put_up.cost:f}", str(put_up.from_count or ""),
            _day(put_up.price_date), _day(put_up.dearer_from) if put_up.dearer_from else "",
            f"{put_up.dearer_cost:f}" if put_up.dearer_cost is not None else "") if put_up else ("0", *[""] * 6)
    need_by = _day(line.need_by) if line.need_by else f"working day {line.need_day}"
    order_by = _day(line.order_by) if line.order_by else line.days_before
    return (line.supplier, order_number(quote, option, its) if its else "", line.part, line.description, line.colour,
            line.unit, *said, *pack, f"{line.outlay:f}", quote.pricing.currency, str(line.lead_days), order_by, need_by,
            line.phase, line.ordered_with, _payment(quote, its) if its else NONE,
            _day(paid.get(its.payment)) if its else NONE, HAND, HAND, HAND,
            " ".join(each.substitute for each in line.substitutes), line.enclose if line.first else "")

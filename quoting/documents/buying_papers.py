"""The purchaser's papers of one option: the purchase list by supplier as page and table, and the orders as files."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator
from decimal import Decimal
from pathlib import Path

from quoting.buying import BuyLine, LeftOver, left_overs, orders, purchase_list
from quoting.documents.crew_csv import csv_bytes
from quoting.documents.crew_papers import ENGLISH, PAGE, CrewSheet, set_of, together
from quoting.documents.crew_sheet import NONE, CrewTable, gathered
from quoting.documents.formats import Formats, english_locale, formats_for
from quoting.documents.language import language_for
from quoting.documents.templates import render_page
from quoting.documents.ubl_order import file_names, order, order_number
from quoting.money import ZERO, r2
from quoting.quote import PricedOption, Quote

HAND = ""  # filled in by hand
LEAD = "Lead, calendar days"
COLUMNS = ("Part", "Description", "Needed", "On hand", "To buy", "Packs", "Cost of a pack", "Price from", "Amount",
           LEAD, "Order by", "Need by", "PO no.", "Received", "Back-order", "Substitute")
CSV_COLUMNS = ("Supplier", "Part", "Description", "Unit", "Needed", "On hand", "From stock", "To buy", "Packs",
               "Pack size", "Cost of one", "Quantity break from", "Price date", "Amount", "Currency", "Lead days",
               "Order by", "Need by", "Phase", "PO no.", "Received", "Back-order", "Substitute")
FIRST = ("Order by", "Part", "Description", "Supplier", LEAD, "Need by", "Phase", "Why", "Ordered, date")
TAKEN = ("Part", "Description", "Needed", "On hand", "Taken", "Bin", "Taken, initials")
LEFT = ("Part", "Description", "Bought", "From stock", "Used", "Stays with the job", "To stock", "Return unopened",
        "Waste")
SUBSTITUTES = ("Part", "Substitute", "Description", LEAD, "Note", "Agreed by")
ADVICE = ("What the job uses sets its price; stock and quantity breaks change only what suppliers are paid, and what "
          "tails too short to keep cost.")


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
    language = language_for(ENGLISH, {})
    formats = formats_for(english_locale(quote.job.terms.locale), quote.pricing.currency, quote.job.unit_system)
    made = set_of(quote, option, draft, buying_sheets(quote, option, lines, formats), paper="Purchase list",
                  advice=ADVICE)
    page = render_page(templates, PAGE, view=made, formats=formats, language=language)
    files = {f"buying-{option.name}.html": page.encode(), f"buying-{option.name}.csv": _table(quote, lines)}
    if not draft:
        its = orders(lines)
        names = file_names(option, its)
        files |= {names[supplier]: order(quote, option, supplier, bought) for supplier, bought in its.items()}
    return files


def buying_sheets(
    quote: Quote, option: PricedOption, lines: tuple[BuyLine, ...], formats: Formats
) -> Iterator[CrewSheet]:
    """What is ordered first; each supplier's list; what comes from stock, what is left over, substitutes. Short ones of
    a kind share a sheet."""
    suppliers = (_supplier_list(quote, option, supplier, its, formats) for supplier, its in orders(lines).items())
    for tables in (_first(quote, option, lines, formats), suppliers, _after(quote, option, lines, formats)):
        yield from (together(each) for each in gathered(tables))


def _first(
    quote: Quote, option: PricedOption, lines: tuple[BuyLine, ...], formats: Formats
) -> Iterator[CrewTable]:
    first = [line for line in lines if line.first and (line.late or line.long_lead)]
    if first:
        first.sort(key=lambda line: (line.order_by or datetime.date.max, line.part))
        yield _list("Late or long lead", FIRST, tuple(_first_row(line, quote, formats) for line in first),
                    *_surveyed_first(option, first, formats))


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
    late = f"late: the quote is of {formats.day(quote.pricing.date)}" if line.late else ""
    order_by, need_by = (_shown(day, formats) for day in (line.order_by, line.need_by))
    return (order_by, line.part, line.description, line.supplier, str(line.lead_days), need_by,
            line.phase, late or "long lead", HAND)


def _surveyed_first(option: PricedOption, lines: Iterable[BuyLine], formats: Formats) -> tuple[str, ...]:
    """What to weigh where something must be ordered before the house has been surveyed."""
    surveyed = max((visit.last_date for visit in option.timetable.visits
                    if visit.phase == "survey and design" and visit.last_date), default=None)
    early = dict.fromkeys(line.part for line in lines if surveyed and line.order_by and line.order_by <= surveyed)
    if not surveyed or not early:
        return ()
    return (f"To order before the survey and the design are done, on {formats.day(surveyed)}: {', '.join(early)}. "
            "Bring the survey forward, or order at the risk that the house asks for something else.",)


def _supplier_list(
    quote: Quote, option: PricedOption, supplier: str, lines: tuple[BuyLine, ...], formats: Formats
) -> CrewTable:
    total = formats.money(sum((line.outlay for line in lines), ZERO))
    saved = sum((line.saved for line in lines if line.first), ZERO)
    early = min((line.order_by for line in lines if line.order_by), default=None)
    notes = [f"Together {total} before tax and delivery. First order by {_shown(early, formats)}. "
             f"Order {order_number(quote, option, supplier)}."]
    notes += _surveyed_first(option, lines, formats)
    if saved:
        notes.append(f"Quantity breaks save {formats.money(saved)}; the quote is at the cost of one.")
    return _list(supplier or "No supplier", COLUMNS, tuple(_row(line, formats) for line in lines), *notes)


def _row(line: BuyLine, formats: Formats) -> tuple[str, ...]:
    """One size of pack; what is said of the part stands with its first."""
    assert line.put_up is not None
    put_up, unit = line.put_up, "" if line.unit == "each" else f" {line.unit}"
    size = f" x {formats.quantity(put_up.size)}{unit}" if put_up.size != 1 or unit else ""
    said = (f"{formats.quantity(line.need)}{unit}", formats.quantity(line.on_hand) if line.on_hand else NONE,
            f"{formats.quantity(line.to_buy)}{unit}") if line.first else ("together", NONE, NONE)
    since = _shown(put_up.price_date, formats) + (f", from {put_up.from_count}" if put_up.from_count else "")
    others = ", ".join(each.substitute for each in line.substitutes)
    return (line.part, line.description, *said, f"{put_up.count}{size}", _cost(put_up.cost, formats), since,
            formats.money(line.outlay), str(line.lead_days),
            _shown(line.order_by, formats) + (" late" if line.late else ""), _shown(line.need_by, formats), HAND, HAND,
            HAND, others or NONE)


def _cost(cost: Decimal, formats: Formats) -> str:
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


def _table(quote: Quote, lines: tuple[BuyLine, ...]) -> bytes:
    """The list as one table, a row for each size of pack; a part that the stock has whole is there too."""
    return csv_bytes(CSV_COLUMNS, (_csv_row(quote, line) for line in lines))


def _csv_row(quote: Quote, line: BuyLine) -> tuple[str, ...]:
    put_up = line.put_up
    amounts = (line.need, line.on_hand, line.from_stock, line.to_buy)
    said = [f"{amount:f}" if line.first else "" for amount in amounts]
    pack = (str(put_up.count), f"{put_up.size:f}", f"{put_up.cost:f}", str(put_up.from_count or ""),
            _day(put_up.price_date)) if put_up else ("0", "", "", "", "")
    return (line.supplier, line.part, line.description, line.unit, *said, *pack, f"{line.outlay:f}",
            quote.pricing.currency, str(line.lead_days), _day(line.order_by), _day(line.need_by), line.phase,
            HAND, HAND, HAND, " ".join(each.substitute for each in line.substitutes))

"""One option as an OASIS UBL 2.1 Quotation: what the proposal says of its price, for the customer's own programs.

The customer reads it: nothing here comes from a cost, a margin, a supplier, a part number or hours. Lines are as fine
as the price detail that the job asks for, and never finer than one tax treatment.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from pathlib import Path

from msgspec import Struct

from quoting.documents import ubl
from quoting.documents.language import Language, language_for
from quoting.documents.proposal_prices import DISCOUNT, FREIGHT, LABOUR, WHOLE_HOUSE
from quoting.documents.proposal_words import option_title, sentence
from quoting.money import ZERO, share
from quoting.quote import PricedOption, Quote, TaxAmount

EVERYTHING, LABOUR_TAX, FREIGHT_TAX = "all", "labour", "freight"  # categories of a TaxAmount that are no parts'
LUMP_SUM = "job"
OTHER_TAX = "OTH"

Taxes = tuple[tuple[str, Decimal], ...]  # name and rate of each tax on something, in the table's order


class _Priced(Struct, frozen=True):
    """A row of the bill, as far as the customer reads it."""

    room: str
    label: str
    unit: str
    quantity: Decimal
    amount: Decimal
    taxes: Taxes
    sold_hours: bool = False


class _Share(Struct, frozen=True):
    """What stands under one tax treatment, before tax."""

    lines: Decimal
    discount: Decimal
    freight: Decimal


def write_quotations(quote: Quote, folder: Path, accepted: str = "") -> None:
    """A file for the option accepted, else for each. OSError where the disk refuses."""
    for option in quote.options:
        if accepted in ("", option.name):
            (folder / f"quotation-{option.name}.xml").write_bytes(quotation(quote, option))


def quotation(quote: Quote, option: PricedOption) -> bytes:
    """The document of one option. Its totals are the option's, to the cent."""
    terms, currency = quote.job.terms, quote.pricing.currency
    language = language_for(terms.locale, quote.firm.wording)
    rows = tuple(_rows(quote, option, language))
    lines = _in_house_order(_merged(rows), quote)
    shares = _shares(rows, quote, option)
    firm, client = quote.firm, quote.job.client
    return ubl.document(
        "Quotation", ubl.basic("UBLVersionID", ubl.VERSION), ubl.basic("ID", _number(quote, option)),
        ubl.basic("IssueDate", quote.pricing.date), ubl.basic("Note", option_title(option)),
        ubl.basic("Note", option.summary), ubl.basic("Note", quote.place.tax_note),
        ubl.basic("PricingCurrencyCode", currency), ubl.basic("LineCountNumeric", len(lines)),
        ubl.group("ValidityPeriod", ubl.basic("StartDate", quote.pricing.date),
                  ubl.basic("EndDate", quote.pricing.valid_until)),
        ubl.group("SellerSupplierParty", ubl.party(firm.name, firm.address, firm.phone, firm.email)),
        ubl.group("BuyerCustomerParty", ubl.party(client.name, client.site)),
        *_allowances(shares, quote, language), *_tax_totals(shares, quote, option), _total(quote, option),
        *(_line(number, line, quote, language) for number, line in enumerate(lines, start=1)))


def _number(quote: Quote, option: PricedOption) -> str:
    """The quote's number, its revision, and which of its options."""
    terms = quote.job.terms
    return "-".join(filter(None, (terms.quote_number, f"R{terms.revision}", option.name)))


# ---------------------------------------------------------------- lines

def _rows(quote: Quote, option: PricedOption, language: Language) -> Iterable[_Priced]:
    """The rows that are sold, under the label and the room that the price detail of the job shows."""
    detail, equipment = quote.job.terms.detail, language.gettext("Equipment and materials")
    categories = {category.category: category.words for category in quote.pricing.categories}
    taxes = {name: _taxes_on(name, option.totals.taxes) for name in (*categories, LABOUR_TAX)}
    for row in option.materials:
        part = quote.parts[row.part]
        category = sentence(categories.get(part.category) or part.category)
        itemised = detail == "itemised"
        label = {"itemised": sentence(part.words) or category, "by room and category": category}.get(detail, equipment)
        yield _Priced(_room(row.room, detail), label, row.unit if itemised else LUMP_SUM,
                      row.need if itemised else ZERO, row.price, taxes[part.category])
    for work in option.labour:
        if work.price:
            yield _Priced(_room(work.room, detail), language.gettext(LABOUR), LUMP_SUM, ZERO, work.price,
                          taxes[LABOUR_TAX], True)


def _room(room: str, detail: str) -> str:
    return "" if detail == "total" else room


def _taxes_on(category: str, taxes: Iterable[TaxAmount]) -> Taxes:
    return tuple(dict.fromkeys((tax.name, tax.rate) for tax in taxes if tax.category in (category, EVERYTHING)))


def _merged(rows: Iterable[_Priced]) -> tuple[_Priced, ...]:
    """Rows of one room, label, unit and tax treatment meet."""
    met: dict[tuple[str, str, str, Taxes], _Priced] = {}
    for row in rows:
        key = (row.room, row.label, row.unit, row.taxes)
        before = met.get(key)
        met[key] = row if before is None else _Priced(
            row.room, row.label, row.unit, before.quantity + row.quantity, before.amount + row.amount, row.taxes,
            row.sold_hours)
    return tuple(met.values())


def _in_house_order(rows: Iterable[_Priced], quote: Quote) -> tuple[_Priced, ...]:
    """Rooms by floor and zone, then what is no room's; labour last in each."""
    places = {room.code: place for place, room in enumerate(quote.job.rooms_in_house_order())}
    return tuple(sorted(rows, key=lambda row: (row.room == "", places.get(row.room, 0), row.sold_hours)))


def _line(number: int, row: _Priced, quote: Quote, language: Language) -> str:
    """One line. A lump sum is one; the price of one item is left out: the amount is what is agreed."""
    currency, codes = quote.pricing.currency, quote.buying.codes
    rooms = {room.code: room.name for room in quote.job.rooms}
    where = rooms.get(row.room, "") or ("" if quote.job.terms.detail == "total" else language.gettext(WHOLE_HOUSE))
    name = f"{where}: {row.label}" if where else row.label
    return ubl.group(
        "QuotationLine", ubl.basic("ID", str(number)),
        ubl.group(
            "LineItem", ubl.basic("ID", str(number)),
            ubl.quantity("Quantity", row.quantity or 1, ubl.code_of(codes, f"unit {row.unit}", "C62")),
            ubl.amount("LineExtensionAmount", row.amount, currency),
            ubl.group("Item", ubl.basic("Name", name), *_categories("ClassifiedTaxCategory", row.taxes, quote))))


# ---------------------------------------------------------------- taxes

def _categories(element: str, taxes: Taxes, quote: Quote) -> Iterable[str]:
    """Every tax on something; where there is none, that it is outside of them, or the certificate that frees it."""
    codes, exempt = quote.buying.codes, quote.job.terms.tax_exempt
    if not taxes:
        category = ubl.code_of(codes, f"tax category {'exempt' if exempt else 'outside'}", "E" if exempt else "O")
        scheme = next((tax.scheme for tax in quote.pricing.taxes if tax.scheme), OTHER_TAX)
        yield ubl.tax_category(element, category, None, exempt, scheme, "")
    for name, rate in taxes:
        yield ubl.tax_category(element, _taxed(rate, codes), 100 * rate, "", _scheme(name, quote), name)


def _taxed(rate: Decimal, codes: Mapping[str, str]) -> str:
    return ubl.code_of(codes, "tax category taxed", "S") if rate else ubl.code_of(codes, "tax category zero rate", "Z")


def _scheme(name: str, quote: Quote) -> str:
    return next((tax.scheme for tax in quote.pricing.taxes if tax.name == name and tax.scheme), OTHER_TAX)


def _shares(rows: Iterable[_Priced], quote: Quote, option: PricedOption) -> dict[Taxes, _Share]:
    """By tax treatment: its lines, its part of the discount, and freight where it is taxed so."""
    totals = option.totals
    lines: dict[Taxes, Decimal] = {}
    off: dict[Taxes, Decimal] = {}
    for row in rows:
        lines[row.taxes] = lines.get(row.taxes, ZERO) + row.amount
    for category, amount in _discounts(quote, option):
        taxes = _taxes_on(category, totals.taxes)
        off[taxes] = off.get(taxes, ZERO) + amount
    freight = {_taxes_on(FREIGHT_TAX, totals.taxes): totals.freight} if totals.freight else {}
    keys = dict.fromkeys((*lines, *(taxes for taxes, amount in off.items() if amount), *freight))
    return {taxes: _Share(lines.get(taxes, ZERO), off.get(taxes, ZERO), freight.get(taxes, ZERO)) for taxes in keys}


def _discounts(quote: Quote, option: PricedOption) -> Iterable[tuple[str, Decimal]]:
    """The discount over what is taxed, as the taxes have it: over the categories in the quote's order and labour last;
    on the line basis over the rows."""
    if quote.pricing.tax_basis == "line":
        prices = [(quote.parts[row.part].category, row.price) for row in option.materials]
        prices += [(LABOUR_TAX, row.price) for row in option.labour]
    else:
        sums = dict.fromkeys((category.category for category in quote.pricing.categories), ZERO)
        for row in option.materials:
            sums[quote.parts[row.part].category] += row.price
        prices = [*sums.items(), (LABOUR_TAX, option.totals.labour)]
    parts = share(option.totals.discount, [price for _, price in prices], quote.pricing.currency)
    return ((category, part) for (category, _), part in zip(prices, parts, strict=True))


# ---------------------------------------------------------------- totals

def _allowances(shares: Mapping[Taxes, _Share], quote: Quote, language: Language) -> Iterable[str]:
    """The discount and the freight, each by its tax treatment."""
    for charge, words in ((False, DISCOUNT), (True, FREIGHT)):
        for taxes, part in shares.items():
            amount = part.freight if charge else part.discount
            if amount:
                yield ubl.group(
                    "AllowanceCharge", ubl.yes_no("ChargeIndicator", charge),
                    ubl.basic("AllowanceChargeReason", language.gettext(words)),
                    ubl.amount("Amount", amount, quote.pricing.currency), *_categories("TaxCategory", taxes, quote))


def _tax_totals(shares: Mapping[Taxes, _Share], quote: Quote, option: PricedOption) -> Iterable[str]:
    """A total for each tax, with a part for each of its rates."""
    currency = quote.pricing.currency
    amounts: dict[str, dict[Decimal, Decimal]] = {}
    for tax in option.totals.taxes:
        rates = amounts.setdefault(tax.name, {})
        rates[tax.rate] = rates.get(tax.rate, ZERO) + tax.amount
    for name, rates in amounts.items():
        parts = []
        for rate, amount in rates.items():
            base = sum((part.lines - part.discount + part.freight for taxes, part in shares.items()
                        if (name, rate) in taxes), ZERO)
            parts.append(ubl.group(
                "TaxSubtotal", ubl.amount("TaxableAmount", base, currency), ubl.amount("TaxAmount", amount, currency),
                *_categories("TaxCategory", ((name, rate),), quote)))
        yield ubl.group("TaxTotal", ubl.amount("TaxAmount", sum(rates.values(), ZERO), currency), *parts)


def _total(quote: Quote, option: PricedOption) -> str:
    totals, currency = option.totals, quote.pricing.currency
    lines = totals.materials + totals.labour
    before_tax = lines - totals.discount + totals.freight
    amounts = {"LineExtensionAmount": lines, "TaxExclusiveAmount": before_tax,
               "TaxInclusiveAmount": before_tax + totals.tax, "AllowanceTotalAmount": totals.discount,
               "ChargeTotalAmount": totals.freight, "PayableRoundingAmount": totals.rounding,
               "PayableAmount": totals.total}
    return ubl.group("QuotedMonetaryTotal", *(ubl.amount(name, value, currency) for name, value in amounts.items()))

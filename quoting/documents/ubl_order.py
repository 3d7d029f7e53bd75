"""What is bought of one supplier at once as an OASIS UBL 2.1 Order, for the supplier's own programs."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from decimal import Decimal

from quoting.buying import BuyLine, Order
from quoting.documents import ubl
from quoting.money import ONE
from quoting.quote import PricedOption, Quote

BEFORE_TAX = "Amounts are before tax and delivery, at the prices of the supplier's list that stand in our catalogue."
ISSUED = "The date of issue is the day of these prices; the order counts from the day on which it is sent."
REPLACES = ("The last six characters of the number change with what is ordered, and R and its number with the revision "
            "of our quote. This order replaces any of this or an earlier revision whose number is otherwise the same.")
MARK_LENGTH = 6


def order(quote: Quote, option: PricedOption, its: Order) -> bytes:
    """The document. Its amounts are those of the purchase list, to the cent; a line without a pack orders nothing."""
    currency, firm = quote.pricing.currency, quote.firm
    wanted = min((line.need_by for line in its.lines if line.need_by), default="")
    ordered = [line for line in its.lines if line.put_up is not None]
    return ubl.document(
        "Order", ubl.basic("UBLVersionID", ubl.VERSION), ubl.basic("ID", order_number(quote, option, its)),
        ubl.basic("IssueDate", quote.pricing.date),
        *(ubl.basic("Note", note) for note in (BEFORE_TAX, ISSUED, REPLACES)),
        ubl.basic("DocumentCurrencyCode", currency), ubl.basic("LineCountNumeric", len(ordered)),
        ubl.group("BuyerCustomerParty", ubl.party(firm.name, firm.address, firm.phone, firm.email)),
        ubl.group("SellerSupplierParty", ubl.party(its.supplier)),
        ubl.group("Delivery", ubl.address_of("DeliveryAddress", firm.address or quote.job.client.site),
                  ubl.group("RequestedDeliveryPeriod", ubl.basic("EndDate", wanted))),
        ubl.group("AnticipatedMonetaryTotal", ubl.amount("LineExtensionAmount", its.outlay, currency),
                  ubl.amount("PayableAmount", its.outlay, currency)),
        *(_line(number, line, quote) for number, line in enumerate(ordered, start=1)))


def order_number(quote: Quote, option: PricedOption, its: Order) -> str:
    """The quote's number and revision, the option, the supplier, what it is for, and a mark of what is ordered."""
    terms = quote.job.terms
    name = (terms.quote_number, f"R{terms.revision}", option.name, order_name(its), order_mark(quote, its))
    return "-".join(filter(None, name))


def order_name(its: Order) -> str:
    """Supplier and phase; a further order for the same phase is numbered."""
    return "-".join((plain_name(its.supplier), plain_name(its.phase), *([str(its.number)] if its.number > 1 else [])))


def order_mark(quote: Quote, its: Order) -> str:
    """The same for the same lines, another as soon as one of them differs."""
    lines = [(line.part, line.colour, line.put_up.count, f"{line.put_up.size:f}", f"{line.put_up.cost:f}",
              str(line.need_by)) for line in its.lines if line.put_up]
    said = repr((quote.pricing.currency, quote.firm.address or quote.job.client.site, lines))
    return hashlib.sha256(said.encode()).hexdigest()[:MARK_LENGTH]


def plain_name(name: str) -> str:
    """A name for a file: small letters, digits and hyphens.

    >>> plain_name("Tolloway Cable Works"), plain_name("Café & Co.")
    ('tolloway-cable-works', 'caf-co')
    """
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "supplier"


def file_names(option: PricedOption, found: Iterable[Order]) -> tuple[str, ...]:
    """The name of each order's file; where the plain names of suppliers are the same, they are numbered."""
    names: list[str] = []
    for its in found:
        name, number = f"order-{option.name}-{order_name(its)}", 1
        while f"{name}.xml" in names:
            number += 1
            name = f"order-{option.name}-{order_name(its)}-{number}"
        names.append(f"{name}.xml")
    return tuple(names)


def _enclosed(line: BuyLine) -> str:
    return f"Enclosed with this order: {line.enclose}." if line.enclose else ""


def _line(number: int, line: BuyLine, quote: Quote) -> str:
    """So many packs: what one holds stands with the item. A pack of one is the unit itself. A hire is wanted on its
    day, not before it."""
    assert line.put_up is not None
    codes, currency = quote.buying.codes, quote.pricing.currency
    unit = ubl.code_of(codes, f"unit {line.unit}", "C62")
    single = line.put_up.size == ONE
    packs = unit if single else ubl.code_of(codes, "unit pack", "XPK")
    wanted = line.need_by or ""
    period = ubl.group("RequestedDeliveryPeriod", ubl.basic("StartDate", wanted if line.hired_for else ""),
                       ubl.basic("EndDate", wanted))
    return ubl.group("OrderLine", ubl.group(
        "LineItem", ubl.basic("ID", str(number)), ubl.basic("Note", _enclosed(line)),
        ubl.quantity("Quantity", line.put_up.count, packs),
        ubl.amount("LineExtensionAmount", line.outlay, currency), ubl.group("Delivery", period),
        ubl.group("Price", ubl.amount("PriceAmount", line.put_up.cost, currency),
                  ubl.quantity("BaseQuantity", Decimal(1), packs)),
        ubl.group("Item", "" if single else ubl.quantity("PackQuantity", line.put_up.size, unit),
                  ubl.basic("Name", ", ".join(filter(None, (line.description or line.part, line.colour)))),
                  ubl.group("BuyersItemIdentification", ubl.basic("ID", line.part)),
                  ubl.group("AdditionalItemProperty", ubl.basic("Name", "Colour"), ubl.basic("Value", line.colour))
                  if line.colour else "")))

"""What is bought of one supplier as an OASIS UBL 2.1 Order, for the supplier's own programs."""

from __future__ import annotations

import re
from collections.abc import Iterable
from decimal import Decimal

from quoting.buying import BuyLine
from quoting.documents import ubl
from quoting.money import ONE, ZERO
from quoting.quote import PricedOption, Quote

BEFORE_TAX = "Amounts are before tax and delivery, at the prices of the supplier's list that stand in our catalogue."


def order(quote: Quote, option: PricedOption, supplier: str, lines: tuple[BuyLine, ...]) -> bytes:
    """The document. Its amounts are those of the purchase list, to the cent; a line without a pack orders nothing."""
    currency, firm = quote.pricing.currency, quote.firm
    total = sum((line.outlay for line in lines), ZERO)
    wanted = min((line.need_by for line in lines if line.need_by), default="")
    ordered = [line for line in lines if line.put_up is not None]
    return ubl.document(
        "Order", ubl.basic("UBLVersionID", ubl.VERSION), ubl.basic("ID", order_number(quote, option, supplier)),
        ubl.basic("IssueDate", quote.pricing.date), ubl.basic("Note", BEFORE_TAX),
        ubl.basic("DocumentCurrencyCode", currency), ubl.basic("LineCountNumeric", len(ordered)),
        ubl.group("BuyerCustomerParty", ubl.party(firm.name, firm.address, firm.phone, firm.email)),
        ubl.group("SellerSupplierParty", ubl.party(supplier)),
        ubl.group("Delivery", ubl.group("RequestedDeliveryPeriod", ubl.basic("EndDate", wanted))),
        ubl.group("AnticipatedMonetaryTotal", ubl.amount("LineExtensionAmount", total, currency),
                  ubl.amount("PayableAmount", total, currency)),
        *(_line(number, line, quote) for number, line in enumerate(ordered, start=1)))


def order_number(quote: Quote, option: PricedOption, supplier: str) -> str:
    """The quote's number and revision, the option, and the supplier."""
    terms = quote.job.terms
    return "-".join(filter(None, (terms.quote_number, f"R{terms.revision}", option.name, plain_name(supplier))))


def plain_name(name: str) -> str:
    """A name for a file: small letters, digits and hyphens.

    >>> plain_name("Tolloway Cable Works"), plain_name("Café & Co.")
    ('tolloway-cable-works', 'caf-co')
    """
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-") or "supplier"


def file_names(option: PricedOption, suppliers: Iterable[str]) -> dict[str, str]:
    """Supplier -> the name of its order's file; suppliers whose plain names are the same are numbered."""
    names: dict[str, str] = {}
    for supplier in suppliers:
        name, number = plain_name(supplier), 1
        while f"order-{option.name}-{name}.xml" in names.values():
            number += 1
            name = f"{plain_name(supplier)}-{number}"
        names[supplier] = f"order-{option.name}-{name}.xml"
    return names


def _line(number: int, line: BuyLine, quote: Quote) -> str:
    """So many packs: what one holds stands with the item. A pack of one is the unit itself."""
    assert line.put_up is not None
    codes, currency = quote.buying.codes, quote.pricing.currency
    unit = ubl.code_of(codes, f"unit {line.unit}", "C62")
    single = line.put_up.size == ONE
    packs = unit if single else ubl.code_of(codes, "unit pack", "XPK")
    return ubl.group("OrderLine", ubl.group(
        "LineItem", ubl.basic("ID", str(number)), ubl.quantity("Quantity", line.put_up.count, packs),
        ubl.amount("LineExtensionAmount", line.outlay, currency),
        ubl.group("Delivery", ubl.group("RequestedDeliveryPeriod", ubl.basic("EndDate", line.need_by or ""))),
        ubl.group("Price", ubl.amount("PriceAmount", line.put_up.cost, currency),
                  ubl.quantity("BaseQuantity", Decimal(1), packs)),
        ubl.group("Item", "" if single else ubl.quantity("PackQuantity", line.put_up.size, unit),
                  ubl.basic("Name", line.description or line.part),
                  ubl.group("BuyersItemIdentification", ubl.basic("ID", line.part)))))

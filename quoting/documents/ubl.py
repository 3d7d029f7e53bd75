"""Pieces of OASIS UBL 2.1 documents: elements in the order that the schemas ask for, amounts, parties, taxes.

A piece is text; a piece with nothing in it is "" and leaves no element. Reference: OASIS Standard, Universal Business
Language Version 2.1, 4 November 2013, schemas xsd/maindoc and xsd/common.
"""

from __future__ import annotations

import datetime
import html
from collections.abc import Mapping
from decimal import Decimal

NAMESPACE = "urn:oasis:names:specification:ubl:schema:xsd:"
VERSION = "2.1"


def document(kind: str, *inside: str) -> bytes:
    """A whole document; `kind` is Order or Quotation."""
    spaces = (f'xmlns="{NAMESPACE}{kind}-2" xmlns:cac="{NAMESPACE}CommonAggregateComponents-2" '
              f'xmlns:cbc="{NAMESPACE}CommonBasicComponents-2"')
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<{kind} {spaces}>\n{"".join(inside)}</{kind}>\n'.encode()


def basic(name: str, value: str | int | datetime.date, **attributes: str) -> str:
    """An element with a value; nothing where the value is ""."""
    if value == "":
        return ""
    said = "".join(f' {key}="{html.escape(word)}"' for key, word in attributes.items())
    text = html.escape(value, quote=False) if isinstance(value, str) else str(value)
    return f"<cbc:{name}{said}>{text}</cbc:{name}>\n"


def group(name: str, *inside: str) -> str:
    """An element of elements; nothing where they are nothing."""
    within = "".join(inside)
    return f"<cac:{name}>\n{within}</cac:{name}>\n" if within else ""


def yes_no(name: str, value: bool) -> str:
    """An indicator."""
    return basic(name, "true" if value else "false")


def amount(name: str, value: Decimal, currency: str) -> str:
    """An amount of money, already rounded."""
    return basic(name, f"{value:f}", currencyID=currency)


def quantity(name: str, value: Decimal | int, code: str) -> str:
    """So many of a unit, by its code of UN/ECE Recommendation 20."""
    return basic(name, plain(Decimal(value)), unitCode=code)


def plain(number: Decimal) -> str:
    """Digits and a point, without trailing zeros.

    >>> plain(Decimal("250.500")), plain(Decimal("1E+3"))
    ('250.5', '1000')
    """
    text = f"{number:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def party(name: str, address: str = "", phone: str = "", email: str = "") -> str:
    """Who sells or buys. The address stays as it is typed, a line a line."""
    return group(
        "Party", group("PartyName", basic("Name", name)), address_of("PostalAddress", address),
        group("Contact", basic("Telephone", phone), basic("ElectronicMail", email)))


def address_of(element: str, address: str) -> str:
    """An address as it is typed, a line a line."""
    lines = (line.strip(" ,") for line in address.splitlines())
    return group(element, *(group("AddressLine", basic("Line", line)) for line in lines if line))


def tax_category(element: str, category: str, percent: Decimal | None, reason: str, scheme: str, name: str) -> str:
    """A tax category of UN/EDIFACT 5305 under a scheme of UN/EDIFACT 5153; `name` is what the place calls the tax."""
    return group(
        element, basic("ID", category), basic("Percent", "" if percent is None else plain(percent)),
        basic("TaxExemptionReason", reason), group("TaxScheme", basic("ID", scheme), basic("Name", name)))


def code_of(codes: Mapping[str, str], what: str, otherwise: str) -> str:
    """A code of standards/exchange_code.csv, "unit ft"; `otherwise` where it has none."""
    return codes.get(what) or otherwise

"""Everything that the prices of one quote rest on: the inputs of the office workbook, as records."""

from __future__ import annotations

import datetime
from decimal import Decimal
from typing import Literal

from msgspec import Struct

from quoting.lines import Phase

MarkupBasis = Literal["markup", "margin", "list"]
WhatIfKind = Literal["discount", "hours", "material cost", "category cost"]


class CategoryPricing(Struct, frozen=True, kw_only=True):
    """How parts of one category are priced."""

    category: str
    words: str  # what the customer calls it
    basis: MarkupBasis
    rate: Decimal
    freight_rate: Decimal
    warn_days: int
    row: str


class RoleRate(Struct, frozen=True, kw_only=True):
    """One role's rates per hour, all three costs and the price."""

    role: str
    pay: Decimal
    burdened: Decimal
    sold_hour: Decimal
    price: Decimal


class TaxRule(Struct, frozen=True, kw_only=True):
    """One tax on one category, as the place has it."""

    name: str
    category: str
    rate: Decimal
    payer: Literal["customer", "contractor"]
    scheme: str | None = None  # its code in exchanged documents, UN/EDIFACT 5153: VAT, STT; empty: OTH, other taxes


class PartPricing(Struct, frozen=True, kw_only=True):
    """One part's cost and price inputs."""

    part: str
    unit_cost: Decimal
    list_price: Decimal | None
    floor_price: Decimal | None
    own_markup: Decimal | None  # a markup of the part's own instead of its category's


class PlanRow(Struct, frozen=True, kw_only=True):
    """One instalment of the plan, before caps."""

    name: str
    trigger: str
    share: Decimal
    before: Phase | Literal[""] = ""  # it comes in before this phase's costs; "": when all is done


class WhatIf(Struct, frozen=True, kw_only=True):
    """One thing that may go otherwise, and by how much the owner's page starts to show it."""

    name: str
    kind: WhatIfKind
    category: str  # of kind "category cost": whose cost rises
    change_rate: Decimal


class Pricing(Struct, frozen=True, kw_only=True):
    """Every input of the office workbook."""

    currency: str
    date: datetime.date
    valid_until: datetime.date
    categories: tuple[CategoryPricing, ...]
    roles: tuple[RoleRate, ...]
    parts: tuple[PartPricing, ...]
    cost_basis: Literal["burdened", "sold hour"]  # which rate labour cost and the floors use
    discount_rate: Decimal
    discount_reason: str
    approved_by: str
    taxes: tuple[TaxRule, ...]
    tax_basis: Literal["invoice", "line"]
    contingency_method: Literal["rate", "P80"]
    contingency_rate: Decimal
    whole_units: bool
    plan: tuple[PlanRow, ...]
    deposit_cap_rate: Decimal | None
    deposit_cap_amount: Decimal | None
    margin_floor: Decimal
    free_discount: Decimal  # what a salesperson may give without approval
    what_if: tuple[WhatIf, ...] = ()  # what the owner's page tries

"""Catalogue rows that are read for their words: statements, monthly fees, what a firm says in other languages."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal
from typing import Literal

from msgspec import Struct

from quoting.lines import Phase
from quoting.problems import Cell
from quoting.quote import StatementKind


class Fee(Struct, frozen=True, kw_only=True):
    """A row of fees.csv: what an option costs every month, apart from its price."""

    fee: str
    words: str  # the customer's words
    payee: Literal["us", "others"]
    option: str
    currency: str
    amount: Decimal  # a month
    from_date: datetime.date
    where: Cell


class StatementText(Struct, frozen=True, kw_only=True):
    """A row of statements.csv."""

    code: str
    kind: StatementKind
    text: str
    before: Phase | Literal[""]  # the phase that waits for it; "" for none
    where: Cell


class WordingRow(Struct, frozen=True, kw_only=True):
    """A row of wording.csv."""

    phrase: str  # in English, as the catalogue or the program says it
    texts: Mapping[str, str]  # language -> what it is there
    where: Cell
    cells: Mapping[str, Cell]  # language -> its cell, filled or not


class Wording(Struct, frozen=True, kw_only=True):
    """wording.csv: its languages in column order, its rows by phrase."""

    languages: tuple[str, ...]
    rows: Mapping[str, WordingRow]


NO_WORDING = Wording(languages=(), rows={})

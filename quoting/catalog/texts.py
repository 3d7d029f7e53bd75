"""Catalogue rows that are read for their words: statements, monthly fees, what a firm says in other languages."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from quoting.lines import Phase
from quoting.problems import Cell
from quoting.quote import StatementKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Fee:
    """A row of fees.csv: what an option costs every month, apart from its price."""

    fee: str
    words: str  # the customer's words
    payee: Literal["us", "others"]
    option: str
    currency: str
    amount: Decimal  # a month
    from_date: datetime.date
    where: Cell


@dataclass(frozen=True, slots=True, kw_only=True)
class StatementText:
    """A row of statements.csv."""

    code: str
    kind: StatementKind
    text: str
    before: Phase | Literal[""]  # the phase that waits for it; "" for none
    where: Cell


@dataclass(frozen=True, slots=True, kw_only=True)
class WordingRow:
    """A row of wording.csv."""

    phrase: str  # in English, as the catalogue or the program says it
    texts: Mapping[str, str]  # language -> what it is there
    where: Cell
    cells: Mapping[str, Cell]  # language -> its cell, filled or not


@dataclass(frozen=True, slots=True, kw_only=True)
class Wording:
    """wording.csv: its languages in column order, its rows by phrase."""

    languages: tuple[str, ...]
    rows: Mapping[str, WordingRow]


NO_WORDING = Wording(languages=(), rows={})

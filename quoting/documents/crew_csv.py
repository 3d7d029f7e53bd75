"""Crew tables as CSV, for those who sort or import: UTF-8, and no cell that a spreadsheet would take for a formula."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence

_NUMBER = re.compile(r"[+-]?\d+([.,]\d+)?")
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def csv_bytes(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> bytes:
    """A table with its headings; a byte order mark tells spreadsheets that it is UTF-8."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(columns)
    writer.writerows([guarded(cell) for cell in row] for row in rows)
    return out.getvalue().encode("utf-8-sig")


def guarded(text: str) -> str:
    """Text that a spreadsheet would work out as a formula, with an apostrophe before it; numbers stay numbers.

    >>> guarded("=1+1"), guarded("-2"), guarded("@SUM"), guarded("103211")
    ("'=1+1", '-2', "'@SUM", '103211')
    """
    return f"'{text}" if text.startswith(_FORMULA) and not _NUMBER.fullmatch(text) else text

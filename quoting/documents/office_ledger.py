"""A column of named lines, one column of figures an option: how the arithmetic of the sheet Totals is written."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Literal

from quoting.documents.office_rows import OfficeRows
from quoting.documents.sheet_writer import Sheet, Style, address
from quoting.money import minor_units

FIRST = 2  # the first option's column: a label and a note stand before it


@dataclass(slots=True)
class Ledger:
    """The sheet so far: the next free row, and the row of every named line."""

    sheet: Sheet
    rows: OfficeRows
    row: int
    named: dict[str, int] = field(default_factory=dict)

    @property
    def places(self) -> int:
        """The currency's decimals."""
        return minor_units(self.rows.quote.pricing.currency)

    @property
    def last(self) -> int:
        """The last option's column."""
        return FIRST + len(self.rows.options) - 1

    def section(self, heading: str, note: str = "") -> None:
        """A heading with the options' names over their columns."""
        self.row += 1
        self.sheet.text(self.row, 0, heading, "head")
        self.sheet.text(self.row, 1, note, "head")
        for index, option in enumerate(self.rows.options):
            self.sheet.text(self.row, FIRST + index, option.name, "head.right")
        self.row += 1

    def line(
        self,
        key: str,
        label: str,
        note: str,
        formula: Callable[[int], str],
        values: Sequence[Decimal | int | str],
        kind: Literal["money", "other"] = "money",
        style: Style = "money",
        look: Style = "label",
    ) -> None:
        """One line: `formula(index)` is each option's formula without its equals sign, `values` what they come to."""
        self.named[key] = self.row
        self.sheet.text(self.row, 0, label, look)
        self.sheet.text(self.row, 1, note, "label.total" if look == "label.total" else "quiet")
        for index, value in enumerate(values):
            text = f"={formula(index)}"
            if kind == "money" and isinstance(value, Decimal):
                self.sheet.money(self.row, FIRST + index, text, value, style)
            else:
                self.sheet.formula(self.row, FIRST + index, text, value, style)
        self.row += 1

    def total(self, key: str, label: str, note: str, formula: Callable[[int], str], values: Sequence[Decimal]) -> None:
        """A line that closes a block."""
        self.line(key, label, note, formula, values, style="money.total", look="label.total")

    def here(self, key: str, index: int) -> str:
        """A named line's cell for one option, on this sheet: C12."""
        return address(self.named[key], FIRST + index)

    def at(self, key: str, index: int) -> str:
        """The same from another sheet: Totals!$C$12."""
        return self.sheet.at(self.named[key], FIRST + index)

    def rounded(self, formula: str) -> str:
        """Rounded to the currency's minor unit."""
        return f"ROUND({formula},{self.places})"

    def sum(self, keys: Sequence[str], index: int) -> str:
        """The rounded sum of named lines."""
        return self.rounded("+".join(self.here(key, index) for key in keys) or "0")

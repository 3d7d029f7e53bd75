"""Paper: its sizes, and sheets of labels by their dimensions."""

from __future__ import annotations

from typing import Literal

from msgspec import Struct

PAPER_MM = {"A4": (210.0, 297.0), "letter": (215.9, 279.4)}  # ISO 216; ANSI Y14.1: 8 1/2 by 11 in


class LabelSheet(Struct, frozen=True, kw_only=True):
    """A row of label_sheets.csv: a sheet of labels by its dimensions, as its pack states them."""

    name: str
    paper: Literal["A4", "letter"]
    columns: int
    rows: int
    width_mm: float  # of one label
    height_mm: float
    left_mm: float  # margin of the sheet to the first label
    top_mm: float
    across_mm: float  # from the start of one label to the start of the next
    down_mm: float

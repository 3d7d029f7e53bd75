"""Where each letter of a printed page stands, and to which mark of the tagged structure it belongs.

Read by PDFium, the engine of the browser that printed it: pure Python takes ten times as long for a set of a hundred
pages. Boxes are in points, from the upper left corner.
"""

from __future__ import annotations

from collections.abc import Mapping
from ctypes import c_double, c_void_p, cast
from dataclasses import dataclass
from operator import itemgetter
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    import pypdfium2

Box = tuple[float, float, float, float]  # left, top, right, bottom
NO_MARK = -1
HYPHEN = "\x02"  # what PDFium calls a hyphen at the end of a line


@dataclass(frozen=True, slots=True)
class Letter:
    """One letter; `mark` is its number in the page's tagged structure, NO_MARK in running heads and feet."""

    mark: int
    text: str
    box: Box
    size_pt: float


@dataclass(frozen=True, slots=True)
class PrintedPage:
    """One page: its size, its letters in the order of the file, the shapes drawn on it, the lines of head and foot."""

    width: float
    height: float
    letters: tuple[Letter, ...]
    shapes: tuple[Box, ...]
    head: tuple[str, ...]
    foot: tuple[str, ...]


def printed_pages(path: Path, margin: float) -> tuple[PrintedPage, ...]:
    """The pages of a printed file; head and foot are the lines within `margin` of the edge. [pt]"""
    pdfium = pytest.importorskip("pypdfium2")
    document = pdfium.PdfDocument(path)
    try:
        return tuple(_page(page, margin) for page in document)
    finally:
        document.close()


def _page(page: pypdfium2.PdfPage, margin: float) -> PrintedPage:
    import pypdfium2.raw as raw

    width, height = page.get_size()
    text = page.get_textpage()
    drawn = list(page.get_objects())
    shapes = [_from_above(one.get_bounds(), height) for one in drawn if one.type == raw.FPDF_PAGEOBJ_PATH]
    order = {_address(one): number for number, one in enumerate(drawn)}
    return PrintedPage(
        width=width, height=height, letters=tuple(_letters(text, height, order)),
        shapes=tuple(shapes), head=_lines(text.get_text_bounded(0, height - margin, width, height)),
        foot=_lines(text.get_text_bounded(0, 0, width, margin)))


def _lines(text: str) -> tuple[str, ...]:
    """A box also holds the letters that only reach into it, as accents of the line below do: in lines of their own."""
    return tuple(line.strip() for line in text.splitlines()) or ("",)


def _letters(text: pypdfium2.PdfTextPage, height: float, order: Mapping[int, int]) -> list[Letter]:
    """In the order in which they were drawn: PDFium tells letters that lie over each other in turns, as a word and its
    halo do."""
    import pypdfium2.raw as raw

    left, right, bottom, top = (c_double() for _ in range(4))
    found: list[tuple[int, Letter]] = []
    for at in range(raw.FPDFText_CountChars(text)):
        drawn: Any = raw.FPDFText_GetTextObject(text, at)
        if drawn:  # else a blank or a line end that only PDFium sees
            raw.FPDFText_GetCharBox(text, at, left, right, bottom, top)
            said = chr(raw.FPDFText_GetUnicode(text, at))
            letter = Letter(raw.FPDFPageObj_GetMarkedContentID(drawn), "-" if said == HYPHEN else said,
                            (left.value, height - top.value, right.value, height - bottom.value),
                            raw.FPDFText_GetFontSize(text, at))
            found.append((order[_address(drawn)], letter))
    return [letter for _, letter in sorted(found, key=itemgetter(0))]


def _address(drawn: Any) -> int:
    return int(cast(drawn, c_void_p).value or 0)


def _from_above(bounds: Box, height: float) -> Box:
    left, bottom, right, top = bounds
    return left, height - top, right, height - bottom

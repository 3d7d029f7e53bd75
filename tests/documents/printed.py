"""What is wrong with an HTML paper on paper: printed by Chromium, read back by the places of its letters.

The printed file is tagged, so its structure says which letters are a heading, a cell, a row; their places say on which
page they stand and whether anything is cut off. Every check gives sentences; an empty list is a good paper.
"""

from __future__ import annotations

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

import pytest

from tests.documents.browser import address
from tests.documents.print_letters import NO_MARK, Box, Letter, PrintedPage, printed_pages
from tests.documents.screens import cut_text, lines_seen

if TYPE_CHECKING:
    import pikepdf
    from playwright.sync_api import Browser

Size = Literal["A4", "Letter"]
SIZES: tuple[Size, ...] = ("A4", "Letter")
EDGE_PT = 5 / 25.4 * 72  # nearer to the edge than 5 mm some printers print nothing (common practice, no source)
AHEAD = 400  # letters that may stand between one text and the next: numbers of lists, repeated heads of tables
LYING = """[...document.styleSheets].flatMap(sheet => [...sheet.cssRules])
  .some(rule => rule instanceof CSSPageRule && !rule.selectorText && rule.cssText.includes('landscape'))"""
FOOT_PT = 16 / 25.4 * 72  # the pages' margins, in which the running heads and feet stand: 16 mm and more
HEADINGS = ("H1", "H2", "H3", "H4", "H5", "H6", "Caption")


@dataclass
class Element:
    """An element of the printed structure: where its own letters stand, and what is inside it."""

    kind: str
    pages: list[int] = field(default_factory=list)  # of its letters, those inside it too, in order
    boxes: list[tuple[int, float, float, float, float]] = field(default_factory=list)  # page, x0, top, x1, bottom
    text: str = ""
    inside: list[Element] = field(default_factory=list)

    def walk(self) -> Iterator[Element]:
        """It and everything inside it, in reading order."""
        yield self
        for element in self.inside:
            yield from element.walk()


def print_paper(browser: Browser, paper: Path, size: Size, to: Path) -> None:
    """Print as `quoting build --pdf` does: tagged, with an outline."""
    page = browser.new_page()
    page.goto(address(paper))
    page.pdf(path=to, format=size, tagged=True, outline=True)
    page.close()


def printed_faults(browser: Browser, paper: Path, size: Size, to: Path) -> list[str]:
    """Everything wrong with the paper as printed on this size; the print is left at `to`."""
    print_paper(browser, paper, size, to)
    page = browser.new_page()
    page.goto(address(paper))
    lying = page.evaluate(LYING)
    page.emulate_media(media="print")
    texts = [line["text"] for line in lines_seen(page) if line["rects"]]
    named = (page.title(), page.evaluate("document.documentElement.lang"))
    found = []
    for across in (False, True):
        page.set_viewport_size({"width": _column_px(size, across or lying), "height": 1000})
        found += cut_text(page, across)
    page.close()
    return [*found, *file_faults(to, texts, named)]


HAND_MM = (18.0, 7.0)  # a name or a figure written by hand: width and height (common practice, no source)
CREW_COLUMN_MM = (184.0, 253.4)  # upright on A4, across on Letter, between margins of 13 mm: the narrower of the two
HAND_CELLS = """across => [...document.querySelectorAll('td.hand')]
  .filter(cell => Boolean(cell.closest('.across')) === across)
  .map(cell => [cell.dataset.label, cell.getBoundingClientRect().width, cell.getBoundingClientRect().height])"""


def narrow_cells(browser: Browser, paper: Path) -> set[str]:
    """Headings of cells that somebody fills in by hand and has no room in, on paper."""
    page = browser.new_page()
    page.goto(address(paper))
    page.emulate_media(media="print")
    found: set[str] = set()
    for across in (False, True):
        page.set_viewport_size({"width": int(CREW_COLUMN_MM[across] / 25.4 * 96), "height": 1000})
        least = [side / 25.4 * 96 for side in HAND_MM]
        found |= {f"{heading}: {wide / 96 * 25.4:.1f} x {high / 96 * 25.4:.1f} mm"
                  for heading, wide, high in page.evaluate(HAND_CELLS, across) if wide < least[0] or high < least[1]}
    page.close()
    return found


def _column_px(size: Size, across: bool) -> int:
    """The width of the text on paper, between margins of 15 mm, in CSS pixels of 1/96 inch."""
    width_mm = {"A4": (210, 297), "Letter": (215.9, 279.4)}[size][across]
    return int((width_mm - 30) / 25.4 * 96)


def file_faults(printed: Path, texts: list[str], named: tuple[str, str]) -> list[str]:
    """What the printed file shows by itself, and what it lost of the page's texts, its title and its language."""
    pikepdf = pytest.importorskip("pikepdf")
    pages = printed_pages(printed, FOOT_PT)
    with pikepdf.open(printed) as pdf:
        catalog = pdf.Root
        own = (str(pdf.docinfo.get("/Title", "")), str(catalog.get("/Lang", "")))
        found = [f"the print's {name} is '{printed}', the page's '{paper}'" for name, printed, paper in
                 zip(("title", "language"), own, named, strict=True) if not paper or printed != paper]
        found += [f"the print has no {name}" for name, entry in (("tags", "/StructTreeRoot"), ("outline", "/Outlines"))
                  if entry not in catalog]
        ids = {page.obj.objgen: number for number, page in enumerate(pdf.pages, start=1)}
        root = _structure(catalog["/StructTreeRoot"], ids, pages) if "/StructTreeRoot" in catalog else (
            Element("Document"))
    found += [f"'{letter.text}' on page {number} stands at the edge" for number, page in enumerate(pages, start=1)
              for letter in page.letters if letter.text.strip() and _at_edge(letter.box, page)][:5]
    return [*found, *_lost(texts, root.text), *_orphans(root), *_rows(root)]


def _half_empty(pages: Sequence[PrintedPage]) -> list[str]:
    """Pages, but the last, with nothing below 45 % of their height: a reader takes such a page for the end."""
    return [f"page {number} is half empty" for number, page in enumerate(pages[:-1], start=1)
            if max((box[3] for box in _drawn(page)), default=0.0) < page.height * 0.45]


def _drawn(page: PrintedPage) -> list[Box]:
    """What stands between the running head and the foot."""
    return [box for box in (*(letter.box for letter in page.letters), *page.shapes)
            if FOOT_PT < box[3] < page.height - FOOT_PT and box[1] > FOOT_PT]


def _unnumbered(pages: Sequence[PrintedPage]) -> list[str]:
    """Pages that do not end with their number and how many there are: 3 / 12."""
    return [f"page {number} ends with '{page.foot[-1]}'" for number, page in enumerate(pages, start=1)
            if not page.foot[-1].endswith(f"{number} / {len(pages)}")]


def page_faults(printed: Path, head: re.Pattern[str]) -> list[str]:
    """Pages that are half empty, that do not end with their number, or that, after the first, lack the running head."""
    pages = printed_pages(printed, FOOT_PT)
    return [*_half_empty(pages), *_unnumbered(pages),
            *(f"above page {number} stands '{page.head[0]}'" for number, page in enumerate(pages, start=1)
              if bool(head.fullmatch(page.head[0])) != (number > 1))]


def _lost(texts: list[str], printed: str) -> list[str]:
    """Texts of the page that are not in the print, in the page's order; blanks and line ends do not count."""
    whole, place, found = _letters(printed), 0, []
    for text in texts:
        at = whole.find(_letters(text), place, place + AHEAD + len(text))
        if at < 0:
            found.append(f"'{' '.join(text.split())}' is not printed")
        else:
            place = at + len(_letters(text))
    return found


def _letters(text: str) -> str:
    return re.sub(r"\s", "", unicodedata.normalize("NFKC", text)).casefold()


def _at_edge(box: Box, page: PrintedPage) -> bool:
    return (box[0] < EDGE_PT or box[1] < EDGE_PT
            or box[2] > page.width - EDGE_PT or box[3] > page.height - EDGE_PT)


def _structure(
    root: pikepdf.Object, ids: Mapping[tuple[int, int], int], pages: Sequence[PrintedPage]
) -> Element:
    """The tagged structure with its letters. A mark's number counts within its page, which a reference may name.

    `ids`: the number of each page by what the structure calls it.
    """
    from pikepdf import Array

    letters: dict[tuple[int, int], list[Letter]] = defaultdict(list)
    for number, page in enumerate(pages, start=1):
        for letter in page.letters:
            if letter.mark != NO_MARK:
                letters[number, letter.mark].append(letter)

    def made(entry: Any, page: int) -> Element:  # an element, a reference to a mark, or a mark's number alone
        if isinstance(entry, int):
            return _marked(letters.get((page, entry), []), page)
        page = ids[entry["/Pg"].objgen] if "/Pg" in entry else page
        if "/MCID" in entry:
            return made(int(entry["/MCID"]), page)
        kids = entry.get("/K", Array())
        inside = kids if isinstance(kids, Array) else [kids]
        return Element(str(entry.get("/S", "")).removeprefix("/"), inside=[made(kid, page) for kid in inside])

    found = made(root, 0)
    _sum_up(found)
    return found


def _marked(letters: Sequence[Letter], page: int) -> Element:
    boxes = [(page, *letter.box) for letter in letters if letter.text.strip()]
    return Element("", [page] * len(boxes), boxes, "".join(letter.text for letter in letters) + "\n")


def _sum_up(element: Element) -> None:
    for child in element.inside:
        _sum_up(child)
        element.text += child.text
        element.pages += child.pages
        element.boxes += child.boxes


def _orphans(root: Element) -> list[str]:
    """Headings, captions and heads of tables that stand on another page than what follows them."""
    leaves = [element for element in root.walk() if element.pages and not any(e.pages for e in element.inside)]
    places = {id(leaf): place for place, leaf in enumerate(leaves)}
    found = []
    for heading in (element for element in root.walk() if _is_heading(element)):
        last = max(places[id(leaf)] for leaf in heading.walk() if id(leaf) in places)
        follows = leaves[last + 1] if last + 1 < len(leaves) else None
        if follows is None or follows.pages[0] not in heading.pages:
            after = f"what follows on page {follows.pages[0]}" if follows else "nothing follows"
            found.append(f"the heading '{_short(heading)}' stands alone on page {heading.pages[0]}: {after}")
    return found


def _is_heading(element: Element) -> bool:
    if not element.pages:
        return False
    cells = {cell.kind for cell in element.inside if cell.pages}
    return element.kind in HEADINGS or (element.kind == "TR" and cells == {"TH"})


def _rows(root: Element) -> list[str]:
    """Rows that are broken across pages, and cells whose letters run into the next cell."""
    found = []
    for row in (element for element in root.walk() if element.kind == "TR"):
        if len(set(row.pages)) > 1 and not _is_heading(row):  # the head of a table stands on each page
            found.append(f"the row '{_short(row)}' is broken across pages {sorted(set(row.pages))}")
        cells = [cell for cell in row.inside if cell.kind in ("TD", "TH") and cell.boxes]
        for one, other in pairwise(sorted(cells, key=_left)):
            if _right(one) > _left(other) + 0.5:
                found.append(f"'{_short(one)}' runs into '{_short(other)}'")
    return found


def _left(cell: Element) -> float:
    return min(box[1] for box in cell.boxes)


def _right(cell: Element) -> float:
    return max(box[3] for box in cell.boxes)


def _short(element: Element) -> str:
    return re.sub(r"\s+", " ", element.text).strip()[:60]

"""The checks of papers find what is planted: each of these pages has one fault."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from tests.documents.markup import markup_faults
from tests.documents.printed import printed_faults
from tests.documents.screens import Screen, screen_faults, zoom_faults

if TYPE_CHECKING:
    from playwright.sync_api import Browser

HEAD = ('<!doctype html><html lang="en"><head><meta charset="utf-8"><title>A paper</title>'
        "<style>@page { margin: 15mm } {}</style></head>")
BODY = "<body><main><h1>A paper</h1><p>It says little, in a few efficient words.</p>{}</main></body></html>"
ROW = '<table><caption>Rows</caption><tr><th scope="col">One</th><th scope="col">Two</th></tr>{}</table>'
LINES = "<br>".join(f"line {number}" for number in range(40))


@pytest.fixture
def paper(tmp_path: Path) -> Path:
    return tmp_path / "paper.html"


def write(paper: Path, inside: str, style: str = "", page: str = HEAD + BODY) -> Path:
    paper.write_text(page.replace("{}", style, 1).replace("{}", inside, 1), encoding="utf-8")
    return paper


def test_a_plain_paper_has_no_faults(browser: Browser, paper: Path) -> None:
    write(paper, "<h2>Rows</h2>" + ROW.replace("{}", "<tr><td>1</td><td>2</td></tr>"))
    assert [*screen_faults(browser, paper), *zoom_faults(browser, paper),
            *printed_faults(browser, paper, "A4", paper.with_suffix(".pdf")), *markup_faults([paper])] == []


@pytest.mark.parametrize(("inside", "style", "says"), [
    ('<img src="data:,">', "", "image-alt"),
    ('<div style="width: 500px">wide</div>', "", "the page is 508 px wide where 360 are"),
    ('<p class="pale">pale</p>', "@media (prefers-color-scheme: dark) { .pale { color: #ddd } }", "color-contrast"),
    ('<p class="cut">cut off at its edge</p>', ".cut { width: 3em; overflow: hidden; white-space: nowrap }",
     "'cut off at its edge' (p.cut) reaches out of its box"),
    ('<img alt="a" src="https://invented.example/a.png">', "", "asks for https://invented.example/a.png"),
    ("<script>console.log('hello')</script>", "", "the console says: hello"),
    ("<script>throw new Error('oh')</script>", "", "the page fails: oh"),
])
def test_a_screen_shows(browser: Browser, paper: Path, inside: str, style: str, says: str) -> None:
    found = screen_faults(browser, write(paper, inside, style), (Screen(360, 800, "dark"),))
    assert any(fault.removeprefix("360x800-dark: ").startswith(says) for fault in found), found


DRAWN = '<div class="to-scale" {}><p>wide and drawn to scale</p></div>'
MOVES = 'tabindex="0" role="region" aria-label="Drawing"'
WIDE = ".to-scale p { width: 500px; text-align: end } .to-scale { overflow-x: auto }"


@pytest.mark.parametrize(("attributes", "found"), [
    (MOVES, []),
    ("", ["'wide and drawn to scale' (p) reaches out of the window"]),  # nothing to reach it by without a mouse
])
def test_what_is_drawn_to_scale_may_move_in_a_region_of_its_own(
    browser: Browser, paper: Path, attributes: str, found: list[str]
) -> None:
    write(paper, DRAWN.replace("{}", attributes), WIDE)
    faults = screen_faults(browser, paper, (Screen(360, 800),))
    assert [fault.removeprefix("360x800-light: ") for fault in faults if "reaches" in fault] == found


@pytest.mark.parametrize(("style", "says"), [
    ("@media (max-width: 700px) { p.small { display: none } }", "page at 200 %: 'gone' is gone"),
    ("p.small { height: 40px; width: 60px; font-size: 1rem; overflow: hidden }",
     "text at 200 %: 'gone when it grows' (p.small) reaches out of its box"),
])
def test_zoom_shows(browser: Browser, paper: Path, style: str, says: str) -> None:
    assert says in zoom_faults(browser, write(paper, '<p class="small">gone when it grows</p>', style))


@pytest.mark.parametrize(("inside", "style", "says"), [
    ("<h2>Alone</h2><p>below</p>", "h2 { break-after: page }",
     "the heading 'Alone' stands alone on page 1: what follows on page 2"),
    ("<h2>Last</h2>", "", "the heading 'Last' stands alone on page 1: nothing follows"),
    (ROW.replace("{}", "<tr><td>1</td><td>2</td></tr>"), "caption { break-after: page }",
     "the heading 'Rows' stands alone on page 1: what follows on page 2"),
    (ROW.replace("{}", f'<tr><td>{LINES}</td><td>2</td></tr>'), "@page { size: 80mm 90mm }", "the row 'line 0 line 1"),
    (ROW.replace("{}", "<tr><td>Wordsthatarelong</td><td>Other</td></tr>"),
     "table { table-layout: fixed; width: 120px }", "'Wordsthatarelong' runs into 'Other'"),
    ('<p class="cut">cut off at its edge</p>', ".cut { width: 3em; overflow: hidden; white-space: nowrap }",
     "'cut off at its edge' (p.cut) reaches out of its box"),
    ('<p class="far">far away</p>', ".far { position: absolute; left: -900px }", "'far away' is not printed"),
    ("<p>edge</p>", "@page { margin: 0 } body { margin: 2mm }", "'A' on page 1 stands at the edge"),
])
def test_a_print_shows(browser: Browser, paper: Path, inside: str, style: str, says: str) -> None:
    found = printed_faults(browser, write(paper, inside, style), "A4", paper.with_suffix(".pdf"))
    assert any(fault.startswith(says) for fault in found), found


@pytest.mark.parametrize(("taken", "says"), [
    ("<title>A paper</title>", "the print's title is"), (' lang="en"', "the print's language is"),
    ("<h1>A paper</h1>", "the print has no outline"),
])
def test_a_print_lacks(browser: Browser, paper: Path, taken: str, says: str) -> None:
    write(paper, "", page=(HEAD + BODY).replace(taken, ""))
    found = printed_faults(browser, paper, "A4", paper.with_suffix(".pdf"))
    assert any(fault.startswith(says) for fault in found), found


def test_markup_shows(paper: Path) -> None:
    found = markup_faults([write(paper, "<center>old</center>")])
    assert len(found) == 1 and "center" in found[0]

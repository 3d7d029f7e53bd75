"""The proposal in a real browser: it fits a phone and a desk, asks for nothing, keeps rows whole on paper."""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from msgspec.structs import replace

from quoting.colours import ENOUGH, contrast
from quoting.documents.proposal import write_proposal
from quoting.quote import Quote
from tests.builders import make_client, make_firm, make_job, make_quote, make_rooms, make_terms
from tests.documents.browser import address
from tests.documents.papers import LANGUAGES, NUMBERS, Builds

if TYPE_CHECKING:
    from playwright.sync_api import Browser

TEMPLATES = Path(__file__).resolve().parents[2] / "templates"
LONG = "Wintergartenverlängerungswohnzimmer-mit-Leseecke-und-Empore1"  # 60 letters without a blank


@pytest.fixture(scope="module")
def proposal(tmp_path_factory: pytest.TempPathFactory) -> str:
    """A proposal with everything in it and names as long as they may be."""
    job = make_job(terms=make_terms(detail="itemised"), client=make_client(name=LONG),
                   rooms=tuple(replace(room, name=LONG) for room in make_rooms()))
    path = tmp_path_factory.mktemp("customer") / "proposal.html"
    write_proposal(make_quote(job=job, firm=make_firm(name=LONG)), path, TEMPLATES)
    return address(path)


@pytest.mark.parametrize("width", [320, 360, 768, 1280])
def test_nothing_scrolls_sideways(browser: Browser, proposal: str, width: int) -> None:
    page = browser.new_page(viewport={"width": width, "height": 800})
    page.goto(proposal)
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.close()


@pytest.mark.parametrize(("width", "height"), [(360, 740), (1280, 900)])
def test_the_first_screen_says_what_each_option_costs(
        browser: Browser, quotes: dict[str, Quote], tmp_path: Path, width: int, height: int) -> None:
    write_proposal(quotes["3"], tmp_path / "proposal.html", TEMPLATES)
    page = browser.new_page(viewport={"width": width, "height": height})
    page.goto(address(tmp_path / "proposal.html"))
    for option in quotes["3"].options:
        amount = f"{option.totals.total:,.2f}"
        boxes = [found.bounding_box() for found in page.get_by_text(amount).all()]
        assert any(box and box["y"] + box["height"] <= height for box in boxes), amount
    page.close()


# The amounts that stand on more than one line: one token each, without a blank that may break.
BROKEN = """() => [...document.querySelectorAll('.number')].filter(e => {
  const range = document.createRange();
  range.selectNodeContents(e);
  const lines = new Set([...range.getClientRects()].map(r => Math.round(r.top)));
  return /^\\S*\\d[^ \\n]*$/.test(e.textContent.trim()) && lines.size > 1;
}).map(e => e.textContent)"""


@pytest.mark.parametrize("language", LANGUAGES)
def test_no_amount_is_broken_on_a_phone(browser: Browser, builds: Builds, language: str) -> None:
    page = browser.new_page(viewport={"width": 360, "height": 740})
    broken = {}
    for number in NUMBERS:
        page.goto(address(next(paper for paper in builds.papers(language, number) if paper.name == "proposal.html")))
        assert page.locator(".number").count() > 50
        broken[number] = page.evaluate(BROKEN)
    page.close()
    assert broken == {number: [] for number in NUMBERS}


def test_nothing_is_asked_for_and_nothing_is_complained_of(browser: Browser, proposal: str) -> None:
    page = browser.new_page()
    asked: list[str] = []
    said: list[str] = []
    page.on("request", lambda request: asked.append(request.url))
    page.on("console", lambda message: said.append(message.text))
    page.on("dialog", lambda dialog: said.append(dialog.message))
    page.goto(proposal)
    assert (asked, said) == ([proposal], [])
    page.close()


@pytest.mark.parametrize("size", ["A4", "Letter"])
def test_no_row_is_broken_across_pages(browser: Browser, proposal: str, size: str) -> None:
    page = browser.new_page()
    page.goto(proposal)
    page.emulate_media(media="print")
    rows = "[...document.querySelectorAll('tr')]"
    assert page.evaluate(f"{rows}.filter(row => getComputedStyle(row).breakInside != 'avoid').length") == 0
    assert page.pdf(format=size)[:5] == b"%PDF-"
    page.close()


def test_paper_is_white_whatever_the_screen_prefers(browser: Browser, proposal: str) -> None:
    page = browser.new_page(color_scheme="dark")
    page.goto(proposal)
    page.emulate_media(media="print")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    page.close()


# Contrast of every text with what is behind it; WCAG 2.2, 1.4.3.
COLOURS = """() => {
  const seen = new Set();
  for (const e of document.body.querySelectorAll('*')) {
    if (![...e.childNodes].some(n => n.nodeType == 3 && n.data.trim())) continue;
    let b = e;
    while (b && getComputedStyle(b).backgroundColor == 'rgba(0, 0, 0, 0)') b = b.parentElement;
    seen.add(getComputedStyle(e).color + '|' + getComputedStyle(b || document.body).backgroundColor);
  }
  return [...seen];
}"""


def colour(text: str) -> str:
    return "#" + "".join(f"{int(part):02x}" for part in re.findall(r"\d+", text)[:3])


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("accent", ["#2f6f5e", "#ffd400", "#101010"])
def test_every_text_can_be_read(browser: Browser, tmp_path: Path, scheme: str, accent: str) -> None:
    path = tmp_path / "proposal.html"
    place = replace(make_quote().place, found=False)
    write_proposal(make_quote(firm=make_firm(accent=accent), place=place), path, TEMPLATES)
    page = browser.new_page(color_scheme="dark" if scheme == "dark" else "light")
    page.goto(address(path))
    pairs = [pair.split("|") for pair in page.evaluate(COLOURS)]
    assert [pair for pair in pairs if contrast(colour(pair[0]), colour(pair[1])) < ENOUGH] == []
    page.close()


def test_the_foot_of_each_page_has_its_commas_and_blanks(browser: Browser, proposal: str) -> None:
    page = browser.new_page()
    page.goto(proposal)
    margins = page.evaluate("[...document.styleSheets[0].cssRules].map(rule => rule.cssText).join()")
    assert "Q-1042 · revision 1 · March 2, 2026" in margins
    page.close()

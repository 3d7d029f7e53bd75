"""The proposal from a printer without colours: every word can be read, and no colour alone tells things apart."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tests.documents.browser import address
from tests.documents.papers import NUMBERS, Builds
from tests.documents.printed import print_paper

if TYPE_CHECKING:
    from playwright.sync_api import Browser, Page

ENOUGH = 4.5  # WCAG 2.2, 1.4.3: contrast of text with what is behind it
DOTS_PER_INCH = 200
every_example = pytest.mark.parametrize("number", NUMBERS)


def _proposal(builds: Builds, number: str) -> Path:
    return next(paper for paper in builds.papers("en", number) if paper.name == "proposal.html")


def _luminance(grey: int) -> float:
    """Relative luminance of a grey of 0 to 255. WCAG 2.2, "relative luminance"."""
    share = grey / 255
    return share / 12.92 if share <= 0.04045 else float(((share + 0.055) / 1.055) ** 2.4)


@pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="pdftoppm (poppler) is not installed")
@every_example
def test_every_printed_word_stands_out_in_shades_of_grey(
    browser: Browser, builds: Builds, tmp_path: Path, number: str
) -> None:
    pdfplumber, images = pytest.importorskip("pdfplumber"), pytest.importorskip("PIL.Image")
    print_paper(browser, _proposal(builds, number), "A4", tmp_path / "proposal.pdf")
    subprocess.run(["pdftoppm", "-gray", "-r", str(DOTS_PER_INCH), str(tmp_path / "proposal.pdf"),
                    str(tmp_path / "page")], check=True)
    faint = []
    with pdfplumber.open(tmp_path / "proposal.pdf") as pdf:
        for page, path in zip(pdf.pages, sorted(tmp_path.glob("page-*.pgm")), strict=True):
            picture = images.open(path)
            faint += [f"page {page.page_number}: '{word['text']}' {contrast:.1f}" for word in page.extract_words()
                      if (contrast := _contrast(picture, word)) < ENOUGH]
    assert faint == []


def _contrast(picture: Any, word: dict[str, Any]) -> float:
    """Of the darkest with the lightest dot in a word's box."""
    dots = DOTS_PER_INCH / 72
    box = tuple(round(word[side] * dots) for side in ("x0", "top", "x1", "bottom"))
    darkest, lightest = picture.crop(box).getextrema()
    return (_luminance(lightest) + 0.05) / (_luminance(darkest) + 0.05)


@pytest.fixture
def paper(browser: Browser, builds: Builds, request: pytest.FixtureRequest) -> Iterator[Page]:
    """A proposal as it is printed."""
    page = browser.new_page()
    page.goto(address(_proposal(builds, request.param)))
    page.emulate_media(media="print")
    yield page
    page.close()


every_paper = pytest.mark.parametrize("paper", NUMBERS, indirect=True)


@every_paper
def test_a_row_that_differs_has_a_bar_and_one_that_does_not_has_none(paper: Page) -> None:
    bars = "rows => rows.map(row => parseFloat(getComputedStyle(row.cells[0]).borderInlineStartWidth))"
    assert min(paper.eval_on_selector_all("tr.differs", bars)) >= 2
    assert set(paper.eval_on_selector_all("tr.same", bars)) <= {0}


@every_paper
def test_the_recommended_option_is_told_in_words(paper: Page) -> None:
    assert paper.eval_on_selector_all(".card", "cards => cards.map(card => card.matches('.pick') == "
                                               "card.innerText.includes('We recommend this one'))") == [True] * 3


@every_paper
def test_what_a_room_gets_now_later_or_never_is_told_in_words(paper: Page) -> None:
    said = {state: set(paper.eval_on_selector_all(f"td.{state}", "cells => cells.map(cell => cell.innerText.trim())"))
            for state in ("live", "wired-only", "out")}
    assert all("" not in words for words in said.values())
    assert said["live"].isdisjoint(said["wired-only"] | said["out"]) and said["wired-only"].isdisjoint(said["out"])
    assert said["live"] and said["wired-only"] | said["out"]


@every_paper
def test_a_sum_has_a_rule_above_it(paper: Page) -> None:
    rules = "rows => rows.map(row => parseFloat(getComputedStyle(row.cells[0]).borderTopWidth))"
    assert min(paper.eval_on_selector_all("tr.total", rules)) >= 1


@every_paper
def test_a_link_is_underlined(paper: Page) -> None:
    lines = "links => links.map(link => getComputedStyle(link).textDecorationLine)"
    assert set(paper.eval_on_selector_all("main a", lines)) == {"underline"}


@every_example
def test_a_drawing_has_one_colour(builds: Builds, number: str) -> None:
    drawings = re.findall(r"<svg.*?</svg>", _proposal(builds, number).read_text(encoding="utf-8"), re.DOTALL)
    assert drawings
    assert {value for svg in drawings for value in re.findall(r' (?:fill|stroke)="([^"]*)"', svg)} <= {
        "none", "currentColor"}

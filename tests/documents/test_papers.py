"""Every HTML paper of every example, in every language, in a real browser and on paper.

WCAG 2.2 level AA as axe-core tests it, HTML as the Nu HTML checker reads it, PDF as pdfminer and PDFium read it.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from quoting.documents.language import ENGLISH
from tests.documents.markup import markup_faults
from tests.documents.papers import CHANGED, LANGUAGES, NUMBERS, Builds
from tests.documents.printed import SIZES, Size, narrow_cells, page_faults, printed_faults
from tests.documents.screens import DARK_DESK, DESK, PHONE, SCREENS, Screen, screen_faults, zoom_faults

if TYPE_CHECKING:
    from playwright.sync_api import Browser

ON_THEIR_OWN_PAPER = "labels-"  # test_crew_papers.py prints these on it
CREW_SCREENS = (PHONE, DESK)  # the crew's sheets are black on white in the dark too
every_language = pytest.mark.parametrize("language", LANGUAGES)
every_example = pytest.mark.parametrize("number", NUMBERS)


def of_the_crew(paper: Path) -> bool:
    return paper.parent.name == "crew"


def own_size(number: str) -> Size:
    """Of the examples that are not printed on both sizes."""
    return SIZES[int(number) % len(SIZES)]


PRINTS = [(size, number, language) for size in SIZES for number in NUMBERS for language in LANGUAGES
          if number == CHANGED or language == ENGLISH or size == own_size(number)]


def printed_here(paper: Path, number: str, size: Size) -> bool:
    """The crew's sheets are many: those of one example on both sizes, of the others on one."""
    on_it = not of_the_crew(paper) or number == CHANGED or size == own_size(number)
    return on_it and not paper.name.startswith(ON_THEIR_OWN_PAPER)


@every_language
@every_example
def test_a_paper_can_be_read_by_everybody_on_phone_and_desk_and_asks_for_nothing(
    browser: Browser, builds: Builds, language: str, number: str
) -> None:
    papers = builds.papers(language, number)
    assert {paper.name: faults for paper in papers
            if (faults := screen_faults(browser, paper, CREW_SCREENS if of_the_crew(paper) else SCREENS,
                                        rules=_rules_on(paper, number, language)))} == {}


def _rules_on(paper: Path, number: str, language: str) -> tuple[Screen, ...]:
    """Where accessibility rules are asked, which takes most of the time: of one example's crew on a phone too, of
    papers in another language in one scheme of colours a window, for all languages share both."""
    if of_the_crew(paper) and number != CHANGED:
        return (DESK,)
    return SCREENS if language == ENGLISH else (PHONE, DARK_DESK)


@every_language
@every_example
def test_nothing_is_lost_at_200_percent(browser: Browser, builds: Builds, language: str, number: str) -> None:
    papers = builds.papers(language, number)
    assert {paper.name: faults for paper in papers if (faults := zoom_faults(browser, paper))} == {}


@pytest.mark.parametrize(("size", "number", "language"), PRINTS)
def test_a_print_is_tagged_and_cuts_nothing_off(
    browser: Browser, builds: Builds, tmp_path: Path, language: str, number: str, size: Size
) -> None:
    papers = [paper for paper in builds.papers(language, number) if printed_here(paper, number, size)]
    assert {paper.name: faults for paper in papers
            if (faults := printed_faults(browser, paper, size, tmp_path / f"{paper.stem}.pdf"))} == {}
    (proposal,) = (paper for paper in papers if paper.name == "proposal.html")
    assert page_faults(tmp_path / "proposal.pdf", _running_head(proposal)) == []


def _running_head(proposal: Path) -> re.Pattern[str]:
    """Firm, number, revision and date, as the end of the page has them."""
    (foot,) = re.findall(r'<footer class="end">\s*<p>(.*?)</p>', proposal.read_text(encoding="utf-8"), re.DOTALL)
    firm, paper, date = foot.split(" · ")
    number, revision = re.findall(r"[A-Z]-\d+|\d+", paper)
    return re.compile(rf"{re.escape(firm)} · {number} · \S+ {revision} · {re.escape(date)}")


@every_example
def test_what_is_filled_in_by_hand_has_room_for_a_name(browser: Browser, builds: Builds, number: str) -> None:
    papers = [paper for paper in builds.papers("en", number) if paper.name.startswith(("crew-", "pick-", "buying-"))]
    assert len(papers) == 3
    assert {paper.name: found for paper in papers if (found := narrow_cells(browser, paper))} == {}


def test_the_nu_html_checker_finds_nothing(builds: Builds) -> None:
    assert markup_faults(paper for language in LANGUAGES for number in NUMBERS
                         for paper in builds.papers(language, number)) == []

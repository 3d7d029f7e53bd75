"""The proposal in other languages: nothing is left in English, numbers follow the locale, right to left holds."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from babel.dates import get_month_names
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.catalog.spoken import customer_texts
from quoting.catalog.texts import Wording, WordingRow
from quoting.documents.floor_plan import CLOSET
from quoting.documents.language import program_phrases
from quoting.documents.proposal import render_proposal
from quoting.pipeline import quote_job, read_all
from quoting.problems import Cell
from quoting.quote import Quote
from quoting.rules.book import RuleBook
from tests.builders import make_firm, make_job, make_quote, make_terms
from tests.conftest import DEMO, EXAMPLES, PRICED_ON
from tests.documents.browser import Page, address

if TYPE_CHECKING:
    from playwright.sync_api import Browser

TEMPLATES = Path(__file__).resolve().parents[2] / "templates"
FIRST, SECOND, THIRD = sorted(EXAMPLES.glob("*.xlsx"))
OPEN, SHUT = "⟦", "⟧"
TEXT_ATTRIBUTES = ("title", "alt", "aria-label", "aria-description", "placeholder", "label", "summary")
OF_THE_LOCALE = {  # CLDR: short units, what joins the last of a list, the months of a timeline
    "ft", "in", "cm", "m", "hr", "and",
    *(name for width in ("wide", "abbreviated") for name in get_month_names(width, locale="en_US").values()),
}


def quoted(workbook: Path, catalog: Catalog, book: RuleBook, **terms: Any) -> Quote:
    """An example in another language, or with another detail."""
    job = read_all(workbook, DEMO, None, PRICED_ON).job
    assert job is not None
    quote, problems = quote_job(replace(job, terms=replace(job.terms, **terms)), catalog, book, PRICED_ON)
    assert quote is not None, "\n".join(map(str, problems))
    return quote


def wording(language: str, texts: dict[str, str]) -> Wording:
    here = Cell("wording.csv", "", "A2")
    return Wording(languages=(language,), rows={
        phrase: WordingRow(phrase=phrase, texts={language: text}, where=here, cells={language: here})
        for phrase, text in texts.items()})


def marked(text: str) -> str:
    """Every text in brackets; an option's title on both sides of its colon, where it is cut."""
    title, colon, rest = text.partition(": ")
    return f"{OPEN}{title}{SHUT}: {OPEN}{rest}{SHUT}" if colon and "%" not in text else f"{OPEN}{text}{SHUT}"


# ---------------------------------------------------------------- every text is one that can be translated

@pytest.fixture(scope="module", params=[(FIRST, "itemised"), (SECOND, "by room and category"), (THIRD, "by room")],
                ids=lambda param: param[0].name[0])
def bracketed(request: pytest.FixtureRequest, demo: Catalog, book: RuleBook) -> tuple[Quote, str]:
    """An example whose program phrases and catalogue texts all stand in brackets, and its page."""
    workbook, detail = request.param
    texts = {phrase: marked(phrase) for phrase in (*program_phrases(), *(text for text, _ in customer_texts(demo)))}
    quote = quoted(workbook, replace(demo, wording=wording("en", texts)), book, locale="en_US", detail=detail)
    return quote, render_proposal(quote, TEMPLATES)


def typed(quote: Quote) -> Iterator[str]:
    """What people typed: names, addresses, numbers."""
    job, firm = quote.job, quote.firm
    yield from (firm.name, firm.address, firm.phone, firm.email, firm.licence, job.client.name, job.client.site,
                job.head_end.place, job.terms.quote_number, job.terms.supersedes, quote.place.place)
    yield from (row["name"] for option in quote.options for rows in option.facts.values() for row in rows
                if "name" in row)
    yield from (room.name for room in job.rooms)
    yield from (room.code for room in job.rooms)
    yield CLOSET  # stands for a room's code
    yield from (word for room in job.rooms for word in room.name.split())  # a drawing folds long names


def outside(text: str, quote: Quote) -> list[str]:
    """Words that stand in no bracket and that nobody typed; months are the locale's."""
    for name in sorted(set(typed(quote)), key=len, reverse=True):
        text = text.replace(name, " ") if name else text
    depth, kept = 0, []
    for letter in text:
        depth += (letter == OPEN) - (letter == SHUT)
        kept.append(" " if depth or letter == SHUT else letter)
    assert depth == 0, "a bracket was cut off"
    words = re.findall(r"[^\W\d_]{2,}", re.sub(r"[A-Z][a-z]+ \d{1,2}, \d{4}", " ", "".join(kept)))
    return [word for word in words if word not in OF_THE_LOCALE]


def test_every_text_of_the_page_can_be_translated(bracketed: tuple[Quote, str]) -> None:
    quote, html = bracketed
    assert outside(Page(html).text, quote) == []


def test_the_title_can_be_translated(bracketed: tuple[Quote, str]) -> None:
    quote, html = bracketed
    assert outside(html.partition("<title>")[2].partition("</title>")[0], quote) == []


def test_every_text_of_an_attribute_can_be_translated(bracketed: tuple[Quote, str]) -> None:
    quote, html = bracketed
    texts = [value or "" for tag, attrs in Page(html).elements for name, value in attrs.items()
             if name in TEXT_ATTRIBUTES or name == "data-option" or (tag == "meta" and attrs.get("name") ==
                                                                        "description" and name == "content")]
    assert [text for text in dict.fromkeys(texts) if outside(text, quote)] == []


def test_every_text_of_the_style_can_be_translated(bracketed: tuple[Quote, str]) -> None:
    quote, html = bracketed
    style = re.sub(r"\\([0-9a-f]+) ", lambda code: chr(int(code[1], 16)), html.partition("<style>")[2].partition(
        "</style>")[0])
    texts = [text for said in re.findall(r"(?:content|--(?!text|title)[\w-]+):([^;}]*)", style)
             for text in re.findall(r'"([^"]*)"', said)]
    assert texts
    assert [text for text in texts if outside(text, quote)] == []


# ---------------------------------------------------------------- Spanish, French, German

@pytest.fixture(scope="module", params=["es_ES", "fr_FR", "de_DE"])
def spoken(request: pytest.FixtureRequest, demo: Catalog, book: RuleBook) -> tuple[str, Quote, str]:
    """The second example in a language, its prices item by item."""
    quote = quoted(SECOND, demo, book, locale=request.param, detail="itemised")
    return request.param[:2], quote, render_proposal(quote, TEMPLATES)


def test_the_page_says_its_language(spoken: tuple[str, Quote, str]) -> None:
    code, _, html = spoken
    assert f'<html lang="{code}" dir="ltr">' in html


def test_no_text_of_the_catalogue_is_left_in_english(spoken: tuple[str, Quote, str], demo: Catalog) -> None:
    text = Page(spoken[2]).text
    assert [said for said, _ in customer_texts(demo) if len(said) > 20 and said in text] == []


def test_no_sentence_of_the_program_is_left_in_english(spoken: tuple[str, Quote, str]) -> None:
    text = Page(spoken[2]).text
    assert [said for said in program_phrases() if len(said) > 20 and "%" not in said and said in text] == []


def test_no_place_of_a_sentence_is_left_unfilled(spoken: tuple[str, Quote, str]) -> None:
    assert "%(" not in spoken[2]


def test_nothing_was_missed_in_the_jobs_language(spoken: tuple[str, Quote, str]) -> None:
    assert {problem.code for problem in spoken[1].problems} & {"not-translated", "language-missing"} == set()


def test_a_language_that_the_catalogue_lacks_is_told_of(demo: Catalog, book: RuleBook) -> None:
    quote = quoted(FIRST, demo, book, locale="it_IT")
    assert [problem.message for problem in quote.problems if problem.code == "language-missing"] == [
        "The catalogue's wording.csv has no column 'it': its texts stand in the customer's papers in English."]


def test_a_language_that_nobody_speaks_gives_english_with_the_locales_numbers(demo: Catalog, book: RuleBook) -> None:
    quote = quoted(FIRST, demo, book, locale="it_IT")
    html = render_proposal(quote, TEMPLATES)
    assert ('<html lang="en"' in html, re.search(r"\d\.\d{3},\d\d", html) is not None) == (True, True)


def test_a_firms_phrase_stands_in_its_papers(demo: Catalog, book: RuleBook) -> None:
    catalog = replace(demo, wording=wording("en", {"Acceptance": "Agreement & <order>"}))
    html = render_proposal(quoted(FIRST, catalog, book), TEMPLATES)
    assert "Agreement &amp; &lt;order&gt;" in html


# ---------------------------------------------------------------- right to left

def hebrew() -> str:
    quote = make_quote(job=make_job(terms=make_terms(locale="he_IL")),
                       firm=make_firm(wording={"he": {"The price": "המחיר"}}))
    return render_proposal(quote, TEMPLATES)


def test_a_page_in_a_right_to_left_language_runs_right_to_left() -> None:
    html = hebrew()
    assert ('<html lang="he" dir="rtl">' in html, "המחיר" in html) == (True, True)


@pytest.mark.parametrize("width", [360, 1280])
def test_a_right_to_left_page_does_not_scroll_sideways(browser: Browser, tmp_path: Path, width: int) -> None:
    (tmp_path / "proposal.html").write_text(hebrew(), encoding="utf-8")
    page = browser.new_page(viewport={"width": width, "height": 800})
    page.goto(address(tmp_path / "proposal.html"))
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.close()


def test_a_right_to_left_table_begins_on_the_right(browser: Browser, tmp_path: Path) -> None:
    (tmp_path / "proposal.html").write_text(hebrew(), encoding="utf-8")
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    page.goto(address(tmp_path / "proposal.html"))
    lefts = page.evaluate("[...document.querySelector('thead tr').cells].map(cell => cell.getBoundingClientRect().x)")
    assert lefts == sorted(lefts, reverse=True)
    page.close()


def test_a_name_in_latin_letters_stands_below_its_heading_on_a_right_to_left_page(
    browser: Browser, tmp_path: Path
) -> None:
    (tmp_path / "proposal.html").write_text(hebrew(), encoding="utf-8")
    page = browser.new_page(viewport={"width": 1280, "height": 800})
    page.goto(address(tmp_path / "proposal.html"))
    aligned = "[...document.querySelectorAll('[dir=auto]')].map(name => getComputedStyle(name).textAlign)"
    assert set(page.evaluate(aligned)) <= {"right", "end", "-webkit-right"}
    page.close()


# CSS Logical Properties and Values: sides are named by the direction of the text.
@pytest.mark.parametrize("sheet", sorted(TEMPLATES.glob("*.css")), ids=lambda path: path.name)
def test_no_side_is_named_left_or_right(sheet: Path) -> None:
    rules = re.sub(r"/\*.*?\*/|@(top|bottom)-(left|right)\b", "", sheet.read_text(encoding="utf-8"), flags=re.DOTALL)
    assert re.findall(r"(?<![\w-])[\w-]*\b(?:left|right)\b[\w-]*", rules) == []


@pytest.mark.parametrize("sheet", sorted(TEMPLATES.glob("*.css")), ids=lambda path: path.name)
def test_no_shorthand_gives_left_and_right_different_sizes(sheet: Path) -> None:
    given = re.findall(r"(?:margin|padding|inset|border-width|border-radius): ([^;{}]+);", sheet.read_text("utf-8"))
    assert [sides for sides in given if len(sides.split()) == 4 and sides.split()[1] != sides.split()[3]] == []

"""wording.csv: read and checked, and the catalogue as a customer reads it."""

from __future__ import annotations

from pathlib import Path

import pytest
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.catalog.spoken import check_wording, customer_texts, missing_texts, spoken_in
from quoting.problems import Cell, Problem
from quoting.rules.book import RuleBook
from tests.builders import make_room, make_terms
from tests.conftest import PRICED_ON
from tests.demo_jobs import house
from tests.rules.small_catalog import read_small


def small(tmp_path: Path, text: str) -> tuple[Catalog, tuple[Problem, ...]]:
    catalog, problems = read_small(tmp_path, {"wording.csv": text})
    assert catalog is not None
    return catalog, tuple(problem for problem in problems if problem.where.file == "wording.csv")


# ---------------------------------------------------------------- reading

@pytest.mark.parametrize(("text", "code", "ref"), [
    ("phrase,es\nOne year.,Un año.\nOne year.,Otro año.\n", "row-twice", "A3"),
    ("phrase,es\n,Un año.\n", "missing-value", "A2"),
    ("phrase,Spanish\nOne year.,Un año.\n", "not-a-language", "A1"),
    ("phrase,es\nuntil %(date)s.,hasta %(fecha)s.\n", "other-places", "B2"),
    ("phrase,es\nOne year.,=A1\n", "formula-cell", "B2"),
    ("words,es\nOne year.,Un año.\n", "missing-column", "A1"),
])
def test_a_slip_in_the_table_is_told_with_its_cell(tmp_path: Path, text: str, code: str, ref: str) -> None:
    _, problems = small(tmp_path, text)
    assert (code, ref) in [(problem.code, problem.where.ref) for problem in problems]


def test_a_catalogue_may_do_without_the_table(tmp_path: Path) -> None:
    catalog, _ = read_small(tmp_path, {"wording.csv": ""})
    assert catalog is not None
    assert catalog.wording.languages == ()


# ---------------------------------------------------------------- a job's language

WORDS = ("phrase,es,es_MX,en,note\nOne year.,Un año.,,Twelve months.,\nThank you.,Gracias.,Muchas gracias.,,\n"
         "Terms,,,Small print,\n")


@pytest.mark.parametrize(("locale", "warranty", "letter"), [
    ("es_ES", "Un año.", "Gracias."), ("es_MX", "Un año.", "Muchas gracias."),
    ("en_GB", "Twelve months.", "Thank you."), ("sv_SE", "Twelve months.", "Thank you."),
])
def test_a_text_is_said_in_the_jobs_language(tmp_path: Path, locale: str, warranty: str, letter: str) -> None:
    firm = spoken_in(small(tmp_path, WORDS)[0], locale).firm.firm
    assert (firm.warranty, firm.letter) == (warranty, letter)


def test_a_firm_takes_its_own_wording_of_the_programs_phrases_along(tmp_path: Path) -> None:
    assert spoken_in(small(tmp_path, WORDS)[0], "en_US").firm.firm.wording == {"en": {"Terms": "Small print"}}


def test_without_a_table_the_catalogue_stays_as_it_is(tmp_path: Path) -> None:
    catalog, _ = read_small(tmp_path, {"wording.csv": ""})
    assert catalog is not None
    assert spoken_in(catalog, "de_DE") is catalog


def test_no_text_of_the_demo_catalogue_is_left_in_english(demo: Catalog) -> None:
    english = {text for text, _ in customer_texts(demo)}
    left = {code: english & {text for text, _ in customer_texts(spoken_in(demo, code))} for code in ("es", "fr", "de")}
    same_word = {"es": {"cable"}, "fr": {"services"}, "de": set()}  # words that both languages have
    assert {code: left[code] - same_word[code] for code in left} == {"es": set(), "fr": set(), "de": set()}


def test_a_price_does_not_depend_on_the_language(demo: Catalog, book: RuleBook) -> None:
    from quoting.pipeline import quote_job

    totals = []
    for locale in ("en_US", "fr_FR"):
        quote, _ = quote_job(house(make_room("KIT", name="Kitchen"), terms=make_terms(
            tax_place="Northmark", locale=locale)), demo, book, PRICED_ON)
        assert quote is not None
        totals.append([option.totals.total for option in quote.options])
    assert totals[0] == totals[1]


# ---------------------------------------------------------------- what is missing

def found(catalog: Catalog, *program: str) -> list[Problem]:
    return list(check_wording(catalog, program, ("en", "es")))


def test_a_text_without_a_row_is_told_with_its_own_cell(tmp_path: Path) -> None:
    catalog, _ = small(tmp_path, "phrase,es\n")
    assert [problem.where for problem in found(catalog) if "One year." in problem.message] == [
        Cell("firm.csv", "", "B8")]


def test_a_text_without_a_translation_is_told_with_the_empty_cell(tmp_path: Path) -> None:
    catalog, _ = small(tmp_path, "phrase,note,es\nOne year.,,\n")
    assert [problem.where for problem in found(catalog) if "One year." in problem.message] == [
        Cell("wording.csv", "", "C2")]


def test_a_row_that_nothing_says_is_told_of(tmp_path: Path) -> None:
    catalog, _ = small(tmp_path, "phrase,es\nTwo years.,Dos años.\nTerms,Condiciones\n")
    assert [problem.where.ref for problem in found(catalog, "Terms") if problem.code == "unknown-phrase"] == ["A2"]


def test_a_language_of_a_firms_own_lacks_the_programs_phrases(tmp_path: Path) -> None:
    catalog, _ = small(tmp_path, "phrase,es,it\nTerms,,Condizioni\n")
    assert ["2 of its phrases have no text" in problem.message for problem in found(
        catalog, "Terms", "Total", "Labour") if problem.code == "phrases-missing"] == [True]


def test_the_demo_catalogue_misses_nothing(demo: Catalog) -> None:
    from quoting.documents.language import program_phrases, spoken_languages

    assert list(check_wording(demo, program_phrases(), spoken_languages())) == []


@pytest.mark.parametrize(("locale", "told"), [("en_GB", []), ("de_AT", []), ("it_IT", ["language-missing"])])
def test_a_job_whose_language_the_table_lacks_is_told_of(demo: Catalog, locale: str, told: list[str]) -> None:
    assert [problem.code for problem in missing_texts(demo, locale, Cell("job.xlsx", "Job", "B9"))] == told


def test_a_job_is_told_once_of_all_texts_that_stay_english(demo: Catalog) -> None:
    rows = {phrase: row for phrase, row in demo.wording.rows.items() if phrase not in ("cable", "Deposit")}
    catalog = replace(demo, wording=replace(demo.wording, rows=rows))
    told = list(missing_texts(catalog, "de_DE", Cell("job.xlsx", "Job", "B9")))
    assert [problem.message.partition(" ")[0] for problem in told] == ["2"]

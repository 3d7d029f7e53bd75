"""Houses drawn at random from the form's own columns go through every stage: a quote or a stop, never an exception."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from quoting.catalog.records import Catalog
from quoting.cli import main
from quoting.documents.quote_file import decode_quote, encode_quote
from quoting.intake.read import read_job
from quoting.pipeline import quote_job
from quoting.problems import Problem, has_stop
from quoting.quote import Quote
from quoting.rules.book import RuleBook
from tests.conftest import PRICED_ON
from tests.problems.forms import save
from tests.random_houses import random_house

HOUSES = 25
BUILT = 5  # of them, with every document
Outcome = tuple[Quote | None, tuple[Problem, ...]]


@pytest.fixture(scope="module")
def outcomes(demo: Catalog, book: RuleBook, tmp_path_factory: pytest.TempPathFactory) -> list[Outcome]:
    """Each house's quote (None where something stopped it) and what was said of it."""
    folder = tmp_path_factory.mktemp("houses")
    found: list[Outcome] = []
    for seed in range(HOUSES):
        job, problems = read_job(save(folder / f"{seed}.xlsx", demo, *random_house(seed, demo)), demo)
        stopped = job is None or has_stop(problems)
        found.append((None, problems) if stopped else quote_job(job, demo, book, PRICED_ON, problems))  # type: ignore[arg-type]
    return found


def test_a_house_without_a_quote_has_a_stop(outcomes: list[Outcome]) -> None:
    assert [seed for seed, (quote, problems) in enumerate(outcomes) if (quote is None) != has_stop(problems)] == []


def test_more_than_half_of_the_houses_are_quoted(outcomes: list[Outcome]) -> None:
    assert sum(quote is not None for quote, _ in outcomes) > HOUSES / 2  # else the houses try too little


def test_whatever_is_wrong_is_said_with_its_cell_in_whole_sentences(outcomes: list[Outcome]) -> None:
    said = [problem for _, problems in outcomes for problem in problems]
    whole = [problem for problem in said
             if problem.where.file and re.search(r"[.?!]$", problem.message) and problem.remedy.endswith(".")]
    assert [str(problem) for problem in said if problem not in whole] == []


def test_no_slip_is_said_twice(outcomes: list[Outcome]) -> None:
    for _, problems in outcomes:
        assert len(set(problems)) == len(problems)


def test_every_quote_comes_back_from_its_file_the_same(outcomes: list[Outcome]) -> None:
    quotes = [quote for quote, _ in outcomes if quote is not None]
    assert [number for number, quote in enumerate(quotes) if decode_quote(encode_quote(quote)) != quote] == []


def test_houses_are_built_or_stopped_by_the_command(
    demo: Catalog, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for seed in range(BUILT):
        house = save(tmp_path / f"{seed}.xlsx", demo, *random_house(seed, demo))
        status = main(["build", str(house), "--out", str(tmp_path / str(seed))])
        assert (tmp_path / str(seed) / "quote.json").exists() == (status == 0)
    assert "Traceback" not in "".join(capsys.readouterr())

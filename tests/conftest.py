"""What many tests share: the demo catalogue, read once."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest
from hypothesis import settings

from quoting.catalog.read import read_catalog
from quoting.catalog.records import Catalog
from quoting.pipeline import quote_workbook
from quoting.problems import has_stop
from quoting.quote import Quote
from quoting.rules.book import RuleBook
from quoting.rules.read import read_rules

ROOT = Path(__file__).resolve().parents[1]
DEMO = ROOT / "catalogs" / "demo"
EXAMPLES = ROOT / "examples"
PRICED_ON = datetime.date(2026, 9, 21)

settings.register_profile("no deadline", deadline=None)  # a busy machine is slow; that is no finding
settings.load_profile("no deadline")


@pytest.fixture(scope="session")
def demo() -> Catalog:
    """The demo catalogue as of the examples' days."""
    catalog, problems = read_catalog(DEMO, PRICED_ON)
    assert catalog is not None, "\n".join(str(problem) for problem in problems)
    return catalog


@pytest.fixture(scope="session")
def book(demo: Catalog) -> RuleBook:
    """The demo rules."""
    rules, problems = read_rules(DEMO, demo)
    assert not has_stop(problems), "\n".join(str(problem) for problem in problems)
    return rules


@pytest.fixture(scope="session")
def quotes() -> dict[str, Quote]:
    """Each example quoted on its own quote date, by the example's number."""
    made = {}
    for workbook in sorted(EXAMPLES.glob("*.xlsx")):
        quote, problems = quote_workbook(workbook, DEMO, None, PRICED_ON)
        assert quote is not None, "\n".join(str(problem) for problem in problems)
        made[workbook.name[0]] = quote
    return made

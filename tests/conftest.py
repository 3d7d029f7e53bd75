"""What many tests share: the demo catalogue, read once."""

from __future__ import annotations

import datetime
from pathlib import Path

import pytest

from quoting.catalog.read import read_catalog
from quoting.catalog.records import Catalog

ROOT = Path(__file__).resolve().parents[1]
DEMO = ROOT / "catalogs" / "demo"
PRICED_ON = datetime.date(2026, 9, 21)


@pytest.fixture(scope="session")
def demo() -> Catalog:
    """The demo catalogue as of the examples' days."""
    catalog, problems = read_catalog(DEMO, PRICED_ON)
    assert catalog is not None, "\n".join(str(problem) for problem in problems)
    return catalog

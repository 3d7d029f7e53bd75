"""What tests of documents share: one browser and one set of papers a session."""

from __future__ import annotations

import os
from collections.abc import Iterator
from typing import TYPE_CHECKING

import pytest

from tests.documents.browser import open_browser
from tests.documents.papers import Builds

if TYPE_CHECKING:
    from playwright.sync_api import Browser


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with open_browser() as found:
        yield found


@pytest.fixture(scope="session")
def builds(tmp_path_factory: pytest.TempPathFactory) -> Builds:
    base = tmp_path_factory.getbasetemp()
    folder = (base.parent if "PYTEST_XDIST_WORKER" in os.environ else base) / "builds"
    folder.mkdir(exist_ok=True)
    return Builds(folder)

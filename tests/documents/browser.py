"""A real browser for document tests, where Chromium and playwright are installed; else the test is skipped."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")


@contextmanager
def open_browser() -> Iterator[Browser]:
    """Chromium, headless. Nothing is fetched: every request that is not for a file is refused by the tests' pages."""
    playwright = pytest.importorskip("playwright.sync_api")
    program = next((found for found in map(shutil.which, NAMES) if found), None)
    if program is None:
        pytest.skip("Chromium is not installed")
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=program, args=["--no-sandbox"])
        try:
            yield browser
        finally:
            browser.close()


def address(path: Path) -> str:
    """The file's own address."""
    return path.resolve().as_uri()

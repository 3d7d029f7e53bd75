"""What a reader sees of a page: a real browser where Chromium is installed (else the test is skipped), and a parser."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from html.parser import HTMLParser
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from playwright.sync_api import Browser

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")


def chromium() -> str | None:
    """Where Chromium is installed."""
    return next((found for found in map(shutil.which, NAMES) if found), None)


@contextmanager
def open_browser() -> Iterator[Browser]:
    """Chromium, headless."""
    playwright = pytest.importorskip("playwright.sync_api")
    program = chromium()
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


# ---------------------------------------------------------------- what a parser sees of a page

@dataclass
class Table:
    """A table: its caption, and its rows as the texts of their cells."""

    caption: str = ""
    rows: list[list[str]] = field(default_factory=list)


class Page(HTMLParser):
    """The text of a page, its tables, and every element with its attributes."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.comments: list[str] = []
        self.title = ""
        self.tables: list[Table] = []
        self._open: list[str] = []
        self._texts: list[str] = []
        self.feed(html)
        self.close()

    @property
    def text(self) -> str:
        """Everything that a reader reads."""
        return "".join(self._texts)

    def table(self, caption: str) -> Table:
        """The table whose caption begins so."""
        return next(table for table in self.tables if table.caption.startswith(caption))

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in ("meta", "link", "br", "wbr", "img", "input"):
            self._open.append(tag)
        if tag == "table":
            self.tables.append(Table())
        elif tag == "tr":
            self.tables[-1].rows.append([])
        elif tag in ("td", "th"):
            self.tables[-1].rows[-1].append("")

    def handle_endtag(self, tag: str) -> None:
        if tag in ("text", "tspan"):
            self._texts.append(" ")  # lines of a drawing's text stand apart
        assert self._open.pop() == tag, f"</{tag}> closes something else"

    def handle_data(self, data: str) -> None:
        if "title" in self._open and "svg" not in self._open:
            self.title += data
        if "style" in self._open or "title" in self._open:
            return
        self._texts.append(data)
        if "caption" in self._open:
            self.tables[-1].caption += data
        elif "td" in self._open or "th" in self._open:
            self.tables[-1].rows[-1][-1] += data

    def handle_comment(self, data: str) -> None:
        self.comments.append(data)

"""README's "Make it yours", done exactly as it stands there: five changes to the catalogue's copy, each in the page."""

from __future__ import annotations

import base64
import csv
import io
import re
import shlex
import shutil
import textwrap
from pathlib import Path

import pytest

from quoting.cli import main
from tests.conftest import EXAMPLES, ROOT
from tests.documents.browser import Page

LOGO = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 8 8"><path d="M0 0h8v8z"/></svg>'


def section() -> str:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    return re.split(r"^## ", text.partition("## Make it yours\n")[2], maxsplit=1, flags=re.MULTILINE)[0]


def fenced(kind: str) -> list[tuple[str, str]]:
    """(what stands after the kind, the text) of the section's fenced blocks of a kind."""
    found = re.findall(rf"^ *```{kind}(?: (\S+))?\n(.*?)^ *```", section(), flags=re.MULTILINE | re.DOTALL)
    return [(name, textwrap.dedent(text)) for name, text in found]


def follow_the_recipe(folder: Path) -> None:
    """Copy the catalogue, change the rows, write the file, as a reader would by hand."""
    copied, source, target = (word for word in shlex.split(fenced("sh")[0][1]) if word != "-r")
    assert (copied, source, target) == ("cp", "catalogs/demo", "catalogs/mine")
    shutil.copytree(ROOT / source, folder / target)
    for name, text in fenced("csv"):
        _change_rows(folder / name, text)
    for name, text in fenced("html"):
        (folder / name).parent.mkdir(parents=True)
        (folder / name).write_text(text, encoding="utf-8")
    (folder / target / "our-logo.svg").write_text(LOGO, encoding="utf-8")


def _change_rows(path: Path, text: str) -> None:
    """The rows take the place of those with the same first cell, or join the end; a new heading is a new column."""
    with path.open(encoding="utf-8", newline="") as stream:
        headings, *rows = list(csv.reader(stream))
    changes = list(csv.DictReader(io.StringIO(text)))
    headings += [heading for heading in changes[0] if heading not in headings]
    by_key = {row[0]: [*row, *[""] * (len(headings) - len(row))] for row in rows if row}
    for change in changes:
        row = by_key.setdefault(change[headings[0]], [""] * len(headings))
        for heading, value in change.items():
            row[headings.index(heading)] = value
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows([headings, *by_key.values()])


@pytest.fixture(scope="module")
def html(tmp_path_factory: pytest.TempPathFactory) -> str:
    """The page of the first example in the changed catalogue."""
    folder = tmp_path_factory.mktemp("yours")
    follow_the_recipe(folder)
    checked = main(["rules", "check", str(folder / "catalogs" / "mine")])
    built = main(["build", str(next(EXAMPLES.glob("1-*.xlsx"))), "--catalog", str(folder / "catalogs" / "mine"),
                  "--out", str(folder / "out-mine")])
    assert (checked, built) == (0, 0)
    return (folder / "out-mine" / "customer" / "proposal.html").read_text(encoding="utf-8")


def test_the_pages_picture_is_our_logo(html: str) -> None:
    (address,) = [attrs["src"] for tag, attrs in Page(html).elements if tag == "img"]
    assert base64.b64decode((address or "").partition(",")[2]).decode() == LOGO


def test_the_pages_colour_is_ours(html: str) -> None:
    assert "--accent: #7a3b12;" in html


@pytest.mark.parametrize("words", [
    "Our own first paragraph.", "Our own second paragraph.", "Our advice to you",
    "Plumbline Music Rooms brings two vans; please keep the drive free.",
])
def test_the_page_says_it_our_way(html: str, words: str) -> None:
    assert words in Page(html).text


@pytest.mark.parametrize("words", ["We recommend this one", "We are insured for damage that our work causes"])
def test_what_was_replaced_is_gone(html: str, words: str) -> None:
    assert words not in Page(html).text


def test_what_was_not_touched_stays(html: str) -> None:
    assert "we stand behind our work for one year" in Page(html).text


def test_the_recipes_last_commands_are_those_tried_here() -> None:
    assert [shlex.split(line)[:2] for line in fenced("sh")[1][1].splitlines()] == [
        ["quoting", "rules"], ["quoting", "build"]]

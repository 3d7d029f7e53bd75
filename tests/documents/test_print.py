"""`quoting build --pdf`: a real browser prints a tagged file, or one plain sentence says why there is none."""

from __future__ import annotations

import shutil
import stat
from pathlib import Path
from typing import Any

import pytest

from quoting import cli
from quoting.cli import main
from quoting.documents import print_page
from quoting.documents.print_page import Printer, print_proposal
from quoting.documents.proposal import write_proposal
from tests.builders import make_quote
from tests.conftest import EXAMPLES, ROOT
from tests.documents.browser import Page, chromium
from tests.documents.printed import file_faults

EXAMPLE = next(EXAMPLES.glob("1-*.xlsx"))


@pytest.fixture
def build(tmp_path: Path) -> list[str]:
    return ["build", str(EXAMPLE), "--out", str(tmp_path / "out"), "--pdf"]


def customer(tmp_path: Path) -> list[str]:
    """What is there for the customer to read; the quotations are for programs."""
    return sorted(path.name for path in (tmp_path / "out" / "customer").iterdir() if path.suffix != ".xml")


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The customer's folder of a build with its print."""
    if chromium() is None:
        pytest.skip("Chromium is not installed")
    folder = tmp_path_factory.mktemp("printed")
    assert main(["build", str(EXAMPLE), "--out", str(folder / "out"), "--pdf"]) == 0
    return folder / "out" / "customer"


def test_the_print_is_tagged_named_and_whole(printed: Path) -> None:
    page = Page((printed / "proposal.html").read_text(encoding="utf-8"))
    assert file_faults(printed / "proposal.pdf", [], (page.title, "en")) == []


def test_the_print_is_on_the_paper_of_the_jobs_country(printed: Path) -> None:
    pdfplumber = pytest.importorskip("pdfplumber")
    with pdfplumber.open(printed / "proposal.pdf") as pdf:
        # ANSI Letter: 8.5 by 11 inches, 72 points an inch
        assert {(round(page.width), round(page.height)) for page in pdf.pages} == {(612, 792)}


def test_the_print_is_dated_as_the_quote_is_and_tells_no_folder(printed: Path) -> None:
    content = (printed / "proposal.pdf").read_bytes()
    assert content.count(b"(D:20260907000000") == 2
    assert [word for word in (b"file:", b"scratch", printed.parent.name.encode() + b"/") if word in content] == []


def test_without_a_browser_one_sentence_says_so_and_the_rest_is_there(
    tmp_path: Path, build: list[str], capsys: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(shutil, "which", lambda *_: None)
    assert (main(build), customer(tmp_path)) == (0, ["proposal.html"])
    said = [line for line in capsys.readouterr().out.splitlines() if line.startswith("proposal.pdf")]
    assert said == [
        "proposal.pdf warning no-browser: There is no Chromium, Chrome or Edge on this machine, so the proposal was "
        "not printed to 'proposal.pdf'. Install one, or open 'proposal.html' in any browser and print it."]


def test_without_the_option_nothing_is_printed(
    tmp_path: Path, build: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cli, "BROWSERS", ())
    assert (main(build[:-1]), customer(tmp_path)) == (0, ["proposal.html"])


@pytest.mark.parametrize(("does", "why"), [
    ("exit 3", "it ended with status 3"), ("exit 0", "no such file or directory"),
    ("exec sleep 60", "it took longer than 0.5 seconds"),
])
def test_a_browser_that_does_not_print_is_told_of(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, does: str, why: str
) -> None:
    monkeypatch.setattr(print_page, "PATIENCE_S", 0.5)
    program = tmp_path / "browser"
    program.write_text(f"#!/bin/sh\n{does}\n", encoding="utf-8")
    program.chmod(program.stat().st_mode | stat.S_IXUSR)
    quote, page = make_quote(), tmp_path / "proposal.html"
    write_proposal(quote, page, ROOT / "templates")
    (tmp_path / "scratch").mkdir()
    problems = print_proposal(quote, page, tmp_path / "proposal.pdf", Printer(str(program), (), tmp_path / "scratch"))
    assert [(str(p.where), p.severity, p.message) for p in problems] == [
        ("proposal.pdf", "warning", f"'browser' did not print the proposal: {why}.")]
    assert not (tmp_path / "proposal.pdf").exists()

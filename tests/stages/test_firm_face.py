"""The firm's own face: a logo that runs and fetches nothing, a colour that can be read; each slip with its cell."""

from __future__ import annotations

import base64
import struct
import zlib
from pathlib import Path

import pytest

from quoting.catalog.firm import read_firm
from quoting.catalog.logo import LARGEST_BYTES, read_logo
from quoting.catalog.workbook import from_workbook, to_workbook
from quoting.problems import Cell, Problem
from tests.conftest import DEMO
from tests.rules import small_catalog as small
from tests.rules.small_catalog import write_catalog

HERE = Cell("firm.csv", "", "B8")
SVG = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" viewBox="0 0 8 8">{}</svg>'
PLAIN = SVG.format('<defs><linearGradient id="a"/></defs><path d="M0 0h8v8z" fill="url(#a)"/><use href="#a"/>')


def chunk(kind: bytes, data: bytes) -> bytes:
    """A chunk of a PNG file with its checksum. ISO/IEC 15948, 5.3."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def png(width: int = 1, height: int = 1) -> bytes:
    """A grey picture of 8 bits a pixel."""
    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    rows = zlib.compress(b"\0" * (height * (width + 1)))
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def logo(folder: Path, content: str | bytes, name: str = "logo.svg") -> tuple[str, list[Problem]]:
    problems: list[Problem] = []
    (folder / name).write_bytes(content.encode() if isinstance(content, str) else content)
    return read_logo(folder, name, HERE, problems), problems


@pytest.mark.parametrize(("name", "content", "media"), [
    ("logo.svg", PLAIN.encode(), "image/svg+xml"), ("Logo.PNG", png(), "image/png"),
])
def test_a_logo_is_carried_as_it_is(tmp_path: Path, name: str, content: bytes, media: str) -> None:
    address, problems = logo(tmp_path, content, name)
    head, _, data = address.partition(",")
    assert (head, base64.b64decode(data), problems) == (f"data:{media};base64", content, [])


def test_no_logo_is_no_problem(tmp_path: Path) -> None:
    problems: list[Problem] = []
    assert (read_logo(tmp_path, "", HERE, problems), problems) == ("", [])


@pytest.mark.parametrize(("inside", "code", "says"), [
    ("<script>alert(1)</script>", "logo-script", "'logo.svg' line 1 holds 'script', which a logo may not have."),
    ("<foreignObject/>", "logo-script", "'logo.svg' line 1 holds 'foreignObject', which a logo may not have."),
    ('<path onload="f()"/>', "logo-script", "'logo.svg' line 1 holds 'onload', which a logo may not have."),
    ('<image href="https://invented.example/a.png"/>', "logo-outside", "'https://invented.example/a.png'"),
    ('<use xlink:href="other.svg#a"/>', "logo-outside", "'other.svg#a'"),
    ('<a href="javascript:f()"/>', "logo-outside", "'javascript:f()'"),
    ('<path fill="url(https://invented.example/#a)"/>', "logo-outside", "'url(https://invented.example/#a)'"),
    ('<path style="fill: u\\72l(a.png)"/>', "logo-outside", "'fill: u\\72l(a.png)'"),
    ("<style>@import 'a.css';</style>", "logo-outside", "'@import 'a.css';'"),
    ("<style><![CDATA[path { fill: url( 'a.png') }]]></style>", "logo-outside", "url( 'a.png')"),
    ("<?xml-stylesheet href='a.css'?>", "logo-outside", "'xml-stylesheet'"),
    ("<path>", "logo-damaged", "'logo.svg' line 1 is not well-formed."),
])
def test_a_drawing_that_runs_or_fetches_is_refused(tmp_path: Path, inside: str, code: str, says: str) -> None:
    address, problems = logo(tmp_path, SVG.format(inside))
    assert (address, [(p.where, p.severity, p.code) for p in problems]) == ("", [(HERE, "stop", code)])
    assert says in problems[0].message


@pytest.mark.parametrize("inside", [
    '<image href="data:image/png;base64,iVBORw0KGgo="/>', "<style>path { fill: url(#a) }</style>",
    '<g transform="translate(1 2)"/>', "<metadata><x:y xmlns:x='z'/></metadata>",
])
def test_a_drawing_that_keeps_to_itself_is_taken(tmp_path: Path, inside: str) -> None:
    assert logo(tmp_path, SVG.format(inside))[1] == []


@pytest.mark.parametrize(("content", "name", "code"), [
    ('<!DOCTYPE svg [<!ENTITY a "b">]>' + PLAIN, "logo.svg", "logo-script"),
    ("<html/>", "logo.svg", "logo-damaged"), ("", "logo.svg", "logo-damaged"),
    (SVG.replace(' viewBox="0 0 8 8"', "").format(""), "logo.svg", "logo-size"),
    (png()[:-6], "logo.png", "logo-damaged"), (b"GIF89a", "logo.png", "logo-damaged"),
    (png().replace(b"IDAT", b"IDAX"), "logo.png", "logo-damaged"), (png(5000, 1), "logo.png", "logo-size"),
    (b"GIF89a", "logo.gif", "logo-kind"), (PLAIN + " " * LARGEST_BYTES, "logo.svg", "logo-too-large"),
])
def test_a_file_that_is_no_logo_is_refused(tmp_path: Path, content: str | bytes, name: str, code: str) -> None:
    address, problems = logo(tmp_path, content, name)
    assert (address, [problem.code for problem in problems]) == ("", [code])


@pytest.mark.parametrize(("name", "code"), [
    ("nothing.svg", "logo-missing"), ("../logo.svg", "logo-name"), ("/etc/logo.svg", "logo-name"),
    ("a\\logo.svg", "logo-name"),
])
def test_a_logo_is_a_file_beside_the_table(tmp_path: Path, name: str, code: str) -> None:
    problems: list[Problem] = []
    (tmp_path.parent / "logo.svg").write_text(PLAIN, encoding="utf-8")
    assert (read_logo(tmp_path, name, HERE, problems), [p.code for p in problems]) == ("", [code])


# ---------------------------------------------------------------- in firm.csv

def firm_with(folder: Path, *rows: str) -> tuple[str, list[Problem]]:
    """The accent and the problems of the small catalogue's firm with these rows in place of its own."""
    keys = {row.partition(",")[0] for row in rows}
    kept = [row for row in small.FIRM.splitlines() if row.partition(",")[0] not in keys]
    problems: list[Problem] = []
    settings = read_firm(write_catalog(folder, {"firm.csv": "\n".join([*kept, *rows]) + "\n"}), problems)
    return (settings.firm.accent if settings else ""), problems


def test_a_missing_logo_is_told_with_its_cell(tmp_path: Path) -> None:
    _, problems = firm_with(tmp_path, "logo,nothing.svg")
    line = len([row for row in small.FIRM.splitlines() if not row.startswith("logo,")]) + 1
    assert [str(problem.where) for problem in problems] == [f"firm.csv B{line}"]


def test_a_pale_colour_is_told_with_the_one_that_is_used(tmp_path: Path) -> None:
    accent, problems = firm_with(tmp_path, "accent,#ffd400")
    # WCAG 2.2, definition of contrast ratio, worked by hand: luminance of #ffd400 0.6835, of #f3f1ea 0.8791:
    # (0.8791 + 0.05) / (0.6835 + 0.05) = 1.27
    assert accent == "#ffd400"
    assert [(p.code, p.severity) for p in problems] == [("pale-colour", "warning")]
    assert "its contrast is 1.3 to 1, and 4.5 are needed (WCAG 2.2, 1.4.3)" in problems[0].message


def test_a_dark_colour_is_left_as_it_is(tmp_path: Path) -> None:
    assert firm_with(tmp_path, "accent,#1f5f6b")[1] == []


def test_no_colour_is_no_problem(tmp_path: Path) -> None:
    assert firm_with(tmp_path, "accent,")[1] == []


def test_what_is_no_colour_is_refused(tmp_path: Path) -> None:
    assert [problem.code for problem in firm_with(tmp_path, "accent,teal")[1]] == ["not-a-colour"]


def test_a_workbook_that_comes_back_without_its_logo_says_so(tmp_path: Path) -> None:
    to_workbook(DEMO, tmp_path / "tables.xlsx")
    problems = from_workbook(tmp_path / "tables.xlsx", tmp_path / "mine")
    assert [(str(p.where)[:8], p.severity, p.code) for p in problems] == [("firm.csv", "warning", "logo-missing")]


def test_the_starter_logo_is_read(tmp_path: Path) -> None:
    problems: list[Problem] = []
    settings = read_firm(DEMO, problems)
    assert settings is not None and settings.firm.logo.startswith("data:image/svg+xml;base64,")
    assert [problem.code for problem in problems] == []

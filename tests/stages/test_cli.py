"""The command line: exit status, one sentence a problem, no traceback for anything a person types."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from quoting.cli import main
from tests.conftest import DEMO, EXAMPLES

EXAMPLE = str(next(EXAMPLES.glob("1-*.xlsx")))


def said(capsys: pytest.CaptureFixture[str]) -> str:
    captured = capsys.readouterr()
    return captured.out + captured.err


def test_no_words_show_the_help_and_count_as_a_wrong_command_line(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 2
    assert "COMMAND" in said(capsys)


@pytest.mark.parametrize("words", [
    ["build", EXAMPLE], ["nonsense"], ["build", EXAMPLE, "--out", "x", "--date", "tomorrow"]])
def test_a_wrong_command_line_exits_with_2(words: list[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(words)
    assert ended.value.code == 2


@pytest.mark.parametrize("command", ["blank", "check", "build", "explain", "compare", "rules"])
def test_every_command_has_help(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main([command, "--help"])
    assert ended.value.code == 0
    assert "usage: quoting" in said(capsys)


def test_a_missing_workbook_is_one_sentence_that_names_it_as_it_was_typed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    gone = str(tmp_path / "gone.xlsx")
    assert main(["build", gone, "--out", str(tmp_path / "out")]) == 1
    assert said(capsys).splitlines() == [
        f"gone.xlsx stop missing-file: There is no file '{gone}'. Check the name and the folder."]
    assert not (tmp_path / "out").exists()


def test_a_folder_that_is_no_catalogue_is_one_sentence(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", EXAMPLE, "--catalog", str(tmp_path)]) == 1
    text = said(capsys)
    assert text.count("not-a-catalogue") == len(text.splitlines()) == 1


def test_a_build_writes_the_set_and_names_the_recommended_option(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["build", EXAMPLE, "--out", str(tmp_path / "out")]) == 0
    out = tmp_path / "out"
    names = {path.relative_to(out).as_posix() for path in out.rglob("*.*") if path.is_file()}
    assert {"quote.json", "office/office.xlsx", "customer/proposal.html"} <= names
    assert said(capsys).count("<- recommended") == 1


def test_a_stop_writes_nothing_and_leaves_the_earlier_set(tmp_path: Path) -> None:
    out = tmp_path / "out"
    assert main(["build", EXAMPLE, "--out", str(out)]) == 0
    before = (out / "quote.json").read_bytes()
    broken = tmp_path / "broken.xlsx"
    broken.write_text("no workbook")
    assert main(["build", str(broken), "--out", str(out)]) == 1
    assert (out / "quote.json").read_bytes() == before


def test_foreign_files_are_not_replaced(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "mine.txt").write_text("keep")
    assert main(["build", EXAMPLE, "--out", str(tmp_path)]) == 1
    assert "foreign-files" in said(capsys)
    assert [path.name for path in tmp_path.iterdir()] == ["mine.txt"]


def test_problems_come_as_json_too(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", EXAMPLE, "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert rows and set(rows[0]) == {"file", "sheet", "cell", "severity", "code", "message", "remedy"}


def test_check_lists_the_defaults_it_used(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["check", EXAMPLE]) == 0
    assert "Rooms DROO: Control = keypad (from room kind dining)" in said(capsys)


def test_check_marks_a_copy_and_never_the_original(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    mine = Path(shutil.copy(EXAMPLE, tmp_path / "visit.xlsx"))
    before = mine.read_bytes()
    assert main(["check", str(mine), "--mark", str(tmp_path / "marked.xlsx")]) == 0
    assert mine.read_bytes() == before and (tmp_path / "marked.xlsx").exists()
    assert main(["check", str(mine), "--mark", str(mine)]) == 1
    assert mine.read_bytes() == before
    assert "file-exists" in said(capsys)


def test_blank_never_overwrites(tmp_path: Path) -> None:
    target = tmp_path / "blank.xlsx"
    assert main(["blank", str(target)]) == 0
    before = target.read_bytes()
    assert main(["blank", str(target)]) == 1
    assert target.read_bytes() == before


def test_explain_says_why_and_an_unknown_id_says_so(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["explain", EXAMPLE, "101211"]) == 0
    assert "decided by" in said(capsys)
    assert main(["explain", EXAMPLE, "no-such-id"]) == 1
    assert "unknown-id" in said(capsys)


def test_the_catalogue_goes_to_a_workbook_and_back_unchanged(tmp_path: Path) -> None:
    book, folder = tmp_path / "tables.xlsx", tmp_path / "mine"
    assert main(["rules", "to-workbook", "--out", str(book)]) == 0
    assert main(["rules", "from-workbook", str(book), str(folder)]) == 0
    for path in DEMO.rglob("*.csv"):
        assert (folder / path.relative_to(DEMO)).read_bytes() == path.read_bytes(), path.name


def test_the_demo_tables_pass_their_own_check(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rules", "check"]) == 0
    assert " stop " not in said(capsys)


# ---------------------------------------------------------------- compare

@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("built") / "out"
    assert main(["build", EXAMPLE, "--out", str(out)]) == 0
    return out


def test_a_build_compared_with_its_own_workbook_has_changed_in_nothing(
    built: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["compare", str(built), EXAMPLE, "--out", str(tmp_path / "changed"), "--option", "best"]) == 0
    assert said(capsys).startswith("best: nothing changed.")
    assert "Nothing changed in this option." in (tmp_path / "changed" / "office" / "changes.html").read_text("utf-8")


def revised(folder: Path, **cells: object) -> str:
    """The example as another workbook with cells of the sheet Job typed."""
    book = openpyxl.load_workbook(EXAMPLE)
    for at, value in cells.items():
        book["Job"][at] = value
    path = folder / "revised.xlsx"
    book.save(path)
    return str(path)


@pytest.mark.parametrize(("cells", "order"), [
    ({"B50": 1, "B51": "Q-2031 revision 0"}, True), ({"B42": 5}, False), ({}, False)])
def test_a_change_order_is_written_between_two_revisions_and_never_between_one_and_itself(
    built: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], cells: dict[str, object], order: bool
) -> None:
    new, out = revised(tmp_path, **cells), tmp_path / "changed"
    assert main(["compare", str(built), new, "--out", str(out), "--option", "best"]) == 0
    written = {str(path.relative_to(out)) for path in out.rglob("*.html")}
    assert written == {"office/changes.html", *(["customer/change-order.html"] if order else [])}
    assert said(capsys).count("revision-not-raised") == (cells == {"B42": 5})


def test_the_option_that_was_accepted_is_the_one_that_is_compared(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The interview recommends good; the customer took better."""
    old = str(tmp_path / "old")
    assert main(["build", EXAMPLE, "--out", old, "--accept", "better"]) == 0
    said(capsys)
    assert main(["compare", old, EXAMPLE, "--out", str(tmp_path / "changed")]) == 0
    assert said(capsys).startswith("better: nothing changed.")


@pytest.mark.parametrize("old", ["draft", "workbook"])
def test_where_no_option_was_accepted_the_options_are_named(
    built: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], old: str
) -> None:
    side = str(built) if old == "draft" else EXAMPLE
    assert main(["compare", side, EXAMPLE, "--out", str(tmp_path / "changed")]) == 1
    lines = said(capsys).splitlines()
    assert len(lines) == 1 and " stop option-not-said: " in lines[0] and "Name one of good, better, best" in lines[0]
    assert not (tmp_path / "changed").exists()


def test_a_folder_that_is_not_there_is_named_as_it_was_typed(
    built: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    gone = str(tmp_path / "o" / "9")
    assert main(["compare", gone, str(built), "--out", str(tmp_path / "changed")]) == 1
    assert said(capsys).splitlines() == [f"9 stop missing-file: There is no build's folder and no workbook '{gone}'. "
                                         "Check the name and the folder."]


@pytest.mark.parametrize(("text", "code"), [(None, "no-build"), ("", "damaged-quote"), ("{}", "damaged-quote"),
                                            ('{"schema_version": "x"', "damaged-quote")])
def test_a_folder_without_a_whole_quote_is_one_sentence(
    built: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str | None, code: str
) -> None:
    (tmp_path / "old").mkdir()
    if text is not None:
        (tmp_path / "old" / "quote.json").write_text(text, encoding="utf-8")
    assert main(["compare", str(tmp_path / "old"), str(built), "--out", str(tmp_path / "changed")]) == 1
    lines = said(capsys).splitlines()
    assert len(lines) == 1 and f" stop {code}: " in lines[0]
    assert not (tmp_path / "changed").exists()


@pytest.mark.parametrize("older", [
    lambda quote: quote | {"schema_version": 1},
    lambda quote: quote | {"facts": quote["facts"] | {"cable_run": [{"id": "012345"}]}},
    lambda quote: quote | {"facts": quote["facts"] | {"lantern": [{"id": "L1"}]}},
])
def test_a_quote_of_another_version_is_one_sentence(
    built: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], older: Callable[[dict[str, Any]], dict[str, Any]]
) -> None:
    quote = json.loads((built / "quote.json").read_text(encoding="utf-8"))
    (tmp_path / "old").mkdir()
    (tmp_path / "old" / "quote.json").write_text(json.dumps(older(quote)), encoding="utf-8")
    assert main(["compare", str(tmp_path / "old"), str(built), "--out", str(tmp_path / "changed")]) == 1
    assert said(capsys).splitlines() == [
        "old/quote.json stop other-version: 'old/quote.json' was written by another version of this program. Build the "
        "folder again from its workbook, or name that workbook."]


def test_a_comparison_never_replaces_a_build(built: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["compare", str(built), str(built), "--out", str(built)]) == 1
    assert "holds-a-build" in said(capsys)
    assert (built / "office" / "office.xlsx").exists()

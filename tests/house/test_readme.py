"""README's commands exist, its first two build the first example and run the tests, and its links lead somewhere."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
COMMANDS = ("blank", "check", "build", "explain", "compare", "rules")


def _text(name: str) -> str:
    path = ROOT / name
    return path.read_text(encoding="utf-8") if path.exists() else ""


def _blocks(text: str) -> list[str]:
    """What stands in fenced shell blocks, prompts taken off."""
    found = re.findall(r"^```(?:sh|bash|shell|console)[ \t]*\n(.*?)^```", text, flags=re.MULTILINE | re.DOTALL)
    return [re.sub(r"^\$ ", "", block, flags=re.MULTILINE) for block in found]


def _calls() -> list[list[str]]:
    """Every call of the program in README: the words after `quoting`."""
    lines = [line.split("#")[0] for block in _blocks(_text("README.md")) for line in block.splitlines()]
    parts = [part for line in lines for part in re.split(r"&&|;|\|", line)]
    words = [shlex.split(part) for part in parts if part.strip()]
    return [call[1:] for call in words if call and call[0].rsplit("/", 1)[-1] == "quoting"]


CALLS = _calls()


def _help(*words: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run([sys.executable, "-m", "quoting", *words, "--help"], cwd=ROOT, capture_output=True, text=True,
                          check=False)


def test_readme_shows_calls_of_the_program() -> None:
    assert CALLS


@pytest.mark.parametrize("command", sorted({call[0] for call in CALLS if call} | set(COMMANDS)))
def test_a_command_has_help(command: str) -> None:
    done = _help(command)

    assert (done.returncode, "usage" in done.stdout.lower()) == (0, True), done.stderr


@pytest.mark.parametrize("call", CALLS, ids=" ".join)
def test_a_command_in_readme_uses_options_that_exist(call: list[str]) -> None:
    subcommand = call[:2] if call[0] == "rules" else call[:1]
    known = _help(*subcommand).stdout

    assert [word for word in call if word.startswith("--") and word.split("=")[0] not in known] == []


def test_the_first_command_builds_the_first_example() -> None:
    assert re.search(r"quoting build examples/1-\S*\.xlsx", _blocks(_text("README.md"))[0])


def test_the_second_command_runs_the_tests() -> None:
    assert "pytest" in _blocks(_text("README.md"))[1]


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md"])
def test_files_that_a_page_names_exist(page: str) -> None:
    links = re.findall(r"\]\((?!https?:|#)([^)#]+)", _text(page))
    examples = re.findall(r"examples/[\w.*-]+\.xlsx", _text(page))
    named = {*links, *examples}

    assert [name for name in named if not list(ROOT.glob(name))] == []


@pytest.mark.parametrize("page", ["README.md", "DEVELOPERS.md"])
def test_a_page_exists_and_says_something(page: str) -> None:
    assert len(_text(page).split()) > 200

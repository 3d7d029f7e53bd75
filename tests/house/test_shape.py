"""The size and the face of the source: short modules, short functions, one duty each, said in the first line."""

from __future__ import annotations

import ast
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
MODULES = {str(path.relative_to(ROOT)): path for path in sorted((ROOT / "quoting").rglob("*.py"))}
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "quoting", "templates", "catalogs", "tests", "examples"}
SAYS_NOTHING = {"utils", "util", "helpers", "helper", "base", "manager", "managers", "common", "misc"}
Function = ast.FunctionDef | ast.AsyncFunctionDef


def _tree(module: str) -> ast.Module:
    return ast.parse(MODULES[module].read_text(encoding="utf-8"))


def _functions(module: str) -> Iterator[Function]:
    return (node for node in ast.walk(_tree(module)) if isinstance(node, Function))


@pytest.mark.parametrize("module", MODULES)
def test_a_module_has_at_most_400_lines(module: str) -> None:
    assert len(MODULES[module].read_text(encoding="utf-8").splitlines()) <= 400


@pytest.mark.parametrize("module", MODULES)
def test_a_function_has_at_most_60_lines(module: str) -> None:
    long = {f.name: f.end_lineno - f.lineno + 1 for f in _functions(module) if f.end_lineno}

    assert {name: lines for name, lines in long.items() if lines > 60} == {}


@pytest.mark.parametrize("module", MODULES)
def test_a_module_says_its_duty_in_its_first_line(module: str) -> None:
    first = MODULES[module].read_text(encoding="utf-8").splitlines()[0]

    assert re.match(r'"""\S.{15,}', first), "the first line opens the docstring and says what the module is for"


@pytest.mark.parametrize("module", [name for name in MODULES if not Path(name).name.startswith("_")])
def test_what_a_module_offers_has_a_docstring(module: str) -> None:
    offered = [node for node in _tree(module).body if isinstance(node, (*Function.__args__, ast.ClassDef))]
    silent = [node.name for node in offered if not node.name.startswith("_") and not ast.get_docstring(node)]

    assert silent == []


@pytest.mark.parametrize("module", MODULES)
def test_a_module_is_named_after_its_duty(module: str) -> None:
    assert not SAYS_NOTHING & set(Path(module).with_suffix("").parts)


def _top_level() -> set[str]:
    """What is kept at the top: what git keeps, or in a copy without git what is there and not a build's."""
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    names = {line.split("/")[0] for line in listed.stdout.splitlines()} if listed.returncode == 0 else set()
    return names or {path.name for path in ROOT.iterdir()} - {"out", "build", "dist"}


def test_the_top_level_holds_only_what_the_design_allows() -> None:
    assert {name for name in _top_level() if not name.startswith(".")} <= TOP_LEVEL


def test_examples_are_dated_intake_workbooks_and_nothing_else() -> None:
    names = [path.name for path in (ROOT / "examples").iterdir() if not path.name.startswith(".")]

    assert [name for name in names if not re.fullmatch(r"\d+-.*\d{4}-\d\d-\d\d.*\.xlsx", name)] == []

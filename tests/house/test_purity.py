"""Below the command line there is no clock, no chance and no environment: the same input makes the same bytes."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

QUOTING = Path(__file__).resolve().parents[2] / "quoting"
MODULES = {
    str(path.relative_to(QUOTING)): path for path in sorted(QUOTING.rglob("*.py"))
    if path.name not in ("cli.py", "__main__.py")
}
CLOCKS = {"today", "now", "utcnow", "fromtimestamp", "getenv", "environ", "getuser"}
CHANCE = {"random", "secrets", "uuid", "time", "locale"}


@pytest.mark.parametrize("module", MODULES)
def test_a_module_asks_no_clock_and_no_environment(module: str) -> None:
    tree = ast.parse(MODULES[module].read_text(encoding="utf-8"))
    asked = [f"{node.attr}, line {node.lineno}" for node in ast.walk(tree)
             if isinstance(node, ast.Attribute) and node.attr in CLOCKS]

    assert asked == []


@pytest.mark.parametrize("module", MODULES)
def test_a_module_imports_nothing_that_differs_from_run_to_run(module: str) -> None:
    tree = ast.parse(MODULES[module].read_text(encoding="utf-8"))
    imported = {alias.name for node in ast.walk(tree) if isinstance(node, ast.Import) for alias in node.names}
    imported |= {node.module or "" for node in ast.walk(tree) if isinstance(node, ast.ImportFrom)}

    assert imported & CHANCE == set()

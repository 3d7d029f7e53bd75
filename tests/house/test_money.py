"""Money is Decimal from the first read of a price, and one module rounds it."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
QUOTING = ROOT / "quoting"
MODULES = {str(path.relative_to(QUOTING)): path for path in sorted(QUOTING.rglob("*.py"))}
SOLVERS = {"bill/cutting_solver.py"}  # whole numbers in, whole numbers out; floats are the solver's own
MONEY = [name for name in MODULES
         if (name in ("money.py", "quote.py") or name.startswith(("pricing/", "bill/"))) and name not in SOLVERS]
ROUNDS = {"money.py", "units.py"}  # units.py: the one crossing from float lengths to Decimal quantities


def _nodes(module: str) -> list[ast.AST]:
    return list(ast.walk(ast.parse(MODULES[module].read_text(encoding="utf-8"))))


@pytest.mark.parametrize("module", MONEY)
def test_money_is_never_a_float(module: str) -> None:
    floats = [
        f"line {node.lineno}" for node in _nodes(module)
        if (isinstance(node, ast.Constant) and isinstance(node.value, float))
        or (isinstance(node, ast.Name) and node.id == "float")
    ]

    assert floats == []


@pytest.mark.parametrize("module", MONEY)
def test_money_is_never_rounded_by_round(module: str) -> None:
    rounded = [f"line {node.lineno}" for node in _nodes(module) if isinstance(node, ast.Name) and node.id == "round"]

    assert rounded == []


@pytest.mark.parametrize("module", [name for name in MODULES if name not in ROUNDS])
def test_only_money_and_units_know_how_to_round(module: str) -> None:
    knows = [
        f"line {node.lineno}" for node in _nodes(module)
        if (isinstance(node, ast.Attribute) and node.attr == "quantize")
        or (isinstance(node, ast.Name) and node.id.startswith("ROUND_"))
    ]

    assert knows == []

"""Problem codes are stable words, and what a problem says and asks for are whole sentences."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

QUOTING = Path(__file__).resolve().parents[2] / "quoting"
MODULES = {str(path.relative_to(QUOTING)): path for path in sorted(QUOTING.rglob("*.py"))}


def _problems(module: str) -> Iterator[ast.Call]:
    """Every stop(...) and warning(...) with its four arguments in order."""
    for node in ast.walk(ast.parse(MODULES[module].read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in ("stop", "warning"):
            yield node


def _ending(text: ast.expr) -> str:
    """The last words of a text that the source spells out; a full stop where it comes from elsewhere."""
    last = text.values[-1] if isinstance(text, ast.JoinedStr) and text.values else text
    return str(last.value) if isinstance(last, ast.Constant) else "."


SPEAKING = [module for module in MODULES if any(_problems(module))]


@pytest.mark.parametrize("module", SPEAKING)
def test_a_code_is_words_joined_by_hyphens(module: str) -> None:
    codes = [call.args[1].value for call in _problems(module)
             if len(call.args) > 1 and isinstance(call.args[1], ast.Constant)]

    assert [code for code in codes if not re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", str(code))] == []


@pytest.mark.parametrize("module", SPEAKING)
def test_a_problem_is_said_and_remedied_in_whole_sentences(module: str) -> None:
    endings = [(call.lineno, _ending(text)) for call in _problems(module) for text in call.args[2:4]]

    assert [(line, text) for line, text in endings if text and text.strip()[-1:] not in (".", "?", "!", "'")] == []

"""How many values from outside the project its tests hold, by area: at least five in each, 150 in all."""

from __future__ import annotations

import importlib.util
import inspect
from collections import Counter
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

import pytest

TESTS = Path(__file__).resolve().parents[1]
AREAS = {1: "gauge and resistance", 2: "loudspeaker cable", 3: "constant voltage", 4: "cabling limits",
         5: "acoustics", 6: "rack and heat", 7: "cutting", 8: "money", 10: "labour"}


@cache
def outside_values() -> Counter[int]:
    """Cases of the tests that are marked with an area, in every test module."""
    counts: Counter[int] = Counter()
    for test in marked_tests():
        marks = getattr(test, "pytestmark", [])
        for mark in marks:
            if mark.name == "outside":
                counts[mark.args[0]] += _cases(marks)
    return counts


def _marked_modules() -> list[Path]:
    return [path for path in sorted(TESTS.rglob("test_*.py"))
            if "mark.outside(" in path.read_text(encoding="utf-8") and path != Path(__file__)]


def _tests(path: Path) -> list[Callable[..., object]]:
    spec = importlib.util.spec_from_file_location(f"counted_{path.stem}", path)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return [test for name, test in inspect.getmembers(module, inspect.isfunction) if name.startswith("test_")]


def _cases(marks: list[Any]) -> int:
    cases = 1
    for mark in marks:
        if mark.name == "parametrize":
            cases *= len(list(mark.args[1]))
    return cases


@pytest.mark.parametrize("area", AREAS, ids=AREAS.get)
def test_an_area_has_at_least_five_values_from_outside(area: int) -> None:
    assert outside_values()[area] >= 5


@cache
def marked_tests() -> tuple[Callable[..., object], ...]:
    """Every test that says it holds a value from outside."""
    return tuple(test for path in _marked_modules() for test in _tests(path)
                 if any(mark.name == "outside" for mark in getattr(test, "pytestmark", [])))


def test_every_value_from_outside_has_its_source_beside_it() -> None:
    # a comment above the test, or one within it
    silent = [test.__name__ for test in marked_tests()
              if not inspect.getcomments(test) and "# " not in inspect.getsource(test)]
    assert silent == []


def test_every_area_that_is_marked_is_one_of_the_list() -> None:
    assert set(outside_values()) <= set(AREAS)


def test_the_tests_hold_at_least_150_values_from_outside() -> None:
    assert outside_values().total() >= 150

"""One slip is told of once: with the options named that have it, and how many runs (racks, zones) have it alike."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from msgspec.structs import replace

from quoting.problems import Problem

VARIES = re.compile(r"'[^']*'|\d[\d.,]*")  # quoted words and numbers: what one slip may say differently each time
Slip = tuple[object, ...]


def told_once(by_option: Mapping[str, Iterable[Problem]]) -> tuple[Problem, ...]:
    """What each option's step reports, smallest option first: one slip in the fullest option's words.

    Two problems are one slip where cell, code and words are the same but for names and numbers, and, within one
    option, where the remedy is the same to the letter.
    """
    met: dict[Slip, dict[str, list[Problem]]] = {}
    for option, problems in by_option.items():
        for problem in dict.fromkeys(problems):
            remedy = problem.remedy.replace(f"'Pairs {option}'", "'Pairs'")
            slip = (problem.where, problem.code, problem.severity, VARIES.sub("*", problem.message), remedy)
            met.setdefault(slip, {}).setdefault(option, []).append(problem)
    return tuple(_joined(found) for found in met.values())


def _joined(found: Mapping[str, list[Problem]]) -> Problem:
    *others, fullest = found
    problem, alike = found[fullest][0], len(found[fullest]) - 1
    said = problem.message
    if alike:
        said += f" {alike} more {'are' if alike > 1 else 'is'} like it."
    if others and any(problem not in known for known in found.values()):  # else nothing in it goes by the option
        said += f" The same in option {_listed(others)}."
    columns = _listed([f"Pairs {option}" for option in found])
    return replace(problem, message=said, remedy=problem.remedy.replace(f"'Pairs {fullest}'", columns))


def _listed(names: list[str]) -> str:
    """ "'good', 'better' and 'best'"."""
    quoted = [f"'{name}'" for name in names]
    return " and ".join(filter(None, (", ".join(quoted[:-1]), quoted[-1])))

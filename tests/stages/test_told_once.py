"""One slip is one sentence, however many options and runs have it."""

from __future__ import annotations

from quoting.engineering.told_once import told_once
from quoting.problems import Problem, stop, warning
from tests.builders import cell

KITCHEN = cell("Rooms", "A2")


def short(option: str, watts: int, remedy: str = "Add pairs.") -> Problem:
    return warning(KITCHEN, "short", f"Option '{option}' has {watts} W.", remedy)


def test_a_slip_of_several_options_is_told_in_the_fullest_ones_words() -> None:
    found = told_once({"good": [short("good", 5)], "better": [], "best": [short("best", 9)]})
    assert [problem.message for problem in found] == ["Option 'best' has 9 W. The same in option 'good'."]


def test_what_is_wrong_alike_everywhere_names_no_option() -> None:
    wrong = warning(KITCHEN, "unknown", "'X-1' is not a part.", "Type another.")
    assert told_once({"good": [wrong], "best": [wrong]}) == (wrong,)


def test_a_remedy_that_names_a_count_column_names_it_for_each_option() -> None:
    said = {name: [short(name, 5, f"Type fewer under 'Pairs {name}'.")] for name in ("good", "better", "best")}
    found = told_once(said)
    assert [problem.remedy for problem in found] == ["Type fewer under 'Pairs good', 'Pairs better' and 'Pairs best'."]


def test_runs_with_the_same_slip_and_remedy_are_counted() -> None:
    runs = [stop(KITCHEN, "no-cable", f"No cable for run {number}.", "Add one.") for number in (101, 102, 103)]
    assert [problem.message for problem in told_once({"": runs})] == ["No cable for run 101. 2 more are like it."]


def test_slips_with_other_remedies_stay_apart() -> None:
    runs = [stop(KITCHEN, "no-cable", f"No '{role}'.", f"Name one for '{role}'.") for role in ("line", "category")]
    assert told_once({"": runs}) == tuple(runs)


def test_the_same_slip_at_another_cell_is_another_slip() -> None:
    there = [stop(cell("Rooms", f"A{row}"), "no-name", "It has no name.", "Type one.") for row in (2, 3)]
    assert told_once({"best": there}) == tuple(there)

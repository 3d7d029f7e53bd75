"""Condition cells: what each form of the grammar accepts, and what a wrong one says."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.tables.conditions import Condition, FieldKind, parse_condition

MOUNTS = ("ceiling", "wall", "surface", "garden")


def condition(text: str, kind: FieldKind, factor: float = 1.0) -> Condition:
    made = parse_condition(text, kind, factor)
    assert isinstance(made, Condition), made
    return made


@pytest.mark.parametrize("text", ["", "-", "  ", " - "])
@pytest.mark.parametrize("kind", ["text", "number", "yes/no", MOUNTS])
def test_an_empty_cell_and_a_dash_accept_anything(text: str, kind: FieldKind) -> None:
    assert condition(text, kind).any


@pytest.mark.parametrize(("text", "passes", "fails"), [
    ("3", [3, 3.0, 3.0000001], [2.99, 3.01]),
    ("> 3", [3.001, 100], [3, 2]),
    (">= 3", [3, 4], [2.999]),
    ("< 3", [2.999, -1], [3]),
    ("<= 3", [3, 0], [3.001]),
    ("2.4..3", [2.4, 2.7, 3], [2.399, 3.001]),  # both ends included
    (">3", [4], [3]),
    ("1, 4", [1, 4], [2, 3]),
    ("not 3", [2, 4], [3]),
    ("not 1, 3..4", [2, 5], [1, 3, 3.5, 4]),
    ("< 1, > 5", [0, 6], [1, 3, 5]),
    ("5..3", [], [3, 4, 5]),
    ("-2..1.5", [-2, 0, 1.5], [-2.1, 1.6]),
])
def test_a_number_test_accepts_exactly_its_range(text: str, passes: list[float], fails: list[float]) -> None:
    tested = condition(text, "number")

    assert ([tested.matches(value) for value in passes], [tested.matches(value) for value in fails]) == (
        [True] * len(passes), [False] * len(fails))


def test_a_border_in_feet_holds_however_the_length_in_metres_was_computed() -> None:
    # 14 ft = 4.2672 m exactly (international foot, 0.3048 m)
    tested = condition("<= 14", "number", 0.3048)

    lengths = (4.2672, 14 * 0.3048, 168 * 0.0254, 4.2673)

    assert [tested.matches(length) for length in lengths] == [True, True, True, False]


@pytest.mark.parametrize(("text", "passes", "fails"), [
    ("wall", ["wall"], ["ceiling"]),
    ("ceiling, wall", ["ceiling", "wall"], ["garden"]),
    ("not wall", ["ceiling", "garden"], ["wall"]),
    ("not wall, garden", ["ceiling"], ["wall", "garden"]),
    ("Wall", ["wall"], ["ceiling"]),
])
def test_words_are_one_of_or_not(text: str, passes: list[str], fails: list[str]) -> None:
    tested = condition(text, MOUNTS)

    assert ([tested.matches(value) for value in passes], [tested.matches(value) for value in fails]) == (
        [True] * len(passes), [False] * len(fails))


def test_not_none_asks_for_a_text_that_is_filled() -> None:
    tested = condition("not none", "text")

    assert [tested.matches(value) for value in ("BRACKET-8", "")] == [True, False]


@pytest.mark.parametrize(("text", "yes", "no"), [
    ("yes", True, False), ("no", False, True), ("TRUE", True, False), ("not yes", False, True), ("yes, no", True, True),
])
def test_yes_and_no(text: str, yes: bool, no: bool) -> None:
    tested = condition(text, "yes/no")

    assert (tested.matches(True), tested.matches(False)) == (yes, no)


@pytest.mark.parametrize(("text", "kind", "says"), [
    ("over 3", "number", "'over 3' is not a number test; write 3, >= 3, < 3 or 2.4..3"),
    ("2-3", "number", "'2-3' is not a number test; write 3, >= 3, < 3 or 2.4..3"),
    ("> 14ft", "number", "'> 14ft' is not a number test; write 3, >= 3, < 3 or 2.4..3"),
    ("2,4", "number", "'2,4' may be one number or two; write 2.4 for one number, '2, 4' for either of two"),
    ("nan", "number", "'nan' is not a number test; write 3, >= 3, < 3 or 2.4..3"),
    ("1..2..3", "number", "'1..2..3' is not a number test; write 3, >= 3, < 3 or 2.4..3"),
    ("in-celing", MOUNTS, "'in-celing' is not one of ceiling, wall, surface, garden"),
    ("> 3", "text", "'> 3' compares numbers, and this column holds words; write a word, 'a, b' or 'not a'"),
    ("maybe", "yes/no", "'maybe' is not a yes/no test; write yes, no or -"),
    ("not", "text", "'not' does not say what is excluded; write the value after 'not'"),
    ("wall,,garden", MOUNTS,
     "'wall,,garden' has a comma with nothing beside it; write values with one comma between them"),
])
def test_a_wrong_cell_says_what_to_write(text: str, kind: FieldKind, says: str) -> None:
    assert parse_condition(text, kind) == says


@given(st.text(), st.sampled_from(["text", "number", "yes/no", MOUNTS]))
def test_no_text_breaks_the_grammar(text: str, kind: FieldKind) -> None:
    assert isinstance(parse_condition(text, kind), Condition | str)


@given(st.text(alphabet="0123456789.<>=not, -", max_size=20), st.floats(-1e6, 1e6))
def test_whatever_number_test_is_accepted_can_be_asked(text: str, value: float) -> None:
    made = parse_condition(text, "number")

    assert isinstance(made, str) or made.matches(value) in (True, False)


@given(st.floats(0.01, 1000), st.floats(0.01, 1000))
def test_below_and_from_a_border_share_all_numbers_between_them(border: float, value: float) -> None:
    below, above = condition(f"< {border:.3f}", "number"), condition(f">= {border:.3f}", "number")

    assert below.matches(value) != above.matches(value)

"""The review of standards: two answers, none, and rows that can never answer."""

from __future__ import annotations

from quoting.problems import Cell, Problem
from quoting.tables.conditions import Condition, FieldKind, parse_condition
from quoting.tables.decision import Answer, Question, Row, Table
from quoting.tables.review import never_matches, review

WHERE = Cell("standards/sample.csv")


def table(
    inputs: dict[str, FieldKind], *rows: tuple[str, ...], whole: tuple[str, ...] = (), listed: bool = False
) -> Table:
    """Rows R1, R2 ... with a cell per input."""
    question = Question("sample", inputs, {}, whole=whole, listed=listed)
    made = []
    for number, cells in enumerate(rows, 1):
        conditions: dict[str, Condition] = {}
        for (name, kind), text in zip(inputs.items(), cells, strict=True):
            condition = parse_condition(text, kind)
            assert isinstance(condition, Condition), condition
            conditions[name] = condition
        made.append(Row(conditions, Answer("sample", f"R{number}", Cell(WHERE.file, "", f"A{number + 1}"), {})))
    return Table(question, tuple(made), WHERE)


def said(problems: tuple[Problem, ...]) -> list[tuple[str, str]]:
    return [(problem.code, problem.severity) for problem in problems]


def test_two_rows_that_share_a_border_both_answer_there() -> None:
    [problem] = review(table({"area_m2": "number"}, ("<= 15",), ("15..30",), ("> 30",)))

    assert problem.message == "Rows 'R1' and 'R2' both answer, for example for area_m2 15."


def test_the_second_of_two_overlapping_rows_is_where_it_is_told() -> None:
    [problem] = review(table({"mount": "text"}, ("ceiling, wall",), ("wall",), ("not ceiling, wall",)))

    assert (problem.code, problem.where.ref) == ("two-rows-answer", "A3")


def test_rows_that_meet_without_overlap_are_sound() -> None:
    assert review(table({"area_m2": "number"}, ("<= 15",), ("not <= 15, > 30",), ("> 30",))) == ()


def test_a_range_that_no_row_covers_is_a_gap() -> None:
    [problem] = review(table({"area_m2": "number"}, ("< 15",), ("> 20",)))

    assert (problem.code, problem.severity) == ("no-row-answers", "stop")


def test_a_border_that_neither_side_includes_is_a_gap() -> None:
    [problem] = review(table({"area_m2": "number"}, ("< 15",), ("> 15",)))

    assert problem.message == "In standard 'sample' no row answers for area_m2 15."


def test_nothing_lies_between_two_counts() -> None:
    assert review(table({"floors": "number"}, ("0..1",), (">= 2",), whole=("floors",))) == ()


def test_a_yes_without_a_no_is_a_gap() -> None:
    assert said(review(table({"outdoor": "yes/no"}, ("yes",)))) == [("no-row-answers", "stop")]


def test_a_choice_that_no_row_names_is_a_gap() -> None:
    [problem] = review(table({"mount": ("ceiling", "wall")}, ("ceiling",)))

    assert problem.message == "In standard 'sample' no row answers for mount wall."


def test_a_gap_for_one_word_only_is_found() -> None:
    [problem] = review(table({"mount": "text", "area_m2": "number"}, ("ceiling", ""), ("wall", "<= 10")))

    assert (problem.severity, "mount wall" in problem.message) == ("stop", True)


def test_words_that_no_row_names_together_only_warn() -> None:
    problems = review(table({"device": "text", "mount": "text"}, ("speaker", "ceiling"), ("keypad", "wall")))

    assert set(said(problems)) == {("no-row-answers", "warning")}


def test_a_word_that_no_row_names_is_no_gap_of_a_list_of_words() -> None:
    assert review(table({"device": "text"}, ("speaker",), ("keypad",))) == ()


def test_a_word_that_no_row_names_is_a_gap_where_rows_speak_of_any_word() -> None:
    [problem] = review(table({"kind": "text", "area_m2": "number"}, ("", "< 10"), ("kitchen", ">= 10")))

    assert "kind any other" in problem.message


def test_a_listed_standard_may_have_gaps() -> None:
    assert review(table({"plan": "text", "step": "number"}, ("standard", "1"), ("standard", "2"), listed=True)) == ()


def test_a_range_turned_round_can_never_answer() -> None:
    problems = review(table({"area_m2": "number"}, ("5..3",), ("",)))

    assert [(problem.code, problem.where.ref) for problem in problems] == [("never-matches", "A2")]


def test_excluding_every_choice_can_never_match() -> None:
    condition = parse_condition("not ceiling, wall", ("ceiling", "wall"))

    assert isinstance(condition, Condition) and never_matches(condition)


def test_a_large_table_is_reviewed_in_bounded_steps() -> None:
    inputs: dict[str, FieldKind] = {f"n{index}_m": "number" for index in range(8)}
    rows = tuple(tuple(f">= {10 * r + c}" for c in range(8)) for r in range(40))

    assert "two-rows-answer" in {code for code, _ in said(review(table(inputs, *rows)))}

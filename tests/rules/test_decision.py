"""Standards: exactly one row answers."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.problems import Cell
from quoting.tables.conditions import Condition, parse_condition
from quoting.tables.decision import Answer, Question, Row, Scalar, Standards, Table, Unanswered

COUNT = Question("speaker_count", {"mount": "text", "area_m2": "number"}, {"pairs": "number", "words": "text"})


def row(name: str, mount: str, area: str, pairs: str = "1", words: str = "") -> Row:
    conditions: dict[str, Condition] = {}
    for column, text in (("mount", mount), ("area_m2", area)):
        made = parse_condition(text, COUNT.inputs[column])
        assert isinstance(made, Condition)
        conditions[column] = made
    values: dict[str, Scalar] = {"pairs": Decimal(pairs), "words": words}
    where = Cell("standards/speaker_count.csv", "", f"A{name[-2:]}")
    return Row(conditions, Answer("speaker_count", name, where, values, {"mount": mount, "area_m2": area}))


def standards(*rows: Row) -> Standards:
    return Standards([Table(COUNT, rows, Cell("standards/speaker_count.csv"))])


SMALL, LARGE = row("CNT-10", "ceiling", "<= 20", "1.5", "a pair"), row("CNT-20", "ceiling", "> 20", "2")


def test_the_row_that_matches_answers_with_its_id() -> None:
    answer = standards(SMALL, LARGE).ask("speaker_count", mount="ceiling", area_m2=25.0)

    assert (answer.row, answer.decided, answer.number("pairs")) == ("CNT-20", "speaker_count CNT-20", 2.0)


def test_a_number_for_money_comes_exactly_as_typed() -> None:
    answer = standards(SMALL, LARGE).ask("speaker_count", mount="ceiling", area_m2=10.0)

    assert str(answer.decimal("pairs")) == "1.5"


def test_no_row_is_unanswered_at_the_sheet() -> None:
    with pytest.raises(Unanswered) as raised:
        standards(SMALL, LARGE).ask("speaker_count", mount="wall", area_m2=25.0)

    assert (raised.value.problem().code, str(raised.value)) == (
        "no-row-answers", "In standard 'speaker_count' no row answers for mount wall, area_m2 25.")


def test_two_rows_are_unanswered_at_the_second_one() -> None:
    with pytest.raises(Unanswered) as raised:
        standards(SMALL, row("CNT-30", "", "10..30")).ask("speaker_count", mount="ceiling", area_m2=15.0)

    assert (raised.value.problem().code, raised.value.where.ref, raised.value.rows) == (
        "two-rows-answer", "A30", ("CNT-10", "CNT-30"))


def test_a_standard_that_the_catalogue_lacks_is_unanswered() -> None:
    with pytest.raises(Unanswered):
        standards(SMALL).ask("slack", end="speaker")


def test_asking_with_a_wrong_input_is_a_mistake_in_code() -> None:
    with pytest.raises(TypeError):
        standards(SMALL).ask("speaker_count", mount="ceiling")


def test_all_rows_can_be_listed_with_what_they_ask_for() -> None:
    listed = standards(LARGE, SMALL).rows("speaker_count")

    assert [(answer.text("mount"), answer.asked["area_m2"]) for answer in listed] == [
        ("ceiling", "> 20"), ("ceiling", "<= 20")]


@given(st.permutations([SMALL, LARGE, row("CNT-30", "wall", "")]), st.sampled_from(["ceiling", "wall"]),
       st.floats(0, 100))
def test_the_order_of_rows_never_changes_an_answer(rows: list[Row], mount: str, area_m2: float) -> None:
    one = standards(SMALL, LARGE, row("CNT-30", "wall", "")).ask("speaker_count", mount=mount, area_m2=area_m2)

    assert standards(*rows).ask("speaker_count", mount=mount, area_m2=area_m2).row == one.row

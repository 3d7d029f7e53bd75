"""Steps between options sum exactly, and the interview picks the option."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

import pytest
from msgspec.structs import replace

from quoting.pricing.options import recommend, steps
from quoting.quote import PricedOption, Recommendation
from tests.builders import OPTIONS, make_client, make_option, make_rooms
from tests.stages.pricing_stubs import make_catalog, standard

D = Decimal
ALL = tuple(make_option(name) for name in OPTIONS)


# ---------------------------------------------------------------- steps

def test_there_is_a_step_between_each_option_and_the_next() -> None:
    assert [(step.start, step.end) for step in steps(ALL, make_rooms())] == [("good", "better"), ("better", "best")]


def test_one_option_has_no_step() -> None:
    assert steps(ALL[:1], make_rooms()) == ()


@pytest.mark.parametrize("index", [0, 1])
def test_a_steps_rows_sum_to_it(index: int) -> None:
    step = steps(ALL, make_rooms())[index]
    rows = sum((row.materials + row.labour for row in step.rows), D(0))

    assert rows + step.freight - step.discount + step.tax + step.rounding == step.total
    assert step.total == ALL[index + 1].totals.total - ALL[index].totals.total


def test_a_room_that_does_not_change_is_not_listed() -> None:
    step = steps(ALL, make_rooms())[1]

    assert [row.room for row in step.rows] == ["LIV", "PAT", ""]  # the bath and the kitchen stay as they are


def test_the_head_end_stands_last_under_its_name() -> None:
    assert steps(ALL, make_rooms())[0].rows[-1].name == "Head end and whole job"


def test_a_room_that_the_smaller_option_has_more_of_is_negative() -> None:
    step, = steps((ALL[1], ALL[0]), make_rooms())

    assert [row.materials + row.labour < 0 for row in step.rows if row.room == "BATH"] == [True]


# ---------------------------------------------------------------- recommendation

def _options(*totals: str) -> list[PricedOption]:
    return [replace(option, totals=replace(option.totals, total=D(total)))
            for option, total in zip(ALL, totals, strict=True)]


def _recommended(priorities: Sequence[str] = (), budget: str | None = None,
                 totals: Sequence[str] = ("8000", "10000", "14000")) -> Recommendation:
    client = make_client(priorities=tuple(priorities), budget=D(budget) if budget else None)
    return recommend(_options(*totals), client, make_catalog())


@pytest.mark.parametrize(("priority", "option"), [("sound", "best"), ("price", "good"), ("ease", "better")])
def test_a_priority_points_at_the_option_of_its_highest_weight(priority: str, option: str) -> None:
    assert _recommended([priority]).option == option


def test_what_is_wanted_most_counts_most() -> None:
    # sound 0/2/3, price 3/1/0: sound first 3, 5, 6; price first 6, 4, 3
    assert (_recommended(["sound", "price"]).scores, _recommended(["price", "sound"]).option) == (
        {"good": D(3), "better": D(5), "best": D(6)}, "good")


def test_the_reason_is_the_priority_that_brought_most() -> None:
    found = _recommended(["sound", "price"])

    assert (found.basis, found.reason) == ("priority", "because of sound")


def test_an_option_over_the_budget_loses_and_the_reason_says_so() -> None:
    found = _recommended(["sound"], budget="12000")

    assert (found.option, found.reason, found.over_budget) == ("better", "because of sound", ("best",))


def test_an_option_that_only_keeps_to_the_budget_does_not_claim_a_wish() -> None:
    found = _recommended(["sound"], budget="9000")

    assert (found.basis, found.reason, found.over_budget) == ("budget", "", ("better", "best"))


def test_an_option_that_costs_the_budget_exactly_is_within_it() -> None:
    assert _recommended(["sound"], budget="14000").option == "best"


def test_where_all_cost_more_than_the_budget_the_closest_is_taken() -> None:
    found = _recommended(["sound"], budget="5000")

    assert (found.option, found.basis, found.over_budget) == ("good", "closest", ())


def test_of_equal_scores_the_smaller_option_is_taken() -> None:
    catalog = make_catalog(tables=[standard("recommendation", {"weight": "2", "reason": "because"})])

    assert recommend(_options("1", "2", "3"), make_client(budget=None), catalog).option == "good"


def test_without_an_interview_the_middle_is_not_the_default() -> None:
    assert _recommended().option == "good"


def test_a_budget_alone_recommends_the_fullest_within_it() -> None:
    assert [_recommended(budget=budget).option for budget in ("9000", "10000", "20000")] == ["good", "better", "best"]

"""What purchaser and crew read of the cutting: how good the plan is, what is cut from which spool, where tails go."""

from __future__ import annotations

import io
import json
from collections.abc import Callable
from decimal import Decimal
from typing import Any

import msgspec
import openpyxl
import pytest
from msgspec.structs import replace

from quoting import lines as ln
from quoting.documents.office import workbook_bytes
from quoting.quote import Quote
from tests.documents.office_sample import sample_quote

D = Decimal
SAMPLE = sample_quote()
CABLE = next(purchase.part for purchase in SAMPLE.options[0].purchases if purchase.unit == "ft")
SPOOLS = (
    ln.Spool(part=CABLE, number=1, size=D(500), tail=D(180), tail_to="stock", cuts=(
        ln.Cut("104", "KIT", D(200), "P-KIT"), ln.Cut("101", "LIV", D(120)))),
    ln.Spool(part=CABLE, number=2, size=D(250), tail=D(20), tail_to="job", cuts=(
        ln.Cut("105", "KIT", D(230), "P-KIT"),)),
    ln.Spool(part=CABLE, number=3, size=D(250), tail=D(250), tail_to="stock", cuts=()),
)


def _quote(**purchase: Any) -> Quote:
    """The sample with these spools in its first option, and its cable's purchase changed."""
    first = SAMPLE.options[0]
    purchases = tuple(replace(each, **purchase) if each.part == CABLE else each for each in first.purchases)
    return replace(SAMPLE, options=(replace(first, spools=SPOOLS, purchases=purchases), *SAMPLE.options[1:]))


def _table(quote: Quote, sheet: str) -> list[dict[str, Any]]:
    """The sheet's rows by heading, below the row of headings."""
    rows = openpyxl.load_workbook(io.BytesIO(workbook_bytes(quote)), data_only=True)[sheet].iter_rows(values_only=True)
    headings = next(row for row in rows if row[0] == "Option")
    return [dict(zip(headings, row, strict=True)) for row in rows if row[0]]


def _cable(quote: Quote) -> list[dict[str, Any]]:
    return [row for row in _table(quote, "Purchases") if row["Part"] == CABLE]


def test_a_proved_plan_says_so() -> None:
    assert _cable(_quote(lower_bound=D(300), proved=True))[0]["Cutting plan"] == "proved: none cheaper"


def test_a_plan_that_is_not_proved_says_its_gap() -> None:
    row = _cable(_quote(lower_bound=D(300), proved=False, gap_rate=D("0.0123")))[0]

    assert (row["Cutting plan"], row["Costs at least"]) == ("at most 1.23 % over", 300)


def test_spools_wanted_at_once_are_counted() -> None:
    assert _cable(_quote(cartons=3))[0]["On site at once"] == 3


def test_no_spools_wanted_at_once_leaves_the_cell_empty() -> None:
    assert _cable(_quote(cartons=0))[0]["On site at once"] is None


def test_the_standards_behind_the_plan_are_named() -> None:
    row = _cable(_quote(decided=("spool SPL-010", "spool SPL-020")))[0]

    assert row["Decided by"] == "spool SPL-010, spool SPL-020"


def test_the_plan_is_said_once_and_not_for_each_size() -> None:
    assert [row["Cutting plan"] for row in _cable(_quote())[:2]] == ["proved: none cheaper", None]


def test_a_part_that_is_not_cut_has_no_plan() -> None:
    plans = {row["Part"]: row["Cutting plan"] for row in _table(_quote(), "Purchases") if row["Unit"] != "ft"}

    assert plans
    assert set(plans.values()) == {None}


def test_each_cut_has_a_row_with_what_stays_on_the_spool() -> None:
    rows = _table(_quote(), "Spools")

    assert [(row["Spool"], row["Run"], row["Cut"], row["Left after"]) for row in rows] == [
        ("1", "104", 200, 300), ("1", "101", 120, 180), ("2", "105", 230, 20), ("3", None, None, None)]


def test_each_tail_stands_once_with_its_length_and_where_it_goes() -> None:
    rows = _table(_quote(), "Spools")

    assert [(row["Spool"], row["Tail"], row["Tail goes to"]) for row in rows if row["Tail goes to"]] == [
        ("1", 180, "stock"), ("2", 20, "job"), ("3", 250, "stock")]


def test_cables_pulled_together_name_their_pull() -> None:
    assert [row["Pulled with"] for row in _table(_quote(), "Spools")] == ["P-KIT", None, "P-KIT", None]


@pytest.mark.parametrize(("read", "found"), [
    (lambda purchase: purchase["lower_bound"], "300"),
    (lambda purchase: purchase["proved"], False),
    (lambda purchase: purchase["gap_rate"], "0.0123"),
    (lambda purchase: purchase["cartons"], 3),
    (lambda purchase: purchase["decided"], ["spool SPL-010"]),
], ids=["bound", "proved", "gap", "cartons", "decided"])
def test_the_quote_file_tells_how_good_the_plan_is(read: Callable[[dict[str, Any]], object], found: object) -> None:
    quote = _quote(lower_bound=D(300), proved=False, gap_rate=D("0.0123"), cartons=3, decided=("spool SPL-010",))

    option = json.loads(msgspec.json.encode(quote))["options"][0]

    assert read(next(each for each in option["purchases"] if each["part"] == CABLE)) == found


def test_the_quote_file_tells_each_tail() -> None:
    option = json.loads(msgspec.json.encode(_quote()))["options"][0]

    assert [(spool["tail"], spool["tail_to"]) for spool in option["spools"]] == [
        ("180", "stock"), ("20", "job"), ("250", "stock")]

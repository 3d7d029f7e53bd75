"""A new fact kind is one record in FACT_KINDS, the step that makes it and its rule sheet; nothing else changes."""

from __future__ import annotations

import datetime
import json
import shutil
from decimal import Decimal
from pathlib import Path

import pytest

from quoting.documents.quote_file import encode_quote
from quoting.engineering import design
from quoting.engineering.brief import Brief, Result
from quoting.facts import FACT_KINDS, Fact
from quoting.pipeline import quote_job, read_all
from quoting.quote import Quote

ROOT = Path(__file__).resolve().parents[2]
ON = datetime.date(2026, 11, 25)
SHEET = """\
rule,loud,height_ft,add,add_from,quantity,phase,note,reference
FTN-010,yes,> 3,blank plate,,jets * 2,trim-out,two plates a jet,invented for a test
FTN-020,no,-,blank plate,,1,trim-out,never fires here,invented for a test
FTN-030,-,-,{task},,jets,trim-out,an hour's work a jet,invented for a test
"""


class Fountain(Fact, frozen=True, kw_only=True):
    """Something that the trade does not know."""

    loud: bool
    height_m: float
    jets: int


def make_fountains(brief: Brief) -> Result:
    """One fountain in an option's own facts."""
    fountain = Fountain(id="FOUNT-1", where=brief.job.where(), loud=True, height_m=1.5, jets=3)
    return (fountain,), ()


@pytest.fixture(scope="module")
def quote(tmp_path_factory: pytest.TempPathFactory) -> Quote:
    """The first example's quote with fountains in it."""
    catalog = tmp_path_factory.mktemp("catalog") / "fountains"
    shutil.copytree(ROOT / "catalogs" / "demo", catalog)
    with pytest.MonkeyPatch.context() as patch:
        patch.setitem(FACT_KINDS, "fountain", Fountain)
        patch.setattr(design, "STEPS", (*design.STEPS, ("option", (make_fountains,))))
        (catalog / "rules" / "fountain.csv").write_text(SHEET.format(task="trim.blank plate"), encoding="utf-8")
        read = read_all(min((ROOT / "examples").glob("1-*.xlsx")), catalog, ON, ON)
        assert read.job and read.catalog and read.book, [str(problem) for problem in read.problems]
        made, problems = quote_job(read.job, read.catalog, read.book, read.on)
    assert made is not None, [str(problem) for problem in problems]
    return made


def test_its_part_is_in_the_bill_in_the_quantity_of_its_rule(quote: Quote) -> None:
    reasons = [reason for row in quote.options[0].materials for reason in row.because]

    assert [reason.amount for reason in reasons if reason.rule == "FTN-010"] == [Decimal(6)]  # 3 jets x 2


def test_its_task_is_in_the_labour(quote: Quote) -> None:
    brought = [reason.fact for row in quote.options[0].labour for reason in row.because if reason.rule == "FTN-030"]

    assert brought == ["FOUNT-1"]


def test_a_rule_of_it_that_does_not_match_adds_nothing(quote: Quote) -> None:
    rules = {reason.rule for row in quote.options[0].materials for reason in row.because}

    assert "FTN-020" not in rules


def test_it_is_in_the_quote_file_with_all_its_fields(quote: Quote) -> None:
    written = json.loads(encode_quote(quote))

    fountain = written["options"][0]["facts"]["fountain"][0]
    assert (fountain["id"], fountain["loud"], fountain["height_m"], fountain["jets"]) == ("FOUNT-1", True, 1.5, 3)

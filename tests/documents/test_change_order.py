"""The change order says what the customer signs, at zero too, in their language, and nothing internal."""

from __future__ import annotations

import re
from dataclasses import fields, is_dataclass, replace
from decimal import Decimal
from html import unescape
from pathlib import Path

import pytest

from quoting.compare import compare_quotes
from quoting.documents.change_order import write_change_order
from quoting.documents.change_order_view import ChangeRequest
from quoting.documents.changes_page import write_changes_page
from quoting.quote import Quote
from tests.builders import make_job, make_quote, make_terms
from tests.documents.test_proposal_leaks import found_in, planted

TEMPLATES = (Path(__file__).resolve().parents[2] / "templates",)
ASKED = ChangeRequest(reason="site", requested_by="Ada Brandt")


def order(old: Quote, new: Quote, path: Path, asked: ChangeRequest = ASKED) -> str:
    """The text of a change order of the option better, tags and style taken off."""
    write_change_order(old, new, "better", asked, path, TEMPLATES)
    page = re.sub(r"<style>.*?</style>", "", path.read_text(encoding="utf-8"), flags=re.DOTALL)
    return re.sub(r"\s+", " ", unescape(re.sub(r"<[^>]+>", " ", page)))


def revised(old: Quote, locale: str = "en_US") -> Quote:
    """The same as revision 1 and in the language: in the option better the kitchen has two speakers fewer, the total is
    100 less."""
    terms = replace(old.job.terms, revision=1, locale=locale)
    options = []
    for option in old.options:
        rooms = tuple(replace(room, speakers=room.speakers - 2) if room.room == "KIT" else room
                      for room in option.rooms)
        totals = replace(option.totals, materials=option.totals.materials - 100, total=option.totals.total - 100)
        options.append(replace(option, rooms=rooms, totals=totals) if option.name == "better" else option)
    return replace(old, job=replace(old.job, terms=terms), options=tuple(options))


def test_a_change_order_names_both_revisions_who_asked_and_why(tmp_path: Path) -> None:
    old = make_quote(job=make_job(terms=make_terms(revision=0)))
    text = order(old, revised(old), tmp_path / "order.html")
    assert all(said in text for said in ("revision 0 of", "revision 1 of", "Ada Brandt", "Found on site"))


def test_a_change_order_says_what_the_room_had_and_what_it_gets(tmp_path: Path) -> None:
    old = make_quote()
    text = order(old, revised(old), tmp_path / "order.html")
    assert re.search(r"Kitchen 4 ceiling speakers Keypad on the wall 2 ceiling speakers Keypad on the wall", text)


def test_a_change_order_carries_the_running_contract_total(tmp_path: Path) -> None:
    old = make_quote()
    total = next(option.totals.total for option in old.options if option.name == "better")
    text = order(old, revised(old), tmp_path / "order.html")
    assert (f"Contract before this change ${total:,} This change -$100.00 "
            f"Contract with this change ${total - Decimal(100):,}") in text


def test_a_change_order_at_zero_says_that_it_costs_nothing(tmp_path: Path) -> None:
    text = order(make_quote(), make_quote(), tmp_path / "order.html")
    assert "This change costs nothing: the price stays as it is." in text


def test_who_asked_and_why_are_left_open_where_nobody_said(tmp_path: Path) -> None:
    order(make_quote(), make_quote(), tmp_path / "order.html", ChangeRequest())
    page = (tmp_path / "order.html").read_text(encoding="utf-8")
    assert page.count('<span class="blank-line">') == 3  # and the payment that it is invoiced with


@pytest.mark.parametrize(("locale", "title", "gone"), [
    ("de_DE", "Änderungsauftrag", "Vertrag mit dieser Änderung"), ("es_ES", "Orden de cambio", "Motivo"),
    ("fr_FR", "Avenant", "Contrat avec cette modification")])
def test_a_change_order_speaks_the_jobs_language(tmp_path: Path, locale: str, title: str, gone: str) -> None:
    old = make_quote()
    text = order(old, revised(old, locale), tmp_path / "order.html")
    assert title in text and gone in text and "this change" not in text.lower()


def test_nothing_internal_is_in_the_change_order(tmp_path: Path) -> None:
    marked, markers = planted("itemised")
    order(marked, revised(marked), tmp_path / "order.html")
    assert found_in(tmp_path, markers) == {}


def test_no_word_of_cost_is_in_the_allow_list_of_the_change_order() -> None:
    import quoting.documents.change_order_view as view

    names = {field.name for record in vars(view).values() if isinstance(record, type) and is_dataclass(record)
             for field in fields(record)}
    assert [name for name in names if re.search("cost|margin|markup|profit|supplier|hours|_part|part_", name)] == []


# ---------------------------------------------------------------- the office's page

def office_page(old: Quote, new: Quote, path: Path) -> str:
    changes, problems = compare_quotes(old, new, "better")
    assert changes is not None, problems
    write_changes_page(changes, old, new, "site", "Ada Brandt", path, TEMPLATES)
    return path.read_text(encoding="utf-8")


def test_the_offices_page_says_that_nothing_changed(tmp_path: Path) -> None:
    assert "Nothing changed in this option." in office_page(make_quote(), make_quote(), tmp_path / "changes.html")


def test_the_offices_page_warns_of_a_change_below_the_least_charge(tmp_path: Path) -> None:
    """A least charge that the firm has set, and a change that costs nothing: common practice, trade-wide."""
    old = make_quote()
    new = replace(old, job=replace(old.job, terms=replace(old.job.terms, revision=7)),
                  firm=replace(old.firm, minimum_change=Decimal("75.00")))
    assert "below the firm's least charge" in unescape(office_page(old, new, tmp_path / "changes.html"))

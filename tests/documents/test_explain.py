"""Explain: the chain of a line, a fact, a room, a zone, back to the cells that somebody typed."""

from __future__ import annotations

from decimal import Decimal

import pytest
from msgspec.structs import replace

from quoting.documents.explain import explain, suggest
from quoting.documents.quote_file import decode_quote, encode_quote
from quoting.job import Override
from quoting.quote import PricedOption, Quote
from tests.builders import cell, make_job, make_option, make_quote

LINE = "CBL-16-4/KIT/rough-in"


def said(quote: Quote, id: str) -> str:
    text = explain(quote, id)
    assert text is not None
    return text


def with_override() -> Quote:
    job = make_job(overrides=(Override(id=LINE, what="quantity", value="82", reason="beam in the way", who="Ines",
                                       where=cell("Overrides", "C2")),))
    def corrected(option: PricedOption) -> PricedOption:
        return replace(option, materials=tuple(
            replace(line, need=Decimal("82.000")) if line.id == LINE else line for line in option.materials))
    return make_quote(job=job, options=tuple(corrected(make_option(name)) for name in ("good", "better", "best")))


@pytest.mark.parametrize("piece", [
    "Speaker cable 16 AWG 4 conductors",  # what
    "room KIT (Kitchen), zone 1, phase rough-in",  # where
    "70 ft",  # how much
    "$62.00",  # 70 ft at 0.31 / (1 - 0.65) = 0.8857, times 70 = 61.999
    "rule CBL-010 (rules/cable_run.csv A7)",  # which rule, and where it stands
    "from cable_run 011: part CBL-16-4",  # which fact
    "decided by slack SLK-030",  # which standards row
    "typed in 1-test-house-2026-03-02.xlsx Rooms!A2, Rooms!D2",  # which intake cells
])
def test_a_material_line_tells_its_whole_chain(piece: str) -> None:
    assert piece in said(make_quote(), LINE)


@pytest.mark.parametrize("piece", ["0.83 hours of installer", "2 x open walls", "low 0.6, likely 0.8, high 1.2"])
def test_a_labour_line_tells_its_hours_and_where_they_come_from(piece: str) -> None:
    assert piece in said(make_quote(), "trim.speaker/KIT/trim-out")


def test_an_option_that_lacks_the_line_is_named() -> None:
    assert "not in better, best" in said(make_quote(), "SHF-2/JOB/rack build")


def test_what_differs_between_options_is_told_for_each() -> None:
    text = said(make_quote(), "SPK-6/KIT/trim-out")
    assert "good: 2 each" in text
    assert "better, best: 4 each" in text


def test_an_override_stands_beside_the_value_of_the_rules() -> None:
    assert "82 ft (overridden; the rules say 70 ft)" in said(with_override(), LINE)


def test_an_override_tells_who_and_why_and_where() -> None:
    assert "override of the quantity to 82: beam in the way, Ines (1-test-house-2026-03-02.xlsx Overrides!C2)" in said(
        with_override(), LINE)


def test_a_fact_tells_its_fields_in_the_jobs_units() -> None:
    assert "length 70'" in said(make_quote(), "011")


def test_a_fact_tells_the_lines_that_it_makes() -> None:
    assert LINE in said(make_quote(), "011").partition("makes the lines")[2]


def test_a_fact_that_differs_between_options_is_told_for_each() -> None:
    text = said(make_quote(), "SYS")
    assert "system SYS [good]" in text
    assert "streams 4" in text


def test_a_room_tells_what_each_option_does_there() -> None:
    assert "better: live, 4 speakers, keypad" in said(make_quote(), "KIT")


@pytest.mark.parametrize("id", ["2", "Living room"])
def test_a_zone_is_found_by_number_and_by_name(id: str) -> None:
    assert "zone 2: Living room; rooms LIV (Living room)" in said(make_quote(), id)


def test_case_and_blanks_do_not_matter() -> None:
    assert explain(make_quote(), " cbl-16-4/kit/ROUGH-IN ") == explain(make_quote(), LINE)


def test_the_parsed_file_is_explained_word_for_word_like_the_quote() -> None:
    assert explain(decode_quote(encode_quote(make_quote())), "011") == explain(make_quote(), "011")


def test_an_unknown_id_is_not_explained() -> None:
    assert explain(make_quote(), "XYZ-9/KIT/rough-in") is None


def test_a_slip_of_the_pen_is_answered_with_the_closest_id_first() -> None:
    assert suggest(make_quote(), "CBL-16-4/KIT/roughin")[0] == LINE


def test_the_beginning_of_an_id_finds_the_ids_that_have_it() -> None:
    assert "KIT-SP1" in suggest(make_quote(), "kit-sp")


def test_nonsense_finds_nothing() -> None:
    assert suggest(make_quote(), "qqqqqqqq") == ()


def test_every_line_of_every_option_is_explained_from_the_parsed_file_alone() -> None:
    quote = decode_quote(encode_quote(make_quote()))
    ids = {id for option in quote.options for id in (*(line.id for line in option.materials),
                                                     *(line.id for line in option.labour))}
    assert [id for id in ids if "typed in" not in (explain(quote, id) or "")] == []

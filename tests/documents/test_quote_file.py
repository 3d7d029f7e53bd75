"""quote.json: nothing is lost, the bytes are stable, the published schema is the true one."""

from __future__ import annotations

import datetime
import json
from decimal import Decimal
from pathlib import Path

import jsonschema
import pytest
from msgspec.structs import replace

import quoting
from quoting.documents.quote_file import decode_quote, encode_quote, quote_schema, schema_text
from tests.builders import cell, make_job, make_quote, make_room, make_terms

SCHEMA = Path(quoting.__file__).parent / "schemas" / "quote.schema.json"


def test_a_quote_comes_back_the_same() -> None:
    quote = make_quote()
    assert decode_quote(encode_quote(quote)) == quote


def test_a_compact_file_holds_the_same_quote_as_an_indented_one() -> None:
    quote = make_quote()
    assert json.loads(encode_quote(quote, compact=True)) == json.loads(encode_quote(quote))


def test_the_same_quote_gives_the_same_bytes_whatever_the_order_of_its_dictionaries() -> None:
    quote = make_quote()
    turned = replace(quote, parts=dict(reversed(quote.parts.items())))
    assert encode_quote(turned) == encode_quote(quote)


def test_mapping_fields_of_a_room_come_back_with_their_cells() -> None:
    room = make_room(pairs_by_option={"best": 2}, cells={"": cell("Rooms", "A9"), "pairs": cell("Rooms", "H9")})
    quote = make_quote(job=make_job(rooms=(room,)))
    assert decode_quote(encode_quote(quote)).job.rooms == (room,)


def test_money_is_written_as_a_decimal_string_with_its_zeros() -> None:
    quote = make_quote()
    raw = json.loads(encode_quote(quote))
    assert raw["options"][0]["totals"]["rounding"] == "0.00"


def test_money_comes_back_as_a_decimal_and_never_as_a_float() -> None:
    total = decode_quote(encode_quote(make_quote())).options[0].totals.total
    assert isinstance(total, Decimal)


def test_a_date_is_written_as_iso_8601() -> None:
    quote = make_quote(job=make_job(terms=make_terms(quote_date=datetime.date(2026, 2, 3))))
    assert json.loads(encode_quote(quote))["job"]["terms"]["quote_date"] == "2026-02-03"


def test_text_outside_ascii_is_kept_as_typed() -> None:
    quote = make_quote(job=make_job(rooms=(make_room(name="Küche \U0001f3b5 مطبخ"),)))
    assert "Küche \U0001f3b5 مطبخ".encode() in encode_quote(quote)


def test_the_committed_schema_is_the_one_that_the_records_give() -> None:
    remedy = "run: python -m quoting.documents.quote_file > quoting/schemas/quote.schema.json"
    assert SCHEMA.read_text(encoding="utf-8") == schema_text(), remedy


def test_an_encoded_quote_is_valid_by_the_schema() -> None:
    validator = jsonschema.Draft202012Validator(quote_schema())
    assert [error.message for error in validator.iter_errors(json.loads(encode_quote(make_quote())))] == []


def test_a_quote_without_its_totals_is_not_valid_by_the_schema() -> None:
    raw = json.loads(encode_quote(make_quote()))
    del raw["options"][0]["totals"]
    assert not jsonschema.Draft202012Validator(quote_schema()).is_valid(raw)


@pytest.mark.parametrize("raw", [b"", b"{}", b"[1", b"\xff\xfe", b'{"schema_version": "one"}'])
def test_bytes_that_are_no_quote_give_a_plain_sentence(raw: bytes) -> None:
    with pytest.raises(ValueError, match=r"^This is not a quote file"):
        decode_quote(raw)

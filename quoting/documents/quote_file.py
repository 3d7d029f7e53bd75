"""quote.json: the Quote as bytes and back, and the JSON Schema that describes them.

Money and quantities are decimal strings, dates are ISO 8601, keys of free dictionaries are sorted: the same Quote
gives the same bytes. `python -m quoting.documents.quote_file` prints the schema.
"""

from __future__ import annotations

import json
from functools import lru_cache
from pathlib import Path
from typing import Any

import msgspec
from msgspec.structs import replace

from quoting.facts import FACT_KINDS
from quoting.problems import Cell, Problem, stop
from quoting.quote import SCHEMA_VERSION, Quote

FILE = "quote.json"
SCHEMA_ID = "https://json-schema.org/draft/2020-12/schema"

Facts = dict[str, tuple[dict[str, Any], ...]]


def encode_quote(quote: Quote, *, compact: bool = False) -> bytes:
    """The quote as UTF-8 JSON: indented by one space a level for people, or compact."""
    raw = _encoder().encode(quote)
    return raw + b"\n" if compact else msgspec.json.format(raw, indent=1) + b"\n"


def decode_quote(raw: bytes) -> Quote:
    """The typed quote of such bytes; facts come back with tuples where JSON has arrays.

    Raises ValueError, with a sentence that names the place, for bytes that are no quote.
    """
    try:
        quote = _decoder().decode(raw)
    except (msgspec.DecodeError, UnicodeDecodeError) as error:
        raise ValueError(f"This is not a quote file: {error}.") from error
    options = tuple(replace(option, facts=_with_tuples(option.facts)) for option in quote.options)
    return replace(quote, facts=_with_tuples(quote.facts), options=options)


def read_quote(folder: Path) -> tuple[Quote | None, tuple[Problem, ...]]:
    """The quote of a build's folder; None, and why, where none can be read. OSError where the disk refuses."""
    where, again = Cell(f"{folder.name}/{FILE}"), "Build the folder again from its workbook, or name that workbook."
    try:
        quote = decode_quote((folder / FILE).read_bytes())
    except FileNotFoundError:
        return None, (stop(Cell(folder.name or str(folder)), "no-build", f"The folder '{folder}' holds no {FILE}.",
                           "Name a folder that `quoting build` wrote, or an intake workbook."),)
    except ValueError as error:
        return None, (stop(where, "damaged-quote", str(error), again),)
    if quote.schema_version == SCHEMA_VERSION and _facts_are_whole(quote):
        return quote, ()
    return None, (stop(where, "other-version", f"'{where.file}' was written by another version of this program.",
                       again),)


def _facts_are_whole(quote: Quote) -> bool:
    """Whether every fact has the fields of its kind: the records of facts are not part of the schema."""
    names = {kind: set(record.__struct_fields__) for kind, record in FACT_KINDS.items()}
    every = [quote.facts, *(option.facts for option in quote.options)]
    return all(row.keys() == names.get(kind) for facts in every for kind, rows in facts.items() for row in rows)


def quote_schema() -> dict[str, Any]:
    """JSON Schema of quote.json, generated from the records."""
    generated = msgspec.json.schema(Quote)
    title = {"$schema": SCHEMA_ID, "title": "A priced quote for whole-house audio"}
    return {**title, **generated}


def schema_text() -> str:
    """The schema as the text of quoting/schemas/quote.schema.json."""
    return json.dumps(quote_schema(), indent=1, sort_keys=True, ensure_ascii=False) + "\n"


@lru_cache(maxsize=1)
def _encoder() -> msgspec.json.Encoder:
    return msgspec.json.Encoder(decimal_format="string", order="deterministic")


@lru_cache(maxsize=1)
def _decoder() -> msgspec.json.Decoder[Quote]:
    return msgspec.json.Decoder(Quote)


def _with_tuples(facts: Facts) -> Facts:
    return {kind: tuple({name: _tuple(value) for name, value in row.items()} for row in rows)
            for kind, rows in facts.items()}


def _tuple(value: Any) -> Any:
    return tuple(_tuple(item) for item in value) if isinstance(value, list) else value


if __name__ == "__main__":
    print(schema_text(), end="")

"""Every fact of the engineering reaches quote.json and the sheet Design, with the table row that decided it."""

from __future__ import annotations

import datetime
import json
from io import BytesIO
from typing import Any

import pytest
from openpyxl import load_workbook

from quoting.catalog.questions import QUESTIONS
from quoting.catalog.records import Catalog
from quoting.documents.office import workbook_bytes
from quoting.documents.office_design import HEADINGS, KINDS
from quoting.documents.quote_file import encode_quote
from quoting.facts import FACT_KINDS, Fact, SiteFact
from quoting.pipeline import quote_workbook
from quoting.quote import Quote
from tests.conftest import ROOT
from tests.problems.forms import Change, save

# Kinds that say what somebody typed (their cells tell which), and kinds that only count or join other facts (their
# basis tells which): no table decides anything in them.
TYPED = {"owned_item", "doorbell", "paging", "trench", "extra_part"}
COUNTED = {"room", "connection"}
FactRow = dict[str, Any]


def job(label: str, value: Any) -> Change:
    return Change("Job", "", label, value)


def row(sheet: str, number: int, **cells: Any) -> tuple[Change, ...]:
    return tuple(Change(sheet, str(number), heading.replace("_", " "), value) for heading, value in cells.items())


# A small house that has one of everything: the three rooms of the small good workbook, and more asked of them.
EVERYTHING = (
    job("Quote date", datetime.date(2026, 10, 1)), job("Head-end shape", "controller and amplifiers"),
    job("Doorbells", 2), job("Paging", "yes"),
    *row("Rooms", 1, Zone=1, Room_input="yes", TV_into_the_system="yes"),
    *row("Rooms", 2, Zone=2, Floor=2, Plays_from="later", Construction="masonry"), *row("Rooms", 3, Zone=3),
    *row("Zones", 1, Zone=3, Name="Patio", Line="70.7 V"),
    *row("Sources", 2, Kind="turntable"),
    *row("Extras", 1, Kind="trench", Room="Patio", Quantity="30 ft"), *row("Extras", 2, Kind="owned equipment"),
    *row("Extras", 3, Kind="part", Part="RK-12", Quantity=1),
)


@pytest.fixture(scope="module")
def everything(demo: Catalog, tmp_path_factory: pytest.TempPathFactory) -> Quote:
    path = save(tmp_path_factory.mktemp("house") / "everything.xlsx", demo, *EVERYTHING)
    quote, problems = quote_workbook(path, ROOT / "catalogs" / "demo", None, datetime.date(2026, 10, 1))
    assert quote is not None, "\n".join(map(str, problems))
    return quote


@pytest.fixture(scope="module")
def facts(everything: Quote) -> list[tuple[str, FactRow]]:
    """Every fact as quote.json holds it, with its kind."""
    raw = json.loads(encode_quote(everything))
    return [(kind, fact) for holder in (raw, *raw["options"]) for kind, rows in holder["facts"].items()
            for fact in rows]


@pytest.fixture(scope="module")
def design(everything: Quote) -> list[FactRow]:
    """The sheet's rows by heading."""
    sheet = load_workbook(BytesIO(workbook_bytes(everything)))["Design"]
    rows = list(sheet.iter_rows(values_only=True))
    head = next(index for index, cells in enumerate(rows) if cells[:2] == HEADINGS[:2])
    return [dict(zip(HEADINGS, cells, strict=True)) for cells in rows[head + 1:]]


def test_the_house_has_a_fact_of_every_kind(facts: list[tuple[str, FactRow]]) -> None:
    assert set(FACT_KINDS) - {kind for kind, _ in facts} == set()


@pytest.mark.parametrize("kind", FACT_KINDS)
def test_every_field_of_a_fact_is_in_the_quote_file(kind: str, facts: list[tuple[str, FactRow]]) -> None:
    names = set(FACT_KINDS[kind].__struct_fields__)
    assert [fact["id"] for made, fact in facts if made == kind and set(fact) != names] == []


@pytest.mark.parametrize("kind", KINDS)
def test_every_fact_says_which_row_decided_it(kind: str, facts: list[tuple[str, FactRow]]) -> None:
    grounds = "where" if kind in TYPED else "basis" if kind in COUNTED else "decided"
    assert [fact["id"] for made, fact in facts if made == kind and not fact[grounds]] == []


def test_every_row_that_decided_is_a_row_of_the_catalogue(facts: list[tuple[str, FactRow]], demo: Catalog) -> None:
    known = {answer.decided for question in QUESTIONS for answer in demo.standards.rows(question)}
    known |= {f"options {name}" for name in (*demo.settings, *(role for role, _ in demo.roles))}
    known |= {f"terms {place}" for place in demo.places}
    known |= {f"controllers {part}" for part in demo.controllers}
    assert {row for _, fact in facts for row in fact["decided"]} - known == set()


def shown(kind: str, fact: FactRow) -> set[str]:
    """What the sheet must say of a fact: each field's name and value as a rule sheet's author would write them.

    A room's own conditions (its setting, its ceiling ...) stand at the room alone.
    """
    hidden = set(Fact.__struct_fields__)
    if kind not in ("room", "room_use"):
        hidden |= set(SiteFact.__struct_fields__)
    said = set()
    for name, value in fact.items():
        if name not in hidden and value not in ("", 0, False):
            text = f"{round(value, 5):.10g}" if isinstance(value, float) else str(value)
            said.add(name if value is True else f"{name} {text}")
    return said


@pytest.mark.parametrize("kind", KINDS)
def test_every_field_of_a_fact_is_on_the_sheet(
    kind: str, facts: list[tuple[str, FactRow]], design: list[FactRow]
) -> None:
    told: dict[str, list[str]] = {}
    for line in design:
        if line["Kind"] == kind:
            told.setdefault(line["Fact"], []).append(f"; {line['What it says'] or ''}; ")
    missing = [fact["id"] for made, fact in facts if made == kind and not any(
        all(f"; {piece}; " in text for piece in shown(kind, fact)) for text in told.get(fact["id"], []))]
    assert missing == []


@pytest.mark.parametrize(("heading", "field"), [("Decided by", "decided"), ("Rests on", "basis")])
def test_the_sheet_says_what_a_fact_rests_on(
    heading: str, field: str, facts: list[tuple[str, FactRow]], design: list[FactRow]
) -> None:
    said = {(line["Kind"], line["Fact"], line[heading] or "") for line in design}
    assert [fact["id"] for kind, fact in facts
            if kind in KINDS and (kind, fact["id"], ", ".join(fact[field])) not in said] == []


def test_facts_that_all_options_share_stand_once(everything: Quote, design: list[FactRow]) -> None:
    runs = [line for line in design if line["Kind"] == "cable_run"]
    assert len(runs) == len(everything.facts["cable_run"])
    assert {line["Options"] for line in runs} == {"all"}


def test_a_fact_that_differs_by_option_stands_once_for_each(design: list[FactRow]) -> None:
    systems = [line for line in design if line["Kind"] == "system"]
    assert [line["Options"] for line in systems] == ["good", "better", "best"]


def test_a_fact_names_the_cells_that_it_rests_on(design: list[FactRow]) -> None:
    kitchen = next(line for line in design if line["Fact"] == "KIT-USE")
    assert kitchen["Typed in"].startswith("Rooms A2")

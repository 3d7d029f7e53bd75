"""The crew's words: one name for one spot, English whatever the customer reads, lengths in the job's unit."""

from __future__ import annotations

import re

import pytest

from quoting.documents.crew_papers import CrewSet, crew_set
from quoting.documents.crew_places import device_places
from quoting.documents.floor_plan import rows_of_kind
from quoting.facts import KeypadFact
from quoting.quote import PricedOption, Quote
from tests.documents.papers import quote_in

JOINED_ON = ("Placement", "Device locations", "Serial numbers")  # where a device's own id stands beside its place's
DEVICE = re.compile(r"\b[A-Z0-9]{1,4}-(?:SP|KP|IN|TV)\d+\b")
SENDER = re.compile(r"television sender [A-Z0-9]{1,4}-TV\d+")
Options = list[tuple[str, Quote, PricedOption]]


@pytest.fixture
def options(quotes: dict[str, Quote]) -> Options:
    return [(f"{name} {option.name}", quote, option) for name, quote in quotes.items() for option in quote.options]


def cells(made: CrewSet, *titles: str) -> list[str]:
    """The cells of the sheets whose titles begin with one of these."""
    return [cell for sheet in made.sheets if sheet.title.startswith(titles) for table in sheet.tables
            for row in table.rows for cell in row]


def test_a_spot_bears_its_place_s_id_on_every_sheet_but_those_that_join_the_two(options: Options) -> None:
    for name, quote, option in options:
        made = crew_set(quote, option, draft=False)
        others = tuple(sheet.title for sheet in made.sheets if not sheet.title.startswith(JOINED_ON))
        # a television's sender stands with the set, not at its place: there is the plate
        assert [cell for cell in cells(made, *others) if DEVICE.search(SENDER.sub("", cell))] == [], name


def test_the_placement_sheets_join_each_device_with_its_place(options: Options) -> None:
    for name, quote, option in options:
        rows = [row for sheet in crew_set(quote, option, draft=False).sheets if sheet.title.startswith("Placement")
                for table in sheet.tables for row in table.rows]
        said = {found.group(): row[0] for row in rows if (found := DEVICE.search(row[1]))}
        assert said == device_places(quote, option), name


def test_a_keypad_and_a_volume_knob_are_called_so_on_the_pull_list(options: Options) -> None:
    for name, quote, option in options:
        said = cells(crew_set(quote, option, draft=False), "Pull list")
        for control in rows_of_kind(quote, option, KeypadFact):
            ends = [cell for cell in said if cell.startswith(f"{control['place']} ")]
            words = {"keypad": "keypad", "knob": "volume knob"}[control["control"]]
            assert set(ends) <= {f"{control['place']} {words}"}, (name, control["id"])


@pytest.mark.parametrize("language", ["de", "fr"])
def test_the_crew_s_sheets_are_english_whatever_the_customer_reads(language: str) -> None:
    theirs, english = quote_in(language, "1"), quote_in("en", "1")
    assert theirs.options[1].title != english.options[1].title
    for option, same in zip(theirs.options, english.options, strict=True):
        told, wanted = (crew_set(quote, one, draft=False) for quote, one in ((theirs, option), (english, same)))
        assert told.title == wanted.title
        said, same_words = (  # a date's parts stand in the order of the job's place, its words are English
            [sorted(cell.replace(",", "").split()) for cell in cells(made, "Visits", "Permits")]
            for made in (told, wanted))
        assert said == same_words


def test_a_keypad_bus_is_told_in_the_job_s_unit(quotes: dict[str, Quote]) -> None:
    # by hand: 900 m are 900 / 0.3048 = 2953 ft
    sheets = crew_set(quotes["1"], quotes["1"].options[1], draft=False).sheets
    notes = [note for sheet in sheets for table in sheet.tables for note in table.notes if note.startswith("Bus:")]
    assert notes and all(" of 2953 ft of cable" in note for note in notes)

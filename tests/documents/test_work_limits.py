"""Limits that the papers tell are rows of the catalogue: whoever changes a row reads the new number on every paper."""

from __future__ import annotations

import re

import pytest
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.documents.crew_controls import keypad_functions
from quoting.documents.crew_papers import crew_files
from quoting.documents.formats import formats_for
from quoting.documents.handover import handover_view
from quoting.documents.language import language_for
from quoting.pipeline import quote_job
from quoting.quote import Quote
from quoting.rules.book import RuleBook
from tests.changed_catalog import with_number
from tests.conftest import PRICED_ON
from tests.documents.papers import TEMPLATES

CHANGED = (("work_limit", "two lift lb", "value", "40"), ("work_limit", "rack air f", "value", "95"),
           ("work_limit", "meter db", "value", "2"), ("work_limit", "uncounted buttons", "value", "5"),
           ("framing_limit", "face plate in", "value", "1.5"),
           ("hearing", "caution", "level_db", "88"), ("hearing", "all day", "level_db", "65"))


@pytest.fixture(scope="module")
def changed(quotes: dict[str, Quote], demo: Catalog, book: RuleBook) -> Quote:
    """Example 1 by a firm that keeps to other limits."""
    catalog = demo
    for standard, item, answer, value in CHANGED:
        catalog = with_number(catalog, item, value, standard, answer)
    quote, problems = quote_job(quotes["1"].job, catalog, book, PRICED_ON, ())
    assert quote is not None, problems
    return quote


@pytest.fixture(scope="module")
def crew(changed: Quote) -> str:
    """Its crew's page of the option better, as text."""
    page = crew_files(changed, changed.options[1], (TEMPLATES,), False)["crew-better.html"].decode()
    return re.sub(r"\s+", " ", re.sub(r"<[^>]*>", "", page)).replace("&#34;", '"')


@pytest.mark.parametrize(("said", "old"), [
    ("over 40 lb (18 kg): two people lift", "50 lb"),  # 40 x 0.4536 = 18.1
    ("Over 40 lb (18 kg) two people lift", "50 lb"),
    ("at most 95 F (35 C)", "85 F"),  # (95 - 32) / 1.8 = 35
    ("70 dB, 68 to 72", "66 to 74"),  # listening_level.csv: 70 dB in the background
    ('nearer than 1 1/2" (38 mm) to the face of a stud', "1 1/4 in (32"),
    ("wear protection above 88 dB(A)", "85 dB(A)"),
    ("levels above 88 dB(A) for hours harm", "85 dB(A)"),
])
def test_the_crew_reads_the_limits_of_the_catalogue(crew: str, said: str, old: str) -> None:
    assert (said in crew, old in crew) == (True, False)


@pytest.mark.parametrize(("locale", "said"), [
    ("en_US", "about 65 decibels are safe all day, 88 decibels for 4 hours"),
    ("de_DE", "Etwa 65 Dezibel sind den ganzen Tag unbedenklich, 88 Dezibel 4 Stunden"),
    ("fr_FR", "environ 65 décibels sont sans danger toute la journée, 88 décibels pendant 4 heures"),
    ("es_ES", "unos 65 decibelios son seguros todo el día, 88 decibelios durante 4 horas"),
])
def test_the_family_reads_how_long_ears_bear_the_catalogue_s_level(changed: Quote, locale: str, said: str) -> None:
    # NIOSH 98-126: 85 dB(A) for 8 hours, half the time for each 3 dB more, so that 88 dB(A) are 4 hours
    formats = formats_for(locale, changed.pricing.currency, changed.job.unit_system, locale[:2])
    assert said in handover_view(changed, changed.options[1], formats, language_for(locale, {})).safety[0]


def test_a_keypad_that_nobody_counted_has_as_many_lines_for_the_owner_as_for_the_crew(changed: Quote) -> None:
    option = changed.options[1]
    keypads = tuple({**row, "buttons": 0} for row in option.facts["keypad"])
    option = replace(option, facts={**option.facts, "keypad": keypads})
    quote = replace(changed, options=(changed.options[0], option, changed.options[2]))
    formats = formats_for("en_US", quote.pricing.currency, quote.job.unit_system, "en")
    cards = handover_view(quote, option, formats, language_for("en_US", {})).cards
    assert {row.count("") for row in keypad_functions(quote, option).rows} == {5}
    assert {card.buttons for card in cards} == {5, 0}  # none on the telephone's

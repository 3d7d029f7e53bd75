"""Words of the proposal that depend on what was answered and decided."""

from __future__ import annotations

import pytest
from msgspec.structs import replace

from quoting.documents.formats import formats_for
from quoting.documents.language import language_for
from quoting.documents.proposal_answers import answer_words
from quoting.documents.proposal_words import (
    before_phase,
    floor_title,
    listed,
    phase_title,
    recommendation_words,
    speaker_words,
)
from quoting.quote import RecommendationBasis
from quoting.units import UnitSystem
from tests.builders import make_quote

ENGLISH = language_for("en_US", {})
OPTIONS = {"good": "Good", "better": "Better"}


def answer(attribute: str, text: str, system: UnitSystem = "imperial", locale: str = "en_US") -> str:
    formats = formats_for(locale, "EUR", system)
    return answer_words(attribute, text, OPTIONS, formats, language_for(locale, {}))


@pytest.mark.parametrize(("attribute", "text", "said"), [
    ("above", "rated", "a fire-rated ceiling"), ("wall_state", "open remodel", "walls opened by the remodel"),
    ("access", "none", "from neither side"), ("reuse_cable", "no", "no"), ("control", "keypad", "Keypad on the wall"),
    ("plays_from", "good", "Good"), ("plays_from", "later", "music later"), ("router_owner", "not said", "not said"),
    ("obstacles", "two beams", "two beams"), ("storeys", "3", "3"),
])
def test_an_answer_is_said_in_the_customers_words(attribute: str, text: str, said: str) -> None:
    assert answer(attribute, text) == said


# 1 ft = 0.3048 m, 1 in = 25.4 mm: 14 ft = 4.2672 m, 12 in = 0.3048 m.
@pytest.mark.parametrize(("attribute", "text", "system", "locale", "said"), [
    ("ceiling_height_m", "4.27", "imperial", "en_US", "14 ft"),
    ("ceiling_height_m", "9 ft", "imperial", "en_US", "9 ft"),
    ("ceiling_height_m", "4.27", "metric", "de_DE", "4,3 m"),
    ("joist_spacing_m", "0.305", "imperial", "en_US", "12 in"),
    ("joist_spacing_m", "16 in", "imperial", "en_US", "16 in"),
    ("joist_spacing_m", "40 cm", "metric", "de_DE", "40 cm"),
    ("travel_hours", "1.5", "metric", "de_DE", "1,5 Std."),
    ("internet_live", "2026-06-01", "metric", "de_DE", "1. Juni 2026"),
])
def test_a_measured_answer_is_written_as_the_locale_writes_it(
    attribute: str, text: str, system: UnitSystem, locale: str, said: str
) -> None:
    assert answer(attribute, text, system, locale) == said


@pytest.mark.parametrize(("basis", "over", "said"), [
    ("priority", (), "Because you asked."),
    ("budget", ("best",), "Recommended because it keeps to the budget. Best would cost more than the budget."),
    ("enough", (), "Recommended because it does all that you asked for, and costs the least."),
    ("fullest", ("better", "best"), "Recommended as the fullest option within the budget. "
                                    "Better and Best would cost more than the budget."),
    ("closest", (), "Every option costs more than the budget; this one is the closest to it."),
])
def test_a_recommendation_says_why(basis: RecommendationBasis, over: tuple[str, ...], said: str) -> None:
    quote = make_quote()
    recommendation = replace(quote.recommendation, basis=basis, reason="Because you asked.", over_budget=over)
    assert recommendation_words(replace(quote, recommendation=recommendation), ENGLISH) == said


@pytest.mark.parametrize(("number", "title"), [(-2, "Basement level 2"), (-1, "Basement"), (0, "Ground floor"),
                                               (2, "Floor 2")])
def test_a_floor_has_a_title(number: int, title: str) -> None:
    assert floor_title(number, ENGLISH) == title


@pytest.mark.parametrize(("mount", "outdoor", "stereo", "owned", "said"), [
    ("surface", True, False, False, "2 outdoor speakers"), ("ceiling", False, True, False, "2 stereo ceiling speakers"),
    ("wall", False, True, True, "2 stereo speakers, yours"), ("garden", True, False, False, "2 garden speakers"),
    ("other", False, False, False, "2 speakers"),
])
def test_speakers_are_told_by_how_they_are_fitted(
    mount: str, outdoor: bool, stereo: bool, owned: bool, said: str
) -> None:
    assert speaker_words(2, mount, outdoor, stereo, owned, ENGLISH) == said


@pytest.mark.parametrize(("count", "said"), [(3, "A, A, and A"), (4, "A, A, and 2 more")])
def test_a_list_that_is_one_too_long_is_not_cut(count: int, said: str) -> None:
    assert listed(["A"] * count, ENGLISH, most=2) == said


def test_a_phase_is_told_in_plain_words() -> None:
    assert (phase_title("rough-in", ENGLISH), before_phase("rough-in", ENGLISH), before_phase("", ENGLISH)) == (
        "Cabling", "before cabling", "")

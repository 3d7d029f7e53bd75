"""The message catalogues say everything that templates and documents say, and are compiled from what is translated."""

from __future__ import annotations

import gettext
import re
from typing import Any

import pytest
from babel.messages.catalog import Catalog, Message

from quoting.documents.language import LOCALES, Language, language_for
from tests.documents.make_messages import extracted, languages, translated

SAID = extracted()
LANGUAGES = languages()


def key(message: Message) -> object:
    return (message.context, tuple(message.id) if isinstance(message.id, list | tuple) else message.id)


def texts(message: Message) -> tuple[str, ...]:
    return tuple(message.string) if isinstance(message.string, list | tuple) else (str(message.string),)


def places(text: str) -> set[str]:
    return set(re.findall(r"%\(\w+\)s|%%", text))


def said(catalog: Catalog) -> dict[object, Message]:
    return {key(message): message for message in catalog if message.id}


def test_the_languages_are_spanish_french_and_german_beside_english() -> None:
    assert LANGUAGES == ["de", "es", "fr"]


@pytest.mark.parametrize("code", LANGUAGES)
def test_every_sentence_is_translated(code: str) -> None:
    known = said(translated(code))
    assert [name for name in said(SAID) if name not in known or not all(texts(known[name]))] == [], (
        "Run python -m tests.documents.make_messages, translate what it lists, run it again.")


@pytest.mark.parametrize("code", LANGUAGES)
def test_no_translation_is_fuzzy(code: str) -> None:
    assert [name for name, message in said(translated(code)).items() if message.fuzzy] == []


@pytest.mark.parametrize("code", LANGUAGES)
def test_no_translation_is_of_a_sentence_that_nothing_says(code: str) -> None:
    assert said(translated(code)).keys() - said(SAID).keys() == set()


@pytest.mark.parametrize("code", LANGUAGES)
def test_a_translation_has_the_places_of_its_sentence(code: str) -> None:
    wrong = [(message.id, text) for message in translated(code) if message.id for text in texts(message)
             if places(text) != places(message.id if isinstance(message.id, str) else message.id[-1])]
    assert wrong == []


@pytest.mark.parametrize("code", LANGUAGES)
def test_a_translation_has_as_many_plural_forms_as_its_language(code: str) -> None:
    catalog = translated(code)
    assert [message.id for message in catalog if message.pluralizable and message.id
            and len(texts(message)) != catalog.num_plurals] == []


@pytest.mark.parametrize("code", LANGUAGES)
def test_the_compiled_catalogue_holds_what_is_translated(code: str) -> None:
    with (LOCALES / code / "LC_MESSAGES" / "messages.mo").open("rb") as stream:
        compiled: Any = gettext.GNUTranslations(stream)
    wanted = {}
    for message in translated(code):
        if isinstance(message.id, list | tuple):
            wanted.update({(message.id[0], form): text for form, text in enumerate(message.string)})
        elif message.id:
            wanted[f"{message.context}\x04{message.id}" if message.context else message.id] = message.string
    assert {name: text for name, text in compiled._catalog.items() if name} == wanted


# ---------------------------------------------------------------- which words a document gets

def words(locale: str, wording: dict[str, dict[str, str]] | None = None) -> Language:
    return language_for(locale, wording or {})


@pytest.mark.parametrize(("locale", "text"), [
    ("en_US", "Acceptance"), ("es_MX", "Aceptación"), ("fr_FR", "Acceptation"), ("de-CH", "Annahme"),
])
def test_a_sentence_is_in_the_language_of_the_locale(locale: str, text: str) -> None:
    assert words(locale).gettext("Acceptance") == text


def test_a_firms_own_wording_comes_before_the_programs() -> None:
    assert words("de_DE", {"de": {"Acceptance": "Auftrag"}}).gettext("Acceptance") == "Auftrag"


def test_a_sentence_that_no_catalogue_has_is_english() -> None:
    assert words("de_DE").gettext("A sentence of a firm's own template.") == "A sentence of a firm's own template."


def test_a_language_without_a_catalogue_gives_english() -> None:
    speaks = words("sv_SE", {"en": {"Acceptance": "Agreement"}})
    assert (speaks.code, speaks.gettext("Acceptance")) == ("en", "Agreement")


def test_a_firm_may_add_a_language_by_its_wording() -> None:
    speaks = words("it_IT", {"it": {"Acceptance": "Accettazione"}})
    assert (speaks.code, speaks.gettext("Acceptance")) == ("it", "Accettazione")


@pytest.mark.parametrize(("code", "direction"), [("he", "rtl"), ("ar", "rtl"), ("it", "ltr")])
def test_a_language_runs_as_its_script_does(code: str, direction: str) -> None:
    assert words(code, {code: {}}).direction == direction


# CLDR plural rules: French counts nothing as one, English, German and Spanish as many.
@pytest.mark.parametrize(("locale", "num", "text"), [
    ("en_US", 0, "0 rooms"), ("en_US", 1, "1 room"), ("de_DE", 0, "0 Räume"), ("es_ES", 0, "0 estancias"),
    ("fr_FR", 0, "0 pièce"), ("fr_FR", 2, "2 pièces"),
])
def test_a_count_takes_the_form_of_its_language(locale: str, num: int, text: str) -> None:
    assert words(locale).ngettext("%(num)s room", "%(num)s rooms", num) == text


@pytest.mark.parametrize(("num", "text"), [(1, "1 space"), (2, "2 spaces")])
def test_a_firm_words_one_and_many(num: int, text: str) -> None:
    own = {"en": {"%(num)s room": "%(num)s space", "%(num)s rooms": "%(num)s spaces"}}
    assert words("en_US", own).ngettext("%(num)s room", "%(num)s rooms", num) == text


# CLDR list patterns, standard style.
@pytest.mark.parametrize(("locale", "text"), [
    ("en_US", "A, B, and C"), ("en_GB", "A, B and C"), ("de_DE", "A, B und C"), ("es_ES", "A, B y C"),
    ("fr_FR", "A, B et C"),
])
def test_names_are_listed_as_the_language_lists_them(locale: str, text: str) -> None:
    assert words(locale).listed(["A", "B", "C"]) == text

"""The words of a customer's document in the job's language, by message catalogues in the form that GNU gettext uses.

A sentence is looked for in the firm's own wording, then in the program's catalogue (quoting/locale), and is English
otherwise. A locale whose language neither the program nor the firm speaks gives English.
"""

from __future__ import annotations

import gettext as messages
import re
import struct
from collections.abc import Iterable, Mapping
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from quoting.documents.formats import find_locale

if TYPE_CHECKING:
    from babel import Locale

    from quoting.quote import Quote

LOCALES = Path(__file__).resolve().parents[1] / "locale"
ENGLISH = "en"
_PLACE = re.compile(r"%\((\w+)\)s|%%")

Wording = Mapping[str, Mapping[str, str]]  # language -> a phrase in English -> what this firm says instead


def in_english(quote: Quote, text: str) -> str:
    """A text of the catalogue as the office and the crew read it, whatever language the customer reads it in."""
    return quote.english.get(text, text)


def N_(message: str) -> str:
    """Marks a sentence of a table for extraction; it is translated where it is used."""
    return message


class Language:
    """One language as a document speaks it.

    `code` is the language of the words, for the page's `lang`; `direction` is ltr or rtl. Named places in a message
    (`%(rooms)s`) are filled with the keyword arguments; `%%` is a percent sign.
    """

    def __init__(self, locale: Locale, own: Mapping[str, str], program: messages.NullTranslations) -> None:
        self.code: str = locale.language
        self.direction: str = locale.text_direction
        self._locale = locale
        self._own = own
        self._program = program

    def gettext(self, message: str, /, **values: object) -> str:
        """A message in this language."""
        return filled(self.message(message), values)

    def ngettext(self, singular: str, plural: str, num: int, /, **values: object) -> str:
        """A message that counts, in the form that this language has for the number; `%(num)s` is the number."""
        return filled(self.counted(singular, plural, num), {"num": num, **values})

    def pgettext(self, context: str, message: str, /, **values: object) -> str:
        """A message whose English means two things, told apart by its context."""
        return filled(self.message(message, context), values)

    def message(self, message: str, context: str = "") -> str:
        """A message with its places not filled yet."""
        if message in self._own:
            return self._own[message]
        return self._program.pgettext(context, message) if context else self._program.gettext(message)

    def counted(self, singular: str, plural: str, num: int) -> str:
        """A message that counts, with its places not filled yet. A firm words the two English forms: one, and many."""
        english = singular if num == 1 else plural
        return self._own[english] if english in self._own else self._program.ngettext(singular, plural, num)

    def listed(self, names: Iterable[str]) -> str:
        """Names as this language joins them: "Kitchen, Bath, and Patio"; "Küche, Bad und Terrasse"."""
        from babel.lists import format_list

        return format_list(tuple(names), "standard", self._locale)


def language_for(locale: str, wording: Wording) -> Language:
    """The language of a job's locale ("de_AT"), with the firm's own wording of it and of English (Firm.wording)."""
    wanted = find_locale(locale)
    if wanted.language not in wording and not _catalogue(wanted.language).is_file():
        wanted = wanted if wanted.language == ENGLISH else find_locale(ENGLISH)
    return Language(wanted, wording.get(wanted.language, {}), _translations(wanted.language))


def spoken_languages() -> tuple[str, ...]:
    """The languages that the program has words of."""
    return (ENGLISH, *sorted(path.name for path in LOCALES.iterdir() if _catalogue(path.name).is_file()))


def program_phrases() -> frozenset[str]:
    """Everything that the program says, in English, both forms of what counts: as its message catalogues hold it."""
    raw = _catalogue(spoken_languages()[-1]).read_bytes()
    order = "<" if raw[:4] == b"\xde\x12\x04\x95" else ">"
    count, first = struct.unpack(f"{order}8x2I", raw[:16])
    places = struct.iter_unpack(f"{order}2I", raw[first:first + 8 * count])
    texts = [raw[start:start + length].decode() for length, start in places]
    return frozenset(form for text in texts for form in text.partition("\x04")[2 if "\x04" in text else 0].split("\0")
                     if form)


def filled(text: str, values: Mapping[str, object]) -> str:
    """The text with its named places filled; a place that has no value stays as it is.

    >>> filled("%(rooms)s, at 5%% off", {"rooms": "Kitchen"})
    'Kitchen, at 5% off'
    """
    return _PLACE.sub(lambda place: "%" if place[0] == "%%" else str(values.get(place[1], place[0])), text)


def _catalogue(code: str) -> Path:
    return LOCALES / code / "LC_MESSAGES" / "messages.mo"


@lru_cache(maxsize=8)
def _translations(code: str) -> messages.NullTranslations:
    """The program's messages of a language; each is itself where there is no catalogue."""
    try:
        with _catalogue(code).open("rb") as stream:
            return messages.GNUTranslations(stream)
    except FileNotFoundError:
        return messages.NullTranslations()

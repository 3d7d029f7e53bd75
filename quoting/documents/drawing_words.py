"""The words of drawings: what a symbol stands for, and a room's drawing told in a sentence."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Protocol

from quoting.documents.plan_symbols import SymbolKind


class Speaks(Protocol):
    """What drawings ask of a language: messages with named places, and names joined to a list."""

    def gettext(self, message: str, /, **values: object) -> str:
        """A message."""

    def ngettext(self, singular: str, plural: str, num: int, /, **values: object) -> str:
        """A message that counts; `%(num)s` is the number."""

    def listed(self, names: Iterable[str]) -> str:
        """Names as the language joins them."""


def symbol_words(kind: SymbolKind, language: Speaks) -> str:
    """What a symbol stands for, for a legend."""
    words: Mapping[SymbolKind, str] = {
        "ceiling": language.gettext("Ceiling speaker"), "stereo": language.gettext("Stereo ceiling speaker"),
        "wall": language.gettext("Wall speaker"), "surface": language.gettext("Surface-mounted speaker"),
        "garden": language.gettext("Garden speaker"), "keypad": language.gettext("Keypad"),
        "knob": language.gettext("Volume knob"), "control": language.gettext("Place for a control"),
        "input": language.gettext("Socket for a player"), "tv": language.gettext("Television"),
        "head end": language.gettext("Where the equipment stands"),
    }
    return words[kind]


def counted_words(kind: SymbolKind, num: int, language: Speaks) -> str:
    """How many of a kind: "2 ceiling speakers"."""
    say = language.ngettext
    words: Mapping[SymbolKind, str] = {
        "ceiling": say("%(num)s ceiling speaker", "%(num)s ceiling speakers", num),
        "stereo": say("%(num)s stereo ceiling speaker", "%(num)s stereo ceiling speakers", num),
        "wall": say("%(num)s wall speaker", "%(num)s wall speakers", num),
        "surface": say("%(num)s surface-mounted speaker", "%(num)s surface-mounted speakers", num),
        "garden": say("%(num)s garden speaker", "%(num)s garden speakers", num),
        "keypad": say("%(num)s keypad", "%(num)s keypads", num),
        "knob": say("%(num)s volume knob", "%(num)s volume knobs", num),
        "control": say("%(num)s place for a control", "%(num)s places for a control", num),
        "input": say("%(num)s socket for a player", "%(num)s sockets for a player", num),
        "tv": say("%(num)s television", "%(num)s televisions", num),
        "head end": language.gettext("the equipment"),
    }
    return words[kind]


def room_sentence(
    name: str, length: str, width: str, now: Mapping[SymbolKind, int], later: Mapping[SymbolKind, int],
    language: Speaks,
) -> str:
    """A room's drawing in a sentence: what is there, and what is wired and comes later."""
    has = language.listed(counted_words(kind, num, language) for kind, num in now.items())
    waits = language.listed(counted_words(kind, num, language) for kind, num in later.items())
    values = {"room": name, "length": length, "width": width, "has": has, "waits": waits}
    if now and later:
        return language.gettext("%(room)s, %(length)s by %(width)s: %(has)s; wired for later: %(waits)s.", **values)
    if now:
        return language.gettext("%(room)s, %(length)s by %(width)s: %(has)s.", **values)
    if later:
        return language.gettext("%(room)s, %(length)s by %(width)s: wired for later: %(waits)s.", **values)
    return language.gettext("%(room)s, %(length)s by %(width)s: nothing in this option.", **values)

"""The words of drawings: what a symbol stands for, and a room's drawing told in a sentence."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from quoting.documents.language import N_, Language
from quoting.documents.plan_symbols import SymbolKind
from quoting.documents.proposal_words import isolate

_KINDS: dict[SymbolKind, str] = {
    "ceiling": N_("Ceiling speaker"), "stereo": N_("Stereo ceiling speaker"), "wall": N_("Wall speaker"),
    "surface": N_("Surface-mounted speaker"), "garden": N_("Garden speaker"), "keypad": N_("Keypad"),
    "knob": N_("Volume knob"), "control": N_("Place for a control"), "input": N_("Socket for a player"),
    "tv": N_("Television"), "head end": N_("Where the equipment stands"),
}
_COUNTED: dict[SymbolKind, Callable[[Language, int], str]] = {
    "ceiling": lambda says, num: says.ngettext("%(num)s ceiling speaker", "%(num)s ceiling speakers", num),
    "stereo": lambda says, num: says.ngettext(
        "%(num)s stereo ceiling speaker", "%(num)s stereo ceiling speakers", num),
    "wall": lambda says, num: says.ngettext("%(num)s wall speaker", "%(num)s wall speakers", num),
    "surface": lambda says, num: says.ngettext(
        "%(num)s surface-mounted speaker", "%(num)s surface-mounted speakers", num),
    "garden": lambda says, num: says.ngettext("%(num)s garden speaker", "%(num)s garden speakers", num),
    "keypad": lambda says, num: says.ngettext("%(num)s keypad", "%(num)s keypads", num),
    "knob": lambda says, num: says.ngettext("%(num)s volume knob", "%(num)s volume knobs", num),
    "control": lambda says, num: says.ngettext(
        "%(num)s place for a control", "%(num)s places for a control", num),
    "input": lambda says, num: says.ngettext("%(num)s socket for a player", "%(num)s sockets for a player", num),
    "tv": lambda says, num: says.ngettext("%(num)s television", "%(num)s televisions", num),
}


def symbol_words(kind: SymbolKind, language: Language) -> str:
    """What a symbol stands for, for a legend."""
    return language.gettext(_KINDS[kind])


def room_sentence(
    name: str, length: str, width: str, now: Mapping[SymbolKind, int], later: Mapping[SymbolKind, int],
    language: Language,
) -> str:
    """A room's drawing in a sentence: what is there, and what is wired and comes later."""
    has = language.listed(_COUNTED[kind](language, num) for kind, num in now.items())
    waits = language.listed(_COUNTED[kind](language, num) for kind, num in later.items())
    values = {"room": isolate(name), "length": length, "width": width, "has": has, "waits": waits}
    if now and later:
        return language.gettext("%(room)s, %(length)s by %(width)s: %(has)s; wired for later: %(waits)s.", **values)
    if now:
        return language.gettext("%(room)s, %(length)s by %(width)s: %(has)s.", **values)
    if later:
        return language.gettext("%(room)s, %(length)s by %(width)s: wired for later: %(waits)s.", **values)
    return language.gettext("%(room)s, %(length)s by %(width)s: nothing in this option.", **values)

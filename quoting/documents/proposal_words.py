"""Plain words for a customer: what a control, a phase, a floor, a state is called, and how names are listed."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable

from quoting.lines import Phase

NOTHING = "–"

_CONTROLS = {"phone": "Phone or tablet", "knob": "Volume knob on the wall", "keypad": "Keypad on the wall"}
_PHASES: dict[Phase, str] = {
    "survey and design": "Survey and design", "rough-in": "Cabling", "trim-out": "Fitting",
    "rack build": "Building the equipment", "commissioning": "Setting up", "handover": "Handover",
    "whole job": "Planning and care",
}
_SPEAKERS = {"ceiling": "ceiling speaker", "wall": "wall speaker", "surface": "surface-mounted speaker",
             "garden": "garden speaker"}


def control_words(control: str) -> str:
    """How a room is controlled; words that the quote already has are kept."""
    return _CONTROLS.get(control, control)


def phase_title(phase: str) -> str:
    """A phase's title for people who do not build."""
    return next((title for name, title in _PHASES.items() if name == phase), phase)


def speaker_words(count: int, mount: str, outdoor: bool, single_stereo: bool, owned: bool) -> str:
    """"2 ceiling speakers", "1 stereo ceiling speaker", "2 outdoor speakers, yours"."""
    kind = "outdoor speaker" if outdoor and mount == "surface" else _SPEAKERS.get(mount, "speaker")
    stereo = "stereo " if single_stereo else ""
    return f"{count} {stereo}{kind}{'' if count == 1 else 's'}{', yours' if owned else ''}"


def floor_title(number: int) -> str:
    """A floor's title; floors are numbered as the drawings number them."""
    if number < 0:
        return "Basement" if number == -1 else f"Basement level {-number}"
    return "Ground floor" if number == 0 else f"Floor {number}"


def count_words(count: int, one: str, many: str = "") -> str:
    """"1 room", "4 rooms"."""
    return f"{count} {one if count == 1 else many or one + 's'}"


def listed(names: Iterable[str], most: int = 0) -> str:
    """"Kitchen, Bath and Patio": each name as it was typed; beyond `most` names the rest is counted: "and 5 more"."""
    kept = [isolate(name) for name in names]
    if most and len(kept) > most + 1:
        kept = [*kept[:most], f"{len(kept) - most} more"]
    return f"{', '.join(kept[:-1])} and {kept[-1]}" if len(kept) > 1 else "".join(kept)


def isolate(text: str) -> str:
    """A text that runs right to left, set apart (U+2068 .. U+2069) so that its neighbours keep their order."""
    if text.isascii() or not any(unicodedata.bidirectional(letter) in ("R", "AL") for letter in text):
        return text
    return f"\u2068{text}\u2069"


def sentence(text: str) -> str:
    """The text with its first letter large."""
    return text[:1].upper() + text[1:]

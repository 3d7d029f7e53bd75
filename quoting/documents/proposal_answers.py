"""Answers to open questions in a customer's words: the intake's own words, lengths, hours and dates as they are written
in the job's language."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from decimal import Decimal

from quoting.documents.formats import Formats
from quoting.documents.language import N_, Language
from quoting.documents.proposal_words import control_words
from quoting.sheets.numbers import Unclear, parse_length, parse_number

_WORDS: Mapping[str, Mapping[str, str]] = {  # attribute -> the intake's word -> the customer's
    "above": {
        "room": N_("a room"), "quiet room": N_("a quiet room"), "insulated attic": N_("an insulated attic"),
        "roof": N_("a roof"), "rated": N_("a fire-rated ceiling"),
    },
    "construction": {
        "wood frame": N_("wood frame"), "steel frame": N_("steel frame"), "masonry": N_("masonry"),
        "concrete": N_("concrete"), "plaster and lath": N_("plaster and lath"),
    },
    "wall_state": {
        "open": N_("open walls"), "open remodel": N_("walls opened by the remodel"), "finished": N_("finished walls"),
    },
    "setting": {"dry": N_("dry"), "damp": N_("damp"), "wet": N_("wet"), "outdoor": N_("outdoors")},
    "mount": {
        "ceiling": N_("ceiling speakers"), "wall": N_("wall speakers"), "surface": N_("surface-mounted speakers"),
        "garden": N_("garden speakers"),
    },
    "listening": {
        "background": N_("background music"), "foreground": N_("music in the foreground"), "party": N_("party level"),
    },
    "access": {
        "above": N_("from above"), "below": N_("from below"), "both": N_("from above and from below"),
        "none": N_("from neither side"),
    },
    "distance": {"near": N_("near"), "middle": N_("at a middle distance"), "far": N_("far")},
    "joists": {"along": N_("along the room"), "across": N_("across the room")},
    "payer": {"owner": N_("the owner"), "builder": N_("the builder")},
    "colour": {"white": N_("white"), "other": N_("another colour")},
    "plays_from": {"later": N_("music later"), "never": N_("no music")},
}
_ANY = {"yes": N_("yes"), "no": N_("no"), "none": N_("none"), "not said": N_("not said")}


def answer_words(attribute: str, answer: str, options: Mapping[str, str], formats: Formats, language: Language) -> str:
    """An answer as `OpenQuestion.used` and `worse` have it: a word, or a length that is in metres where it is bare.

    `options`: what the customer calls each option. A word that is not the intake's own stays as it is.
    """
    if answer in _WORDS.get(attribute, {}):
        return language.gettext(_WORDS[attribute][answer])
    if attribute == "control":
        return control_words(answer, language)
    if attribute == "plays_from" and answer in options:
        return options[answer]
    if answer in _ANY:
        return language.gettext(_ANY[answer])
    return _measured(attribute, answer, formats) or answer


def _measured(attribute: str, answer: str, formats: Formats) -> str:
    """A length, hours or a date as the locale writes it; "" for anything else."""
    try:
        if attribute.endswith("_m"):
            length_m = parse_length(answer, 1.0)
            if length_m is None:
                return ""
            return formats.spacing(length_m) if "spacing" in attribute else formats.length(length_m)
        hours = parse_number(answer) if attribute.endswith("_hours") else None
        if hours is not None:
            return formats.measure(Decimal(hours), "h")
        return formats.date(datetime.date.fromisoformat(answer))
    except (Unclear, ValueError):
        return ""

"""Plain words for a customer: what a control, a phase, a floor, a speaker is called, and how names are listed."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Iterable

from quoting.documents.language import N_, Language
from quoting.lines import Phase
from quoting.quote import PricedOption, Quote

NOTHING = "–"

_CONTROLS = {
    "phone": N_("Phone or tablet"), "knob": N_("Volume knob on the wall"), "keypad": N_("Keypad on the wall"),
}
_PHASES: dict[Phase, str] = {
    "survey and design": N_("Survey and design"), "rough-in": N_("Cabling"), "trim-out": N_("Fitting"),
    "rack build": N_("Building the equipment"), "commissioning": N_("Setting up"), "handover": N_("Handover"),
    "whole job": N_("Planning and care"),
}
_BEFORE: dict[Phase, str] = {
    "survey and design": N_("before survey and design"), "rough-in": N_("before cabling"),
    "trim-out": N_("before fitting"), "rack build": N_("before building the equipment"),
    "commissioning": N_("before setting up"), "handover": N_("before handover"), "whole job": N_("before the work"),
}
_RECOMMENDED: dict[str, str] = {
    "budget": N_("Recommended because it keeps to the budget."),
    "fullest": N_("Recommended as the fullest option within the budget."),
    "enough": N_("Recommended because it does all that you asked for, and costs the least."),
    "closest": N_("Every option costs more than the budget; this one is the closest to it."),
}
_SPEAKERS: dict[str, Callable[[Language, int], str]] = {
    "ceiling": lambda says, num: says.ngettext("%(num)s ceiling speaker", "%(num)s ceiling speakers", num),
    "wall": lambda says, num: says.ngettext("%(num)s wall speaker", "%(num)s wall speakers", num),
    "surface": lambda says, num: says.ngettext(
        "%(num)s surface-mounted speaker", "%(num)s surface-mounted speakers", num),
    "garden": lambda says, num: says.ngettext("%(num)s garden speaker", "%(num)s garden speakers", num),
    "outdoor": lambda says, num: says.ngettext("%(num)s outdoor speaker", "%(num)s outdoor speakers", num),
    "stereo ceiling": lambda says, num: says.ngettext(
        "%(num)s stereo ceiling speaker", "%(num)s stereo ceiling speakers", num),
    "stereo": lambda says, num: says.ngettext("%(num)s stereo speaker", "%(num)s stereo speakers", num),
    "": lambda says, num: says.ngettext("%(num)s speaker", "%(num)s speakers", num),
}


def control_words(control: str, language: Language) -> str:
    """How a room is controlled; words that the quote already has are kept."""
    return language.gettext(_CONTROLS[control]) if control in _CONTROLS else control


def phase_title(phase: Phase, language: Language) -> str:
    """A phase's title for people who do not build."""
    return language.gettext(_PHASES[phase])


def before_phase(phase: str, language: Language) -> str:
    """By when something is asked for: "before cabling"; "" where no phase is named."""
    return next((language.gettext(before) for name, before in _BEFORE.items() if name == phase), "")


def speaker_words(
    count: int, mount: str, outdoor: bool, single_stereo: bool, owned: bool, language: Language
) -> str:
    """"2 ceiling speakers", "1 stereo ceiling speaker", "2 outdoor speakers, yours"."""
    kind = "outdoor" if outdoor and mount == "surface" else mount
    if single_stereo:
        kind = "stereo ceiling" if mount == "ceiling" else "stereo"
    speakers = _SPEAKERS.get(kind, _SPEAKERS[""])(language, count)
    return language.gettext("%(speakers)s, yours", speakers=speakers) if owned else speakers


def floor_title(number: int, language: Language) -> str:
    """A floor's title; floors are numbered as the drawings number them."""
    if number < -1:
        return language.gettext("Basement level %(number)s", number=-number)
    if number <= 0:
        return language.gettext("Basement") if number else language.gettext("Ground floor")
    return language.gettext("Floor %(number)s", number=number)


def listed(names: Iterable[str], language: Language, most: int = 0) -> str:
    """"Kitchen, Bath, and Patio": each name as it was typed; beyond `most` names the rest is counted: "5 more"."""
    kept = [isolate(name) for name in names]
    if most and len(kept) > most + 1:
        more = language.ngettext("%(num)s more", "%(num)s more", len(kept) - most)
        kept = [*kept[:most], more]
    return language.listed(kept)


def isolate(text: str) -> str:
    """A text that runs right to left, set apart (U+2068 .. U+2069) so that its neighbours keep their order."""
    if text.isascii() or not any(unicodedata.bidirectional(letter) in ("R", "AL") for letter in text):
        return text
    return f"\u2068{text}\u2069"


def option_title(option: PricedOption) -> str:
    """What the customer calls an option in headings: its title up to a colon, "Good" of "Good: the rooms you use"."""
    return option.title.partition(":")[0].strip() or sentence(option.name)


def recommendation_words(quote: Quote, language: Language) -> str:
    """Why an option is recommended, and which ones cost more than the budget."""
    said = quote.recommendation
    reason = said.reason if said.basis == "priority" else language.gettext(_RECOMMENDED[said.basis])
    over = [option_title(option) for option in quote.options if option.name in said.over_budget]
    if not over:
        return reason
    return f"{reason} " + language.ngettext("%(options)s would cost more than the budget.",
                                            "%(options)s would cost more than the budget.", len(over),
                                            options=language.listed(over))


def sentence(text: str) -> str:
    """The text with its first letter large."""
    return text[:1].upper() + text[1:]

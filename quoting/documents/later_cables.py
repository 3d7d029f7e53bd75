"""What a cable that nothing is on yet waits for: the same words on its tag and in the owner's list."""

from __future__ import annotations

from quoting.documents.floor_plan import FactRow
from quoting.documents.language import N_

SPARE = N_("spare")
_LOUDSPEAKERS = N_("for later loudspeakers")
_WAITS_FOR = {
    "control": N_("for a later control"), "home run": _LOUDSPEAKERS, "speaker leg": _LOUDSPEAKERS,
    "line": _LOUDSPEAKERS, "room input": N_("for a later player socket"), "tv return": N_("for a later television"),
}


def waits_for(run: FactRow) -> str:
    """In English: a spare one lies beside another that is used, or will be.

    >>> waits_for({"purpose": "control", "spare": False}), waits_for({"purpose": "control", "spare": True})
    ('for a later control', 'spare')
    """
    return SPARE if run["spare"] else _WAITS_FOR.get(run["purpose"], SPARE)

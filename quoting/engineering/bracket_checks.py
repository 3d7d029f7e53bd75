"""Brackets belong in open framing and nowhere else: both slips are told of."""

from __future__ import annotations

from collections.abc import Iterator

from quoting.engineering.brief import Brief, Result, is_open
from quoting.facts import ExtraPart, Place
from quoting.problems import Problem, warning


def check_brackets(brief: Brief) -> Result:
    """No facts: a warning for a loudspeaker in open framing without a bracket or box, and one for a bracket asked for
    in finished walls."""
    return (), (*dict.fromkeys(_no_bracket(brief)), *_bracket_in_retrofit(brief))


def _no_bracket(brief: Brief) -> Iterator[Problem]:
    for place in brief.of(Place):
        room = brief.rooms[place.room]
        fixed = place.device == "speaker" and place.mount in ("ceiling", "wall") and not room.reuse_speakers
        if fixed and is_open(room) and not place.bracket and not place.back_box:
            yield warning(
                room.where("mount")[0], "no-bracket",
                f"The {place.mount} loudspeakers of '{room.name}' have no bracket for the open framing: board goes "
                "over their places unmarked, and every hole is searched for and cut afterwards.",
                "Name a bracket for the model in parts/speakers.csv, or choose a model that has one.")


def _bracket_in_retrofit(brief: Brief) -> Iterator[Problem]:
    brackets = {spec.bracket for spec in brief.catalog.speakers.values()} - {""}
    for extra in brief.of(ExtraPart):
        room = brief.rooms.get(extra.room)
        state = room.wall_state if room else extra.wall_state
        if extra.part in brackets and state == "finished":
            yield warning(
                extra.where[0], "bracket-in-retrofit",
                f"'{extra.part}' is a bracket for open framing and the walls of "
                f"{repr(room.name) if room else 'this house'} are finished: it cannot be fixed behind board.",
                "Delete the extra, or correct the wall state.")

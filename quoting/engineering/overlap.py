"""How the circles that ceiling loudspeakers cover overlap: the count of mono zones, advice for stereo rooms."""

from __future__ import annotations

from typing import cast

from msgspec import Struct

from quoting.engineering.acoustics import Grid, Pattern, coverage_diameter_m, pattern_count, pattern_spacing_m
from quoting.engineering.brief import Brief, ceiling_middle_m, outdoor
from quoting.engineering.places import speaker_role
from quoting.job import Room

WIDEST_DEG = 150.0  # wider cones cover a ceiling's whole reach on paper only (common practice, no source)


class Overlap(Struct, frozen=True, kw_only=True):
    """What a pattern asks of a room; all empty where its speakers do not hang on a ceiling."""

    coverage_diameter_m: float = 0.0
    pattern: str = ""
    grid: str = ""
    spacing_m: float = 0.0
    speakers: int = 0
    variation_db: float = 0.0
    decided: tuple[str, ...] = ()


def overlap_of(brief: Brief, room: Room, mono: bool) -> Overlap:
    """The pattern for the room's feed and listening, with the option's own model at the height of its ceiling."""
    role, _ = speaker_role(brief, room, single_stereo=False)
    spec = brief.catalog.speakers.get(brief.part_for(role))
    if room.mount != "ceiling" or spec is None:
        return Overlap()
    ask = brief.catalog.standards.ask
    plane = ask("listening_plane", outdoor=outdoor(room))
    answer = ask("overlap_pattern", feed="mono" if mono else "stereo", listening=room.listening)
    covered = coverage_diameter_m(ceiling_middle_m(room), plane.number("ear_m"), min(spec.coverage_deg, WIDEST_DEG))
    if covered <= 0:
        return Overlap()
    pattern, grid = cast(Pattern, answer.text("pattern")), cast(Grid, answer.text("grid"))
    spacing = pattern_spacing_m(covered, pattern, grid)
    return Overlap(
        coverage_diameter_m=round(covered, 3), pattern=pattern, grid=grid, spacing_m=round(spacing, 3),
        speakers=pattern_count(room.length_m, room.width_m, spacing, grid),
        variation_db=answer.number("variation_db"), decided=(answer.decided, plane.decided))

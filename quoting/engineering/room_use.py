"""What each option does in each room: live, wired-only or out; how many pairs; which control."""

from __future__ import annotations

import math

from quoting.engineering.brief import Brief, Result, outdoor, rows_of, site
from quoting.engineering.overlap import Overlap, overlap_of
from quoting.facts import Fact, RoomUse
from quoting.job import Control, Room, Zone
from quoting.problems import Problem, warning


def room_uses(brief: Brief) -> Result:
    """One RoomUse for every room, whatever its state."""
    facts: list[Fact] = []
    problems: list[Problem] = []
    zones = {zone.number: zone for zone in brief.job.zones}
    for room in brief.job.rooms:
        use, worries = _use(brief, room, zones.get(room.zone))
        facts.append(use)
        problems.extend(worries)
    return tuple(facts), tuple(problems)


def _use(brief: Brief, room: Room, zone: Zone | None) -> tuple[RoomUse, list[Problem]]:
    state, decided = _state(brief, room)
    mono = zone is not None and (zone.mono or zone.line != "low impedance")
    overlap = overlap_of(brief, room, mono)
    form, pairs, worries, by = _pairs(brief, room, overlap if mono else None)
    live = state == "live"
    control, control_by = _control(brief, room)
    single = form == "single-stereo"
    return RoomUse(
        id=f"{room.code}-USE", **site(room, brief.job),
        where=room.where("", "plays_from", "kind", _pairs_cell(brief, room)),
        decided=rows_of((decided, *by, *overlap.decided, control_by)), state=state, kind=room.kind,
        listening=room.listening, mount=room.mount, pairs=pairs,
        speakers=(pairs if single else 2 * pairs) if live else 0,
        single_stereo=single, control=control, keypads=(0 if control == "phone" else 1 + room.second_control)
        if live else 0, sub_zone=room.sub_zone, room_input=room.room_input, tv=room.tv, colour=room.colour,
        custom_colour=room.colour.strip().lower() not in ("", "white"), area_m2=room.area_m2,
        reuse_speakers=room.reuse_speakers, reuse_cable=room.reuse_cable,
        near_water=room.near_water, coverage_diameter_m=overlap.coverage_diameter_m, pattern=overlap.pattern,
        grid=overlap.grid, spacing_m=overlap.spacing_m, pattern_speakers=overlap.speakers,
    ), worries


def _state(brief: Brief, room: Room) -> tuple[str, str]:
    options = brief.catalog.options
    if room.plays_from in options:
        plays = "now" if options.index(room.plays_from) <= options.index(brief.option) else "in a later option"
    else:
        plays = room.plays_from
    answer = brief.catalog.standards.ask("room_state", wall_state=room.wall_state, plays=plays)
    return answer.text("state"), answer.decided


def _control(brief: Brief, room: Room) -> tuple[Control, str]:
    """The control given: a sub-zone always has a volume knob of its own."""
    if room.sub_zone:
        return "knob", ""
    daily = brief.catalog.standards.ask("room_kinds", kind=room.kind).yes("daily")
    answer = brief.catalog.standards.ask("control_given", option=brief.option, wanted=room.control, daily=daily)
    control: Control = answer.text("control")  # type: ignore[assignment]
    return control, answer.decided


def _pairs(
    brief: Brief, room: Room, overlap: Overlap | None
) -> tuple[str, int, list[Problem], tuple[str, ...]]:
    """Form, pairs (or single-stereo speakers) in this option, worries, standards rows. What was typed wins.

    `overlap` counts the ceiling pairs of a mono zone; None in stereo.
    """
    form, counted, decided = count_pairs(brief, room, overlap)
    typed = room.pairs_by_option.get(brief.option, room.pairs)
    if typed is not None:
        worries = []
        if typed < counted and brief.option == brief.catalog.options[-1]:
            worries.append(warning(
                room.where(_pairs_cell(brief, room))[0], "fewer-pairs-than-standard",
                f"'{typed}' pairs are fewer than the {counted} that {_counted_by(brief, overlap)} asks for in "
                f"'{room.name}' ({room.listening}).",
                "Keep it if the customer knows, or leave the cell blank."))
        return form, typed, worries, decided
    fewest = brief.catalog.standards.ask("option_pairs", option=brief.option, full_pairs=counted)
    return form, min(counted, int(fewest.number("at_most"))), [], (*decided, fewest.decided)


def _pairs_cell(brief: Brief, room: Room) -> str:
    """The attribute of the cell that holds the count: the option's own column, else the one for all."""
    return f"pairs:{brief.option}" if brief.option in room.pairs_by_option else "pairs"


def _counted_by(brief: Brief, overlap: Overlap | None) -> str:
    if overlap is not None and overlap.speakers:
        return f"the {overlap.pattern} overlap pattern of a mono zone"
    return f"the counting standard '{brief.job.counting_standard}'"


def count_pairs(brief: Brief, room: Room, overlap: Overlap | None = None) -> tuple[str, int, tuple[str, ...]]:
    """Form ("pair" or "single-stereo"), how many by the chosen counting standard, and the rows that decided.

    A mono zone's ceiling speakers are counted by the overlap pattern, two of them a pair.
    """
    ask = brief.catalog.standards.ask
    longest, shortest = max(room.length_m, room.width_m), min(room.length_m, room.width_m)
    form = ask("speaker_form", outdoor=outdoor(room), mount=room.mount, area_m2=room.area_m2, shortest_m=shortest)
    if form.text("form") == "single-stereo":
        spacing = form.number("spacing_m")
        return "single-stereo", max(1, math.ceil(longest / spacing - 1e-9)) if spacing else 1, (form.decided,)
    if overlap is not None and overlap.speakers:
        return "pair", math.ceil(overlap.speakers / 2), (form.decided, *overlap.decided)
    count = ask("speaker_count", counting_standard=brief.job.counting_standard, listening=room.listening,
                outdoor=outdoor(room), ceiling_height_m=room.ceiling_height_m, area_m2=room.area_m2)
    per_pair = count.number("area_per_pair_m2")
    by_area = math.ceil(room.area_m2 / per_pair - 1e-9) if per_pair else 0
    extra = ask("extra_pair", area_m2=room.area_m2, slenderness=longest / shortest)
    pairs = max(1, int(count.number("pairs")), by_area) + int(extra.number("extra_pairs"))
    return "pair", pairs, (form.decided, count.decided, extra.decided)

"""What each option does in each room: live, wired-only or out; how many pairs; which control."""

from __future__ import annotations

import math

from quoting.engineering.brief import Brief, Result, outdoor, rows_of, site
from quoting.facts import Fact, RoomUse
from quoting.job import Control, Room
from quoting.problems import Problem, warning


def room_uses(brief: Brief) -> Result:
    """One RoomUse for every room, whatever its state."""
    facts: list[Fact] = []
    problems: list[Problem] = []
    for room in brief.job.rooms:
        use, worries = _use(brief, room)
        facts.append(use)
        problems.extend(worries)
    return tuple(facts), tuple(problems)


def _use(brief: Brief, room: Room) -> tuple[RoomUse, list[Problem]]:
    state, decided = _state(brief, room)
    form, pairs, worries, by = _pairs(brief, room)
    live = state == "live"
    control, control_by = _control(brief, room)
    single = form == "single-stereo"
    return RoomUse(
        id=f"{room.code}-USE", **site(room, brief.job), where=room.where("", "plays_from", "kind", "pairs"),
        decided=rows_of((decided, *by, control_by)), state=state, kind=room.kind, listening=room.listening,
        mount=room.mount, pairs=pairs, speakers=(pairs if single else 2 * pairs) if live else 0,
        single_stereo=single, control=control, keypads=(0 if control == "phone" else 1 + room.second_control)
        if live else 0, sub_zone=room.sub_zone, room_input=room.room_input, tv=room.tv, colour=room.colour,
        custom_colour=room.colour.strip().lower() not in ("", "white"), area_m2=room.area_m2,
        reuse_speakers=room.reuse_speakers, reuse_cable=room.reuse_cable,
        near_water=room.near_water,
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


def _pairs(brief: Brief, room: Room) -> tuple[str, int, list[Problem], tuple[str, ...]]:
    """Form, pairs (or single-stereo speakers) in this option, worries, standards rows. What was typed wins."""
    form, counted, decided = count_pairs(brief, room)
    typed = room.pairs_by_option.get(brief.option, room.pairs)
    if typed is not None:
        worries = []
        if typed < counted and brief.option == brief.catalog.options[-1]:
            worries.append(warning(
                room.where("pairs")[0], "fewer-pairs-than-standard",
                f"'{typed}' pairs are fewer than the {counted} that the counting standard "
                f"'{brief.job.counting_standard}' asks for in '{room.name}' ({room.listening}).",
                "Keep it if the customer knows, or leave the cell blank."))
        return form, typed, worries, decided
    fewest = brief.catalog.standards.ask("option_pairs", option=brief.option, full_pairs=counted)
    return form, min(counted, int(fewest.number("at_most"))), [], (*decided, fewest.decided)


def count_pairs(brief: Brief, room: Room) -> tuple[str, int, tuple[str, ...]]:
    """Form ("pair" or "single-stereo"), how many by the chosen counting standard, and the rows that decided."""
    ask = brief.catalog.standards.ask
    longest, shortest = max(room.length_m, room.width_m), min(room.length_m, room.width_m)
    form = ask("speaker_form", outdoor=outdoor(room), mount=room.mount, area_m2=room.area_m2, shortest_m=shortest)
    if form.text("form") == "single-stereo":
        spacing = form.number("spacing_m")
        return "single-stereo", max(1, math.ceil(longest / spacing - 1e-9)) if spacing else 1, (form.decided,)
    count = ask("speaker_count", counting_standard=brief.job.counting_standard, listening=room.listening,
                outdoor=outdoor(room), ceiling_height_m=room.ceiling_height_m, area_m2=room.area_m2)
    per_pair = count.number("area_per_pair_m2")
    by_area = math.ceil(room.area_m2 / per_pair - 1e-9) if per_pair else 0
    extra = ask("extra_pair", area_m2=room.area_m2, slenderness=longest / shortest)
    pairs = max(1, int(count.number("pairs")), by_area) + int(extra.number("extra_pairs"))
    return "pair", pairs, (form.decided, count.decided, extra.decided)

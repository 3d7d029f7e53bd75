"""What each option does in each room: live, wired-only or out; how many pairs; which control."""

from __future__ import annotations

from msgspec.structs import replace

from quoting.engineering.brief import Brief, Result, rows_of, site
from quoting.engineering.line_taps import stands_in_line
from quoting.engineering.overlap import Overlap, overlap_of
from quoting.engineering.slope import low_wall
from quoting.engineering.speaker_count import Count, count_speakers
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
    count = count_speakers(brief, room, _narrowest(brief, room) if mono else None)
    pairs, worries, by = _pairs(brief, room, count)
    live = state == "live"
    control, control_by = _control(brief, room)
    low, low_by = low_wall(brief, room)
    wet = brief.catalog.standards.ask("room_caution", setting=room.setting, near_water=room.near_water)
    return RoomUse(
        id=f"{room.code}-USE", **site(room, brief.job),
        where=room.where("", "plays_from", "kind", _pairs_cell(brief, room)),
        decided=rows_of((decided, *by, *overlap.decided, control_by, low_by,
                         wet.decided if wet.text("caution") else "")), state=state, kind=room.kind,
        listening=room.listening, mount=room.mount, pairs=pairs,
        speakers=(pairs if count.single else 2 * pairs) if live else 0, single=count.single,
        single_stereo=count.single and not mono, control=control,
        keypads=_controls(brief, room, control) if live else 0,
        sub_zone=room.sub_zone, room_input=room.room_input, tv=room.tv, colour=room.colour,
        custom_colour=room.colour.strip().lower() not in ("", "white"), area_m2=room.area_m2,
        reuse_speakers=room.reuse_speakers, reuse_cable=room.reuse_cable,
        near_water=room.near_water, coverage_diameter_m=overlap.coverage_diameter_m, pattern=overlap.pattern,
        grid=overlap.grid, spacing_m=overlap.spacing_m, pattern_speakers=overlap.speakers,
        pattern_variation_db=overlap.variation_db, low_wall=low or "", low_wall_said=room.low_wall is not None,
        caution=wet.text("caution"),
    ), worries


def _controls(brief: Brief, room: Room, control: Control) -> int:
    """How many controls the room gets: a loudspeaker's line goes through one knob only."""
    if control == "phone":
        return 0
    return 1 + (room.second_control and not stands_in_line(brief, room, control))


def _narrowest(brief: Brief, room: Room) -> Overlap:
    """A mono zone's pattern with the model, of all options, that asks for most: every option has the same places."""
    return max((overlap_of(replace(brief, option=option), room, mono=True) for option in brief.catalog.options),
               key=lambda overlap: overlap.speakers)


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


def _pairs(brief: Brief, room: Room, count: Count) -> tuple[int, list[Problem], tuple[str, ...]]:
    """Pairs (or single loudspeakers) in this option, worries, standards rows. What was typed wins."""
    fewest = brief.catalog.standards.ask(
        "option_pairs", option=brief.option, form=count.form, full_pairs=count.pairs)
    given = min(count.pairs, int(fewest.number("at_most")))
    own = room.pairs_by_option.get(brief.option)
    typed = room.pairs if own is None else own
    if typed is None:
        return given, [], (*count.decided, fewest.decided)
    fullest = brief.option == brief.catalog.options[-1]
    wanted = count.pairs if fullest else given
    if typed >= wanted or (own is None and not fullest):  # one number for all options is told of once
        return typed, [], count.decided
    what = "loudspeakers" if count.single else "pairs"
    return typed, [warning(
        room.where(_pairs_cell(brief, room))[0], "fewer-pairs-than-standard",
        f"'{typed}' {what} are fewer than the {wanted} that {count.by} asks for in '{room.name}' ({room.listening}"
        f"{'' if fullest else f', option {brief.option!r}'}).",
        "Keep it if the customer knows, or leave the cell blank.")], count.decided


def _pairs_cell(brief: Brief, room: Room) -> str:
    """The attribute of the cell that holds the count: the option's own column, else the one for all."""
    return f"pairs:{brief.option}" if brief.option in room.pairs_by_option else "pairs"

"""Where a speaker, keypad or input may go: the fullest option lays out the places, smaller ones use a subset."""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Mapping, Sequence

from msgspec import Struct
from msgspec.structs import replace

from quoting.catalog.records import KeypadSpec, SpeakerSpec
from quoting.engineering.brief import Brief, Result, ceiling_middle_m, is_open, outdoor, rows_of, site, wetness
from quoting.engineering.controls import control_spec
from quoting.engineering.line_taps import line_speaker_role
from quoting.engineering.run_plan import Leg, finished_legs, open_legs, plan_legs
from quoting.engineering.slope import ceiling_at_m, low_wall, steepest_deg
from quoting.engineering.speaker_fit import fit_problems
from quoting.engineering.speaker_layout import Spot, nearest_m
from quoting.engineering.speaker_placing import lay_out
from quoting.engineering.wall_places import LETTERS, WallSpot, wall_spots
from quoting.facts import Fact, Place, RoomUse, of
from quoting.job import Mount, Room
from quoting.problems import Problem, stop, warning


def open_places(brief: Brief) -> Result:
    """The places of the shared plan: every room with open walls that some option plays or wires."""
    uses = {name: {use.room: use for use in of(facts, RoomUse)} for name, facts in brief.by_option.items()}
    joints = _joints(brief, open_legs)
    facts: list[Fact] = []
    problems: list[Problem] = []
    for room in brief.job.rooms:
        in_rooms = {name: by_room[room.code] for name, by_room in uses.items()}
        if is_open(room) and any(use.state != "out" for use in in_rooms.values()):
            made, worries = _room_places(brief, room, in_rooms, joints)
            facts.extend(made)
            problems.extend(worries)
    return tuple(facts), tuple(problems)


def finished_places(brief: Brief) -> Result:
    """One option's places in rooms with finished walls: only what this option equips."""
    joints = _joints(brief, finished_legs)
    facts: list[Fact] = []
    problems: list[Problem] = []
    for room in brief.job.rooms:
        use = brief.uses[room.code]
        if not is_open(room) and use.state == "live":
            made, worries = _room_places(brief, room, {brief.option: use}, joints)
            facts.extend(made)
            problems.extend(worries)
    return tuple(facts), tuple(problems)


def _joints(brief: Brief, keep: Callable[[Brief, Sequence[Leg]], tuple[Leg, ...]]) -> frozenset[str]:
    """The places where one cable ends and another goes on. Only outdoors a box hangs on it: else nobody looks."""
    if not any(outdoor(room) for room in brief.job.rooms):
        return frozenset()
    return frozenset(leg.start for leg in keep(brief, plan_legs(brief)))


def speaker_role(brief: Brief, room: Room, single_stereo: bool) -> tuple[str, str]:
    """The role of the room's speakers, and the standards row that chose it."""
    on_line = line_speaker_role(brief, room)
    if on_line is not None:
        return on_line
    answer = brief.catalog.standards.ask(
        "speaker_role", form="single-stereo" if single_stereo else "pair", mount=room.mount, setting=wetness(room),
        ceiling_height_m=ceiling_middle_m(room), area_m2=room.area_m2, slope_deg=steepest_deg(room))
    return answer.text("role"), answer.decided


def _room_places(
    brief: Brief, room: Room, by_option: Mapping[str, RoomUse], joints: Collection[str]
) -> tuple[list[Fact], list[Problem]]:
    uses = list(by_option.values())
    speakers, problems = _speaker_places(brief, room, [use for use in uses if use.state != "out"], joints)
    devices = _wall_devices(room, uses)
    hung = [(one.id, (one.x_m, one.y_m)) for one in speakers if one.mount in ("wall", "surface")]
    spots, worries = wall_spots(brief, room, devices, hung)
    return [*speakers, *(_wall_place(brief, room, device, spots[device], by_option) for device in devices)], \
        problems + worries


def _wall_devices(room: Room, uses: list[RoomUse]) -> list[str]:
    """What goes on the room's walls besides loudspeakers."""
    devices = []
    controlled = any(use.state == "live" and use.control != "phone" for use in uses)
    if controlled or (is_open(room) and not outdoor(room)):
        devices.append("control")
        if room.second_control and (is_open(room) or any(use.keypads > 1 for use in uses)):
            devices.append("second control")
    if room.room_input:
        devices.append("input")
    if room.tv:
        devices.append("tv")
    return devices


def _speaker_places(
    brief: Brief, room: Room, uses: list[RoomUse], joints: Collection[str]
) -> tuple[list[Place], list[Problem]]:
    role, role_by = speaker_role(brief, room, uses[0].single_stereo)
    spec, problems = _common_spec(brief, room, role)
    if spec is None:
        return [], problems
    found, worries, placing_by = lay_out(brief, room, uses)
    problems += [*fit_problems(brief, room, spec), *worries]
    mount = hung_as(room, spec)
    box, worries = _back_box(brief, room, spec, mount)
    problems += worries
    heights, height_by = _speaker_heights(brief, room, found)
    typed = {one.id: (one.where,) for one in brief.job.overrides if one.what == "position"}
    ids = [f"{room.code}-S{number}" for number in range(1, len(found) + 1)]
    outlets = [brief.catalog.standards.ask("speaker_outlet", outdoor=outdoor(room), mount=mount, goes_on=id in joints)
               for id in ids]
    there = room.reuse_speakers or room.reuse_cable
    outside = brief.catalog.boxes.get(box.part)
    return [Place(
        id=id, **site(room, brief.job), basis=(f"{room.code}-USE",),
        where=(*room.where("", "kind", "mount", "pairs", "joists", "obstacles"),
               *typed.get(id, ())),
        decided=rows_of((role_by, placing_by, *box.decided, outlet.decided, *height_by)), device="speaker",
        mount=mount,
        back_box=box.part, back_box_kind=box.kind, back_box_from=box.set_from if box.part else "",
        bracket=spec.bracket if is_buried(room, mount) and is_open(room) and not box.part else "",
        ring=outlet.yes("box") and not there, deep_ring=False,
        side=spot.side, x_m=spot.x_m, y_m=spot.y_m, height_m=height, cut_out_mm=spec.cut_out_mm,
        cut_out_width_mm=spec.cut_out_width_mm, depth_mm=spec.depth_mm,
        bay=f"centre of bay {spot.bay}" if spot.bay else "", moved_m=spot.moved_m,
        beside_m=round(nearest_m(spot, found), 3), typed=id in typed,
        back_box_wide_mm=outside.wide_mm if outside else 0.0, back_box_high_mm=outside.high_mm if outside else 0.0,
        back_box_deep_mm=outside.deep_mm if outside else 0.0)
        for id, spot, height, outlet in zip(ids, found, heights, outlets, strict=True)], problems


class _BackBox(Struct, frozen=True, kw_only=True):
    """The box behind a room's loudspeakers: "" for none, its kind, which way it comes there, what decided it."""

    part: str
    kind: str
    set_from: str
    decided: tuple[str, ...]


def _back_box(brief: Brief, room: Room, spec: SpeakerSpec, mount: Mount) -> tuple[_BackBox, list[Problem]]:
    """What noise, insulation or a rating asks for; a warning where it cannot be brought there. A sealed box is then
    left out, a rated one never."""
    answer = brief.catalog.standards.ask(
        "back_box", above=room.above, mount=mount, wall_state=room.wall_state, access=room.access)
    kind = answer.text("back_box") if is_buried(room, mount) and not outdoor(room) else "none"
    part = {"sealed": spec.back_box, "rated": spec.rated_box}.get(kind, "")
    box = _BackBox(part=part, kind=kind, set_from=answer.text("set_from"), decided=(answer.decided,))
    if not part or box.set_from != "its hole" or _passes(brief, part, spec):
        return box, []
    closed = f"In '{room.name}' the {mount} is finished{' and not reached from above' if mount == 'ceiling' else ''}"
    way = "Say so in Access if the space above can be reached; else" if mount == "ceiling" else "Either"
    if kind == "rated":
        return box, [warning(
            room.where("above", "access")[0], "back-box-cannot-pass",
            f"{closed}: the fire-rated box '{part}' does not pass its loudspeaker's hole, and a rated {mount} needs "
            "it.", f"{way} choose surface loudspeakers, or have the {mount} opened for it by others and closed again.")]
    return replace(box, part="", kind="left out"), [warning(
        room.where("above", "access")[0], "back-box-cannot-pass",
        f"{closed}: the sealed box '{part}' does not pass its loudspeaker's hole. It is left out, and more sound "
        "reaches what lies behind.", f"{way} choose surface loudspeakers, or keep it so.")]


def _passes(brief: Brief, part: str, spec: SpeakerSpec) -> bool:
    """Whether a box goes through its loudspeaker's hole, its narrowest side first: known to, as far as it was
    measured."""
    outside = brief.catalog.boxes.get(part)
    if outside is None or not outside.deep_mm:
        return False
    narrow_mm, wide_mm, _ = sorted((outside.wide_mm, outside.high_mm, outside.deep_mm))
    if not spec.cut_out_width_mm:
        return math.hypot(narrow_mm, wide_mm) <= spec.cut_out_mm
    low_mm, high_mm = sorted((spec.cut_out_mm, spec.cut_out_width_mm))
    return narrow_mm <= low_mm and wide_mm <= high_mm


def is_buried(room: Room, mount: Mount) -> bool:
    """Whether its loudspeakers go into holes that this job makes."""
    return not room.reuse_speakers and mount in ("ceiling", "wall")


def hung_as(room: Room, spec: SpeakerSpec) -> Mount:
    """Where the model sits: one that hangs on a surface (where a wall may get wet) goes into no hole."""
    return "surface" if spec.mount == "surface" and not room.reuse_speakers else room.mount


def _common_spec(brief: Brief, room: Room, role: str) -> tuple[SpeakerSpec | None, list[Problem]]:
    """The fullest option's model for the role, with a warning where another option's wants another hole."""
    catalog, system = brief.catalog, brief.job.gauge_system
    found = {name: catalog.parts_for(role, name, system) for name in catalog.options}
    specs = {name: catalog.speakers.get(parts[0]) for name, parts in found.items() if parts}
    fullest = specs.get(brief.option)
    if fullest is None:
        return None, [stop(
            room.where("mount", "kind")[0], "no-part-for-role",
            f"Room '{room.name}' needs a '{role}', and option '{brief.option}' has none.",
            "Name one in options.csv, or choose another mount for the room.")]
    others = sorted(name for name, spec in specs.items() if spec is not None and is_open(room) and (
        (spec.cut_out_mm, spec.cut_out_width_mm, spec.bracket)
        != (fullest.cut_out_mm, fullest.cut_out_width_mm, fullest.bracket)))
    if not others:
        return fullest, []
    return fullest, [warning(
        room.where()[0], "place-needs-two-holes",
        f"In '{room.name}' the '{role}' of {', '.join(others)} wants another cut-out or bracket than that of "
        f"'{brief.option}'.", "Choose models with one cut-out in options.csv, or accept a second bracket.")]


def _wall_place(
    brief: Brief, room: Room, name: str, spot: WallSpot, by_option: Mapping[str, RoomUse]
) -> Place:
    device = "control" if name == "second control" else name
    height, decided = _height(brief, room, device)
    controls = _control_specs(brief, room, name, by_option) if device == "control" else []
    plates = [spec for option in by_option if (
        spec := brief.catalog.sources.get(_part(brief, option, "room input plate"))) is not None]
    deep = {"control": [spec.depth_mm for spec in controls], "input": [spec.depth_mm for spec in plates]}
    typed = (spot.typed.where,) if spot.typed is not None else ()
    return Place(
        id=f"{room.code}-{LETTERS[name]}", **site(room, brief.job), basis=(f"{room.code}-USE",),
        where=(*room.where("", {"control": "control", "input": "room_input", "tv": "tv"}[device]), *typed),
        decided=rows_of((spot.decided, decided)), device=device, mount="wall", bracket="", back_box="",
        back_box_kind="none", ring=True, deep_ring=any(spec.deep_ring for spec in controls), side="", x_m=spot.x_m,
        y_m=spot.y_m, height_m=height, cut_out_mm=0.0, depth_mm=max(deep.get(device, ()), default=0.0),
        typed=spot.typed is not None)


def _control_specs(
    brief: Brief, room: Room, name: str, by_option: Mapping[str, RoomUse]
) -> list[KeypadSpec]:
    """What the options hang at a control's place: what is buried fits the deepest. Where all leave it for later, the
    fullest option's keypad."""
    found = [spec for option, use in by_option.items() if (
        spec := control_spec(replace(brief, option=option), room, use, name == "second control")) is not None]
    later = brief.catalog.keypads.get(brief.part_for("keypad"))
    return found or ([later] if later is not None else [])


def _part(brief: Brief, option: str, role: str) -> str:
    return next(iter(brief.catalog.parts_for(role, option, brief.job.gauge_system)), "")


def _speaker_heights(brief: Brief, room: Room, found: Sequence[Spot]) -> tuple[list[float], tuple[str, ...]]:
    """How high each loudspeaker hangs: under a slope, what the ceiling is over its own spot. [m]"""
    height, decided = _height(brief, room, "speaker")
    if room.mount != "ceiling" or height != ceiling_middle_m(room):
        return [height] * len(found), (decided,)
    low, low_by = low_wall(brief, room)
    return [ceiling_at_m(room, low, spot.x_m, spot.y_m) for spot in found], (decided, low_by)


def _height(brief: Brief, room: Room, device: str) -> tuple[float, str]:
    """Above the floor: by the standard, else at the ceiling (half way up a slope), hanging a little below an eave."""
    mount = room.mount if device == "speaker" else "wall"
    answer = brief.catalog.standards.ask("device_height", device=device, mount=mount)
    if above := answer.number("above_floor_m"):
        return above, answer.decided
    if mount == "surface":
        return round(room.ceiling_height_m - answer.number("drop_m"), 3), answer.decided
    return ceiling_middle_m(room), answer.decided

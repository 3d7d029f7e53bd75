"""The loudspeakers that play in one option: model, place, and the power that the listening level asks of each."""

from __future__ import annotations

from collections.abc import Sequence

from msgspec.structs import replace

from quoting.catalog.records import SpeakerSpec
from quoting.engineering.brief import Brief, Result, is_open, rows_of, site, wetness
from quoting.engineering.line_taps import set_tap
from quoting.engineering.listening import Voice, asked_w_each
from quoting.engineering.places import hung_as, speaker_role
from quoting.engineering.speaker_fit import fit_problems
from quoting.facts import Fact, Place, RoomUse, Speaker
from quoting.job import Room
from quoting.problems import Problem, stop, warning

OWNED_OHM = 8.0  # what most owned speakers are; the owned-equipment task measures it (common practice, no source)
OWNED_COVERAGE_DEG = 90.0  # common practice, no source
OWNED_SENSITIVITY_DB = 87.0  # buyer advice pages ask for 87 dB or more


def speakers(brief: Brief) -> Result:
    """A Speaker at each place that this option equips."""
    by_room: dict[str, list[Place]] = {}
    for place in brief.of(Place):
        if place.device == "speaker":
            by_room.setdefault(place.room, []).append(place)
    facts: list[Fact] = []
    problems: list[Problem] = []
    for room in brief.job.rooms:
        use = brief.uses[room.code]
        if use.state != "live":
            continue
        made, worries = _room_speakers(brief, room, use, [
            place for place in by_room.get(room.code, ()) if _number(place) <= use.speakers])
        facts.extend(made)
        problems.extend(worries)
    return tuple(facts), tuple(problems)


def _room_speakers(
    brief: Brief, room: Room, use: RoomUse, places: Sequence[Place]
) -> tuple[list[Speaker], list[Problem]]:
    """The models first: what each is asked for rests on all of them together."""
    role, role_by = speaker_role(brief, room, use.single_stereo)
    models: list[tuple[Place, SpeakerSpec]] = []
    problems: list[Problem] = []
    for place in places:
        part, worries = _model(brief, _speaker_id(place), role)
        problems += worries
        if part in brief.catalog.speakers:
            models.append((place, brief.catalog.speakers[part]))
    if not models:
        return [], problems
    owned = room.reuse_speakers
    voices = [Voice(
        place=place, angled=spec.angled and not owned, coverage_deg=OWNED_COVERAGE_DEG if owned else spec.coverage_deg,
        sensitivity_db=OWNED_SENSITIVITY_DB if owned else spec.sensitivity_db) for place, spec in models]
    asked_w, asked_by = asked_w_each(brief, room, use.listening, voices)
    facts: list[Speaker] = []
    for (_, spec), voice in zip(models, voices, strict=True):
        speaker, worries = _speaker(brief, room, use, role, spec, voice, asked_w)
        facts.append(replace(speaker, decided=rows_of((role_by, *asked_by))))
        problems += worries
    return facts, problems


def _number(place: Place) -> int:
    """KIT-S3 is the third, dropped ones counted: its cable is the third one's."""
    return int(place.id.rpartition("-S")[2])


def _speaker_id(place: Place) -> str:
    return place.id.replace("-S", "-SP")


def _speaker(
    brief: Brief, room: Room, use: RoomUse, role: str, spec: SpeakerSpec, voice: Voice, asked_w: float
) -> tuple[Speaker, list[Problem]]:
    place, fact_id, part = voice.place, _speaker_id(voice.place), spec.part
    problems: list[Problem] = []
    if _too_dry(spec, room):
        problems.append(stop(
            room.where("setting")[0], "speaker-not-for-the-damp",
            f"Room '{room.name}' is '{wetness(room)}' and the speaker '{part}' of option '{brief.option}' is made for "
            f"'{spec.damp_class}' places.", f"Name a {wetness(room)} model for the role '{role}' in options.csv."))
    problems += fit_problems(brief, room, spec)
    override = brief.override(fact_id, "part")
    if override is not None and is_open(room) and place.bracket and spec.bracket != place.bracket:
        problems.append(warning(
            override.where, "place-needs-two-holes",
            f"'{part}' wants the bracket '{spec.bracket or 'none'}', and '{place.bracket}' goes into the open ceiling "
            f"at {place.id}.", "Override the bracket's line too, or choose a model with the same cut-out."))
    line_v, tap_w, worries = set_tap(brief, room, spec, asked_w)
    problems += worries
    mount = hung_as(room, spec)
    fixed = mount in ("ceiling", "wall")
    prepared = fixed and is_open(room) and bool(place.bracket or place.back_box)
    early = brief.catalog.standards.ask("early_piece", mount=mount, wall_state=room.wall_state, ring=place.ring)
    return Speaker(
        id=fact_id, **site(room, brief.job), basis=(place.id, use.id),
        where=(*room.where("", "mount", "listening"), *((override.where,) if override is not None else ())),
        decided=(early.decided,) if early.text("piece") else (), part="" if room.reuse_speakers else part,
        place=place.id, mount=mount, role=role, side=place.side, size_in=spec.size_in, single_stereo=spec.single_stereo,
        nominal_ohm=OWNED_OHM if room.reuse_speakers else spec.nominal_ohm, sensitivity_db=voice.sensitivity_db,
        power_w=spec.power_w, terminal=spec.terminal, cut=fixed and not prepared,
        prepared=prepared, bracket=spec.bracket,
        custom_colour=use.custom_colour and not room.reuse_speakers, owned=room.reuse_speakers,
        anchors=spec.anchors, asked_w=round(asked_w, 2), line_v=line_v, tap_w=tap_w,
        coverage_deg=voice.coverage_deg, angled=voice.angled, plate=place.ring and room.setting != "outdoor",
        back_box=place.back_box_kind, early_piece="" if room.reuse_speakers else early.text("piece"),
        weight_kg=0.0 if room.reuse_speakers else spec.weight_kg or 0.0), problems


def _model(brief: Brief, fact_id: str, role: str) -> tuple[str, list[Problem]]:
    """The part: the estimator's override, else the option's part for the role."""
    override = brief.override(fact_id, "part")
    if override is None:
        part = brief.part_for(role)
        if part in brief.catalog.speakers:
            return part, []
        return "", [stop(
            brief.job.where()[0], "no-part-for-role", f"Option '{brief.option}' has no speaker for the role '{role}'.",
            "Name one in options.csv.")]
    if override.value in brief.catalog.speakers:
        return override.value, []
    return "", [stop(
        override.where, "unknown-part", f"'{override.value}' is not a loudspeaker of the catalogue.",
        "Type a part number of parts/speakers.csv.")]


def _too_dry(spec: SpeakerSpec, room: Room) -> bool:
    order = {"dry": 0, "damp": 1, "wet": 2, "outdoor": 3}
    return not room.reuse_speakers and order.get(spec.damp_class, 0) < order[wetness(room)]

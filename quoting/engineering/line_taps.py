"""The loudspeakers of a constant-voltage line: which model, which transformer tap."""

from __future__ import annotations

from quoting.catalog.records import SpeakerSpec
from quoting.engineering.brief import Brief, wetness
from quoting.engineering.loads import smallest_tap_w
from quoting.job import Control, Room, SpeakerLine
from quoting.problems import Problem, stop, warning

LOW: SpeakerLine = "low impedance"


def line_of(brief: Brief, room: Room) -> SpeakerLine:
    """How a room's zone feeds its loudspeakers."""
    zone = brief.zones.get(room.zone)
    return zone.line if zone is not None else LOW


def stands_in_line(brief: Brief, room: Room, control: Control) -> bool:
    """Whether a control turns the loudspeakers' own wires down, so that these go in and out of it: a passive knob.

    On a constant-voltage line there is none: the room gets a keypad.
    """
    return control == "knob" and line_of(brief, room) == LOW


def line_speaker_role(brief: Brief, room: Room) -> tuple[str, str] | None:
    """The role of the room's transformer loudspeakers and the row that chose it; None on low impedance."""
    if line_of(brief, room) == LOW:
        return None
    answer = brief.catalog.standards.ask("line_speaker_role", mount=room.mount, setting=wetness(room))
    return answer.text("role"), answer.decided


def numbers_in(text: str | None) -> tuple[float, ...]:
    """The numbers of a catalogue cell that lists several: "1; 2.5; 5"."""
    words = (word.strip() for word in (text or "").split(";"))
    return tuple(float(word) for word in words if word.replace(".", "", 1).isdigit())


def set_tap(brief: Brief, room: Room, spec: SpeakerSpec, asked_w: float) -> tuple[float, float, list[Problem]]:
    """Line voltage, the tap to set, worries: the smallest tap that gives what listening level and headroom ask."""
    line = line_of(brief, room)
    if line == LOW:
        return 0.0, 0.0, []
    line_v = brief.catalog.standards.ask("line_limit", line=line).number("line_v")
    where = brief.zones[room.zone].where
    taps = numbers_in(spec.taps_w)
    if not taps or line_v not in numbers_in(spec.line_volts) or room.reuse_speakers:
        what = "its own loudspeakers stay" if room.reuse_speakers else f"'{spec.part}' has no tap for it"
        return line_v, 0.0, [stop(
            where, "no-tap-for-line",
            f"Room '{room.name}' is on a {line} line in option '{brief.option}', and {what}.",
            "Type low impedance under 'Line' on Zones, or name a loudspeaker with taps for that voltage in "
            "options.csv.")]
    asked_w *= 10 ** (brief.number("headroom_db") / 10)  # the tap holds a speaker's power, whatever the amplifier has
    tap_w = smallest_tap_w(taps, asked_w)
    if tap_w >= asked_w - 1e-9:
        return line_v, tap_w, []
    return line_v, tap_w, [warning(
        room.where("listening", "pairs")[0], "tap-below-asked",
        f"Each loudspeaker in '{room.name}' asks {asked_w:.3g} W for {room.listening} listening in option "
        f"'{brief.option}', and the largest tap of '{spec.part}' gives {tap_w:g} W.",
        "Type more pairs, a quieter listening, or name a loudspeaker with a larger tap in options.csv.")]

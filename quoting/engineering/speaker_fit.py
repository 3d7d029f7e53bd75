"""Whether a loudspeaker fits behind the board: its cut-out between the joists, its depth in the wall."""

from __future__ import annotations

from quoting.catalog.records import SpeakerSpec
from quoting.engineering.brief import Brief
from quoting.job import Room
from quoting.problems import Problem, stop
from quoting.units import MM_PER_IN

TOLERANCE_MM = 0.5  # inches turned to millimetres and back
STUDDED = ("wood frame", "steel frame", "plaster and lath")


def fit_problems(brief: Brief, room: Room, spec: SpeakerSpec) -> list[Problem]:
    """A stop where the room's joists or studs leave too little for the model.

    Owned speakers are in already, and where a wall may get wet a surface model hangs on it.
    """
    if room.reuse_speakers:
        return []
    if room.mount == "ceiling" and room.joist_spacing_m is not None:
        return _between_joists(brief, room, spec, room.joist_spacing_m)
    if room.mount == spec.mount == "wall" and room.construction in STUDDED:
        return _in_the_wall(brief, room, spec)
    return []


def clear_bay_mm(brief: Brief, spacing_m: float) -> float:
    """Between two joists. [mm]"""
    return (spacing_m - _cavity(brief, "joist thickness")) * 1000


def _between_joists(brief: Brief, room: Room, spec: SpeakerSpec, spacing_m: float) -> list[Problem]:
    beside, clear = _cavity(brief, "beside a cut-out") * 1000, clear_bay_mm(brief, spacing_m)
    needed = spec.cut_out_mm + 2 * beside
    if not spec.cut_out_mm or needed <= clear + TOLERANCE_MM:
        return []
    return [stop(
        room.where("joist_spacing_m", "mount")[0], "cut-out-over-bay",
        f"The speaker '{spec.part}' in '{room.name}' needs {_shown(brief, needed)} between joists (its cut-out and "
        f"{_shown(brief, beside)} on each side), and joists at '{_shown(brief, spacing_m * 1000)}' leave "
        f"{_shown(brief, clear)}.",
        "Correct 'Joist spacing', type wall or surface under 'Mount', or name a smaller model in options.csv.")]


def _in_the_wall(brief: Brief, room: Room, spec: SpeakerSpec) -> list[Problem]:
    usable = _cavity(brief, "usable stud bay") * 1000
    if spec.depth_mm <= usable + TOLERANCE_MM:
        return []
    return [stop(
        room.where("mount")[0], "depth-over-cavity",
        f"The wall speaker '{spec.part}' in '{room.name}' is {_shown(brief, spec.depth_mm)} deep, and the wall leaves "
        f"{_shown(brief, usable)}.",
        "Type ceiling or surface under 'Mount', or name a shallower model in options.csv.")]


def _cavity(brief: Brief, item: str) -> float:
    return brief.catalog.standards.ask("speaker_cavity", item=item).number("length_m")


def _shown(brief: Brief, length_mm: float) -> str:
    return f"{length_mm / MM_PER_IN:.4g} in" if brief.job.unit_system == "imperial" else f"{length_mm / 10:.4g} cm"

"""What an estimator may correct on a fact itself: its length, its part, its position, or that it is there at all."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from quoting.facts import CableRun, Fact, of
from quoting.job import Job, Override
from quoting.problems import Problem, stop

# What may be corrected on a fact, by its kind. The rest of a design rests on the other kinds (zones sit on
# amplifiers, cables end at places): those change by the workbook's own columns or by a line's override.
ALLOWED: Mapping[str, tuple[str, ...]] = {
    "cable_run": ("length", "drop"), "speaker": ("part", "drop"), "keypad": ("drop",), "room_input": ("drop",),
    "audio_source": ("drop",), "owned_item": ("drop",), "doorbell": ("drop",), "paging": ("drop",),
    "trench": ("drop",), "extra_part": ("drop",), "place": ("position", "drop"),
    "head_end_place": ("position",),
}


def fact_override_problems(job: Job, kinds: Mapping[str, str]) -> tuple[Problem, ...]:
    """A stop for each correction of a fact that cannot be made; `kinds` are the kinds of all facts by id."""
    return tuple(
        _refused(override, kinds[override.id]) for override in job.overrides
        if override.id in kinds and override.what not in ALLOWED.get(kinds[override.id], ()))


def passed_place_problems(job: Job, facts: Iterable[Fact]) -> tuple[Problem, ...]:
    """A stop for each place that is dropped although a cable goes on from it: its box and joint are needed."""
    onward: dict[str, list[str]] = {}
    for run in of(facts, CableRun):
        if run.circuits:
            onward.setdefault(run.start, []).append(run.end)
    return tuple(stop(
        override.where, "override-not-possible",
        f"'{override.id}' cannot be dropped: the cable to {' and '.join(dict.fromkeys(onward[override.id]))} goes on "
        "from its box.",
        f"Drop what hangs there instead: {override.id.replace('-S', '-SP').replace('-K', '-KP')}.")
        for override in job.overrides if override.what == "drop" and override.id in onward)


def _refused(override: Override, kind: str) -> Problem:
    allowed = ALLOWED.get(kind, ())
    said = f"It may take {' or '.join(allowed)}." if allowed else "Nothing of it can be replaced by itself."
    return stop(
        override.where, "override-not-possible",
        f"'{override.id}' is a fact of kind {kind.replace('_', ' ')}, and its {override.what} cannot be overridden. "
        f"{said}",
        "Correct one of the lines that it makes (sheet Why of the office workbook), or the room's own cells.")

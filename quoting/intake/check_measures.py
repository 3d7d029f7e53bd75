"""What typed measures must keep to: sizes, slopes, plan positions, measured runs."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from quoting.catalog.records import Catalog
from quoting.intake.filled import Filled
from quoting.job import Job
from quoting.problems import Problem, stop, warning
from quoting.sheets.fields import key
from quoting.units import show_length

SHORTEST_SIDE_M = 0.5
LONGEST_SIDE_M = 60.0


def sizes_are_possible(filled: Filled, job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """A room of 1 ft or of 300 ft is a slip of unit or comma."""
    system = job.unit_system
    for row in filled.rooms:
        for attribute, word in (("length_m", "Length"), ("width_m", "Width")):
            metres = row.get(attribute, float)
            if metres is not None and not SHORTEST_SIDE_M <= metres <= LONGEST_SIDE_M:
                yield stop(
                    row.where(attribute), "impossible-size",
                    f"{word} '{show_length(metres, system)}' of room '{row.text('name')}' is not between "
                    f"{show_length(SHORTEST_SIDE_M, system)} and {show_length(LONGEST_SIDE_M, system)}.",
                    "Check the number and its unit, and type it again.",
                )


def slopes_go_up(filled: Filled, job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """The high side is the high one. The low side may come from the floor."""
    rooms = {room.where()[0]: room for room in job.rooms}
    for row in filled.rooms:
        high, room = row.get("ceiling_high_m", float), rooms.get(row.where())
        if high is None or room is None or "ceiling_height_m" in row.bad or high >= room.ceiling_height_m:
            continue
        system = job.unit_system
        yield stop(row.where("ceiling_high_m"), "ceiling-upside-down",
                   f"Ceiling high side '{show_length(high, system)}' is lower than the low side, "
                   f"{show_length(room.ceiling_height_m, system)}.",
                   "Type the higher number here and the lower one under Ceiling height.")


def flat_ceilings_have_no_low_wall(filled: Filled, job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """A low wall belongs to a slope."""
    rooms = {room.where()[0]: room for room in job.rooms}
    for row in filled.rooms:
        room = rooms.get(row.where())
        if row.text("low_wall") and room and room.ceiling_high_m == room.ceiling_height_m \
                and not {"ceiling_height_m", "ceiling_high_m"} & row.bad:
            yield warning(row.where("low_wall"), "flat-low-wall",
                          f"Low wall is '{row.text('low_wall')}', but the ceiling is flat.",
                          "Type the higher side under Ceiling high side, or leave this cell blank.")


def positions_are_whole(filled: Filled, _job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """A plan position is two numbers; rooms' positions need the head end's."""
    for row, x, y in [*((row, "x_m", "y_m") for row in filled.rooms), (filled.job, "head_end_x_m", "head_end_y_m")]:
        typed = [name for name in (x, y) if name in row.values]
        if len(typed) == 1 and not {x, y} & row.bad:
            missing = y if typed[0] == x else x
            yield stop(row.where(missing), "half-position",
                       f"{row.form.column(missing).heading} is '' (empty), but {row.form.column(typed[0]).heading} is "
                       "typed.",
                       "Type both, or neither.")


def head_end_has_position(filled: Filled, job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """Rooms placed on the plan, and nowhere for their cables to go: distance bands would be used unnoticed."""
    placed = [row for row in filled.rooms if {"x_m", "y_m"} <= row.values.keys()]
    half = {"head_end_x_m", "head_end_y_m"} & (filled.job.values.keys() | filled.job.bad)
    if placed and not half and not _on_plan(job):
        yield warning(filled.job.where("head_end_x_m"), "no-head-end-position",
                      f"Head-end plan x is '' (empty), but {len(placed)} of {len(filled.rooms)} rooms have plan "
                      "positions; they are not used.", "Type Head-end plan x and y.")


def _on_plan(job: Job) -> bool:
    """Whether the head end's plan position is typed, or that of the room which it is, or is planned beside."""
    said = job.head_end
    hosts = [room for room in job.rooms
             if key(room.name) == key(said.place) or (said.side and room.code == said.beside)]
    return said.x_m is not None or any(room.x_m is not None for room in hosts)


def runs_reach(filled: Filled, job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """A measured run is at least as long as the way straight up or down."""
    heights = {floor.number: floor.ceiling_height_m for floor in job.floors}
    for row in filled.rooms:
        measured, floor = row.get("measured_m", float), row.get("floor", int)
        if measured is None or floor is None or "head_end_floor" in filled.job.bad:
            continue
        low, high = sorted((floor, job.head_end.floor))
        vertical = sum(height for number, height in heights.items() if low <= number < high)
        if measured < vertical:
            system = job.unit_system
            yield stop(row.where("measured_m"), "run-too-short",
                       f"Measured run '{show_length(measured, system)}' is shorter than the way from floor {floor} to "
                       f"the head end on floor {job.head_end.floor}, {show_length(vertical, system)}.",
                       "Type the whole route, rises and drops included.")


MEASURES: tuple[Callable[[Filled, Job, Catalog], Iterable[Problem]], ...] = (
    sizes_are_possible, slopes_go_up, flat_ceilings_have_no_low_wall, positions_are_whole, head_end_has_position,
    runs_reach,
)

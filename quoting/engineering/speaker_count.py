"""How many loudspeakers a room gets, and in which form: by the chosen counting standard, or by an overlap pattern."""

from __future__ import annotations

import math

from msgspec import Struct

from quoting.engineering.brief import Brief, ceiling_middle_m, outdoor, rows_of
from quoting.engineering.overlap import Overlap
from quoting.engineering.speaker_layout import farthest_m, limits_of, spots
from quoting.job import Room

MOST_PAIRS = 20  # in one room: what may be typed on Rooms


class Count(Struct, frozen=True, kw_only=True):
    """A room's full count. `pairs` counts loudspeakers where they are single. `by` says what counted them."""

    pairs: int
    single: bool
    decided: tuple[str, ...]
    by: str

    @property
    def form(self) -> str:
        """The form as the standards name it."""
        return "single-stereo" if self.single else "pair"


def count_speakers(brief: Brief, room: Room, overlap: Overlap | None = None) -> Count:
    """By the counting standard; in a mono zone (`overlap` given) its ceiling's by the overlap pattern.

    Two of a pattern are a pair, as they are wired; one by one in rooms so small or narrow that the form is single.
    """
    form = brief.catalog.standards.ask(
        "speaker_form", outdoor=outdoor(room), mount=room.mount, area_m2=room.area_m2, shortest_m=_shortest_m(room))
    single = form.text("form") == "single-stereo"
    if overlap is not None and overlap.speakers:
        return Count(pairs=overlap.speakers if single else math.ceil(overlap.speakers / 2), single=single,
                     decided=rows_of((form.decided, *overlap.decided)),
                     by=f"the {overlap.pattern} overlap pattern of a mono zone")
    by = f"the counting standard '{brief.job.counting_standard}'"
    if single:
        spacing = form.number("spacing_m")
        along = math.ceil(max(room.length_m, room.width_m) / spacing - 1e-9) if spacing else 1
        return Count(pairs=max(1, along), single=True, decided=(form.decided,), by=by)
    pairs, decided = _pairs(brief, room)
    return Count(pairs=pairs, single=False, decided=rows_of((form.decided, *decided)), by=by)


def _pairs(brief: Brief, room: Room) -> tuple[int, tuple[str, ...]]:
    """By area or fixed, more in a long room, more where outdoor loudspeakers would stand too far apart."""
    ask = brief.catalog.standards.ask
    count = ask("speaker_count", counting_standard=brief.job.counting_standard, listening=room.listening,
                outdoor=outdoor(room), ceiling_height_m=ceiling_middle_m(room), area_m2=room.area_m2)
    per_pair = count.number("area_per_pair_m2")
    by_area = math.ceil(room.area_m2 / per_pair - 1e-9) if per_pair else 0
    longest = max(room.length_m, room.width_m)
    extra = ask("extra_pair", area_m2=room.area_m2, slenderness=round(longest / _shortest_m(room), 6))
    pairs = max(1, int(count.number("pairs")), by_area) + int(extra.number("extra_pairs"))
    limits, placing_by = limits_of(brief, room)
    near_enough = pairs
    while limits.farthest_m and near_enough < MOST_PAIRS and (
            farthest_m(spots(room, near_enough, False, limits)) > limits.farthest_m + 1e-6):
        near_enough += 1
    decided = (count.decided, extra.decided)
    return near_enough, (*decided, placing_by) if near_enough > pairs else decided


def _shortest_m(room: Room) -> float:
    return min(room.length_m, room.width_m)

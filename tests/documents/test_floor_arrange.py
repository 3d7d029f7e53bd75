"""Rooms without a plan position: side by side to scale, never one over another, whatever the order of the rows."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from quoting.documents.floor_arrange import SLACK_M, Outline, arrange, at_middle, below, extent_m, overlapping

SIDES_M = st.floats(min_value=0.5, max_value=25.0).map(lambda side: round(side, 3))
ROOMS = st.lists(st.builds(Outline, code=st.just(""), length_m=SIDES_M, width_m=SIDES_M, outdoor=st.booleans()),
                 min_size=1, max_size=24).map(
    lambda rooms: [Outline(code=f"R{index}", length_m=room.length_m, width_m=room.width_m, outdoor=room.outdoor)
                   for index, room in enumerate(rooms)])


def _meet(one: Outline, other: Outline) -> bool:
    return (min(one.east_m, other.east_m) - max(one.x_m, other.x_m) > 1e-9
            and min(one.north_m, other.north_m) - max(one.y_m, other.y_m) > 1e-9)


@settings(deadline=None, max_examples=60)
@given(ROOMS)
def test_no_room_lies_over_another(rooms: list[Outline]) -> None:
    placed = arrange(rooms)

    assert [(a.code, b.code) for i, a in enumerate(placed) for b in placed[i + 1:] if _meet(a, b)] == []


@settings(deadline=None, max_examples=30)
@given(ROOMS)
def test_every_room_is_there_once_in_its_own_size(rooms: list[Outline]) -> None:
    sizes = sorted((room.code, room.length_m, room.width_m) for room in arrange(rooms))

    assert sizes == sorted((room.code, room.length_m, room.width_m) for room in rooms)


@settings(deadline=None, max_examples=30)
@given(ROOMS, st.randoms(use_true_random=False))
def test_the_order_of_the_rows_changes_nothing(rooms: list[Outline], chance: object) -> None:
    shuffled = list(rooms)
    chance.shuffle(shuffled)  # type: ignore[attr-defined]

    assert set(arrange(shuffled)) == set(arrange(rooms))


@settings(deadline=None, max_examples=30)
@given(ROOMS)
def test_what_is_outdoors_lies_south_of_what_is_indoors(rooms: list[Outline]) -> None:
    placed = arrange(rooms)
    indoors = min((room.y_m for room in placed if not room.outdoor), default=1e9)

    assert [room.code for room in placed if room.outdoor and room.north_m > indoors] == []


def test_a_width_that_can_be_kept_is_kept() -> None:
    rooms = [Outline(code=f"R{index}", length_m=4, width_m=3) for index in range(6)]

    assert extent_m(arrange(rooms, 13.0))[0] <= 13.0


def test_a_room_that_is_longer_than_the_width_given_still_has_its_place() -> None:
    rooms = [Outline(code="A", length_m=9, width_m=3), Outline(code="B", length_m=2, width_m=2)]

    assert {room.code for room in arrange(rooms, 5.0)} == {"A", "B"}


def test_rooms_that_share_a_wall_on_a_plan_do_not_overlap() -> None:
    wide = Outline(code="A", length_m=4, width_m=3)

    assert overlapping([at_middle(wide, 2, 1.5), at_middle(Outline(code="B", length_m=4, width_m=3), 6, 1.5)]) == ()


def test_rooms_that_a_plan_puts_one_over_the_other_are_named() -> None:
    one, other = Outline(code="A", length_m=4, width_m=3), Outline(code="B", length_m=4, width_m=3)

    assert overlapping([at_middle(one, 2, 1.5), at_middle(other, 6 - 2 * SLACK_M, 1.5)]) == (("A", "B"),)


def test_loose_rooms_stand_clear_below_a_plan() -> None:
    plan = [at_middle(Outline(code="A", length_m=4, width_m=3), 10, 20)]
    moved = below(arrange([Outline(code="B", length_m=2, width_m=2)]), plan)

    assert moved[0].north_m < plan[0].y_m and moved[0].x_m == plan[0].x_m

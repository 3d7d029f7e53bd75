"""A cable keeps its number when something is added: revisions of a quote are compared by it."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from quoting.catalog.records import Catalog
from quoting.engineering.design import design_system
from quoting.engineering.run_numbers import room_digits, run_number
from quoting.facts import CableEnd, CableRun, of
from quoting.job import Extra, ExtraKind, Job, Room
from tests.builders import cell, make_room
from tests.demo_jobs import house, make_zone

CODES = ("BATH", "BED", "BED2", "DEN", "DIN", "HALL", "KIT", "LIV", "OFF", "PAT")


def extra(kind: ExtraKind, room: str) -> Extra:
    """One more of something in a room."""
    return Extra(kind=kind, name=kind, room=room, quantity=Decimal(1), part="", amount=None, rack_mountable=False,
                 plays_from="good", note="", where=cell("Extras", "A2"))


def in_room(**changes: Any) -> Callable[[Job, Room], Job]:
    """The same job with that room changed."""
    return lambda job, room: replace(job, rooms=tuple(
        replace(one, **changes) if one is room else one for one in job.rooms))


def one_more(kind: ExtraKind) -> Callable[[Job, Room], Job]:
    """The same job with one more row on Extras."""
    return lambda job, room: replace(job, extras=(*job.extras, extra(kind, room.code)))


def one_more_pair(job: Job, room: Room) -> Job:
    """The same job with one pair more in that room."""
    return in_room(pairs=(room.pairs or 0) + 1)(job, room)


def one_more_room(job: Job, _: Room) -> Job:
    """The same job with a room in a zone of its own."""
    return replace(job, rooms=(*job.rooms, make_room("AAA", name="Added", zone=98, pairs=1)),
                   zones=(*job.zones, make_zone(98)))


ADDITIONS: dict[str, Callable[[Job, Room], Job]] = {
    "a television": in_room(tv=True), "a room input": in_room(room_input=True), "a keypad": in_room(control="keypad"),
    "a second keypad": in_room(second_control=True, control="keypad"), "a pair": one_more_pair,
    "a spare cable": one_more("spare cable"), "a doorbell": one_more("doorbell"),
    "a room in a zone of its own": one_more_room,
}


Wish = tuple[str, int, int, bool, bool, str, str, str]
YES = st.booleans()
WISHES = st.lists(st.tuples(
    st.sampled_from(CODES), st.integers(1, 3), st.integers(1, 3), YES, YES, st.sampled_from(["phone", "keypad"]),
    st.sampled_from(["open", "finished"]), st.sampled_from(["good", "best"]),
), min_size=2, max_size=5, unique_by=lambda wish: wish[0])


def built(wishes: list[Wish], topology: str, on_line: int, spares: int) -> Job:
    """A house on up to three zones, one of them perhaps a 70.7 V line, with spare cables in its first room."""
    rooms = [make_room(code, name=code, zone=zone, pairs=pairs, tv=tv, room_input=room_input, control=control,
                       wall_state=wall_state, plays_from=plays_from, measured_m=10.0)
             for code, zone, pairs, tv, room_input, control, wall_state, plays_from in wishes]
    job = house(*rooms, topology=topology, head_end_shape="controller and amplifiers")
    return replace(job, extras=(extra("spare cable", rooms[0].code),) * spares, zones=tuple(
        replace(zone, line="70.7 V" if zone.number == on_line else zone.line) for zone in job.zones))


def named(job: Job, catalog: Catalog) -> dict[str, tuple[str, str, str, str, bool]] | None:
    """What each number stands for, over all options; a number stands for one thing only. None: the job is stopped.

    A home run is its room's, whether it ends at the speaker or, once there is a keypad, behind the keypad.
    """
    design, _ = design_system(job, catalog)
    if design is None:
        return None
    found: dict[str, tuple[str, str, str, str, bool]] = {}
    for facts in (design.shared, *(one.facts for one in design.options)):
        for run in of(facts, CableRun):
            end = run.end if run.purpose != "home run" else ""
            what = (run.room, run.purpose, run.role, end, run.spare)
            assert found.setdefault(run.id, what) == what
    return found


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(WISHES, st.sampled_from(["through the keypad place", "direct"]), st.integers(0, 3), st.integers(0, 2),
       st.sampled_from(sorted(ADDITIONS)), st.integers(0, 4))
def test_adding_one_thing_keeps_the_number_of_every_other_run_by_law(
    demo: Catalog, wishes: list[Wish], topology: str, on_line: int, spares: int, addition: str, which: int
) -> None:
    job = built(wishes, topology, on_line, spares)
    before = named(job, demo)
    after = named(ADDITIONS[addition](job, job.rooms[which % len(job.rooms)]), demo)
    assume(before is not None and after is not None)
    assert before is not None and after is not None
    changed = {number: (what, after.get(number)) for number, what in before.items() if after.get(number) != what}
    assert changed == {}


@pytest.mark.parametrize("addition", ADDITIONS)
def test_adding_one_thing_adds_runs(demo: Catalog, addition: str) -> None:
    job = house(make_room("PAT", name="Patio", setting="outdoor", mount="surface", pairs=1, control="phone"))
    job = replace(job, head_end_shape="controller and amplifiers")
    before, after = named(job, demo), named(ADDITIONS[addition](job, job.rooms[0]), demo)
    assert before is not None and after is not None
    assert set(after) > set(before)


def test_no_two_runs_share_a_number(demo: Catalog) -> None:
    job = house(*(make_room(code, name=code, zone=1 + n % 2, pairs=2, tv=True, room_input=True, second_control=True)
                  for n, code in enumerate(CODES[:6])), head_end_shape="controller and amplifiers")
    design, problems = design_system(job, demo)
    assert design is not None, problems
    numbers = [run.id for run in of(design.shared, CableRun)]
    assert len(numbers) == len(set(numbers))


def test_a_number_and_its_ends_fit_a_label_of_ten_characters(demo: Catalog) -> None:
    # common practice, no source: at most 10 characters for a 3/8 inch label
    job = house(make_room(pairs=12, tv=True), head_end_shape="controller and amplifiers")
    design, problems = design_system(job, demo)
    assert design is not None, problems
    assert max(len(end.id) for end in of(design.options[-1].facts, CableEnd)) <= 10


def test_moving_rows_renumbers_nothing(demo: Catalog) -> None:
    rooms = [make_room(code, name=code, zone=1, pairs=1) for code in CODES[:4]]
    job = house(*rooms, head_end_shape="controller and amplifiers")
    before = named(job, demo)
    assert before is not None
    assert named(replace(job, rooms=tuple(reversed(rooms))), demo) == before


def test_a_home_run_is_numbered_by_floor_zone_room_and_pair(demo: Catalog) -> None:
    # KIT by hand: K 75 + 3 x I 73 + 7 x T 84 = 882, so 2; floor 0, zone 01, room 2, home run 1, of pairs 1 and 2
    found = named(house(make_room(pairs=2)), demo)
    assert found is not None
    assert [number for number, what in found.items() if what[1] == "home run"] == ["001211", "001212"]


def test_rooms_of_a_zone_that_share_a_check_digit_take_the_next_free_one() -> None:
    # BED 66 + 3 x 69 + 7 x 68 = 749; OFF 79 + 3 x 70 + 7 x 70 = 779: both 9, so that OFF goes on to 0
    assert room_digits([make_room("OFF"), make_room("BED")]) == {"BED": 9, "OFF": 0}


def test_the_eleventh_room_of_a_zone_has_a_longer_number() -> None:
    digits = room_digits(make_room(f"R{n:02d}") for n in range(12))
    assert sorted(digits.values()) == list(range(12))
    assert (run_number(make_room(), 9, 1, 1), run_number(make_room(), 10, 1, 1)) == ("001911", "000110101")


@given(st.lists(st.tuples(st.integers(1, 400), st.integers(0, 14), st.integers(0, 9), st.integers(1, 99)),
                min_size=2, max_size=2, unique=True))
def test_numbers_differ_wherever_zone_room_purpose_or_count_do(two: list[tuple[int, int, int, int]]) -> None:
    first, second = (run_number(make_room(zone=zone), digit, kind, which) for zone, digit, kind, which in two)
    assert first != second

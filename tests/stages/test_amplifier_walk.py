"""The ordered walk against brute force, and small walks worked by hand."""

from __future__ import annotations

import random
from collections.abc import Iterator
from decimal import Decimal

import pytest

from quoting.engineering.amplifier_walk import Claim, Model, Walk, cheapest_walk, needs_another, walk_of_one

STEREO, MONO, BRIDGED = Claim(2), Claim(1), Claim(4, odd=True)


def model(name: str, channels: int, cost: int, outputs: int = 0) -> Model:
    return Model(name, channels, outputs, Decimal(cost))


def seats(walk: Walk | None) -> list[tuple[int, tuple[int, ...]]]:
    assert walk is not None
    return [(box.model, box.channels) for box in walk.boxes]


# ---------------------------------------------------------------- brute force: another way to the same optimum

Plan = tuple[tuple[int, int, int], ...]  # (model, first zone, zones)


def every_plan(models: int, zones: int, first: int = 0) -> Iterator[Plan]:
    """All cuts of the zone list into boxes, each of any model."""
    if first == zones:
        yield ()
        return
    for count in range(1, zones - first + 1):
        for index in range(models):
            for rest in every_plan(models, zones, first + count):
                yield ((index, first, count), *rest)


def holds(model: Model, claims: list[Claim | None]) -> bool:
    """Channel by channel: whether one box takes the zones in order."""
    if model.outputs and len(claims) > model.outputs:
        return False
    taken: list[int] = []
    for claim in claims:
        if claim is None:
            return False
        start = max(taken, default=0) + 1
        while claim.odd and start % 2 == 0:
            start += 1
        taken += range(start, start + claim.channels)
    return max(taken, default=0) <= model.channels


Score = tuple[int, int, int, Decimal, int]


def brute_force(models: list[Model], claims: list[list[Claim | None]]) -> Score | None:
    """(zones short, zones that need to leave the main model, boxes without a price, cost, boxes) of the best plan."""
    zones = len(claims[0])
    best: Score | None = None
    for plan in every_plan(len(models), zones):
        if not all(holds(models[m], claims[m][first:first + count]) for m, first, count in plan):
            continue
        cost = sum((models[m].cost or Decimal(0) for m, _, _ in plan), Decimal(0))
        unpriced = sum(models[m].cost is None for m, _, _ in plan)
        short = sum(claim.short for m, first, count in plan for claim in claims[m][first:first + count] if claim)
        for main in range(len(models)):
            leaving = [claims[main][z] is None or (claims[main][z].short and any(  # type: ignore[union-attr]
                other[z] is not None and not other[z].short for other in claims)) for z in range(zones)]  # type: ignore[union-attr]
            if all(m == main or any(leaving[first:first + count]) for m, first, count in plan):
                score = (short, sum(leaving), unpriced, cost, len(plan))
                best = score if best is None else min(best, score)
    return best


def random_case(seed: int) -> tuple[list[Model], list[list[Claim | None]]]:
    """One to three models and one to six zones: stereo, mono, bridged, split over pairs; here and there refused,
    short, or without a price."""
    draw = random.Random(seed)
    models = [Model(f"M{n}", draw.choice((2, 4, 6, 8, 12)), draw.choice((0, 0, 0, 1, 2, 4)),
                    None if draw.random() < 0.1 else Decimal(draw.randint(1, 9)))
              for n in range(draw.randint(1, 3))]
    zones = draw.randint(1, 6)
    claims: list[list[Claim | None]] = []
    for one in models:
        row: list[Claim | None] = []
        for _ in range(zones):
            odd = draw.random() < 0.25
            claim = Claim(draw.choice((2, 4) if odd else (1, 2, 2, 4)), odd, draw.random() < 0.15)
            row.append(None if draw.random() < 0.12 or claim.channels > one.channels else claim)
        claims.append(row)
    return models, claims


@pytest.mark.parametrize("block", range(4))
def test_the_walk_equals_brute_force_on_fifty_random_zone_lists(block: int) -> None:
    for seed in range(50 * block, 50 * block + 50):
        models, claims = random_case(seed)
        walk = cheapest_walk(models, claims)
        found = walk and (walk.score[0], sum(needs_another(claims, walk.main)), *walk.score[1:])
        assert found == brute_force(models, claims), f"seed {seed}"


def test_some_random_lists_mix_models_and_some_fit_nothing() -> None:
    # the generator must reach the interesting cases, or agreement would say little
    walks = [cheapest_walk(*random_case(seed)) for seed in range(200)]
    assert sum(walk is None for walk in walks) >= 10
    assert sum(len({box.model for box in walk.boxes}) > 1 for walk in walks if walk) >= 10


# ---------------------------------------------------------------- by hand

def test_twelve_channels_take_zones_one_to_six_and_the_seventh_begins_the_next() -> None:
    # 12 channels: zones 1-6 on A, 7-12 on B (trade practice 5.1, common practice, no source)
    walk = cheapest_walk([model("A", 12, 9)], [[STEREO] * 7])
    assert seats(walk) == [(0, (1, 3, 5, 7, 9, 11)), (0, (1,))]


def test_the_cheapest_model_wins() -> None:
    # four stereo zones: 4 x 2 channels at 3 = 12, one of 8 channels at 10
    walk = cheapest_walk([model("two", 2, 3), model("eight", 8, 10)], [[STEREO] * 4] * 2)
    assert [box.model for box in walk.boxes] == [1] if walk else False


def test_one_model_serves_the_option_even_where_a_mix_would_cost_less() -> None:
    # five zones: 8 + 2 channels at 10 + 3 would do for 13; one model: 5 x 3 = 15 or 2 x 10 = 20
    walk = cheapest_walk([model("two", 2, 3), model("eight", 8, 10)], [[STEREO] * 5] * 2)
    assert walk is not None and ({box.model for box in walk.boxes}, walk.score[2]) == ({0}, Decimal(15))


def test_a_zone_that_the_main_model_cannot_carry_takes_another() -> None:
    ordinary: list[Claim | None] = [STEREO, STEREO, None, STEREO]
    strong: list[Claim | None] = [None, None, STEREO, None]
    walk = cheapest_walk([model("main", 8, 9), model("strong", 2, 4)], [ordinary, strong])
    assert seats(walk) == [(0, (1, 3)), (1, (1,)), (0, (1,))]


def test_a_zone_short_of_power_takes_a_stronger_model_and_its_neighbours_may_ride_along() -> None:
    weak: list[Claim | None] = [STEREO, Claim(2, short=True)]
    strong: list[Claim | None] = [STEREO, STEREO]
    walk = cheapest_walk([model("weak", 4, 2), model("strong", 4, 5)], [weak, strong])
    assert seats(walk) == [(1, (1, 3))]


def test_a_bridge_begins_on_an_odd_channel() -> None:
    assert seats(cheapest_walk([model("A", 12, 9)], [[MONO, BRIDGED, STEREO]])) == [(0, (1, 3, 7))]


def test_two_mono_zones_share_a_channel_pair() -> None:
    assert seats(cheapest_walk([model("A", 4, 9)], [[MONO, MONO, STEREO]])) == [(0, (1, 2, 3))]


def test_a_stereo_pair_is_not_split_over_two_boxes() -> None:
    assert seats(cheapest_walk([model("A", 4, 9)], [[STEREO, MONO, STEREO]])) == [(0, (1, 3)), (0, (1,))]


def test_zone_outputs_may_be_used_up_before_channels() -> None:
    assert seats(cheapest_walk([model("A", 12, 9, outputs=2)], [[MONO] * 3])) == [(0, (1, 2)), (0, (1,))]


def test_a_box_without_a_price_is_taken_only_where_nothing_else_fits() -> None:
    models = [Model("unpriced", 12, 0, None), model("priced", 2, 99)]
    walk = cheapest_walk(models, [[STEREO] * 2] * 2)
    assert walk is not None and {box.model for box in walk.boxes} == {1}


def test_a_zone_that_no_model_carries_has_no_walk() -> None:
    assert cheapest_walk([model("A", 4, 9)], [[STEREO, None]]) is None


def test_linked_units_are_of_one_model() -> None:
    assert walk_of_one([model("A", 4, 9), model("B", 8, 9)], [[STEREO, None], [STEREO, STEREO]], 0) is None

"""Options against each other: the step from one to the next by room, and which one the interview points at."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from itertools import pairwise

from quoting.catalog.records import Catalog
from quoting.job import Client, Room
from quoting.money import ZERO
from quoting.quote import PricedOption, Recommendation, RecommendationBasis, Step, StepRow

WHOLE_JOB = "Head end and whole job"

RoomSums = dict[str, tuple[Decimal, Decimal]]  # room code -> materials, labour


def sums_by_room(option: PricedOption) -> RoomSums:
    """What each room's materials and labour are sold for, before the discount; "" is the head end and whole job."""
    found: RoomSums = {}
    for material in option.materials:
        goods, work = found.get(material.room, (ZERO, ZERO))
        found[material.room] = goods + material.price, work
    for labour in option.labour:
        goods, work = found.get(labour.room, (ZERO, ZERO))
        found[labour.room] = goods, work + labour.price
    return found


def steps(options: Sequence[PricedOption], rooms: Sequence[Room]) -> tuple[Step, ...]:
    """From each option to the next: the rows, freight, discount, tax and rounding sum to the difference exactly."""
    return tuple(_step(start, end, rooms) for start, end in pairwise(options))


def _step(start: PricedOption, end: PricedOption, rooms: Sequence[Room]) -> Step:
    before, after = sums_by_room(start), sums_by_room(end)
    names = {room.code: room.name for room in rooms} | {"": WHOLE_JOB}
    rows: list[StepRow] = []
    for code in (*names, *sorted((before.keys() | after.keys()) - names.keys())):
        goods0, work0 = before.get(code, (ZERO, ZERO))
        goods1, work1 = after.get(code, (ZERO, ZERO))
        if goods1 != goods0 or work1 != work0:
            rows.append(StepRow(room=code, name=names.get(code, code), materials=goods1 - goods0,
                                labour=work1 - work0))
    one, two = start.totals, end.totals
    return Step(
        start=start.name, end=end.name, rows=tuple(rows), freight=two.freight - one.freight,
        discount=two.discount - one.discount, tax=two.tax - one.tax, rounding=two.rounding - one.rounding,
        total=two.total - one.total,
    )


def recommend(options: Sequence[PricedOption], client: Client, catalog: Catalog) -> Recommendation:
    """The option with the highest score among those within the budget; of equal ones the smaller.

    A priority brings each option its weight, times its place from the end: of three the first counts three times.
    Without priorities the budget decides (the fullest within it), and without a budget the smallest is enough.
    No option within the budget: the least dear. Unanswered where a priority has no row for an option.
    """
    scores = {option.name: ZERO for option in options}
    brings: dict[str, list[tuple[Decimal, str]]] = {option.name: [] for option in options}
    for place, priority in enumerate(client.priorities):
        for option in options:
            answer = catalog.standards.ask("recommendation", priority=priority, option=option.name)
            points = answer.decimal("weight") * (len(client.priorities) - place)
            scores[option.name] += points
            brings[option.name].append((points, answer.text("reason")))
    budget = client.budget
    within = [option for option in options if budget is None or option.totals.total <= budget]
    if not within:
        chosen = min(options, key=lambda option: option.totals.total)
        return Recommendation(option=chosen.name, basis="closest", reason="", over_budget=(), scores=scores)
    basis: RecommendationBasis = "budget" if len(within) < len(options) else "enough"
    reason = ""
    if client.priorities:
        chosen = max(within, key=lambda option: scores[option.name])  # max keeps the first, the smaller
        points, why = max(brings[chosen.name], key=lambda bring: bring[0])
        if points > 0 and why:
            basis, reason = "priority", why
    elif budget is not None:
        chosen, basis = within[-1], "fullest"
    else:
        chosen, basis = within[0], "enough"
    over = tuple(option.name for option in options if option not in within)
    return Recommendation(option=chosen.name, basis=basis, reason=reason, over_budget=over, scores=scores)

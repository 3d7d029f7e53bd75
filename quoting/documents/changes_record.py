"""What of a change is typed into the job record once it is signed: its costs, its orders, its hours."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from msgspec import Struct

from quoting.changes import SumChange
from quoting.documents.job_costs import planned_costs
from quoting.documents.job_orders import OrderLine, order_lines
from quoting.lines import PHASES
from quoting.money import ZERO
from quoting.quote import PricedLabour, PricedOption, Quote

Side = tuple[Quote, PricedOption]


class OrderAmounts(Struct, frozen=True, kw_only=True):
    """A row of the sheet Orders whose amounts differ: what to type there."""

    supplier: str
    kind: str
    number: str  # of the new order; of the old one where there is none
    old_order: Decimal
    new_order: Decimal
    old_of_job: Decimal
    new_of_job: Decimal


class HoursChange(Struct, frozen=True, kw_only=True):
    """What to type into the sheet Hours: at its line, or, where the record has none, into a row at the end."""

    line: str
    new: bool
    phase: str
    task: str
    role: str
    hours: Decimal


def cost_changes(old: Side, new: Side) -> tuple[SumChange, ...]:
    """By how much each kind of cost that is not labour differs, under the name that it has there."""
    was, now = ({row.name: row.budget for row in planned_costs(*side)} for side in (old, new))
    return tuple(SumChange(label=name, old=was.get(name, ZERO), new=now.get(name, ZERO))
                 for name in dict.fromkeys((*was, *now)) if was.get(name) != now.get(name))


def order_changes(old: Side, new: Side) -> Iterator[OrderAmounts]:
    """Rows of the sheet Orders whose amounts differ, in its order."""
    was, now = ({(line.supplier, line.name, line.kind): line for line in order_lines(*side)} for side in (old, new))
    for key in dict.fromkeys((*was, *now)):
        before, after = was.get(key), now.get(key)
        if _amounts(before) != _amounts(after):
            line = after or before
            assert line is not None
            (old_order, old_of_job), (new_order, new_of_job) = _amounts(before), _amounts(after)
            yield OrderAmounts(supplier=line.supplier or "no supplier", kind=line.kind, number=line.number,
                               old_order=old_order, new_order=new_order, old_of_job=old_of_job, new_of_job=new_of_job)


def _amounts(line: OrderLine | None) -> tuple[Decimal, Decimal]:
    return (line.order, line.of_job) if line else (ZERO, ZERO)


def hours_changes(old: Side, new: Side) -> Iterator[HoursChange]:
    """Lines whose hours differ, in the order of the work; new ones last, as the record has them."""
    was, now = ({row.id: row for row in option.labour if row.hours} for _, option in (old, new))
    tasks = {**old[0].tasks, **new[0].tasks}
    found = [(id, now.get(id) or was[id]) for id in {**was, **now} if _hours(was.get(id)) != _hours(now.get(id))]
    for id, row in sorted(found, key=lambda each: (each[0] not in was, PHASES.index(each[1].phase), each[0])):
        yield HoursChange(line=id, new=id not in was, phase=row.phase, task=tasks[row.task].description, role=row.role,
                          hours=_hours(now.get(id)) - _hours(was.get(id)))


def _hours(row: PricedLabour | None) -> Decimal:
    return row.hours if row else ZERO

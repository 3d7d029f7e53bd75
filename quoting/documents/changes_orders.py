"""What a change does to days and orders: visits, orders and packs before and with it, as the office's page has them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from msgspec import Struct

from quoting.buying import BuyLine, Order, PackKey, orders, pack_key, purchase_list
from quoting.changes import PurchaseChange
from quoting.documents.buying_papers import pack_cost
from quoting.documents.crew_sheet import NONE
from quoting.documents.formats import Formats
from quoting.documents.ubl_order import order_mark, order_name, order_number
from quoting.quote import PricedOption, Quote
from quoting.timetable import AgreedVisit, Visit

Side = tuple[Quote, PricedOption]
Key = tuple[str, str]  # supplier, name of the order: the same in every revision


class VisitChange(Struct, frozen=True, kw_only=True):
    """A visit that came, went or is on other days."""

    id: str
    phase: str
    old: str
    new: str


class OrderChange(Struct, frozen=True, kw_only=True):
    """An order that asks for something else, or by another day; why its day moved, "" where it did not."""

    supplier: str
    old_number: str
    new_number: str
    old_by: str
    new_by: str
    why: str


class OrderedPack(Struct, frozen=True, kw_only=True):
    """Packs that differ, with the orders that they stand in, in short, and the days by which those lines go."""

    pack: PurchaseChange
    old_order: str
    old_by: str
    new_order: str
    new_by: str
    price: str  # of a pack; both where they differ


class OrdersCompared:
    """The orders of both revisions, worked out once."""

    def __init__(self, old: Side, new: Side, formats: Formats) -> None:
        self._sides = (old, new)
        self._formats = formats
        found = [orders(quote, purchase_list(quote, option)) for quote, option in self._sides]
        self._orders: tuple[Mapping[Key, Order], ...] = tuple(
            {(its.supplier, order_name(its)): its for its in side} for side in found)
        self._lines: tuple[Mapping[PackKey, tuple[BuyLine, Order]], ...] = tuple(
            {pack_key(line): (line, its) for its in reversed(side) for line in its.lines} for side in found)

    def changes(self) -> Iterator[OrderChange]:
        """Orders that differ, by the day on which they go with the change, then those that are gone."""
        was, now = self._orders
        for key in (*sorted(now, key=lambda key: now[key].first.urgency), *(key for key in was if key not in now)):
            before, after = was.get(key), now.get(key)
            if before is None or after is None or self._differ(before, after):
                yield OrderChange(
                    supplier=key[0] or "No supplier", old_number=self._number(0, before),
                    new_number=self._number(1, after), old_by=self._by(before.first if before else None),
                    new_by=self._by(after.first if after else None),
                    why=_why_moved(before, after, self._formats) if before and after else "")

    def packs(self, changed: Iterable[PurchaseChange]) -> Iterator[OrderedPack]:
        """Each with the orders that its lines stand in."""
        for pack in changed:
            key = PackKey(pack.supplier, pack.part, pack.size, pack.colour.casefold(), pack.hired_for)
            old, new = (side.get(key) for side in self._lines)
            yield OrderedPack(pack=pack, old_order=self._short(0, old), old_by=self._by(old and old[0]),
                              new_order=self._short(1, new), new_by=self._by(new and new[0]),
                              price=self._price(pack))

    def _differ(self, before: Order, after: Order) -> bool:
        """Whether an order asks for something else, or goes by another day for the same."""
        return self._mark(0, before) != self._mark(1, after) or _moved(before.first, after.first)

    def _price(self, pack: PurchaseChange) -> str:
        sides = ((pack.old_packs, pack.old_cost), (pack.new_packs, pack.new_cost))
        prices = dict.fromkeys(cost for packs, cost in sides if packs)
        return ", now ".join(pack_cost(price, self._formats) for price in prices)

    def _mark(self, side: int, its: Order) -> str:
        return order_mark(self._sides[side][0], its)

    def _number(self, side: int, its: Order | None) -> str:
        return order_number(*self._sides[side], its) if its else NONE

    def _short(self, side: int, found: tuple[BuyLine, Order] | None) -> str:
        """An order among its supplier's: the first phase that it is for, and the mark that ends its number."""
        if found is None:
            return NONE
        its = found[1]
        return f"{its.phase}{f' {its.number}' if its.number > 1 else ''}, {self._mark(side, its)}"

    def _by(self, line: BuyLine | None) -> str:
        if line is None:
            return NONE
        return self._formats.day(line.order_by) if line.order_by else line.days_before


def _moved(before: BuyLine, after: BuyLine) -> bool:
    """Whether the last day to order is another one; without dates, how long before which working day."""
    if before.order_by or after.order_by:
        return before.order_by != after.order_by
    return (before.lead_days, before.need_day) != (after.lead_days, after.need_day)


def _why_moved(before: Order, after: Order, formats: Formats) -> str:
    """Why an order's day moved, by the line that decided the sooner of the two days."""
    if not _moved(before.first, after.first):
        return ""
    if (before.first.order_by is None) != (after.first.order_by is None):
        return "the job has a start date now" if after.first.order_by else "the job has no start date any more"
    sooner = after.first.urgency < before.first.urgency
    line = after.first if sooner else before.first
    other = {pack_key(each): each for each in (before if sooner else after).lines}.get(pack_key(line))
    name = " ".join(filter(None, (line.part, line.colour)))
    if other is None:
        return f"{name} {'is new' if sooner else 'is no longer'} in it; it takes {line.lead_days} calendar days"
    old, new = (other, line) if sooner else (line, other)
    needed = tuple(formats.day(each.need_by) if each.need_by else f"working day {each.need_day}" for each in (old, new))
    if needed[0] != needed[1]:
        return f"{name} is needed by {needed[1]} instead of {needed[0]}"
    if old.lead_days != new.lead_days:
        return f"{name} takes {new.lead_days} calendar days instead of {old.lead_days}"
    return f"a price rise, or days on which the firm is closed, moved {name}"


def visit_changes(old: PricedOption, new: PricedOption, formats: Formats) -> Iterator[VisitChange]:
    """Visits whose days or half-days differ, in the order of the new days, those whose day is agreed later after them,
    then those that are gone."""
    was, now = (_visits(option) for option in (old, new))
    for id in dict.fromkeys((*now, *was)):
        before, after = was.get(id), now.get(id)
        told = [_days(visit, formats) if visit else NONE for visit in (before, after)]
        one = after or before
        if told[0] != told[1] and one:
            yield VisitChange(id=id, phase=one.phase, old=told[0], new=told[1])


def _visits(option: PricedOption) -> dict[str, Visit | AgreedVisit]:
    return {visit.id: visit for visits in (option.timetable.visits, option.timetable.agreed) for visit in visits}


def _days(visit: Visit | AgreedVisit, formats: Formats) -> str:
    """"Jan 18, 2027 to Jan 20, 2027, 5 half-days"."""
    if isinstance(visit, AgreedVisit):
        ends = ["to be agreed"]
    elif visit.first_date and visit.last_date:
        ends = [formats.day(day) for day in dict.fromkeys((visit.first_date, visit.last_date))]
    else:
        ends = [f"working day {day}" for day in dict.fromkeys((visit.first_day, visit.last_day))]
    return f"{' to '.join(ends)}, {visit.half_days} half-day{'s' if visit.half_days != 1 else ''}"

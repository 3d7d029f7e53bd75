"""What an option makes the firm buy: the purchase list, the orders, and what is left over.

Pure, from the Quote alone. Days are calendar days, as lead times are.
"""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import NamedTuple

from msgspec import Struct

from quoting.buying_inputs import PartBuying
from quoting.lines import PHASES, MaterialRow, Phase, Purchase, PutUp, pack_words
from quoting.money import ZERO, r2
from quoting.quote import PricedMaterial, PricedOption, Quote, Substitute
from quoting.timetable import PhaseDays
from quoting.workdays import WorkCalendar, day_before_rise, order_day

LEFTOVER = "leftover "  # the rule of the row that takes a special part up to whole packs
PLAIN, ALWAYS = PartBuying(), ("", "")  # how most parts are bought; the lot of what comes as it always does
PartLot = tuple[str, bool]  # a part, and whether it is ordered in a colour
EarlyBox = tuple[str, str]  # a loudspeaker's id, its part: another option may hang another part there
DAYS_A_WORKDAY = 1.4  # calendar days, about: seven for five. It only sorts days of a job without dates


class BuyLine(Struct, frozen=True, kw_only=True):
    """One size of pack of one part, in one colour and for one hire; `put_up` is None where the stock has all of it.

    What is said of the part in that colour or for that hire, not of the pack, stands on its first line: `first`.
    Quantities in the part's unit.
    """

    supplier: str
    part: str
    description: str
    unit: str
    put_up: PutUp | None
    outlay: Decimal
    first: bool
    need: Decimal
    on_hand: Decimal
    from_stock: Decimal
    to_buy: Decimal
    saved: Decimal  # by quantity breaks
    lead_days: int
    phase: Phase  # the first that needs it
    need_by: datetime.date | None  # when the phase's parts have come, a hire its first day; None: the job has no dates
    need_day: int  # the same by the number of the working day: 1 is the first in the house
    order_by: datetime.date | None  # its lead time before that; before a price rise that is known, where that is sooner
    late: bool  # the last day to order is before the quote's day
    long_lead: bool
    dearer: bool  # a higher price that is known holds by its lead time's last day, or it is not known when that is
    ordered_with: str  # the part whose order it goes with; "" for none
    substitutes: tuple[Substitute, ...]
    enclose: str  # what goes with the order: "the wording ..., of KIT-KP1, BED-KP1"; "" for nothing

    @property
    def colour(self) -> str:
        """That it is ordered in; "" where it comes in one."""
        return self.put_up.colour if self.put_up else ""

    @property
    def hired_for(self) -> str:
        """The phase that it is hired for; "" where it is kept."""
        return self.put_up.phase if self.put_up else ""

    @property
    def described(self) -> str:
        """What the part is; in which colour, for which hire."""
        return pack_words(self.description, self.colour, self.hired_for)

    @property
    def days_before(self) -> str:
        """The last day to order where the job has no dates, counted from the first day in the house."""
        return f"{self.lead_days} days before working day {self.need_day}"

    @property
    def urgency(self) -> tuple[datetime.date, float, str]:
        """What sorts lines by the last day to order, also where no day has a date."""
        return (self.order_by or datetime.date.max, self.need_day * DAYS_A_WORKDAY - self.lead_days, self.part)


class Order(Struct, frozen=True, kw_only=True):
    """What one supplier is asked for at once, by the days on which it is needed."""

    supplier: str
    phase: Phase  # the first that needs something of it
    number: int  # among the supplier's orders that begin with that phase
    lines: tuple[BuyLine, ...]
    payment: int  # number of the payment that has come before it; 0: none is waited for

    @property
    def outlay(self) -> Decimal:
        """Before tax and delivery."""
        return sum((line.outlay for line in self.lines), ZERO)

    @property
    def first(self) -> BuyLine:
        """The line that must be ordered first."""
        return min(self.lines, key=lambda line: line.urgency)


class LeftOver(Struct, frozen=True, kw_only=True):
    """Where a part goes: bought + from_stock = used + with_job + to_stock + to_return + waste."""

    part: str
    description: str
    unit: str
    bought: Decimal
    from_stock: Decimal
    used: Decimal
    with_job: Decimal  # whole packs that the customer pays for
    to_stock: Decimal
    to_return: Decimal  # spools bought to pull from at the same time, of which nothing is cut
    waste: Decimal  # tails too short to keep


class PackKey(NamedTuple):
    """What a line of the purchase list is told by, in two quotes: who sends what, in which pack, colour, for which
    hire."""

    supplier: str
    part: str
    size: Decimal
    colour: str
    hired_for: str


# ---------------------------------------------------------------- buying

def purchase_list(quote: Quote, option: PricedOption) -> tuple[BuyLine, ...]:
    """Everything that the option needs, by supplier, then part; parts that are all in stock too."""
    rows: dict[str, list[PricedMaterial]] = {}
    for row in option.materials:
        if row.need > 0:
            rows.setdefault(row.part, []).append(row)
    desk = _Desk(quote, option, frozenset(rows))
    lines = [line for purchase in option.purchases for line in desk.lines(purchase, rows.get(purchase.part, []))]
    return tuple(sorted(lines, key=lambda line: line.supplier))  # parts stay in their order


def pack_key(line: BuyLine) -> PackKey:
    """The key of a line that buys something."""
    return PackKey(line.supplier, line.part, line.put_up.size if line.put_up else ZERO, line.colour.casefold(),
                   line.hired_for)


def early_boxes(option: PricedOption) -> frozenset[EarlyBox]:
    """Loudspeakers out of whose box the rough-in needs something."""
    return frozenset((row["id"], row["part"]) for row in option.facts.get("speaker", ()) if row.get("early_piece"))


def phase_needing(row: PricedMaterial | MaterialRow, early: Collection[EarlyBox]) -> Phase:
    """The phase by which a row's parts are there: rough-in where it needs something out of their boxes."""
    if any((reason.fact, row.part) in early for reason in row.because):
        return min(row.phase, "rough-in", key=PHASES.index)
    return row.phase


def lead_times(
    days: Mapping[str, int], coloured: Iterable[str], ways: Mapping[str, PartBuying]
) -> dict[PartLot, int]:
    """How many calendar days a part takes, as it comes and in a colour; what goes in one order takes as long as the
    slowest of it. `days`: the own ones of every part that is used; `coloured`: those that are ordered in a colour."""
    own: dict[PartLot, int] = {(part, False): many for part, many in days.items()}
    own |= {(part, True): ways.get(part, PLAIN).colour_days or days[part] for part in coloured}
    found = dict(own)
    for together in _ordered_together(days, ways):
        lots = [lot for lot in own if lot[0] in together]
        found |= dict.fromkeys(lots, max(own[lot] for lot in lots))
    return found


def _ordered_together(used: Collection[str], ways: Mapping[str, PartBuying]) -> Collection[frozenset[str]]:
    """Parts of one order, also those that another part's order holds together."""
    found: dict[str, frozenset[str]] = {}
    for part, way in ways.items():
        if part in used and way.ordered_with in used:
            both = found.get(part, frozenset({part})) | found.get(way.ordered_with, frozenset({way.ordered_with}))
            found |= dict.fromkeys(both, both)
    return found.values()


class _Desk:
    """The purchaser's desk of one option: days, lead times and colours looked up once."""

    __slots__ = ("_colours", "_days", "_early", "_lead_days", "_office", "_quote", "_used")

    def __init__(self, quote: Quote, option: PricedOption, used: frozenset[str]) -> None:
        self._quote, self._used = quote, used
        self._days: Mapping[Phase, PhaseDays] = {days.phase: days for days in option.timetable.phases}
        self._early = early_boxes(option)
        self._lead_days = lead_times(
            {part: info.lead_days if (info := quote.parts.get(part)) else 0 for part in used},
            {each.part for each in option.purchases if any(put_up.colour for put_up in each.put_ups)},
            quote.buying.parts)
        self._office = WorkCalendar(closed=frozenset(quote.buying.closed))
        self._colours = {room.code: room.colour.strip().casefold() for room in quote.job.rooms}

    def lines(self, purchase: Purchase, rows: Sequence[PricedMaterial]) -> Iterator[BuyLine]:
        """A part's lines: what comes as it always does, then each colour and each hire by itself."""
        lots: dict[tuple[str, str], list[PutUp | None]] = {}
        for put_up in purchase.put_ups:
            lots.setdefault((put_up.colour, put_up.phase), []).append(put_up)
        shares = {lot: [row for row in rows if self._is_of(row, *lot)] for lot in lots if lot != ALWAYS}
        taken = {row.id for its in shares.values() for row in its}
        plain = [row for row in rows if row.id not in taken and not _is_leftover(row)]
        if plain or not shares:
            shares = {ALWAYS: plain or list(rows), **shares}
        bought_first = next((lot for lot in shares if lot in lots), ALWAYS)
        for place, (lot, its) in enumerate(shares.items()):
            need = sum((row.need for row in its), ZERO) if len(shares) > 1 else purchase.need
            yield from self._lot(purchase, its, lots.get(lot, [None]), need, stocked=place == 0 and not lot[0],
                                 saved=purchase.saved if lot == bought_first else ZERO)

    def _is_of(self, row: PricedMaterial, colour: str, phase: str) -> bool:
        return row.phase == phase if phase else self._colours.get(row.room, "") == colour.casefold()

    def _lot(
        self, purchase: Purchase, rows: Sequence[PricedMaterial], put_ups: Sequence[PutUp | None], need: Decimal, *,
        stocked: bool, saved: Decimal,
    ) -> Iterator[BuyLine]:
        """One colour or hire. `stocked`: what is on hand is said here. `saved`: by the part's quantity breaks."""
        quote, part = self._quote, purchase.part
        info, way = quote.parts.get(part), quote.buying.parts.get(part, PLAIN)
        lead_days = self._lead_days[part, bool(put_ups[0] and put_ups[0].colour)]
        phase: Phase = min((phase_needing(row, self._early) for row in rows), key=PHASES.index, default="whole job")
        days = self._days.get(phase)
        need_by = (days.first_date if way.on_the_day else days.parts_date) if days else None
        latest = order_day(need_by, lead_days, self._office) if need_by else None
        for place, put_up in enumerate(put_ups):
            rise = put_up.dearer_from if put_up else None
            order_by = self._at_its_price(latest, rise) if latest and rise else latest
            yield BuyLine(
                supplier=(put_up.supplier if put_up else "") or purchase.supplier, part=part,
                description=info.description if info else "", unit=purchase.unit, put_up=put_up,
                outlay=r2(put_up.count * put_up.cost, quote.pricing.currency) if put_up else ZERO, first=place == 0,
                need=need, on_hand=purchase.on_hand if stocked else ZERO,
                from_stock=purchase.from_stock if stocked else ZERO,
                to_buy=sum((each.size * each.count for each in put_ups if each), ZERO),
                saved=saved, lead_days=lead_days, phase=phase, need_by=need_by,
                need_day=(days.first_day if way.on_the_day else days.parts_day) if days else 1, order_by=order_by,
                late=put_up is not None and order_by is not None and order_by < quote.pricing.date,
                long_lead=put_up is not None and 0 < quote.buying.long_lead_days <= lead_days,
                dearer=rise is not None and (latest is None or latest >= rise),
                ordered_with=way.ordered_with if way.ordered_with in self._used else "",
                substitutes=tuple(each for each in quote.buying.substitutes if each.part == part),
                enclose=_enclosed(way, rows))

    def _at_its_price(self, latest: datetime.date, rise: datetime.date) -> datetime.date:
        """The last day to order at the price of the list: the working day before a rise, unless that is over."""
        before = day_before_rise(rise, self._office)
        return min(latest, before) if before >= self._quote.pricing.date else latest


def orders(quote: Quote, lines: Iterable[BuyLine]) -> tuple[Order, ...]:
    """What is ordered, by supplier, then day: an order holds what is needed within some days of its first part, and
    what waits for the same payment."""
    by_supplier: dict[str, list[BuyLine]] = {}
    for line in lines:
        if line.put_up is not None:
            by_supplier.setdefault(line.supplier, []).append(line)
    found: list[Order] = []
    for supplier, its in by_supplier.items():
        groups: list[list[BuyLine]] = []
        for line in sorted(its, key=lambda line: (quote.buying.gates.get(line.phase, 0), _needed(line), line.part)):
            if groups and _goes_with(quote, groups[-1][0], line):
                groups[-1].append(line)
            else:
                groups.append([line])
        for group in groups:
            phase = group[0].phase
            number = 1 + sum(order.supplier == supplier and order.phase == phase for order in found)
            found.append(Order(
                supplier=supplier, phase=phase, number=number, payment=quote.buying.gates.get(phase, 0),
                lines=tuple(sorted(group, key=lambda line: (line.part, line.hired_for, line.colour)))))
    return tuple(found)


def _is_leftover(row: PricedMaterial) -> bool:
    """Whether a row only takes a special part up to whole packs."""
    return all(reason.rule.startswith(LEFTOVER) for reason in row.because)


def _enclosed(way: PartBuying, rows: Iterable[PricedMaterial]) -> str:
    """What goes with an order, and of what, by the things that the part is for."""
    things = dict.fromkeys(reason.fact for row in rows for reason in row.because if reason.fact)
    return f"{way.enclose}, of {', '.join(things)}" if way.enclose else ""


def paid_by(found: Iterable[Order]) -> dict[int, datetime.date]:
    """By number: the day by which a payment has come so that no order that waits for it is late."""
    days: dict[int, datetime.date] = {}
    for order in found:
        day = order.first.order_by
        if order.payment and day:
            days[order.payment] = min(day, days.get(order.payment, day))
    return days


def _needed(line: BuyLine) -> float:
    """A line's day, in calendar days: of its date, else about."""
    return line.need_by.toordinal() if line.need_by else line.need_day * DAYS_A_WORKDAY


def _goes_with(quote: Quote, first: BuyLine, line: BuyLine) -> bool:
    gates = quote.buying.gates
    return gates.get(first.phase, 0) == gates.get(line.phase, 0) and (
        _needed(line) - _needed(first) <= quote.buying.one_order_days)


# ---------------------------------------------------------------- what is left over

def left_overs(quote: Quote, option: PricedOption) -> tuple[LeftOver, ...]:
    """Where every part goes, by part; parts that are all used up too."""
    with_job: dict[str, Decimal] = {}
    for row in option.materials:
        for reason in row.because:
            if reason.rule.startswith(LEFTOVER):
                with_job[row.part] = with_job.get(row.part, ZERO) + reason.amount
    uncut: dict[str, Decimal] = {}
    for spool in option.spools:
        if not spool.cuts and not spool.from_stock and spool.tail_to == "stock":
            uncut[spool.part] = uncut.get(spool.part, ZERO) + spool.size
    return tuple(
        LeftOver(part=each.part, description=quote.parts[each.part].description, unit=each.unit, bought=each.buy,
                 from_stock=each.from_stock, used=each.need - with_job.get(each.part, ZERO),
                 with_job=with_job.get(each.part, ZERO), to_stock=each.to_stock - uncut.get(each.part, ZERO),
                 to_return=uncut.get(each.part, ZERO), waste=each.scrap)
        for each in sorted(option.purchases, key=lambda each: each.part))

"""What an option makes the firm buy and load: the purchase list, the orders, the picks, and what is left over.

Pure, from the Quote alone. Days are calendar days, as lead times are.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal

from quoting.lines import PHASES, Phase, Purchase, PutUp, Spool
from quoting.money import ZERO, r2
from quoting.quote import PricedMaterial, PricedOption, Quote, Substitute
from quoting.workdays import WorkCalendar, order_day

LEFTOVER = "leftover "  # the rule of the row that takes a special part up to whole packs
CABLE, RACK, HOUSE, SERVICES = "Cable, by spool", "Rack and head end", "Whole house", "Hire and services"
_LAST = {CABLE: 1, RACK: 2, HOUSE: 3, SERVICES: 4}  # kits that are no room's come after the rooms'


@dataclass(frozen=True, slots=True, kw_only=True)
class BuyLine:
    """One size of pack of one part; `put_up` is None where the stock has all that is needed.

    What is said of the part, not of the pack, stands on its first line: `first`. Quantities in the part's unit.
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
    need_by: datetime.date | None  # when the phase's parts have come; None: the job has no dates
    order_by: datetime.date | None  # its lead time before that
    late: bool  # the last day to order is before the quote's day
    long_lead: bool
    substitutes: tuple[Substitute, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pick:
    """So much of a part for one kit of one phase. Of cable a pick is a spool, and `quantity` what is cut from it."""

    phase: Phase
    kit: str  # a room's name, or one of the kits above
    room: str  # code; "" for those
    part: str
    description: str
    unit: str
    quantity: Decimal
    bin: str  # where it lies in stock; "" where it is bought
    spool: Spool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOver:
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


# ---------------------------------------------------------------- buying

def purchase_list(quote: Quote, option: PricedOption) -> tuple[BuyLine, ...]:
    """Everything that the option needs, by supplier, then part; parts that are all in stock too."""
    phases = _first_phases(option.materials)
    wanted = {phase.phase: phase.parts_date for phase in option.timetable.phases}
    office = WorkCalendar(closed=frozenset(quote.buying.closed))
    lines = [line for purchase in option.purchases
             for line in _lines(quote, purchase, phases.get(purchase.part, "whole job"), wanted, office)]
    return tuple(sorted(lines, key=lambda line: line.supplier))  # parts stay in their order


def orders(lines: Iterable[BuyLine]) -> dict[str, tuple[BuyLine, ...]]:
    """What is ordered, by supplier."""
    found: dict[str, list[BuyLine]] = {}
    for line in lines:
        if line.put_up is not None:
            found.setdefault(line.supplier, []).append(line)
    return {supplier: tuple(its) for supplier, its in found.items()}


def _first_phases(materials: Iterable[PricedMaterial]) -> dict[str, Phase]:
    """The first phase that needs each part."""
    found: dict[str, Phase] = {}
    for row in materials:
        if row.need > 0:
            before = found.get(row.part)
            found[row.part] = row.phase if before is None else min(before, row.phase, key=PHASES.index)
    return found


def _lines(
    quote: Quote, purchase: Purchase, phase: Phase, wanted: Mapping[Phase, datetime.date | None],
    office: WorkCalendar,
) -> Iterator[BuyLine]:
    info, terms = quote.parts.get(purchase.part), quote.buying
    lead_days = info.lead_days if info else 0
    need_by = wanted.get(phase)
    order_by = order_day(need_by, lead_days, office) if need_by else None
    put_ups: tuple[PutUp | None, ...] = purchase.put_ups or (None,)
    for place, put_up in enumerate(put_ups):
        yield BuyLine(
            supplier=(put_up.supplier if put_up else "") or purchase.supplier, part=purchase.part,
            description=info.description if info else "", unit=purchase.unit, put_up=put_up,
            outlay=r2(put_up.count * put_up.cost, quote.pricing.currency) if put_up else ZERO, first=place == 0,
            need=purchase.need, on_hand=purchase.on_hand, from_stock=purchase.from_stock, to_buy=purchase.buy,
            saved=purchase.saved, lead_days=lead_days, phase=phase, need_by=need_by, order_by=order_by,
            late=put_up is not None and order_by is not None and order_by < quote.pricing.date,
            long_lead=put_up is not None and 0 < terms.long_lead_days <= lead_days,
            substitutes=tuple(each for each in terms.substitutes if each.part == purchase.part))


# ---------------------------------------------------------------- picking

def picks(quote: Quote, option: PricedOption) -> tuple[Pick, ...]:
    """Every part once, by phase, then the rooms in the house's order, then what is no room's; cable by spool."""
    purchases = {purchase.part: purchase for purchase in option.purchases}
    cut = {spool.part for spool in option.spools}
    rooms = sorted(quote.job.rooms, key=lambda room: (room.floor, room.zone, room.code))
    places = {room.code: place for place, room in enumerate(rooms)}
    names = {room.code: room.name for room in rooms}
    found = [_pick(quote, row, purchases[row.part], names) for row in option.materials
             if row.need > 0 and row.part in purchases and row.part not in cut]
    found += _spool_picks(quote, option, purchases)
    return tuple(sorted(found, key=lambda pick: (
        PHASES.index(pick.phase), _LAST.get(pick.kit, 0) if not pick.room else 0, places.get(pick.room, 0),
        pick.part, pick.spool.number if pick.spool else 0)))


def _pick(quote: Quote, row: PricedMaterial, purchase: Purchase, names: Mapping[str, str]) -> Pick:
    info = quote.parts[row.part]
    room = "" if info.category in quote.buying.not_carried else row.room
    if info.category in quote.buying.not_carried:
        kit = SERVICES
    else:
        kit = names.get(room, room) if room else RACK if row.phase == "rack build" else HOUSE
    return Pick(phase=row.phase, kit=kit, room=room, part=row.part, description=info.description, unit=row.unit,
                quantity=row.need, bin=purchase.bin if purchase.from_stock else "")


def _spool_picks(quote: Quote, option: PricedOption, purchases: Mapping[str, Purchase]) -> Iterator[Pick]:
    """A pick for each spool, in the first phase that cuts from it. What the customer pays for beyond the runs (special
    cable is sold in whole spools) is on the spools' tails."""
    phases = {(row.part, reason.fact): row.phase for row in option.materials for reason in row.because}
    phases |= {(row.part, row.id): row.phase for row in option.materials}
    first = _first_phases(option.materials)
    beyond = {part: purchase.need for part, purchase in purchases.items()}
    for spool in option.spools:
        beyond[spool.part] -= sum((cut.length for cut in spool.cuts), ZERO)
    for spool in option.spools:
        tail = min(spool.tail, beyond[spool.part])
        beyond[spool.part] -= tail
        its = [phases.get((spool.part, cut.run), first[spool.part]) for cut in spool.cuts]
        purchase = purchases[spool.part]
        yield Pick(
            phase=min(its, key=PHASES.index, default=first[spool.part]), kit=CABLE, room="", part=spool.part,
            description=quote.parts[spool.part].description, unit=purchase.unit,
            quantity=sum((cut.length for cut in spool.cuts), ZERO) + tail,
            bin=purchase.bin if spool.from_stock else "", spool=spool)


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

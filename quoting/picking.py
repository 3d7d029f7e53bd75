"""What the warehouse loads for each phase: every part once, kit by kit, cable by spool; what leaves its box early.

Pure, from the Quote alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal

from msgspec import Struct
from msgspec.structs import replace

from quoting.job import Room
from quoting.lines import PHASES, Phase, Purchase, Spool
from quoting.money import ZERO
from quoting.quote import PricedMaterial, PricedOption, Quote

CABLE, RACK, HOUSE, SERVICES = "Cable, by spool", "Rack and head end", "Whole house", "Hire and services"
_LAST = {CABLE: 1, RACK: 2, HOUSE: 3, SERVICES: 4}  # kits that are no room's come after the rooms'


class Pick(Struct, frozen=True, kw_only=True):
    """So much of a part for one kit of one phase. Of cable a pick is a spool, and `quantity` what is cut from it."""

    phase: Phase
    kit: str  # a room's name, or one of the kits above
    room: str  # code; "" where it is no room's
    part: str
    description: str
    unit: str
    quantity: Decimal
    colour: str = ""  # that it was ordered in; "" where it comes in one
    bin: str = ""  # where it lies in stock; "" where all of it is bought
    from_bin: Decimal = ZERO  # how much of it lies there
    spool: Spool | None = None


class Loan(Struct, frozen=True, kw_only=True):
    """What the rough-in takes out of boxes that wait for the fitting: the templates, the brackets of loudspeakers."""

    kit: str  # a room's name
    room: str
    part: str  # the loudspeaker
    description: str
    piece: str
    count: int  # boxes, one of them out of each


def picks(quote: Quote, option: PricedOption) -> tuple[Pick, ...]:
    """Every part once, by phase, then the rooms in the house's order, then what is no room's; cable by spool."""
    purchases = {purchase.part: purchase for purchase in option.purchases}
    cut = {spool.part for spool in option.spools}
    places = _places(quote)
    rooms = {room.code: room for room in quote.job.rooms}
    at_head_end = {row["id"] for row in option.facts.get("cable_end", ()) if row["end"] == "head end"}
    found = [pick for row in option.materials if row.need > 0 and row.part in purchases and row.part not in cut
             for pick in _row_picks(quote, row, purchases[row.part], rooms.get(row.room), at_head_end)]
    found = [*_met(found), *_spool_picks(quote, option, purchases)]
    found.sort(key=lambda pick: (
        PHASES.index(pick.phase), _LAST.get(pick.kit, 0), "" if pick.kit != SERVICES else pick.part,
        places.get(pick.room, 0), pick.part, pick.colour, pick.spool.number if pick.spool else 0))
    return tuple(_with_bins(found, purchases))


def loans(quote: Quote, option: PricedOption) -> tuple[Loan, ...]:
    """What the rough-in needs of loudspeakers that are fitted later, room by room."""
    names, places = {room.code: room.name for room in quote.job.rooms}, _places(quote)
    boxes: dict[tuple[str, str, str], int] = {}
    for row in option.facts.get("speaker", ()):
        if row["part"] and row.get("early_piece"):
            key = row["room"], row["part"], row["early_piece"]
            boxes[key] = boxes.get(key, 0) + 1
    return tuple(
        Loan(kit=names.get(room, room), room=room, part=part, piece=piece, count=count,
             description=quote.parts[part].description if part in quote.parts else part)
        for (room, part, piece), count in sorted(boxes.items(), key=lambda one: (places.get(one[0][0], 0), one[0])))


def _places(quote: Quote) -> dict[str, int]:
    """The rooms in the order in which the house is walked."""
    return {room.code: place for place, room in enumerate(quote.job.rooms_in_house_order())}


def _row_picks(
    quote: Quote, row: PricedMaterial, purchase: Purchase, room: Room | None, at_head_end: set[str]
) -> Iterator[Pick]:
    """A row in its room's kit; what of it is put on at the head end in that one's."""
    info = quote.parts[row.part]
    ordered = {put_up.colour.casefold(): put_up.colour for put_up in purchase.put_ups if put_up.colour}
    plain = Pick(phase=row.phase, kit="", room=row.room, part=row.part, description=info.description, unit=row.unit,
                 quantity=row.need, colour=ordered.get(room.colour.strip().casefold(), "") if room else "")
    if info.category in quote.buying.not_carried:
        yield replace(plain, kit=SERVICES)
        return
    there = row.need if row.phase == "rack build" else min(row.need, sum(
        (reason.amount for reason in row.because if reason.fact in at_head_end), ZERO))
    if there:
        yield replace(plain, kit=RACK, room="", quantity=there)
    if there < row.need:
        yield replace(plain, kit=room.name if room else row.room or HOUSE, quantity=row.need - there)


def _met(found: Iterable[Pick]) -> Iterator[Pick]:
    """What several rooms need at the head end is one pick of its kit."""
    together: dict[tuple[str, ...], Pick] = {}
    for pick in found:
        key = (pick.phase, pick.kit, pick.room, pick.part, pick.colour)
        before = together.get(key)
        together[key] = replace(pick, quantity=before.quantity + pick.quantity) if before else pick
    return iter(together.values())


def _with_bins(found: Iterable[Pick], purchases: Mapping[str, Purchase]) -> Iterator[Pick]:
    """What lies in stock goes to the first picks: the rest of them comes from the suppliers."""
    left = {part: purchase.from_stock for part, purchase in purchases.items()}
    for pick in found:
        there = min(left[pick.part], pick.quantity) if not pick.spool and not pick.colour else ZERO
        left[pick.part] -= there
        yield replace(pick, bin=purchases[pick.part].bin, from_bin=there) if there else pick


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
            bin=purchase.bin if spool.from_stock else "", from_bin=spool.size if spool.from_stock else ZERO,
            spool=spool)


def _first_phases(materials: Sequence[PricedMaterial]) -> dict[str, Phase]:
    """The first phase that needs each part."""
    found: dict[str, Phase] = {}
    for row in materials:
        if row.need > 0:
            before = found.get(row.part)
            found[row.part] = row.phase if before is None else min(before, row.phase, key=PHASES.index)
    return found

"""Whole packs and spools that cover the rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from decimal import Decimal
from types import MappingProxyType
from typing import Literal

from msgspec.structs import replace

from quoting import lines as ln
from quoting.bill.packs import cheapest_packs, cost_of, put_ups
from quoting.bill.rows import in_bill_order, meet
from quoting.bill.spools import Bought, buy_spools, common_cable
from quoting.buying_inputs import StockItem
from quoting.catalog.records import Catalog, Part, Price
from quoting.money import ZERO, r2, round_to
from quoting.problems import Problem, stop
from quoting.tables.decision import Answer

NO_PULLS: Mapping[str, str] = MappingProxyType({})
NO_STOCK: Mapping[str, StockItem] = MappingProxyType({})
NO_COLOURS: Mapping[str, str] = MappingProxyType({})
Lot = tuple[str, ln.Phase | Literal[""]]  # colour that it is ordered in, phase that it is hired for


def make_bill(
    rows: ln.Rows, catalog: Catalog, currency: str, pulls: Mapping[str, str] = NO_PULLS,
    stock: Mapping[str, StockItem] = NO_STOCK, colours: Mapping[str, str] = NO_COLOURS,
) -> tuple[ln.Bill, tuple[Problem, ...]]:
    """The rows, and whole packs and spools that cover them. A part without a price in the currency is a stop.

    Where a part's leftover belongs to the job, a row of its own takes the need up to whole packs. `pulls` tells the
    pull group of each run: cables of one group come from different spools where there is room. `stock` is taken off
    what is bought, never off the rows: what the job uses costs and sells for the same, wherever it comes from. A part
    whose leftover belongs to the job is bought whole, as it is sold, and nothing is taken off. `colours` tells the
    rooms whose colour is not the one that parts come in: standards/part_buying.csv says which parts are ordered in it,
    and which are hired, phase by phase.
    """
    by_part: dict[str, list[ln.MaterialRow]] = {}
    for row in rows.materials:
        if row.need > 0:
            by_part.setdefault(row.part, []).append(row)
    problems: list[Problem] = []
    purchases: list[ln.Purchase] = []
    spools: list[ln.Spool] = []
    extra: list[ln.MaterialRow] = []
    common = common_cable(by_part, catalog)
    ways = {row.text("part"): row for row in catalog.standards.rows("part_buying")}
    for name, its in by_part.items():
        part, prices = catalog.parts[name], catalog.prices.get((name, currency), ())
        need = sum((row.need for row in its), ZERO)
        item = stock.get(name) if part.leftover == "stock" else None
        if not prices:
            bought: Bought | Problem = _no_price(part, its, currency)
        elif name in catalog.cables:
            bought = buy_spools(part, its, prices, catalog.standards, pulls, common=name == common,
                                stock=item.spools if item else ())
        else:
            bought = _lots_bought(_lots(its, ways.get(name), colours), prices, part, item)
        if isinstance(bought, Problem):
            problems.append(bought)
            continue
        problems.extend(bought.warnings)
        buy = sum((each.size * each.count for each in bought.put_ups), ZERO)
        if part.leftover == "job" and buy > need:
            extra.append(_leftover(its[0], buy - need, part))
            need = buy
        purchases.append(_purchase(part, need, buy, bought, prices, item, currency))
        spools.extend(bought.spools)
    suppliers = {purchase.part: purchase.supplier for purchase in purchases}
    materials = in_bill_order(meet([*rows.materials, *extra])) if extra else rows.materials
    return ln.Bill(
        materials, rows.labour, rows.statements, tuple(sorted(purchases, key=lambda p: (p.supplier, p.part))),
        tuple(sorted(spools, key=lambda spool: (suppliers[spool.part], spool.part, spool.number))),
    ), tuple(problems)


def _no_price(part: Part, rows: Sequence[ln.MaterialRow], currency: str) -> Problem:
    return stop(part.where, "no-price", f"Part '{part.part}' (line '{rows[0].id}') has no price in {currency}: "
                "it is not available.", f"Add a row in {currency} to prices.csv, or choose another part.")


def _lots(rows: Sequence[ln.MaterialRow], way: Answer | None, colours: Mapping[str, str]) -> dict[Lot, Decimal]:
    """What is needed of a part in each colour and for each phase that is bought by itself; all of it where neither
    matters. What comes as it always does stands first, then the colours, and the phases in their order."""
    found: dict[Lot, Decimal] = {}
    for row in rows:
        lot: Lot = (colours.get(row.room, "") if way and way.yes("coloured") else "",
                    row.phase if way and way.yes("on_the_day") else "")
        found[lot] = found.get(lot, ZERO) + row.need
    order = ("", *ln.PHASES)
    return {lot: found[lot] for lot in sorted(found, key=lambda lot: (lot[0], order.index(lot[1])))}


def _lots_bought(lots: Mapping[Lot, Decimal], prices: Sequence[Price], part: Part, item: StockItem | None) -> Bought:
    """Packs for each lot. The stock has parts as they always come, never in a colour that was asked for."""
    chosen: list[ln.PutUp] = []
    taken = ZERO
    for (colour, phase), need in lots.items():
        there = replace(item, on_hand=item.on_hand - taken) if item and not colour else None
        bought = _packs(need, prices, part, there)
        chosen += (replace(put_up, colour=colour, phase=phase) for put_up in bought.put_ups)
        taken += bought.from_stock
    return Bought(tuple(chosen), cost_of(chosen), from_stock=taken)


def _packs(need: Decimal, prices: Sequence[Price], part: Part, item: StockItem | None) -> Bought:
    """Packs for what the stock does not have. Whole packs that the customer pays for are chosen without quantity
    breaks: what the firm saves by buying more is not put on the customer's bill."""
    taken = min(item.on_hand, need) if item else ZERO
    if part.leftover == "stock":
        chosen = cheapest_packs(need - taken, prices)
    else:
        plain = [replace(price, breaks=()) for price in prices]
        counts = {(put_up.size, put_up.cost): put_up.count for put_up in cheapest_packs(need, plain)}
        chosen = put_ups(prices, [counts.pop((price.put_up, price.cost), 0) for price in prices])
    return Bought(chosen, cost_of(chosen), from_stock=taken)


def _leftover(row: ln.MaterialRow, rest: Decimal, part: Part) -> ln.MaterialRow:
    because = ln.Reason(f"leftover {part.part}", part.where, "JOB", row.because[0].cells[:1], rest)
    return replace(row, id=ln.row_id(row.part, "", row.phase), need=rest, room="", zone=0, because=(because,),
                   ruled_need=rest, override_price=None)


def _purchase(part: Part, need: Decimal, buy: Decimal, bought: Bought, prices: Sequence[Price],
              item: StockItem | None, currency: str) -> ln.Purchase:
    waste = sum((spool.tail for spool in bought.spools if spool.tail_to == "job"), ZERO)
    there = buy + bought.from_stock
    scrap = waste if there > need else ZERO
    outlay, least = cost_of(bought.put_ups), bought.lower_bound
    plain = {(price.put_up, price.supplier): price.cost for price in prices}
    alone = sum((plain[put_up.size, put_up.supplier] * put_up.count for put_up in bought.put_ups), ZERO)
    supplier = next((put_up.supplier for put_up in bought.put_ups if put_up.supplier), part.supplier)
    return ln.Purchase(
        part=part.part, unit=part.unit, need=need, buy=buy, put_ups=bought.put_ups, to_stock=there - need - scrap,
        scrap=scrap, outlay=r2(outlay, currency), supplier=supplier, lower_bound=r2(least, currency),
        proved=outlay == least, gap_rate=round_to((outlay - least) / least, 4) if least else ZERO,
        cartons=bought.cartons, decided=bought.decided, on_hand=item.on_hand if item else ZERO,
        from_stock=bought.from_stock, bin=item.bin if item else "", saved=r2(alone - outlay, currency),
    )

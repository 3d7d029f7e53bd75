"""Whole packs and spools that cover the rows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from types import MappingProxyType

from quoting import lines as ln
from quoting.bill.rows import in_bill_order, meet
from quoting.bill.spools import Bought, buy_spools, common_cable
from quoting.catalog.records import Catalog, Part, Price
from quoting.money import ONE, ZERO, ceil, r2, round_to
from quoting.problems import Problem, stop

NO_PULLS: Mapping[str, str] = MappingProxyType({})


def make_bill(
    rows: ln.Rows, catalog: Catalog, currency: str, pulls: Mapping[str, str] = NO_PULLS
) -> tuple[ln.Bill, tuple[Problem, ...]]:
    """The rows, and whole packs and spools that cover them. A part without a price in the currency is a stop.

    Where a part's leftover belongs to the job, a row of its own takes the need up to whole packs. `pulls` tells the
    pull group of each run: cables of one group come from different spools where there is room.
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
    for name, its in by_part.items():
        part, prices = catalog.parts[name], catalog.prices.get((name, currency), ())
        if not prices:
            bought: Bought | Problem = _no_price(part, its, currency)
        elif name in catalog.cables:
            bought = buy_spools(part, its, prices, catalog.standards, pulls, common=name == common)
        else:
            bought = _packs(sum((row.need for row in its), ZERO), prices)
        if isinstance(bought, Problem):
            problems.append(bought)
            continue
        problems.extend(bought.warnings)
        need, buy = sum((row.need for row in its), ZERO), sum((each.size * each.count for each in bought.put_ups), ZERO)
        if part.leftover == "job" and buy > need:
            extra.append(_leftover(its[0], buy - need, part))
            need = buy
        purchases.append(_purchase(part, need, buy, bought, prices, currency))
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


def _packs(need: Decimal, prices: Sequence[Price]) -> Bought:
    put_ups = cheapest_packs(need, prices)
    return Bought(put_ups, sum((put_up.cost * put_up.count for put_up in put_ups), ZERO))


def _leftover(row: ln.MaterialRow, rest: Decimal, part: Part) -> ln.MaterialRow:
    because = ln.Reason(f"leftover {part.part}", part.where, "JOB", row.because[0].cells[:1], rest)
    return replace(row, id=ln.row_id(row.part, "", row.phase), need=rest, room="", zone=0, because=(because,),
                   ruled_need=rest, override_price=None)


def _purchase(part: Part, need: Decimal, buy: Decimal, bought: Bought, prices: Sequence[Price], currency: str
              ) -> ln.Purchase:
    scrap = sum((spool.tail for spool in bought.spools if spool.tail_to == "job"), ZERO) if buy > need else ZERO
    sizes = {put_up.size for put_up in bought.put_ups}
    supplier = next((price.supplier for price in prices if price.put_up in sizes and price.supplier), part.supplier)
    outlay = sum((put_up.cost * put_up.count for put_up in bought.put_ups), ZERO)
    least = bought.lower_bound
    return ln.Purchase(
        part=part.part, unit=part.unit, need=need, buy=buy, put_ups=bought.put_ups, to_stock=buy - need - scrap,
        scrap=scrap, outlay=r2(outlay, currency), supplier=supplier, lower_bound=r2(least, currency),
        proved=outlay == least, gap_rate=round_to((outlay - least) / least, 4) if least else ZERO,
        cartons=bought.cartons, decided=bought.decided,
    )


def cheapest_packs(need: Decimal, prices: Sequence[Price]) -> tuple[ln.PutUp, ...]:
    """The cheapest put-ups that cover a need; of equal cost the fewest packs, then the least left over.

    An exact search: the dearer sizes are only tried as far as they could still cost less.
    """
    sizes = sorted(prices, key=lambda price: (price.unit_cost, -price.put_up))
    best: list[tuple[Decimal, int, Decimal, tuple[int, ...]]] = []

    def search(index: int, rest: Decimal, so_far: Decimal, counts: tuple[int, ...]) -> None:
        size = sizes[index]
        whole = int(ceil(max(rest, ZERO) / size.put_up))
        last = index == len(sizes) - 1
        for count in (whole,) if last else range(whole, -1, -1):
            left, cost = rest - count * size.put_up, so_far + count * size.cost
            if left <= 0 or last:
                found = cost, sum(counts) + count, -left, (*counts, count)
                best[:] = [min([*best, found])]
                continue
            after = sizes[index + 1:]
            # What the rest costs at least, against the best so far; times a size, so that equal is exactly equal.
            over = (cost - best[0][0]) * after[0].put_up + left * after[0].cost if best else -ONE
            if over > 0:
                return
            packs = sum(counts) + count + int(ceil(left / max(price.put_up for price in after)))
            if over < 0 or packs <= best[0][1]:
                search(index + 1, left, cost, (*counts, count))

    search(0, need, ZERO, ())
    counts = best[0][3]
    return tuple(
        ln.PutUp(price.put_up, count, price.cost) for price, count in zip(sizes, counts, strict=False) if count
    )

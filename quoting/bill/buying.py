"""Whole packs and spools that cover the rows."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from quoting import lines as ln
from quoting.bill.rows import in_bill_order, meet
from quoting.catalog.records import Catalog, Part, Price
from quoting.money import ONE, ZERO, ceil, r2, split
from quoting.problems import Problem, stop
from quoting.units import to_quantity

RESERVE_M = Decimal("4.572")  # 15 ft: what a spool keeps back, so that a run measured short still reaches
RESERVE_RATE = Decimal("0.05")  # common practice, no source

Bought = tuple[tuple[ln.PutUp, ...], tuple[ln.Spool, ...]]


def make_bill(rows: ln.Rows, catalog: Catalog, currency: str) -> tuple[ln.Bill, tuple[Problem, ...]]:
    """The rows, and whole packs and spools that cover them. A part without a price in the currency is a stop.

    Where a part's leftover belongs to the job, a row of its own takes the need up to whole packs.
    """
    by_part: dict[str, list[ln.MaterialRow]] = {}
    for row in rows.materials:
        if row.need > 0:
            by_part.setdefault(row.part, []).append(row)
    problems: list[Problem] = []
    purchases: list[ln.Purchase] = []
    spools: list[ln.Spool] = []
    extra: list[ln.MaterialRow] = []
    for name, its in by_part.items():
        part, prices = catalog.parts[name], catalog.prices.get((name, currency), ())
        bought = _buy(part, its, prices, currency, catalog)
        if isinstance(bought, Problem):
            problems.append(bought)
            continue
        put_ups, cut = bought
        need, buy = sum((row.need for row in its), ZERO), sum((each.size * each.count for each in put_ups), ZERO)
        if part.leftover == "job" and buy > need:
            extra.append(_leftover(its[0], buy - need, part))
            need = buy
        purchases.append(_purchase(part, need, buy, bought, prices, currency))
        spools.extend(cut)
    suppliers = {purchase.part: purchase.supplier for purchase in purchases}
    materials = in_bill_order(meet([*rows.materials, *extra])) if extra else rows.materials
    return ln.Bill(
        materials, rows.labour, rows.statements, tuple(sorted(purchases, key=lambda p: (p.supplier, p.part))),
        tuple(sorted(spools, key=lambda spool: (suppliers[spool.part], spool.part, spool.number))),
    ), tuple(problems)


def _buy(part: Part, rows: Sequence[ln.MaterialRow], prices: Sequence[Price], currency: str, catalog: Catalog
         ) -> Bought | Problem:
    if not prices:
        return stop(part.where, "no-price", f"Part '{part.part}' (line '{rows[0].id}') has no price in {currency}: "
                    "it is not available.", f"Add a row in {currency} to prices.csv, or choose another part.")
    if part.part in catalog.cables:
        return _spools(part, rows, prices)
    return cheapest_packs(sum((row.need for row in rows), ZERO), prices), ()


def _leftover(row: ln.MaterialRow, rest: Decimal, part: Part) -> ln.MaterialRow:
    because = ln.Reason(f"leftover {part.part}", part.where, "JOB", row.because[0].cells[:1], rest)
    return replace(row, id=ln.row_id(row.part, "", row.phase), need=rest, room="", zone=0, because=(because,),
                   ruled_need=rest, override_price=None)


def _purchase(part: Part, need: Decimal, buy: Decimal, bought: Bought, prices: Sequence[Price], currency: str
              ) -> ln.Purchase:
    put_ups, spools = bought
    scrap = sum((spool.tail for spool in spools if spool.tail_to == "job"), ZERO) if buy > need else ZERO
    sizes = {put_up.size for put_up in put_ups}
    supplier = next((price.supplier for price in prices if price.put_up in sizes and price.supplier), part.supplier)
    return ln.Purchase(
        part=part.part, unit=part.unit, need=need, buy=buy, put_ups=put_ups, to_stock=buy - need - scrap, scrap=scrap,
        outlay=r2(sum((put_up.cost * put_up.count for put_up in put_ups), ZERO), currency), supplier=supplier,
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


def _spools(part: Part, rows: Sequence[ln.MaterialRow], prices: Sequence[Price]) -> Bought | Problem:
    """First-fit decreasing: no run is spliced, each spool keeps a reserve back, and is then the cheapest that holds."""
    largest = max(price.put_up for price in prices)
    cuts = sorted((cut for row in rows for cut in _cuts(row)), key=lambda cut: (-cut.length, cut.run))
    if cuts[0].length > largest:
        return stop(part.where, "run-too-long", f"Run '{cuts[0].run}' needs {cuts[0].length:f} {part.unit} of "
                    f"'{part.part}', and its largest spool holds {largest:f}; a run is never spliced.",
                    "Add a longer spool to prices.csv, or shorten the run.")
    holds = largest - _reserve(largest, part.unit)
    filled: list[list[ln.Cut]] = []
    used: list[Decimal] = []
    for cut in cuts:
        index = next((i for i, length in enumerate(used) if length + cut.length <= holds), len(used))
        if index == len(used):
            filled.append([])
            used.append(ZERO)
        filled[index].append(cut)
        used[index] += cut.length
    chosen = [_cheapest_spool(length, prices, part.unit) for length in used]
    spools = tuple(
        _spool(part, number, price.put_up, tuple(its))
        for number, (its, price) in enumerate(zip(filled, chosen, strict=True), 1)
    )
    counts = {price: chosen.count(price) for price in dict.fromkeys(chosen)}
    return tuple(ln.PutUp(price.put_up, count, price.cost) for price, count in counts.items()), spools


def _cuts(row: ln.MaterialRow) -> tuple[ln.Cut, ...]:
    """One cut a run. Where the estimator replaced the length, the runs share the new one in proportion."""
    runs = [reason for reason in row.because if reason.rule != "override" and reason.amount > 0]
    if not runs:
        return (ln.Cut(row.id, row.room, row.need),)
    lengths = [reason.amount for reason in runs]
    if sum(lengths, ZERO) != row.need:
        lengths = list(split(row.need, lengths, 3))
    return tuple(ln.Cut(reason.fact, row.room, length) for reason, length in zip(runs, lengths, strict=True))


def _reserve(size: Decimal, unit: str) -> Decimal:
    return max(to_quantity(RESERVE_M, unit), size * RESERVE_RATE)


def _cheapest_spool(length: Decimal, prices: Sequence[Price], unit: str) -> Price:
    holding = [price for price in prices if length <= price.put_up - _reserve(price.put_up, unit)]
    holding = holding or [price for price in prices if length <= price.put_up]
    return min(holding, key=lambda price: (price.cost, -price.put_up))


def _spool(part: Part, number: int, size: Decimal, cuts: tuple[ln.Cut, ...]) -> ln.Spool:
    tail = size - sum((cut.length for cut in cuts), ZERO)
    keeps = part.leftover == "stock" and tail >= (part.keep or ZERO)
    return ln.Spool(part=part.part, number=number, size=size, cuts=cuts, tail=tail, tail_to="stock" if keeps else "job")

"""A cable's runs become cuts on whole spools: which spools to buy, what comes from each, where its tail goes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from decimal import Decimal

from msgspec import Struct

from quoting import lines as ln
from quoting.bill.cutting import Cutting, Filled, PutUp, Run, cut_runs
from quoting.bill.packs import put_ups
from quoting.catalog.records import Catalog, Part, Price
from quoting.money import ZERO, split
from quoting.problems import Problem, stop, warning
from quoting.tables.decision import Standards
from quoting.units import to_quantity


class Bought(Struct, frozen=True):
    """What covers a part's need, and what covers it at least."""

    put_ups: tuple[ln.PutUp, ...]
    lower_bound: Decimal
    from_stock: Decimal = ZERO
    spools: tuple[ln.Spool, ...] = ()
    cartons: int = 0
    decided: tuple[str, ...] = ()
    warnings: tuple[Problem, ...] = ()


def buy_spools(
    part: Part, rows: Sequence[ln.MaterialRow], prices: Sequence[Price], standards: Standards,
    pulls: Mapping[str, str], *, common: bool, stock: Sequence[Decimal] = (),
) -> Bought | Problem:
    """The cheapest spools that hold the runs whole; a stop where a run is longer than any. Unanswered by "spool".

    Of the common cable there are as many spools as are pulled from at the same time, though one would hold it all.
    Spools in stock (what is left on each) are cut first, where that costs less, what becomes waste counted: else they
    stay whole.
    Quantity breaks lower what the spools cost; which spools are bought is chosen at the cost of one.
    """
    runs = [cut for row in rows for cut in _runs(row, pulls)]
    largest = max(price.put_up for price in prices)
    longest = min(runs, key=lambda run: (-run.length, run.id))
    if longest.length > largest:
        return stop(part.where, "run-too-long", f"Run '{longest.id}' needs {longest.length:f} {part.unit} of "
                    f"'{part.part}', and its largest spool holds {largest:f}; a run is never spliced.",
                    "Add a longer spool to prices.csv, or shorten the run.")
    length, rate, parallel, waste = (standards.ask("spool", item=item) for item in (
        "reserve length", "reserve rate", "parallel pulls", "waste value"))
    least = to_quantity(length.decimal("length_m"), part.unit)

    def holds(size: Decimal) -> Decimal:
        return size - max(least, size * rate.decimal("value"))

    sizes = [PutUp(price.put_up, holds(price.put_up), price.cost) for price in prices]
    together = Counter(run.pull_group for run in runs if run.pull_group)
    cartons = min(int(parallel.number("value")), max(together.values(), default=0)) if common else 0
    unit_cost = next((price for price in prices if price.costing), prices[0]).unit_cost

    def wasted(spools: Iterable[Filled]) -> Decimal:
        tails = (_tail(spool) for spool in spools)
        return waste.decimal("value") * unit_cost * sum((tail for tail in tails if not _keeps(part, tail)), ZERO)

    taken, cutting = _cut(runs, sizes, cartons, [PutUp(size, holds(size), ZERO) for size in stock], wasted)
    spools = tuple(_spool(part, number, spool, from_stock=number <= len(taken))
                   for number, spool in enumerate((*taken, *cutting.spools), 1))
    decided = [length.decided, rate.decided, *([parallel.decided] if cartons > 1 else []),
               *([waste.decided] if stock else [])]
    most = max(size.holds for size in sizes)
    warnings = tuple(_no_reserve(part, run, largest) for run in runs if run.length > most)
    bought, bound = _at_breaks(cutting, prices)
    return Bought(bought, bound, sum((spool.put_up.size for spool in taken), ZERO), spools, cartons, tuple(decided),
                  warnings)


def _cut(
    runs: Sequence[Run], sizes: Sequence[PutUp], cartons: int, stock: Sequence[PutUp],
    wasted: Callable[[Iterable[Filled]], Decimal],
) -> tuple[list[Filled], Cutting]:
    """The spools that are taken from stock, and the cutting of what is bought. `wasted`: what their waste is worth."""
    cutting = cut_runs(runs, sizes, cartons)
    taken, rest = _from_stock(runs, stock)
    if taken:
        less = cut_runs(rest, sizes, max(cartons - len(taken), 0))
        if less.cost + wasted((*taken, *less.spools)) < cutting.cost + wasted(cutting.spools):
            return taken, less
    return [], cutting


def _from_stock(runs: Sequence[Run], stock: Sequence[PutUp]) -> tuple[list[Filled], list[Run]]:
    """The longest runs first, each on the spool in stock that it fills best; the runs that fit on none."""
    cuts: list[list[Run]] = [[] for _ in stock]
    left = [spool.holds for spool in stock]
    rest: list[Run] = []
    for run in sorted(runs, key=lambda run: (-run.length, run.id)):
        place = min((place for place, room in enumerate(left) if room >= run.length), key=lambda place: left[place],
                    default=None)
        if place is None:
            rest.append(run)
        else:
            cuts[place].append(run)
            left[place] -= run.length
    return [Filled(spool, tuple(its)) for spool, its in zip(stock, cuts, strict=True) if its], rest


def _at_breaks(cutting: Cutting, prices: Sequence[Price]) -> tuple[tuple[ln.PutUp, ...], Decimal]:
    """The spools at what so many cost, and what any spools that hold the runs cost at least.

    No spool costs less than its deepest break of so many as could still be cheaper; so no choice of spools costs less
    than the bound without breaks in that proportion.
    """
    counts = Counter((spool.put_up.size, spool.put_up.cost) for spool in cutting.spools)
    bought = put_ups(prices, [counts.pop((price.put_up, price.cost), 0) for price in prices])
    bound = min((cutting.lower_bound * cost / price.cost for price in prices for count, cost in price.breaks
                 if price.cost and count * cost <= cutting.cost), default=cutting.lower_bound)
    return bought, min(bound, cutting.lower_bound)


def _no_reserve(part: Part, run: Run, largest: Decimal) -> Problem:
    return warning(part.where, "run-without-reserve", f"Run '{run.id}' needs {run.length:f} {part.unit} of "
                   f"'{part.part}', all but {largest - run.length:f} of its largest spool of {largest:f}: less than a "
                   "spool keeps back, so a run that comes out longer does not reach.",
                   "Measure the run, add a longer spool to prices.csv, or shorten the run.")


def common_cable(by_part: Mapping[str, Sequence[ln.MaterialRow]], catalog: Catalog) -> str:
    """The cable of which the job needs most; "" for none. Special orders are not bought to spare."""
    needs = {name: sum((row.need for row in rows), ZERO) for name, rows in by_part.items()
             if name in catalog.cables and catalog.parts[name].leftover == "stock"}
    return min(needs, key=lambda name: (-needs[name], name), default="")


def _runs(row: ln.MaterialRow, pulls: Mapping[str, str]) -> tuple[Run, ...]:
    """The row's runs. Where the estimator replaced the length, the runs share the new one in proportion."""
    runs = [reason for reason in row.because if reason.rule != "override" and reason.amount > 0]
    if not runs:
        return (Run(row.id, row.room, row.need),)
    lengths = [reason.amount for reason in runs]
    if sum(lengths, ZERO) != row.need:
        lengths = list(split(row.need, lengths, 3))
    return tuple(Run(reason.fact, row.room, length, pulls.get(reason.fact, ""))
                 for reason, length in zip(runs, lengths, strict=True))


def _spool(part: Part, number: int, spool: Filled, *, from_stock: bool) -> ln.Spool:
    size, runs, tail = spool.put_up.size, spool.runs, _tail(spool)
    cuts = tuple(ln.Cut(run.id, run.room, run.length, run.pull_group) for run in runs)
    return ln.Spool(part=part.part, number=number, size=size, cuts=cuts, tail=tail,
                    tail_to="stock" if _keeps(part, tail) else "job", from_stock=from_stock)


def _tail(spool: Filled) -> Decimal:
    return spool.put_up.size - sum((run.length for run in spool.runs), ZERO)


def _keeps(part: Part, tail: Decimal) -> bool:
    """Whether what is left on a spool goes back to stock; else it is waste."""
    return part.leftover == "stock" and tail >= (part.keep or ZERO)

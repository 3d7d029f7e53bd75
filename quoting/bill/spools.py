"""A cable's runs become cuts on whole spools: which spools to buy, what comes from each, where its tail goes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from quoting import lines as ln
from quoting.bill.cutting import PutUp, Run, cut_runs
from quoting.catalog.records import Catalog, Part, Price
from quoting.money import ZERO, split
from quoting.problems import Problem, stop, warning
from quoting.tables.decision import Standards
from quoting.units import to_quantity


@dataclass(frozen=True, slots=True)
class Bought:
    """What covers a part's need, and what covers it at least."""

    put_ups: tuple[ln.PutUp, ...]
    lower_bound: Decimal
    spools: tuple[ln.Spool, ...] = ()
    cartons: int = 0
    decided: tuple[str, ...] = ()
    warnings: tuple[Problem, ...] = ()


def buy_spools(
    part: Part, rows: Sequence[ln.MaterialRow], prices: Sequence[Price], standards: Standards,
    pulls: Mapping[str, str], *, common: bool,
) -> Bought | Problem:
    """The cheapest spools that hold the runs whole; a stop where a run is longer than any. Unanswered by "spool".

    Of the common cable there are as many spools as are pulled from at the same time, though one would hold it all.
    """
    runs = [cut for row in rows for cut in _runs(row, pulls)]
    largest = max(price.put_up for price in prices)
    longest = min(runs, key=lambda run: (-run.length, run.id))
    if longest.length > largest:
        return stop(part.where, "run-too-long", f"Run '{longest.id}' needs {longest.length:f} {part.unit} of "
                    f"'{part.part}', and its largest spool holds {largest:f}; a run is never spliced.",
                    "Add a longer spool to prices.csv, or shorten the run.")
    length, rate, parallel = (
        standards.ask("spool", item=item) for item in ("reserve length", "reserve rate", "parallel pulls"))
    least = to_quantity(length.decimal("length_m"), part.unit)
    put_ups = [PutUp(price.put_up, price.put_up - max(least, price.put_up * rate.decimal("value")), price.cost)
               for price in prices]
    together = Counter(run.pull_group for run in runs if run.pull_group)
    cartons = min(int(parallel.number("value")), max(together.values(), default=0)) if common else 0
    cutting = cut_runs(runs, put_ups, cartons)
    counts = Counter(spool.put_up for spool in cutting.spools)
    spools = tuple(
        _spool(part, number, spool.put_up.size, spool.runs) for number, spool in enumerate(cutting.spools, 1))
    decided = [length.decided, rate.decided, *([parallel.decided] if cartons > 1 else [])]
    most = max(put_up.holds for put_up in put_ups)
    warnings = tuple(_no_reserve(part, run, largest) for run in runs if run.length > most)
    return Bought(tuple(ln.PutUp(put_up.size, count, put_up.cost) for put_up, count in counts.items()),
                  cutting.lower_bound, spools, cartons, tuple(decided), warnings)


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


def _spool(part: Part, number: int, size: Decimal, runs: Sequence[Run]) -> ln.Spool:
    tail = size - sum((run.length for run in runs), ZERO)
    keeps = part.leftover == "stock" and tail >= (part.keep or ZERO)
    cuts = tuple(ln.Cut(run.id, run.room, run.length, run.pull_group) for run in runs)
    return ln.Spool(part=part.part, number=number, size=size, cuts=cuts, tail=tail, tail_to="stock" if keeps else "job")

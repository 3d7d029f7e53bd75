"""Lines become a bill: lines of one part meet, the estimator's corrections apply, packs and spools are bought."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import TypeVar

from quoting import lines as ln
from quoting.catalog.records import Catalog, Part, Price
from quoting.job import Override
from quoting.money import ONE, ZERO, ceil, parse, r2, round_to, split
from quoting.problems import Problem, stop, warning
from quoting.units import to_quantity

MOST = Decimal(1_000_000)  # the largest value that an override may set; more is a slip of the finger
RESERVE_M = Decimal("4.572")  # 15 ft: what a spool keeps back, so that a run measured short still reaches
RESERVE_RATE = Decimal("0.05")  # common practice, no source
_PHASE_ORDER = {phase: index for index, phase in enumerate(ln.PHASES)}

Row = TypeVar("Row", ln.MaterialRow, ln.LabourRow)
Bought = tuple[tuple[ln.PutUp, ...], tuple[ln.Spool, ...]]


def merge_lines(
    lines: Iterable[ln.Line], overrides: Sequence[Override], catalog: Catalog, *, final: bool = True,
) -> tuple[ln.Rows, tuple[Problem, ...]]:
    """Rows per part or task, room and phase, with the overrides of row ids applied last.

    `final` adds the waste of counted parts; without it the rows are good for measuring hours. An override whose row
    is not here is passed over: `stale_overrides` judges it over all options. A value that cannot be used is a stop.
    Unanswered where the standard counted_waste has no row for a category.
    """
    goods: dict[tuple[str, str, str], list[ln.MaterialLine]] = {}
    work: dict[tuple[str, str, str], list[ln.LabourLine]] = {}
    said: list[ln.StatementLine] = []
    for line in lines:
        if isinstance(line, ln.MaterialLine):
            goods.setdefault((line.part, line.room, line.phase), []).append(line)
        elif isinstance(line, ln.LabourLine):
            work.setdefault((line.task, line.room, line.phase), []).append(line)
        else:
            said.append(line)
    problems = _not_in_catalog(goods, work, catalog)
    by_id: dict[str, list[Override]] = {}
    for override in overrides:
        by_id.setdefault(override.id, []).append(override)
    rows = [_material_row(met, catalog) for (part, _, _), met in goods.items() if part in catalog.parts]
    rooms = _changed([row for row in rows if row.room], by_id, _change_material, catalog, problems)
    house = [row for row in rows if not row.room]
    waste = _waste([*rooms, *house], catalog) if final else []
    house = _changed(_met([*house, *waste]), by_id, _change_material, catalog, problems)
    hours = [_labour_row(met, catalog) for (task, _, _), met in work.items() if task in catalog.tasks]
    hours = _changed(hours, by_id, _change_labour, catalog, problems)
    return ln.Rows(_sorted(_met([*rooms, *house])), _sorted(hours), tuple(said)), tuple(problems)


def stale_overrides(
    overrides: Sequence[Override], options: Iterable[ln.Rows], fact_ids: Collection[str],
) -> tuple[Problem, ...]:
    """A warning for each override whose id is a row of no option and no fact's: ask once, with every option's rows."""
    known = set(fact_ids)
    for rows in options:
        named = [(row.id, row.because) for row in rows.materials] + [(row.id, row.because) for row in rows.labour]
        for id, because in named:
            known |= {id, *(reason.fact for reason in because if reason.rule == "override")}
    return tuple(_stale(override, known) for override in overrides if override.id not in known)


def _stale(override: Override, known: Collection[str]) -> Problem:
    pieces = {piece for piece in override.id.split("/") if piece}
    close = _close(override.id, [name for name in known if pieces & set(name.split("/"))] or known)
    return warning(override.where, "stale-override",
                   f"No line and no fact has the id '{override.id}' any more; this correction changes nothing.",
                   f"Type one of {close}, or delete the row." if close else "Take an id from Why, or delete the row.")


def _close(typed: str, known: Iterable[str]) -> str:
    from difflib import get_close_matches  # only here: most jobs have nothing mistyped
    return ", ".join(f"'{name}'" for name in get_close_matches(typed, sorted(known)))


def _not_in_catalog(goods: Iterable[tuple[str, str, str]], work: Iterable[tuple[str, str, str]], catalog: Catalog
                    ) -> list[Problem]:
    missing = [("part", name, "parts.csv") for name, _, _ in goods if name not in catalog.parts]
    missing += [("task", name, "labour.csv") for name, _, _ in work if name not in catalog.tasks]
    return [
        stop(catalog.firm.where, f"unknown-{what}", f"A rule or a fact asks for the {what} '{name}', "
             f"which {file} does not have.", f"Add it to {file}, or change what names it.")
        for what, name, file in dict.fromkeys(missing)
    ]


def _material_row(met: Sequence[ln.MaterialLine], catalog: Catalog) -> ln.MaterialRow:
    first = met[0]
    need = sum([line.quantity for line in met], ZERO)
    return ln.MaterialRow(
        id=ln.row_id(first.part, first.room, first.phase), part=first.part, need=need,
        unit=catalog.parts[first.part].unit, room=first.room, zone=_one_zone(met), phase=first.phase,
        because=tuple(_brings(line.because, line.quantity) for line in met), ruled_need=need, override_price=None,
    )


def _labour_row(met: Sequence[ln.LabourLine], catalog: Catalog) -> ln.LabourRow:
    """Hours are the PERT mean (low + 4 likely + high) / 6 of the sums, rounded once."""
    first, most = met[0], max(met, key=lambda line: line.likely)
    spans = [(line.low, line.likely, line.high) for line in met]
    low, likely, high = (sum(each, ZERO) for each in zip(*spans, strict=True))
    hours = round_to((low + 4 * likely + high) / 6, 2)
    return ln.LabourRow(
        id=ln.row_id(first.task, first.room, first.phase), task=first.task, role=catalog.tasks[first.task].role,
        phase=first.phase, room=first.room, zone=_one_zone(met), wall_state=most.wall_state,
        units=sum((line.units for line in met), ZERO), low=round_to(low, 2), likely=round_to(likely, 2),
        high=round_to(high, 2), hours=hours, factors=tuple(dict.fromkeys(f for line in met for f in line.factors)),
        because=tuple(_brings(line.because, line.units) for line in met), ruled_hours=hours,
    )


def _one_zone(met: Sequence[ln.MaterialLine] | Sequence[ln.LabourLine]) -> int:
    return met[0].zone if all(line.zone == met[0].zone for line in met) else 0


def _brings(reason: ln.Reason, amount: Decimal) -> ln.Reason:
    return reason if reason.amount == amount else ln.Reason(
        reason.rule, reason.rule_cell, reason.fact, reason.cells, amount)


def _met(rows: Iterable[ln.MaterialRow]) -> list[ln.MaterialRow]:
    """Rows of one id in one row: waste joins what is there, a renamed row joins the part's own."""
    found: dict[str, ln.MaterialRow] = {}
    for row in rows:
        other = found.get(row.id)
        found[row.id] = row if other is None else replace(
            other, need=other.need + row.need, because=other.because + row.because,
            ruled_need=other.ruled_need + row.ruled_need, zone=other.zone if other.zone == row.zone else 0,
            override_price=row.override_price if other.override_price is None else other.override_price,
        )
    return list(found.values())


def _sorted(rows: Iterable[Row]) -> tuple[Row, ...]:
    return tuple(sorted(rows, key=lambda row: (_PHASE_ORDER[row.phase], row.room, row.id)))


def _waste(rows: Iterable[ln.MaterialRow], catalog: Catalog) -> list[ln.MaterialRow]:
    """Spare pieces of counted parts, one row per part and phase for the whole job. Cable's waste is in its length."""
    used: dict[tuple[str, str], list[ln.MaterialRow]] = {}
    for row in rows:
        if row.unit == "each":
            used.setdefault((row.part, row.phase), []).append(row)
    waste: list[ln.MaterialRow] = []
    for (part, phase), its in used.items():
        answer = catalog.standards.ask("counted_waste", category=catalog.parts[part].category)
        # The nearest whole piece: rounded up, every single plate and binder of a job would come twice.
        pieces = round_to(round_to(sum((row.need for row in its), ZERO) * answer.decimal("waste_rate"), 0), 3)
        if pieces > 0:
            cells = dict.fromkeys(cell for row in its for cell in row.because[0].cells[:1])
            because = ln.Reason(f"waste {answer.row}", answer.where, "JOB", tuple(cells), pieces)
            waste.append(replace(its[0], id=ln.row_id(part, "", phase), need=pieces, room="", zone=0,
                                 because=(because,), ruled_need=pieces, override_price=None))
    return waste


# ---------------------------------------------------------------- overrides

def _changed(
    rows: Iterable[Row], by_id: Mapping[str, Sequence[Override]],
    change: Callable[[Row, Override, Catalog], Row | Problem], catalog: Catalog, problems: list[Problem],
) -> list[Row]:
    changed: list[Row] = []
    for row in rows:
        now = row
        for override in by_id.get(row.id, ()):
            result = change(now, override, catalog)
            if isinstance(result, Problem):
                problems.append(result)
            else:
                now = result
        changed.append(now)
    return changed


def _change_material(row: ln.MaterialRow, override: Override, catalog: Catalog) -> ln.MaterialRow | Problem:
    if override.what == "part":
        return _other_part(row, override, catalog)
    if override.what not in ("quantity", "price", "drop"):
        return _cannot(override, "a part's line", "quantity, part, price or drop")
    value = ZERO if override.what == "drop" else _value(override)
    if isinstance(value, Problem):
        return value
    if override.what == "price":
        return replace(row, override_price=round_to(value, 4), because=(*row.because, _because(override, ZERO)))
    if row.unit == "each" and value != ceil(value):
        return stop(override.where, "override-value", f"'{override.value}' is not a whole number of pieces.",
                    "This part is counted in pieces: type a whole number.")
    need = round_to(value, 3)
    return replace(row, need=need, because=(*row.because, _because(override, need - row.need)))


def _other_part(row: ln.MaterialRow, override: Override, catalog: Catalog) -> ln.MaterialRow | Problem:
    part = catalog.parts.get(override.value.strip())
    if part is None:
        close = _close(override.value, catalog.parts)
        return stop(override.where, "unknown-part", f"'{override.value}' is not a part of the catalogue.",
                    f"Type one of {close}." if close else "Type a part number of parts.csv.")
    if part.unit != row.unit:
        return stop(override.where, "override-value", f"'{part.part}' is sold by '{part.unit}', and this line is "
                    f"counted in '{row.unit}'.", "Type a part that is sold in the same unit.")
    return replace(row, id=ln.row_id(part.part, row.room, row.phase), part=part.part,
                   because=(*row.because, _because(override, ZERO)))


def _change_labour(row: ln.LabourRow, override: Override, catalog: Catalog) -> ln.LabourRow | Problem:  # noqa: ARG001
    if override.what not in ("quantity", "hours", "drop"):
        return _cannot(override, "a task's line", "quantity, hours or drop")
    value = ZERO if override.what == "drop" else _value(override)
    if isinstance(value, Problem):
        return value
    units, hours = row.units, round_to(value, 2)
    if override.what != "hours":
        if value and not row.units:
            return _cannot(override, "a task's line that counts nothing", "hours or drop")
        units = round_to(value, 3)
        hours = round_to(row.hours * units / row.units, 2) if row.units else ZERO
    # The estimator moves the middle; low and high keep their distance from it in proportion.
    low, likely, high = (
        round_to(part * hours / row.hours, 2) if row.hours else hours for part in (row.low, row.likely, row.high)
    )
    return replace(row, units=units, hours=hours, low=low, likely=likely, high=high,
                   because=(*row.because, _because(override, units - row.units)))


def _value(override: Override) -> Decimal | Problem:
    value = parse(override.value)
    if value is not None and 0 <= value <= MOST:
        return value
    return stop(override.where, "override-value", f"'{override.value}' is not a value that '{override.what}' can "
                f"have; allowed is a number from 0 to {MOST:,}.", "Type a plain number such as 12.5.")


def _cannot(override: Override, of: str, allowed: str) -> Problem:
    return stop(override.where, "override-not-possible", f"'{override.what}' cannot be replaced in {of} "
                f"('{override.id}').", f"Type {allowed}.")


def _because(override: Override, difference: Decimal) -> ln.Reason:
    return ln.Reason("override", override.where, override.id, (override.where,), difference)


# ---------------------------------------------------------------- buying

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
    materials = _sorted(_met([*rows.materials, *extra])) if extra else rows.materials
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

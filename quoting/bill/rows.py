"""Lines of one part or task, room and phase meet in one row; counted parts take their waste."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal

from msgspec.structs import replace

from quoting import lines as ln
from quoting.bill.overrides import Row, apply_overrides, change_labour, change_material
from quoting.catalog.records import Catalog
from quoting.hours import expected_hours
from quoting.job import Override
from quoting.money import ZERO, round_to
from quoting.problems import Problem, stop

_PHASE_ORDER = {phase: index for index, phase in enumerate(ln.PHASES)}


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
    rooms = apply_overrides([row for row in rows if row.room], by_id, change_material, catalog, problems)
    house = [row for row in rows if not row.room]
    waste = _waste([*rooms, *house], catalog) if final else []
    house = apply_overrides(meet([*house, *waste]), by_id, change_material, catalog, problems)
    hours = [_labour_row(met, catalog) for (task, _, _), met in work.items() if task in catalog.tasks]
    hours = apply_overrides(hours, by_id, change_labour, catalog, problems)
    return ln.Rows(in_bill_order(meet([*rooms, *house])), in_bill_order(hours), tuple(said)), tuple(problems)


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
    hours = round_to(expected_hours(low, likely, high), 2)
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


def meet(rows: Iterable[ln.MaterialRow]) -> list[ln.MaterialRow]:
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


def in_bill_order(rows: Iterable[Row]) -> tuple[Row, ...]:
    """Sorted by phase, room, id."""
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

"""A realistic quote for tests of the office workbook, and a fresh pricing of any quote under other inputs.

Twelve rooms, three options, about sixty rows of material and forty of labour: discount, two taxes, a contingency,
floors, an own markup, an overridden price, a part that two options buy in different put-ups. Everything is invented.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from types import SimpleNamespace
from typing import Any, cast

from msgspec.structs import replace

from quoting import job as j
from quoting import lines as ln
from quoting import quote as q
from quoting.catalog.records import Catalog
from quoting.money import ZERO, r2
from quoting.pricing.labour import price_labour
from quoting.pricing.options import steps, sums_by_room
from quoting.pricing.plan import instalments
from quoting.pricing.price import price_materials
from quoting.pricing.risk import p80_by_phase
from quoting.pricing.tax import contractor_rates
from quoting.pricing.totals import price_totals
from tests.builders import cell, make_job, make_option, make_pricing, make_quote, make_room, reason

D = Decimal

# part: description, category, unit, unit cost, list price, floor price, own markup
_PARTS: dict[str, tuple[str, str, str, str, str, str, str]] = {
    "AMP-12": ("12-channel amplifier 60 W", "electronics", "each", "610", "1190", "", ""),
    "AMP-4": ("4-channel amplifier 60 W", "electronics", "each", "238.5", "420", "399", ""),
    "BNP-1": ("Banana plug, pair", "small parts", "each", "1.1325", "", "", ""),
    "BOX-1": ("Sealed back box", "speakers", "each", "31.4", "", "", ""),
    "BRK-6": ("Bracket 6.5 in", "speakers", "each", "7.2", "", "", "0.8"),
    "CBL-14-2": ("Cable 14 AWG 2 conductors", "cable", "ft", "0.2845", "", "", ""),
    "CBL-16-4": ("Cable 16 AWG 4 conductors", "cable", "ft", "0.3115", "", "", ""),
    "CBL-CAT6": ("Category 6 cable", "cable", "ft", "0.1295", "", "", ""),
    "CTL-6": ("Controller 6 zones", "electronics", "each", "740", "1290", "", ""),
    "KEY-1": ("Wall keypad", "controls", "each", "95", "179", "", ""),
    "KNB-1": ("Volume knob", "controls", "each", "31", "59", "", ""),
    "LBL-1": ("Cable label", "small parts", "each", "0.065", "", "", ""),
    "PLT-B": ("Blank plate", "small parts", "each", "0.85", "", "3.5", ""),
    "RCK-20": ("Rack 20 U with fan", "racks", "each", "285", "", "", ""),
    "RNG-1": ("Single-gang ring", "small parts", "each", "1.4475", "", "", ""),
    "SHF-2": ("Equipment shelf", "racks", "each", "41", "", "", ""),
    "SPK-6": ("Ceiling speaker 6.5 in", "speakers", "each", "62.5", "129", "", ""),
    "SPK-8": ("Ceiling speaker 8 in", "speakers", "each", "104.375", "229", "199.95", ""),
    "SPK-OUT": ("Outdoor speaker 6.5 in", "speakers", "each", "88", "175", "", ""),
    "STR-1": ("Music streamer", "sources", "each", "210", "299", "", ""),
}
# task: description, class, sold, role, hours of one unit (low, likely, high)
_TASKS: dict[str, tuple[str, str, bool, str, tuple[str, str, str]]] = {
    "design.system": ("System design and drawings", "design", True, "designer", ("4", "6", "10")),
    "rough.home run": ("Pull and dress a home run", "cabling", True, "installer", ("0.5", "0.75", "1.25")),
    "rough.bracket": ("Fix a bracket", "fixing", True, "installer", ("0.15", "0.2", "0.35")),
    "trim.speaker": ("Mount and connect a speaker", "fixing", True, "installer", ("0.3", "0.4", "0.65")),
    "trim.control": ("Fit a keypad or knob", "fixing", True, "installer", ("0.3", "0.45", "0.7")),
    "rack.component": ("Mount and wire a component", "rack", True, "technician", ("0.4", "0.6", "1.1")),
    "set up.zone": ("Set up and prove a zone", "setting up", True, "technician", ("0.4", "0.6", "1")),
    "handover.teach": ("Teach the family", "setting up", True, "technician", ("1", "1.5", "2.5")),
    "manage.job": ("Plan, order, keep records", "management", True, "manager", ("3", "5", "9")),
    "travel.drive": ("Drive to the site and back", "travel", True, "installer", ("1", "1.5", "3")),
    "travel.unsold": ("Half-day remainder", "stand-by", False, "installer", ("0.5", "1.15", "1.5")),
}
_CATEGORIES: tuple[tuple[str, q.MarkupBasis, str, str], ...] = (
    ("cable", "margin", "0.65", "0.02"),
    ("controls", "list", "0.05", "0.02"),
    ("electronics", "margin", "0.38", "0.025"),
    ("racks", "markup", "0.9", "0.05"),
    ("small parts", "margin", "0.7", "0.015"),
    ("sources", "markup", "0.25", "0.02"),
    ("speakers", "margin", "0.45", "0.0225"),
)
# code, name, walls, feet of cable, then for good, better, best: speakers and control; "" = not in the option
_ROOMS: tuple[tuple[str, str, j.WallState, str, tuple[str, str, str]], ...] = (
    ("BATH", "Main bath", "open", "62.5", ("", "2 KNB-1", "2 KNB-1")),
    ("BED1", "Main bedroom", "open", "71", ("2 KEY-1", "2 KEY-1", "2 KEY-1")),
    ("BED2", "Children's room", "open", "77.5", ("", "0", "2 KNB-1")),
    ("DIN", "Dining room", "finished", "48", ("2", "2", "4 KEY-1")),
    ("GYM", "Basement gym", "finished", "39.5", ("0", "2", "2 KEY-1")),
    ("HALL", "Hall", "open", "33", ("0", "1", "1 KNB-1")),
    ("KIT", "Kitchen and breakfast", "open", "85", ("2 KEY-1", "4 KEY-1", "4 KEY-1")),
    ("LIV", "Living room", "open", "91.5", ("2 KEY-1", "2 KEY-1", "4 KEY-1")),
    ("OFF", "Office", "finished", "55", ("2", "2 KNB-1", "2 KEY-1")),
    ("PAT", "Patio", "open", "120", ("", "0", "2")),
    ("PLAY", "Play room", "open", "66", ("", "2", "2 KNB-1")),
)
OPTIONS = ("good", "better", "best")


def sample_pricing(**changes: Any) -> q.Pricing:
    """Two taxes, a discount of 3 %, contingency by rate, a deposit cap that bites."""
    values: dict[str, Any] = {
        "categories": tuple(
            q.CategoryPricing(
                category=name, words="", basis=basis, rate=D(rate), freight_rate=D(freight), warn_days=60, row="MKP-010"
            )
            for name, basis, rate, freight in _CATEGORIES
        ),
        "roles": tuple(
            q.RoleRate(role=role, pay=D(pay), burdened=D(burdened), sold_hour=D(sold), price=D(price))
            for role, pay, burdened, sold, price in (
                ("designer", "42", "58.25", "81.5", "125"),
                ("installer", "26", "36.55", "51.2", "87.5"),
                ("manager", "38", "52", "73.1", "110"),
                ("technician", "31", "43.35", "60.75", "105"),
            )
        ),
        "parts": tuple(
            q.PartPricing(
                part=part,
                unit_cost=D(row[3]).quantize(D("0.0001")),
                list_price=D(row[4]) if row[4] else None,
                floor_price=D(row[5]) if row[5] else None,
                own_markup=D(row[6]) if row[6] else None,
            )
            for part, row in _PARTS.items()
        ),
        "discount_rate": D("0.03"),
        "discount_reason": "repeat customer",
        "approved_by": "the owner",
        "taxes": (
            q.TaxRule(name="State sales tax", category="-", rate=D("0.0625"), payer="customer"),
            q.TaxRule(name="County tax", category="electronics", rate=D("0.0125"), payer="customer"),
            q.TaxRule(name="County tax", category="speakers", rate=D("0.0125"), payer="customer"),
            q.TaxRule(name="County tax", category="freight", rate=D("0.0075"), payer="customer"),
            q.TaxRule(name="County tax", category="labour", rate=D("0.005"), payer="customer"),
        ),
        "contingency_method": "rate",
        "contingency_rate": D("0.07"),
        "deposit_cap_rate": D("0.1"),
        "deposit_cap_amount": D("1000"),
        "whole_units": False,
        "cost_basis": "sold hour",
    }
    return make_pricing(**{**values, **changes})


def sample_quote(pricing: q.Pricing | None = None, **changes: Any) -> q.Quote:
    """The quote, priced under the sample's inputs or others."""
    own = pricing or sample_pricing()
    tasks = {task: q.TaskInfo(description=row[0], labour_class=row[1], sold=row[2]) for task, row in _TASKS.items()}
    plain = make_quote()
    info = next(iter(plain.parts.values()))
    parts = {
        part: replace(
            info,
            description=row[0],
            words=row[0].lower(),
            category=row[1],
            unit=row[2],
            supplier=f"Invented supplier {'ABCDE'[len(part) % 5]}",
        )
        for part, row in _PARTS.items()
    }
    room = make_room()
    rooms = tuple(
        replace(room, code=code, name=name, wall_state=walls, zone=number)
        for number, (code, name, walls, _, _) in enumerate(_ROOMS, 1)
    )
    job = replace(make_job(), rooms=rooms)
    options = tuple(_option(index, own, parts) for index in range(3))
    quote = replace(plain, job=job, parts=parts, tasks=tasks, options=options, pricing=own)
    return replace(reprice(quote, own), **changes)


def reprice(quote: q.Quote, pricing: q.Pricing) -> q.Quote:
    """The same needs and hours under other inputs, through the engine's own pricing functions."""
    catalog = cast(
        Catalog,
        SimpleNamespace(
            parts={name: SimpleNamespace(category=info.category) for name, info in quote.parts.items()},
            tasks={name: SimpleNamespace(sold=info.sold) for name, info in quote.tasks.items()},
            firm=SimpleNamespace(cost_basis=pricing.cost_basis),
        ),
    )
    options = tuple(_repriced(option, pricing, catalog) for option in quote.options)
    return replace(quote, pricing=pricing, options=options, steps=steps(options, quote.job.rooms))


def _repriced(option: q.PricedOption, pricing: q.Pricing, catalog: Catalog) -> q.PricedOption:
    materials = tuple(
        ln.MaterialRow(
            id=row.id,
            part=row.part,
            need=row.need,
            unit=row.unit,
            room=row.room,
            zone=row.zone,
            phase=row.phase,
            because=row.because,
            ruled_need=row.ruled_need,
            override_price=row.unit_price if row.price_rule == "override" else None,
        )
        for row in option.materials
    )
    labour = tuple(
        ln.LabourRow(**{name: getattr(row, name) for name in ln.LabourRow.__struct_fields__}) for row in option.labour
    )
    bill = ln.Bill(materials=materials, labour=labour, statements=(), purchases=option.purchases, spools=option.spools)
    categories = [category.category for category in pricing.categories]
    priced, _ = price_materials(
        bill,
        {part.part: part for part in pricing.parts},
        pricing.categories,
        contractor_rates(pricing.taxes, categories),
        catalog,
        pricing.currency,
    )
    hours = price_labour(labour, {role.role: role for role in pricing.roles}, catalog, pricing.currency)
    totals = price_totals(priced, hours, option.purchases, pricing, catalog)
    plan = instalments(
        totals.total, pricing.plan, pricing.deposit_cap_rate, pricing.deposit_cap_amount, pricing.currency
    )
    found = replace(option, materials=priced, labour=hours, totals=totals, plan=plan, phases=_phases(option, hours))
    sums = sums_by_room(found)
    return replace(
        found,
        rooms=tuple(
            replace(room, materials=sums.get(room.room, (ZERO, ZERO))[0], labour=sums.get(room.room, (ZERO, ZERO))[1])
            for room in option.rooms
        ),
    )


def _phases(option: q.PricedOption, labour: Iterable[q.PricedLabour]) -> tuple[q.PhaseTotal, ...]:
    rows = tuple(labour)
    return tuple(
        replace(
            phase,
            price=sum((row.price for row in rows if row.phase == phase.phase), ZERO),
            cost=sum((row.cost for row in rows if row.phase == phase.phase), ZERO),
            hours=sum((row.hours for row in rows if row.phase == phase.phase), ZERO),
        )
        for phase in option.phases
    )


# ---------------------------------------------------------------- rows, not yet priced


def _option(index: int, pricing: q.Pricing, parts: Mapping[str, q.PartInfo]) -> q.PricedOption:
    materials, labour = _job_materials(index), _job_labour(index)
    promises = []
    for number, (code, name, walls, feet, wishes) in enumerate(_ROOMS, 1):
        count, _, control = wishes[index].partition(" ")
        state = "out" if not wishes[index] else "live" if int(count) else "wired-only"
        promises.append(
            q.RoomPromise(
                room=code,
                name=name,
                state=state,
                speakers=int(count or 0),
                control={"KEY-1": "keypad", "KNB-1": "knob"}.get(control, "phone"),
                materials=ZERO,
                labour=ZERO,
            )
        )
        if wishes[index]:
            materials += _room_materials(code, number, index, int(count), control, feet)
            labour += _room_labour(code, number, walls, int(count), control)
    rank = {phase: order for order, phase in enumerate(ln.PHASES)}
    materials.sort(key=lambda row: (rank[row.phase], row.room, row.part))
    labour.sort(key=lambda row: (rank[row.phase], row.room, row.task))
    phases = tuple(
        q.PhaseTotal(
            phase=phase, words="", price=ZERO, cost=ZERO, hours=ZERO, half_days=3, trips=2, crew=2, p80_hours=p80
        )
        for phase, p80 in p80_by_phase(labour).items()
    )
    return replace(
        make_option(OPTIONS[index]),
        materials=tuple(materials),
        labour=tuple(labour),
        rooms=tuple(promises),
        phases=phases,
        purchases=_purchases(materials, parts, pricing, index),
        spools=(),
    )


def _material(
    part: str, need: str, room: str, zone: int, phase: ln.Phase, rule: str, price: str = ""
) -> q.PricedMaterial:
    fact = f"{room or 'SYS'}-1"
    return q.PricedMaterial(
        id=ln.row_id(part, room, phase),
        part=part,
        room=room,
        zone=zone,
        phase=phase,
        need=D(need).quantize(D("0.001")),
        unit=_PARTS[part][2],
        unit_cost=ZERO,
        unit_price=D(price or "0"),
        price_rule="override" if price else "",
        cost=ZERO,
        price=ZERO,
        freight=ZERO,
        contractor_tax=ZERO,
        ruled_need=D(need).quantize(D("0.001")),
        because=(reason(rule, fact, cell("Rooms", f"A{zone + 1}"), amount=need), reason("WST-010", fact, amount="0")),
    )


def _labour(
    task: str, units: str, room: str, zone: int, phase: ln.Phase, walls: j.WallState = "open"
) -> q.PricedLabour:
    _, _, _, role, each = _TASKS[task]
    factor = D("1.6") if walls == "finished" else D(1)
    low, likely, high = (r2(D(hours) * D(units) * factor) for hours in each)
    hours = r2((low + 4 * likely + high) / 6)
    factors = (ln.Factor("finished walls", factor, "FAC-010"),) if walls == "finished" else ()
    return q.PricedLabour(
        id=ln.row_id(task, room, phase),
        task=task,
        role=role,
        phase=phase,
        room=room,
        zone=zone,
        wall_state=walls,
        units=D(units),
        low=low,
        likely=likely,
        high=high,
        hours=hours,
        price=ZERO,
        cost=ZERO,
        direct_cost=ZERO,
        factors=factors,
        because=(reason("LAB-010", f"{room or 'SYS'}-1", amount=units),),
        ruled_hours=hours,
    )


def _room_materials(code: str, zone: int, index: int, speakers: int, control: str, feet: str) -> list[q.PricedMaterial]:
    model = "SPK-OUT" if code == "PAT" else "SPK-8" if index == 2 and code in ("KIT", "LIV") else "SPK-6"
    rows = [
        _material("CBL-16-4", feet, code, zone, "rough-in", "RUN-010"),
        _material("CBL-CAT6", str(D(feet) + 6), code, zone, "rough-in", "RUN-020"),
    ]
    if speakers:
        override = "118.00" if code == "OFF" and index else ""
        rows.append(_material(model, str(speakers), code, zone, "trim-out", "SPK-010", override))
        rows.append(_material("BRK-6", str(speakers), code, zone, "rough-in", "SPK-020"))
    else:
        rows.append(_material("PLT-B", "1", code, zone, "trim-out", "IDL-010"))
    if control:
        rows.append(_material(control, "1", code, zone, "trim-out", "KEY-010"))
        rows.append(_material("RNG-1", "1", code, zone, "rough-in", "KEY-020"))
    return rows


def _room_labour(code: str, zone: int, walls: j.WallState, speakers: int, control: str) -> list[q.PricedLabour]:
    rows = [_labour("rough.home run", "2", code, zone, "rough-in", walls)]
    if speakers:
        rows.append(_labour("rough.bracket", str(speakers), code, zone, "rough-in", walls))
        rows.append(_labour("trim.speaker", str(speakers), code, zone, "trim-out", walls))
        rows.append(_labour("set up.zone", "1", code, zone, "commissioning"))
    if control:
        rows.append(_labour("trim.control", "1", code, zone, "trim-out", walls))
    return rows


def _job_materials(index: int) -> list[q.PricedMaterial]:
    amplifiers = (("AMP-4", "2"), ("AMP-12", "1"), ("AMP-12", "2"))[index]
    found = [
        (*amplifiers,),
        ("CTL-6", "12"[index == 2]),
        ("STR-1", "112"[index]),
        ("BNP-1", str(14 + 12 * index)),
        ("LBL-1", str(40 + 20 * index)),
        ("SHF-2", "1") if index == 0 else ("RCK-20", "1"),
    ]
    return [_material(part, need, "", 0, "rack build", "RCK-010") for part, need in found]


def _job_labour(index: int) -> list[q.PricedLabour]:
    return [
        _labour("design.system", "1", "", 0, "survey and design"),
        _labour("manage.job", "1", "", 0, "whole job"),
        _labour("travel.drive", str(4 + index), "", 0, "rough-in"),
        _labour("travel.unsold", "1", "", 0, "rough-in"),
        _labour("travel.drive", "2", "", 0, "trim-out"),
        _labour("rack.component", str(5 + 2 * index), "", 0, "rack build"),
        _labour("handover.teach", "1", "", 0, "handover"),
    ]


def _purchases(
    materials: Iterable[q.PricedMaterial], parts: Mapping[str, q.PartInfo], pricing: q.Pricing, index: int
) -> tuple[ln.Purchase, ...]:
    needs: dict[str, Decimal] = {}
    for row in materials:
        needs[row.part] = needs.get(row.part, ZERO) + row.need
    costs = {part.part: part.unit_cost for part in pricing.parts}
    found = []
    for part, need in needs.items():
        sizes = ((D(500), 1 + index), (D(250), 1)) if parts[part].unit == "ft" else ((D(1), int(need)),)
        put_ups = tuple(
            ln.PutUp(size, count, r2(size * costs[part], pricing.currency)) for size, count in sizes if count
        )
        buy = sum((put_up.size * put_up.count for put_up in put_ups), ZERO)
        found.append(
            ln.Purchase(
                part=part,
                unit=parts[part].unit,
                need=need,
                buy=buy,
                put_ups=put_ups,
                outlay=sum((r2(put_up.count * put_up.cost, pricing.currency) for put_up in put_ups), ZERO),
                to_stock=max(buy - need - 7, ZERO),
                scrap=D("7.5") if parts[part].unit == "ft" else ZERO,
                supplier=parts[part].supplier,
            )
        )
    return tuple(sorted(found, key=lambda purchase: (purchase.supplier, purchase.part)))

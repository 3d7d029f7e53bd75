"""Small sensible records for tests: make_room(), make_job(), make_quote() ... every keyword replaces one field.

The quote adds up: prices, freight, taxes, steps and plans follow the order of the money rules, so that a document
made from it can be checked by sums. Firm, parts and prices are invented.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable
from decimal import Decimal
from typing import Any, cast

import msgspec
from msgspec.structs import replace

from quoting import facts as f
from quoting import job as j
from quoting import lines as ln
from quoting import quote as q
from quoting.money import ZERO, r2, round_to, share
from quoting.pricing.risk import p80_hours
from quoting.problems import Cell, Problem, warning

FILE = "1-test-house-2026-03-02.xlsx"
D = Decimal
LOGO = ("data:image/svg+xml;base64,"
        "PHN2ZyB4bWxucz0iaHR0cDovL3d3dy53My5vcmcvMjAwMC9zdmciIHZpZXdCb3g9IjAgMCA4IDgiPjxwYXRoIGQ9Ik0wIDBoOHY4eiIvPjwvc3ZnPg==")
OPTIONS = ("good", "better", "best")
TITLES = {"good": "the rooms you use most", "better": "every room you live in", "best": "the whole house"}
SITE = {
    "floor": 0, "storeys": 1, "occupied": False, "wall_state": "open", "setting": "dry", "above": "room",
    "construction": "wood frame", "access": "above", "ceiling_height_m": 2.7432,
}


def cell(sheet: str, ref: str, file: str = FILE) -> Cell:
    """An intake cell."""
    return Cell(file, sheet, ref)


# ---------------------------------------------------------------- the job

def make_room(code: str = "KIT", **changes: Any) -> j.Room:
    """A kitchen of 20 ft by 15 ft with a flat 9 ft ceiling, in zone 1."""
    values: dict[str, Any] = {
        "code": code, "name": "Kitchen", "kind": "kitchen", "floor": 0, "length_m": 6.096, "width_m": 4.572,
        "ceiling_height_m": 2.7432, "ceiling_high_m": 2.7432, "zone": 1, "sub_zone": False, "plays_from": "good",
        "mount": "ceiling", "listening": "background", "wall_state": "open", "setting": "dry", "above": "room",
        "construction": "wood frame", "access": "above", "joists": "across", "joist_spacing_m": 0.4064,
        "obstacles": "", "control": "keypad", "second_control": False, "pairs": None, "pairs_by_option": {},
        "room_input": False, "tv": False, "reuse_cable": False, "reuse_speakers": False, "reuse_control": False,
        "colour": "white", "x_m": None, "y_m": None, "measured_m": None, "distance": "middle", "near_water": False,
        "note": "", "cells": {"": cell("Rooms", "A2"), "name": cell("Rooms", "A2"), "length_m": cell("Rooms", "D2")},
    }
    return j.Room(**{**values, **changes})


def make_rooms() -> tuple[j.Room, ...]:
    """Kitchen, living room with a television, damp bath, patio: sorted by code."""
    def at(row: int) -> dict[str, Cell]:
        return {"": cell("Rooms", f"A{row}"), "name": cell("Rooms", f"A{row}"), "length_m": cell("Rooms", f"D{row}")}
    return (
        make_room("BATH", name="Main bath", kind="bath", length_m=3.0, width_m=3.0, zone=3, setting="damp",
                  control="knob", plays_from="better", cells=at(4)),
        make_room("KIT", cells=at(2)),
        make_room("LIV", name="Living room", kind="living room", length_m=7.0, width_m=5.0, zone=2, tv=True,
                  listening="foreground", cells=at(3)),
        make_room("PAT", name="Patio", kind="patio", length_m=6.0, width_m=5.0, zone=4, setting="outdoor",
                  mount="surface", control="phone", plays_from="best", listening="party", cells=at(5)),
    )


def make_zones() -> tuple[j.Zone, ...]:
    """One zone a room."""
    names = ("Kitchen", "Living room", "Main bath", "Patio")
    return tuple(
        j.Zone(number=n, name=name, mono=False, bridged=False, paged=True, max_volume=None,
               where=cell("Zones", f"A{n + 1}"))
        for n, name in enumerate(names, 1)
    )


def make_source(**changes: Any) -> j.SourceWish:
    """The streamer that every intake workbook starts with."""
    values: dict[str, Any] = {
        "name": "Music streamer", "kind": "streamer", "count": 1, "owned": False, "connector": "network",
        "control": "network", "location": "", "plays_from": "good", "where": cell("Sources", "A2"),
    }
    return j.SourceWish(**{**values, **changes})


def make_client(**changes: Any) -> j.Client:
    """An invented client who pays herself."""
    values: dict[str, Any] = {
        "name": "Ada and Noor Brandt", "site": "12 Lindenhof Lane, Sampleton", "payer": "owner",
        "budget": D("16000"), "budget_said_by": "Noor, first visit", "priorities": ("easy to use", "sound"),
    }
    return j.Client(**{**values, **changes})


def make_terms(**changes: Any) -> j.Terms:
    """Dollars, American English, 2 % off with a reason."""
    values: dict[str, Any] = {
        "currency": "USD", "locale": "en_US", "tax_place": "Sampleton", "tax_exempt": "", "dwelling_years": 0,
        "discount_rate": D("0.02"), "discount_reason": "builder's open house", "approved_by": "", "whole_units": False,
        "detail": "by room", "quote_number": "Q-1042", "revision": 1, "supersedes": "",
        "quote_date": datetime.date(2026, 3, 2),
    }
    return j.Terms(**{**values, **changes})


def make_job(**changes: Any) -> j.Job:
    """A single-storey house, walls open, four rooms in four zones, head end in the utility room."""
    values: dict[str, Any] = {
        "file": FILE, "client": make_client(), "terms": make_terms(), "unit_system": "imperial", "gauge_system": "AWG",
        "wall_state": "open", "start_date": datetime.date(2026, 4, 13), "storeys": 1, "occupied": False,
        "dwelling": "house",
        "year_built": 2026, "travel_hours": 0.5, "internet_live": datetime.date(2026, 6, 1), "router_owner": "family",
        "counting_standard": "usual", "topology": "through the keypad place", "head_end_shape": None, "streams": None,
        "phones": 2, "head_end": j.HeadEnd(place="utility room", floor=0, x_m=None, y_m=None),
        "floors": (j.FloorPlan(0, 2.7432, "open", "room", "wood frame"),), "rooms": make_rooms(),
        "zones": make_zones(), "sources": (make_source(),), "extras": (), "overrides": (),
        "defaults": (j.Default("Rooms KIT", "Above the ceiling", "room", "floor 0", cell("Rooms", "A2")),),
        "unknowns": (j.Unknown("PAT", "above", "Above the ceiling", "roof", cell("Rooms", "N5")),),
        "cells": {"": cell("Job", "A1"), "head_end": cell("Job", "B9")},
    }
    return j.Job(**{**values, **changes})


# ---------------------------------------------------------------- the facts

def make_fact(kind: str, id: str, /, **values: Any) -> f.Fact:
    """A fact of a kind: every field that is not given gets a plain value of its type."""
    cls = f.FACT_KINDS[kind]
    plain: dict[str, Any] = {"str": "", "int": 0, "float": 0.0, "bool": False}
    filled = {name: SITE.get(name, plain.get(str(spec), "")) for name, spec in _annotations(cls).items()}
    return cls(**{**filled, "id": id, "basis": (), "where": (), "decided": (), **values})


def _annotations(cls: Any) -> dict[str, Any]:
    """The fields of a record and of what it is built on, with their types as written."""
    return {name: spec for base in reversed(cls.__mro__)
            for name, spec in vars(base).get("__annotations__", {}).items()}


def facts_by_kind(facts: Iterable[f.Fact]) -> dict[str, tuple[dict[str, Any], ...]]:
    """Facts as a Quote holds them."""
    grouped: dict[str, list[dict[str, Any]]] = {}
    for fact in facts:
        grouped.setdefault(f.kind_of(fact), []).append(msgspec.to_builtins(fact))
    return {kind: tuple(rows) for kind, rows in grouped.items()}


def _shared_facts() -> tuple[f.Fact, ...]:
    where = (cell("Rooms", "A2"), cell("Rooms", "D2"))
    return (
        make_fact("job", "JOB", rooms=4, floors=1, area_m2=101.9, payer="owner", revision=1, options=3,
                  drywall_follows=True, where=(cell("Job", "A1"),)),
        make_fact("work_limits", "LIMITS", two_lift_kg=22.68, rack_air_f=85.0, meter_db=4.0, plated_mm=31.75,
                  uncounted_buttons=8, caution_db=85.0, caution_hours=8.0, all_day_db=70.0),
        make_fact("place", "KIT-S1", room="KIT", zone=1, device="speaker", mount="ceiling", bracket="BRK-6", side="L",
                  where=where, decided=("speaker_count CNT-020",)),
        make_fact("cable_run", "011", room="KIT", zone=1, part="CBL-16-4", role="speaker cable 4-conductor",
                  purpose="home run", start="HE", end="KIT-K1", conductors=4, circuits=1, gauge_awg=16.0,
                  length_basis="band", plan_m=12.0, route_factor=1.25, vertical_m=3.0, slack_m=1.5, waste_rate=0.1,
                  length_m=21.336, load_ohm=8.0, loop_ohm=0.56, loop_rate=0.07, basis=("KIT-S1",), where=where,
                  decided=("slack SLK-030", "cable_waste WST-010")),
    )


def _option_facts(option: str, rooms: dict[str, tuple[str, int, str]]) -> tuple[f.Fact, ...]:
    live = [code for code, (state, _, _) in rooms.items() if state == "live"]
    speakers = sum(count for _, count, _ in rooms.values())
    found: list[f.Fact] = [make_fact(
        "system", "SYS", option=option, shape="controller and amplifiers", live_rooms=len(live),
        wired_rooms=len(rooms) - len(live), zones=len(live), speakers=speakers, phones=2,
        streams={"good": 1, "better": 2, "best": 4}[option], service_years=1,
        keypads=sum(c == "keypad" for _, _, c in rooms.values()), knobs=sum(c == "knob" for _, _, c in rooms.values()),
    )]
    where = {room.code: room.where("name", "length_m") for room in make_rooms()}
    zone = {room.code: room.zone for room in make_rooms()}
    for code, (state, count, control) in rooms.items():
        found.append(make_fact("room_use", f"{code}-USE", room=code, zone=zone[code], state=state, speakers=count,
                               pairs=count // 2, control=control or "phone",
                               mount="surface" if code == "PAT" else "ceiling", tv=code == "LIV" and option != "good",
                               where=where[code]))
        found.extend(make_fact(
            "speaker", f"{code}-SP{n}", room=code, zone=zone[code], part="SPK-6", place=f"{code}-S{n}", mount="ceiling",
            role="ceiling speaker", side="L" if n % 2 else "R", size_in=6.5, nominal_ohm=8.0, where=where[code],
            decided=("speaker_count CNT-020",)) for n in range(1, count + 1))
    found.extend(make_fact("zone", f"Z{zone[code]}", zone=zone[code], name=make_zones()[zone[code] - 1].name, rooms=1,
                           speakers=rooms[code][1], channels=2, control=rooms[code][2], where=where[code])
                 for code in live)
    found.append(make_fact("audio_source", "SRC-1", name="Music streamer", part="STR-1", kind="streamer",
                           at_head_end=True, connector="network", where=(cell("Sources", "A2"),)))
    found.append(make_fact("phase_effort", "rough-in", phase="rough-in", hours=12.0, crew=2, half_days=2, trips=1))
    return tuple(found)


# ---------------------------------------------------------------- the catalogue's words

# part: description, words, category, unit, unit cost
_PARTS = {
    "AMP-12": ("12-channel amplifier 60 W", "amplifier, twelve channels", "electronics", "each", "610.00"),
    "BRK-6": ("Pre-construction bracket 6.5 in", "mounting frame behind the plasterboard", "speakers", "each", "7.20"),
    "CBL-16-4": ("Speaker cable 16 AWG 4 conductors", "in-wall speaker cable", "cable", "ft", "0.31"),
    "CTL-6": ("Controller 6 zones", "music controller, six zones", "electronics", "each", "740.00"),
    "KEY-1": ("Wall keypad", "wall keypad", "controls", "each", "95.00"),
    "KNB-1": ("Volume knob, damp rated", "wall volume knob", "controls", "each", "31.00"),
    "PLT-B": ("Blank plate", "blank cover plate", "small parts", "each", "0.85"),
    "RCK-20": ("Rack 20 U with fan", "ventilated equipment rack", "racks", "each", "285.00"),
    "SHF-2": ("Equipment shelf", "equipment shelf", "racks", "each", "41.00"),
    "SPK-6": ("Ceiling speaker 6.5 in, coated cone", "ceiling speaker, 6.5 inch", "speakers", "each", "62.50"),
    "SPK-OUT": ("Outdoor speaker 6.5 in", "weatherproof outdoor speaker", "speakers", "each", "88.00"),
    "STR-1": ("Music streamer", "music streamer", "sources", "each", "210.00"),
}
# task: description, class, sold, role, hours of one unit (low, likely, high)
_TASKS = {
    "design.system": ("System design and drawings", "design", True, "designer", ("2", "3", "5")),
    "rough.home run": ("Pull and dress a home run", "cabling", True, "installer", ("0.5", "0.75", "1.2")),
    "rough.bracket": ("Fix a bracket", "fixing", True, "installer", ("0.15", "0.2", "0.3")),
    "trim.speaker": ("Mount and connect a speaker", "fixing", True, "installer", ("0.3", "0.4", "0.6")),
    "trim.control": ("Fit a keypad or knob", "fixing", True, "installer", ("0.3", "0.45", "0.7")),
    "rack.component": ("Mount and wire a component", "rack", True, "installer", ("0.4", "0.6", "1")),
    "set up.zone": ("Set up and prove a zone", "setting up", True, "technician", ("0.4", "0.6", "1")),
    "handover.teach": ("Teach the family", "setting up", True, "technician", ("1", "1.5", "2")),
    "manage.job": ("Plan, order, keep records", "management", True, "manager", ("2", "3", "4")),
    "travel.unsold": ("Half-day remainder that nothing fills", "stand-by", False, "installer", ("0.5", "1", "1.5")),
}
_ROLES = {
    "designer": ("42.00", "58.00", "81.00", "125.00"), "installer": ("26.00", "36.50", "51.00", "85.00"),
    "technician": ("31.00", "43.00", "60.00", "105.00"), "manager": ("38.00", "52.00", "73.00", "110.00"),
}
_CATEGORIES = tuple(
    q.CategoryPricing(category=category, words="", basis=basis, rate=D(rate), freight_rate=D(freight), warn_days=60,
                      row=row)
    for category, basis, rate, freight, row in cast("tuple[tuple[str, q.MarkupBasis, str, str, str], ...]", (
        ("cable", "margin", "0.65", "0.02", "MKP-010"), ("controls", "margin", "0.42", "0.02", "MKP-020"),
        ("electronics", "margin", "0.38", "0.02", "MKP-030"), ("racks", "markup", "0.9", "0.05", "MKP-040"),
        ("small parts", "margin", "0.7", "0.02", "MKP-050"), ("sources", "markup", "0.25", "0.02", "MKP-060"),
        ("speakers", "margin", "0.45", "0.02", "MKP-070"),
    ))
)
_TAX = q.TaxRule(name="Sales tax", category="-", rate=D("0.0625"), payer="customer")
_PLAN = (
    q.PlanRow(name="Deposit", trigger="on signing", share=D("0.3"), before="survey and design"),
    q.PlanRow(name="Rough-in", trigger="when the cables are in and tested", share=D("0.3"), before="trim-out"),
    q.PlanRow(name="Equipment", trigger="before the equipment is ordered", share=D("0.3"), before="trim-out"),
    q.PlanRow(name="Completion", trigger="after the handover", share=D("0.1")),
)
PHASE_WORDS = {
    "survey and design": "Visit, design and drawings", "rough-in": "Cabling while the walls are open",
    "trim-out": "Fitting speakers and wall controls", "rack build": "Building and testing the equipment",
    "commissioning": "Setting up, room by room", "handover": "Showing you how it works",
    "whole job": "Planning, ordering, one person who answers for it",
}
# option -> room -> (state, speakers, control)
PROMISES = {
    "good": {"BATH": ("wired-only", 0, ""), "KIT": ("live", 2, "keypad"), "LIV": ("live", 2, "keypad"),
             "PAT": ("out", 0, "")},
    "better": {"BATH": ("live", 2, "knob"), "KIT": ("live", 4, "keypad"), "LIV": ("live", 2, "keypad"),
               "PAT": ("wired-only", 0, "")},
    "best": {"BATH": ("live", 2, "knob"), "KIT": ("live", 4, "keypad"), "LIV": ("live", 4, "keypad"),
             "PAT": ("live", 2, "phone")},
}


# ---------------------------------------------------------------- the price

def reason(rule: str, fact: str, *cells: Cell, amount: str = "1") -> ln.Reason:
    """Why a line is there."""
    kind = {"S": "speaker", "K": "keypad", "C": "cable_run", "R": "rack"}.get(rule[0], "system")
    return ln.Reason(rule, Cell(f"rules/{kind}.csv", "", "A7"), fact, cells or (cell("Rooms", "A2"),), D(amount))


def make_material(part: str, need: str, room: str, phase: ln.Phase, because: tuple[ln.Reason, ...], **changes: Any
                  ) -> q.PricedMaterial:
    """A priced row of one of the parts above."""
    category = next(c for c in _CATEGORIES if c.category == _PARTS[part][2])
    unit_cost = D(_PARTS[part][4]).quantize(D("0.0001"))
    divisor = D(1) - category.rate
    unit_price = round_to(unit_cost / divisor if category.basis == "margin" else unit_cost * (1 + category.rate), 4)
    quantity = D(need).quantize(D("0.001"))
    cost = r2(quantity * unit_cost)
    values: dict[str, Any] = {
        "id": ln.row_id(part, room, phase), "part": part, "room": room, "zone": _zone(room), "phase": phase,
        "need": quantity, "unit": _PARTS[part][3], "unit_cost": unit_cost, "unit_price": unit_price,
        "price_rule": category.basis, "cost": cost, "price": r2(quantity * unit_price),
        "freight": r2(cost * category.freight_rate), "contractor_tax": D("0.00"), "because": because,
        "ruled_need": quantity,
    }
    return q.PricedMaterial(**{**values, **changes})


def make_labour(task: str, units: int, room: str, phase: ln.Phase, because: tuple[ln.Reason, ...], **changes: Any
                ) -> q.PricedLabour:
    """A priced row of one of the tasks above: hours are the PERT mean (low + 4 likely + high) / 6."""
    _, _, sold, role, each = _TASKS[task]
    low, likely, high = (round_to(D(h) * units, 2) for h in each)
    hours = round_to((low + 4 * likely + high) / 6, 2)
    _, burdened, sold_hour, price = (D(rate) for rate in _ROLES[role])
    values: dict[str, Any] = {
        "id": ln.row_id(task, room, phase), "task": task, "role": role, "phase": phase, "room": room,
        "zone": _zone(room), "wall_state": "open", "units": D(units), "low": low, "likely": likely, "high": high,
        "hours": hours, "price": r2(hours * price) if sold else D("0.00"), "cost": r2(hours * sold_hour),
        "direct_cost": r2(hours * burdened), "factors": (), "because": because, "ruled_hours": hours,
    }
    return q.PricedLabour(**{**values, **changes})


def _zone(room: str) -> int:
    return {"KIT": 1, "LIV": 2, "BATH": 3, "PAT": 4}.get(room, 0)


def _materials(option: str) -> tuple[q.PricedMaterial, ...]:
    rows: list[q.PricedMaterial] = []
    for code, (state, count, control) in PROMISES[option].items():
        why = (reason("CBL-010", "011", cell("Rooms", "A2"), cell("Rooms", "D2"), amount="70"),)
        length = {"KIT": "70", "LIV": "85", "BATH": "60", "PAT": "95"}[code]
        rows.append(make_material("CBL-16-4", length, code, "rough-in", why))
        rows.append(make_material("BRK-6", "2", code, "rough-in", (reason("SPK-010", f"{code}-S1", amount="2"),)))
        if state == "live":
            part = "SPK-OUT" if code == "PAT" else "SPK-6"
            heard = (reason("SPK-020", f"{code}-SP1", amount=str(count)),)
            rows.append(make_material(part, str(count), code, "trim-out", heard))
        if state == "wired-only":
            rows.append(make_material("PLT-B", "2", code, "trim-out", (reason("IDL-010", f"{code}-USE", amount="2"),)))
        if control in ("keypad", "knob"):
            rows.append(make_material("KEY-1" if control == "keypad" else "KNB-1", "1", code, "trim-out",
                                      (reason("KEY-010", f"{code}-USE"),)))
    rack = ("SHF-2",) if option == "good" else ("RCK-20",)
    streamers = {"good": "1", "better": "1", "best": "2"}[option]
    rows.extend(make_material(part, "1", "", "rack build", (reason("RCK-010", "SYS"),))
                for part in ("AMP-12", "CTL-6", *rack))
    rows.append(make_material("STR-1", streamers, "", "rack build", (reason("SRC-010", "SRC-1", amount=streamers),)))
    return _sorted(rows, lambda row: row.part)


def _labour(option: str) -> tuple[q.PricedLabour, ...]:
    rows = [
        make_labour("design.system", 1, "", "survey and design", (reason("SYS-010", "SYS"),)),
        make_labour("manage.job", 1, "", "whole job", (reason("SYS-020", "SYS"),)),
        make_labour("travel.unsold", 1, "", "rough-in", (reason("EFF-010", "rough-in"),)),
        make_labour("rack.component", 5 if option == "best" else 3, "", "rack build", (reason("SYS-030", "SYS"),)),
        make_labour("handover.teach", 1, "", "handover", (reason("SYS-040", "SYS"),)),
    ]
    for code, (state, count, control) in PROMISES[option].items():
        rows.append(make_labour("rough.home run", 1, code, "rough-in", (reason("CBL-020", "011"),)))
        rows.append(make_labour("rough.bracket", 2, code, "rough-in", (reason("SPK-030", f"{code}-S1"),)))
        if state == "live":
            rows.append(make_labour("trim.speaker", count, code, "trim-out", (reason("SPK-040", f"{code}-SP1"),)))
            rows.append(make_labour("set up.zone", 1, code, "commissioning", (reason("ZON-010", f"{code}-USE"),)))
        if control in ("keypad", "knob"):
            rows.append(make_labour("trim.control", 1, code, "trim-out", (reason("KEY-020", f"{code}-USE"),)))
    return _sorted(rows, lambda row: row.task)


def _sorted(rows: Iterable[Any], name: Callable[[Any], str]) -> tuple[Any, ...]:
    return tuple(sorted(rows, key=lambda row: (ln.PHASES.index(row.phase), row.room, name(row))))


def make_totals(materials: tuple[q.PricedMaterial, ...], labour: tuple[q.PricedLabour, ...], terms: j.Terms
                ) -> q.Totals:
    """Totals in the order of the money rules: one tax of one rate on everything, on the invoice."""
    goods, work = sum((m.price for m in materials), ZERO), sum((w.price for w in labour), ZERO)
    freight = sum((m.freight for m in materials), ZERO)
    discount = r2(terms.discount_rate * (goods + work))
    base = goods + work + freight - discount
    tax = r2(base * _TAX.rate)
    total = base + tax
    material_cost, labour_cost = sum((m.cost for m in materials), ZERO), sum((w.cost for w in labour), ZERO)
    contingency = r2(labour_cost * D("0.03"))
    cost = material_cost + labour_cost + freight + contingency
    profit = total - tax - cost
    direct = sum((w.direct_cost for w in labour), ZERO)
    hours = sum((w.hours for w in labour), ZERO)
    return q.Totals(
        materials=goods, labour=work, freight=freight, discount=discount, tax=tax, rounding=D("0.00"), total=total,
        taxes=(q.TaxAmount(name=_TAX.name, category="all", rate=_TAX.rate, base=base, amount=tax),),
        material_cost=material_cost, labour_cost=labour_cost, contractor_tax=D("0.00"), scrap_cost=D("0.00"),
        contingency=contingency, cost=cost, gross_profit=profit, margin=round_to(profit / (total - tax), 4),
        hours=hours, p80_hours=round_to(hours * D("1.06"), 2), labour_margin_direct=round_to(1 - direct / work, 4),
        labour_margin_sold=round_to(1 - labour_cost / work, 4), outlay=round_to(material_cost * D("1.1"), 2),
    )


def make_plan(total: Decimal) -> tuple[q.Instalment, ...]:
    """The plan's instalments, split cumulatively."""
    parts = share(total, [row.share for row in _PLAN])
    return tuple(q.Instalment(name=row.name, trigger=row.trigger, share=row.share, amount=amount)
                 for row, amount in zip(_PLAN, parts, strict=True))


def _purchases(materials: tuple[q.PricedMaterial, ...]) -> tuple[ln.Purchase, ...]:
    need: dict[str, Decimal] = {}
    for row in materials:
        need[row.part] = need.get(row.part, ZERO) + row.need
    found = []
    for part, amount in sorted(need.items()):
        size = D(500) if part == "CBL-16-4" else D(1)
        count = int(-(-amount // size))
        outlay = r2(size * count * D(_PARTS[part][4]))
        found.append(ln.Purchase(
            part=part, unit=_PARTS[part][3], need=amount, buy=size * count, outlay=outlay, scrap=ZERO,
            put_ups=(ln.PutUp(size, count, r2(size * D(_PARTS[part][4]))),), to_stock=size * count - amount,
            supplier=_supplier(part)))
    return tuple(sorted(found, key=lambda p: (p.supplier, p.part)))


def _supplier(part: str) -> str:
    return "Wireloft Supply" if part.startswith("CBL") else "Halden Audio Trade"


def make_option(name: str = "better", **changes: Any) -> q.PricedOption:
    """One option of the four rooms, whole."""
    materials, labour = _materials(name), _labour(name)
    totals = make_totals(materials, labour, make_terms())
    runs = tuple(ln.Cut("011", row.room, row.need) for row in materials if row.part == "CBL-16-4")
    tail = D(500) - sum((cut.length for cut in runs), ZERO)
    phases = tuple(_phase(phase, labour) for phase in ln.PHASES if any(w.phase == phase and w.price for w in labour))
    values: dict[str, Any] = {
        "name": name, "title": f"{name.capitalize()}: {TITLES[name]}",
        "summary": {"good": "Music where you are every day.", "better": "Music in every room you live in.",
                    "best": "Music everywhere, the patio too."}[name],
        "gives_up": {"good": "One pair of speakers in the kitchen; one thing plays at a time.",
                     "better": "Fewer things playing at once.", "best": ""}[name],
        "facts": facts_by_kind(_option_facts(name, PROMISES[name])), "materials": materials, "labour": labour,
        "purchases": _purchases(materials),
        "spools": (ln.Spool(part="CBL-16-4", number=1, size=D(500), cuts=runs, tail=tail, tail_to="stock"),),
        "statements": ("say.mains", "say.paint", "say.open walls") + (("say.garden",) if name == "best" else ()),
        "rooms": tuple(_promise(code, name, materials, labour) for code in PROMISES[name]),
        "phases": phases, "totals": totals, "plan": make_plan(totals.total),
    }
    return q.PricedOption(**{**values, **changes})


def _promise(code: str, option: str, materials: tuple[q.PricedMaterial, ...], labour: tuple[q.PricedLabour, ...]
             ) -> q.RoomPromise:
    state, speakers, control = PROMISES[option][code]
    return q.RoomPromise(
        room=code, name=next(r.name for r in make_rooms() if r.code == code), state=state, speakers=speakers,
        control=control, materials=sum((m.price for m in materials if m.room == code), ZERO),
        labour=sum((w.price for w in labour if w.room == code), ZERO))


def _phase(phase: ln.Phase, labour: tuple[q.PricedLabour, ...]) -> q.PhaseTotal:
    rows = [row for row in labour if row.phase == phase]
    return q.PhaseTotal(phase=phase, words=PHASE_WORDS[phase], price=sum((r.price for r in rows), ZERO),
                        cost=sum((r.cost for r in rows), ZERO), hours=sum((r.hours for r in rows), ZERO),
                        half_days=2, trips=1, crew=2, p80_hours=p80_hours(rows))


def make_step(start: q.PricedOption, end: q.PricedOption) -> q.Step:
    """From one option to the next, room by room, then the rest."""
    def amounts(option: q.PricedOption, room: str) -> tuple[Decimal, Decimal]:
        return (sum((m.price for m in option.materials if m.room == room), ZERO),
                sum((w.price for w in option.labour if w.room == room), ZERO))
    rows = []
    for promise in (*end.rooms, None):
        code, name = (promise.room, promise.name) if promise else ("", "Equipment place and whole job")
        (goods0, work0), (goods1, work1) = amounts(start, code), amounts(end, code)
        rows.append(q.StepRow(room=code, name=name, materials=goods1 - goods0, labour=work1 - work0))
    one, two = start.totals, end.totals
    return q.Step(start=start.name, end=end.name, rows=tuple(rows), freight=two.freight - one.freight,
                  discount=two.discount - one.discount, tax=two.tax - one.tax, rounding=two.rounding - one.rounding,
                  total=two.total - one.total)


# ---------------------------------------------------------------- the quote

def make_firm(**changes: Any) -> q.Firm:
    """An invented firm."""
    values: dict[str, Any] = {
        "name": "Larkfield Sound (invented)", "address": "4 Mill Yard, Sampleton", "phone": "555-0134",
        "email": "hello@larkfield.example", "licence": "LV-00000 (invented)", "accent": "#2f6f5e",
        "warranty": "We put right, free of charge, any fault in our work for two years.",
        "logo": LOGO, "greeting": "Dear %(client)s,",
        "letter": "Thank you for showing us the house. Here is what we propose.", "closing": "Ines Larkfield",
        "terms": "What we deliver stays ours until it is paid.\n\nWe are insured for damage that we cause.",
        "change_terms": "Changes are priced and agreed in writing before work on them starts.",
        "minimum_change": D("75.00"),
        "notice": "Firm, parts and prices in this document are invented, for demonstration.",
    }
    return q.Firm(**{**values, **changes})


def make_place(**changes: Any) -> q.PlaceTerms:
    """A place with a withdrawal text."""
    values: dict[str, Any] = {
        "place": "Sampleton", "tax_note": "Sales tax is charged on goods and work.",
        "withdrawal": "You may cancel within three business days of signing.", "labour_apart": True, "permit": "",
        "found": True,
    }
    return q.PlaceTerms(**{**values, **changes})


def make_pricing(**changes: Any) -> q.Pricing:
    """Every input of the office workbook."""
    values: dict[str, Any] = {
        "currency": "USD", "date": datetime.date(2026, 3, 2), "valid_until": datetime.date(2026, 4, 1),
        "categories": _CATEGORIES,
        "roles": tuple(q.RoleRate(role=role, pay=D(a), burdened=D(b), sold_hour=D(c), price=D(p))
                       for role, (a, b, c, p) in _ROLES.items()),
        "parts": tuple(q.PartPricing(part=part, unit_cost=D(row[4]).quantize(D("0.0001")), list_price=None,
                                     floor_price=None, own_markup=None) for part, row in _PARTS.items()),
        "cost_basis": "sold hour", "discount_rate": D("0.02"), "discount_reason": "builder's open house",
        "approved_by": "", "taxes": (_TAX,), "tax_basis": "invoice", "contingency_method": "rate",
        "contingency_rate": D("0.03"), "whole_units": False, "plan": _PLAN, "deposit_cap_rate": None,
        "deposit_cap_amount": None, "margin_floor": D("0.30"), "free_discount": D("0.05"),
        "what_if": (
            q.WhatIf(name="A discount on top", kind="discount", category="", change_rate=D("0.05")),
            q.WhatIf(name="More hours", kind="hours", category="", change_rate=D("0.1")),
            q.WhatIf(name="Dearer goods", kind="material cost", category="", change_rate=D("0.05")),
            q.WhatIf(name="Dearer copper", kind="category cost", category="cable", change_rate=D("0.15")),
        ),
    }
    return q.Pricing(**{**values, **changes})


def make_statements() -> tuple[q.Statement, ...]:
    """One of each kind."""
    def said(code: str, kind: q.StatementKind, text: str, options: tuple[str, ...] = OPTIONS) -> q.Statement:
        return q.Statement(code=code, kind=kind, text=text, options=options, because=(reason("STM-010", "JOB"),))
    return (
        said("say.mains", "exclusion", "Mains circuits and outlets are the electrician's work."),
        said("say.paint", "exclusion", "Patching and painting are not in the price."),
        said("say.garden", "needed from others", "Somebody digs the trench to the patio before rough-in.", ("best",)),
        said("say.open walls", "assumption", "Walls and ceilings are open when we run cable."),
        said("say.hearing", "caution", "Long loud listening harms hearing; we set a limit with you."),
    )


def make_problem(**changes: Any) -> Problem:
    """A warning at a Rooms cell."""
    plain = warning(cell("Rooms", "N5"), "not-known", "'?' stands for not known yet.", "Type roof or room.")
    return replace(plain, **changes)


def make_part_info(part: str, **changes: Any) -> q.PartInfo:
    """What documents say of one of the parts above."""
    description, words, category, unit, _ = _PARTS[part]
    values: dict[str, Any] = {
        "description": description, "words": words, "category": category, "supplier": _supplier(part), "unit": unit,
        "lead_days": 10, "price_date": datetime.date(2026, 1, 15),
    }
    return q.PartInfo(**{**values, **changes})


def make_quote(**changes: Any) -> q.Quote:
    """Three options of a four-room house; `replace` or keywords change what a test is about."""
    options = tuple(make_option(name) for name in OPTIONS)
    job = make_job()
    values: dict[str, Any] = {
        "schema_version": q.SCHEMA_VERSION, "job": job, "firm": make_firm(), "place": make_place(),
        "facts": facts_by_kind(_shared_facts()), "options": options,
        "steps": (make_step(options[0], options[1]), make_step(options[1], options[2])),
        "recommendation": q.Recommendation(
            option="better", basis="priority", over_budget=(),
            reason="You asked for something easy to use: every daily room has its own keypad.",
            scores={"good": D("2"), "better": D("5"), "best": D("3")}),
        "pricing": make_pricing(),
        "parts": {part: make_part_info(part) for part in _PARTS},
        "tasks": {task: q.TaskInfo(description=row[0], labour_class=row[1], sold=row[2])
                  for task, row in _TASKS.items()},
        "statements": make_statements(),
        "open_questions": (q.OpenQuestion(
            of="PAT", attribute="above", field="Above the ceiling", question="Is there a roof over the patio?",
            used="roof", worse="open sky", who="the architect", by_phase="rough-in",
            cost={"good": D("0.00"), "better": D("0.00"), "best": D("184.50")}),),
        "defaults": job.defaults, "change_rate": D("115.00"), "problems": (make_problem(),),
        "workbook_fingerprint": "0" * 64,
        "catalog_name": "demo", "catalog_fingerprint": "1" * 64,
    }
    return q.Quote(**{**values, **changes})

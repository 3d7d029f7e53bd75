"""A small catalogue by hand, and lines to price with it, for the tests of bill, effort and pricing.

Every part, price, rate, place and firm here is invented. Keywords replace what a test is about.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from quoting.catalog.questions import QUESTIONS
from quoting.catalog.records import Catalog, FirmSettings, OptionSetting, Part, Place, Price, Rate, Task, TaxRow
from quoting.catalog.texts import StatementText
from quoting.job import Override
from quoting.lines import LabourLine, MaterialLine, Reason, StatementLine
from quoting.problems import Cell
from quoting.quote import Firm, TaxRule
from quoting.tables.conditions import Condition, parse_condition
from quoting.tables.decision import Answer, Row, Standards, Table

D = Decimal
ON = datetime.date(2026, 3, 2)
JOB = Cell("job.xlsx", "Job", "B2")


def standard(question: str, *rows: dict[str, str]) -> Table:
    """A standard's table: each row gives inputs (conditions) and answers as they are typed."""
    asked, read = QUESTIONS[question].inputs, []
    for number, values in enumerate(rows, 1):
        conditions = {name: parse_condition(values.get(name), kind) for name, kind in asked.items()}
        assert all(isinstance(found, Condition) for found in conditions.values()), conditions
        answers = {
            name: D(values.get(name, "0")) if kind == "number"
            else values.get(name) == "yes" if kind == "yes/no" else values.get(name, "")
            for name, kind in QUESTIONS[question].answers.items()
        }
        answer = Answer(
            question=question, row=values.get("row", f"{question[:3].upper()}-{number:02}0"),
            where=Cell(f"standards/{question}.csv", "", f"A{number + 1}"), values=answers,
            asked={name: values.get(name, "") for name in asked},
        )
        read.append(Row(conditions, answer))  # type: ignore[arg-type]
    return Table(QUESTIONS[question], tuple(read), Cell(f"standards/{question}.csv"))


TABLES: dict[str, Table] = {
    table.question.name: table for table in (
        standard("markup",
                 {"category": "speakers", "basis": "margin", "markup_rate": "0.45", "freight_rate": "0.02",
                  "warn_days": "60"},
                 {"category": "cable", "basis": "markup", "markup_rate": "1.5", "freight_rate": "0.03",
                  "warn_days": "30"},
                 {"category": "small parts", "basis": "margin", "markup_rate": "0.6", "freight_rate": "0.02",
                  "warn_days": "0"},
                 {"category": "racks", "basis": "list", "markup_rate": "0.1", "freight_rate": "0.05",
                  "warn_days": "60"}),
        standard("counted_waste", {"row": "CNT-010", "category": "small parts", "waste_rate": "0.05"},
                 {"row": "CNT-020", "category": "not small parts", "waste_rate": "0"}),
        standard("crew",
                 {"phase": "rough-in", "crew": "2", "productive_hours": "6.25", "on_site": "yes"},
                 {"phase": "survey and design, whole job", "crew": "1", "productive_hours": "6.5", "on_site": "no"},
                 {"phase": "not rough-in, survey and design, whole job", "crew": "1", "productive_hours": "6.25",
                  "on_site": "yes"}),
        standard("phase_gap", {"phase": "trim-out", "gap_days": "30", "parts_days": "3"},
                 {"phase": "not trim-out", "gap_days": "0", "parts_days": "3"}),
        standard("contingency", {"wall_state": "open", "method": "rate", "contingency_rate": "0.03"},
                 {"wall_state": "not open", "method": "P80"}),
        standard("spool", {"row": "SPL-010", "item": "reserve length", "length_m": "4.572"},
                 {"row": "SPL-020", "item": "reserve rate", "value": "0.05"},
                 {"row": "SPL-030", "item": "parallel pulls", "value": "3"},
                 {"row": "SPL-040", "item": "waste value", "value": "1"}),
        standard("phase_words", {"words": "What happens."}),
        standard("extra_work", {"role": "installer", "hours": D("4")}),
        standard("payment_plan",
                 {"plan": "standard", "step": "1", "name": "Deposit", "trigger": "on signing", "share_rate": "0.3"},
                 {"plan": "standard", "step": "2", "name": "Cabling", "trigger": "cables in", "share_rate": "0.2"},
                 {"plan": "standard", "step": "3", "name": "Equipment", "trigger": "order", "share_rate": "0.4"},
                 {"plan": "standard", "step": "4", "name": "Completion", "trigger": "handover", "share_rate": "0.1"},
                 {"plan": "half and half", "step": "1", "name": "First", "trigger": "start", "share_rate": "0.5"},
                 {"plan": "half and half", "step": "2", "name": "Second", "trigger": "end", "share_rate": "0.4"}),
        standard("recommendation",
                 *({"priority": priority, "option": option, "weight": weight, "reason": f"because of {priority}"}
                   for priority, weights in {"sound": "023", "price": "310", "ease": "032"}.items()
                   for option, weight in zip(("good", "better", "best"), weights, strict=True))),
    )
}


def make_part(part: str, category: str, unit: str = "each", **changes: Any) -> Part:
    """A part from Halden (invented), kept in stock."""
    values: dict[str, Any] = {
        "part": part, "description": f"{part} for the office", "words": f"{part} for the customer",
        "category": category, "unit": unit, "labour_class": "none", "gauge_system": "", "supplier": "Halden",
        "lead_days": 5, "leftover": "stock", "keep": None, "own_markup": None, "discontinued": False, "note": "",
        "where": Cell("parts.csv", "", f"A{len(part)}"),
    }
    return Part(**{**values, **changes})


def make_price(part: str, cost: str, put_up: str = "1", unit: str = "each", **changes: Any) -> Price:
    """A price in dollars that sets the unit cost."""
    values: dict[str, Any] = {
        "part": part, "put_up": D(put_up), "unit": unit, "currency": "USD", "cost": D(cost), "list_price": None,
        "floor_price": None, "supplier": "Halden", "from_date": datetime.date(2026, 2, 1), "costing": True,
        "where": Cell("prices.csv", "", "A2"),
    }
    return Price(**{**values, **changes})


def spool_prices(part: str = "CAB", **sizes: str) -> tuple[Price, ...]:
    """Put-ups of a cable by the foot, largest first: ft1000="310" ..."""
    found = [make_price(part, cost, name.removeprefix("ft"), "ft", costing=index == 0)
             for index, (name, cost) in enumerate(sizes.items())]
    return tuple(sorted(found, key=lambda price: -price.put_up))


PARTS = (
    make_part("SPK", "speakers"), make_part("PLATE", "small parts"), make_part("SCREW", "small parts"),
    make_part("CAB", "cable", "ft", keep=D("50")), make_part("RACK", "racks"),
)
PRICES: dict[str, tuple[Price, ...]] = {
    "SPK": (make_price("SPK", "62.50"),), "PLATE": (make_price("PLATE", "0.85"),),
    "SCREW": (make_price("SCREW", "9.00", "100"), make_price("SCREW", "3.00", "25", costing=False)),
    "CAB": spool_prices(ft1000="310", ft500="170", ft250="95"),
    "RACK": (make_price("RACK", "240", list_price=D("480")),),
}


def make_task(task: str, role: str = "installer", **changes: Any) -> Task:
    """A task that is sold."""
    values: dict[str, Any] = {
        "task": task, "description": f"{task} in words", "unit": "each", "role": role, "labour_class": "fixing",
        "sold": True, "where": Cell("labour.csv", "", "A2"),
    }
    return Task(**{**values, **changes})


TASKS = (
    make_task("rough.pull"), make_task("trim.mount"), make_task("design.draw", "designer"),
    make_task("wait.unsold", sold=False), make_task("set up.zone"),
)
RATES = (
    Rate(role="installer", currency="USD", pay=D("26"), burdened=D("36.50"), sold_hour=D("51"), price=D("85"),
         from_date=ON, where=Cell("rates.csv", "", "A2")),
    Rate(role="designer", currency="USD", pay=D("42"), burdened=D("58"), sold_hour=D("81"), price=D("125"),
         from_date=ON, where=Cell("rates.csv", "", "A3")),
)


def make_place(place: str = "Sampleton", **changes: Any) -> Place:
    """A place without caps, tax on the invoice."""
    values: dict[str, Any] = {
        "place": place, "title": place, "currency": "USD", "tax_basis": "invoice", "tax_note": "Tax on goods.",
        "deposit_cap_rate": None, "deposit_cap_amount": None, "withdrawal": "You may cancel.", "labour_apart": True,
        "permit": "", "plan": "standard", "reference": "", "where": Cell("terms.csv", "", "A2"),
    }
    return Place(**{**values, **changes})


def make_tax(name: str = "Sales tax", category: str = "-", rate: str = "0.0625", **changes: Any) -> TaxRow:
    """A tax that the customer of Sampleton pays."""
    values: dict[str, Any] = {
        "place": "Sampleton", "rule": TaxRule(name=name, category=category, rate=D(rate),
                                              payer=changes.pop("payer", "customer")),
        "dwelling_over_years": 0, "dwelling_up_to_years": 0, "resale_exempt": False, "from_date": ON,
        "where": Cell("taxes.csv", "", "A2"),
    }
    return TaxRow(**{**values, **changes})


def make_settings(**changes: Any) -> FirmSettings:
    """An invented firm that counts cost per sold hour and approves below 25 % margin."""
    firm = Firm(name="Larkfield (invented)", address="", phone="", email="", licence="", accent="#336655",
                warranty="", logo="", greeting="", letter="", closing="", terms="", change_terms="",
                minimum_change=None, notice="Invented.")
    values: dict[str, Any] = {
        "firm": firm, "cost_basis": "sold hour", "margin_floor": D("0.25"), "free_discount": D("0.05"),
        "valid_days": 30, "stop_on_old_prices": False, "factor_cap": D("3"), "counting_standard": "usual",
        "where": Cell("firm.csv"),
    }
    return FirmSettings(**{**values, **changes})


def make_catalog(
    parts: Iterable[Part] = PARTS, prices: Mapping[str, tuple[Price, ...]] = PRICES, tasks: Iterable[Task] = TASKS,
    tables: Iterable[Table] = (), places: Iterable[Place] = (make_place(),), cables: Iterable[str] = ("CAB",),
    **changes: Any,
) -> Catalog:
    """The whole; `tables` replace standards of the same question."""
    standards = {**TABLES, **{table.question.name: table for table in tables}}
    values: dict[str, Any] = {
        "name": "stub", "fingerprint": "1" * 64, "parts": {part.part: part for part in parts}, "speakers": {},
        "cables": dict.fromkeys(cables), "amplifiers": {}, "controllers": {}, "keypads": {}, "sources": {},
        "racks": {}, "leads": {}, "boxes": {}, "tubes": {}, "sockets": {},
        "prices": {(name, its[0].currency): its for name, its in prices.items() if its},
        "tasks": {task.task: task for task in tasks}, "hours": {},
        "rates": {(rate.role, rate.currency): rate for rate in RATES}, "options": ("good", "better", "best"),
        "roles": {}, "settings": {
            "title": OptionSetting(name="title", values={"good": "The essentials", "best": "Everything"},
                                   where=Cell("options.csv")),
        },
        "taxes": (make_tax(),), "places": {place.place: place for place in places},
        "statements": {"say.paint": StatementText(code="say.paint", kind="exclusion", text="No painting.", before="",
                                                  where=Cell("statements.csv", "", "A2"))},
        "fees": (), "label_sheets": (), "free_days": (),
        "firm": make_settings(), "standards": Standards(standards.values()),
    }
    return Catalog(**{**values, **changes})


# ---------------------------------------------------------------- lines

def because(fact: str = "KIT-SP1", rule: str = "SPK-010", *cells: Cell) -> Reason:
    """A rule's reason."""
    return Reason(rule, Cell("rules/speaker.csv", "", "A2"), fact, cells or (Cell("job.xlsx", "Rooms", "A2"),))


def material(part: str, quantity: str = "1", room: str = "KIT", phase: str = "trim-out", fact: str = "KIT-SP1",
             zone: int = 1, rule: str = "SPK-010") -> MaterialLine:
    """So much of a part."""
    return MaterialLine(part=part, quantity=D(quantity), room=room, zone=zone, phase=phase,  # type: ignore[arg-type]
                        because=because(fact, rule))


def labour(task: str, low: str = "1", likely: str = "2", high: str = "3", room: str = "KIT",
           phase: str = "rough-in", units: str = "1", **changes: Any) -> LabourLine:
    """Hours of a task."""
    values: dict[str, Any] = {
        "task": task, "units": D(units), "room": room, "zone": 1, "phase": phase, "wall_state": "open",
        "low": D(low), "likely": D(likely), "high": D(high), "factors": (), "because": because(),
    }
    return LabourLine(**{**values, **changes})


def statement(code: str = "say.paint") -> StatementLine:
    """A sentence that the design asks for."""
    return StatementLine(statement=code, because=because("JOB", "STM-010"))


def override(id: str, what: str, value: str = "", ref: str = "A2") -> Override:
    """The estimator's correction."""
    return Override(id=id, what=what, value=value, reason="site visit", who="Kim",  # type: ignore[arg-type]
                    where=Cell("job.xlsx", "Overrides", ref))

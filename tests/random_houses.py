"""Random houses as a salesperson might type them: any allowed value in any cell, drawn from the form's own columns."""

from __future__ import annotations

import datetime
import random
from collections.abc import Iterator
from typing import Any, get_args

from quoting.catalog.records import Catalog
from quoting.intake.columns import Column, SheetForm, intake_form
from quoting.job import OverrideWhat
from tests.problems.forms import Change

NAMES = ("Kitchen", "Living room", "Patio", "Study", "Bath", "Gym", "Hall", "Bedroom", "Cellar", "Attic", "Den", "Pool")
LEFT_ALONE = {  # what other draws give, or what only makes sense with something else
    "client", "site", "head_end", "name", "code", "zone", "length_m", "width_m", "kind", "floor", "x_m", "y_m",
    "locale", "head_end_x_m", "head_end_y_m", "ceiling_high_m", "sub_zone", "location", "room", "part", "id",
    "what", "value", "reason", "who", "discount_rate", "discount_reason", "currency", "tax_place", "year_built",
    "dwelling_years", "second_control", "revision", "supersedes", "quote_date", "start_date", "internet_live",
    "number", "quantity", "amount", "budget", "unit_system", "measured_m", "storeys", "moves_air", "trim_date",
    "beside", "low_wall",
    "head_end_beside", "head_end_side", "head_end_length_m", "head_end_width_m",
}


def random_house(seed: int, demo: Catalog) -> tuple[Change, ...]:
    """The cells of one house: the same for the same seed."""
    draw = random.Random(seed)
    form = intake_form(demo)
    rooms = draw.randint(1, len(NAMES))
    rate = draw.choice((0.0, 0.1, 0.3))  # how many of the optional cells somebody fills
    changes = [Change("Job", "", "Quote date", datetime.date(2026, 10, 1)),
               Change("Job", "", "Tax place", draw.choice(list(demo.places))),
               *_typed(draw, form.job, "", rate)]
    for number in range(1, max(rooms, 3) + 1):
        changes += _room(draw, form.rooms, number, rooms, rate)
    for number in range(1, draw.randint(1, 3)):
        changes += [Change("Zones", str(number), "Zone", number), *_typed(draw, form.zones, str(number), 2 * rate)]
    for number in range(2, draw.randint(2, 5)):
        changes += [Change("Sources", str(number), "Kind", draw.choice(form.sources.column("kind").choices)),
                    *_typed(draw, form.sources, str(number), rate)]
        if draw.random() < rate:
            changes.append(Change("Sources", str(number), "Location", NAMES[0]))
    for number in range(1, draw.randint(1, 4)):
        changes += _extra(draw, form.extras, number)
    if draw.random() < rate:
        changes += _override(draw)
    return (*changes, *_closet(random.Random(seed + 1), form.job))


def _closet(draw: random.Random, form: SheetForm) -> Iterator[Change]:
    """What is typed of the head end's closet, in every second house."""
    if draw.random() < 0.5:
        yield Change("Job", "", "Head-end beside", NAMES[0])
        yield Change("Job", "", "Head-end side", draw.choice(form.column("head_end_side").choices))
        yield Change("Job", "", "Head-end length", f"{draw.uniform(0.6, 4):.2f} m")
        yield Change("Job", "", "Head-end width", f"{draw.uniform(0.6, 4):.2f} m")


def _room(draw: random.Random, form: SheetForm, number: int, rooms: int, rate: float) -> Iterator[Change]:
    row = str(number)
    floor = draw.choice((-1, 1, 1, 2))
    values = {"Name": NAMES[number - 1], "Kind": draw.choice(form.column("kind").choices), "Floor": floor,
              "Length": f"{draw.uniform(1.5, 14):.2f} m", "Width": f"{draw.uniform(1.2, 9):.2f} m"}
    if number <= 2:
        values["Zone"] = number  # what the sheet Zones may name
    if number > rooms or number == 1:
        values["Plays from"] = "never" if number > rooms else "good"
    for heading, value in values.items():
        yield Change("Rooms", row, heading, value)
    yield from (change for change in _typed(draw, form, row, rate) if change.column not in values)


def _extra(draw: random.Random, form: SheetForm, number: int) -> Iterator[Change]:
    kind = draw.choice(form.column("kind").choices)
    values: dict[str, Any] = {"Kind": kind, "Room": NAMES[0]}
    if kind == "part":
        values["Part"] = draw.choice(("NB-CS65", "RK-12", "00135", "EN-KEYS"))
    elif kind == "allowance":
        values["Amount"] = 250
    values["Quantity"] = "12 m" if kind in ("trench", "conduit") else draw.randint(1, 3)
    return (Change("Extras", str(number), heading, value) for heading, value in values.items())


def _override(draw: random.Random) -> Iterator[Change]:
    what = draw.choice(get_args(OverrideWhat))
    value = {"length": "20 m", "part": "CS65-20", "price": "10", "hours": "1", "quantity": "3"}.get(what)
    at = draw.choice(("KIT-SP1", "KIT-S1", "SYS", "Z1", "KIT-KP1", "CS65-20/KIT/trim-out"))
    values = {"Line or fact": at, "What": what, "New value": value, "Reason": "said on site", "Who": "R. Estimator"}
    return (Change("Overrides", "1", heading, value) for heading, value in values.items() if value)


def _typed(draw: random.Random, form: SheetForm, row: str, rate: float) -> Iterator[Change]:
    """Some of a sheet's optional cells, with allowed values."""
    for column in form.columns:
        if draw.random() < rate and column.attribute not in LEFT_ALONE and not column.required:
            value = _allowed(draw, column)
            if value is not None:
                yield Change(form.name, row, column.heading, value)


def _allowed(draw: random.Random, column: Column) -> Any:
    if column.choices:  # garden speakers indoors are a slip that intake stops
        return draw.choice([choice for choice in column.choices if choice != "garden"])
    if column.kind == "yes/no":
        return draw.choice(("yes", "no"))
    if column.kind in ("whole", "floor"):
        return draw.randint(max(int(column.least or 0), 1), min(int(column.most or 3), 3))
    if column.kind in ("length", "short length"):
        least, most = max(column.least or 0.3, 0.3), min(column.most or 9.0, 60.0)
        return f"{draw.uniform(least, min(most, 12 * least)):.2f} m"
    if column.kind == "hours":
        return "45 min"
    words = {"colour": "ivory", "obstacles": draw.choice(("fan at 2,2", "duct", "light at 1 m, 1 m"))}
    return words.get(column.attribute)

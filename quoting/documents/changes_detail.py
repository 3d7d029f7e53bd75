"""The changed rows line by line, for whoever asks why: each reason once, by its number; without what only follows."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from decimal import Decimal

from msgspec import Struct

from quoting.changes import Changes, FieldChange, RowChange
from quoting.money import ZERO
from quoting.units import UnitSystem, show_length

_FOLDED = ("output", "rack_slot", "connection")  # opened by who needs it: sockets, channels, places in the rack
_TITLES = {"material": "Parts", "labour": "Labour", "cable_run": "Cable runs"}
_IN_COLUMNS = frozenset({"price", "cost", "direct cost", "freight", "contractor tax", "hours"})
# What follows from lengths, loads and parts that are told themselves; places in metres stand on the crew's plans.
_DERIVED = frozenset({
    "damping factor", "loop (ohm)", "loop (rate)", "loop low (ohm)", "loop high (ohm)", "meter low (ohm)",
    "meter high (ohm)", "loss (db)", "power lost (rate)", "asked (w)", "output (w)", "heat (w)", "heat btu h",
    "idle btu h", "idle (w)", "working (w)", "x (m)", "y (m)", "plan (m)", "planned (m)", "vertical (m)",
    "route factor", "deep (m)", "way (m)", "from index", "to index"})
_RULE, _DECIDED = "rule ", "decided by "
_FOLLOWS = "follows from "


class DetailRow(Struct, frozen=True, kw_only=True):
    """One changed row. `said`: its fields that differ, in one line; `why`: numbers of reasons, then rules."""

    id: str
    what: str
    change: str
    said: str
    price: Decimal
    cost: Decimal
    hours: Decimal
    why: str


class RowGroup(Struct, frozen=True, kw_only=True):
    """The changed rows of one kind. `priced`: parts and labour, whose amounts differ."""

    title: str
    priced: bool
    timed: bool  # labour: hours differ too
    folded: bool
    rows: tuple[DetailRow, ...]
    price: Decimal
    cost: Decimal
    hours: Decimal


def numbered_reasons(changes: Changes) -> dict[str, int]:
    """Every reason that is an answer, an override, a table or a price, with its number, in the order of the rows."""
    rows = (*changes.materials, *changes.labour, *changes.runs, *changes.facts)
    said = (why for row in rows for why in row.why if not why.startswith((_RULE, _DECIDED, _FOLLOWS)))
    return {why: number for number, why in enumerate(dict.fromkeys(said), start=1)}


def row_groups(changes: Changes, reasons: dict[str, int], system: UnitSystem) -> Iterator[RowGroup]:
    """Parts, labour, cable runs, then the facts by their kinds; none without rows."""
    kinds = dict.fromkeys(row.kind for row in changes.facts)
    of_kinds = (tuple(row for row in changes.facts if row.kind == kind) for kind in kinds)
    for rows in (changes.materials, changes.labour, changes.runs, *of_kinds):
        shown = tuple(_shown(rows, reasons, system))
        if shown:
            kind = rows[0].kind
            yield RowGroup(
                title=_TITLES.get(kind, kind.replace("_", " ").capitalize()), rows=shown,
                priced=kind in ("material", "labour"), timed=kind == "labour", folded=kind in _FOLDED,
                price=sum((row.price for row in shown), ZERO), cost=sum((row.cost for row in shown), ZERO),
                hours=sum((row.hours for row in shown), ZERO))


def _shown(rows: Iterable[RowChange], reasons: dict[str, int], system: UnitSystem) -> Iterator[DetailRow]:
    """The rows; facts of which only what follows differs are left out."""
    for row in rows:
        fields = [_said(field, system) for field in row.fields if field.name not in _DERIVED | _IN_COLUMNS]
        amounts = row.difference
        if row.change != "changed" or fields or amounts.price or amounts.cost or amounts.hours:
            yield DetailRow(
                id=row.id, what=row.what, change=row.change, said="; ".join(fields) if row.change == "changed" else "",
                price=amounts.price, cost=amounts.cost, hours=amounts.hours, why=_why(row, reasons))


def _said(field: FieldChange, system: UnitSystem) -> str:
    """"need 153, now 180"; a length as the job writes it."""
    name, old, new = field.name, field.old, field.new
    if name.endswith(" (m)"):
        name = name.removesuffix(" (m)")
        old, new = (show_length(float(value), system) if value else "" for value in (old, new))
    return f"{name} {old or 'blank'}, now {new or 'blank'}"


def _why(row: RowChange, reasons: dict[str, int]) -> str:
    numbers = ", ".join(map(str, sorted(reasons[why] for why in row.why if why in reasons)))
    rules = "; ".join(why.replace(_RULE, "") for why in row.why if why.startswith((_RULE, _FOLLOWS)))
    return "; ".join(filter(None, (numbers and f"({numbers})", rules)))

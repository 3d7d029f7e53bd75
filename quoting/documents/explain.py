"""Why a line or a fact is there: from rule and fact back to the intake cells, as plain text for the office."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import Any

from quoting.documents.formats import Formats, formats_for
from quoting.facts import FACT_KINDS, Fact, SiteFact
from quoting.job import Override
from quoting.lines import Reason
from quoting.money import ZERO
from quoting.problems import Cell
from quoting.quote import PricedLabour, PricedMaterial, PricedOption, Quote
from quoting.units import show_length, split_suffix

Line = PricedMaterial | PricedLabour
FactRow = Mapping[str, Any]
Found = tuple[tuple[str, FactRow, tuple[str, ...]], ...]  # (kind, fact, the options that have it so)

_PLUMBING = set(Fact.__struct_fields__)
_SITE = set(SiteFact.__struct_fields__)
_EVERY = "every option"


def explain(quote: Quote, id: str) -> str | None:
    """The whole chain of a line (part/room/phase), a fact, a room or a zone; None where nothing has that id.

    Blanks around the id and the case of its letters do not matter.
    """
    wanted = _known(quote, id)
    if wanted is None:
        return None
    text = [*_line_text(quote, wanted), *_fact_text(quote, wanted), *_room_text(quote, wanted),
            *_zone_text(quote, wanted), *_override_text(quote, wanted)]
    return "\n".join(text) + "\n"


def suggest(quote: Quote, id: str, most: int = 5) -> tuple[str, ...]:
    """The ids that come closest to one that nothing has, the closest first."""
    wanted = id.strip().casefold()
    known = {name.casefold(): name for name in _all_ids(quote)}
    inside = sorted((name for name in known if wanted and wanted in name), key=lambda name: (len(name), name))
    close = difflib.get_close_matches(wanted, known, n=most, cutoff=0.6)
    return tuple(known[name] for name in dict.fromkeys([*close, *inside]))[:most]


def _known(quote: Quote, id: str) -> str | None:
    wanted = id.strip().casefold()
    return next((name for name in _all_ids(quote) if name.casefold() == wanted), None)


def _all_ids(quote: Quote) -> Iterator[str]:
    for option in quote.options:
        yield from (line.id for line in _lines(option))
    for facts in (quote.facts, *(option.facts for option in quote.options)):
        yield from (row["id"] for rows in facts.values() for row in rows)
    yield from (room.code for room in quote.job.rooms)
    yield from (str(zone.number) for zone in quote.job.zones)
    yield from (zone.name for zone in quote.job.zones)
    yield from (room.name for room in quote.job.rooms)


def _lines(option: PricedOption) -> tuple[Line, ...]:
    return (*option.materials, *option.labour)


# ------------------------------------------------------------------------------------------------ lines

def _line_text(quote: Quote, id: str) -> Iterator[str]:
    found = [(option.name, line) for option in quote.options for line in _lines(option) if line.id == id]
    if not found:
        return
    formats = _formats(quote)
    yield f"{id}: {_what(quote, found[0][1])}"
    yield f"  {_where_it_stands(quote, found[0][1])}"
    amounts: dict[str, list[str]] = {}
    for option, line in found:
        amounts.setdefault(_amount(line, formats), []).append(option)
    for amount, options in amounts.items():
        yield f"  {_which(quote, options)}: {amount}"
    missing = [option.name for option in quote.options if option.name not in {name for name, _ in found}]
    if missing:
        yield f"  not in {', '.join(missing)}"
    yield "because"
    for reason, names in _reasons(found):
        yield from _reason_text(quote, reason, names)


def _what(quote: Quote, line: Line) -> str:
    if isinstance(line, PricedMaterial):
        return quote.parts[line.part].description
    return quote.tasks[line.task].description


def _where_it_stands(quote: Quote, line: Line) -> str:
    name = next((room.name for room in quote.job.rooms if room.code == line.room), line.room)
    room = f"room {line.room} ({name})" if line.room else "the whole job"
    zone = f", zone {line.zone}" if line.zone else ""
    return f"{room}{zone}, phase {line.phase}"


def _amount(line: Line, formats: Formats) -> str:
    if isinstance(line, PricedLabour):
        ruled = _ruled(line.hours, line.ruled_hours, "hours", formats)
        factors = "".join(f"; x {factor.multiplier} {factor.name} ({factor.row})" for factor in line.factors)
        spread = ", ".join(f"{name} {formats.quantity(value)}" for name, value in (
            ("low", line.low), ("likely", line.likely), ("high", line.high)))
        return (f"{formats.quantity(line.hours)} hours of {line.role}{ruled} for {formats.money(line.price)} "
                f"({formats.quantity(line.units)} x {line.wall_state} walls; {spread}{factors})")
    ruled = _ruled(line.need, line.ruled_need, line.unit, formats)
    return (f"{formats.quantity(line.need)} {line.unit}{ruled} at {line.unit_price.normalize():f} "
            f"({line.price_rule}) = {formats.money(line.price)}")


def _ruled(used: Decimal, ruled: Decimal, unit: str, formats: Formats) -> str:
    return "" if used == ruled else f" (overridden; the rules say {formats.quantity(ruled)} {unit})"


def _reasons(found: Sequence[tuple[str, Line]]) -> Iterator[tuple[Reason, tuple[str, ...]]]:
    """Each reason once, and the options that have it."""
    options: dict[Reason, list[str]] = {}
    for option, line in found:
        for reason in line.because:
            options.setdefault(reason, []).append(option)
    return ((reason, tuple(names)) for reason, names in options.items())


def _reason_text(quote: Quote, reason: Reason, options: tuple[str, ...]) -> Iterator[str]:
    amount = f" brings {reason.amount.normalize():f}" if reason.amount != ZERO else ""
    yield f"  rule {reason.rule} ({reason.rule_cell}){amount} [{_which(quote, options)}]"
    for kind, row, names in _facts(quote, reason.fact):
        if _EVERY in names or not set(names).isdisjoint(options):
            everywhere = _EVERY in names or set(options) <= set(names)
            differs = "" if everywhere else f" [{', '.join(names)}]"
            yield f"    from {kind} {row['id']}{differs}: {_telling(quote, kind, row)}"
            yield from _grounds(row, "      ")
    if reason.cells:
        yield f"    typed in {_cells(reason.cells)}"


# ------------------------------------------------------------------------------------------------ facts

def _fact_text(quote: Quote, id: str) -> Iterator[str]:
    for kind, row, options in _facts(quote, id):
        yield f"{kind} {id} [{_which(quote, options)}]"
        yield f"  {_telling(quote, kind, row)}"
        yield from _grounds(row, "  ")
        if row.get("where"):
            yield f"  typed in {_cells(_as_cells(row['where']))}"
    made = _made_by(quote, id)
    if made:
        yield "makes the lines"
        yield from (f"  {line}" for line in made)


def _facts(quote: Quote, id: str) -> Found:
    """Every fact of that id: facts that are the same in several options once."""
    found: list[tuple[str, FactRow, list[str]]] = []
    shared = [(_EVERY, quote.facts)]
    for name, facts in (*shared, *((option.name, option.facts) for option in quote.options)):
        for kind, rows in facts.items():
            for row in rows:
                if row["id"] == id:
                    _add(found, kind, row, name)
    return tuple((kind, row, tuple(names)) for kind, row, names in found)


def _add(found: list[tuple[str, FactRow, list[str]]], kind: str, row: FactRow, option: str) -> None:
    for known_kind, known, names in found:
        if (known_kind, known) == (kind, row):
            names.append(option)
            return
    found.append((kind, row, [option]))


def _telling(quote: Quote, kind: str, row: FactRow) -> str:
    """The fields that say something: not empty, not where it stands, in the order of the record."""
    record = FACT_KINDS.get(kind)
    order = record.__struct_fields__ if record else list(row)
    said = [f"{_field(name)} {_value(quote, name, row[name])}".strip() for name in order
            if name in row and name not in _PLUMBING and row[name] not in ("", 0, False, None)
            and (name not in _SITE or _few(row))]
    return ", ".join(said) or "nothing beyond its being there"


def _few(row: FactRow) -> bool:
    """A fact with hardly any field of its own tells by where it stands."""
    return len(row.keys() - _PLUMBING - _SITE) < 4


def _field(name: str) -> str:
    return split_suffix(name)[0].replace("_", " ")


def _value(quote: Quote, name: str, value: object) -> str:
    if value is True:
        return ""
    unit = split_suffix(name)[1]
    if not isinstance(value, float):
        return f"{value} {unit}".strip()
    if unit == "m":
        return show_length(value, quote.job.unit_system)
    return f"{value * 100:.3g} %" if unit == "rate" else f"{round(value, 4):g} {unit}".strip()


def _grounds(row: FactRow, indent: str) -> Iterator[str]:
    if row.get("decided"):
        yield f"{indent}decided by {', '.join(row['decided'])}"
    if row.get("basis"):
        yield f"{indent}rests on {', '.join(row['basis'])}"


def _made_by(quote: Quote, id: str) -> list[str]:
    found = ((line.id, option.name) for option in quote.options for line in _lines(option)
             if any(reason.fact == id for reason in line.because))
    options: dict[str, list[str]] = {}
    for line_id, option in found:
        options.setdefault(line_id, []).append(option)
    return [f"{line_id} [{_which(quote, names)}]" for line_id, names in options.items()]


# ------------------------------------------------------------------------------------------------ rooms and zones

def _room_text(quote: Quote, id: str) -> Iterator[str]:
    formats = _formats(quote)
    for room in quote.job.rooms:
        if id not in (room.code, room.name):
            continue
        size = f"{formats.length(room.length_m)} by {formats.length(room.width_m)}"
        yield f"room {room.code}: {room.name}, {room.kind}, {size}, floor {room.floor}, zone {room.zone}"
        yield f"  typed in {_cells(tuple(dict.fromkeys(room.cells.values())))}"
        for option in quote.options:
            promise = next((promise for promise in option.rooms if promise.room == room.code), None)
            if promise is not None:
                control = f", {promise.control}" if promise.control else ""
                money = f"{formats.money(promise.materials)} and labour {formats.money(promise.labour)}"
                yield f"  {option.name}: {promise.state}, {promise.speakers} speakers{control}; materials {money}"
        yield from _ids_text(quote, room=room.code)


def _ids_text(quote: Quote, room: str) -> Iterator[str]:
    ids = dict.fromkeys(line.id for option in quote.options for line in _lines(option) if line.room == room)
    if ids:
        yield "its lines"
        yield from (f"  {line_id}" for line_id in ids)


def _zone_text(quote: Quote, id: str) -> Iterator[str]:
    for zone in quote.job.zones:
        if id not in (str(zone.number), zone.name):
            continue
        rooms = [f"{room.code} ({room.name})" for room in quote.job.rooms if room.zone == zone.number]
        yield f"zone {zone.number}: {zone.name}; rooms {', '.join(rooms) or 'none'}; typed in {zone.where}"
        for kind, row, options in _zone_facts(quote, zone.number):
            yield f"  {kind} {row['id']} [{_which(quote, options)}]: {_telling(quote, kind, row)}"


def _zone_facts(quote: Quote, number: int) -> Found:
    """The facts that speak of the zone as a whole: those of no room."""
    ids = dict.fromkeys(row["id"] for option in quote.options for rows in option.facts.values() for row in rows
                        if row.get("zone") == number and not row.get("room"))
    return tuple(entry for id in ids for entry in _facts(quote, id))


# ------------------------------------------------------------------------------------------------ overrides, words

def _override_text(quote: Quote, id: str) -> Iterator[str]:
    for override in quote.job.overrides:
        if override.id.strip().casefold() == id.casefold():
            yield _override(override)


def _override(override: Override) -> str:
    value = f" to {override.value}" if override.value else ""
    who = f", {override.who}" if override.who else ""
    return f"override of the {override.what}{value}: {override.reason}{who} ({override.where})"


def _which(quote: Quote, options: Iterable[str]) -> str:
    names = list(options)
    return _EVERY if _EVERY in names or len(names) == len(quote.options) else ", ".join(names)


def _as_cells(where: Iterable[Mapping[str, str]]) -> tuple[Cell, ...]:
    return tuple(Cell(cell["file"], cell.get("sheet", ""), cell.get("ref", "")) for cell in where)


def _cells(cells: Iterable[Cell]) -> str:
    """"1-house.xlsx Rooms!A2, Rooms!D2": a file's name once."""
    by_file: dict[str, list[str]] = {}
    for cell in cells:
        by_file.setdefault(cell.file, []).append(str(Cell("", cell.sheet, cell.ref)).strip())
    return "; ".join(f"{file} {', '.join(filter(None, refs))}".strip() for file, refs in by_file.items())


def _formats(quote: Quote) -> Formats:
    return formats_for(quote.job.terms.locale, quote.pricing.currency, quote.job.unit_system)

"""Rows of price_breaks.csv and substitutes.csv: what many cost, and what may be bought instead."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING

from msgspec import Struct
from msgspec.structs import replace

from quoting.problems import Cell, Problem, stop, warning

if TYPE_CHECKING:
    from quoting.catalog.records import Catalog, Part, Price, Socket

Prices = Mapping[tuple[str, str], tuple["Price", ...]]


class PriceBreak(Struct, frozen=True, kw_only=True):
    """A row of price_breaks.csv: what one put-up of a row of prices.csv costs from so many on."""

    part: str
    put_up: Decimal  # which row of prices.csv it belongs to, with part and currency
    currency: str
    from_packs: int
    cost: Decimal  # of one put-up
    supplier: str | None  # empty: whoever has such a put-up
    from_date: datetime.date
    where: Cell


class SubstituteRow(Struct, frozen=True, kw_only=True):
    """A row of substitutes.csv: `substitute` may be bought where `part` cannot be had."""

    part: str
    substitute: str
    note: str
    where: Cell


def with_breaks(prices: Prices, breaks: Iterable[PriceBreak]) -> tuple[Prices, tuple[Problem, ...]]:
    """The prices, each with its quantity breaks; a break that fits no price, or lowers none, is left out and told of.
    A break older than the price in force holds no longer."""
    found: dict[tuple[str, str], tuple[Price, ...]] = dict(prices)
    problems: list[Problem] = []
    for row in sorted(breaks, key=lambda row: row.from_packs):
        key = (row.part, row.currency)
        its = found.get(key, ())
        places = [place for place, price in enumerate(its)
                  if price.put_up == row.put_up and row.supplier in (None, price.supplier)]
        if not places:
            problems.append(stop(row.where, "break-without-price", f"No price in force of part '{row.part}' is in "
                                 f"{row.currency} for a put-up of '{row.put_up:f}'{_of(row.supplier)}; a quantity "
                                 "break belongs to a row of prices.csv.",
                                 "Correct part, put-up, currency or supplier, or add the price."))
        for place in places:
            price = its[place]
            if price.from_date > row.from_date:
                continue  # the price is newer: the supplier's old steps went with the old price
            wrong = _wrong_break(row, price)
            if wrong:
                problems.append(wrong)
                continue
            its = (*its[:place], replace(price, breaks=(*price.breaks, (row.from_packs, row.cost))), *its[place + 1:])
            found[key] = its
    return found, tuple(problems)


def _of(supplier: str | None) -> str:
    return f" from '{supplier}'" if supplier else ""


def _wrong_break(row: PriceBreak, price: Price) -> Problem | None:
    least, before = price.reached(row.from_packs)
    if row.from_packs < 2:
        return stop(row.where, "break-from-one", f"A quantity break of '{row.part}' begins at '{row.from_packs}'; "
                    "allowed are 2 and more.", "Type from how many put-ups on it holds; what one costs stands in "
                    "prices.csv.")
    if least == row.from_packs:
        return stop(row.where, "row-twice", f"Part '{row.part}' has another break from '{row.from_packs}' on.",
                    "Remove one of the two rows.")
    if not 0 <= row.cost < before:
        return stop(row.where, "break-not-cheaper", f"From '{row.from_packs}' on one put-up of '{row.part}' costs "
                    f"'{row.cost:f}', and fewer cost {before:f} each; a break costs less.", "Correct the cost.")
    return None


# ---------------------------------------------------------------- substitutes

def check_substitutes(catalog: Catalog) -> Iterator[Problem]:
    """A substitute is another part of its category and unit, still sold, that is plugged in as the part is."""
    for row in catalog.substitutes:
        part, other = catalog.parts.get(row.part), catalog.parts.get(row.substitute)
        if part is None or other is None:
            continue  # told of as an unknown part
        wrong = _wrong_substitute(catalog, part, other)
        if wrong:
            yield stop(row.where, "substitute-does-not-fit", f"'{row.substitute}' cannot stand in for '{row.part}': "
                       f"{wrong}.", "Name a part that fits in its place, or remove the row.")
        elif other.discontinued:
            yield stop(row.where, "substitute-discontinued", f"'{row.substitute}', which stands in for '{row.part}', "
                       "is discontinued.", "Name a part that is still sold, or remove the row.")
        else:
            lost = sorted(currency for name, currency in catalog.prices
                          if name == row.part and (row.substitute, currency) not in catalog.prices)
            if lost:
                yield warning(row.where, "substitute-without-price", f"'{row.substitute}', which stands in for "
                              f"'{row.part}', has no price in {', '.join(lost)}.", "Add one to prices.csv.")


def _wrong_substitute(catalog: Catalog, part: Part, other: Part) -> str:
    """What does not fit; "" where all does."""
    if part.part == other.part:
        return "it is the same part"
    for what, one, two in (("category", part.category, other.category), ("unit", part.unit, other.unit)):
        if one != two:
            return f"its {what} is {two}, not {one}"
    has = {_plug(socket): socket.count for socket in catalog.sockets.get(other.part, ())}
    for socket in catalog.sockets.get(part.part, ()):
        if has.get(_plug(socket), 0) < socket.count:
            return (f"of {socket.count} sockets '{socket.connector}' for {socket.signal} ({socket.direction}) it has "
                    f"{has.get(_plug(socket), 0)}")
    speaker, instead = catalog.speakers.get(part.part), catalog.speakers.get(other.part)
    if speaker and instead:
        holes = [(spec.mount, spec.cut_out_mm, spec.cut_out_width_mm) for spec in (speaker, instead)]
        if holes[0] != holes[1]:
            return "its mount or its hole is another"
    return ""


def _plug(socket: Socket) -> tuple[str, str, str]:
    return socket.direction, socket.signal, socket.connector

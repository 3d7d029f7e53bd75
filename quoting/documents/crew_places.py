"""One name for one spot on every crew sheet: the place's id and the word for what hangs there, "KIT-K1 keypad".

What is mounted has an id of its own in the facts, one letter more than its place (KIT-KP1 at KIT-K1). The crew reads it
where the two are joined, on the placement sheets and the device list, and nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterator

from quoting.documents.floor_plan import FactRow, equipped, idle_kind, rows_of_kind
from quoting.documents.room_table import KINDS
from quoting.facts import CableEnd, CableRun, KeypadFact, Place, RoomInput, Speaker
from quoting.quote import PricedOption, Quote
from quoting.units import CM3_PER_IN3

STONE = ("masonry", "concrete")
AGREED = "agree the spot with the owner and write it here: ________"


def device_places(quote: Quote, option: PricedOption) -> dict[str, str]:
    """What an option mounts, by its id, and the id of the place where it hangs."""
    return dict(_device_places(quote, option))


def _device_places(quote: Quote, option: PricedOption) -> Iterator[tuple[str, str]]:
    for kind in (Speaker, KeypadFact):
        yield from ((row["id"], row["place"]) for row in rows_of_kind(quote, option, kind))
    yield from ((row["id"], row["basis"][0]) for row in rows_of_kind(quote, option, RoomInput))


def place_words(quote: Quote, option: PricedOption) -> dict[str, str]:
    """What every place of an option is called: "KIT-K1 keypad", or "KIT-K1 control, wired only"."""
    kinds = dict(equipped(quote, option))
    bells = {bell: f"{bell} doorbell" for bell, _ in doorbells(quote, option)}
    return bells | {row["id"]: f"{row['id']} {KINDS[kinds[row['id']]]}" if row["id"] in kinds
            else f"{row['id']} {KINDS[idle_kind(row)]}, wired only" for row in rows_of_kind(quote, option, Place)}


def doorbells(quote: Quote, option: PricedOption) -> tuple[tuple[str, FactRow], ...]:
    """Where each doorbell's cable ends, BELL-1, and the cable. Nobody types a spot: it is agreed on site."""
    return tuple((run["end"], run) for run in rows_of_kind(quote, option, CableRun) if run["purpose"] == "doorbell")


def doorbell_notes(quote: Quote, option: PricedOption, room: str) -> tuple[str, ...]:
    """What a room's placement sheet says of the doorbells whose cables end there."""
    return tuple(f"{bell}: cable {run['id']} ends at the doorbell's chime, {AGREED}. Coil the slack and tag it."
                 for bell, run in doorbells(quote, option) if run["room"] == room)


def box_notes(quote: Quote, option: PricedOption, room: str) -> tuple[str, ...]:
    """How much room the conductors in a control's box ask for, where it is set in stone: no hollow takes the slack."""
    runs = {row["id"]: row for row in rows_of_kind(quote, option, CableRun)}
    held: dict[str, tuple[int, float]] = {}
    for end in rows_of_kind(quote, option, CableEnd):
        if end["box_cm3"] and end["room"] == room and end["construction"] in STONE:
            place = runs[end["run"]]["end" if end["id"].endswith("B") else "start"]
            count, volume_cm3 = held.get(place, (0, 0.0))
            held[place] = count + end["conductors"], volume_cm3 + end["box_cm3"]
    return tuple(f"{place}: {count} conductors ask for {_volume(quote, volume_cm3)} of its box, as boxes for mains are "
                 "counted, and the device and the joints come besides: a deep box, or one with room at its side. Once "
                 "landed, cut the slack there to 6 in (150 mm) beyond the box."
                 for place, (count, volume_cm3) in sorted(held.items()))


def _volume(quote: Quote, volume_cm3: float) -> str:
    return f"{volume_cm3:.0f} cm3" if quote.job.unit_system == "metric" else f"{volume_cm3 / CM3_PER_IN3:.0f} cu in"

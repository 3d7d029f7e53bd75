"""One name for one spot on every crew sheet: the place's id and the word for what hangs there, "KIT-K1 keypad".

What is mounted has an id of its own in the facts, one letter more than its place (KIT-KP1 at KIT-K1). The crew reads it
where the two are joined, on the placement sheets and the device list, and nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterator

from quoting.documents.floor_plan import FactRow, equipped, idle_kind, rows_of_kind
from quoting.documents.room_table import KINDS
from quoting.facts import CableRun, KeypadFact, Place, RoomInput, Speaker, WallBox
from quoting.quote import PricedOption, Quote
from quoting.units import CM3_PER_IN3

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
    bells = {bell: f"{bell} doorbell's chime" for bell, _ in doorbells(quote, option)}
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
    """How much room the conductors in closed boxes ask for, and which box holds them: no hollow takes the slack."""
    alike: dict[str, list[str]] = {}
    for row in rows_of_kind(quote, option, WallBox):
        if row["room"] == room and row["holds_cm3"] and row["conductors"]:
            alike.setdefault(_box_words(quote, row), []).append(row["place"])
    return tuple(f"{', '.join(places)}: {words}" for words, places in alike.items())


def _box_words(quote: Quote, row: FactRow) -> str:
    asked, inside, whole, holds = (_volume(quote, volume_cm3) for volume_cm3 in (
        row["asked_cm3"], row["device_cm3"], row["asked_cm3"] + row["device_cm3"], row["holds_cm3"]))
    device = f", what goes into it takes {inside}: {whole} in all" if row["device_cm3"] else ""
    box = f"Box {row['part']} holds" if row["boxes"] == 1 else (
        f"{row['boxes']} boxes {row['part']}, side by side, hold")
    return (f"{row['conductors']} conductors ask for {asked}, as boxes for mains are counted{device}. {box} {holds}. "
            "Once landed, cut the slack there to 6 in (150 mm) beyond the box.")


def _volume(quote: Quote, volume_cm3: float) -> str:
    return f"{volume_cm3:.0f} cm3" if quote.job.unit_system == "metric" else f"{volume_cm3 / CM3_PER_IN3:.0f} cu in"

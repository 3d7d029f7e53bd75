"""One name for one spot on every crew sheet: the place's id and the word for what hangs there, "KIT-K1 keypad".

What is mounted has an id of its own in the facts, one letter more than its place (KIT-KP1 at KIT-K1). The crew reads it
where the two are joined, on the placement sheets and the device list, and nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterator

from quoting.documents.floor_plan import equipped, idle_kind, rows_of_kind
from quoting.documents.room_table import KINDS
from quoting.facts import KeypadFact, Place, RoomInput, Speaker
from quoting.quote import PricedOption, Quote

PLACE_KEY = ("Places: KIT-K1 is room KIT, place K1. K is a control (keypad or volume knob), S a speaker, I a player "
             "socket, T a television plate; the labels, the placement sheets and every list say it so.")
DEVICE_KEY = ("What hangs at a place has one letter more: keypad or volume knob KIT-KP1 at KIT-K1, speaker KIT-SP1 "
              "at KIT-S1, player socket KIT-IN1 at KIT-I1, television plate KIT-TV1 at KIT-T1.")
END_KEY = ("Ends: 101211A is the end of cable 101211 where it starts (column From), 101211B the other end. A "
           "4-conductor cable carries two circuits, L left and R right: 101211A L.")
GROUP_KEY = ("Pull groups: KIT-P1, KIT-P2 are cables that go together from HE to room KIT; KIT-L are cables inside the "
             "room, one by one.")


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
    return {row["id"]: f"{row['id']} {KINDS[kinds[row['id']]]}" if row["id"] in kinds
            else f"{row['id']} {KINDS[idle_kind(row)]}, wired only" for row in rows_of_kind(quote, option, Place)}

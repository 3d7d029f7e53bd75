"""The allow-list of the home-owner's handover: what it may print, as records of their own.

Like proposal_view.py: nothing here comes from a cost, a margin, a supplier, a part number, an internal note or hours.
"""

from __future__ import annotations

from msgspec import Struct

from quoting.documents.proposal_view import FirmFace, PaperFacts


class ControlCard(Struct, frozen=True, kw_only=True):
    """How to play, stop and turn all off in one place; to be cut out and kept there."""

    title: str  # the room's name, or the phone
    control: str  # in words
    lines: tuple[str, ...]
    notes: tuple[str, ...]
    sources: str  # their names, listed
    buttons: int  # lines to write on what each button does; 0: it has none


class ZoneLine(Struct, frozen=True, kw_only=True):
    """One zone: the rooms that play the same, and how loud it may get."""

    number: int
    rooms: str
    limit: str  # "" where none was agreed


class RestartStep(Struct, frozen=True, kw_only=True):
    """One thing to do when nothing plays; `switched`: there is room to write by which switch or outlet."""

    text: str
    switched: bool


class CableLine(Struct, frozen=True, kw_only=True):
    """One cable as planned; the length as built is written by hand."""

    id: str
    start: str
    end: str
    use: str  # whether anything is on it yet
    planned: str


class WayLine(Struct, frozen=True, kw_only=True):
    """An empty conduit, something dug, or a way through the house wall."""

    id: str
    words: str
    room: str  # where it leads to; "" where nobody said
    length: str  # "" where it has none of its own, or its words say it


class EquipmentLine(Struct, frozen=True, kw_only=True):
    """One piece of equipment; its serial number and dates are written by hand."""

    id: str
    words: str
    room: str


class HandoverView(Struct, frozen=True, kw_only=True):
    """The whole handover of the option that was accepted."""

    paper: PaperFacts
    firm: FirmFace
    client: str
    site: str
    option: str  # its title
    place: str  # where the equipment stands; "" where nobody said
    zones: tuple[ZoneLine, ...]
    sources: tuple[str, ...]
    source_notes: tuple[str, ...]  # how they are heard in other rooms
    cards: tuple[ControlCard, ...]
    restart: tuple[RestartStep, ...]
    danger: tuple[str, ...]  # smoke, fire, a smell: before all else
    safety: tuple[str, ...]
    accounts: tuple[str, ...]
    equipment: tuple[EquipmentLine, ...]
    cables: tuple[CableLine, ...]
    place_note: str  # what a place's letters say
    later_controls: str  # where one can be added; "" where none is prepared
    ways: tuple[WayLine, ...]

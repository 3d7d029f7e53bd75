"""One option's connections, cables and cable ends, with what the hook-up sheet and the checklist ask of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from quoting.documents.crew_cautions import STONE
from quoting.documents.crew_words import SIDES, CrewWords
from quoting.documents.floor_plan import rows_of_kind
from quoting.documents.work_limits import work_limits
from quoting.facts import (
    AmplifierFact,
    AmplifierOutput,
    AudioSource,
    CableEnd,
    CableRun,
    ControllerFact,
    KeypadFact,
    Place,
    RackFact,
    RoomLevel,
    ZoneFact,
)
from quoting.quote import PricedOption, Quote

FactRow = Mapping[str, Any]
HEAD_END = "HE"
STRIPS = ("surge strip", "power strip", "remote power unit")  # of standards/rack_order.csv
FITTED = "connectors and fixings"  # category of what is put on a cable's end


class Wiring:
    """One option's connections with what the sheets ask of them."""

    def __init__(self, quote: Quote, option: PricedOption) -> None:
        self.words = CrewWords(quote, option)
        self.rows = {row["id"]: row for row in self.words.connections}
        self.runs = {run["id"]: run for run in rows_of_kind(quote, option, CableRun)}
        self.places = {place["id"]: place for place in rows_of_kind(quote, option, Place)}
        self.amplifiers = rows_of_kind(quote, option, AmplifierFact)
        self.controllers = rows_of_kind(quote, option, ControllerFact)
        self.outputs = rows_of_kind(quote, option, AmplifierOutput)
        self.knobs = {row["id"]: row for row in rows_of_kind(quote, option, KeypadFact)
                      if row["id"] in self.words.knobs}
        self.sources = {row["id"]: row for row in rows_of_kind(quote, option, AudioSource)}
        self.racks = rows_of_kind(quote, option, RackFact)
        self.limits = work_limits(quote)
        self.levels = rows_of_kind(quote, option, RoomLevel)
        self.cable_ends = {end["id"]: end for end in rows_of_kind(quote, option, CableEnd)}
        self.zones = sorted(rows_of_kind(quote, option, ZoneFact), key=lambda zone: int(zone["zone"]))
        self.racked = {row["to_device"] for row in self.words.group("mains")} | set(self.words.slots)
        self.racked |= {box["id"] for box in (*self.amplifiers, *self.controllers)}
        self.owned = {slot["device"] for slot in self.words.slots.values() if slot["device"] and not slot["part"]}
        self._fitted = _fitted(quote, option, self.cable_ends)
        self.rooms = {room.code: room.name for room in quote.job.rooms_in_house_order()}

    @property
    def amplifying(self) -> tuple[str, ...]:
        """The boxes that drive loudspeakers, in their order."""
        return tuple(dict.fromkeys(output["amplifier"] for output in self.outputs))

    @property
    def passing(self) -> dict[str, FactRow]:
        """The amplifiers that pass what is plugged into them on to others, over the network."""
        return {box["id"]: box for box in self.amplifiers if box["shares_inputs"]}

    @property
    def stand(self) -> str:
        """What the devices of the head end stand in, as the crew calls it."""
        return "equipment shelf" if any(rack["shelf_only"] for rack in self.racks) else "rack"

    def is_on_top(self, slot: FactRow) -> bool:
        """Whether it stands on a rack, which has no unit for it."""
        return slot["position_u"] > 0 and not slot["height_u"] and not slot["on_shelf"]

    @property
    def has_phono(self) -> bool:
        """Whether a record player is among the sources."""
        return any(source["phono"] for source in self.sources.values())

    @property
    def has_lines(self) -> bool:
        """Whether any output drives a constant-voltage line."""
        return any(output["line_v"] for output in self.outputs)

    def is_family_s(self, device: str) -> bool:
        """Whether a device has power that is not ours: the router, a television, a player in a room, a bell."""
        return (device == "ROUTER" or device.startswith("BELL-") or device in self.words.televisions
                or (device in self.sources and device not in self.racked))

    def is_patch(self, row: FactRow) -> bool:
        """Whether a lead goes on from the patch panel's port of a cable in the walls."""
        return not row["run"] and row["id"].startswith("P") and row["id"][1:] in self.runs

    def fitted(self, end: str) -> str:
        """What goes onto each conductor of a cable's end, as the pick list names it: "banana plug"; "" for nothing."""
        return " and ".join(self._fitted.get(end, ()))

    def holds(self, place: str) -> str:
        """Where wires are joined at a place: never loose in a wall."""
        at = self.places.get(place)
        if at is None or at["device"] != "speaker":
            return "the box"
        if at["setting"] == "outdoor" and (at["ring"] or at["mount"] == "garden"):
            return "the weather box, out of the wet"
        ring = "box" if at["construction"] in STONE else "ring"
        return f"the {ring} behind the loudspeaker" if at["ring"] else "the loudspeaker's opening"

    def ends(self, row: FactRow) -> tuple[tuple[str, str], tuple[str, str]]:
        """The devices at the two ends of a cable's connection, each with its cable end: from, to."""
        run = self.runs[row["run"]]
        near, far = f"{run['id']}A", f"{run['id']}B"
        side = f" {row['from_side']}" if row["group"] == "speaker" else ""
        far_first = row["group"] != "speaker" and row["from_device"] in (
            far, run["end"], run["end"].replace("-K", "-KP"), run["end"].replace("-I", "-IN"))
        first, last = (far, near) if far_first else (near, far)
        return (row["from_device"], first + side), (row["to_device"], last + side)

    def cable_ends_of(self, row: FactRow) -> Iterator[tuple[str, tuple[str, str]]]:
        """The two ends of a cable's connection, "from" and "to", each with its device and cable end; none of a lead."""
        if row["run"]:
            yield from zip(("from", "to"), self.ends(row), strict=True)

    def polarity(self, row: FactRow) -> str:
        """Which conductors of a speaker circuit go where."""
        pair = f"{SIDES[row['from_side']]} pair of conductors; " if self.runs[row["run"]]["circuits"] > 1 else ""
        return f"{pair}+ to +, - to -: the same conductor colour at both ends"

    def purpose(self, run: str) -> str:
        """What a cable is for, in a word of the crew's: what tester it takes."""
        row = self.runs[run]
        return "speaker" if row["circuits"] else "category" if row["role"].startswith("category") else "other"

    @property
    def waiting(self) -> tuple[str, ...]:
        """The cables that nothing is landed on in this option, in the order of the pull list."""
        live = {end["run"] for end in self.cable_ends.values() if end["live"]}
        return tuple(id for id in self.runs if id not in live)


def ends_in(row: FactRow) -> set[str]:
    """The two devices of a connection."""
    return {row["from_device"], row["to_device"]}


def _fitted(quote: Quote, option: PricedOption, ends: Mapping[str, FactRow]) -> dict[str, tuple[str, ...]]:
    """What the bill brings for each cable end: the first words of the part's description."""
    found: dict[str, tuple[str, ...]] = {}
    for row in option.materials:
        info = quote.parts.get(row.part)
        if info is None or info.category != FITTED:
            continue
        words = info.description.partition(",")[0]
        for reason in row.because:
            if reason.fact in ends:
                found[reason.fact] = (*found.get(reason.fact, ()), words[:1].lower() + words[1:])
    return found

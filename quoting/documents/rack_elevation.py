"""What stands where in each rack of an option, from the bottom up, as the rack builder reads it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

from msgspec import Struct

from quoting.documents.crew_measures import small_length
from quoting.documents.crew_places import device_places
from quoting.documents.floor_plan import rows_of_kind
from quoting.facts import AudioSource, Connection, Doorbell, OwnedItem, Paging, RackFact, RackSlot
from quoting.facts.connection import WALL_OUTLET
from quoting.quote import PricedOption, Quote
from quoting.units import UnitSystem

FactRow = Mapping[str, Any]

NONE = "–"
KG_PER_LB = 0.45359237  # exact since the 1959 agreement on the international yard and pound
TWO_PEOPLE_KG = 50 * KG_PER_LB  # trade practice 10: lifting
HEADINGS = ("Unit", "What", "Device", "Part", "Depth", "Weight", "Watts", "Strip: outlet", "Circuit", "Network port")


class RackThing(Struct, frozen=True, kw_only=True):
    """One place of a rack and what stands there; `height_u` is 0 on a shelf."""

    id: str  # U12, R2-U12A, SHELF-01
    position_u: int  # the lowest unit that it takes, counted from the bottom; 0: an open shelf
    height_u: int
    what: str  # a row of standards/rack_order.csv
    device: str
    words: str  # its part's description, or what the customer calls it
    part: str
    on_shelf: bool
    depth_mm: float
    weight_kg: float
    watts: float
    outlet: str  # "U1: 2, 3", the strip by its place, as the hook-up sheet calls it; "" where it is plugged in nowhere
    circuit: int
    port: str  # "NET-1: 4"

    @property
    def on_top(self) -> bool:
        """Whether it stands on the rack, which has no unit for it."""
        return self.position_u > 0 and not self.height_u and not self.on_shelf


class RackElevation(Struct, frozen=True, kw_only=True):
    """One rack of one option; `height_u` is 0 for the shelf that stands in for a rack."""

    option: str
    id: str
    words: str
    height_u: int
    used_u: int
    weight_kg: float
    working_w: float
    heat_w: float
    circuits: int
    things: tuple[RackThing, ...]  # in the order of their positions


def rack_elevations(quote: Quote, option: PricedOption) -> tuple[RackElevation, ...]:
    """Every rack of an option."""
    names = {row["id"]: row["name"] for kind in (AudioSource, OwnedItem, Doorbell, Paging)
             for row in rows_of_kind(quote, option, kind)}
    slots = rows_of_kind(quote, option, RackSlot)
    places = device_places(quote, option)
    connections = rows_of_kind(quote, option, Connection)
    ways_up = {row["to_device"]: row["to_index"] for row in connections
               if row["group"] == "network" and row["from_device"] == "ROUTER"}
    wired = {row[end] for row in connections for end in ("from_device", "to_device")}
    strips = {row["to_device"]: row["from_device"] for row in connections
              if row["group"] == "mains" and row["from_socket"] != WALL_OUTLET}
    return tuple(RackElevation(
        option=option.name, id=rack["id"], words=_described(quote, rack["part"]), height_u=int(rack["height_u"]),
        used_u=int(rack["used_u"]), weight_kg=rack["weight_kg"], working_w=printed_w(slots, rack["id"]),
        heat_w=rack["heat_w"], circuits=rack["circuits"],
        things=tuple(_thing(quote, slot, names, wired, places, strips, ways_up)
                     for slot in slots if slot["rack"] == rack["id"]),
    ) for rack in rows_of_kind(quote, option, RackFact))


def _thing(
    quote: Quote, slot: FactRow, names: Mapping[str, str], wired: Collection[str], places: Mapping[str, str],
    strips: Mapping[str, str], ways_up: Mapping[str, int],
) -> RackThing:
    """What stands with another device, such as a television's receiver, is wired by its own place and called so."""
    words = _described(quote, slot["part"]) or names.get(slot["device"], "") or slot["what"]
    device = slot["device"]
    strip = strips.get(slot["id"]) or strips.get(device) or slot["strip"]  # what stands with a device has a cord too
    if device and slot["id"] in wired:
        device, words = slot["id"], f"{words}, of {places.get(device, device)}"
    return RackThing(
        id=slot["id"], position_u=slot["position_u"], height_u=int(slot["height_u"]), what=slot["what"],
        device=device, words=words, part=slot["part"], on_shelf=slot["on_shelf"], depth_mm=slot["depth_mm"],
        weight_kg=slot["weight_kg"], watts=slot["watts"], outlet=_outlet(slot, strip), circuit=slot["circuit"],
        port=f"{slot['switch']}: {slot['network_port']}" if slot["network_port"] else
        f"{ways_up[device]}: router" if device in ways_up else "")


def unit_key(elevation: RackElevation) -> str:
    """How a place, the thing in it and an outlet of a strip are told apart; "" where nothing is plugged in."""
    plugged = next((thing for thing in elevation.things if thing.outlet), None)
    if plugged is None:
        return ""
    strip, _, outlets = plugged.outlet.partition(": ")
    number = outlets.partition(",")[0]
    unit = f"{strip} is the unit, counted from the bottom, and the strip that stands there" if elevation.height_u else \
        f"{strip} is the strip at that place"
    return (f"{unit}; {strip}: {number} is its outlet {number}, for {plugged.device or plugged.words}. Whatever has no "
            "name of its own goes by its place on every sheet.")


def printed_w(slots: tuple[FactRow, ...], rack: str) -> float:
    """What a rack takes with music: the sum of its rows as the table prints them. [W]"""
    return sum(float(f"{slot['watts']:.0f}") for slot in slots if slot["rack"] == rack)


def _described(quote: Quote, part: str) -> str:
    found = quote.parts.get(part)
    return found.description if found else ""


def _outlet(slot: FactRow, strip: str) -> str:
    """Which outlets of which strip; a strip itself goes into the wall or the UPS."""
    if not slot["outlet"]:
        return ""
    taken = range(slot["outlet"], slot["outlet"] + max(1, slot["outlets"]))
    return f"{strip}: {', '.join(map(str, taken))}"


def unit_words(thing: RackThing) -> str:
    """ "U4 – U5", "U12", "on U5" for what stands on a shelf there, "1" on an open shelf."""
    if not thing.position_u:
        return thing.id.rpartition("-")[2].lstrip("0")
    if thing.on_shelf:
        return f"on U{thing.position_u}"
    if not thing.height_u:
        return "on top"
    top = thing.position_u + thing.height_u - 1
    return f"U{thing.position_u} – U{top}" if top > thing.position_u else f"U{thing.position_u}"


def weight_words(weight_kg: float, system: UnitSystem) -> str:
    """A weight in the job's units, to one place; a dash where nobody knows it."""
    if not weight_kg:
        return NONE
    return f"{weight_kg:.1f} kg" if system == "metric" else f"{weight_kg / KG_PER_LB:.1f} lb"


def _loaded(elevation: RackElevation, system: UnitSystem) -> str:
    """The sum of the weights as the table prints them."""
    each_kg = 1.0 if system == "metric" else KG_PER_LB
    total = sum(round(thing.weight_kg / each_kg, 1) for thing in elevation.things)
    return f"{total:.1f} {'kg' if system == 'metric' else 'lb'}"


def table_rows(elevation: RackElevation, system: UnitSystem) -> tuple[tuple[str, ...], ...]:
    """One row a thing, from the top down as one looks at a rack, as many cells as HEADINGS."""
    ordered = sorted(elevation.things, key=lambda thing: (-thing.position_u, thing.id))
    return tuple((
        unit_words(thing), thing.words, thing.device or NONE, thing.part or NONE,
        small_length(thing.depth_mm, system).partition(" (")[0], weight_words(thing.weight_kg, system),
        f"{thing.watts:.0f}" if thing.watts else NONE, thing.outlet or NONE,
        str(thing.circuit) if thing.circuit else NONE, thing.port or NONE) for thing in ordered)


def cautions(elevation: RackElevation, system: UnitSystem) -> tuple[str, ...]:
    """What can hurt whoever builds this rack."""
    said = ["Mains circuits and outlets: a licensed electrician. Local rules decide.",
            "Leave vents free; store nothing against the rack."]
    heavy = [thing.device or thing.id for thing in elevation.things if thing.weight_kg > TWO_PEOPLE_KG]
    if elevation.height_u:
        said.insert(0, "Against tipping: a strap or a second person holds the rack while it is loaded, moved or pulled "
                       "out; at its place it is fixed, and loosened only to pull it out. Loaded: about "
                       f"{_loaded(elevation, system)} and its own weight.")
    said += [f"{thing.device or thing.words} has a lid that opens upward: on top of the rack or beside it, level, "
             "where its leads reach; never on a shelf over amplifiers. What it measures and weighs, its own papers say."
             for thing in elevation.things if thing.on_top]
    if heavy:
        said.insert(1, f"Two people lift {', '.join(heavy)}.")
    return tuple(said)

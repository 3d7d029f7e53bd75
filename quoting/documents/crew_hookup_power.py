"""Taking power away before the hook-up and giving it back after it, in the order that is safe; then the first sound."""

from __future__ import annotations

from collections.abc import Iterator

from quoting.documents.crew_hookup_wires import strips
from quoting.documents.crew_readings import level_words
from quoting.documents.crew_steps import HookUpStep
from quoting.documents.crew_wiring import FactRow, Wiring, ends_in
from quoting.facts.connection import WALL_OUTLET

ROUTER = "ROUTER"


def power_off(wiring: Wiring, in_shop: bool) -> Iterator[HookUpStep]:
    """The rack as it leaves the bench: amplifiers off, then the rest; cords out, UPS output off."""
    plugged = [row["to_device"] for row in wiring.words.group("mains") if row["to_device"] not in wiring.owned]
    amplifiers = wiring.amplifying
    through = strips(wiring)
    rest = [id for id in dict.fromkeys(plugged) if id not in (*amplifiers, *through) and not _is_ups(wiring, id)]
    rest.sort(key=lambda id: -_rank(wiring, id))
    for id in (*amplifiers, *rest):
        yield _off(wiring, id, "Off, and its cord out")
    for row in wiring.words.group("mains"):
        if _is_ups(wiring, row["to_device"]):
            yield HookUpStep(action="off", what="UPS output off: a battery feeds it without the wall",
                             end=wiring.words.device(row["to_device"]), devices=(row["to_device"],),
                             shows="its output light is out", if_not="hold its button; then its battery lead, by its "
                             "maker's words")
    for row in _from_wall(wiring):
        yield HookUpStep(action="unplug", what="Cord out of the wall outlet",
                         start="the shop's outlet" if in_shop else wiring.words.start(row),
                         end=wiring.words.device(row["to_device"]), devices=(row["to_device"],),
                         connections=(row["id"],), shows="no light on it or on what it feeds",
                         if_not="find what still feeds it before going on")


def all_off(wiring: Wiring) -> Iterator[HookUpStep]:
    """Whatever else has power of its own in the house and at the rack; then nothing that is touched has any."""
    outside = family_s(wiring)
    for id in outside:
        if id.startswith("BELL-"):
            yield _off(wiring, id, "The bell's transformer off at its breaker",
                       "the meter reads 0 V across the bell's wires")
        elif id != ROUTER:
            yield _off(wiring, id, "Off, and its cord out of the wall")
    for row in wiring.words.group("mains"):
        if row["to_device"] in wiring.owned:
            yield _off(wiring, row["to_device"], "Off, and its cord out")
    if ROUTER in outside:
        yield _off(wiring, ROUTER, "Tell the family that the internet stops; router off, its cord out")
    said = [f"Every cord of the {wiring.stand} is still out. Wait until every light is out, and two minutes more."]
    if any(_rank(wiring, id) == 1 for id in wiring.racked):
        said.append("With the network switch off, no network cable carries power.")
    if any(row["powered"] in ("bus", "trigger") for row in wiring.words.connections):
        said.append("With the controller off, no keypad or trigger lead does.")
    yield HookUpStep(action="wait", what=" ".join(said), shows="no light anywhere", if_not="do not go on")


def _off(wiring: Wiring, id: str, what: str, shows: str = "no light") -> HookUpStep:
    return HookUpStep(action="off", what=what, end=wiring.words.device(id), devices=(id,), shows=shows,
                      if_not="find what still feeds it before going on")


def family_s(wiring: Wiring) -> tuple[str, ...]:
    """What is joined to our things and has power of its own that is not ours."""
    ends = [device for row in wiring.words.connections for device in (row["from_device"], row["to_device"])]
    return tuple(dict.fromkeys(id for id in ends if wiring.is_family_s(id)))


def power_title(wiring: Wiring) -> str:
    """What comes on, in its order, as far as the option has it."""
    ours = [row["to_device"] for row in wiring.words.group("mains") if row["to_device"] not in wiring.amplifying]
    ranks = {_rank(wiring, id) for id in ours if id not in strips(wiring) and not _is_ups(wiring, id)}
    named = (("network", 1 in ranks or ROUTER in family_s(wiring)), ("controller", 2 in ranks), ("what plays",
                                                                                                 3 in ranks))
    said = [*(words for words, there in named if there), "amplifiers one at a time"]
    return f"Power on: {', '.join(said)}"


def power_on(wiring: Wiring) -> Iterator[HookUpStep]:
    """Strips and UPS, the network, controllers, sources and what stands elsewhere; last one amplifier at a time."""
    for row in _from_wall(wiring):
        ups = _is_ups(wiring, row["to_device"])
        yield _powered(wiring, row, "Cord into the wall outlet" + (", then its output on" if ups else ""),
                       "its own light; no device wakes", "off again: a device's cord is in, or the outlet is dead")
    ours = {row["to_device"]: row for row in wiring.words.group("mains")
            if row["to_device"] not in strips(wiring) and row["from_socket"] != WALL_OUTLET}
    others = sorted((id for id in ours if id not in wiring.amplifying), key=lambda id: _rank(wiring, id))
    elsewhere = family_s(wiring)
    yield from (_elsewhere_on(wiring, id) for id in elsewhere if id == ROUTER)
    for id in others:
        yield _powered(wiring, ours[id], "Cord in, on", *_shows(wiring, id))
    yield from (_elsewhere_on(wiring, id) for id in elsewhere if id != ROUTER)
    for id in wiring.amplifying:
        if id in ours:
            yield _powered(wiring, ours[id], "This one alone: gains at minimum, cord in, on",
                           "standby light, awake when a zone of it plays; no protection light, no hum, no thump",
                           "off, its cord out, before touching; then meter its circuits again")


def _powered(wiring: Wiring, row: FactRow, what: str, shows: str, if_not: str) -> HookUpStep:
    return HookUpStep(action="power", what=what, start=wiring.words.start(row), end=wiring.words.device(
        row["to_device"]), by=wiring.words.by(row), polarity=row["note"], shows=shows, if_not=if_not,
        devices=(row["to_device"],), connections=(row["id"],))


def _elsewhere_on(wiring: Wiring, id: str) -> HookUpStep:
    return HookUpStep(action="power", what="On again", end=wiring.words.device(id), devices=(id,),
                      shows="its usual lights", if_not="its own outlet or breaker")


def _from_wall(wiring: Wiring) -> list[FactRow]:
    return [row for row in wiring.words.group("mains") if row["from_socket"] == WALL_OUTLET]


def _stands_as(wiring: Wiring, id: str) -> str:
    """What a device is in the rack's order: "controller", "ups"; "" where it stands elsewhere."""
    slot = wiring.words.slots.get(wiring.words.stands(id))
    return slot["what"] if slot is not None else ""


def _is_ups(wiring: Wiring, id: str) -> bool:
    return _stands_as(wiring, id) == "ups"


def _rank(wiring: Wiring, id: str) -> int:
    """When a device comes on: fans, network, controllers, then what plays."""
    return {"fan panel": 0, "network switch": 1, "controller": 2, "keypad hub": 2}.get(_stands_as(wiring, id), 3)


def _shows(wiring: Wiring, id: str) -> tuple[str, str]:
    """What a device shows as it comes on, and where to look when it does not."""
    leads = [row for row in wiring.words.connections if id in ends_in(row)]
    keypads = any("control RJ45" in (row["from_socket"],
                                     row["to_socket"]) for row in leads if row["group"] == "control")
    networked = any(row["group"] == "network" for row in leads)
    outlet = f"its outlet and its cord{', then its lead to the network' if networked else ''}"
    rank = _rank(wiring, id)
    if rank == 0:
        return "it turns", outlet
    if rank == 1:
        return "a light at each port in use", outlet
    if rank == 2:
        return (f"ready light{'; its keypads light up one after another' if keypads else ''}",
                outlet + ("; one keypad alone: its cable's test" if keypads else ""))
    if id in wiring.sources and networked:
        return "its light; its name appears where sources are chosen", outlet
    return "its light, where it has one", outlet


def listening(wiring: Wiring) -> Iterator[HookUpStep]:
    """One step a zone, in zone order: its limit before it is loud, its gain there once, then the volume alone."""
    levels: dict[int, list[str]] = {}
    for level in wiring.levels:
        levels.setdefault(level["zone"], []).append(level_words(level, wiring.limits["meter_db"]))
    for zone in wiring.zones:
        knob = any(row["zone"] == zone["zone"] for row in wiring.knobs.values())
        limit = f"{zone['max_volume']} %" if zone["max_volume"] else "____ %"
        until = "".join(f"at the seat {words}; " for words in levels.get(zone["zone"], ()))
        source = zone["controller"] if zone["controller"] not in ("", zone["amplifier"]) else ""
        sides = ("the same from every loudspeaker, no hum" if zone["mono"] else
                 "left from the left, right from the right, a voice between them, no hum")
        yield HookUpStep(
            action="listen", what=f"Zone {zone['zone']} {zone['name']}: volume limit first: {limit}. One source, from "
            f"the lowest volume up to the limit{', its knob full up' if knob else ''}; there gain up from minimum, "
            "once, to its level at most or as loud as the family wants. Gain as set: ____. Then the volume alone down "
            "to the level wanted: ____", start=source, end=wiring.words.device(zone["amplifier"]),
            devices=(zone["amplifier"],), shows=f"{until}{sides}", if_not="; ".join(_faults(wiring, zone, knob)))


def _faults(wiring: Wiring, zone: FactRow, knob: bool) -> Iterator[str]:
    """What is tried by hand first, then what asks for everything to be off."""
    yield f"silent: source, volume, mute{', the knob turned down' if knob else ''}"
    yield "then, all off as the caution says: its input's lead"
    if not zone["mono"]:
        yield "left and right swapped: its leads; thin and wide: one side's polarity"
    yield f"hum: the source's lead{', of a record player its earth wire' if wiring.has_phono else ''}"

"""Taking power away before the hook-up and giving it back after it, in the order that is safe."""

from __future__ import annotations

from collections.abc import Iterator

from quoting.documents.crew_hookup_wires import FactRow, Wiring, strips
from quoting.documents.crew_steps import HookUpStep
from quoting.facts.connection import WALL_OUTLET

ROUTER = "ROUTER"


def power_off(wiring: Wiring) -> Iterator[HookUpStep]:
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
        yield HookUpStep(action="unplug", what="Cord out of the wall outlet", start=wiring.words.start(row),
                         end=wiring.words.device(row["to_device"]), devices=(row["to_device"],),
                         connections=(row["id"],))


def off_in_rooms(wiring: Wiring) -> Iterator[HookUpStep]:
    """What in the rooms has power of its own."""
    for id in outside(wiring):
        if id.startswith("BELL-"):
            yield _off(wiring, id, "The bell's transformer off at its breaker",
                       "the meter reads 0 V across the bell's wires")
        elif id != ROUTER:
            yield _off(wiring, id, "Off, and its cord out of the wall")


def off_at_rack(wiring: Wiring) -> Iterator[HookUpStep]:
    """What else is plugged in where the rack stands; then nothing has power."""
    for row in wiring.words.group("mains"):
        if row["to_device"] in wiring.owned:
            yield _off(wiring, row["to_device"], "Off, and its cord out")
    if ROUTER in outside(wiring):
        yield _off(wiring, ROUTER, "Tell the family that the internet stops; router off, its cord out")
    said = ["Every cord of the rack is still out, what was switched off in the rooms is still off. Wait until every "
            "light is out, and two minutes more."]
    if any(_rank(wiring, id) == 1 for id in wiring.racked):
        said.append("With the network switch off, no network cable carries power.")
    if any(row["powered"] in ("bus", "trigger") for row in wiring.words.connections):
        said.append("With the controller off, no keypad or trigger lead does.")
    yield HookUpStep(action="wait", what=" ".join(said), shows="no light anywhere", if_not="do not go on")


def _off(wiring: Wiring, id: str, what: str, shows: str = "no light") -> HookUpStep:
    return HookUpStep(action="off", what=what, end=wiring.words.device(id), devices=(id,), shows=shows,
                      if_not="find what still feeds it before going on")


def outside(wiring: Wiring) -> tuple[str, ...]:
    """What has power of its own that is not ours: the router, televisions, players in rooms, door bells."""
    ends = [device for row in wiring.words.connections for device in (row["from_device"], row["to_device"])]
    rooms = [row["from_device"] for row in wiring.words.group("source") if row["from_device"].startswith("SRC-")
             and row["from_device"] not in wiring.racked]
    known = [id for id in ends if id == ROUTER or id.startswith("BELL-") or id.endswith("-T1")]
    return tuple(dict.fromkeys((*known, *rooms)))


def power_on(wiring: Wiring) -> Iterator[HookUpStep]:
    """Strips and UPS, the network, controllers, sources and what stands elsewhere; last one amplifier at a time."""
    for row in _from_wall(wiring):
        ups = _is_ups(wiring, row["to_device"])
        yield _powered(wiring, row, "Cord into the wall outlet" + (", then its output on" if ups else ""),
                       "its own light; no device wakes", "off again: a device's cord is in, or the outlet is dead")
    ours = {row["to_device"]: row for row in wiring.words.group("mains")
            if row["to_device"] not in strips(wiring) and row["from_socket"] != WALL_OUTLET}
    others = sorted((id for id in ours if id not in wiring.amplifying), key=lambda id: _rank(wiring, id))
    elsewhere = outside(wiring)
    yield from (_elsewhere_on(wiring, id) for id in elsewhere if id == ROUTER)
    for id in others:
        yield _powered(wiring, ours[id], "Cord in, on", _shows(wiring, id),
                       "its outlet, then its lead to the network or to its input")
    yield from (_elsewhere_on(wiring, id) for id in elsewhere if id != ROUTER)
    for id in wiring.amplifying:
        if id in ours:
            yield _powered(wiring, ours[id], "This one alone: gains at minimum, cord in, on",
                           "standby light, awake when a zone of it plays; no protection light, no hum, no thump",
                           "protection light: off and cord out before touching; then meter its circuits again")


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


def _shows(wiring: Wiring, id: str) -> str:
    keypads = any(id in (row["from_device"], row["to_device"]) and "control RJ45" in (
        row["from_socket"], row["to_socket"]) for row in wiring.words.group("control"))
    return ("it turns", "a light at each port in use",
            f"ready light{'; its keypads light up one after another' if keypads else ''}",
            "its light; its name appears where sources are chosen, if it is one")[_rank(wiring, id)]


def listening(wiring: Wiring) -> Iterator[HookUpStep]:
    """One step a zone, in zone order."""
    for zone in wiring.zones:
        limit = f" Then set the limit of {zone['max_volume']} %." if zone["max_volume"] else ""
        yield HookUpStep(
            action="listen", what=f"Zone {zone['zone']} {zone['name']}: one source, from the lowest volume up, gains "
            f"with it.{limit}", start=zone["controller"] or zone["amplifier"],
            end=wiring.words.device(zone["amplifier"]), devices=(zone["amplifier"],),
            shows="the same from every loudspeaker" if zone["mono"] else
            "left from the left, right from the right, a voice between them, no hum",
            if_not=f"silent: its input's lead{', or a knob that is turned down' if wiring.knobs else ''}; "
            "thin and wide: one side's polarity; hum: the source's lead"
            f"{', of a record player its earth wire' if wiring.phono else ''}")

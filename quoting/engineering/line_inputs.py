"""What lands on the inputs of the head end, by connector: sources, room inputs, chimes, paging; and their contacts."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from msgspec import Struct

from quoting.engineering.brief import Brief
from quoting.facts import AudioSource, Doorbell, Paging, RoomInput
from quoting.job import HeadEndShape
from quoting.problems import Cell, Problem, stop, warning

NETWORK = "network"  # plays over the network into a stream that is built in: no line input


class Lead(Struct, frozen=True, kw_only=True):
    """One thing that wants inputs."""

    name: str
    connector: str
    inputs: int
    where: Cell


def head_end_shape(brief: Brief) -> HeadEndShape:
    """The job's, else the option's."""
    shape: HeadEndShape = brief.job.head_end_shape or brief.catalog.setting(  # type: ignore[assignment]
        "head_end_shape", brief.option)
    return shape


def input_sockets(brief: Brief, part: str) -> Counter[str]:
    """Audio inputs of a part by connector (stereo pairs)."""
    found: Counter[str] = Counter()
    for socket in brief.catalog.sockets.get(part, ()):
        if socket.direction == "in" and socket.signal in ("line", "digital"):
            found[socket.connector] += socket.count
    return found


def lands_directly(brief: Brief, connector: str) -> bool:
    """Whether every box that the option may choose takes the connector as it is, so that no converter is needed."""
    role = {"controller and amplifiers": "controller", "controller-amplifier": "controller-amplifier",
            "network amplifiers": "network amplifier"}[head_end_shape(brief)]
    parts = brief.catalog.parts_for(role, brief.option, brief.job.gauge_system)
    return bool(parts) and all(input_sockets(brief, part)[connector] for part in parts)


def leads_in(brief: Brief) -> tuple[Lead, ...]:
    """Everything that the option plugs in, in the order of its facts."""
    return tuple(_leads(brief))


def _leads(brief: Brief) -> Iterator[Lead]:
    for source in brief.of(AudioSource):
        if source.at_head_end:
            yield Lead(name=source.name, connector=source.input_connector, inputs=source.inputs, where=source.where[0])
    for entry in brief.of(RoomInput):
        where = entry.where[-1]
        name = f"{'TV' if entry.what == 'tv' else 'room input'} of '{entry.room}'"
        yield Lead(name=name, connector=_comes_out(brief, entry.receiver or entry.part), inputs=1, where=where)
    bells = brief.of(Doorbell)
    if bells:  # one chime source for all doors
        yield Lead(name=bells[0].name, connector=_comes_out(brief, brief.part_for("chime source")), inputs=1,
                   where=bells[0].where[0])
    for page in brief.of(Paging):
        yield Lead(name=page.name, connector=_comes_out(brief, brief.part_for("page interface")), inputs=1,
                   where=page.where[0])


def _comes_out(brief: Brief, part: str) -> str:
    """The connector of a part's first audio output; a part that says nothing has the trade's usual one."""
    return next((socket.connector for socket in brief.catalog.sockets.get(part, ())
                 if socket.direction == "out" and socket.signal in ("line", "digital")), "RCA")


def inputs_needed(brief: Brief) -> int:
    """Audio inputs that the option takes, all connectors together."""
    return sum(lead.inputs for lead in leads_in(brief) if lead.connector != NETWORK)


def line_inputs(brief: Brief, part: str) -> int:
    """Audio inputs of a part, by its sockets, all connectors together."""
    return input_sockets(brief, part).total()


def misfits(brief: Brief, part: str, streams: int, boxes: int = 1) -> list[Problem]:
    """A stop for each lead that a part (or so many of it) has no input for: none of its connector, or none free."""
    sockets = input_sockets(brief, part)
    free = Counter({connector: count * boxes for connector, count in sockets.items()})
    problems = []
    for lead in leads_in(brief):
        if lead.connector == NETWORK:
            if not streams:
                problems.append(_wrong_connector(brief, part, lead, sockets))
            continue
        if not sockets[lead.connector]:
            problems.append(_wrong_connector(brief, part, lead, sockets))
            continue
        free[lead.connector] -= lead.inputs
        if free[lead.connector] < 0:
            problems.append(_too_few(brief, part, lead, sockets[lead.connector] * boxes))
    return problems


def _wrong_connector(brief: Brief, part: str, lead: Lead, sockets: Counter[str]) -> Problem:
    has = ", ".join(sorted(sockets)) or "none"
    return stop(lead.where, "wrong-connector",
                f"'{lead.name}' comes with a '{lead.connector}' lead, and '{part}' of option '{brief.option}' has no "
                f"such input (it has: {has}).",
                "Type another connector of the source under 'Connector', give standards/source_landing.csv a converter "
                "for it, or name another part in options.csv.")


def _too_few(brief: Brief, part: str, lead: Lead, have: int) -> Problem:
    need = sum(other.inputs for other in leads_in(brief) if other.connector == lead.connector)
    return stop(lead.where, "too-few-inputs",
                f"'{lead.name}' finds no input left: option '{brief.option}' needs {need} '{lead.connector}' inputs "
                f"and '{part}' has {have}.",
                "Leave a source out of this option (its 'Plays from'), or name a larger controller in options.csv.")


def contacts(brief: Brief, part: str) -> int:
    """Doorbell and page contacts of a part."""
    return sum(socket.count for socket in brief.catalog.sockets.get(part, ())
               if socket.direction == "in" and socket.signal == "control" and socket.connector == "screw")


def contacts_needed(brief: Brief) -> int:
    """One for all doorbells, one for each paging place."""
    return bool(brief.of(Doorbell)) + len(brief.of(Paging))


def contact_worries(brief: Brief, part: str, units: int) -> list[Problem]:
    """Without a contact, a chime or a page must be noticed by its sound on the line input."""
    have, need = contacts(brief, part) * units, contacts_needed(brief)
    if need <= have:
        return []
    asking: tuple[Doorbell | Paging, ...] = (*brief.of(Doorbell)[:1], *brief.of(Paging))
    return [warning(asking[have].where[0], "too-few-contacts",
                    f"Option '{brief.option}' has {need} doorbells and paging places, and '{part}' has contacts for "
                    f"{have}: '{asking[have].name}' must be noticed by its sound, which cuts off the first word.",
                    "Leave one out, or name a controller with more contacts in options.csv.")]

"""Line-level audio as connections: zone outputs to amplifiers, sources, room inputs, chimes and pages to inputs."""

from __future__ import annotations

import math
from collections.abc import Iterator

from quoting.engineering.line_inputs import NETWORK
from quoting.engineering.socket_ledger import AUDIO, Box, End, Ledger
from quoting.facts import (
    AmplifierFact,
    AmplifierOutput,
    AudioSource,
    CableEnd,
    CableRun,
    ControllerFact,
    Doorbell,
    Fact,
    Paging,
    RoomInput,
    ZoneFact,
)
from quoting.facts.connection import JOINT, WALL_JACK

LINE_LEAD = "stereo line lead"


def zone_leads(ledger: Ledger) -> None:
    """Each zone's output to the amplifier inputs of its channels: one lead for a channel pair or for bridged two."""
    brief = ledger.brief
    units = {fact.id: fact for fact in brief.of(ControllerFact)}
    boxes = {fact.id: fact for fact in brief.of(AmplifierFact)}
    outputs: dict[int, list[AmplifierOutput]] = {}
    for output in brief.of(AmplifierOutput):
        outputs.setdefault(output.zone, []).append(output)
    for zone in brief.of(ZoneFact):
        unit, amplifier = units.get(zone.controller), boxes.get(zone.amplifier)
        if not zone.line_lead or unit is None or amplifier is None:
            continue
        source = Box(unit.id, unit.part, unit.where)
        middle = [brief.part_for("mono summing adaptor")] if zone.summing else []
        middle += [brief.part_for("line splitter")] if zone.line_splitters else []
        for number, (index, side, plug) in enumerate(
                _inputs_of(ledger, amplifier, outputs.get(zone.zone, [])), 1):
            start = ledger.end(source, "out", ("line",), index=zone.controller_output,
                               side="M" if zone.summing else plug)
            into = Box(amplifier.id, amplifier.part, amplifier.where)
            end = ledger.end(into, "in", ("line",), index=index, side=side)
            ledger.join("zone lead", f"{zone.id}-IN{number}", start, end, zone, amplifier,
                        lead=brief.part_for(LINE_LEAD), through=", ".join(filter(None, middle)), bridged=zone.bridged)
    ledger.name_joints("zone lead")


def _inputs_of(
    ledger: Ledger, amplifier: AmplifierFact, outputs: list[AmplifierOutput]
) -> Iterator[tuple[int, str, str]]:
    """Input number, its side, and the plug of the lead, for these outputs: both plugs at once where they go together.

    A stereo input feeds two channels: its left one the odd channel. A line amplifier has an input a line.
    """
    socket = ledger.socket(Box(amplifier.id, amplifier.part), "in", ("line",))
    each = math.ceil(amplifier.channels / socket.count) if socket and socket.count else 2
    wanted = [((one.channel - 1) // each + 1, ("L", "R")[(one.channel - 1) % 2] if each > 1 else "LR", one.side)
              for one in outputs]
    held: tuple[int, str, str] | None = None
    for index, side, plug in wanted:
        if held == (index, "L", "L") and (side, plug) == ("R", "R"):
            yield index, "LR", "LR"
            held = None
            continue
        if held is not None:
            yield held
        held = (index, side, plug)
    if held is not None:
        yield held


def source_leads(ledger: Ledger) -> None:
    """Each stream of each source, by preamplifier and converter where it has them, to an input; players in rooms."""
    for source in ledger.brief.of(AudioSource):
        if not source.at_head_end:
            _room_player(ledger, source)
        elif source.connector != NETWORK:
            for stream in range(1, source.inputs + 1):
                _stream(ledger, source, stream)


def _stream(ledger: Ledger, source: AudioSource, stream: int) -> None:
    brief = ledger.brief
    lead = brief.part_for(source.lead)
    signal = ("line", "digital") if source.connector in ("RCA", "3.5 mm", "balanced") else ("digital", "line")
    at = ledger.end(Box(source.id, source.part, source.where), "out", signal, source.connector, stream, "LR")
    middle = [("P", brief.part_for("phono preamplifier"))] if source.phono else []
    middle += [("C", source.converter)] if source.converter else []
    for letter, part in middle:
        box = ledger.box(source.id, part, stream - 1 if letter == "C" else 0)
        connector = source.connector if letter == "C" else ""
        ledger.join("source", f"{source.id}-{letter}{stream}", at, ledger.end(box, "in", AUDIO, connector, 1, "LR"),
                    source, lead=lead)
        at, lead = ledger.end(box, "out", AUDIO, source.input_connector, 1, "LR"), brief.part_for(LINE_LEAD)
    ledger.join("source", f"{source.id}-L{stream}", at, _input(ledger, source, source.input_connector), source,
                lead=lead)


def _input(ledger: Ledger, fact: Fact, connector: str) -> End:
    """The next free input of that connector: the first controller's, else of the amplifiers that play by themselves."""
    brief = ledger.brief
    units: tuple[ControllerFact | AmplifierFact, ...] = brief.of(ControllerFact) or brief.of(AmplifierFact)
    boxes = [Box(unit.id, unit.part, fact.where) for unit in units]
    if not boxes:
        return End("", "", JOINT, 0)
    chosen = next((box for box in boxes if ledger.free(box, "in", AUDIO, connector) > 0), boxes[0])
    return ledger.end(chosen, "in", AUDIO, connector, side="LR")


def _room_player(ledger: Ledger, source: AudioSource) -> None:
    """A player in a room plugs into the room's plate."""
    plate = next((entry for entry in ledger.brief.of(RoomInput)
                  if entry.room == source.room and entry.what == "player"), None)
    if plate is None:
        return
    start = ledger.end(Box(source.id, source.part, source.where), "out", AUDIO, source.connector, side="LR")
    end = ledger.end(Box(plate.id, plate.part, source.where), "in", AUDIO, source.connector, side="LR")
    ledger.join("source", f"{source.id}-L1", start, end, source, plate, lead=ledger.brief.part_for(source.lead))


def room_input_leads(ledger: Ledger) -> None:
    """From the plate (or the television's sender) over the wall's cable and the patch panel to its receiver and in."""
    brief = ledger.brief
    live = {end.run for end in brief.of(CableEnd) if end.live}
    for entry in brief.of(RoomInput):
        runs = [run for run in brief.of(CableRun) if run.end == entry.basis[0] and run.id in live]
        if not runs:
            continue
        run, plate = runs[0], Box(entry.id, entry.part, entry.where)
        if entry.what == "tv":
            _television(ledger, entry, plate, run)
        else:
            _to_panel(ledger, entry, ledger.end(plate, "out", AUDIO, "RJ45"), run, _fed(ledger, entry, plate))
        receiver = ledger.box(entry.id, entry.receiver) if entry.receiver else None
        if receiver is not None:
            ledger.patch(run, ledger.end(receiver, "in", AUDIO, "RJ45"), "source", entry)
            out = ledger.socket(receiver, "out", AUDIO)
            through = "" if entry.digital else brief.part_for("isolator")
            ledger.join("source", f"{entry.id}-L", ledger.end(receiver, "out", AUDIO, index=1, side="LR"),
                        _input(ledger, entry, out.connector if out else "RCA"), entry,
                        lead=brief.part_for(LINE_LEAD), through=through)
        else:
            ledger.patch(run, _input(ledger, entry, "RJ45"), "source", entry)


def _television(ledger: Ledger, entry: RoomInput, sender: Box, run: CableRun) -> None:
    lead = ledger.brief.part_for("optical lead" if entry.digital else LINE_LEAD)
    connector = "optical" if entry.digital else "RCA"
    television = Box(entry.basis[0])
    ledger.join("source", f"{entry.id}-D", ledger.end(television, "out", ("digital" if entry.digital else "line",),
                                                      connector), ledger.end(sender, "in", AUDIO, connector), entry,
                lead=lead, note="the sender is fixed behind the television")
    jack = End(f"{run.id}B", "", WALL_JACK, 1)
    ledger.join("source", f"W{run.id}", ledger.end(sender, "out", AUDIO, "RJ45"), jack, entry, run,
                lead=ledger.brief.part_for("patch lead"), note=_fed(ledger, entry, sender))
    _to_panel(ledger, entry, jack, run)


def _fed(ledger: Ledger, entry: RoomInput, sender: Box) -> str:
    """Where a sender's power comes from that has no mains socket."""
    mains = ledger.socket(sender, "in", ("mains",))
    return "its receiver feeds it over this cable" if entry.receiver and sender.part and mains is None else ""


def _to_panel(ledger: Ledger, entry: RoomInput, start: End, run: CableRun, note: str = "") -> None:
    """The wall's cable: to the patch panel, or on to the keypad whose cable it shares."""
    if run.start == "HE":
        ledger.land(run, start, "source", entry, note=note)
    else:
        ledger.join("source", f"C{run.id}", start, End(run.start, "", JOINT, 0), entry, run, run=run.id,
                    note="on the conductors that the keypad leaves over")


def bells_and_pages(ledger: Ledger) -> None:
    """Door wires to their triggers, triggers to chime and contact, the chime and each page to an input of its own."""
    brief = ledger.brief
    bells, chime = brief.of(Doorbell), brief.part_for("chime source")
    trigger, page_part = brief.part_for("doorbell trigger"), brief.part_for("page interface")
    live = {end.run for end in brief.of(CableEnd) if end.live}
    wires = {run.end: run for run in brief.of(CableRun) if run.purpose == "doorbell" and run.id in live}
    box = ledger.box(bells[0].id, chime) if bells else None
    for bell in bells:
        unit, wire = ledger.box(bell.id, trigger), wires.get(bell.id)
        if wire is not None:
            ledger.join("control", f"C{wire.id}", End(bell.id, "", JOINT, 0),
                        ledger.end(unit, "in", ("control",), "screw", 1), bell, wire, run=wire.id,
                        note="across the bell's own wires, where its maker allows it")
        if box is not None:
            ledger.join("control", f"{bell.id}-C", ledger.end(unit, "out", ("control",), "screw", 1),
                        ledger.end(box, "in", ("control",), "screw", 1), bell, note="bell wire, both conductors")
            if bell.first:
                _contact(ledger, bell, ledger.end(unit, "out", ("control",), "screw", 1))
    if box is not None:
        _to_input(ledger, bells[0], box)
    for page in brief.of(Paging):
        interface, microphone = ledger.box(page.id, page_part), Box(page.id, brief.part_for("page microphone"))
        ledger.join("source", f"{page.id}-M", ledger.end(microphone, "out", ("line",), index=1),
                    ledger.end(interface, "in", ("line",), "balanced", 1), page, lead=brief.part_for("balanced lead"))
        _to_input(ledger, page, interface)
        _contact(ledger, page, ledger.end(interface, "out", ("control",), "screw", 1))
    ledger.name_joints("control")


def _to_input(ledger: Ledger, fact: Fact, box: Box) -> None:
    out = ledger.socket(box, "out", AUDIO)
    ledger.join("source", f"{fact.id}-L", ledger.end(box, "out", AUDIO, index=1, side="LR"),
                _input(ledger, fact, out.connector if out else "RCA"), fact, lead=ledger.brief.part_for(LINE_LEAD))


def _contact(ledger: Ledger, fact: Fact, start: End) -> None:
    """To a controller's contact, where one is free; engineering has warned where not."""
    for unit in ledger.brief.of(ControllerFact):
        box = Box(unit.id, unit.part, unit.where)
        if ledger.free(box, "in", ("control",), "screw") > 0:
            ledger.join("control", f"{fact.id}-K", start, ledger.end(box, "in", ("control",), "screw"), fact, unit,
                        note="two-wire contact")
            return

"""The keypads of one option on the controller's bus: current, cable and ports, summed against what it gives."""

from __future__ import annotations

from collections.abc import Iterator

from quoting.engineering.brief import Brief, Result
from quoting.facts import CableRun, ControllerFact, KeypadBus, KeypadFact
from quoting.problems import Problem, warning


def keypad_bus(brief: Brief) -> Result:
    """One KeypadBus where a controller feeds keypads; nothing where they hang on the network or there are none."""
    units = [unit for unit in brief.of(ControllerFact) if unit.keypad_ports]
    keypads = [keypad for keypad in brief.of(KeypadFact) if keypad.control == "keypad"]
    if not units or not keypads:
        return (), ()
    spec = brief.catalog.controllers[units[0].part]
    usual = brief.catalog.standards.ask("cable_design", item="keypad bus m")
    places = {keypad.place for keypad in keypads}
    runs = [run for run in brief.of(CableRun) if run.purpose == "control" and not run.spare and run.end in places]
    bus = KeypadBus(
        id="BUS", where=tuple(dict.fromkeys(cell for keypad in keypads for cell in keypad.where)),
        basis=(*(unit.id for unit in units), *(keypad.id for keypad in keypads), *(run.id for run in runs)),
        decided=(f"controllers {spec.part}" if spec.bus_m is not None else usual.decided,),
        controller=spec.part, units=len(units), keypads=len(keypads), ports=sum(unit.keypad_ports for unit in units),
        asked_ma=round(sum(keypad.bus_ma for keypad in keypads), 1), given_ma=spec.bus_ma * len(units),
        run_m=round(sum(run.length_m for run in runs), 2),
        limit_m=round((usual.number("value") if spec.bus_m is None else spec.bus_m) * len(units), 2))
    return (bus,), tuple(_worries(brief, bus, keypads))


def _worries(brief: Brief, bus: KeypadBus, keypads: list[KeypadFact]) -> Iterator[Problem]:
    where = brief.rooms[keypads[0].room].where("control", "")[0]
    said = f"The {bus.keypads} keypads of option '{brief.option}'"
    fewer = "Type phone or knob under 'Control' for some rooms, or name"
    if bus.asked_ma > bus.given_ma:
        yield warning(where, "keypad-bus-current",
                      f"{said} draw {bus.asked_ma:.0f} mA and the bus of '{bus.controller}' gives "
                      f"{bus.given_ma:.0f} mA.",
                      f"{fewer} a controller with a stronger bus, or a keypad that draws less, in options.csv.")
    if bus.run_m > bus.limit_m:
        yield warning(where, "keypad-bus-length",
                      f"{said} have {bus.run_m:.0f} m of cable on the bus of '{bus.controller}', which allows "
                      f"{bus.limit_m:.0f} m.",
                      "Move the head end nearer, or name a controller with a longer bus in options.csv.")
    runs = sum(not keypad.chained for keypad in keypads)
    if runs > bus.ports:
        yield warning(where, "keypad-bus-ports",
                      f"{said} come on {runs} cables and '{bus.controller}' has {bus.ports} keypad ports.",
                      f"{fewer} keypads that share a cable, or a controller with more ports, in options.csv.")

"""The hook-up sheet of one option: everything off, everything connected and checked, then power in its order."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from quoting.documents.crew_hookup_power import listening, off_at_rack, off_in_rooms, power_off, power_on
from quoting.documents.crew_hookup_wires import (
    Wiring,
    at_rack,
    house_leads,
    in_rooms,
    leads,
    metering,
    switches,
)
from quoting.documents.crew_sheet import NONE, CrewTable, said_columns
from quoting.documents.crew_steps import HookUpSection, HookUpSheet, HookUpStep
from quoting.lines import Phase
from quoting.quote import PricedOption, Quote

COLUMNS = ("Step", "What to do", "From", "To", "Cable or lead", "Polarity, note", "Should show", "If not",
           "Done, initials")
MAINS = "Mains circuits, outlets and breakers: a licensed electrician only. Local rules decide."
SHOCK = "Lines of 70 V and more are a shock risk, most of all where it is wet: off before touching."


def hook_up_sheet(quote: Quote, option: PricedOption) -> HookUpSheet:
    """The steps in the order that is safe, each section with its visit; sections without a step are left out."""
    wiring = Wiring(quote, option)
    high = (SHOCK,) if wiring.line_zones else ()
    sections = (*_at_bench(wiring, _on(option, "rack build"), high), *_in_house(wiring, option, high))
    return HookUpSheet(option=option.name, sections=tuple(_numbered(sections)))


def _on(option: PricedOption, phase: Phase) -> str:
    """The visits of a phase, to stand after a title."""
    visits = ", ".join(visit.id for visit in option.timetable.visits if visit.phase == phase)
    return f": visit {visits}" if visits else ""


def _at_bench(wiring: Wiring, visit: str, high: tuple[str, ...]) -> Iterator[HookUpSection]:
    """Where the rack is built: off after the bench test, switches, and the leads between its own devices."""
    yield HookUpSection(title=f"The rack, off after its bench test{visit}", steps=tuple(power_off(wiring)), cautions=(
        MAINS, "Amplifiers off first, the rest after them; two minutes more before a lead is moved. From here on no "
        "cord goes in again before step 'A second person checks' is signed.", *high))
    yield HookUpSection(title=f"Switches and gains, before anything is connected{visit}",
                        steps=tuple(switches(wiring)))
    for title, groups, cautions in (
            ("Zone outputs to amplifiers", ("zone lead",),
             ("Never join left and right outputs by a bare Y: a summing adaptor does it.",)),
            ("Sources to inputs", ("source",), ()),
            ("Links, contacts, infrared, keypads", ("link", "control"), ()),
            ("Trigger chain", ("trigger",), ()),
            ("Network", ("network",), ()),
            ("Strips behind the UPS", ("mains",), (MAINS,))):
        yield HookUpSection(title=f"{title}{visit}", steps=tuple(leads(wiring, *groups)), cautions=cautions)


def _in_house(wiring: Wiring, option: PricedOption, high: tuple[str, ...]) -> Iterator[HookUpSection]:
    """The rooms, then the rack where it stands: circuits, cables of the walls, a second look, power, listening."""
    visit = _on(option, "commissioning")
    yield HookUpSection(
        title=f"In the rooms{_on(option, 'trim-out')}", steps=(*off_in_rooms(wiring), *in_rooms(wiring)), cautions=(
            "Ladders: firm ground, one person holds. Low voltage never shares a box with mains.", *high))
    yield HookUpSection(title=f"At the rack, nothing has power{visit}", steps=tuple(off_at_rack(wiring)),
                        cautions=(MAINS,))
    yield HookUpSection(title=f"Meter each speaker circuit, then land it{visit}", cautions=(
        "A meter shows direct-current resistance, not impedance: expect less than the speaker's label.", *high),
        steps=(*metering(wiring), *at_rack(wiring)))
    yield HookUpSection(title=f"Cables of the walls, and leads to the family's own devices{visit}",
                        steps=tuple(house_leads(wiring)))
    yield HookUpSection(title=f"A second person checks{visit}", steps=(_second_person(),))
    yield HookUpSection(title=f"Power on: network and controller, sources, amplifiers one at a time{visit}",
                        steps=tuple(power_on(wiring)), cautions=(
        MAINS, "A protection light or a smell: off at once, cord out, and only then look.",
        "Nobody connects or moves a lead from here on before every cord is out again."))
    yield HookUpSection(title=f"Zone by zone, from low volume{visit}", steps=tuple(listening(wiring)), cautions=(
        "Begin at the lowest volume; loud sound harms hearing.",))


def _second_person() -> HookUpStep:
    return HookUpStep(
        action="check", what="Somebody else than who connected goes through every step above, lead by lead and "
        "terminal by terminal: no loose strand, no bare end, bridged pairs as scheduled, gains at minimum, cords out.",
        shows="every step above ticked and initialled", if_not="do not go on")


def _numbered(sections: Iterable[HookUpSection]) -> Iterable[HookUpSection]:
    number = 0
    for section in sections:
        if section.steps:
            steps = []
            for step in section.steps:
                number += 1
                steps.append(replace(step, number=number))
            yield replace(section, steps=tuple(steps))


def hook_up_tables(sheet: HookUpSheet) -> tuple[CrewTable, ...]:
    """The sheet as tables, a section each, ready to be laid out; columns that say nothing in a section are left out."""
    return tuple(said_columns(CrewTable(
        title=section.title, columns=COLUMNS, cautions=section.cautions,
        rows=tuple((str(step.number), step.what, step.start or NONE, step.end or NONE, step.by or NONE,
                    step.polarity or NONE, step.shows or NONE, step.if_not or NONE, "") for step in section.steps),
        known_by=tuple(step.name for step in section.steps)))
        for section in sheet.sections)

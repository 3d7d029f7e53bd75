"""The hook-up sheet of one option: everything off, everything connected and checked, then power in its order.

Sections stand in the order of the visits: the rooms at trim-out, the rack where it is built, then what joins the two.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from msgspec.structs import replace

from quoting.documents.crew_hookup_power import all_off, listening, power_off, power_on, power_title
from quoting.documents.crew_hookup_rack import fixed_at_place, set_at_place, set_on
from quoting.documents.crew_hookup_rooms import in_rooms
from quoting.documents.crew_hookup_wires import (
    at_rack,
    family_leads,
    leads,
    metering,
    switches,
    waiting_ends,
    wall_cables,
)
from quoting.documents.crew_readings import IMPEDANCE, LEADS, PIN_SCHEME
from quoting.documents.crew_sheet import NONE, CrewTable, said_columns
from quoting.documents.crew_steps import HookUpSection, HookUpSheet, HookUpStep
from quoting.documents.crew_wiring import Wiring, ends_in
from quoting.documents.work_limits import lift_words
from quoting.lines import Phase
from quoting.quote import PricedOption, Quote

COLUMNS = ("Room", "Step", "What to do", "From", "To", "Cable or lead", "Polarity, note", "Should show", "If not",
           "Done, initials")
MAINS = "Mains circuits, outlets and breakers: a licensed electrician only. Local rules decide."
SHOCK = "Lines of 70 V and more are a shock risk, most of all where it is wet: off before touching."
TIPS = "Over {weight} two people lift; nothing is loaded, pulled out or moved that nobody holds against tipping."
LADDERS = "Ladders: firm ground, one person holds. Low voltage never shares a box with mains."
PLUGGED_LAST = ("Box by box: what is proved, joined, set and landed comes before what is plugged in and closes the "
                "box. Read the serial number off a piece, onto its sheet, before it goes up.")
LEVEL_METER = ("At the seat: sound level meter, A-weighted, slow, full-range noise. Volume limit: as the family wants "
               "it; until they say, where nothing distorts. An amplifier without gains: the volume alone.")
ALL_OFF = ("To change a lead or a terminal from here on: amplifiers off first, then every cord out, two minutes; "
           "change it; the second person checks what was touched again, and what was loosened to pull it out is fixed "
           "again; then power on from the first step of its "
           "section.")


def hook_up_sheet(quote: Quote, option: PricedOption) -> HookUpSheet:
    """The steps in the order that is safe, each section with its visit; sections without a step are left out."""
    wiring = Wiring(quote, option)
    high = (SHOCK,) if wiring.has_lines else ()
    apart = [tuple(_in_rooms(wiring, option, high)), tuple(_at_bench(wiring, option, high))]
    if _starts(option, "rack build") < _starts(option, "trim-out"):
        apart.reverse()
    sections = (*apart[0], *apart[1], *_in_house(wiring, option, high))
    return HookUpSheet(option=option.name, sections=tuple(_numbered(sections)))


def _starts(option: PricedOption, phase: Phase) -> int:
    """The first working day of a phase's visits; the last of all where it has none."""
    return min((visit.first_day for visit in option.timetable.visits if visit.phase == phase), default=10**6)


def _sections(
    option: PricedOption, phase: Phase, *parts: tuple[str, Iterable[HookUpStep], tuple[str, ...], tuple[str, ...]]
) -> Iterator[HookUpSection]:
    """Sections of one phase, each title with its visits; after the steps come cautions, then notes."""
    visits = ", ".join(option.timetable.visits_of(phase))
    for title, steps, cautions, notes in parts:
        yield HookUpSection(title=f"{title}: visit {visits}" if visits else title, phase=phase, steps=tuple(steps),
                            cautions=cautions, notes=notes)


def _in_rooms(wiring: Wiring, option: PricedOption, high: tuple[str, ...]) -> Iterator[HookUpSection]:
    """The rooms, before anything of ours in them has power."""
    steps = tuple(in_rooms(wiring))
    metered = any(step.action == "meter" or (step.cables and wiring.purpose(step.cables[0]) != "category")
                  for step in steps)
    return _sections(option, "trim-out", ("In the rooms, box by box", steps, (LADDERS, *high), (
        PLUGGED_LAST, *((LEADS,) if metered else ()), *_pin_scheme(wiring))))


def _at_bench(wiring: Wiring, option: PricedOption, high: tuple[str, ...]) -> Iterator[HookUpSection]:
    """Where the rack is built: off after the bench test, switches, and the leads between its own devices."""
    in_shop = not any(visit.on_site for visit in option.timetable.visits if visit.phase == "rack build")
    return _sections(
        option, "rack build",
        (f"The {wiring.stand}, off after its bench test", power_off(wiring, in_shop), (
            MAINS, "Amplifiers off first, the rest after them; two minutes more before a lead is moved. From here on "
            "no cord goes in again before step 'A second person checks' is signed.", *high), ()),
        ("Switches and gains, before anything is connected", switches(wiring), (), ()),
        ("Zone outputs to amplifiers", leads(wiring, "zone lead"), (),
         ("Never join left and right outputs by a bare Y: a summing adaptor does it.",)),
        ("Sources to inputs", leads(wiring, "source"), (), ()),
        ("Links, contacts, infrared, keypads", leads(wiring, "link", "control"), (), ()),
        ("Trigger chain", leads(wiring, "trigger"), (), ()),
        ("Network", leads(wiring, "network"), (), ()),
        ("Strips behind the UPS", leads(wiring, "mains"), (MAINS,), ()))


def _in_house(wiring: Wiring, option: PricedOption, high: tuple[str, ...]) -> Iterator[HookUpSection]:
    """The rack where it stands: circuits, cables of the walls, the family's own, a second look, power, listening."""
    tips = TIPS.format(weight=lift_words(wiring.limits))
    return _sections(
        option, "commissioning",
        (f"The {wiring.stand} at its place", set_at_place(wiring), (tips,), ()),
        (f"In the rooms and at the {wiring.stand}, nothing has power", all_off(wiring), (MAINS,), ()),
        ("Meter each speaker circuit", metering(wiring), high, (LEADS, IMPEDANCE)),
        ("Land each speaker circuit", at_rack(wiring), high, ()),
        ("Cables of the walls", wall_cables(wiring), (), _pin_scheme(wiring)),
        ("Leads to the family's own devices", (*set_on(wiring), *family_leads(wiring)), (), ()),
        ("Cables that wait", waiting_ends(wiring), (), ()),
        ("A second person checks", (_second_person(wiring),), (), ()),
        (f"The {wiring.stand} back at its place", fixed_at_place(wiring), (), ()),
        (power_title(wiring), power_on(wiring), (
            MAINS, "A protection light or a smell: off at once, cord out, and only then look.", ALL_OFF), ()),
        ("Zone by zone, from low volume", listening(wiring), (
            "Begin at the lowest volume; loud sound harms hearing.", ALL_OFF), (LEVEL_METER,)))


def _pin_scheme(wiring: Wiring) -> tuple[str, ...]:
    return (PIN_SCHEME,) if any(wiring.purpose(run) == "category" for run in wiring.runs) else ()


def _second_person(wiring: Wiring) -> HookUpStep:
    """Of what is open to see; a joint in a closed box and a loudspeaker that hangs are proved by their readings."""
    looked_at = ["no loose strand", "no bare end",
                 *(["bridged pairs as scheduled"] if any(output["bridged"] for output in wiring.outputs) else []),
                 "gains at minimum", "cords out"]
    family_s = " and at the family's own devices" if any(
        id in wiring.owned or wiring.is_family_s(id) for row in wiring.words.connections for id in ends_in(row)) else ""
    rooms = (" Boxes and loudspeakers in the rooms stay closed: their proof is the readings, each written and within "
             "what it should show.") if wiring.cable_ends else ""
    return HookUpStep(
        action="check", what=f"Somebody else than who connected goes through what is open to see at the "
        f"{wiring.stand}{family_s}, lead by lead and terminal by terminal: {', '.join(looked_at)}.{rooms}",
        shows="every step above ticked and initialled", if_not="do not go on")


def _numbered(sections: Iterable[HookUpSection]) -> Iterator[HookUpSection]:
    number = 0
    for section in sections:
        if section.steps:
            steps = []
            for step in section.steps:
                number += 1
                steps.append(replace(step, number=number))
            yield replace(section, steps=tuple(steps))


def hook_up_tables(sheet: HookUpSheet) -> tuple[CrewTable, ...]:
    """The sheet as tables, a section each, ready to be laid out; columns that say nothing in a section are left out.

    Steps that go room by room stand under the room's name.
    """
    return tuple(said_columns(CrewTable(
        title=section.title, columns=COLUMNS, cautions=section.cautions, notes=section.notes,
        grouped=any(step.room for step in section.steps), counted=True,
        rows=tuple((step.room or NONE, str(step.number), step.what, step.start or NONE, step.end or NONE,
                    step.by or NONE,
                    step.polarity or NONE, step.shows or NONE, step.if_not or NONE, "") for step in section.steps),
        known_by=tuple(step.name for step in section.steps)))
        for section in sheet.sections)

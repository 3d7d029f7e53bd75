"""Facts of the whole: the job, each floor, each room that is worked in, the option's system."""

from __future__ import annotations

from collections.abc import Iterable

from quoting.engineering.acoustics import exposure_minutes
from quoting.engineering.brief import Brief, Result, is_open, rows_of, settings_of, site
from quoting.engineering.head_end import poe_asked_w, ports_needed
from quoting.engineering.line_inputs import head_end_shape
from quoting.engineering.rack_items import item_rows, keypad_hubs
from quoting.facts import (
    AmplifierFact,
    CableRun,
    Fact,
    FloorFact,
    JobFact,
    KeypadFact,
    Pull,
    RoomFact,
    Speaker,
    SystemFact,
    WorkLimits,
    ZoneFact,
)
from quoting.job import Job, Room, WallState
from quoting.units import KG_PER_LB, MM_PER_IN


def job_facts(brief: Brief) -> Result:
    """The job as a whole, the same in every option."""
    job = brief.job
    place = brief.catalog.places.get(job.terms.tax_place)
    old = brief.catalog.standards.ask("old_house", place=job.terms.tax_place)
    return (JobFact(
        id="JOB", where=job.where(), decided=(*((f"terms {place.place}",) if place else ()), old.decided),
        wall_state=job.wall_state, occupied=job.occupied, storeys=job.storeys,
        floors=len({room.floor for room in job.rooms}), rooms=len(job.rooms),
        area_m2=round(sum(room.area_m2 for room in job.rooms), 2),
        old_paint=_older_than(brief, old.number("lead_before")),
        old_asbestos=_older_than(brief, old.number("asbestos_before")),
        payer=job.client.payer, permit=bool(place and place.permit),
        internet_said=job.internet_live is not None, travel_hours=job.travel_hours,
        revision=job.terms.revision, options=len(brief.catalog.options),
        drywall_follows=any(is_open(room) for room in job.rooms),
        garden=any(room.setting == "outdoor" for room in job.rooms)),), ()


def work_limits(brief: Brief) -> Result:
    """What the papers of the crew and of the family tell as limits: each a row that an estimator may change."""
    ask = brief.catalog.standards.ask
    lift, air, meter, buttons = (ask("work_limit", item=item) for item in (
        "two lift lb", "rack air f", "meter db", "uncounted buttons"))
    face = ask("framing_limit", item="face plate in")
    caution, all_day = (ask("hearing", item=item) for item in ("caution", "all day"))
    return (WorkLimits(
        id="LIMITS", decided=rows_of(answer.decided for answer in (lift, air, meter, buttons, face, caution, all_day)),
        two_lift_kg=round(lift.number("value") * KG_PER_LB, 3), rack_air_f=air.number("value"),
        meter_db=meter.number("value"), plated_mm=face.number("value") * MM_PER_IN,
        uncounted_buttons=int(buttons.number("value")), caution_db=caution.number("level_db"),
        caution_hours=round(exposure_minutes(caution.number("level_db")) / 60, 2),
        all_day_db=all_day.number("level_db")),), ()


def _older_than(brief: Brief, limit: float) -> bool:
    year = brief.job.year_built
    finished = any(not is_open(room) for room in brief.job.rooms)
    return (0 < year < limit) or (year == 0 and finished)


def open_rooms(brief: Brief) -> Result:
    """Rooms with open walls that the shared plan works in."""
    return _rooms(brief, [room for room in brief.job.rooms if is_open(room)])


def finished_rooms(brief: Brief) -> Result:
    """Rooms with finished walls that this option works in."""
    return _rooms(brief, [room for room in brief.job.rooms if not is_open(room)])


def _rooms(brief: Brief, rooms: Iterable[Room]) -> Result:
    cables: dict[str, list[str]] = {}
    for run in brief.of(CableRun):
        cables.setdefault(run.room, []).append(run.id)
    speakers: dict[str, list[str]] = {}
    for speaker in brief.of(Speaker):
        speakers.setdefault(speaker.room, []).append(speaker.id)
    return tuple(
        RoomFact(id=room.code, **site(room, brief.job), where=room.where(), kind=room.kind, area_m2=room.area_m2,
                 basis=(*cables.get(room.code, ()), *speakers.get(room.code, ())),
                 cables=len(cables.get(room.code, ())))
        for room in rooms if room.code in cables or room.code in speakers), ()


def open_floors(brief: Brief) -> Result:
    """Each floor's pulling behind open walls."""
    return _floors(brief, finished=False)


def finished_floors(brief: Brief) -> Result:
    """Each floor's pulling through finished walls, in this option."""
    return _floors(brief, finished=True)


def _floors(brief: Brief, finished: bool) -> Result:
    facts: list[Fact] = []
    runs = [run for run in brief.of(CableRun) if (run.wall_state == "finished") == finished]
    for number in sorted({run.floor for run in runs}):
        here = [run for run in runs if run.floor == number]
        wall_state: WallState = here[0].wall_state
        pulls = [pull for pull in brief.of(Pull) if pull.floor == number and (
            pull.wall_state == "finished") == finished]
        facts.append(FloorFact(
            id=f"F{number}-FIN" if finished else f"F{number}", basis=tuple(run.id for run in here),
            where=here[0].where, decided=rows_of(row for pull in pulls for row in pull.decided),
            floor=number, wall_state=wall_state,
            rooms=len({run.room for run in here}), runs=len(here),
            cable_m=round(sum(run.length_m for run in here), 2),
            studs_crossed=sum(pull.studs_crossed for pull in pulls),
            plates_crossed=sum(pull.plates_crossed for pull in pulls),
            chase_m=round(sum(pull.chase_m for pull in pulls), 3)))
    return tuple(facts), ()


def system(brief: Brief) -> Result:
    """The option's system as a whole."""
    uses = tuple(brief.uses.values())
    zones, keypads, amplifiers = brief.of(ZoneFact), brief.of(KeypadFact), brief.of(AmplifierFact)
    fact = SystemFact(
        id="SYS", where=brief.job.where("head_end_shape"), basis=tuple(zone.id for zone in zones),
        decided=(*settings_of(*_settings(brief.job)), *item_rows(brief, "keypads per hub")),
        option=brief.option, wall_state=brief.job.wall_state,
        shape=head_end_shape(brief),
        live_rooms=sum(use.state == "live" for use in uses), wired_rooms=sum(use.state == "wired-only" for use in uses),
        zones=len(zones), speakers=len(brief.of(Speaker)),
        keypads=sum(keypad.control == "keypad" for keypad in keypads),
        knobs=sum(keypad.control == "knob" for keypad in keypads), phones=brief.job.phones or brief.number("phones"),
        streams=brief.job.streams or brief.number("streams", 1), service_years=brief.number("service_years"),
        network_ports=ports_needed(brief), poe_w=poe_asked_w(brief), ups=brief.yes("ups"),
        remote_power=brief.yes("remote_power"),
        stays_on_shelf=brief.catalog.setting("rack", brief.option) == "shelf",
        trigger_leads=sum(amplifier.trigger_lead for amplifier in amplifiers),
        trigger_ma=sum(amplifier.trigger_ma for amplifier in amplifiers),
        keypad_hubs=keypad_hubs(brief), loudest_w=max((zone.asked_w for zone in zones), default=0.0))
    return (fact,), ()


def _settings(job: Job) -> tuple[str, ...]:
    """The option's settings that hold: its own, and those that the job did not replace."""
    typed = {"head_end_shape": job.head_end_shape, "streams": job.streams, "phones": job.phones}
    return (*(name for name, value in typed.items() if not value), "rack", "ups", "remote_power", "service_years")

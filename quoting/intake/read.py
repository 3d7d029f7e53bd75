"""A filled-in intake workbook becomes a Job: every problem at once, every default marked."""

from __future__ import annotations

import datetime
import re
from pathlib import Path
from typing import Any

from quoting.catalog.records import Catalog
from quoting.intake.check import check_filled
from quoting.intake.defaults import TRAVEL_HOURS, USUAL, Fallback, Ledger, usual_locale
from quoting.intake.filled import Filled, read_filled
from quoting.intake.rooms import House, read_house, usual_wall_state
from quoting.intake.wishes import RoomNames, read_extras, read_overrides, read_sources, room_named, room_names
from quoting.job import Client, HeadEnd, Job, Terms
from quoting.money import ZERO
from quoting.problems import Problem, has_stop, in_order, stop
from quoting.sheets.fields import NAME_LIMIT, key
from quoting.sheets.workbook import read_workbook


def read_job(path: Path, catalog: Catalog) -> tuple[Job | None, tuple[Problem, ...]]:
    """Reads and cross-checks the workbook; no Job where any problem is a stop. Never raises for what was typed."""
    grids, problems = read_workbook(path)
    if has_stop(problems):
        return None, problems
    filled, slips = read_filled(path.name, grids, catalog)
    if filled is None:
        return None, in_order((*problems, *slips))
    job, more = make_job(filled, catalog)
    found = in_order((*problems, *slips, *more, *check_filled(filled, job, catalog)))
    return (None if has_stop(found) else job), found


def make_job(filled: Filled, catalog: Catalog) -> tuple[Job, tuple[Problem, ...]]:
    """The Job with every blank filled in; stand-ins where a required cell could not be read (a stop says so)."""
    ledger = Ledger(filled.measures.system)
    job = filled.job
    state, fallback = usual_wall_state(filled)
    floor = _head_end_floor(filled, ledger)
    house, slips = read_house(filled, catalog, ledger, fallback, floor)
    names = room_names(house.rooms, job.text("head_end"))
    first = next(iter(catalog.options), "")
    named: list[Problem] = []
    sources, source_slips = read_sources(filled, ledger, names, first)
    extras, extra_slips = read_extras(filled, ledger, names, first)
    overrides, override_slips = read_overrides(filled)
    terms, term_slips = _terms(filled, ledger)
    said = _said(filled, catalog, ledger, house)
    made = Job(
        file=filled.file, client=_client(filled, ledger), terms=terms,
        unit_system=filled.measures.system, gauge_system="AWG" if filled.measures.system == "imperial" else "mm2",
        wall_state=state, start_date=ledger.plain(job, "start_date", "Job", None),
        head_end=_head_end(filled, ledger, floor, names, named),
        floors=house.floors, rooms=house.rooms, zones=house.zones, sources=sources, extras=extras, overrides=overrides,
        cells={"": job.where(), **{name: job.where(name) for name in job.values}},
        defaults=tuple(ledger.defaults), unknowns=tuple(ledger.unknowns), **said,
    )
    return made, (*slips, *named, *source_slips, *extra_slips, *override_slips, *term_slips)


def _client(filled: Filled, ledger: Ledger) -> Client:
    job = filled.job
    return Client(
        name=job.text("client"), site=job.text("site"), payer="builder" if job.text("payer") == "builder" else "owner",
        budget=ledger.plain(job, "budget", "Job", None),
        budget_said_by=ledger.plain(job, "budget_said_by", "Job", ""),
        priorities=ledger.plain(job, "priorities", "Job", ()),
    )


def _terms(filled: Filled, ledger: Ledger) -> tuple[Terms, tuple[Problem, ...]]:
    job, measures = filled.job, filled.measures

    def settle(attribute: str, value: object, source: str) -> Any:
        return ledger.settle(job, attribute, "Job", Fallback(value, source))

    def plain(attribute: str, blank: object) -> Any:
        return ledger.plain(job, attribute, "Job", blank)

    place = filled.place.place if filled.place else ""
    tax_place = settle("tax_place", place, "the catalogue's terms.csv")
    currency = settle("currency", measures.currency, f"tax place {place}")
    settle("unit_system", measures.system, f"currency {currency}")
    locale, problems = _locale(filled, settle("locale", usual_locale(place, currency), f"tax place {place}"))
    return Terms(
        currency=currency, locale=locale, tax_place=tax_place, tax_exempt=plain("tax_exempt", ""),
        dwelling_years=settle("dwelling_years", *_dwelling_years(filled)),
        discount_rate=plain("discount_rate", ZERO), discount_reason=plain("discount_reason", ""),
        approved_by=plain("approved_by", ""), whole_units=plain("whole_units", False),
        detail=settle("detail", "by room", USUAL),
        quote_number=settle("quote_number", Path(filled.file).stem[:NAME_LIMIT], "the workbook's name"),
        revision=plain("revision", 0), supersedes=plain("supersedes", ""), quote_date=plain("quote_date", None),
    ), problems


def _locale(filled: Filled, typed: str) -> tuple[str, tuple[Problem, ...]]:
    """language_COUNTRY in its usual spelling, known to the formatter."""
    from babel.localedata import exists

    found = re.fullmatch(r"([A-Za-z]{2,3})(?:[-_]([A-Za-z]{2}))?", typed)
    locale = "_".join(part for part in (found[1].lower(), (found[2] or "").upper()) if part) if found else ""
    if locale and exists(locale):
        return locale, ()
    return "en_US", (stop(
        filled.job.where("locale"), "unknown-locale",
        f"Language and format '{typed}' is not a language and a country that numbers can be written for.",
        "Type it like en_US, de_DE or fr_FR.",
    ),)


def _dwelling_years(filled: Filled) -> tuple[int, str]:
    built, start = filled.job.get("year_built", int), filled.job.get("start_date", datetime.date)
    if built and start:
        return max(0, start.year - built), "start date less year built"
    return 0, USUAL


def _said(filled: Filled, catalog: Catalog, ledger: Ledger, house: House) -> dict[str, Any]:
    """The Job's own optional fields."""
    job = filled.job

    def settle(attribute: str, value: object, source: str) -> Any:
        return ledger.settle(job, attribute, "Job", Fallback(value, source))

    def plain(attribute: str, blank: object) -> Any:
        return ledger.plain(job, attribute, "Job", blank)

    above_ground = sum(floor.number >= 0 for floor in house.floors) or 1
    return {
        "dwelling": settle("dwelling", "house", USUAL),
        "storeys": settle("storeys", above_ground, "the floors of the rooms"),
        "occupied": settle("occupied", job.text("wall_state") != "open", "wall state"),
        "year_built": plain("year_built", 0),
        "travel_hours": settle("travel_hours", TRAVEL_HOURS, USUAL),
        "internet_live": plain("internet_live", None),
        "trim_date": plain("trim_date", None),
        "router_owner": settle("router_owner", "the client", USUAL),
        "counting_standard": settle("counting_standard", catalog.firm.counting_standard, "the firm's"),
        "topology": settle("topology", "through the keypad place", USUAL),
        "head_end_shape": plain("head_end_shape", None),
        "streams": plain("streams", None),
        "phones": plain("phones", 0),
    }


def _head_end_floor(filled: Filled, ledger: Ledger) -> int:
    """Typed, else that of the room so named, else what its name says, else the lowest."""
    place = key(filled.job.text("head_end"))
    floors = [number for row in (*filled.rooms, *filled.floors)
              for number in (row.get("floor", int), row.get("number", int)) if number is not None]
    named = next((row.get("floor", int) for row in filled.rooms if key(row.text("name")) == place and place), None)
    below = -1 if re.search(r"\b(basement|cellar)\b", place) else None
    return int(ledger.settle(
        filled.job, "head_end_floor", "Job", Fallback(named, "the room so named"),
        Fallback(below, "its place"), Fallback(min(floors, default=1), "the lowest floor"),
    ))


def _head_end(
    filled: Filled, ledger: Ledger, floor: int, names: RoomNames, problems: list[Problem],
) -> HeadEnd:
    """As typed; what nobody said of a closet the standards answer."""
    job = filled.job

    def plain(attribute: str) -> Any:
        return ledger.plain(job, f"head_end_{attribute}", "Job", None)

    return HeadEnd(
        place=job.text("head_end"), floor=floor, x_m=plain("x_m"), y_m=plain("y_m"),
        beside=room_named(job, "head_end_beside", "Job", ledger, names, problems), side=plain("side"),
        length_m=plain("length_m"), width_m=plain("width_m"))

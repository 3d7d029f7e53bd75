"""What must fit together across rows and sheets: a plain list of checks, each of which may find problems."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from decimal import Decimal
from itertools import pairwise
from typing import get_args

from quoting.catalog.records import Catalog
from quoting.intake.check_measures import MEASURES
from quoting.intake.codes import is_reserved
from quoting.intake.columns import PAIRS_PREFIX
from quoting.intake.entries import Entry
from quoting.intake.filled import Filled
from quoting.intake.rooms import zone_number
from quoting.intake.wishes import LENGTH_KINDS
from quoting.job import Job
from quoting.lines import Phase
from quoting.problems import Problem, stop, warning
from quoting.sheets.fields import closest, key, shown

Check = Callable[[Filled, Job, Catalog], Iterable[Problem]]

FACT_ID = re.compile(r"[A-Z0-9][A-Z0-9.\-]{0,9}$")
ROOM_CODE = re.compile(r"[A-Z][A-Z0-9]{0,3}$")


def check_filled(filled: Filled, job: Job, catalog: Catalog) -> tuple[Problem, ...]:
    """Every problem that the checks find. A cell that could not be read is never reported a second time."""
    return tuple(problem for check in CHECKS for problem in check(filled, job, catalog))


def one_name_one_room(filled: Filled, _job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """Two rooms of one name would be one room to the family and two to the crew."""
    for row, first in _repeated(filled.rooms, "name"):
        yield stop(row.where("name"), "room-twice",
                   f"Room '{row.text('name')}' is already in row {_row(first)}; every room needs a name of its own.",
                   f"Type another name, such as {row.text('name')} 2, or delete the row.")


def one_code_one_room(filled: Filled, _job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """Labels, cables and corrections go by code."""
    for row, first in _repeated(filled.rooms, "code"):
        yield stop(row.where("code"), "code-twice",
                   f"Code '{row.text('code')}' is already in row {_row(first)}; every room needs a code of its own.",
                   "Type another code, or leave it blank.")


def codes_are_free(filled: Filled, _job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """Some codes already name something that is no room."""
    for row in filled.rooms:
        code = row.text("code")
        if code and is_reserved(code):
            yield stop(row.where("code"), "reserved-code", f"Code '{code}' already names something that is no room.",
                       "Type another code, or leave it blank.")


def zones_are_known(filled: Filled, _job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """A slip of the finger in a zone would buy a whole zone.

    A name must stand on Zones. A number may be left off that sheet, unless most of the zones in use are on it, or
    the number is higher than there are rooms.
    """
    if any("number" in row.bad for row in filled.zones):
        return
    listed = {number for row in filled.zones if (number := row.get("number", int)) is not None}
    used = {number for row in filled.rooms if (number := zone_number(row, filled.zones)) is not None}
    complete = len(used & listed) > len(used - listed)
    names = [name for row in filled.zones if (name := row.text("name"))]
    rows = [f"{row.get('number', int)} {row.text('name')}".strip() for row in filled.zones]
    for row in filled.rooms:
        typed, known = row.values.get("zone"), zone_number(row, filled.zones)
        if typed is None or known in listed or (known and not complete and known <= len(filled.rooms)):
            continue
        close = closest(typed, names) if isinstance(typed, str) else ""
        lists = f", which lists {', '.join(rows)}" if rows else ""
        high = known is not None and not complete
        why = f"is higher than the number of rooms, {len(filled.rooms)}, and " if high else ""
        remedy = f"Type {close}." if close else "Type the zone that is meant, or add a row for it on Zones."
        gone = " Was a room's row deleted? Leave it there, with never under 'Plays from'." if high else ""
        yield stop(row.where("zone"), "unknown-zone", f"Zone '{shown(typed)}' {why}is not on the sheet Zones{lists}.",
                   f"{remedy}{gone}")


def one_number_one_zone(filled: Filled, _job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """Two rows of one zone would say two things about it."""
    for row, first in _repeated(filled.zones, "number"):
        yield stop(row.where("number"), "zone-twice", f"Zone '{row.values['number']}' is already in row {_row(first)}.",
                   "Type another number, or delete the row.")
    for row, first in _repeated(filled.zones, "name"):
        yield stop(row.where("name"), "zone-twice", f"Zone '{row.text('name')}' is already in row {_row(first)}.",
                   "Type another name, or delete the row.")


def zones_have_rooms(filled: Filled, _job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """A zone that no room plays in is left out."""
    used = {zone_number(room, filled.zones) for room in filled.rooms}
    for row in filled.zones:
        number = row.get("number", int)
        if number is not None and number not in used:
            yield warning(row.where("number"), "empty-zone", f"Zone '{number}' has no room; it is left out.",
                          "Type its number in the Zone column of Rooms, or delete the row.")


def floors_are_known(filled: Filled, job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """With a floors block, every floor stands in it; with storeys typed, there are no more floors than that."""
    for row, first in _repeated(filled.floors, "number"):
        yield stop(row.where("number"), "floor-twice",
                   f"Floor '{row.values['number']}' is already in row {_row(first)}.",
                   "Type another number, or delete the row.")
    listed = {number for row in filled.floors if (number := row.get("number", int)) is not None}
    storeys = filled.job.get("storeys", int)
    above = sorted({floor.number for floor in job.floors if floor.number >= 0})
    extra = set(above[storeys:]) if storeys else set()
    places = [(row, "floor") for row in filled.rooms] + [(filled.job, "head_end_floor")]
    for row, attribute in places:
        floor = row.get(attribute, int)
        if floor is None or any("number" in block.bad for block in filled.floors):
            continue
        if listed and floor not in listed:
            yield stop(row.where(attribute), "floor-not-in-job",
                       f"Floor '{floor}' is not in the job, whose Floors block lists {_listing(listed)}.",
                       "Type one of these floors, or add a row to the block on the sheet Job.")
        elif not listed and floor in extra:
            yield stop(row.where(attribute), "floor-not-in-job",
                       f"Floor '{floor}' is one too many for the job's {storeys} storeys, {_listing(above[:storeys])}.",
                       "Type one of these floors, or correct Storeys on the sheet Job.")


def sub_zones_have_a_zone(filled: Filled, _job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """A sub-zone follows another room of its zone."""
    leaders = {zone_number(row, filled.zones) for row in filled.rooms if not row.yes("sub_zone")}
    for row in filled.rooms:
        number = zone_number(row, filled.zones)
        typed = "zone" in row.values or "zone" in row.bad
        if row.yes("sub_zone") and (not typed or (number is not None and number not in leaders)):
            said = f"no other room plays in zone {number}" if number else "the room has no zone"
            yield stop(row.where("sub_zone"), "sub-zone-alone", f"Sub-zone is 'yes', but {said} for it to follow.",
                       "Type the zone that it follows under Zone, or no here.")


def wishes_are_heard(filled: Filled, job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """A room that never plays needs no counts, inputs or second keypads; a second keypad follows a first."""
    rooms = {room.where()[0]: room for room in job.rooms}
    for row in filled.rooms:
        room = rooms.get(row.where())
        if room is None:
            continue
        for name in ("pairs", "tv", "room_input", "second_control"):
            if room.plays_from == "never" and row.values.get(name):
                yield warning(row.where(name), "never-plays",
                              f"{row.form.column(name).heading} is '{_word(row.values[name])}', but the room never "
                              "plays.",
                              "Type the option that it plays from, or leave this cell blank.")
        if row.yes("second_control") and room.plays_from != "never" and room.control != "keypad":
            yield warning(row.where("second_control"), "second-keypad-alone",
                          f"Second keypad is 'yes', but the room's control is {room.control}.",
                          "Type keypad under Control, or no here.")


def gardens_are_outdoors(filled: Filled, job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """Garden speakers stand in the ground."""
    rooms = {room.where()[0]: room for room in job.rooms}
    for row in filled.rooms:
        room = rooms.get(row.where())
        if row.text("mount") == "garden" and room and room.setting != "outdoor" and "setting" not in row.bad:
            yield stop(row.where("mount"), "garden-indoors", f"Mount is 'garden', but the setting is {room.setting}.",
                       "Type outdoor under Setting, or another mount.")


def fuller_options_have_more(filled: Filled, _job: Job, catalog: Catalog) -> Iterator[Problem]:
    """Counts by option that shrink are most often two columns mixed up."""
    for row in filled.rooms:
        typed = [(option, count) for option in catalog.options
                 if (count := row.get(f"{PAIRS_PREFIX}{option}", int)) is not None]
        for (less, fewer), (more, count) in pairwise(typed):
            if count < fewer:
                yield warning(row.where(f"{PAIRS_PREFIX}{more}"), "fewer-pairs",
                              f"Pairs {more} '{count}' is less than Pairs {less}, {fewer}.", "Check which is which.")


def discounts_have_reasons(filled: Filled, job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """Nobody can defend a discount that has no reason."""
    rate = job.terms.discount_rate
    if rate and not job.terms.discount_reason and not {"discount_rate", "discount_reason"} & filled.job.bad:
        yield stop(filled.job.where("discount_reason"), "discount-without-reason",
                   f"Discount reason is '' (empty), but a discount of {(rate * 100).normalize():f} % is typed.",
                   "Type the reason, for example builder's open house.")


def budgets_have_a_voice(filled: Filled, _job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """A budget that nobody said is a guess, and one that is smaller than any job is a slip."""
    budget = filled.job.get("budget", Decimal)
    if budget is not None and budget < 100:
        yield warning(filled.job.where("budget"), "small-budget", f"Budget '{budget}' is smaller than any job costs.",
                      "Type the whole amount, in single currency units.")
    elif budget is not None and not filled.job.text("budget_said_by") and "budget_said_by" not in filled.job.bad:
        yield warning(filled.job.where("budget_said_by"), "budget-unsaid",
                      f"Budget said by is '' (empty), but a budget of {budget} is typed.",
                      "Type who said it, and when.")


def dates_follow(filled: Filled, job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """Quotes come before work, houses before both."""
    quoted, start = job.terms.quote_date, job.start_date
    if quoted and start and start < quoted:
        yield warning(filled.job.where("start_date"), "start-before-quote",
                      f"Start date '{start.isoformat()}' is before the quote date, {quoted.isoformat()}.",
                      "Correct one of the two dates.")
    if job.year_built and start and job.year_built > start.year:
        yield stop(filled.job.where("year_built"), "built-after-start",
                   f"Year built '{job.year_built}' is after the start date, {start.isoformat()}.",
                   "Type the year in which the house was built.")
    if job.trim_date and not start and not {"start_date", "trim_date"} & filled.job.bad:
        yield warning(filled.job.where("trim_date"), "fitting-without-start",
                      f"Fitting date '{job.trim_date.isoformat()}' is not used: Start date is '' (empty), and the work "
                      "is counted in working days.", "Type the start date too, or leave this cell blank.")
    said = filled.job.get("dwelling_years", int)
    if said and job.year_built and start and abs(start.year - job.year_built - said) > 1:
        yield warning(filled.job.where("dwelling_years"), "dwelling-age",
                      f"Dwelling age in years '{said}' does not fit year built {job.year_built}.",
                      "Correct one of the two; some taxes go by the age.")


def currency_fits_place(filled: Filled, job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """Taxes of one country on prices of another are seldom meant."""
    if filled.place and filled.place.currency != job.terms.currency and "currency" in filled.job.values:
        yield warning(filled.job.where("currency"), "currency-of-place",
                      f"Currency is '{job.terms.currency}', but tax place {filled.place.place} uses "
                      f"{filled.place.currency}.",
                      "Correct the currency or the tax place.")


def revisions_replace(filled: Filled, job: Job, _catalog: Catalog) -> Iterator[Problem]:
    """A revision says what it replaces."""
    if job.terms.revision and not job.terms.supersedes and "supersedes" not in filled.job.bad:
        yield warning(filled.job.where("supersedes"), "revision-of-nothing",
                      f"Supersedes is '' (empty), but this is revision {job.terms.revision}.",
                      "Type the quote that this one replaces.")


def extras_are_whole(filled: Filled, _job: Job, catalog: Catalog) -> Iterator[Problem]:
    """A part has a number that the catalogue knows, an allowance an amount, a trench a length."""
    for row in filled.extras:
        kind = row.text("kind")
        part = row.text("part")
        need = {"part": "part", "allowance": "amount", **dict.fromkeys(LENGTH_KINDS, "quantity")}.get(kind, "")
        if need and need not in row.values and need not in row.bad | row.asked:
            heading = row.form.column(need).heading
            yield stop(row.where(need), "extra-incomplete",
                       f"{heading} is '' (empty); an extra of kind {kind} needs it.",
                       f"Type the {'length' if need == 'quantity' else heading.lower()}.")
        if kind == "part" and part:
            yield from _known_part(row, "part", part, catalog)


def overrides_fit(filled: Filled, _job: Job, catalog: Catalog) -> Iterator[Problem]:
    """An override names a line or a fact by id, once for each thing that it replaces."""
    seen: dict[tuple[str, str], Entry] = {}
    for row in filled.overrides:
        name, what = row.text("id"), row.text("what")
        if not name or not what:
            continue
        if not _is_id(name):
            yield stop(row.where("id"), "override-id",
                       f"Line or fact '{shown(name)}' is neither part/room/phase nor a fact's id of at most 10 "
                       "characters.",
                       "Copy the id from the office workbook, for example 103211 or KIT-SP1.")
        first = seen.setdefault((name, what), row)
        if first is not row:
            yield stop(row.where("id"), "override-twice",
                       f"The {what} of '{shown(name)}' is already replaced in row {_row(first)}.",
                       "Delete one of the two rows.")
        if what == "part" and row.text("value"):
            yield from _known_part(row, "value", row.text("value"), catalog)


def _is_id(text: str) -> bool:
    part, *rest = text.rsplit("/", 2)
    if not rest:
        return bool(FACT_ID.match(text))
    return len(rest) == 2 and bool(part) and bool(ROOM_CODE.match(rest[0])) and rest[1] in get_args(Phase)


def _known_part(row: Entry, attribute: str, part: str, catalog: Catalog) -> Iterator[Problem]:
    if part not in catalog.parts:
        close = closest(part, tuple(catalog.parts))
        yield stop(row.where(attribute), "unknown-part",
                   f"{row.form.column(attribute).heading} '{shown(part)}' is not a part of the catalogue.",
                   f"Type {close}." if close else "Type a part number from parts.csv.")


def _repeated(rows: Iterable[Entry], attribute: str) -> Iterator[tuple[Entry, Entry]]:
    """Each row whose value an earlier row has, with that row. Case and spaces do not count."""
    first: dict[object, Entry] = {}
    for row in rows:
        value = row.values.get(attribute)
        same = key(value) if isinstance(value, str) else value
        if same is not None and first.setdefault(same, row) is not row:
            yield row, first[same]


def _row(entry: Entry) -> str:
    return re.sub(r"\D", "", entry.where().ref)


def _word(value: object) -> str:
    return "yes" if value is True else shown(value)


def _listing(numbers: Iterable[int | None]) -> str:
    return ", ".join(str(number) for number in sorted(number for number in numbers if number is not None))


CHECKS: tuple[Check, ...] = (
    one_name_one_room, one_code_one_room, codes_are_free, zones_are_known, one_number_one_zone, zones_have_rooms,
    floors_are_known, *MEASURES, sub_zones_have_a_zone, wishes_are_heard, gardens_are_outdoors,
    fuller_options_have_more, discounts_have_reasons,
    budgets_have_a_voice, dates_follow, currency_fits_place, revisions_replace, extras_are_whole, overrides_fit,
)

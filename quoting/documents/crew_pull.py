"""The pull list and the spool plan of one option: each cable once, from where to where, and what it is cut from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from msgspec import Struct

from quoting.documents.crew_cautions import ATTIC, OLD_PAINT, STONE, rough_in_cautions
from quoting.documents.crew_keys import cable_key, end_key, exit_key, group_key, label_key, place_key
from quoting.documents.crew_measures import plain_length, planned_length, unit_word
from quoting.documents.crew_places import place_words
from quoting.documents.crew_sheet import NONE, CrewTable
from quoting.documents.crew_ways import DIG, conduit_lines, onward_words, out_words
from quoting.documents.floor_plan import rows_of_kind
from quoting.documents.room_plan import head_end_words
from quoting.facts import CableRun, SharedWay
from quoting.lines import Cut, Spool
from quoting.quote import PricedOption, Quote
from quoting.units import M_PER_FT, SALE_UNITS, UnitSystem, show_length

FactRow = Mapping[str, Any]
HAND = ""  # filled in by hand
VISITS = {"open": "rough-in, walls open", "open remodel": "rough-in, opened walls",
          "finished": "rough-in, finished walls"}
WAYS = ("{ways}: from storey to storey, see the table Ways that pulls share on the sheet Drilling, plates and sealing. "
        "Nobody has said where that is: agree it and write it there before drilling.")
MEASURE = "measure first"
MEASURE_MEANS = (f"Where Via says '{MEASURE}', nobody measured the way: its length is a guess by how far off the room "
                 "lies. Measure, then cut.")
GOES_ON = "Where Via says 'and on', the way was measured to another place of the room and is planned on from there."
OFF_FIRST = ": off first"
OFF_FIRST_MEANS = ("Off first: this cable and a later one of its pull come off one spool. Measure its cut length off "
                   "and lay it out before the pull; the later one runs off the spool. Or bring a second spool.")
OPENINGS = ("Loudspeakers' openings, boxes for plates and back boxes are cut and set on this visit, as the placement "
            "sheets show, and each cable is brought to them. Keep each piece that is cut out: it closes its opening "
            "until trim-out.")
SET_NOW = ("Brackets, rings and back boxes are set on this visit, as the placement sheets show, and each cable is "
           "brought to them. Those who hang the board cut it out round each: agree that with the builder, and hand on "
           "the sheets. What was covered, or has neither bracket nor box, we cut at trim-out.")
TRUNKING = ("Cables in stone are planned and priced in chases, and no trunking is among the parts. The owner decides "
            "before the first cut; where it is to be trunking, write the cables here: ________.")
EAVES = ("Along the eaves: a clip every 4.5 ft (1.4 m), out of sun and drip where they can lie so; in the sun only "
         "what is marked sunlight resistant. {heights}: measure before the ladder goes up.")


class PulledRun(Struct, frozen=True, kw_only=True):
    """One cable of an option and the spool that it is cut from."""

    run: FactRow
    spool: Spool | None  # None: it is there already
    cut: Cut | None


def pulled_runs(quote: Quote, option: PricedOption) -> tuple[PulledRun, ...]:
    """Every cable once: by visit, floor, room as the workbook lists them, pull group (home runs before what goes on
    from them), id."""
    cuts = {cut.run: (spool, cut) for spool in option.spools for cut in spool.cuts}
    order = {room.code: place for place, room in enumerate(quote.job.rooms)}
    runs = (PulledRun(run=row, spool=cuts.get(row["id"], (None, None))[0], cut=cuts.get(row["id"], (None, None))[1])
            for row in rows_of_kind(quote, option, CableRun))
    return tuple(sorted(runs, key=lambda pulled: _in_order(pulled, order)))


def _in_order(pulled: PulledRun, rooms: Mapping[str, int]) -> tuple[Any, ...]:
    run = pulled.run
    return (tuple(VISITS).index(run["wall_state"]), run["floor"], rooms.get(run["room"], -1), run["start"] != "HE",
            run["pull_group"], not run["first_of_pull"], run["id"])


def whole_length(length_m: float, system: UnitSystem) -> str:
    """A long length with its unit, to the whole unit.

    >>> whole_length(900, "imperial"), whole_length(127.6, "metric")
    ('2953 ft', '128 m')
    """
    return f"{length_m / (M_PER_FT if system == 'imperial' else 1.0):.0f} {unit_word(system)}"


def pull_columns(system: UnitSystem) -> tuple[str, ...]:
    """The headings of the pull list."""
    unit = unit_word(system)
    return ("Pull group", "Cable id", "Cable", "From", "To", "Via", f"Planned {unit}", f"Cut {unit}", "Spool",
            f"Slack {unit}, A / B", "Rating: needs / printed", f"Actual {unit}",
            "Way done", "Pulled by, date", "Tested", "Deviation")


def pull_lists(quote: Quote, option: PricedOption) -> tuple[CrewTable, ...]:
    """The pull list: a table for each visit and floor."""
    sheets: dict[tuple[str, int], list[PulledRun]] = {}
    for pulled in pulled_runs(quote, option):
        sheets.setdefault((pulled.run["wall_state"], pulled.run["floor"]), []).append(pulled)
    return tuple(_pull_list(quote, option, visit, floor, runs) for (visit, floor), runs in sheets.items())


def _pull_list(quote: Quote, option: PricedOption, visit: str, floor: int, runs: list[PulledRun]) -> CrewTable:
    system, names = quote.job.unit_system, {room.code: room.name for room in quote.job.rooms}
    places = place_words(quote, option)
    units = {purchase.part: purchase.unit for purchase in option.purchases}
    first, ways = measured_off(runs), out_words(quote, option)
    steps = {run["id"]: _storeys(quote, option, run) for run in (pulled.run for pulled in runs)}
    via = {run["id"]: _via(run, steps[run["id"]], ways.get(run["id"], ""), onward_words(quote, option, run))
           for run in (pulled.run for pulled in runs)}
    rows = tuple(_pull_row(pulled, quote, names, places, units, via, first) for pulled in runs)
    leaving = exit_key(quote, option) if any(pulled.run["id"] in ways for pulled in runs) else ""
    keys = (place_key(quote, option), group_key(quote, option), end_key(quote, option), leaving)
    passed = sorted({way for run_steps in steps.values() for way in run_steps})
    return CrewTable(
        title=f"Pull list, floor {floor}: {VISITS[visit]}", columns=pull_columns(system), rows=rows, grouped=True,
        cautions=_cautions(quote, [pulled.run for pulled in runs]),
        notes=(*_visits(option), OPENINGS if visit == "finished" else SET_NOW,
               f"{head_end_words(quote)} Places are measured on the placement sheet of their room."
               f"{' ' + WAYS.format(ways=' and '.join(passed)) if passed else ''}",
               *conduit_lines(quote, option),
               " ".join(key for key in keys if key), cable_key(quote, (pulled.run for pulled in runs)),
               label_key(quote, option),
               "Measure each way before you cut: lengths are planned from the office's answers. "
               "Leave the slack at both ends, bag and tape the tails, photograph each place with a tape in view, test "
               f"{'before anything is landed' if visit == 'finished' else 'before the board'}. Planned is the way "
               f"and its slack; cut is what leaves the spool: {_waste([pulled.run for pulled in runs], system)}. Write "
               "what was pulled, and every deviation.",
               *_of_lengths([pulled.run for pulled in runs]),
               *((TRUNKING,) if any("chase" in words for words in via.values()) else ()),
               *_along_eaves(quote, [pulled.run for pulled in runs]),
               *((OFF_FIRST_MEANS,) if first else ())))


def _waste(runs: Iterable[FactRow], system: UnitSystem) -> str:
    """What is added to planned lengths for waste, by sort of cable, and how they are rounded."""
    sorts: dict[float, set[str]] = {}
    for run in runs:
        if not run["reused"] and run["length_basis"] != "override":
            sorts.setdefault(run["waste_rate"], set()).add("category cable" if run["digital"] else "speaker cable")
    each = [f"{rate * 100:g} %" + (f" of {' and '.join(sorted(cables))}" if len(sorts) > 1 else "")
            for rate, cables in sorted(sorts.items())]
    up = "up to the next half metre" if system == "metric" else "up to the next foot"
    return f"planned with {', '.join(each)} for waste, {up}" if each else f"as typed, {up}"


def _of_lengths(runs: Iterable[FactRow]) -> tuple[str, ...]:
    """What each pull's length rests on, and what the crew does about those that rest on a guess."""
    found: dict[str, list[str]] = {"measured": [], "plan": [], "band": [], "override": []}
    for run in runs:
        if run["reused"]:
            continue  # nothing of it is cut
        found[run["length_basis"]].append(f"{run['pull_group']} (to {run['measured_to']})" if run["measured_to"]
                                          else str(run["pull_group"]))
    words = {"measured": "measured, as the office was told", "plan": "taken from the drawings",
             "override": "typed by the office", "band": "guessed, measure first"}
    said = "; ".join(f"{words[basis]}: {', '.join(dict.fromkeys(groups))}" for basis, groups in found.items() if groups)
    return (*((f"What lengths rest on: {said}.",) if said else ()),
            *((GOES_ON,) if any(_goes_on(run) for run in runs) else ()), *((MEASURE_MEANS,) if found["band"] else ()))


def _goes_on(run: FactRow) -> bool:
    """Whether the way was measured to another place of the room than the one where the run ends."""
    return bool(run["measured_to"]) and run["end"] != run["measured_to"]


def _along_eaves(quote: Quote, runs: Iterable[FactRow]) -> tuple[str, ...]:
    rooms = {run["room"] for run in runs if run["way"] == "eaves"}
    heights = [f"{room.name}: eaves taken to be {show_length(room.ceiling_height_m, quote.job.unit_system)} up"
               for room in quote.job.rooms if room.code in rooms]
    return (EAVES.format(heights=", ".join(heights)),) if heights else ()


def measured_off(runs: Iterable[PulledRun]) -> frozenset[str]:
    """The cables of a pull that share their spool with a later one of the same pull: a spool gives one at a time.

    What goes on inside a room is pulled one by one, and shares a spool without that.
    """
    last: dict[tuple[str, str], str] = {}
    found = []
    for pulled in runs:
        if pulled.spool is not None and pulled.run["start"] == "HE":
            shared = (pulled.run["pull_group"], spool_name(pulled.spool))
            found += [last[shared]] if shared in last else []
            last[shared] = pulled.run["id"]
    return frozenset(found)


def _visits(option: PricedOption) -> tuple[str, ...]:
    ids = option.timetable.visits_of("rough-in")
    if len(ids) < 2:
        return tuple(f"Visit {id} of the sheet Visits." for id in ids)
    return (f"The pull lists in their order, row by row, over the visits {', '.join(ids)} of the sheet Visits: the "
            "next visit begins where the one before it stopped.",)


def _pull_row(
    pulled: PulledRun, quote: Quote, names: Mapping[str, str], places: Mapping[str, str], units: Mapping[str, str],
    via: Mapping[str, str], first: frozenset[str],
) -> tuple[str, ...]:
    run, system = pulled.run, quote.job.unit_system
    start, end = (places.get(id, id) for id in (run["start"], run["end"]))  # HE stays so: a note says where it is
    cut = plain_length(_metres(pulled.cut.length, units.get(run["part"], "m")), system) if pulled.cut else NONE
    spool = f"{spool_name(pulled.spool)}{OFF_FIRST if run['id'] in first else ''}"
    return (f"{run['pull_group']} {names.get(run['room'], run['room'])}", run["id"], _cable_words(run),
            start, end, f"{via[run['id']]}{_rests_on(run)}",
            planned_length(run, system),
            cut,
            spool, f"{plain_length(run['slack_start_m'], system)} / {plain_length(run['slack_end_m'], system)}",
            f"{run['rating']} / {run['marks']}" if run["marks"] else run["rating"], HAND, HAND, HAND, HAND, HAND)


def _metres(length: Decimal, unit: str) -> float:
    return float(length) * SALE_UNITS[unit][1]


def _cable_words(run: FactRow) -> str:
    if run["reused"]:
        return "is there: test and label"
    return f"{run['part']}, spare" if run["spare"] else str(run["part"])


def spool_name(spool: Spool | None) -> str:
    """What is written on a spool: its part and its number."""
    return f"{spool.part} #{spool.number}" if spool else NONE


def _rests_on(run: FactRow) -> str:
    """What Via says of a way that nobody measured as far as its end; "" of others."""
    if run["length_basis"] == "band" and not run["reused"]:
        return f"; {MEASURE}"
    return f"; measured to {run['measured_to']}, and on" if _goes_on(run) else ""


def _storeys(quote: Quote, option: PricedOption, run: FactRow) -> tuple[str, ...]:
    """The ways from storey to storey that a run takes from the head end."""
    return tuple(row["id"] for row in rows_of_kind(quote, option, SharedWay)
                 if run["id"] in row["basis"] and row["floor"] != row["start"])


def _via(run: FactRow, storeys: tuple[str, ...], out: str, outside: str) -> str:
    """The way as far as the design knows it. `storeys`: the ways from floor to floor; `out`: where the run leaves the
    house; `outside`: how it goes on there."""
    if run["way"] != "inside" and run["start"] != "HE" and not out:
        return outside
    way = str(run["via"])
    if storeys:
        way = f"by {', '.join(storeys)}, {way}"
    elif crossed := run["floors_crossed"]:
        way = f"{crossed} floors crossed, {way}"
    if run["way"] == "inside":
        return way
    leaves = out or f"out through the wall, {outside}"
    return f"{way}, {leaves}"


def is_old(quote: Quote) -> bool:
    """Whether the house may hold lead paint or asbestos."""
    job = quote.facts["job"][0]
    return bool(job["old_paint"] or job["old_asbestos"])


def _cautions(quote: Quote, runs: Iterable[FactRow]) -> tuple[str, ...]:
    runs = tuple(runs)
    stone = {run["construction"] in STONE for run in runs}
    said = list(rough_in_cautions(False in stone, True in stone))
    if any(run["access"] != "none" for run in runs):
        said.append(ATTIC)
    if any(run["buried"] for run in runs):
        said.append(DIG)
    if any(run["wall_state"] != "open" for run in runs) and is_old(quote):
        said.append(OLD_PAINT)
    return tuple(said)


# ---------------------------------------------------------------- spools

def spool_columns(system: UnitSystem) -> tuple[str, ...]:
    """The headings of the spool plan."""
    unit = unit_word(system)
    return ("Spool", "Cut no.", "Cable id", "Room", "Pull group", f"Cut {unit}",
            f"Left {unit}, if cut in this order", "Cut, initials")


def spool_plan(quote: Quote, option: PricedOption) -> CrewTable:
    """Every spool with its cuts, the longest first, and what becomes of its tail."""
    system = quote.job.unit_system
    units = {purchase.part: purchase.unit for purchase in option.purchases}
    rows = [row for spool in option.spools for row in _spool_rows(spool, units.get(spool.part, "m"), system)]
    used = {cut.run for spool in option.spools for cut in spool.cuts}
    there = [run["id"] for run in rows_of_kind(quote, option, CableRun) if run["id"] not in used]
    rows += [("is there, nothing is cut", NONE, run, NONE, NONE, NONE, NONE, HAND) for run in there]
    parallel = _on_site(quote, option)
    return CrewTable(
        title="Spool plan", columns=spool_columns(system), rows=tuple(rows), grouped=True, counted=True,
        known_by=tuple(f"cable {row[2]}" if row[2] != NONE else row[0].partition(":")[0] for row in rows),
        notes=(*parallel, "The pull list has the order of the work: visit, floor, room, pull. This plan has the order "
               "that is safest where you are free to choose: the longest run of a spool first, while the spool can "
               "still give more. The cuts of a spool fit it in either order; before a long run is cut late, measure "
               "what is left. What a spool keeps back is for a run that comes out longer: a cable is never spliced.",
               group_key(quote, option), cable_key(quote, rows_of_kind(quote, option, CableRun))),
        cautions=("A full spool is heavy: two people carry what one cannot hold close to the body.",))


def _on_site(quote: Quote, option: PricedOption) -> tuple[str, ...]:
    """How many spools of a cable one pull runs off side by side, where it is more than one."""
    beside: dict[str, dict[str, set[int]]] = {}
    for pulled in pulled_runs(quote, option):
        if pulled.spool is not None and pulled.run["start"] == "HE":
            groups = beside.setdefault(pulled.spool.part, {})
            groups.setdefault(pulled.run["pull_group"], set()).add(pulled.spool.number)
    most = {part: max(len(spools) for spools in groups.values()) for part, groups in beside.items()}
    said = tuple(f"{part}: one pull runs off {number} spools side by side; all are on site before the first pull."
                 for part, number in most.items() if number > 1)
    return (*said, "Where a pull takes two cables off one spool, the pull list says which is measured off first; "
            "cables inside a room are pulled and cut one by one, in any order.")


def _spool_rows(spool: Spool, unit: str, system: UnitSystem) -> list[tuple[str, ...]]:
    def shown(length: Decimal) -> str:
        return plain_length(_metres(length, unit), system)

    goes = "to stock" if spool.tail_to == "stock" else "too short to keep: waste"
    there = ", in stock" if spool.from_stock else ""
    head = f"{spool_name(spool)}{there}: {shown(spool.size)} {unit_word(system)}; tail {shown(spool.tail)}, {goes}"
    left = spool.size
    rows: list[tuple[str, ...]] = []
    for number, cut in enumerate(sorted(spool.cuts, key=lambda cut: (-cut.length, cut.run)), start=1):
        left -= cut.length
        rows.append((head, str(number), cut.run, cut.room or NONE, cut.pull_group or NONE, shown(cut.length),
                     shown(left), HAND))
    return rows or [(f"{head}; nothing is cut", NONE, NONE, NONE, NONE, NONE, shown(left), HAND)]

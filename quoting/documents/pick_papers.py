"""The warehouse's papers of one option: what to load for each phase, kit by kit, as page and table."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from pathlib import Path

from msgspec.structs import replace

from quoting.documents.crew_csv import csv_bytes
from quoting.documents.crew_papers import ENGLISH, PAGE, CrewSheet, set_of, together
from quoting.documents.crew_pull import spool_name
from quoting.documents.crew_sheet import NONE, CrewTable, gathered, said_columns
from quoting.documents.equipment import pieces
from quoting.documents.formats import Formats, english_locale, formats_for
from quoting.documents.language import language_for
from quoting.documents.templates import render_page
from quoting.documents.ubl import plain
from quoting.lines import PHASES, Phase
from quoting.picking import SERVICES, Loan, Pick, loans, picks
from quoting.quote import PricedOption, Quote
from quoting.timetable import Visit

HAND = ""  # filled in by hand
KIND = "Pick list: "
COLUMNS = ("Kit", "Part", "Description", "Quantity", "Bin", "Picked", "Short", "Serial", "Box no.", "Returns")
CSV_COLUMNS = ("Phase", "Visit", "Room", "Kit", "Part", "Description", "Colour", "Quantity", "Unit", "Spool",
               "Spool size", "Bin", "From bin", "Out of its box", "Picked", "Short", "Serial", "Box no.", "Returns")
CAUTIONS = ("Racks, amplifiers and full spools are heavy: two people carry what one cannot hold close to the body.",)
ADVICE = "Pack each kit in a box of its own, with its name on it; write what is short and what comes back."
WHOLE = "Cable, conduit and string go as they come, spool, coil or bucket: nothing is cut in the warehouse."


def write_picks(quote: Quote, folder: Path, templates: tuple[Path, ...], accepted: str = "") -> None:
    """The pick lists: of the option accepted, else of each, marked as drafts.

    Raises OSError where the disk refuses, BadTemplate where a template of the firm's own fails.
    """
    for option in quote.options:
        if accepted in ("", option.name):
            for name, content in pick_files(quote, option, templates, not accepted).items():
                (folder / name).write_bytes(content)


def pick_files(quote: Quote, option: PricedOption, templates: tuple[Path, ...], draft: bool) -> dict[str, bytes]:
    """One option's files by name."""
    language = language_for(ENGLISH, {})
    formats = formats_for(english_locale(quote.job.terms.locale), quote.pricing.currency, quote.job.unit_system)
    made = set_of(quote, option, draft, pick_sheets(quote, option, formats), paper="Pick list", advice=ADVICE)
    page = render_page(templates, PAGE, view=made, formats=formats, language=language)
    first = _first_visits(option)
    rows = (*(_csv_row(pick, first) for pick in picks(quote, option)),
            *(_csv_loan(loan, first) for loan in loans(quote, option)))
    return {f"pick-{option.name}.html": page.encode(), f"pick-{option.name}.csv": csv_bytes(CSV_COLUMNS, rows)}


def pick_sheets(quote: Quote, option: PricedOption, formats: Formats) -> Iterator[CrewSheet]:
    """A sheet for each phase, short ones together, its kits in the order in which the house is walked."""
    found = picks(quote, option)
    printer = _Rows(quote, option, found, formats)
    tables = []
    for phase in PHASES:
        rows = [row for pick in found if pick.phase == phase for row in printer.of(pick)]
        if phase == "rough-in":
            rows = _by_kit((*rows, *(_loan_row(loan) for loan in loans(quote, option))))
        if rows:
            notes = (*_when(option, phase, formats), *((WHOLE,) if any(
                pick.unit != "each" for pick in found if pick.phase == phase) else ()))
            tables.append(said_columns(CrewTable(
                title=f"{KIND}{phase}", columns=COLUMNS, rows=tuple(rows), notes=notes, grouped=True)))
    for each in gathered(tables):
        yield replace(together(each, KIND, wide=False), cautions=CAUTIONS)


def _first_visits(option: PricedOption) -> dict[str, Visit]:
    """The visit that each phase begins with."""
    found: dict[str, Visit] = {}
    for visit in option.timetable.visits:
        found.setdefault(visit.phase, visit)
    return found


def _when(option: PricedOption, phase: Phase, formats: Formats) -> Iterator[str]:
    """The visit that it is loaded for, and the day by which everything of it has come."""
    visit = _first_visits(option).get(phase)
    days = next((days for days in option.timetable.phases if days.phase == phase), None)
    if visit is None or days is None:
        return
    begins = formats.weekday(visit.first_date) if visit.first_date else f"day {visit.first_day}"
    come = formats.weekday(days.parts_date) if days.parts_date else f"day {days.parts_day}"
    yield f"For visit {visit.id}, which begins {begins}. Its parts have come by {come}."


def _by_kit(rows: Iterable[tuple[str, ...]]) -> list[tuple[str, ...]]:
    """Rows of one kit together, kits in the order in which they come first."""
    kits: dict[str, list[tuple[str, ...]]] = {}
    for row in rows:
        kits.setdefault(row[0], []).append(row)
    return [row for its in kits.values() for row in its]


class _Rows:
    """How picks are printed: one row each, a row a piece where pieces have numbers of their own."""

    __slots__ = ("_first", "_formats", "_hired", "_lengths", "_names", "_put_ups", "_serials")

    def __init__(self, quote: Quote, option: PricedOption, found: Sequence[Pick], formats: Formats) -> None:
        self._formats = formats
        self._first = _first_visits(option)
        self._names = {room.code: room.name for room in quote.job.rooms}
        self._hired = {part for part, way in quote.buying.parts.items() if way.on_the_day}
        self._serials = {piece.part for piece in pieces(quote, option)}
        self._put_ups = {purchase.part: purchase.put_ups for purchase in option.purchases}
        self._lengths = Counter(pick.part for pick in found if pick.unit != "each")

    def of(self, pick: Pick) -> Iterator[tuple[str, ...]]:
        """A pick's rows."""
        words = ", ".join(filter(None, (pick.description, pick.colour)))
        if pick.kit == SERVICES:
            yield (f"{pick.kit}: nothing to load", pick.part, ", ".join(filter(None, (words, self._for_whom(pick)))),
                   self._formats.quantity(pick.quantity), NONE, *[NONE] * 5)
        elif pick.part in self._serials and pick.unit == "each":
            whole = int(pick.quantity)
            for number in range(1, whole + 1):
                many = f"{number} of {whole}" if whole > 1 else "1"
                yield (pick.kit, pick.part, words, many, pick.bin if number <= pick.from_bin else NONE, *[HAND] * 5)
        else:
            name = f"{spool_name(pick.spool)}: " if pick.spool else ""
            yield (pick.kit, pick.part, f"{name}{words}", self._quantity(pick), self._bin(pick), HAND, HAND, NONE, HAND,
                   HAND)

    def _for_whom(self, pick: Pick) -> str:
        """A service is for a room; a hire for the day of a visit too."""
        visit = self._first.get(pick.phase) if pick.part in self._hired else None
        day = self._formats.weekday(visit.first_date) if visit and visit.first_date else ""
        return ", ".join(filter(None, (f"for {self._names[pick.room]}" if pick.room in self._names else "",
                                       f"visit {visit.id}" if visit else "", day)))

    def _quantity(self, pick: Pick) -> str:
        """So many; of what comes in lengths the spool or the coil, and what is planned of it."""
        if pick.unit == "each":
            return self._formats.quantity(pick.quantity)
        planned = f"{self._formats.quantity(pick.quantity)} {pick.unit} planned"
        if pick.spool is not None:
            return f"1 spool of {self._formats.quantity(pick.spool.size)} {pick.unit} ({planned})"
        packs = ", ".join(f"{put_up.count} of {self._formats.quantity(put_up.size)} {pick.unit}"
                          for put_up in self._put_ups.get(pick.part, ()))
        if not packs or pick.from_bin:
            return planned
        return f"{packs} ({planned})" if self._lengths[pick.part] == 1 else f"{planned}, of {packs} in all"

    def _bin(self, pick: Pick) -> str:
        if not pick.bin:
            return NONE
        if pick.spool is not None or pick.from_bin == pick.quantity:
            return pick.bin
        return f"{pick.bin}: {self._formats.quantity(pick.from_bin)} of {self._formats.quantity(pick.quantity)}"


def _loan_row(loan: Loan) -> tuple[str, ...]:
    boxes = "box" if loan.count == 1 else "boxes"
    return (loan.kit, loan.part, f"Out of its box: the {loan.piece}. The {boxes} wait"
            f"{'s' if loan.count == 1 else ''} for the trim-out. {loan.description}",
            f"{loan.count} {boxes}", NONE, HAND, HAND, NONE, HAND, HAND)


def _csv_row(pick: Pick, first: Mapping[str, Visit]) -> tuple[str, ...]:
    spool = (spool_name(pick.spool), plain(pick.spool.size)) if pick.spool else ("", "")
    visit = first.get(pick.phase)
    return (pick.phase, visit.id if visit else "", pick.room, pick.kit, pick.part, pick.description, pick.colour,
            plain(pick.quantity), pick.unit, *spool, pick.bin, plain(pick.from_bin) if pick.from_bin else "", "", HAND,
            HAND, HAND, HAND, HAND)


def _csv_loan(loan: Loan, first: Mapping[str, Visit]) -> tuple[str, ...]:
    """Nothing of a part is picked by it: the piece comes back into no count."""
    visit = first.get("rough-in")
    return ("rough-in", visit.id if visit else "", loan.room, loan.kit, loan.part, loan.description, "", "0", "each",
            "", "", "", "", f"{loan.count} x {loan.piece}", HAND, HAND, HAND, HAND, HAND)

"""The warehouse's papers of one option: what to load for each phase, kit by kit, as page and table."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from quoting.buying import SERVICES, Pick, picks
from quoting.documents.crew_csv import csv_bytes
from quoting.documents.crew_papers import ENGLISH, PAGE, CrewSheet, set_of, together
from quoting.documents.crew_pull import spool_name
from quoting.documents.crew_sheet import NONE, CrewTable, gathered, said_columns
from quoting.documents.formats import Formats, english_locale, formats_for
from quoting.documents.language import language_for
from quoting.documents.templates import render_page
from quoting.lines import PHASES
from quoting.quote import PricedOption, Quote

HAND = ""  # filled in by hand
KIND = "Pick list: "
COLUMNS = ("Kit", "Part", "Description", "Quantity", "Bin", "Picked", "Short", "Serial", "Box no.", "Returns")
CSV_COLUMNS = ("Phase", "Room", "Kit", "Part", "Description", "Quantity", "Unit", "Spool", "Spool size", "Bin",
               "Picked", "Short", "Serial", "Box no.", "Returns")
CAUTIONS = ("Racks, amplifiers and full spools are heavy: two people carry what one cannot hold close to the body.",)
ADVICE = "Pack each kit in a box of its own, with its name on it; write what is short and what comes back."


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
    found = picks(quote, option)
    language = language_for(ENGLISH, {})
    formats = formats_for(english_locale(quote.job.terms.locale), quote.pricing.currency, quote.job.unit_system)
    made = set_of(quote, option, draft, pick_sheets(found, formats), paper="Pick list", advice=ADVICE)
    page = render_page(templates, PAGE, view=made, formats=formats, language=language)
    return {f"pick-{option.name}.html": page.encode(),
            f"pick-{option.name}.csv": csv_bytes(CSV_COLUMNS, map(_csv_row, found))}


def pick_sheets(found: tuple[Pick, ...], formats: Formats) -> Iterator[CrewSheet]:
    """A sheet for each phase, short ones together, its kits in the order in which the house is walked."""
    tables = []
    for phase in PHASES:
        rows = tuple(_row(pick, formats) for pick in found if pick.phase == phase)
        if rows:
            tables.append(said_columns(CrewTable(title=f"{KIND}{phase}", columns=COLUMNS, rows=rows, grouped=True)))
    for each in gathered(tables):
        yield replace(together(each, KIND, wide=False), cautions=CAUTIONS)


def _row(pick: Pick, formats: Formats) -> tuple[str, ...]:
    unit = "" if pick.unit == "each" else f" {pick.unit}"
    words = pick.description
    if pick.spool is not None:
        words = f"{spool_name(pick.spool)}, {formats.quantity(pick.spool.size)}{unit}: {words}"
    ticks = (NONE, NONE, NONE, NONE, NONE) if pick.kit == SERVICES else (HAND,) * 5
    kit = f"{pick.kit}: nothing to load" if pick.kit == SERVICES else pick.kit
    return (kit, pick.part, words, f"{formats.quantity(pick.quantity)}{unit}", pick.bin or NONE, *ticks)


def _csv_row(pick: Pick) -> tuple[str, ...]:
    spool = (spool_name(pick.spool), f"{pick.spool.size:f}") if pick.spool else ("", "")
    return (pick.phase, pick.room, pick.kit, pick.part, pick.description, f"{pick.quantity:f}", pick.unit, *spool,
            pick.bin, HAND, HAND, HAND, HAND, HAND)

"""Labels for both ends of every cable and the extra set, as bare ids, placed on a sheet of labels by its dimensions."""

from __future__ import annotations

from collections.abc import Iterable

from msgspec import Struct

from quoting.documents.crew_pull import pulled_runs
from quoting.documents.floor_plan import rows_of_kind
from quoting.documents.formats import paper_size
from quoting.facts import Conduit, HouseExit
from quoting.paper import PAPER_MM, LabelSheet
from quoting.quote import PricedOption, Quote

POINT_MM = 25.4 / 72  # a typographic point as CSS has it
LETTER_EM = 0.62  # width of a bold figure or capital in ems, the widest of the fonts asked for
EDGE_MM, EDGE_LINE_MM = 6.0, 4.0  # nearer to the paper's edge some printers print nothing; a line and its air
CLEAR_MM = 1.2  # between text and the edge of its label
OTHERS = ((Conduit, "towards", "conduits"), (HouseExit, "room", "ways out"))  # what else is labelled, and its room


class CableLabel(Struct, frozen=True, kw_only=True):
    """One label. `end`: start, end, extra 1, extra 2 ... of a cable; label 1, label 2 ... of what is no cable."""

    run: str
    end: str
    pull_group: str
    room: str


class PlacedLabel(Struct, frozen=True, kw_only=True):
    """A label's place on its sheet, from the sheet's left and upper edge."""

    text: str
    left_mm: float
    top_mm: float


class LabelPaper(Struct, frozen=True, kw_only=True):
    """All labels of one option on sheets of one kind."""

    sheet: LabelSheet
    paper_mm: tuple[float, float]
    text_pt: float
    pages: tuple[tuple[PlacedLabel, ...], ...]

    @property
    def page_height_mm(self) -> float:
        """A hair less than the paper's: what is as high as the paper would begin another sheet."""
        return self.paper_mm[1] - 0.2

    @property
    def edge_top_mm(self) -> float:
        """Where a line about the sheet stands in the margin over its labels; 0 where that has no room for it."""
        return EDGE_MM if self.sheet.top_mm >= EDGE_MM + EDGE_LINE_MM else 0.0


def cable_labels(quote: Quote, option: PricedOption) -> tuple[CableLabel, ...]:
    """Both ends of every cable, then the extras that the bill buys for it, in the order of the pull list; then those of
    conduits and ways out of the house, as many as the bill buys."""
    bought: dict[str, int] = {}
    for row in option.materials:
        if row.part in quote.label_parts:
            for reason in row.because:
                bought[reason.fact] = bought.get(reason.fact, 0) + int(reason.amount)
    cables = tuple(
        CableLabel(run=pulled.run["id"], end=end, pull_group=pulled.run["pull_group"], room=pulled.run["room"])
        for pulled in pulled_runs(quote, option)
        for end in ("start", "end", *(f"extra {number + 1}" for number in range(bought.get(pulled.run["id"], 2) - 2))))
    others = ((row["id"], row[in_room], group) for kind, in_room, group in OTHERS
              for row in rows_of_kind(quote, option, kind))
    return (*cables, *(CableLabel(run=id, end=f"label {number + 1}", pull_group=group, room=room)
                       for id, room, group in others for number in range(bought.get(id, 0))))


def label_sheet(quote: Quote, name: str = "") -> LabelSheet | None:
    """The sheet of that name; without a name the first that is on the job's paper, else the first; None: none known."""
    if name:
        return next((sheet for sheet in quote.label_sheets if sheet.name == name), None)
    paper = paper_size(quote.job.terms.locale)
    return next((sheet for sheet in quote.label_sheets if sheet.paper == paper), next(iter(quote.label_sheets), None))


def label_paper(labels: Iterable[CableLabel], sheet: LabelSheet) -> LabelPaper:
    """Labels row by row from the upper left, in their order; as many sheets as they take."""
    texts = [label.run for label in labels]
    each = sheet.columns * sheet.rows
    pages = tuple(tuple(_placed(text, index, sheet) for index, text in enumerate(texts[start:start + each]))
                  for start in range(0, len(texts), each))
    longest = max(map(len, texts), default=1)
    wide_pt = (sheet.width_mm - 2 * CLEAR_MM) / POINT_MM / (LETTER_EM * longest)
    high_pt = (sheet.height_mm - 2 * CLEAR_MM) / POINT_MM / 1.2
    return LabelPaper(sheet=sheet, paper_mm=PAPER_MM[sheet.paper], text_pt=round(min(wide_pt, high_pt, 14.0), 1),
                      pages=pages)


def _placed(text: str, index: int, sheet: LabelSheet) -> PlacedLabel:
    row, column = divmod(index, sheet.columns)
    return PlacedLabel(text=text, left_mm=round(sheet.left_mm + column * sheet.across_mm, 3),
                       top_mm=round(sheet.top_mm + row * sheet.down_mm, 3))

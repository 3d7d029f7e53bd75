"""The sheet Spools: what is cut from each spool, longest first, what stays on it, and where its tail goes."""

from __future__ import annotations

from quoting.documents.office_look import page, protect, table_head, title_block
from quoting.documents.office_rows import OfficeRows
from quoting.documents.sheet_writer import Sheet
from quoting.lines import Cut, Spool

HEADINGS = ("Option", "Part", "Spool", "Size", "Unit", "Run", "Room", "Cut", "Left after", "Pulled with", "Tail",
            "Tail goes to")
SIZE, UNIT, RUN, ROOM, CUT, LEFT, PULL, TAIL, TAIL_TO = 3, 4, 5, 6, 7, 8, 9, 10, 11


def write_spools(sheet: Sheet, rows: OfficeRows) -> None:
    """Writes the sheet: one row for each cut of each spool of each option, in the order of cutting."""
    top = title_block(
        sheet,
        rows.quote,
        "Spools",
        "Filter one option, then a part. Pull the longest run of a spool first; what a spool keeps back is for runs "
        "that come out longer. Cables that are pulled together come from different spools where there is room.",
    )
    table_head(sheet, top, 0, HEADINGS, (SIZE, CUT, LEFT, TAIL))
    row = top + 1
    for option in rows.options:
        units = {purchase.part: purchase.unit for purchase in option.purchases}
        for spool in option.spools:
            row = _spool(sheet, row, option.name, units.get(spool.part, ""), spool)
    sheet.worksheet.autofilter(top, 0, max(row - 1, top + 1), TAIL_TO)
    sheet.worksheet.freeze_panes(top + 1, 3)
    sheet.set_widths(at_least=8, at_most=30)
    page(sheet, rows.quote, row - 1, TAIL_TO, (top, top))
    protect(sheet)


def _spool(sheet: Sheet, row: int, option: str, unit: str, spool: Spool) -> int:
    left = spool.size
    cuts: tuple[Cut | None, ...] = spool.cuts or (None,)  # a spool bought for a pull may stay whole
    for offset, cut in enumerate(cuts):
        sheet.row_of_text(row, 0, (option, spool.part, str(spool.number)))
        sheet.number(row, SIZE, spool.size, "quantity")
        sheet.text(row, UNIT, unit)
        if cut is None:
            sheet.blanks(row, range(RUN, TAIL))
        else:
            left -= cut.length
            sheet.row_of_text(row, RUN, (cut.run, cut.room))
            sheet.number(row, CUT, cut.length, "quantity")
            sheet.number(row, LEFT, left, "quantity")
            sheet.text(row, PULL, cut.pull_group)
        if offset == len(cuts) - 1:
            sheet.number(row, TAIL, spool.tail, "quantity")
            sheet.text(row, TAIL_TO, spool.tail_to)
        else:
            sheet.blanks(row, (TAIL, TAIL_TO))
        row += 1
    return row

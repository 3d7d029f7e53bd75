"""A stock list, a .csv file of what is on hand: part, on_hand, bin, spools. Read once, every slip told of. Semicolons
may part its cells too.

Lengths are in the unit that the part is sold in. Of cable only whole spools count: what is left on each stands under
`spools`, "480; 120.5". A part that the catalogue does not have is passed over: warehouses hold more than one trade's.
"""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from pathlib import Path

from quoting.buying_inputs import StockItem
from quoting.catalog.cells import Wrong, read_number
from quoting.catalog.records import Catalog, Part
from quoting.catalog.rows import Row, TableFile, read_table
from quoting.money import ONE, ZERO
from quoting.problems import Cell, Problem, has_stop, stop, warning

COLUMNS = ("part", "on_hand", "bin", "spools", "note")
OPTIONAL = ("bin", "spools", "note")
BIN_LIMIT = 20  # characters
SPOOLS_LIMIT = 100  # of one part


def read_stock(path: Path, catalog: Catalog) -> tuple[Mapping[str, StockItem], tuple[Problem, ...]]:
    """What is on hand by part; a row that cannot be used is left out and told of. Never raises."""
    problems: list[Problem] = []
    if not path.is_file():
        return {}, (stop(Cell(path.name), "missing-file", f"The stock list '{path.name}' is not there.",
                         "Check the name after --stock, or leave it out to buy everything."),)
    table = read_table(path.parent, path.name, COLUMNS, OPTIONAL, problems)
    found: dict[str, StockItem] = {}
    seen: dict[str, Cell] = {}
    for row in table.rows:
        name, where = row["part"], table.cell(row, "part")
        if not name:
            problems.append(stop(where, "missing-value", "The row names no part.", "Type the part, or clear the row."))
        elif name in seen:
            problems.append(stop(where, "row-twice", f"Part '{name}' is already at {seen[name].ref}; a part stands in "
                                 "one row.", "Add the two rows up in one."))
        elif name not in catalog.parts:
            problems.append(warning(where, "unknown-stock-part", f"'{name}' is no part of this catalogue: it is not "
                                    "taken off what is bought.", "Correct the number, or leave it as it is."))
        else:
            item = _item(table, row, catalog.parts[name], name in catalog.cables, problems)
            if item is not None:
                found[name] = item
        seen.setdefault(name, where)
    return found, tuple(problems)


def _item(table: TableFile, row: Row, part: Part, cable: bool, problems: list[Problem]) -> StockItem | None:
    """A sound row; None where a cell of it is wrong, or where nothing of it can be taken."""
    wrong: list[Problem] = []
    on_hand = _number(table, row, row["on_hand"], part, wrong)
    spools = _spools(table, row, part, wrong)
    if len(row["bin"]) > BIN_LIMIT:
        wrong.append(stop(table.cell(row, "bin"), "text-too-long", f"'{row['bin'][:BIN_LIMIT]}...' has "
                          f"{len(row['bin'])} characters; {BIN_LIMIT} are allowed.", "Shorten it."))
    if spools and not cable:
        wrong.append(stop(table.cell(row, "spools"), "spools-of-no-cable", f"'{row['spools']}' stands under spools, "
                          f"and '{part.part}' is no cable.", "Clear the cell, or correct the part."))
    elif spools and not has_stop(wrong) and sum(spools, ZERO) != on_hand:
        wrong.append(stop(table.cell(row, "spools"), "spools-do-not-sum", f"The spools '{row['spools']}' of "
                          f"'{part.part}' sum to {sum(spools, ZERO):f}, and {on_hand:f} is on hand; they are equal.",
                          "Correct the one that is wrong."))
    elif cable and not row["spools"] and on_hand:
        wrong.append(warning(table.cell(row, "on_hand"), "stock-without-spools", f"{on_hand:f} {part.unit} of "
                             f"'{part.part}' are on hand, and what is left on each spool is not said: no run can be "
                             "planned on them, and none is taken.", "Type them under spools, such as '300; 150'."))
    if part.leftover == "job" and on_hand:
        wrong.append(warning(table.cell(row, "part"), "stock-not-taken", f"'{part.part}' is bought whole for each "
                             "job, its leftover included: what is on hand is not taken.", "Leave it, or give the part "
                             "leftover 'stock' in parts.csv."))
    problems.extend(wrong)
    if wrong or not on_hand:
        return None
    return StockItem(part=part.part, on_hand=on_hand, bin=row["bin"], spools=spools, where=table.cell(row))


def _number(table: TableFile, row: Row, text: str, part: Part, wrong: list[Problem]) -> Decimal:
    where = table.cell(row, "on_hand")
    value = read_number(table.number(text)) if text else Wrong("missing-value", "'on_hand' is empty.",
                                                               "Type 0 where none is left.")
    if isinstance(value, Wrong):
        wrong.append(stop(where, value.code, value.message, value.remedy))
        return ZERO
    if value < 0:
        wrong.append(stop(where, "stock-below-zero", f"'{text}' of '{part.part}' is on hand; allowed is 0 and more.",
                          "Count it and type what is there."))
        return ZERO
    if part.unit == "each" and value % ONE:
        wrong.append(stop(where, "not-whole", f"'{text}' of '{part.part}' is on hand, and it comes in whole pieces.",
                          "Type a whole number."))
        return ZERO
    return value


def _spools(table: TableFile, row: Row, part: Part, wrong: list[Problem]) -> tuple[Decimal, ...]:
    """What is left on each spool, as "480; 120.5"; () where one of them is no length."""
    if not row["spools"]:
        return ()
    where, texts = table.cell(row, "spools"), [text.strip() for text in row["spools"].split(";")]
    values = [read_number(table.number(text)) for text in texts]
    lengths = tuple(value for value in values if isinstance(value, Decimal) and value > 0)
    if len(lengths) < len(texts) or len(texts) > SPOOLS_LIMIT:
        wrong.append(stop(where, "not-spools", f"'{row['spools']}' is no list of lengths; allowed are up to "
                          f"{SPOOLS_LIMIT} lengths above 0 in {part.unit}, with ';' between them.",
                          "Type what is left on each spool, such as '300; 150'."))
        return ()
    return lengths

"""wording.csv: the customer's texts in other languages, and what a firm says in place of the program's words."""

from __future__ import annotations

import re
from pathlib import Path

from quoting.catalog.rows import Row, TableFile, read_table
from quoting.catalog.texts import NO_WORDING, Wording, WordingRow
from quoting.problems import Cell, Problem, stop

FILE = "wording.csv"
_LANGUAGE = re.compile(r"[a-z]{2,3}(_[A-Z]{2})?")
_PLACE = re.compile(r"%\(\w+\)s")


def read_wording(folder: Path, problems: list[Problem]) -> Wording:
    """The table; headings that are not its own are languages. A catalogue may do without it."""
    if not (folder / FILE).exists():
        return NO_WORDING
    languages: list[str] = []
    table = read_table(folder, FILE, ("phrase", "note"), ("note",), problems, free=languages)
    for language in languages:
        if not _LANGUAGE.fullmatch(language):
            problems.append(stop(Cell(FILE, "", "A1"), "not-a-language", f"'{language}' heads a column and is no "
                                 "language code.", "Type a code such as es, fr, de, or de_AT."))
    rows: dict[str, WordingRow] = {}
    for row in table.rows:
        phrase, where = row["phrase"], table.cell(row, "phrase")
        if not phrase:
            problems.append(stop(where, "missing-value", "The row has no phrase.", "Type the English text."))
        elif phrase in rows:
            problems.append(stop(where, "row-twice", f"'{phrase[:60]}' is already at {rows[phrase].where.ref}.",
                                 "Remove one of the two rows."))
        else:
            rows[phrase] = _row(table, row, languages, problems)
    return Wording(languages=tuple(languages), rows=rows)


def _row(table: TableFile, row: Row, languages: list[str], problems: list[Problem]) -> WordingRow:
    phrase = row["phrase"]
    places = set(_PLACE.findall(phrase))
    for language in languages:
        text = row[language]
        if text and set(_PLACE.findall(text)) != places:
            problems.append(stop(table.cell(row, language), "other-places", f"'{text[:60]}' has not the places of its "
                                 f"phrase: {', '.join(sorted(places)) or 'none'}.",
                                 "Write each %(name)s of the phrase as it stands there, and no other."))
    return WordingRow(phrase=phrase, texts={language: row[language] for language in languages if row[language]},
                      where=table.cell(row, "phrase"),
                      cells={language: table.cell(row, language) for language in languages})

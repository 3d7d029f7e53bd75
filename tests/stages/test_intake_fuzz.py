"""Whatever stands in whatever cell: problems, never an exception."""

from __future__ import annotations

import datetime
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from quoting.catalog.records import Catalog
from quoting.intake.read import read_job
from quoting.problems import in_order
from tests.problems.forms import plain_book

TEXT = st.text(max_size=70).filter(lambda text: not ILLEGAL_CHARACTERS_RE.search(text) and not text.startswith("="))
WORDS = st.sampled_from([
    "?", "-", "=1+1", "#REF!", "kitchen", "open", "yes", "no", "5 %", "1,250", "12'6\"", "KIT", "RACK", "2", "-1",
    "Kitchen", "part", "trench", "drop", "length", "outdoor", "garden", "€ 5", "2027-01-31", "01/02/2027", "{{ x }}",
])
VALUES = st.one_of(
    st.none(), st.booleans(), st.integers(-(10**12), 10**12), st.floats(allow_nan=False, allow_infinity=False),
    st.datetimes(datetime.datetime(1901, 1, 1), datetime.datetime(2200, 1, 1)), st.times(), TEXT, WORDS, WORDS,
)
CELLS = st.lists(st.tuples(
    st.sampled_from(["Job", "Rooms", "Rooms", "Zones", "Sources", "Extras", "Overrides"]), st.integers(1, 12),
    st.integers(1, 40), VALUES,
), max_size=60)


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(CELLS)
def test_no_workbook_makes_the_reader_raise(demo: Catalog, cells: list[tuple[str, int, int, object]]) -> None:
    book = plain_book(demo)
    for sheet, row, column, value in cells:
        # Job: mostly the value cells; other sheets: mostly below the headings
        at = (row * 3, 2) if sheet == "Job" else (row + 1 if row > 1 else row, column)
        book[sheet].cell(*at).value = value  # type: ignore[call-overload]
    with TemporaryDirectory() as folder:
        book.save(Path(folder) / "job.xlsx")
        job, problems = read_job(Path(folder) / "job.xlsx", demo)
    assert job is not None or any(problem.severity == "stop" for problem in problems)
    assert problems == in_order(problems)

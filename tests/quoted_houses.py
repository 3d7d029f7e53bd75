"""Random houses quoted without a file: the typed cells go to intake as a grid, in chunks that tests can share out."""

from __future__ import annotations

import gc
from collections.abc import Iterator

from openpyxl import Workbook

from quoting.catalog.records import Catalog
from quoting.intake.check import check_filled
from quoting.intake.filled import read_filled
from quoting.intake.read import make_job
from quoting.job import Job
from quoting.pipeline import quote_job
from quoting.problems import Problem, has_stop, in_order
from quoting.quote import Quote
from quoting.rules.book import RuleBook
from quoting.sheets.grid import Grid
from tests.conftest import PRICED_ON
from tests.problems.forms import plain_book
from tests.random_houses import random_house


def job_of(seed: int, demo: Catalog) -> tuple[Job | None, tuple[Problem, ...]]:
    """A house as read from its typed cells; None where intake stops it."""
    grids = _grids(f"house {seed}.xlsx", plain_book(demo, random_house(seed, demo)))
    filled, slips = read_filled(f"house {seed}.xlsx", grids, demo)
    if filled is None:
        return None, slips
    job, more = make_job(filled, demo)
    found = in_order((*slips, *more, *check_filled(filled, job, demo)))
    return (None if has_stop(found) else job), found


def _grids(file: str, book: Workbook) -> list[Grid]:
    return [Grid(file, sheet.title, [tuple(row) for row in sheet.iter_rows(values_only=True)]) for sheet in book]


def quoted_houses(first_seed: int, count: int, demo: Catalog, book: RuleBook) -> Iterator[tuple[str, Quote]]:
    """So many quoted houses, from the first seed on; houses that something stops are passed over."""
    seed = first_seed
    was_on = gc.isenabled()
    gc.disable()  # as the command does: a quote keeps nearly all that it makes
    try:
        while count:
            job, problems = job_of(seed, demo)
            quote = None if job is None else quote_job(job, demo, book, PRICED_ON, problems)[0]
            if quote is not None:
                yield f"house {seed}", quote
                count -= 1
            seed += 1
    finally:
        if was_on:
            gc.enable()

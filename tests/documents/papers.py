"""The HTML papers that are looked at: every example in every language, built once a session.

A new language is a row of LOCALES_OF; a new paper is a pattern of PAPERS; the checks in test_papers.py follow.
"""

from __future__ import annotations

import shutil
import tempfile
from contextlib import suppress
from pathlib import Path

from msgspec.structs import replace

from quoting.compare import compare_quotes
from quoting.documents.change_order_view import ChangeRequest
from quoting.documents.change_papers import write_change_papers
from quoting.documents.language import ENGLISH, LOCALES
from quoting.documents.write import write_documents
from quoting.pipeline import quote_job, read_all
from quoting.quote import Quote
from tests.conftest import DEMO, EXAMPLES, PRICED_ON, ROOT

LOCALES_OF = {"en": "en_US", "de": "de_DE", "es": "es_ES", "fr": "fr_FR"}  # language -> the locale of a job in it
LANGUAGES = tuple(code for code in LOCALES_OF if code == ENGLISH or (LOCALES / code).is_dir())
PAPERS = ("customer/*.html", "office/*.html", "crew/*.html", "change/*/*.html")  # below the folder of a build
CHANGED = "1"  # the example that also changes: without one of its rooms
NUMBERS = tuple(path.name[0] for path in sorted(EXAMPLES.glob("*.xlsx")))
TEMPLATES = ROOT / "templates"


def quote_in(language: str, number: str, *, without: str = "") -> Quote:
    """An example quoted in a language; an example in that language already keeps its own country.

    `without`: a room that is not to play any more, in the next revision.
    """
    workbook = next(EXAMPLES.glob(f"{number}-*.xlsx"))
    read = read_all(workbook, DEMO, None, PRICED_ON)
    assert read.job is not None and read.catalog is not None and read.book is not None, read.problems
    terms = read.job.terms
    locale = terms.locale if terms.locale.startswith(language) else LOCALES_OF[language]
    rooms = tuple(replace(room, plays_from="never") if room.code == without else room for room in read.job.rooms)
    revision = terms.revision + bool(without)
    job = replace(read.job, rooms=rooms, terms=replace(terms, locale=locale, revision=revision))
    quote, problems = quote_job(job, read.catalog, read.book, read.on, read.problems, read.fingerprint)
    assert quote is not None, problems
    return quote


class Builds:
    """Folders of builds, made when they are first asked for. Test processes share them: one puts a whole folder in
    place by its name, and another that made the same meanwhile takes that one."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def papers(self, language: str, number: str) -> list[Path]:
        """Every HTML paper of an example's build."""
        folder = self._folder / f"{number}-{language}"
        if not folder.exists():
            own = Path(tempfile.mkdtemp(dir=self._folder))
            quote = quote_in(language, number)
            write_documents(quote, own, (DEMO / "templates", TEMPLATES), accepted=quote.recommendation.option)
            if language != ENGLISH:  # the crew's and the office's have no other language: they would be seen again
                shutil.rmtree(own / "crew")
                shutil.rmtree(own / "office")
            if number == CHANGED:
                _write_change(quote, quote_in(language, number, without="OFF"), own / "change")
            with suppress(OSError):
                own.rename(folder)
        return papers_in(folder)


def _write_change(old: Quote, new: Quote, folder: Path) -> None:
    changes, problems = compare_quotes(old, new, "better")
    assert changes is not None, problems
    folder.mkdir()
    write_change_papers(old, new, changes, ChangeRequest(reason="customer"), folder, (DEMO / "templates", TEMPLATES))


def papers_in(folder: Path) -> list[Path]:
    """Every HTML paper below a folder of a build."""
    return [path for pattern in PAPERS for path in sorted(folder.glob(pattern))]

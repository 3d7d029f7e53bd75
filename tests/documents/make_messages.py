"""The message catalogues of quoting/locale, brought up to date with what templates and documents say.

`python -m tests.documents.make_messages` extracts every sentence, merges it into each language's messages.po (new ones
empty, changed ones marked fuzzy, dropped ones gone) and compiles messages.mo. Translate, then run it again.
`python -m tests.documents.make_messages it` begins Italian.
"""

from __future__ import annotations

import datetime
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

ROOT = Path(__file__).resolve().parents[2]
LOCALES = ROOT / "quoting" / "locale"
SAID_IN = (("templates", "jinja2"), ("quoting/documents", "python"))
JINJA: dict[str, dict[str, Any]] = {"**.*": {"silent": "false", "trimmed": "true", "newstyle_gettext": "true"}}
BEGUN = datetime.datetime(2026, 9, 1, tzinfo=datetime.UTC)  # the file format wants a date: always this one


def extracted() -> Catalog:
    """Every sentence of templates and documents, with the files that say it."""
    template = Catalog(project="quoting", creation_date=BEGUN)
    for folder, method in SAID_IN:
        pattern = "**.py" if method == "python" else "**.*"
        found = extract_from_dir(ROOT / folder, [(pattern, method)], JINJA if method == "jinja2" else {})
        for file, _, message, _, context in sorted(found, key=lambda row: (row[0], row[1])):
            template.add(message, locations=[(f"{folder}/{file}", None)], context=context)
    return template


def languages() -> list[str]:
    """The languages that have a catalogue."""
    return sorted(path.parent.parent.name for path in LOCALES.glob("*/LC_MESSAGES/messages.po"))


def translated(code: str) -> Catalog:
    """A language's messages.po."""
    with (LOCALES / code / "LC_MESSAGES" / "messages.po").open("rb") as stream:
        return read_po(stream, locale=code)


def _update(code: str, template: Catalog) -> None:
    folder = LOCALES / code / "LC_MESSAGES"
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / "messages.po"
    catalog = translated(code) if path.exists() else Catalog(locale=code, project="quoting", fuzzy=False)
    catalog.creation_date = catalog.revision_date = BEGUN
    catalog.header_comment = "# The proposal's sentences. See DEVELOPERS.md: Translate."
    catalog.update(template, update_creation_date=False)
    with path.open("wb") as stream:
        write_po(stream, catalog, width=120, sort_by_file=True, ignore_obsolete=True, include_lineno=False)
    with path.with_suffix(".mo").open("wb") as stream:
        write_mo(stream, catalog)


def _missing(code: str) -> Iterator[str]:
    for message in translated(code):
        if message.id and (message.fuzzy or not all(_texts(message.string))):
            yield f"{code}: {message.id!r}{' (fuzzy)' if message.fuzzy else ''}"


def _texts(string: Any) -> tuple[str, ...]:
    return tuple(string) if isinstance(string, list | tuple) else (string,)


if __name__ == "__main__":
    sentences = extracted()
    for language in dict.fromkeys((*languages(), *sys.argv[1:])):
        _update(language, sentences)
        for line in _missing(language):
            print(line)

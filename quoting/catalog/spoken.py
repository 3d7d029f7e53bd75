"""A catalogue as the customer of one job reads it: every text of it that a customer reads, in the job's language."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping

from msgspec.structs import replace

from quoting.catalog.records import Catalog, FirmSettings, OptionSetting
from quoting.catalog.texts import Wording
from quoting.problems import Cell, Problem, warning
from quoting.tables.decision import Row, Standards, Table

Say = Callable[[str, Cell], str]  # a text and where it stands -> the text in another language

SETTINGS = ("title", "summary", "gives_up")
STANDARDS: Mapping[str, tuple[str, ...]] = {  # question -> the answers that a customer reads
    "phase_words": ("words",), "payment_plan": ("name", "trigger"), "recommendation": ("reason",),
    "markup": ("words",), "open_questions": ("question", "who"), "change_answers": ("words",),
}
ENGLISH = "en"
PARAGRAPHS = re.compile(r"\n\s*\n")  # what parts them
_SHOWN = 60  # letters of a text in a problem


def spoken_in(catalog: Catalog, locale: str) -> Catalog:
    """The catalogue with the customer's texts in the language of a locale ("de_AT": columns de, then de_AT); a text
    without a translation stays English. The firm gains its own wording of the program's phrases."""
    texts = texts_in(catalog.wording, locale)
    spoken = _with_texts(catalog, lambda text, _: texts.get(text, text)) if texts else catalog
    own = _phrases(catalog, locale)
    if not own:
        return spoken
    return replace(spoken, firm=replace(spoken.firm, firm=replace(spoken.firm.firm, wording=own)))


def in_english(catalog: Catalog, spoken: Catalog, place: str) -> dict[str, str]:
    """What the office and the crew read too, by how the customer reads it: sentences, questions, payments, titles of
    options, the notes of one place; `spoken` is the catalogue in the job's language."""
    pairs = [(spoken.statements[code].text, row.text) for code, row in catalog.statements.items()]
    titles = catalog.settings.get("title"), spoken.settings.get("title")
    if titles[0] is not None and titles[1] is not None:
        pairs += [(titles[1].values[option], text) for option, text in titles[0].values.items()]
    for table in ("open_questions", "payment_plan"):
        rows = zip(spoken.standards.rows(table), catalog.standards.rows(table), strict=True)
        pairs += [(theirs.text(answer), own.text(answer)) for theirs, own in rows for answer in STANDARDS[table]]
    if place in catalog.places:
        own, theirs = catalog.places[place], spoken.places[place]
        pairs += [(theirs.tax_note, own.tax_note), (theirs.permit, own.permit)]
    return {text: english for text, english in pairs if text != english}


def texts_in(wording: Wording, locale: str) -> dict[str, str]:
    """Phrase -> its text in a locale's language; English where the table has no column for the language."""
    columns = _columns(wording, locale) or ((ENGLISH,) if ENGLISH in wording.languages else ())
    return {row.phrase: row.texts[column] for column in columns for row in wording.rows.values()
            if column in row.texts}


def _columns(wording: Wording, locale: str) -> tuple[str, ...]:
    """The table's columns for a locale, the more particular one last."""
    language = locale.partition("_")[0]
    return tuple(column for column in dict.fromkeys((language, locale)) if column in wording.languages)


def _phrases(catalog: Catalog, locale: str) -> dict[str, dict[str, str]]:
    """By language, the firm's wording of phrases that are none of the catalogue's own texts: the program's."""
    wording = catalog.wording
    language = locale.partition("_")[0]
    if not _columns(wording, locale):
        if ENGLISH not in wording.languages:
            return {}
        language = ENGLISH
    own = {text for text, _ in customer_texts(catalog)}
    return {language: {phrase: text for phrase, text in texts_in(wording, locale).items() if phrase not in own}}


def customer_texts(catalog: Catalog) -> tuple[tuple[str, Cell], ...]:
    """Every text of a catalogue that a customer reads, once, and where it stands first."""
    found: dict[str, Cell] = {}

    def note(text: str, where: Cell) -> str:
        found.setdefault(text, where)
        return text
    _with_texts(catalog, note)
    return tuple(found.items())


# ---------------------------------------------------------------- which texts those are

def _with_texts(catalog: Catalog, say: Say) -> Catalog:
    """The catalogue with every text that a customer reads said in another way; an empty one stays empty."""
    def said(text: str, where: Cell) -> str:
        return say(text, where) if text else ""
    tables = catalog.standards.tables.values()
    return replace(
        catalog,
        statements={code: replace(row, text=said(row.text, row.where)) for code, row in catalog.statements.items()},
        parts={name: replace(part, words=said(part.words, part.where)) for name, part in catalog.parts.items()},
        settings={name: _setting(row, said) if name in SETTINGS else row for name, row in catalog.settings.items()},
        taxes=tuple(replace(row, rule=replace(row.rule, name=said(row.rule.name, row.where)))
                    for row in catalog.taxes),
        places={name: replace(
            place, tax_note=said(place.tax_note, place.where), withdrawal=said(place.withdrawal, place.where),
            permit=said(place.permit, place.where)) for name, place in catalog.places.items()},
        firm=_firm(catalog.firm, said),
        fees=tuple(replace(fee, words=said(fee.words, fee.where)) for fee in catalog.fees),
        standards=Standards(_standard(table, said) if table.question.name in STANDARDS else table for table in tables))


def _setting(row: OptionSetting, say: Say) -> OptionSetting:
    return replace(row, values={option: say(text, row.where) for option, text in row.values.items()})


def _firm(settings: FirmSettings, say: Say) -> FirmSettings:
    face = settings.firm
    def said(name: str) -> str:
        return say(getattr(face, name), settings.cells.get(name, settings.where))
    where = settings.cells.get("terms", settings.where)
    paragraphs = [say(text.strip(), where) for text in PARAGRAPHS.split(face.terms)]
    return replace(settings, firm=replace(
        face, greeting=said("greeting"), letter=said("letter"), closing=said("closing"), warranty=said("warranty"),
        terms="\n\n".join(paragraphs), change_terms=said("change_terms"), notice=said("notice")))


def _standard(table: Table, say: Say) -> Table:
    names = STANDARDS[table.question.name]

    def row(old: Row) -> Row:
        answer = old.answer
        texts = {name: say(str(answer.values[name]), answer.where) for name in names if name in answer.values}
        return replace(old, answer=replace(answer, values={**answer.values, **texts}))
    return replace(table, rows=tuple(map(row, table.rows)))


# ---------------------------------------------------------------- what is missing

def check_wording(catalog: Catalog, program: Collection[str], spoken: Collection[str]) -> Iterator[Problem]:
    """Texts without a translation in a language that the table has, and phrases that nothing says.

    `program` are the program's own phrases, `spoken` the languages that it has catalogues for, English too.
    """
    wording = catalog.wording
    own = customer_texts(catalog)
    languages = [column for column in wording.languages if column != ENGLISH and "_" not in column]
    for text, where in own:
        yield from _untranslated(text, where, wording, languages)
    for language in languages:
        missing = [phrase for phrase in program if language not in spoken and not _text(wording, phrase, language)]
        if missing:
            yield warning(Cell("wording.csv", "", "A1"), "phrases-missing", f"The program does not speak '{language}', "
                          f"and {len(missing)} of its phrases have no text in that column, such as "
                          f"'{_short(min(missing))}'.", "Add a row for each, or leave the column out.")
    known = {text for text, _ in own} | set(program)
    for row in wording.rows.values():
        if row.phrase not in known:
            yield warning(row.where, "unknown-phrase", f"Nothing says '{_short(row.phrase)}': it is neither a text of "
                          "this catalogue nor a phrase of the program.",
                          "Type the English text exactly as it stands there, or remove the row.")


def _untranslated(text: str, where: Cell, wording: Wording, languages: Iterable[str]) -> Iterator[Problem]:
    missing = [language for language in languages if not _text(wording, text, language)]
    row = wording.rows.get(text)
    if missing and row is not None:
        for language in missing:
            yield warning(row.cells[language], "not-translated", f"'{_short(text)}' has no text in '{language}'.",
                          "Type the translation.")
    elif missing:
        yield warning(where, "not-translated", f"The customer's text '{_short(text)}' has no row in wording.csv, so it "
                      f"stays English in {', '.join(missing)}.", "Add the row: the text exactly as it is, and the "
                      "translations.")


def _text(wording: Wording, phrase: str, language: str) -> str:
    row = wording.rows.get(phrase)
    return row.texts.get(language, "") if row else ""


def missing_texts(catalog: Catalog, locale: str, where: Cell) -> Iterator[Problem]:
    """One warning where a job's language lacks texts of the catalogue; none for English."""
    language = locale.partition("_")[0]
    if language == ENGLISH:
        return
    if not _columns(catalog.wording, locale):
        yield warning(where, "language-missing", f"The catalogue's wording.csv has no column '{language}': its texts "
                      "stand in the customer's papers in English.", f"Add the column {language} and its translations, "
                      "or choose another language.")
        return
    texts = texts_in(catalog.wording, locale)
    missing = [(text, cell) for text, cell in customer_texts(catalog) if text not in texts]
    if missing:
        text, cell = missing[0]
        yield warning(cell, "not-translated", f"{len(missing)} customer texts have no '{language}' in wording.csv and "
                      f"stay English; the first is '{_short(text)}'.", "See quoting rules check, and add them.")


def _short(text: str) -> str:
    return text if len(text) <= _SHOWN else f"{text[:_SHOWN]}..."

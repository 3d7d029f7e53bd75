"""The command line: words become one pipeline call, results are printed, problems set the exit status."""

from __future__ import annotations

import argparse
import datetime
import gc
import json
import os
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from quoting.commands import parser
from quoting.problems import Cell, Problem, has_stop, in_order, stop

if TYPE_CHECKING:
    from quoting.quote import Quote

OK, STOPPED, WRONG_WORDS = 0, 1, 2
BROWSERS = (  # that print a page from the command line, by name or where they usually stand
    "chromium", "chromium-browser", "google-chrome", "google-chrome-stable", "chrome", "microsoft-edge", "msedge",
    "/Applications/Chromium.app/Contents/MacOS/Chromium",
    "/Applications/Google Chrome.app/Contents/MacOS/Google Chrome",
    "/Applications/Microsoft Edge.app/Contents/MacOS/Microsoft Edge",
    "C:/Program Files/Google/Chrome/Application/chrome.exe",
    "C:/Program Files (x86)/Microsoft/Edge/Application/msedge.exe",
)


def main(words: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit status: 0 fine or warnings, 1 a stop, 2 wrong command line."""
    gc.disable()  # one short run that keeps nearly all it makes: looking for cycles would only cost time
    try:
        return _run(words)
    finally:
        gc.enable()


def _run(words: Sequence[str] | None) -> int:
    whole = parser()
    chosen = whole.parse_args(words)
    if not hasattr(chosen, "command"):
        whole.print_help()
        return WRONG_WORDS
    strange = [*_not_there(chosen), *_not_a_catalogue(chosen)]
    if strange:
        return _report(chosen, strange)
    try:
        status = COMMANDS[chosen.command](chosen)
    except BrokenPipeError:  # the reader of our output went away: `quoting explain ... | head`
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return OK
    except OSError as error:
        return _report(chosen, [_file_problem(error)])
    return status


def _data(kind: str) -> Path:
    """The installed templates or catalogues, else those of the checkout."""
    packed = Path(__file__).parent / "_data" / kind
    return packed if packed.is_dir() else Path(__file__).resolve().parents[1] / kind


def _catalog(chosen: argparse.Namespace) -> Path:
    named: Path | None = getattr(chosen, "catalog", None) or getattr(chosen, "folder", None)
    return named or _data("catalogs") / "demo"


def _not_there(chosen: argparse.Namespace) -> Iterator[Problem]:
    """A stop for each workbook or folder that is not there, named as it was typed."""
    for word in ("job", "old", "new", "workbook"):
        path: Path | None = getattr(chosen, word, None)
        if path is not None and not path.exists():
            what = "build's folder and no workbook" if word in ("old", "new") else "file"
            yield stop(Cell(path.name), "missing-file", f"There is no {what} '{path}'.",
                       "Check the name and the folder.")


def _not_a_catalogue(chosen: argparse.Namespace) -> Iterator[Problem]:
    """One plain sentence for a folder that holds no catalogue, instead of one for each file that it lacks."""
    folder = _catalog(chosen)
    if chosen.command != "rules from-workbook" and not (folder / "parts.csv").is_file():
        yield stop(Cell(folder.name), "not-a-catalogue", f"The folder '{folder}' is not a catalogue: it holds no "
                   "parts.csv.", "Name a folder like catalogs/demo, or copy that one and edit the copy.")


def _report(chosen: argparse.Namespace, problems: Sequence[Problem]) -> int:
    """Print problems, sorted; the exit status."""
    ordered = in_order(problems)
    if chosen.json:
        rows = [{"file": p.where.file, "sheet": p.where.sheet, "cell": p.where.ref, "severity": p.severity,
                 "code": p.code, "message": p.message, "remedy": p.remedy} for p in ordered]
        print(json.dumps(rows, ensure_ascii=False, indent=1))
    else:
        for problem in ordered:
            print(problem, file=sys.stderr if problem.severity == "stop" else sys.stdout)
    return STOPPED if has_stop(ordered) else OK


def _file_problem(error: OSError) -> Problem:
    name = Path(str(error.filename)).name if error.filename else "file"
    return stop(Cell(name), "file-trouble", f"'{name}' cannot be read or written: {(error.strerror or 'trouble')}.",
                "Check the name, close the file in other programs, and look at the folder's permissions.")


def _blank(chosen: argparse.Namespace) -> int:
    from quoting.catalog.read import read_catalog
    from quoting.intake.blank import write_blank
    catalog, problems = read_catalog(_catalog(chosen), datetime.date.today())
    if catalog is None:
        return _report(chosen, problems)
    if chosen.out.exists():
        return _report(chosen, [stop(Cell(chosen.out.name), "file-exists", f"'{chosen.out.name}' is there already.",
                                     "Give another name; a filled-in workbook is never overwritten.")])
    write_blank(chosen.out, catalog)
    if not chosen.json:
        print(f"Wrote {chosen.out}. Fill in Job and Rooms; everything else may stay blank.")
    return OK


def _check(chosen: argparse.Namespace) -> int:
    from quoting.pipeline import quote_job, read_all
    read = read_all(chosen.job, _catalog(chosen), chosen.date, datetime.date.today())
    problems = read.problems
    if read.job is not None and read.catalog is not None and read.book is not None and not has_stop(problems):
        _, problems = quote_job(read.job, read.catalog, read.book, read.on, problems)
    if chosen.mark is not None:
        from quoting.intake.mark import write_marked
        if chosen.mark.exists():
            problems = (*problems, stop(Cell(chosen.mark.name), "file-exists",
                                        f"'{chosen.mark.name}' is there already.",
                                        "Give another name for the marked copy."))
        elif chosen.job.exists():
            write_marked(chosen.job, problems, chosen.mark)
    status = _report(chosen, problems)
    if not chosen.json and read.job is not None:
        for default in read.job.defaults:
            print(f"{default.of}: {default.field} = {default.value} (from {default.source})")
        print(f"{len(read.job.rooms)} rooms, {len(read.job.zones)} zones, {len(read.job.defaults)} defaults used, "
              f"{len(problems)} problems.")
    return status


def _build(chosen: argparse.Namespace) -> int:
    from quoting.documents.publish import publish
    from quoting.documents.template_problems import BadTemplate
    from quoting.documents.templates import check_templates
    from quoting.documents.write import write_documents
    from quoting.pipeline import quote_workbook
    folder = _catalog(chosen)
    quote, problems = quote_workbook(chosen.job, folder, chosen.date, datetime.date.today(), chosen.stock)
    if quote is None:
        return _report(chosen, problems)
    templates = (folder / "templates", _data("templates"))
    problems = (*problems, *check_templates(templates), *_not_known(chosen, quote))
    found: list[Problem] = []

    def write(target: Path) -> None:
        write_documents(quote, target, templates, chosen.accept, chosen.labels)
        if chosen.customer_workbook:
            from quoting.documents.customer_workbook import write_customer_workbook
            write_customer_workbook(quote, target / "customer" / "proposal.xlsx")
        if chosen.pdf:
            found.extend(_print(quote, target / "customer"))

    if not has_stop(problems):
        try:
            problems = (*problems, *publish(chosen.out, write), *found)
        except BadTemplate as bad:
            problems = (*problems, bad.problem)
    status = _report(chosen, problems)
    if status == OK and not chosen.json:
        from quoting.documents.formats import formats_for
        formats = formats_for(quote.job.terms.locale, quote.pricing.currency, quote.job.unit_system)
        for option in quote.options:
            mark = "  <- recommended" if option.name == quote.recommendation.option else ""
            total = formats.money(option.totals.total)
            print(f"{option.name:8} {total:>16}{mark}")
        print(f"Wrote {chosen.out}: quote.json, office/, customer/, crew/.")
    return status


def _not_known(chosen: argparse.Namespace, quote: Quote) -> tuple[Problem, ...]:
    """A stop for an option or a sheet of labels that the catalogue does not have."""
    wanted = (("unknown-option", "--accept", chosen.accept, "option", [option.name for option in quote.options]),
              ("unknown-labels", "--labels", chosen.labels, "sheet of labels",
               [row.name for row in quote.label_sheets]))
    return tuple(stop(Cell(chosen.job.name), code, f"'{name}' after {word} is no {what} of this catalogue.",
                      f"Type one of: {', '.join(known)}." if known else f"The catalogue has no {what}: leave it out.")
                 for code, word, name, what, known in wanted if name and name not in known)


def _print(quote: Quote, customer: Path) -> tuple[Problem, ...]:
    """customer/proposal.pdf by a browser of this machine, which root may only run without its sandbox."""
    from quoting.documents.print_page import Printer, print_proposal
    program = next((found for found in map(shutil.which, BROWSERS) if found), None)
    flags = ("--no-sandbox",) if hasattr(os, "geteuid") and os.geteuid() == 0 else ()
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as scratch:
        printer = Printer(program, flags, Path(scratch)) if program else None
        return print_proposal(quote, customer / "proposal.html", customer / "proposal.pdf", printer)


def _compare(chosen: argparse.Namespace) -> int:
    from quoting.compare import compare_quotes
    from quoting.documents.change_order_view import ChangeRequest
    from quoting.documents.change_papers import write_change_papers
    from quoting.documents.job_record import accepted_option
    from quoting.documents.publish import publish
    from quoting.documents.quote_file import FILE
    from quoting.documents.template_problems import BadTemplate
    if (chosen.out / FILE).exists():
        return _report(chosen, [stop(Cell(chosen.out.name), "holds-a-build", f"'{chosen.out}' holds a quote.",
                                     "Choose another folder with --out: a comparison replaces the whole folder.")])
    old, problems = _quote_of(chosen.old, chosen)
    new, more = _quote_of(chosen.new, chosen)
    if old is None or new is None:
        return _report(chosen, [problem for problem in (*problems, *more) if problem.severity == "stop"])
    option = chosen.option or accepted_option(chosen.old, old)
    if not option:
        return _report(chosen, [_not_agreed(chosen.old, old)])
    changes, found = compare_quotes(old, new, option)
    if changes is not None:
        request = ChangeRequest(reason=chosen.reason or "", requested_by=chosen.requested_by.strip())
        templates = (_catalog(chosen) / "templates", _data("templates"))
        try:
            found = (*found, *publish(chosen.out, lambda target: write_change_papers(
                old, new, changes, request, target, templates)))
        except BadTemplate as bad:
            found = (*found, bad.problem)
    status = _report(chosen, found)
    if status == OK and changes is not None and not chosen.json:
        from quoting.documents.formats import formats_for
        formats = formats_for(new.job.terms.locale, changes.currency, new.job.unit_system)
        total = changes.total
        print(f"{option}: {formats.money(total.old)}, change {formats.money(total.difference)}, now "
              f"{formats.money(total.new)}." if not changes.nothing else f"{option}: nothing changed.")
        order = ", customer/change-order.html" if changes.superseding else "; no change order between equal revisions"
        print(f"Wrote {chosen.out}: office/changes.html{order}.")
    return status


def _not_agreed(old: Path, quote: Quote) -> Problem:
    names = ", ".join(option.name for option in quote.options)
    return stop(Cell(old.name), "option-not-said", f"'{old}' does not say which option was agreed: it was not built "
                "with --accept.", f"Name one of {names} with --option, or build it again with --accept.")


def _quote_of(path: Path, chosen: argparse.Namespace) -> tuple[Quote | None, tuple[Problem, ...]]:
    """The quote of a build's folder, or of a workbook that is quoted now."""
    if path.is_dir():
        from quoting.documents.quote_file import read_quote
        return read_quote(path)
    from quoting.pipeline import quote_workbook
    return quote_workbook(path, _catalog(chosen), chosen.date, datetime.date.today(), chosen.stock)


def _explain(chosen: argparse.Namespace) -> int:
    from quoting.documents.explain import explain, suggest
    from quoting.pipeline import quote_workbook
    quote, problems = quote_workbook(chosen.job, _catalog(chosen), chosen.date, datetime.date.today())
    if quote is None:
        return _report(chosen, problems)
    text = explain(quote, chosen.id)
    if text is None:
        near = suggest(quote, chosen.id)
        remedy = f"Did you mean {', '.join(near)}?" if near else "Ids are in the office workbook's Why sheet."
        return _report(chosen, [stop(Cell(chosen.job.name), "unknown-id",
                                     f"'{chosen.id}' is no line and no fact of this quote.", remedy)])
    print(json.dumps({"id": chosen.id, "text": text}, ensure_ascii=False) if chosen.json else text)
    return OK


def _rules_check(chosen: argparse.Namespace) -> int:
    from quoting.catalog.read import read_catalog
    from quoting.catalog.spoken import check_wording
    from quoting.documents.language import program_phrases, spoken_languages
    from quoting.documents.templates import check_templates
    from quoting.rules.check import check_rules
    from quoting.rules.read import read_rules
    folder = _catalog(chosen)
    catalog, problems = read_catalog(folder, chosen.date or datetime.date.today())
    if catalog is None:
        return _report(chosen, problems)
    book, rule_problems = read_rules(folder, catalog)
    problems = (*problems, *rule_problems)
    if not has_stop(problems):
        problems = (*problems, *check_rules(book, catalog),
                    *check_wording(catalog, program_phrases(), spoken_languages()))
    problems = (*problems, *check_templates((folder / "templates", _data("templates"))))
    status = _report(chosen, problems)
    if not chosen.json:
        print(f"{folder.name}: {len(catalog.parts)} parts, {len(catalog.tasks)} tasks, {len(problems)} problems.")
    return status


def _rules_to_workbook(chosen: argparse.Namespace) -> int:
    from quoting.catalog.workbook import to_workbook
    if chosen.out.exists():
        return _report(chosen, [stop(Cell(chosen.out.name), "file-exists", f"'{chosen.out.name}' is there already.",
                                     "Give another name; an edited workbook is never overwritten.")])
    status = _report(chosen, to_workbook(_catalog(chosen), chosen.out))
    if status == OK and not chosen.json:
        print(f"Wrote {chosen.out}. Edit it, then: quoting rules from-workbook {chosen.out} CATALOG")
    return status


def _rules_from_workbook(chosen: argparse.Namespace) -> int:
    from quoting.catalog.workbook import from_workbook
    status = _report(chosen, from_workbook(chosen.workbook, chosen.folder))
    if status == OK and not chosen.json:
        print(f"Wrote {chosen.folder}. Check it with: quoting rules check {chosen.folder}")
    return status


COMMANDS: dict[str, Callable[[argparse.Namespace], int]] = {
    "blank": _blank, "check": _check, "build": _build, "explain": _explain, "compare": _compare,
    "rules check": _rules_check, "rules to-workbook": _rules_to_workbook, "rules from-workbook": _rules_from_workbook,
}


if __name__ == "__main__":
    raise SystemExit(main())

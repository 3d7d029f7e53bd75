"""The proposal as a PDF: printed by a browser that is on the machine, tagged, with an outline, without a window."""

from __future__ import annotations

import datetime
import re
import subprocess
from pathlib import Path

from msgspec import Struct

from quoting.documents.formats import paper_size
from quoting.problems import Cell, Problem, warning
from quoting.quote import Quote

PATIENCE_S = 60
QUIET = (  # prints and asks for nothing: no window, no first-run page, no network
    "--headless", "--disable-gpu", "--no-first-run", "--disable-background-networking", "--disable-component-update",
    "--disable-sync", "--host-resolver-rules=MAP * ~NOTFOUND", "--no-pdf-header-footer",
    "--generate-pdf-document-outline",
)
_DATES = re.compile(rb"/(CreationDate|ModDate) \(D:\d{14}")


class Printer(Struct, frozen=True):
    """A browser that can print, found by the command line; `scratch` is an empty folder that goes away afterwards."""

    program: str
    flags: tuple[str, ...]
    scratch: Path


def print_proposal(quote: Quote, page: Path, to: Path, printer: Printer | None) -> tuple[Problem, ...]:
    """Print the page; a warning, and no file, where there is no browser or it does not print."""
    if printer is None:
        return (warning(Cell(to.name), "no-browser", "There is no Chromium, Chrome or Edge on this machine, so the "
                        f"proposal was not printed to '{to.name}'.",
                        f"Install one, or open '{page.name}' in any browser and print it."),)
    sized = printer.scratch / "page.html"
    sized.write_text(_with_paper(page.read_text(encoding="utf-8"), paper_size(quote.job.terms.locale)),
                     encoding="utf-8")
    printed = printer.scratch / "page.pdf"
    profile = printer.scratch / "profile"
    words = [printer.program, *QUIET, *printer.flags, f"--user-data-dir={profile}", f"--print-to-pdf={printed}",
             sized.resolve().as_uri()]
    try:
        subprocess.run(words, timeout=PATIENCE_S, check=True, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                       stderr=subprocess.DEVNULL)
        content = printed.read_bytes()
    except subprocess.TimeoutExpired:
        return (_unprinted(page, printer, f"it took longer than {PATIENCE_S} seconds"),)
    except subprocess.CalledProcessError as error:
        return (_unprinted(page, printer, f"it ended with status {error.returncode}"),)
    except OSError as error:
        return (_unprinted(page, printer, (error.strerror or "it wrote nothing").lower()),)
    to.write_bytes(_dated(content, quote.pricing.date))
    return ()


def _with_paper(page: str, size: str) -> str:
    """The page with its paper's size said last, so that a firm's own stylesheet cannot forget it."""
    return page.replace("</head>", f"<style>@page {{ size: {size} }}</style>\n</head>", 1)


def _dated(content: bytes, day: datetime.date) -> bytes:
    """The file with the quote's own date for the clock's: the same quote prints the same bytes."""
    return _DATES.sub(lambda found: b"/%b (D:%b" % (found[1], f"{day:%Y%m%d}000000".encode()), content)


def _unprinted(page: Path, printer: Printer, why: str) -> Problem:
    return warning(Cell(page.with_suffix(".pdf").name), "not-printed", f"'{Path(printer.program).name}' did not print "
                   f"the proposal: {why}.", f"Open '{page.name}' in any browser and print it.")

"""The set of files that one build leaves: quote.json, office/, customer/."""

from __future__ import annotations

from pathlib import Path

from quoting.documents.office import write_office_workbook
from quoting.documents.proposal import write_proposal
from quoting.documents.quote_file import encode_quote
from quoting.quote import Quote


def write_documents(quote: Quote, folder: Path, templates: tuple[Path, ...]) -> None:
    """Write every document of a quote into an empty folder. OSError where the disk refuses."""
    (folder / "office").mkdir()
    (folder / "customer").mkdir()
    (folder / "quote.json").write_bytes(encode_quote(quote))
    write_office_workbook(quote, folder / "office" / "office.xlsx")
    write_proposal(quote, folder / "customer" / "proposal.html", templates)

"""The customer's proposal: one self-contained HTML file, no script, nothing fetched, made for screen and paper.

Templates see the records of proposal_view.py and nothing else.
"""

from __future__ import annotations

from pathlib import Path

from quoting.documents.formats import formats_for
from quoting.documents.language import language_for
from quoting.documents.proposal_customer import customer_view
from quoting.documents.templates import render_page
from quoting.quote import Quote

PAGE = "proposal.html"


def write_proposal(quote: Quote, path: Path, templates: Path | tuple[Path, ...]) -> None:
    """Write the proposal. Of several folders of templates the first one that has a file gives it: a firm's own first.

    Raises OSError where the file cannot be written, BadTemplate where a template of the firm's own fails.
    """
    path.write_bytes(render_proposal(quote, templates).encode("utf-8"))


def render_proposal(quote: Quote, templates: Path | tuple[Path, ...]) -> str:
    """The proposal's HTML. Raises BadTemplate where a template of the firm's own fails."""
    terms = quote.job.terms
    language = language_for(terms.locale, quote.firm.wording)
    formats = formats_for(terms.locale, quote.pricing.currency, quote.job.unit_system, language.code)
    folders = templates if isinstance(templates, tuple) else (templates,)
    return render_page(folders, PAGE, view=customer_view(quote, formats, language), formats=formats, language=language)

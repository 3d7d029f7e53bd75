"""The set of files that one build leaves: quote.json, office/, customer/, crew/."""

from __future__ import annotations

from pathlib import Path

from quoting.documents.buying_papers import write_buying
from quoting.documents.crew_papers import write_crew
from quoting.documents.handover import write_handover
from quoting.documents.job_record import write_job_record
from quoting.documents.office import write_office_workbook
from quoting.documents.pick_papers import write_picks
from quoting.documents.proposal import write_proposal
from quoting.documents.quote_file import encode_quote
from quoting.documents.survey_paper import write_survey
from quoting.documents.ubl_quotation import write_quotations
from quoting.quote import Quote


def write_documents(
    quote: Quote, folder: Path, templates: tuple[Path, ...], accepted: str = "", labels: str = ""
) -> None:
    """Write every document of a quote into an empty folder. OSError where the disk refuses.

    `accepted`: the option that the customer chose, "" where nobody has yet. `labels`: a row of label_sheets.csv.
    """
    for name in ("office", "customer", "crew"):
        (folder / name).mkdir()
    (folder / "quote.json").write_bytes(encode_quote(quote))
    write_office_workbook(quote, folder / "office" / "office.xlsx")
    write_survey(quote, folder / "office", templates)
    write_proposal(quote, folder / "customer" / "proposal.html", templates)
    write_quotations(quote, folder / "customer", accepted)
    write_buying(quote, folder / "office", templates, accepted)
    write_job_record(quote, folder / "office", accepted)
    for option in quote.options:
        if option.name == accepted:
            write_handover(quote, option, folder / "customer" / "handover.html", templates)
    write_crew(quote, folder / "crew", templates, accepted, labels)
    write_picks(quote, folder / "crew", templates, accepted)

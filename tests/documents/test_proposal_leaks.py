"""Nothing internal reaches the customer: every field that is not public is marked, and no mark is found."""

from __future__ import annotations

import datetime
import re
import zipfile
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from msgspec import Struct
from msgspec.structs import replace

from quoting import buying_inputs, facts, job, lines, pricing_inputs, problems, quote, timetable
from quoting.documents import handover_view, proposal_view
from quoting.documents.customer_workbook import write_customer_workbook
from quoting.documents.handover import write_handover
from quoting.documents.print_page import Printer, print_proposal
from quoting.documents.proposal import write_proposal
from quoting.documents.ubl_quotation import write_quotations
from quoting.facts import FACT_KINDS
from quoting.job import Detail
from tests.builders import (
    cell,
    facts_by_kind,
    make_fact,
    make_job,
    make_quote,
    make_rooms,
    make_terms,
)
from tests.documents.browser import chromium

TEMPLATES = Path(__file__).resolve().parents[2] / "templates"

# Of each record: the fields that a customer may read. All others are internal.
PUBLIC: dict[type, str] = {
    quote.Quote: "job firm place facts options steps recommendation pricing parts tasks statements open_questions "
                 "change_rate buying",
    quote.Firm: "name address phone email licence accent logo greeting letter closing warranty terms change_terms "
                "minimum_change notice wording",
    quote.PlaceTerms: "place tax_note withdrawal permit found",
    quote.Recommendation: "option basis reason over_budget",
    quote.Pricing: "currency date valid_until categories taxes tax_basis",
    quote.TaxRule: "name category rate payer scheme",
    quote.BuyingInputs: "codes",
    quote.CategoryPricing: "category words",
    quote.Statement: "kind text options needed_by",
    quote.OpenQuestion: "of attribute field question used worse who by_phase cost",
    quote.PartInfo: "words category unit",
    quote.PricedOption: "name title summary gives_up facts materials labour rooms phases totals plan "
                        "fees later timetable",
    timetable.Timetable: "visits",
    timetable.Visit: "phase on_site half_days first_date last_date",
    quote.MonthlyFee: "words to_us amount",
    quote.LaterRoom: "room name amount",
    quote.PricedMaterial: "room price need unit",
    quote.PricedLabour: "room price",
    quote.Totals: "materials labour freight discount taxes tax rounding total",
    quote.TaxAmount: "name category rate base amount",
    quote.Instalment: "name trigger amount",
    quote.PhaseTotal: "phase words price half_days trips",
    quote.RoomPromise: "room name state speakers control",
    quote.Step: "start end rows freight discount tax rounding total",
    quote.StepRow: "room name materials labour",
    job.Job: "client terms unit_system rooms zones head_end start_date",
    job.Client: "name site",
    job.Terms: "locale tax_exempt detail quote_number revision supersedes",
    job.Room: "code name floor zone sub_zone mount setting length_m width_m x_m y_m",
    job.Zone: "number",
    job.HeadEnd: "place floor x_m y_m",
}
# Fields of facts that a customer may read in words.
PUBLIC_FACT_FIELDS = frozenset({
    "id", "room", "zone", "name", "state", "mount", "speakers", "streams", "phones", "service_years", "shelf_only",
    "tv", "owned", "room_input", "single_stereo", "reuse_speakers", "spare_outputs", "spare_channels",
    "device", "place", "x_m", "y_m", "side", "control", "what", "start", "end", "planned_m", "max_volume", "inputs",
    "buttons", "caution_db", "caution_hours", "all_day_db",
})
RECORDS = [record for module in (problems, job, lines, buying_inputs, pricing_inputs, timetable, quote, facts)
           for record in vars(module).values()
           if isinstance(record, type) and issubclass(record, Struct) and record.__module__ == module.__name__
           and not issubclass(record, facts.Fact)]


class Planter:
    """Copies a quote with a marker of its own in every internal field."""

    def __init__(self) -> None:
        self.markers: dict[str, str] = {}  # marker -> where it stands
        self._count = 0
        self._parts: dict[str, str] = {}

    def record(self, value: Any, internal: bool) -> Any:
        public = set() if internal else set(PUBLIC.get(type(value), "").split())
        return replace(value, **{
            name: self.value(getattr(value, name), name not in public, f"{type(value).__name__}.{name}")
            for name in value.__struct_fields__})

    def value(self, value: Any, internal: bool, where: str) -> Any:
        if isinstance(value, Struct):
            return self.record(value, internal)
        if isinstance(value, tuple):
            return tuple(self.value(item, internal, where) for item in value)
        if isinstance(value, dict):
            return {key: self.value(item, internal, f"{where}[]") for key, item in value.items()}
        return self.marker(value, where) if internal else value

    def marker(self, value: Any, where: str) -> Any:
        """A value of the same type that is found nowhere else."""
        self._count += 1
        marked: Any = value
        if isinstance(value, str):
            marked = f"LEAK{self._count:05d}X"
        elif isinstance(value, Decimal):
            marked = Decimal(f"7{self._count:05d}37.91")
        elif isinstance(value, bool):
            return value
        elif isinstance(value, int | float):
            marked = type(value)(90_000_000 + self._count)
        elif isinstance(value, datetime.date):
            marked = datetime.date(1871, 1, 1)
        self.markers[_shown(marked)] = where
        return marked

    def fact(self, row: dict[str, Any]) -> dict[str, Any]:
        return {name: value if name in PUBLIC_FACT_FIELDS or isinstance(value, bool | tuple)
                else self.marker(value, f"fact.{name}") for name, value in row.items()}


def _shown(value: Any) -> str:
    return "1871" if isinstance(value, datetime.date) else str(value).removesuffix(".0")


def planted(detail: Detail) -> tuple[quote.Quote, dict[str, str]]:
    """A quote in which everything internal is marked, part numbers too."""
    rooms = tuple(replace(room, note="note", obstacles="beam", pairs_by_option={"best": 2}) for room in make_rooms())
    extra = job.Extra(kind="owned equipment", name="Receiver", room="LIV", quantity=Decimal(1), part="X",
                      amount=Decimal(1), rack_mountable=False, plays_from="good", note="note",
                      where=cell("Extras", "A2"))
    override = job.Override(id="CBL-16-4/KIT/rough-in", what="quantity", value="80", reason="beam", who="Ines",
                            where=cell("Overrides", "A2"))
    terms = make_terms(detail=detail, approved_by="Mira")
    found = make_quote(job=make_job(rooms=rooms, extras=(extra,), overrides=(override,), terms=terms))
    planter = Planter()
    every_kind = facts_by_kind(make_fact(kind, f"F-{number}") for number, kind in enumerate(FACT_KINDS))
    options = tuple(replace(option, facts=_marked_facts(planter, {**every_kind, **option.facts}))
                    for option in found.options)
    marked = planter.record(replace(found, options=options, facts=_marked_facts(planter, every_kind)), internal=False)
    return _with_marked_parts(marked, planter), planter.markers


def _marked_facts(planter: Planter, kinds: dict[str, Any]) -> dict[str, Any]:
    return {kind: tuple(planter.fact(row) for row in rows) for kind, rows in kinds.items()}


def _with_marked_parts(marked: quote.Quote, planter: Planter) -> quote.Quote:
    """Part numbers are the keys of quote.parts and stand in rows: each row gets a marked number that is a key."""
    original = make_quote()
    numbers = {part: planter.marker(part, f"part number {part}") for part in original.parts}

    def rows(option: quote.PricedOption, plain: quote.PricedOption) -> quote.PricedOption:
        return replace(option, materials=tuple(
            replace(row, part=numbers[line.part]) for row, line in zip(option.materials, plain.materials, strict=True)))
    options = tuple(map(rows, marked.options, original.options))
    return replace(marked, options=options, parts={numbers[part]: info for part, info in marked.parts.items()})


def text_of(path: Path) -> str:
    """Everything that a file tells: the parts of a workbook with their names; of a print the letters of its pages
    and every text of its objects: properties, outline, links, alternatives."""
    if path.suffix == ".xlsx":
        with zipfile.ZipFile(path) as parts:
            return "\n".join(f"{name}\n{parts.read(name).decode('utf-8')}" for name in parts.namelist())
    if path.suffix == ".pdf":
        pdfplumber = pytest.importorskip("pdfplumber")
        with pdfplumber.open(path) as pdf:
            letters = "".join(char["text"] for page in pdf.pages for char in page.chars)
            objects = [pdf.doc.getobj(number) for xref in pdf.doc.xrefs for number in xref.get_objids()]
            return "\n".join([letters, *_texts_in(objects)])
    return path.read_text(encoding="utf-8")


def _texts_in(value: Any) -> Iterator[str]:
    if isinstance(value, bytes):
        yield value.decode("utf-16" if value.startswith(b"\xfe\xff") else "latin-1", "replace")
    elif isinstance(value, dict | list):
        for inside in value.values() if isinstance(value, dict) else value:
            yield from _texts_in(inside)


def found_in(folder: Path, markers: dict[str, str]) -> dict[str, str]:
    """The markers that stand anywhere in the files or their names, groups of digits joined."""
    files = [path for path in folder.rglob("*") if path.is_file()]
    texts = [*(path.name for path in files), *map(text_of, files)]
    whole = re.sub(r"(?<=\d)[,.’\u202f\u00a0](?=\d)", "", "\n".join(texts))
    return {marker: where for marker, where in markers.items() if marker.replace(".", "") in whole}


@pytest.mark.parametrize("detail", ["total", "by room", "by room and category", "itemised"])
def test_nothing_internal_is_in_the_customers_folder(tmp_path: Path, detail: Detail) -> None:
    marked, markers = planted(detail)
    write_proposal(marked, tmp_path / "proposal.html", TEMPLATES)
    write_customer_workbook(marked, tmp_path / "proposal.xlsx")
    write_quotations(marked, tmp_path)
    assert found_in(tmp_path, markers) == {}


def test_nothing_internal_is_in_the_handover(tmp_path: Path) -> None:
    marked, markers = planted("itemised")
    for option in marked.options:
        write_handover(marked, option, tmp_path / f"{option.title[:4]}.html", (TEMPLATES,))
    assert found_in(tmp_path, markers) == {}


def test_nothing_internal_is_in_the_print(tmp_path: Path) -> None:
    program = chromium()
    if program is None:
        pytest.skip("Chromium is not installed")
    marked, markers = planted("itemised")
    scratch, customer = tmp_path / "scratch", tmp_path / "customer"
    scratch.mkdir()
    customer.mkdir()
    write_proposal(marked, customer / "proposal.html", TEMPLATES)
    printer = Printer(program, ("--no-sandbox",), scratch)
    assert print_proposal(marked, customer / "proposal.html", customer / "proposal.pdf", printer) == ()
    assert (sorted(path.name for path in customer.iterdir()), found_in(customer, markers)) == (
        ["proposal.html", "proposal.pdf"], {})


@pytest.mark.parametrize("where", [
    "PricedMaterial.unit_cost", "PricedMaterial.cost", "PricedLabour.cost", "PricedLabour.hours", "PartInfo.supplier",
    "PartInfo.description", "Totals.margin", "Totals.gross_profit", "Totals.cost", "Purchase.supplier", "Room.note",
    "Extra.note", "Client.budget", "Terms.approved_by", "Pricing.margin_floor", "RoleRate.price", "RoleRate.pay",
    "PartPricing.unit_cost", "CategoryPricing.rate", "Override.reason", "part number SPK-6", "fact.part",
    "PhaseTotal.hours",
])
def test_a_marker_stands_in(where: str) -> None:
    assert where in planted("itemised")[1].values()


def test_a_planted_leak_is_found(tmp_path: Path) -> None:
    marked, markers = planted("itemised")
    supplier = next(iter(marked.parts.values())).supplier
    (tmp_path / "leak.html").write_text(f"<p>{supplier}</p>", encoding="utf-8")
    assert list(found_in(tmp_path, markers).values()) == ["PartInfo.supplier"]


def test_a_planted_hour_is_found_in_a_workbook(tmp_path: Path) -> None:
    marked, markers = planted("itemised")
    hours = marked.options[0].phases[0].hours
    option = replace(marked.options[0], totals=replace(marked.options[0].totals, total=hours))
    write_customer_workbook(replace(marked, options=(option,), steps=()), tmp_path / "leak.xlsx")
    assert list(found_in(tmp_path, markers).values()) == ["PhaseTotal.hours"]


def test_a_planted_leak_is_found_in_a_prints_letters_and_properties(tmp_path: Path) -> None:
    program = chromium()
    if program is None:
        pytest.skip("Chromium is not installed")
    marked, markers = planted("itemised")
    part = next(iter(marked.parts.values()))
    page = f"<html><head><title>{part.supplier}</title></head><body><p>{part.description}</p></body></html>"
    scratch, customer = tmp_path / "scratch", tmp_path / "customer"
    scratch.mkdir()
    customer.mkdir()
    (scratch / "leak.html").write_text(page, encoding="utf-8")
    printer = Printer(program, ("--no-sandbox",), scratch)
    print_proposal(marked, scratch / "leak.html", customer / "proposal.pdf", printer)
    assert sorted(found_in(customer, markers).values()) == ["PartInfo.description", "PartInfo.supplier"]


def test_a_planted_cost_is_found_behind_its_separators(tmp_path: Path) -> None:
    marked, markers = planted("itemised")
    cost = marked.options[0].totals.cost
    (tmp_path / "leak.html").write_text(f"<p data-x='{cost:,}'></p>", encoding="utf-8")
    assert list(found_in(tmp_path, markers).values()) == ["Totals.cost"]


def _public_names() -> Iterator[tuple[type, str]]:
    return ((record, name) for record, names in PUBLIC.items() for name in names.split())


def test_every_public_name_is_a_field_of_its_record() -> None:
    assert [f"{record.__name__}.{name}" for record, name in _public_names()
            if name not in record.__struct_fields__] == []


def test_every_record_with_a_public_field_is_one_of_the_quotes_records() -> None:
    assert set(PUBLIC) <= set(RECORDS)


@pytest.mark.parametrize("view", [proposal_view, handover_view])
def test_no_word_of_cost_is_in_the_allow_list_of_the_view(view: Any) -> None:
    names = {name for record in vars(view).values() if isinstance(record, type) and issubclass(record, Struct)
             for name in record.__struct_fields__}
    assert [name for name in names if re.search("cost|margin|markup|profit|supplier|hours|_part|part_", name)] == []

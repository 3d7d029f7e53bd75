"""The whole quote: every option priced, compared, and told to the documents."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

import pytest
from msgspec.structs import replace

from quoting.bill import make_bill, merge_lines
from quoting.catalog.records import Catalog
from quoting.facts import Design, Fact, OptionDesign
from quoting.job import Job
from quoting.lines import Bill, Line
from quoting.pricing.quote import OptionWork, facts_by_kind, price_quote
from quoting.problems import Cell, Problem, warning
from quoting.quote import Quote
from tests.builders import make_client, make_fact, make_job, make_terms
from tests.stages.pricing_stubs import ON, labour, make_catalog, make_place, make_tax, material, statement

D = Decimal
BEFORE = warning(Cell("job.xlsx", "Rooms", "B4"), "not-known", "'?' is not known yet.", "Ask.")
ROOF = make_fact("room_use", "KIT-USE", room="KIT", state="live", speakers=2, control="keypad")
ROUGH = make_fact("phase_effort", "rough-in", phase="rough-in", half_days=3, trips=2, crew=2)
LINES = {
    "good": [material("SPK", "2"), labour("rough.pull", "2", "2", "2")],
    "best": [material("SPK", "4"), material("RACK", room="", phase="rack build"), labour("rough.pull", "2", "2", "2"),
             labour("trim.mount", "1", "1", "1", phase="trim-out"), statement()],
}


def _job(**terms: object) -> Job:
    return make_job(client=make_client(priorities=("sound",), budget=None),
                    terms=make_terms(**{"discount_rate": D(0), "discount_reason": "", **terms}))


def _quoted(job: Job | None = None, catalog: Catalog | None = None, lines: dict[str, Sequence[Line]] | None = None,
            ) -> tuple[Quote, tuple[Problem, ...]]:
    catalog, works = catalog or make_catalog(), []
    for name, its in (lines or LINES).items():
        rows, _ = merge_lines(its, (), catalog)
        works.append(OptionWork(name, (ROOF, ROUGH), make_bill(rows, catalog, "USD")[0]))
    shared: tuple[Fact, ...] = (make_fact("job", "JOB", rooms=4),)
    design = Design(shared, tuple(OptionDesign(work.name, work.facts) for work in works))
    return price_quote(job or _job(), catalog, design, works, ON, (), (BEFORE,), "f" * 64)


QUOTE, PROBLEMS = _quoted()


def test_a_plain_job_has_no_problems_of_its_own() -> None:
    assert PROBLEMS == ()


def test_the_quote_has_the_problems_of_the_stages_before() -> None:
    assert QUOTE.problems == (BEFORE,)


def test_options_stay_smallest_first() -> None:
    assert [option.name for option in QUOTE.options] == ["good", "best"]


def test_an_option_comes_to_what_a_calculator_says() -> None:
    # good: 2 speakers at 62.50 / 0.55 = 113.6364 -> 227.27; 2 h at 85 -> 170; freight 2 % of 125 -> 2.50;
    # tax 6.25 % of 399.77 = 24.985625 -> 24.99
    totals = QUOTE.options[0].totals

    assert (totals.materials, totals.labour, totals.freight, totals.tax, totals.total) == (
        D("227.27"), D("170.00"), D("2.50"), D("24.99"), D("424.76"))


def test_an_option_costs_what_a_calculator_says() -> None:
    # 125 + 2 h at 51 a sold hour + freight 2.50 + 3 % of 102
    totals = QUOTE.options[0].totals

    assert (totals.cost, totals.contingency, totals.gross_profit) == (D("232.56"), D("3.06"), D("167.21"))
    assert totals.margin == D("0.4183")  # 167.21 / 399.77


def test_the_plan_sums_to_the_total() -> None:
    option = QUOTE.options[0]

    assert [part.amount for part in option.plan] == [D("127.43"), D("84.95"), D("169.90"), D("42.48")]
    assert sum(part.amount for part in option.plan) == option.totals.total


def test_the_quote_is_open_for_the_firms_days() -> None:
    assert (QUOTE.pricing.date, (QUOTE.pricing.valid_until - ON).days) == (ON, 30)


def test_a_step_leads_from_each_option_to_the_next() -> None:
    assert [(step.start, step.end) for step in QUOTE.steps] == [("good", "best")]


def test_the_recommendation_is_one_of_the_options() -> None:
    assert QUOTE.recommendation.option == "best"


def test_a_room_promises_what_its_facts_and_rows_say() -> None:
    room, = QUOTE.options[0].rooms

    assert (room.name, room.state, room.speakers, room.control) == ("Kitchen", "live", 2, "keypad")
    assert (room.materials, room.labour) == (D("227.27"), D("170.00"))


def test_a_phase_has_its_words_and_its_visits() -> None:
    phase, = QUOTE.options[0].phases

    assert (phase.phase, phase.words, phase.price) == ("rough-in", "What happens.", D("170.00"))
    assert (phase.half_days, phase.trips, phase.crew) == (3, 2, 2)


def test_the_phases_share_out_the_labour() -> None:
    assert [sum(p.price for p in option.phases) for option in QUOTE.options] == [
        option.totals.labour for option in QUOTE.options]


def test_only_parts_and_tasks_in_use_are_described() -> None:
    assert (sorted(QUOTE.parts), sorted(QUOTE.tasks)) == (["RACK", "SPK"], ["rough.pull", "trim.mount"])


def test_a_part_that_only_a_fact_names_is_described_too() -> None:
    catalog = make_catalog()
    owned = make_fact("speaker", "KIT-SP1", part="PLATE", owned=True)
    work = OptionWork("good", (), Bill((), (), (), (), ()))

    quote, _ = price_quote(_job(), catalog, Design((owned,), ()), [work], ON, (), (), "")

    assert list(quote.parts) == ["PLATE"]


def test_a_statement_names_the_options_that_bring_it() -> None:
    said, = QUOTE.statements

    assert (said.text, said.options, said.because[0].rule) == ("No painting.", ("best",), "STM-010")
    assert [option.statements for option in QUOTE.options] == [(), ("say.paint",)]


def test_a_statement_without_a_text_is_a_stop_at_its_rule() -> None:
    _, problems = _quoted(lines={"good": [statement("say.nothing")]})

    assert ("stop", "unknown-statement", "rules/speaker.csv") in [
        (p.severity, p.code, p.where.file) for p in problems]


def test_facts_are_plain_rows_by_kind() -> None:
    assert [(kind, row["id"]) for kind, rows in QUOTE.facts.items() for row in rows] == [("job", "JOB")]
    assert sorted(QUOTE.options[0].facts) == ["phase_effort", "room_use"]


def test_a_facts_row_has_every_field_and_its_cells_as_plain_values() -> None:
    row = facts_by_kind([replace(ROOF, where=(Cell("job.xlsx", "Rooms", "A2"),))])["room_use"][0]

    assert (row["state"], row["speakers"]) == ("live", 2)
    assert row["where"] == ({"file": "job.xlsx", "sheet": "Rooms", "ref": "A2"},)


def test_pricing_repeats_what_moves_the_office_workbook() -> None:
    pricing = QUOTE.pricing

    assert [category.category for category in pricing.categories] == ["racks", "speakers"]
    assert [role.role for role in pricing.roles] == ["installer"]
    assert [part.part for part in pricing.parts] == ["RACK", "SPK"]
    assert [(tax.name, tax.category) for tax in pricing.taxes] == [("Sales tax", "-")]


# ---------------------------------------------------------------- place

def test_a_place_tells_its_terms() -> None:
    assert (QUOTE.place.found, QUOTE.place.withdrawal, QUOTE.place.labour_apart) == (True, "You may cancel.", True)


def test_a_place_without_rows_warns_and_has_no_tax_and_no_text() -> None:
    quote, problems = _quoted(_job(tax_place="Nowhere"))

    assert [(p.severity, p.code) for p in problems] == [("warning", "no-place-terms"), ("warning", "no-tax-rows")]
    assert "'Nowhere'" in problems[0].message
    assert (quote.place.found, quote.place.withdrawal, quote.options[0].totals.tax) == (False, "", D("0.00"))


def test_a_place_without_tax_rows_warns() -> None:
    assert [p.code for p in _quoted(catalog=make_catalog(taxes=()))[1]] == ["no-tax-rows"]


def test_a_place_of_another_currency_is_a_stop() -> None:
    _, problems = _quoted(catalog=make_catalog(places=[make_place(currency="EUR")]))

    assert [(p.severity, p.code) for p in problems] == [("stop", "currency-of-place")]
    assert problems[0].message == "The job is in 'USD', and contracts in 'Sampleton' are in EUR."


def test_a_place_may_cap_the_deposit() -> None:
    quote, _ = _quoted(catalog=make_catalog(places=[make_place(deposit_cap_amount=D(100))]))

    assert str(quote.options[0].plan[0].amount) == "100.00"


# ---------------------------------------------------------------- tax modes

def test_the_firm_as_consumer_charges_no_tax_and_pays_it_on_cost() -> None:
    # 7 % of 125 at cost
    quote, _ = _quoted(catalog=make_catalog(taxes=[make_tax(category="speakers", rate="0.07", payer="contractor")]))
    totals = quote.options[0].totals

    assert (totals.tax, totals.contractor_tax, totals.total) == (D("0.00"), D("8.75"), D("399.77"))
    assert totals.cost == D("241.31")  # 232.56 and the tax


def test_a_place_may_tax_line_by_line() -> None:
    # 227.27 x 6.25 % = 14.204 -> 14.20; 170.00 -> 10.625 -> 10.63; 2.50 -> 0.156 -> 0.16
    quote, _ = _quoted(catalog=make_catalog(places=[make_place(tax_basis="line")]))

    assert quote.options[0].totals.tax == D("24.99")


def test_a_certificate_leaves_no_tax() -> None:
    quote, problems = _quoted(_job(tax_exempt="EX-1"))

    assert (quote.options[0].totals.taxes, problems) == ((), ())


@pytest.mark.parametrize(("rate", "codes"), [
    ("0.05", ["discount-without-reason"]), ("0.06", ["discount-not-approved", "discount-without-reason"])])
def test_a_discount_is_checked(rate: str, codes: list[str]) -> None:
    assert [p.code for p in _quoted(_job(discount_rate=D(rate)))[1]] == codes


def test_a_job_in_whole_units_has_whole_totals() -> None:
    totals = _quoted(_job(whole_units=True))[0].options[0].totals

    assert (totals.total, totals.rounding) == (D("425.00"), D("0.24"))


def test_the_same_input_gives_the_same_quote() -> None:
    assert _quoted()[0] == QUOTE

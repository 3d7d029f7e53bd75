"""The office workbook as a file: text as text, formulas that any program knows, inputs open, everything told."""

from __future__ import annotations

import io
import re
import zipfile
from collections.abc import Iterator
from dataclasses import is_dataclass
from decimal import Decimal
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from msgspec import Struct
from msgspec.structs import replace
from openpyxl.cell import Cell

from quoting import quote as q
from quoting.documents.office import input_cells, money_cells, workbook_bytes
from quoting.documents.office_look import money_formats
from tests.documents.office_sample import sample_pricing, sample_quote
from tests.documents.recalculate import differences, spoil, with_ironcalc

D = Decimal
SAMPLE = sample_quote()
ALLOWED = {"SUM", "SUMIFS", "COUNTIFS", "ROUND", "IF", "MIN", "MAX", "INDEX", "MATCH"}


def _book(quote: q.Quote, values: bool = False) -> Any:
    return openpyxl.load_workbook(io.BytesIO(workbook_bytes(quote)), data_only=values)


def _cells(quote: q.Quote, values: bool = False) -> Iterator[tuple[str, Cell]]:
    for sheet in _book(quote, values):
        for row in sheet.iter_rows():
            for found in row:
                if found.value is not None:
                    yield sheet.title, found


def _formulas(quote: q.Quote) -> list[tuple[str, str, str]]:
    return [
        (sheet, found.coordinate, found.value)
        for sheet, found in _cells(quote)
        if found.data_type == "f" and isinstance(found.value, str)
    ]


def _texts(quote: q.Quote, sheet: str | None = None) -> set[str]:
    return {found.value for name, found in _cells(quote) if found.data_type == "s" and sheet in (None, name)}


def _column(quote: q.Quote, sheet: str, heading: str) -> list[Any]:
    """The values under a heading, as stored."""
    found = _book(quote, values=True)[sheet]
    at = next(cell for row in found.iter_rows() for cell in row if cell.value == heading)
    return [row[0].value for row in found.iter_rows(min_row=at.row + 1, min_col=at.column, max_col=at.column)]


# ---------------------------------------------------------------- formulas


@pytest.mark.parametrize("changes", [{}, {"tax_basis": "line"}, {"contingency_method": "P80"}], ids=str)
def test_formulas_use_only_functions_that_every_program_has(changes: dict[str, Any]) -> None:
    used = {
        name
        for _, _, formula in _formulas(sample_quote(sample_pricing(**changes)))
        for name in re.findall(r"([A-Z][A-Z0-9.]*)\(", formula)
    }
    assert used <= ALLOWED


def test_every_money_sum_is_rounded_before_anything_else_is_done_with_it() -> None:
    money = {(found.sheet, found.address) for found in money_cells(SAMPLE)}
    bare = [
        (sheet, where, formula)
        for sheet, where, formula in _formulas(SAMPLE)
        if (sheet, where) in money and _has_bare_sum(formula)
    ]
    assert bare == []


def _has_bare_sum(formula: str) -> bool:
    """Whether a SUM or SUMIFS stands outside every ROUND."""
    inside: list[str] = []
    for name, sign in re.findall(r"([A-Z]*)(\(|\))", formula):
        if sign == ")":
            inside.pop()
            continue
        if name in ("SUM", "SUMIFS") and "ROUND" not in inside:
            return True
        inside.append(name)
    return False


def test_no_amount_is_typed_except_inputs_and_what_open_questions_would_add() -> None:
    plain, symbol = money_formats("USD", "en-US")
    typed = [
        (sheet, found.coordinate)
        for sheet, found in _cells(SAMPLE)
        if found.number_format in (plain, symbol) and found.data_type == "n" and found.protection.locked
    ]
    measured = {"Labour", "Runs", "Zones", "Head end"}  # hours and ohms share the two-place format
    hours = [(sheet, where) for sheet, where in typed if sheet in {*measured, "Summary", "Totals"}]
    assert [found for found in typed if found not in hours and found[0] != "Open questions"] == []
    assert {sheet for sheet, _ in hours} <= measured


def test_every_formula_has_its_value_stored() -> None:
    with zipfile.ZipFile(io.BytesIO(workbook_bytes(SAMPLE))) as parts:
        sheets = [parts.read(name).decode() for name in parts.namelist() if name.startswith("xl/worksheets/sheet")]
    assert sum(len(re.findall(r"</f><v></v>|</f></c>", sheet)) for sheet in sheets) == 0


def test_the_stored_values_are_the_quotes_own() -> None:
    book = _book(SAMPLE, values=True)
    wrong = [found for found in money_cells(SAMPLE) if D(str(book[found.sheet][found.address].value)) != found.value]
    assert wrong == []


def test_nothing_comes_to_an_error_value(tmp_path: Path) -> None:
    import ironcalc

    path = tmp_path / "book.xlsx"
    path.write_bytes(spoil(workbook_bytes(SAMPLE)))
    model = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")
    model.evaluate()
    names = [sheet.title for sheet in _book(SAMPLE)]
    errors = [
        (sheet, where)
        for sheet, where, _ in _formulas(SAMPLE)
        if str(model.get_cell_value(names.index(sheet), *_row_column(where))).startswith("#")
    ]
    assert errors == []


def _row_column(where: str) -> tuple[int, int]:
    row, column = openpyxl.utils.cell.coordinate_to_tuple(where)
    return row, column


# ---------------------------------------------------------------- inputs


def _input_addresses(value: Any) -> Iterator[str]:
    """Every input cell that the writing tells of, without the prices that follow from them."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for found in value.values():
            yield from _input_addresses(found)
    elif isinstance(value, list):
        for found in value:
            yield from _input_addresses(found)
    elif is_dataclass(value) or isinstance(value, Struct):
        for name in value.__struct_fields__ if isinstance(value, Struct) else value.__dataclass_fields__:
            if name != "used" and not (name == "price" and hasattr(value, "own_markup")):
                yield from _input_addresses(getattr(value, name))


def test_every_input_is_open_and_marked_by_its_colour() -> None:
    book = _book(SAMPLE)
    for where in _input_addresses(input_cells(SAMPLE)):
        sheet, address = where.split("!")
        found = book[sheet.strip("'")][address.replace("$", "")]
        assert not found.protection.locked and found.fill.fgColor.rgb == "FFFFF4CC", where


def test_every_formula_is_locked_and_its_sheet_protected() -> None:
    book = _book(SAMPLE)
    open_formulas = [
        (sheet, where)
        for sheet, where, _ in _formulas(SAMPLE)
        if not (book[sheet].protection.sheet and book[sheet][where].protection.locked)
    ]
    assert open_formulas == []


def test_every_input_of_the_pricing_stands_on_the_sheet_inputs() -> None:
    book = _book(SAMPLE, values=True)["Inputs"]
    shown = {D(str(found.value)) for row in book.iter_rows() for found in row if isinstance(found.value, int | float)}
    pricing = SAMPLE.pricing
    rates = [value for role in pricing.roles for value in (role.pay, role.burdened, role.sold_hour, role.price)]
    rates += [value for row in pricing.categories for value in (row.rate, row.freight_rate)]
    rates += [tax.rate for tax in pricing.taxes] + [row.share for row in pricing.plan]
    rates += [pricing.discount_rate, pricing.contingency_rate, pricing.margin_floor, pricing.free_discount]
    assert {rate.normalize() for rate in rates} <= {value.normalize() for value in shown}


# ---------------------------------------------------------------- what the sheets tell


def test_the_sheets_stand_in_the_order_of_their_readers() -> None:
    assert _book(SAMPLE).sheetnames == [
        "Summary",
        "Options",
        "What if",
        "Groups",
        "Totals",
        "Inputs",
        "Part prices",
        "Bill",
        "Labour",
        "Purchases",
        "Spools",
        "Runs",
        "Zones",
        "Wiring",
        "Head end",
        "Levels",
        "Design",
        "Open questions",
        "Assumptions",
        "Why",
        "Problems",
        "Notes",
    ]


def test_the_summary_names_the_labour_cost_that_the_floors_use() -> None:
    book = _book(SAMPLE, values=True)["Summary"]
    row = next(row for row in book.iter_rows() if row[0].value == "Cost and floor use")
    assert [found.value for found in row[1:4]] == ["sold hour"] * 3


@pytest.mark.parametrize("floor, verdict", [("0.3", "reached"), ("0.6", "below floor")])
def test_the_summary_holds_each_margin_against_the_owners_floor(floor: str, verdict: str) -> None:
    book = _book(sample_quote(sample_pricing(margin_floor=D(floor))), values=True)["Summary"]
    row = next(row for row in book.iter_rows() if row[0].value == "Against the floor")
    assert [found.value for found in row[1:4]] == [verdict] * 3


def test_the_recommended_option_is_marked_and_no_other() -> None:
    book = _book(SAMPLE, values=True)["Summary"]
    row = next(row for row in book.iter_rows() if row[0].value == "From the interview")
    assert [found.value for found in row[1:4]] == [None, "recommended", None]


def test_each_step_adds_up_to_the_difference_of_the_totals() -> None:
    amounts = {found.value for found in money_cells(SAMPLE) if found.sheet == "Options"}
    assert {step.total for step in SAMPLE.steps} <= amounts


def test_a_part_in_a_room_and_phase_is_one_row_of_the_bill_over_all_options() -> None:
    ids = {(row.part, row.room, row.phase) for option in SAMPLE.options for row in option.materials}
    rows = list(zip(*(_column(SAMPLE, "Bill", heading) for heading in ("Part", "Room", "Phase")), strict=True))
    listed = [(part, "" if room == "job" else room, phase) for part, room, phase in rows]
    assert (
        len(listed) == len(ids) + 1
    )  # SPK-6 in the office: at a price of its own in two options, at the rule's in one
    assert set(listed) == ids


def test_a_row_that_a_person_dropped_stands_on_why_and_not_on_the_bill() -> None:
    option = SAMPLE.options[0]
    dropped = replace(
        option.materials[0],
        need=D("0.000"),
        cost=D("0.00"),
        price=D("0.00"),
        freight=D("0.00"),
        id="GONE/KIT/rough-in",
        part="BOX-1",
        ruled_need=D("2.000"),
    )
    quote = replace(SAMPLE, options=(replace(option, materials=(*option.materials, dropped)), *SAMPLE.options[1:]))
    assert "BOX-1" not in _column(quote, "Bill", "Part")
    assert "GONE/KIT/rough-in" in _column(quote, "Why", "Line")


def test_why_lists_every_line_with_each_of_its_reasons() -> None:
    rows = set(zip(*(_column(SAMPLE, "Why", heading) for heading in ("Line", "Rule", "Fact")), strict=True))
    reasons = {
        (row.id, reason.rule, reason.fact)
        for option in SAMPLE.options
        for row in (*option.materials, *option.labour)
        for reason in row.because
    }
    assert rows == reasons


def test_why_shows_the_rules_own_value_beside_an_overridden_one() -> None:
    option = SAMPLE.options[2]
    first = replace(option.materials[0], ruled_need=option.materials[0].need + 5)
    quote = replace(SAMPLE, options=(*SAMPLE.options[:2], replace(option, materials=(first, *option.materials[1:]))))
    row = _column(quote, "Why", "Line").index(first.id)
    assert f"best {first.need + 5:f}".rstrip("0").rstrip(".") in _column(quote, "Why", "The rules' own value")[row]


@pytest.mark.parametrize("sheet, heading", [("Bill", "Why"), ("Labour", "Why")])
def test_a_row_names_the_row_of_the_sheet_why_that_tells_of_it(sheet: str, heading: str) -> None:
    why = _book(SAMPLE, values=True)["Why"]
    names = _column(SAMPLE, sheet, "Part" if sheet == "Bill" else "Task")
    for name, told in zip(names, _column(SAMPLE, sheet, heading), strict=True):
        row = int(re.search(r"Why row (\d+)$", told).group(1))  # type: ignore[union-attr]
        assert why.cell(row, 1).value.startswith(f"{name}/")


def test_every_run_of_the_facts_is_listed(quotes: dict[str, q.Quote]) -> None:
    quote = quotes["1"]
    runs = {
        run["id"]
        for facts in (quote.facts, *(option.facts for option in quote.options))
        for run in facts.get("cable_run", ())
    }
    assert set(_column(quote, "Runs", "Run")) == runs


def test_questions_assumptions_and_problems_are_all_there() -> None:
    assert {found.question for found in SAMPLE.open_questions} <= _texts(SAMPLE, "Open questions")
    assert {found.text for found in SAMPLE.statements} <= _texts(SAMPLE, "Assumptions")
    assert {found.value for found in SAMPLE.defaults} <= _texts(SAMPLE, "Assumptions")
    assert {found.message for found in SAMPLE.problems} <= _texts(SAMPLE, "Problems")


# ---------------------------------------------------------------- looks


def test_every_sheet_prints_the_right_way_round_with_the_firm_in_its_footer() -> None:
    for sheet in _book(SAMPLE):
        assert sheet.page_setup.orientation == "landscape", sheet.title
        assert SAMPLE.firm.name in sheet.oddFooter.left.text, sheet.title


@pytest.mark.parametrize("sheet", ["Part prices", "Bill", "Labour", "Purchases", "Spools", "Why", "Runs"])
def test_long_tables_filter_freeze_and_repeat_their_headings(sheet: str) -> None:
    found = _book(SAMPLE)[sheet]
    assert found.auto_filter.ref and found.freeze_panes and found.print_title_rows


def test_the_summary_has_two_native_charts() -> None:
    with zipfile.ZipFile(io.BytesIO(workbook_bytes(SAMPLE))) as parts:
        assert [name for name in parts.namelist() if name.startswith("xl/charts/chart")] == [
            "xl/charts/chart1.xml",
            "xl/charts/chart2.xml",
        ]


@pytest.mark.parametrize(
    ("currency", "locale", "plain", "symbol"),
    [
        # side and sign as CLDR has them, decimals as ISO 4217 has them: from memory
        ("USD", "en-US", "#,##0.00", '"$"#,##0.00'),
        ("EUR", "de-DE", "#,##0.00", '#,##0.00"\N{NO-BREAK SPACE}€"'),
        ("JPY", "en-US", "#,##0", '"¥"#,##0'),
        ("KWD", "en-US", "#,##0.000", '"KWD\N{NO-BREAK SPACE}"#,##0.000'),
    ],
)
def test_money_is_shown_with_the_currencys_own_places_and_the_locales_sign(
    currency: str, locale: str, plain: str, symbol: str
) -> None:
    assert money_formats(currency, locale) == (plain, symbol)


def test_a_workbook_of_one_option_without_facts_or_steps_is_still_whole(tmp_path: Path) -> None:
    quote = replace(
        SAMPLE,
        options=(replace(SAMPLE.options[1], facts={}),),
        steps=(),
        facts={},
        defaults=(),
        problems=(),
        open_questions=(),
        statements=(),
    )
    cells = money_cells(quote)
    assert differences(cells, with_ironcalc(spoil(workbook_bytes(quote)), cells, tmp_path)) == []

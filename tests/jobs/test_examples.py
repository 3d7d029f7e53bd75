"""The three example jobs, whole: what every quote must keep, checked over every line of every example."""

from __future__ import annotations

import csv
import datetime
import re
from decimal import ROUND_HALF_UP, Decimal
from pathlib import Path

import openpyxl
import pytest

from quoting.catalog.records import Catalog
from quoting.documents.quote_file import decode_quote, encode_quote
from quoting.documents.write import write_documents
from quoting.lines import Reason
from quoting.pipeline import quote_workbook
from quoting.problems import Cell
from quoting.quote import PricedOption, Quote
from tests.conftest import DEMO, EXAMPLES, PRICED_ON, ROOT

CENT = Decimal("0.01")
WARNINGS = {
    "1": ["fewer-pairs-than-standard", "fewer-pairs-than-standard"],
    "2": [],
    "3": ["doorbell-room-assumed", "fewer-pairs-than-standard", "head-end-too-hot", "second-knob"],
}
every_example = pytest.mark.parametrize("number", ["1", "2", "3"])


def to_cent(amount: Decimal) -> Decimal:
    return amount.quantize(CENT, rounding=ROUND_HALF_UP)


def reasons(option: PricedOption) -> list[tuple[str, Reason]]:
    rows = (*option.materials, *option.labour)
    return [(row.id, reason) for row in rows for reason in row.because]


# ---------------------------------------------------------------- it comes out, and warns as listed

@every_example
def test_an_example_warns_of_what_is_listed_and_of_nothing_else(quotes: dict[str, Quote], number: str) -> None:
    assert sorted(problem.code for problem in quotes[number].problems) == WARNINGS[number]
    assert {problem.severity for problem in quotes[number].problems} <= {"warning"}


def test_the_first_example_is_the_eight_zone_house(quotes: dict[str, Quote]) -> None:
    best = quotes["1"].options[-1]
    assert len(best.facts["zone"]) == 8
    assert sum(zone["pairs"] for zone in best.facts["zone"]) == 9


def test_the_eight_zone_house_takes_eighteen_channels_on_two_amplifiers(quotes: dict[str, Quote]) -> None:
    # 8 zones x 2 + 2 for the bridged patio pair's second channels = 18: two 12-channel amplifiers (trade practice 13)
    best = quotes["1"].options[-1].facts
    assert sum(zone["channels"] for zone in best["zone"]) == 18
    assert [(box["channels"], box["used_channels"]) for box in best["amplifier"]] == [(12, 12), (12, 6)]


def test_the_large_house_plays_twenty_zones_on_forty_channels_and_wires_more(quotes: dict[str, Quote]) -> None:
    best = quotes["3"].options[-1].facts
    assert len(best["zone"]) == 20
    assert sum(zone["channels"] for zone in best["zone"]) == 40
    assert [use["room"] for use in best["room_use"] if use["state"] == "wired-only"]
    assert len({use["floor"] for use in best["room_use"]}) == 3


def test_the_retrofit_has_a_network_amplifier_for_each_zone_and_no_bracket(quotes: dict[str, Quote]) -> None:
    quote = quotes["2"]
    for option in quote.options:
        assert len(option.facts["amplifier"]) == len(option.facts["zone"])
        assert not [row.part for row in option.materials if row.part.startswith("NB-")]
    assert quote.pricing.currency == "EUR" and quote.job.terms.locale == "de_DE"


# ---------------------------------------------------------------- money

@every_example
def test_the_totals_are_the_sums_of_their_rounded_rows(quotes: dict[str, Quote], number: str) -> None:
    for option in quotes[number].options:
        totals = option.totals
        assert totals.materials == sum(row.price for row in option.materials)
        assert totals.labour == sum(row.price for row in option.labour)
        assert totals.freight == sum(row.freight for row in option.materials)
        assert totals.tax == sum(tax.amount for tax in totals.taxes)
        assert totals.total == (totals.materials + totals.labour + totals.freight - totals.discount + totals.tax
                                + totals.rounding)
        assert totals.gross_profit == totals.total - totals.tax - totals.cost


@every_example
def test_each_row_is_its_need_times_its_unit_price_rounded_half_up(quotes: dict[str, Quote], number: str) -> None:
    for option in quotes[number].options:
        for row in option.materials:
            assert row.price == to_cent(row.need * row.unit_price), row.id
            assert row.cost == to_cent(row.need * row.unit_cost), row.id


@every_example
def test_hours_are_the_pert_mean_within_a_hundredth(quotes: dict[str, Quote], number: str) -> None:
    # te = (a + 4 m + b) / 6 (PERT; maxwideman.com/issacons3/iac1312/tsld010.htm)
    for option in quotes[number].options:
        for row in option.labour:
            if row.hours == row.ruled_hours:
                assert abs(row.hours - (row.low + 4 * row.likely + row.high) / 6) <= Decimal("0.01"), row.id


@every_example
def test_the_steps_add_up_to_the_difference_of_the_options(quotes: dict[str, Quote], number: str) -> None:
    quote = quotes[number]
    for step, small, large in zip(quote.steps, quote.options, quote.options[1:], strict=False):
        rows = sum(row.materials + row.labour for row in step.rows)
        assert rows + step.freight - step.discount + step.tax + step.rounding == step.total
        assert step.total == large.totals.total - small.totals.total


@every_example
def test_the_payments_sum_to_the_total(quotes: dict[str, Quote], number: str) -> None:
    for option in quotes[number].options:
        assert sum(payment.amount for payment in option.plan) == option.totals.total


def test_eastmoor_caps_the_deposit(quotes: dict[str, Quote]) -> None:
    for option in quotes["3"].options:
        assert option.plan[0].amount == min(Decimal(1000), to_cent(option.totals.total / 10))


# ---------------------------------------------------------------- one infrastructure

@every_example
def test_open_walls_are_cabled_the_same_in_every_option(quotes: dict[str, Quote], number: str) -> None:
    quote = quotes[number]
    cables = [
        {row.id: row.need for row in option.materials if row.phase == "rough-in" and row.unit in ("ft", "m")
         and quote.parts[row.part].category == "cable"} for option in quote.options]
    if quote.job.wall_state == "open":
        assert cables[0] == cables[1] == cables[2] != {}


@every_example
def test_nothing_is_bought_short(quotes: dict[str, Quote], number: str) -> None:
    for option in quotes[number].options:
        need: dict[str, Decimal] = {}
        for row in option.materials:
            need[row.part] = need.get(row.part, Decimal(0)) + row.need
        bought = {purchase.part: purchase.buy for purchase in option.purchases}
        assert {part for part, amount in need.items() if amount > bought.get(part, Decimal(0))} == set()


@every_example
def test_each_run_is_cut_once_and_whole(quotes: dict[str, Quote], number: str) -> None:
    quote = quotes[number]
    for option in quote.options:
        runs = [run["id"] for facts in (quote.facts, option.facts) for run in facts.get("cable_run", ())
                if run["part"] and not run["reused"]]
        cuts = [cut.run for spool in option.spools for cut in spool.cuts]
        assert sorted(cut for cut in cuts if cut in set(runs)) == sorted(runs)
        for spool in option.spools:
            assert sum(cut.length for cut in spool.cuts) + spool.tail == spool.size


# ---------------------------------------------------------------- why

@every_example
def test_every_because_resolves_to_a_rule_row_a_fact_and_intake_cells(quotes: dict[str, Quote], number: str) -> None:
    quote = quotes[number]
    rules = dict(_rule_cells())
    workbook = openpyxl.load_workbook(next(EXAMPLES.glob(f"{number}-*.xlsx")))
    sheets = {sheet.title: sheet.dimensions for sheet in workbook}
    for option in quote.options:
        facts = {row["id"] for kinds in (quote.facts, option.facts) for rows in kinds.values() for row in rows}
        for row_id, reason in reasons(option):
            assert rules.get(reason.rule_cell) == reason.rule.split()[-1], f"{row_id}: {reason}"
            assert reason.fact in facts or reason.rule.startswith(("waste", "leftover")), f"{row_id}: {reason.fact}"
            assert reason.cells or reason.rule.startswith(("waste", "leftover")), f"{row_id}: {reason}"
            for cell in reason.cells:
                assert cell.file == quote.job.file and cell.sheet in sheets, f"{row_id}: {cell}"


def _rule_cells() -> list[tuple[Cell, str]]:
    found = []
    for path in [*sorted((DEMO / "rules").glob("*.csv")), *sorted((DEMO / "standards").glob("*.csv"))]:
        rows = list(csv.reader(path.open(encoding="utf-8-sig", newline="")))
        name = path.relative_to(DEMO).as_posix()
        found += [(Cell(name, "", f"A{number}"), row[0]) for number, row in enumerate(rows, 1) if row]
    return found


def test_at_least_38_derivations_have_a_case_of_their_own() -> None:
    cases = list(csv.DictReader((DEMO / "cases.csv").open(encoding="utf-8-sig", newline="")))
    named = {word for case in cases for word in case["gives"].replace(";", " ").split() if "-" in word}
    parts_rules = set()
    for path in sorted((DEMO / "rules").glob("*.csv")):
        for row in csv.DictReader(path.open(encoding="utf-8-sig", newline="")):
            if not row["add"].startswith("say.") and "." not in row["add"]:
                parts_rules.add(row["rule"])
    assert len(parts_rules & named) >= 38


# ---------------------------------------------------------------- documents

@every_example
def test_documents_from_the_parsed_quote_file_are_the_same_bytes(
    quotes: dict[str, Quote], number: str, tmp_path: Path
) -> None:
    again = decode_quote(encode_quote(quotes[number]))
    assert _files(quotes[number], tmp_path / "one") == _files(again, tmp_path / "two")


@every_example
def test_the_same_input_gives_the_same_bytes_on_another_day(number: str, tmp_path: Path) -> None:
    workbook = next(EXAMPLES.glob(f"{number}-*.xlsx"))
    sets = []
    for day, name in ((datetime.date(2026, 9, 22), "one"), (datetime.date(2027, 5, 1), "two")):
        quote, _ = quote_workbook(workbook, DEMO, PRICED_ON, day)
        assert quote is not None
        sets.append(_files(quote, tmp_path / name))
    assert sets[0] == sets[1]


def _files(quote: Quote, folder: Path) -> dict[str, bytes]:
    folder.mkdir()
    write_documents(quote, folder, (ROOT / "templates",))
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in sorted(folder.rglob("*"))
            if path.is_file()}


@every_example
def test_nothing_internal_reaches_the_customer(quotes: dict[str, Quote], number: str, tmp_path: Path) -> None:
    quote = quotes[number]
    pages = {name: content.decode() for name, content in _files(quote, tmp_path / "set").items()
             if name.startswith("customer/")}
    secret = {purchase.supplier for option in quote.options for purchase in option.purchases}
    secret |= {part for part in quote.parts if len(part) > 4}
    secret |= {str(option.totals.cost) for option in quote.options}
    secret |= {str(option.totals.gross_profit) for option in quote.options}
    alone = re.compile("|".join(rf"(?<!\d){re.escape(word)}(?!\d)" for word in secret))  # 00541 is no 100541.01
    assert pages and {word for page in pages.values() for word in alone.findall(page)} == set()


def test_what_cuts_holds_and_bags_is_there_when_cables_are_fished_through_finished_walls(
        quotes: dict[str, Quote]) -> None:
    # common practice, no source: openings are cut to fish the cable, so blades, flush boxes and bags are first
    phases = {(row.part, row.phase) for row in quotes["2"].options[-1].materials
              if row.part in ("00421", "00121", "00215")}
    assert phases == {(part, "rough-in") for part in ("00421", "00121", "00215")}


def test_nothing_is_cut_any_more_when_finished_rooms_are_fitted(quotes: dict[str, Quote], demo: Catalog) -> None:
    # common practice, no source: the opening that a cable is fished through is cut on the visit that fishes it
    for option in quotes["2"].options:
        cut = {(row.phase, demo.tasks[row.task].labour_class) for row in option.labour if row.wall_state == "finished"}
        openings = sum(row.units for row in option.labour if row.task == "rough.cut opening")
        assert ("rough-in", "cutting") in cut and ("trim-out", "cutting") not in cut
        assert openings == sum(row["mount"] in ("ceiling", "wall") for row in option.facts["speaker"])

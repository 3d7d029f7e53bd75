"""Rules: sheets read and checked, facts to lines, cases."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from quoting.catalog.read import read_catalog
from quoting.catalog.records import Catalog
from quoting.facts import CableRun, ExtraPart, Fact, JobFact, PhaseEffort, Speaker
from quoting.lines import LabourLine, Line, MaterialLine, StatementLine
from quoting.problems import Cell, Problem
from quoting.rules.apply import apply_rules
from quoting.rules.book import RuleBook, make_book
from quoting.rules.cases import make_fact
from quoting.rules.check import check_rules
from quoting.rules.read import read_rules
from tests.rules import small_catalog as small
from tests.rules.small_catalog import codes, read_small_rules, write_catalog

DEMO = Path(__file__).resolve().parents[2] / "catalogs" / "demo"
TYPED = Cell("1-house.xlsx", "Rooms", "B7")
HEADINGS = "rule,mount,wall_state,ceiling_height_ft,bracket,add,add_from,quantity,phase,note,reference\n"
RUNS = "rule,purpose,add,add_from,quantity,phase\n"


def speaker(**fields: Any) -> Fact:
    return make_fact("speaker", {"id": "KIT-SP1", "room": "KIT", "zone": 2, "part": "SPK-A", "mount": "ceiling",
                                 "bracket": "0012", "where": (TYPED,), **fields})


def run(**fields: Any) -> Fact:
    return make_fact("cable_run", {"id": "114", "room": "KIT", "length_m": 30.48, **fields})


def apply(
    folder: Path, facts: list[Fact], changes: dict[str, str] | None = None, option: str = "good", system: str = "AWG"
) -> tuple[tuple[Line, ...], tuple[Problem, ...]]:
    catalog, book, problems = read_small_rules(folder, changes)
    assert problems == (), [str(problem) for problem in problems]
    return apply_rules(facts, book, catalog, option, system, "finished")


def sheet(*rows: str) -> dict[str, str]:
    return {"rules/speaker.csv": HEADINGS + "".join(f"{row}\n" for row in rows)}


def run_sheet(*rows: str) -> dict[str, str]:
    return {"rules/cable_run.csv": RUNS + "".join(f"{row}\n" for row in rows)}


def problems_of(folder: Path, changes: dict[str, str]) -> tuple[Problem, ...]:
    return read_small_rules(folder, changes)[2]


# ---------------------------------------------------------------- lines

def test_every_row_that_matches_adds_its_line(tmp_path: Path) -> None:
    lines, _ = apply(tmp_path, [speaker()])

    assert [line.because.rule for line in lines] == ["SPK-010", "SPK-020", "SPK-030"]


def test_a_line_says_which_rule_cell_fact_and_intake_cell_brought_it(tmp_path: Path) -> None:
    reason = apply(tmp_path, [speaker()])[0][1].because

    assert (reason.rule_cell, reason.fact, reason.cells, reason.amount) == (
        Cell("rules/speaker.csv", "", "A3"), "KIT-SP1", (TYPED,), Decimal(1))


def test_a_line_takes_room_and_zone_from_its_fact(tmp_path: Path) -> None:
    line = apply(tmp_path, [speaker()])[0][0]

    assert isinstance(line, MaterialLine) and (line.room, line.zone) == ("KIT", 2)


def test_a_part_comes_out_of_the_field_that_add_from_names(tmp_path: Path) -> None:
    lines, _ = apply(tmp_path, [speaker()])

    assert [line.part for line in lines if isinstance(line, MaterialLine)] == ["SPK-A", "0012"]


def test_a_role_becomes_the_options_first_part(tmp_path: Path) -> None:
    rows = run_sheet("RUN-010,,speaker cable 4-conductor,,length_m,rough-in")
    lines, _ = apply(tmp_path, [run()], rows, system="mm2")

    assert [line.part for line in lines if isinstance(line, MaterialLine)] == ["CAB-15"]


@pytest.mark.parametrize(("system", "quantity"), [("AWG", "100.000"), ("mm2", "30.480")])
def test_a_length_comes_in_the_unit_that_the_part_is_sold_in(tmp_path: Path, system: str, quantity: str) -> None:
    # 30.48 m = 100 ft, exact by the definition of the foot
    rows = run_sheet("RUN-010,,speaker cable 4-conductor,,length_m,rough-in")
    lines, _ = apply(tmp_path, [run()], rows, system=system)

    assert [str(line.quantity) for line in lines if isinstance(line, MaterialLine)] == [quantity]


def test_an_amount_of_nothing_adds_no_line(tmp_path: Path) -> None:
    rows = run_sheet("RUN-010,,speaker cable 4-conductor,,length_m,rough-in")

    assert apply(tmp_path, [run(length_m=0.0)], rows) == ((), ())


def test_a_statement_is_a_line_without_amount(tmp_path: Path) -> None:
    lines, _ = apply(tmp_path, [speaker(ceiling_height_m=5.0)])

    assert [line.statement for line in lines if isinstance(line, StatementLine)] == ["say.ladder"]


def test_hours_are_those_of_the_facts_own_wall_state(tmp_path: Path) -> None:
    rows = run_sheet("RUN-010,,rough.home run,,length_m,rough-in")
    lines, _ = apply(tmp_path, [run(wall_state="open")], rows)

    # 100 ft at 0.01, 0.02, 0.03 hours a foot
    assert [(line.low, line.likely, line.high) for line in lines if isinstance(line, LabourLine)] == [(1, 2, 3)]


def test_a_fact_without_a_wall_state_takes_the_jobs(tmp_path: Path) -> None:
    rows = {"rules/paging.csv": "rule,name,add,quantity,phase\nPAG-010,,rough.home run,10ft,rough-in\n"}
    lines, _ = apply(tmp_path, [make_fact("paging", {})], rows)

    assert [line.wall_state for line in lines if isinstance(line, LabourLine)] == ["finished"]


def test_a_factor_multiplies_the_hours_and_is_named(tmp_path: Path) -> None:
    [line] = [line for line in apply(tmp_path, [speaker(ceiling_height_m=4.0)])[0] if isinstance(line, LabourLine)]

    # 0.3 hours x 1.2 for the ladder
    assert (line.likely, [factor.name for factor in line.factors]) == (Decimal("0.36"), ["ladder"])


def test_the_product_of_factors_stops_at_the_cap_which_is_named(tmp_path: Path) -> None:
    facts = [speaker(ceiling_height_m=4.0, occupied=True)]
    [line] = [line for line in apply(tmp_path, facts)[0] if isinstance(line, LabourLine)]

    # 1.2 x 1.4 = 1.68 is over the firm's 1.5: 0.3 x 1.5
    assert (line.likely, [(factor.name, factor.multiplier) for factor in line.factors]) == (
        Decimal("0.45"), [("ladder", Decimal("1.2")), ("occupied", Decimal("1.4")), ("cap", Decimal("1.5"))])


def test_a_factor_does_not_apply_to_a_fact_without_the_field_that_it_tests(tmp_path: Path) -> None:
    rows = {"rules/paging.csv": "rule,name,add,quantity,phase\nPAG-010,,trim.speaker,1,trim-out\n"}
    [line] = apply(tmp_path, [make_fact("paging", {})], rows)[0]

    assert isinstance(line, LabourLine) and line.factors == ()


def test_an_empty_phase_is_the_facts_own(tmp_path: Path) -> None:
    rows = {"rules/phase_effort.csv": "rule,id,add,quantity,phase\nEFF-010,,trim.speaker,1,\n"}
    [line] = apply(tmp_path, [make_fact("phase_effort", {"phase": "rack build"})], rows)[0]

    assert isinstance(line, LabourLine) and line.phase == "rack build"


@pytest.mark.parametrize(("row", "fact", "code"), [
    ("SPK-020,,,,,,bracket,,rough-in,,", {"bracket": ""}, "no-part-in-field"),
    ("SPK-020,,,,,,bracket,,rough-in,,", {"bracket": "GONE-1"}, "unknown-part"),
    ("SPK-020,,,,,streamer,,,rough-in,,", {}, "no-part-for-role"),
    ("SPK-020,,,,,rough.bracket,,,rough-in,,", {"wall_state": "finished"}, "no-hours"),
    ("SPK-020,,,,,SPK-A,,1 / anchors,rough-in,,", {}, "no-quantity"),
    ("SPK-020,,,,,SPK-A,,0 - 1,rough-in,,", {}, "negative-quantity"),
    ("SPK-020,,,,,,bracket,ceiling_height_m,rough-in,,", {"ceiling_height_m": 1.0}, "wrong-dimension"),
])
def test_a_line_that_cannot_be_made_is_a_stop(tmp_path: Path, row: str, fact: dict[str, Any], code: str) -> None:
    _, problems = apply(tmp_path, [speaker(**fact)], sheet(row))

    assert [(problem.code, problem.severity, problem.where.ref) for problem in problems] == [(code, "stop", "A2")]


def test_a_stop_names_rule_fact_and_intake_cell(tmp_path: Path) -> None:
    [problem] = apply(tmp_path, [speaker(bracket="")], sheet("SPK-020,,,,,,bracket,,rough-in,,"))[1]

    assert problem.message == (
        "Rule 'SPK-020' for speaker 'KIT-SP1' (1-house.xlsx Rooms!B7): its field 'bracket' names no part.")


@pytest.fixture(scope="module")
def small_book(tmp_path_factory: pytest.TempPathFactory) -> tuple[Catalog, RuleBook]:
    catalog, book, _ = read_small_rules(tmp_path_factory.mktemp("small"))
    return catalog, book


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(order=st.permutations(range(4)), mount=st.sampled_from(["ceiling", "wall"]), height=st.floats(2, 6),
       bracket=st.sampled_from(["", "0012"]))
def test_the_order_of_rules_never_changes_the_lines(
    small_book: tuple[Catalog, RuleBook], order: list[int], mount: str, height: float, bracket: str
) -> None:
    catalog, book = small_book
    facts = [speaker(mount=mount, ceiling_height_m=height, bracket=bracket)]
    turned = make_book(tuple(book.rules[index] for index in order), book.factors)
    one, other = (apply_rules(facts, each, catalog, "good", "AWG", "open")[0] for each in (book, turned))

    assert sorted(map(repr, one)) == sorted(map(repr, other))


# ---------------------------------------------------------------- reading

@pytest.mark.parametrize(("row", "cell", "code"), [
    ("SPK-010,in-celing,,,,SPK-A,,1,trim-out,,", "B2", "not-a-condition"),
    ("SPK-010,,,over 3,,SPK-A,,1,trim-out,,", "D2", "not-a-condition"),
    ("SPK-010,,,,,SPK-Z,,1,trim-out,,", "F2", "unknown-add"),
    ("SPK-010,,,,,SPK-A,part,1,trim-out,,", "F2", "add-one"),
    ("SPK-010,,,,,,,1,trim-out,,", "F2", "add-one"),
    ("SPK-010,,,,,,size_in,1,trim-out,,", "G2", "unknown-field"),
    ("SPK-010,,,,,SPK-A,,ceiling_height_m,trim-out,,", "H2", "not-a-quantity"),
    ("SPK-010,,,,,SPK-A,,lenght_m,trim-out,,", "H2", "not-a-quantity"),
    ("SPK-010,,,,,rough.home run,,,trim-out,,", "H2", "not-a-quantity"),
    ("SPK-010,,,,,SPK-A,,1,trimming,,", "I2", "unknown-phase"),
    ("SPK-010,,,,,SPK-A,,1,,,", "I2", "unknown-phase"),
    (",,,,,SPK-A,,1,trim-out,,", "A2", "missing-value"),
])
def test_a_slip_in_a_rule_is_told_of_at_its_cell(tmp_path: Path, row: str, cell: str, code: str) -> None:
    assert codes(problems_of(tmp_path, sheet(row))) == [(f"rules/speaker.csv {cell}", code)]


def test_a_row_with_two_slips_tells_of_both(tmp_path: Path) -> None:
    problems = problems_of(tmp_path, sheet("SPK-010,roof,,,,SPK-Z,,1,trim-out,,"))

    assert [code for _, code in codes(problems)] == ["not-a-condition", "unknown-add"]


def test_a_column_that_is_no_field_is_told_of(tmp_path: Path) -> None:
    changes = {"rules/speaker.csv": "rule,colour_of_sky,add,phase\n", "cases.csv": "case,kind,fields,gives\n"}

    assert codes(problems_of(tmp_path, changes)) == [("rules/speaker.csv B1", "unknown-heading")]


def test_an_id_stands_once_over_all_sheets(tmp_path: Path) -> None:
    [problem] = problems_of(tmp_path, {"rules/zone.csv": "rule,add,phase\nSPK-010,SPK-A,trim-out\n"})

    assert (problem.code, problem.message) == ("id-twice", "'SPK-010' is already at rules/speaker.csv A2.")


def test_a_sheet_that_is_no_fact_kind_is_told_of(tmp_path: Path) -> None:
    problems = problems_of(tmp_path, {"rules/lamp.csv": "rule,add,phase\n"})

    assert codes(problems) == [("rules/lamp.csv ", "unknown-fact-kind")]


@pytest.mark.parametrize(("row", "cell", "code"), [
    ("FAC-010,ladder,\"fixing, glueing\",> 12,,1.2,x", "factors.csv C2", "unknown-labour-class"),
    ("FAC-010,ladder,fixing,tall,,1.2,x", "factors.csv D2", "not-a-condition"),
    ("FAC-010,ladder,fixing,> 12,,20%,x", "factors.csv F2", "not-a-number"),
])
def test_a_slip_in_a_factor_is_told_of_at_its_cell(tmp_path: Path, row: str, cell: str, code: str) -> None:
    text = f"row,factor,labour_class,ceiling_height_ft,occupied,multiplier,reference\n{row}\n"

    assert codes(problems_of(tmp_path, {"factors.csv": text})) == [(cell, code)]


# ---------------------------------------------------------------- checking

def checked(folder: Path, changes: dict[str, str]) -> list[tuple[str, str]]:
    """What the check of the small catalogue with changed files says, without what nothing uses."""
    catalog, book, problems = read_small_rules(folder, changes)
    assert problems == (), [str(problem) for problem in problems]
    return [pair for pair in codes(check_rules(book, catalog)) if not pair[1].startswith("unused")]


def cases(*rows: str) -> dict[str, str]:
    head, *usual = small.CASES.splitlines(keepends=True)
    return {"cases.csv": head + "".join(f"{row}\n" for row in rows) + "".join(usual)}


def test_sound_rules_with_their_cases_say_nothing(tmp_path: Path) -> None:
    assert checked(tmp_path, {}) == []


@pytest.mark.parametrize(("row", "cell", "code"), [
    ("wrong amount,speaker,good,part=SPK-A; mount=wall,SPK-A x 2", "cases.csv E2", "case-differs"),
    ("a line more,speaker,good,part=SPK-A; mount=ceiling,SPK-A x 1", "cases.csv E2", "case-differs"),
    ("a silent rule,speaker,good,part=SPK-A; mount=wall,rule SPK-030", "cases.csv E2", "case-differs"),
    ("nothing,speaker,good,part=SPK-A; mount=wall,nothing", "cases.csv E2", "case-differs"),
    ("a stop,speaker,good,mount=wall,nothing", "cases.csv E2", "case-stops"),
    ("no kind,lamp,good,,nothing", "cases.csv B2", "unknown-fact-kind"),
    ("no option,speaker,superb,part=SPK-A; mount=wall,SPK-A x 1", "cases.csv C2", "unknown-option"),
    ("no field,speaker,good,part=SPK-A; mounting=wall,SPK-A x 1", "cases.csv D2", "unknown-field"),
    ("no choice,speaker,good,part=SPK-A; mount=roof,SPK-A x 1", "cases.csv D2", "unknown-choice"),
    ("no amount,speaker,good,part=SPK-A; mount=wall,SPK-A", "cases.csv E2", "not-an-amount"),
    ("no part,speaker,good,part=SPK-A; mount=wall,SPK-Z x 1", "cases.csv E2", "unknown-add"),
    ("no rule,speaker,good,part=SPK-A; mount=wall,rule SPK-999", "cases.csv E2", "unknown-rule"),
])
def test_a_case_that_fails_is_told_of_at_its_cell(tmp_path: Path, row: str, cell: str, code: str) -> None:
    assert checked(tmp_path, cases(row)) == [(cell, code)]


def test_a_rule_that_no_case_matches_is_told_of(tmp_path: Path) -> None:
    changes = {"rules/speaker.csv": small.RULES + "SPK-050,garden,,,,0012,,1,trim-out,,\n"}

    assert checked(tmp_path, changes) == [("rules/speaker.csv A6", "case-missing")]


def test_a_rule_that_no_case_misses_is_told_of(tmp_path: Path) -> None:
    changes = {"rules/speaker.csv": small.RULES.replace("SPK-010,,", "SPK-010,not garden,")}

    assert checked(tmp_path, changes) == [("rules/speaker.csv A2", "case-missing")]


def test_a_rule_that_can_never_match_is_told_of(tmp_path: Path) -> None:
    changes = {"rules/speaker.csv": small.RULES + "SPK-050,,,5..3,,0012,,1,trim-out,,\n"}

    assert ("rules/speaker.csv A6", "never-matches") in checked(tmp_path, changes)


def test_a_part_that_somebody_fits_needs_a_task_of_its_class_where_it_is_added(tmp_path: Path) -> None:
    changes = {"rules/zone.csv": "rule,name,add,phase\nZON-010,,SPK-A,trim-out\n",
               **cases("a zone,zone,good,,SPK-A x 1")}

    assert checked(tmp_path, changes) == [("parts.csv A2", "no-labour")]


def test_parts_tasks_and_statements_that_nothing_uses_are_warned_of(tmp_path: Path) -> None:
    lamp = "LAMP-1,lamp,a lamp,small parts,each,none,,Invented Supply,5,stock,,,no,\n"
    catalog, book, _ = read_small_rules(tmp_path, {"parts.csv": small.PARTS + lamp})

    assert [(problem.code, problem.where.ref) for problem in check_rules(book, catalog)
            if problem.where.file == "parts.csv"] == [("unused-part", "A6")]


def test_two_answers_of_a_standard_are_found_before_a_quote_meets_them(tmp_path: Path) -> None:
    rows = "row,end,slack_ft\nSLK-010,\"speaker, control\",10\nSLK-020,not speaker,5\n"

    assert checked(tmp_path, {"standards/slack.csv": rows}) == [("standards/slack.csv A3", "two-rows-answer")]


def test_an_option_for_which_a_standard_has_no_row_is_found_before_a_quote_meets_it(tmp_path: Path) -> None:
    rows = "row,option,full_pairs,at_most\nOPP-010,good,-,1\n"

    assert checked(tmp_path, {"standards/option_pairs.csv": rows}) == [
        ("standards/option_pairs.csv ", "no-row-answers")]


# ---------------------------------------------------------------- the starter catalogue

@pytest.fixture(scope="module")
def demo() -> tuple[Catalog, RuleBook, tuple[Problem, ...]]:
    catalog, _ = read_catalog(DEMO, small.ON)
    assert catalog is not None
    return (catalog, *read_rules(DEMO, catalog))


def test_the_starter_catalogues_rules_are_sound(demo: tuple[Catalog, RuleBook, tuple[Problem, ...]]) -> None:
    assert [str(problem) for problem in demo[2]] == []


def test_the_starter_catalogue_passes_its_own_check(demo: tuple[Catalog, RuleBook, tuple[Problem, ...]]) -> None:
    problems = check_rules(demo[1], demo[0])

    assert [str(problem) for problem in problems if problem.severity == "stop"] == []


def test_a_changed_multiplier_of_the_starter_catalogue_changes_hours_and_nothing_else(
    demo: tuple[Catalog, RuleBook, tuple[Problem, ...]]
) -> None:
    catalog, book, _ = demo
    doubled = make_book(book.rules, tuple(replace(row, multiplier=row.multiplier * 2) for row in book.factors))
    fact = make_fact("speaker", {"id": "X", "part": next(iter(catalog.speakers)), "ceiling_height_m": 5.0, "cut": True})
    one, other = (apply_rules([fact], each, catalog, "good", "AWG", "open")[0] for each in (book, doubled))

    assert [line for line in one if isinstance(line, MaterialLine)] == [
        line for line in other if isinstance(line, MaterialLine)]


def test_kinds_of_facts_are_made_neutral_by_type() -> None:
    made = [make_fact(kind, {}) for kind in ("job", "cable_run", "phase_effort", "extra_part")]

    assert [type(fact) for fact in made] == [JobFact, CableRun, PhaseEffort, ExtraPart]


def test_a_neutral_fact_takes_the_first_choice_no_and_nothing() -> None:
    fact = make_fact("speaker", {})

    assert isinstance(fact, Speaker) and (fact.wall_state, fact.cut, fact.part, fact.anchors) == ("open", False, "", 0)


def test_writing_the_small_catalogue_twice_gives_one_catalogue(tmp_path: Path) -> None:
    first, second = (read_catalog(write_catalog(tmp_path / name), small.ON)[0] for name in ("a", "b"))

    assert first is not None and second is not None and first.fingerprint == second.fingerprint

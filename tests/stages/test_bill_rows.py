"""Lines of one part or task in one room and phase meet, and counted parts get their waste."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quoting.bill import merge_lines
from quoting.lines import Factor
from quoting.tables.decision import Unanswered
from tests.stages.pricing_stubs import labour, make_catalog, make_part, material, override, standard, statement

D = Decimal
CATALOG = make_catalog()


def test_lines_of_one_part_in_one_room_and_phase_are_one_row() -> None:
    rows, _ = merge_lines([material("SPK", "2"), material("SPK", "1", fact="KIT-SP3")], (), CATALOG)

    assert [(row.id, row.need) for row in rows.materials] == [("SPK/KIT/trim-out", D(3))]


@pytest.mark.parametrize("other", [{"room": "LIV"}, {"phase": "rough-in"}])
def test_another_room_or_phase_is_another_row(other: dict[str, str]) -> None:
    rows, _ = merge_lines([material("SPK"), material("SPK", **other)], (), CATALOG)  # type: ignore[arg-type]

    assert len(rows.materials) == 2


def test_a_row_keeps_every_reason_with_what_it_brings() -> None:
    rows, _ = merge_lines([material("SPK", "2"), material("SPK", "1", fact="KIT-SP3", rule="SPK-020")], (), CATALOG)

    assert [(why.rule, why.fact, why.amount) for why in rows.materials[0].because] == [
        ("SPK-010", "KIT-SP1", D(2)), ("SPK-020", "KIT-SP3", D(1))]


def test_a_row_for_the_whole_job_is_named_so() -> None:
    rows, _ = merge_lines([material("RACK", room="", zone=0)], (), CATALOG)

    assert rows.materials[0].id == "RACK/JOB/trim-out"


def test_a_row_of_two_zones_belongs_to_none() -> None:
    rows, _ = merge_lines([material("SPK", zone=1), material("SPK", zone=2)], (), CATALOG)

    assert rows.materials[0].zone == 0


def test_rows_stand_by_phase_then_room_then_part() -> None:
    lines = [material("SPK"), material("CAB", phase="rough-in", room="LIV"), material("CAB", phase="rough-in"),
             material("PLATE", "0")]

    rows, _ = merge_lines(lines, (), CATALOG)

    assert [row.id for row in rows.materials] == [
        "CAB/KIT/rough-in", "CAB/LIV/rough-in", "PLATE/KIT/trim-out", "SPK/KIT/trim-out"]


def test_hours_are_the_pert_mean_rounded_once() -> None:
    # (low + 4 likely + high) / 6; 0.305 + 0.305 = 0.61, where each line rounded by itself would give 0.62
    lines = [labour("rough.pull", "0.305", "0.305", "0.305"), labour("rough.pull", "0.305", "0.305", "0.305")]

    rows, _ = merge_lines(lines, (), CATALOG)

    assert rows.labour[0].hours == D("0.61")


def test_a_labour_row_takes_the_wall_state_of_most_of_its_hours() -> None:
    lines = [labour("rough.pull", likely="1"), labour("rough.pull", likely="5", wall_state="finished")]

    rows, _ = merge_lines(lines, (), CATALOG)

    assert rows.labour[0].wall_state == "finished"


def test_a_factor_that_two_lines_bring_is_named_once() -> None:
    ladder = Factor("ladder 14 ft", D("1.08"), "FCT-010")

    rows, _ = merge_lines([labour("rough.pull", factors=(ladder,)), labour("rough.pull", factors=(ladder,))], (),
                          CATALOG)

    assert rows.labour[0].factors == (ladder,)


def test_statements_pass_through() -> None:
    rows, _ = merge_lines([statement()], (), CATALOG)

    assert [line.statement for line in rows.statements] == ["say.paint"]


def test_a_part_that_the_catalogue_lacks_is_a_stop() -> None:
    rows, problems = merge_lines([material("GHOST"), material("SPK")], (), CATALOG)

    assert [(p.severity, p.code) for p in problems] == [("stop", "unknown-part")]
    assert "'GHOST'" in problems[0].message
    assert [row.part for row in rows.materials] == ["SPK"]


# ---------------------------------------------------------------- waste of counted parts

def _waste(*lines: object, **changes: object) -> list[tuple[str, Decimal]]:
    rows, _ = merge_lines(lines, (), CATALOG, **changes)  # type: ignore[arg-type]
    return [(row.id, row.need) for row in rows.materials if not row.room]


def test_counted_parts_get_spare_pieces_for_the_whole_job() -> None:
    # 5 % of 25 + 25 = 2.5, half up: three pieces for the job, and not two of one a room
    assert _waste(material("PLATE", "25"), material("PLATE", "25", "LIV")) == [("PLATE/JOB/trim-out", D(3))]


@pytest.mark.parametrize(("used", "spare"), [("40", 2), ("49", 2), ("10", 1)])
def test_spare_pieces_are_the_nearest_whole_number(used: str, spare: int) -> None:
    assert _waste(material("PLATE", used)) == [("PLATE/JOB/trim-out", D(spare))]


def test_a_few_pieces_bring_no_spare_one() -> None:
    # 5 % of 9 = 0.45: a job with one binder does not get two
    assert _waste(material("PLATE", "9")) == []


def test_each_phase_has_its_own_spare_pieces() -> None:
    assert _waste(material("PLATE", "20"), material("PLATE", "20", phase="rough-in")) == [
        ("PLATE/JOB/rough-in", D(1)), ("PLATE/JOB/trim-out", D(1))]


@pytest.mark.parametrize("part", ["SPK", "CAB"])
def test_a_category_without_waste_and_a_cable_get_none(part: str) -> None:
    assert _waste(material(part, "40")) == []


def test_the_first_pass_adds_no_waste() -> None:
    assert _waste(material("PLATE", "40"), final=False) == []


def test_waste_names_its_standards_row_and_the_cells_of_what_it_adds_up() -> None:
    rows, _ = merge_lines([material("PLATE", "40")], (), CATALOG)
    why = rows.materials[0].because[0]

    assert (why.rule, why.rule_cell.file, why.fact) == ("waste CNT-010", "standards/counted_waste.csv", "JOB")
    assert [str(cell) for cell in why.cells] == ["job.xlsx Rooms!A2"]


def test_waste_joins_what_the_job_already_has() -> None:
    rows, _ = merge_lines([material("PLATE", "30", room=""), material("PLATE", "30")], (), CATALOG)

    assert [(row.id, row.need) for row in rows.materials] == [
        ("PLATE/JOB/trim-out", D(33)), ("PLATE/KIT/trim-out", D(30))]  # 30 and 5 % of 60


def test_waste_counts_what_the_estimator_typed() -> None:
    rows, _ = merge_lines([material("PLATE", "5")], [override("PLATE/KIT/trim-out", "quantity", "100")], CATALOG)

    assert [row.need for row in rows.materials if not row.room] == [D(5)]


def test_the_estimator_may_take_the_waste_away() -> None:
    rows, _ = merge_lines([material("PLATE", "40")], [override("PLATE/JOB/trim-out", "drop")], CATALOG)

    assert [(row.id, row.need, row.ruled_need) for row in rows.materials if not row.room] == [
        ("PLATE/JOB/trim-out", D(0), D(2))]


def test_a_category_that_the_waste_standard_forgot_is_reported_as_unanswered() -> None:
    catalog = make_catalog(tables=[standard("counted_waste", {"category": "cable", "waste_rate": "0"})])

    with pytest.raises(Unanswered, match="no row answers for category small parts"):
        merge_lines([material("PLATE")], (), catalog)


@given(st.lists(st.tuples(st.sampled_from(["SPK", "PLATE"]), st.sampled_from(["", "KIT", "LIV"]),
                          st.integers(0, 500)), max_size=30))
def test_the_reasons_of_every_row_sum_to_its_need(picked: list[tuple[str, str, int]]) -> None:
    lines = [material(part, str(count), room) for part, room, count in picked]

    rows, _ = merge_lines(lines, [override("SPK/KIT/trim-out", "quantity", "7")], CATALOG)

    assert all(sum((why.amount for why in row.because), D(0)) == row.need for row in rows.materials)


def test_parts_of_one_catalogue_unit_keep_it() -> None:
    catalog = make_catalog(parts=[make_part("CAB", "cable", "m")])

    rows, _ = merge_lines([material("CAB", "12.5")], (), catalog)

    assert rows.materials[0].unit == "m"

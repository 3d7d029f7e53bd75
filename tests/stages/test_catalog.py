"""The catalogue reader: what a folder becomes, and every slip with its cell."""

from __future__ import annotations

import datetime
import re
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from quoting.catalog.read import fingerprint, read_catalog
from quoting.problems import Problem
from quoting.rules.check import check_rules
from quoting.rules.read import read_rules
from tests.rules import small_catalog as small
from tests.rules.small_catalog import codes, read_small, write_catalog

DEMO = Path(__file__).resolve().parents[2] / "catalogs" / "demo"


def problems_with(folder: Path, file: str, old: str, new: str) -> tuple[Problem, ...]:
    """The problems of the small catalogue in which one text of one file is replaced."""
    text = small.FILES[file]
    assert old in text
    return read_catalog(write_catalog(folder, {file: text.replace(old, new, 1)}), small.ON)[1]


def test_the_small_catalogue_is_sound(tmp_path: Path) -> None:
    assert read_small(tmp_path)[1] == ()


def test_a_part_number_keeps_its_leading_zeros(tmp_path: Path) -> None:
    assert "0012" in read_small(tmp_path)[0].parts


def test_a_column_headed_in_inches_fills_millimetres(tmp_path: Path) -> None:
    # 4 in = 101.6 mm, exact by the definition of the inch
    assert read_small(tmp_path)[0].speakers["SPK-A"].depth_mm == pytest.approx(101.6)


def test_the_latest_price_that_is_not_in_the_future_is_in_force(tmp_path: Path) -> None:
    catalog, _ = read_small(tmp_path)

    assert [price.cost for price in catalog.prices["SPK-A", "USD"]] == [Decimal("36.00")]


def test_before_a_price_change_the_older_price_is_in_force(tmp_path: Path) -> None:
    catalog, _ = read_small(tmp_path, on=datetime.date(2026, 8, 31))

    assert [price.cost for price in catalog.prices["SPK-A", "USD"]] == [Decimal("34.00")]


def test_put_ups_come_largest_first(tmp_path: Path) -> None:
    catalog, _ = read_small(tmp_path)

    assert [price.put_up for price in catalog.prices["CAB-16", "USD"]] == [1000, 500]


def test_a_role_names_the_part_of_the_gauge_system(tmp_path: Path) -> None:
    catalog, _ = read_small(tmp_path)

    assert [catalog.parts_for("speaker cable 4-conductor", "good", system) for system in ("AWG", "mm2")] == [
        ("CAB-16",), ("CAB-15",)]


def test_a_dash_means_that_an_option_has_no_part_for_a_role(tmp_path: Path) -> None:
    assert read_small(tmp_path)[0].parts_for("streamer", "good", "AWG") == ()


def test_options_are_the_headings_in_their_order(tmp_path: Path) -> None:
    assert read_small(tmp_path)[0].options == ("good", "better")


def test_a_dash_in_labour_stands_for_all_three_wall_states(tmp_path: Path) -> None:
    catalog, _ = read_small(tmp_path)

    assert {state for task, state in catalog.hours if task == "trim.speaker"} == {"open", "open remodel", "finished"}


def test_a_tax_on_everything_keeps_its_dash(tmp_path: Path) -> None:
    assert read_small(tmp_path)[0].taxes[0].rule.category == "-"


def test_the_fingerprint_changes_with_any_byte(tmp_path: Path) -> None:
    folder = write_catalog(tmp_path)
    before = fingerprint(folder)
    (folder / "rules" / "speaker.csv").write_text(small.RULES + "\n", encoding="utf-8")

    assert fingerprint(folder) != before


def test_a_byte_order_mark_is_accepted(tmp_path: Path) -> None:
    folder = write_catalog(tmp_path)
    path = folder / "parts.csv"
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes())

    assert read_catalog(folder, small.ON)[1] == ()


def test_a_folder_that_is_not_there_is_one_problem(tmp_path: Path) -> None:
    catalog, problems = read_catalog(tmp_path / "nowhere", small.ON)

    assert (catalog, codes(problems)) == (None, [("nowhere ", "missing-catalogue")])


@pytest.mark.parametrize(("file", "old", "new", "cell", "code"), [
    ("parts.csv", "SPK-A,ceiling speaker", "SPK-A,=1+1", "parts.csv B2", "formula-cell"),
    ("parts.csv", "lead_days", "leed_days", "parts.csv I1", "unknown-heading"),
    ("parts.csv", "Supply,5,stock,30", "Supply,soon,stock,30", "parts.csv I4", "not-a-number"),
    ("parts.csv", "Supply,5,stock,30", "Supply,2.5,stock,30", "parts.csv I4", "not-a-whole-number"),
    ("parts.csv", "stock,30", "shelf,30", "parts.csv J4", "unknown-choice"),
    ("parts.csv", "stock,30", "stock,-30", "parts.csv K4", "negative-number"),
    ("parts.csv", "stock,30", "stock,3000000000000", "parts.csv K4", "number-too-large"),
    ("parts.csv", "0012,bracket", "SPK-A,bracket", "parts.csv A3", "row-twice"),
    ("parts.csv", "each,fixing", "each,glueing", "parts.csv A2", "unknown-labour-class"),
    ("parts.csv", "speaker,speakers,each", "speaker,speakers,pair", "parts.csv E2", "unknown-choice"),
    ("parts.csv", "a bracket,small parts", "a bracket,speakers", "parts.csv A3", "missing-spec"),
    ("parts/speakers.csv", ",0012,", ",12,", "parts/speakers.csv M2", "unknown-part"),
    ("prices.csv", "34.00", '"34,00"', "prices.csv E2", "not-a-number"),
    ("prices.csv", "2026-01-01", "01/02/2026", "prices.csv I2", "not-a-date"),
    ("prices.csv", "0012,10", "0013,10", "prices.csv A5", "unknown-part"),
    ("prices.csv", "500,ft", "500,m", "prices.csv A6", "wrong-unit"),
    ("prices.csv", "2026-01-01,no", "2026-01-01,yes", "prices.csv A6", "costing-put-up"),
    ("prices.csv", "36.00,62.00,46.00", "36.00,42.00,46.00", "prices.csv A3", "floor-over-list"),
    ("prices.csv", "500,ft", "0,ft", "prices.csv A6", "put-up-zero"),
    ("labour.csv", "0.01,0.02,0.03", "0.04,0.02,0.03", "labour.csv H2", "hours-out-of-order"),
    ("labour.csv", "yes,open remodel", "no,open remodel", "labour.csv F3", "rows-disagree"),
    ("labour.csv", "yes,open remodel", "yes,ajar", "labour.csv G3", "unknown-choice"),
    ("labour.csv", "yes,open remodel", "yes,open", "labour.csv G3", "row-twice"),
    ("labour.csv", "each,installer,fixing,yes,-", "each,plumber,fixing,yes,-", "labour.csv D5", "unknown-labour-role"),
    ("labour.csv", "trim.speaker", "Trim speaker", "labour.csv A5", "wrong-name"),
    ("options.csv", "speaker,,SPK-A,SPK-A", "speaker,,SPK-A,", "options.csv E4", "missing-value"),
    ("options.csv", "speaker,,SPK-A,SPK-A", "speaker,,SPK-A,SPK-B", "options.csv E4", "unknown-part"),
    ("options.csv", "role,streamer", "rol,streamer", "options.csv A7", "unknown-choice"),
    ("options.csv", "role,streamer", "role,spk-a", "options.csv A7", "name-taken"),
    ("parts.csv", "stock,,,no,", "stock,,,yes,", "options.csv A4", "discontinued-part"),
    ("options.csv", "setting,rack,,shelf", "setting,rack,,shelve", "options.csv D14", "unknown-choice"),
    ("options.csv", "setting,streams,,1", "setting,streams,,one", "options.csv D11", "not-a-number"),
    ("options.csv", "setting,streams", "setting,steams", "options.csv B11", "unknown-setting"),
    ("options.csv", "setting,streams", "setting,steams", "options.csv A1", "missing-setting"),
    ("taxes.csv", "Sampletown", "Elsewhere", "taxes.csv A2", "unknown-place"),
    ("statements.csv", "say.ladder", "ladder", "statements.csv A2", "wrong-name"),
    ("firm.csv", "margin_floor,0.30", "margin_floor,30%", "firm.csv B14", "not-a-number"),
    ("firm.csv", "#1f5f8b", "blue", "firm.csv B7", "not-a-colour"),
    ("firm.csv", "factor_cap,1.5", "factor_kap,1.5", "firm.csv A18", "unknown-key"),
])
def test_a_slip_is_told_of_at_its_cell(tmp_path: Path, file: str, old: str, new: str, cell: str, code: str) -> None:
    assert (cell, code) in codes(problems_with(tmp_path, file, old, new))


WAYS = "row,part,coloured,colour_days,ordered_with,on_the_day,enclose\n"


@pytest.mark.parametrize(("file", "text", "code"), [
    ("task_time", "row,task,time\nTKT-010,trim.speeker,beside the crew\n", "unknown-task"),
    ("part_buying", f"{WAYS}PBY-010,SPK-Z,no,0,,yes,\n", "unknown-part"),
    ("part_buying", f"{WAYS}PBY-010,SPK-A,no,0,EN,no,\n", "unknown-part"),
    ("order_waits", "row,statement,part\nOWT-010,say.word,SPK-A\n", "unknown-statement"),
    ("order_waits", "row,statement,part\nOWT-010,say.ladder,SPK-Z\n", "unknown-part"),
    ("order_gate", "row,plan,step,phase\nOGT-010,standard,9,rough-in\n", "unknown-payment"),
    ("change_answers", "row,sheet,answer,words\nCHA-010,Rooms,trim_date,Fitted from\n", "unknown-answer"),
    ("change_answers", "row,sheet,answer,words\nCHA-010,Job,colour,Colour\n", "unknown-answer"),
    ("change_answers", "row,sheet,answer,words\nCHA-010,Rooms,-,Anything\n", "unknown-answer"),
    ("change_answers", 'row,sheet,answer,words\nCHA-010,"Rooms, Zones",name,Name\n', "unknown-sheet"),
])
def test_a_standard_names_what_other_sheets_have(tmp_path: Path, file: str, text: str, code: str) -> None:
    _, problems = read_catalog(write_catalog(tmp_path, {f"standards/{file}.csv": text}), small.ON)

    assert codes(problems) == [(f"standards/{file}.csv A2", code)]


def test_an_answer_of_another_sheet_says_which_sheet_has_it(tmp_path: Path) -> None:
    text = "row,sheet,answer,words\nCHA-010,Sources,trim_date,Fitted from\n"
    _, (problem,) = read_catalog(write_catalog(tmp_path, {"standards/change_answers.csv": text}), small.ON)

    assert "'trim_date' in change_answers row 'CHA-010' is no answer of Sources; those are " in problem.message
    assert problem.remedy == "Type Job under sheet, or one of these answers."


def test_a_number_with_a_comma_says_what_to_type(tmp_path: Path) -> None:
    [problem] = problems_with(tmp_path, "prices.csv", "34.00", '"34,50"')

    assert (problem.message, problem.remedy) == ("'34,50' is not a plain number.", "Type 34.50.")


def with_semicolons(text: str) -> str:
    """A table as a spreadsheet writes it where the comma is the decimal sign."""
    lines = text.replace(",", ";").splitlines()
    return "\n".join([lines[0], *(re.sub(r"(?<=\d)\.(?=\d)", ",", line) for line in lines[1:])]) + "\n"


def test_a_catalogue_of_semicolons_and_decimal_commas_is_the_one_of_commas_and_points(tmp_path: Path) -> None:
    for folder in ("commas", "semicolons"):
        (tmp_path / folder).mkdir()
    tables = ("prices.csv", "parts/speakers.csv", "labour.csv", "taxes.csv", "firm.csv")
    texts = {file: with_semicolons(small.FILES[file]) for file in tables}
    assert ";36,00;" in texts["prices.csv"]
    found, problems = read_catalog(write_catalog(tmp_path / "semicolons", texts), small.ON)
    plain, _ = read_small(tmp_path / "commas")

    assert found is not None and problems == ()
    assert (found.prices, found.speakers, found.hours, found.taxes, found.firm) == (
        plain.prices, plain.speakers, plain.hours, plain.taxes, plain.firm)


def test_a_decimal_comma_stays_in_a_text(tmp_path: Path) -> None:
    text = with_semicolons(small.PARTS).replace("speaker cable;cable;m", "2,5;cable;m")
    catalog, problems = read_catalog(write_catalog(tmp_path, {"parts.csv": text}), small.ON)

    assert catalog is not None and (catalog.parts["CAB-15"].words, problems) == ("2,5", ())


@pytest.mark.parametrize(("asked", "row"), [(2.5, "BXR-010"), (2.0, "BXR-020"), (5.0, "BXR-020")])
def test_a_number_with_a_comma_is_one_number_of_a_condition_where_semicolons_part_the_cells(
    tmp_path: Path, asked: float, row: str
) -> None:
    # "2, 5", with its blank, is a list in either kind of table
    rows = "row;area_mm2;volume_cm3\nBXR-010;2,5;36,9\nBXR-020;2, 5;32,8\n"
    catalog, _ = read_small(tmp_path, {"standards/box_room.csv": rows})

    assert catalog.standards.ask("box_room", area_mm2=asked).row == row


def test_a_part_number_that_lost_its_zeros_is_recognised(tmp_path: Path) -> None:
    [problem] = problems_with(tmp_path, "parts/speakers.csv", ",0012,", ",12,")

    assert problem.message == "'12' is no part of parts.csv; '0012' is."


def test_a_missing_column_is_told_of_once_and_not_in_every_row(tmp_path: Path) -> None:
    text = "\n".join(",".join(line.split(",")[:8] + line.split(",")[9:]) for line in small.PARTS.splitlines()) + "\n"
    _, problems = read_catalog(write_catalog(tmp_path, {"parts.csv": text}), small.ON)

    assert [code for cell, code in codes(problems) if cell.startswith("parts.csv")] == ["missing-column"]


def test_a_missing_file_is_told_of_by_name(tmp_path: Path) -> None:
    _, problems = read_catalog(write_catalog(tmp_path, {"sockets.csv": ""}), small.ON)

    assert codes(problems) == [("sockets.csv ", "missing-file")]


def test_a_file_of_a_name_that_nothing_reads_is_told_of(tmp_path: Path) -> None:
    _, problems = read_catalog(write_catalog(tmp_path, {"parts/lamps.csv": "part\n"}), small.ON)

    assert codes(problems) == [("parts/lamps.csv ", "unknown-file")]


def test_bytes_that_are_no_text_are_a_problem_and_no_crash(tmp_path: Path) -> None:
    folder = write_catalog(tmp_path)
    (folder / "prices.csv").write_bytes(b"\xff\xfe\x00part")

    assert ("prices.csv ", "unreadable-file") in codes(read_catalog(folder, small.ON)[1])


STANDARD = "row,end,outdoor,slack_ft,unit,reference,from_date,note\n"


def slack(folder: Path, rows: str, on: datetime.date = small.ON) -> list[tuple[str, str]]:
    return codes(read_catalog(write_catalog(folder, {"standards/slack.csv": STANDARD + rows}), on)[1])


def test_a_standard_headed_in_feet_answers_in_metres(tmp_path: Path) -> None:
    catalog, _ = read_small(tmp_path, {"standards/slack.csv": STANDARD + "SLK-010,speaker,-,10,ft,,,\n"})

    # 10 ft = 3.048 m, exact
    assert catalog.standards.ask("slack", end="speaker", outdoor=False).number("slack_m") == pytest.approx(3.048)


def test_a_standards_row_is_replaced_by_a_later_row_of_the_same_conditions(tmp_path: Path) -> None:
    rows = "SLK-010,speaker,-,10,ft,,2026-01-01,\nSLK-020,speaker,-,12,ft,,2026-09-01,\n"
    catalog, _ = read_small(tmp_path, {"standards/slack.csv": STANDARD + rows})

    assert catalog.standards.ask("slack", end="speaker", outdoor=False).row == "SLK-020"


@pytest.mark.parametrize(("rows", "cell", "code"), [
    ("SLK-010,speaker,perhaps,10,ft,,,\n", "standards/slack.csv C2", "not-a-condition"),
    ("SLK-010,speaker,-,ten,ft,,,\n", "standards/slack.csv D2", "not-a-number"),
    (",speaker,-,10,ft,,,\n", "standards/slack.csv A2", "missing-value"),
    ("SLK-010,speaker,-,10,ft,,,\nSLK-010,control,-,10,ft,,,\n", "standards/slack.csv A3", "id-twice"),
    ("SLK-010,speaker,-,10,ft,,soon,\n", "standards/slack.csv G2", "not-a-date"),
])
def test_a_slip_in_a_standard_is_told_of_at_its_cell(tmp_path: Path, rows: str, cell: str, code: str) -> None:
    assert slack(tmp_path, rows) == [(cell, code)]


def test_a_standard_that_nothing_asks_is_told_of(tmp_path: Path) -> None:
    _, problems = read_catalog(write_catalog(tmp_path, {"standards/weather.csv": "row\n"}), small.ON)

    assert codes(problems) == [("standards/weather.csv ", "unknown-question")]


def test_a_category_without_a_markup_is_told_of(tmp_path: Path) -> None:
    row = 'MRK-010,"speakers, small parts",goods,markup,0.5,0,90\n'
    text = "row,category,words,basis,markup_rate,freight_rate,warn_days\n" + row
    _, problems = read_catalog(write_catalog(tmp_path, {"standards/markup.csv": text}), small.ON)

    assert [problem.message for problem in problems] == ["In standard 'markup' no row answers for category cable."]


def test_the_starter_catalogue_is_sound() -> None:
    _, problems = read_catalog(DEMO, small.ON)

    assert [str(problem) for problem in problems] == []


@settings(deadline=None, max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(file=st.sampled_from(sorted(small.FILES)), at=st.integers(0, 10_000),
       text=st.text(max_size=8) | st.sampled_from(["-", "=1", "9" * 40, '"', ",", "\n", "yes", "0", "-1", "1e999"]))
def test_nothing_that_a_person_types_into_a_cell_raises(tmp_path: Path, file: str, at: int, text: str) -> None:
    cells = re.split(r"([,\n])", small.FILES[file])
    cells[at % len(cells)] = text
    folder = write_catalog(tmp_path, {file: "".join(cells) or "\n"})
    catalog, problems = read_catalog(folder, small.ON)
    if catalog is not None:
        book, found = read_rules(folder, catalog)
        problems = (*problems, *found, *check_rules(book, catalog))

    assert all(problem.message and problem.remedy for problem in problems)


def test_a_word_that_a_question_does_not_know_is_told_of(tmp_path: Path) -> None:
    rows = "row,listening,limit_rate,stop_rate\nGAU-010,backround,0.05,0.1\n"
    _, problems = read_catalog(write_catalog(tmp_path, {"standards/gauge_limit.csv": rows}), small.ON)

    assert [problem.message for problem in problems] == ["'backround' is not one of background, foreground, party."]


def test_a_room_kind_that_plays_from_no_option_is_told_of(tmp_path: Path) -> None:
    rows = ("row,kind,plays_from,mount,listening,setting,control,distance,daily,words\n"
            "KND-010,,superb,ceiling,background,dry,phone,near,yes,room\n")
    _, problems = read_catalog(write_catalog(tmp_path, {"standards/room_kinds.csv": rows}), small.ON)

    assert codes(problems) == [("standards/room_kinds.csv A2", "unknown-option")]

"""Stock lists: what is on hand is read with every slip told of, taken off what is bought, and changes no price."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from quoting.bill import make_bill, merge_lines
from quoting.buying_inputs import StockItem
from quoting.catalog.records import Catalog
from quoting.intake.stock import read_stock
from quoting.lines import Bill, MaterialLine, Purchase
from quoting.pipeline import quote_workbook
from quoting.problems import Cell
from quoting.quote import Quote
from tests.conftest import DEMO, EXAMPLES, PRICED_ON
from tests.stages.pricing_stubs import PARTS, PRICES, make_catalog, make_part, make_price, material

D = Decimal
HEAD = "part,on_hand,bin,spools\n"


def read(folder: Path, demo: Catalog, rows: str) -> tuple[dict[str, StockItem], list[str]]:
    path = folder / "stock.csv"
    path.write_text(HEAD + rows, encoding="utf-8")
    found, problems = read_stock(path, demo)
    return dict(found), [str(problem) for problem in problems]


# ---------------------------------------------------------------- reading

def test_a_row_says_how_much_is_on_hand_and_where(tmp_path: Path, demo: Catalog) -> None:
    found, _ = read(tmp_path, demo, "KP-20,4,B3,\n")

    assert (found["KP-20"].on_hand, found["KP-20"].bin) == (D(4), "B3")


def test_a_part_number_keeps_its_zeros(tmp_path: Path, demo: Catalog) -> None:
    assert list(read(tmp_path, demo, "00211,60,,\n")[0]) == ["00211"]


def test_spools_are_lengths_with_semicolons_between_them(tmp_path: Path, demo: Catalog) -> None:
    found, _ = read(tmp_path, demo, "SC16-4W,600.5,C1,480; 120.5\n")

    assert found["SC16-4W"].spools == (D(480), D("120.5"))


def test_a_list_whose_cells_semicolons_part_is_read_like_one_with_commas(tmp_path: Path, demo: Catalog) -> None:
    # as a spreadsheet writes it where the comma is the decimal sign
    path = tmp_path / "stock.csv"
    path.write_text('part;on_hand;bin;spools\nKP-20;4;B3;\nSC16-4W;600;C1;"480; 120"\n', encoding="utf-8-sig")
    found, problems = read_stock(path, demo)

    assert (found["KP-20"].on_hand, found["SC16-4W"].spools, problems) == (D(4), (D(480), D(120)), ())


def test_where_semicolons_part_the_cells_numbers_may_have_a_comma(tmp_path: Path, demo: Catalog) -> None:
    path = tmp_path / "stock.csv"
    path.write_text('part;on_hand;bin;spools\nSC14-4W;601,25;1,5;"480,5; 120,75"\n', encoding="utf-8-sig")
    found, problems = read_stock(path, demo)
    item = found["SC14-4W"]

    # the bin is a text: it stays as it is typed
    assert (item.on_hand, item.spools, item.bin, problems) == (D("601.25"), (D("480.5"), D("120.75")), "1,5", ())


def test_a_number_that_is_none_says_how_it_is_typed_in_such_a_list_too(tmp_path: Path, demo: Catalog) -> None:
    path = tmp_path / "stock.csv"
    path.write_text("part;on_hand;bin;spools\nSC14-4W;1.250,5;C1;\n", encoding="utf-8-sig")

    assert [str(problem) for problem in read_stock(path, demo)[1]] == [
        "stock.csv B2 stop not-a-number: '1.250,5' is not a plain number. Type digits, such as 1250 or 12.5 (12,5 "
        "where semicolons part the cells)."]


@pytest.mark.parametrize(("rows", "said"), [
    ("KP-20,-1,,\n", "stock.csv B2 stop stock-below-zero: '-1' of 'KP-20' is on hand; allowed is 0 and more. Count it "
     "and type what is there."),
    ("KP-20,,,\n", "stock.csv B2 stop missing-value: 'on_hand' is empty. Type 0 where none is left."),
    ("KP-20,four,,\n", "stock.csv B2 stop not-a-number: 'four' is not a plain number. Type digits, such as 1250 or "
     "12.5 (12,5 where semicolons part the cells)."),
    ("KP-20,1.5,,\n", "stock.csv B2 stop not-whole: '1.5' of 'KP-20' is on hand, and it comes in whole pieces. Type a "
     "whole number."),
    ("KP-20,1,,\nKP-20,2,,\n", "stock.csv A3 stop row-twice: Part 'KP-20' is already at A2; a part stands in one row. "
     "Add the two rows up in one."),
    ("KP-99,1,,\n", "stock.csv A2 warning unknown-stock-part: 'KP-99' is no part of this catalogue: it is not taken "
     "off what is bought. Correct the number, or leave it as it is."),
    ("KP-20,3,,1;2\n", "stock.csv D2 stop spools-of-no-cable: '1;2' stands under spools, and 'KP-20' is no cable. "
     "Clear the cell, or correct the part."),
    ("SC16-4W,300,,200; 50\n", "stock.csv D2 stop spools-do-not-sum: The spools '200; 50' of 'SC16-4W' sum to 250, "
     "and 300 is on hand; they are equal. Correct the one that is wrong."),
    ("SC16-4W,300,,300; a bit\n", "stock.csv D2 stop not-spools: '300; a bit' is no list of lengths; allowed are up "
     "to 100 lengths above 0 in ft, with ';' between them. Type what is left on each spool, such as '300; 150'."),
    ("SC16-4W,300,,\n", "stock.csv B2 warning stock-without-spools: 300 ft of 'SC16-4W' are on hand, and what is left "
     "on each spool is not said: no run can be planned on them, and none is taken. Type them under spools, such as "
     "'300; 150'."),
    ("00415,2,,\n", "stock.csv A2 warning stock-not-taken: '00415' is bought whole for each job, its leftover "
     "included: what is on hand is not taken. Leave it, or give the part leftover 'stock' in parts.csv."),
    (f"KP-20,1,{'x' * 21},\n", f"stock.csv C2 stop text-too-long: '{'x' * 20}...' has 21 characters; 20 are allowed. "
     "Shorten it."),
    (",1,,\n", "stock.csv A2 stop missing-value: The row names no part. Type the part, or clear the row."),
])
def test_a_slip_is_a_sentence_with_its_cell(tmp_path: Path, demo: Catalog, rows: str, said: str) -> None:
    assert read(tmp_path, demo, rows)[1] == [said]


def test_a_list_that_is_not_there_is_told_of_by_its_bare_name(tmp_path: Path, demo: Catalog) -> None:
    _, problems = read_stock(tmp_path / "gone.csv", demo)

    assert [str(problem) for problem in problems] == [
        "gone.csv stop missing-file: The stock list 'gone.csv' is not there. Check the name after --stock, or leave it "
        "out to buy everything."]


@given(st.binary(max_size=200))
@settings(max_examples=60)
def test_nothing_in_a_stock_list_raises(tmp_path_factory: pytest.TempPathFactory, content: bytes) -> None:
    path = tmp_path_factory.mktemp("stock") / "stock.csv"
    path.write_bytes(HEAD.encode() + content)

    found, problems = read_stock(path, make_catalog())

    assert set(found) <= {part.part for part in PARTS} and all(str(problem) for problem in problems)


# ---------------------------------------------------------------- netting

def item(part: str, on_hand: str, *spools: str) -> dict[str, StockItem]:
    return {part: StockItem(part=part, on_hand=D(on_hand), bin="A1", spools=tuple(map(D, spools)),
                            where=Cell("stock.csv", "", "A2"))}


def bought(stock: dict[str, StockItem], *lines: MaterialLine, **changes: object) -> tuple[Bill, Purchase]:
    catalog = make_catalog(**changes)  # type: ignore[arg-type]
    rows, _ = merge_lines(lines, (), catalog, final=False)
    bill, _ = make_bill(rows, catalog, "USD", stock=stock)
    return bill, bill.purchases[0]


def test_what_is_on_hand_is_not_bought() -> None:
    # 110 needed, 100 there: 10 from a pack of 25
    _, screws = bought(item("SCREW", "100"), material("SCREW", "110"))

    assert (screws.from_stock, screws.buy, screws.to_stock) == (D(100), D(25), D(15))


def test_no_more_than_the_need_is_taken() -> None:
    _, screws = bought(item("SCREW", "500"), material("SCREW", "110"))

    assert (screws.on_hand, screws.from_stock, screws.buy, screws.outlay) == (D(500), D(110), D(0), D(0))


def test_stock_is_taken_once_for_all_rooms() -> None:
    # 60 + 60 needed, 60 there: 60 are left to buy, a pack of 100 for what three of 25 cost
    _, screws = bought(item("SCREW", "60"), material("SCREW", "60"), material("SCREW", "60", "LIV"))

    assert (screws.from_stock, screws.buy) == (D(60), D(100))


def test_the_rows_that_are_priced_are_the_same_with_stock() -> None:
    with_stock, _ = bought(item("SCREW", "60"), material("SCREW", "110"))
    without, _ = bought({}, material("SCREW", "110"))

    assert with_stock.materials == without.materials


def test_a_part_that_is_bought_whole_for_the_job_takes_nothing_from_stock() -> None:
    special = [*PARTS, make_part("BOLT", "small parts", leftover="job")]
    prices = {**PRICES, "BOLT": (make_price("BOLT", "12", "10"),)}

    _, bolts = bought(item("BOLT", "20"), material("BOLT", "13"), parts=special, prices=prices)

    assert (bolts.from_stock, bolts.buy) == (D(0), D(20))


def runs(*lengths: str) -> list[MaterialLine]:
    return [material("CAB", length, phase="rough-in", fact=str(101 + index)) for index, length in enumerate(lengths)]


def test_a_run_is_cut_from_a_spool_in_stock_that_holds_it() -> None:
    # 200 + 150 ft with the reserve of 15 ft (5 % of 400 is 20) fit on the 400 ft that are there
    bill, cable = bought(item("CAB", "400", "400"), *runs("200", "150"))

    assert (cable.buy, [(spool.from_stock, spool.size, len(spool.cuts)) for spool in bill.spools]) == (
        D(0), [(True, D(400), 2)])


def test_a_spool_in_stock_that_saves_nothing_stays_whole() -> None:
    # 240 + 60 ft: a 500 ft spool (170.00) is the cheapest; with the 100 ft spool taken for the 60, 240 is too long
    # for a new 250 ft one with its reserve, so the 500 ft is bought all the same
    bill, cable = bought(item("CAB", "100", "100"), *runs("240", "60"))

    assert (cable.from_stock, [spool.from_stock for spool in bill.spools]) == (D(0), [False])


def test_a_spool_in_stock_that_saves_less_than_it_wastes_stays_whole() -> None:
    # 300 ft: a new 500 ft spool (170.00) leaves 200 ft for stock. 300 ft of the 345 ft in stock leave 45 ft, less than
    # the 50 that are kept: waste of 45 x 0.31 = 13.95. Worth it for 170.00, and not for 10.00
    cheap = {**PRICES, "CAB": (*PRICES["CAB"][:1], replace(PRICES["CAB"][1], cost=D("10")))}
    stock = item("CAB", "345", "345")
    _, dear_cable = bought(stock, *runs("300"))
    _, cheap_cable = bought(stock, *runs("300"), prices=cheap)

    assert (dear_cable.from_stock, dear_cable.scrap) == (D(345), D(45))
    assert (cheap_cable.from_stock, cheap_cable.buy) == (D(0), D(500))


def test_what_comes_in_is_what_is_used_kept_and_wasted() -> None:
    for lengths in (("200", "150"), ("400", "300", "90"), ("30",)):
        _, cable = bought(item("CAB", "560", "400", "160"), *runs(*lengths))
        assert cable.from_stock + cable.buy == cable.need + cable.to_stock + cable.scrap, lengths


# ---------------------------------------------------------------- the whole job

@pytest.fixture(scope="module")
def stocked(tmp_path_factory: pytest.TempPathFactory) -> Quote:
    """The large house with some of it on hand."""
    path = tmp_path_factory.mktemp("stock") / "stock.csv"
    path.write_text(HEAD + "00211,60,A1,\nKP-20,2,B4,\n00115,100,A2,\nSC16-4W,700,C1,480; 220\nC6-W,900,C2,600; 300\n",
                    encoding="utf-8")
    quote, problems = quote_workbook(next(EXAMPLES.glob("3-*.xlsx")), DEMO, None, PRICED_ON, path)
    assert quote is not None, problems
    return quote


def test_stock_changes_no_price(stocked: Quote, quotes: dict[str, Quote]) -> None:
    assert [(o.materials, o.labour, o.totals.total, o.plan) for o in stocked.options] == [
        (o.materials, o.labour, o.totals.total, o.plan) for o in quotes["3"].options]


def test_stock_lowers_what_suppliers_are_paid(stocked: Quote, quotes: dict[str, Quote]) -> None:
    pairs = zip(stocked.options, quotes["3"].options, strict=True)

    assert [option.name for option, other in pairs if option.totals.outlay >= other.totals.outlay] == []


def test_the_quote_says_which_list_was_taken_off(stocked: Quote) -> None:
    assert stocked.buying.stock_file == "stock.csv"


def test_no_more_is_taken_than_is_on_hand(stocked: Quote) -> None:
    taken = [each for option in stocked.options for each in option.purchases if each.from_stock]

    assert taken and [each.part for each in taken if not 0 < each.from_stock <= each.on_hand] == []

"""The proposal: what it says, that its sums add up as printed, that text stays text."""

from __future__ import annotations

import re
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest
from msgspec.structs import replace

from quoting.documents.proposal import render_proposal, write_proposal
from quoting.documents.quote_file import decode_quote, encode_quote
from quoting.job import Detail
from quoting.quote import Quote
from tests.builders import (
    facts_by_kind,
    make_client,
    make_fact,
    make_firm,
    make_job,
    make_option,
    make_part_info,
    make_place,
    make_pricing,
    make_quote,
    make_room,
    make_rooms,
    make_terms,
)
from tests.documents.browser import Page

TEMPLATES = Path(__file__).resolve().parents[2] / "templates"
D = Decimal
RTL = "\u2068"


def html(quote: Quote) -> str:
    return render_proposal(quote, TEMPLATES)


def page(quote: Quote) -> Page:
    return Page(html(quote))


def detailed(detail: Detail) -> Page:
    return page(make_quote(job=make_job(terms=make_terms(detail=detail))))


def amount(text: str) -> Decimal:
    """A printed American amount."""
    found = re.search(r"-?\$[\d,]+\.\d\d", text)
    return D(found.group().replace("$", "").replace(",", "")) if found else D(0)


def column(rows: list[list[str]], index: int) -> list[Decimal]:
    return [amount(row[index]) for row in rows[1:]]


# ---------------------------------------------------------------- what it says

@pytest.mark.parametrize("words", [
    "Music in 2 to 4 rooms of your house", "Ada and Noor Brandt", "12 Lindenhof Lane, Sampleton", "Q-1042, revision 1",
    "April 1, 2026", "$5,765.94", "$7,054.84", "$8,232.03", "We recommend this one",
    "You asked for something easy to use: every daily room has its own keypad.",
    "We put right, free of charge, any fault in our work for two years.", "LV-00000 (invented)",
    "You may cancel within three business days of signing.", "Sales tax is charged on goods and work.",
    "Firm, parts and prices in this document are invented, for demonstration.",
    "Mains circuits and outlets are the electrician's work.", "Is there a roof over the patio?",
])
def test_the_proposal_says(words: str) -> None:
    assert words in page(make_quote()).text


@pytest.mark.parametrize(("row", "cells"), [
    ("Rooms with music", ["2 roomsKitchen and Living room", "3 roomsKitchen, Living room, and Main bath",
                          "4 roomsKitchen, Living room, Main bath, and Patio"]),
    ("Different things playing at once", ["1", "2", "4"]),
    ("Televisions heard", ["–", "Living room", "Living room"]),
    ("What can be added later", ["Music in Main bath, on the cable that is there",
                                 "Music in Patio, on the cable that is there", "–"]),
])
def test_options_stand_side_by_side_in_the_same_rows(row: str, cells: list[str]) -> None:
    rows = page(make_quote()).table("Side by side").rows
    assert next(found[1:] for found in rows if found[0] == row) == cells


@pytest.mark.parametrize(("room", "cells"), [
    ("Kitchen", ["2 ceiling speakersKeypad on the wall", "4 ceiling speakersKeypad on the wall",
                 "4 ceiling speakersKeypad on the wall"]),
    ("Patio", ["Not in this option", "Cable in the wall now, music can follow later",
               "2 outdoor speakersPhone or tablet"]),
])
def test_a_room_tells_what_each_option_does_there(room: str, cells: list[str]) -> None:
    rows = page(make_quote()).table("What each option does").rows
    assert next(found[1:] for found in rows if found[0] == room) == cells


def test_rooms_of_one_zone_are_said_to_play_together() -> None:
    rooms = (*make_rooms(), make_room("NOOK", name="Breakfast nook"))
    option = make_option("better")
    promise = replace(option.rooms[1], room="NOOK", name="Breakfast nook")
    quote = make_quote(job=make_job(rooms=rooms), options=(replace(option, rooms=(*option.rooms, promise)),), steps=())
    assert "plays together with Kitchen" in page(quote).text


def test_a_long_list_of_rooms_is_cut_short_and_counted() -> None:
    option = make_option("best")
    rooms = tuple(replace(option.rooms[1], room=f"R{n:02d}", name=f"Room {n}") for n in range(1, 21))
    rows = page(make_quote(options=(replace(option, rooms=rooms),), steps=())).table("Side by side").rows
    assert rows[1][1] == "20 roomsRoom 1, Room 2, Room 3, Room 4, Room 5, Room 6, Room 7, and 13 more"


def test_floors_are_told_apart_where_there_are_several() -> None:
    rooms = tuple(replace(room, floor=1) if room.code == "BATH" else room for room in make_rooms())
    assert ["Floor 1"] in page(make_quote(job=make_job(rooms=rooms))).table("What each option does").rows


def test_a_sentence_about_one_option_names_it() -> None:
    assert "Somebody digs the trench to the patio before rough-in. (Best)" in page(make_quote()).text


def test_an_open_question_tells_what_the_other_answer_adds() -> None:
    row = page(make_quote()).table("Open questions").rows[1]
    assert row[3:] == ["no change", "no change", "$184.50"]


def test_a_place_without_terms_gives_a_plain_warning_and_no_text_of_another_country() -> None:
    place = make_place(place="Nowhere", found=False, withdrawal="", tax_note="", permit="")
    text = page(make_quote(place=place)).text
    assert "No terms are on file for Nowhere." in text
    assert "Your right to cancel" not in text


def test_the_details_of_an_owned_source_are_said() -> None:
    source = make_fact("audio_source", "SRC-9", name="Grandmother's turntable", kind="turntable", owned=True)
    option = make_option("good")
    facts = {**option.facts, **facts_by_kind([source])}
    assert "Grandmother's turntable (yours)" in page(make_quote(options=(replace(option, facts=facts),), steps=())).text


def test_a_single_option_is_no_choice_between_several() -> None:
    text = page(make_quote(options=(make_option("good"),), steps=())).text
    assert "side by side, so that you can choose" not in text


# ---------------------------------------------------------------- sums as printed

@pytest.mark.parametrize("start", [1, 2, 3])
def test_each_price_adds_up_as_printed(start: int) -> None:
    amounts = column(page(make_quote()).table("How each price").rows, start)
    assert sum(amounts[:-1]) == amounts[-1]


@pytest.mark.parametrize("caption", ["From Good to Better", "From Better to Best"])
def test_each_step_adds_up_as_printed(caption: str) -> None:
    amounts = column(page(make_quote()).table(caption).rows, 3)
    assert sum(amounts[:-1]) == amounts[-1]


def test_a_step_leads_from_one_printed_price_to_the_next() -> None:
    found = page(make_quote())
    prices = [amount(cell) for cell in found.table("How each price").rows[-1][1:]]
    step = column(found.table("From Good to Better").rows, 3)[-1]
    assert prices[0] + step == prices[1]


@pytest.mark.parametrize("start", [1, 2, 3])
def test_labour_phases_add_up_to_the_labour_of_the_price(start: int) -> None:
    found = page(make_quote())
    amounts = column(found.table("Labour, at a fixed price").rows, start)
    labour = next(row for row in found.table("How each price").rows if row[0].startswith("Labour"))
    assert sum(amounts[:-1]) == amount(labour[start])


@pytest.mark.parametrize("start", [1, 2, 3])
def test_payments_add_up_to_the_price(start: int) -> None:
    amounts = column(page(make_quote()).table("What is paid when").rows, start)
    assert sum(amounts[:-1]) == amounts[-1]


@pytest.mark.parametrize("start", [1, 2, 3])
def test_the_price_by_room_adds_up_to_the_total(start: int) -> None:
    amounts = column(detailed("by room").table("Every amount").rows, start)
    assert sum(amounts[:-1]) == amounts[-1]


@pytest.mark.parametrize("detail", ["by room and category", "itemised"])
def test_a_finer_detail_adds_up_room_by_room_and_to_the_total(detail: Detail) -> None:
    rows = detailed(detail).table("Every amount").rows[1:]
    heads = {*(room.name for room in make_rooms()), "Equipment and the whole house"}
    at = [index for index, row in enumerate(rows) if row[0] in heads]
    closing = next(index for index, row in enumerate(rows) if row[0] == "Delivery")
    for start, end in zip(at, [*at[1:], closing], strict=True):
        assert sum(amount(row[2]) for row in rows[start + 1:end]) == amount(rows[start][2])
    sums = [amount(rows[index][2]) for index in at] + [amount(row[2]) for row in rows[closing:-1]]
    assert sum(sums) == amount(rows[-1][2])


def test_the_total_alone_shows_no_price_of_a_room() -> None:
    assert not any(table.caption.startswith("Every amount") for table in detailed("total").tables)


def test_items_are_told_in_the_customers_words_with_how_many() -> None:
    rows = detailed("itemised").table("Every amount").rows
    assert ["Ceiling speaker, 6.5 inch", "2 for $227.27", "4 for $454.55", "4 for $454.55"] in rows
    # 62.50 / (1 - 0.45) = 113.6364; twice that is 227.2728, four times 454.5456


def test_the_dearest_item_of_a_room_comes_first_and_labour_last() -> None:
    rows = [row[0] for row in detailed("itemised").table("Every amount").rows]
    kitchen = rows[rows.index("Kitchen") + 1:rows.index("Living room")]
    assert (kitchen[0], kitchen[-1]) == ("Ceiling speaker, 6.5 inch", "Labour")


def test_a_part_without_customer_words_is_told_by_its_category() -> None:
    quote = make_quote(job=make_job(terms=make_terms(detail="itemised")))
    parts = {**quote.parts, "SPK-6": make_part_info("SPK-6", words="")}
    assert any(row[0] == "Speakers" for row in page(replace(quote, parts=parts)).table("Every amount").rows)


def test_a_tax_that_the_firm_pays_shows_no_tax_row() -> None:
    option = make_option("good")
    totals = replace(option.totals, taxes=(), tax=D("0.00"), total=option.totals.total - option.totals.tax)
    found = page(make_quote(options=(replace(option, totals=totals),), steps=()))
    assert not any("tax" in row[0].lower() for row in found.table("How each price").rows)


# ---------------------------------------------------------------- text stays text

HOSTILE = [
    "=1+1", "{=A1}", "<script>alert(1)</script>", "{{ 7*7 }}", "{% raw %}", "\U0001f3b5 Küche", "غرفة المعيشة",
    "\"><img src=x onerror=alert(1)>", "a & b &amp; c", "-->", "x" * 60, "'; DROP", "</style><b>",
]
PLACES: dict[str, Callable[[str], Quote]] = {
    "room": lambda text: make_quote(options=tuple(
        replace(option, rooms=tuple(replace(room, name=text) for room in option.rooms))
        for option in make_quote().options), job=make_job(rooms=tuple(replace(r, name=text) for r in make_rooms()))),
    "client": lambda text: make_quote(job=make_job(client=make_client(name=text))),
    "site": lambda text: make_quote(job=make_job(client=make_client(site=text))),
    "number": lambda text: make_quote(job=make_job(terms=make_terms(quote_number=text))),
    "head end": lambda text: make_quote(job=make_job(head_end=replace(make_job().head_end, place=text))),
    "firm": lambda text: make_quote(firm=make_firm(name=text)),
    "letter": lambda text: make_quote(firm=make_firm(letter=text)),
    "reason": lambda text: make_quote(recommendation=replace(make_quote().recommendation, reason=text)),
    "statement": lambda text: make_quote(statements=tuple(
        replace(statement, text=text) for statement in make_quote().statements)),
    "source": lambda text: make_quote(options=tuple(
        replace(option, facts={**option.facts, **facts_by_kind([make_fact("audio_source", "SRC-1", name=text)])})
        for option in make_quote().options)),
    "summary": lambda text: make_quote(options=tuple(replace(o, summary=text) for o in make_quote().options)),
    "withdrawal": lambda text: make_quote(place=make_place(withdrawal=text)),
}


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_arrives_whole_as_text(place: str, text: str) -> None:
    assert text in page(PLACES[place](text)).text


@pytest.mark.parametrize("place", PLACES)
@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_makes_no_element(place: str, text: str) -> None:
    plain = outside_drawings(PLACES[place]("plain"))
    assert outside_drawings(PLACES[place](text)) == plain
    drawn = {tag for tag, _ in page(PLACES[place](text)).elements} - set(plain)
    assert drawn <= {"svg", "title", "desc", "g", "rect", "circle", "path", "line", "text", "tspan"}


def outside_drawings(quote: Quote) -> list[str]:
    """The elements of the page without its drawings: a name's length decides how many lines it takes there."""
    return [tag for tag, _ in Page(re.sub(r"<svg.*?</svg>", "", html(quote), flags=re.DOTALL)).elements]


def test_a_note_at_its_limit_arrives_whole() -> None:
    text = "word " * 400  # 2,000 letters
    assert text.strip() in page(make_quote(firm=make_firm(letter=text))).text


def test_a_right_to_left_name_in_a_list_is_set_apart() -> None:
    rooms = tuple(replace(room, name="غرفة") if room.room == "KIT" else room for room in make_option("better").rooms)
    quote = make_quote(options=(replace(make_option("better"), rooms=rooms),), steps=())
    assert f"{RTL}غرفة\u2069, Living room, and Main bath" in page(quote).text


# ---------------------------------------------------------------- the file

def test_there_is_no_script_and_nothing_to_fetch() -> None:
    found = page(make_quote())
    assert not [tag for tag, attrs in found.elements if tag in ("script", "link", "iframe", "object", "base")
                or any((name == "style" and tag != "svg") or name.startswith("on") for name in attrs)]
    assert [attrs["src"] for _, attrs in found.elements if "src" in attrs] == [make_firm().logo]  # holds itself
    assert "url(" not in html(make_quote())
    assert "@import" not in html(make_quote())


def test_every_link_stays_in_the_page() -> None:
    found = page(make_quote())
    ids = {attrs["id"] for _, attrs in found.elements if "id" in attrs}
    assert {(attrs["href"] or "")[1:] for tag, attrs in found.elements if tag == "a"} <= ids


def test_there_is_one_main_heading() -> None:
    assert [tag for tag, _ in page(make_quote()).elements].count("h1") == 1


def test_every_table_has_a_caption_and_every_heading_cell_a_scope() -> None:
    found = page(make_quote(job=make_job(terms=make_terms(detail="itemised"))))
    assert all(table.caption for table in found.tables)
    assert all(attrs.get("scope") in ("row", "col", "rowgroup") for tag, attrs in found.elements if tag == "th")


def test_no_comment_is_left_in_the_page() -> None:
    assert page(make_quote()).comments == []


def test_the_same_quote_gives_the_same_bytes() -> None:
    assert html(make_quote()) == html(make_quote())


def test_the_proposal_needs_nothing_but_the_parsed_quote(tmp_path: Path) -> None:
    write_proposal(decode_quote(encode_quote(make_quote())), tmp_path / "proposal.html", TEMPLATES)
    assert (tmp_path / "proposal.html").read_text(encoding="utf-8") == html(make_quote())


def test_a_firms_own_template_stands_in_for_ours(tmp_path: Path) -> None:
    (tmp_path / "proposal").mkdir()
    (tmp_path / "proposal" / "acceptance.html").write_text("<p>Call us.</p>", encoding="utf-8")
    assert "<p>Call us.</p>" in render_proposal(make_quote(), (tmp_path, TEMPLATES))


def test_money_and_dates_follow_the_jobs_locale() -> None:
    job = make_job(terms=make_terms(locale="de_DE", currency="EUR"))
    text = page(make_quote(job=job, pricing=make_pricing(currency="EUR"))).text
    assert "7.054,84\u00a0€" in text
    assert "1. April 2026" in text


def test_four_options_are_printed_too() -> None:
    options = (*make_quote().options, replace(make_option("best"), name="finest", title="Finest"))
    assert len(page(make_quote(options=options)).table("Side by side").rows[0]) == 5

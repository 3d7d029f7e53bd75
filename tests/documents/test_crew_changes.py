"""Which crew sheets a change supersedes: those that print something else, and no others."""

from __future__ import annotations

import re
from collections import Counter

import pytest
from msgspec.structs import replace

from quoting.buying import purchase_list
from quoting.documents.crew_changes import SheetChange, sheet_changes
from quoting.documents.crew_hookup import hook_up_tables
from quoting.documents.crew_papers import CrewSheet, apart, crew_set, together
from quoting.documents.crew_sheet import CrewTable
from quoting.documents.crew_steps import HookUpSection, HookUpSheet, HookUpStep
from quoting.quote import Quote
from tests.documents.papers import quote_in


@pytest.fixture(scope="module")
def without_the_office() -> tuple[Quote, Quote, tuple[SheetChange, ...]]:
    """The first example as it is, and without music in one of its rooms."""
    old, new = quote_in("en", "1"), quote_in("en", "1", without="OFF")
    return old, new, sheet_changes(old, new, "better")


def test_a_quote_against_itself_supersedes_no_sheet(quotes: dict[str, Quote]) -> None:
    assert [sheet_changes(quote, quote, option.name) for quote in quotes.values() for option in quote.options
            if sheet_changes(quote, quote, option.name)] == []


def test_a_revision_that_changes_nothing_supersedes_no_sheet(quotes: dict[str, Quote]) -> None:
    old = quotes["1"]
    new = replace(old, job=replace(old.job, terms=replace(old.job.terms, revision=9)))
    assert sheet_changes(old, new, "better") == ()


def test_the_plan_of_a_room_that_is_gone_is_no_longer_needed(
    without_the_office: tuple[Quote, Quote, tuple[SheetChange, ...]]
) -> None:
    gone = [change.title for change in without_the_office[2] if change.change == "no longer needed"]
    assert len([title for title in gone if "OFF Office" in title]) == 1


def test_sheets_on_which_its_cables_stood_are_superseded(
    without_the_office: tuple[Quote, Quote, tuple[SheetChange, ...]]
) -> None:
    changed = {change.title for change in without_the_office[2] if change.change == "superseded"}
    assert {"Spool plan", "Schedules", "Hook-up sheet", "Pull list, floor 1: rough-in, walls open"} <= changed


def test_the_plan_of_another_room_still_holds(
    without_the_office: tuple[Quote, Quote, tuple[SheetChange, ...]]
) -> None:
    old, _, changes = without_the_office
    kitchen = next(sheet.title for sheet in crew_set(old, old.options[1], draft=False).sheets
                   if sheet.key == "room KAB")
    assert kitchen not in {change.title for change in changes}


def test_a_superseded_sheet_is_named_by_its_number_in_the_old_set(
    without_the_office: tuple[Quote, Quote, tuple[SheetChange, ...]]
) -> None:
    old, _, changes = without_the_office
    numbers = {paper.title: sheet.number for sheet in crew_set(old, old.options[1], draft=False).sheets
               for paper in apart(sheet)}
    assert [change.title for change in changes if change.paper == "Crew sheets"
            and change.change != "new" and numbers[change.title] != change.number] == []


def test_lists_of_the_warehouse_and_the_purchaser_are_named_too(
    without_the_office: tuple[Quote, Quote, tuple[SheetChange, ...]]
) -> None:
    papers = {change.paper for change in without_the_office[2] if change.change == "superseded"}
    assert papers == {"Crew sheets", "Pick list", "Purchase list", "Cable labels"}


def test_labels_to_take_back_are_those_of_the_cables_that_are_gone(
    without_the_office: tuple[Quote, Quote, tuple[SheetChange, ...]]
) -> None:
    old, new, changes = without_the_office
    said = next(change.rows for change in changes if change.paper == "Cable labels")
    gone = {row["id"] for row in old.facts["cable_run"]} - {row["id"] for row in new.facts["cable_run"]}
    assert set(said.split("; ")) == gone


def test_a_superseded_pull_list_names_cables_that_left_it(
    without_the_office: tuple[Quote, Quote, tuple[SheetChange, ...]]
) -> None:
    old, new, changes = without_the_office
    said = next(change.rows for change in changes if change.title.startswith("Pull list, floor 1"))
    gone = ({row["id"] for row in old.facts["cable_run"]} - {row["id"] for row in new.facts["cable_run"]})
    assert set(said.partition(" and ")[0].split("; ")) & gone


def test_what_must_not_wait_and_the_orders_are_named_never_by_their_days(
    without_the_office: tuple[Quote, Quote, tuple[SheetChange, ...]]
) -> None:
    old, new, changes = without_the_office
    said = {change.title: change.rows for change in changes if change.paper == "Purchase list"}
    suppliers = {line.supplier for quote in (old, new) for line in purchase_list(quote, quote.options[1])}
    assert said["Orders"] and [name for name in said["Orders"].partition(" and ")[0].split("; ")
                               if name.partition(" (")[0] not in suppliers] == []
    assert not re.search(r"\b20\d\d\b", " ".join(said.values()))


def test_an_order_that_only_goes_on_another_day_differs(quotes: dict[str, Quote]) -> None:
    """The sheet that lists the orders begins each with its last day."""
    old = quotes["1"]
    new = replace(old, parts={name: replace(part, lead_days=part.lead_days + 30) for name, part in old.parts.items()})
    suppliers = {line.supplier for line in purchase_list(old, old.options[1]) if line.put_up}
    said = next(change.rows for change in sheet_changes(old, new, "better") if change.title == "Orders")
    assert said.partition(" (")[0] == min(suppliers)


# ---------------------------------------------------------------- short tables that share a sheet

def listed(*suppliers: str, rows: int = 3) -> tuple[CrewSheet, ...]:
    """Short lists of so many suppliers as a set's sheets, two of which fill one."""
    tables = tuple(CrewTable(title=supplier, columns=("Part", "Note"), notes=(f"{supplier} delivers.",),
                             rows=tuple((f"{supplier} {number}", "") for number in range(rows)))
                   for supplier in suppliers)
    return (together(tables),)


def test_a_short_list_is_the_same_paper_alone_and_beside_another() -> None:
    beside, alone = (sheet for names in (("Ace", "Bee"), ("Bee",)) for sheet in listed(*names))
    assert apart(beside)[1] == apart(alone)[0] and [paper.title for paper in apart(beside)] == ["Ace", "Bee"]


def test_a_list_whose_neighbour_went_is_superseded_and_not_new(
    without_the_office: tuple[Quote, Quote, tuple[SheetChange, ...]]
) -> None:
    """Without the office each supplier of the old orders still gets one: no list of theirs goes and comes again."""
    _, _, changes = without_the_office
    went, came = ({change.title.partition(" (")[0] for change in changes
                   if change.paper == "Purchase list" and change.change == how}
                  for how in ("no longer needed", "new"))
    assert went & came == set()


def hook_up(*cable_ends: str) -> Counter[tuple[str, tuple[str, ...]]]:
    """The named rows of a hook-up sheet that lands these cable ends one after the other."""
    steps = tuple(HookUpStep(number=number, action="connect", what="Land the cable", by=end, cable_ends=(end,))
                  for number, end in enumerate(cable_ends, start=1))
    sheet = HookUpSheet(option="better", sections=(HookUpSection(title="Land", phase="commissioning", steps=steps),))
    return Counter(row for table in hook_up_tables(sheet) for row in table.named_rows)


def test_a_hook_up_step_that_comes_in_between_is_the_only_one_named() -> None:
    before, after = hook_up("101211A L", "103811A L"), hook_up("101211A L", "102011A L", "103811A L")
    assert [name for name, _ in after - before] == ["connect 102011A L"]
    assert not before - after


def test_a_superseded_hook_up_sheet_names_steps_by_what_they_do(
    without_the_office: tuple[Quote, Quote, tuple[SheetChange, ...]]
) -> None:
    said = next(change.rows for change in without_the_office[2] if change.title == "Hook-up sheet")
    assert not re.search(r"(^|; )\d{1,3}(;|$| and)", said)

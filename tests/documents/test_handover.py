"""The home-owner's handover: every room, cable and piece once, an order that is safe, in plain words."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest
from msgspec.structs import replace

from quoting.documents.crew_pull import pull_lists
from quoting.documents.formats import formats_for
from quoting.documents.handover import handover_view
from quoting.documents.handover_view import HandoverView
from quoting.documents.language import language_for
from quoting.documents.proposal_rooms import fact_rows, live_rooms
from quoting.documents.write import write_documents
from quoting.facts import (
    AmplifierFact,
    AmplifierOutput,
    AudioSource,
    CableEnd,
    CableRun,
    Conduit,
    Connection,
    ControllerFact,
    HouseExit,
    KeypadFact,
    NetworkDevice,
    RoomInput,
    Speaker,
    Trench,
)
from quoting.quote import PricedOption, Quote
from tests.documents.papers import TEMPLATES

Handed = list[tuple[Quote, PricedOption, HandoverView]]


def view_of(quote: Quote, option: PricedOption) -> HandoverView:
    formats = formats_for("en_US", quote.pricing.currency, quote.job.unit_system, "en")
    return handover_view(quote, option, formats, language_for("en_US", {}))


@pytest.fixture(scope="module")
def handed(quotes: dict[str, Quote]) -> Handed:
    """Every option of every example, as if it had been accepted."""
    return [(quote, option, view_of(quote, option)) for quote in quotes.values() for option in quote.options]


def test_every_cable_is_on_the_list_once(handed: Handed) -> None:
    for quote, option, view in handed:
        assert Counter(cable.id for cable in view.cables) == Counter(
            row["id"] for row in fact_rows(quote, option, CableRun))


def test_every_room_with_music_is_in_one_zone(handed: Handed) -> None:
    for quote, option, view in handed:
        zones = {room.code: room.zone for room in quote.job.rooms}
        by_zone = {zone.number: zone.rooms for zone in view.zones}
        assert [room.name for room in live_rooms(option) if room.name not in by_zone[zones[room.room]]] == []


def test_every_room_with_music_is_on_a_card(handed: Handed) -> None:
    for _, option, view in handed:
        phone = " ".join(note for card in view.cards if not card.buttons for note in card.notes)
        titles = {card.title for card in view.cards}
        assert [room.name for room in live_rooms(option) if room.name not in titles and room.name not in phone] == []


def test_a_card_says_how_to_play_to_stop_and_to_turn_all_off(handed: Handed) -> None:
    for _, _, view in handed:
        for card in view.cards:
            assert [line.split(":")[0] for line in card.lines] == ["To play", "To stop", "All off"]


def test_amplifiers_go_off_first_and_on_last_with_the_rest_between_in_its_order(handed: Handed) -> None:
    # the usual order of waking: what is asked comes up before what asks it; loudspeakers' power goes first and comes
    # last, so that nothing that starts is heard as a bang (common practice)
    for quote, option, view in handed:
        said = [step.text for step in view.restart if "knob" not in step.text]
        amplifiers = {row["amplifier"] for row in fact_rows(quote, option, AmplifierOutput)}
        assert all(id in said[0] and id in said[-1] for id in amplifiers)
        assert "router" in said[1]
        between = [id for text in said[2:-1] for id in re.findall(r"\b(?:NET|CTL|SRC)-\d+", text)]
        kinds = [id.partition("-")[0] for id in between]
        assert kinds == sorted(kinds, key=("NET", "CTL", "SRC").index)


@pytest.mark.parametrize("locale", ["en_US", "de_DE", "fr_FR", "es_ES"])
def test_a_device_that_is_alone_in_its_step_is_not_told_of_as_several(quotes: dict[str, Quote], locale: str) -> None:
    # the workbook: the option good has one amplifier, in its controller, and one player
    quote, option = quotes["1"], quotes["1"].options[0]
    formats = formats_for(locale, quote.pricing.currency, quote.job.unit_system, locale[:2])
    view = handover_view(quote, option, formats, language_for(locale, {}))
    alone = [step.text for step in view.restart if len(re.findall(r"\b[A-Z]+-\d+\b", step.text)) == 1]
    assert [sum(id in text for text in alone) for id in ("CTL-1", "SRC-1")] == [2, 1]
    several = ("one after the other", "nach dem ander", "l’un après l’autre", "uno tras otro")
    assert [text for text in alone if any(words in text for words in several)] == []


def test_no_device_is_named_twice_between_the_amplifiers_off_and_on(handed: Handed) -> None:
    for quote, option, view in handed:
        said = Counter(id for step in view.restart[:-1] for id in re.findall(r"\b[A-Z]+-\d+", step.text))
        assert set(said.values()) <= {1}
        ours = {row["id"] for kind in (NetworkDevice, ControllerFact) for row in fact_rows(quote, option, kind)}
        assert ours <= set(said)


def test_every_step_with_a_device_has_room_for_its_switch_or_outlet(handed: Handed) -> None:
    for _, _, view in handed:
        assert [step.text for step in view.restart[:-1] if step.switched != ("knob" not in step.text)] == []
        assert not view.restart[-1].switched  # the amplifiers' own, written at their first step


def test_where_a_passive_knob_is_on_a_wall_it_is_turned_up_first(handed: Handed) -> None:
    for quote, option, view in handed:
        names = {room.code: room.name for room in quote.job.rooms}
        knobs = {names[row["room"]] for row in fact_rows(quote, option, KeypadFact) if row["control"] == "knob"}
        assert all(name in view.restart[0].text for name in knobs)
        assert bool(knobs) == ("knob" in view.restart[0].text)


def test_every_television_and_socket_is_among_what_can_be_chosen(handed: Handed) -> None:
    for quote, option, view in handed:
        names = {room.code: room.name for room in quote.job.rooms}
        for entry in fact_rows(quote, option, RoomInput):
            told = [source for source in view.sources if source.endswith(f"in {names[entry['room']]}")]
            assert [("television" in source) for source in told].count(entry["what"] == "tv") == 1


def test_at_smoke_nobody_touches_anything(handed: Handed) -> None:
    # fire services everywhere say the same: out of the house, then call
    for _, _, view in handed:
        fire = next(line for line in view.danger if line.startswith("Smoke"))
        assert "out of the house" in fire and "switch" not in fire


def test_every_conduit_and_way_out_is_on_the_list_once(handed: Handed) -> None:
    for quote, option, view in handed:
        assert Counter(way.id for way in view.ways) == Counter(
            row["id"] for kind in (Conduit, Trench, HouseExit) for row in fact_rows(quote, option, kind))


def test_a_cable_is_spare_where_nothing_is_on_it(handed: Handed) -> None:
    for quote, option, view in handed:
        live = {row["run"] for row in fact_rows(quote, option, CableEnd) if row["live"]}
        assert {cable.id for cable in view.cables if cable.use == "in use"} == live


def test_every_piece_that_we_bring_has_a_line_for_its_serial_number(handed: Handed) -> None:
    for quote, option, view in handed:
        said = Counter(piece.id for piece in view.equipment)
        ours = {row["id"] for kind in (AmplifierFact, AudioSource, ControllerFact, KeypadFact, NetworkDevice, Speaker)
                for row in fact_rows(quote, option, kind) if row["part"] and not row.get("owned")}
        assert ours <= set(said) and max(said.values()) == 1


def test_what_the_customer_owns_is_not_in_our_warranty(handed: Handed) -> None:
    for quote, option, view in handed:
        owned = {row["id"] for kind in (AudioSource, KeypadFact, Speaker) for row in fact_rows(quote, option, kind)
                 if row.get("owned")}
        assert owned & {piece.id for piece in view.equipment} == set()


def test_a_limit_that_the_family_asked_for_is_said(quotes: dict[str, Quote]) -> None:
    quote = quotes["1"]
    option = quote.options[1]
    zones = tuple({**row, "max_volume": 70} for row in option.facts["zone"])
    changed = replace(quote, options=tuple(replace(one, facts={**one.facts, "zone": zones}) if one is option else one
                                           for one in quote.options))
    assert {zone.limit for zone in view_of(changed, option).zones} == {"70% of the full volume"}


def test_quiet_hours_are_said_where_music_plays_outdoors(handed: Handed) -> None:
    for quote, option, view in handed:
        outdoors = {room.code for room in quote.job.rooms if room.setting == "outdoor"}
        plays = any(room.room in outdoors for room in live_rooms(option))
        assert any("quiet hours" in line for line in view.safety) == plays


def test_the_handover_is_written_for_the_accepted_option_alone(quotes: dict[str, Quote], tmp_path: Path) -> None:
    for name, accepted in (("draft", ""), ("accepted", "better")):
        (tmp_path / name).mkdir()
        write_documents(quotes["1"], tmp_path / name, (TEMPLATES,), accepted=accepted)
    assert [(tmp_path / name / "customer" / "handover.html").exists() for name in ("draft", "accepted")] == [
        False, True]


def option_of(handed: Handed, name: str) -> tuple[Quote, PricedOption, HandoverView]:
    """An option by the example's number and its name."""
    return handed[3 * (int(name[0]) - 1) + ("good", "better", "best").index(name[2:])]


def test_a_player_of_two_streams_is_offered_as_two_and_said_to_play_no_more(handed: Handed) -> None:
    # parts.csv: ST-20 plays two things at once; the house has eight zones
    _, _, view = option_of(handed, "1 better")
    assert view.sources[:2] == ("Music streamer 1", "Music streamer 2")
    assert view.source_notes[0].startswith("From Music streamer at most 2 different pieces")


def test_zones_that_play_by_themselves_are_told_of_no_shared_streams(handed: Handed) -> None:
    _, _, view = option_of(handed, "2 better")
    assert [note for note in view.source_notes if "pieces" in note] == []


def test_what_an_amplifier_passes_on_is_said_to_be_silent_without_it(handed: Handed) -> None:
    _, _, view = option_of(handed, "2 better")
    assert any("AMP-1: Plattenspieler" in note and "heard in no zone" in note for note in view.source_notes)


def test_everything_that_carries_sound_is_on_the_restart_list(handed: Handed) -> None:
    for quote, option, view in handed:
        said = " ".join(step.text for step in view.restart)
        corded = {row["to_device"] for row in fact_rows(quote, option, Connection) if row["group"] == "mains"}
        carrying = {row[end] for row in fact_rows(quote, option, Connection) if row["group"] == "source"
                    for end in ("from_device", "to_device")}
        assert [id for id in sorted(corded & carrying) if not re.search(rf"\b{id}\b", said)] == []


def test_a_cable_s_planned_length_is_the_pull_list_s(handed: Handed) -> None:
    for quote, option, view in handed:
        pulled = {row[1]: row[6] for table in pull_lists(quote, option) for row in table.rows}
        assert {cable.id: cable.planned.partition("\N{NO-BREAK SPACE}")[0].partition(" ")[0]
                for cable in view.cables} == pulled


def test_a_cable_that_is_there_already_has_no_planned_length(handed: Handed) -> None:
    # nobody knows how long it is; the run as the design makes it where the workbook says "reuse cable"
    quote, option, _ = option_of(handed, "1 better")
    facts = {**quote.facts, "cable_run": tuple(
        {**row, "reused": True, "part": "", "length_m": 0.0} if row["room"] == "BAS" else row
        for row in quote.facts["cable_run"])}
    there = {row["id"] for row in facts["cable_run"] if row["reused"]}
    view = view_of(replace(quote, facts=facts), option)
    assert there
    assert {cable.id for cable in view.cables if cable.planned == "\N{EN DASH}"} == there


def test_a_prepared_control_is_no_spare_cable_and_is_said_to_be_possible(handed: Handed) -> None:
    # the workbook: basement and dining room are wired for a control that the option leaves out
    _, _, view = option_of(handed, "1 better")
    assert {cable.end.rpartition(", ")[2] for cable in view.cables if cable.use == "for a later control"} == {
        "BAS-K1", "DROO-K1"}
    assert "BAS-K1" in view.later_controls and "DROO-K1" in view.later_controls


@pytest.mark.parametrize(("towards", "said"), [("MBED", "attic above Main bedroom"), ("", "")])
def test_a_conduit_to_the_attic_ends_above_the_room_that_the_plan_shows_there(
    handed: Handed, towards: str, said: str
) -> None:
    quote, option, _ = option_of(handed, "1 better")
    rows = tuple({**row, "towards": towards} if row["to"] == "attic" else row
                 for row in fact_rows(quote, option, Conduit))
    view = view_of(replace(quote, facts={**quote.facts, "conduit": rows}), option)
    assert [way.room for way in view.ways if "to the attic" in way.words] == [said]


def test_a_keypad_s_card_has_a_line_for_each_button(handed: Handed) -> None:
    # parts.csv: the keypad of the better option has eight buttons
    _, _, view = option_of(handed, "1 better")
    assert {card.buttons for card in view.cards} == {8, 0}  # none on the telephone's


def test_players_of_one_name_are_numbered_on(handed: Handed) -> None:
    # the third example has two music streamers of two streams in its better option: four names, none twice
    for quote, option, view in handed:
        assert max(Counter(view.sources).values(), default=1) == 1
        streams = sum(max(1, row["inputs"]) for row in fact_rows(quote, option, AudioSource)
                      if row["kind"] == "streamer" and row["at_head_end"])
        assert streams < 2 or len([name for name in view.sources if re.search(r" \d+$", name)]) == streams

"""The home-owner's handover: every room, cable and piece once, an order that is safe, in plain words."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from quoting.documents.formats import formats_for
from quoting.documents.handover import handover_view
from quoting.documents.handover_view import HandoverView
from quoting.documents.language import language_for
from quoting.documents.proposal_rooms import fact_rows, live_rooms
from quoting.documents.write import write_documents
from quoting.facts import AmplifierFact, AudioSource, CableRun, ControllerFact, KeypadFact, NetworkDevice, Speaker
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


def test_amplifiers_start_last_and_the_router_first(handed: Handed) -> None:
    # the usual order of waking: what is asked comes up before what asks it, loudspeakers' power last (common practice)
    for quote, option, view in handed:
        there = [kind for kind in (NetworkDevice, ControllerFact, AudioSource, AmplifierFact)
                 if fact_rows(quote, option, kind)]
        assert len(view.restart) == 1 + len(there) and "router" in view.restart[0]
        if AmplifierFact in there:
            assert view.restart[-1].startswith("The amplifiers last.")


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

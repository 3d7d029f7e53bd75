"""The home-owner's handover: how to live with what was built, in the job's language, and what to keep on paper."""

from __future__ import annotations

import math
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

from quoting.documents.equipment import pieces
from quoting.documents.formats import Formats, formats_for
from quoting.documents.handover_house import cables, later_controls, place_note, ways
from quoting.documents.handover_music import restart, source_notes, sources_heard
from quoting.documents.handover_view import ControlCard, EquipmentLine, HandoverView, ZoneLine
from quoting.documents.language import N_, Language, language_for
from quoting.documents.proposal_customer import firm_face, paper_facts
from quoting.documents.proposal_rooms import fact_rows, in_house_order, live_rooms
from quoting.documents.proposal_words import control_words, isolate, listed, option_title, sentence
from quoting.documents.templates import render_page
from quoting.documents.work_limits import work_limits
from quoting.facts import AudioSource, KeypadFact, RoomUse, ZoneFact
from quoting.quote import PricedOption, Quote

PAGE = "handover.html"
PHONE = "phone"
HOW = {  # control -> how to play, stop, turn all off
    "keypad": (
        N_("To play: choose what you want to hear on the keypad, then turn it up from low."),
        N_("To stop: press off on the keypad. Only this room stops, and the rooms that play with it."),
        N_("All off: keep off pressed until every room is quiet.")),
    "knob": (
        N_("To play: start the music with the phone or at the player, then turn the knob up from low."),
        N_("To stop: turn the knob down; the music is stopped with the phone."),
        N_("All off: choose all off with the phone.")),
    PHONE: (
        N_("To play: choose the room with the phone, then what you want to hear, and turn it up from low."),
        N_("To stop: choose the room with the phone and stop it."),
        N_("All off: choose all off with the phone.")),
}
FIRE = N_("Smoke or fire: everybody out of the house, then call the fire service. Nobody goes back for anything.")
SMELL = N_("A smell of burning and no smoke: if it is safe, switch off the breaker marked ________, then call us. "
           "Nobody but an electrician opens anything with mains in it.")
SAFE = (
    N_("Set a volume limit for children, and turn up from low."),
    N_("Keep the air around the equipment free: cover nothing, store nothing that burns beside it."),
)
NEIGHBOURS = N_("Outdoors sound carries at night: keep to the quiet hours of your place.")
ACCOUNTS = (N_("Router and wireless network"), N_("App on your phones"), N_("Music services"),
            N_("Settings of the equipment, for the installer"))


def write_handover(quote: Quote, option: PricedOption, path: Path, templates: tuple[Path, ...]) -> None:
    """Write the handover of the option that was accepted.

    Raises OSError where the file cannot be written, BadTemplate where a template of the firm's own fails.
    """
    terms = quote.job.terms
    language = language_for(terms.locale, quote.firm.wording)
    formats = formats_for(terms.locale, quote.pricing.currency, quote.job.unit_system, language.code)
    view = handover_view(quote, option, formats, language)
    path.write_bytes(render_page(templates, PAGE, view=view, formats=formats, language=language).encode("utf-8"))


def handover_view(quote: Quote, option: PricedOption, formats: Formats, language: Language) -> HandoverView:
    """Everything that the handover prints."""
    quote = in_house_order(quote)
    option = next(one for one in quote.options if one.name == option.name)
    return HandoverView(
        paper=paper_facts(quote), firm=firm_face(quote), client=quote.job.client.name, site=quote.job.client.site,
        option=option_title(option), place=isolate(quote.job.head_end.place),
        zones=tuple(_zones(quote, option, formats, language)),
        sources=tuple(map(sentence, sources_heard(quote, option, language))),
        source_notes=tuple(source_notes(quote, option, language)),
        cards=tuple(_cards(quote, option, language)), restart=tuple(restart(quote, option, language)),
        danger=tuple(map(language.gettext, (FIRE, SMELL))), safety=tuple(_safety(quote, option, formats, language)),
        accounts=tuple(map(language.gettext, ACCOUNTS)),
        equipment=tuple(_equipment(quote, option)), cables=tuple(cables(quote, option, formats, language)),
        place_note=place_note(quote, option, language),
        later_controls=later_controls(quote, option, language), ways=tuple(ways(quote, option, formats, language)))


def _zones(quote: Quote, option: PricedOption, formats: Formats, language: Language) -> Iterator[ZoneLine]:
    live = {room.room for room in live_rooms(option)}
    limits = {row["zone"]: row["max_volume"] for row in fact_rows(quote, option, ZoneFact)}
    rooms: dict[int, list[str]] = {}
    for room in sorted(quote.job.rooms, key=lambda room: room.zone):
        if room.code in live:
            rooms.setdefault(room.zone, []).append(room.name)
    for number, names in rooms.items():
        most = limits.get(number, 0)
        limit = language.gettext("%(rate)s of the full volume", rate=formats.rate(Decimal(most) / 100)) if most else ""
        yield ZoneLine(number=number, rooms=listed(names, language), limit=limit)


def _cards(quote: Quote, option: PricedOption, language: Language) -> Iterator[ControlCard]:
    """A card for each room with a control on its wall, and one for the phone."""
    uses = {row["room"]: row for row in fact_rows(quote, option, RoomUse)}
    zones = {room.code: room.zone for room in quote.job.rooms}
    uncounted = work_limits(quote)["uncounted_buttons"]
    buttons: dict[str, int] = {}  # of the keypad that has the most, where a room has two
    for row in fact_rows(quote, option, KeypadFact):
        if row["control"] == "keypad":
            buttons[row["room"]] = max(buttons.get(row["room"], 0), row["buttons"] or uncounted)
    rooms = live_rooms(option)
    by_phone = [room for room in rooms if (room.control or PHONE) == PHONE]
    sources = listed(sources_heard(quote, option, language), language)
    records = [language.gettext("A record: choose %(player)s as you choose music, then start the player by hand.",
                                player=isolate(row["name"]))
               for row in fact_rows(quote, option, AudioSource) if row["phono"]]
    for room in rooms:
        if room not in by_phone:
            together = [other.name for other in rooms
                        if other is not room and zones.get(other.room) == zones.get(room.room)]
            notes = [*records, *_room_notes(uses.get(room.room, {}), language)]
            if together:
                notes.insert(0, language.gettext("Plays the same as %(rooms)s.", rooms=listed(together, language)))
            yield _card(room.name, room.control, notes, sources, language, buttons.get(room.room, 0))
    if by_phone:
        names = listed((room.name for room in by_phone), language)
        notes = [language.gettext("For %(rooms)s.", rooms=names), *records]
        notes += [f"{isolate(room.name)}: {note}" for room in by_phone
                  for note in _room_notes(uses.get(room.room, {}), language)]
        yield _card(control_words(PHONE, language), PHONE, notes, sources, language)


def _card(
    title: str, control: str, notes: list[str], sources: str, language: Language, buttons: int = 0
) -> ControlCard:
    return ControlCard(
        title=title, control=control_words(control, language), notes=tuple(notes), sources=sources,
        lines=tuple(map(language.gettext, HOW.get(control, HOW["keypad"]))), buttons=buttons)


def _room_notes(use: dict[str, object], language: Language) -> Iterator[str]:
    if use.get("tv"):
        yield language.gettext("The television’s sound can be heard here: choose the television as you choose music.")
    if use.get("room_input"):
        yield language.gettext("The socket on the wall takes a player of your own.")


def _safety(quote: Quote, option: PricedOption, formats: Formats, language: Language) -> Iterator[str]:
    limits = work_limits(quote)
    all_day, loud, hours = (formats.quantity(Decimal(str(limits[name]))) for name in (
        "all_day_db", "caution_db", "caution_hours"))
    yield language.ngettext(  # 3 dB halve the time: NIOSH 98-126, by which the hours are worked too
        "Hearing: about %(all_day)s decibels are safe all day, %(loud)s decibels for %(hours)s hour; every 3 decibels "
        "more halve the time. Where you have to raise your voice, it is too loud for long.",
        "Hearing: about %(all_day)s decibels are safe all day, %(loud)s decibels for %(hours)s hours; every 3 decibels "
        "more halve the time. Where you have to raise your voice, it is too loud for long.",
        math.ceil(limits["caution_hours"]), all_day=all_day, loud=loud, hours=hours)
    yield from map(language.gettext, SAFE)
    outdoors = {room.code for room in quote.job.rooms if room.setting == "outdoor"}
    if any(room.room in outdoors for room in live_rooms(option)):
        yield language.gettext(NEIGHBOURS)


def _equipment(quote: Quote, option: PricedOption) -> Iterator[EquipmentLine]:
    names = {room.code: room.name for room in quote.job.rooms}
    for piece in pieces(quote, option):
        info = quote.parts.get(piece.part)
        if info is not None and info.words:
            yield EquipmentLine(id=piece.id, words=info.words, room=isolate(names.get(piece.room, "")))

"""Answers that show in the house and that the proposal's words of a room do not tell: a colour, a name, a place.

Which they are says standards/change_answers.csv. Where the estimator moved a loudspeaker or a control, its new place
is told too.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping
from typing import Any

from quoting.changes import numbered
from quoting.documents.formats import Formats
from quoting.documents.language import N_, Language
from quoting.documents.proposal_answers import answer_words
from quoting.documents.proposal_rooms import FactRow, fact_rows
from quoting.documents.proposal_words import isolate
from quoting.facts import Place
from quoting.job import Job, SourceWish
from quoting.quote import PricedOption, Quote

Sides = tuple[Quote, Quote]
Options = tuple[PricedOption, PricedOption]
Lines = tuple[str, ...]
_MOVED = {
    "speaker": N_("Loudspeaker %(number)s: %(east)s from the west wall, %(north)s from the south wall"),
    "control": N_("Control %(number)s: %(east)s from the west wall, %(north)s from the south wall"),
    "input": N_("Player socket %(number)s: %(east)s from the west wall, %(north)s from the south wall"),
    "tv": N_("Television plate %(number)s: %(east)s from the west wall, %(north)s from the south wall"),
}
_COUNTED = {"doorbell", "paging", "trench", "conduit"}  # extras that the house's other rows tell
_EXTRAS = {
    "owned equipment": N_("Equipment of your own"), "spare cable": N_("Spare cable"), "part": N_("A part"),
    "allowance": N_("An allowance"),
}


class HouseAnswers:
    """What two revisions of a job say otherwise, in the customer's words."""

    def __init__(self, sides: Sides, options: Options, formats: Formats, language: Language) -> None:
        self._sides, self._options = sides, options
        self._formats, self._language = formats, language
        self._told = sides[1].change_answers

    def of_room(self, code: str) -> tuple[Lines, Lines]:
        """Lines of a room that stands in both revisions, before and after."""
        rooms = tuple(next(room for room in quote.job.rooms if room.code == code) for quote in self._sides)
        zones = tuple(next((zone for zone in quote.job.zones if zone.number == room.zone), None)
                      for quote, room in zip(self._sides, rooms, strict=True))
        pairs = [*self._differing("Rooms", *rooms), *(self._differing("Zones", *zones) if all(zones) else ()),
                 *self._moved(code)]
        return tuple(before for before, _ in pairs), tuple(after for _, after in pairs)

    def of_house(self) -> Iterator[tuple[str, Lines, Lines]]:
        """Rows of the house as a whole: a name, and its lines before and after."""
        old, new = (quote.job for quote in self._sides)
        for before, after in self._differing("Job", old, new):
            yield self._language.gettext("The work"), (before,), (after,)
        was, now = (_sources(*side) for side in zip(self._sides, self._options, strict=True))
        for name in (name for name in now if name in was):
            pairs = list(self._differing("Sources", was[name], now[name]))
            if pairs:
                yield isolate(name), tuple(before for before, _ in pairs), tuple(after for _, after in pairs)
        extras = tuple(self._extras(quote, option) for quote, option in zip(self._sides, self._options, strict=True))
        if extras[0] != extras[1]:
            yield self._language.gettext("Also asked for"), extras[0], extras[1]

    def _differing(self, sheet: str, old: Any, new: Any) -> Iterator[tuple[str, str]]:
        for told in self._told:
            if told.sheet == sheet:
                was, now = (getattr(row, told.answer) for row in (old, new))
                if was != now:
                    before, after = (self._line(told.words, self._said(told.answer, value, quote.job))
                                     for value, quote in zip((was, now), self._sides, strict=True))
                    yield before, after

    def _line(self, words: str, answer: str) -> str:
        return self._language.gettext("%(what)s: %(answer)s", what=words, answer=answer)

    def _said(self, answer: str, value: object, job: Job) -> str:
        """A value as the customer reads it; a blank place is the head end's."""
        if answer == "location":
            return next((isolate(room.name) for room in job.rooms if room.code == value), isolate(job.head_end.place))
        if isinstance(value, datetime.date):
            return self._formats.date(value)
        if isinstance(value, bool):
            text = "yes" if value else "no"
        else:
            text = "not said" if value in (None, "") else f"{value} m" if answer.endswith("_m") else str(value)
        return answer_words(answer, text, self._titles, self._formats, self._language)

    @property
    def _titles(self) -> Mapping[str, str]:
        return {option.name: option.title for option in self._sides[1].options}

    def _moved(self, code: str) -> Iterator[tuple[str, str]]:
        """Places of a room that an override moved, in either revision."""
        moved = {each.id for quote in self._sides for each in quote.job.overrides if each.what == "position"}
        places = [{row["id"]: row for row in fact_rows(quote, option, Place) if row["room"] == code}
                  for quote, option in zip(self._sides, self._options, strict=True)]
        for id in sorted(moved & places[0].keys() & places[1].keys()):
            before, after = (self._place(places[side][id]) for side in (0, 1))
            if before != after:
                yield before, after

    def _place(self, row: FactRow) -> str:
        return self._language.gettext(
            _MOVED[row["device"]], number=row["id"].rpartition("-")[2][1:], east=self._formats.length(row["x_m"]),
            north=self._formats.length(row["y_m"]))

    def _extras(self, quote: Quote, option: PricedOption) -> Lines:
        """What was asked for by name or number and no other row of the house tells, in this option."""
        rooms = {room.code: room.name for room in quote.job.rooms}
        found = []
        for extra in quote.job.extras:
            if extra.kind in _COUNTED or not _has(quote, option, extra.plays_from):
                continue
            words = quote.parts[extra.part].words if extra.part in quote.parts else extra.name
            what = isolate(words) if words and words != extra.kind else self._language.gettext(_EXTRAS[extra.kind])
            counted = self._language.gettext("%(number)s × %(what)s", number=self._formats.quantity(extra.quantity),
                                             what=what) if extra.quantity != 1 else what
            found.append(self._line(counted, isolate(rooms[extra.room])) if extra.room in rooms else counted)
        return tuple(found)


def _sources(quote: Quote, option: PricedOption) -> dict[str, SourceWish]:
    """What plays in this option, by name; of two that are called the same the second has a number."""
    named = numbered((source.name, source) for source in quote.job.sources)
    return {name: source for name, source in named.items() if _has(quote, option, source.plays_from)}


def _has(quote: Quote, option: PricedOption, plays_from: str) -> bool:
    """Whether an option has what is there from that option on."""
    order = {each.name: place for place, each in enumerate(quote.options)}
    return order.get(plays_from, 0) <= order[option.name]

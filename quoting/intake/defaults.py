"""Which value applies where a cell is blank, and the record of every default and every `?`."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from msgspec import Struct

from quoting.intake.entries import Entry
from quoting.job import Default, Unknown
from quoting.problems import Cell
from quoting.units import M_PER_FT, M_PER_IN, UnitSystem, show_length

USUAL = "usual"  # the source of a plain constant

# Common practice, no source: what most houses have where nobody says otherwise.
CEILING_M: dict[UnitSystem, float] = {"imperial": round(9 * M_PER_FT, 4), "metric": 2.5}
CONSTRUCTION = {"imperial": "wood frame", "metric": "masonry"}
TRAVEL_HOURS = 0.5
ROOM_CONSTANTS = {
    "mount": "ceiling", "listening": "background", "setting": "dry", "control": "keypad", "distance": "middle",
}
SOURCE_CONNECTORS = {"TV": "optical", "computer": "3.5 mm", "microphone": "balanced"}  # others: RCA
SOURCE_CONTROLS = {"streamer": "network", "tuner": "infrared", "disc": "infrared"}  # others: none

LOCALES = {
    "US": "en_US", "CA": "en_CA", "GB": "en_GB", "UK": "en_GB", "IE": "en_IE", "AU": "en_AU", "NZ": "en_NZ",
    "DE": "de_DE", "GERMANY": "de_DE", "AT": "de_AT", "AUSTRIA": "de_AT", "FR": "fr_FR", "FRANCE": "fr_FR",
    "NL": "nl_NL", "ES": "es_ES", "SPAIN": "es_ES", "IT": "it_IT", "PT": "pt_PT",
}
LOCALES_BY_CURRENCY = {"USD": "en_US", "GBP": "en_GB", "CAD": "en_CA", "AUD": "en_AU"}


def usual_locale(place: str, currency: str) -> str:
    """The language and format of a tax place ("US-OH", "Germany"), else of the currency, else English as in Ireland.

    >>> usual_locale("Germany", "EUR"), usual_locale("Sampleton", "USD")
    ('de_DE', 'en_US')
    """
    country = place.replace("_", "-").split("-")[0].upper()
    return LOCALES.get(country) or LOCALES_BY_CURRENCY.get(currency, "en_IE")


class Fallback(Struct, frozen=True):
    """A value that stands in for a blank cell. `where`: the intake cell that gave it; `asked`: a `?` stands there."""

    value: object
    source: str
    where: Cell | None = None
    asked: bool = False


@dataclass(slots=True)
class Ledger:
    """Every default and `?` of one workbook, in the order in which they were needed."""

    system: UnitSystem
    defaults: list[Default] = field(default_factory=list)
    unknowns: list[Unknown] = field(default_factory=list)

    def settle(
        self, entry: Entry, attribute: str, of: str, *fallbacks: Fallback, cells: dict[str, Cell] | None = None,
    ) -> Any:
        """The typed value, else the first fallback that has one; `cells` gets the intake cell that gave it.

        An unreadable cell takes the fallback without a record: its problem already stands.
        """
        typed = entry.values.get(attribute)
        if typed is not None:
            if cells is not None:
                cells[attribute] = entry.where(attribute)
            return typed
        chosen = next(fallback for fallback in fallbacks if fallback.value is not None)
        if cells is not None and chosen.where:
            cells[attribute] = chosen.where
        if attribute in entry.asked:
            self.ask(entry, attribute, of, chosen.value)
        elif chosen.asked and chosen.where:
            self._unknown(entry, attribute, of, chosen.value, chosen.where)
        elif attribute not in entry.bad:
            self.note(entry, attribute, of, chosen.value, chosen.source)
        return chosen.value

    def plain(
        self, entry: Entry, attribute: str, of: str, blank: object, cells: dict[str, Cell] | None = None,
    ) -> Any:
        """The typed value, else what blank means in that column ("no", "none"): that is an answer, not a default."""
        typed = entry.values.get(attribute)
        if typed is None and attribute in entry.asked:
            self.ask(entry, attribute, of, blank)
        if cells is not None and (typed is not None or attribute in entry.asked):
            cells[attribute] = entry.where(attribute)
        return blank if typed is None else typed

    def note(self, entry: Entry, attribute: str, of: str, value: object, source: str) -> None:
        """Records a default that was used."""
        heading = entry.form.column(attribute).heading
        self.defaults.append(Default(of, heading, self.show(attribute, value), source, entry.where(attribute)))

    def ask(self, entry: Entry, attribute: str, of: str, value: object) -> None:
        """Records a `?` and the value that is used meanwhile."""
        self._unknown(entry, attribute, of, value, entry.where(attribute))

    def _unknown(self, entry: Entry, attribute: str, of: str, value: object, where: Cell) -> None:
        heading = entry.form.column(attribute).heading
        bare = of.removeprefix("Rooms ")  # an open question names a room by its code alone
        self.unknowns.append(Unknown(bare, attribute, heading, self.show(attribute, value), where))

    def show(self, attribute: str, value: object) -> str:
        """A value in the salesperson's words and units."""
        if value is None or value == "":
            return "not said"
        if isinstance(value, bool):
            return "yes" if value else "no"
        if isinstance(value, float):
            if attribute == "joist_spacing_m":
                return f"{value / M_PER_IN:.3g} in" if self.system == "imperial" else f"{value * 100:.3g} cm"
            return show_length(value, self.system) if attribute.endswith("_m") else f"{value:g}"
        return ", ".join(value) if isinstance(value, tuple) else str(value)

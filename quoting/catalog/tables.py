"""Which tables a catalogue has, and which record a row of each parts sheet becomes."""

from __future__ import annotations

from quoting.catalog.fittings import BoxSpec, TubeSpec
from quoting.catalog.records import (
    AmplifierSpec,
    CableSpec,
    ControllerSpec,
    KeypadSpec,
    LeadSpec,
    RackSpec,
    SourceSpec,
    SpeakerSpec,
)

SPECS: dict[str, type] = {
    "speakers": SpeakerSpec, "cables": CableSpec, "amplifiers": AmplifierSpec, "controllers": ControllerSpec,
    "keypads": KeypadSpec, "sources": SourceSpec, "racks": RackSpec, "leads": LeadSpec,
    "boxes": BoxSpec, "tubes": TubeSpec,
}
PART_FIELDS = ("part", "bracket", "back_box", "rated_box", "plate", "substitute")  # text fields that name a part
FILES = (
    "parts.csv", "prices.csv", "sockets.csv", "labour.csv", "rates.csv", "options.csv", "taxes.csv", "terms.csv",
    "statements.csv", "fees.csv", "price_breaks.csv", "substitutes.csv", "factors.csv", "firm.csv", "wording.csv",
    "label_sheets.csv", "free_days.csv", "cases.csv",
)

"""What is on the walls to play by: the functions of each keypad's buttons, by hand; each volume knob and its cables."""

from __future__ import annotations

from quoting.documents.crew_sheet import NONE, CrewTable
from quoting.documents.crew_words import CrewWords, listed
from quoting.documents.floor_plan import rows_of_kind
from quoting.documents.work_limits import work_limits
from quoting.facts import KeypadFact
from quoting.quote import PricedOption, Quote

HAND = ""
KNOB_COLUMNS = ("Knob", "Room", "Cable in", "From", "Cables out", "To", "Set for")
SIGNED = ("Wording and function of each button, as the customer signed them: the engraving order and the keypads' "
          "programme are copied from here, the owner's cards too.")


def keypad_functions(quote: Quote, option: PricedOption) -> CrewTable:
    """A row a keypad, a column a button, to be filled in once the customer has signed."""
    keypads = [row for row in rows_of_kind(quote, option, KeypadFact) if row["control"] == "keypad"]
    uncounted = work_limits(quote)["uncounted_buttons"]  # of keypads of the customer's own
    buttons = [row["buttons"] or uncounted for row in keypads]
    most = max(buttons, default=0)
    rows = tuple((row["place"], row["room"], *(HAND if number <= its else NONE for number in range(1, most + 1)))
                 for row, its in zip(keypads, buttons, strict=True))
    return CrewTable(title="Keypad functions", columns=("Keypad", "Room", *(f"Button {number}" for number in range(
        1, most + 1))), rows=rows, notes=(SIGNED,))


def knob_schedule(quote: Quote, option: PricedOption, words: CrewWords) -> CrewTable:
    """A row a volume knob: what feeds it, what it feeds, and the number of pairs that it is set for."""
    rows = []
    for knob in rows_of_kind(quote, option, KeypadFact):
        if knob["control"] != "knob":
            continue
        into = [row for row in words.group("speaker") if row["to_device"] == knob["id"]]
        out = [row for row in words.group("speaker") if row["from_device"] == knob["id"]]
        pairs = knob["pairs_controlled"]
        rows.append((knob["place"], knob["room"], listed(row["run"] for row in into),
                     listed(words.device(row["from_device"]) for row in into), listed(row["run"] for row in out),
                     listed(words.device(row["to_device"]) for row in out),
                     f"{pairs} {'pair' if pairs == 1 else 'pairs'}"))
    return CrewTable(title="Volume knob schedule", columns=KNOB_COLUMNS, rows=tuple(rows),
                     notes=("Full up until the system has played.",) if rows else ())

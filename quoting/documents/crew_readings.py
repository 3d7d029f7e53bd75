"""What a meter or a tester should show, and what it means when it does not: the same on hook-up sheet and checklist.

A meter prints tenths of an ohm, so that a range is printed from the tenth below to the tenth above: what a person reads
within it is within it.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from typing import Any

FactRow = Mapping[str, Any]
LEADS = "Touch the meter's two leads together first, and take that reading off every other one."
IMPEDANCE = "A meter shows direct-current resistance, not impedance: expect less than the speaker's label."
PINS = "1 to 8 in order; no open, no short, no split pair"
PINS_IF_NOT = "that end again, by the same pin scheme; then the cable itself"
PIN_SCHEME = "One pin scheme at both ends of every category cable, that of the house where it has one: T568__ (A or B)."
TERMINALS_DEAD = "Every amplifier off and its cord out while a meter is on a speaker circuit."


def tenths(low_ohm: float, high_ohm: float) -> tuple[float, float]:
    """A range as it is printed.

    >>> tenths(6.24, 7.81)
    (6.2, 7.9)
    """
    return math.floor(round(low_ohm * 10, 6)) / 10, math.ceil(round(high_ohm * 10, 6)) / 10


def reading(row: FactRow, knobs: Collection[str], line: bool) -> tuple[str, str]:
    """What a circuit shows with all that hangs on it, and what else it may be."""
    low, high = row["meter_low_ohm"], row["meter_high_ohm"]
    if low and high:
        return _ohms(*tenths(low, high)), ("near 0: a short; far above: a joint or terminal is open; half: two pairs "
                                           "are joined on the way")
    if low:
        return (f"{tenths(low, low)[0]:.1f} ohm at least: the old cable's own comes on top, and nobody knows its "
                "length; left and right alike", "less: a short; no reading: a cut. Land nothing until found")
    wire = tenths(row["loop_low_ohm"], row["loop_high_ohm"])[1]
    above = f"more than {wire:.1f} ohm, which is the wire alone; " if wire else ""
    if_not = (f"{wire:.1f} ohm or less: a short; " if wire else "near 0: a short; ") + "no reading: a cut"
    if row["to_device"] in knobs:
        return (f"{above}left and right alike, and what the knob's own sheet says: left ____ right ____ ohm",
                f"{if_not}; left and right differ: IN and OUT turned round, or a joint. Land nothing until found")
    if line:
        return (f"{above}the meter sees windings of transformers: ____ ohm",
                f"{if_not}. Land nothing until found")
    return f"{above}left and right alike: left ____ right ____ ohm", f"{if_not}. Land nothing until found"


def together(rows: Sequence[FactRow]) -> str:
    """What circuits on one output show side by side: any that pass by themselves pass together; "" if nobody can tell.

    >>> together([{"meter_low_ohm": 6.21, "meter_high_ohm": 7.75}, {"meter_low_ohm": 6.37, "meter_high_ohm": 7.94}])
    '3.1 to 4.0 ohm'
    """
    if not all(row["meter_low_ohm"] and row["meter_high_ohm"] for row in rows):
        return ""
    printed = [tenths(row["meter_low_ohm"], row["meter_high_ohm"]) for row in rows]
    low, high = (1 / sum(1 / one[at] for one in printed) for at in (0, 1))
    return _ohms(*tenths(low, high))


TOGETHER_UNKNOWN = "less than any of them by itself, and no short"
TOGETHER_IF_NOT = "as one of them by itself: another is not landed; near 0: a strand across the terminal"


def wires_alone(rows: Sequence[FactRow]) -> str:
    """What speaker cables show by themselves before anything is landed: open, then twisted together at the far end.

    >>> wires_alone([{"run": "101211", "wire_low_ohm": 0.31, "wire_high_ohm": 0.43},
    ...              {"run": "101221", "wire_low_ohm": 0.0, "wire_high_ohm": 0.0}])
    'open: no reading; twisted, more than the leads alone: 101211 0.3 to 0.5 ohm; 101221 steady, no more than a few ohm'
    """
    told: dict[str, list[str]] = {}
    for row in rows:
        low, high = tenths(row["wire_low_ohm"], row["wire_high_ohm"])
        runs = told.setdefault(_ohms(low, high) if high else "steady, no more than a few ohm", [])
        runs += [row["run"]] if row["run"] not in runs else []
    return "open: no reading; twisted, more than the leads alone: " + "; ".join(
        f"{', '.join(runs)} {words}" for words, runs in told.items())


WIRE_IF_NOT = "a reading while open: a short; none while twisted: a cut. Find it before anything hides it"


def level_wanted(level: FactRow, meter_db: float) -> str:
    """What the meter shows at the seat once the volume is right, never beyond what plays without clipping.

    `meter_db`: how far from its target a level still is right.

    >>> level_wanted({"target_db": 70.0, "average_db": 82.3}, 4.0)
    '70 dB, 66 to 74'
    >>> level_wanted({"target_db": 80.0, "average_db": 82.6}, 4.0)
    '80 dB, 76 to 82'
    >>> level_wanted({"target_db": 85.0, "average_db": 80.1}, 4.0)
    'as near to 85 dB as it plays without distortion'
    """
    target, most = level["target_db"], level["average_db"]
    low, high = math.ceil(target - meter_db), math.floor(min(target + meter_db, most))
    if high < low:
        return f"as near to {target:.0f} dB as it plays without distortion"
    return f"{target:.0f} dB, {low} to {high}"


def level_most(level: FactRow) -> str:
    """How loud it is at the volume limit at most: the design plays no louder without clipping.

    >>> level_most({"average_db": 82.6})
    '82 dB at most'
    """
    return f"{math.floor(level['average_db'])} dB at most"


def level_words(level: FactRow, meter_db: float) -> str:
    """Both levels of one room, as the schedule, the hook-up sheet and the checklist have them."""
    return f"{level['room']} {level_wanted(level, meter_db)}; at the volume limit {level_most(level)}"


def _ohms(low: float, high: float) -> str:
    return f"{low:.1f} to {high:.1f} ohm"

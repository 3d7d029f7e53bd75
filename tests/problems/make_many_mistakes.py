"""Makes many-mistakes.xlsx: one house of a careless day. `PYTHONPATH=. python tests/problems/make_many_mistakes.py`

The workbook is kept beside this script, and so is its whole report, many-mistakes.txt: read what changes in it.
"""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from pathlib import Path

import openpyxl

from quoting.catalog.read import read_catalog
from quoting.intake.blank import write_blank
from quoting.intake.columns import intake_form
from quoting.intake.read import read_job
from tests.problems.forms import Change, apply_change

HERE = Path(__file__).parent
TARGET = HERE / "many-mistakes.xlsx"
CATALOG = HERE.parents[1] / "catalogs" / "demo"

JOB = {
    "Client": "The Marlowe family", "Wall state": "half open", "Head-end place": "basement closet",
    "Start date": "04/05/2027", "Who pays": "owner", "Tax place": "Northmark", "Language and format": "American",
    "Travel time one way": "quite far", "Year built": 2029, "Internet live date": "in spring", "Budget": "€ 24000",
    "Priorities": "sound, cheap", "Storeys": 2, "Discount": "7", "Quote date": datetime.date(2026, 9, 7),
    "Revision": 2, "Doorbells": "one", "Occupied": "sometimes",
}
FLOORS = ({"Floor": -1, "Ceiling height": "8 ft"}, {"Floor": 1, "Ceiling height": "9,250"},
          {"Floor": 2}, {"Floor": 2, "Ceiling height": "9 ft"})
ROOMS = (
    {"Name": "Kitchen", "Kind": "kithcen", "Floor": 1, "Length": "20 ft", "Width": "19 ft", "Zone": 1},
    {"Name": "Family room", "Kind": "family", "Floor": 1, "Length": "1,250", "Width": "17 ft", "Zone": 2,
     "Ceiling height": "14 ft", "Ceiling high side": "9 ft"},
    {"Name": "Family  Room", "Kind": "family", "Floor": 1, "Length": "20 ft", "Width": "17 ft"},
    {"Name": "Dining room", "Kind": "dining", "Floor": 4, "Length": "15 ft", "Width": "12 ft", "Pairs": -1},
    {"Name": "Main bedroom", "Kind": "main bedroom", "Floor": 2, "Length": "=14+6", "Width": "13 ft",
     "Plan x": "30 ft"},
    {"Name": "Main bath", "Kind": "main bath", "Floor": 2, "Length": "12 ft", "Width": "?", "Code": "RACK"},
    {"Name": "Office", "Kind": "office", "Floor": 1, "Length": 900, "Width": "10 ft", "Code": "OFFICE"},
    {"Name": "Study", "Kind": "office", "Floor": 1, "Length": "12 ft", "Width": "#REF!", "Code": "STU"},
    {"Name": "Guest room", "Kind": "guest suite", "Floor": 2, "Length": datetime.datetime(2026, 12, 6),
     "Width": "11 ft", "Code": "stu"},
    {"Name": "Patio", "Kind": "patio", "Floor": 1, "Length": "thirty", "Width": "15 ft", "Zone": "Outside",
     "Pairs good": 2, "Pairs better": 1},
    {"Name": "Hall", "Kind": "hall", "Floor": 1, "Length": "22 ft", "Zone": 3, "Mount": "garden",
     "Room input": "perhaps"},
    {"Name": "Library", "Kind": "library", "Floor": 1, "Length": "16 ft", "Width": "14 ft", "Sub-zone": "yes",
     "Control": "knob", "Second keypad": "yes"},
    {"Name": "Basement", "Kind": "basement", "Floor": -1, "Length": "28 ft", "Width": "15 ft", "Pairs": "1.5",
     "Plays from": "never", "TV into the system": "yes"},
    {"Name": "Attic", "Kind": "storage", "Floor": 2, "Length": "20 ft", "Width": "12 ft", "Measured run": "5 ft"},
)
ZONES = ({"Zone": 1, "Name": "Kitchen"}, {"Zone": 2, "Name": "Family"}, {"Zone": 2, "Name": "Den"},
         {"Zone": 3, "Name": "Hall"}, {"Zone": 9, "Name": "Garage"})
SOURCES = ({"Kind": "TV", "Location": "Famly room"},)
EXTRAS = ({"Kind": "part", "Part": "NO-SUCH-PART"}, {"Kind": "allowance", "Name": "Ceiling repair"},
          {"Kind": "trench", "Quantity": "long", "Room": "Patio"})
OVERRIDES = (
    {"Line or fact": "the long cable", "What": "length", "New value": "80 ft", "Reason": "measured",
     "Who": "R. Estimator"},
    {"Line or fact": "1084", "What": "hours", "Reason": "as last year", "Who": "R. Estimator"},
    {"Line or fact": "KIT-SP1", "What": "drop", "Reason": "not wanted", "Who": "R. Estimator"},
    {"Line or fact": "KIT-SP1", "What": "drop", "Reason": "really not", "Who": "R. Estimator"},
)


def changes() -> Iterator[Change]:
    """Every typed cell."""
    for column, value in JOB.items():
        yield Change("Job", "", column, value)
    tables = {"Floors": FLOORS, "Rooms": ROOMS, "Zones": ZONES, "Extras": EXTRAS, "Overrides": OVERRIDES}
    for sheet, rows in tables.items():
        for row, values in enumerate(rows, 1):
            for column, value in values.items():
                yield Change(sheet, str(row), column, value)
    for row, values in enumerate(SOURCES, 2):  # below the streamer that the blank form starts with
        for column, value in values.items():
            yield Change("Sources", str(row), column, value)


def main() -> None:
    """Fills a blank form with the careless day."""
    catalog, _ = read_catalog(CATALOG, datetime.date(2026, 9, 21))
    assert catalog is not None
    write_blank(TARGET, catalog)
    book = openpyxl.load_workbook(TARGET)
    floors = intake_form(catalog).floors
    for change in changes():
        apply_change(book, floors, change)
    for moment in ("created", "modified"):
        setattr(book.properties, moment, datetime.datetime(2026, 1, 1))
    book.save(TARGET)
    _, problems = read_job(TARGET, catalog)
    TARGET.with_suffix(".txt").write_text("".join(f"{problem}\n" for problem in problems), encoding="utf-8")


if __name__ == "__main__":
    main()

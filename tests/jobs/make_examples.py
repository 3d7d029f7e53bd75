"""Fill blank intake workbooks with the three example jobs: `python tests/jobs/make_examples.py`.

Houses, people, places and prices are invented. Every cell here is what a salesperson would type.
"""

from __future__ import annotations

import datetime
import re
from pathlib import Path
from typing import Any

import openpyxl
from openpyxl.worksheet.worksheet import Worksheet

from quoting.catalog.read import read_catalog
from quoting.intake.blank import write_blank

ROOT = Path(__file__).resolve().parents[2]
Rows = list[dict[str, Any]]

NEW_BUILD: dict[str, Any] = {
    "file": "1-new-build-eight-zones-2026-09-07.xlsx",
    "Job": {
        "Client": "Mara and Jonas Ellery", "Site address": "12 Lindenhof Lane, Sampleton, Northmark",
        "Wall state": "open", "Head-end place": "Basement closet", "Start date": datetime.date(2027, 1, 19),
        "Who pays": "owner", "Tax place": "Northmark", "Travel time one way": "30 min", "Head-end floor": "-1",
        "Internet live date": datetime.date(2027, 3, 15), "Router owner": "the family", "Budget": 32000,
        "Head-end beside": "Basement", "Head-end side": "east", "Head-end length": "6 ft", "Head-end width": "5 ft",
        "Budget said by": "Mara, first visit", "Priorities": "ease of use, sound", "Quote number": "Q-2031",
        "Quote date": datetime.date(2026, 9, 7),
        "Year built": 2027, "Phones and tablets": 3,
    },
    "Floors": [
        {"Floor": -1, "Ceiling height": "8 ft"}, {"Floor": 1, "Ceiling height": "9 ft"},
        {"Floor": 2, "Ceiling height": "9 ft"},
    ],
    "Rooms": [
        {"Name": "Kitchen and breakfast", "Kind": "kitchen", "Floor": 1, "Length": "20 ft", "Width": "19 ft", "Zone": 1,
         "Pairs": 2, "Listening": "background", "Measured run": "38 ft"},
        {"Name": "Family room", "Kind": "family", "Floor": 1, "Length": "20 ft", "Width": "17 ft", "Zone": 2,
         "Pairs": 1, "Ceiling height": "9 ft", "Ceiling high side": "16 ft", "TV into the system": "yes",
         "Measured run": "32 ft", "Listening": "background"},
        {"Name": "Dining room", "Kind": "dining", "Floor": 1, "Length": "15 ft", "Width": "12 ft", "Zone": 3,
         "Pairs": 1, "Above the ceiling": "quiet room"},
        {"Name": "Main bedroom", "Kind": "main bedroom", "Floor": 2, "Length": "20 ft", "Width": "13 ft", "Zone": 4,
         "Pairs": 1, "Room input": "yes"},
        {"Name": "Main bath", "Kind": "main bath", "Floor": 2, "Length": "12 ft", "Width": "10 ft", "Zone": 5,
         "Pairs": 1, "Near pool or shower": "yes"},
        {"Name": "Office", "Kind": "office", "Floor": 1, "Length": "14 ft", "Width": "10 ft", "Zone": 6, "Pairs": 1,
         "Mount": "surface"},
        {"Name": "Patio", "Kind": "patio", "Floor": 1, "Length": "20 ft", "Width": "15 ft", "Zone": 7, "Pairs": 1,
         "Plays from": "better", "Listening": "background", "Beside room": "Family room"},
        {"Name": "Basement", "Kind": "basement", "Floor": -1, "Length": "28 ft", "Width": "15 ft", "Zone": 8,
         "Pairs": 1, "Plays from": "better"},
    ],
    "Zones": [{"Zone": 7, "Name": "Patio", "Bridged": "yes"}],
}

RETROFIT: dict[str, Any] = {
    "file": "2-finished-masonry-five-zones-2026-09-14.xlsx",
    "Job": {
        "Client": "Familie Sommerfeld", "Site address": "Ahornweg 7, Musterstadt", "Wall state": "finished",
        "Head-end place": "Abstellraum", "Head-end beside": "Küche", "Head-end side": "west",
        "Head-end length": "1,80 m", "Head-end width": "1,60 m", "Start date": datetime.date(2027, 2, 8),
        "Who pays": "owner",
        "Tax place": "Germany", "Language and format": "de_DE", "Unit system": "metric",
        "Head-end shape": "network amplifiers", "Cable topology": "direct", "Head-end floor": "0",
        "Travel time one way": "0,75", "Year built": 1968, "Occupied": "yes", "Priorities": "looks, ease of use",
        "Budget": "14000", "Budget said by": "Herr Sommerfeld, am Telefon", "Quote number": "A-117",
        "Quote date": datetime.date(2026, 9, 14),
        "Internet live date": datetime.date(2026, 11, 2), "Router owner": "Familie Sommerfeld",
    },
    "Floors": [
        {"Floor": 0, "Ceiling height": "2,55 m", "Construction": "masonry", "Wall state": "finished"},
        {"Floor": 1, "Ceiling height": "2,45 m", "Construction": "masonry", "Wall state": "finished"},
    ],
    "Rooms": [
        {"Name": "Küche", "Kind": "kitchen", "Floor": 0, "Length": "4,20 m", "Width": "3,60 m", "Control": "knob",
         "Above the ceiling": "?"},
        {"Name": "Wohnzimmer", "Kind": "living", "Floor": 0, "Length": "6,10 m", "Width": "4,40 m",
         "Mount": "surface", "Listening": "background", "Control": "knob", "Distance": "near"},
        {"Name": "Esszimmer", "Kind": "dining", "Floor": 0, "Length": "4,00 m", "Width": "3,50 m", "Mount": "surface",
         "Control": "phone"},
        {"Name": "Schlafzimmer", "Kind": "main bedroom", "Floor": 1, "Length": "4,50 m", "Width": "3,80 m",
         "Mount": "surface", "Control": "phone", "Plays from": "better"},
        {"Name": "Bad", "Kind": "main bath", "Floor": 1, "Length": "3,00 m", "Width": "2,60 m", "Control": "phone",
         "Plays from": "better", "Near pool or shower": "yes"},
    ],
    "Sources": [{"Kind": "turntable", "Name": "Plattenspieler", "Owned": "yes", "Connector": "RCA"}],
}


def _large_rooms() -> Rows:
    """Twenty rooms that play and four that are only wired, on three floors and in the garden."""
    table = """
        Kitchen|kitchen|1|18|16|good|; Great room|great room|1|26|20|good|tv; Dining room|dining|1|16|13|good|
        Breakfast room|breakfast|1|12|11|better|; Library|library|1|15|12|better|; Study|office|1|13|11|good|input
        Powder room|powder room|1|7|5|best|; Entry hall|entry|1|14|9|best|; Mudroom|mudroom|1|10|8|later|
        Main bedroom|main bedroom|2|20|15|good|tv; Main bath|main bath|2|14|10|good|; Dressing room|closet|2|10|8|best|
        Bedroom east|bedroom|2|14|12|better|; Bedroom west|bedroom|2|14|12|better|
        Guest suite|guest suite|2|15|13|best|
        Upper hall|hall|2|18|6|best|; Nursery|nursery|2|12|11|later|; Attic studio|office|2|15|12|later|
        Games room|games room|-1|24|16|good|tv; Gym|gym|-1|16|14|better|; Wine room|bar|-1|12|10|better|
        Workshop|workshop|-1|15|12|later|
        Terrace|patio|1|24|16|good|; Garden|garden|1|40|30|best|
    """
    rooms: Rows = []
    for line in re.split(r"[;\n]", table):
        if not line.strip():
            continue
        name, kind, floor, length, width, plays, extra = (cell.strip() for cell in line.split("|"))
        room: dict[str, Any] = {"Name": name, "Kind": kind, "Floor": int(floor), "Length": f"{length} ft",
                                "Width": f"{width} ft", "Plays from": plays}
        if extra == "tv":
            room["TV into the system"] = "yes"
        if extra == "input":
            room["Room input"] = "yes"
        rooms.append(room)
    by_name = {room["Name"]: room for room in rooms}
    by_name["Kitchen"] |= {"Second keypad": "yes", "Listening": "background"}
    by_name["Great room"] |= {"Ceiling height": "11 ft", "Listening": "background", "Colour": "ivory"}
    by_name["Dining room"] |= {"Above the ceiling": "quiet room"}
    by_name["Games room"] |= {"Listening": "background"}
    by_name["Gym"] |= {"Listening": "background"}
    by_name["Terrace"] |= {"Listening": "background", "Pairs": 2}
    by_name["Terrace"]["Beside room"] = "Great room"
    by_name["Garden"] |= {"Pairs": 2, "Listening": "background", "Beside room": "Breakfast room"}
    return rooms


LARGE: dict[str, Any] = {
    "file": "3-large-house-twenty-zones-2026-09-21.xlsx",
    "Job": {
        "Client": "Orla Whitcombe-Reyes", "Site address": "1 Quarry Hill Road, Eastmoor", "Wall state": "open",
        "Head-end place": "Plant room", "Start date": datetime.date(2027, 3, 1), "Who pays": "builder",
        "Head-end beside": "Games room", "Head-end side": "east", "Head-end length": "10 ft", "Head-end width": "9 ft",
        "Tax place": "Eastmoor", "Travel time one way": "50 min", "Head-end floor": "-1", "Doorbells": 2,
        "Budget": 150000, "Budget said by": "the architect", "Priorities": "future growth, sound, ease of use",
        "Quote number": "Q-2044",
        "Quote date": datetime.date(2026, 9, 21), "Discount": "3 %", "Discount reason": "second house for this builder",
        "Router owner": "the builder's network firm", "Phones and tablets": 5, "Streams": 4,
    },
    "Floors": [
        {"Floor": -1, "Ceiling height": "9 ft"}, {"Floor": 1, "Ceiling height": "10 ft"},
        {"Floor": 2, "Ceiling height": "9 ft", "Above the ceiling": "insulated attic"},
    ],
    "Rooms": _large_rooms(),
    "Zones": [],
    "Sources": [
        {"Kind": "turntable", "Name": "Record player", "Owned": "yes", "Connector": "RCA"},
        {"Kind": "disc", "Name": "Disc player", "Owned": "no", "Connector": "optical", "Plays from": "better"},
        {"Kind": "tuner", "Name": "Radio tuner", "Owned": "no", "Connector": "RCA", "Plays from": "best"},
    ],
    "Extras": [
        {"Kind": "owned equipment", "Name": "Tape deck", "Quantity": 1},
        {"Kind": "trench", "Name": "Trench to the garden", "Room": "Garden", "Quantity": "60 ft"},
        {"Kind": "conduit", "Name": "Sleeve under the terrace", "Room": "Terrace", "Quantity": "25 ft"},
        {"Kind": "paging", "Name": "Kitchen page", "Quantity": 1, "Plays from": "best"},
    ],
}

EXAMPLES = (NEW_BUILD, RETROFIT, LARGE)


def main(folder: Path = ROOT / "examples") -> None:
    """Write the example workbooks into a folder."""
    catalog, problems = read_catalog(ROOT / "catalogs" / "demo", datetime.date(2026, 9, 1))
    if catalog is None:
        raise SystemExit("\n".join(str(problem) for problem in problems))
    for example in EXAMPLES:
        target = folder / example["file"]
        target.unlink(missing_ok=True)
        write_blank(target, catalog)
        book = openpyxl.load_workbook(target)
        book.properties.created = book.properties.modified = datetime.datetime(2026, 9, 1)
        _fill_job(book["Job"], example["Job"], example.get("Floors", []))
        for sheet in ("Rooms", "Zones", "Sources", "Extras"):
            _fill_rows(book[sheet], example.get(sheet, []))
        book.save(target)


def _fill_job(sheet: Worksheet, values: dict[str, Any], floors: Rows) -> None:
    labels = {str(row[0].value).strip().rstrip("*").strip(): row[0].row for row in sheet.iter_rows(max_col=1)
              if row[0].value}
    for label, value in values.items():
        sheet.cell(labels[label], 2).value = value
    top = labels["Floor"]
    headings = {str(cell.value).strip().rstrip("*").strip(): cell.column for cell in sheet[top] if cell.value}
    for index, floor in enumerate(floors, 1):
        for heading, value in floor.items():
            sheet.cell(top + index, headings[heading]).value = value


def _fill_rows(sheet: Worksheet, rows: Rows) -> None:
    for top in range(1, 16):
        headings = {str(cell.value).strip().rstrip("*").strip(): cell.column for cell in sheet[top] if cell.value}
        if len(headings) > 3:
            break
    first = top + 1
    while any(cell.value is not None for cell in sheet[first]):
        first += 1
    for index, row in enumerate(rows):
        for heading, value in row.items():
            sheet.cell(first + index, headings[heading]).value = value


if __name__ == "__main__":
    main()

"""How the time of a build grows with the house: the exponent between 100 and 400 rooms, at most 1.1.

    python tests/benchmarks/growth.py [--runs 5]

The first example's Job and Sources sheets, with rooms in number, each a zone with a network amplifier of its own (no
controller has so many outputs). Start-up is what a house of
one room takes (catalogue included: the stricter choice), and is taken off. The last line is `exponent 1.02`; exit
status 1 where it is over 1.1.
"""

from __future__ import annotations

import math
import os
import resource
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from openpyxl import load_workbook
from openpyxl.worksheet.worksheet import Worksheet

ROOT = Path(__file__).resolve().parents[2]
FEW, MANY = 100, 400
LIMIT = 1.1
KINDS = ("kitchen", "family", "bedroom", "office")
DIGITS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"


def heading_row(sheet: Worksheet) -> int:
    """The row that holds the headings: the first one with more than two cells filled."""
    for row in sheet.iter_rows(max_row=15):
        if sum(cell.value is not None for cell in row) > 2:
            return row[0].row
    raise SystemExit(f"no heading row in the first 15 of {sheet.title}")


def columns(sheet: Worksheet, row: int) -> dict[str, int]:
    """Heading, in small letters, to its column."""
    return {str(cell.value).strip().casefold(): cell.column for cell in sheet[row] if cell.value}


def code(number: int) -> str:
    """A room code of four characters."""
    return "R" + "".join(DIGITS[number // 36**place % 36] for place in (2, 1, 0))


def make_house(example: Path, rooms: int, target: Path) -> None:
    """The example with so many rooms; zones, extras and overrides emptied."""
    workbook = load_workbook(example)
    for name in ("Zones", "Extras", "Overrides", "Rooms"):
        sheet = workbook[name]
        top = heading_row(sheet)
        for row in sheet.iter_rows(min_row=top + 1):
            for cell in row:
                if type(cell).__name__ != "MergedCell":
                    cell.value = None
    for row in workbook["Job"].iter_rows():
        if row[0].value == "Head-end shape":
            row[1].value = "network amplifiers"
    sheet = workbook["Rooms"]
    top = heading_row(sheet)
    at = columns(sheet, top)
    for number in range(rooms):
        values = {"name": f"Room {number + 1}", "code": code(number), "kind": KINDS[number % len(KINDS)],
                  "floor": 1 + number % 2, "length": 12 + number % 9, "width": 10 + number % 7,
                  "distance": "near"}
        for heading, value in values.items():
            column = next(place for words, place in at.items() if words.split(" (")[0].startswith(heading))
            sheet.cell(top + 1 + number, column, value)
    workbook.save(target)


def processor_s() -> float:
    """Processor time of all finished child processes: other work on the machine does not count."""
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def seconds(workbook: Path, runs: int, here: Path) -> float:
    """The median processor time of a build, each in a fresh process into a new folder; one run is discarded."""
    taken = []
    for run in range(runs + 1):
        out = here / f"{workbook.stem}-{run}"
        command = [sys.executable, "-m", "quoting", "build", str(workbook), "--out", str(out)]
        begun = processor_s()
        done = subprocess.run(command, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True,
                              text=True, check=False)
        taken.append(processor_s() - begun)
        if done.returncode:
            raise SystemExit(f"the build of {workbook.name} failed:\n{done.stdout[-3000:]}{done.stderr[-3000:]}")
    return statistics.median(taken[1:])


def main(arguments: list[str]) -> None:
    """Times three houses and prints the exponent."""
    runs = int(arguments[arguments.index("--runs") + 1]) if "--runs" in arguments else 5
    example = min((ROOT / "examples").glob("1-*.xlsx"))
    with tempfile.TemporaryDirectory() as folder:
        times = {}
        for rooms in (1, FEW, MANY):
            house = Path(folder) / f"house-{rooms}.xlsx"
            make_house(example, rooms, house)
            times[rooms] = seconds(house, runs, Path(folder))
            print(f"{rooms} rooms {times[rooms] * 1000:.0f} ms")
    exponent = math.log((times[MANY] - times[1]) / (times[FEW] - times[1])) / math.log(MANY / FEW)
    print(f"exponent {exponent:.2f}")
    sys.exit(exponent > LIMIT)


if __name__ == "__main__":
    main(sys.argv[1:])

"""Independent engines that recalculate a workbook whose stored values were made wrong first."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
import zipfile
from collections.abc import Iterable, Mapping
from decimal import Decimal
from pathlib import Path

import openpyxl

from quoting.documents.sheet_writer import MoneyCell

Values = dict[tuple[str, str], Decimal]

WRONG = "123454321.5"
_CACHED = re.compile(r"(</f><v>)[^<]*(</v>)")
_SPLIT = re.compile(r"([A-Z]+)(\d+)")
# LibreOffice keeps the stored values of a file that says it is Excel's, unless its profile says: always recalculate.
_PROFILE = """<?xml version="1.0" encoding="UTF-8"?>
<oor:items xmlns:oor="http://openoffice.org/2001/registry" xmlns:xs="http://www.w3.org/2001/XMLSchema">
<item oor:path="/org.openoffice.Office.Calc/Formula/Load"><prop oor:name="OOXMLRecalcMode" oor:op="fuse">
<value>0</value></prop></item></oor:items>"""


def spoil(workbook: bytes) -> bytes:
    """The workbook with every stored formula value replaced by a wrong one, so that none can be read back."""
    target = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(workbook)) as source, zipfile.ZipFile(target, "w", zipfile.ZIP_DEFLATED) as out:
        for name in source.namelist():
            data = source.read(name)
            if name.startswith("xl/worksheets/"):
                text, count = _CACHED.subn(rf"\g<1>{WRONG}\g<2>", data.decode("utf-8"))
                assert count == text.count("</f>"), f"{name}: a formula without a stored value"
                data = text.encode("utf-8")
            out.writestr(name, data)
    return target.getvalue()


def change(workbook: bytes, cells: Mapping[tuple[str, str], float | str | None]) -> bytes:
    """The workbook with other values typed into cells (openpyxl drops every stored value by the way)."""
    book = openpyxl.load_workbook(io.BytesIO(workbook))
    for (sheet, address), value in cells.items():
        assert not book[sheet][address].protection.locked, f"{sheet}!{address} is not an input cell"
        book[sheet][address] = value
    target = io.BytesIO()
    book.save(target)
    return target.getvalue()


def with_ironcalc(workbook: bytes, cells: Iterable[MoneyCell], folder: Path) -> Values:
    """The cells' values as ironcalc computes them."""
    import ironcalc

    path = folder / "ironcalc.xlsx"
    path.write_bytes(workbook)
    model = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")
    model.evaluate()
    sheets = {
        found["name"] if isinstance(found, dict) else found.name: index
        for index, found in enumerate(model.get_worksheets_properties())
    }
    return {
        (cell.sheet, cell.address): _decimal(model.get_cell_value(sheets[cell.sheet], *_row_column(cell.address)))
        for cell in cells
    }


def with_formualizer(workbook: bytes, cells: Iterable[MoneyCell], folder: Path) -> Values:
    """The cells' values as formualizer computes them."""
    import formualizer

    path = folder / "formualizer.xlsx"
    path.write_bytes(workbook)
    book = formualizer.load_workbook(str(path))
    book.evaluate_all()
    return {
        (cell.sheet, cell.address): _decimal(book.get_value(cell.sheet, *_row_column(cell.address))) for cell in cells
    }


def with_libreoffice(workbook: bytes, cells: Iterable[MoneyCell], folder: Path) -> Values:
    """The cells' values as LibreOffice computes them, in a profile that always recalculates."""
    profile = folder / "profile" / "user"
    profile.mkdir(parents=True)
    (profile / "registrymodifications.xcu").write_text(_PROFILE, encoding="utf-8")
    (folder / "in.xlsx").write_bytes(workbook)
    subprocess.run(
        [
            "soffice",
            f"-env:UserInstallation={profile.parent.as_uri()}",
            "--headless",
            "--convert-to",
            "xlsx",
            "--outdir",
            str(folder / "out"),
            str(folder / "in.xlsx"),
        ],
        check=True,
        capture_output=True,
        timeout=180,
    )
    book = openpyxl.load_workbook(folder / "out" / "in.xlsx", data_only=True)
    return {(cell.sheet, cell.address): _decimal(book[cell.sheet][cell.address].value) for cell in cells}


def has_libreoffice() -> bool:
    """Whether LibreOffice is installed."""
    return shutil.which("soffice") is not None


def differences(expected: Iterable[MoneyCell], found: Values) -> list[str]:
    """The cells that an engine makes something else of, by half a thousandth or more."""
    return [
        f"{cell.sheet}!{cell.address}: quote {cell.value}, recalculated {found[cell.sheet, cell.address]}"
        for cell in expected
        if not abs(cell.value - found[cell.sheet, cell.address]) < Decimal("0.0005")
    ]


def _decimal(value: object) -> Decimal:
    """What an engine gave, as a Decimal; text and errors become a number that no quote has."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        return Decimal("-987654321") if value is not None else Decimal("-987654322")
    return Decimal(repr(value))


def _row_column(address: str) -> tuple[int, int]:
    found = _SPLIT.fullmatch(address)
    assert found
    column = 0
    for letter in found.group(1):
        column = column * 26 + ord(letter) - 64
    return int(found.group(2)), column

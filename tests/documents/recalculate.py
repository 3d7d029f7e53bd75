"""Independent engines that recalculate a workbook whose stored values were made wrong first."""

from __future__ import annotations

import io
import re
import shutil
import subprocess
import zipfile
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal, InvalidOperation
from html import escape
from pathlib import Path

import openpyxl

from quoting.documents.sheet_writer import MoneyCell

_LIBRARIES = """<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE library:libraries PUBLIC "-//OpenOffice.org//DTD OfficeDocument 1.0//EN" "libraries.dtd">
<library:libraries xmlns:library="http://openoffice.org/2000/library" xmlns:xlink="http://www.w3.org/1999/xlink">
<library:library library:name="Standard" xlink:href="$(USER)/basic/Standard/script.xlb/" xlink:type="simple"
 library:link="false"/></library:libraries>"""
_LIBRARY = """<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE library:library PUBLIC "-//OpenOffice.org//DTD OfficeDocument 1.0//EN" "library.dtd">
<library:library xmlns:library="http://openoffice.org/2000/library" library:name="Standard" library:readonly="false"
 library:passwordprotected="false"><library:element library:name="Follow"/></library:library>"""
_MODULE = """<?xml version="1.0" encoding="UTF-8"?>
<!DOCTYPE script:module PUBLIC "-//OpenOffice.org//DTD OfficeDocument 1.0//EN" "module.dtd">
<script:module xmlns:script="http://openoffice.org/2000/script" script:name="Follow" script:language="StarBasic">{}
</script:module>"""
_FOLLOW = """
Sub Follow(orders As String, answers As String)
  Dim parts, doc, cell, wanted(99999), changed(99), formulas(99), options(0) As New com.sun.star.beans.PropertyValue
  Dim order As String, many As Long, moved As Long, at As Long
  options(0).Name = "Hidden" : options(0).Value = True
  Open orders For Input As #1
  Open answers For Output As #2
  Do While Not EOF(1)
    Line Input #1, order
    parts = Split(order, Chr(9))
    Select Case parts(0)
    Case "open"
      doc = StarDesktop.loadComponentFromURL(parts(1), "_blank", 0, options())
    Case "cell"
      wanted(many) = doc.Sheets.getByName(parts(1)).getCellRangeByName(parts(2)) : many = many + 1
    Case "type"
      cell = doc.Sheets.getByName(parts(1)).getCellRangeByName(parts(2))
      changed(moved) = cell : formulas(moved) = cell.Formula : moved = moved + 1
      If parts(3) = "text" Then cell.String = parts(4) Else cell.Value = Val(parts(4))
    Case "tell"
      For at = 0 To many - 1
        cell = wanted(at)
        If cell.Error = 0 Then Print #2, Str(cell.Value) Else Print #2, "error"
      Next at
    Case "undo"
      For at = 0 To moved - 1
        cell = changed(at) : cell.Formula = formulas(at)
      Next at
      moved = 0
    End Select
  Loop
  Close #1
  Close #2
  doc.close(True)
  StarDesktop.terminate()
End Sub
"""
Values = dict[tuple[str, str], Decimal]
Typing = Mapping[tuple[str, str], float | str]  # what is typed into which cell of which sheet

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
    (found,) = each_with_ironcalc(workbook, cells, [{}], folder)
    return found


def each_with_ironcalc(
    workbook: bytes, cells: Iterable[MoneyCell], typed: Sequence[Typing], folder: Path
) -> list[Values]:
    """The cells' values as ironcalc computes them after each typing; between two, the old contents come back."""
    import ironcalc

    path = folder / "ironcalc.xlsx"
    path.write_bytes(workbook)
    model = ironcalc.load_from_xlsx(str(path), "en", "UTC", "en")
    sheets = {
        found["name"] if isinstance(found, dict) else found.name: index
        for index, found in enumerate(model.get_worksheets_properties())
    }
    places = {(cell.sheet, cell.address): (sheets[cell.sheet], *_row_column(cell.address)) for cell in cells}
    found = []
    for typing in typed:
        old = {}
        for (sheet, address), value in typing.items():
            at = (sheets[sheet], *_row_column(address))
            old[at] = model.get_cell_content(*at)
            model.set_user_input(*at, str(value))
        model.evaluate()
        found.append({cell: _decimal(model.get_cell_value(*at)) for cell, at in places.items()})
        for at, content in old.items():
            model.set_user_input(*at, content)
    return found


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
    (found,) = each_with_libreoffice(workbook, cells, [{}], folder)
    return found


def each_with_libreoffice(
    workbook: bytes, cells: Iterable[MoneyCell], typed: Sequence[Typing], folder: Path
) -> list[Values]:
    """The cells' values as LibreOffice computes them after each typing; between two, the old contents come back.

    The workbook is opened once, by a macro that does what it is told in a file of orders.
    """
    profile, orders, answers = folder / "profile" / "user", folder / "orders.txt", folder / "answers.txt"
    standard = profile / "basic" / "Standard"
    office = ["soffice", f"-env:UserInstallation={profile.parent.as_uri()}", "--headless", "--norestore"]
    profile.mkdir(parents=True)
    (profile / "registrymodifications.xcu").write_text(_PROFILE, encoding="utf-8")
    # The first start puts libraries of its own into the profile: before the macro, not over it.
    subprocess.run([*office, "--terminate_after_init"], check=True, capture_output=True, timeout=120)
    (profile / "basic" / "script.xlc").write_text(_LIBRARIES, encoding="utf-8")
    (standard / "script.xlb").write_text(_LIBRARY, encoding="utf-8")
    (standard / "Follow.xba").write_text(_MODULE.format(escape(_FOLLOW)), encoding="utf-8")
    (folder / "in.xlsx").write_bytes(workbook)
    wanted = [(cell.sheet, cell.address) for cell in cells]
    lines = [f"open\t{(folder / 'in.xlsx').as_uri()}", *(f"cell\t{sheet}\t{at}" for sheet, at in wanted)]
    for typing in typed:
        lines += [f"type\t{sheet}\t{at}\t{'text' if isinstance(value, str) else 'number'}\t{value}"
                  for (sheet, at), value in typing.items()]
        lines += ["tell", *["undo"] * bool(typing)]
    orders.write_text("\n".join(lines) + "\n", encoding="utf-8")
    subprocess.run(
        [*office, f'macro:///Standard.Follow.Follow("{orders.as_uri()}","{answers.as_uri()}")'],
        check=True, capture_output=True, timeout=240,
    )
    told = [_told(line) for line in answers.read_text(encoding="utf-8").splitlines()]
    assert len(told) == len(wanted) * len(typed), (len(told), told[-3:])
    return [dict(zip(wanted, told[start : start + len(wanted)], strict=True))
            for start in range(0, len(told), len(wanted))]


def _told(line: str) -> Decimal:
    try:
        return Decimal(line.strip())
    except InvalidOperation:
        return _decimal(line)


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

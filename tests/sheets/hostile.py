"""Workbooks that no salesperson sends: damaged, disguised, or built to hang the reader."""

from __future__ import annotations

import io
import re
import warnings
import zipfile
from collections.abc import Callable

from openpyxl import Workbook

SHEET = "xl/worksheets/sheet1.xml"


def plain() -> bytes:
    """A small honest workbook."""
    book = Workbook()
    book.active.title = "Rooms"  # type: ignore[union-attr]
    book["Rooms"]["A1"] = "Name"
    book["Rooms"]["A2"] = "Kitchen"
    buffer = io.BytesIO()
    book.save(buffer)
    return buffer.getvalue()


def changed(change: Callable[[str, bytes], bytes | None] = lambda _, data: data, **added: bytes) -> bytes:
    """The honest workbook with parts changed (None drops one) and added ("__" in a name stands for "/")."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(plain())) as source, zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as target:
        for part in source.infolist():
            data = change(part.filename, source.read(part))
            if data is not None:
                target.writestr(part.filename, data)
        for name, data in added.items():
            target.writestr(name.replace("__", "/"), data)
    return buffer.getvalue()


def in_sheet(pattern: str, text: str) -> bytes:
    """The honest workbook with one place of its sheet replaced."""
    def change(name: str, data: bytes) -> bytes:
        return re.sub(pattern, text, data.decode(), count=1).encode() if name == SHEET else data
    return changed(change)


def nothing() -> bytes:
    """A file of no bytes."""
    return b""


def text_file() -> bytes:
    """A text file named like a workbook."""
    return b"Name,Kind,Floor\nKitchen,kitchen,1\n"


def old_workbook() -> bytes:
    """The first bytes of an .xls file, and of an .xlsx with a password."""
    return b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(2_000)


def other_zip() -> bytes:
    """A zip of something else."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as target:
        target.writestr("notes.txt", "hello")
    return buffer.getvalue()


def truncated() -> bytes:
    """Half a workbook."""
    whole = plain()
    return whole[: len(whole) // 2]


def corrupt() -> bytes:
    """A workbook whose sheet no longer unpacks."""
    data = bytearray(plain())
    at = data.index(SHEET.encode()) + len(SHEET) + 20
    data[at: at + 40] = bytes(40)
    return bytes(data)


def macros() -> bytes:
    """A workbook with a macro part, whatever its name ends in."""
    return changed(**{"xl__vbaProject.bin": b"\xd0\xcf\x11\xe0macro"})


def zip_bomb() -> bytes:
    """A sheet of 300 MB of spaces in a small file."""
    def change(name: str, data: bytes) -> bytes:
        return data.replace(b"</worksheet>", b" " * (300 * 1024 * 1024) + b"</worksheet>") if name == SHEET else data
    return changed(change)


def many_rows() -> bytes:
    """Rows by the hundred thousand, each of them small: no part is large, and the loader would take a minute."""
    rows = "".join(f'<row r="{n}"><c r="A{n}"><v>{n * 7919 % 99991}</v></c></row>' for n in range(3, 250_000))
    return in_sheet("</sheetData>", rows + "</sheetData>")


def many_parts() -> bytes:
    """A thousand and more parts that nothing needs."""
    return changed(**{f"xl__media__{n}.bin": b"x" for n in range(2_100)})


def document_type() -> bytes:
    """Entities that multiply, in the sheet."""
    entities = "".join(f'<!ENTITY a{n} "{f"&a{n - 1};" * 10}">' for n in range(1, 10))
    return in_sheet("<worksheet", f'<!DOCTYPE x [<!ENTITY a0 "lol">{entities}]><worksheet')


def document_type_elsewhere() -> bytes:
    """A document type in a part that holds no cells, in another encoding."""
    text = '<?xml version="1.0" encoding="utf-16"?><!DOCTYPE x SYSTEM "file:///etc/hostname"><x/>'
    return changed(**{"docProps__custom.xml": text.encode("utf-16")})


def twice() -> bytes:
    """One part under one name twice: two readers see two workbooks."""
    buffer = io.BytesIO(plain())
    with warnings.catch_warnings(), zipfile.ZipFile(buffer, "a") as target:
        warnings.simplefilter("ignore")
        target.writestr(SHEET, "<worksheet/>")
    return buffer.getvalue()


def giant_merge() -> bytes:
    """A merge over every column and 20,000 rows, its attribute in single quotes."""
    return in_sheet("</sheetData>", "</sheetData><mergeCells count='1'><mergeCell ref='A1:XFD20000'/></mergeCells>")


def giant_link() -> bytes:
    """A hyperlink over a million cells: the loader makes each of them."""
    return in_sheet("</sheetData>", '</sheetData><hyperlinks><hyperlink ref="A1:XFD100" location="A1"/></hyperlinks>')


def far_cell() -> bytes:
    """A stray word in the last row of all."""
    return in_sheet("</sheetData>", '<row r="1048576"><c r="XFD1048576" t="inlineStr"><is><t>stray</t></is></c></row>'
                    "</sheetData>")


def far_empty_cell() -> bytes:
    """A formatted cell with nothing in it in the last row of all, and a dimension that claims everything."""
    return in_sheet("</sheetData>", '<row r="1048576"><c r="XFD1048576" s="0"/></row></sheetData>')


def missing_sheet_part() -> bytes:
    """A workbook that lists a sheet and does not hold it."""
    return changed(lambda name, data: None if name == SHEET else data)


def bad_number() -> bytes:
    """A cell that says it is a number and is none."""
    return in_sheet("</sheetData>", '<row r="9"><c r="A9"><v>twelve</v></c></row></sheetData>')


def bad_index() -> bytes:
    """A cell that points at a text that is not there."""
    return in_sheet("</sheetData>", '<row r="9"><c r="A9" t="s"><v>999</v></c></row></sheetData>')


CASES: dict[str, tuple[Callable[[], bytes], str]] = {  # name -> how it is made, the code of its one problem
    made.__name__: (made, code) for made, code in (
        (nothing, "not-a-workbook"), (text_file, "not-a-workbook"), (old_workbook, "not-a-workbook"),
        (other_zip, "not-a-workbook"), (truncated, "damaged-workbook"), (corrupt, "damaged-workbook"),
        (missing_sheet_part, "damaged-workbook"), (bad_number, "damaged-workbook"), (bad_index, "damaged-workbook"),
        (macros, "macro-workbook"), (zip_bomb, "workbook-too-large"), (many_rows, "workbook-too-large"),
        (many_parts, "workbook-too-large"), (document_type, "unsafe-workbook"),
        (document_type_elsewhere, "unsafe-workbook"), (twice, "unsafe-workbook"), (giant_merge, "merge-too-large"),
        (giant_link, "merge-too-large"), (far_cell, "far-cell"),
    )
}

"""Refuses workbooks that would hang, crash or deceive the reader, before anything is loaded from them."""

from __future__ import annotations

import io
import re
import zipfile
from collections import Counter
from xml.parsers import expat

from msgspec import Struct

from quoting.problems import Cell, Problem, column_number, stop

MOST_PARTS = 2_000
MOST_BYTES = 64 * 1024 * 1024
MOST_PART_BYTES = 32 * 1024 * 1024
SMALL_PART_BYTES = 1024 * 1024
MOST_SQUEEZE = 100  # declared size over stored size; a sheet of real cells squeezes 5 to 20 times
MOST_CELLS = 200_000  # also shared strings: each costs the loader about as much as a cell
MOST_MERGED = 10_000

_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_REF = re.compile(r"^\$?([A-Z]{1,3})\$?(\d{1,7})(?::\$?([A-Z]{1,3})\$?(\d{1,7}))?$")
_XML_NAMES = (".xml", ".rels")

_SAVE_AGAIN = "Open it in a spreadsheet program, save it again as an Excel workbook (.xlsx), and use that file."


class Survey(Struct, frozen=True):
    """What the pre-pass found out: how many sheets the workbook says it has."""

    sheets: int


class _Refused(Exception):
    def __init__(self, code: str, message: str, remedy: str) -> None:
        super().__init__(message)
        self.code, self.message, self.remedy = code, message, remedy


def survey(data: bytes, file: str) -> Survey | Problem:
    """Looks a workbook's bytes over without loading it; a problem where it must not be loaded.

    Limits and the reasons for them were measured on hostile files: declared sizes are sound, because unzipping
    stops at the declared size.
    """
    try:
        return _survey(data, file)
    except _Refused as refused:
        return stop(Cell(file), refused.code, refused.message, refused.remedy)
    except Exception:  # zipfile, zlib and expat raise a dozen kinds for damaged bytes
        return damaged(file)


def damaged(file: str) -> Problem:
    """The one plain problem for a workbook that cannot be loaded."""
    return stop(Cell(file), "damaged-workbook", f"The workbook '{file}' is damaged and cannot be read.", _SAVE_AGAIN)


def _survey(data: bytes, file: str) -> Survey:
    _check_magic(data, file)
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        parts = archive.infolist()
        _check_parts(parts, file)
        scan = _Scan(file)
        for part in parts:
            if not part.is_dir():
                scan.part(part.filename, archive.read(part))
    if not scan.workbooks:
        raise _not_a_workbook(file)
    return Survey(scan.sheets)


def _not_a_workbook(file: str) -> _Refused:
    return _Refused("not-a-workbook", f"The file '{file}' is not an Excel workbook, whatever its name says.",
                    _SAVE_AGAIN)


def _check_magic(data: bytes, file: str) -> None:
    if data.startswith(b"\xd0\xcf\x11\xe0"):
        raise _Refused(
            "not-a-workbook", f"The file '{file}' is an old .xls workbook, or has a password; only .xlsx can be read.",
            "Open it, take the password off, and save it as an Excel workbook (.xlsx).",
        )
    if not data.startswith(b"PK\x03\x04"):
        raise _not_a_workbook(file)


def _check_parts(parts: list[zipfile.ZipInfo], file: str) -> None:
    names = Counter(part.filename.lower() for part in parts)
    if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_BYTES:
        raise _too_large(file)
    for part in parts:
        squeezed = part.file_size > SMALL_PART_BYTES and part.file_size > MOST_SQUEEZE * max(part.compress_size, 1)
        if part.file_size > MOST_PART_BYTES or squeezed:
            raise _too_large(file)
    if max(names.values(), default=0) > 1:
        raise _Refused("unsafe-workbook", f"The workbook '{file}' holds one of its parts twice.", _SAVE_AGAIN)
    if any(name.endswith("vbaproject.bin") for name in names):
        raise _Refused(
            "macro-workbook", f"The workbook '{file}' holds macros, which an intake workbook never needs.",
            "Save it as an Excel workbook without macros (.xlsx).",
        )


def _too_large(file: str) -> _Refused:
    return _Refused(
        "workbook-too-large", f"The workbook '{file}' is far larger inside than a filled-in form ever is.",
        "Start from a blank form and copy only the typed cells over.",
    )


class _Scan:
    """Counts, over all parts, what the loader would spend its time and memory on."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.workbooks = 0
        self.sheets = 0
        self._cells = 0
        self._merged = 0

    def part(self, name: str, data: bytes) -> None:
        """Parses one part; _Refused where it must not be loaded, expat's error where it is damaged."""
        is_xml = name.lower().endswith(_XML_NAMES)
        head = data[:256].replace(b"\0", b"").lstrip(b"\xef\xbb\xbf\xff\xfe \t\r\n")
        if not is_xml and not head.startswith(b"<"):
            return
        parser = expat.ParserCreate(namespace_separator=" ")
        parser.StartDoctypeDeclHandler = self._doctype
        parser.StartElementHandler = lambda tag, _: self._root(parser, tag)
        try:
            parser.Parse(data, True)
        except expat.ExpatError:
            if is_xml:  # drawings of comments are often not well formed, and nothing reads them
                raise

    def _root(self, parser: expat.XMLParserType, tag: str) -> None:
        """Listens on only inside parts that hold many elements: the rest is parsed at full speed."""
        local = tag.removeprefix(f"{_MAIN} ")
        if local == "workbook":
            self.workbooks += 1
            parser.StartElementHandler = self._in_workbook
        elif local in ("worksheet", "sst"):
            parser.StartElementHandler = self._in_sheet
        else:
            parser.StartElementHandler = None

    def _in_workbook(self, tag: str, _attributes: dict[str, str]) -> None:
        self.sheets += tag == f"{_MAIN} sheet"

    def _in_sheet(self, tag: str, attributes: dict[str, str]) -> None:
        local = tag.removeprefix(f"{_MAIN} ")
        if local in ("c", "si", "row"):
            self._cells += 1
            if self._cells > MOST_CELLS:
                raise _too_large(self.file)
        elif local in ("mergeCell", "hyperlink"):  # the loader makes a cell of each one covered
            self._merged += _area(attributes.get("ref", ""))
            if self._merged > MOST_MERGED:
                raise _Refused(
                    "merge-too-large",
                    f"The workbook '{self.file}' merges more cells ({attributes.get('ref')}) than a form ever has.",
                    "Unmerge these cells and save the workbook.",
                )

    def _doctype(self, *_: object) -> None:
        raise _Refused("unsafe-workbook", f"The workbook '{self.file}' holds a document type, which no spreadsheet "
                       "program writes.", _SAVE_AGAIN)


def _area(ref: str) -> int:
    found = _REF.match(ref)
    if not found or not found.group(3):
        return 1
    wide = abs(column_number(found.group(3)) - column_number(found.group(1))) + 1
    return wide * (abs(int(found.group(4)) - int(found.group(2))) + 1)

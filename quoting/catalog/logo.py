"""The firm's logo: an SVG or PNG file beside firm.csv becomes a data: address, so that a page holds its own picture.

An SVG that runs anything or fetches anything is refused: the page goes to a customer.
"""

from __future__ import annotations

import base64
import re
import zlib
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import NoReturn
from xml.parsers import expat

from quoting.problems import Cell, Problem, stop

LARGEST_BYTES = 200_000
LARGEST_PX = 4000
EXPORT = "Export it again as a plain SVG, or as a PNG."

_SIGNATURE = b"\x89PNG\r\n\x1a\n"  # of a PNG file: ISO/IEC 15948, 5.2
SVG = "http://www.w3.org/2000/svg"
_REFERS = frozenset({"href", "src", "base"})
_RUNS = frozenset({"script", "foreignobject", "iframe", "object", "embed", "audio", "video", "handler", "listener"})
_OUTSIDE = re.compile(r"@import|image-set|\bsrc\(|\\|url\(\s*[\"']?\s*(?!#)", re.IGNORECASE)  # in a style
_INSIDE = re.compile(r"#|data:image/(png|jpeg);base64,", re.IGNORECASE)


class _Refused(Exception):
    """Why a file is no logo: a stable code and a sentence."""


def read_logo(folder: Path, name: str, where: Cell, problems: list[Problem]) -> str:
    """The picture as a data: address; "" where there is none, or a problem with the cell that names it."""
    if not name:
        return ""
    try:
        return _data_address(folder, name)
    except _Refused as refused:
        code, message, remedy = refused.args
        problems.append(stop(where, code, message, remedy))
        return ""


def _data_address(folder: Path, name: str) -> str:
    if Path(name).name != name or "\\" in name or name in (".", ".."):
        _refuse("logo-name", f"'{name}' is not the bare name of a file.",
                "Put the file beside firm.csv and type its name, such as logo.svg.")
    kind = next((kind for suffix, kind in _KINDS.items() if name.lower().endswith(suffix)), None)
    if kind is None:
        _refuse("logo-kind", f"'{name}' is neither an SVG nor a PNG file.", "Save the logo as .svg or .png.")
    path = folder / name
    if not path.is_file():
        _refuse("logo-missing", f"There is no file '{name}' in the catalogue's folder.",
                "Put it beside firm.csv, correct the name, or leave the cell blank.")
    size = path.stat().st_size
    if size > LARGEST_BYTES:
        _refuse("logo-too-large", f"'{name}' has {size} bytes; {LARGEST_BYTES} are allowed.",
                "Save it smaller: every page carries it.")
    content = path.read_bytes()
    media, check = kind
    check(name, content)
    return f"data:{media};base64,{base64.b64encode(content).decode('ascii')}"


def _refuse(code: str, message: str, remedy: str) -> NoReturn:
    raise _Refused(code, message, remedy)


# ---------------------------------------------------------------- PNG

def _check_png(name: str, content: bytes) -> None:
    """Signature, a whole chain of chunks with their checksums, a sensible size. ISO/IEC 15948, 5."""
    if not content.startswith(_SIGNATURE):
        _refuse("logo-damaged", f"'{name}' is named as a PNG picture and is none.", "Save it as a PNG again.")
    place, kinds, size = len(_SIGNATURE), [], (0, 0)
    while place + 12 <= len(content):
        length = int.from_bytes(content[place:place + 4], "big")
        chunk, check = content[place + 4:place + 8 + length], content[place + 8 + length:place + 12 + length]
        if zlib.crc32(chunk).to_bytes(4, "big") != check:
            break
        kinds.append(chunk[:4])
        if chunk[:4] == b"IHDR":
            size = int.from_bytes(chunk[4:8], "big"), int.from_bytes(chunk[8:12], "big")
        place += 12 + length
    if kinds[:1] != [b"IHDR"] or kinds[-1] != b"IEND" or b"IDAT" not in kinds:
        _refuse("logo-damaged", f"'{name}' is a damaged PNG picture.", "Save it as a PNG again.")
    if not (0 < size[0] <= LARGEST_PX and 0 < size[1] <= LARGEST_PX):
        _refuse("logo-size", f"'{name}' is {size[0]} by {size[1]} pixels; up to {LARGEST_PX} each way are allowed.",
                "Save it smaller.")


# ---------------------------------------------------------------- SVG

def _check_svg(name: str, content: bytes) -> None:
    """One well-formed drawing that runs nothing and refers to nothing outside itself."""
    _Drawing(name).read(content)


class _Drawing:
    """Follows a drawing's elements; raises _Refused at the first that a logo may not have."""

    def __init__(self, name: str) -> None:
        self._name = name
        self._depth = 0
        self._styles: list[str] = []  # the texts of open style elements
        self._parser = expat.ParserCreate(namespace_separator=" ")
        self._parser.StartElementHandler = self._opened
        self._parser.EndElementHandler = self._closed
        self._parser.CharacterDataHandler = self._text
        self._parser.ProcessingInstructionHandler = lambda target, _: self._outside(target)
        self._parser.StartDoctypeDeclHandler = lambda *_: self._forbidden("a DOCTYPE")

    def read(self, content: bytes) -> None:
        """Read all of it."""
        try:
            self._parser.Parse(content, True)
        except expat.ExpatError as error:
            _refuse("logo-damaged", f"'{self._name}' line {error.lineno} is not well-formed.", EXPORT)

    def _opened(self, tag: str, attributes: Mapping[str, str]) -> None:
        namespace, _, element = tag.rpartition(" ")
        if not self._depth and (namespace, element) != (SVG, "svg"):
            _refuse("logo-damaged", f"'{self._name}' is named as an SVG drawing and is none.", EXPORT)
        if not self._depth and "viewBox" not in attributes:
            _refuse("logo-size", f"'{self._name}' has no viewBox, so it cannot be shown at another size.", EXPORT)
        self._depth += 1
        if element.lower() in _RUNS:
            self._forbidden(f"'{element}'")
        if element.lower() == "style":
            self._styles.append("")
        for key, value in attributes.items():
            self._attribute(key.rpartition(" ")[2].lower(), value)

    def _attribute(self, name: str, value: str) -> None:
        if name.startswith("on"):
            self._forbidden(f"'{name}'")
        if (name in _REFERS and not _INSIDE.match(value.strip())) or ("(" in value and _OUTSIDE.search(value)):
            self._outside(value)

    def _closed(self, tag: str) -> None:
        self._depth -= 1
        if tag.rpartition(" ")[2].lower() == "style" and _OUTSIDE.search(style := self._styles.pop()):
            self._outside(" ".join(style.split()))

    def _text(self, letters: str) -> None:
        if self._styles:
            self._styles[-1] += letters

    def _forbidden(self, what: str) -> NoReturn:
        _refuse("logo-script", f"'{self._name}' line {self._parser.CurrentLineNumber} holds {what}, which a logo may "
                "not have.", EXPORT)

    def _outside(self, found: str) -> NoReturn:
        _refuse("logo-outside", f"'{self._name}' line {self._parser.CurrentLineNumber} refers to something outside the "
                f"drawing: '{found[:60]}'.", EXPORT)


_KINDS: Mapping[str, tuple[str, Callable[[str, bytes], None]]] = {
    ".svg": ("image/svg+xml", _check_svg), ".png": ("image/png", _check_png)}

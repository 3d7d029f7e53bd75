"""Inline SVG, written element by element: escaped text, numbers to fixed places, the same bytes every time.

The user unit of every drawing is one millimetre on paper, x to the right and y down. What a drawing shows is drawn at a
scale in millimetres on paper for one metre of the house (20 is 1:50), which stands on its root as `data-mm-per-m`; a
timeline's scale is `data-mm-per-day`.

Everything is drawn in `currentColor`: black on paper, light on a dark screen, a firm's colour where a style sheet
gives a class one. What must be told apart differs in shape, filling or dashes. No style sheet or script is needed.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from functools import cache
from html import escape

from quoting.documents.proposal_words import isolate

PLACES = 2  # of every number: 0.01 mm on paper
LINE_MM = 0.3  # of an ordinary line
TEXT_MM = 3.0  # height of ordinary text: 8.5 pt on paper, 11 px where a drawing is as wide as a small phone
LEADING = 1.25  # from line to line, of the text's height
CAPITAL = 0.73  # height of a capital, of the text's height
DESCENT = 0.24  # below the base line, of the text's height


class Svg(str):
    """Finished markup: templates print it as it is."""

    __slots__ = ()

    def __html__(self) -> str:
        return self


Value = str | float | int


def element(name: str, attributes: dict[str, Value], children: Iterable[Svg] = ()) -> Svg:
    """One element. Text comes in through `text` alone, so that children are finished markup.

    >>> element("rect", {"width": 12.0, "height": 1 / 3})
    '<rect width="12" height="0.33"/>'
    """
    written = "".join(f' {key}="{_value(value)}"' for key, value in attributes.items())
    inside = "".join(children)
    return Svg(f"<{name}{written}>{inside}</{name}>" if inside else f"<{name}{written}/>")


def number(value: float) -> str:
    """A number to fixed places, without trailing zeros, never "-0".

    >>> number(2.50), number(-0.001), number(100.0)
    ('2.5', '0', '100')
    """
    text = f"{value:.{PLACES}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _value(value: Value) -> str:
    return escape(value, quote=True) if isinstance(value, str) else number(value)


def clean(text: str) -> str:
    """The text without the control characters that no markup may hold; line ends as blanks."""
    if text.isprintable():
        return text
    return "".join(" " if letter in "\n\r\t" else letter for letter in text
                   if letter in "\n\r\t" or unicodedata.category(letter) not in ("Cc", "Cs"))


# ---------------------------------------------------------------- shapes

def group(children: Iterable[Svg], **attributes: Value) -> Svg:
    """Elements together; `class_` is the class, `data_x` is data-x."""
    return element("g", {key.rstrip("_").replace("_", "-"): value for key, value in attributes.items()}, children)


def line(x1_mm: float, y1_mm: float, x2_mm: float, y2_mm: float, width_mm: float = LINE_MM, dash: str = "") -> Svg:
    """A straight line."""
    return element("line", {"x1": x1_mm, "y1": y1_mm, "x2": x2_mm, "y2": y2_mm, **_stroke(width_mm, dash)})


def rect(
    x_mm: float, y_mm: float, width_mm: float, height_mm: float, *, line_mm: float = LINE_MM, dash: str = "",
    shade: float = 0.0, round_mm: float = 0.0, **attributes: Value,
) -> Svg:
    """A rectangle: its line (0: none) and how dark it is filled, 0 to 1."""
    given = {key.rstrip("_").replace("_", "-"): value for key, value in attributes.items()}
    corner: dict[str, Value] = {"rx": round_mm} if round_mm else {}
    return element("rect", {"x": x_mm, "y": y_mm, "width": width_mm, "height": height_mm, **corner, **_fill(shade),
                            **(_stroke(line_mm, dash) if line_mm else {}), **given})


def circle(x_mm: float, y_mm: float, radius_mm: float, *, line_mm: float = 0.0, dash: str = "",
           shade: float = 0.0) -> Svg:
    """A circle: its line (0: none) and how dark it is filled."""
    return element("circle", {"cx": x_mm, "cy": y_mm, "r": radius_mm, **_fill(shade),
                              **(_stroke(line_mm, dash) if line_mm else {})})


def path(steps: str, *, line_mm: float = 0.0, dash: str = "", shade: float = 0.0) -> Svg:
    """A path; a shape inside a shape is a hole in it."""
    rule: dict[str, Value] = {"fill-rule": "evenodd"} if shade else {}
    return element("path", {"d": steps, **_fill(shade), **rule, **(_stroke(line_mm, dash) if line_mm else {})})


def _stroke(width_mm: float, dash: str) -> dict[str, Value]:
    dashes: dict[str, Value] = {"stroke-dasharray": dash} if dash else {}
    return {"stroke": "currentColor", "stroke-width": width_mm, **dashes}


def _fill(shade: float) -> dict[str, Value]:
    if not shade:
        return {"fill": "none"}
    return {"fill": "currentColor"} if shade >= 1 else {"fill": "currentColor", "fill-opacity": shade}


# ---------------------------------------------------------------- text

def text(
    x_mm: float, y_mm: float, words: str, size_mm: float = TEXT_MM, anchor: str = "start", turn_deg: float = 0.0,
) -> Svg:
    """One line of text on its base line; `turn_deg` turns it about its anchor, clockwise."""
    turned: dict[str, Value] = {"transform": f"rotate({number(turn_deg)} {number(x_mm)} {number(y_mm)})"} \
        if turn_deg else {}
    anchored: dict[str, Value] = {"text-anchor": anchor} if anchor != "start" else {}
    return element("text", {"x": x_mm, "y": y_mm, "font-size": size_mm, "fill": "currentColor", **anchored, **turned},
                   (Svg(escape(isolate(clean(words)), quote=False)),))


def text_lines(
    x_mm: float, y_mm: float, lines: Iterable[str], size_mm: float = TEXT_MM, anchor: str = "start",
    leading: float = LEADING,
) -> list[Svg]:
    """Lines under each other, the first one's base line at `y_mm`."""
    return [text(x_mm, y_mm + index * size_mm * leading, words, size_mm, anchor) for index, words in enumerate(lines)]


# Advance widths of the widest usual screen face (DejaVu Sans, in 1/1000 of the text's height, measured in a browser):
# what fits by these fits in the others. Letters of no row count as 700.
_WIDTHS = {letter: width for width, letters in {
    300: "ijlIJ'′ ,.\u00a0\u202f", 380: "/:;\\|-f″·", 420: "!()[]tr", 500: "\"*_`–sz", 560: "?cLFk",
    620: "PvxyTYaeo", 640: "0123456789$ESbdghnpqu{}K", 700: "ABVXZCR", 780: "NUH&DGOQ", 860: "w#+<=>^~×M",
    1000: "Wm%@…—", 1080: "ÆŒœæЖШЩЮЫ",
}.items() for letter in letters}
_OTHER, _WIDE = 700, 1050


def text_width_mm(words: str, size_mm: float = TEXT_MM) -> float:
    """How wide a text comes out at most. [mm]"""
    return _width(words) * size_mm / 1000


@cache
def _width(words: str) -> int:
    """In 1/1000 of its height: a crew's sheets say the same words room after room."""
    return sum(map(_letter_width, words))


@cache
def _letter_width(letter: str) -> int:
    known = _WIDTHS.get(letter)
    if known is not None:
        return known
    if unicodedata.category(letter) in ("Mn", "Me", "Cf", "Cc"):
        return 0
    if unicodedata.east_asian_width(letter) in ("W", "F"):
        return _WIDE
    plain = unicodedata.normalize("NFD", letter)[0]
    return _WIDTHS.get(plain, _OTHER) if plain != letter else _OTHER


def wrap(words: str, width_mm: float, size_mm: float = TEXT_MM) -> list[str]:
    """The words in lines of at most `width_mm`; a word that is wider stands on a line of its own, cut where it must be.

    >>> wrap("one two three", text_width_mm("one two"))
    ['one two', 'three']
    """
    lines: list[str] = []
    most, wide, gap = width_mm * 1000 / size_mm, 0, _width(" ")
    for word in words.split():
        if lines and wide + gap + _width(word) <= most:
            lines[-1] += f" {word}"
            wide += gap + _width(word)
        else:
            lines.extend(_pieces(word, width_mm, size_mm))
            wide = _width(lines[-1])
    return lines


def _pieces(word: str, width_mm: float, size_mm: float) -> Iterable[str]:
    if text_width_mm(word, size_mm) <= width_mm:
        yield word
        return
    piece = ""
    for letter in word:
        if piece and text_width_mm(piece + letter, size_mm) > width_mm:
            yield piece
            piece = ""
        piece += letter
    yield piece


# ---------------------------------------------------------------- the whole drawing

def drawing(
    key: str, title: str, words: str, width_mm: float, height_mm: float, children: Iterable[Svg], *,
    mm_per_m: float = 0.0, mm_per_day: float = 0.0, grows_to_mm: float = 0.0,
) -> Svg:
    """A drawing with its name and its words for those who do not see it. `key` is unique on a page.

    Its scale is millimetres for a metre or for a day. It never grows wider than its page. At paper size its units are
    true millimetres; where `grows_to_mm` is given it fills the width that it has, up to that.
    """
    size: dict[str, Value] = {"width": f"{number(width_mm)}mm", "style": "max-width:100%;height:auto"}
    if grows_to_mm:
        size = {"width": "100%", "style": f"max-width:{number(grows_to_mm)}mm;height:auto"}
    names = (element("title", {"id": f"{key}-title"}, (Svg(escape(clean(title), quote=False)),)),
             element("desc", {"id": f"{key}-words"}, (Svg(escape(clean(words), quote=False)),)))
    return element("svg", {
        "class": "drawing", "viewBox": f"0 0 {number(width_mm)} {number(height_mm)}", **size, "role": "img",
        "aria-labelledby": f"{key}-title", "aria-describedby": f"{key}-words", "direction": "ltr",
        **({"data-mm-per-m": f"{mm_per_m:.6g}"} if mm_per_m else {}),
        **({"data-mm-per-day": f"{mm_per_day:.6g}"} if mm_per_day else {}),
    }, (*names, *children))

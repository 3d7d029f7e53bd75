"""SVG written by hand: escaped, rounded, and text that fits where it is reckoned to fit."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from quoting.documents.drawing import drawing, element, number, text, text_width_mm, wrap
from tests.documents.svg_reader import measured, read_svg, texts

if TYPE_CHECKING:
    from playwright.sync_api import Browser

NAMES = ["Kitchen and breakfast", "WOHNZIMMER", "Salle à manger", "Baño principal", "illicit jilting", "Größe 12'6\"",
         "Ümläüte @ 100 %", "Æther Œuvre", "Комната", "living—room"]


@pytest.mark.parametrize(("value", "written"), [(0.125, "0.12"), (-0.001, "0"), (12.0, "12"), (1 / 3, "0.33")])
def test_a_number_has_at_most_two_places(value: float, written: str) -> None:
    assert number(value) == written


@pytest.mark.parametrize("name", ['<b>Bar & "Grill"</b>', "it's", "]]>", "a\x00b\x1bc"])
def test_a_text_with_marks_of_markup_reads_back_as_it_was_typed(name: str) -> None:
    svg = drawing("k", name, name, 10, 10, (text(1, 5, name),), mm_per_m=1)

    assert texts(read_svg(svg)) == [name.replace("\x00", "").replace("\x1b", "")]


def test_an_attribute_is_escaped() -> None:
    assert read_svg(element("g", {"data-x": '"><script>'})).get("data-x") == '"><script>'


def test_a_text_that_runs_right_to_left_is_set_apart() -> None:
    assert "\u2068חדר שינה\u2069" in text(0, 0, "חדר שינה")


def test_a_wrapped_line_is_no_wider_than_asked() -> None:
    lines = wrap("Rooms are to scale and set side by side; extraordinarily-long-unbroken-words are cut", 20)

    assert max(map(text_width_mm, lines)) <= 20


def test_a_wrapped_text_loses_no_letter() -> None:
    words = "Rooms are to scale and set side by side; extraordinarily-long-unbroken-words are cut"

    assert "".join(wrap(words, 20)).replace(" ", "") == words.replace(" ", "")


def test_text_is_no_wider_in_a_browser_than_it_is_reckoned(browser: Browser) -> None:
    found = measured(browser, "<p>x</p>", """names => names.map(name => {
        const brush = document.createElement('canvas').getContext('2d');
        brush.font = '100px ' + getComputedStyle(document.querySelector('p')).fontFamily;
        return brush.measureText(name).width / 100;
    })""", NAMES)

    reckoned = [text_width_mm(name, 1.0) for name in NAMES]
    assert [name for name, real, most in zip(NAMES, found, reckoned, strict=True) if real > most * 1.01] == []

"""What a drawing says when it is read back: its elements, its texts, where its symbols stand."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

if TYPE_CHECKING:
    from playwright.sync_api import Browser

COLOURS = {"none", "currentColor"}


@dataclass(frozen=True)
class Mark:
    """A symbol on the paper. [mm]"""

    place: str
    live: bool
    x_mm: float
    y_mm: float


def read_svg(svg: str) -> Element:
    """The drawing's root; raises where it is not well formed."""
    return ElementTree.fromstring(svg)


def texts(root: Element) -> list[str]:
    """Every line of text that the picture shows, without the marks that keep directions apart."""
    return ["".join(found.itertext()).replace("\u2068", "").replace("\u2069", "") for found in root.iter("text")]


def words_for_the_blind(root: Element) -> str:
    """What `aria-describedby` points to."""
    return next("".join(found.itertext()) for found in root.iter("desc") if found.get("id") == root.get(
        "aria-describedby"))


def rooms(root: Element) -> dict[str, tuple[float, float, float, float]]:
    """Room code -> left, top, width, height. [mm]"""
    return {found.get("data-room", ""): tuple(float(found.get(side, "")) for side in ("x", "y", "width", "height"))
            for found in root.iter("rect") if found.get("data-room")}  # type: ignore[misc]


def marks(root: Element) -> Iterator[Mark]:
    """The symbols that stand for a place."""
    for found in root.iter("g"):
        if found.get("data-place"):
            at = re.match(r"translate\((\S+) (\S+)\)", found.get("transform", ""))
            assert at is not None
            live = "live" in found.get("class", "").split()
            yield Mark(found.get("data-place", ""), live, float(at[1]), float(at[2]))


def colours(root: Element) -> set[str]:
    """Every colour that is named."""
    return {found.get(name, "none") for found in root.iter() for name in ("fill", "stroke")}


def measured(browser: Browser, body: str, script: str, argument: object = None) -> Any:
    """What a script finds on a page of this body, in the face that papers are set in."""
    page = browser.new_page(viewport={"width": 1000, "height": 800})
    try:
        page.set_content(f"<body style='font-family:system-ui,sans-serif'>{body}</body>")
        return page.evaluate(script, argument)
    finally:
        page.close()

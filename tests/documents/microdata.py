"""Items of a page as the HTML standard's microdata algorithm finds them.

Reference: HTML Living Standard, section "Microdata", 5.2.5 (properties of an item) and 5.2.4 (values); from memory.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

VOID = {"meta", "link", "br", "img", "input"}


@dataclass
class Element:
    """An element of the page."""

    tag: str
    attributes: dict[str, str]
    children: list[Element] = field(default_factory=list)
    text: str = ""  # of it and of everything inside it


@dataclass
class Item:
    """An item: its type and its properties in order."""

    type: str
    properties: dict[str, list[str | Item]]


class _Tree(HTMLParser):
    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.root = Element("", {})
        self._open = [self.root]
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, {name: value or "" for name, value in attrs})
        self._open[-1].children.append(element)
        if tag not in VOID:
            self._open.append(element)

    def handle_endtag(self, tag: str) -> None:
        self._open.pop()

    def handle_data(self, data: str) -> None:
        for element in self._open:
            element.text += data


def items(html: str) -> list[Item]:
    """The page's top-level items."""
    root = _Tree(html).root
    everything = list(_walk(root))
    by_id = {element.attributes["id"]: element for element in everything if "id" in element.attributes}
    return [_item(element, by_id) for element in everything
            if "itemscope" in element.attributes and "itemprop" not in element.attributes]


def _walk(element: Element) -> list[Element]:
    return [element, *(inner for child in element.children for inner in _walk(child))]


def _item(scope: Element, by_id: dict[str, Element]) -> Item:
    item = Item(scope.attributes.get("itemtype", ""), {})
    pending = [*scope.children, *(by_id[name] for name in scope.attributes.get("itemref", "").split())]
    while pending:
        element = pending.pop(0)
        if "itemscope" not in element.attributes:
            pending = [*element.children, *pending]
        for name in element.attributes.get("itemprop", "").split():
            item.properties.setdefault(name, []).append(_value(element, by_id))
    return item


def _value(element: Element, by_id: dict[str, Element]) -> str | Item:
    if "itemscope" in element.attributes:
        return _item(element, by_id)
    if element.tag == "meta":
        return element.attributes.get("content", "")
    if element.tag == "data":
        return element.attributes.get("value", "")
    return element.text.strip()

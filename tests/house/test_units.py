"""Units end every numeric name: facts, catalogue records, and what the handbook formulas take and give."""

from __future__ import annotations

import ast
import inspect
from pathlib import Path

import pytest
from msgspec import Struct
from msgspec.structs import fields

from quoting.catalog import records
from quoting.facts import FACT_KINDS
from quoting.units import HEADING_UNITS

ENGINEERING = Path(__file__).resolve().parents[2] / "quoting" / "engineering"
FORMULAS = ("conductors.py", "loads.py", "acoustics.py", "heat.py")

# Units that no heading can be written in, because nobody types them.
OTHER_UNITS = {"dba", "c", "f", "km", "cfm", "minutes", "per_m", "per_km", "va", "w_4ohm", "w_8ohm", "w_for_level"}

# Float fields without a unit, and why.
PLAIN_FIELDS = {
    "quantity": "in the part's own unit",
    "route_factor": "a ratio",
    "rack_units": "the unit is the name",
    "heat_btu_h": "BTU an hour", "idle_btu_h": "BTU an hour",
    "damping_factor": "a ratio",
    "crew_days": "person-days; the unit is the name",
    "watts": "the unit is the name",
    "hours": "the unit is the name",
}
# Float names of formulas without a unit, and why.
PLAIN_NAMES = {
    "awg": "a gauge is a number of its own scale",
    "area_to_awg": "a gauge",
    "copper_temperature_factor": "a ratio",
    "damping_factor": "a ratio",
    "amplifier_share": "a ratio",
    "directivity_exponent": "a power",
    "volts": "the unit is the name",
    "amps": "the unit is the name",
    "btu_per_hour": "the unit is the name",
}


def _has_unit(name: str) -> bool:
    return any(name == unit or name.endswith(f"_{unit}") for unit in (*HEADING_UNITS, *OTHER_UNITS))


def _float_fields(record: type) -> list[str]:
    return [field.name for field in fields(record) if "float" in str(field.type)]


@pytest.mark.parametrize("kind", FACT_KINDS)
def test_a_fact_names_the_unit_of_every_measure(kind: str) -> None:
    fields = _float_fields(FACT_KINDS[kind])

    assert [name for name in fields if not _has_unit(name) and name not in PLAIN_FIELDS] == []


RECORDS = [record for _, record in inspect.getmembers(records, inspect.isclass) if issubclass(record, Struct)]


@pytest.mark.parametrize("record", RECORDS, ids=lambda record: record.__name__)
def test_a_catalogue_record_names_the_unit_of_every_measure(record: type) -> None:
    assert [name for name in _float_fields(record) if not _has_unit(name) and name not in PLAIN_FIELDS] == []


def _float_names(module: str) -> set[str]:
    """Parameters that are floats and functions that give one."""
    names: set[str] = set()
    for node in ast.walk(ast.parse((ENGINEERING / module).read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef):
            arguments = (*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs, node.args.vararg)
            names |= {a.arg for a in arguments if a and a.annotation and ast.unparse(a.annotation) == "float"}
            names |= {node.name} if node.returns and ast.unparse(node.returns) == "float" else set()
    return names


@pytest.mark.parametrize("module", FORMULAS)
def test_a_formula_names_the_unit_of_what_it_takes_and_gives(module: str) -> None:
    assert {name for name in _float_names(module) if not _has_unit(name) and name not in PLAIN_NAMES} == set()


@pytest.mark.parametrize("module", FORMULAS)
def test_a_formula_says_its_unit_its_reference_and_an_example(module: str) -> None:
    tree = ast.parse((ENGINEERING / module).read_text(encoding="utf-8"))
    docstrings = {node.name: ast.get_docstring(node) or "" for node in tree.body if isinstance(node, ast.FunctionDef)}
    bare = [name for name, text in docstrings.items() if not ("[" in text and "eference:" in text and ">>>" in text)]

    assert bare == []


def test_every_exception_is_still_a_field() -> None:
    fields = {name for kind in FACT_KINDS.values() for name in kind.__struct_fields__}
    fields |= {name for record in RECORDS for name in record.__struct_fields__}

    assert set(PLAIN_FIELDS) - fields == set()

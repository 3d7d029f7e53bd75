"""Who may import what: the layers, the places of third-party packages, and a build that never loads pandas."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
QUOTING = ROOT / "quoting"
MODULES = {str(path.relative_to(QUOTING)): path for path in sorted(QUOTING.rglob("*.py"))}

# Package -> where it may be imported (a folder ends in "/").
ALLOWED = {
    "openpyxl": ("sheets/", "intake/mark.py"),
    "defusedxml": ("sheets/",),
    "xlsxwriter": ("documents/", "intake/blank.py"),
    "jinja2": ("documents/", "intake/blank.py"),
    "markupsafe": ("documents/",),  # jinja2's own
    "babel": ("documents/", "intake/read.py"),  # intake: whether a typed locale exists
    "msgspec": tuple(MODULES),  # every record is one of its structs
    "numpy": ("engineering/level_grid.py", "bill/cutting_solver.py"),
    "highspy": ("bill/cutting_solver.py",),
    "holidays": ("workdays.py",),
    "pandas": ("catalog/workbook.py",),
}


def _imported(module: str) -> set[str]:
    """Top names of everything that a module imports, wherever in it."""
    names: set[str] = set()
    for node in ast.walk(ast.parse(MODULES[module].read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and not node.level and node.module:
            names.add(node.module.split(".")[0])
    return names


def _may_import(module: str, package: str) -> bool:
    return any(module == place or (place.endswith("/") and module.startswith(place)) for place in ALLOWED[package])


@pytest.mark.parametrize("module", MODULES)
def test_a_module_imports_only_packages_that_the_project_depends_on(module: str) -> None:
    assert _imported(module) - set(sys.stdlib_module_names) - {"quoting"} - set(ALLOWED) == set()


@pytest.mark.parametrize("module", MODULES)
def test_a_package_is_imported_only_where_it_belongs(module: str) -> None:
    assert {package for package in _imported(module) & set(ALLOWED) if not _may_import(module, package)} == set()


def test_the_layers_hold() -> None:
    command = "from importlinter.cli import lint_imports_command as run; run()"

    done = subprocess.run([sys.executable, "-c", command], cwd=ROOT, capture_output=True, text=True, check=False)

    assert done.returncode == 0, done.stdout + done.stderr


def test_a_plain_build_never_imports_pandas(tmp_path: Path) -> None:
    example = next(iter(sorted((ROOT / "examples").glob("1-*.xlsx"))))
    code = (
        "import atexit, runpy, sys\n"
        "atexit.register(lambda: print('pandas loaded:', 'pandas' in sys.modules))\n"
        f"sys.argv = ['quoting', 'build', {str(example)!r}, '--out', {str(tmp_path / 'out')!r}]\n"
        "runpy.run_module('quoting', run_name='__main__')\n"
    )

    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=False)

    assert (done.returncode, "pandas loaded: False" in done.stdout) == (0, True), done.stdout + done.stderr

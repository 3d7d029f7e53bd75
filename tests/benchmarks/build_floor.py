"""How long a build takes, over the bare file input and output that it cannot do without.

    python tests/benchmarks/build_floor.py [WORKBOOK | --example 3] [--pairs 11] [--at-most 1.6]

Runtime packages only. The floor, in a fresh process: import openpyxl, xlsxwriter, jinja2, babel.numbers; load and walk
the workbook once with openpyxl; write the very same cells that the build wrote (values, formulas, cached values,
formats) with unmodified xlsxwriter; compile each template once and render each page from a context that is already
formatted; write the other files' bytes. The build, in a fresh process, takes turns with it: one pair is discarded, then
the median of the pairs' ratios is the last line, `ratio 1.234`; exit status 1 where it is over `--at-most`. Before it
stand the times of the two parts that reckon most, which the ratio includes: cutting the spools (with its solver) and
the level grid.
"""

from __future__ import annotations

import contextlib
import functools
import sys
import time
from pathlib import Path

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

ROOT = Path(__file__).resolve().parents[2]


# --- the floor: everything in this part runs in the timed process ----------------------------------------------------

def run_floor(dump: Path, target: Path) -> None:
    """Does the file work of one build; prints how long loading the dump took, which is not part of it."""
    import babel.numbers
    import jinja2
    import openpyxl
    import xlsxwriter

    begun = time.perf_counter()
    import pickle

    todo = pickle.loads(dump.read_bytes())
    loading = time.perf_counter() - begun

    babel.numbers.format_decimal(1, locale=todo["locale"])
    for sheet in openpyxl.load_workbook(todo["workbook"]):
        for row in sheet.iter_rows():
            for cell in row:
                _ = cell.value
    for book in todo["books"]:
        _write_book(xlsxwriter, book, target)
    environments: dict[str, Any] = {}
    for page in todo["pages"]:
        _render_page(jinja2, environments, page, target)
    for name, content in todo["files"]:
        _make_room(target / name).write_bytes(content)
    print(f"{loading:.6f}")


def _make_room(path: Path) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    return path


def _write_book(xlsxwriter: Any, book: dict[str, Any], target: Path) -> None:
    workbook = xlsxwriter.Workbook(str(_make_room(target / book["name"])))
    formats = [workbook.add_format(style) for style in book["styles"]]
    for name, cells in book["sheets"]:
        sheet = workbook.add_worksheet(name)
        for kind, row, column, value, style, cached in cells:
            if kind == "formula":
                sheet.write_formula(row, column, value, formats[style], cached)
            elif kind == "text":
                sheet.write_string(row, column, value, formats[style])
            elif kind == "number":
                sheet.write_number(row, column, value, formats[style])
            elif kind == "date":
                sheet.write_datetime(row, column, value, formats[style])
            elif kind == "yes/no":
                sheet.write_boolean(row, column, value, formats[style])
            else:
                sheet.write_blank(row, column, None, formats[style])
    workbook.close()


def _render_page(jinja2: Any, environments: dict[str, Any], page: dict[str, Any], target: Path) -> None:
    """One page from its template, compiled where no page before had it. What the build's own filters and functions
    gave is played back."""
    key = repr((page["folders"], page["settings"]))
    if key not in environments:
        loader = jinja2.FileSystemLoader(page["folders"])
        environments[key] = jinja2.Environment(loader=loader, auto_reload=False, **page["settings"])
    environment = environments[key]
    environment.globals.update(page["globals"])
    context = dict(page["context"])
    for place, name, results in page["played"]:
        play = _player(results)
        if place == "context":
            context[name] = play
        else:
            getattr(environment, place)[name] = play
    text = environment.get_template(page["template"]).render(context)
    _make_room(target / page["name"]).write_text(text, encoding="utf-8", newline="")


def _player(results: list[Any]) -> Any:
    following = iter(results).__next__
    return lambda *_, **__: following()


# --- the dump: untimed ----------------------------------------------------------------------------------------------

def record_build(workbook: Path, out: Path, dump: Path) -> None:
    """One build in this process, with every page that it renders noted; then all that it wrote, as plain data."""
    import pickle

    pages = _note_pages()
    _build_here(workbook, out)
    names = sorted(str(path.relative_to(out)) for path in out.rglob("*") if path.is_file())
    texts = {name: (out / name).read_bytes() for name in names}
    made = [{**page, "name": _file_of(page.pop("text"), texts, number)} for number, page in enumerate(pages)]
    rendered = {page["name"] for page in made}
    books = [_dump_book(out / name, name) for name in names if name.endswith(".xlsx")]
    others = [(name, texts[name]) for name in names if name not in rendered and not name.endswith(".xlsx")]
    todo = {"workbook": str(workbook), "locale": "en_US", "books": books, "pages": made, "files": others}
    dump.write_bytes(pickle.dumps(todo))


def _build_here(workbook: Path, out: Path) -> None:
    from quoting.cli import main

    arguments = ["build", str(workbook), "--out", str(out)]
    sys.argv = ["quoting", *arguments]
    status = main(arguments)
    if status:
        raise SystemExit(f"the build of {workbook} ended with {status}")


def _file_of(text: str, texts: dict[str, bytes], number: int) -> str:
    """The file that a rendered text went to; a text that stands inside another file gets one of its own."""
    wanted = text.encode().strip()
    found = [name for name, content in texts.items() if content.strip() == wanted]
    return found[0] if found else f"rendered-{number}.txt"


class _Notes:
    """What jinja2 was asked for: each page's template and context, and what the build's own functions gave to it."""

    def __init__(self) -> None:
        self.pages: list[dict[str, Any]] = []
        self._seen: dict[int, list[tuple[str, str, list[Any]]]] = {}

    def watch(self, environment: Any) -> None:
        """Wraps the filters, tests and globals that are the build's own, before the first template is compiled."""
        from jinja2 import defaults

        if id(environment) in self._seen:
            return
        seen: list[tuple[str, str, list[Any]]] = []
        self._seen[id(environment)] = seen
        known = {"filters": defaults.DEFAULT_FILTERS, "tests": defaults.DEFAULT_TESTS,
                 "globals": defaults.DEFAULT_NAMESPACE}
        for place, names in known.items():
            table = getattr(environment, place)
            for name in [name for name, value in table.items() if callable(value) and name not in names]:
                results: list[Any] = []
                table[name] = _noting(results, table[name])
                seen.append((place, name, results))

    def note(self, template: Any, context: dict[str, Any], render: Any) -> str:
        """Renders, and notes what with."""
        import jinja2
        from jinja2 import defaults

        environment = template.environment
        calls = {name: value for name, value in context.items() if callable(value)}
        own: list[tuple[str, str, list[Any]]] = [("context", name, []) for name in calls]
        wrapped = {name: _noting(results, calls[name]) for _, name, results in own}
        text = str(render(template, {**context, **wrapped}))
        seen = self._seen.get(id(environment), [])
        own_globals = environment.globals.keys() - defaults.DEFAULT_NAMESPACE.keys()
        self.pages.append({
            "template": template.name, "folders": _folders(environment.loader),
            "settings": {"trim_blocks": environment.trim_blocks, "lstrip_blocks": environment.lstrip_blocks,
                         "undefined": jinja2.StrictUndefined, "autoescape": True,
                         "extensions": ["jinja2.ext.i18n"]},
            "globals": _plain({name: environment.globals[name] for name in own_globals}),
            "context": _plain({name: value for name, value in context.items() if name not in calls}),
            "played": own + [(place, name, list(results)) for place, name, results in seen],
            "text": text,
        })
        for _, _, results in seen:
            results.clear()
        return text


def _folders(loader: Any) -> list[str]:
    """Where templates are looked for: the first loader of a choice is the one for plain names."""
    return [str(folder) for folder in getattr(loader, "loaders", [loader])[0].searchpath]


def _plain(values: dict[str, Any]) -> dict[str, Any]:
    """Those that can be stored. Of the others, which serve filters and functions whose results are played back, the
    plain attributes: a language's code."""
    import types

    return {name: value if _stored(value) else types.SimpleNamespace(**{
        each: found for each, found in getattr(value, "__dict__", {}).items() if _stored(found)})
        for name, value in values.items()}


def _stored(value: Any) -> bool:
    import pickle

    with contextlib.suppress(pickle.PicklingError, TypeError, AttributeError):
        return bool(pickle.dumps(value))
    return False


def _noting(results: list[Any], function: Any) -> Any:
    @functools.wraps(function)  # keeps jinja2's mark on functions that want the context
    def call(*args: Any, **kwargs: Any) -> Any:
        results.append(function(*args, **kwargs))
        return results[-1]
    return call


def _note_pages() -> list[dict[str, Any]]:
    """Makes jinja2 note every page from now on."""
    import jinja2

    notes = _Notes()
    load, render = jinja2.Environment.get_template, jinja2.Template.render

    def get_template(self: Any, *args: Any, **kwargs: Any) -> Any:
        notes.watch(self)
        return load(self, *args, **kwargs)

    def note_render(self: Any, *args: Any, **kwargs: Any) -> str:
        return notes.note(self, dict(*args, **kwargs), render)

    jinja2.Environment.get_template = get_template  # type: ignore[method-assign]
    jinja2.Template.render = note_render  # type: ignore[method-assign]
    return notes.pages


BORDERS = ("none", "thin", "medium", "dashed", "dotted", "thick", "double", "hair", "mediumDashed", "dashDot",
           "mediumDashDot", "dashDotDot", "mediumDashDotDot", "slantDashDot")


def _dump_book(path: Path, name: str) -> dict[str, Any]:
    """Every cell of a workbook: what kind it is, where, value or formula, style, cached value."""
    import openpyxl

    written, cached = openpyxl.load_workbook(path), openpyxl.load_workbook(path, data_only=True)
    styles: dict[str, tuple[int, dict[str, Any]]] = {}
    sheets = []
    for sheet in written.worksheets:
        values = cached[sheet.title]
        cells = []
        for cell in (cell for row in sheet.iter_rows() for cell in row):
            if cell.value is None and not cell.has_style:
                continue
            style = _style_of(cell)
            number, _ = styles.setdefault(repr(style), (len(styles), style))
            kind, value, result = _content_of(cell, values.cell(cell.row, cell.column).value)
            cells.append((kind, cell.row - 1, cell.column - 1, value, number, result))
        sheets.append((sheet.title, cells))
    return {"name": name, "styles": [style for _, style in styles.values()], "sheets": sheets}


def _content_of(cell: Any, cached: Any) -> tuple[str, Any, Any]:
    value = getattr(cell.value, "text", cell.value)  # an array formula holds its text
    if value is None:
        return "blank", None, None
    if cell.data_type == "f":
        return "formula", value, "" if cached is None else cached
    if cell.is_date:
        return "date", value, None
    if isinstance(value, bool):
        return "yes/no", value, None
    return ("number", value, None) if isinstance(value, int | float) else ("text", str(value), None)


def _style_of(cell: Any) -> dict[str, Any]:
    """A cell's look in xlsxwriter's words."""
    font, fill, align = cell.font, cell.fill, cell.alignment
    style = {
        "font_name": font.name, "font_size": font.sz, "bold": font.b, "italic": font.i,
        "num_format": cell.number_format,
        "font_color": _colour(font.color), "bg_color": _colour(fill.fgColor) if fill.patternType == "solid" else None,
        "align": align.horizontal, "valign": {"center": "vcenter"}.get(align.vertical, align.vertical),
        "text_wrap": align.wrap_text, "indent": int(align.indent or 0), "locked": cell.protection.locked,
    }
    for side in ("left", "right", "top", "bottom"):
        line = getattr(cell.border, side)
        if line is not None and line.style:
            style[side], style[f"{side}_color"] = BORDERS.index(line.style), _colour(line.color)
    return {name: value for name, value in style.items() if value not in (None, False, 0) or name == "locked"}


def _colour(colour: Any) -> str | None:
    return f"#{colour.rgb[-6:]}" if colour is not None and isinstance(colour.rgb, str) else None


# --- the parts that reckon most: in a process of their own, so that the timed builds run as they are -----------------

PARTS = {"cutting": ("quoting.bill.spools", "cut_runs"), "solver": ("quoting.bill.cutting", "solve"),
         "level grid": ("quoting.engineering.level_grid", "levels_over")}


def time_parts(workbook: Path, out: Path) -> None:
    """One build with some functions timed, what they import included; prints each one's seconds."""
    from importlib import import_module

    spent = dict.fromkeys(PARTS, 0.0)
    for name, (module, function) in PARTS.items():
        place = import_module(module)  # before anything that takes the function from it
        setattr(place, function, _clocked(spent, name, getattr(place, function)))
    with contextlib.redirect_stdout(sys.stderr):
        _build_here(workbook, out)
    for name, seconds in spent.items():
        print(f"{name},{seconds:.6f}")


def _clocked(spent: dict[str, float], name: str, function: Any) -> Any:
    @functools.wraps(function)
    def call(*args: Any, **kwargs: Any) -> Any:
        begun = time.perf_counter()
        try:
            return function(*args, **kwargs)
        finally:
            spent[name] += time.perf_counter() - begun
    return call


# --- the measurement ------------------------------------------------------------------------------------------------

def measure(workbook: Path, pairs: int) -> float:
    """Prints the times of both and the quartiles of their ratios; gives the median ratio."""
    import statistics
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        here = Path(folder)
        _timed("record", str(workbook), str(here / "recorded"), str(here / "dump"))
        taken = [_pair(workbook, here, number) for number in range(pairs + 1)][1:]
        _print_parts(workbook, here)
    ratios = [build / floor for build, floor in taken]
    low, middle, high = statistics.quantiles(ratios, n=4, method="inclusive")
    print(f"build {statistics.median(build for build, _ in taken) * 1000:.0f} ms")
    print(f"floor {statistics.median(floor for _, floor in taken) * 1000:.0f} ms")
    print(f"quartiles {low:.3f} {middle:.3f} {high:.3f} of {pairs} pairs")
    return middle


def _print_parts(workbook: Path, here: Path) -> None:
    """The median of three builds for each part, with its share of the whole process."""
    import statistics

    runs = []
    for number in range(3):
        whole, printed = _timed("parts", str(workbook), str(here / f"parts-{number}"))
        seconds = dict(line.rsplit(",", 1) for line in printed.splitlines())
        runs.append({name: (float(value), float(value) / whole) for name, value in seconds.items()})
    for name in PARTS:
        seconds, share = (statistics.median(run[name][index] for run in runs) for index in (0, 1))
        within = ", within cutting" if name == "solver" else ""
        print(f"{name} {seconds * 1000:.1f} ms, {share:.1%} of the build{within}")


def _pair(workbook: Path, here: Path, number: int) -> tuple[float, float]:
    """Seconds of one build and of one floor, each into a new folder."""
    build, _ = _timed("build", str(workbook), str(here / f"build-{number}"))
    floor, printed = _timed("floor", str(here / "dump"), str(here / f"floor-{number}"))
    return build, floor - float(printed.splitlines()[-1])


def _timed(what: str, *arguments: str) -> tuple[float, str]:
    import os
    import subprocess

    if what == "build":
        command = [sys.executable, "-m", "quoting", "build", arguments[0], "--out", arguments[1]]
    else:
        command = [sys.executable, str(Path(__file__).resolve()), f"--{what}", *arguments]
    environment = {**os.environ, "PYTHONPATH": str(ROOT)}
    # An installed program has its bytecode; without it the build would compile its own source in every run, while
    # the floor's libraries never do.
    environment.pop("PYTHONDONTWRITEBYTECODE", None)
    begun = time.perf_counter()
    done = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, check=False)
    taken = time.perf_counter() - begun
    if done.returncode:
        raise SystemExit(f"{what} failed:\n{done.stdout}{done.stderr}")
    return taken, done.stdout


def main(arguments: list[str]) -> None:
    """One of the inner processes, or the measurement."""
    if arguments[:1] == ["--floor"]:
        run_floor(Path(arguments[1]), Path(arguments[2]))
        return
    if arguments[:1] == ["--record"]:
        record_build(Path(arguments[1]), Path(arguments[2]), Path(arguments[3]))
        return
    if arguments[:1] == ["--parts"]:
        time_parts(Path(arguments[1]), Path(arguments[2]))
        return
    pairs = int(_given(arguments, "--pairs", "11"))
    named = [Path(argument).resolve() for argument in arguments if argument.endswith(".xlsx")]
    example = _given(arguments, "--example", "1")
    workbook = named[0] if named else min((ROOT / "examples").glob(f"{example}-*.xlsx"))
    ratio = measure(workbook, pairs)
    print(f"ratio {ratio:.3f}")
    if ratio > float(_given(arguments, "--at-most", "inf")):
        raise SystemExit(1)


def _given(arguments: list[str], name: str, otherwise: str) -> str:
    return arguments[arguments.index(name) + 1] if name in arguments else otherwise


if __name__ == "__main__":
    main(sys.argv[1:])

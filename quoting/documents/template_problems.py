"""What is wrong with a firm's own templates, as sentences with file and line."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from quoting.problems import Cell, Problem, stop, warning

if TYPE_CHECKING:
    from jinja2 import Environment, nodes

REACHES_OUT = re.compile(  # runs something, or has the browser fetch something: a paper does neither
    r"""<(?:script|link|iframe|object|embed|base)\b|@import|\son\w+\s*=|\bsrc\s*=\s*["']?\s*(?:https?:)?//"""
    r"""|url\(\s*["']?(?!\#|data:|["'])""", re.IGNORECASE)
CORRECT = "Correct the line, or take the file away: the program's own template is then used."


class BadTemplate(Exception):
    """A template of the firm's own that cannot be used."""

    def __init__(self, problem: Problem) -> None:
        super().__init__(str(problem))
        self.problem = problem


def problem_of(error: Exception, folders: tuple[Path, ...]) -> Problem | None:
    """The sentence for an error that a template below one of the folders caused; None where none of them did."""
    from jinja2 import TemplateNotFound, TemplateSyntaxError, UndefinedError

    where = _where(error, folders)
    if where is None:
        return None
    if isinstance(error, TemplateSyntaxError):
        return stop(where, "template-syntax", f"This is no template: {_sentence(error.message)}", CORRECT)
    if isinstance(error, UndefinedError):
        return stop(where, "template-name", _sentence(error.message), CORRECT)
    if isinstance(error, TemplateNotFound):
        return stop(where, "template-missing", f"There is no template '{error.name}'.",
                    'Name one of the program\'s with "standard/" before it, or one of this folder.')
    return stop(where, "template-fails", f"This cannot be worked out: {_sentence(str(error))}", CORRECT)


def folder_problems(environment: Environment, folder: Path, given: frozenset[str]) -> tuple[Problem, ...]:
    """Everything that can be known of a firm's templates without a quote: form, names, files that nothing uses."""
    found: list[Problem] = []
    used: set[str] = set()
    names = {path.relative_to(folder).as_posix() for path in folder.rglob("*.html")}
    for name in sorted(names):
        problems, others = _file_problems(environment, folder, name, given)
        found += problems
        used |= others
    reaching = (problem for path in sorted(folder.rglob("*")) if path.suffix in (".html", ".css")
                for problem in _reaching_out(folder, path))
    return (*found, *reaching, *_unused(environment, folder, names - used))


def _reaching_out(folder: Path, path: Path) -> Iterator[Problem]:
    """A stop for each line of a template or a stylesheet that would run or fetch something."""
    name = path.relative_to(folder).as_posix()
    for number, line in enumerate(path.read_text(encoding="utf-8", errors="replace").splitlines(), start=1):
        found = REACHES_OUT.search(line)
        if found:
            yield stop(_file(folder, name, number), "template-reaches-out",
                       f"'{found[0].strip()}' runs or fetches something; a customer's page holds everything itself.",
                       "Take it out; a picture belongs in the page as data.")


def _file_problems(
    environment: Environment, folder: Path, name: str, given: frozenset[str]
) -> tuple[list[Problem], set[str]]:
    """What is wrong with one file, and the templates that it names."""
    from jinja2 import TemplateSyntaxError, meta, nodes

    where = _file(folder, name)
    try:
        tree = environment.parse((folder / name).read_text(encoding="utf-8"), name, str(folder / name))
        environment.compile(tree, name, str(folder / name))  # filters and tests that do not exist
    except UnicodeDecodeError:
        return [stop(where, "unreadable-file", f"The file '{name}' is not UTF-8 text.", "Save it as UTF-8.")], set()
    except TemplateSyntaxError as error:
        return [problem for problem in (problem_of(error, (folder,)),) if problem], set()
    others = {str(other) for other in meta.find_referenced_templates(tree) if other}
    if name in others:
        return [stop(where, "template-itself", f"'{name}' extends or includes itself.",
                     f'Name the program\'s own: "standard/{name}".')], others
    missing = meta.find_undeclared_variables(tree) - given - set(environment.globals)
    lines = {node.name: node.lineno for node in reversed(list(tree.find_all(nodes.Name)))}
    return [stop(_file(folder, name, lines.get(word)), "template-name",
                 f"'{word}' is not there; a page is given {', '.join(sorted(given))}.", CORRECT)
            for word in sorted(missing)] + list(_unknown_blocks(environment, folder, name, tree)), others


def _unknown_blocks(environment: Environment, folder: Path, name: str, tree: nodes.Template) -> Iterator[Problem]:
    """A stop for each block that the template extended does not have: nothing would ever show it."""
    from jinja2 import TemplateNotFound, nodes

    extended = next((node.template.value for node in tree.find_all(nodes.Extends)
                     if isinstance(node.template, nodes.Const)), "")
    if not extended or environment.loader is None:
        return
    try:
        source = environment.loader.get_source(environment, extended)[0]
    except TemplateNotFound:
        return  # told when it is used
    parent = environment.parse(source)
    if parent.find(nodes.Extends):
        return  # its blocks are its parent's too
    known = sorted(block.name for block in parent.find_all(nodes.Block))
    for block in (node for node in tree.body if isinstance(node, nodes.Block) and node.name not in known):
        yield stop(_file(folder, name, block.lineno), "template-block",
                   f"'{extended}' has no block '{block.name}', so nothing would show it; it has "
                   f"{', '.join(known) or 'none'}.", "Name the block as one of these.")


def _unused(environment: Environment, folder: Path, names: set[str]) -> Iterator[Problem]:
    """A warning for each file that takes the place of none of the program's and that no other one names."""
    loader = environment.loader
    standard = sorted(name.partition("/")[2] for name in (loader.list_templates() if loader else ())
                      if name.startswith("standard/") and name.endswith(".html"))
    for name in sorted(names - set(standard)):
        yield warning(_file(folder, name), "template-unused", f"'{name}' takes the place of no template of the "
                      f"program's; they are {', '.join(standard)}.", "Name the file as one of these.")


def _where(error: Exception, folders: tuple[Path, ...]) -> Cell | None:
    """The innermost line of a template below the folders that the error went through."""
    found = None
    lines = [(getattr(error, "filename", None), getattr(error, "lineno", None))]
    trace = error.__traceback__
    while trace is not None:
        lines.append((trace.tb_frame.f_code.co_filename, trace.tb_lineno))
        trace = trace.tb_next
    for file, line in lines:
        for folder in folders:
            if file and Path(file).is_relative_to(folder):
                found = _file(folder, Path(file).relative_to(folder).as_posix(), line)
    return found


def _file(folder: Path, name: str, line: int | None = None) -> Cell:
    return Cell(f"{folder.name}/{name}", "", f"line {line}" if line else "")


def _sentence(text: str | None) -> str:
    plain = re.sub(r"\s+", " ", text or "").strip()
    return plain if plain.endswith((".", "?", "!")) else f"{plain}."

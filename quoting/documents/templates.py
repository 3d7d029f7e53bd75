"""The papers' templates: a firm's own file before the program's, a block at a time where it extends "standard/...".

Text is escaped, a missing name is an error, and a template of a firm's own can reach nothing but what it is given.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from msgspec import Struct

from quoting.documents.formats import FORMAT_FILTERS
from quoting.documents.language import Language, filled
from quoting.documents.template_problems import BadTemplate, folder_problems, problem_of
from quoting.problems import Problem

if TYPE_CHECKING:
    from jinja2 import BytecodeCache, Environment, Undefined
    from jinja2.bccache import Bucket
    from jinja2.runtime import Context
    from markupsafe import Markup

VERSION = 1  # of how templates are compiled: one more whenever the settings of the environment change
STANDARD = "standard"  # {% extends "standard/proposal/terms.html" %}: the program's file of that name
STYLESHEETS = {"stylesheet": "proposal.css", "crew_stylesheet": "crew.css"}  # a page's name for it
_ID = re.compile(r"((?<![\w-])[A-Z0-9]+(?:-[A-Z0-9]+)+(?: #\d+)?(?![\w-]))")
GIVEN = frozenset({"view", "formats", "language"})  # what every page is given


def render_page(folders: tuple[Path, ...], page: str, **given: object) -> str:
    """A page from the first folder that has each template; the last folder is the program's own.

    Raises BadTemplate where a template of another folder fails.
    """
    try:
        return environment(folders).get_template(page).render(**given)
    except Exception as error:  # whatever a firm's template can do wrong; our own mistakes are raised on
        problem = problem_of(error, folders[:-1])
        if problem is None:
            raise
        raise BadTemplate(problem) from error


def check_templates(folders: tuple[Path, ...]) -> tuple[Problem, ...]:
    """What is wrong with the firm's own templates, as far as it shows without a quote; the last folder is ours."""
    return tuple(problem for folder in folders[:-1] if folder.is_dir()
                 for problem in folder_problems(environment(folders), folder, GIVEN))


def _compiled(sandboxed: bool) -> BytecodeCache | None:
    """Where compiled templates are kept from one build to the next: the user's own folder of temporary files, by their
    text and by whether what they reach is looked at. None where there is no folder that nobody else may write to."""
    from jinja2 import FileSystemBytecodeCache

    class Kept(FileSystemBytecodeCache):
        def dump_bytecode(self, bucket: Bucket) -> None:
            with suppress(OSError):  # a full disk: compiled anew the next time
                super().dump_bytecode(bucket)

    try:
        return Kept(pattern=f"quoting-{VERSION}-{'looked-at' if sandboxed else 'own'}-%s")
    except (OSError, RuntimeError):
        return None


@lru_cache(maxsize=8)
def environment(folders: tuple[Path, ...]) -> Environment:
    """Templates are compiled once; formats and words of the job are found in the page's context."""
    from jinja2 import ChoiceLoader, Environment, FileSystemLoader, PrefixLoader
    from markupsafe import Markup

    own = FileSystemLoader(folders, encoding="utf-8")
    standard = PrefixLoader({STANDARD: FileSystemLoader(folders[-1], encoding="utf-8")})
    kind = Environment
    if any(folder.is_dir() for folder in folders[:-1]):  # a firm's own: what it may reach is looked at, at a price
        from jinja2.sandbox import ImmutableSandboxedEnvironment as kind
    made = kind(
        loader=ChoiceLoader((own, standard)), autoescape=True, undefined=_undefined(), trim_blocks=True,
        lstrip_blocks=True, auto_reload=False, extensions=["jinja2.ext.i18n"], bytecode_cache=_compiled(kind.sandboxed))
    made.policies["ext.i18n.trimmed"] = True
    made.extend(newstyle_gettext=True)  # {% trans %} hands its values to the function
    made.globals.update(_word_functions())
    for name, file in STYLESHEETS.items():
        stylesheet = next(path for path in (folder / file for folder in folders) if path.exists())
        made.globals[name] = Markup(stylesheet.read_text(encoding="utf-8"))
    made.filters["css_text"] = css_text
    made.filters["whole_ids"] = whole_ids
    made.filters.update({name: _format_filter(name) for name in FORMAT_FILTERS})
    return made


@lru_cache(maxsize=1)
def _undefined() -> type[Undefined]:
    """A missing name: an error that says which names there are."""
    from jinja2 import StrictUndefined

    class Missing(StrictUndefined):
        __slots__ = ()

        @property
        def _undefined_message(self) -> str:
            name, holder = self._undefined_name, self._undefined_obj
            if isinstance(holder, Struct):
                there = ", ".join(holder.__struct_fields__)
                return f"'{name}' is not there; {type(holder).__name__} has {there}."
            return f"'{name}' is not there; a page is given {', '.join(sorted(GIVEN))}."

    return Missing


def _word_functions() -> dict[str, Callable[..., object]]:
    """gettext and its like for templates, under the names that jinja2's `_` and `trans` call: everything is escaped,
    the message too, so that a wording of a firm's own is text."""
    from jinja2 import pass_context
    from markupsafe import Markup, escape

    def filled_in(message: str, values: dict[str, object]) -> Markup:
        return Markup(filled(str(escape(message)), {name: escape(value) for name, value in values.items()}))

    def says(context: Context) -> Language:
        language: Language = context["language"]
        return language

    @pass_context
    def gettext(context: Context, message: str, /, **values: object) -> Markup:
        return filled_in(says(context).message(message), values)

    @pass_context
    def ngettext(context: Context, singular: str, plural: str, num: int, /, **values: object) -> Markup:
        return filled_in(says(context).counted(singular, plural, num), {"num": num, **values})

    @pass_context
    def pgettext(context: Context, meaning: str, message: str, /, **values: object) -> Markup:
        return filled_in(says(context).message(message, meaning), values)

    return {"gettext": gettext, "ngettext": ngettext, "pgettext": pgettext}


def _format_filter(name: str) -> Callable[..., str]:
    from jinja2 import pass_context

    @pass_context
    def formatted(context: Context, value: object, *more: object) -> str:
        return str(getattr(context["formats"], name)(value, *more))

    return formatted


@lru_cache(maxsize=4096)  # a set of sheets says the same ids again and again
def whole_ids(text: str) -> Markup:
    """Text in which no id is broken at its hyphens: KIT-S1, SC16-2W #1.

    >>> whole_ids("HE to KIT-S1 & on")
    Markup('HE to <span class="id">KIT-S1</span> &amp; on')
    """
    from markupsafe import Markup, escape

    safe = escape(text)  # an id has no letter that is escaped, so ids are the same before and after
    return Markup(_ID.sub(r'<span class="id">\1</span>', str(safe))) if "-" in text else safe


def css_text(text: object) -> str:
    r"""A text as the inside of a CSS string: everything but ASCII letters, digits and blanks as a code point
    and the blank that ends it.

    >>> css_text('Q-1 "</style>')
    'Q\\2d 1 \\22 \\3c \\2f style\\3e '
    """
    plain = text.unescape() if hasattr(text, "unescape") else str(text)  # markup of a template's own: its text
    return "".join(letter if letter.isascii() and (letter.isalnum() or letter == " ") else f"\\{ord(letter):x} "
                   for letter in plain)

"""The customer's proposal: one self-contained HTML file, no script, nothing fetched, made for screen and paper.

Templates see the records of proposal_view.py and nothing else; text is escaped, a missing name is an error.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from quoting.documents.formats import FORMAT_FILTERS, formats_for
from quoting.documents.language import Language, filled, language_for
from quoting.documents.proposal_customer import customer_view
from quoting.quote import Quote

if TYPE_CHECKING:
    from jinja2 import Environment
    from jinja2.runtime import Context

PAGE = "proposal.html"
STYLESHEET = "proposal.css"


def write_proposal(quote: Quote, path: Path, templates: Path | tuple[Path, ...]) -> None:
    """Write the proposal. Of several folders of templates the first one that has a file gives it: a firm's own first.

    Raises OSError where the file cannot be written.
    """
    path.write_bytes(render_proposal(quote, templates).encode("utf-8"))


def render_proposal(quote: Quote, templates: Path | tuple[Path, ...]) -> str:
    """The proposal's HTML."""
    formats = formats_for(quote.job.terms.locale, quote.pricing.currency, quote.job.unit_system)
    folders = templates if isinstance(templates, tuple) else (templates,)
    language = language_for(quote.job.terms.locale, quote.firm.wording)
    page = _environment(folders).get_template(PAGE)
    return page.render(view=customer_view(quote, formats, language), formats=formats, language=language)


@lru_cache(maxsize=8)
def _environment(folders: tuple[Path, ...]) -> Environment:
    """Templates are compiled once a process; formats and words of the job are found in the page's context."""
    from jinja2 import Environment, FileSystemLoader, StrictUndefined
    from markupsafe import Markup

    environment = Environment(
        loader=FileSystemLoader(folders, encoding="utf-8"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True, auto_reload=False, extensions=["jinja2.ext.i18n"])
    environment.policies["ext.i18n.trimmed"] = True
    environment.extend(newstyle_gettext=True)  # {% trans %} hands its values to the function
    environment.globals.update(_word_functions())
    stylesheet = next(path for path in (folder / STYLESHEET for folder in folders) if path.exists())
    environment.globals["stylesheet"] = Markup(stylesheet.read_text(encoding="utf-8"))
    environment.filters["css_text"] = css_text
    environment.filters.update({name: _format_filter(name) for name in FORMAT_FILTERS})
    return environment


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


def css_text(text: object) -> str:
    r"""A text as the inside of a CSS string: everything but ASCII letters, digits and blanks as a code point
    and the blank that ends it.

    >>> css_text('Q-1 "</style>')
    'Q\\2d 1 \\22 \\3c \\2f style\\3e '
    """
    plain = text.unescape() if hasattr(text, "unescape") else str(text)  # markup of a template's own: its text
    return "".join(letter if letter.isascii() and (letter.isalnum() or letter == " ") else f"\\{ord(letter):x} "
                   for letter in plain)

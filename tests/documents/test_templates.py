"""The templates: what they may do, and a firm's own in their place."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from jinja2 import FileSystemBytecodeCache, UndefinedError, nodes
from msgspec import Struct
from msgspec.structs import replace

from quoting.cli import main
from quoting.compare import compare_quotes
from quoting.documents.change_order import write_change_order
from quoting.documents.change_order_view import ChangeRequest
from quoting.documents.changes_page import write_changes_page
from quoting.documents.crew_papers import write_crew
from quoting.documents.formats import formats_for
from quoting.documents.handover import write_handover
from quoting.documents.language import language_for
from quoting.documents.proposal import PAGE, render_proposal, write_proposal
from quoting.documents.proposal_customer import customer_view
from quoting.documents.templates import BadTemplate, check_templates, environment, render_page
from quoting.paper import LabelSheet
from tests.builders import make_client, make_job, make_quote, make_terms
from tests.conftest import DEMO, EXAMPLES, ROOT

TEMPLATES = ROOT / "templates"
NAMES = sorted(path.relative_to(TEMPLATES).as_posix() for path in TEMPLATES.rglob("*.html"))
ARITHMETIC = (nodes.Add, nodes.Sub, nodes.Mul, nodes.Div, nodes.FloorDiv, nodes.Mod, nodes.Pow, nodes.Neg, nodes.Pos)
FILTERS = {"money", "quantity", "measure", "date", "day", "css_text", "length", "list", "unique", "safe", "whole_ids"}
REPEATED = {"proposal/amounts.html", "crew/sheet.html", "crew/said.html", "crew/table.html"}  # many times a page
every_template = pytest.mark.parametrize("name", NAMES)


def tree(name: str) -> nodes.Template:
    return environment((TEMPLATES,)).parse((TEMPLATES / name).read_text(encoding="utf-8"))


# ---------------------------------------------------------------- what they may do

@every_template
def test_a_template_does_no_arithmetic(name: str) -> None:
    assert [f"line {node.lineno}" for node in tree(name).find_all(ARITHMETIC)] == []


@every_template
def test_a_template_calls_only_filters_that_neither_add_up_nor_round(name: str) -> None:
    assert {node.name for node in tree(name).find_all(nodes.Filter)} - FILTERS == set()


@every_template
def test_a_template_lifts_the_escaping_of_its_own_words_alone(name: str) -> None:
    lifted = [node.node for node in tree(name).find_all(nodes.Filter) if node.name == "safe"]
    assert [node for node in lifted if not isinstance(node, nodes.Const)] == []


@every_template
def test_a_template_never_turns_escaping_off(name: str) -> None:
    source = (TEMPLATES / name).read_text(encoding="utf-8")
    assert "autoescape" not in source and environment((TEMPLATES,)).autoescape is True


class Unprintable(Decimal):
    """An amount that refuses to become text by itself."""

    def __str__(self) -> str:
        raise AssertionError(f"{float(self)} was printed without the money filter")

    __format__ = __repr__ = __html__ = lambda self, *_: str(self)  # type: ignore[assignment]


def unprintable(value: Any) -> Any:
    if isinstance(value, Decimal):
        return Unprintable(value)
    if isinstance(value, tuple):
        return tuple(map(unprintable, value))
    if isinstance(value, Struct):
        return replace(value, **{name: unprintable(getattr(value, name)) for name in value.__struct_fields__})
    return value


class Marks:
    """Formats that only mark what came through them."""

    money = staticmethod(lambda amount: "¤")
    measure = staticmethod(lambda amount, unit: "#")
    quantity = staticmethod(lambda amount: "#")
    date = staticmethod(str)


@pytest.mark.parametrize("detail", ["total", "by room", "by room and category", "itemised"])
def test_an_amount_is_printed_by_the_money_filter_alone(detail: Any) -> None:
    quote = make_quote(job=make_job(terms=make_terms(detail=detail)))
    language = language_for("en_US", {})
    view = unprintable(customer_view(quote, formats_for("en_US", "USD", "imperial"), language))
    page = render_page((TEMPLATES,), PAGE, view=view, formats=Marks(), language=language)
    assert page.count("¤") > 30


def test_an_amount_that_is_printed_otherwise_is_noticed() -> None:
    with pytest.raises(AssertionError, match="without the money filter"):
        environment((TEMPLATES,)).from_string("{{ amount }}").render(amount=Unprintable("5.00"))


def test_a_name_that_is_not_there_fails_the_page() -> None:
    with pytest.raises(UndefinedError, match="'nothing' is not there"):
        environment((TEMPLATES,)).from_string("{{ nothing }}").render()


def test_what_a_customer_is_called_stays_text() -> None:
    quote = make_quote(job=make_job(client=make_client(name="<b>Bold</b> & Sons")))
    assert "&lt;b&gt;Bold&lt;/b&gt; &amp; Sons" in render_proposal(quote, TEMPLATES)


# ---------------------------------------------------------------- a firm's own

@pytest.fixture
def own(tmp_path: Path) -> Callable[[str, str], tuple[Path, ...]]:
    """Writes a template of the firm's own; gives the folders."""
    def write(name: str, text: str) -> tuple[Path, ...]:
        path = tmp_path / "templates" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
        return (tmp_path / "templates", TEMPLATES)
    return write


def blocks() -> Iterator[tuple[str, str]]:
    return ((name, block.name) for name in NAMES for block in tree(name).find_all(nodes.Block))


def page_of(name: str, folders: tuple[Path, ...], folder: Path) -> str:
    """The page that the template is a part of, of a made quote."""
    quote, path = make_quote(), folder / "page.html"
    if name == "change_order.html":
        write_change_order(quote, quote, "better", ChangeRequest(), path, folders)
    elif name == "changes.html":
        changes, _ = compare_quotes(quote, quote, "better")
        assert changes is not None
        write_changes_page(changes, quote, quote, "", "", path, folders)
    elif name == "handover.html":
        write_handover(quote, quote.options[0], path, folders)
    elif name.startswith("crew"):
        quote = replace(quote, label_sheets=(a_label_sheet(),))
        write_crew(quote, folder, folders, accepted="better")
        path = folder / ("labels-better.html" if name == "crew/labels.html" else "crew-better.html")
    else:
        write_proposal(quote, path, folders)
    return path.read_text(encoding="utf-8")


def a_label_sheet() -> LabelSheet:
    return LabelSheet(name="one", paper="A4", columns=2, rows=2, width_mm=90, height_mm=90, left_mm=10, top_mm=10,
                      across_mm=100, down_mm=100)


@pytest.mark.parametrize(("name", "block"), list(blocks()))
def test_one_small_file_changes_one_block(own: Any, tmp_path: Path, name: str, block: str) -> None:
    folders = own(name, f'{{% extends "standard/{name}" %}}{{% block {block} %}}OUR OWN WORDS{{% endblock %}}')
    page, plain = page_of(name, folders, tmp_path), page_of(name, (TEMPLATES,), tmp_path)
    assert (page.count("OUR OWN WORDS"), "OUR OWN WORDS" in plain, check_templates(folders)) == (1, False, ())


def test_every_section_of_the_page_is_a_block_or_holds_one() -> None:
    assert {name for name, _ in blocks()} == set(NAMES) - REPEATED


def test_a_block_keeps_what_stood_in_it_by_super(own: Any) -> None:
    folders = own("proposal/terms.html", '{% extends "standard/proposal/terms.html" %}'
                  "{% block terms %}{{ super() }}<p>And more.</p>{% endblock %}")
    page = render_proposal(make_quote(), folders)
    assert "Changes are priced and agreed" in page and "<p>And more.</p>" in page


EXTENDS = '{% extends "standard/proposal/terms.html" %}\n{% block more_terms %}\n'


@pytest.mark.parametrize(("text", "where", "says"), [
    ("{{ firm.name }}", "line 3", "'firm' is not there; a page is given formats, language, view."),
    ("{{ view.firm.name|monney }}", "line 3", "This is no template: No filter named 'monney'."),
    ("{{ view.firm.name }", "line 3", "This is no template: unexpected '}'."),
    ("{% if %}", "line 3", "This is no template: Expected an expression, got 'end of statement block'."),
])
def test_a_template_that_is_none_is_said_with_its_line(own: Any, text: str, where: str, says: str) -> None:
    found = check_templates(own("proposal/terms.html", EXTENDS + text + "{% endblock %}"))
    assert [(str(p.where), p.severity, p.message) for p in found] == [
        (f"templates/proposal/terms.html {where}", "stop", says)]


@pytest.mark.parametrize(("text", "says"), [
    ("{{ view.firm.nmae }}", "'nmae' is not there; FirmFace has name, address,"),
    ("{{ view.nothing.name }}", "'nothing' is not there; CustomerView has paper, firm,"),
    ('{% include "proposal/nothing.html" %}', "There is no template 'proposal/nothing.html'."),
    ("{{ view.firm.name|money }}", "This cannot be worked out: money must be a Decimal, not str."),
    ("{{ 1 / 0 }}", "This cannot be worked out: division by zero."),
    ("{{ view.__class__ }}", "This cannot be worked out: "),
])
def test_a_template_that_fails_is_said_with_its_line(own: Any, text: str, says: str) -> None:
    with pytest.raises(BadTemplate) as caught:
        render_proposal(make_quote(), own("proposal/terms.html", EXTENDS + text + "{% endblock %}"))
    problem = caught.value.problem
    assert (str(problem.where), problem.message[:len(says)]) == ("templates/proposal/terms.html line 3", says)


def test_a_template_that_extends_itself_is_told_the_programs_name(own: Any) -> None:
    found = check_templates(own("proposal/terms.html", '{% extends "proposal/terms.html" %}'))
    assert [problem.remedy for problem in found] == ["Name the program's own: \"standard/proposal/terms.html\"."]


def test_a_block_that_the_programs_template_does_not_have_is_told_with_those_that_it_has(own: Any) -> None:
    found = check_templates(own("proposal/acceptance.html", '{% extends "standard/proposal/acceptance.html" %}\n'
                                "{% block acceptence %}Sign here.{% endblock %}"))
    assert [(str(p.where), p.severity, p.message) for p in found] == [
        ("templates/proposal/acceptance.html line 2", "stop", "'standard/proposal/acceptance.html' has no block "
         "'acceptence', so nothing would show it; it has acceptance.")]


def test_a_block_within_a_block_may_be_the_firms_own(own: Any) -> None:
    assert check_templates(own("proposal/terms.html", EXTENDS + "{% block parking %}Park.{% endblock %}"
                               "{% endblock %}")) == ()


def test_a_file_that_takes_no_templates_place_is_warned_of(own: Any) -> None:
    found = check_templates(own("proposal/term.html", "x"))
    assert [(problem.severity, problem.code) for problem in found] == [("warning", "template-unused")]


@pytest.mark.parametrize(("name", "text", "says"), [
    ("proposal/terms.html", "<p>\n<script>f()</script>", "'<script' runs or fetches something"),
    ("proposal/terms.html", '<p>\n<img src="https://invented.example/a.png">', "'src=\"https://' runs or fetches"),
    ("proposal/terms.html", '<p>\n<p onclick="f()">', "'onclick=' runs or fetches something"),
    ("proposal.css", "p {}\n@import 'a.css';", "'@import' runs or fetches something"),
    ("proposal.css", "p {}\np { background: url('a.png') }", "'url(\'' runs or fetches something"),
])
def test_a_template_that_runs_or_fetches_is_refused(own: Any, name: str, text: str, says: str) -> None:
    found = check_templates(own(name, text))
    assert [(str(p.where), p.severity, p.code) for p in found] == [
        (f"templates/{name} line 2", "stop", "template-reaches-out")]
    assert found[0].message.startswith(says.replace("\\", ""))


@pytest.mark.parametrize("text", [
    '<a href="https://invented.example/">our page</a>', '<img src="data:image/png;base64,iVBORw0KGgo=" alt="">',
    '<p style="background: url(#a)">', "<p>Put it on = yes</p>",
])
def test_a_template_may_link_and_hold_its_own_picture(own: Any, text: str) -> None:
    assert check_templates(own("proposal/terms.html", text)) == ()


def test_a_template_in_another_script_than_utf_8_is_said(own: Any) -> None:
    folders = own("proposal/terms.html", "")
    (folders[0] / "proposal" / "terms.html").write_bytes(b"\xff\xfe")
    assert [problem.code for problem in check_templates(folders)] == ["unreadable-file"]


def test_a_fault_of_the_programs_own_template_is_raised_as_it_is(tmp_path: Path) -> None:
    with pytest.raises(UndefinedError, match="'view' is not there"):
        render_page((tmp_path, TEMPLATES), PAGE, formats=Marks(), language=language_for("en_US", {}))


def test_a_build_with_a_bad_template_writes_nothing_and_says_one_sentence(tmp_path: Path, capsys: Any) -> None:
    catalog = tmp_path / "mine"
    own_terms = catalog / "templates" / "proposal" / "terms.html"
    _copy(DEMO, catalog)
    own_terms.parent.mkdir(parents=True)
    own_terms.write_text(EXTENDS + "{{ view.firm.nmae }}{% endblock %}", encoding="utf-8")
    workbook = next(EXAMPLES.glob("1-*.xlsx"))
    status = main(["build", str(workbook), "--catalog", str(catalog), "--out", str(tmp_path / "out")])
    said = [line for line in capsys.readouterr().err.splitlines() if line]
    assert (status, (tmp_path / "out").exists(), len(said)) == (1, False, 1)
    assert said[0].startswith("templates/proposal/terms.html line 3 stop template-name: 'nmae' is not there;")


def _copy(folder: Path, to: Path) -> None:
    for path in folder.rglob("*"):
        if path.is_file():
            target = to / path.relative_to(folder)
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(path.read_bytes())


def _refuses(error: Exception) -> Callable[..., None]:
    def refuse(*_: object) -> None:
        raise error
    return refuse


@pytest.mark.parametrize(("method", "error"), [
    ("dump_bytecode", OSError("the disk is full")), ("_get_default_cache_dir", RuntimeError("another user's folder")),
])
def test_where_compiled_templates_cannot_be_kept_they_are_compiled_anew(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, method: str, error: Exception
) -> None:
    monkeypatch.setattr(FileSystemBytecodeCache, method, _refuses(error))
    (tmp_path / "kept.html").write_text("{{ 1 + 1 }}", encoding="utf-8")
    environment.cache_clear()
    assert environment((tmp_path, TEMPLATES)).get_template("kept.html").render() == "2"
    environment.cache_clear()

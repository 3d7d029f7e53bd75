"""What no single cell of a catalogue shows: names that nothing has, rows that contradict each other."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

from msgspec import Struct

from quoting.catalog.questions import ANSWERS_OF
from quoting.catalog.records import Catalog, Part, Price
from quoting.catalog.rows import Row, TableFile
from quoting.catalog.supply import check_substitutes
from quoting.problems import Cell, Problem, stop, warning
from quoting.tables.decision import Unanswered


class Mention(Struct, frozen=True):
    """A cell that names something which another sheet must hold. `what`: part, labour role, place, tax category."""

    table: TableFile
    row: Row
    column: str
    what: str
    name: str

    @property
    def where(self) -> Cell:
        """The cell's address, worked out for the few that are told of."""
        return self.table.cell(self.row, self.column)


# Categories whose every part has a row in one of these sheets.
SPEC_SHEETS: dict[str, tuple[str, ...]] = {
    "speakers": ("speakers",), "cable": ("cables",), "racks": ("racks",), "sources": ("sources",),
}
_HOME = {"part": "parts.csv", "labour role": "rates.csv", "place": "terms.csv", "tax category": "parts.csv"}


def check_catalog(catalog: Catalog, mentions: Iterable[Mention]) -> tuple[Problem, ...]:
    """Every cross-check of a catalogue's own sheets. Rules are checked where they are read."""
    return (
        *_unknown_names(catalog, mentions), *_unknown_in_standards(catalog), *_shared_names(catalog),
        *_wrong_parts(catalog), *_discontinued(catalog),
        *_wrong_prices(catalog), *_missing_hours(catalog), *_wrong_standards(catalog), *_wrong_answers(catalog),
        *check_substitutes(catalog),
    )


def _unknown_names(catalog: Catalog, mentions: Iterable[Mention]) -> Iterator[Problem]:
    known: Mapping[str, Iterable[str]] = {
        "part": catalog.parts,
        "labour role": {role for role, _ in catalog.rates},
        "place": catalog.places,
        "tax category": {part.category for part in catalog.parts.values()} | {"labour", "freight"},
    }
    for mention in mentions:
        if mention.name and mention.name not in known[mention.what]:
            yield stop(mention.where, f"unknown-{mention.what.replace(' ', '-')}",
                       f"'{mention.name}' is no {mention.what} of {_HOME[mention.what]}{_nearby(mention, catalog)}.",
                       f"Correct the name, or add it to {_HOME[mention.what]}.")


def _nearby(mention: Mention, catalog: Catalog) -> str:
    """A part whose number differs only in case or leading zeros: what a spreadsheet may have made of it."""
    if mention.what != "part":
        return ""
    folded = mention.name.casefold().lstrip("0")
    close = [name for name in catalog.parts if name.casefold().lstrip("0") == folded]
    return f"; '{close[0]}' is" if close else ""


def _shared_names(catalog: Catalog) -> Iterator[Problem]:
    """Parts, tasks, roles and statements share the rules' `add` column, so a name means one thing."""
    kinds: tuple[tuple[str, Iterable[tuple[str, Cell]]], ...] = (
        ("part", ((name, part.where) for name, part in catalog.parts.items())),
        ("role", {row.role: row.where for row in catalog.roles.values()}.items()),
        ("task", ((name, task.where) for name, task in catalog.tasks.items())),
        ("statement", ((name, text.where) for name, text in catalog.statements.items())),
    )
    first: dict[str, tuple[str, Cell]] = {}
    for kind, names in kinds:
        for name, where in names:
            older = first.setdefault(name.casefold(), (kind, where))
            if older != (kind, where):
                yield stop(where, "name-taken", f"'{name}' is the name of a {older[0]} at {older[1]} too.",
                           f"Give the {kind} another name.")
    for name, text in catalog.statements.items():
        if not name.startswith("say."):
            yield stop(text.where, "wrong-name", f"'{name}' does not start with 'say.'.", f"Type say.{name}.")
    for name, task in catalog.tasks.items():
        if "." not in name or name != name.lower() or name.startswith("say."):
            yield stop(task.where, "wrong-name", f"'{name}' is not a task's name, which is lower-case with a point.",
                       "Type a name such as 'rough.home run'.")


def _wrong_parts(catalog: Catalog) -> Iterator[Problem]:
    classes = {"none", *(task.labour_class for task in catalog.tasks.values())}
    for part in catalog.parts.values():
        if part.labour_class not in classes:
            yield stop(part.where, "unknown-labour-class",
                       f"Part '{part.part}' has labour class '{part.labour_class}', which no task has; "
                       f"there are {', '.join(sorted(classes))}.", "Type one of them.")
        yield from _missing_spec(catalog, part)


def _missing_spec(catalog: Catalog, part: Part) -> Iterator[Problem]:
    sheets = SPEC_SHEETS.get(part.category, ())
    if sheets and not any(part.part in getattr(catalog, sheet) for sheet in sheets):
        yield stop(part.where, "missing-spec",
                   f"Part '{part.part}' of category '{part.category}' has no row in parts/{sheets[0]}.csv.",
                   "Add its row there, or correct the category.")


def _discontinued(catalog: Catalog) -> Iterator[Problem]:
    for row in catalog.roles.values():
        for name in dict.fromkeys(part for chosen in row.parts.values() for part in chosen):
            if name in catalog.parts and catalog.parts[name].discontinued:
                yield warning(row.where, "discontinued-part",
                              f"Role '{row.role}' names '{name}', which is discontinued.",
                              "Name the part that replaces it.")


def _wrong_prices(catalog: Catalog) -> Iterator[Problem]:
    for (name, currency), prices in catalog.prices.items():
        part = catalog.parts.get(name)
        if part:
            yield from (problem for price in prices for problem in _wrong_price(price, part))
        costing = [price for price in prices if price.costing]
        if len(costing) != 1:
            where = (costing or prices)[-1].where
            yield stop(where, "costing-put-up",
                       f"Part '{name}' has {len(costing)} costing put-ups in {currency}; exactly one sets its cost.",
                       "Type yes in `costing` of one put-up in force, no in the others.")


def _wrong_price(price: Price, part: Part) -> Iterator[Problem]:
    if price.unit != part.unit:
        yield stop(price.where, "wrong-unit",
                   f"Part '{part.part}' is priced by '{price.unit}' and sold by '{part.unit}'.",
                   "Give both the same unit.")
    if price.put_up <= 0:
        yield stop(price.where, "put-up-zero", f"Part '{part.part}' comes in put-ups of '{price.put_up}'.",
                   "Type how many units one pack or spool holds.")
    if price.list_price is not None and price.floor_price is not None and price.list_price < price.floor_price:
        yield stop(price.where, "floor-over-list",
                   f"Part '{part.part}' has list '{price.list_price}' under floor '{price.floor_price}'.",
                   "Type a floor that is at most the list price.")


def _missing_hours(catalog: Catalog) -> Iterator[Problem]:
    """A task may leave out a wall state in which it cannot happen (a rule that asks for it there stops), not all."""
    timed = {task for task, _ in catalog.hours}
    for name, task in catalog.tasks.items():
        if name not in timed:
            yield stop(task.where, "missing-hours", f"Task '{name}' has hours in no wall state.",
                       "Type low, likely and high hours.")


def _unknown_in_standards(catalog: Catalog) -> Iterator[Problem]:
    """Parts, tasks, statements and payments that a standard names and no sheet has."""
    named: tuple[tuple[str, str, str, Collection[str], str], ...] = (
        ("task_time", "task", "task", catalog.tasks, "labour.csv"),
        ("part_buying", "part", "part", catalog.parts, "parts.csv"),
        ("part_buying", "ordered_with", "part", catalog.parts, "parts.csv"),
        ("order_waits", "statement", "statement", catalog.statements, "statements.csv"),
        ("order_waits", "part", "part", catalog.parts, "parts.csv"),
    )
    for question, column, what, known, home in named:
        for answer in catalog.standards.rows(question):
            if answer.text(column) and answer.text(column) not in known:
                yield stop(answer.where, f"unknown-{what}", f"'{answer.text(column)}' in {question} row "
                           f"'{answer.row}' is no {what} of {home}.", "Correct the name, or remove the row.")
    plans = {(row.text("plan"), row.text("step")) for row in catalog.standards.rows("payment_plan")}
    for answer in catalog.standards.rows("order_gate"):
        plan, step = answer.text("plan"), answer.text("step")
        if plan and (plan, step) not in plans:
            yield stop(answer.where, "unknown-payment", f"Plan '{plan}' in order_gate row '{answer.row}' has no step "
                       f"'{step}' in payment_plan.csv.", "Correct it, or remove the row.")


_ROLE_ANSWERS = (
    ("speaker_role", "role"), ("source_landing", "lead_role"), ("source_landing", "converter_role"),
)


def _wrong_standards(catalog: Catalog) -> Iterator[Problem]:
    """Standards that name a role or an option, and categories that no markup covers."""
    roles = {role for role, _ in catalog.roles}
    for question, name in _ROLE_ANSWERS:
        for answer in catalog.standards.rows(question):
            if answer.text(name) and answer.text(name) not in roles:
                yield stop(answer.where, "unknown-role",
                           f"'{answer.text(name)}' in {question} row '{answer.row}' is no role of options.csv.",
                           "Correct the name, or add the role to options.csv.")
    for answer in catalog.standards.rows("room_kinds"):
        plays_from = answer.text("plays_from")
        if plays_from not in ("", *catalog.options, "later", "never"):
            yield stop(answer.where, "unknown-option",
                       f"'{plays_from}' in room_kinds row '{answer.row}' is none of {', '.join(catalog.options)}, "
                       "later, never.", "Type one of them.")
    for category in dict.fromkeys(part.category for part in catalog.parts.values()):
        try:
            catalog.standards.ask("markup", category=category)
        except Unanswered as unanswered:
            yield unanswered.problem()


def _wrong_answers(catalog: Catalog) -> Iterator[Problem]:
    """Answers that a change order tells: each one that its sheet of the intake has."""
    for row in catalog.standards.rows("change_answers"):
        sheet, answer = row.text("sheet"), row.text("answer")
        if not sheet and not answer:
            continue
        if sheet not in ANSWERS_OF:
            yield stop(row.where, "unknown-sheet", f"'{sheet}' in change_answers row '{row.row}' is not one of "
                       f"{', '.join(ANSWERS_OF)}.", "Type one of them; another sheet's answer is a row of its own.")
        elif answer not in ANSWERS_OF[sheet]:
            homes = " or ".join(home for home, answers in ANSWERS_OF.items() if answer in answers)
            yield stop(row.where, "unknown-answer", f"'{answer}' in change_answers row '{row.row}' is no answer of "
                       f"{sheet}; those are {', '.join(ANSWERS_OF[sheet])}.",
                       f"Type {homes} under sheet, or one of these answers." if homes else "Type one of them.")

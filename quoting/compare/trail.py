"""From a fact that differs to the answers that led to it: by what it rests on, as far as its facts differ too."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import Any

from quoting.changes import TypedChange
from quoting.compare.typed import answer_words, as_text
from quoting.job import Job
from quoting.problems import Cell
from quoting.quote import PricedOption, Quote

FactRow = Mapping[str, Any]
Found = dict[int, TypedChange]  # by its place among all answers that differ

BEHIND = frozenset({"id", "basis", "where", "decided"})  # why a fact is so, not what it is
_COLOURS = frozenset({"colour", "custom_colour"})  # fields that choose a colour and nothing else
_SAYS_NOTHING = frozenset({"note", "colour"})  # answers from which nothing is computed, or only what names them itself


class Trail:
    """The facts of both quotes, and the answers that differ between them.

    An answer is named for a fact where the fact rests on its cell, or has a field of its name that differs; where no
    cell tells, an answer of the fact's room is.
    """

    def __init__(
        self, quotes: tuple[Quote, Quote], options: tuple[PricedOption, PricedOption], typed: Iterable[TypedChange],
        behind: Mapping[str, Collection[str]],
    ) -> None:
        """`behind`: for facts that are sums of rows (hours of a phase), the facts of the rows that differ."""
        self._typed = dict(enumerate(typed))
        self._sides = tuple(_by_id(quote, option) for quote, option in zip(quotes, options, strict=True))
        self._rows = tuple(_cells_of_rows(quote.job) for quote in quotes)
        self._behind = behind
        self._differing = {id: _differing(*self.sides(id)) for id in dict.fromkeys(name for side in self._sides
                                                                                   for name in side)}
        self._sure = {id: {**dict(self._by_cell(id)), **dict(self._by_name(id, names))}
                      for id, names in self._differing.items() if self.differs(id)}

    def differing(self, id: str) -> frozenset[str]:
        """The fields of a fact that differ; none where a side has no such fact."""
        return self._differing.get(id, frozenset())

    def sides(self, id: str) -> tuple[FactRow | None, FactRow | None]:
        """The fact in the old and in the new quote."""
        return self._sides[0].get(id), self._sides[1].get(id)

    def differs(self, id: str) -> bool:
        """Whether a fact came, went or says something else."""
        return self._one_sided(id) or bool(self.differing(id)) or id in self._behind

    def answers(self, reads: Mapping[str, Collection[str] | None]) -> tuple[TypedChange, ...]:
        """The answers behind facts, each with the fields of it that matter (None: all), in the order of the sheets. A
        fact whose fields say by their names which answers they are is asked no further."""
        sure: Found = {}
        start = []
        for id, names in reads.items():
            if names is None:
                start.append(id)
            elif self.differs(id):
                said = dict(self._by_name(id, self.differing(id) & set(names)))
                sure.update(said)
                start += [] if said else [id]
        seen = self._walk(start)
        for id in seen:
            sure.update(self._sure.get(id, {}) if reads.get(id) is None else self._by_cell(id))
        return tuple(change for _, change in sorted((sure or self._of_rooms(seen)).items()))

    def _walk(self, start: Iterable[str]) -> set[str]:
        """These facts and those that they rest on, as far as they differ."""
        seen: set[str] = set()
        queue = [id for id in start if self.differs(id)]
        while queue:
            id = queue.pop()
            if id not in seen:
                seen.add(id)
                queue.extend(self._led_by(id))
        return seen

    def _led_by(self, id: str) -> list[str]:
        """What a differing fact rests on: the rows that it sums; facts that came or went, if any did; else those that
        changed. Where nothing of that differs it is led by its neighbours, the facts that its differing fields name."""
        rests_on = dict.fromkeys(name for side in self.sides(id) if side for name in side["basis"])
        led = [name for name in rests_on if self._leads(name)] or [
            name for field in self.differing(id) for side in self.sides(id)
            if side and isinstance(name := side.get(field), str) and self._leads(name)]
        return [*self._behind.get(id, ()), *([name for name in led if self._one_sided(name)] or led)]

    def _leads(self, id: str) -> bool:
        """Whether what rests on a fact can differ because the fact does: another colour chooses nothing but itself."""
        return self._one_sided(id) or bool(self.differing(id) - _COLOURS) or id in self._behind

    def _by_name(self, id: str, differing: Collection[str]) -> Iterator[tuple[int, TypedChange]]:
        """Answers of the fact's room or zone, or of the job, that a differing field of it has its name from."""
        words = {answer_words(name) for name in differing} | ({"colour"} if _COLOURS & set(differing) else set())
        one = next((fact for fact in self.sides(id) if fact), {"zone": 0, "room": ""})
        for at, change in self._typed.items():
            own = change.of in ("Job", f"Zones {one['zone']}") or bool(change.room and change.room == one["room"])
            if own and change.field in words:
                yield at, change

    def _by_cell(self, id: str) -> Iterator[tuple[int, TypedChange]]:
        """Answers that stand in a cell that the fact rests on."""
        cells = [{_cell(each) for each in fact["where"]} if fact else set() for fact in self.sides(id)]
        yield from ((at, change) for at, change in self._typed.items() if self._in_cells(change, cells))

    def _in_cells(self, change: TypedChange, cells: list[set[Cell]]) -> bool:
        """A room's row stands in for every answer that is blank: it tells only of the row that came or went."""
        sides = zip((change.old_cell, change.new_cell), cells, self._rows, strict=True)
        return any(cell is not None and cell.ref and cell in its and not (change.field and cell in rows)
                   for cell, its, rows in sides)

    def _of_rooms(self, ids: Iterable[str]) -> Found:
        rooms = {side["room"] for id in ids for side in self.sides(id) if side} - {""}
        return {at: change for at, change in self._typed.items()
                if change.room in rooms and change.field not in _SAYS_NOTHING}

    def _one_sided(self, id: str) -> bool:
        return (id in self._sides[0]) != (id in self._sides[1])


def _differing(old: FactRow | None, new: FactRow | None) -> frozenset[str]:
    if old is None or new is None or old == new:
        return frozenset()
    return frozenset(name for name in (*old, *new)
                     if name not in BEHIND and as_text(old.get(name)) != as_text(new.get(name)))


def _by_id(quote: Quote, option: PricedOption) -> dict[str, FactRow]:
    return {row["id"]: row for facts in (quote.facts, option.facts) for rows in facts.values() for row in rows}


def _cells_of_rows(job: Job) -> frozenset[Cell]:
    return frozenset(room.cells[""] for room in job.rooms if "" in room.cells)


def _cell(cell: Cell | Mapping[str, str]) -> Cell:
    return cell if isinstance(cell, Cell) else Cell(**cell)

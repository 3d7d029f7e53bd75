"""What stands under a plan: the key of short names, the legend, the scale bar and the notes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from msgspec import Struct

from quoting.documents.drawing import CAPITAL, DESCENT, LEADING, Svg, group, line, rect, text, text_width_mm, wrap
from quoting.documents.plan_symbols import SymbolKind, reach, symbol
from quoting.units import M_PER_FT, UnitSystem

SIZE_MM = 2.8
ROW_MM = 5.2  # from legend line to legend line: the tallest symbol and its air
BETWEEN_MM = 4.0  # from one entry of a legend line to the next
BAR_MM = 1.2  # height of the scale bar
_LENGTHS: dict[UnitSystem, tuple[float, ...]] = {
    "imperial": tuple(feet * M_PER_FT for feet in (1, 2, 4, 5, 10, 20, 40, 50, 100, 200)),
    "metric": (0.2, 0.5, 1, 2, 4, 5, 10, 20, 50, 100),
}


class Below(Struct, frozen=True):
    """Finished elements, and how far down the paper they reach. [mm]"""

    parts: tuple[Svg, ...]
    bottom_mm: float


class Entry(Struct, frozen=True):
    """One entry of a legend: symbols (kind, equipped) and what they stand for."""

    marks: tuple[tuple[SymbolKind, bool], ...]
    words: str

    @property
    def icon_mm(self) -> float:
        """Width that the symbols take, with the air before the words. [mm]"""
        return sum(sum(reach(kind)[::2]) + 0.8 for kind, _ in self.marks) + 0.8


def legend(entries: Iterable[Entry], left_mm: float, top_mm: float, width_mm: float) -> Below:
    """Entries one after the other, in as many lines as they take."""
    parts: list[Svg] = []
    x, middle = left_mm, top_mm + ROW_MM / 2
    for entry in entries:
        icon = entry.icon_mm
        lines = wrap(entry.words, width_mm - icon, SIZE_MM)
        wide = icon + max(text_width_mm(words, SIZE_MM) for words in lines)
        if x > left_mm and x + wide > left_mm + width_mm:
            x, middle = left_mm, middle + ROW_MM
        parts.extend(_icons(entry, x, middle))
        base = middle + CAPITAL * SIZE_MM / 2
        parts.extend(text(x + icon, base + index * SIZE_MM * LEADING, words, SIZE_MM)
                     for index, words in enumerate(lines))
        middle += (len(lines) - 1) * SIZE_MM * LEADING
        x += wide + BETWEEN_MM
    return Below((group(parts, class_="legend"),), middle + ROW_MM / 2 if parts else top_mm)


def _icons(entry: Entry, x_mm: float, middle_mm: float) -> Iterable[Svg]:
    for kind, live in entry.marks:
        left, up, right, down = reach(kind)
        yield symbol(kind, live, x_mm + left, middle_mm + (up - down) / 2)
        x_mm += left + right + 0.8


def scale_bar(
    mm_per_m: float, system: UnitSystem, show: Callable[[float], str], left_mm: float, top_mm: float, most_mm: float
) -> Below:
    """A bar of four parts, filled by turns, with its lengths at the start, the middle and the end."""
    length_m = bar_length_m(mm_per_m, system, most_mm)
    wide = length_m * mm_per_m
    base = top_mm + CAPITAL * SIZE_MM
    top = base + 0.9
    part = wide / 4
    bars = [rect(left_mm + index * part, top, part, BAR_MM, line_mm=0.2, shade=0.0 if index % 2 else 1.0)
            for index in range(4)]
    words = [text(left_mm, base, "0", SIZE_MM), text(left_mm + wide, base, show(length_m), SIZE_MM)]
    return Below((group((*bars, *words), class_="scale", data_m=length_m),), top + BAR_MM)


def bar_length_m(mm_per_m: float, system: UnitSystem, most_mm: float) -> float:
    """The longest round length that is no wider on the paper than `most_mm`. [m]"""
    return max((length for length in _LENGTHS[system] if length * mm_per_m <= most_mm),
               default=_LENGTHS[system][0])


def key_of_names(pairs: Sequence[tuple[str, str]], left_mm: float, top_mm: float, width_mm: float) -> Below:
    """Codes and the names that they stand for, one after the other: KIT Kitchen."""
    parts: list[Svg] = []
    x, base = left_mm, top_mm + CAPITAL * SIZE_MM
    for code, name in pairs:
        indent = text_width_mm(f"{code}  ", SIZE_MM)
        lines = wrap(name, width_mm - indent, SIZE_MM)
        wide = indent + max(text_width_mm(words, SIZE_MM) for words in lines)
        if x > left_mm and x + wide > left_mm + width_mm:
            x, base = left_mm, base + SIZE_MM * LEADING
        parts.append(text(x, base, code, SIZE_MM))
        parts.extend(text(x + indent, base + index * SIZE_MM * LEADING, words, SIZE_MM)
                     for index, words in enumerate(lines))
        base += (len(lines) - 1) * SIZE_MM * LEADING
        x += wide + BETWEEN_MM
    return Below((group(parts, class_="key"),), base + DESCENT * SIZE_MM) if parts else Below((), top_mm)


def notes(sentences: Iterable[str], left_mm: float, top_mm: float, width_mm: float) -> Below:
    """Sentences under each other, each in as many lines as it takes."""
    parts: list[Svg] = []
    base = top_mm + CAPITAL * SIZE_MM
    for sentence in sentences:
        for words in wrap(sentence, width_mm, SIZE_MM):
            parts.append(text(left_mm, base, words, SIZE_MM))
            base += SIZE_MM * LEADING
        base += 0.8
    return Below((group(parts, class_="notes"),), base - SIZE_MM * (LEADING - DESCENT) - 0.8) if parts \
        else Below((), top_mm)


def rule(left_mm: float, y_mm: float, width_mm: float) -> Svg:
    """A thin line between a plan and what stands under it."""
    return line(left_mm, y_mm, left_mm + width_mm, y_mm, 0.15)

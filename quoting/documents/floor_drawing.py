"""The floors as the customer sees them: inline SVG to scale with key, legend, scale bar, notes; and as sentences.

Drawn 92 mm wide: as wide as a small phone with text of 11 px, and two floors side by side on A4 or Letter.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache

from msgspec import Struct

from quoting.documents import plan_footer as footer
from quoting.documents.drawing import Svg, drawing, group, rect, text_lines, wrap
from quoting.documents.drawing_words import room_sentence, symbol_words
from quoting.documents.floor_arrange import (
    TALLEST_SHAPE,
    Outline,
    arrange,
    at_middle,
    below,
    beside,
    extent_m,
    overlapping,
    parted,
)
from quoting.documents.floor_plan import CLOSET, FloorPlanView, PlanRoom
from quoting.documents.language import Language
from quoting.documents.plan_labels import (
    NAME_LEADING,
    WALL_MM,
    Box,
    Label,
    label_anyway,
    label_beside,
    label_near,
    place_label,
)
from quoting.documents.plan_stacking import Standing, stood_off
from quoting.documents.plan_symbols import SymbolKind, reach, symbol, wall_of
from quoting.documents.proposal_words import floor_title, isolate, listed
from quoting.units import UnitSystem

WIDTH_MM, EDGE_MM = 92.0, 1.5
TALLEST_MM = (WIDTH_MM - 2 * EDGE_MM) / TALLEST_SHAPE  # of the plan itself
MOST_MM_PER_M = 7.5  # how large a small house is drawn at most
GROWS_TO_MM = 135.0  # on a wide screen
NARROWEST_MM, RIGHT_MM, ID_MM = 45.0, 0.6, 1.7  # of the crew's drawing, right of its rooms; of its places' ids
SMALL_MM_PER_M, SMALLEST_SYMBOL = 4.5, 0.65  # below this scale symbols shrink, down to this share
SHRINKS = (0.8, 0.6)  # of a room's symbols, until its code fits
BEHIND_RACK = 0.6  # of the head end's symbol, where racks are drawn before it

Lengths = Callable[[float], str]


class FloorDrawing(Struct, frozen=True, kw_only=True):
    """A finished drawing: its title, the picture, and the same room by room in sentences."""

    title: str
    svg: Svg
    sentences: tuple[str, ...]
    height_mm: float  # as drawn
    mm_per_m: float
    width_mm: float = WIDTH_MM  # less where the crew's has no use for it


class Sheet(Struct, frozen=True, kw_only=True):
    """Where the house lies on the paper: its north-west corner in metres and on the paper, and the scale."""

    west_m: float
    north_m: float
    left_mm: float
    top_mm: float
    mm_per_m: float

    def at(self, x_m: float, y_m: float) -> tuple[float, float]:
        """A point of the house on the paper. [mm]"""
        return (self.left_mm + (x_m - self.west_m) * self.mm_per_m,
                self.top_mm + (self.north_m - y_m) * self.mm_per_m)

    def box(self, outline: Outline) -> Box:
        """A room on the paper."""
        return Box(*self.at(outline.x_m, outline.north_m), *self.at(outline.east_m, outline.y_m))

    @property
    def symbol_size(self) -> float:
        """Of a symbol, 1 where there is room for it."""
        return min(1.0, max(SMALLEST_SYMBOL, self.mm_per_m / SMALL_MM_PER_M))


def floor_drawings(
    views: Sequence[FloorPlanView], system: UnitSystem, length: Lengths, language: Language, crew: bool = False
) -> tuple[FloorDrawing, ...]:
    """The drawings of a house's floors, all at one scale. `length` writes metres for the job's reader.

    The crew's has each place's id beside its symbol, and nothing of what may move: its measures stand elsewhere.
    """
    inside = WIDTH_MM - 2 * EDGE_MM
    plans = [_outlines(view) for view in views]
    scale = min((_most_mm_per_m(tuple(plan.values())) for plan in plans if plan), default=MOST_MM_PER_M)
    scale = int(scale * 100) / 100 or scale  # a house that is longer than any keeps its own
    plans = [_outlines(view, inside / scale) for view in views]
    return tuple(_floor_drawing(view, plan, _sheet(tuple(plan.values()), scale), system, length, language, crew)
                 for view, plan in zip(views, plans, strict=True))


def _most_mm_per_m(outlines: Sequence[Outline]) -> float:
    across, down = extent_m(outlines)
    return min((WIDTH_MM - 2 * EDGE_MM) / across, TALLEST_MM / down, MOST_MM_PER_M)


def _floor_drawing(
    view: FloorPlanView, outlines: dict[str, Outline], sheet: Sheet, system: UnitSystem, length: Lengths,
    language: Language, crew: bool,
) -> FloorDrawing:
    floor = floor_title(view.number, language)
    title = language.gettext("%(floor)s, outdoors", floor=floor) if view.outdoors else floor
    equipment = _equipment(view, outlines, sheet)
    labels, marks = _rooms(view, outlines, sheet, [box for _, box in equipment])
    top = max((sheet.box(outline).bottom_mm for outline in outlines.values()), default=0.0)
    parts = [*(_room_walls(room, sheet.box(outlines[room.code])) for room in view.rooms),
             *(svg for svg, _ in (*marks, *equipment)),
             *(_name(label) for label in labels.values())]
    wide_mm = WIDTH_MM
    if crew:
        parts += _ids(view, outlines, sheet, labels)
        right = max((sheet.box(outline).right_mm for outline in outlines.values()), default=0.0)
        wide_mm = min(WIDTH_MM, max(right + RIGHT_MM, NARROWEST_MM))
    sentences = _sentences(view, length, language)
    under = _under(view, outlines, labels, sheet, top, system, length, language, crew, wide_mm - 2 * EDGE_MM)
    key = f"floor-{view.number}-{view.option}{'-outdoors' if view.outdoors else ''}".replace(" ", "-")
    svg = drawing(key, title, " ".join(sentences), wide_mm, under.bottom_mm + EDGE_MM, (*parts, *under.parts),
                  mm_per_m=sheet.mm_per_m, grows_to_mm=GROWS_TO_MM)
    return FloorDrawing(title=title, svg=svg, sentences=sentences, height_mm=under.bottom_mm + EDGE_MM,
                        mm_per_m=sheet.mm_per_m, width_mm=wide_mm)


# ---------------------------------------------------------------- where the rooms lie

def _outlines(view: FloorPlanView, within_m: float = 0.0) -> dict[str, Outline]:
    """Each room's outline, in the order of the rooms: on the plan, or set in rows below what is.

    A closet whose neighbour is known is drawn at its side.
    """
    given: list[Outline] = []
    loose: list[Outline] = []
    for room in view.rooms:
        outline = Outline(code=room.code, length_m=room.length_m, width_m=room.width_m, outdoor=room.outdoor)
        if room.x_m is not None and room.y_m is not None:
            given.append(at_middle(outline, room.x_m, room.y_m))
        else:
            loose.append(outline)
    side = view.head_end.side if view.head_end is not None else ""
    host = next((one for one in loose if view.head_end is not None and one.code == view.head_end.beside), None)
    closet = next((one for one in loose if one.code == CLOSET), None)
    if host is None or closet is None or not side:
        placed = {one.code: one for one in (*given, *below(_arranged(tuple(loose), within_m), given))}
    else:
        both = [beside(host, closet, side) if one is host else one for one in loose if one is not closet]
        placed = {one.code: one for one in (*given, *below(_arranged(tuple(both), within_m), given))}
        placed |= {one.code: one for one in parted(placed[host.code], host, closet, side)}
    return {room.code: placed[room.code] for room in view.rooms}


@lru_cache(maxsize=32)
def _arranged(loose: tuple[Outline, ...], within_m: float) -> tuple[Outline, ...]:
    """Kept, because every option of a house shows the same rooms."""
    return arrange(loose, within_m)


def _worries(view: FloorPlanView, outlines: dict[str, Outline], language: Language) -> tuple[str, ...]:
    """What a reader must know of where the rooms lie."""
    given = [outlines[room.code] for room in view.rooms if room.x_m is not None and room.y_m is not None]
    hosts = {CLOSET, view.head_end.beside} if view.head_end is not None and view.head_end.side else {CLOSET}
    attached = sum(room.code in hosts and room.x_m is None for room in view.rooms) > 1
    loose = len(view.rooms) - len(given) - attached
    said = []
    if loose and given:
        said.append(language.gettext("The rooms at the bottom are to scale; where they lie is not measured yet."))
    elif loose > 1:
        said.append(language.gettext("Rooms are to scale and set side by side; where each one lies is not measured "
                                     "yet."))
    meet = {code for pair in overlapping(given) for code in pair}
    if meet:
        names = listed((room.name for room in view.rooms if room.code in meet), language)
        said.append(language.gettext("As measured, these overlap: %(rooms)s. They are drawn where the measures put "
                                     "them.", rooms=names))
    return tuple(said)


def _sheet(outlines: Sequence[Outline], mm_per_m: float) -> Sheet:
    west = min((one.x_m for one in outlines), default=0.0)
    north = max((one.north_m for one in outlines), default=0.0)
    return Sheet(west_m=west, north_m=north, left_mm=EDGE_MM, top_mm=EDGE_MM, mm_per_m=mm_per_m)


# ---------------------------------------------------------------- rooms, marks, names

def _room_walls(room: PlanRoom, box: Box) -> Svg:
    """Walls as a line, outdoors as dashes."""
    return rect(box.left_mm, box.top_mm, box.right_mm - box.left_mm, box.bottom_mm - box.top_mm,
                line_mm=0.3 if room.outdoor else 0.55, dash="1.6 0.9" if room.outdoor else "", shade=0.035,
                class_="room", data_room=room.code)


def _name(label: Label) -> Svg:
    return group(text_lines(label.x_mm, label.base_mm, label.lines, label.size_mm, "middle", NAME_LEADING),
                 class_="name")


def _rooms(
    view: FloorPlanView, outlines: dict[str, Outline], sheet: Sheet, kept: Sequence[Box]
) -> tuple[dict[str, Label], list[tuple[Svg, Box]]]:
    """The marks of all rooms with the paper they take, and each room's name clear of them.

    Where not even the code fits, the name stands beside the room; where that meets others, the symbols shrink.
    """
    marks = {room.code: tuple(_marks(room, outlines[room.code], sheet, sheet.symbol_size)) for room in view.rooms}
    boxes = {room.code: sheet.box(outlines[room.code]) for room in view.rooms}
    paper = Box(EDGE_MM, EDGE_MM, WIDTH_MM - EDGE_MM, max((box.bottom_mm for box in boxes.values()), default=EDGE_MM))
    labels: dict[str, Label] = {}

    def taken() -> list[Box]:
        return [*kept, *(box for found in marks.values() for _, box in found),
                *(label.box for label in labels.values())]

    for room in view.rooms:
        box = boxes[room.code]
        label = (place_label(room.name, room.code, box, taken())
                 or label_beside(room.name, room.code, box, [*taken(), *boxes.values()], paper))
        for share in SHRINKS:
            if label is None:
                marks[room.code] = tuple(_marks(room, outlines[room.code], sheet, sheet.symbol_size * share))
                label = place_label(room.name, room.code, box, taken())
        labels[room.code] = label or label_anyway(room.code, box)
    return labels, [mark for found in marks.values() for mark in found]


def _marks(room: PlanRoom, outline: Outline, sheet: Sheet, size: float) -> Iterator[tuple[Svg, Box]]:
    """Each mark at its place, as the room's own placement plan has it."""
    spots = [Standing(place=mark.place, kind=mark.kind, x_mm=x, y_mm=y, size=size,
                      wall=wall_of(mark.x_m, mark.y_m, room.length_m, room.width_m))
             for mark in room.marks for x, y in (sheet.at(outline.x_m + mark.x_m, outline.y_m + mark.y_m),)]
    for mark, (spot, box) in zip(room.marks, stood_off(spots), strict=True):
        yield symbol(mark.kind, mark.live, spot.x_mm, spot.y_mm, spot.wall, size, mark.place), box


def _ids(
    view: FloorPlanView, outlines: dict[str, Outline], sheet: Sheet, labels: dict[str, Label]
) -> Iterator[Svg]:
    """Each place's id near its symbol, small; in a room too small for it beside the room, and where even that meets
    something not at all: its placement sheet has it."""
    marks = {room.code: list(_marks(room, outlines[room.code], sheet, sheet.symbol_size)) for room in view.rooms}
    taken = [*(box for found in marks.values() for _, box in found), *(label.box for label in labels.values())]
    rooms = [sheet.box(outlines[room.code]) for room in view.rooms]
    paper = Box(EDGE_MM, EDGE_MM, WIDTH_MM - EDGE_MM, max((box.bottom_mm for box in rooms), default=EDGE_MM))
    for room in view.rooms:
        walls = sheet.box(outlines[room.code])
        inside = Box(walls.left_mm + WALL_MM, walls.top_mm + WALL_MM, walls.right_mm - WALL_MM,
                     walls.bottom_mm - WALL_MM)
        for mark, (_, box) in zip(room.marks, marks[room.code], strict=True):
            near = [one for one in taken if one is not box]
            label = label_near((mark.place,), ID_MM, box, near, inside)
            if any(label.box.meets(other) for other in near):
                label = label_near((mark.place,), ID_MM, walls, [*near, *(one for one in rooms if one != walls)], paper)
                if any(label.box.meets(other) for other in (*near, *rooms)):
                    continue
            taken.append(label.box)
            yield group(text_lines(label.x_mm, label.base_mm, label.lines, ID_MM, "middle", NAME_LEADING), class_="id",
                        paint_order="stroke")


# ---------------------------------------------------------------- the head end

def _equipment(view: FloorPlanView, outlines: dict[str, Outline], sheet: Sheet) -> list[tuple[Svg, Box]]:
    """The symbol with its back to the wall where the cables come out, and over it the racks as large as they are.

    A rack stands before that spot: the symbol shrinks until the rack is seen round it.
    """
    head_end = view.head_end
    if head_end is None or head_end.room not in outlines:
        return []
    room = outlines[head_end.room]
    x, y = sheet.at(room.x_m + head_end.x_m, room.y_m + head_end.y_m)
    wall = wall_of(head_end.x_m, head_end.y_m, room.length_m, room.width_m)
    size = sheet.symbol_size * (BEHIND_RACK if head_end.racks else 1.0)
    left, up, right, down = reach("head end", wall, size)
    found = [(symbol("head end", True, x, y, wall, size, "HE"), Box(x - left, y - up, x + right, y + down))]
    for rack in head_end.racks:
        left, top = sheet.at(room.x_m + rack.x_m - rack.east_m / 2, room.y_m + rack.y_m + rack.north_m / 2)
        wide, high = rack.east_m * sheet.mm_per_m, rack.north_m * sheet.mm_per_m
        found.append((rect(left, top, wide, high, line_mm=0.35, class_="rack"),
                      Box(left, top, left + wide, top + high)))
    return found


# ---------------------------------------------------------------- under the plan

def _under(
    view: FloorPlanView, outlines: dict[str, Outline], labels: dict[str, Label], sheet: Sheet, top_mm: float,
    system: UnitSystem, length: Lengths, language: Language, crew: bool, wide: float,
) -> footer.Below:
    """The head end that has no place on the plan, the key, the scale bar, the legend, the notes."""
    parts: list[Svg] = []
    at = top_mm
    if view.head_end is not None and view.head_end.room not in outlines:
        at += 6.0
        parts += [symbol("head end", True, EDGE_MM + 1.7, at - 2, "", 1.0, "HE"),
                  *text_lines(EDGE_MM + 5, at + 1, wrap(view.head_end.name, wide - 5, 3.2), 3.2)]
        at += 2.5
    short = [(room.code, room.name) for room in view.rooms if labels[room.code].short]
    blocks: list[Callable[[float], footer.Below]] = []
    if short:
        blocks.append(lambda y: footer.key_of_names(short, EDGE_MM, y, wide))
    if view.rooms:
        blocks.append(lambda y: footer.scale_bar(sheet.mm_per_m, system, length, EDGE_MM, y, wide * 0.4))
    blocks.append(lambda y: footer.legend(_legend(view, language), EDGE_MM, y, wide))
    said = _worries(view, outlines, language)
    if any(room.marks for room in view.rooms) and not crew:
        said = (*said, language.gettext("Places may move by a joist's width on site."))
    blocks.append(lambda y: footer.notes(said, EDGE_MM, y, wide))
    for block in blocks:
        made = block(at + 3.0)
        parts.extend(made.parts)
        at = max(at, made.bottom_mm)
    return footer.Below(tuple(parts), at)


def _legend(view: FloorPlanView, language: Language) -> list[footer.Entry]:
    """Each kind that the floor shows, once; then what filled and dashed mean, where both are there."""
    marks = [mark for room in view.rooms for mark in room.marks]
    shown: dict[SymbolKind, bool] = {}
    for mark in marks:
        shown[mark.kind] = shown.get(mark.kind, False) or mark.live
    if view.head_end is not None:
        shown["head end"] = True
    entries = [footer.Entry(((kind, live),), symbol_words(kind, language)) for kind, live in shown.items()]
    if any(not mark.live for mark in marks):
        first = next(mark.kind for mark in marks if not mark.live)
        entries.append(footer.Entry(((first, False),), language.gettext("Dashed: wired now, equipment later")))
    return entries


def _sentences(view: FloorPlanView, length: Lengths, language: Language) -> tuple[str, ...]:
    said = []
    for room in view.rooms:
        if room.code == CLOSET:
            continue
        now: dict[SymbolKind, int] = {}
        later: dict[SymbolKind, int] = {}
        for mark in room.marks:
            counts = now if mark.live else later
            counts[mark.kind] = counts.get(mark.kind, 0) + 1
        said.append(room_sentence(room.name, length(room.length_m), length(room.width_m), now, later, language))
    if view.head_end is not None:
        said.append(language.gettext("The equipment stands here: %(place)s.", place=isolate(view.head_end.name)))
    return tuple(said)

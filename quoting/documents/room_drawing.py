"""A room for the crew: an inline SVG to a scale of a scale rule, measured from the west and the south wall.

As high as its notes and its table leave of a page. Cut-outs are drawn in their own size, joists where they run,
what is in the way where it was typed. What would lie over another symbol of a wall keeps its distance along it and is
drawn farther off it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from msgspec import Struct

from quoting.documents import plan_dimensions as dimensions
from quoting.documents import plan_footer as footer
from quoting.documents.crew_measures import bit_size
from quoting.documents.drawing import (
    CAPITAL,
    Svg,
    drawing,
    group,
    line,
    number,
    path,
    rect,
    text,
    text_lines,
    text_width_mm,
)
from quoting.documents.plan_labels import NAME_LEADING, Box, label_near
from quoting.documents.plan_scale import PlanScale, fitting_scale
from quoting.documents.plan_stacking import Standing, stood_off
from quoting.documents.plan_symbols import DASH, Wall, disc, symbol, wall_of
from quoting.documents.room_facing import ACROSS
from quoting.documents.room_notes import room_notes
from quoting.documents.room_plan import Ground, RoomPlan, RoomThing
from quoting.documents.room_table import KINDS, headings, table_rows, what_words
from quoting.units import UnitSystem, show_length

PAGE_MM, TALL_MM = 180.0, 142.0  # within the margins of both A4 and Letter
SIDES_MM, OVER_MM, UNDER_MM = (24.0, 8.0), 6.5, 27.0  # left and right of the room; over it; dimensions and footer
LABEL_MM = 2.4
CROSS_MM = 0.9
LEAST_MM = 118.0  # width of the narrowest drawing: its scale in words has room
BAR_MM = 36.0  # the scale bar at most
SAME_M = 0.005  # distances that differ by less share a dimension
BAY_TEXT_MM = 1.8


class RoomDrawing(Struct, frozen=True, kw_only=True):
    """A finished drawing, its table, and what the crew must know besides."""

    code: str
    title: str  # KIT Kitchen, 20' by 15', ceiling 9'
    scale: str
    svg: Svg
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...]


class _Paper(Struct, frozen=True, kw_only=True):
    """The room on the paper."""

    box: Box
    mm_per_m: float

    def at(self, x_m: float, y_m: float) -> tuple[float, float]:
        return self.box.left_mm + x_m * self.mm_per_m, self.box.bottom_mm - y_m * self.mm_per_m


def room_drawing(plan: RoomPlan, system: UnitSystem, high_mm: float = TALL_MM) -> RoomDrawing:
    """The drawing of one room in the job's units, no higher than that."""
    left, right = SIDES_MM
    scale = fitting_scale(plan.length_m, plan.width_m, PAGE_MM - left - right, high_mm - OVER_MM - UNDER_MM, system)
    east, south = left + plan.length_m * scale.mm_per_m, OVER_MM + plan.width_m * scale.mm_per_m
    paper = _Paper(box=Box(left, OVER_MM, east, south), mm_per_m=scale.mm_per_m)
    title = room_title(plan, system)
    under, low = _under(plan, paper, scale, system)
    parts = [*_joists(plan, paper), _walls(plan, paper), *_obstacles(plan, paper), *_things(plan, paper, system),
             *_whole(plan, paper, system), *_north(3.0, 1.3), *under]
    wide = max(east + right, LEAST_MM)
    key = f"room-{plan.option}-{plan.code}".replace(" ", "-")
    words = f"Scale {scale.name}. {' '.join(sentences(plan, system))}"
    svg = drawing(key, title, words, wide, low, parts, mm_per_m=scale.mm_per_m)
    return RoomDrawing(code=plan.code, title=title, scale=scale.name, svg=svg, headings=headings(plan),
                       rows=table_rows(plan, system), notes=room_notes(plan, system))


def room_title(plan: RoomPlan, system: UnitSystem) -> str:
    """Code, name, size and ceiling of a room."""
    high = show_length(plan.ceiling_height_m, system)
    if plan.ceiling_high_m > plan.ceiling_height_m:
        high = f"{high} to {show_length(plan.ceiling_high_m, system)}"
    over = "" if plan.outdoor else f", ceiling {high}"
    size = f"{show_length(plan.length_m, system)} by {show_length(plan.width_m, system)}"
    return f"{plan.code} {plan.name}, {size}{over}"


def sentences(plan: RoomPlan, system: UnitSystem) -> tuple[str, ...]:
    """The drawing in words, a sentence a place."""
    wall = _wall(plan)
    return tuple(
        f"{thing.id}: {what_words(thing)}, {show_length(thing.x_m, system)} from the west {wall}, "
        f"{show_length(thing.y_m, system)} from the south {wall}, {show_length(thing.height_m, system)} high."
        for thing in plan.things)


def _wall(plan: RoomPlan) -> str:
    """What the plan's sides are called: an outdoor area has no walls of its own."""
    return "edge" if plan.outdoor else "wall"


# ---------------------------------------------------------------- the room

def _walls(plan: RoomPlan, paper: _Paper) -> Svg:
    box = paper.box
    return rect(box.left_mm, box.top_mm, box.right_mm - box.left_mm, box.bottom_mm - box.top_mm,
                line_mm=0.3 if plan.outdoor else 0.6, dash="1.6 0.9" if plan.outdoor else "", class_="room",
                data_room=plan.code)


def _joists(plan: RoomPlan, paper: _Paper) -> Iterator[Svg]:
    """A faint line in the middle of each joist, and the number of each bay at the wall where the counting is seen."""
    if plan.joists is None or not plan.joist_spacing_m:
        return
    across = plan.joists == "across"  # across the length: passed one by one from the west wall
    extent, step, box = plan.length_m if across else plan.width_m, plan.joist_spacing_m, paper.box
    lines, numbers = [], []
    bays = int(extent / step + 1e-9)
    every = next(each for each in (1, 2, 5, 10, 20, 50, 1000) if each * step * paper.mm_per_m >= 4.0)
    for bay in range(1, bays + 1):
        x, y = paper.at(bay * step, bay * step)
        if bay * step < extent - 1e-6:
            lines.append(line(x, box.top_mm, x, box.bottom_mm, 0.12) if across
                         else line(box.left_mm, y, box.right_mm, y, 0.12))
        if bay % every == 0 or bay == 1:
            x, y = paper.at((bay - 0.5) * step, (bay - 0.5) * step)
            numbers.append(
                text(x, box.top_mm + 0.8 + CAPITAL * BAY_TEXT_MM, str(bay), BAY_TEXT_MM, "middle") if across
                else text(box.right_mm - 0.8, y + CAPITAL * BAY_TEXT_MM / 2, str(bay), BAY_TEXT_MM, "end"))
    yield group(lines, class_="joists", opacity=0.55)
    yield group(numbers, class_="bays")


def _obstacles(plan: RoomPlan, paper: _Paper) -> Iterator[Svg]:
    """A crossed circle, and its name under it."""
    for obstacle in plan.obstacles:
        x, y = paper.at(obstacle.x_m, obstacle.y_m)
        arm = 1.1
        yield group((
            path(disc(x, y, 1.5), line_mm=0.25),
            line(x - arm, y - arm, x + arm, y + arm, 0.25), line(x - arm, y + arm, x + arm, y - arm, 0.25),
            text(x, y + 2 + CAPITAL * LABEL_MM, obstacle.name, LABEL_MM, "middle")), class_="obstacle")


def _whole(plan: RoomPlan, paper: _Paper, system: UnitSystem) -> Iterator[Svg]:
    box = paper.box
    yield dimensions.whole_x(box.left_mm, box.right_mm, box.top_mm - 2.2,
                             f"north {_wall(plan)} {show_length(plan.length_m, system)}")
    yield dimensions.whole_y(box.right_mm + 2.2, box.top_mm, box.bottom_mm,
                             f"east {_wall(plan)} {show_length(plan.width_m, system)}")


# ---------------------------------------------------------------- what goes in

def _things(plan: RoomPlan, paper: _Paper, system: UnitSystem) -> Iterator[Svg]:
    """Dotted lines to the dimensions, symbols and cut-outs, labels clear of them."""
    walls = {thing.id: wall_of(thing.x_m, thing.y_m, plan.length_m, plan.width_m) for thing in plan.things}
    drawn = list(_placed(plan, paper, walls))
    yield from _extensions(plan, paper, walls)
    yield from _kept_free(plan, paper)
    yield from (svg for _, svg, _ in drawn)
    taken = [box for _, _, box in drawn] + [_around(*paper.at(one.x_m, one.y_m), 3.0) for one in plan.obstacles]
    for thing, _, box in drawn:
        label = label_near(_label_lines(thing, system), LABEL_MM, box, [one for one in taken if one is not box],
                           paper.box)
        taken.append(label.box)
        yield group(text_lines(label.x_mm, label.base_mm, label.lines, LABEL_MM, "middle", NAME_LEADING),
                    class_="label", paint_order="stroke")
    yield from _slope(plan, paper, taken, system)


def _slope(plan: RoomPlan, paper: _Paper, taken: Sequence[Box], system: UnitSystem) -> Iterator[Svg]:
    """Under a slope, an arrow up it, with the heights at both its walls, on free ground."""
    if not plan.low_wall or plan.ceiling_high_m <= plan.ceiling_height_m:
        return
    east, south = {"south": (0, -1), "north": (0, 1), "west": (1, 0), "east": (-1, 0)}[plan.low_wall]
    lines = (f"ceiling {show_length(plan.ceiling_height_m, system)} at the {plan.low_wall} wall,",
             f"up to {show_length(plan.ceiling_high_m, system)} at the {ACROSS[plan.low_wall]} wall")
    half, high = max(text_width_mm(words, LABEL_MM) for words in lines) / 2, 14.0
    spots = [(paper.box.left_mm + share * (paper.box.right_mm - paper.box.left_mm),
              paper.box.top_mm + down * (paper.box.bottom_mm - paper.box.top_mm))
             for down in (0.25, 0.75, 0.5, 0.35, 0.65) for share in (0.37, 0.63, 0.5)]
    boxes = [Box(x - half, y - high / 2, x + half, y + high / 2) for x, y in spots]
    best = min(boxes, key=lambda box: (not box.within(paper.box), sum(box.meets(other, 0.5) for other in taken)))
    x, y = (best.left_mm + best.right_mm) / 2, best.top_mm + 4.0
    tip, back = (x + east * 3.4, y + south * 3.4), (x - east * 3.4, y - south * 3.4)
    neck = (x + east * 1.6, y + south * 1.6)
    head = (f"M{number(tip[0])} {number(tip[1])}L{number(neck[0] - south * 0.8)} {number(neck[1] + east * 0.8)}"
            f"L{number(neck[0] + south * 0.8)} {number(neck[1] - east * 0.8)}Z")
    yield group((line(*back, *neck, 0.3), path(head, shade=1.0),
                 *text_lines(x, best.top_mm + 8.0 + CAPITAL * LABEL_MM, lines, LABEL_MM, "middle", NAME_LEADING)),
                class_="slope", paint_order="stroke", data_low=plan.low_wall)


def _placed(plan: RoomPlan, paper: _Paper, walls: dict[str, Wall]) -> Iterator[tuple[RoomThing, Svg, Box]]:
    """Each thing and the paper that it takes."""
    spots = [Standing(place=thing.id, kind=thing.kind, wall=walls[thing.id], x_mm=x, y_mm=y)
             for thing in plan.things for x, y in (paper.at(thing.x_m, thing.y_m),)]
    for thing, (spot, box) in zip(plan.things, stood_off(spots), strict=True):
        x, y = spot.x_mm, spot.y_mm
        if thing.ground is not None:
            yield thing, _rack(thing, thing.ground, paper), _ground_box(thing, thing.ground, paper)
        elif not spot.wall and thing.cut_out_mm:
            yield thing, _cut_out(thing, x, y, paper), _around(x, y, thing.cut_out_mm / 2000 * paper.mm_per_m)
        else:
            yield thing, symbol(thing.kind, thing.live, x, y, spot.wall, 1.0, thing.id), box


def _ground_box(thing: RoomThing, ground: Ground, paper: _Paper) -> Box:
    return Box(*paper.at(thing.x_m - ground.east_m / 2, thing.y_m + ground.north_m / 2),
               *paper.at(thing.x_m + ground.east_m / 2, thing.y_m - ground.north_m / 2))


def _rack(thing: RoomThing, ground: Ground, paper: _Paper) -> Svg:
    """The ground that it takes, its middle crossed."""
    x, y = paper.at(thing.x_m, thing.y_m)
    box = _ground_box(thing, ground, paper)
    return group((
        rect(box.left_mm - x, box.top_mm - y, box.right_mm - box.left_mm, box.bottom_mm - box.top_mm, line_mm=0.4,
             shade=0.12, class_="rack"),
        line(-CROSS_MM, 0, CROSS_MM, 0, 0.2), line(0, -CROSS_MM, 0, CROSS_MM, 0.2)), class_="mark live",
        data_place=thing.id, transform=f"translate({number(x)} {number(y)})")


def _kept_free(plan: RoomPlan, paper: _Paper) -> Iterator[Svg]:
    """Dashed, what is kept free before and behind each rack."""
    for ground in (thing.ground for thing in plan.things if thing.ground is not None):
        west, south, east, north = ground.free
        left, top = paper.at(west, north)
        right, bottom = paper.at(east, south)
        yield rect(left, top, right - left, bottom - top, line_mm=0.2, dash=DASH, class_="kept-free")


def _around(x_mm: float, y_mm: float, radius_mm: float) -> Box:
    return Box(x_mm - radius_mm, y_mm - radius_mm, x_mm + radius_mm, y_mm + radius_mm)


def _cut_out(thing: RoomThing, x_mm: float, y_mm: float, paper: _Paper) -> Svg:
    """The hole in its own size, its middle crossed; a single stereo speaker's tweeters; an arrow where it leans."""
    radius = thing.cut_out_mm / 2000 * paper.mm_per_m
    hole = path(disc(0, 0, radius), line_mm=0.4 if thing.live else 0.3, dash="" if thing.live else DASH,
                shade=0.1 if thing.live else 0.0)
    parts = [hole, line(-CROSS_MM, 0, CROSS_MM, 0, 0.2), line(0, -CROSS_MM, 0, CROSS_MM, 0.2)]
    if thing.kind == "stereo":
        parts.append(path(disc(-radius * 0.55, 0, 0.5) + disc(radius * 0.55, 0, 0.5), shade=1.0))
    if thing.angled:
        parts.append(_arrow(*paper.at(thing.x_m, thing.y_m), paper.box, radius))
    return group(parts, class_=f"mark {'live' if thing.live else 'wired-only'}", data_place=thing.id,
                 transform=f"translate({number(x_mm)} {number(y_mm)})", data_cut_out_mm=thing.cut_out_mm)


def _arrow(x_mm: float, y_mm: float, room: Box, radius_mm: float) -> Svg:
    """From the edge of a leaning speaker towards the room's middle."""
    east = (room.left_mm + room.right_mm) / 2 - x_mm
    south = (room.top_mm + room.bottom_mm) / 2 - y_mm
    far = (east * east + south * south) ** 0.5 or 1.0
    east, south = east / far, south / far
    near, tip = radius_mm + 0.5, radius_mm + 3.5
    head = (f"M{number(east * tip)} {number(south * tip)}"
            f"L{number(east * (tip - 1.4) - south * 0.7)} {number(south * (tip - 1.4) + east * 0.7)}"
            f"L{number(east * (tip - 1.4) + south * 0.7)} {number(south * (tip - 1.4) - east * 0.7)}Z")
    return group((line(east * near, south * near, east * (tip - 1), south * (tip - 1), 0.25), path(head, shade=1.0)))


def _label_lines(thing: RoomThing, system: UnitSystem) -> tuple[str, ...]:
    if thing.ground is not None:
        return (thing.id, f"{show_length(thing.ground.wide_m, system)} by {show_length(thing.ground.deep_m, system)}")
    if thing.kind == "exit":
        return thing.id, f"bit {bit_size(thing.cut_out_mm, system)}"
    first = f"{thing.id} {thing.side}" if thing.side in ("L", "R") else thing.id
    up = "" if thing.kind in ("ceiling", "stereo") else f"{show_length(thing.height_m, system)} high"
    hole = f"⌀ {bit_size(thing.cut_out_mm, system)}" if thing.kind in ("ceiling", "stereo") else ""
    return tuple(words for words in (first, up or hole) if words)


# ---------------------------------------------------------------- dimensions and footer

def _extensions(plan: RoomPlan, paper: _Paper, walls: dict[str, Wall]) -> Iterator[Svg]:
    """From the farthest thing at each distance to the dimensions under and left of the room."""
    box = paper.box
    for x_m in _distances(plan, walls, "x"):
        top = max(thing.y_m for thing in plan.things if abs(thing.x_m - x_m) < SAME_M)
        x, y = paper.at(x_m, top)
        yield dimensions.extension(x, y, x, box.bottom_mm + 2.5)
    for y_m in _distances(plan, walls, "y"):
        right = max(thing.x_m for thing in plan.things if abs(thing.y_m - y_m) < SAME_M)
        x, y = paper.at(right, y_m)
        yield dimensions.extension(x, y, box.left_mm - 2.5, y)


def _distances(plan: RoomPlan, walls: dict[str, Wall], axis: str) -> list[float]:
    """The distances from the west (or south) wall that need a dimension: not that of a thing on a wall to that wall."""
    along = ("west", "east") if axis == "x" else ("south", "north")
    found: list[float] = []
    for at in sorted(thing.x_m if axis == "x" else thing.y_m for thing in plan.things if walls[thing.id] not in along):
        if not found or at - found[-1] >= SAME_M:
            found.append(at)
    return found


def _under(plan: RoomPlan, paper: _Paper, scale: PlanScale, system: UnitSystem) -> tuple[list[Svg], float]:
    """The running dimensions, the scale bar, the legend. Also how far down the paper they reach. [mm]"""
    walls = {thing.id: wall_of(thing.x_m, thing.y_m, plan.length_m, plan.width_m) for thing in plan.things}
    box = paper.box
    across, down = (_labelled(_distances(plan, walls, axis), paper, system) for axis in ("x", "y"))
    below, high = dimensions.along_x(across, box.left_mm, box.bottom_mm + 3.0, f"from the west {_wall(plan)}")
    beside, _ = dimensions.along_y(down, box.left_mm - 3.0, box.bottom_mm, f"from the south {_wall(plan)}")
    measured = [*((below,) if across else ()), *((beside,) if down else ())]  # an axis without a measure says nothing
    top = box.bottom_mm + 3.0 + (high if across else 0.0) + 1.5
    bar = footer.scale_bar(scale.mm_per_m, system, lambda bar_m: show_length(bar_m, system), box.left_mm, top, BAR_MM)
    named = text(box.left_mm + BAR_MM + 18.0, top + CAPITAL * footer.SIZE_MM, f"Scale {scale.name}", footer.SIZE_MM)
    key = footer.legend(_legend(plan), box.left_mm, bar.bottom_mm + 1.5,
                        max(box.right_mm + SIDES_MM[1], LEAST_MM) - box.left_mm)
    return [*measured, *bar.parts, named, *key.parts], max(key.bottom_mm, bar.bottom_mm) + 1.0


def _north(x_mm: float, top_mm: float) -> Iterator[Svg]:
    """An arrow up, and what it means."""
    yield line(x_mm, top_mm + 4.2, x_mm, top_mm + 0.6, 0.3)
    yield path(f"M{number(x_mm)} {number(top_mm - 0.9)}l0.9 2.2h-1.8Z", shade=1.0)
    yield text(x_mm + 1.8, top_mm + CAPITAL * footer.SIZE_MM, "north", footer.SIZE_MM)


def _labelled(distances: Sequence[float], paper: _Paper, system: UnitSystem) -> list[tuple[float, str]]:
    return [(at * paper.mm_per_m, show_length(at, system)) for at in distances]


def _legend(plan: RoomPlan) -> list[footer.Entry]:
    """Every kind that is drawn."""
    kinds = {thing.kind: thing.live for thing in reversed(plan.things)}
    return [footer.Entry(((kind, live),), KINDS[kind]) for kind, live in reversed(kinds.items())]

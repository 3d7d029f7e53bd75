"""The symbols of a plan, seen from above, in millimetres on paper: the project's own, told apart by shape alone.

What is equipped now is filled, with its holes; what is wired now and equipped later is the same outline, dashed and
empty. A symbol that belongs to a wall stands with its back on it: drawn for a wall at y = 0 with the room below.
"""

from __future__ import annotations

from typing import Literal

from quoting.documents.drawing import Svg, group, number, path

SymbolKind = Literal["ceiling", "stereo", "wall", "surface", "garden", "keypad", "knob", "control", "input", "tv",
                     "head end", "cables", "exit"]
Wall = Literal["north", "east", "south", "west", ""]

OUTLINE_MM, DASH = 0.3, "0.75 0.45"
_TURN_DEG: dict[Wall, float] = {"north": 0, "east": 90, "south": 180, "west": -90, "": 0}


def disc(x_mm: float, y_mm: float, radius_mm: float) -> str:
    """A circle as the steps of a path."""
    r, across = number(radius_mm), number(2 * radius_mm)
    return f"M{number(x_mm - radius_mm)} {number(y_mm)}a{r} {r} 0 1 0 {across} 0a{r} {r} 0 1 0 -{across} 0Z"


def box(x_mm: float, y_mm: float, width_mm: float, height_mm: float) -> str:
    """A rectangle as the steps of a path."""
    across = number(width_mm)
    return f"M{number(x_mm)} {number(y_mm)}h{across}v{number(height_mm)}h-{across}Z"


_PLATE = box(-1.45, 0, 2.9, 2.2)
# Outline, and what is cut out of it (or set into a hole) where it is equipped.
_SHAPES: dict[SymbolKind, tuple[str, str]] = {
    "ceiling": (disc(0, 0, 1.6), disc(0, 0, 1.05) + disc(0, 0, 0.5)),
    "stereo": (disc(0, 0, 1.6), disc(-0.72, 0, 0.5) + disc(0.72, 0, 0.5)),
    "wall": ("M-1.8 0A1.8 1.8 0 0 0 1.8 0Z", disc(0, 0.8, 0.5)),
    "surface": ("M-0.9 0h1.8l0.75 2.3h-3.3Z", disc(0, 1.3, 0.6)),
    "garden": ("M0 -2L2 0L0 2L-2 0Z", disc(0, 0, 0.65)),
    "keypad": (_PLATE, box(-1, 0.5, 2, 0.3) + box(-1, 0.98, 2, 0.3) + box(-1, 1.46, 2, 0.3)),
    "knob": (_PLATE, disc(0, 1.1, 0.75) + disc(0, 1.1, 0.3)),
    "control": (_PLATE, ""),
    "input": ("M-1.5 0h3L0 2.2Z", ""),
    "tv": (box(-2.7, 0, 5.4, 0.8) + box(-1.1, 0.8, 2.2, 0.6), ""),
    "head end": (box(-1.7, 0, 3.4, 4), box(-1.15, 0.55, 2.3, 0.65) + box(-1.15, 1.65, 2.3, 0.65)
                 + box(-1.15, 2.75, 2.3, 0.65)),
    "cables": (box(-1.45, 0, 2.9, 1.1), ""),
    "exit": ("M0 0L1.2 2.1H-1.2Z" + box(-0.4, 2.1, 0.8, 0.9), ""),
}
# How far a symbol reaches from its point, in its own frame: left, up, right, down.
_REACH: dict[SymbolKind, tuple[float, float, float, float]] = {
    "ceiling": (1.6, 1.6, 1.6, 1.6), "stereo": (1.6, 1.6, 1.6, 1.6), "wall": (1.8, 0, 1.8, 1.8),
    "surface": (1.65, 0, 1.65, 2.3), "garden": (2, 2, 2, 2), "keypad": (1.45, 0, 1.45, 2.2),
    "knob": (1.45, 0, 1.45, 2.2), "control": (1.45, 0, 1.45, 2.2), "input": (1.5, 0, 1.5, 2.2),
    "tv": (2.7, 0, 2.7, 1.4), "head end": (1.7, 0, 1.7, 4), "cables": (1.45, 0, 1.45, 1.1),
    "exit": (1.2, 0, 1.2, 3.0),
}


def symbol(
    kind: SymbolKind, live: bool, x_mm: float, y_mm: float, wall: Wall = "", size: float = 1.0, place: str = ""
) -> Svg:
    """One symbol at a point; `size` 1 is its own size, `place` is the id of what it stands for."""
    outline, inside = _SHAPES[kind]
    shape = path(outline + inside, shade=1.0) if live else path(outline, line_mm=OUTLINE_MM, dash=DASH)
    turn = _TURN_DEG[wall]
    moves = f"translate({number(x_mm)} {number(y_mm)})" + (f" rotate({number(turn)})" if turn else "") \
        + (f" scale({number(size)})" if size != 1 else "")
    state = "live" if live else "wired-only"
    named = {"data_place": place} if place else {}
    return group((shape,), class_=f"mark {state}", transform=moves, **named)


def reach(kind: SymbolKind, wall: Wall = "", size: float = 1.0) -> tuple[float, float, float, float]:
    """How far a symbol reaches from its point on the paper: left, up, right, down. [mm]"""
    left, up, right, down = (side * size for side in _REACH[kind])
    turned = {"north": (left, up, right, down), "": (left, up, right, down), "east": (down, left, up, right),
              "south": (right, down, left, up), "west": (up, right, down, left)}
    return turned[wall]


def wall_of(x_m: float, y_m: float, length_m: float, width_m: float) -> Wall:
    """The wall of a room that a point lies on; "" where it lies on none.

    >>> wall_of(0, 1.5, 4, 3), wall_of(2, 3, 4, 3), wall_of(2, 1.5, 4, 3)
    ('west', 'north', '')
    """
    off: dict[Wall, float] = {"west": x_m, "east": length_m - x_m, "south": y_m, "north": width_m - y_m}
    nearest = min(off, key=lambda wall: off[wall])
    return nearest if off[nearest] < 0.01 else ""

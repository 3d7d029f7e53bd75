"""A colour made readable: darkened for light paper, lightened for dark screens.

Contrast is that of WCAG 2.2, success criterion 1.4.3: at least 4.5 to 1 for text.
"""

from __future__ import annotations

import re

LIGHT_SURFACE = "#f3f1ea"  # the darkest surface that accent text stands on in light mode
DARK_SURFACE = "#2a2f36"  # the lightest one in dark mode
FALLBACK = "#2f5d62"
ENOUGH = 4.5
STEPS = 20

_HEX = re.compile(r"#[0-9a-fA-F]{6}")


def readable_accents(colour: str) -> tuple[str, str]:
    """(for light paper, for dark paper): the colour itself where it is readable, else the nearest step that is.

    Anything but #rrggbb gives the house colour, so that no typed text ever stands in the stylesheet.
    """
    plain = colour.lower() if is_colour(colour) else FALLBACK
    return _toward("#000000", plain, LIGHT_SURFACE), _toward("#ffffff", plain, DARK_SURFACE)


def is_colour(text: str) -> bool:
    """Whether the text is #rrggbb."""
    return _HEX.fullmatch(text) is not None


def contrast(one: str, other: str) -> float:
    """Contrast ratio of two #rrggbb colours, 1 to 21. WCAG 2.2, definition of contrast ratio.

    >>> contrast("#000000", "#ffffff")
    21.0
    """
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def _luminance(colour: str) -> float:
    red, green, blue = (_linear(channel / 255) for channel in _channels(colour))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def _linear(channel: float) -> float:
    return channel / 12.92 if channel <= 0.04045 else float(((channel + 0.055) / 1.055) ** 2.4)


def _channels(colour: str) -> tuple[int, int, int]:
    return int(colour[1:3], 16), int(colour[3:5], 16), int(colour[5:7], 16)


def _toward(end: str, colour: str, surface: str) -> str:
    for step in range(STEPS + 1):
        mixed = _mix(colour, end, step / STEPS)
        if contrast(mixed, surface) >= ENOUGH:
            return mixed
    return end


def _mix(one: str, other: str, share: float) -> str:
    pairs = zip(_channels(one), _channels(other), strict=True)
    return "#" + "".join(f"{round(a + (b - a) * share):02x}" for a, b in pairs)
